//! One box: its picture as found, planned or left, what to do next in it, and what bears on working there. What is in
//! it as a list stands on a page of its own (`inside.rs`).

use crate::job::{ThingId, Wiring};
use crate::refusal::Refusal;
use crate::rules::Edition;
use crate::token::Line;
use crate::words::count;

use super::changes::changes;
use super::front::step;
use super::inside;
use super::next::Next;
use super::next_here::next_here;
use super::order::is_panel;
use super::parts::{choice, deeds, edge_of_thing, item, sentence, w, wf, wiring_of};
use super::row::{Body, Edge, Pick, Row, Screen};
use super::state::{box_state, last_noted, moment};
use super::view::View;

/// The page `box <box>`, with `layer=planned` or `layer=left`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let known = wiring_of(view, at);
    let note = known.boxes.get(&at);
    let over = view.job_note().and_then(|job| job.name.get().cloned());
    let title = note.and_then(|note| note.location.get().cloned()).unwrap_or_else(|| w("place_unknown"));
    let mut screen = view.screen(&over.unwrap_or_else(|| super::front::site_name(view)), &title);
    screen.tag = note.and_then(|note| note.tag.get().cloned());
    if view.job.is_some() {
        screen.rows.push(layers(view, at));
    }
    let wiring = view.asked();
    let next = next_here(view, at);
    if !wiring.boxes.contains_key(&at) {
        screen.rows.push(sentence("not-there", &w("box.not_in_layer")));
    } else if is_panel(view, wiring, at) {
        // A panel has no picture: its breakers and runs stand here at once.
        screen.rows.extend(next.as_ref().map(step));
        screen.rows.extend(super::panel::rows(view, wiring, at));
        screen.rows.extend(inside::run_rows(view, wiring, at));
    } else {
        screen.rows.push(super::drawing::box_row(view, wiring, at));
        screen.rows.extend(super::checks::table::hazards_in(view, at));
        screen.rows.extend(next.as_ref().map(step));
        screen.rows.extend(fill_row(view, wiring, at));
    }
    screen.rows.extend(super::sources::shared_caution(view, at));
    screen.rows.push(dead_row(view, at));
    screen.rows.extend(changes_row(view, at));
    screen.rows.extend(super::twice::rows_of(view, at));
    screen.rows.push(list_row(view, wiring, at));
    let main = main_deed(view, at, next);
    let mut others = other_deeds(view, at);
    others.retain(|pick| main.as_ref().is_none_or(|main| main.token != pick.token));
    screen.rows.push(deeds(main, others));
    Ok(screen)
}

/// As found, planned, left: each with what can be said of it in a word.
fn layers(view: &View<'_>, at: ThingId) -> Row {
    let state = box_state(view, at);
    let when = |wiring: &Wiring| {
        let noted = last_noted(view, at, wiring.layer);
        noted.map_or_else(|| w("not_yet"), |wall| moment(view, wall))
    };
    let found = if last_noted(view, at, view.found().layer).is_none() && view.found().boxes.contains_key(&at) {
        w("from_earlier")
    } else {
        when(view.found())
    };
    let planned = if state.planned == 0 { w("nothing_planned") } else { count("screen.changes", state.planned, &[]) };
    let asked = view.asked_word();
    let options = [("found", found), ("planned", planned), ("left", when(view.left()))].map(|(layer, second)| {
        Pick::new(&w(&format!("layer.{layer}")), view.here("layer", layer)).second(&second).on(layer == asked)
    });
    choice("layer", &w("layer"), options.into())
}

