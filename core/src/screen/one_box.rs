//! One box: what leads into it, what is joined, what is on its devices, what is not known, as found, planned or left.

use crate::job::{Happening, Subject, ThingId, Wiring};
use crate::refusal::Refusal;
use crate::rules::Edition;
use crate::token::Line;
use crate::words::count;

use super::changes::changes;
use super::inside;
use super::parts::{choice, deeds, edge_of_thing, headline, item, sentence, w, wf, wiring_of};
use super::row::{Body, Edge, Pick, Row, Screen};
use super::state::{box_state, cover, last_noted, moment};
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
    if super::twice::is_twice(view, at) {
        let row = item("twice", &w("twice.title"), &w("twice.row")).edge(Edge::Disagrees);
        screen.rows.push(row.leads(view.go(&view.page("twice").word(at))));
    }
    if wiring.boxes.contains_key(&at) {
        if !super::order::is_panel(view, wiring, at) {
            screen.rows.push(super::drawing::box_row(view, wiring, at));
        }
        screen.rows.extend(inside::rows(view, wiring, at));
        screen.rows.push(about_row(view, wiring, at));
        screen.rows.extend(fill_row(view, wiring, at));
    } else {
        screen.rows.push(sentence("not-there", &w("box.not_in_layer")));
    }
    screen.rows.extend(super::sources::shared_caution(view, at));
    screen.rows.extend(work_rows(view, at));
    screen.rows.push(deeds(main_deed(view, at), other_deeds(view, at)));
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

/// Construction and volume, leading to all that is noted of the box itself.
fn about_row(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Row {
    let note = wiring.boxes.get(&at);
    let kind = note.and_then(|note| note.kind.get());
    let title = kind.map_or_else(|| w("box.kind_unknown"), |kind| crate::catalogue::box_name(kind));
    let volume = note.and_then(|note| note.volume.get());
    let second = volume.map(|volume| wf("box.marked", &[("volume", &volume.to_string())]));
    let edge = if kind.is_some() { edge_of_thing(view, wiring, at) } else { Edge::Unknown };
    let row = item("about", &title, &second.unwrap_or_else(|| w("box.volume_unknown")));
    row.edge(edge).leads(view.go(&view.page_here("about").word(at)))
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
    Some(Row::new("fill", body).edge(edge))
}

/// Rows about working on the box: dead check, changes, sources, cover, remarks, history.
fn work_rows(view: &View<'_>, at: ThingId) -> Vec<Row> {
    let mut rows = Vec::new();
    let lead = |page: &str| super::has_page(page).then(|| view.go(&view.page_here(page).word(at)));
    let known = super::dead::of(view, at);
    let words = known.map_or_else(|| w("dead.none"), |dead| dead.words.clone());
    let mut dead = item("dead", &w("dead.title"), &words).edge(known.map_or(Edge::Unknown, |dead| dead.edge));
    if let Some(to) = lead("dead") {
        dead = dead.leads(to);
    }
    rows.push(dead);
    let (title, edge) = match cover(view, at) {
        Some((true, wall)) => (wf("cover.off_since", &[("when", &moment(view, wall))]), Edge::Found),
        Some((false, wall)) => (wf("cover.on_since", &[("when", &moment(view, wall))]), Edge::Found),
        None => (w("cover.unknown"), Edge::Unknown),
    };
    rows.push(item("cover", &title, "").edge(edge));
    let changed = changes(view, view.found(), view.planned(), at);
    if !changed.is_empty() {
        let row = item("changes", &w("changes.title"), &changed.join(", ")).edge(Edge::Planned);
        rows.push(row.leads(view.go(&view.page_here("changes").word(at))));
    }
    let reach = super::sources::reach(view, at);
    let known = count("screen.sources.known", reach.sources.len(), &[]);
    let second = if reach.unknown.is_empty() {
        known
    } else {
        wf("state_and", &[("state", &known), ("more", &w("sources.some_unknown"))])
    };
    let edge = if reach.unknown.is_empty() && !reach.sources.is_empty() { Edge::Found } else { Edge::Unknown };
    rows.push(item("sources", &w("sources.of_box"), &second).edge(edge).leads(view.go(&view.page("sources").word(at))));
    rows.extend(remarks(view, at));
    rows.push(item("history", &w("history.title"), "").leads(view.go(&view.page("history").word(at))));
    rows
}

fn remarks(view: &View<'_>, at: ThingId) -> Vec<Row> {
    let of = view.notes.happened().filter(|happened| happened.of == Subject::Thing(at));
    let mut rows: Vec<Row> = of
        .filter_map(|happened| match &happened.what {
            Happening::Remark(_)
            | Happening::FoundNotOurs(_)
            | Happening::DoNotCover(_)
            | Happening::MayCover(_)
            | Happening::Unfinished(_) => {
                let words = super::said::happening_words(view, view.asked(), &happened.what);
                let row = item(&format!("remark {}", happened.fact), &words, &moment(view, happened.wall));
                Some(row.edge(Edge::Found))
            }
            _ => None,
        })
        .collect();
    if !rows.is_empty() {
        rows.insert(0, headline("remarks", &w("remarks"), ""));
    }
    rows
}

/// The main deed of a layer: as found it leads on to planning, planned and left to joining conductors.
fn main_deed(view: &View<'_>, at: ThingId) -> Option<Pick> {
    let planned = view.page("box").word(at).with("layer", "planned");
    if view.job.is_some() && view.asked_word() == "found" && box_state(view, at).unplaced == 0 {
        return Some(Pick::new(&w("deed.plan_here"), view.go(&planned)));
    }
    let page = if super::has_page("make-up") { "make-up" } else { "splice" };
    let to = view.page_here(page).with("box", at);
    view.asked().boxes.contains_key(&at).then(|| Pick::new(&w("deed.join"), view.go(&to)))
}

fn other_deeds(view: &View<'_>, at: ThingId) -> Vec<Pick> {
    let mut others = Vec::new();
    if view.asked().boxes.contains_key(&at) {
        for (page, key) in [("run", "deed.run"), ("device", "deed.device"), ("splice", "deed.splice")] {
            others.push(Pick::new(&w(key), view.go(&view.page_here(page).with("box", at))));
        }
        others.push(Pick::new(&w("deed.label"), view.go(&view.page_here("label").with("box", at))));
    }
    let off = super::state::is_cover_off(view, at);
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
