//! What a switch table does not cover: where it is, what would have to be looked at, and what it could change.

use std::collections::BTreeSet;

use crate::circuit::{Boundary, NotCovered, SwitchTable, Unknown, Why};
use crate::job::{LoadPoint, Side, ThingId, Tip};
use crate::name::Called;
use crate::words::{count, say};

use super::outcome::in_order;
use super::trouble::{unknown_words, why_words};

/// Something that a switch table does not cover.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Uncovered {
    /// What, where and why: "B8 A black, white, bare: not known, nobody noted where it goes".
    pub what: String,
    /// What would have to be looked at.
    pub look: String,
    /// Load points that it could change; empty if none was found.
    pub touches: String,
}

impl Uncovered {
    /// Beyond what it is: what to look at, then what it could change.
    pub fn more(&self) -> Vec<String> {
        [&self.look, &self.touches].into_iter().filter(|line| !line.is_empty()).cloned().collect()
    }
}

/// What a switch table does not cover. Conductors of one side of a run that are not known for one reason stand
/// together. Those that could change something come first.
pub fn uncovered(called: &Called<'_>, table: &SwitchTable) -> Vec<Uncovered> {
    let mut all: Vec<Uncovered> = Vec::new();
    let mut done: Vec<&NotCovered> = Vec::new();
    for what in &table.not_covered {
        if done.contains(&what) {
            continue;
        }
        let is_beside =
            |other: &&NotCovered| *other == what || side_of(what).is_some() && side_of(what) == side_of(other);
        let together: Vec<&NotCovered> = table.not_covered.iter().filter(is_beside).collect();
        all.push(match what {
            NotCovered::Boundary(boundary) => ends(called, table, boundary, &together),
            NotCovered::TooMany { handles, combinations, loads } => {
                let loads: Vec<String> = in_order(called, loads.iter()).into_iter().map(|l| called.load(l)).collect();
                let (combinations, limit) = (combinations.to_string(), crate::circuit::MOST_COMBINATIONS.to_string());
                let fill =
                    [("combinations", combinations.as_str()), ("loads", &loads.join(", ")), ("limit", limit.as_str())];
                Uncovered {
                    what: count("tell.too_many", handles.len(), &fill),
                    look: say("tell.look.too_many", &[]),
                    touches: String::new(),
                }
            }
        });
        done.extend(together);
    }
    all.sort_by_key(|one| one.touches.is_empty());
    all
}

/// Ends of one side of a run, or one other end of the map.
fn ends(called: &Called<'_>, table: &SwitchTable, first: &Boundary, together: &[&NotCovered]) -> Uncovered {
    let boundaries = together.iter().filter_map(|one| match one {
        NotCovered::Boundary(boundary) => Some(boundary),
        NotCovered::TooMany { .. } => None,
    });
    let others = boundaries.clone().filter(|boundary| *boundary != first).filter_map(|boundary| match &boundary.of {
        Unknown::Tip(tip) => called.colour(tip),
        _ => None,
    });
    let names = std::iter::once(unknown_words(called, &first.of)).chain(others.map(crate::catalogue::colour_name));
    let names: Vec<String> = names.collect();
    let what = say("tell.boundary", &[("what", &names.join(", ")), ("why", &why_words(called, first.why))]);
    let loads: BTreeSet<&LoadPoint> = boundaries.filter_map(|boundary| table.touches.get(boundary)).flatten().collect();
    let loads: Vec<String> = in_order(called, loads.into_iter()).into_iter().map(|load| called.load(load)).collect();
    let touches = match loads.as_slice() {
        [] => String::new(),
        loads => say("tell.touches", &[("loads", &loads.join(", "))]),
    };
    Uncovered { what, look: look_words(called, first, names.len()), touches }
}

/// The side of a run that an end of the map is at, and why it is one.
fn side_of(what: &NotCovered) -> Option<(ThingId, Side, Why)> {
    match what {
        NotCovered::Boundary(Boundary { of: Unknown::Tip(Tip::Wire { run, side, .. }), why }) => {
            Some((*run, *side, *why))
        }
        _ => None,
    }
}

/// What would have to be looked at.
fn look_words(called: &Called<'_>, boundary: &Boundary, ends: usize) -> String {
    let wiring = called.wiring;
    let in_box = |id: Option<ThingId>, key: &str| match id {
        Some(id) => say(key, &[("box", &called.r#box(id))]),
        None => say("tell.look.nowhere", &[]),
    };
    let ends_in = |id: Option<ThingId>, key: &str| match id {
        Some(id) => count(key, ends, &[("box", &called.r#box(id))]),
        None => say("tell.look.nowhere", &[]),
    };
    let of_device = |id: ThingId| wiring.devices.get(&id).and_then(|note| note.in_box.get().copied().flatten());
    match &boundary.of {
        Unknown::Tip(tip) => match (wiring.box_of(tip), tip) {
            (Some(id), _) if boundary.why == Why::Twice => in_box(Some(id), "tell.look.twice"),
            (Some(id), _) => ends_in(Some(id), "tell.look.tip"),
            (None, Tip::Wire { run, wire, side }) => {
                let near = Tip::Wire { run: *run, wire: *wire, side: side.other() };
                ends_in(wiring.box_of(&near), "tell.look.far_end")
            }
            (None, Tip::Lead { device, .. }) => ends_in(of_device(*device), "tell.look.tip"),
        },
        Unknown::Device(id) if boundary.why == Why::Twice => in_box(of_device(*id), "tell.look.twice"),
        Unknown::Device(id) => in_box(of_device(*id), "tell.look.device"),
        Unknown::Link { device, .. } => in_box(of_device(*device), "tell.look.link"),
        Unknown::Run(_) => say("tell.look.run", &[]),
        Unknown::Plug(_) => say("tell.look.plug", &[]),
        Unknown::Source => say("tell.look.source", &[]),
        Unknown::Supply(_) => say("tell.look.supply", &[]),
    }
}
