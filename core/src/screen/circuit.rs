//! The circuit as a picture: source to boxes, what controls what, where something disagrees, what was not opened.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::run_short_name;
use crate::circuit::Circuit;
use crate::job::{LoadPoint, ThingId};
use crate::picture::branch::MOST_STOPS;
use crate::picture::course::{Course, Feed, Stop, Thread};
use crate::picture::unfolded::Sense;
use crate::picture::{PHONE_WIDTH, circuit_picture};
use crate::refusal::Refusal;
use crate::rules::{Edition, Severity, check};
use crate::words::{count, say};

use super::inside::length_words;
use super::order::power_course;
use super::parts::{deeds, edge_of_thing, run_kind, sentence, w, wiring_of};
use super::row::{Edge, Pick, Screen};
use super::state::{box_state, cover, last_noted, unknown_runs};
use super::view::View;

/// The page `circuit`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&super::front::site_name(view), &w("circuit.title"));
    screen.rows.extend(super::checks::disagree::standing(view));
    let course = folded(view, course(view).ordered());
    if course.stops.is_empty() {
        screen.rows.push(sentence("no-boxes", &w("no_boxes")).edge(Edge::Unknown));
    } else {
        screen.rows.push(super::drawing::row("picture", circuit_picture(&course, PHONE_WIDTH)));
    }
    let table = Pick::new(&w("deed.table"), view.go(&view.page("table")));
    let note = Pick::new(&w("deed.note_box"), view.go(&view.page("note-box")));
    screen.rows.push(deeds(Some(table), vec![note]));
    Ok(screen)
}

/// A long course with its quiet branches folded, but for the one that the address asks for. What the code asks is only
/// looked at where something could be folded.
fn folded(view: &View<'_>, mut course: Course) -> Course {
    if course.stops.len() > MOST_STOPS {
        let edition = view.job_note().and_then(|job| job.edition.get().copied()).and_then(Edition::of);
        let findings = edition.map(|edition| check(view.planned(), view.catalogue, edition)).unwrap_or_default();
        let over: BTreeSet<String> = findings
            .iter()
            .filter(|one| one.severity == Severity::Over)
            .filter_map(|one| one.in_box.map(|id| id.to_string()))
            .collect();
        for stop in &mut course.stops {
            stop.quiet &= !over.contains(&stop.key);
        }
    }
    course.folded(view.address.field("unfold"), &|inside| branch(view, inside))
}

/// A branch as one row: its first box, how many there are, and how many of them nobody has seen.
fn branch(view: &View<'_>, inside: &[Stop]) -> Stop {
    let Some(first) = inside.first() else { return Stop::default() };
    let unknown = inside.iter().filter(|stop| stop.edge == Some(Edge::Unknown)).count();
    let mut state = vec![count("words.boxes", inside.len(), &[])];
    if unknown > 0 {
        state.push(count("picture.branch.unknown", unknown, &[]));
    }
    let state = state.join(", ");
    let spoken = say("picture.branch", &[("box", &first.tag), ("place", &first.place), ("state", &state)]);
    Stop {
        tag: first.tag.clone(),
        place: first.place.clone(),
        state,
        // One box that nobody has seen is enough: what is not known comes first.
        edge: Some(if unknown > 0 { Edge::Unknown } else { Edge::Found }),
        quiet: true,
        sense: Sense { spoken, token: view.here("unfold", &first.key), held: false },
        ..Stop::default()
    }
}

/// Boxes with the runs that feed them.
fn course(view: &View<'_>) -> Course {
    let boxes = power_course(view);
    let disagreeing = super::checks::disagree::boxes(view);
    let place: BTreeMap<ThingId, usize> = boxes.iter().enumerate().map(|(n, (id, _))| (*id, n)).collect();
    let stops: Vec<Stop> = boxes
        .iter()
        .map(|(id, by)| Stop {
            run: by.and_then(|by| Some(feed(view, by.run, *place.get(&by.from)?))),
            ..stop(view, *id, disagreeing.get(id))
        })
        .collect();
    let threads = threads(view, &place);
    let spoken = say(
        "picture.circuit",
        &[
            ("boxes", &count("words.boxes", stops.len(), &[])),
            ("threads", &count("picture.threads", threads.len(), &[])),
        ],
    );
    Course { stops, threads, spoken }
}

