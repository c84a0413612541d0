//! The state of a box: how sure we are of it, in an edge and in words.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Fact, Happened, Happening, Layer, Stamp, Subject, ThingId, Wall};
use crate::words::count;

use super::changes::{changes, changes_inside};
use super::parts::{box_of_subject, is_unplaced, tips_in, w, wf};
use super::row::Edge;
use super::view::View;

/// What a row says of a box.
#[derive(Debug, Clone)]
pub(super) struct BoxState {
    /// How sure we are.
    pub(super) edge: Edge,
    /// The state in words, with what is not known: "planned, 6 changes; run B: other end not known".
    pub(super) words: String,
    /// Ends whose place nobody has noted.
    pub(super) unplaced: usize,
    /// Differences between as found and as planned.
    pub(super) planned: usize,
    /// Something is noted of it as left.
    pub(super) is_left: bool,
}

/// The state of a box in the job that is looked at; worked out once for a screen.
pub(super) fn box_state(view: &View<'_>, at: ThingId) -> BoxState {
    if let Some(known) = view.states.borrow().get(&at) {
        return known.clone();
    }
    let state = work_out(view, at);
    view.states.borrow_mut().insert(at, state.clone());
    state
}

fn work_out(view: &View<'_>, at: ThingId) -> BoxState {
    let planned = changes(view, view.found(), view.planned(), at).len();
    let left_at = last_noted(view, at, view.left().layer);
    let is_left = left_at.is_some() && matches!(view.left().layer, Layer::Left(_)) && !waits(view, at);
    let wiring = if is_left {
        view.left()
    } else if planned > 0 {
        view.planned()
    } else {
        view.found()
    };
    let tips = tips_in(view, wiring, at);
    let unplaced = tips.iter().filter(|tip| is_unplaced(wiring, tip)).count();
    let nothing_inside = unplaced == tips.len() && wiring.devices_in(at).is_empty();
    let nobody_looked = nothing_inside && !wiring.boxes.get(&at).is_some_and(|note| note.kind.is_said());
    let (edge, mut words) = if super::twice::is_twice(view, at) {
        (Edge::Disagrees, w("state_twice"))
    } else if let Some(dead) = stale(view, at, is_left) {
        (Edge::Stale, dead)
    } else if is_left {
        let edge = if super::parts::edge_of_tips(view, wiring, &tips) == Some(Edge::Left) {
            Edge::Left
        } else {
            Edge::Unchecked
        };
        let when = left_at.map(|wall| moment(view, wall)).unwrap_or_default();
        (edge, if edge == Edge::Left { wf("state_left", &[("when", &when)]) } else { w("state_unchecked") })
    } else if planned > 0 {
        (Edge::Planned, count("screen.state_planned", planned, &[]))
    } else if nobody_looked {
        (Edge::Unknown, w("state_unknown"))
    } else {
        let when = last_noted(view, at, view.found().layer).map(|wall| moment(view, wall));
        let words = when.map_or_else(|| w("state_earlier"), |when| wf("state_found", &[("when", &when)]));
        (Edge::Found, words)
    };
    let open_ends = unknown_runs(view, at);
    if !open_ends.is_empty() {
        words =
            wf("state_and", &[("state", &words), ("more", &wf("run_unknown", &[("letter", &open_ends.join(", "))]))]);
    } else if unplaced > 0 && edge != Edge::Unknown {
        words = wf("state_and", &[("state", &words), ("more", &count("screen.ends_unplaced", unplaced, &[]))]);
    }
    BoxState { edge, words, unplaced, planned, is_left }
}

/// Nothing of what is planned inside the box is left there yet: a run that was pulled to it from another box is not its
/// make-up.
fn waits(view: &View<'_>, at: ThingId) -> bool {
    let planned = changes_inside(view, view.found(), view.planned(), at);
    let open: BTreeSet<String> = changes_inside(view, view.left(), view.planned(), at).into_iter().collect();
    !planned.is_empty() && planned.iter().all(|change| open.contains(change))
}

/// Why a box's dead check no longer counts, in words. A box that was left and whose cover is on waits for no check.
fn stale(view: &View<'_>, at: ThingId, is_left: bool) -> Option<String> {
    let dead = super::dead::of(view, at).filter(|dead| dead.is_stale)?;
    (is_cover_off(view, at) || !is_left).then(|| dead.words.clone())
}

