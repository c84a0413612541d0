//! The dead check of a box, in its order: references shown to be real, sources held, the meter shown to work, every
//! pair, the meter shown to work again. No value is offered as the main one: nobody gets through the pairs by hitting
//! the same big place without looking.

use crate::check::{CannotProve, Class, DeadCheck, DeadState, Stale, Verdict};
use crate::job::{Mode, Pair, Purpose, Spot, ThingId};
use crate::refusal::Refusal;
use crate::screen::order::boxes_as_power_runs;
use crate::screen::row::{Edge, Pick, Row, Screen};
use crate::screen::state::is_cover_off;
use crate::screen::view::View;
use crate::tell::figure_words;
use crate::token::Line;
use crate::words::{count, say};

use super::bench::Bench;
use super::parts::{choice, deeds, edged, here, item, moment, notice, number, sentence, step, take_back};
use super::{dead_list, isolated, meter, neutral, round};

/// Most grounds from elsewhere that are offered.
const MOST_GROUNDS: usize = 3;

/// Most reasons beside the first that are shown one by one.
const MOST_CAUSES: usize = 4;

/// What the dead check of a box waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    /// Nothing can be done here: a panel.
    Panel,
    /// A source without the person's lock.
    Sources,
    /// The meter is not shown to work.
    Prove,
    /// The list is to be asked, or asked again.
    Ask,
    /// Pairs are left.
    Read,
    /// The meter is to be shown to work again.
    Again,
    /// Nothing is left to be read; the state says what it comes to.
    Done,
}

/// A dead check as its screen has it.
pub(super) struct Dead<'b, 'v> {
    /// What is at hand.
    pub(super) bench: &'b Bench<'v>,
    /// The check that was asked last.
    pub(super) check: DeadCheck,
    /// Whom it shall count for.
    pub(super) person: ThingId,
    /// What it waits for.
    pub(super) stage: Stage,
    /// The pair that is read next, by its place in the list.
    pub(super) now: Option<usize>,
    /// The setting that it is read in.
    pub(super) mode: Mode,
}

impl<'b, 'v> Dead<'b, 'v> {
    pub(super) fn new(bench: &'b Bench<'v>, at: ThingId, person: ThingId) -> Self {
        let check = bench.checks.dead(at, person);
        let open = check.answers.iter().position(|answer| answer.verdict.is_none());
        let asked = bench.view.address.field("pair").and_then(|pair| pair.parse().ok());
        let now = asked.filter(|pair: &usize| *pair < check.answers.len()).or(open);
        // A source that may be DC asks for both: what is still missing decides the setting.
        let half = now.and_then(|now| check.answers.get(now)).filter(|answer| answer.mistake.is_none());
        let half = half.filter(|answer| answer.verdict.is_none());
        let mode = match half.map(|answer| (answer.taken.is_some(), answer.dc.is_some())) {
            Some((true, false)) => Mode::Dc,
            Some((false, true)) if bench.meter.mode == Mode::Dc => Mode::AcLow,
            _ => bench.meter.mode,
        };
        let mut dead = Self { bench, check, person, stage: Stage::Done, now, mode };
        dead.stage = dead.stage_now();
        dead.now = dead.now.filter(|_| dead.stage == Stage::Read);
        dead
    }

    fn stage_now(&self) -> Stage {
        let (check, bench) = (&self.check, self.bench);
        if check.isolation.panel {
            return Stage::Panel;
        }
        if !check.isolation.not_held_by(self.person).is_empty() {
            return Stage::Sources;
        }
        match &check.state {
            DeadState::ProveAgain(_) => return Stage::Again,
            DeadState::Holds { .. } => return Stage::Done,
            _ => {}
        }
        if !bench.meter.is_proved(&bench.checks, self.mode) {
            return Stage::Prove;
        }
        // A list that was asked before its reference was read is asked again with it.
        let other_reference =
            check.state == DeadState::CannotBeProved(CannotProve::NoReference) && !check.references.is_empty();
        let begun = check.check.is_some() && !matches!(check.state, DeadState::Stale { .. }) && !other_reference;
        match (begun, self.now) {
            (false, _) => Stage::Ask,
            (true, Some(_)) => Stage::Read,
            (true, None) => Stage::Done,
        }
    }
}

