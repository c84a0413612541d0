//! Small parts that many screens share: ends and their words, strands, headings, choices, deeds.

use crate::catalogue::{bus_name, colour_name, conductors, connector_name, point_name, run_name};
use crate::job::{Basis, Colour, Conductor, Note, Place, Side, Subject, ThingId, Tip, Wiring};
use crate::name::Called;
use crate::token::path::word_of;
use crate::words::say;

use super::row::{Body, Edge, Pick, Row, Strand};
use super::view::View;

/// Words without anything filled in.
pub(super) fn w(key: &str) -> String {
    say(&format!("screen.{key}"), &[])
}

/// Words with something filled in.
pub(super) fn wf(key: &str, fill: &[(&str, &str)]) -> String {
    say(&format!("screen.{key}"), fill)
}

/// The everyday row.
pub(super) fn item(key: &str, title: &str, second: &str) -> Row {
    valued(key, title, second, "")
}

/// The everyday row with a value at its right.
pub(super) fn valued(key: &str, title: &str, second: &str, value: &str) -> Row {
    let (title, second, value) = (title.to_owned(), second.to_owned(), value.to_owned());
    Row::new(key, Body::Item { tag: None, title, second, value, mark: false })
}

/// A heading.
pub(super) fn headline(key: &str, text: &str, right: &str) -> Row {
    let right = if right.is_empty() { Vec::new() } else { vec![right.to_owned()] };
    Row::new(key, Body::Headline { text: text.to_owned(), right })
}

/// One sentence.
pub(super) fn sentence(key: &str, text: &str) -> Row {
    Row::new(key, Body::Sentence { text: text.to_owned() })
}

/// A caution.
pub(super) fn caution(key: &str, title: &str, text: &str) -> Row {
    let (title, text) = (title.to_owned(), text.to_owned());
    Row::new(key, Body::Notice { hazard: false, title, text, citation: None })
}

/// One of several.
pub(super) fn choice(key: &str, label: &str, options: Vec<Pick>) -> Row {
    Row::new(key, Body::Choice { label: label.to_owned(), options })
}

/// Something typed: a text.
pub(super) fn blank(key: &str, label: &str, value: &str, enter: String) -> Row {
    let (label, value) = (label.to_owned(), value.to_owned());
    Row::new(key, Body::Blank { label, value, unit: String::new(), numeric: false, enter })
}

/// Something typed: a number with its unit.
pub(super) fn amount(key: &str, label: &str, value: &str, unit: &str, enter: String) -> Row {
    let (label, value, unit) = (label.to_owned(), value.to_owned(), unit.to_owned());
    Row::new(key, Body::Blank { label, value, unit, numeric: true, enter })
}

/// What can be done, with the way back.
pub(super) fn deeds(main: Option<Pick>, others: Vec<Pick>) -> Row {
    Row::new("deeds", Body::Deeds { back: true, main, others })
}

/// A run's kind in words, short: its catalogue words, or that they are not known.
pub(super) fn run_kind(wiring: &Wiring, run: ThingId) -> String {
    let kind = wiring.runs.get(&run).and_then(|note| note.kind.get());
    kind.map_or_else(|| w("run_kind_unknown"), |kind| run_name(kind))
}

/// A run's letter at one side; a question mark where it has none.
pub(super) fn letter(wiring: &Wiring, run: ThingId, side: Side) -> String {
    let note = wiring.runs.get(&run);
    note.and_then(|note| note.side(side).letter.get().cloned()).unwrap_or_else(|| "?".to_owned())
}

