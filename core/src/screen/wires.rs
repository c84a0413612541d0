//! The conductors of a run that is being noted: those of a raceway by sets and one by one, and the colours of old
//! cables, where a type's own colours are not what is seen.

use crate::catalogue::{RunForm, colour_name, size_name};
use crate::job::{Colour, Conductor, ThingId, Wiring};
use crate::token::path::{one_of, word_of};

use super::parts::{choice, conductor, w, wires_of};
use super::row::{Pick, Row};
use super::run::length_unit;
use super::view::View;

/// Sets of single conductors that are drawn in together; common practice without a source. The last but one is two
/// circuits with a neutral each.
const SETS: [&[Colour]; 5] = [
    &[Colour::Black, Colour::White, Colour::Green],
    &[Colour::Black, Colour::Red, Colour::White, Colour::Green],
    &[Colour::Black, Colour::White],
    &[Colour::Black, Colour::White, Colour::Red, Colour::White, Colour::Green],
    &[Colour::Brown, Colour::Blue, Colour::GreenYellow],
];
/// Colours of one conductor more.
const COLOURS: [Colour; 12] = [
    Colour::Black,
    Colour::White,
    Colour::Red,
    Colour::Blue,
    Colour::Green,
    Colour::Gray,
    Colour::Brown,
    Colour::Orange,
    Colour::Yellow,
    Colour::Cloth,
    Colour::Painted,
    Colour::CannotTell,
];
/// What is seen where a type's colours are gone.
const OLD: [Colour; 3] = [Colour::Cloth, Colour::Painted, Colour::CannotTell];

fn get<'t>(view: &'t View<'_>, field: &str) -> &'t str {
    view.address.field(field).unwrap_or_default()
}

/// One conductor as an event's list has it: "black 14 copper", "green 12 copper ground".
fn wire_text(colour: Colour, like: &Conductor) -> String {
    let stranded = if like.stranded { " stranded" } else { "" };
    let ground = if like.ground { " ground" } else { "" };
    format!("{} {} {}{stranded}{ground}", word_of(&colour), like.size, word_of(&like.metal))
}

fn single(colour: Colour, size: &str) -> String {
    let ground = matches!(colour, Colour::Green | Colour::GreenYellow);
    let like = Conductor { colour, size: size.to_owned(), metal: crate::job::Metal::Copper, stranded: false, ground };
    wire_text(colour, &like)
}

/// The list of conductors that the event states: those picked for a raceway, or a type's own in the colours seen.
pub(super) fn listed(view: &View<'_>, kind: &str) -> Option<String> {
    let known = view.catalogue.run(kind)?;
    if known.wires.is_empty() {
        return Some(get(view, "wires").to_owned()).filter(|list| !list.is_empty());
    }
    let seen: Colour = one_of(view.address.field("colours")?).ok()?;
    // Bare copper has no colour that could be gone.
    let of = |wire: &Conductor| if wire.colour == Colour::Bare { Colour::Bare } else { seen };
    let list: Vec<String> = known.wires.iter().map(|wire| wire_text(of(wire), wire)).collect();
    Some(list.join(", "))
}

/// The conductors of a noted run as a list, where each was noted by itself.
pub(super) fn noted(view: &View<'_>, wiring: &Wiring, run: ThingId) -> Option<String> {
    if wiring.runs.get(&run)?.wires.is_empty() {
        return None;
    }
    let side = crate::job::Side::Near;
    let wires = wires_of(view, wiring, run)
        .into_iter()
        .filter_map(|wire| conductor(view, wiring, &crate::job::Tip::Wire { run, wire, side }));
    let list: Vec<String> = wires.map(|wire| wire_text(wire.colour, &wire)).collect();
    Some(list.join(", "))
}

/// What is asked of a type's conductors: for a cable the colours that are seen, for a raceway all of them.
pub(super) fn rows(view: &View<'_>, kind: &str) -> Vec<Row> {
    let Some(known) = view.catalogue.run(kind) else { return Vec::new() };
    if !known.wires.is_empty() {
        return vec![colours(view)];
    }
    let mut rows = raceway(view);
    if known.form == RunForm::Raceway {
        let ground = get(view, "ground_path");
        let options = ["yes", "no"].map(|word| Pick::new(&w(word), view.here("ground_path", word)).on(word == ground));
        rows.push(choice("ground-path", &w("run.ground_path"), options.into()));
    }
    rows
}

fn colours(view: &View<'_>) -> Row {
    let seen = get(view, "colours");
    let mut options = vec![Pick::new(&w("run.own_colours"), view.here("colours", "")).on(seen.is_empty())];
    options.extend(OLD.map(|colour| {
        let word = word_of(&colour);
        Pick::new(&colour_name(colour), view.here("colours", &word)).on(word == seen)
    }));
    choice("colours", &w("run.colours"), options)
}

/// A set in one touch, one conductor more in one touch, one fewer; the size of all of them.
fn raceway(view: &View<'_>) -> Vec<Row> {
    let metric = length_unit(view) == "m";
    let size = view.address.field("size").unwrap_or(if metric { "1.5mm2" } else { "14" }).to_owned();
    let wires = get(view, "wires").to_owned();
    let sets = SETS.map(|set| {
        let list = set.iter().map(|colour| single(*colour, &size)).collect::<Vec<_>>().join(", ");
        let words = set.iter().map(|colour| colour_name(*colour)).collect::<Vec<_>>().join(", ");
        Pick::new(&words, view.here("wires", &list)).on(list == wires)
    });
    let mut more: Vec<Pick> = COLOURS
        .map(|colour| {
            let wire = single(colour, &size);
            let list = if wires.is_empty() { wire } else { format!("{wires}, {wire}") };
            Pick::new(&colour_name(colour), view.here("wires", &list))
        })
        .into();
    if !wires.is_empty() {
        let fewer = wires.rsplit_once(", ").map_or("", |(fewer, _)| fewer);
        more.push(Pick::new(&w("run.one_fewer"), view.here("wires", fewer)));
    }
    vec![
        choice("sets", &w("run.sets"), sets.into()),
        choice("wires", &w("run.wires"), more),
        choice("size", &w("run.size"), sizes(view, &size, &wires, metric)),
    ]
}

/// Another size is that of what was picked already, too.
fn sizes(view: &View<'_>, size: &str, wires: &str, metric: bool) -> Vec<Pick> {
    let all: &[&str] = if metric { &["1.5mm2", "2.5mm2", "4mm2"] } else { &["14", "12", "10"] };
    let pick = |known: &&str| {
        let mut to = view.address.clone().with("size", known);
        if !wires.is_empty() {
            to = to.with("wires", wires.replace(&format!(" {size} "), &format!(" {known} ")));
        }
        Pick::new(&size_name(known), view.go(&to)).on(*known == size)
    };
    all.iter().map(pick).collect()
}
