//! Noting a device, and one that is noted: its terminals with what is on them, its loads and links.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::{DeviceGroup, DeviceType, Load, PointForm, link_name, load_name, point_name};
use crate::job::{LoadPoint, ThingId, Tip, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::{load_text, tip_text};
use crate::words::say;

use super::note_box::picks;
use super::order::is_panel;
use super::parts::{
    amount, blank, box_words, choice, deeds, device_words, edge_of_tip, edge_of_tips, headline, is_unplaced, item,
    place_words, sentence, splice_words, strand, tip_full, tips_in, valued, w, wf, wiring_of,
};
use super::row::{Body, Edge, Pick, Row, Screen, Strand};
use super::setup::{taken_over, typed};
use super::view::View;

/// Kinds that a day's work notes most; common practice without a source.
const EVERYDAY: [&str; 7] = [
    "switch-3way",
    "switch-1p",
    "receptacle-15-duplex",
    "luminaire",
    "receptacle-gfci-15",
    "switch-receptacle-combo",
    "luminaire-led",
];
/// What is mostly left plugged in.
const PLUGGED: [&str; 2] = ["plug-appliance", "plug-lamp"];
/// The same in a panel.
const BREAKERS: [&str; 5] = ["breaker-1p-15", "breaker-1p-20", "breaker-2p-20", "breaker-2p-30", "breaker-1p-afci"];
const GROUPS: [(&str, DeviceGroup); 9] = [
    ("switch", DeviceGroup::Switch),
    ("receptacle", DeviceGroup::Receptacle),
    ("combination", DeviceGroup::Combination),
    ("luminaire", DeviceGroup::Luminaire),
    ("control", DeviceGroup::Control),
    ("protective", DeviceGroup::Protective),
    ("load", DeviceGroup::Load),
    ("plug_in", DeviceGroup::PlugIn),
    ("overcurrent", DeviceGroup::Overcurrent),
];

fn get<'t>(view: &'t View<'_>, field: &str) -> &'t str {
    view.address.field(field).unwrap_or_default()
}

/// The page `device box=<box> kind=… gang=…`: the kinds that are noted most stand first, every other one by its group.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let wiring = wiring_of(view, at);
    let panel = is_panel(view, wiring, at);
    let mut screen = view.screen(&box_words(wiring, at), &w("device.new"));
    screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
    let outlet = !panel && !outlets(view, wiring, at).is_empty();
    screen.rows.extend(kinds(view, panel, outlet));
    let kind = view.catalogue.device(get(view, "kind"));
    if let Some(kind) = kind {
        screen.rows.extend(details(view, wiring, at, kind, panel));
    }
    let back = view.address.field("back").and_then(|line| line.parse::<Line>().ok());
    let then = back.unwrap_or_else(|| view.page_here("box").word(at));
    let main = kind.map(|kind| act(view, at, kind, &then));
    let more = kind.filter(|kind| panel || later_gang(view, wiring, at, kind)).map(|kind| {
        let next = view.page_here("device").with("box", at).with_some("back", view.address.field("back"));
        Pick { text: w("deed.and_one_more"), ..act(view, at, kind, &next) }
    });
    screen.rows.push(deeds(main, more.into_iter().collect()));
    Ok(screen)
}

