//! Where everything of a box picture is. The rules stand in the room's own documentation.

#![allow(
    clippy::indexing_slicing,
    reason = "every index is a place in a list that is laid out here from its own length"
)]

use super::channel::{Move, tracks};
use super::pen::Way;
use super::text;
use super::unfolded::{Cable, End, Outline, Seat, Unfolded};

/// Air at the sides.
pub(super) const SIDE: f64 = 8.0;
/// What a finger needs.
pub(super) const FINGER: f64 = 57.0;
/// A terminal with nothing on it.
const EMPTY: f64 = 34.0;
/// Size of the words on tape and beside conductors.
const TAPE_SIZE: f64 = 13.0;
/// Between conductors that fall side by side.
const LANE: f64 = 8.5;
/// Between lines in the rail.
const RAIL: f64 = 9.0;
/// Between lines that go sideways.
const TRACK: f64 = 11.0;
/// Height of a flag.
pub(super) const FLAG: f64 = 32.0;
/// Height of a strip.
pub(super) const STRIP_HIGH: f64 = 25.0;
/// Height of a device's body.
pub(super) const BODY_HIGH: f64 = 100.0;
/// Height of its part with the terminals.
pub(super) const TERMINALS_HIGH: f64 = 42.0;
/// What words beside a conductor need beyond their own width.
const BESIDE: f64 = 10.0;
/// A tape is no longer than this.
pub(super) const LONGEST_TAPE: f64 = 104.0;
/// Where the first row begins.
const FIRST_ROW: f64 = 78.0;
/// Where conductors have fanned out.
pub(super) const FANNED: f64 = 74.0;
/// Lower end of the sheaths.
pub(super) const SHEATH: f64 = 52.0;
/// Stacked ends of one cable in one joint.
pub(super) const STACKED: f64 = 56.0;

/// A cable's column.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column {
    pub(super) left: f64,
    pub(super) width: f64,
}

/// A joint's row.
#[derive(Debug, Clone)]
pub(super) struct RowAt {
    pub(super) top: f64,
    /// Top of the strip.
    pub(super) strip: f64,
    /// Most ends that one cable has in it.
    pub(super) stack: usize,
    /// Its ends: numbers of lines.
    pub(super) ends: Vec<usize>,
}

/// Room for one line on a terminal, or for an empty terminal.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slot {
    pub(super) terminal: usize,
    pub(super) line: Option<usize>,
    pub(super) left: f64,
    pub(super) width: f64,
}

impl Slot {
    pub(super) fn centre(self) -> f64 {
        self.left + self.width / 2.0
    }
}

/// A device's band.
#[derive(Debug, Clone)]
pub(super) struct Band {
    pub(super) top: f64,
    pub(super) flags: f64,
    pub(super) body: f64,
    pub(super) width: f64,
    pub(super) slots: Vec<Slot>,
}

impl Band {
    pub(super) fn screws(&self) -> f64 {
        self.flags + FLAG + 15.0
    }
}

/// Where a line begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Begin {
    /// A cable's conductor.
    End { cable: usize, end: usize },
    /// A pigtail or lead of a joint.
    Pigtail { joint: usize, pigtail: usize },
}

/// A conductor on its way through the box.
#[derive(Debug, Clone)]
pub(super) struct LineAt {
    pub(super) begin: Begin,
    pub(super) seat: Seat,
    /// The lane that it falls in first.
    pub(super) lane: f64,
    /// Its place among stacked ends.
    pub(super) stacked: usize,
    pub(super) way: Way,
    at: f64,
}

impl LineAt {
    fn device(&self) -> Option<usize> {
        match self.seat {
            Seat::Terminal(device, _) => Some(device),
            Seat::Joint(_) => None,
        }
    }

    fn is_end(&self) -> bool {
        matches!(self.begin, Begin::End { .. })
    }
}

/// A box picture, laid out.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) width: f64,
    pub(super) height: f64,
    /// Left edge of the rail.
    pub(super) rail: f64,
    pub(super) columns: Vec<Column>,
    pub(super) rows: Vec<RowAt>,
    pub(super) bands: Vec<Band>,
    pub(super) lines: Vec<LineAt>,
}

