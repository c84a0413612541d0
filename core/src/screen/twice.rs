//! Values that were noted twice and differ: each stands until somebody confirms one. And runs that may have been noted
//! twice, once from each end: somebody looks and says that they are one.

use std::collections::BTreeSet;

use crate::job::alike::{Alike, alike_runs, told_apart};
use crate::job::{FactRef, Field, Layer, Side, Stamp, Subject, ThingId, Value};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::word_of;
use crate::words::count;

use super::parts::{box_of_subject, choice, deeds, headline, item, sentence, w, wf};
use super::row::{Edge, Pick, Row, Screen};
use super::said::{field_words, subject_words, value_words};
use super::state::moment;
use super::view::View;

/// A value of one subject that was noted twice.
#[derive(Debug, Clone)]
pub struct Twice {
    /// Of what.
    pub of: Subject,
    /// In which layer.
    pub layer: Layer,
    /// Each value, with the fact that says it.
    pub values: Vec<(Value, FactRef)>,
    /// The boxes that it belongs to.
    pub boxes: Vec<ThingId>,
}

/// Everything that was noted twice in the layers of the job that is looked at.
pub(super) fn all_twice<'v>(view: &'v View<'_>) -> &'v [Twice] {
    view.twices.get_or_init(|| find(view))
}

/// Is anything of a box noted twice?
pub(super) fn is_twice(view: &View<'_>, at: ThingId) -> bool {
    all_twice(view).iter().any(|twice| twice.boxes.contains(&at))
}

fn find(view: &View<'_>) -> Vec<Twice> {
    let mut layers = Vec::new();
    for wiring in [view.found(), view.planned(), view.left()] {
        for layer in view.notes.through(wiring.layer) {
            if !layers.contains(&layer) {
                layers.push(layer);
            }
        }
    }
    let again = view.notes.said_again().filter(|(_, _, layer)| layers.contains(layer));
    again.filter_map(|(of, field, layer)| twice(view, of, field, layer)).collect()
}

fn twice(view: &View<'_>, of: &Subject, field: &Field, layer: Layer) -> Option<Twice> {
    let mut values: Vec<(Value, FactRef)> = Vec::new();
    for said in view.notes.current(of, field, layer) {
        if !values.iter().any(|(known, _)| *known == said.value) {
            values.push((said.value.clone(), said.fact));
        }
    }
    let mut boxes: Vec<ThingId> =
        [view.found(), view.planned(), view.left()].iter().flat_map(|wiring| box_of_subject(wiring, of)).collect();
    boxes.sort_unstable();
    boxes.dedup();
    (values.len() > 1).then(|| Twice { of: of.clone(), layer, values, boxes })
}

/// Runs that may be one, noted from both ends; with a box, those that end there.
pub(super) fn alike(view: &View<'_>, at: Option<ThingId>) -> Vec<Alike> {
    let wiring = view.planned();
    let mut found = alike_runs(wiring);
    let apart = told_apart(view.notes);
    found.retain(|alike| !apart.has(alike.a.0, alike.b.0));
    found.retain(|alike| at.is_none_or(|at| alike.touches(wiring, at)));
    found
}

/// The rows of a box's page that lead here: unlike values, and runs that may be one.
pub(super) fn rows_of(view: &View<'_>, at: ThingId) -> Vec<Row> {
    let to = view.go(&view.page("twice").word(at));
    let mut rows = Vec::new();
    if is_twice(view, at) {
        rows.push(item("twice", &w("twice.title"), &w("twice.row")).edge(Edge::Disagrees).leads(to.clone()));
    }
    rows.extend(alike_row(&alike(view, Some(at))).map(|row| row.leads(to)));
    rows
}

/// How many runs may be one with another.
pub(super) fn alike_row(found: &[Alike]) -> Option<Row> {
    let row = || item("alike", &alike_words(found), &w("alike.row")).edge(Edge::Unknown);
    (!found.is_empty()).then(row)
}

fn alike_words(found: &[Alike]) -> String {
    let runs: BTreeSet<ThingId> = found.iter().flat_map(|alike| [alike.a.0, alike.b.0]).collect();
    count("screen.alike.count", runs.len(), &[])
}

