//! One end: where it is, what is written on it, what else is known of it.

use crate::catalogue::{DeviceType, PointForm, colour_name, point_name};
use crate::job::{Colour, Place, ThingId, Tip, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::{tip_text, word_of};
use crate::words::say;

use super::inside::label_words;
use super::moving::{join, land, noting};
use super::order::is_panel;
use super::parts::{
    amount, box_words, choice, deeds, device_words, edge_of_tip, is_unplaced, item, place_words, sentence,
    splice_words, strand, tip_full, tip_words, tips_in, w, wf,
};
use super::row::{Body, Edge, Pick, Row, Screen};
use super::view::View;

/// The page `end tip=<end>`: the end is in the hand, and every place that it can go to is touched. With `on=<device>`
/// the terminals of one device stand first.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let tip = view.names().tip(view.address.field("tip").unwrap_or_default())?;
    let wiring = view.asked();
    let at = wiring.box_of(&tip);
    let over = at.map(|at| box_words(wiring, at)).unwrap_or_default();
    let mut screen = view.screen(&over, &tip_words(view, wiring, &tip));
    let Some(at) = at else {
        screen.rows.push(is(view, wiring, &tip, &label_words(wiring, &tip)));
        screen.rows.push(label_row(view, wiring, &tip));
        screen.rows.push(sentence("nowhere", &w("end.no_box")).edge(Edge::Unknown));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    };
    screen.rows.push(is(view, wiring, &tip, &w("end.touch")));
    if !is_panel(view, wiring, at) {
        screen.rows.push(super::drawing::moving_row(view, wiring, at, &tip));
    }
    if matches!(tip, Tip::Wire { .. }) {
        let on = view.address.field("on").and_then(|name| view.names().device(name).ok());
        screen.rows.extend(on.into_iter().flat_map(|device| terminals(view, wiring, device, &tip)));
        screen.rows.extend(empty(view, wiring, at, &tip));
        screen.rows.extend(buses(view, wiring, at, &tip));
    }
    screen.rows.push(splices(view, wiring, at, &tip));
    screen.rows.extend(free(view, wiring, at, &tip));
    if matches!(tip, Tip::Wire { .. }) {
        screen.rows.extend(devices(view, wiring, at));
    }
    screen.rows.push(label_row(view, wiring, &tip));
    screen.rows.extend(more(view, wiring, &tip));
    screen.rows.extend(seen_elsewhere(view, wiring, at, &tip));
    let mut others = Vec::new();
    if let Some((name, _)) = super::splice::own_terminal(view, wiring, &tip).filter(|_| view.asked_word() != "found") {
        let to = view.page_here("splice").with("box", at).with("pick", tip_text(&tip)).with("pig", name);
        others.push(Pick::new(&w("deed.lengthen"), view.go(&to)).second(&w("deed.lengthen_why")));
    }
    if wiring.place(&tip).is_some() {
        let both = pigtail(wiring, &tip).into_iter().filter(|tip| wiring.place(tip).is_some());
        let event = both.fold(Line::new("seen"), |event, tip| event.word(tip_text(&tip)));
        let event = event.with_some("layer", view.layer_field());
        others.push(Pick::new(&w("deed.seen"), view.event(event)).second(&w("deed.seen_why")));
    }
    screen.rows.push(deeds(None, others));
    Ok(screen)
}

/// The end itself; of a pigtail both ends, which lie in one box.
fn pigtail(wiring: &Wiring, tip: &Tip) -> Vec<Tip> {
    let mut both = vec![tip.clone()];
    if let Tip::Wire { run, wire, side } = tip
        && wiring.runs.get(run).is_some_and(crate::job::RunNote::is_inside)
    {
        both.push(Tip::Wire { run: *run, wire: *wire, side: side.other() });
    }
    both
}

/// A look that shows the end on another terminal than noted. What is noted stays until somebody notes it anew.
fn seen_elsewhere(view: &View<'_>, wiring: &Wiring, at: ThingId, tip: &Tip) -> Option<Row> {
    let on_terminal = |tip: &&Tip| matches!(wiring.place(tip), Some(Place::Terminal { .. }));
    // A pigtail is one conductor: what is seen of it is where its other end is.
    let both = pigtail(wiring, tip);
    let tip = both.iter().find(on_terminal)?;
    let Some(Place::Terminal { device, terminal, .. }) = wiring.place(tip) else { return None };
    let kind =
        wiring.devices.get(device).and_then(|note| note.kind.get()).and_then(|kind| view.catalogue.device(kind))?;
    let then = view.page_here("box").word(at);
    let others = kind.points.iter().filter(|point| point.form == PointForm::Terminal && point.id != *terminal);
    let options: Vec<Pick> = others
        .map(|point| {
            let event = Line::new("look").word(tip_text(tip)).word(format!("{device}.{}", point.id));
            Pick::new(&point_name(&point.id), view.event_then(event, &then))
        })
        .collect();
    (!options.is_empty()).then(|| choice("looked", &w("end.looked"), options))
}

