//! What an ohmmeter and a clamp should show, before either is used.
//!
//! An ohmmeter sends a little direct current through a dead circuit. Loads are in the way: a heater with what it has
//! when it runs, a filament with a tenth of it because it is cold, a winding with less than when it turns, electronics
//! with anything up to nothing at all, and so whatever has a plug, which may be pulled. So the reading is an interval,
//! from every load at its lowest to every load at its highest; resistance grows with each part of a network (Rayleigh's law), so that nothing lies outside. A clamp
//! shows the sum of the currents in what it is closed around: one conductor, or a whole cable.
//!
//! As for volts, the interval covers positions that nobody stated, mappings that nobody knows, and what could be at an
//! end of the map.

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;

use crate::job::{At, Bus, Handle, LoadPoint, Pair, Spot, ThingId};

use super::build::Circuit;
use super::connect::Connectivity;
use super::corners::{Share, corners};
use super::cover::Cover;
use super::expect::SourceVolts;
use super::network::{ElementId, Network, NodeId, State, SwitchId, Value};
use super::point::{Boundary, Part};
use super::solve::Solver;

/// What an ohmmeter should show.
#[derive(Debug, Clone, PartialEq)]
pub struct Ohms {
    /// Lowest reading, ohms.
    pub low_ohms: f64,
    /// Highest reading, ohms; never above what is surely OL.
    pub high_ohms: f64,
    /// The instrument may show OL.
    pub may_be_over: bool,
    /// It shows OL.
    pub is_over: bool,
    /// Handles whose unknown mapping or unstated position is covered.
    pub covered: BTreeSet<Handle>,
    /// Ends of the map that could lower the reading.
    pub touched: BTreeSet<Boundary>,
    /// More positions would have to be covered than are worked out: the interval holds for the handles at rest.
    pub partial: bool,
}

/// What a clamp should show.
#[derive(Debug, Clone, PartialEq)]
pub struct Amperes {
    /// Lowest reading, amperes RMS.
    pub low_amperes: f64,
    /// Highest reading, amperes RMS.
    pub high_amperes: f64,
    /// Amperes with the source at its nominal value, in the stated positions.
    pub nominal_amperes: f64,
    /// Handles whose unknown mapping or unstated position is covered.
    pub covered: BTreeSet<Handle>,
    /// Ends of the map at which more could be drawn.
    pub touched: BTreeSet<Boundary>,
    /// More positions would have to be covered than are worked out: the interval holds for the handles at rest.
    pub partial: bool,
}

/// Why nothing is predicted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoOhms {
    /// The point is not part of the circuit as it is noted.
    #[error("a point of the reading is not part of the circuit as it is noted")]
    NotInCircuit(Spot),
    /// The conductor is not part of the circuit as it is noted.
    #[error("the conductor is not part of the circuit as it is noted")]
    NoConductor {
        /// The run.
        run: ThingId,
        /// Which conductor.
        wire: u8,
    },
    /// The points are not dead as stated: an ohmmeter has no business there.
    #[error("the points are not dead in these positions; switch OFF, prove dead, then measure ohms")]
    Live,
    /// The circuit has no source, so that nothing flows.
    #[error("the circuit has no source; note its panel first")]
    NoSource,
    /// The circuit has no state that agrees with itself.
    #[error("the circuit has no state that agrees with itself; it goes on and off")]
    Unsettled,
}