/// The page `dead <box>`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let at = bench.box_asked()?;
    let Some(person) = bench.person else {
        let mut screen = bench.screen_of(at, &say("checks.dead.title", &[]));
        let row = sentence("nobody", &say("checks.nobody", &[]));
        screen.rows.extend([caution(), row.leads(view.go(&view.page("visit"))), deeds(None, Vec::new())]);
        return Ok(screen);
    };
    let dead = Dead::new(&bench, at, person);
    let all = bench.checks.dead_all(at, person);
    let title = if all.len() > 1 { "checks.dead.title_again" } else { "checks.dead.title" };
    let mut screen = bench.screen_of(at, &say(title, &[]));
    let early = dead.stage != Stage::Read;
    let rows = &mut screen.rows;
    rows.extend(early.then(caution));
    rows.extend(dead.states());
    if dead.stage == Stage::Panel {
        rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    }
    rows.extend(dead.references());
    rows.extend(isolated::rows(&dead, 2));
    rows.extend(dead.meter());
    rows.extend(dead_list::rows(&dead));
    rows.extend(dead.round());
    rows.extend(neutral::rows(&bench, &dead.check, dead.stage == Stage::Read));
    rows.extend(dead.first_look());
    rows.extend(earlier(&bench, &all));
    rows.extend((!early).then(caution));
    rows.push(dead.deeds());
    Ok(screen)
}

fn caution() -> Row {
    notice("caution", false, &say("checks.dead.caution", &[]), &say("checks.dead.caution.text", &[]))
}

impl Dead<'_, '_> {
    /// What the check comes to so far, and every reason why it no longer counts.
    fn states(&self) -> Vec<Row> {
        let (checks, check) = (&self.bench.checks, &self.check);
        let words = checks.say_state(&check.state);
        let words = say("checks.dead.state", &[("state", &words)]);
        match &check.state {
            DeadState::NotBegun | DeadState::Reading { .. } => Vec::new(),
            DeadState::Stale { causes, .. } => {
                let mut rows = vec![edged("state", Edge::Stale, &words, &say("checks.dead.stale", &[]), "")];
                rows.extend(self.causes(causes));
                rows
            }
            DeadState::Holds { .. } => {
                vec![edged("state", Edge::Left, &words, &say("checks.dead.holds", &[]), "")]
            }
            DeadState::NotProven { .. } => dead_list::over_rows(self, &words),
            DeadState::CannotBeProved(_) | DeadState::NotHeld { .. } => {
                vec![edged("state", Edge::Unknown, &words, "", "")]
            }
            DeadState::ProveAgain(_) => vec![edged("state", Edge::Planned, &words, "", "")],
        }
    }

    /// Every reason but the first, each once.
    fn causes(&self, causes: &[Stale]) -> Vec<Row> {
        let mut each: Vec<String> = Vec::new();
        for words in causes.iter().map(|cause| self.bench.checks.say_cause(cause)) {
            if !each.contains(&words) {
                each.push(words);
            }
        }
        let more = each.len().saturating_sub(1 + MOST_CAUSES);
        let shown = each.iter().enumerate().skip(1).take(MOST_CAUSES);
        let mut rows: Vec<Row> =
            shown.map(|(n, words)| edged(&format!("cause {n}"), Edge::Stale, words, "", "")).collect();
        if more > 0 {
            rows.push(edged("causes", Edge::Stale, &count("checks.dead.causes", more, &[]), "", ""));
        }
        rows
    }

