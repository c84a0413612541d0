//! Every dead check of the span, each as it stood when it was closed, and what made it stale afterwards. Which pairs,
//! what counts and what makes stale is worked out in [`crate::check`]; here it is set down.

use std::collections::{BTreeMap, BTreeSet};

use crate::check::{Answer, Checks, DeadCheck, DeadState, Disagreement, Policy, Verdict, say_mistake, say_try};
use crate::job::{Happening, Layer, Notes, Stamp, ThingId, Wiring};
use crate::tell::{figure_words, mode_words};
use crate::words::{count, say};

use super::day::Day;
use super::document::{Cell, Mark, Section, Table};
use super::front::entry;
use super::name::listed;

/// Causes that are set down of one check, the first among them.
const MOST_CAUSES: usize = 4;

/// One dead check, set down.
pub(super) struct Check {
    r#box: ThingId,
    /// As it was when it was closed: by the proof after it, else by its last reading.
    dead: DeadCheck,
    /// Whose check it is.
    person: ThingId,
    /// Its state then, in words.
    state: String,
    /// What to try where it was over the limit.
    tries: Vec<String>,
    /// The sources of the box and how each was held then, in words.
    sources: Vec<String>,
    /// Why it no longer counted later on, in order, in words.
    stale: Vec<String>,
}

/// What the checks of a job come to at the end of a span.
#[derive(Default)]
pub(super) struct Checked {
    /// The dead checks of the span, in the order in which they were asked.
    pub(super) dead: Vec<Check>,
    /// What can make each box live: the sources that are known, and the rest in words.
    fed_by: BTreeMap<ThingId, (Vec<ThingId>, Vec<String>)>,
    /// What was read or tried and was not as worked out.
    pub(super) disagreements: Vec<Disagreement>,
}

/// Works out every check of the span.
pub(super) fn checked(day: &Day<'_>) -> Checked {
    let policy = Policy::of(&day.job);
    let now = Checks::new(day.notes, &day.left, day.catalogue, policy);
    let mut fed_by = BTreeMap::new();
    for id in day.left.boxes.keys() {
        let isolation = now.isolation(*id);
        let sources = isolation.sources.iter().map(|source| source.id).collect();
        let unknown = isolation.unknown.iter().map(|unknown| now.say_unknown(unknown)).collect();
        let unknown = if isolation.panel { vec![say("record.box.fed.panel", &[])] } else { unknown };
        fed_by.insert(*id, (sources, unknown));
    }
    let mut dead: Vec<Check> = Vec::new();
    for happened in &day.happened {
        let (Happening::Asked(asked), crate::job::Subject::Thing(id)) = (&happened.what, &happened.of) else {
            continue;
        };
        if dead.iter().any(|check| check.dead.check == Some(asked.check)) {
            continue; // asked again, longer: one check
        }
        let person = day.person_of(&happened.fact.entry);
        let all = now.dead_all(*id, person);
        let Some(last) = all.into_iter().find(|check| check.check == Some(asked.check)) else { continue };
        dead.push(one(day, &now, last, person, policy));
    }
    Checked { dead, fed_by, disagreements: now.disagreements() }
}

/// The moment at which a check was closed: the proof after it, else its last reading, else its asking.
fn closed(check: &DeadCheck) -> Option<Stamp> {
    let after = check.proofs.iter().filter_map(|proof| proof.after.as_ref().map(|(when, _, _)| when.stamp)).max();
    let read = check.read_between().map(|(_, last)| last.stamp);
    after.max(read).or(check.asked.map(|asked| asked.stamp))
}

