//! What is noted of a box itself: construction, volume, what bears on its fill, how it can be reached.

use crate::catalogue::BoxType;
use crate::refusal::Refusal;
use crate::token::Line;

use super::note_box::{kinds, picks, systems};
use super::parts::{amount, blank, box_words, choice, deeds, headline, item, w, wf, wiring_of};
use super::row::{Edge, Pick, Row, Screen};
use super::view::View;

/// The page `about <box>`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let wiring = wiring_of(view, at);
    let mut screen = view.screen(&box_words(wiring, at), &w("about.title"));
    let Some(note) = wiring.boxes.get(&at) else { return Ok(screen) };
    screen.tag = note.tag.get().cloned();
    let layer = view.layer_field();
    let set =
        |field: &str, value: &str| view.event(Line::new("set").word(at).with(field, value).with_some("layer", layer));
    screen.rows.push(blank("tag", &w("box.tag"), &note.tag.or(String::new()), set("tag", "?")));
    screen.rows.push(blank("location", &w("box.place"), &note.location.or(String::new()), set("location", "?")));
    // A construction says its gangs too, where the kind has them.
    let built = |kind: &str| {
        let known = view.catalogue.box_type(kind);
        let gangs = known.and_then(|kind| kind.gangs.filter(|_| !kind.per_gang));
        let event = Line::new("set").word(at).with("kind", kind).with_some("gangs", gangs);
        view.event(event.with_some("layer", layer))
    };
    screen.rows.extend(kinds(view, note.kind.get().map_or("", String::as_str), built));
    let kind = note.kind.get().and_then(|kind| view.catalogue.box_type(kind));
    if kind.is_some_and(|kind| kind.panel) {
        let known = note.system.get().map(crate::token::path::word_of).unwrap_or_default();
        screen.rows.push(systems(&known, |system| set("system", system)));
    }
    if kind.is_none_or(BoxType::has_fill) {
        let volume = note.volume.get().map(ToString::to_string).unwrap_or_default();
        screen.rows.push(amount("volume", &w("box.volume_marked"), &volume, "in³", set("volume", "?")));
        let number = |value: Option<&u8>| value.map(ToString::to_string).unwrap_or_default();
        for (field, range, known) in [
            ("gangs", 1..=6, number(note.gangs.get())),
            ("clamps", 0..=6, number(note.clamps.get())),
            ("studs", 0..=2, number(note.studs.get())),
        ] {
            screen.rows.push(choice(field, &w(&format!("box.{field}")), picks(range, &known, |n| set(field, n))));
        }
        screen.rows.extend(additions(view, at, note));
    }
    for (field, known) in [
        ("accessible", note.accessible.get()),
        ("canopy", note.canopy.get()),
        ("small_opening", note.small_opening.get()),
        ("low_voltage", note.low_voltage.get()),
    ] {
        screen.rows.push(yes_or_no(field, known.copied(), &set));
    }
    let others = note.other_circuits.or(String::new());
    screen.rows.push(blank("other_circuits", &w("box.other_circuits"), &others, set("other_circuits", "?")));
    let remove = Line::new("remove").word(at).with_some("layer", layer);
    let taken_out = Pick::new(&w("deed.box_gone"), view.event_then(remove, &view.page("job")));
    let back = Pick::new(&w("deed.to_box"), view.go(&view.page_here("box").word(at)));
    screen.rows.push(deeds(Some(back), vec![taken_out]));
    Ok(screen)
}

fn yes_or_no(field: &str, known: Option<bool>, set: &impl Fn(&str, &str) -> String) -> Row {
    let options = [("yes", true), ("no", false)]
        .map(|(word, value)| Pick::new(&w(word), set(field, word)).on(known == Some(value)));
    choice(field, &w(&format!("box.{field}")), options.into())
}

/// Rings and extensions that are noted, and a field for one more: "4.5 plaster ring", "- domed cover".
fn additions(view: &View<'_>, at: crate::job::ThingId, note: &crate::job::BoxNote) -> Vec<Row> {
    let mut rows = vec![headline("additions", &w("box.additions"), "")];
    for (n, addition) in note.additions.iter().enumerate() {
        let Some(addition) = addition.get() else { continue };
        let volume = addition.volume.map(|volume| wf("volume", &[("value", &volume.to_string())]));
        let row = item(&format!("addition {n}"), &addition.what, &volume.unwrap_or_else(|| w("box.no_volume")));
        rows.push(row.edge(Edge::Found));
    }
    let next = note.additions.len();
    let options = ["plaster ring", "extension", "domed cover"].map(|what| {
        let event = Line::new("set").word(at).with("addition", format!("{next} - {what}"));
        let event = event.with_some("layer", view.layer_field());
        Pick::new(&w(&format!("addition.{}", what.replace(' ', "_"))), view.event(event)).second(&w("box.no_volume"))
    });
    rows.push(choice("addition", &w("box.add"), options.into()));
    let volume = view.address.field("ring").unwrap_or_default();
    rows.push(amount("ring", &w("box.add_marked"), volume, "in³", view.here("ring", "?")));
    if !volume.trim().is_empty() {
        let options = ["plaster ring", "extension", "domed cover"].map(|what| {
            let event = Line::new("set").word(at).with("addition", format!("{next} {volume} {what}"));
            let event = event.with_some("layer", view.layer_field());
            let then = view.page_here("about").word(at);
            Pick::new(&w(&format!("addition.{}", what.replace(' ', "_"))), view.event_then(event, &then))
        });
        rows.push(choice("marked", &wf("box.add_this", &[("volume", volume)]), options.into()));
    }
    rows
}
