//! The live check: switch trials and readings that the wiring as left calls for, each beside what was worked out.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Role as Made;
use crate::check::{LiveCheck, LiveTrial, Observed, SourceState, on_since, say_between};
use crate::job::{At, Bus, Handle, Happening, LoadPoint, Pair, Purpose, Spot, ThingId};
use crate::predict::Predictor;
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::row::{Body, Edge, Pick, Row, Screen};
use crate::screen::view::View;
use crate::tell::{in_order, verdict_of};
use crate::token::Line;
use crate::token::path::load_text;
use crate::words::{count, say};

use super::bench::Bench;
use super::parts::{at_text, deeds, edged, here, moment, notice, number, sentence, take_back, trial_head};
use super::{disagree, live_reading, meter, work};

/// The page `live`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let boxes = work::boxes(view);
    let sources = work::sources(&bench, &boxes);
    let mut screen = view.screen(&site_name(view), &say("checks.live.title", &[]));
    let rows = &mut screen.rows;
    rows.extend(disagree::standing_rows(&bench));
    rows.push(notice("caution", false, &say("checks.live.caution", &[]), &say("checks.live.caution.text", &[])));
    rows.extend(source_rows(&bench, &sources));
    let check = bench.checks.live(&boxes.iter().copied().collect::<BTreeSet<_>>(), on_since(view.notes, &sources));
    let predictor = bench.predictor();
    if check.trials.is_empty() && check.readings.is_empty() {
        rows.push(sentence("none", &say("checks.live.none", &[])));
    }
    rows.extend(trial_rows(&bench, predictor.as_ref(), &check.trials));
    if !check.readings.is_empty() {
        let trials_done = check.trials.iter().all(|trial| trial.tried.is_some());
        rows.extend(meter::rows(&bench));
        rows.extend(live_reading::rows(&bench, predictor.as_ref(), &check.readings, trials_done));
    }
    let stands = bench.checks.disagreements().iter().any(|one| one.ended.is_none());
    let go = |page: &str, key: &str| Pick::new(&say(key, &[]), view.go(&view.page(page)));
    let record = go("record", "checks.to_record");
    let main =
        if stands { Some(go("disagree", "checks.to_disagree")) } else { through(&check).then(|| record.clone()) };
    let mut others = vec![go("findings", "checks.to_findings"), take_back(view)];
    if main.as_ref() != Some(&record) {
        others.insert(0, record);
    }
    rows.push(deeds(main, others));
    Ok(screen)
}

/// Everything that is called for was tried or read, and nothing disagrees.
pub(super) fn through(check: &LiveCheck) -> bool {
    let trials = check.trials.iter().all(|one| one.tried.is_some() && one.agrees != Some(false));
    trials && check.readings.iter().all(|one| one.taken.is_some() && one.agrees != Some(false))
}

fn source_rows(bench: &Bench<'_>, sources: &[ThingId]) -> Vec<Row> {
    let view = bench.view;
    let mut rows = Vec::new();
    for source in sources {
        let hold = bench.checks.hold(*source);
        let (name, words) = (bench.checks.say_thing(*source), bench.checks.say_hold(&hold));
        let row = edged(&format!("source {source}"), Edge::Found, &name, &words, "");
        match hold.state {
            SourceState::Off | SourceState::Locked => rows.push(row.leads(view.go(&view.page("ready")))),
            SourceState::On => {
                rows.push(row);
                rows.extend(at_source(bench, *source));
            }
            _ => rows.push(row),
        }
    }
    rows
}

/// What the source gives, read at its breaker once it is ON: every other reading is worked out from it.
fn at_source(bench: &Bench<'_>, source: ThingId) -> Option<Row> {
    let view = bench.view;
    let note = view.left().devices.get(&source)?;
    let panel = note.in_box.get().copied().flatten()?;
    let kind = note.kind.get().and_then(|kind| view.catalogue.device(kind))?;
    let load = kind.points.iter().find(|point| point.role == Made::Load)?;
    let pair = Pair {
        from: Spot::Bus { panel, bus: Bus::Neutral },
        to: Spot::Terminal { device: source, terminal: load.id.clone() },
    };
    let since = on_since(view.notes, &[source]);
    let was_read = view.notes.happened().any(|happened| {
        let of_pair = matches!(&happened.what, Happening::Read(reading) if reading.pair == pair);
        of_pair && Some(happened.stamp) > since
    });
    let event = bench.read(panel, &pair, Purpose::Live, bench.meter.mode).with("value", "?");
    let label = bench.checks.say_pair(&pair);
    (!was_read).then(|| number(&format!("at source {source}"), &label, "V", view.event(event)))
}

/// What was passed on: it waits for a second person or another place, and nothing is noted of it. It is asked again
/// once the rest is through.
pub(super) fn passed(view: &View<'_>) -> Vec<String> {
    let field = view.address.field("later").unwrap_or_default();
    field.split(',').filter(|key| !key.is_empty()).map(str::to_owned).collect()
}

