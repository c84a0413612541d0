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

use super::super::build::{Circuit, LoadNode};
use super::super::connect::Sets;
use super::super::network::{Element, ElementId, NodeId};
use super::super::point::{Part, Point};
use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

pub(super) fn apart(look: &Look<'_, '_>, notes: &mut Notes, point: &LoadPoint, load: &LoadNode) {
    let circuit = look.scene.circuit;
    if look.scene.loops.conductors.is_empty() {
        return;
    }
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
    let runs: BTreeSet<ThingId> = apart.map(|(run, _)| run).collect();
    if !runs.is_empty() {
        let kind = HazardKind::ConductorsApart { load: point.clone(), runs };
        notes.note(look, kind, [point.clone()], || (look.way(source, load.from), circuit.box_of(load.from)));
    }
}

/// Conductors of runs that can have a sum at all. Boxes and the runs between them are a graph; where a run is the only
/// way to what lies beyond it, all that goes out comes back in it. So only runs on the way round of something are
/// looked at: in most houses none.
pub(super) struct Loops {
    conductors: Vec<Strand>,
}

/// An element of a run: a conductor, the half of a long one, a raceway.
struct Strand {
    id: ElementId,
    run: ThingId,
    ground: bool,
    /// A long conductor is two elements that carry the same: each counts half.
    share: f64,
}

impl Loops {
    pub(super) fn new(circuit: &Circuit) -> Self {
        let runs = runs_on_loops(circuit);
        let middle = |node: NodeId| matches!(circuit.point(node), Point::Middle { .. });
        let strand = |(n, element): (u32, &Element)| {
            let (run, ground) = match circuit.part(ElementId(n)) {
                Part::Conductor { run, wire } => (*run, circuit.ground_wires.contains(&(*run, *wire))),
                Part::Sheath(run) => (*run, true),
                _ => return None,
            };
            let share = if middle(element.from) || middle(element.to) { 0.5 } else { 1.0 };
            runs.contains(&run).then_some(Strand { id: ElementId(n), run, ground, share })
        };
        Self { conductors: (0u32..).zip(circuit.network.elements()).filter_map(strand).collect() }
    }
}

/// Runs that are left when every box that only one run leads to is taken off, again and again.
fn runs_on_loops(circuit: &Circuit) -> BTreeSet<ThingId> {
    let mut sets = Sets::new(circuit.network.node_count());
    for (n, element) in (0u32..).zip(circuit.network.elements()) {
        if !matches!(circuit.part(ElementId(n)), Part::Conductor { .. } | Part::Sheath(_) | Part::Stray(_)) {
            sets.join(element.from.0, element.to.0);
        }
    }
    let mut of_box: BTreeMap<ThingId, NodeId> = BTreeMap::new();
    for node in circuit.network.nodes() {
        if let Some(place) = circuit.box_of(node) {
            let first = *of_box.entry(place).or_insert(node);
            sets.join(first.0, node.0);
        }
    }
    let mut ends: BTreeMap<ThingId, [BTreeSet<u32>; 2]> = BTreeMap::new();
    for (node, point) in circuit.points() {
        if let Some(Spot::Tip(Tip::Wire { run, side, .. })) = point.spot() {
            let [near, far] = ends.entry(*run).or_default();
            if *side == Side::Near { near } else { far }.insert(sets.find(node.0));
        }
    }
    ends.retain(|run, _| between_boxes(circuit, *run));
    loop {
        let mut degree: BTreeMap<u32, usize> = BTreeMap::new();
        ends.values().flatten().flatten().for_each(|place| *degree.entry(*place).or_default() += 1);
        let before = ends.len();
        let leaf = |side: &BTreeSet<u32>| side.len() == 1 && side.iter().all(|place| degree.get(place) == Some(&1));
        ends.retain(|_, sides| !sides.iter().any(leaf));
        if ends.len() == before {
            return ends.into_keys().collect();
        }
    }
}

/// Currents of one load alone, as parts of what it draws.
struct Net {
    /// Sum over the conductors of each run, counted towards its far side.
    runs: BTreeMap<ThingId, Complex64>,
    /// The most that any ground or raceway carries.
    grounds: f64,
}

fn net_currents(look: &Look<'_, '_>, load: &LoadNode) -> Net {
    let circuit = look.scene.circuit;
    // One ampere comes out of the hot side and goes in at the return, as a load takes it.
    let volts = look.settled().solution.driven(load.to, load.from);
    let at = |node: NodeId| volts.get(node.index()).copied().unwrap_or_default();
    let mut net = Net { runs: BTreeMap::new(), grounds: 0.0 };
    for strand in &look.scene.loops.conductors {
        let Some(element) = circuit.network.element(strand.id) else { continue };
        let amperes = element.value.admittance(circuit.network.hertz()) * (at(element.from) - at(element.to));
        if strand.ground {
            net.grounds = net.grounds.max(amperes.norm());
        }
        *net.runs.entry(strand.run).or_default() += amperes * strand.share;
    }
    net
}

/// The run's sides are in unlike boxes.
fn between_boxes(circuit: &Circuit, run: ThingId) -> bool {
    let end = |side| circuit.node(&Spot::Tip(Tip::Wire { run, wire: 0, side }));
    let boxes = Side::BOTH.map(|side| end(side).and_then(|node| circuit.box_of(node)));
    boxes.first() != boxes.last()
}
