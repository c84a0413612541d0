//! Hot and return of a load point in different runs.
//!
//! Conductors of one circuit belong in one cable or raceway (NEC 300.3(B)), so that what goes out in it comes back in
//! it. For each load point the current of that load alone is worked out, as it divides over all the ways there are, and
//! added up over the conductors of each run. A shortest way would not do: in a ring each cable carries a part, out and
//! back, and its sum is nothing; a ring with one conductor broken has a sum, though every outlet works.
//!
//! Not told: single conductors in the open, which lie apart by their nature; what stays in one box; and current that
//! returns by grounds, which is a hazard of its own kind. What the capacitance of cables leaks plays no part, because
//! it is the load's current that is followed, from sources at rest.

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;

use crate::job::{LoadPoint, Side, Spot, ThingId, Tip};

use super::super::build::LoadNode;
use super::super::network::{ElementId, NodeId};
use super::super::point::{Part, Point};
use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

pub(super) fn apart(look: &Look<'_>, notes: &mut Notes, point: &LoadPoint, load: &LoadNode) {
    let circuit = look.scene.circuit;
    let source = look.leg(load.from);
    let back = look.leg(load.to).map(|(_, leg)| leg).or_else(|| look.bar(load.to));
    let (Some((_, source)), Some(_)) = (source, back) else { return };
    if look.joined.joined(load.from, load.to) {
        return;
    }
    let net = net_currents(look, load);
    let least = circuit.assumptions.net_current.value;
    // By grounds or metal raceways: neutral and ground are joined somewhere, which is told as such.
    if net.grounds > least {
        return;
    }
    let apart = net.runs.into_iter().filter(|(run, sum)| sum.norm() > least && !circuit.open_runs.contains(run));
    let runs: BTreeSet<ThingId> = apart.map(|(run, _)| run).filter(|run| between_boxes(look, *run)).collect();
    if !runs.is_empty() {
        let kind = HazardKind::ConductorsApart { load: point.clone(), runs };
        notes.note(look, kind, [point.clone()], || (look.way(source, load.from), circuit.box_of(load.from)));
    }
}

/// Currents of one load alone, as parts of what it draws.
struct Net {
    /// Sum over the conductors of each run, counted towards its far side.
    runs: BTreeMap<ThingId, Complex64>,
    /// The most that any ground or raceway carries.
    grounds: f64,
}

fn net_currents(look: &Look<'_>, load: &LoadNode) -> Net {
    let circuit = look.scene.circuit;
    // One ampere comes out of the hot side and goes in at the return, as a load takes it.
    let volts = look.settled().solution.driven(load.to, load.from);
    let mut net = Net { runs: BTreeMap::new(), grounds: 0.0 };
    for (n, element) in (0u32..).zip(circuit.network.elements()) {
        let (run, ground) = match circuit.part(ElementId(n)) {
            Part::Conductor { run, wire } => (*run, circuit.ground_wires.contains(&(*run, *wire))),
            Part::Sheath(run) => (*run, true),
            _ => continue,
        };
        let at = |node: NodeId| volts.get(node.index()).copied().unwrap_or_default();
        let amperes = element.value.admittance(circuit.network.hertz()) * (at(element.from) - at(element.to));
        if ground {
            net.grounds = net.grounds.max(amperes.norm());
        }
        *net.runs.entry(run).or_default() += amperes * share(look, element.from, element.to);
    }
    net
}

/// A long conductor is two elements that carry the same: each counts half.
fn share(look: &Look<'_>, from: NodeId, to: NodeId) -> f64 {
    let middle = |node: NodeId| matches!(look.scene.circuit.point(node), Point::Middle { .. });
    if middle(from) || middle(to) { 0.5 } else { 1.0 }
}

/// The run's sides are in unlike boxes.
fn between_boxes(look: &Look<'_>, run: ThingId) -> bool {
    let circuit = look.scene.circuit;
    let end = |side| circuit.node(&Spot::Tip(Tip::Wire { run, wire: 0, side }));
    let boxes = Side::BOTH.map(|side| end(side).and_then(|node| circuit.box_of(node)));
    boxes.first() != boxes.last()
}