    /// Step 1: a live reading of this box's own hot before its breaker goes OFF, or an independent ground.
    fn references(&self) -> Vec<Row> {
        let (bench, view) = (self.bench, self.bench.view);
        let begun = self.check.check.is_some();
        let today = |when: crate::check::When| begun || when.wall.day() == view.now.day();
        let shown: Vec<_> = self.check.references.iter().filter(|reference| today(reference.when)).collect();
        if let Some(first) = shown.first() {
            let each = shown.iter().map(|reference| {
                let clock = moment(view, reference.when.wall);
                say("checks.reference.when", &[("spot", &bench.called.spot(&reference.spot)), ("when", &clock)])
            });
            let second = each.collect::<Vec<_>>().join(", ");
            let value = view.notes.happened().find(|happened| happened.fact == first.fact);
            let value = value.and_then(|happened| match &happened.what {
                crate::job::Happening::Read(reading) => Some(figure_words(&reading.figure, reading.mode)),
                _ => None,
            });
            let value = value.unwrap_or_default();
            let mut rows = vec![step(1, true, &say("checks.reference.done", &[]), &second, &value)];
            // While the breaker is ON the other references can be read as well.
            if self.stage == Stage::Sources && !self.is_off() {
                rows.extend(self.reference_pairs());
            }
            return rows;
        }
        let off = self.is_off();
        let why = if off { "checks.reference.too_late" } else { "checks.reference.why" };
        let row = step(1, false, &say("checks.reference.title", &[]), &say(why, &[]), "");
        let mut rows = vec![if self.wants_reference() { row.now() } else { row }];
        if !off {
            rows.extend(self.reference_pairs());
        }
        rows.extend(self.independent());
        rows
    }

    /// Every source was OFF and locked at some moment that lasts: what is read now shows no reference any more.
    fn is_off(&self) -> bool {
        matches!(self.check.isolation.locked_since(), Ok(Some(_)))
    }

    /// The source is still ON and nothing of the box was read live: that comes before anything else.
    pub(super) fn wants_reference(&self) -> bool {
        self.stage == Stage::Sources && self.check.references.is_empty() && !self.is_off()
    }