/// Box fill by the job's edition: one place where the rules are asked.
fn fill_row(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Row> {
    let edition = Edition::of(*view.job_note()?.edition.get()?)?;
    let fill = crate::rules::box_fill(wiring, view.catalogue, at, edition)?;
    let there = fill.there();
    let computed = match &there {
        Some(there) => wf("fill.of", &[("there", &there.to_string())]),
        None => w("fill.room_unknown"),
    };
    let share = fill.share_thousandths().map(|share| u32::try_from(share.max(0)).unwrap_or(u32::MAX));
    let second = wf("fill.by", &[("edition", edition.name())]);
    let body = Body::Figure {
        title: w("fill.title"),
        second,
        value: fill.needed().number(),
        unit: w("fill.unit"),
        computed,
        share,
    };
    let edge = match view.asked_word() {
        _ if there.is_none() => Edge::Unknown,
        "planned" => Edge::Planned,
        "left" => Edge::Unchecked,
        _ => Edge::Found,
    };
    Some(Row::new("fill", body).edge(edge).leads(view.go(&view.page_here("about").word(at))))
}

/// The dead check of the box as it counts now.
fn dead_row(view: &View<'_>, at: ThingId) -> Row {
    let known = super::dead::of(view, at);
    let words = known.map_or_else(|| w("dead.none"), |dead| dead.words.clone());
    let row = item("dead", &w("dead.title"), &words).edge(known.map_or(Edge::Unknown, |dead| dead.edge));
    row.leads(view.go(&view.page_here("dead").word(at)))
}

fn changes_row(view: &View<'_>, at: ThingId) -> Option<Row> {
    let changed = changes(view, view.found(), view.planned(), at);
    let row = item("changes", &w("changes.title"), &changed.join(", ")).edge(Edge::Planned);
    (!changed.is_empty()).then(|| row.leads(view.go(&view.page_here("changes").word(at))))
}

/// Leads to the same as the picture shows, and more, as a list.
fn list_row(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Row {
    let standing = wiring.splices_in(at).into_iter().filter(|splice| !wiring.ends_in(*splice).is_empty());
    let parts = [
        count("screen.runs_n", wiring.runs_in(at).len(), &[]),
        count("screen.splices_n", standing.count(), &[]),
        count("screen.devices_n", wiring.devices_in(at).len(), &[]),
    ];
    let row = item("inside", &w("inside.title"), &parts.join(", ")).edge(edge_of_thing(view, wiring, at));
    row.leads(view.go(&view.page_here("inside").word(at)))
}

/// The main deed is what comes next; where nothing is left to note as found, it leads on to planning.
fn main_deed(view: &View<'_>, at: ThingId, next: Option<Next>) -> Option<Pick> {
    let planned = view.page("box").word(at).with("layer", "planned");
    let plan = view.job.is_some() && view.asked_word() == "found" && !is_panel(view, view.asked(), at);
    match next {
        Some(next) => Some(Pick::new(&next.deed, next.token)),
        None => plan.then(|| Pick::new(&w("deed.plan_here"), view.go(&planned))),
    }
}

/// What else can be done in a box; what is noted most stands first.
pub(super) fn other_deeds(view: &View<'_>, at: ThingId) -> Vec<Pick> {
    let mut others = Vec::new();
    let wiring = view.asked();
    if wiring.boxes.contains_key(&at) {
        let to = super::run::opening(view, at);
        others.push(Pick::new(&w("deed.run"), view.go(&to)));
        others.push(Pick::new(&w("deed.device"), view.go(&view.page_here("device").with("box", at))));
        if super::makeup::offers(view, at).is_some() {
            others.push(Pick::new(&w("here.make_up"), view.go(&view.page_here("make-up").with("box", at))));
        }
        others.extend(super::next_here::grounds_together(view, wiring, at));
        others.extend(super::next_here::capped_together(view, wiring, at));
        others.extend(super::run::same_again(view, wiring, at));
        others.extend(super::device::same_again(view, wiring, at));
        others.push(Pick::new(&w("deed.splice"), view.go(&view.page_here("splice").with("box", at))));
        others.push(Pick::new(&w("deed.label"), view.go(&view.page_here("label").with("box", at))));
    }
    // What stands on the wall is what is noted, in whatever layer one looks at.
    if !is_panel(view, wiring, at) {
        others.push(Pick::new(&w("deed.print"), view.go(&view.page("print").with("box", at))));
    }
    // A box that is new has its cover still to come.
    let bare = super::state::cover(view, at).is_none() && !view.found().boxes.contains_key(&at);
    let off = super::state::is_cover_off(view, at) || (bare && view.asked_word() == "left");
    let (word, key) = if off { ("on", "deed.cover_on") } else { ("off", "deed.cover_off") };
    others.push(Pick::new(&w(key), view.event(Line::new("cover").word(at).word(word))));
    if view.job.is_some() && box_state(view, at).planned > 0 {
        let left = view.page("box").word(at).with("layer", "left");
        let event = Line::new("as-planned").word(at);
        others.push(Pick::new(&w("deed.as_planned"), view.event_then(event, &left)).second(&w("deed.as_planned_why")));
    }
    for verb in ["remark", "unfinished", "found-not-ours", "do-not-cover"] {
        let words = w(&format!("deed.{}", verb.replace('-', "_")));
        let event = Line::new(verb).word(at).word("?");
        others.push(Pick::new(&words, view.event(event)).asks(&w("ask.words"), false));
    }
    others.push(Pick::new(&w("deed.take_back"), view.event(Line::new("take-back"))));
    others
}
