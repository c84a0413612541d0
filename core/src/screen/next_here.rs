//! What to do next in one box, worked out from what is noted of it. It is the box page's main deed.

use crate::job::{ThingId, Tip, Wiring};
use crate::token::Line;
use crate::token::path::tip_text;
use crate::words::count;

use super::next::Next;
use super::order::is_panel;
use super::parts::{conductor, is_unplaced, tips_in, w, wf};
use super::row::Pick;
use super::state::{box_state, is_cover_off};
use super::view::View;

/// What comes next in the box `at`, in the asked layer; nothing where nothing that this program can see is left.
pub(super) fn next_here(view: &View<'_>, at: ThingId) -> Option<Next> {
    let wiring = view.asked();
    if !wiring.boxes.contains_key(&at) {
        return None;
    }
    if is_panel(view, wiring, at) {
        return wiring.devices_in(at).is_empty().then(|| {
            let to = view.page_here("device").with("box", at);
            of(1, "breakers", &w("here.breakers.why"), &w("deed.device"), view.go(&to))
        });
    }
    let planning = view.asked_word() == "planned";
    // Of a box that was said to stay closed nothing is asked, unless somebody opened it all the same.
    let closed = super::next::stays_closed(view, at) && !is_cover_off(view, at);
    no_run(view, wiring, at)
        .or_else(|| if planning { None } else { super::dead::next(view, &[at]) })
        .or_else(|| {
            let asked = || construction(view, wiring, at).or_else(|| unplaced(view, wiring, at, planning));
            if closed { None } else { asked() }
        })
        .or_else(|| if planning { labels(view, at) } else { None })
        .or_else(|| leave(view, at))
}

fn of(number: u32, key: &str, second: &str, deed: &str, token: String) -> Next {
    let title = w(&format!("here.{key}"));
    Next { number, title, second: second.to_owned(), deed: deed.to_owned(), token }
}

fn no_run(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Next> {
    let to = super::run::opening(view, at);
    let none = wiring.runs_in(at).is_empty();
    none.then(|| of(1, "no_run", &w("here.no_run.why"), &w("deed.run"), view.go(&to)))
}

/// Which box it is: nothing of its room is known before.
fn construction(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Next> {
    let unsaid = wiring.boxes.get(&at).is_some_and(|note| !note.kind.is_said());
    let to = view.page_here("about").word(at);
    unsaid.then(|| of(1, "construction", &w("here.construction.why"), &w("deed.about"), view.go(&to)))
}

/// Ends of which nobody noted where they are, and in the plan terminals that want a conductor: the proposed make-up, or
/// joining them one by one where nothing is proposed.
fn unplaced(view: &View<'_>, wiring: &Wiring, at: ThingId, planning: bool) -> Option<Next> {
    let n = tips_in(view, wiring, at).iter().filter(|tip| is_unplaced(wiring, tip)).count();
    if n == 0 && !planning {
        return None;
    }
    let title = count("screen.ends_unplaced", n, &[]);
    match super::makeup::offers(view, at) {
        Some(parts) => {
            let offer = count("screen.makeup.offer", parts, &[]);
            let (title, second) = if n == 0 { (offer, w("here.makeup.why")) } else { (title, offer) };
            let token = view.go(&view.page_here("make-up").with("box", at));
            Some(Next { number: 2, title, second, deed: w("here.make_up"), token })
        }
        None if n > 0 => {
            let token = view.go(&view.page_here("splice").with("box", at));
            Some(Next { number: 2, title, second: w("here.unplaced.why"), deed: w("deed.join"), token })
        }
        None => None,
    }
}

/// Words that are proposed for the tapes of a box that the plan changes, and not noted yet.
fn labels(view: &View<'_>, at: ThingId) -> Option<Next> {
    if box_state(view, at).planned == 0 {
        return None;
    }
    let n = super::label::proposals(view, at).len();
    let to = view.page_here("label").with("box", at);
    let second = count("screen.here.labels_n", n, &[]);
    (n > 0).then(|| of(3, "labels", &second, &w("deed.label"), view.go(&to)))
}

/// What was planned and is not noted as left; then a cover that is still off.
fn leave(view: &View<'_>, at: ThingId) -> Option<Next> {
    let state = box_state(view, at);
    let left = view.page("box").word(at).with("layer", "left");
    if state.planned > 0 && !state.is_left {
        let second = count("screen.state_planned", state.planned, &[]);
        return Some(match view.asked_word() {
            "left" => {
                let event = view.event_then(Line::new("as-planned").word(at), &left);
                of(4, "leave", &w("deed.as_planned_why"), &w("deed.as_planned"), event)
            }
            _ => of(4, "leave", &second, &w("here.leave.deed"), view.go(&left)),
        });
    }
    let on = view.event(Line::new("cover").word(at).word("on"));
    (state.is_left && is_cover_off(view, at)).then(|| of(5, "cover", &w("here.cover.why"), &w("deed.cover_on"), on))
}

/// One act for a run that was pulled and is joined to nothing yet: all of its ends here are capped.
pub(super) fn capped_together(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<Pick> {
    if view.asked_word() != "left" {
        return Vec::new();
    }
    let all = tips_in(view, wiring, at);
    let each = wiring.runs_in(at).into_iter().filter_map(|(run, side)| {
        let here = |tip: &&Tip| matches!(tip, Tip::Wire { run: of, side: on, .. } if *of == run && *on == side);
        let ends: Vec<&Tip> = all.iter().filter(here).collect();
        if ends.len() < 2 || !ends.iter().all(|tip| is_unplaced(wiring, tip)) {
            return None;
        }
        let event = ends.iter().fold(Line::new("cap"), |event, tip| event.word(tip_text(tip)));
        let event = event.with_some("layer", view.layer_field());
        let letter = super::parts::letter(wiring, run, side);
        let words = wf("deed.capped", &[("ends", &count("screen.ends_n", ends.len(), &[])), ("letter", &letter)]);
        Some(Pick::new(&words, view.event(event)))
    });
    each.collect()
}

/// One act for grounding ends that nobody placed: they are together. Said in bulk, so confirmed and not seen.
pub(super) fn grounds_together(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Pick> {
    let ground = |tip: &Tip| conductor(view, wiring, tip).is_some_and(|wire| wire.ground);
    let loose: Vec<Tip> =
        tips_in(view, wiring, at).into_iter().filter(|tip| is_unplaced(wiring, tip) && ground(tip)).collect();
    let all_ground = |splice: &ThingId| {
        let ends = wiring.ends_in(*splice);
        !ends.is_empty() && ends.into_iter().all(ground)
    };
    let known = wiring.splices_in(at).into_iter().find(all_ground);
    let least = if known.is_some() { 1 } else { 2 };
    if loose.len() < least {
        return None;
    }
    let name = match known {
        Some(splice) => splice.to_string(),
        None => format!("{at}+{}", super::splice::name_for(view, wiring, at, &loose)),
    };
    let event = loose.iter().fold(Line::new("join").word(name), |event, tip| event.word(tip_text(tip)));
    let event = event.with("how", "confirmed").with_some("layer", view.layer_field());
    let second = wf("deed.grounds_why", &[("ends", &count("screen.ends_n", loose.len(), &[]))]);
    Some(Pick::new(&w("deed.grounds"), view.event(event)).second(&second))
}