/// Where the end is now.
fn is(view: &View<'_>, wiring: &Wiring, tip: &Tip, second: &str) -> Row {
    let body = Body::Strands {
        title: place_words(view, wiring, tip),
        second: second.to_owned(),
        strands: vec![strand(view, wiring, tip)],
    };
    Row::new("is", body).edge(edge_of_tip(view, wiring, tip))
}

fn label_row(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Row {
    let to = view.page_here("label").with("tip", tip_text(tip));
    item("label", &w("label.title"), &label_words(wiring, tip)).edge(Edge::Found).leads(view.go(&to))
}

/// Terminals with nothing on them: what is mostly meant.
fn empty(view: &View<'_>, wiring: &Wiring, at: ThingId, tip: &Tip) -> Option<Row> {
    let empty = super::splice::empty_terminals(view, wiring, at);
    let options: Vec<Pick> =
        empty.into_iter().map(|(name, words)| Pick::new(&words, land(view, at, tip, &name))).collect();
    (!options.is_empty()).then(|| choice("empty", &w("end.empty"), options))
}

/// Every splice of the box, and a new one.
fn splices(view: &View<'_>, wiring: &Wiring, at: ThingId, tip: &Tip) -> Row {
    let here = wiring.splices_in(at).into_iter().filter(|splice| !wiring.ends_in(*splice).is_empty());
    let mut options: Vec<Pick> = here
        .map(|splice| {
            let second = super::inside::used_words(view, wiring, splice);
            let on = wiring.place(tip) == Some(&Place::Splice(splice));
            Pick::new(&splice_words(view, wiring, splice), join(view, at, tip, splice)).second(&second).on(on)
        })
        .collect();
    let new = view.page_here("splice").with("box", at).with("pick", tip_text(tip));
    options.push(Pick::new(&w("splice.new"), view.go(&new)));
    choice("splices", &w("splices"), options)
}

/// The devices of the box, each leading to all of its terminals.
fn devices(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Row> {
    let on = view.address.field("on").unwrap_or_default().to_owned();
    let all = wiring.devices_in(at).into_iter().map(|device| {
        let token = view.here("on", &device.to_string());
        Pick::new(&device_words(view, wiring, device), token).on(on == device.to_string())
    });
    let all: Vec<Pick> = all.collect();
    (!all.is_empty()).then(|| choice("devices", &w("end.devices"), all))
}

/// Every terminal of a device, used ones too, and "somewhere on it". How it is held stands in the address.
fn terminals(view: &View<'_>, wiring: &Wiring, device: ThingId, tip: &Tip) -> Vec<Row> {
    let note = wiring.devices.get(&device);
    let kind = note.and_then(|note| note.kind.get()).and_then(|kind| view.catalogue.device(kind));
    let at = note.and_then(|note| note.in_box.get().copied().flatten());
    let (Some(kind), Some(at)) = (kind, at) else { return Vec::new() };
    let points = kind.points.iter().filter(|point| point.form == PointForm::Terminal);
    let mut options: Vec<Pick> = points
        .map(|point| {
            let on: Vec<String> =
                wiring.ends_on(device, &point.id).into_iter().map(|tip| tip_full(view, wiring, tip)).collect();
            let second = if on.is_empty() { w("nothing_noted") } else { on.join(", ") };
            let here = matches!(wiring.place(tip),
                Some(Place::Terminal { device: of, terminal, .. }) if *of == device && *terminal == point.id);
            let token = land(view, at, tip, &format!("{device}.{}", point.id));
            Pick::new(&point_name(&point.id), token).second(&second).on(here)
        })
        .collect();
    let somewhere = wiring.place(tip) == Some(&Place::SomewhereOn(device));
    let event = Line::new("land").word(tip_text(tip)).word(device);
    options.push(Pick::new(&w("end.somewhere"), noting(view, at, event)).on(somewhere));
    let mut rows = vec![choice(&format!("on {device}"), &device_words(view, wiring, device), options).now()];
    rows.extend(landings(view, kind, device));
    rows
}

/// How a terminal holds the end, where a device has more than one way.
fn landings(view: &View<'_>, kind: &DeviceType, device: ThingId) -> Vec<Row> {
    let mut ways: Vec<String> = kind.points.iter().flat_map(|point| &point.landings).map(word_of).collect();
    ways.sort();
    ways.dedup();
    if ways.len() < 2 {
        return Vec::new();
    }
    let chosen = view.address.field("landing").unwrap_or_default();
    let options = ways.into_iter().map(|way| {
        let on = way == chosen;
        Pick::new(&w(&format!("landing.{way}")), view.here("landing", &way)).on(on)
    });
    vec![choice(&format!("landing {device}"), &w("end.landing"), options.collect())]
}

/// In a panel: the bars and buses.
fn buses(view: &View<'_>, wiring: &Wiring, at: ThingId, tip: &Tip) -> Option<Row> {
    if !is_panel(view, wiring, at) {
        return None;
    }
    let options = ["neutral", "ground"].map(|bus| {
        let event = Line::new("land").word(tip_text(tip)).word(format!("{at}!{bus}"));
        Pick::new(&say(&format!("bus.{bus}"), &[]), noting(view, at, event))
    });
    Some(choice("bus", &w("end.bus"), options.into()))
}

/// Capped, loose, absent; on the metal of the box; passing through as another end.
fn free(view: &View<'_>, wiring: &Wiring, at: ThingId, tip: &Tip) -> Vec<Row> {
    let place = |word: &str| noting(view, at, Line::new("place").word(tip_text(tip)).word(word));
    let known = wiring.place(tip);
    let mut options = vec![
        Pick::new(&w("place.capped"), place("capped")).on(known == Some(&Place::Capped)),
        Pick::new(&w("place.loose"), place("loose")).on(known == Some(&Place::Loose)),
        Pick::new(&w("place.absent"), place("absent")).on(known == Some(&Place::Absent)),
    ];
    if super::splice::is_metal(view, wiring, at) {
        options.push(Pick::new(&w("place.shell"), place("shell")).on(known == Some(&Place::Shell(at))));
    }
    let mut rows = vec![choice("free", &w("end.free"), options)];
    let Tip::Wire { run, .. } = tip else { return rows };
    let others = tips_in(view, wiring, at).into_iter().filter(|other| match other {
        Tip::Wire { run: of, .. } => of != run && is_unplaced(wiring, other),
        Tip::Lead { .. } => false,
    });
    let options: Vec<Pick> = others
        .map(|other| {
            let event = Line::new("place").word(tip_text(tip)).word("through").word(tip_text(&other));
            Pick::new(&tip_full(view, wiring, &other), noting(view, at, event))
        })
        .collect();
    if !options.is_empty() {
        rows.push(choice("through", &w("end.through"), options));
    }
    rows
}

/// Re-marking, free length, torque.
fn more(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Vec<Row> {
    let set = |field: &str, value: &str| {
        view.event(Line::new("set").word(tip_text(tip)).with(field, value).with_some("layer", view.layer_field()))
    };
    let note = wiring.tips.get(tip);
    let mut rows = Vec::new();
    let marked = note.and_then(|note| note.remarked.get().copied());
    let colours = [Colour::Black, Colour::Red, Colour::Blue, Colour::White, Colour::Green];
    let mut options: Vec<Pick> = colours
        .iter()
        .map(|colour| {
            Pick::new(&colour_name(*colour), set("remarked", &word_of(colour))).on(marked == Some(Some(*colour)))
        })
        .collect();
    options.push(Pick::new(&w("end.not_remarked"), set("remarked", "no")).on(marked == Some(None)));
    rows.push(choice("remarked", &w("end.remarked"), options));
    let colours = [Colour::Cloth, Colour::Painted, Colour::CannotTell, Colour::Black, Colour::White, Colour::Red];
    let seen = note.and_then(|note| note.colour.get().copied());
    let options = colours
        .map(|colour| Pick::new(&colour_name(colour), set("colour", &word_of(&colour))).on(seen == Some(colour)));
    rows.push(choice("colour", &w("end.colour"), options.into()));
    let free = note.and_then(|note| note.free_length.get()).map(ToString::to_string).unwrap_or_default();
    rows.push(amount("free-length", &w("end.free_length"), &free, "in.", set("free", "?")));
    if matches!(wiring.place(tip), Some(Place::Terminal { .. })) {
        let torque = note.and_then(|note| note.torque.get()).map(ToString::to_string).unwrap_or_default();
        rows.push(amount("torque", &w("end.torque"), &torque, &wf("unit.torque", &[]), set("torque", "?")));
    }
    rows
}
