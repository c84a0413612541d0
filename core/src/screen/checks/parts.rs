//! Small rows that the check screens share.

use crate::job::{At, Pair, ThingId, Wiring};
use crate::screen::parts::{amount, blank, valued};
pub(super) use crate::screen::parts::{choice, deeds, headline, item, sentence};
use crate::screen::row::{Body, Edge, Pick, Row};
pub(super) use crate::screen::state::moment;
use crate::screen::view::View;
use crate::token::Line;
use crate::token::path::{handle_text, spot_text};
use crate::words::say;

/// The everyday row with a state.
pub(super) fn edged(key: &str, edge: Edge, title: &str, second: &str, value: &str) -> Row {
    valued(key, title, second, value).edge(edge)
}

/// A caution, or a hazard.
pub(super) fn notice(key: &str, hazard: bool, title: &str, text: &str) -> Row {
    let (title, text) = (title.to_owned(), text.to_owned());
    Row::new(key, Body::Notice { hazard, title, text, citation: None })
}

/// A numbered step.
pub(super) fn step(number: u32, done: bool, title: &str, second: &str, value: &str) -> Row {
    let (title, second, value) = (title.to_owned(), second.to_owned(), value.to_owned());
    Row::new(&format!("step {number}"), Body::Step { number, title, second, value, done })
}

/// Something to be read: what it is, what it shows so far.
pub(super) fn figure(key: &str, title: &str, second: &str, value: &str, unit: &str, computed: &str) -> Row {
    let (title, second, value) = (title.to_owned(), second.to_owned(), value.to_owned());
    let (unit, computed) = (unit.to_owned(), computed.to_owned());
    Row::new(key, Body::Figure { title, second, value, unit, computed, share: None })
}

/// The act that takes the last one back.
pub(super) fn take_back(view: &View<'_>) -> Pick {
    Pick::new(&say("checks.take_back", &[]), view.event(Line::new("take-back")))
}

/// The address of this screen with some fields changed; an empty value takes a field away.
pub(super) fn here(view: &View<'_>, fields: &[(&str, &str)]) -> Line {
    let mut to = view.address.clone();
    for (name, value) in fields {
        if value.is_empty() {
            to.fields.remove(*name);
        } else {
            to = to.with(name, value);
        }
    }
    to
}

/// A heading over trials: what was worked out, what was seen.
pub(super) fn trial_head(key: &str, text: &str) -> Row {
    let right = vec![say("checks.worked_out", &[]), say("checks.seen", &[])];
    Row::new(key, Body::Headline { text: text.to_owned(), right })
}

/// A number that is typed.
pub(super) fn number(key: &str, label: &str, unit: &str, enter: String) -> Row {
    amount(key, label, "", unit, enter)
}

/// A text that is typed.
pub(super) fn text(key: &str, label: &str, enter: String) -> Row {
    blank(key, label, "", enter)
}

/// A box with its place: "B3, foot of stair".
pub(super) fn place(wiring: &Wiring, id: ThingId) -> String {
    let note = wiring.boxes.get(&id);
    let tag = note.and_then(|note| note.tag.get().cloned());
    let location = note.and_then(|note| note.location.get().cloned());
    match (tag, location) {
        (Some(tag), Some(location)) => say("checks.place", &[("tag", &tag), ("place", &location)]),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => say("name.box", &[]),
    }
}

/// Positions as an event states them.
pub(super) fn at_text(at: &[At]) -> Option<String> {
    let each = at.iter().map(|at| format!("{}={}", handle_text(&at.handle), at.position));
    (!at.is_empty()).then(|| each.collect::<Vec<_>>().join(","))
}

/// A pair's own name, for keys of rows.
pub(super) fn pair_key(pair: &Pair) -> String {
    format!("{} {}", spot_text(&pair.from), spot_text(&pair.to))
}