/// The first that is open and was not passed on, else the one that was passed on first.
pub(super) fn next_open<'k>(view: &View<'_>, open: impl Iterator<Item = (usize, &'k str)>) -> Option<usize> {
    let passed = passed(view);
    let when = |key: &str| passed.iter().position(|known| known == key).map_or(0, |place| place + 1);
    open.min_by_key(|(_, key)| when(key)).map(|(n, _)| n)
}

/// Passes one on.
pub(super) fn pass_on(view: &View<'_>, key: &str) -> Pick {
    let mut all = passed(view);
    all.retain(|known| known != key);
    all.push(key.to_owned());
    let to = here(view, &[("later", &all.join(",")), ("again", ""), ("reading", "")]);
    Pick::new(&say("checks.live.pass_on", &[]), view.go(&to)).second(&say("checks.live.pass_on.second", &[]))
}

/// A trial's name for passing it on.
fn trial_key(n: usize) -> String {
    format!("t{n}")
}

/// A row for each position of each load point that is to be tried.
fn trial_rows(bench: &Bench<'_>, predictor: Option<&Predictor>, trials: &[LiveTrial]) -> Vec<Row> {
    let mut by_load: BTreeMap<&LoadPoint, Vec<(usize, &LiveTrial)>> = BTreeMap::new();
    for (n, trial) in trials.iter().enumerate() {
        by_load.entry(&trial.load).or_default().push((n, trial));
    }
    let view = bench.view;
    let again = view.address.field("again").and_then(|n| n.parse::<usize>().ok());
    // Which trial comes first is for the person to say by where they stand; the first of the list is only marked.
    let mut first = in_order(&bench.called, by_load.keys().copied());
    // After a search what disagreed is tried first, and stays there once it agrees: nothing moves under a finger.
    let disagreed = bench.checks.disagreements().into_iter().filter_map(|one| match one.observed {
        Observed::Trial(tried) => Some(tried.trial.load.clone()),
        Observed::Reading(..) => None,
    });
    let disagreed: BTreeSet<LoadPoint> = disagreed.collect();
    first.sort_by_key(|load| !disagreed.contains(*load));
    let course: Vec<usize> = first.iter().filter_map(|load| by_load.get(load)).flatten().map(|(n, _)| *n).collect();
    let open = course.into_iter().filter(|n| trials.get(*n).is_some_and(|trial| trial.tried.is_none()));
    let open: Vec<(usize, String)> = open.map(|n| (n, trial_key(n))).collect();
    let next = next_open(view, open.iter().map(|(n, key)| (*n, key.as_str())));
    let mut rows = Vec::new();
    for load in first {
        let Some(of_load) = by_load.get(load) else { continue };
        rows.push(trial_head(&format!("load {}", load_text(load)), &bench.called.load(load)));
        rows.extend(hint(bench, load, of_load));
        for (place, (n, trial)) in of_load.iter().enumerate() {
            let opened = again == Some(*n);
            let is_now = opened || (again.is_none() && next == Some(*n));
            if is_now {
                let before = place.checked_sub(1).and_then(|place| of_load.get(place)).map(|(_, trial)| *trial);
                rows.push(what_to_do(bench, *n, trial, before));
            }
            let row = trial_row(bench, predictor, *n, trial, is_now);
            rows.push(if is_now { row.now() } else { row });
        }
    }
    rows
}

/// Which handles to turn, and what to look at: after another trial of the same load only what differs from it.
fn what_to_do(bench: &Bench<'_>, n: usize, trial: &LiveTrial, before: Option<&LiveTrial>) -> Row {
    let stands = before.filter(|before| before.tried.is_some()).map(|before| before.at.as_slice()).unwrap_or_default();
    let turn: Vec<At> = trial.at.iter().filter(|at| !stands.contains(at)).cloned().collect();
    let load = bench.called.load(&trial.load);
    let positions = bench.called.positions(if turn.is_empty() { &trial.at } else { &turn });
    let key = if positions.is_empty() { "checks.live.look" } else { "checks.live.turn" };
    sentence(&format!("do {n}"), &say(key, &[("at", &positions), ("load", &load)]))
}