/// The trade's everyday kinds, then what this site has beside them, then all others by group. The everyday ones keep
/// their places from one screen to the next, because a thumb learns them.
fn kinds(view: &View<'_>, panel: bool, outlet: bool) -> Vec<Row> {
    let everyday: &[&str] = if panel { &BREAKERS } else { &EVERYDAY };
    let mut first: Vec<&str> = everyday.to_vec();
    if outlet {
        first.extend(PLUGGED);
    }
    let is_breaker = |kind: &DeviceType| kind.group == DeviceGroup::Overcurrent;
    let used = view.planned().devices.values().filter_map(|note| view.catalogue.device(note.kind.get()?));
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for kind in used.filter(|kind| is_breaker(kind) == panel && !first.contains(&kind.id.as_str())) {
        *counts.entry(&kind.id).or_default() += 1;
    }
    let mut used: Vec<(&str, usize)> = counts.into_iter().collect();
    used.sort_by_key(|(id, n)| (std::cmp::Reverse(*n), *id));
    first.extend(used.into_iter().map(|(id, _)| id).take(4));
    let chosen = get(view, "kind").to_owned();
    if view.catalogue.device(&chosen).is_some() && !first.contains(&chosen.as_str()) {
        first.push(&chosen);
    }
    let pick = |id: &str| Pick::new(&view.catalogue.device_name(id), view.here("kind", id)).on(*id == chosen);
    let mut options: Vec<Pick> = first.into_iter().map(pick).collect();
    let group = view.address.field("group");
    let opened = if panel { "overcurrent" } else { "switch" };
    options.push(Pick::new(&w("other"), view.here("group", if group.is_some() { "" } else { opened })));
    let mut rows = vec![choice("kind", &w("device.kind"), options)];
    let Some(group) = group else { return rows };
    let options =
        GROUPS.map(|(name, _)| Pick::new(&w(&format!("group.{name}")), view.here("group", name)).on(name == group));
    rows.push(choice("group", &w("device.group"), options.into()));
    let wanted = GROUPS.iter().find(|(name, _)| *name == group).map(|(_, wanted)| *wanted);
    let of_group = view.catalogue.devices().filter(|kind| Some(kind.group) == wanted);
    rows.push(choice("all-kinds", &w("device.all_kinds"), of_group.map(|kind| pick(&kind.id)).collect()));
    rows
}

/// Gangs of a box, where they are noted.
fn gangs_of(wiring: &Wiring, at: ThingId) -> u8 {
    wiring.boxes.get(&at).and_then(|note| note.gangs.get().copied()).unwrap_or(0)
}

/// Gangs in which no device of the asked layer sits, left to right.
fn free_gangs(wiring: &Wiring, at: ThingId) -> Vec<u8> {
    let taken: BTreeSet<u8> = wiring
        .devices_in(at)
        .into_iter()
        .filter_map(|id| wiring.devices.get(&id).and_then(|note| note.gang.get().copied()))
        .collect();
    (1..=gangs_of(wiring, at)).filter(|gang| !taken.contains(gang)).collect()
}

/// The gang that a device goes into: the one in the address, else the first free one. What has no yoke has none.
fn gang(view: &View<'_>, wiring: &Wiring, at: ThingId, kind: &DeviceType) -> Option<String> {
    let first = || free_gangs(wiring, at).first().map(ToString::to_string);
    let chosen = view.address.field("gang").map(str::to_owned).filter(|gang| !gang.is_empty());
    if kind.yokes == 0 { None } else { chosen.or_else(first) }
}

/// Is there a gang for one more device after this one?
fn later_gang(view: &View<'_>, wiring: &Wiring, at: ThingId, kind: &DeviceType) -> bool {
    let mine = gang(view, wiring, at, kind);
    free_gangs(wiring, at).iter().any(|free| Some(free.to_string()) != mine)
}

