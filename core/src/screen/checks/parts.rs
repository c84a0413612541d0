//! Small rows that the check screens share.

use crate::job::{At, FactRef, Pair, ThingId, Wall, Wiring};
use crate::screen::row::{Ask, Body, Edge, Pick, Row};
use crate::screen::view::View;
use crate::token::Line;
use crate::token::path::handle_text;
use crate::words::say;

/// The everyday row.
pub(super) fn item(key: &str, title: &str, second: &str, value: &str) -> Row {
    let (title, second, value) = (title.to_owned(), second.to_owned(), value.to_owned());
    Row::new(key, Body::Item { tag: None, title, second, value, mark: false })
}

/// The everyday row with a state.
pub(super) fn edged(key: &str, edge: Edge, title: &str, second: &str, value: &str) -> Row {
    item(key, title, second, value).edge(edge)
}

/// A heading with words at the right.
pub(super) fn headline(key: &str, text: &str, right: &[String]) -> Row {
    Row::new(key, Body::Headline { text: text.to_owned(), right: right.to_vec() })
}

/// One sentence.
pub(super) fn sentence(key: &str, text: &str) -> Row {
    Row::new(key, Body::Sentence { text: text.to_owned() })
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

/// Options of equal weight.
pub(super) fn choice(key: &str, label: &str, options: Vec<Pick>) -> Row {
    Row::new(key, Body::Choice { label: label.to_owned(), options })
}

/// A number that is typed.
pub(super) fn number(key: &str, label: &str, unit: &str, enter: String) -> Row {
    let (label, unit) = (label.to_owned(), unit.to_owned());
    Row::new(key, Body::Blank { label, value: String::new(), unit, numeric: true, enter })
}

/// A text that is typed.
pub(super) fn text(key: &str, label: &str, enter: String) -> Row {
    let (label, value, unit) = (label.to_owned(), String::new(), String::new());
    Row::new(key, Body::Blank { label, value, unit, numeric: false, enter })
}

/// What can be done, with the way back.
pub(super) fn deeds(main: Option<Pick>, others: Vec<Pick>) -> Row {
    Row::new("deeds", Body::Deeds { back: true, main, others })
}

/// Something to pick that asks for a file first.
pub(super) fn file_pick(words: &str, label: &str, token: String) -> Pick {
    let mut pick = Pick::new(words, token);
    pick.asks = Some(Ask { label: label.to_owned(), numeric: false, file: true });
    pick
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

/// A moment: the hour on the day of looking, else the day and the hour.
pub(super) fn moment(view: &View<'_>, wall: Wall) -> String {
    if wall.day() == view.now.day() {
        return wall.clock();
    }
    say("checks.moment", &[("day", &wall.day()), ("clock", &wall.clock())])
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
    use crate::token::path::spot_text;
    format!("{} {}", spot_text(&pair.from), spot_text(&pair.to))
}

/// A fact's own name, for keys of rows.
pub(super) fn fact_key(fact: &FactRef) -> String {
    format!("{fact}")
}