/// What an ohmmeter should show between two points. Breakers are on unless `at` says otherwise.
///
/// # Errors
/// See [`NoOhms`].
pub fn expect_ohms(circuit: &Circuit, pair: &Pair, at: &[At]) -> Result<Ohms, NoOhms> {
    let node = |spot: &Spot| circuit.node(spot).ok_or_else(|| NoOhms::NotInCircuit(spot.clone()));
    let nodes = (node(&pair.from)?, node(&pair.to)?);
    let Cover { states, handles: covered, partial } = positions(circuit, &[nodes.0, nodes.1], at);
    must_be_dead(circuit, nodes, &states)?;
    let touched = reached(circuit, &[nodes.0, nodes.1], &states);
    let low = with_ends_tied(circuit, direct(circuit, Bound::Low), &touched);
    let high = direct(circuit, Bound::High);
    let (mut low_ohms, mut high_ohms) = (f64::INFINITY, 0.0_f64);
    let (solver_low, solver_high) = (Solver::new(&low), Solver::new(&high));
    for state in &states {
        low_ohms = low_ohms.min(solver_low.at(state).thevenin_ohms(nodes.0, nodes.1).re);
        high_ohms = high_ohms.max(solver_high.at(state).thevenin_ohms(nodes.0, nodes.1).re);
    }
    let a = &circuit.assumptions;
    let part = a.meter_part.value;
    let low_ohms = (low_ohms * (1.0 - part) - a.ohms_leads.value).max(0.0);
    let high_ohms = high_ohms * (1.0 + part) + a.ohms_leads.value;
    let (some, all) = (a.ohms_range_low.value, a.ohms_range_high.value);
    let (may_be_over, is_over) = (high_ohms >= some, low_ohms >= all);
    let (low_ohms, high_ohms) = (low_ohms.min(all), high_ohms.min(all));
    Ok(Ohms { low_ohms, high_ohms, may_be_over, is_over, covered, touched, partial })
}

/// What a clamp around some conductors of runs should show: the sum of their currents.
///
/// # Errors
/// See [`NoOhms`].
pub fn expect_amperes(
    circuit: &Circuit,
    sources: &SourceVolts,
    around: &[(ThingId, u8)],
    at: &[At],
) -> Result<Amperes, NoOhms> {
    if circuit.panels.values().all(|panel| panel.supplies.is_empty()) {
        return Err(NoOhms::NoSource);
    }
    let mut wires = Vec::new();
    for (run, wire) in around {
        let sections = circuit.elements_where(|part| *part == Part::Conductor { run: *run, wire: *wire });
        // The clamp is near one end: the first section.
        wires.push(*sections.first().ok_or(NoOhms::NoConductor { run: *run, wire: *wire })?);
    }
    let ends: Vec<NodeId> =
        wires.iter().filter_map(|id| circuit.network.element(*id)).flat_map(|e| [e.from, e.to]).collect();
    let Cover { states, handles: covered, partial } = positions(circuit, &ends, at);
    let clamp = Clamp { circuit, sources, wires: &wires };
    let solver = Solver::new(&circuit.network);
    let mut found: Option<(f64, f64, f64)> = None;
    for state in &states {
        let (low, high, nominal) = clamp.amperes(&solver, state).ok_or(NoOhms::Unsettled)?;
        found = Some(found.map_or((low, high, nominal), |(l, h, n)| (l.min(low), h.max(high), n)));
    }
    let (mut low, mut high, nominal_amperes) = found.ok_or(NoOhms::Unsettled)?;
    let touched = reached(circuit, &ends, &states);
    for network in drawing_at(circuit, &touched) {
        let solver = Solver::new(&network);
        for (l, h, _) in states.iter().filter_map(|state| clamp.amperes(&solver, state)) {
            (low, high) = (low.min(l), high.max(h));
        }
    }
    let a = &circuit.assumptions;
    let (part, fixed) = (a.clamp_part.value, a.clamp_amperes.value);
    let low_amperes = (low * (1.0 - part) - fixed).max(0.0);
    let high_amperes = high * (1.0 + part) + fixed;
    Ok(Amperes { low_amperes, high_amperes, nominal_amperes, covered, touched, partial })
}

/// Only handles that the points reach can matter; what lies behind a bar of a panel is another circuit.
fn positions(circuit: &Circuit, points: &[NodeId], at: &[At]) -> Cover {
    let near = around(circuit, points, &circuit.state(at, circuit.rest()));
    let touched: BTreeSet<SwitchId> = circuit
        .network
        .elements()
        .iter()
        .filter(|element| near.contains(&element.from) || near.contains(&element.to))
        .filter_map(|element| element.contact.map(|contact| contact.switch))
        .collect();
    Cover::of(circuit, at, |_, node| touched.contains(&node.switch))
}