/// One more device like the box's last, in the next free gang, in one touch.
pub(super) fn same_again(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Pick> {
    let last = wiring.devices_in(at).into_iter().max()?;
    let kind = view.catalogue.device(wiring.devices.get(&last)?.kind.get()?)?;
    let gang = free_gangs(wiring, at).into_iter().next().filter(|_| kind.yokes > 0)?.to_string();
    let words = view.catalogue.device_name(&kind.id);
    let event = Line::new("device").word(format!("{at}:{}", free_name(view, at, &words))).with("kind", &kind.id);
    let event = event.with("gang", &gang).with_some("layer", view.layer_field());
    let text = wf("deed.device_again", &[("device", &words)]);
    Some(Pick::new(&text, view.event(event)).second(&wf("gang", &[("gang", &gang)])))
}

/// What else is asked of a kind, and the terminals that it brings.
fn details(view: &View<'_>, wiring: &Wiring, at: ThingId, kind: &DeviceType, panel: bool) -> Vec<Row> {
    let mut rows = Vec::new();
    if panel {
        rows.push(typed(view, "number", "device.number"));
        let options = ["a", "b", "c"]
            .map(|leg| Pick::new(&say(&format!("bus.{leg}"), &[]), view.here("leg", leg)).on(leg == get(view, "leg")));
        rows.push(choice("leg", &w("device.leg"), options.into()));
        rows.push(typed(view, "directory", "device.directory"));
    } else {
        let gangs = gangs_of(wiring, at);
        if gangs > 1 && kind.yokes > 0 {
            let known = gang(view, wiring, at, kind).unwrap_or_default();
            let options = picks(1..=gangs, &known, |gang| view.here("gang", gang));
            rows.push(choice("gang", &w("device.gang"), options));
        }
        rows.push(typed(view, "name", "device.name"));
        if let Some(load) = own_load(kind) {
            rows.push(amount("watts", &load_name(&load.id), get(view, "watts"), "W", view.here("watts", "?")));
        }
    }
    if kind.group == DeviceGroup::PlugIn {
        let options = outlets(view, wiring, at).into_iter().map(|load| {
            let name = load_text(&load);
            let on = name == get(view, "into");
            Pick::new(&super::said::load_words(view, wiring, &load), view.here("into", &name)).on(on)
        });
        rows.push(choice("into", &w("device.into"), options.collect()));
    }
    let strands = kind.points.iter().map(|point| {
        let colour = point
            .colour
            .map_or_else(|| metal_role(point.metalwork).to_owned(), |colour| crate::token::path::word_of(&colour));
        Strand { colour, text: point_name(&point.id), tape: false }
    });
    let title = crate::words::count("screen.device.brings", kind.points.len(), &[]);
    let body = Body::Strands { title, second: view.catalogue.device_name(&kind.id), strands: strands.collect() };
    rows.push(Row::new("brings", body).edge(if view.asked_word() == "planned" { Edge::Planned } else { Edge::Found }));
    rows
}

/// What draws power in a device of this kind, where it has one such thing.
fn own_load(kind: &DeviceType) -> Option<&Load> {
    let mut own = kind.loads.iter().filter(|load| !load.outlet && !load.auxiliary);
    own.next().filter(|_| own.next().is_none())
}

/// The palette's role of a screw.
fn metal_role(metal: Option<crate::catalogue::Metalwork>) -> &'static str {
    use crate::catalogue::Metalwork;
    match metal {
        Some(Metalwork::Brass) => "brass",
        Some(Metalwork::Green) => "green_screw",
        Some(Metalwork::Dark) => "black_screw",
        Some(Metalwork::Silver | Metalwork::Plain) | None => "silver",
    }
}

