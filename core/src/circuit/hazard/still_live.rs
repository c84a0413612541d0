//! What stays live in a box when a breaker that feeds it is off.
//!
//! A box belongs to every breaker that some position of the handles joins with a spot in it, and to every breaker that
//! a run into it is noted to come from. For each of these by itself OFF, the others on, the box is looked through: if
//! any spot in it is live by another breaker, by metal or through a load, that is told, once for the box and the
//! breaker. So it is with two circuits in one box, with a second feed, with the other hot of a multiwire circuit on
//! breakers of their own, with a backfeed through a heater between two legs, with a neutral that is open upstream, and
//! with a cable that is noted on one breaker and lands on another.
//!
//! Not told: panels, where something is always live; boxes that one breaker feeds, all of whose poles go off with it;
//! and a breaker that has nothing to do with the box. A box in which two circuits meet is often as it should be: the
//! finding holds no promise back, it has to be known before the cover is off.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Handle, Spot, ThingId, Tip};

use super::super::build::{Circuit, LoadNode, Pole};
use super::super::connect::Joined;
use super::super::group::{Group, Islands};
use super::super::network::{Element, NodeId, State};
use super::super::point::Point;
use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

/// Which spots to look at in which group, and which breakers a box belongs to.
pub(super) struct Places {
    /// Spots with their boxes, for each group: those that its handles can change, and for the last group the others.
    spots: Vec<Vec<(NodeId, ThingId)>>,
    /// Breakers of each box.
    breakers: BTreeMap<ThingId, BTreeSet<Handle>>,
}

impl Places {
    /// `ever` is what could ever meet with breakers left out.
    pub(super) fn new(circuit: &Circuit, ever: &Joined, groups: &[Group]) -> Self {
        let islands = Islands::of(circuit);
        let mut group_of: BTreeMap<u32, usize> = BTreeMap::new();
        for (n, group) in groups.iter().enumerate() {
            let touched = group.handles.iter().filter_map(|handle| circuit.island_of_handle(&islands, handle));
            group_of.extend(touched.map(|island| (island, n)));
        }
        let last = groups.len().saturating_sub(1);
        let mut spots = vec![Vec::new(); groups.len()];
        let mut breakers: BTreeMap<ThingId, BTreeSet<Handle>> = BTreeMap::new();
        let mut of_metal: BTreeMap<NodeId, BTreeSet<Handle>> = BTreeMap::new();
        for pole in &circuit.poles {
            of_metal.entry(ever.group(pole.load)).or_default().insert(pole.handle.clone());
        }
        for (run, handle) in named(circuit) {
            for node in ends(circuit, run) {
                if let Some(known) = of_metal.get_mut(&ever.group(node)) {
                    known.insert(handle.clone());
                }
                if let Some(place) = circuit.box_of(node).filter(|id| !circuit.panels.contains_key(id)) {
                    breakers.entry(place).or_default().insert(handle.clone());
                }
            }
        }
        for (node, point) in circuit.points() {
            let Some(place) = circuit.box_of(node).filter(|id| !circuit.panels.contains_key(id)) else { continue };
            if point.spot().is_none() {
                continue;
            }
            if let Some(known) = of_metal.get(&ever.group(node)) {
                breakers.entry(place).or_default().extend(known.iter().cloned());
            }
            let group = islands.island(node).and_then(|island| group_of.get(&island).copied()).unwrap_or(last);
            if let Some(list) = spots.get_mut(group) {
                list.push((node, place));
            }
        }
        Self { spots, breakers }
    }

    fn of(&self, place: ThingId) -> impl Iterator<Item = &Handle> {
        self.breakers.get(&place).into_iter().flatten()
    }
}

/// Runs whose side in the panel names its breaker, with the handle of that breaker.
fn named(circuit: &Circuit) -> impl Iterator<Item = (ThingId, Handle)> {
    circuit.feeds.iter().filter_map(|(run, breaker)| {
        let handles: BTreeSet<&Handle> =
            circuit.poles.iter().filter(|pole| pole.breaker == *breaker).map(|pole| &pole.handle).collect();
        // Which half of a tandem is meant nobody said.
        let handle = handles.first().filter(|_| handles.len() == 1)?;
        Some((*run, (*handle).clone()))
    })
}

/// Ends of a run's conductors.
fn ends(circuit: &Circuit, run: ThingId) -> Vec<NodeId> {
    let of_run = |point: &Point| {
        matches!(point.spot(), Some(Spot::Tip(Tip::Wire { run: of, wire, .. }))
            if *of == run && !circuit.ground_wires.contains(&(run, *wire)))
    };
    circuit.points().filter(|(_, point)| of_run(point)).map(|(node, _)| node).collect()
}

pub(super) fn still_live(look: &Look<'_, '_>, notes: &mut Notes) {
    by_metal(look, notes);
    through_loads(look, notes);
}