    /// Neutral and ground of the box, each against what should be live.
    fn reference_pairs(&self) -> Vec<Row> {
        let bench = self.bench;
        let joints = bench.checks.joints(self.check.r#box);

        let first = |class: Class| joints.iter().find(|joint| joint.class == class).map(|joint| joint.spot.clone());
        let each = [Class::Neutral, Class::Ground].into_iter().filter_map(first).filter_map(|from| {
            let to = bench.live_spot(self.check.r#box)?;
            let pair = Pair { from, to };
            if self.was_read_live(&pair) {
                return None;
            }
            let mode = if bench.meter.mode == Mode::Dc { Mode::AcLow } else { bench.meter.mode };
            let event = bench.read(self.check.r#box, &pair, Purpose::Reference, mode).with("value", "?");
            let key = format!("reference {}", super::parts::pair_key(&pair));
            Some(number(&key, &bench.checks.say_pair(&pair), "V", bench.view.event(event)))
        });
        each.collect()
    }

    /// Was this pair read as a reference today?
    fn was_read_live(&self, pair: &Pair) -> bool {
        let view = self.bench.view;
        let at = crate::job::Subject::Thing(self.check.r#box);
        let mut today = view.notes.happened().rev().take_while(|happened| happened.wall.day() == view.now.day());
        today.any(|happened| match &happened.what {
            crate::job::Happening::Read(reading) => {
                happened.of == at && reading.purpose == Purpose::Reference && reading.pair == *pair
            }
            _ => false,
        })
    }

    /// An independent ground, named first, then read against a known hot.
    fn independent(&self) -> Vec<Row> {
        let (bench, view) = (self.bench, self.bench.view);
        let Some(ground) = view.address.field("ground") else {
            let mut picks = self.ground_picks(&view.address);
            let pick = Pick::new(&say("checks.reference.other", &[]), view.go(&here(view, &[("ground", "?")])));
            picks.push(pick.asks(&say("checks.reference.ask_ground", &[]), false));
            return vec![choice("independent", "", picks)];
        };
        let (pair, event) = self.ground_reading(ground);
        vec![number("independent", &bench.checks.say_pair(&pair), "V", view.event(event))]
    }

    /// A ground from elsewhere, to be read against a known hot.
    fn ground_reading(&self, ground: &str) -> (Pair, Line) {
        let bench = self.bench;
        let hot = say("checks.reference.known_hot", &[]);
        let pair = Pair { from: Spot::Other(ground.to_owned()), to: Spot::Other(hot) };
        let mode = if bench.meter.mode == Mode::Dc { Mode::AcLow } else { bench.meter.mode };
        let event = bench.read(self.check.r#box, &pair, Purpose::Reference, mode).with("value", "?");
        (pair, event)
    }

    /// Known grounds, each with one touch and the number.
    pub(super) fn ground_picks(&self, then: &Line) -> Vec<Pick> {
        let grounds = self.known_grounds().into_iter();
        let each = grounds.map(|ground| {
            let (pair, event) = self.ground_reading(&ground);
            let ask = say("checks.reference.volts", &[("pair", &self.bench.checks.say_pair(&pair))]);
            Pick::new(&ground, self.bench.view.event_then(event, then)).asks(&ask, true)
        });
        each.collect()
    }

    /// Grounds that were shown real today: those that were read against a known hot, then those of other boxes.
    fn known_grounds(&self) -> Vec<String> {
        let (bench, view) = (self.bench, self.bench.view);
        let mut known: Vec<String> = Vec::new();
        let mut add = |words: String| {
            if !known.contains(&words) && known.len() < MOST_GROUNDS {
                known.push(words);
            }
        };
        let today = view.notes.happened().rev().filter(|happened| happened.wall.day() == view.now.day());
        for happened in today {
            if let crate::job::Happening::Read(reading) = &happened.what
                && let (Purpose::Reference, Spot::Other(ground), Spot::Other(_)) =
                    (reading.purpose, &reading.pair.from, &reading.pair.to)
            {
                add(ground.clone());
            }
        }
        let others = boxes_as_power_runs(view).into_iter().filter(|id| *id != self.check.r#box);
        for id in others.filter(|id| is_cover_off(view, *id)) {
            let joints = bench.checks.joints(id);
            let grounds = joints.iter().filter(|joint| joint.class == Class::Ground);
            let read = bench.checks.references(id);
            let today = |when: crate::check::When| when.wall.day() == view.now.day();
            let real = |spot: &Spot| read.iter().any(|one| one.spot == *spot && today(one.when));
            if grounds.into_iter().any(|joint| real(&joint.spot)) {
                add(say("checks.reference.ground_of", &[("box", &bench.called.r#box(id))]));
            }
        }
        known
    }

    /// Sources of this box, which no known source for the meter can be among.
    fn sources(&self) -> Vec<ThingId> {
        self.check.isolation.sources.iter().map(|source| source.id).collect()
    }

    /// Step 3: the meter is shown on a known source before the first pair.
    fn meter(&self) -> Vec<Row> {
        let meter = &self.bench.meter;
        let done = self.opening().or_else(|| meter.proof_words(self.bench, self.mode));
        let mut rows = match done {
            Some((title, second, value)) if self.stage != Stage::Prove => {
                vec![step(3, true, &title, &second, &value)]
            }
            _ => {
                let title = say("checks.prove.title", &[("meter", &meter.name)]);
                let row = step(3, false, &title, &say("checks.prove.second", &[]), "");
                vec![if self.stage == Stage::Prove { row.now() } else { row }]
            }
        };
        // Before a list is asked the meter can be shown once more, whenever it was shown last.
        if matches!(self.stage, Stage::Prove | Stage::Ask) {
            rows.push(meter::prove_row(self.bench, "prove", self.mode, self.check.r#box, &self.sources()));
        }
        if matches!(self.stage, Stage::Prove | Stage::Ask | Stage::Read) {
            rows.extend(meter::rows(self.bench));
        }
        rows
    }

    /// The proof that the readings of this check lie after.
    fn opening(&self) -> Option<(String, String, String)> {
        let proven = self.check.proofs.first().filter(|_| !matches!(self.check.state, DeadState::Stale { .. }))?;
        let (when, proof) = &proven.before;
        let meter = crate::job::InstrumentNote::read(self.bench.view.notes, proven.instrument).name.or(String::new());
        let title = say("checks.prove.done", &[("meter", &meter), ("on", &proof.on)]);
        let (clock, mode) = (moment(self.bench.view, when.wall), crate::tell::mode_words(proof.mode));
        let second = say("checks.prove.when", &[("when", &clock), ("mode", &mode)]);
        Some((title, second, figure_words(&proof.figure, proof.mode)))
    }

    /// The next box of the round, then step 5: once, after the last box.
    fn round(&self) -> Vec<Row> {
        let through = self.stage == Stage::Again || (self.stage == Stage::Done && self.check.counts());
        let waiting = if through || self.stage == Stage::Read { round::waiting(self) } else { Vec::new() };
        let mut rows = if through { round::next_rows(self, &waiting) } else { Vec::new() };
        if self.stage == Stage::Again && !rows.is_empty() {
            let next = rows.remove(0);
            rows.insert(0, next.now());
        }
        rows.extend(self.again(&waiting));
        if self.stage == Stage::Done && self.check.counts() {
            rows.extend(round::together(self));
        }
        rows
    }

    /// Step 5: the meter is shown on a known source again.
    fn again(&self, waiting: &[ThingId]) -> Vec<Row> {
        let closed = self.check.proofs.iter().filter(|_| self.check.counts());
        let closed = closed.filter_map(|proven| proven.after.as_ref()).next_back();
        if let Some((when, proof, _)) = closed {
            let second = say("checks.again.when", &[("on", &proof.on), ("when", &moment(self.bench.view, when.wall))]);
            let value = figure_words(&proof.figure, proof.mode);
            return vec![step(5, true, &say("checks.again.done", &[]), &second, &value)];
        }
        let same = self.check.proofs.first().map(|proven| proven.before.1.on.clone());
        let second = if waiting.is_empty() {
            same.map_or_else(String::new, |on| say("checks.again.same", &[("on", &on)]))
        } else {
            say("checks.again.after", &[("boxes", &round::names(self, waiting))])
        };
        let row = step(5, false, &say("checks.again.title", &[]), &second, "");
        if self.stage != Stage::Again {
            return vec![row];
        }
        let row = if waiting.is_empty() { row.now() } else { row };
        vec![row, meter::prove_row(self.bench, "prove again", self.mode, self.check.r#box, &self.sources())]
    }

    /// A proximity indicator: a first look, never a proof.
    fn first_look(&self) -> Vec<Row> {
        let (bench, view) = (self.bench, self.bench.view);
        if view.address.field("look").is_none() {
            let (title, second) = (say("checks.look.title", &[]), say("checks.look.second", &[]));
            return vec![item("look", &title, &second).leads(view.go(&here(view, &[("look", "yes")])))];
        }
        let joints = bench.checks.joints(self.check.r#box);
        let each = joints.iter().filter(|joint| joint.class == Class::Ungrounded).map(|joint| {
            let event = |indicated: &str| {
                let line = Line::new("first-look").word(self.check.r#box);
                view.event(line.word(crate::token::path::spot_text(&joint.spot)).with("indicated", indicated))
            };
            let lit = Pick::new(&say("checks.look.lit", &[]), event("yes"));
            let dark = Pick::new(&say("checks.look.dark", &[]), event("no"));
            let key = format!("look {}", crate::token::path::spot_text(&joint.spot));
            choice(&key, &bench.called.spot(&joint.spot), vec![lit, dark])
        });
        let mut rows = vec![sentence("look", &say("checks.look.second", &[]))];
        rows.extend(each);
        rows
    }

    fn deeds(&self) -> Row {
        let (bench, view) = (self.bench, self.bench.view);
        let sources = Pick::new(&say("checks.sources", &[]), view.go(&view.page("sources").word(self.check.r#box)));
        let main = match self.stage {
            Stage::Sources => Some(self.lock_here().unwrap_or_else(|| sources.clone())),
            Stage::Ask => Some(self.ask()),
            // No main act while pairs remain, nor in place of a number that has to be read off.
            Stage::Panel | Stage::Prove | Stage::Read | Stage::Again => None,
            Stage::Done => {
                let left = crate::screen::state::box_state(view, self.check.r#box).is_left.then_some("left");
                let to = view.page("box").word(self.check.r#box).with_some("layer", left);
                bench
                    .checks
                    .dead(self.check.r#box, self.person)
                    .counts()
                    .then(|| Pick::new(&say("checks.dead.to_box", &[]), view.go(&to)))
            }
        };
        let mut others = vec![take_back(view)];
        if main.as_ref() != Some(&sources) {
            others.push(sources);
        }
        if self.stage == Stage::Done && self.check.check.is_some() {
            others.push(self.ask());
        }
        deeds(main, others)
    }

    /// Where one source alone is without the person's lock: OFF, with their lock and tag, at once.
    fn lock_here(&self) -> Option<Pick> {
        let missing = self.check.isolation.not_held_by(self.person);
        let [only] = missing.as_slice() else { return None };
        if self.wants_reference() || !self.check.isolation.unknown.is_empty() {
            return None;
        }
        let off = self.bench.checks.hold(*only).off_since.is_some();
        let (event, key) = if off {
            (Line::new("lock").word(only), "checks.held.lock_here")
        } else {
            (Line::new("off").word(only).with("held", "lock"), "checks.held.off_here")
        };
        let source = self.bench.checks.say_thing(*only);
        Some(Pick::new(&say(key, &[("source", &source)]), self.bench.view.event(event)))
    }

    /// The independent ground that stands in for the box's own: as the address names it, else as it was read against
    /// a known hot where nothing of the box itself was.
    pub(super) fn ground(&self) -> Option<String> {
        self.bench.view.address.field("ground").map(str::to_owned).or_else(|| ground_of(&self.check))
    }

    /// The list that is asked for now.
    fn ask(&self) -> Pick {
        let view = self.bench.view;
        let ground = self.ground();
        let pairs = self.bench.checks.pairs(self.check.r#box, ground.as_deref()).len();
        let key = if self.check.check.is_some() { "checks.dead.ask_again" } else { "checks.dead.ask" };
        let event = Line::new("ask").word(self.check.r#box).with_some("ground", ground);
        let then = here(view, &[("pair", ""), ("group", ""), ("look", "")]);
        Pick::new(&count(key, pairs, &[]), view.event_then(event, &then))
    }
}

/// The independent ground that a check's references name, where none of them is the box's own.
pub(super) fn ground_of(check: &DeadCheck) -> Option<String> {
    let own = check.references.iter().any(|reference| !matches!(reference.spot, Spot::Other(_)));
    // Both probes were elsewhere: the lead was clipped on the ground, which is named first.
    check.references.iter().find_map(|reference| match &reference.spot {
        Spot::Other(words) if !own => Some(words.clone()),
        _ => None,
    })
}

/// All dead checks of the box before the last one.
fn earlier(bench: &Bench<'_>, all: &[DeadCheck]) -> Vec<Row> {
    let Some((_, before)) = all.split_last().filter(|(_, before)| !before.is_empty()) else { return Vec::new() };
    let mut rows = vec![super::parts::headline("earlier", &say("checks.dead.earlier", &[]), "")];
    rows.extend(before.iter().rev().map(|check| {
        let asked = check.asked.map(|when| moment(bench.view, when.wall)).unwrap_or_default();
        let read = check.answers.iter().filter(|answer| answer.verdict.is_some()).count();
        let title = count("checks.dead.earlier_row", read, &[("when", &asked)]);
        let over = check.answers.iter().any(|answer| answer.verdict > Some(Verdict::Under));
        let edge = match (&check.state, over) {
            (_, true) => Edge::Disagrees,
            (DeadState::Holds { .. }, _) => Edge::Left,
            _ => Edge::Stale,
        };
        let highest = dead_list::highest(check.answers.iter());
        let key = format!("earlier {}", check.check.map(|id| id.to_string()).unwrap_or_default());
        edged(&key, edge, &title, &bench.checks.say_state(&check.state), &highest)
    }));
    rows
}