/// The conductor that an end belongs to, as the wiring has it.
pub(super) fn conductor(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Option<Conductor> {
    match tip {
        Tip::Wire { run, wire, .. } => {
            let note = wiring.runs.get(run)?;
            conductors(note, note.kind.get().and_then(|kind| view.catalogue.run(kind))).remove(wire)
        }
        Tip::Lead { device, lead } => {
            let kind = wiring.devices.get(device)?.kind.get()?;
            let point = view.catalogue.device(kind)?.point(lead)?;
            Some(Conductor {
                colour: point.colour.unwrap_or(Colour::CannotTell),
                size: point.size.clone().unwrap_or_default(),
                metal: crate::job::Metal::Copper,
                stranded: false,
                ground: point.role == crate::catalogue::Role::Ground,
            })
        }
    }
}

/// The colour of an end as it was seen.
pub(super) fn colour(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Colour {
    Called::new(wiring, view.catalogue).colour(tip).unwrap_or(Colour::CannotTell)
}

/// What is written on an end, if anything is.
pub(super) fn label(wiring: &Wiring, tip: &Tip) -> Option<String> {
    wiring.tips.get(tip)?.label.get()?.clone()
}

/// What an end is called without its label: "A black"; with what it is re-marked as.
pub(super) fn tip_words(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> String {
    let words = Called::new(wiring, view.catalogue).tip(tip);
    match wiring.tips.get(tip).and_then(|note| note.remarked.get().copied().flatten()) {
        Some(with) => wf("remarked", &[("tip", &words), ("colour", &colour_name(with))]),
        None => words,
    }
}

/// What an end is called with its label.
pub(super) fn tip_full(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> String {
    let words = tip_words(view, wiring, tip);
    label(wiring, tip).map_or(words.clone(), |label| say("name.labelled", &[("name", &words), ("label", &label)]))
}

/// A device in words.
pub(super) fn device_words(view: &View<'_>, wiring: &Wiring, device: ThingId) -> String {
    Called::new(wiring, view.catalogue).device(device)
}

/// A splice in words.
pub(super) fn splice_words(view: &View<'_>, wiring: &Wiring, splice: ThingId) -> String {
    Called::new(wiring, view.catalogue).splice(splice)
}

/// A splice's connector in words.
pub(super) fn connector_words(wiring: &Wiring, splice: ThingId) -> String {
    let kind = wiring.splices.get(&splice).and_then(|note| note.connector.get());
    kind.map_or_else(|| w("connector_unknown"), |kind| connector_name(kind))
}

/// A strand for an end: the tape where something is written, else what it is called.
pub(super) fn strand(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Strand {
    let role = word_of(&colour(view, wiring, tip));
    match label(wiring, tip) {
        Some(text) => Strand { colour: role, text, tape: true },
        None => Strand { colour: role, text: tip_words(view, wiring, tip), tape: false },
    }
}

/// Where an end is, in words.
pub(super) fn place_words(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> String {
    let note = wiring.tips.get(tip).map(|note| &note.place);
    match note {
        Some(Note::Said(place, _)) => words_of_place(view, wiring, place),
        Some(Note::Twice(_)) => w("noted_twice"),
        Some(Note::NotSaid) | None => w("not_known"),
    }
}

/// A place in words.
pub(super) fn words_of_place(view: &View<'_>, wiring: &Wiring, place: &Place) -> String {
    match place {
        Place::Splice(splice) => wf("place.splice", &[("splice", &splice_words(view, wiring, *splice))]),
        Place::Terminal { device, terminal, .. } => {
            let (device, terminal) = (device_words(view, wiring, *device), point_name(terminal));
            wf("place.terminal", &[("device", &device), ("terminal", &terminal)])
        }
        Place::SomewhereOn(device) => wf("place.somewhere", &[("device", &device_words(view, wiring, *device))]),
        Place::Shell(_) => w("place.shell"),
        Place::Bus { bus, .. } => wf("place.bus", &[("bus", &bus_name(*bus))]),
        Place::Through(other) => wf("place.through", &[("tip", &tip_words(view, wiring, other))]),
        Place::Capped => w("place.capped"),
        Place::Loose => w("place.loose"),
        Place::Absent => w("place.absent"),
    }
}

/// Every end that a box holds: runs by letter, pigtails, leads of devices.
pub(super) fn tips_in(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<Tip> {
    let mut tips = Vec::new();
    for (run, side) in wiring.runs_in(at) {
        tips.extend(wires_of(view, wiring, run).into_iter().map(|wire| Tip::Wire { run, wire, side }));
    }
    tips.extend(inner_tips(view, wiring, at));
    tips
}

/// Ends of pigtails and leads in a box: what no run brings.
pub(super) fn inner_tips(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<Tip> {
    let mut tips = Vec::new();
    for run in wiring.pigtails_in(at) {
        for wire in wires_of(view, wiring, run) {
            tips.extend(Side::BOTH.map(|side| Tip::Wire { run, wire, side }));
        }
    }
    for device in wiring.devices_in(at) {
        tips.extend(leads_of(view, wiring, device));
    }
    tips
}

/// A device's own leads.
pub(super) fn leads_of(view: &View<'_>, wiring: &Wiring, device: ThingId) -> Vec<Tip> {
    let kind = wiring.devices.get(&device).and_then(|note| note.kind.get());
    let points = kind.and_then(|kind| view.catalogue.device(kind)).into_iter().flat_map(|kind| &kind.points);
    let leads = points.filter(|point| point.form == crate::catalogue::PointForm::Lead);
    leads.map(|point| Tip::Lead { device, lead: point.id.clone() }).collect()
}

/// The numbers of a run's conductors.
pub(super) fn wires_of(view: &View<'_>, wiring: &Wiring, run: ThingId) -> Vec<u8> {
    let Some(note) = wiring.runs.get(&run) else { return Vec::new() };
    conductors(note, note.kind.get().and_then(|kind| view.catalogue.run(kind))).into_keys().collect()
}

/// Nothing says where an end is.
pub(super) fn is_unplaced(wiring: &Wiring, tip: &Tip) -> bool {
    !wiring.tips.get(tip).is_some_and(|note| note.place.is_said())
}

/// How sure we are of a value, from where it comes.
pub(super) fn edge_of(basis: &Basis, job: Option<ThingId>) -> Edge {
    Edge::of(basis, job)
}

/// How sure we are of a thing's being there.
pub(super) fn edge_of_thing(view: &View<'_>, wiring: &Wiring, id: ThingId) -> Edge {
    let take = crate::job::wiring::pick!(Present);
    let note = view.notes.note(&id.into(), &crate::job::FieldKind::Present.into(), wiring.layer, take);
    note.basis().map_or(Edge::Found, |basis| edge_of(basis, view.job))
}

/// How sure we are of where an end is.
pub(super) fn edge_of_tip(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Edge {
    match wiring.tips.get(tip).map(|note| &note.place) {
        Some(Note::Said(_, basis)) => edge_of(basis, view.job),
        Some(Note::Twice(_)) => Edge::Disagrees,
        Some(Note::NotSaid) | None => Edge::Unknown,
    }
}

/// The edge of several ends together: the first of disagrees, not known, planned, found, not checked, left.
pub(super) fn edge_of_tips(view: &View<'_>, wiring: &Wiring, tips: &[Tip]) -> Option<Edge> {
    tips.iter().map(|tip| edge_of_tip(view, wiring, tip)).min()
}

/// A box in words for a small line: "B3, foot of stair".
pub(super) fn box_words(wiring: &Wiring, at: ThingId) -> String {
    let note = wiring.boxes.get(&at);
    let parts = [note.and_then(|note| note.tag.get()), note.and_then(|note| note.location.get())];
    let parts: Vec<&str> = parts.into_iter().flatten().map(String::as_str).collect();
    if parts.is_empty() { w("box_unnamed") } else { parts.join(", ") }
}

/// The box that a subject belongs to.
pub(super) fn box_of_subject(wiring: &Wiring, of: &Subject) -> Vec<ThingId> {
    wiring.boxes_of(of)
}

/// The boxes of all layers of the job together.
pub(super) fn all_boxes(view: &View<'_>) -> Vec<ThingId> {
    let mut boxes = view.found().boxes_in_order();
    for wiring in [view.planned(), view.left()] {
        let more: Vec<_> = wiring.boxes_in_order().into_iter().filter(|id| !boxes.contains(id)).collect();
        boxes.extend(more);
    }
    boxes
}

/// The wiring in which a box is there: the asked one, else planned, left or found.
pub(super) fn wiring_of<'v>(view: &'v View<'_>, at: ThingId) -> &'v Wiring {
    let layers = [view.asked(), view.planned(), view.left(), view.found()];
    layers.into_iter().find(|wiring| wiring.boxes.contains_key(&at)).unwrap_or_else(|| view.asked())
}

/// Takes a name off or puts it on a list in a field of the address: `a,b`.
pub(super) fn toggled(list: &str, name: &str) -> String {
    let mut names: Vec<&str> = list.split(',').filter(|part| !part.is_empty()).collect();
    match names.iter().position(|known| *known == name) {
        Some(at) => drop(names.remove(at)),
        None => names.push(name),
    }
    names.join(",")
}

/// The names on a list in a field of the address.
pub(super) fn listed<'t>(view: &'t View<'_>, field: &str) -> Vec<&'t str> {
    let list = view.address.field(field).unwrap_or_default();
    list.split(',').filter(|part| !part.is_empty()).collect()
}