/// Two notes that may be of one run, and the acts that say that they are, or that they are two.
fn alike_choice(view: &View<'_>, n: usize, alike: &Alike) -> Row {
    let wiring = view.planned();
    let name = |(run, side): (ThingId, Side)| format!("{run}/{}", word_of(&side));
    let words = |(run, side)| subject_words(view, wiring, &Subject::Side(run, side));
    let event = |verb: &str| view.event(Line::new(verb).word(name(alike.a)).word(name(alike.b)));
    let label = wf("alike.of", &[("a", &words(alike.a)), ("b", &words(alike.b))]);
    let why = w(if alike.between { "alike.between" } else { "alike.open" });
    let same = Pick::new(&w("alike.same"), event("same")).second(&why);
    let apart = Pick::new(&w("alike.apart"), event("apart")).second(&w("alike.apart_why"));
    choice(&format!("alike {n}"), &label, vec![same, apart]).edge(Edge::Unknown)
}

/// The page `twice`, or `twice <box>` for one box.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let only = if view.address.words.is_empty() { None } else { Some(view.box_asked()?) };
    let listed: Vec<&Twice> =
        all_twice(view).iter().filter(|twice| only.is_none_or(|at| twice.boxes.contains(&at))).collect();
    let mut screen = view.screen(&super::front::site_name(view), &w("twice.title"));
    let alike = alike(view, only);
    let about = match (listed.is_empty(), alike.is_empty()) {
        (false, _) => "twice.about",
        (true, false) => "alike.about",
        (true, true) => "twice.none",
    };
    screen.rows.push(sentence("about", &w(about)));
    if !listed.is_empty() {
        screen.rows.push(headline("head", &count("screen.twice.count", listed.len(), &[]), ""));
    }
    for (n, twice) in listed.into_iter().enumerate() {
        let wiring = match twice.layer {
            Layer::Planned(_) => view.planned(),
            Layer::Left(_) => view.left(),
            Layer::Found(_) | Layer::Site => view.found(),
        };
        let field = twice.values.first().map(|(value, _)| field_words(value)).unwrap_or_default();
        let of = subject_words(view, wiring, &twice.of);
        let label = wf("said_of", &[("what", &of), ("words", &field)]);
        let options = twice.values.iter().map(|(value, fact)| {
            let layer = layer_word(twice.layer);
            let event = Line::new("confirm").word(fact).with_some("layer", layer);
            Pick::new(&value_words(view, wiring, value), view.event(event)).second(&who_said(view, fact))
        });
        screen.rows.push(choice(&format!("twice {n}"), &label, options.collect()).edge(Edge::Disagrees));
    }
    if !alike.is_empty() {
        screen.rows.push(headline("alike", &alike_words(&alike), ""));
        screen.rows.extend(alike.iter().enumerate().map(|(n, alike)| alike_choice(view, n, alike)));
    }
    screen.rows.push(deeds(None, Vec::new()));
    Ok(screen)
}

/// The word of a layer in an event.
fn layer_word(layer: Layer) -> Option<&'static str> {
    match layer {
        Layer::Planned(_) => Some("planned"),
        Layer::Left(_) => Some("left"),
        Layer::Found(_) | Layer::Site => None,
    }
}

/// Who noted a fact, and when.
fn who_said(view: &View<'_>, fact: &FactRef) -> String {
    let stamp = view.notes.stamp_of(&fact.entry);
    let kept = stamp.and_then(|stamp| view.notes.entries().find(|(known, _)| **known == stamp));
    kept.map(|(stamp, kept)| {
        let who = who(view, *stamp, kept.noted.entry.visit.as_ref());
        wf("noted_by", &[("when", &moment(view, kept.noted.entry.wall)), ("who", &who)])
    })
    .unwrap_or_default()
}

/// The person behind an entry: whose visit it was noted on, else the start of the key that signed it.
pub(super) fn who(view: &View<'_>, stamp: Stamp, visit: Option<&crate::job::Hash>) -> String {
    let visits = view.notes.visits();
    let on = visits.iter().find(|known| Some(&known.id) == visit);
    let name = on.map(|visit| view.person_name(visit.person)).filter(|name| !name.is_empty());
    name.unwrap_or_else(|| {
        let key: String = stamp.author.to_string().chars().take(8).collect();
        wf("author", &[("key", &key)])
    })
}
