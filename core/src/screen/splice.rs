//! Joining ends in a splice: a new one in one act, or one that is noted.

use std::collections::BTreeSet;

use crate::catalogue::{ConnectorType, PointForm, connector_name, point_name};
use crate::job::{Colour, Place, ThingId, Tip, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::tip_text;
use crate::words::count;

use super::inside::used_words;
use super::parts::{
    blank, box_words, choice, conductor, connector_words, deeds, device_words, edge_of_tip, headline, is_unplaced,
    label, listed, place_words, splice_words, strand, tip_full, tips_in, toggled, w, wf, wiring_of,
};
use super::row::{Body, Edge, Pick, Row, Screen};
use super::view::View;

/// Names that the trade gives to splices.
const NAMES: [&str; 5] = ["grounds", "neutrals", "constant_hot", "switched_leg", "traveler"];

fn get<'t>(view: &'t View<'_>, field: &str) -> &'t str {
    view.address.field(field).unwrap_or_default()
}

/// The page `splice box=<box> pick=… pig=… name=… connector=…`, or `splice splice=<splice>`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    if let Some(name) = view.address.field("splice") {
        let splice = view.names().splice(name)?;
        return Ok(noted(view, splice));
    }
    let at = view.box_asked()?;
    let wiring = wiring_of(view, at);
    let mut screen = view.screen(&box_words(wiring, at), &w("splice.new"));
    screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
    let tips = tips_in(view, wiring, at);
    let picked: Vec<Tip> = listed(view, "pick")
        .iter()
        .filter_map(|name| view.names().tip(name).ok())
        .filter(|tip| tips.contains(tip))
        .collect();
    screen.rows.push(ends(view, wiring, &tips, &picked));
    let pigtails = pigtails(view, wiring, at, &picked);
    screen.rows.push(choice("pig", &w("splice.pigtails"), pigtails));
    if !picked.is_empty() {
        let strands = picked.iter().map(|tip| strand(view, wiring, tip)).collect();
        let second = picked.iter().map(|tip| tip_full(view, wiring, tip)).collect::<Vec<_>>().join(", ");
        let body = Body::Strands { title: count("screen.ends_n", picked.len(), &[]), second, strands };
        screen.rows.push(Row::new("picked", body).edge(if view.asked_word() == "planned" {
            Edge::Planned
        } else {
            Edge::Found
        }));
    }
    let name = name_of(view, wiring, at, &picked);
    screen.rows.extend(names(view, &name));
    let total = picked.len() + listed(view, "pig").len();
    screen.rows.push(connectors(view, get(view, "connector"), total, |kind| view.here("connector", kind)));
    let main = (total > 0 && !picked.is_empty()).then(|| {
        let event = Line::new("join").word(format!("{at}+{name}"));
        let event = picked.iter().fold(event, |event, tip| event.word(tip_text(tip)));
        let event = listed(view, "pig").iter().fold(event, |event, end| event.word(format!(">{end}")));
        let connector = view.address.field("connector").filter(|kind| !kind.is_empty());
        let event = event.with_some("connector", connector).with_some("layer", view.layer_field());
        let words = wf("deed.note_splice", &[("splice", &name)]);
        Pick::new(&words, view.event_then(event, &view.page_here("box").word(at)))
    });
    let more = get(view, "more").is_empty().then(|| Pick::new(&w("splice.more"), view.here("more", "yes")));
    screen.rows.push(deeds(main, more.into_iter().collect()));
    Ok(screen)
}

/// The ends to pick from: those that nobody placed, and on request those that are somewhere else.
fn ends(view: &View<'_>, wiring: &Wiring, tips: &[Tip], picked: &[Tip]) -> Row {
    let list = get(view, "pick");
    let more = !get(view, "more").is_empty();
    let shown = tips.iter().filter(|tip| more || is_unplaced(wiring, tip) || picked.contains(tip));
    let options = shown.map(|tip| {
        let token = view.here("pick", &toggled(list, &tip_text(tip)));
        let second = if is_unplaced(wiring, tip) { String::new() } else { place_words(view, wiring, tip) };
        Pick::new(&tip_full(view, wiring, tip), token).second(&second).on(picked.contains(tip))
    });
    choice("ends", &w("splice.ends"), options.collect())
}

