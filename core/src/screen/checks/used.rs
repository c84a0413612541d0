//! Material that was used up: what is left beyond what was found is listed, and noted in one act; the rest is typed.

use std::collections::BTreeMap;

use crate::job::happening::Used;
use crate::job::value::LengthUnit;
use crate::job::{Decimal, Happening, ThingId, Wiring};
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::parts::amount;
use crate::screen::row::{Edge, Pick, Row, Screen};
use crate::screen::view::View;
use crate::token::Line;
use crate::words::{count, say};

use super::parts::{choice, deeds, edged, headline, here, sentence, take_back, text};

/// Something that is there now and was not found: a catalogue entry, how much of it, in which unit.
struct Item {
    id: String,
    amount: Decimal,
    unit: String,
}

/// What was noted as used for the job that is looked at.
pub(super) fn noted<'v>(view: &'v View<'_>) -> Vec<&'v Used> {
    let mut all = Vec::new();
    for happened in view.notes.happened() {
        if let (Happening::Used(used), Some(job)) = (&happened.what, view.job)
            && happened.of == job.into()
        {
            all.push(used);
        }
    }
    all
}

/// The page `used out=… customers=… amount_…=…`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &say("checks.used.title", &[]));
    let rows = &mut screen.rows;
    let known = noted(view);
    for (n, used) in known.iter().enumerate() {
        let whose = if used.customers { say("checks.used.customers", &[]) } else { String::new() };
        rows.push(edged(&format!("used {n}"), Edge::Left, &named(view, &used.item), &whose, &much(used)));
    }
    let mut items = beyond_found(view);
    items.retain(|item| known.iter().all(|used| used.item != item.id));
    if known.is_empty() && items.is_empty() {
        rows.push(sentence("none", &say("checks.used.none", &[])));
    }
    let mut event = Line::new("used");
    let mut n = 0;
    if !items.is_empty() {
        rows.push(headline("beyond", &say("checks.used.beyond", &[]), ""));
        rows.push(sentence("about", &say("checks.used.about", &[])));
    }
    for item in items {
        rows.extend(item_rows(view, &item));
        let Some(whose) = whose(view, &item) else { continue };
        event = event.word(&item.id).word(of_item(view, &item)).word(&item.unit);
        event = if whose { event.word("customers") } else { event };
        n += 1;
    }
    rows.push(text("else", &say("checks.used.else", &[]), view.event(Line::new("used").word("?"))));
    let back = Pick::new(&say("checks.to_record", &[]), view.go(&view.page("record")));
    let plain = here(view, &[("out", ""), ("customers", "")]);
    let main = if n > 0 {
        Pick::new(&count("checks.used.note", n, &[]), view.event_then(event, &plain))
    } else {
        back.clone()
    };
    let others = if n > 0 { vec![back, take_back(view)] } else { vec![take_back(view)] };
    rows.push(deeds(Some(main), others));
    Ok(screen)
}

fn fields<'v>(view: &'v View<'_>, field: &str) -> Vec<&'v str> {
    view.address.field(field).unwrap_or_default().split(',').filter(|id| !id.is_empty()).collect()
}

/// Whether it is the customer's own; nothing where it is left out.
fn whose(view: &View<'_>, item: &Item) -> Option<bool> {
    if fields(view, "out").contains(&item.id.as_str()) {
        return None;
    }
    Some(fields(view, "customers").contains(&item.id.as_str()))
}

/// The amount: as typed over it, else as it was worked out.
fn of_item(view: &View<'_>, item: &Item) -> String {
    let typed = view.address.field(&amount_field(item)).map(str::trim).filter(|text| !text.is_empty());
    typed.map_or_else(|| item.amount.to_string(), str::to_owned)
}

/// The field of the address in which a typed amount stands: a field's name has small letters alone.
fn amount_field(item: &Item) -> String {
    let letter = |c: char| match c.to_digit(10).and_then(|digit| char::from_digit(digit + 10, 36)) {
        Some(digit) => digit,
        None if c.is_ascii_lowercase() => c,
        None => '_',
    };
    format!("amount_{}", item.id.chars().map(letter).collect::<String>())
}