fn stop(view: &View<'_>, id: ThingId, disagrees: Option<&String>) -> Stop {
    let wiring = wiring_of(view, id);
    let note = wiring.boxes.get(&id);
    let state = box_state(view, id);
    let place = note.and_then(|note| note.location.get().cloned()).unwrap_or_else(|| w("place_unknown"));
    let tag = wiring.tag(id);
    let to = view.page("box").word(id).with_some("layer", super::front::layer_of(state.edge));
    // Of a box that nobody has seen the inside of, the picture says that it was not opened.
    let is_closed = state.edge == Edge::Unknown && cover(view, id).is_none();
    let state_words = if is_closed { say("picture.not_opened", &[("state", &state.words)]) } else { state.words };
    let disagrees = disagrees.cloned().unwrap_or_default();
    let told = if disagrees.is_empty() { state_words.clone() } else { format!("{state_words}; {disagrees}") };
    let spoken = say("picture.stop", &[("box", &tag), ("place", &place), ("state", &told)]);
    Stop {
        key: id.to_string(),
        tag,
        place,
        state: state_words,
        edge: Some(state.edge),
        run: None,
        quiet: matches!(state.edge, Edge::Found | Edge::Unknown) && disagrees.is_empty(),
        disagrees,
        boxes: 1,
        stubs: unknown_runs(view, id),
        sense: Sense { spoken, token: view.go(&to), ..Sense::default() },
    }
}

fn feed(view: &View<'_>, run: ThingId, from: usize) -> Feed {
    let layers = [view.left(), view.planned(), view.found()];
    let wiring = layers.into_iter().find(|wiring| wiring.runs.contains_key(&run)).unwrap_or_else(|| view.found());
    let kind = wiring.runs.get(&run).and_then(|note| note.kind.get());
    let mut words = vec![kind.map_or_else(|| run_kind(wiring, run), |kind| run_short_name(kind))];
    words.extend(length_words(wiring, run));
    Feed {
        from,
        words: words.join(", "),
        jacket: kind.and_then(|kind| view.catalogue.run(kind)?.jacket.clone()).unwrap_or_default(),
        edge: Some(edge_of_thing(view, wiring, run)),
    }
}

/// What is switched, with the boxes of its switches: as left once anything is noted as left, else as planned.
fn threads(view: &View<'_>, place: &BTreeMap<ThingId, usize>) -> Vec<Thread> {
    let is_left = place.keys().any(|id| last_noted(view, *id, view.left().layer).is_some());
    let wiring = if is_left { view.left() } else { view.planned() };
    let Ok(circuit) = Circuit::of(wiring, view.catalogue) else { return Vec::new() };
    let disagreeing: BTreeSet<LoadPoint> = super::checks::disagree::loads(view);
    let stop_of = |device: ThingId| {
        let note = wiring.devices.get(&device)?;
        place.get(&note.in_box.get().copied().flatten()?).copied()
    };
    let mut threads: Vec<Thread> = Vec::new();
    for group in circuit.groups().into_iter().filter(|group| !group.handles.is_empty()) {
        let mut switches: Vec<usize> = group.handles.iter().filter_map(|handle| stop_of(handle.device)).collect();
        switches.dedup();
        for load in &group.loads {
            let Some(outlet) = stop_of(load.device) else { continue };
            let disagrees = disagreeing.contains(load);
            threads.push(Thread { letter: String::new(), switches: switches.clone(), outlet, disagrees });
        }
    }
    threads.sort_by_key(|thread| thread.outlet);
    for (letter, thread) in ('a'..='z').cycle().zip(&mut threads) {
        thread.letter = letter.to_string();
    }
    threads
}
