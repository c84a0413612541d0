//! The pairs of a dead check, grouped by where the first lead is clipped: one hand stays free, the clip moves seldom.

use crate::check::{Answer, DeadState, NOTHING_LIT, Try, Verdict, say_mistake, say_try};
use crate::job::happening::Question;
use crate::job::{At, Figure, Handle, Mode, Pair, Purpose, Spot};
use crate::predict::Predictor;
use crate::screen::row::{Edge, Pick, Row};
use crate::tell::{figure_words, unit};
use crate::words::{count, say};

use super::bench::Bench;
use super::dead::{Dead, Stage};
use super::parts::{at_text, choice, edged, figure, headline, here, item, notice, pair_key, sentence, step};

/// Values that stand side by side in equal weight.
const QUICK: [&str; 4] = ["0.0", "0.1", "0.2", "0.3"];

/// Pairs that follow one another with the lead clipped in one place and no handle turned.
struct Group<'a> {
    from: &'a Spot,
    answers: Vec<(usize, &'a Answer)>,
    /// The lead is there already.
    stays: bool,
}

/// What a question asks to be turned first: handles that stood otherwise, or nowhere yet, in the questions before.
fn turns(answers: &[Answer]) -> Vec<Vec<At>> {
    let mut stand: Vec<At> = Vec::new();
    let each = answers.iter().map(|answer| {
        let turned: Vec<At> = answer.question.at.iter().filter(|at| !stand.contains(at)).cloned().collect();
        let handles: Vec<&Handle> = turned.iter().map(|at| &at.handle).collect();
        stand.retain(|at| !handles.contains(&&at.handle));
        stand.extend(turned.iter().cloned());
        turned
    });
    each.collect()
}

fn groups<'a>(answers: &'a [Answer], turns: &[Vec<At>]) -> Vec<Group<'a>> {
    let mut all: Vec<Group<'a>> = Vec::new();
    for ((n, answer), turned) in answers.iter().enumerate().zip(turns) {
        let from = &answer.question.pair.from;
        // A handle that was told its position in this very group and is turned now begins another one.
        let turned_again = |group: &Group<'_>| {
            let known = group.answers.iter().flat_map(|(_, answer)| &answer.question.at);
            known.clone().any(|at| turned.iter().any(|now| now.handle == at.handle))
        };
        match all.last_mut() {
            Some(group) if group.from == from && !turned_again(group) => group.answers.push((n, answer)),
            before => {
                let stays = before.is_some_and(|group| group.from == from);
                all.push(Group { from, answers: vec![(n, answer)], stays });
            }
        }
    }
    all
}

/// The highest figure among some answers, as it was read.
pub(super) fn highest<'a>(answers: impl Iterator<Item = &'a Answer>) -> String {
    let taken = answers.flat_map(|answer| answer.taken.iter().chain(&answer.dc));
    let highest = taken.max_by(|a, b| {
        let volts = |figure: &Figure| match figure {
            Figure::Number(volts) => volts.to_f64().abs(),
            Figure::NoDigits(words) if words == NOTHING_LIT => -1.0,
            Figure::OverRange | Figure::NoDigits(_) => f64::INFINITY,
        };
        volts(&a.reading.figure).total_cmp(&volts(&b.reading.figure))
    });
    highest.map(|taken| figure_words(&taken.reading.figure, taken.reading.mode)).unwrap_or_default()
}