/// Nodes that metal and loads join to the points, whatever the hands do and without a way through a bar.
fn around(circuit: &Circuit, points: &[NodeId], stated: &State) -> BTreeSet<NodeId> {
    let bars: BTreeSet<NodeId> = circuit.buses().collect();
    let by_hand: BTreeSet<_> =
        circuit.handles.values().filter(|handle| !handle.automatic).map(|handle| handle.switch).collect();
    let mut next: BTreeMap<NodeId, Vec<NodeId>> = BTreeMap::new();
    for element in circuit.network.elements() {
        let moves = element.contact.is_some_and(|contact| by_hand.contains(&contact.switch));
        let conducts = matches!(element.value, Value::Metal { .. } | Value::Load { .. });
        if conducts && (moves || element.present(stated)) {
            next.entry(element.from).or_default().push(element.to);
            next.entry(element.to).or_default().push(element.from);
        }
    }
    let mut near = BTreeSet::new();
    let mut queue: Vec<NodeId> = points.to_vec();
    while let Some(node) = queue.pop() {
        if near.insert(node) && !bars.contains(&node) {
            queue.extend(next.get(&node).into_iter().flatten());
        }
    }
    near
}

fn must_be_dead(circuit: &Circuit, nodes: (NodeId, NodeId), states: &[State]) -> Result<(), NoOhms> {
    let a = &circuit.assumptions;
    let solver = Solver::new(&circuit.network);
    let bars: Vec<NodeId> = circuit.panels.values().flat_map(|panel| [panel.neutral, panel.ground]).collect();
    for state in states {
        let settled = circuit.settle(&solver, state);
        let volts = |one, other| settled.solution.across_burdened(one, other, a.low_impedance_meter.value).norm();
        let mut pairs = bars.iter().flat_map(|bar| [(nodes.0, *bar), (nodes.1, *bar)]).chain([nodes]);
        if pairs.any(|(one, other)| volts(one, other) >= a.ohms_dead_volts.value) {
            return Err(NoOhms::Live);
        }
    }
    Ok(())
}

/// Which end of the interval.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bound {
    Low,
    High,
}

/// The network to direct current: no capacitance, every load at one end of what it may have.
fn direct(circuit: &Circuit, bound: Bound) -> Network {
    let mut network = circuit.network.clone();
    let electronic: BTreeSet<_> = circuit.electronic.iter().map(|one| one.switch).collect();
    for (n, element) in (0u32..).zip(circuit.network.elements()) {
        let id = ElementId(n);
        let stops = element.contact.is_some_and(|contact| electronic.contains(&contact.switch));
        let value = match (element.value, circuit.part(id)) {
            (Value::Capacitance { .. }, _) => Value::Open,
            (Value::Load { .. }, _) if stops && bound == Bound::High => Value::Open,
            (Value::Load { .. }, Part::Load(point)) if bound == Bound::High && is_plugged(circuit, point) => {
                Value::Open
            }
            (Value::Load { ohms, henries }, Part::Load(point)) if !stops => {
                let lamp = circuit.loads.get(point).is_some_and(|load| load.lamp);
                let ohms = ohms * load_part(circuit, lamp, henries, bound);
                Value::Load { ohms, henries: 0.0 }
            }
            (Value::Load { ohms, .. }, _) => Value::Load { ohms, henries: 0.0 },
            (value, _) => value,
        };
        // A value that is refused leaves the one that is there, which is within the network's limits.
        let _ = network.replace(id, value);
    }
    network
}

/// A load with a plug.
fn is_plugged(circuit: &Circuit, point: &LoadPoint) -> bool {
    circuit.loads.get(point).is_some_and(|load| load.plugged)
}

/// What a load has to direct current when it is cold, as a part of what it has when it runs.
fn load_part(circuit: &Circuit, lamp: bool, henries: f64, bound: Bound) -> f64 {
    let a = &circuit.assumptions;
    match bound {
        Bound::Low if henries > 0.0 => a.winding_low.value,
        // A lamp may have a filament or not: up to what it has when lit.
        Bound::Low if lamp => a.filament_cold_low.value,
        Bound::Low | Bound::High => 1.0,
    }
}

