//! The box picture, drawn from its layout.

#![allow(clippy::indexing_slicing, reason = "every index comes from the layout, which was made of these lists")]

use super::layout::{
    BODY_HIGH, Band, Begin, FANNED, FINGER, FLAG, LONGEST_TAPE, Layout, LineAt, RowAt, SHEATH, SIDE, STACKED,
    STRIP_HIGH, TERMINALS_HIGH,
};
use super::pen::{BODY, Copper, INK, Pen, STRIP, TAPE, TRAY, Way};
use super::shape::{Anchor, Edge, Picture, Touch};
use super::text;
use super::unfolded::{Cable, End, Face, Finish, Holder, Joint, Label, Metal, Outline, Pigtail, Sense, Unfolded};

/// Width of a phone's picture in dp.
pub const PHONE_WIDTH: f64 = 360.0;
/// Size of most words.
const SMALL: f64 = 13.0;
/// Size of names.
const NAME: f64 = 14.0;

/// Draws a box at least `least_width` dp wide.
pub fn box_picture(inside: &Unfolded, least_width: f64) -> Picture {
    let layout = Layout::of(inside, least_width);
    let mut drawing = Drawing { inside, layout: &layout, pen: Pen::default(), places: Vec::new(), held: Vec::new() };
    drawing.frame();
    drawing.sheaths();
    drawing.conductors();
    drawing.strips();
    drawing.devices();
    drawing.flags();
    drawing.rings();
    let Drawing { pen, places, .. } = drawing;
    let spoken = inside.spoken.clone();
    Picture { width: layout.width, height: layout.height, shapes: pen.shapes, places, spoken }
}

struct Drawing<'a> {
    inside: &'a Unfolded,
    layout: &'a Layout,
    pen: Pen,
    places: Vec<Touch>,
    /// Left, top, width and height of the places of what is being moved.
    held: Vec<[f64; 4]>,
}