/// Letters of runs in a box whose other end nobody knows.
pub(super) fn unknown_runs(view: &View<'_>, at: ThingId) -> Vec<String> {
    let wiring = super::parts::wiring_of(view, at);
    let open = wiring.runs_in(at).into_iter().filter(|(run, side)| {
        let other = wiring.runs.get(run).map(|note| note.side(side.other()));
        other.is_none_or(|other| other.in_box.get().copied().flatten().is_none())
    });
    open.map(|(run, side)| super::parts::letter(wiring, run, side)).collect()
}

/// A moment: the hour on the day of looking, else the day.
pub(super) fn moment(view: &View<'_>, wall: Wall) -> String {
    if wall.day() == view.now.day() { wall.clock() } else { wall.day() }
}

/// When something that belongs to a box was last noted in a layer, by the clock.
pub(super) fn last_noted(view: &View<'_>, at: ThingId, layer: Layer) -> Option<Wall> {
    let entry = view.notes.entry(last_stamp(view, at, layer)?)?;
    Some(entry.noted.entry.wall)
}

/// Where in the order something that belongs to a box was last noted in a layer.
pub(super) fn last_stamp(view: &View<'_>, at: ThingId, layer: Layer) -> Option<Stamp> {
    // Whoever asks for one box or two is told sooner from the newest entry back.
    let few = view.noted.borrow().len() < 8 && view.times.get().is_none();
    if !few {
        return view.times.get_or_init(|| times(view)).get(&(at, layer)).copied();
    }
    *view.noted.borrow_mut().entry((at, layer)).or_insert_with(|| last_of(view, at, layer))
}

/// The same of one box, from the newest entry back.
fn last_of(view: &View<'_>, at: ThingId, layer: Layer) -> Option<Stamp> {
    let wiring = [view.found(), view.planned(), view.left()].into_iter().find(|wiring| wiring.layer == layer)?;
    let is_here = |fact: &Fact| match fact {
        Fact::Set(set) if set.layer == layer => {
            box_of_subject(wiring, &view.notes.sames().subject(&set.of)).contains(&at)
        }
        _ => false,
    };
    let mut standing = view.notes.entries().rev().filter(|(_, kept)| !kept.struck);
    standing.find(|(_, kept)| kept.noted.entry.facts.iter().any(is_here)).map(|(stamp, _)| *stamp)
}

/// One walk over the entries for all boxes: a site has many of both.
fn times(view: &View<'_>) -> BTreeMap<(ThingId, Layer), Stamp> {
    let mut times = BTreeMap::new();
    // A subject is spoken of by many entries, and where it is costs a search.
    let mut homes: BTreeMap<(Layer, Subject), Vec<ThingId>> = BTreeMap::new();
    let layers = [view.found(), view.planned(), view.left()];
    for (stamp, kept) in view.notes.entries().filter(|(_, kept)| !kept.struck) {
        let entry = &kept.noted.entry;
        for fact in &entry.facts {
            let Fact::Set(set) = fact else { continue };
            let of = view.notes.sames().subject(&set.of);
            let Some(wiring) = layers.iter().find(|wiring| wiring.layer == set.layer) else { continue };
            let home = homes.entry((set.layer, of)).or_insert_with_key(|(_, of)| box_of_subject(wiring, of));
            times.extend(home.iter().map(|at| ((*at, set.layer), *stamp)));
        }
    }
    times
}

/// Is a box's cover off, and since when; nothing where nobody said.
pub(super) fn cover(view: &View<'_>, at: ThingId) -> Option<(bool, Wall)> {
    cover_said(view, at).map(|said| (said.what == Happening::CoverOff, said.wall))
}

/// A box that was left and whose cover came off since, by the order of what was noted and not by the clock.
pub(super) fn opened_again(view: &View<'_>, at: ThingId) -> bool {
    let opened = cover_said(view, at).filter(|said| said.what == Happening::CoverOff).map(|said| said.stamp);
    let left = last_stamp(view, at, view.left().layer);
    left.is_some() && opened > left
}

/// What was last said of a box's cover.
fn cover_said<'v>(view: &'v View<'_>, at: ThingId) -> Option<&'v Happened> {
    let of_box = view.notes.happened().rev().filter(|happened| happened.of == Subject::Thing(at));
    of_box.into_iter().find(|happened| matches!(happened.what, Happening::CoverOff | Happening::CoverOn))
}

/// Is a box's cover off?
pub(super) fn is_cover_off(view: &View<'_>, at: ThingId) -> bool {
    cover(view, at).is_some_and(|(off, _)| off)
}