fn one(day: &Day<'_>, now: &Checks<'_>, last: DeadCheck, person: ThingId, policy: Policy) -> Check {
    let stale = match &last.state {
        DeadState::Stale { causes, .. } => {
            let mut seen = BTreeSet::new();
            let each = causes.iter().map(|cause| now.say_cause(cause));
            each.filter(|words| seen.insert(words.clone())).collect()
        }
        _ => Vec::new(),
    };
    let then: Option<Notes> = closed(&last).map(|stamp| day.notes.until(stamp));
    let Some(then) = then else {
        let state = now.say_state(&last.state);
        return Check { r#box: last.r#box, state, tries: Vec::new(), sources: Vec::new(), stale, dead: last, person };
    };
    let wiring = Wiring::of(&then, Layer::Left(day.job.id));
    let checks = Checks::new(&then, &wiring, day.catalogue, policy);
    let same = checks.dead_all(last.r#box, person).into_iter().find(|check| check.check == last.check);
    let dead = same.unwrap_or(last);
    let tries = match &dead.state {
        DeadState::NotProven { over } => over
            .iter()
            .map(|(question, tries)| {
                let tries = tries.iter().map(|one| say_try(*one)).collect::<Vec<_>>().join(" ");
                say("record.dead.over", &[("pair", &checks.say_question(question)), ("tries", &tries)])
            })
            .collect(),
        _ => Vec::new(),
    };
    let sources = dead.isolation.sources.iter().map(|source| {
        let (name, hold) = (day.names().source(source.id), checks.say_hold(&source.hold));
        say("record.dead.source", &[("source", &name), ("hold", &hold)])
    });
    let unknown = dead.isolation.unknown.iter().map(|unknown| checks.say_unknown(unknown));
    let sources = sources.chain(unknown).collect();
    Check { r#box: dead.r#box, state: checks.say_state(&dead.state), tries, sources, stale, dead, person }
}

/// The checks of one box, with their numbers.
fn of_box<'d>(day: &'d Day<'_>, id: ThingId) -> impl Iterator<Item = (usize, &'d Check)> {
    day.checked.dead.iter().filter(move |check| check.r#box == id).enumerate()
}

/// What can make a box live.
pub(super) fn fed_by(day: &Day<'_>, id: ThingId) -> Option<String> {
    let (sources, unknown) = day.checked.fed_by.get(&id)?;
    let sources = sources.iter().map(|source| day.names().source(*source));
    let all: Vec<String> = sources.chain(unknown.iter().cloned()).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

/// The boxes that a source reaches, as far as is known.
pub(super) fn reached_by(day: &Day<'_>, source: ThingId) -> String {
    let reached = |id: &ThingId| day.checked.fed_by.get(id).is_some_and(|(sources, _)| sources.contains(&source));
    listed(day.left.boxes_in_order().into_iter().filter(reached).map(|id| day.names().r#box(id)))
}

/// Checks of the span that did not count when they were closed, by box and number.
pub(super) fn not_counting(day: &Day<'_>) -> Vec<String> {
    let boxes = super::boxes::all(day).into_iter();
    let each = boxes.flat_map(|id| of_box(day, id).filter(|(_, check)| !check.dead.counts()).collect::<Vec<_>>());
    each.map(|(n, check)| {
        let (n, tag) = ((n + 1).to_string(), day.names().r#box(check.r#box));
        say("record.dead", &[("n", &n), ("box", &tag)])
    })
    .collect()
}

/// The last dead check of a box in one line.
pub(super) fn last_words(day: &Day<'_>, id: ThingId) -> String {
    let Some((_, check)) = of_box(day, id).last() else { return say("record.dead.none", &[]) };
    let time = check.dead.read_between().map(|(_, last)| day.time(last.wall)).unwrap_or_default();
    let pairs = count("record.dead.pairs", check.dead.answers.len(), &[]);
    let stale = if check.stale.is_empty() { String::new() } else { say("state.stale", &[]) };
    listed([time, pairs, highest(&check.dead), stale])
}

/// The highest that a check read.
fn highest(check: &DeadCheck) -> String {
    let taken = check.answers.iter().flat_map(|answer| answer.taken.iter().chain(&answer.dc));
    super::reading::highest(taken.map(|taken| &taken.reading))
}

/// The dead checks of a box, one section each.
pub(super) fn sections(day: &Day<'_>, id: ThingId) -> Vec<Section> {
    of_box(day, id).map(|(n, check)| section(day, n, check)).collect()
}

fn section(day: &Day<'_>, n: usize, check: &Check) -> Section {
    let names = day.names();
    let (number, tag) = ((n + 1).to_string(), names.r#box(check.r#box));
    let title = say("record.dead", &[("n", &number), ("box", &tag)]);
    let mut part = Section::new(format!("dead-{}-{number}", check.r#box), title);
    if !check.stale.is_empty() {
        part.mark = Some(Mark::Stale);
    }
    let dead = &check.dead;
    let asked = dead.asked.map(|asked| day.time(asked.wall)).unwrap_or_default();
    let asked = listed([asked, count("record.dead.pairs", dead.answers.len(), &[]), names.person(check.person)]);
    let read = dead.read_between().map(|(first, last)| {
        let (from, to) = (day.time(first.wall), day.time(last.wall));
        let when = if from == to { from } else { say("record.dead.from_to", &[("from", &from), ("to", &to)]) };
        listed([when, highest(dead)])
    });
    part.entries(vec![
        entry("record.dead.asked", asked),
        entry("record.dead.read", read.unwrap_or_else(|| say("record.read.not", &[]))),
        entry("record.dead.sources", check.sources.join("; ")),
        entry("record.dead.references", references(day, check)),
        entry("record.dead.before", proofs(day, dead, false)),
        entry("record.dead.after", proofs(day, dead, true)),
        entry("record.dead.state", check.state.clone()),
        entry("record.dead.stale", stale(check)),
    ]);
    part.list(check.tries.iter().cloned().map(Cell::new).collect());
    part.table(table(day, check));
    part
}

fn stale(check: &Check) -> Cell {
    if check.stale.is_empty() {
        return say("record.dead.not_stale", &[]).into();
    }
    // The first cause made it stale; of the later ones a few are enough.
    let mut causes: Vec<String> = check.stale.iter().take(MOST_CAUSES).cloned().collect();
    if check.stale.len() > MOST_CAUSES {
        causes.push(count("record.dead.more", check.stale.len() - MOST_CAUSES, &[]));
    }
    Cell::new(causes.join("; "))
}

/// What was shown to be a real reference before, and when.
fn references(day: &Day<'_>, check: &Check) -> String {
    let each = check.dead.references.iter().map(|reference| {
        let (spot, time) = (day.names().spot(&reference.spot, Some(check.r#box)), day.time(reference.when.wall));
        say("record.dead.reference", &[("spot", &spot), ("time", &time)])
    });
    let each = listed(each);
    if each.is_empty() { say("record.dead.no_reference", &[]) } else { each }
}

/// The proofs before, or after.
fn proofs(day: &Day<'_>, dead: &DeadCheck, after: bool) -> String {
    let each = dead.proofs.iter().map(|proven| {
        let (when, proof, worked) = match (&proven.after, after) {
            (Some((when, proof, worked)), true) => (when, proof, *worked),
            (None, true) => {
                return say("record.dead.no_proof_of", &[("name", &day.names().instrument(proven.instrument))]);
            }
            (_, false) => (&proven.before.0, &proven.before.1, true),
        };
        let fill = [
            ("time", day.time(when.wall)),
            ("name", day.names().instrument(proven.instrument)),
            ("on", proof.on.clone()),
            ("figure", figure_words(&proof.figure, proof.mode)),
        ];
        let key = if worked { "record.dead.proof" } else { "record.dead.proof_failed" };
        say(key, &fill.each_ref().map(|(slot, text)| (*slot, text.as_str())))
    });
    let each = listed(each);
    if each.is_empty() { say("record.dead.no_proof", &[]) } else { each }
}

/// Every pair that was asked, with what was read.
fn table(day: &Day<'_>, check: &Check) -> Table {
    let mut table = Table::new("", "record.pairs", &["from", "to", "at", "with", "read#", "what"]);
    let names = day.names();
    for answer in &check.dead.answers {
        let pair = &answer.question.pair;
        for (taken, first) in answer.taken.iter().map(|taken| (taken, true)).chain(answer.dc.iter().map(|t| (t, false)))
        {
            let reading = &taken.reading;
            table.row(vec![
                names.spot(&pair.from, Some(check.r#box)).into(),
                names.spot(&pair.to, Some(check.r#box)).into(),
                names.at(&reading.at).into(),
                listed([names.instrument(reading.instrument), mode_words(reading.mode)]).into(),
                figure_words(&reading.figure, reading.mode).into(),
                if first { what(answer).into() } else { Cell::default() },
            ]);
        }
        if answer.taken.is_none() {
            table.row(vec![
                names.spot(&pair.from, Some(check.r#box)).into(),
                names.spot(&pair.to, Some(check.r#box)).into(),
                names.at(&answer.question.at).into(),
                Cell::default(),
                say("record.read.not", &[]).into(),
                Cell::default(),
            ]);
        }
    }
    table
}

/// What there is to say of one answer beyond its number.
fn what(answer: &Answer) -> String {
    let verdict = match answer.verdict {
        Some(Verdict::Over) => say("record.verdict.over", &[]),
        Some(Verdict::TreatAsLive) => say("record.verdict.live", &[]),
        Some(Verdict::Under) | None => String::new(),
    };
    listed([verdict, answer.mistake.map(say_mistake).unwrap_or_default()])
}