impl Drawing<'_> {
    fn touch(&mut self, (x, y): (f64, f64), (width, height): (f64, f64), sense: &Sense) {
        let Sense { spoken, token, held } = sense.clone();
        let [x, y, width, height] = [x, y, width, height].map(super::pen::tenth);
        if held {
            self.held.push([x, y, width, height]);
        }
        self.places.push(Touch { x, y, width, height, spoken, token });
    }

    /// A ring of ink round what is being moved: colour belongs to copper, so the mark is weight alone.
    fn rings(&mut self) {
        for [x, y, width, height] in std::mem::take(&mut self.held) {
            // A terminal's name reaches down to the foot of its place: the ring goes under it.
            let (left, top, right, foot) = (x + 2.0, y + 2.0, x + width - 2.0, y + height + 2.5);
            let ring = Way::from(left, top).to(right, top).to(right, foot).to(left, foot).closed();
            self.pen.stroke(INK, None, &ring, 4.0);
        }
    }

    fn frame(&mut self) {
        let (w, h) = (self.layout.width, self.layout.height);
        let (left, right, foot) = (4.0, w - 4.0, h - 2.0);
        let corners = if self.inside.outline == Outline::Octagon {
            let high = [(26.0, 22.0), (w - 26.0, 22.0), (right, 44.0), (right, h - 24.0)];
            [high.to_vec(), vec![(w - 26.0, foot), (26.0, foot), (left, h - 24.0), (left, 44.0)]].concat()
        } else {
            vec![(left, 22.0), (right, 22.0), (right, foot), (left, foot)]
        };
        let way = corners.iter().skip(1).fold(Way::from(corners[0].0, corners[0].1), |way, (x, y)| way.to(*x, *y));
        // Metal is heavier: the stroke of what is solid, though it says nothing of a state here.
        let edge = if self.inside.metal { Edge::Left } else { Edge::Found };
        self.pen.fill(TRAY, (self.inside.outline != Outline::Air).then_some(edge), &way.closed());
        if self.inside.hazard {
            self.pen.hatch_along(&corners);
        }
    }

    fn sheaths(&mut self) {
        for (cable, column) in self.inside.cables.iter().zip(&self.layout.columns) {
            let (left, width) = (column.left + 2.0, column.width - 4.0);
            let jacket = if cable.jacket.is_empty() { STRIP } else { &cable.jacket };
            self.pen.rect(jacket, Some(cable.edge.unwrap_or(Edge::Found)), (left, 1.0), (width, SHEATH));
            self.sheath_words(cable, left + width / 2.0, width - 3.0);
            if cable.removed {
                let struck = Way::from(left + 3.0, SHEATH - 2.0).to(left + width - 3.0, 4.0);
                self.pen.stroke(INK, None, &struck, 3.0);
            }
            if cable.changed {
                self.pen.changed(left, 1.0);
            }
            self.touch((column.left, 0.0), (column.width, FINGER), &cable.sense);
        }
    }

    fn sheath_words(&mut self, cable: &Cable, x: f64, room: f64) {
        let dark = cable.jacket == "jacket_8";
        let role = if dark { STRIP } else { INK };
        let title = format!("{} {}", cable.letter, cable.kind);
        let title = title.trim();
        let fits = text::width(title, NAME, true) <= room;
        // In a narrow column the kind has a line of its own, and where the cable enters is left to its place.
        let (first, second) = if fits { (title, cable.enters.as_str()) } else { (&*cable.letter, &*cable.kind) };
        let lines = [(first, NAME, true), (second, SMALL, false), (&cable.from, SMALL, true)];
        let lines: Vec<_> = lines.into_iter().filter(|(words, ..)| !words.is_empty()).collect();
        // Two lines stand in the middle of the sheath, three fill it.
        let top = if lines.len() < 3 { 23.0 } else { 18.0 };
        for (n, (words, size, bold)) in (0u8..).zip(lines) {
            let bold = bold && text::width(words, size, true) <= room;
            let words = text::cut(words, room, size, bold);
            self.pen.words_in(role, (x, top + 14.0 * f64::from(n)), &words, size, Anchor::Middle, bold);
        }
    }

    fn end(&self, line: &LineAt) -> Option<&End> {
        match line.begin {
            Begin::End { cable, end } => Some(&self.inside.cables[cable].ends[end]),
            Begin::Pigtail { .. } => None,
        }
    }

    fn pigtail(&self, line: &LineAt) -> Option<&Pigtail> {
        match line.begin {
            Begin::Pigtail { joint, pigtail } => Some(&self.inside.joints[joint].pigtails[pigtail]),
            Begin::End { .. } => None,
        }
    }

    fn conductors(&mut self) {
        let layout = self.layout;
        for line in &layout.lines {
            let (colour, edge, remarked) = match (self.end(line), self.pigtail(line)) {
                (Some(end), _) => (end.colour.clone(), end.edge, end.remarked.clone()),
                (None, Some(pigtail)) => (pigtail.colour.clone(), pigtail.edge, None),
                (None, None) => continue,
            };
            self.pen.conductor(Copper { colour: &colour, edge }, &line.way);
            // White used as hot: two bands of the marking colour under the sheath.
            for y in [FANNED, FANNED + 7.0] {
                if let Some(mark) = &remarked {
                    self.pen.rect(mark, None, (line.lane - 3.5, y), (7.0, 4.5));
                }
            }
        }
    }

    fn strips(&mut self) {
        let layout = self.layout;
        for (joint, row) in self.inside.joints.iter().zip(&layout.rows) {
            let ends: Vec<&LineAt> = row.ends.iter().map(|n| &layout.lines[*n]).collect();
            if joint.changed || ends.iter().filter_map(|line| self.end(line)).any(|end| end.changed) {
                self.pen.rect(INK, None, (0.0, row.top + 2.0), (4.0, row.strip + STRIP_HIGH - row.top));
            }
            let width = layout.rail - SIDE;
            if joint.hazard {
                self.pen.hatched((SIDE - 5.0, row.strip - 6.0), (width + 8.0, STRIP_HIGH + 12.0));
            }
            if joint.holder == Holder::Through {
                self.through(joint, row.strip, width);
            } else {
                self.pen.rect(TRAY, None, (SIDE - 1.0, row.strip - 2.0), (width + 2.0, STRIP_HIGH + 4.0));
                self.strip(joint, row.strip, width);
            }
            for line in ends {
                self.port(joint, line, row.strip);
            }
            self.row_places(joint, row);
        }
    }

    /// No strip: one line from end to end, with its words where no conductor passes behind.
    fn through(&mut self, joint: &Joint, y: f64, width: f64) {
        let line = Way::from(SIDE, y + 1.0).across_to(SIDE + width);
        self.pen.stroke(INK, joint.edge, &line, 2.0);
        let name = text::cut(&joint.name, width - 18.0, NAME, true);
        let used = text::width(&name, NAME, true);
        self.pen.rect(TRAY, None, (SIDE + 6.0, y + 4.0), (used + 6.0, 19.0));
        self.pen.words((SIDE + 8.0, y + 18.0), &name, NAME, Anchor::Start, true);
    }

    /// Kind by shape: a wire connector tapers at one end, push-in has round ends, lever and others square ones.
    fn strip(&mut self, joint: &Joint, y: f64, width: f64) {
        let (x, foot) = (SIDE, y + STRIP_HIGH);
        let edge = if joint.holder == Holder::Free { Edge::Unknown } else { joint.edge.unwrap_or(Edge::Found) };
        match joint.holder {
            Holder::WireConnector => {
                let way = Way::from(x, y + 6.0)
                    .to(x + 14.0, y)
                    .to(x + width, y)
                    .to(x + width, foot)
                    .to(x + 14.0, foot)
                    .to(x, foot - 6.0)
                    .closed();
                self.pen.fill(STRIP, Some(edge), &way);
            }
            Holder::PushIn => self.pen.round_rect(STRIP, Some(edge), (x, y), (width, STRIP_HIGH), 8.0),
            Holder::Other | Holder::Free | Holder::Through => {
                self.pen.rect(STRIP, Some(edge), (x, y), (width, STRIP_HIGH));
            }
        }
        let rings = f64::from(u8::try_from(joint.spare).unwrap_or(u8::MAX)) * 12.0;
        let right = x + width - rings - 8.0;
        let room = right - x - 18.0;
        let name = text::cut(&joint.name, room, NAME, true);
        let used = text::width(&name, NAME, true);
        self.pen.words((x + 18.0, y + 17.5), &name, NAME, Anchor::Start, true);
        if room - used > 40.0 {
            let rest = text::cut(&joint.text, room - used - 8.0, SMALL, false);
            self.pen.words((right, y + 17.5), &rest, SMALL, Anchor::End, false);
        }
        if joint.holder == Holder::Free && joint.edge == Some(Edge::Disagrees) {
            // The mark of two facts that differ: a filled half would lie under the words of the strip.
            self.pen.rect(STRIP, joint.edge, (x + width - 27.0, y + 6.0), (17.0, 13.0));
        }
        for ring in 0..joint.spare {
            let across = f64::from(u8::try_from(ring).unwrap_or(u8::MAX)) * 12.0;
            self.pen.circle(STRIP, Some(Edge::Found), (x + width - 10.0 - across, y + STRIP_HIGH / 2.0), 4.0);
        }
    }

    /// Where a conductor meets its strip: a port, a cap, bare copper, or a hollow dot where nobody knows.
    fn port(&mut self, joint: &Joint, line: &LineAt, y: f64) {
        let x = line.lane;
        let finish = self.end(line).map_or(Finish::Joined, |end| end.finish);
        match (joint.holder, finish) {
            (_, Finish::Unknown) => self.pen.circle(STRIP, Some(Edge::Found), (x, y + 1.0), 5.0),
            (_, Finish::Capped) => {
                let cap = Way::from(x - 7.0, y - 3.0)
                    .to(x + 7.0, y - 3.0)
                    .to(x + 5.0, y + 9.0)
                    .curve((x + 5.0, y + 15.0), (x - 5.0, y + 15.0), (x - 5.0, y + 9.0))
                    .closed();
                self.pen.fill(TAPE, Some(Edge::Found), &cap);
            }
            (_, Finish::Bare) => {
                let bare = Way::from(x, y - 2.0).to(x, y + 7.0).to(x + 4.0, y + 13.0);
                self.pen.stroke(INK, None, &bare, 5.0);
                self.pen.stroke("bare", None, &bare, 3.0);
            }
            (Holder::Through, Finish::Joined) => self.pen.rect(INK, None, (x - 3.0, y - 2.0), (6.0, 6.0)),
            (_, Finish::Joined) => {
                self.pen.circle(STRIP, None, (x, y + 1.0), 5.4);
                self.pen.circle(INK, None, (x, y + 1.0), 4.2);
            }
        }
    }

    /// An end's place is where its column meets its joint's row; a joint that no cable's end is in is touched itself.
    fn row_places(&mut self, joint: &Joint, row: &RowAt) {
        let layout = self.layout;
        let height = row.strip + STRIP_HIGH + 8.0 - row.top;
        if row.ends.is_empty() {
            self.touch((SIDE, row.top), (layout.rail - SIDE, height - 4.0), &joint.sense);
        }
        for n in &row.ends {
            let line = &layout.lines[*n];
            let Begin::End { cable, .. } = line.begin else { continue };
            let Some(sense) = self.end(line).map(|end| end.sense.clone()) else { continue };
            let column = layout.columns[cable];
            let place = f64::from(u8::try_from(line.stacked).unwrap_or(u8::MAX));
            let high = if row.stack == 1 { height - 4.0 } else { STACKED };
            self.touch((column.left, row.top + place * STACKED), (column.width, high), &sense);
        }
    }

    fn devices(&mut self) {
        let layout = self.layout;
        for (n, band) in layout.bands.iter().enumerate() {
            let device = &self.inside.devices[n];
            if device.changed {
                self.pen.rect(INK, None, (0.0, band.top), (4.0, band.body + BODY_HIGH - band.top));
            }
            let edge = device.edge.unwrap_or(Edge::Found);
            self.pen.round_rect(BODY, Some(edge), (SIDE, band.body), (band.width, BODY_HIGH), 10.0);
            if device.hazard {
                self.pen.hatched((SIDE + 14.0, band.body + BODY_HIGH - 13.0), (band.width - 28.0, 10.0));
            }
            self.links(n, band);
            self.screws(n, band);
            self.name(n, band);
            let low = band.body + TERMINALS_HIGH;
            self.touch((SIDE, low), (band.width, BODY_HIGH - TERMINALS_HIGH), &device.sense);
        }
    }

    fn name(&mut self, device: usize, band: &Band) {
        let device = &self.inside.devices[device];
        let y = band.body + BODY_HIGH - 28.0;
        self.face(device.face, SIDE + 22.0, y - 5.0);
        let room = band.width - 42.0 - 10.0;
        let name = text::cut(&device.name, room, NAME, true);
        let used = text::width(&name, NAME, true);
        self.pen.words((SIDE + 42.0, y), &name, NAME, Anchor::Start, true);
        if room - used > 30.0 {
            let note = text::cut(&device.note, room - used - 8.0, SMALL, false);
            self.pen.words((SIDE + band.width - 10.0, y), &note, SMALL, Anchor::End, false);
        }
    }

    fn face(&mut self, face: Face, x: f64, y: f64) {
        let line = |pen: &mut Pen, from: (f64, f64), to: (f64, f64)| {
            pen.stroke(INK, None, &Way::from(from.0, from.1).to(to.0, to.1), 1.6);
        };
        if face == Face::Light {
            self.pen.circle(STRIP, Some(Edge::Found), (x, y), 10.0);
            self.pen.circle(INK, None, (x, y), 4.0);
            return;
        }
        self.pen.round_rect(STRIP, Some(Edge::Found), (x - 9.0, y - 11.0), (18.0, 22.0), 3.0);
        match face {
            Face::Switch => self.pen.rect(INK, None, (x - 3.0, y - 7.0), (6.0, 14.0)),
            Face::Combination => {
                self.pen.rect(INK, None, (x - 3.0, y - 8.0), (6.0, 6.0));
                line(&mut self.pen, (x - 3.5, y + 2.0), (x - 3.5, y + 7.0));
                line(&mut self.pen, (x + 3.5, y + 2.0), (x + 3.5, y + 6.0));
            }
            Face::Receptacle => {
                for top in [y - 7.0, y + 3.0] {
                    line(&mut self.pen, (x - 3.5, top), (x - 3.5, top + 5.0));
                    line(&mut self.pen, (x + 3.5, top), (x + 3.5, top + 4.0));
                }
            }
            Face::Other | Face::Light => {}
        }
    }

    /// Break-off links, whole or broken.
    fn links(&mut self, device: usize, band: &Band) {
        let centre =
            |terminal: usize| band.slots.iter().find(|slot| slot.terminal == terminal).map(|slot| slot.centre());
        for (a, b, whole) in &self.inside.devices[device].links {
            let (Some(a_at), Some(b_at)) = (centre(*a), centre(*b)) else { continue };
            let (from, to) = (a_at.min(b_at) + 10.0, a_at.max(b_at) - 10.0);
            let metal = screw_role(self.inside.devices[device].terminals[*a].metal);
            let middle = f64::midpoint(from, to);
            let parts = if *whole { vec![(from, to)] } else { vec![(from, middle - 5.0), (middle + 5.0, to)] };
            for (from, to) in parts {
                let way = Way::from(from, band.screws()).across_to(to);
                self.pen.stroke(INK, None, &way, 7.0);
                self.pen.stroke(metal, None, &way, 4.0);
            }
        }
    }

    fn screws(&mut self, device: usize, band: &Band) {
        for (n, terminal) in self.inside.devices[device].terminals.iter().enumerate() {
            let slots: Vec<_> = band.slots.iter().filter(|slot| slot.terminal == n).collect();
            for slot in &slots {
                let end = slot.line.and_then(|n| self.end(&self.layout.lines[n]));
                if terminal.hazard || end.is_some_and(|end| end.hazard) {
                    self.pen.hatched((slot.centre() - 16.0, band.screws() - 15.0), (32.0, 27.0));
                    self.pen.circle(BODY, None, (slot.centre(), band.screws()), 11.5);
                }
                self.screw(terminal.metal, slot.centre(), band.screws());
            }
            let (Some(first), Some(last)) = (slots.first(), slots.last()) else { continue };
            let (left, right) = (first.left, last.left + last.width);
            let lines = text::lines(&terminal.name, right - left - 2.0, SMALL, false);
            for (n, line) in (0u8..).zip(lines) {
                let at = (f64::midpoint(left, right), band.body + 38.0 + 13.0 * f64::from(n));
                self.pen.words(at, &line, SMALL, Anchor::Middle, false);
            }
        }
    }

    fn screw(&mut self, metal: Metal, x: f64, y: f64) {
        if metal == Metal::Lead {
            self.pen.rect(STRIP, Some(Edge::Found), (x - 5.0, y - 9.0), (10.0, 18.0));
            return;
        }
        self.pen.circle(screw_role(metal), Some(Edge::Found), (x, y), 9.5);
        let slot = Way::from(x - 6.0, y + 3.0).to(x + 6.0, y - 3.0);
        self.pen.stroke(if metal == Metal::Dark { STRIP } else { INK }, None, &slot, 2.0);
    }

    fn flags(&mut self) {
        let layout = self.layout;
        for row in &layout.rows {
            for n in &row.ends {
                let line = &layout.lines[*n];
                let (Begin::End { cable, .. }, Some(end)) = (line.begin, self.end(line)) else { continue };
                let y = row.top + 6.0 + f64::from(u8::try_from(line.stacked).unwrap_or(u8::MAX)) * STACKED;
                let left = layout.columns[cable].left + 2.0;
                let end = end.clone();
                self.row_flag(&end, (left, y), line.lane + 5.5 - left, line.stacked > 0);
            }
        }
        for (device, band) in layout.bands.iter().enumerate() {
            for slot in &band.slots {
                let top = band.flags - 10.0;
                let high = band.body + TERMINALS_HIGH - top;
                let Some(line) = slot.line.map(|n| &layout.lines[n]) else {
                    let sense = self.inside.devices[device].terminals[slot.terminal].sense.clone();
                    if !sense.token.is_empty() {
                        self.touch((slot.left, top), (slot.width, high), &sense);
                    }
                    continue;
                };
                let (words, label, changed, sense) = match (self.end(line), self.pigtail(line)) {
                    (Some(end), _) => (end.word.clone(), end.label.clone(), end.changed, end.sense.clone()),
                    (None, Some(tail)) => (tail.word.clone(), None, tail.changed, tail.sense.clone()),
                    (None, None) => continue,
                };
                let (x, width) = (slot.left + 3.0, slot.width - 6.0);
                self.terminal_flag((x, band.flags), width, &words, label.as_ref());
                if changed {
                    self.pen.changed(x, band.flags);
                }
                self.touch((slot.left, top), (slot.width, high), &sense);
            }
        }
    }

    /// Tape is drawn only where something is written; else the colour's word alone, or its letters.
    fn row_flag(&mut self, end: &End, (left, y): (f64, f64), room: f64, over_others: bool) {
        if let Some(label) = &end.label {
            let width = room.min(LONGEST_TAPE);
            let x = left + room - width;
            if end.hazard {
                self.pen.hatched((x - 4.0, y - 4.0), (width + 8.0, FLAG + 8.0));
            }
            self.tape((x, y), width, label);
            if end.changed {
                self.pen.changed(x, y);
            }
            return;
        }
        let word_room = room - 13.0;
        let fits = text::width(&end.word, SMALL, false) <= word_room;
        let words = text::cut(if fits { &end.word } else { &end.letters }, word_room.max(18.0), SMALL, false);
        let right = left + room - 12.0;
        let used = text::width(&words, SMALL, false);
        if end.hazard {
            self.pen.hatched((right - used - 9.0, y + 1.0), (used + 17.0, 31.0));
        }
        if over_others || end.hazard {
            self.pen.rect(TRAY, None, (right - used - 3.0, y + 7.0), (used + 5.0, 19.0));
        }
        self.pen.words((right, y + 21.0), &words, SMALL, Anchor::End, false);
        if end.changed {
            self.pen.changed((right - used - 14.0).max(left), y + 8.0);
        }
    }

    fn terminal_flag(&mut self, at: (f64, f64), width: f64, words: &str, label: Option<&Label>) {
        if let Some(label) = label {
            self.tape(at, width, label);
        } else {
            self.pen.rect(STRIP, Some(Edge::Found), at, (width, FLAG));
            self.two_lines(at, width, words, false);
        }
    }

    fn tape(&mut self, at: (f64, f64), width: f64, label: &Label) {
        // Cream is what stands in the building; of two claims nobody knows which does.
        let (role, edge) = match label {
            Label { twice: true, .. } => (STRIP, Edge::Unknown),
            Label { planned: true, .. } => (TAPE, Edge::Planned),
            _ => (TAPE, Edge::Found),
        };
        self.pen.rect(role, Some(edge), at, (width, FLAG));
        self.two_lines(at, width, &label.text, true);
    }

    fn two_lines(&mut self, (x, y): (f64, f64), width: f64, words: &str, bold: bool) {
        let lines = text::lines(words, width - 4.0, SMALL, bold);
        let first = if lines.len() == 1 { 21.0 } else { 14.5 };
        for (n, line) in (0u8..).zip(&lines) {
            let at = (x + width / 2.0, y + first + f64::from(n) * 13.0);
            self.pen.words(at, line, SMALL, Anchor::Middle, bold);
        }
    }
}

fn screw_role(metal: Metal) -> &'static str {
    match metal {
        Metal::Brass => "brass",
        Metal::Silver => "silver",
        Metal::Green => "green_screw",
        Metal::Dark => "black_screw",
        Metal::Lead | Metal::Plain => STRIP,
    }
}
