//! Noting a box: one act for its tag, place, construction, volume, gangs and clamps.

use std::collections::BTreeSet;

use crate::catalogue::{BoxType, box_name};
use crate::refusal::Refusal;
use crate::token::Line;

use super::front::site_name;
use super::parts::{all_boxes, amount, choice, deeds, sentence, w, wf, wiring_of};
use super::row::{Pick, Row, Screen};
use super::setup::taken_over;
use super::view::View;

/// Groups of construction, as a person looks for them.
const GROUPS: [&str; 6] = ["nonmetallic", "metal_device", "metal_junction", "metal_other", "none", "panel"];

/// The group that a kind of box is listed in.
pub(super) fn group_of(kind: &BoxType) -> &'static str {
    if kind.panel {
        "panel"
    } else if kind.none || kind.compartment {
        "none"
    } else if !kind.metal {
        "nonmetallic"
    } else if kind.volume.is_none() {
        "metal_other"
    } else if kind.gangs.is_some() {
        "metal_device"
    } else {
        "metal_junction"
    }
}

/// Constructions that a day's work meets most; common practice without a source.
const EVERYDAY: [&str; 7] = [
    "nonmetallic-1g",
    "nonmetallic-2g",
    "nonmetallic-round",
    "nonmetallic-old-work-1g",
    "octagon-4-1.5",
    "square-4-1.5",
    "device-3x2-2.75",
];

/// Choices of construction: those met most and those of this site in one touch, every other one by its group.
/// `token` gets the kind that is picked.
pub(super) fn kinds(view: &View<'_>, known: &str, token: impl Fn(&str) -> String) -> Vec<Row> {
    let mut first: Vec<&str> = EVERYDAY.to_vec();
    // A site begins with its panel.
    let boxes = &view.planned().boxes;
    if !boxes.keys().any(|id| super::order::is_panel(view, view.planned(), *id)) {
        first.insert(0, "panel");
    }
    let here = boxes.values().filter_map(|note| note.kind.get()).map(String::as_str);
    for kind in here.chain(std::iter::once(known)) {
        let of_site = view.catalogue.box_type(kind).is_some_and(|kind| !kind.panel) || kind == known;
        if of_site && !kind.is_empty() && !first.contains(&kind) && first.len() < 12 {
            first.push(kind);
        }
    }
    let pick = |id: &str| {
        let volume = view.catalogue.box_type(id).and_then(|kind| kind.volume);
        let second = volume.map(|volume| wf("box.by_table", &[("volume", &volume.to_string())]));
        Pick::new(&box_name(id), token(id)).second(&second.unwrap_or_default()).on(id == known)
    };
    let mut options: Vec<Pick> = first.into_iter().map(pick).collect();
    let group = view.address.field("group");
    let opened = view.catalogue.box_type(known).map_or("nonmetallic", group_of);
    options.push(Pick::new(&w("other"), view.here("group", if group.is_some() { "" } else { opened })));
    let mut rows = vec![choice("kind", &w("box.construction"), options)];
    if let Some(group) = group {
        let groups =
            GROUPS.map(|name| Pick::new(&w(&format!("box_group.{name}")), view.here("group", name)).on(name == group));
        rows.push(choice("group", &w("box.group"), groups.into()));
        let here = view.catalogue.box_types().filter(|kind| group_of(kind) == group);
        rows.push(choice("all-kinds", &w("box.kind"), here.map(|kind| pick(&kind.id)).collect()));
    }
    rows
}

/// Tags that are free: the next number after the greatest, numbers that were left out, and `P` while no panel has it.
fn free_tags(view: &View<'_>) -> Vec<String> {
    const LEFT_OUT: usize = 3;
    let tags: Vec<String> = all_boxes(view).into_iter().map(|id| wiring_of(view, id).tag(id)).collect();
    let numbers: BTreeSet<u32> =
        tags.iter().filter_map(|tag| tag.strip_prefix('B')?.parse::<u32>().ok()).filter(|n| *n < 10_000).collect();
    let last = numbers.last().copied().unwrap_or(0);
    let left_out = (1..last).filter(|n| !numbers.contains(n)).take(LEFT_OUT);
    let panel = (!tags.iter().any(|tag| tag == "P")).then(|| "P".to_owned());
    std::iter::once(last + 1).chain(left_out).map(|n| format!("B{n}")).chain(panel).collect()
}

