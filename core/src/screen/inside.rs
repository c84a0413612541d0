//! The rows of what is in a box: runs, splices, devices, free ends, and what is not known.

use crate::catalogue::{ConnectorForm, PointForm, point_name};
use crate::job::{Happening, Place, Side, Subject, ThingId, Tip, Wiring};
use crate::refusal::Refusal;
use crate::token::path::{tip_text, word_of};
use crate::words::count;

use super::changes::changes;
use super::parts::{
    box_words, connector_words, deeds, device_words, edge_of_thing, edge_of_tip, edge_of_tips, headline, is_unplaced,
    item, label, letter, place_words, run_kind, sentence, splice_words, strand, tip_full, tip_words, tips_in, w, wf,
    wires_of, wiring_of,
};
use super::row::{Body, Edge, Row, Screen, Strand};
use super::state::{cover, moment};
use super::view::View;

/// The page `inside <box>`: everything that is noted of a box, as a list.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let wiring = view.asked();
    let mut screen = view.screen(&box_words(wiring_of(view, at), at), &w("inside.title"));
    screen.tag = wiring_of(view, at).boxes.get(&at).and_then(|note| note.tag.get().cloned());
    if wiring.boxes.contains_key(&at) {
        screen.rows.extend(rows(view, wiring, at));
        screen.rows.push(about_row(view, wiring, at));
    } else {
        screen.rows.push(sentence("not-there", &w("box.not_in_layer")));
    }
    screen.rows.extend(work_rows(view, at));
    screen.rows.push(deeds(None, super::one_box::other_deeds(view, at)));
    Ok(screen)
}