/// Outlets in a box that something can be plugged into.
fn outlets(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<LoadPoint> {
    let devices = wiring.devices_in(at).into_iter();
    devices
        .flat_map(|device| {
            let kind = wiring.devices.get(&device).and_then(|note| note.kind.get());
            let loads = kind.and_then(|kind| view.catalogue.device(kind)).into_iter().flat_map(|kind| &kind.loads);
            loads.filter(|load| load.outlet).map(move |load| LoadPoint { device, load: load.id.clone() })
        })
        .collect()
}

/// A name that no device of the box has yet.
fn free_name(view: &View<'_>, at: ThingId, wanted: &str) -> String {
    let layers = [view.found(), view.planned(), view.left()];
    let taken: BTreeSet<String> = layers
        .iter()
        .flat_map(|wiring| {
            wiring.devices_in(at).into_iter().filter_map(|id| wiring.devices.get(&id)?.name.get().cloned())
        })
        .collect();
    let numbered = (2..100).map(|n| format!("{wanted} {n}"));
    std::iter::once(wanted.to_owned()).chain(numbered).find(|name| !taken.contains(name)).unwrap_or_default()
}

/// The act; a name, a number, a gang, a leg may all be left unsaid.
fn act(view: &View<'_>, at: ThingId, kind: &DeviceType, then: &Line) -> Pick {
    let words = view.catalogue.device_name(&kind.id);
    let panel = is_panel(view, wiring_of(view, at), at);
    let own = if panel { get(view, "number") } else { get(view, "name") };
    let name = free_name(view, at, if own.trim().is_empty() { &words } else { own.trim() });
    let event = Line::new("device").word(format!("{at}:{name}")).with("kind", &kind.id);
    let event = taken_over(view, event, &["number", "leg", "directory", "into"]);
    let event = event.with_some("gang", gang(view, wiring_of(view, at), at, kind));
    let watts = Some(get(view, "watts").trim()).filter(|watts| !watts.is_empty());
    let watts = own_load(kind).zip(watts).map(|(load, watts)| format!("{} {watts}", load.id));
    let event = event.with_some("watts", watts).with_some("layer", view.layer_field());
    Pick::new(&wf("deed.note_device", &[("device", &words)]), view.event_then(event, then))
}

/// The page `one-device device=<device>`, or for one of its terminals `… terminal=<terminal>`.
pub(super) fn show_one(view: &View<'_>) -> Result<Screen, Refusal> {
    let device = view.names().device(get(view, "device"))?;
    let wiring = view.asked();
    let note = wiring.devices.get(&device);
    let at = note.and_then(|note| note.in_box.get().copied().flatten());
    let over = at.map(|at| box_words(wiring, at)).unwrap_or_default();
    let mut screen = view.screen(&over, &device_words(view, wiring, device));
    let kind = note.and_then(|note| note.kind.get()).and_then(|kind| view.catalogue.device(kind));
    let (Some(kind), Some(at)) = (kind, at) else {
        screen.rows.push(sentence("unknown", &w("device.not_here")).edge(Edge::Unknown));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    };
    if let Some(terminal) = view.address.field("terminal").and_then(|id| kind.point(id)) {
        screen.rows.extend(landing_rows(view, wiring, at, device, &terminal.id));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    }
    screen.rows.push(headline("terminals", &w("device.terminals"), &view.catalogue.device_name(&kind.id)));
    screen.rows.extend(point_rows(view, wiring, device, kind));
    screen.rows.extend(setting_rows(view, wiring, device, kind));
    let remove = Line::new("remove").word(device).with_some("layer", view.layer_field());
    let gone = Pick::new(&w("deed.device_gone"), view.event_then(remove, &view.page_here("box").word(at)));
    screen.rows.push(deeds(None, vec![gone]));
    Ok(screen)
}

/// A row for each terminal and lead with what is on it.
fn point_rows(view: &View<'_>, wiring: &Wiring, device: ThingId, kind: &DeviceType) -> Vec<Row> {
    let mut rows = Vec::new();
    for point in &kind.points {
        let key = format!("point {}", point.id);
        let metal = point.metalwork.map(|metal| w(&format!("metal.{}", format!("{metal:?}").to_lowercase())));
        if point.form == PointForm::Lead {
            let tip = Tip::Lead { device, lead: point.id.clone() };
            let to = view.page_here("end").with("tip", tip_text(&tip));
            let row = valued(&key, &point_name(&point.id), &w("device.lead"), &place_words(view, wiring, &tip));
            rows.push(row.edge(edge_of_tip(view, wiring, &tip)).leads(view.go(&to)));
        } else if point.form == PointForm::Terminal {
            let on: Vec<Tip> = wiring.ends_on(device, &point.id).into_iter().cloned().collect();
            let words: Vec<String> = on.iter().map(|tip| tip_full(view, wiring, tip)).collect();
            let value = if words.is_empty() { w("nothing_noted") } else { words.join(", ") };
            let row = valued(&key, &point_name(&point.id), &metal.unwrap_or_default(), &value);
            let to = view.page_here("one-device").with("device", device).with("terminal", &point.id);
            rows.push(row.edge(edge_of_tips(view, wiring, &on).unwrap_or(Edge::Unknown)).leads(view.go(&to)));
        }
    }
    rows
}

/// What is on one terminal, and what can be noted there: an end, or a pigtail from a splice.
fn landing_rows(view: &View<'_>, wiring: &Wiring, at: ThingId, device: ThingId, terminal: &str) -> Vec<Row> {
    let name = format!("{device}.{terminal}");
    let mut rows = vec![headline("terminal", &point_name(terminal), "")];
    for tip in wiring.ends_on(device, terminal) {
        let body = Body::Strands {
            title: tip_full(view, wiring, tip),
            second: place_words(view, wiring, tip),
            strands: vec![strand(view, wiring, tip)],
        };
        let to = view.page_here("end").with("tip", tip_text(tip));
        let row = Row::new(&format!("end {}", tip_text(tip)), body);
        rows.push(row.edge(edge_of_tip(view, wiring, tip)).leads(view.go(&to)));
    }
    let back = view.page_here("one-device").with("device", device);
    let layer = view.layer_field();
    let ends = tips_in(view, wiring, at).into_iter().filter(|tip| matches!(tip, Tip::Wire { .. }));
    let (free, placed): (Vec<Tip>, Vec<Tip>) = ends.partition(|tip| is_unplaced(wiring, tip));
    let shown = if get(view, "more").is_empty() { free } else { free.into_iter().chain(placed).collect() };
    let mut options: Vec<Pick> = shown
        .into_iter()
        .map(|tip| {
            let event = Line::new("land").word(tip_text(&tip)).word(&name).with_some("layer", layer);
            let second = place_words(view, wiring, &tip);
            Pick::new(&tip_full(view, wiring, &tip), view.event_then(event, &back)).second(&second)
        })
        .collect();
    if get(view, "more").is_empty() {
        options.push(Pick::new(&w("device.other_end"), view.here("more", "yes")));
    }
    rows.push(choice("land", &w("device.which_end"), options));
    let splices = wiring.splices_in(at).into_iter().filter(|splice| !wiring.ends_in(*splice).is_empty());
    let options: Vec<Pick> = splices
        .map(|splice| {
            let event = Line::new("join").word(splice).word(format!(">{name}")).with_some("layer", layer);
            Pick::new(&splice_words(view, wiring, splice), view.event_then(event, &back))
        })
        .collect();
    if !options.is_empty() {
        rows.push(choice("pigtail", &w("device.pigtail_from"), options));
    }
    rows
}

/// Links, watts, load points with what is asked of them, name and gang.
fn setting_rows(view: &View<'_>, wiring: &Wiring, device: ThingId, kind: &DeviceType) -> Vec<Row> {
    let Some(note) = wiring.devices.get(&device) else { return Vec::new() };
    let set = |field: &str, value: &str| {
        view.event(Line::new("set").word(device).with(field, value).with_some("layer", view.layer_field()))
    };
    let mut rows = Vec::new();
    for (link, _, _) in &kind.links {
        let known = note.links.get(link).and_then(|note| note.get().copied());
        let options = [("link_whole", "whole", true), ("link_broken", "broken", false)]
            .map(|(key, word, is)| Pick::new(&w(key), set("link", &format!("{link} {word}"))).on(known == Some(is)));
        rows.push(choice(&format!("link {link}"), &link_name(link), options.into()));
    }
    for load in kind.loads.iter().filter(|load| !load.outlet && !load.auxiliary) {
        let known = note.watts.get(&load.id).and_then(|note| note.get());
        let token = set("watts", &format!("{} ?", load.id));
        let value = known.map(ToString::to_string).unwrap_or_default();
        rows.push(amount(&format!("watts {}", load.id), &load_name(&load.id), &value, "W", token));
    }
    for load in kind.loads.iter().filter(|load| !load.auxiliary).filter(|_| view.job.is_some()) {
        let point = LoadPoint { device, load: load.id.clone() };
        let rule = wiring.promises.get(&point).cloned().unwrap_or(crate::job::Promised::AsFound);
        let words = super::said::promise_words(view, wiring, &rule);
        let title = wf("promise.of", &[("load", &load_name(&load.id))]);
        let to = view.page_here("promise").with("load", load_text(&point));
        rows.push(item(&format!("promise {}", load.id), &title, &words).edge(Edge::Planned).leads(view.go(&to)));
    }
    rows.push(blank("name", &w("device.name"), &note.name.or(String::new()), set("name", "?")));
    rows
}