/// What a box's tag is: the one in the address, else the first that is free.
fn tag(view: &View<'_>) -> String {
    let typed = view.address.field("tag").map(str::trim).filter(|tag| !tag.is_empty());
    typed.map(str::to_owned).or_else(|| free_tags(view).into_iter().next()).unwrap_or_default()
}

/// The page `note-box`: everything but the tag can be left for later, and a free tag stands there already.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("box.new"));
    let get = |field: &str| view.address.field(field).unwrap_or_default();
    screen.rows.extend(reached(view));
    let tag = tag(view);
    let mut tags = free_tags(view);
    if !tags.contains(&tag) {
        tags.insert(0, tag.clone());
    }
    let tags = tags.iter().map(|free| Pick::new(free, view.here("tag", free)).on(*free == tag));
    screen.rows.push(choice("tags", &w("box.free_tags"), tags.collect()));
    screen.rows.extend(super::places::rows(view));
    screen.rows.extend(kinds(view, get("kind"), |kind| construction(view, kind)));
    let kind = view.catalogue.box_type(get("kind"));
    if kind.is_some_and(|kind| kind.panel) {
        screen.rows.push(systems(get("system"), |system| view.here("system", system)));
    } else if kind.is_some_and(BoxType::has_fill) {
        screen.rows.extend(volumes(view, get("kind")));
        // What holds devices has gangs, what holds a light has a stud.
        let gangs = kind.is_some_and(|kind| kind.gangs.is_some() || kind.per_gang);
        let (field, range) = if gangs { ("gangs", 1..=4) } else { ("studs", 0..=2) };
        screen.rows.push(numbers(view, field, &format!("box.{field}"), range, |n| view.here(field, n)));
        screen.rows.push(numbers(view, "clamps", "box.clamps", 0..=4, |n| view.here("clamps", n)));
    }
    screen.rows.push(typed_tag(view, &tag));
    if view.job.is_some() {
        screen.rows.push(layers(view));
    } else {
        screen.rows.push(sentence("no-job", &w("box.no_job")));
    }
    let fields = ["kind", "system", "volume", "gangs", "clamps", "studs", "layer", "joins"];
    let event = taken_over(view, Line::new("box").with("tag", &tag), &fields);
    let event = event.with_some("location", super::places::chosen(view));
    let main = Pick::new(&wf("deed.note_this_box", &[("tag", &tag)]), view.event_then(event, &then(view, &tag)));
    screen.rows.push(deeds(Some(main), same_again(view, &tag).into_iter().collect()));
    Ok(screen)
}

/// An own tag is typed; the free ones are one touch.
fn typed_tag(view: &View<'_>, tag: &str) -> Row {
    super::parts::blank("tag", &w("box.own_tag"), tag, view.here("tag", "?"))
}

/// Picking a construction says its gangs too, where the kind has them; a panel's usual supply stands there already.
fn construction(view: &View<'_>, kind: &str) -> String {
    let mut to = view.address.clone().with("kind", kind);
    for field in ["gangs", "studs", "volume", "system"] {
        to.fields.remove(field);
    }
    let known = view.catalogue.box_type(kind);
    let gangs = known.and_then(|kind| kind.gangs.filter(|_| !kind.per_gang));
    if known.is_some_and(|kind| kind.panel) {
        to = to.with("tag", "P");
    }
    view.go(&to.with_some("gangs", gangs))
}

/// Volumes marked on boxes of this kind at this site, in one touch; another one is typed.
fn volumes(view: &View<'_>, kind: &str) -> Vec<Row> {
    let known = view.address.field("volume").unwrap_or_default();
    let by_table = view.catalogue.box_type(kind).is_some_and(|kind| kind.volume.is_some());
    let label = w(if by_table { "box.volume" } else { "box.volume_marked" });
    let alike = view.planned().boxes.values().filter(|note| note.kind.get().is_some_and(|of| of == kind));
    let marked: BTreeSet<String> = alike.filter_map(|note| note.volume.get()).map(ToString::to_string).collect();
    let options = marked.iter().map(|volume| Pick::new(volume, view.here("volume", volume)).on(volume == known));
    let quick = choice("volumes", &w("box.volumes"), options.collect());
    let typed = amount("volume", &label, known, "in³", view.here("volume", "?"));
    if marked.is_empty() { vec![typed] } else { vec![quick, typed] }
}