/// Ends of the map that metal joins to one of the points in one of the positions.
fn reached(circuit: &Circuit, points: &[NodeId], states: &[State]) -> BTreeSet<Boundary> {
    let connectivity = Connectivity::new(&circuit.network, &[]);
    let mut touched = BTreeSet::new();
    for state in states {
        let joined = connectivity.at(state);
        let is = |end: &NodeId| points.iter().any(|point| joined.joined(*end, *point));
        let ends = circuit.boundaries.iter().filter(|(_, ends)| ends.iter().any(is));
        touched.extend(ends.map(|(boundary, _)| boundary.clone()));
    }
    touched
}

/// The ends could be joined to one another, to neutral and to ground: nothing gives a lower reading.
fn with_ends_tied(circuit: &Circuit, mut network: Network, touched: &BTreeSet<Boundary>) -> Network {
    let bars = circuit.panels.values().flat_map(|panel| [panel.neutral, panel.ground]);
    let ends: Vec<NodeId> = touched.iter().filter_map(|end| circuit.boundaries.get(end)).flatten().copied().collect();
    if let Some((first, others)) = ends.split_first() {
        let tie = Value::Metal { ohms: circuit.assumptions.splice_contact.value };
        for other in others.iter().copied().chain(bars) {
            // Two ends of one node are tied already.
            let _ = network.connect(*first, other, tie);
        }
    }
    network
}

/// Networks in which something is drawn at an end of the map: from it to neutral, and from it to each leg.
fn drawing_at(circuit: &Circuit, touched: &BTreeSet<Boundary>) -> Vec<Network> {
    let mut networks = Vec::new();
    let Some(panel) = circuit.panels.values().find(|panel| !panel.supplies.is_empty()) else { return networks };
    let nominal = panel.supplies.first().and_then(|s| circuit.network.fixed(*s)).map_or(0.0, Complex64::norm);
    let hertz = circuit.network.hertz();
    let Ok(load) = Value::of_power(circuit.assumptions.unknown_load.value, nominal, 1.0, hertz) else {
        return networks;
    };
    let buses: Vec<NodeId> = panel.legs.iter().map(|(_, leg)| *leg).chain([panel.neutral]).collect();
    for end in touched.iter().filter_map(|end| circuit.boundaries.get(end)).flatten() {
        for bus in &buses {
            let mut network = circuit.network.clone();
            if network.connect(*end, *bus, load).is_ok() {
                networks.push(network);
            }
        }
    }
    networks
}

struct Clamp<'a> {
    circuit: &'a Circuit,
    sources: &'a SourceVolts,
    wires: &'a [ElementId],
}

impl Clamp<'_> {
    /// Lowest, highest and nominal current in one position; `None` if it does not settle.
    fn amperes(&self, solver: &Solver<'_>, state: &State) -> Option<(f64, f64, f64)> {
        let settled = self.circuit.settle(solver, state);
        if !settled.stable {
            return None;
        }
        let network = solver.network();
        let mut parts: BTreeMap<NodeId, Complex64> = BTreeMap::new();
        for element in self.wires.iter().filter_map(|id| network.element(*id)) {
            let siemens = element.value.admittance(network.hertz());
            for supply in self.circuit.panels.values().flat_map(|panel| &panel.supplies) {
                let amperes = settled.solution.part_of(*supply, element.from, element.to) * siemens;
                *parts.entry(*supply).or_default() += amperes;
            }
        }
        let nominal: Complex64 = parts.values().sum();
        let share = |((panel, bus), supply): ((ThingId, Bus), NodeId)| {
            let value = parts.get(&supply).copied().unwrap_or_default();
            let volts = network.fixed(supply).map_or(1.0, Complex64::norm).max(f64::MIN_POSITIVE);
            let (low, high) = self.sources.leg(panel, bus).map_or((volts, volts), |range| (range.low, range.high));
            Share { value, low: low / volts, high: high / volts }
        };
        let (low, high) = corners(self.legs().map(share).collect());
        Some((low, high, nominal.norm()))
    }

    fn legs(&self) -> impl Iterator<Item = ((ThingId, Bus), NodeId)> + '_ {
        self.circuit.panels.iter().flat_map(|(id, panel)| {
            panel.legs.iter().zip(&panel.supplies).map(|((bus, _), supply)| ((*id, *bus), *supply))
        })
    }
}

#[cfg(test)]
mod tests;