fn by_metal(look: &Look<'_, '_>, notes: &mut Notes) {
    let places = &look.scene.places;
    let mut done: BTreeSet<(ThingId, NodeId)> = BTreeSet::new();
    for (node, place) in places.spots.get(look.group).into_iter().flatten() {
        let poles = look.poles(*node);
        if poles.is_empty() || !done.insert((*place, look.beyond_breakers.group(*node))) {
            continue;
        }
        for off in places.of(*place) {
            let still: Vec<&&Pole> = poles.iter().filter(|pole| pole.handle != *off && is_fed(look, pole)).collect();
            if still.is_empty() {
                continue;
            }
            let kind = HazardKind::StaysLive { place: *place, off: off.clone() };
            let seen = notes.note(look, kind, [], || {
                let state = turned_off(look, off).unwrap_or_else(|| look.state.clone());
                let path = look.scene.live(&state, *node);
                (path, Some(*place))
            });
            seen.breakers.extend(still.into_iter().map(|pole| pole.handle.clone()));
        }
    }
}

/// The bus that a pole takes from is live.
fn is_fed(look: &Look<'_, '_>, pole: &Pole) -> bool {
    // A pole of another supply has the leg itself on its load side.
    let supply = look.scene.circuit.panels.contains_key(&pole.breaker);
    let bus = |e: &Element| if supply { pole.load } else { e.other(pole.load) };
    look.scene.circuit.network.element(pole.element).is_some_and(|e| look.is_hot(bus(e)))
}

/// The same positions with one breaker off.
fn turned_off(look: &Look<'_, '_>, off: &Handle) -> Option<State> {
    let circuit = look.scene.circuit;
    let node = circuit.handles.get(off)?;
    let pole = circuit.poles.iter().find(|pole| pole.handle == *off)?;
    let element = circuit.network.element(pole.element)?;
    let positions = 0..u8::try_from(node.positions.len()).unwrap_or(u8::MAX);
    let states = positions.map(|position| look.state.clone().with(node.switch, position));
    states.into_iter().find(|state| !element.present(state))
}

/// Backfeeds: with a breaker off, its metal or metal that nothing else is joined to is at voltage through a load of
/// another breaker. Only loads that can do so are looked at, and only for them is anything solved.
fn through_loads(look: &Look<'_, '_>, notes: &mut Notes) {
    let circuit = look.scene.circuit;
    for point in look.loads {
        let Some(load) = circuit.loads.get(point).filter(|load| load.element.is_some() && !load.auxiliary) else {
            continue;
        };
        for (hot, side) in [(load.from, load.to), (load.to, load.from)] {
            if !look.is_hot(hot) || look.is_neutral(side) || look.is_grounded(side) || look.is_open(side) {
                continue;
            }
            let offs: BTreeSet<Handle> = match look.feeder(side) {
                Some(own) => BTreeSet::from([own.clone()]),
                // Two breakers on this side: turning one of them off changes nothing here.
                None if look.is_hot(side) => continue,
                None => {
                    spots_on(look, &look.joined, side).flat_map(|(_, p)| look.scene.places.of(p)).cloned().collect()
                }
            };
            for off in offs {
                backfeed(look, notes, &off, load, (hot, side));
            }
        }
    }
}

/// Spots in boxes that metal joins to a node.
fn spots_on<'l>(
    look: &'l Look<'_, '_>,
    joined: &'l Joined,
    node: NodeId,
) -> impl Iterator<Item = (NodeId, ThingId)> + 'l {
    let all = look.scene.places.spots.iter().flatten().copied();
    all.filter(move |(spot, _)| joined.joined(*spot, node))
}

fn backfeed(look: &Look<'_, '_>, notes: &mut Notes, off: &Handle, load: &LoadNode, (hot, side): (NodeId, NodeId)) {
    let (circuit, scene) = (look.scene.circuit, look.scene);
    let Some(state) = turned_off(look, off) else { return };
    let joined = scene.metal.at(&state);
    let leg_of = |node| scene.live_legs(&state).map(|(_, leg)| leg).find(|leg| joined.joined(*leg, node));
    let (Some(leg), None) = (leg_of(hot), leg_of(side)) else { return };
    let Some(bar) = scene.grounds.first() else { return };
    let settled = circuit.settle(scene.solver(), &state);
    let burden = circuit.assumptions.low_impedance_meter.value;
    if settled.solution.across_burdened(side, *bar, burden).norm() < circuit.assumptions.energised.value {
        return;
    }
    let mut told: BTreeSet<ThingId> = BTreeSet::new();
    for (node, place) in spots_on(look, &joined, side) {
        let belongs = scene.places.of(place).any(|handle| handle == off);
        if !belongs || !told.insert(place) {
            continue;
        }
        let kind = HazardKind::StaysLive { place, off: off.clone() };
        let seen = notes.note(look, kind, [], || {
            let metal = |from, to| scene.metal.path(&state, from, to).unwrap_or_default();
            let way = metal(leg, hot).into_iter().chain(load.element).chain(metal(side, node));
            (circuit.steps(leg, &way.collect::<Vec<_>>()), Some(place))
        });
        seen.breakers.extend(look.poles(hot).iter().map(|pole| pole.handle.clone()));
    }
}