/// Runs that lead nobody knows where: the new box may be where one of them leads. One touch, and the run is known
/// from both sides when the box is noted.
fn reached(view: &View<'_>) -> Option<Row> {
    let open = super::run::open_sides(view);
    if open.is_empty() || view.address.field("run").is_some() {
        return None;
    }
    let chosen = view.address.field("joins").unwrap_or_default();
    let mut options: Vec<Pick> = open
        .into_iter()
        .map(|(run, side, from)| {
            let name = format!("{run}/{}", crate::token::path::word_of(&side));
            let wiring = view.asked();
            let second = super::run::its_run(wiring, run, side.other());
            Pick::new(&wiring.tag(from), view.here("joins", &name)).second(&second).on(name == chosen)
        })
        .collect();
    options.push(Pick::new(&w("box.reached_by_none"), view.here("joins", "")).on(chosen.is_empty()));
    Some(choice("reached", &w("box.reached"), options))
}

/// One more box of the construction that was noted last, in one touch.
fn same_again(view: &View<'_>, tag: &str) -> Option<Pick> {
    let boxes = &view.planned().boxes;
    let plain = |note: &&crate::job::BoxNote| {
        note.kind.get().and_then(|kind| view.catalogue.box_type(kind)).is_some_and(|kind| !kind.panel)
    };
    let last = boxes.values().rev().find(plain)?;
    let kind = last.kind.get()?;
    let event = Line::new("box").with("tag", tag).with("kind", kind).with_some("volume", last.volume.get());
    let event = event.with_some("gangs", last.gangs.get()).with_some("clamps", last.clamps.get());
    let event = taken_over(view, event, &["layer", "joins"]).with_some("location", super::places::chosen(view));
    let words = wf("deed.box_again", &[("tag", &last.tag.or(String::new()))]);
    Some(Pick::new(&words, view.event_then(event, &then(view, tag))).second(&box_name(kind)))
}

/// Where noting leads: to the new box, or back to the run that comes from it.
fn then(view: &View<'_>, tag: &str) -> Line {
    let run = view.address.field("run").and_then(|line| line.parse::<Line>().ok());
    match run {
        Some(mut line) => {
            line.fields.remove("joins");
            line.fields.remove("feed");
            line.with("from", tag)
        }
        None => view.page_here("box").word(tag),
    }
}

/// A choice of a small number that stands in the address under `field`.
pub(super) fn numbers(
    view: &View<'_>,
    field: &str,
    key: &str,
    range: std::ops::RangeInclusive<u8>,
    token: impl Fn(&str) -> String,
) -> Row {
    let known = view.address.field(field).unwrap_or_default().to_owned();
    choice(field, &w(key), picks(range, &known, token))
}

/// Small numbers to pick.
pub(super) fn picks(range: std::ops::RangeInclusive<u8>, known: &str, token: impl Fn(&str) -> String) -> Vec<Pick> {
    range.map(|n| n.to_string()).map(|n| Pick::new(&n, token(&n)).on(n == known)).collect()
}

/// What feeds a panel.
pub(super) fn systems(known: &str, token: impl Fn(&str) -> String) -> Row {
    let options = ["split_phase", "wye208", "single230"]
        .map(|system| Pick::new(&w(&format!("system.{system}")), token(system)).on(system == known));
    choice("system", &w("box.system"), options.into())
}

/// Is it there, or intended?
pub(super) fn layers(view: &View<'_>) -> Row {
    let asked = view.asked_word();
    let options = ["found", "planned", "left"]
        .map(|layer| Pick::new(&w(&format!("layer.{layer}")), view.here("layer", layer)).on(layer == asked));
    choice("layer", &w("layer"), options.into())
}