/// Construction and volume, leading to all that is noted of the box itself.
fn about_row(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Row {
    let note = wiring.boxes.get(&at);
    let kind = note.and_then(|note| note.kind.get());
    let title = kind.map_or_else(|| w("box.kind_unknown"), |kind| crate::catalogue::box_name(kind));
    let volume = note.and_then(|note| note.volume.get());
    let second = volume.map(|volume| wf("box.marked", &[("volume", &volume.to_string())]));
    let edge = if kind.is_some() { edge_of_thing(view, wiring, at) } else { Edge::Unknown };
    let row = item("about", &title, &second.unwrap_or_else(|| w("box.volume_unknown")));
    row.edge(edge).leads(view.go(&view.page_here("about").word(at)))
}

/// Rows about working on the box: sources, cover, remarks, history.
fn work_rows(view: &View<'_>, at: ThingId) -> Vec<Row> {
    let mut rows = Vec::new();
    let reach = super::sources::reach(view, at);
    let known = count("screen.sources.known", reach.sources.len(), &[]);
    let second = if reach.unknown.is_empty() {
        known
    } else {
        wf("state_and", &[("state", &known), ("more", &w("sources.some_unknown"))])
    };
    let edge = if reach.unknown.is_empty() && !reach.sources.is_empty() { Edge::Found } else { Edge::Unknown };
    rows.push(item("sources", &w("sources.of_box"), &second).edge(edge).leads(view.go(&view.page("sources").word(at))));
    let (title, edge) = match cover(view, at) {
        Some((true, wall)) => (wf("cover.off_since", &[("when", &moment(view, wall))]), Edge::Found),
        Some((false, wall)) => (wf("cover.on_since", &[("when", &moment(view, wall))]), Edge::Found),
        None => (w("cover.unknown"), Edge::Unknown),
    };
    rows.push(item("cover", &title, "").edge(edge));
    rows.extend(remarks(view, at));
    rows.push(item("history", &w("history.title"), "").leads(view.go(&view.page("history").word(at))));
    rows
}

fn remarks(view: &View<'_>, at: ThingId) -> Vec<Row> {
    let of = view.notes.happened().filter(|happened| happened.of == Subject::Thing(at));
    let mut rows: Vec<Row> = of
        .filter_map(|happened| match &happened.what {
            Happening::Remark(_)
            | Happening::FoundNotOurs(_)
            | Happening::DoNotCover(_)
            | Happening::MayCover(_)
            | Happening::Unfinished(_) => {
                let words = super::said::happening_words(view, view.asked(), &happened.what);
                let row = item(&format!("remark {}", happened.fact), &words, &moment(view, happened.wall));
                Some(row.edge(Edge::Found))
            }
            _ => None,
        })
        .collect();
    if !rows.is_empty() {
        rows.insert(0, headline("remarks", &w("remarks"), ""));
    }
    rows
}

/// Everything in a box.
pub(super) fn rows(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<Row> {
    let mut rows = run_rows(view, wiring, at);
    let splices: Vec<ThingId> =
        wiring.splices_in(at).into_iter().filter(|splice| !wiring.ends_in(*splice).is_empty()).collect();
    if !splices.is_empty() {
        rows.push(headline("splices", &w("splices"), &count("screen.splices_n", splices.len(), &[])));
        rows.extend(splices.into_iter().map(|splice| splice_row(view, wiring, splice)));
    }
    let devices = wiring.devices_in(at);
    if !devices.is_empty() {
        rows.push(headline("devices", &w("devices"), &count("screen.devices_n", devices.len(), &[])));
        rows.extend(devices.into_iter().map(|device| device_row(view, wiring, device)));
    }
    rows.extend(free_rows(view, wiring, at));
    rows
}

/// The runs of a box, and the ends that nobody placed.
pub(super) fn run_rows(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<Row> {
    let runs = wiring.runs_in(at);
    let mut rows = vec![headline("runs", &w("runs"), &count("screen.runs_n", runs.len(), &[]))];
    rows.extend(runs.into_iter().map(|(run, side)| run_row(view, wiring, run, side)));
    rows.extend(unplaced(view, wiring, at));
    rows
}

fn strands_row(key: &str, title: &str, second: &str, strands: Vec<Strand>) -> Row {
    Row::new(key, Body::Strands { title: title.to_owned(), second: second.to_owned(), strands })
}

/// A run: its letter and type, the box it comes from, and where each of its conductors is.
fn run_row(view: &View<'_>, wiring: &Wiring, run: ThingId, side: Side) -> Row {
    let tips: Vec<Tip> = wires_of(view, wiring, run).into_iter().map(|wire| Tip::Wire { run, wire, side }).collect();
    let far = far_words(wiring, run, side);
    let title =
        wf("run_title", &[("letter", &letter(wiring, run, side)), ("kind", &run_kind(wiring, run)), ("far", &far)]);
    let note = wiring.runs.get(&run);
    let enters = note.and_then(|note| note.side(side).enters_at.get());
    let mut parts: Vec<String> = enters.map(|point| w(&format!("enters.{}", word_of(point)))).into_iter().collect();
    parts.extend(length_words(wiring, run));
    parts.extend(tips.iter().map(|tip| {
        let place = place_words(view, wiring, tip);
        wf("end_is", &[("tip", &tip_words(view, wiring, tip)), ("place", &place)])
    }));
    let strands = tips.iter().map(|tip| strand(view, wiring, tip)).collect();
    let is_open = note.is_some_and(|note| note.side(side.other()).in_box.get().copied().flatten().is_none());
    let edge = if is_open { Edge::Unknown } else { edge_of_thing(view, wiring, run) };
    let to = view.page_here("cable").word(format!("{run}/{}", word_of(&side)));
    strands_row(&format!("run {run}"), &title, &parts.join("; "), strands).edge(edge).leads(view.go(&to))
}

/// The box at a run's other side, or that it is not known.
pub(super) fn far_words(wiring: &Wiring, run: ThingId, side: Side) -> String {
    let far = wiring.runs.get(&run).and_then(|note| note.side(side.other()).in_box.get().copied().flatten());
    far.map_or_else(|| w("not_known"), |far| wiring.tag(far))
}

/// A run's length in words.
pub(super) fn length_words(wiring: &Wiring, run: ThingId) -> Option<String> {
    let length = wiring.runs.get(&run)?.length.get()?;
    let unit = if length.unit == crate::job::value::LengthUnit::Feet { "ft" } else { "m" };
    let key = if length.measured { "length" } else { "length_estimated" };
    Some(wf(key, &[("value", &length.value.to_string()), ("unit", unit)]))
}

/// Ends of which nobody has noted where they are: one row that leads to joining them.
fn unplaced(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Row> {
    let tips: Vec<Tip> = tips_in(view, wiring, at).into_iter().filter(|tip| is_unplaced(wiring, tip)).collect();
    if tips.is_empty() {
        return None;
    }
    let strands = tips.iter().map(|tip| strand(view, wiring, tip)).collect();
    let to = view.page_here("splice").with("box", at);
    let title = count("screen.ends_unplaced", tips.len(), &[]);
    Some(strands_row("unplaced", &title, &w("ends_unplaced.do"), strands).edge(Edge::Unknown).leads(view.go(&to)))
}

/// A splice: its connector, how full it is, its members; pigtails with where they go.
pub(super) fn splice_row(view: &View<'_>, wiring: &Wiring, splice: ThingId) -> Row {
    let members: Vec<Tip> = wiring.ends_in(splice).into_iter().cloned().collect();
    let title =
        wf("said_short", &[("what", &splice_words(view, wiring, splice)), ("words", &connector_words(wiring, splice))]);
    let mut parts = vec![used_words(view, wiring, splice)];
    for tip in &members {
        parts.extend(pigtail_goes(view, wiring, tip));
    }
    let strands = members.iter().map(|tip| strand(view, wiring, tip)).collect();
    let edge = edge_of_tips(view, wiring, &members).unwrap_or(Edge::Unknown);
    let to = view.page_here("splice").with("splice", splice);
    strands_row(&format!("splice {splice}"), &title, &parts.join("; "), strands).edge(edge).leads(view.go(&to))
}

/// Where a pigtail's other end goes.
fn pigtail_goes(view: &View<'_>, wiring: &Wiring, tip: &Tip) -> Option<String> {
    let Tip::Wire { run, wire, side } = tip else { return None };
    if !wiring.runs.get(run)?.is_inside() {
        return None;
    }
    let other = Tip::Wire { run: *run, wire: *wire, side: side.other() };
    let place = place_words(view, wiring, &other);
    Some(wf("end_is", &[("tip", &tip_words(view, wiring, tip)), ("place", &place)]))
}

/// How full a splice is: ports used of those there, or the number of ends with what the pack says.
pub(super) fn used_words(view: &View<'_>, wiring: &Wiring, splice: ThingId) -> String {
    let ends = wiring.ends_in(splice);
    let used = ends.len();
    let kind = wiring.splices.get(&splice).and_then(|note| note.connector.get());
    let known = kind.and_then(|kind| view.catalogue.connector(kind));
    if let Some(ports) = known.and_then(|kind| kind.ports) {
        return wf("ports", &[("used", &used.to_string()), ("ports", &ports.to_string())]);
    }
    let words = count("screen.ends_n", used, &[]);
    if known.is_none_or(|kind| kind.form != ConnectorForm::WireConnector) {
        return words;
    }
    let sizes = ends.iter().filter_map(|tip| super::parts::conductor(view, wiring, tip)).map(|wire| wire.size);
    let sizes: std::collections::BTreeSet<String> = sizes.collect();
    let only = sizes.first().filter(|_| sizes.len() == 1);
    let range = only.and_then(|size| wiring.ranges.get(&(kind?.clone(), size.clone())));
    match range {
        Some((least, most)) => {
            let pack = wf("kit.range", &[("least", &least.to_string()), ("most", &most.to_string())]);
            wf("pack", &[("ends", &words), ("pack", &pack)])
        }
        None => wf("pack_unknown", &[("ends", &words)]),
    }
}

/// A device: what is on each of its terminals, and terminals of which nothing is noted.
fn device_row(view: &View<'_>, wiring: &Wiring, device: ThingId) -> Row {
    let note = wiring.devices.get(&device);
    let kind = note.and_then(|note| note.kind.get()).and_then(|kind| view.catalogue.device(kind));
    let (mut strands, mut parts, mut empty, mut tips) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    parts.extend(note.and_then(|note| note.gang.get()).map(|gang| wf("gang", &[("gang", &gang.to_string())])));
    let points = kind.into_iter().flat_map(|kind| &kind.points);
    for point in points.filter(|point| point.form == PointForm::Terminal) {
        let on: Vec<Tip> = wiring.ends_on(device, &point.id).into_iter().cloned().collect();
        if on.is_empty() {
            empty.push(point_name(&point.id));
        }
        for tip in on {
            let words = tip_words(view, wiring, &tip);
            parts.push(wf("on_terminal", &[("terminal", &point_name(&point.id)), ("tip", &words)]));
            strands.push(strand(view, wiring, &tip));
            tips.push(tip);
        }
    }
    if !empty.is_empty() {
        parts.push(wf("nothing_on", &[("terminals", &empty.join(", "))]));
    }
    let name = device_words(view, wiring, device);
    let kind_words = kind.map(|kind| view.catalogue.device_name(&kind.id));
    let title = match kind_words.filter(|kind| *kind != name) {
        Some(kind) => wf("said_short", &[("what", &name), ("words", &kind)]),
        None => name,
    };
    let edge = edge_of_tips(view, wiring, &tips)
        .map_or(edge_of_thing(view, wiring, device), |edge| edge.min(edge_of_thing(view, wiring, device)));
    let to = view.page_here("one-device").with("device", device);
    strands_row(&format!("device {device}"), &title, &parts.join("; "), strands).edge(edge).leads(view.go(&to))
}

/// Ends that are capped, loose, absent, pass through, or sit somewhere on a device or on the metal of the box.
fn free_rows(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<Row> {
    let tips = tips_in(view, wiring, at).into_iter().filter(|tip| match wiring.place(tip) {
        None => wiring.tips.get(tip).is_some_and(|note| note.place.is_twice()),
        Some(Place::Splice(_) | Place::Terminal { .. }) => false,
        Some(_) => true,
    });
    let mut rows: Vec<Row> = tips
        .map(|tip| {
            let to = view.page_here("end").with("tip", tip_text(&tip));
            let row = strands_row(
                &format!("end {}", tip_text(&tip)),
                &tip_full(view, wiring, &tip),
                &place_words(view, wiring, &tip),
                vec![strand(view, wiring, &tip)],
            );
            row.edge(edge_of_tip(view, wiring, &tip)).leads(view.go(&to))
        })
        .collect();
    if !rows.is_empty() {
        rows.insert(0, headline("free", &w("free_ends"), ""));
    }
    rows
}

/// The page `changes <box>`: what differs from as found to as planned, and from as planned to as left.
pub(super) fn show_changes(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let mut screen = view.screen(&box_words(wiring_of(view, at), at), &w("changes.title"));
    let pairs =
        [("planned", view.found(), view.planned(), Edge::Planned), ("left", view.planned(), view.left(), Edge::Left)];
    for (name, from, to, edge) in pairs {
        // Nothing noted as left shows the plan undone, not what was changed.
        if name == "left" && super::state::last_noted(view, at, view.left().layer).is_none() {
            continue;
        }
        let listed = changes(view, from, to, at);
        screen.rows.push(headline(name, &w(&format!("changes.{name}")), &count("screen.changes", listed.len(), &[])));
        let rows = listed.iter().enumerate();
        screen.rows.extend(rows.map(|(n, words)| item(&format!("{name} {n}"), words, "").edge(edge)));
    }
    screen.rows.push(deeds(None, Vec::new()));
    Ok(screen)
}

/// A label of an end for a second line: as written, or that nothing is noted.
pub(super) fn label_words(wiring: &Wiring, tip: &Tip) -> String {
    match wiring.tips.get(tip).map(|note| &note.label) {
        Some(note) if note.is_twice() => w("noted_twice"),
        Some(note) if note.get() == Some(&None) => w("nothing_written"),
        _ => label(wiring, tip).unwrap_or_else(|| w("label_unknown")),
    }
}