/// Handles and lamp that nobody can see from one place are for two people, or for many steps.
fn hint(bench: &Bench<'_>, load: &LoadPoint, trials: &[(usize, &LiveTrial)]) -> Option<Row> {
    let wiring = bench.view.left();
    let handles: BTreeSet<ThingId> =
        trials.iter().flat_map(|(_, trial)| &trial.at).filter_map(|at| work::home(wiring, at.handle.device)).collect();
    let lamp = work::home(wiring, load.device);
    let apart = handles.len() > 1 || handles.iter().any(|id| Some(*id) != lamp);
    let names: Vec<String> = handles.iter().map(|id| bench.called.r#box(*id)).collect();
    let at = lamp.map(|id| bench.called.r#box(id)).unwrap_or_default();
    let fill = [("handles", names.join(", ")), ("load", at)];
    let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
    (apart && trials.iter().any(|(_, trial)| trial.tried.is_none()))
        .then(|| sentence(&format!("two {}", load_text(load)), &say("checks.live.two", &fill)))
}

/// "on" or "off", or that it is not known.
pub(super) fn power_word(on: Option<bool>) -> String {
    match on {
        Some(true) => say("tell.power.on", &[]),
        Some(false) => say("tell.power.off", &[]),
        None => say("state.unknown", &[]),
    }
}

fn trial_row(bench: &Bench<'_>, predictor: Option<&Predictor>, n: usize, trial: &LiveTrial, opened: bool) -> Row {
    let view = bench.view;
    let waits = trial.tried.is_none() && !opened && passed(view).contains(&trial_key(n));
    let tried = trial.tried.as_ref();
    // What was shown when it was tried stays beside it; later wiring never judges it anew.
    let computed = match tried {
        Some(tried) => tried.trial.shown,
        None => predictor.and_then(|predictor| predictor.trial(&trial.load, &trial.at)),
    };
    let event = |seen: &str| {
        let line = Line::new("try").word(load_text(&trial.load)).with_some("at", at_text(&trial.at));
        let then = here(view, &[("again", "")]);
        Pick::new(
            &say(if seen == "on" { "tell.power.on" } else { "tell.power.off" }, &[]),
            view.event_then(line.with("seen", seen), &then),
        )
    };
    let mut answers = Vec::new();
    if opened || (tried.is_none() && !waits) {
        answers.extend([event("on"), event("off")]);
        answers.extend((opened && tried.is_none()).then(|| pass_on(view, &trial_key(n))));
    }
    let edge = match (tried, trial.agrees) {
        (None, _) => Edge::Unknown,
        (Some(_), Some(true)) => Edge::Left,
        (Some(_), Some(false)) => Edge::Disagrees,
        (Some(_), None) => Edge::Found,
    };
    let body = Body::Trial {
        handles: trial.at.iter().map(|at| work::handle_at(bench.view, &bench.called, at)).collect(),
        computed: power_word(computed),
        seen: match tried {
            Some(tried) => power_word(Some(tried.trial.on)),
            None if waits => say("checks.live.passed_on", &[]),
            None => String::new(),
        },
        verdict: verdict_of(trial.agrees),
        answers,
    };
    let key = format!("trial {} {}", load_text(&trial.load), at_text(&trial.at).unwrap_or_default());
    let row = Row::new(&key, body).edge(edge);
    if (tried.is_some() || waits) && !opened {
        return row.leads(view.go(&here(view, &[("again", &n.to_string())])));
    }
    row
}

/// Lit positions of a load point as they were seen, and as they were worked out: "lit in 1 of 4, worked out 2 of 4".
pub(super) fn lit_words(bench: &Bench<'_>, predictor: Option<&Predictor>, trials: &[LiveTrial]) -> Option<String> {
    let tried: Vec<bool> = trials.iter().filter_map(|trial| Some(trial.tried.as_ref()?.trial.on)).collect();
    let first = trials.first().filter(|_| tried.len() > 1)?;
    let lit = tried.iter().filter(|on| **on).count().to_string();
    let group = predictor?.table().group_of(&first.load)?;
    let column = group.column(&first.load)?;
    let tried_handles: Vec<&Handle> = first.at.iter().map(|at| &at.handle).collect();
    let rest = |at: &&At| !tried_handles.contains(&&at.handle);
    let other = group.rows.first().map(|row| row.at.iter().filter(rest).cloned().collect::<Vec<_>>())?;
    let rows = group.rows.iter().zip(&column).filter(|(row, _)| row.at.iter().filter(rest).eq(other.iter()));
    let gets: Vec<_> = rows.map(|(_, gets)| gets.power == crate::circuit::Power::On).collect();
    let worked = gets.iter().filter(|on| **on).count().to_string();
    let (of, all) = (tried.len().to_string(), gets.len().to_string());
    let name = bench.called.load(&first.load);
    let fill = [("load", name.as_str()), ("lit", &lit), ("of", &of), ("worked", &worked), ("all", &all)];
    Some(say("checks.live.lit", &fill))
}

/// How many trials and readings were made, for a row elsewhere.
pub(super) fn tried_words(done: usize, all: usize) -> String {
    count("checks.live.done", all, &[("done", &done.to_string())])
}

/// The clock of a trial or reading, for a second line.
pub(super) fn clock(view: &View<'_>, when: crate::check::When) -> String {
    moment(view, when.wall)
}

/// What the live check calls for and nobody has tried or read, in words.
pub(super) fn open_words(bench: &Bench<'_>, check: &LiveCheck) -> Vec<String> {
    let trials = check.trials.iter().filter(|trial| trial.tried.is_none()).map(|trial| {
        let (load, at) = (bench.called.load(&trial.load), bench.called.positions(&trial.at));
        if at.is_empty() { load } else { say("checks.disagree.at", &[("load", &load), ("at", &at)]) }
    });
    let readings = check.readings.iter().filter(|reading| reading.taken.is_none()).map(|reading| {
        let device = bench.called.device_in_box(reading.load.device);
        say("checks.live.reading_of", &[("device", &device), ("between", &say_between(reading.between))])
    });
    trials.chain(readings).collect()
}