/// Step 4 with its pairs: finished groups, the group that is being read, what remains.
pub(super) fn rows(dead: &Dead<'_, '_>) -> Vec<Row> {
    let begun = dead.check.check.is_some();
    let stale = matches!(dead.check.state, DeadState::Stale { .. }) || (begun && dead.stage == Stage::Ask);
    let today: Vec<Answer>;
    let answers = if stale {
        // What was read no longer counts; what would be asked now is shown instead.
        let ground = dead.ground();
        today = dead.bench.checks.pairs(dead.check.r#box, ground.as_deref()).into_iter().map(unread).collect();
        &today
    } else {
        &dead.check.answers
    };
    let read = answers.iter().filter(|answer| answer.verdict.is_some()).count();
    let limit = say("checks.pairs.limit", &[("limit", &dead.bench.checks.policy().dead_limit.to_string())]);
    let title = if begun && !stale {
        count("checks.pairs.read", answers.len(), &[("read", &read.to_string())])
    } else {
        count("checks.pairs.to_ask", answers.len(), &[])
    };
    let row = step(4, begun && !stale && read == answers.len() && read > 0, &title, &limit, "");
    let mut rows = vec![if matches!(dead.stage, Stage::Ask | Stage::Read) { row.now() } else { row }];
    let turns = turns(answers);
    let open = dead.bench.view.address.field("group").and_then(|group| group.parse::<usize>().ok());
    let ghosts = Ghosts::of(dead);
    let mut remains = Vec::new();
    for (n, group) in groups(answers, &turns).iter().enumerate() {
        let is_now = dead.now.is_some_and(|now| group.answers.iter().any(|(n, _)| *n == now));
        if is_now || open == Some(n) {
            rows.extend(open_group(dead, group, &turns, &ghosts));
        } else if group.answers.iter().all(|(_, answer)| answer.verdict.is_some()) {
            rows.push(finished(dead, n, group));
        } else {
            remains.push(group_words(dead.bench, group));
        }
    }
    rows.extend(remaining(dead, &remains, &turns));
    rows
}

fn unread(question: Question) -> Answer {
    Answer { question, taken: None, dc: None, mistake: None, verdict: None }
}

fn from_words(bench: &Bench<'_>, from: &Spot) -> String {
    bench.called.spot(from)
}

fn group_words(bench: &Bench<'_>, group: &Group<'_>) -> (String, usize) {
    let left = group.answers.iter().filter(|(_, answer)| answer.verdict.is_none()).count();
    (from_words(bench, group.from), left)
}

/// A group that is read through, as one row with its highest value.
fn finished(dead: &Dead<'_, '_>, n: usize, group: &Group<'_>) -> Row {
    let bench = dead.bench;
    let title = count("checks.pairs.finished", group.answers.len(), &[("from", &from_words(bench, group.from))]);
    let touched = group.answers.iter().map(|(_, answer)| bench.called.spot(&answer.question.pair.to));
    let touched = touched.collect::<Vec<_>>().join(", ");
    let mut at: Vec<At> = Vec::new();
    for one in group.answers.iter().flat_map(|(_, answer)| &answer.question.at) {
        if !at.contains(one) {
            at.push(one.clone());
        }
    }
    let second = if at.is_empty() {
        touched
    } else {
        say("checks.pairs.touched", &[("spots", &touched), ("at", &bench.called.positions(&at))])
    };
    let highest = highest(group.answers.iter().map(|(_, answer)| *answer));
    let over = group.answers.iter().any(|(_, answer)| answer.verdict > Some(Verdict::Under));
    let edge = if over { Edge::Disagrees } else { Edge::Left };
    let value = say("checks.pairs.highest", &[("value", &highest)]);
    let row = edged(&format!("group {n}"), edge, &title, &second, &value);
    row.leads(bench.view.go(&here(bench.view, &[("group", &n.to_string()), ("pair", "")])))
}

/// The group that is being read: where the lead is clipped, and a row for each pair.
fn open_group(dead: &Dead<'_, '_>, group: &Group<'_>, turns: &[Vec<At>], ghosts: &Ghosts) -> Vec<Row> {
    let bench = dead.bench;
    let right = count("checks.pairs.count", group.answers.len(), &[]);
    let key = if group.stays { "checks.pairs.stays" } else { "checks.pairs.clip" };
    let clip = say(key, &[("from", &from_words(bench, group.from))]);
    let key = group.answers.first().map_or(0, |(n, _)| *n);
    let mut rows = vec![headline(&format!("clip {key}"), &clip, &right)];
    for (n, answer) in &group.answers {
        let is_now = dead.now == Some(*n);
        let turned = turns.get(*n).map(Vec::as_slice).unwrap_or_default();
        let row = pair_row(dead, *n, answer, turned);
        rows.push(if is_now { row.now() } else { row });
        if is_now && dead.mode == Mode::AcHigh && ghosts.likely(dead, &answer.question) {
            rows.push(sentence(&format!("ghost {n}"), &say("checks.ghost.likely", &[])));
        }
        if is_now {
            rows.push(quick(dead, &answer.question.pair, &answer.question.at));
        }
    }
    rows
}

fn pair_row(dead: &Dead<'_, '_>, n: usize, answer: &Answer, turned: &[At]) -> Row {
    let bench = dead.bench;
    let title = bench.called.spot(&answer.question.pair.to);
    let positions = bench.called.positions(&answer.question.at);
    let fill = [("at", positions.as_str())];
    let mut second = match (positions.is_empty(), turned.is_empty()) {
        (true, _) => String::new(),
        (false, true) => say("checks.pairs.with", &fill),
        (false, false) => say("checks.pairs.turn", &[("at", &bench.called.positions(turned))]),
    };
    let mut edge = match answer.verdict {
        Some(Verdict::Under) => Edge::Left,
        Some(_) => Edge::Disagrees,
        None if dead.now == Some(n) => Edge::Planned,
        None => Edge::Unknown,
    };
    if let Some(mistake) = answer.mistake {
        edge = Edge::Stale;
        second = say("checks.pairs.mistake", &[("why", &say_mistake(mistake))]);
    } else if answer.verdict > Some(Verdict::Under) {
        let limit = bench.checks.policy().dead_limit.to_string();
        second = say("checks.pairs.over", &[("limit", &limit)]);
    } else if answer.verdict.is_none() && (answer.taken.is_some() || answer.dc.is_some()) {
        second = say(if answer.dc.is_some() { "checks.pairs.ac_too" } else { "checks.pairs.dc_too" }, &[]);
    }
    let each = answer.taken.iter().chain(&answer.dc);
    let each =
        each.map(|taken| (figure_words(&taken.reading.figure, taken.reading.mode), taken.reading.mode == Mode::Dc));
    let value = each.map(|(words, dc)| if dc { say("checks.pairs.dc", &[("value", &words)]) } else { words });
    let value = value.collect::<Vec<_>>().join(", ");
    // What was read has its unit in it; what is still to be read shows the unit alone.
    let unit = if value.is_empty() { "V" } else { "" };
    let key = format!("pair {n} {}", pair_key(&answer.question.pair));
    let row = figure(&key, &title, &second, &value, unit, "").edge(edge);
    let begun = dead.check.check.is_some();
    if begun && dead.now != Some(n) && dead.stage == Stage::Read {
        return row.leads(bench.view.go(&here(bench.view, &[("pair", &n.to_string()), ("group", "")])));
    }
    row
}

/// What is to be read at the pair: quick values of equal weight, a number over the limit, a tester without digits.
fn quick(dead: &Dead<'_, '_>, pair: &Pair, at: &[At]) -> Row {
    let event = dead.bench.read(dead.check.r#box, pair, Purpose::Dead, dead.mode);
    let event = event.with_some("check", dead.check.check).with_some("at", at_text(at));
    let label = say("checks.pairs.reads", &[("meter", &dead.bench.meter.words(dead.mode))]);
    quick_choice(dead.bench, &format!("quick {}", pair_key(pair)), &label, &event)
}

/// Quick values for a dead reading; `event` notes it once its figure is added.
pub(super) fn quick_choice(bench: &Bench<'_>, key: &str, label: &str, event: &crate::token::Line) -> Row {
    let view = bench.view;
    let then = here(view, &[("pair", ""), ("group", "")]);
    let send = |name: &str, value: &str| view.event_then(event.clone().with(name, value), &then);
    let mut picks: Vec<Pick> =
        QUICK.iter().map(|value| Pick::new(&say("checks.volts", &[("value", value)]), send("value", value))).collect();
    let over = Pick::new(&say("checks.over", &[]), send("value", "?")).second(&say("checks.over.second", &[]));
    picks.push(over.asks(&say("checks.ask_number", &[]), true).unit(unit(Mode::AcLow)));
    let dark = Pick::new(&say("checks.no_digits", &[]), send("indication", NOTHING_LIT));
    picks.push(dark.second(&say("checks.dark", &[])));
    let lit = Pick::new(&say("checks.no_digits", &[]), send("indication", "?")).second(&say("checks.lit", &[]));
    picks.push(lit.asks(&say("checks.ask_lit", &[]), false));
    choice(key, label, picks)
}

/// What remains after the group that is being read, in one row.
fn remaining(dead: &Dead<'_, '_>, remains: &[(String, usize)], turns: &[Vec<At>]) -> Option<Row> {
    let (from, first) = remains.first()?;
    let pairs: usize = remains.iter().map(|(_, left)| left).sum();
    let title = count("checks.pairs.then", *first, &[("from", from)]);
    let after = dead.now.map_or(0, |now| now + 1);
    let turned: Vec<At> = turns.iter().skip(after).flatten().cloned().collect();
    let mut handles: Vec<Handle> = turned.into_iter().map(|at| at.handle).collect();
    handles.sort();
    handles.dedup();
    let handles: Vec<String> = handles.iter().map(|handle| dead.bench.called.handle(handle)).collect();

    let second =
        if handles.is_empty() { String::new() } else { say("checks.pairs.turns", &[("handles", &handles.join(", "))]) };
    let key = if dead.now.is_some() { "checks.pairs.more" } else { "checks.pairs.count" };
    Some(edged("remains", Edge::Unknown, &title, &second, &count(key, pairs, &[])))
}

/// What is over the limit, what to try, and the ways to read it again.
pub(super) fn over_rows(dead: &Dead<'_, '_>, state: &str) -> Vec<Row> {
    let DeadState::NotProven { over } = &dead.check.state else { return Vec::new() };
    let (bench, view) = (dead.bench, dead.bench.view);
    let mut rows = vec![edged("state", Edge::Disagrees, state, "", "")];
    let ghosts = Ghosts::of(dead);
    for (question, tries) in over {
        let found = dead.check.answers.iter().enumerate().find(|(_, answer)| answer.question == *question);
        let Some((n, answer)) = found else { continue };
        let words = bench.checks.say_question(question);
        let value = highest(std::iter::once(answer));
        if answer.verdict == Some(Verdict::TreatAsLive) {
            let title = say("checks.over.live", &[("pair", &words), ("value", &value)]);
            rows.push(notice(&format!("live {n}"), true, &title, &say_try(Try::BackFeed)));
        } else {
            rows.push(edged(&format!("over {n}"), Edge::Disagrees, &words, &say("checks.over.why", &[]), &value));
        }
        let high = tries.contains(&Try::HighImpedance);
        let low = tries.contains(&Try::LowImpedance) && !high;
        let tries = tries.iter().filter(|one| answer.verdict != Some(Verdict::TreatAsLive) || **one != Try::BackFeed);
        rows.extend(tries.enumerate().map(|(m, one)| sentence(&format!("try {n} {m}"), &say_try(*one))));
        if answer.verdict != Some(Verdict::TreatAsLive) && low {
            let key = if ghosts.likely(dead, question) { "checks.ghost.worked_out" } else { "checks.ghost.not" };
            rows.push(sentence(&format!("ghost {n}"), &say(key, &[])));
        }
        let to = |mode: &str| view.go(&here(view, &[("pair", &n.to_string()), ("mode", mode), ("group", "")]));
        let (key, mode) = match (high, low) {
            (true, _) => ("checks.over.high", "ac_high"),
            (false, true) => ("checks.over.low", "ac_low"),
            (false, false) => ("checks.over.again", ""),
        };
        rows.push(item(&format!("again {n}"), &say(key, &[]), &words).leads(to(mode)));
    }
    rows
}

/// Whether a pair is likely to show a ghost, worked out with every source that is OFF in that position.
struct Ghosts {
    predictor: Option<Predictor>,
    off: Vec<At>,
}

impl Ghosts {
    /// Worked out only where a high impedance may show one, or did.
    fn of(dead: &Dead<'_, '_>) -> Self {
        let bench = dead.bench;
        let over = matches!(dead.check.state, DeadState::NotProven { .. });
        let wanted = over || (dead.mode == Mode::AcHigh && dead.now.is_some());
        let predictor = wanted.then(|| bench.predictor()).flatten();
        let off = |id| bench.checks.hold(id).off_since.is_some();
        let off = predictor.as_ref().map(|predictor| predictor.off(off)).unwrap_or_default();
        Self { predictor, off }
    }

    fn likely(&self, dead: &Dead<'_, '_>, question: &Question) -> bool {
        let bench = dead.bench;
        let at: Vec<At> = self.off.iter().chain(&question.at).cloned().collect();
        let with = (bench.meter.id, Mode::AcHigh);
        let shown = self.predictor.as_ref();
        let shown = shown.and_then(|predictor| predictor.prediction(bench.view.notes, &question.pair, &at, with));
        shown.is_some_and(|shown| shown.ghost && shown.volts.high > bench.checks.policy().dead_limit.to_f64())
    }
}
