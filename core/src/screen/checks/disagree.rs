//! What was read or seen live and is not as worked out.

use std::collections::{BTreeMap, BTreeSet};

use crate::check::{Disagreement, LiveTrial, Observed, on_since};
use crate::job::{Happening, LoadPoint, Subject, ThingId};
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::row::{Edge, Pick, Row, Screen};
use crate::screen::view::View;
use crate::tell::{figure_words, prediction_words};
use crate::token::Line;
use crate::words::{count, say};

use super::bench::Bench;
use super::live::{clock, lit_words, power_word};
use super::parts::{deeds, edged, headline, item, moment, sentence, text};
use super::work;

/// What disagrees, in words: what, seen beside worked out, and when.
pub(super) fn words(bench: &Bench<'_>, one: &Disagreement) -> (String, String) {
    let (title, seen, worked, when) = match &one.observed {
        Observed::Trial(tried) => {
            let title = bench.called.load(&tried.trial.load);
            let positions = bench.called.positions(&tried.trial.at);
            let title = say("checks.disagree.at", &[("load", &title), ("at", &positions)]);
            (title, power_word(Some(tried.trial.on)), power_word(tried.trial.shown), tried.when)
        }
        Observed::Reading(id, taken) => {
            let reading = &taken.reading;
            let pair = bench.checks.say_pair(&reading.pair);
            let title = say("name.in_box", &[("box", &bench.called.r#box(*id)), ("name", &pair)]);
            let shown = reading.shown.as_ref().map(|shown| prediction_words(shown.low, shown.high));
            (title, figure_words(&reading.figure, reading.mode), shown.unwrap_or_default(), taken.when)
        }
    };
    let fill = [("seen", seen.as_str()), ("worked", &worked), ("when", &clock(bench.view, when))];
    (title, say("checks.disagree.seen", &fill))
}

/// The disagreements that stand, each leading to the page about them.
pub(super) fn standing_rows(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let all = bench.checks.disagreements().into_iter().filter(|one| one.ended.is_none());
    let each = all.enumerate().map(|(n, one)| {
        let (title, second) = words(bench, &one);
        let row = edged(&format!("disagrees {n}"), Edge::Disagrees, &title, &second, "");
        row.leads(view.go(&view.page("disagree")))
    });
    each.collect()
}

/// The rows of the disagreements that stand, for a page that has no bench of its own; empty and cheap where nothing
/// was read or tried live.
pub(in crate::screen) fn standing(view: &View<'_>) -> Vec<Row> {
    if was_observed(view) { standing_rows(&Bench::new(view)) } else { Vec::new() }
}

/// The boxes in which something that was read or tried disagrees and stands, each with what was seen beside what was
/// worked out.
pub(in crate::screen) fn boxes(view: &View<'_>) -> BTreeMap<ThingId, String> {
    if !was_observed(view) {
        return BTreeMap::new();
    }
    let bench = Bench::new(view);
    let all = bench.checks.disagreements().into_iter().filter(|one| one.ended.is_none());
    all.filter_map(|one| Some((place(&bench, &one)?, words(&bench, &one).1))).collect()
}

/// Was anything read or tried live?
fn was_observed(view: &View<'_>) -> bool {
    let observed = |happened: &crate::job::Happened| match &happened.what {
        Happening::Tried(_) => true,
        Happening::Read(reading) => reading.shown.is_some(),
        _ => false,
    };
    view.notes.happened().any(observed)
}

/// The load points of which a trial disagrees and stands.
pub(in crate::screen) fn loads(view: &View<'_>) -> BTreeSet<LoadPoint> {
    let tried = view.notes.happened().any(|happened| matches!(happened.what, Happening::Tried(_)));
    if !tried {
        return BTreeSet::new();
    }
    let all = Bench::new(view).checks.disagreements().into_iter().filter(|one| one.ended.is_none());
    let trials = all.filter_map(|one| match one.observed {
        Observed::Trial(tried) => Some(tried.trial.load.clone()),
        Observed::Reading(..) => None,
    });
    trials.collect()
}

/// The page `disagree`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let all = bench.checks.disagreements();
    let (standing, ended): (Vec<_>, Vec<_>) = all.iter().partition(|one| one.ended.is_none());
    let title = count("checks.disagree.title", standing.len(), &[]);
    let mut screen = view.screen(&site_name(view), &title);
    if standing.is_empty() {
        screen.rows.push(sentence("none", &say("checks.disagree.none", &[])));
    }
    screen.rows.extend(lit_rows(&bench, &standing));
    for (n, one) in standing.iter().enumerate() {
        let (title, second) = words(&bench, one);
        screen.rows.push(edged(&format!("disagrees {n}"), Edge::Disagrees, &title, &second, ""));
    }
    if !ended.is_empty() {
        screen.rows.push(headline("ended", &say("checks.disagree.ended", &[]), ""));
    }
    for (n, one) in ended.iter().enumerate() {
        let (title, second) = words(&bench, one);
        let when = one.ended.map(|when| clock(view, when)).unwrap_or_default();
        let value = say("checks.disagree.ended_at", &[("when", &when)]);
        screen.rows.push(edged(&format!("ended {n}"), Edge::Left, &title, &second, &value));
    }
    screen.rows.extend(conclusions(&bench, &all));
    screen.rows.extend(next_rows(&bench));
    let live = Pick::new(&say("checks.to_live", &[]), view.go(&view.page("live")));
    // Where one source alone feeds the work, it is the one that goes OFF.
    let to = match work::sources(&bench, &work::boxes(view)).as_slice() {
        [only] => view.page("source").word(only),
        _ => view.page("sources"),
    };
    let sources = Pick::new(&say("checks.sources", &[]), view.go(&to));
    let (main, others) = if standing.is_empty() { (live, vec![sources]) } else { (sources, vec![live]) };
    screen.rows.push(deeds(Some(main), others));
    Ok(screen)
}

/// What the count of lit positions says of each load point that disagrees.
fn lit_rows(bench: &Bench<'_>, standing: &[&Disagreement]) -> Vec<Row> {
    let view = bench.view;
    let boxes: BTreeSet<ThingId> = work::boxes(view).into_iter().collect();
    let sources = work::sources(bench, &boxes.iter().copied().collect::<Vec<_>>());
    let check = bench.checks.live(&boxes, on_since(view.notes, &sources));
    let mut by_load: BTreeMap<LoadPoint, Vec<LiveTrial>> = BTreeMap::new();
    for trial in check.trials {
        by_load.entry(trial.load.clone()).or_default().push(trial);
    }
    let loads: BTreeSet<&LoadPoint> = standing
        .iter()
        .filter_map(|one| match &one.observed {
            Observed::Trial(tried) => Some(&tried.trial.load),
            Observed::Reading(..) => None,
        })
        .collect();
    let predictor = if loads.is_empty() { None } else { bench.predictor() };
    let each = loads.into_iter().filter_map(|load| {
        let words = lit_words(bench, predictor.as_ref(), by_load.get(load)?)?;
        Some(sentence(&format!("lit {}", crate::token::path::load_text(load)), &words))
    });
    each.collect()
}

/// The box that a disagreement was seen in: what a conclusion is noted of.
fn place(bench: &Bench<'_>, one: &Disagreement) -> Option<ThingId> {
    match &one.observed {
        Observed::Reading(id, _) => Some(*id),
        Observed::Trial(tried) => work::home(bench.view.left(), tried.trial.load.device),
    }
}

/// What the search came to so far, and a place to type it.
fn conclusions(bench: &Bench<'_>, all: &[Disagreement]) -> Vec<Row> {
    let view = bench.view;
    let mut rows = vec![headline("conclude", &say("checks.disagree.conclude", &[]), "")];
    for happened in view.notes.happened() {
        if let Happening::Concluded(words) = &happened.what {
            let of = match &happened.of {
                Subject::Thing(id) => bench.checks.say_thing(*id),
                _ => String::new(),
            };
            let second = say("checks.disagree.noted", &[("of", &of), ("when", &moment(view, happened.wall))]);
            rows.push(edged(&format!("concluded {}", happened.fact), Edge::Found, words, &second, ""));
        }
    }
    let standing = all.iter().rev().find(|one| one.ended.is_none()).or_else(|| all.last());
    let at = standing.and_then(|one| place(bench, one));
    if let Some(at) = at {
        let event = Line::new("conclude").word(at).word("?");
        rows.push(text("type", &say("checks.disagree.type", &[]), view.event(event)));
    }
    rows
}

/// The boxes that a search may open again, each by its dead check first.
fn next_rows(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let mut rows = vec![headline("again", &say("checks.disagree.again", &[]), "")];
    rows.extend(work::boxes(view).into_iter().map(|id| {
        let title = say("checks.disagree.dead", &[("box", &super::parts::place(view.left(), id))]);
        let state = bench.person.map(|person| bench.checks.say_state(&bench.checks.dead(id, person).state));
        let row = item(&format!("dead {id}"), &title, &state.unwrap_or_default());
        row.leads(view.go(&view.page("dead").word(id)))
    }));
    rows
}