/// Pigtails that can go out from here: to terminals with nothing on them, to the metal of the box.
fn pigtails(view: &View<'_>, wiring: &Wiring, at: ThingId, picked: &[Tip]) -> Vec<Pick> {
    let list = get(view, "pig");
    let pick = |name: String, words: String| {
        let on = listed(view, "pig").contains(&name.as_str());
        Pick::new(&words, view.here("pig", &toggled(list, &name))).on(on)
    };
    let mut options: Vec<Pick> = Vec::new();
    // A terminal that the picked ends leave is free for a pigtail back to it.
    for tip in picked {
        if let Some((name, words)) = own_terminal(view, wiring, tip)
            && !options.iter().any(|pick| pick.text == words)
        {
            options.push(pick(name, words));
        }
    }
    options.extend(empty_terminals(view, wiring, at).into_iter().map(|(name, words)| pick(name, words)));
    if is_metal(view, wiring, at) {
        options.push(pick(format!("{at}~"), w("splice.to_shell")));
    }
    options
}

/// The terminal that an end is on: the name in tokens and the words.
pub(super) fn own_terminal(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Option<(String, String)> {
    let Some(Place::Terminal { device, terminal, .. }) = wiring.place(tip) else { return None };
    let fill = [("device", device_words(view, wiring, *device)), ("terminal", point_name(terminal))];
    let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
    Some((format!("{device}.{terminal}"), wf("splice.to_terminal", &fill)))
}

/// Is a box of metal, or not known?
pub(super) fn is_metal(view: &View<'_>, wiring: &Wiring, at: ThingId) -> bool {
    let kind = wiring.boxes.get(&at).and_then(|note| note.kind.get());
    kind.and_then(|kind| view.catalogue.box_type(kind)).is_none_or(|kind| kind.metal)
}

/// Terminals in a box with nothing noted on them: the name in tokens and the words.
pub(super) fn empty_terminals(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<(String, String)> {
    let mut out = Vec::new();
    for device in wiring.devices_in(at) {
        let kind = wiring.devices.get(&device).and_then(|note| note.kind.get());
        let points = kind.and_then(|kind| view.catalogue.device(kind)).into_iter().flat_map(|kind| &kind.points);
        for point in points.filter(|point| point.form == PointForm::Terminal) {
            if wiring.ends_on(device, &point.id).is_empty() {
                let words = wf(
                    "splice.to_terminal",
                    &[("device", &device_words(view, wiring, device)), ("terminal", &point_name(&point.id))],
                );
                out.push((format!("{device}.{}", point.id), words));
            }
        }
    }
    out
}

/// The splice's name: the chosen one, else from what is picked.
fn name_of(view: &View<'_>, wiring: &Wiring, at: ThingId, picked: &[Tip]) -> String {
    let chosen = get(view, "name").trim();
    if chosen.is_empty() { name_for(view, wiring, at, picked) } else { free_name(view, at, chosen) }
}

/// A name for a splice of these ends that no splice of the box has.
pub(super) fn name_for(view: &View<'_>, wiring: &Wiring, at: ThingId, picked: &[Tip]) -> String {
    free_name(view, at, &proposed(view, wiring, picked))
}

/// The wanted name, with a number after it where the box has it already.
fn free_name(view: &View<'_>, at: ThingId, wanted: &str) -> String {
    let layers = [view.found(), view.planned(), view.left()];
    let taken: BTreeSet<String> = layers
        .iter()
        .flat_map(|wiring| wiring.splices_in(at).into_iter().map(|id| splice_words(view, wiring, id)))
        .collect();
    let numbered = (2..100).map(|n| format!("{wanted} {n}"));
    let mut free = std::iter::once(wanted.to_owned()).chain(numbered).filter(|name| !taken.contains(name));
    free.next().unwrap_or_else(|| wanted.to_owned())
}

/// What colours and labels suggest. Colour is evidence, not fact: the person can change it.
fn proposed(view: &View<'_>, wiring: &Wiring, picked: &[Tip]) -> String {
    let wires: Vec<_> = picked.iter().filter_map(|tip| conductor(view, wiring, tip)).collect();
    let labelled = |word: &str| picked.iter().filter_map(|tip| label(wiring, tip)).any(|text| text.contains(word));
    let key = if wires.is_empty() {
        "splice.name.splice"
    } else if wires.iter().all(|wire| wire.ground) {
        "splice.name.grounds"
    } else if labelled("TRAV") {
        "splice.name.traveler"
    } else if labelled("SW") {
        "splice.name.switched_leg"
    } else if wires.iter().all(|wire| matches!(wire.colour, Colour::White | Colour::Gray)) {
        "splice.name.neutrals"
    } else if labelled("HOT") {
        "splice.name.constant_hot"
    } else {
        "splice.name.splice"
    };
    w(key)
}

fn names(view: &View<'_>, name: &str) -> Vec<Row> {
    let options = NAMES.map(|key| {
        let words = w(&format!("splice.name.{key}"));
        let on = words == name;
        Pick::new(&words, view.here("name", &words)).on(on)
    });
    vec![
        choice("names", &w("splice.name"), options.into()),
        blank("name", &w("splice.own_name"), name, view.here("name", "?")),
    ]
}

/// Connectors: those that have a port for each end first, the rest below; what packs say counts on the kit page.
fn connectors(view: &View<'_>, known: &str, ends: usize, token: impl Fn(&str) -> String) -> Row {
    let fits = |kind: &&ConnectorType| kind.ports.is_none_or(|ports| usize::from(ports) >= ends);
    let all: Vec<&ConnectorType> = view.catalogue.connectors().collect();
    let options = all
        .iter()
        .filter(|kind| fits(kind))
        .map(|kind| Pick::new(&connector_name(&kind.id), token(&kind.id)).on(kind.id == known));
    choice("connector", &w("splice.connector"), options.collect())
}

/// A splice that is noted: its ends, its connector, what can be joined to it.
fn noted(view: &View<'_>, splice: ThingId) -> Screen {
    let wiring = view.asked();
    let note = wiring.splices.get(&splice);
    let at = note.and_then(|note| note.in_box.get().copied().flatten());
    let over = at.map(|at| box_words(wiring, at)).unwrap_or_default();
    let mut screen = view.screen(&over, &splice_words(view, wiring, splice));
    let members: Vec<Tip> = wiring.ends_in(splice).into_iter().cloned().collect();
    screen.rows.push(headline("ends", &connector_words(wiring, splice), &used_words(view, wiring, splice)));
    for tip in &members {
        let second = super::inside::label_words(wiring, tip);
        let body =
            Body::Strands { title: tip_full(view, wiring, tip), second, strands: vec![strand(view, wiring, tip)] };
        let to = view.page_here("end").with("tip", tip_text(tip));
        let row = Row::new(&format!("end {}", tip_text(tip)), body);
        screen.rows.push(row.edge(edge_of_tip(view, wiring, tip)).leads(view.go(&to)));
    }
    let Some(at) = at else { return screen };
    let layer = view.layer_field();
    let join = |more: &str| view.event(Line::new("join").word(splice).word(more).with_some("layer", layer));
    let free = tips_in(view, wiring, at).into_iter().filter(|tip| is_unplaced(wiring, tip));
    let options: Vec<Pick> = free.map(|tip| Pick::new(&tip_full(view, wiring, &tip), join(&tip_text(&tip)))).collect();
    if !options.is_empty() {
        screen.rows.push(choice("add", &w("splice.add"), options));
    }
    let mut options: Vec<Pick> = empty_terminals(view, wiring, at)
        .into_iter()
        .map(|(name, words)| Pick::new(&words, join(&format!(">{name}"))))
        .collect();
    if is_metal(view, wiring, at) {
        options.push(Pick::new(&w("splice.to_shell"), join(&format!(">{at}~"))));
    }
    if !options.is_empty() {
        screen.rows.push(choice("pigtail", &w("splice.pigtails"), options));
    }
    let known = note.and_then(|note| note.connector.get()).map_or("", String::as_str);
    screen.rows.push(connectors(view, known, members.len(), |kind| {
        let event = Line::new("join").word(splice).with("connector", kind).with_some("layer", layer);
        view.event(event)
    }));
    let set = Line::new("set").word(splice).with("name", "?");
    screen.rows.push(blank("name", &w("splice.own_name"), &splice_words(view, wiring, splice), view.event(set)));
    let part = Pick::new(&w("deed.part"), view.event(Line::new("part").word(splice))).second(&w("deed.part_why"));
    screen.rows.push(deeds(None, vec![part]));
    screen
}
