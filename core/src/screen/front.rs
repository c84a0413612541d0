//! The front page of a job: what is held, what comes next, every box as the power runs.

use crate::job::{SiteNote, ThingId};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::words::count;

use super::held::{off, source_place, source_words};
use super::next::{Next, next};
use super::order::boxes_as_power_runs;
use super::parts::{caution, deeds, headline, item, sentence, w, wf, wiring_of};
use super::row::{Beside, Body, Edge, Pick, Row, Screen};
use super::state::{box_state, is_cover_off};
use super::twice::all_twice;
use super::view::View;

/// The site's name.
pub(super) fn site_name(view: &View<'_>) -> String {
    SiteNote::read(view.notes, view.site).name.or(w("unnamed"))
}

/// The page `job`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let job = view.job_note().and_then(|job| job.name.get().cloned());
    let mut screen = view.screen(&site_name(view), &job.unwrap_or_else(|| w("no_job_yet")));
    if view.notes.newer() > 0 {
        screen.rows.push(caution("newer", &w("newer_title"), &count("screen.newer", view.notes.newer(), &[])));
    }
    screen.rows.extend(held_rows(view));
    let disagreeing = super::checks::disagree::standing(view);
    let next = next(view, !disagreeing.is_empty());
    screen.rows.extend(disagreeing);
    if let Some(next) = &next {
        screen.rows.push(step(next));
    }
    let twice = all_twice(view).len();
    if twice > 0 {
        let row = item("twice", &count("screen.twice.count", twice, &[]), &w("twice.row")).edge(Edge::Disagrees);
        screen.rows.push(row.leads(view.go(&view.page("twice"))));
    }
    let alike = super::twice::alike_row(&super::twice::alike(view, None));
    screen.rows.extend(alike.map(|row| row.leads(view.go(&view.page("twice")))));
    let boxes = boxes_as_power_runs(view);
    let covers = boxes.iter().filter(|id| is_cover_off(view, **id)).count();
    screen.rows.push(headline("boxes", &w("boxes"), &count("screen.covers_off", covers, &[])));
    if boxes.is_empty() {
        screen.rows.push(sentence("no-boxes", &w("no_boxes")).edge(Edge::Unknown));
    }
    screen.rows.extend(boxes.into_iter().map(|id| box_row(view, id)));
    screen.rows.push(deeds(next.map(|next| Pick::new(&next.deed, next.token)), others(view)));
    if !view.found().boxes.is_empty() || !view.planned().boxes.is_empty() {
        let [left, right] = ["circuit", "findings"].map(|page| view.page(page).to_string());
        screen.beside = Some(Beside { left, right });
    }
    Ok(screen)
}

/// What is held OFF, each leading to the list of sources.
fn held_rows(view: &View<'_>) -> Vec<Row> {
    let to = view.go(&view.page("sources"));
    off(view)
        .into_iter()
        .map(|(id, held)| {
            let title = wf("said_short", &[("what", &source_words(view, id)), ("words", &held.words(view))]);
            let second = wf("at_panel", &[("lock", &held.lock_words(view)), ("panel", &source_place(view, id))]);
            item(&format!("held {id}"), &title, &second).edge(held.edge()).leads(to.clone())
        })
        .collect()
}

/// What to do next, as the row to be done now.
pub(super) fn step(next: &Next) -> Row {
    let body = Body::Step {
        number: next.number,
        title: next.title.clone(),
        second: next.second.clone(),
        value: String::new(),
        done: false,
    };
    Row::new("next", body).now().leads(next.token.clone())
}

/// The row of a box: tag on tape, place, state, mark.
pub(super) fn box_row(view: &View<'_>, id: ThingId) -> Row {
    let wiring = wiring_of(view, id);
    let note = wiring.boxes.get(&id);
    let state = box_state(view, id);
    let tag = note.and_then(|note| note.tag.get().cloned());
    let title = note.and_then(|note| note.location.get().cloned()).unwrap_or_else(|| w("place_unknown"));
    let value = if is_cover_off(view, id) { w("cover_is_off") } else { String::new() };
    let body = Body::Item { tag, title, second: state.words, value, mark: true };
    let to = view.page("box").word(id).with_some("layer", layer_of(state.edge));
    Row::new(&format!("box {id}"), body).edge(state.edge).leads(view.go(&to))
}

/// The layer that a box in this state opens with.
pub(super) fn layer_of(edge: Edge) -> Option<&'static str> {
    match edge {
        Edge::Planned => Some("planned"),
        Edge::Left | Edge::Unchecked => Some("left"),
        _ => None,
    }
}

/// The other things that can be done from the front page.
fn others(view: &View<'_>) -> Vec<Pick> {
    let lead = |page: &str, key: &str| super::has_page(page).then(|| Pick::new(&w(key), view.go(&view.page(page))));
    let mut others: Vec<Pick> = [
        ("note-box", "deed.note_box"),
        ("circuit", "deed.circuit"),
        ("table", "deed.table"),
        ("live", "deed.live"),
        ("findings", "deed.findings"),
        ("record", "deed.record"),
        ("print", "deed.print"),
        ("sources", "deed.sources"),
        ("promises", "deed.promises"),
        ("opens", "deed.opens"),
        ("visit", "deed.visit"),
        ("setup", "deed.setup"),
    ]
    .into_iter()
    .filter_map(|(page, key)| lead(page, key))
    .collect();
    others.push(Pick::new(&w("deed.take_back"), view.event(Line::new("take-back"))));
    others
}
