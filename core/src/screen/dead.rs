//! What a box's dead check comes to, for the screens that only mention it. What it takes, and what makes it stale, is
//! worked out by the checks; this file is the one place where they are asked.

use std::collections::BTreeMap;

use crate::check::{Checks, DeadState, Policy};
use crate::job::{Happening, Purpose, Subject, ThingId};

use super::has_page;
use super::next::Next;
use super::parts::{all_boxes, box_words, w, wf, wiring_of};
use super::row::Edge;
use super::state::{is_cover_off, moment};
use super::view::View;

/// A box's dead check as it counts for whoever looks.
#[derive(Debug, Clone)]
pub(super) struct Dead {
    /// How sure we are.
    pub(super) edge: Edge,
    /// Its state in words.
    pub(super) words: String,
    /// It no longer counts.
    pub(super) is_stale: bool,
    /// It counts now.
    pub(super) counts: bool,
}

/// The checks of the job that is looked at, as the wiring stands.
pub(super) fn checks<'v>(view: &'v View<'_>) -> Checks<'v> {
    let policy = view.job_note().map_or_else(Policy::shared, |job| Policy::of(&job));
    Checks::new(view.notes, view.left(), view.catalogue, policy).on(view.now.day())
}

/// The person that a check shall count for: whoever's visit it is, else the person of the last visit.
fn person(view: &View<'_>) -> Option<ThingId> {
    let last = || view.notes.visits().last().map(|visit| visit.person);
    view.visit.map(|visit| visit.person).or_else(last)
}

/// The dead checks of all boxes of which a list was ever asked; worked out once.
fn all<'v>(view: &'v View<'_>) -> &'v BTreeMap<ThingId, Dead> {
    view.deads.get_or_init(|| {
        let Some(person) = person(view) else { return BTreeMap::new() };
        let asked = view.notes.happened().filter(|happened| matches!(happened.what, Happening::Asked(_)));
        let asked: Vec<Subject> = asked.map(|happened| happened.of.clone()).collect();
        let boxes = all_boxes(view).into_iter().filter(|id| asked.contains(&Subject::Thing(*id)));
        let boxes: Vec<ThingId> = boxes.collect();
        if boxes.is_empty() {
            return BTreeMap::new();
        }
        let checks = checks(view);
        boxes.into_iter().map(|id| (id, dead(view, &checks, id, person))).collect()
    })
}

fn dead(view: &View<'_>, checks: &Checks<'_>, id: ThingId, person: ThingId) -> Dead {
    let check = checks.dead(id, person);
    let said = checks.say_state(&check.state);
    let words = match check.read_between() {
        Some((_, last)) => wf("dead.read", &[("when", &moment(view, last.wall)), ("state", &said)]),
        None => said,
    };
    let is_stale = matches!(check.state, DeadState::Stale { .. });
    let edge = match check.state {
        DeadState::Stale { .. } => Edge::Stale,
        DeadState::Holds { .. } => Edge::Found,
        DeadState::NotProven { .. } => Edge::Disagrees,
        _ => Edge::Unknown,
    };
    Dead { edge, words, is_stale, counts: check.counts() }
}

/// The dead check of a box, if one was ever begun.
pub(super) fn of<'v>(view: &'v View<'_>, at: ThingId) -> Option<&'v Dead> {
    all(view).get(&at)
}

/// The first box whose cover is off and whose dead check does not count: not begun, not through, or stale.
pub(super) fn next(view: &View<'_>, boxes: &[ThingId]) -> Option<Next> {
    if !has_page("dead") {
        return None;
    }
    let id = boxes.iter().find(|id| {
        is_cover_off(view, **id)
            && (!super::state::box_state(view, **id).is_left || super::state::opened_again(view, **id))
            && !of(view, **id).is_some_and(|dead| dead.counts)
    })?;
    let name = box_words(wiring_of(view, *id), *id);
    let known = of(view, *id);
    let key = if known.is_some_and(|dead| dead.is_stale) { "next.dead_again" } else { "next.dead" };
    let title = wf(key, &[("box", &name)]);
    let second = known.map_or_else(|| w("next.dead.why"), |dead| dead.words.clone());
    Some(Next { number: 5, deed: title.clone(), title, second, token: view.go(&view.page("dead").word(id)) })
}

/// Was anything of a live check noted on this visit?
pub(super) fn live_done(view: &View<'_>) -> bool {
    let began = view.visit.map(|visit| visit.began);
    view.notes.happened().any(|happened| is_live(&happened.what) && began.is_none_or(|began| happened.stamp > began))
}

/// A reading or a trial of a live check.
pub(super) fn is_live(what: &Happening) -> bool {
    match what {
        Happening::Tried(_) => true,
        Happening::Read(reading) => reading.purpose == Purpose::Live,
        _ => false,
    }
}
