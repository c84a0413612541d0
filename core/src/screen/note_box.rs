//! Noting a box: one act for its tag, place, construction, volume, gangs and clamps.

use crate::catalogue::{BoxType, box_name};
use crate::refusal::Refusal;
use crate::token::Line;

use super::front::site_name;
use super::parts::{all_boxes, amount, choice, deeds, sentence, w, wf, wiring_of};
use super::row::{Pick, Row, Screen};
use super::setup::{taken_over, typed};
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

/// Choices of construction: the group, then the kinds in it.
pub(super) fn kinds(view: &View<'_>, known: &str, token: impl Fn(&str) -> String) -> Vec<Row> {
    let of_known = view.catalogue.box_type(known).map(group_of);
    let group = view.address.field("group").or(of_known).unwrap_or_default();
    let groups =
        GROUPS.map(|name| Pick::new(&w(&format!("box_group.{name}")), view.here("group", name)).on(name == group));
    let mut rows = vec![choice("group", &w("box.construction"), groups.into())];
    let here = view.catalogue.box_types().filter(|kind| group_of(kind) == group);
    let options: Vec<Pick> = here
        .map(|kind| {
            let second = kind.volume.map(|volume| wf("box.by_table", &[("volume", &volume.to_string())]));
            let second = second.unwrap_or_default();
            Pick::new(&box_name(&kind.id), token(&kind.id)).second(&second).on(kind.id == known)
        })
        .collect();
    if !options.is_empty() {
        rows.push(choice("kind", &w("box.kind"), options));
    }
    rows
}

/// Tags that are free: the next number after the greatest, and `P` while no panel has it.
fn free_tags(view: &View<'_>) -> Vec<String> {
    let tags: Vec<String> = all_boxes(view).into_iter().map(|id| wiring_of(view, id).tag(id)).collect();
    let numbers = tags.iter().filter_map(|tag| tag.strip_prefix('B')?.parse::<u32>().ok());
    let next = numbers.max().unwrap_or(0).saturating_add(1);
    let panel = (!tags.iter().any(|tag| tag == "P")).then(|| "P".to_owned());
    std::iter::once(format!("B{next}")).chain(panel).collect()
}

/// The page `note-box`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("box.new"));
    let get = |field: &str| view.address.field(field).unwrap_or_default();
    let tags = free_tags(view).into_iter().map(|tag| {
        let on = get("tag") == tag;
        Pick::new(&tag, view.here("tag", &tag)).on(on)
    });
    screen.rows.push(choice("tags", &w("box.free_tags"), tags.collect()));
    screen.rows.push(typed(view, "tag", "box.tag"));
    screen.rows.push(typed(view, "location", "box.place"));
    screen.rows.extend(kinds(view, get("kind"), |kind| view.here("kind", kind)));
    let kind = view.catalogue.box_type(get("kind"));
    if kind.is_some_and(|kind| kind.panel) {
        screen.rows.push(systems(get("system"), |system| view.here("system", system)));
    } else if kind.is_some_and(BoxType::has_fill) {
        let label = w(if kind.is_some_and(|kind| kind.volume.is_some()) { "box.volume" } else { "box.volume_marked" });
        screen.rows.push(amount("volume", &label, get("volume"), "in³", view.here("volume", "?")));
        screen.rows.push(numbers(view, "gangs", "box.gangs", 1..=4, |n| view.here("gangs", n)));
        screen.rows.push(numbers(view, "clamps", "box.clamps", 0..=4, |n| view.here("clamps", n)));
    }
    if view.job.is_some() {
        screen.rows.push(layers(view));
    } else {
        screen.rows.push(sentence("no-job", &w("box.no_job")));
    }
    let main = (!get("tag").trim().is_empty()).then(|| {
        let fields = ["tag", "location", "kind", "system", "volume", "gangs", "clamps", "layer"];
        let event = taken_over(view, Line::new("box"), &fields);
        Pick::new(&wf("deed.note_this_box", &[("tag", get("tag"))]), view.event_then(event, &then(view, get("tag"))))
    });
    screen.rows.push(deeds(main, Vec::new()));
    Ok(screen)
}

/// Where noting leads: to the new box, or back to the run that comes from it.
fn then(view: &View<'_>, tag: &str) -> Line {
    let run = view.address.field("run").and_then(|line| line.parse::<Line>().ok());
    match run {
        Some(line) => line.with("from", tag),
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
