//! Hazards, ends of the map and paths, in words.

use std::collections::BTreeSet;

use crate::circuit::{Blind, Boundary, Hazard, HazardKind, Part, Point, Step, Unknown, Why};
use crate::job::{Handle, LoadPoint, Spot, ThingId, Tip};
use crate::name::Called;
use crate::words::say;

use super::HazardWords;

/// What is wrong, where and by which path. `place` and the path name terminals and splices, because the person must
/// find it with a screwdriver.
pub fn hazard_words(called: &Called<'_>, hazard: &Hazard) -> HazardWords {
    let title = title(called, hazard);
    let mut parts = Vec::new();
    if let Some(place) = hazard.place {
        parts.push(say("tell.hazard.place", &[("box", &called.r#box(place))]));
    }
    if hazard.always {
        parts.push(say("tell.hazard.always", &[]));
    } else if !hazard.at.is_empty() {
        parts.push(say("tell.hazard.at", &[("positions", &called.positions(&hazard.at))]));
    }
    let path = path_words(called, &hazard.path);
    if !path.is_empty() {
        parts.push(say("tell.hazard.path", &[("path", &path)]));
    }
    parts.push(advice(&hazard.kind));
    HazardWords { title, text: parts.join(" ") }
}

fn title(called: &Called<'_>, hazard: &Hazard) -> String {
    let load_words = |loads: &BTreeSet<LoadPoint>| list(loads.iter().map(|load| called.load(load)));
    let breakers = || list(hazard.breakers.iter().map(|handle| breaker_words(called, handle)));
    match &hazard.kind {
        HazardKind::Short { leg, other } => {
            let (leg, other) = (crate::catalogue::bus_name(*leg), crate::catalogue::bus_name(*other));
            say("tell.hazard.short", &[("leg", &leg), ("other", &other)])
        }
        HazardKind::SuppliesMeet { one, other } => {
            let name = |id: &ThingId| {
                if called.wiring.supplies.contains_key(id) { called.device(*id) } else { called.r#box(*id) }
            };
            say("tell.hazard.supplies", &[("one", &name(one)), ("other", &name(other))])
        }
        HazardKind::SourcesMeet { one, other } if one == other => {
            say("tell.hazard.halves_meet", &[("one", &called.device(*one))])
        }
        HazardKind::SourcesMeet { one, other } => {
            say("tell.hazard.meet", &[("one", &called.device(*one)), ("other", &called.device(*other))])
        }
        HazardKind::EnergisedGround(spot) => say("tell.hazard.energised", &[("spot", &called.spot_in_box(spot))]),
        HazardKind::BrokenGround(spot) => say("tell.hazard.broken_ground", &[("spot", &called.spot_in_box(spot))]),
        HazardKind::NeutralGrounded(spot) => {
            say("tell.hazard.neutral_grounded", &[("spot", &called.spot_in_box(spot))])
        }
        HazardKind::SwitchedNeutral { load, handle } => {
            say("tell.hazard.switched_neutral", &[("handle", &called.handle(handle)), ("load", &called.load(load))])
        }
        HazardKind::ReversedPolarity(load) => say("tell.hazard.reversed", &[("load", &called.load(load))]),
        HazardKind::BorrowedNeutral { hot, neutral } => {
            say("tell.hazard.borrowed", &[("hot", &called.device(*hot)), ("neutral", &called.device(*neutral))])
        }
        HazardKind::SharedNeutralOverload { tip, leg } => {
            say("tell.hazard.overload", &[("tip", &called.tip_in_box(tip)), ("leg", &crate::catalogue::bus_name(*leg))])
        }
        HazardKind::AcrossLegs(load) => say("tell.hazard.across", &[("load", &called.load(load))]),
        HazardKind::NeutralRises(spot) => {
            say("tell.hazard.rises", &[("spot", &called.spot_in_box(spot)), ("breakers", &breakers())])
        }
        HazardKind::LoadsInSeries(loads) => say("tell.hazard.series", &[("loads", &load_words(loads))]),
        HazardKind::FedThrough(through) => {
            let fed: BTreeSet<LoadPoint> = hazard.loads.difference(through).cloned().collect();
            say("tell.hazard.fed_through", &[("loads", &load_words(&fed)), ("through", &load_words(through))])
        }
        HazardKind::LiveLoose(tip) => say("tell.hazard.live_loose", &[("tip", &called.tip_in_box(tip))]),
        HazardKind::Loose(tip) => say("tell.hazard.loose", &[("tip", &called.tip_in_box(tip))]),
        HazardKind::StaysLive { place, off } => say(
            "tell.hazard.stays_live",
            &[("box", &called.r#box(*place)), ("off", &breaker_words(called, off)), ("breakers", &breakers())],
        ),
        HazardKind::NotEveryPosition { handles, combinations } => {
            let handles = list(handles.iter().map(|handle| called.handle(handle)));
            say("tell.hazard.not_every", &[("handles", &handles), ("combinations", &combinations.to_string())])
        }
        HazardKind::ConductorsApart { load, runs } => {
            let runs: Vec<String> = runs.iter().map(|run| called.run(*run)).collect();
            say("tell.hazard.apart", &[("load", &called.load(load)), ("runs", &runs.join("; "))])
        }
        HazardKind::GfciAlwaysTrips { device, load } => always_trips(called, *device, load.as_ref()),
        HazardKind::GfciCannotSee { device, why } => {
            let key = match why {
                Blind::Exchanged => "tell.hazard.blind.exchanged",
                Blind::NoSupply => "tell.hazard.blind.no_supply",
                Blind::NoGround => "tell.hazard.blind.no_ground",
            };
            say(key, &[("device", &called.device_in_box(*device))])
        }
    }
}

fn always_trips(called: &Called<'_>, device: ThingId, load: Option<&LoadPoint>) -> String {
    let device = called.device_in_box(device);
    match load {
        Some(load) => say("tell.hazard.trips_by", &[("device", &device), ("load", &called.load(load))]),
        None => say("tell.hazard.trips_round", &[("device", &device)]),
    }
}

fn list(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

/// A breaker by its circuit; a half of a tandem by its handle.
fn breaker_words(called: &Called<'_>, handle: &Handle) -> String {
    let kind = called.wiring.devices.get(&handle.device).and_then(|note| note.kind.get());
    let several = kind.and_then(|kind| called.catalogue.device(kind)).is_some_and(|kind| kind.switches.len() > 1);
    if several { called.handle(handle) } else { called.device(handle.device) }
}

/// What is to be done or known, and who decides.
fn advice(kind: &HazardKind) -> String {
    let key = match kind {
        HazardKind::StaysLive { .. } => "tell.hazard.do.stays_live",
        HazardKind::NeutralRises(_) => "tell.hazard.do.rises",
        HazardKind::NotEveryPosition { .. } => "tell.hazard.do.not_every",
        _ => "tell.hazard.do",
    };
    say(key, &[])
}

/// What is not known at an end of the map, and why.
pub fn boundary_words(called: &Called<'_>, boundary: &Boundary) -> String {
    let (what, why) = (unknown_words(called, &boundary.of), why_words(called, boundary.why));
    say("tell.boundary", &[("what", &what), ("why", &why)])
}

pub(super) fn unknown_words(called: &Called<'_>, of: &Unknown) -> String {
    match of {
        Unknown::Tip(tip) => called.tip_in_box(tip),
        Unknown::Device(id) | Unknown::Plug(id) => called.device_in_box(*id),
        Unknown::Run(id) => called.run(*id),
        Unknown::Link { device, link } => say(
            "tell.boundary.link",
            &[("device", &called.device_in_box(*device)), ("link", &crate::catalogue::link_name(link))],
        ),
        Unknown::Source => say("tell.boundary.source", &[]),
        Unknown::Supply(id) => {
            let name = called.wiring.supplies.get(id).and_then(|note| note.name.get().cloned());
            name.unwrap_or_else(|| say("tell.boundary.supply", &[]))
        }
    }
}

pub(super) fn why_words(called: &Called<'_>, why: Why) -> String {
    match why {
        Why::NotSaid => say("tell.why.not_said", &[]),
        Why::Twice => say("tell.why.twice", &[]),
        Why::SomewhereOn(device) => say("tell.why.somewhere_on", &[("device", &called.device(device))]),
        Why::NotThere => say("tell.why.not_there", &[]),
        Why::KindNotKnown => say("tell.why.kind", &[]),
    }
}

/// A path, box by box: "P: hot A – circuit 7, load → B1: C black – hot". Within a box the points follow each other as
/// a probe finds them; an arrow leads to the next box.
pub fn path_words(called: &Called<'_>, path: &[Step]) -> String {
    let mut boxes: Vec<(String, Vec<String>)> = Vec::new();
    let mut before: Option<&Point> = None;
    let points = path.first().map(|step| &step.from).into_iter();
    let points = points
        .chain(path.iter().filter(|step| !matches!(step.part, Part::Stab(_) | Part::Source(_))).map(|step| &step.to));
    for point in points {
        // The middle of a conductor is between two ends that are named; a lead is named once, not at both its ends.
        if matches!(point, Point::Middle { .. }) || before.is_some_and(|before| is_one_lead(before, point)) {
            continue;
        }
        before = Some(point);
        let (home, words) = point_words(called, point);
        match boxes.last_mut() {
            Some((last, inside)) if *last == home => inside.push(words),
            _ => boxes.push((home, vec![words])),
        }
    }
    let each = boxes.into_iter().map(|(home, mut inside)| {
        inside.dedup();
        let inside = inside.join(" – ");
        if home.is_empty() { inside } else { say("tell.path.in_box", &[("box", &home), ("points", &inside)]) }
    });
    each.collect::<Vec<_>>().join(" → ")
}

/// A point's box, by name, and its words within it.
pub(super) fn point_words(called: &Called<'_>, point: &Point) -> (String, String) {
    match point {
        Point::Spot(spot) => {
            (called.box_of(spot).map(|id| called.wiring.tag(id)).unwrap_or_default(), called.spot(spot))
        }
        Point::Middle { .. } => (String::new(), String::new()),
        Point::Supply { panel, bus } => {
            let bus = crate::catalogue::bus_name(*bus);
            (called.wiring.tag(*panel), say("tell.path.supply", &[("bus", &bus)]))
        }
        Point::Earth => (String::new(), say("tell.path.earth", &[])),
    }
}

/// The two ends of one lead of a device.
fn is_one_lead(a: &Point, b: &Point) -> bool {
    let lead = |point: &Point| match point {
        Point::Spot(Spot::Tip(Tip::Lead { device, lead })) => Some((*device, lead.clone(), true)),
        Point::Spot(Spot::Terminal { device, terminal }) => Some((*device, terminal.clone(), false)),
        _ => None,
    };
    matches!((lead(a), lead(b)), (Some(a), Some(b)) if a.0 == b.0 && a.1 == b.1 && a.2 != b.2)
}