fn item_rows(view: &View<'_>, item: &Item) -> Vec<Row> {
    let id = item.id.as_str();
    let is = whose(view, item);
    let without = |field: &str| {
        let rest: Vec<&str> = fields(view, field).into_iter().filter(|known| *known != id).collect();
        rest.join(",")
    };
    let with = |field: &str| {
        [without(field), id.to_owned()].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(",")
    };
    let go = |out: &str, customers: &str| view.go(&here(view, &[("out", out), ("customers", customers)]));
    let options = vec![
        Pick::new(&say("checks.used.used", &[]), go(&without("out"), &without("customers"))).on(is == Some(false)),
        Pick::new(&say("checks.used.customers", &[]), go(&without("out"), &with("customers"))).on(is == Some(true)),
        Pick::new(&say("checks.used.not", &[]), go(&with("out"), &without("customers"))).on(is.is_none()),
    ];
    let of = of_item(view, item);
    let name = named(view, id);
    let fill = [("item", name.as_str()), ("amount", &of), ("unit", &unit_words(&item.unit))];
    let mut rows = vec![choice(&format!("item {id}"), &say("checks.used.item", &fill), options)];
    if item.unit != PIECES {
        // A length is measured along the run; what was cut off the coil is more.
        let label = say("checks.used.length", &[("item", &name)]);
        let enter = view.here(&amount_field(item), "?");
        rows.push(amount(&format!("amount {id}"), &label, &of, &unit_words(&item.unit), enter));
    }
    rows
}

/// The unit of what is counted.
const PIECES: &str = "pc";

fn unit_words(unit: &str) -> String {
    let known = crate::words::english().find(&format!("record.used.unit.{unit}"));
    known.unwrap_or(unit).to_owned()
}

fn much(used: &Used) -> String {
    format!("{} {}", used.amount, unit_words(&used.unit))
}

fn named(view: &View<'_>, item: &str) -> String {
    crate::record::goods_name(view.catalogue, item)
}

/// How much of each kind, in thousandths of its unit: lengths as they were typed, added exactly.
type Tally = BTreeMap<(String, String), i64>;

/// Digits after the point of what is added up.
const PLACES: u8 = 3;
const ONE: i64 = 1_000;

/// Runs, connectors, devices and boxes that are left and were not found, by their kinds.
fn beyond_found(view: &View<'_>) -> Vec<Item> {
    let (found, left) = (view.found(), view.left());
    let mut tally = Tally::new();
    let mut add = |id: &str, unit: &str, amount: i64| {
        *tally.entry((id.to_owned(), unit.to_owned())).or_default() += amount;
    };
    for (_, note) in left.runs.iter().filter(|(id, note)| !note.is_inside() && !found.runs.contains_key(id)) {
        let (Some(kind), Some(length)) = (note.kind.get(), note.length.get()) else { continue };
        let Some(amount) = length.value.in_units(PLACES) else { continue };
        add(kind, if length.unit == LengthUnit::Feet { "ft" } else { "m" }, amount);
    }
    for (id, note) in &left.splices {
        let known = found.splices.get(id).and_then(|note| note.connector.get());
        let Some(kind) = note.connector.get().filter(|kind| Some(*kind) != known) else { continue };
        if !left.ends_in(*id).is_empty() {
            add(kind, PIECES, ONE);
        }
    }
    for (_, note) in left.devices.iter().filter(|(id, _)| !found.devices.contains_key(id)) {
        if let Some(kind) = note.kind.get() {
            add(kind, PIECES, ONE);
        }
    }
    for id in new_boxes(found, left) {
        if let Some(kind) = left.boxes.get(&id).and_then(|note| note.kind.get()) {
            add(kind, PIECES, ONE);
        }
    }
    let item = |((id, unit), amount): ((String, String), i64)| Item { id, amount: shortest(amount), unit };
    tally.into_iter().map(item).collect()
}

/// Thousandths as a decimal without idle zeros.
fn shortest(mut amount: i64) -> Decimal {
    let mut places = PLACES;
    while places > 0 && amount % 10 == 0 {
        (amount, places) = (amount / 10, places - 1);
    }
    Decimal::new(amount, places)
}

fn new_boxes(found: &Wiring, left: &Wiring) -> Vec<ThingId> {
    left.boxes.keys().filter(|id| !found.boxes.contains_key(id)).copied().collect()
}