/// A small count as a length.
fn f(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

fn rail_width(lanes: usize) -> f64 {
    if lanes == 0 { 0.0 } else { f(lanes) * RAIL + 5.0 }
}

impl Layout {
    pub(super) fn of(inside: &Unfolded, least_width: f64) -> Self {
        let mut layout = Self {
            width: least_width,
            height: 0.0,
            rail: 0.0,
            columns: Vec::new(),
            rows: Vec::new(),
            bands: Vec::new(),
            lines: begin(inside),
        };
        layout.widths(inside);
        layout.lanes(inside);
        let mut y = layout.stack_rows(inside);
        layout.pigtails();
        for device in 0..inside.devices.len() {
            y = layout.band(inside, device, y);
        }
        layout.height = y + if inside.outline == Outline::Octagon { 16.0 } else { 4.0 };
        layout
    }

    /// Lines bound for a device after this one.
    fn passing(&self, device: usize) -> usize {
        self.lines.iter().filter(|line| line.device().is_some_and(|to| to > device)).count()
    }

    /// The least room of an empty terminal: a finger's, where it can be touched.
    fn empty(inside: &Unfolded, device: usize, terminal: usize) -> f64 {
        if inside.devices[device].terminals[terminal].sense.token.is_empty() { EMPTY } else { FINGER }
    }

    fn on(&self, device: usize, terminal: usize) -> Vec<usize> {
        let here = Seat::Terminal(device, terminal);
        (0..self.lines.len()).filter(|n| self.lines[*n].seat == here).collect()
    }

    /// Never narrower than a finger: a fuller box makes a wider picture, which is moved sideways.
    fn widths(&mut self, inside: &Unfolded) {
        let pigtails = self.lines.iter().filter(|line| !line.is_end()).count();
        let later = (1..inside.devices.len()).map(|device| self.passing(device - 1)).max().unwrap_or(0);
        let rail = rail_width(pigtails.max(later));
        let least: Vec<f64> = inside.cables.iter().map(column_width).collect();
        let columns: f64 = least.iter().sum();
        self.width = self.width.max(2.0 * SIDE + rail + columns);
        for (n, device) in inside.devices.iter().enumerate() {
            let slots = (0..device.terminals.len()).map(|terminal| (terminal, self.on(n, terminal).len()));
            let least = |(terminal, lines)| match lines {
                0 => Self::empty(inside, n, terminal),
                lines => FINGER * f(lines),
            };
            let room: f64 = slots.map(least).sum();
            self.width = self.width.max(2.0 * SIDE + rail_width(self.passing(n)) + room);
        }
        self.rail = self.width - SIDE - rail;
        let spare = self.width - 2.0 * SIDE - rail - columns;
        let mut left = SIDE;
        for least in &least {
            let width = least + spare / f(inside.cables.len());
            self.columns.push(Column { left, width });
            left += width;
        }
    }

    /// In a column, what ends first falls leftmost, so that the rest pass on its right and nothing crosses.
    fn lanes(&mut self, inside: &Unfolded) {
        for (cable, column) in self.columns.iter().enumerate() {
            let mine = |n: &usize| matches!(self.lines[*n].begin, Begin::End { cable: of, .. } if of == cable);
            let mut mine: Vec<usize> = (0..self.lines.len()).filter(mine).collect();
            mine.sort_by_key(|n| (rank(self.lines[*n].seat), *n));
            let count = inside.cables[cable].ends.len();
            for (place, n) in mine.into_iter().enumerate() {
                let lane = column.left + column.width - 7.0 - f(count - 1 - place) * LANE;
                let fan = LANE.min((column.width - 16.0) / f(count));
                let top = column.left + column.width / 2.0 + (f(place) - f(count - 1) / 2.0) * fan;
                let line = &mut self.lines[n];
                line.way = Way::from(top, SHEATH - 2.0).curve((top, 64.0), (lane, 60.0), (lane, FANNED));
                line.lane = lane;
                line.at = lane;
            }
        }
    }

    /// One row for each joint. Gives where they end.
    fn stack_rows(&mut self, inside: &Unfolded) -> f64 {
        let mut y = FIRST_ROW;
        for joint in 0..inside.joints.len() {
            let here = |n: &usize| self.lines[*n].is_end() && self.lines[*n].seat == Seat::Joint(joint);
            let ends: Vec<usize> = (0..self.lines.len()).filter(here).collect();
            let mut of_cable = vec![0; inside.cables.len()];
            for n in &ends {
                if let Begin::End { cable, .. } = self.lines[*n].begin {
                    self.lines[*n].stacked = of_cable[cable];
                    of_cable[cable] += 1;
                }
            }
            let stack = of_cable.into_iter().max().unwrap_or(0).max(1);
            let flags = if stack == 1 { FLAG + 7.0 } else { f(stack) * STACKED };
            let height = 7.0 + flags + STRIP_HIGH + 8.0;
            let strip = y + height - STRIP_HIGH - 8.0;
            for n in &ends {
                let way = self.lines[*n].way.clone();
                self.lines[*n].way = way.down_to(strip + 3.0);
            }
            self.rows.push(RowAt { top: y, strip, stack, ends });
            y += height;
        }
        y
    }

    /// What leaves lower turns down further left; what goes to the first device is innermost, and what joins two
    /// joints is innermost of all.
    fn pigtails(&mut self) {
        let mut order: Vec<usize> = (0..self.lines.len()).filter(|n| !self.lines[*n].is_end()).collect();
        let row = |line: &LineAt| match line.begin {
            Begin::Pigtail { joint, .. } => joint,
            Begin::End { .. } => 0,
        };
        order.sort_by_key(|n| {
            let line = &self.lines[*n];
            (std::cmp::Reverse(line.device().map_or(0, |device| device + 1)), row(line), *n)
        });
        for (place, n) in order.into_iter().enumerate() {
            let x = self.width - SIDE - 4.0 - f(place) * RAIL;
            let y = self.rows[row(&self.lines[n])].strip + STRIP_HIGH / 2.0;
            let line = &mut self.lines[n];
            line.lane = x;
            line.at = x;
            let start = Way::from(self.rail, y).across_to(x - 5.0);
            line.way = match line.seat {
                Seat::Terminal(..) => start.corner((x, y), (x, y + 5.0)),
                Seat::Joint(to) => {
                    let end = self.rows[to].strip + STRIP_HIGH / 2.0;
                    let turn = if end > y { 5.0 } else { -5.0 };
                    let down = start.corner((x, y), (x, y + turn)).down_to(end - turn);
                    down.corner((x, end), (x - 5.0, end)).across_to(self.rail)
                }
            };
        }
    }

    /// A device's band: the channel in which lines find their terminals, flags, body. Gives where it ends.
    fn band(&mut self, inside: &Unfolded, device: usize, top: f64) -> f64 {
        let passing = self.passing(device);
        let width = self.width - 2.0 * SIDE - rail_width(passing);
        let slots = self.slots(inside, device, width);
        let moves = self.moves(device, passing, &slots);
        let sideways: Vec<Move> = moves.iter().copied().filter(|m| (m.to - m.from).abs() > 1.0).collect();
        let order = tracks(&sideways);
        let first = top + 8.0;
        for (track, m) in order.iter().enumerate() {
            let y = first + f(track) * TRACK + 5.0;
            let turn = if m.to > m.from { 5.0 } else { -5.0 };
            // A short way sideways has no room for two round corners.
            let turn = if (m.to - m.from).abs() < 10.0 { (m.to - m.from) / 2.0 } else { turn };
            let line = &mut self.lines[m.line];
            let way = line.way.clone().down_to(y - 5.0).corner((m.from, y), (m.from + turn, y));
            line.way = way.across_to(m.to - turn).corner((m.to, y), (m.to, y + 5.0));
        }
        for m in &moves {
            self.lines[m.line].at = m.to;
        }
        let flags = first + f(order.len()) * TRACK + 8.0;
        let band = Band { top: first, flags, body: flags + FLAG + 2.0, width, slots };
        for line in band.slots.iter().filter_map(|slot| slot.line) {
            let way = self.lines[line].way.clone();
            self.lines[line].way = way.down_to(band.screws());
        }
        let end = band.body + BODY_HIGH + 8.0;
        self.bands.push(band);
        end
    }

    /// Equal shares, unless a used terminal would get less than a finger: then empty ones give way.
    fn slots(&self, inside: &Unfolded, device: usize, width: f64) -> Vec<Slot> {
        let mut slots: Vec<(usize, Option<usize>)> = Vec::new();
        for terminal in 0..inside.devices[device].terminals.len() {
            let lines = self.on(device, terminal);
            if lines.is_empty() {
                slots.push((terminal, None));
            }
            slots.extend(lines.into_iter().map(|line| (terminal, Some(line))));
        }
        let all = f(slots.len());
        let empty = f(slots.iter().filter(|(_, line)| line.is_none()).count());
        let used = all - empty;
        let share = width / all.max(1.0);
        let touched = (0..inside.devices[device].terminals.len()).any(|n| Self::empty(inside, device, n) > EMPTY);
        let (wide, narrow) = if share >= FINGER + 1.0 || used < 1.0 || empty < 1.0 || touched {
            (share, share)
        } else {
            let narrow = EMPTY.max((width - (FINGER + 1.0) * used) / empty);
            ((width - narrow * empty) / used, narrow)
        };
        let mut left = SIDE;
        slots
            .into_iter()
            .map(|(terminal, line)| {
                let slot = Slot { terminal, line, left, width: if line.is_some() { wide } else { narrow } };
                left += slot.width;
                slot
            })
            .collect()
    }

    /// Lines for this device go to their slots; lines for later ones go to the free lane of the rail farthest right.
    fn moves(&mut self, device: usize, passing: usize, slots: &[Slot]) -> Vec<Move> {
        let mut moves = Vec::new();
        let lane = |place: usize| self.width - SIDE - 4.0 - f(place) * RAIL;
        let goes_on: Vec<usize> =
            (0..self.lines.len()).filter(|n| self.lines[*n].device().is_some_and(|to| to > device)).collect();
        let lanes: Vec<f64> = (0..passing).map(lane).collect();
        let is_at = |line: &LineAt, lane: f64| (line.at - lane).abs() < 0.05;
        let stays = |n: &usize| lanes.iter().any(|lane| is_at(&self.lines[*n], *lane));
        let (stay, mut go): (Vec<usize>, Vec<usize>) = goes_on.into_iter().partition(stays);
        go.sort_by(|a, b| self.lines[*b].at.total_cmp(&self.lines[*a].at));
        let taken = |lane: f64| stay.iter().any(|n| is_at(&self.lines[*n], lane));
        let free: Vec<f64> = lanes.iter().copied().filter(|lane| !taken(*lane)).collect();
        for (n, to) in go.iter().zip(free) {
            moves.push(Move { line: *n, from: self.lines[*n].at, to });
        }
        let alive: Vec<f64> =
            self.lines.iter().filter(|line| line.device().is_some_and(|to| to >= device)).map(|line| line.at).collect();
        for slot in slots {
            let Some(n) = slot.line else { continue };
            let from = self.lines[n].at;
            let clear = |x: f64| alive.iter().all(|other| (other - x).abs() > 7.0 || (other - from).abs() < 0.05);
            let beside = [0.0, 9.0, -9.0, 14.0, -14.0].map(|by| slot.centre() + by);
            let to = beside.into_iter().find(|x| clear(*x)).unwrap_or_else(|| slot.centre());
            moves.push(Move { line: n, from, to });
        }
        moves
    }
}

/// A finger at least; and so wide that beside each conductor the letters of its colour fit, or its tape in two lines.
fn column_width(cable: &Cable) -> f64 {
    let mut order: Vec<&End> = cable.ends.iter().collect();
    order.sort_by_key(|end| rank(end.seat));
    let last = order.len().saturating_sub(1);
    let needs = order.iter().enumerate().map(|(place, end)| {
        let beside = match (&end.label, end.seat) {
            (Some(label), Seat::Joint(_)) => {
                LONGEST_TAPE.min(text::two_lines(&label.text, TAPE_SIZE, true) + 7.0) - 3.0
            }
            (None, Seat::Joint(_)) => text::width(&end.letters, TAPE_SIZE, false) + BESIDE,
            (_, Seat::Terminal(..)) => 0.0,
        };
        beside + LANE * f(last - place) + 7.0
    });
    needs.fold(FINGER, f64::max)
}

/// What ends higher has the lower rank.
fn rank(seat: Seat) -> (usize, usize, usize) {
    match seat {
        Seat::Joint(joint) => (0, joint, 0),
        Seat::Terminal(device, terminal) => (1, device, terminal),
    }
}

/// Every line before it has a place.
fn begin(inside: &Unfolded) -> Vec<LineAt> {
    let start = |begin, seat| LineAt { begin, seat, lane: 0.0, stacked: 0, way: Way::from(0.0, 0.0), at: 0.0 };
    let ends = inside.cables.iter().enumerate().flat_map(|(cable, note)| {
        note.ends.iter().enumerate().map(move |(end, of)| start(Begin::End { cable, end }, of.seat))
    });
    let pigtails = inside.joints.iter().enumerate().flat_map(|(joint, note)| {
        note.pigtails.iter().enumerate().map(move |(pigtail, of)| start(Begin::Pigtail { joint, pigtail }, of.to))
    });
    ends.chain(pigtails).collect()
}
