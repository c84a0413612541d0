//! The next thing to do, worked out from what is noted.

use crate::job::{Happening, Kind, Layer, ThingId};
use crate::token::Line;
use crate::words::count;

use super::has_page;
use super::order::{boxes_as_power_runs, is_panel};
use super::parts::{box_words, wf, wiring_of};
use super::state::{box_state, is_cover_off, moment};
use super::view::View;

/// What comes next.
pub(super) struct Next {
    /// Which one of the day's steps it is.
    pub(super) number: u32,
    /// What to do.
    pub(super) title: String,
    /// Why.
    pub(super) second: String,
    /// The words of its button.
    pub(super) deed: String,
    /// Where it leads, or the event itself.
    pub(super) token: String,
}

/// The next thing to do; nothing where nothing that this program can see is left.
/// `disagrees`: something was read or seen that is not as worked out.
pub(super) fn next(view: &View<'_>, disagrees: bool) -> Option<Next> {
    let find = || disagrees.then(|| leads(view, 8, "disagree", &view.page("disagree")));
    let power = || power(view, disagrees);
    beginning(view).or_else(|| boxes(view)).or_else(power).or_else(find).or_else(|| ending(view))
}

/// Once everything is left and closed: power comes back by the list, and what disagreed is tried again.
fn power(view: &View<'_>, disagrees: bool) -> Option<Next> {
    let last = |is: fn(&Happening) -> bool| {
        view.notes.happened().rev().find(|happened| is(&happened.what)).map(|happened| happened.stamp)
    };
    let off = last(|what| matches!(what, Happening::Switched { on: false }))?;
    let on = last(|what| matches!(what, Happening::Switched { on: true }));
    let closed = last(|what| matches!(what, Happening::CoverOn));
    let tried = last(super::dead::is_live);
    let left: Vec<ThingId> =
        super::parts::all_boxes(view).into_iter().filter(|id| box_state(view, *id).is_left).collect();
    if left.is_empty() || left.iter().any(|id| is_cover_off(view, *id)) {
        return None;
    }
    if disagrees && on > Some(off) {
        return (on > tried).then(|| leads(view, 8, "live_again", &view.page("live")));
    }
    // Where the search goes on nothing was looked into and closed again yet.
    if disagrees && closed < Some(off) {
        return None;
    }
    let held: Vec<ThingId> = super::held::off(view).into_iter().map(|(id, _)| id).collect();
    let feeds = |at: &ThingId| super::sources::reach(view, *at).sources.iter().any(|(id, _)| held.contains(id));
    (has_page("ready") && !held.is_empty() && left.iter().any(feeds))
        .then(|| leads(view, 8, "ready", &view.page("ready")))
}

fn leads(view: &View<'_>, number: u32, key: &str, to: &Line) -> Next {
    of(number, key, &[], view.go(to))
}

fn of(number: u32, key: &str, fill: &[(&str, &str)], token: String) -> Next {
    let title = wf(&format!("next.{key}"), fill);
    let second = wf(&format!("next.{key}.why"), fill);
    Next { number, deed: title.clone(), title, second, token }
}

/// Before the work: who, for what, that they are here, and a first box.
fn beginning(view: &View<'_>) -> Option<Next> {
    let people = view.notes.things(Kind::Person, Layer::Site);
    if people.is_empty() {
        return Some(leads(view, 1, "person", &view.page("person")));
    }
    if view.job.is_none() {
        return Some(leads(view, 2, "job", &view.page("new-job")));
    }
    let Some(visit) = view.visit else {
        let token = match people.as_slice() {
            [only] => view.event(Line::new("arrive").word(only)),
            _ => view.go(&view.page("visit")),
        };
        return Some(of(3, "arrive", &[], token));
    };
    if let Some((_, wall)) = visit.away {
        return Some(of(
            3,
            "back",
            &[("when", &moment(view, wall))],
            view.event_then(Line::new("back"), &view.page("coming-back")),
        ));
    }
    if super::parts::all_boxes(view).is_empty() {
        return Some(leads(view, 4, "first_box", &view.page("note-box")));
    }
    None
}

/// What an opened box still asks for, then what was planned and not left.
fn boxes(view: &View<'_>) -> Option<Next> {
    let boxes = boxes_as_power_runs(view);
    let outlets: Vec<ThingId> = boxes.into_iter().filter(|id| !is_panel(view, wiring_of(view, *id), *id)).collect();
    let at = |id: ThingId| box_words(wiring_of(view, id), id);
    if let Some(next) = super::dead::next(view, &outlets) {
        return Some(next);
    }
    let unread = outlets.iter().find(|id| is_cover_off(view, **id) && box_state(view, **id).unplaced > 0);
    if let Some(id) = unread {
        let n = count("screen.ends_unplaced", box_state(view, *id).unplaced, &[]);
        let token = view.go(&view.page("box").word(id));
        return Some(of(6, "place_ends", &[("box", &at(*id)), ("ends", &n)], token));
    }
    let planned = outlets.iter().find(|id| {
        let state = box_state(view, **id);
        state.planned > 0 && !state.is_left
    });
    if let Some(id) = planned {
        let n = count("screen.state_planned", box_state(view, *id).planned, &[]);
        let token = view.go(&view.page("box").word(id).with("layer", "left"));
        return Some(of(7, "leave_box", &[("box", &at(*id)), ("changes", &n)], token));
    }
    None
}

/// After the work: live check, record.
fn ending(view: &View<'_>) -> Option<Next> {
    let any_left = super::parts::all_boxes(view).into_iter().any(|id| box_state(view, id).is_left);
    if any_left && has_page("live") && !super::dead::live_done(view) {
        return Some(leads(view, 8, "live", &view.page("live")));
    }
    if any_left && has_page("record") {
        return Some(leads(view, 9, "record", &view.page("record")));
    }
    let unknown = super::parts::all_boxes(view).into_iter().find(|id| {
        box_state(view, *id).unplaced > 0 && !is_panel(view, wiring_of(view, *id), *id) && !stays_closed(view, *id)
    });
    if let Some(unknown) = unknown {
        let fill = box_words(wiring_of(view, unknown), unknown);
        return Some(of(5, "open_box", &[("box", &fill)], view.go(&view.page("box").word(unknown))));
    }
    let asked = !view.planned().promises.is_empty();
    (!asked && !view.found().devices.is_empty()).then(|| leads(view, 6, "promises", &view.page("promises")))
}

/// Somebody said that a box stays closed for this job: nothing in it is asked for.
pub(super) fn stays_closed(view: &View<'_>, at: ThingId) -> bool {
    let job = view.job_note();
    let mut opens = job.iter().flat_map(|job| &job.opens).filter_map(|note| note.get());
    opens.any(|open| open.r#box == at && !open.open)
}
