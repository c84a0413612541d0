//! What a box's dead check comes to, for the screens that only mention it. What it takes, and what makes it stale, is
//! worked out elsewhere; this file is the one place where that is asked.

use crate::job::{Happening, Purpose, Subject, ThingId, Wall};

use super::has_page;
use super::next::Next;
use super::parts::{box_words, w, wf, wiring_of};
use super::state::{is_cover_off, moment};
use super::view::View;

/// When a reading of a dead check was last noted for a box.
pub(super) fn last_reading(view: &View<'_>, at: ThingId) -> Option<Wall> {
    let here = view.notes.happened().rev().filter(|happened| happened.of == Subject::Thing(at));
    let mut dead = here.filter(|happened| matches!(&happened.what, Happening::Read(r) if r.purpose == Purpose::Dead));
    dead.next().map(|happened| happened.wall)
}

/// What a box page says of the dead check: the second line of its row.
pub(super) fn words(view: &View<'_>, at: ThingId) -> String {
    match last_reading(view, at) {
        Some(wall) => wf("dead.last", &[("when", &moment(view, wall))]),
        None => w("dead.none"),
    }
}

/// The first box whose cover is off and that has no dead check reading of this visit.
pub(super) fn next(view: &View<'_>, boxes: &[ThingId]) -> Option<Next> {
    if !has_page("dead") {
        return None;
    }
    let arrived = view.visit.map(|visit| visit.arrived);
    let unread = boxes.iter().find(|id| is_cover_off(view, **id) && last_reading(view, **id) < arrived)?;
    let name = box_words(wiring_of(view, *unread), *unread);
    let title = wf("next.dead", &[("box", &name)]);
    let second = w("next.dead.why");
    Some(Next { number: 5, deed: title.clone(), title, second, token: view.go(&view.page("dead").word(unread)) })
}

/// Was anything of a live check noted on this visit?
pub(super) fn live_done(view: &View<'_>) -> bool {
    let began = view.visit.map(|visit| visit.began);
    view.notes.happened().any(|happened| {
        let live = match &happened.what {
            Happening::Tried(_) => true,
            Happening::Read(reading) => reading.purpose == Purpose::Live,
            _ => false,
        };
        live && began.is_none_or(|began| happened.stamp > began)
    })
}
