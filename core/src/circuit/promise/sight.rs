//! Row by row: what each load point gets in one combination of positions.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Handle, LoadPoint};

use super::super::build::{Circuit, LoadNode};
use super::super::connect::{Connectivity, Joined};
use super::super::group::{Group, Islands};
use super::super::network::{NodeId, State, Value};
use super::super::point::Boundary;
use super::super::settle::Settled;
use super::super::solve::Solver;
use super::super::sweep::Voltages;
use super::super::trip::Trip;
use super::calm::Calm;
use super::{AT_ONCE_SECONDS, Gets, Power, TableGroup, TableRow, Ways, reach};

/// Looks at the positions of a circuit.
pub(super) struct Sight<'a> {
    circuit: &'a Circuit,
    solver: &'a Solver<'a>,
    connectivity: &'a Connectivity<'a>,
    calm: Calm<'a>,
    touches: BTreeMap<Boundary, BTreeSet<LoadPoint>>,
}

/// What is left in a position when everything that opens at once has opened.
struct Left<'s> {
    settled: Settled<'s>,
    trips: Vec<Trip>,
    locked: Vec<Handle>,
    /// What metal joins then; none if nothing opened.
    joined: Option<Joined>,
}

impl<'a> Sight<'a> {
    pub(super) fn new(circuit: &'a Circuit, solver: &'a Solver<'a>, connectivity: &'a Connectivity<'a>) -> Self {
        let calm = Calm::new(circuit, connectivity);
        Self { circuit, solver, connectivity, calm, touches: BTreeMap::new() }
    }

    /// The ends of the map that could have changed what load points got in the rows so far.
    pub(super) fn touches(self) -> BTreeMap<Boundary, BTreeSet<LoadPoint>> {
        self.touches
    }

    /// The table of a group in some states.
    pub(super) fn table(&mut self, group: Group, states: &[State]) -> TableGroup {
        let rows = self.rows(&group, states);
        let unmapped = |handle: &&Handle| self.circuit.handles.get(*handle).is_some_and(|node| !node.mapped);
        let unmapped = group.handles.iter().filter(unmapped).cloned().collect();
        let positions = group.handles.iter().filter_map(|handle| self.circuit.handles.get(handle));
        let positions = positions.map(|node| node.positions.clone()).collect();
        let Group { handles, loads } = group;
        let (ways, at_rest) = (Ways::default(), Vec::new());
        let mut table = TableGroup { handles, positions, unmapped, ways, loads, rows, at_rest };
        table.ways.left = table.all_ways();
        table
    }

    /// A part of a group that was taken apart. What the handles at rest could change is not claimed.
    pub(super) fn part(&mut self, part: Group, all: &[Handle], islands: &Islands) -> TableGroup {
        let others = reach::Others::new(self.circuit, islands, &part.handles);
        let states = self.circuit.combinations(&part.handles).unwrap_or_default();
        let mut table = self.table(part, &states);
        for (row, state) in table.rows.iter_mut().zip(&states) {
            let held = others.held(state, &table.loads);
            for (gets, load) in row.gets.iter_mut().zip(&table.loads) {
                gets.seen &= held.contains(&load);
            }
        }
        table.at_rest = all.iter().filter(|handle| !table.handles.contains(handle)).cloned().collect();
        table
    }

    /// Solves all states side by side, and by itself each in which something works by itself.
    fn rows(&mut self, group: &Group, states: &[State]) -> Vec<TableRow> {
        let conducting: Vec<State> = states.iter().map(|state| self.calm.state(state)).collect();
        let loads: Vec<_> =
            group.loads.iter().filter_map(|point| Some((point, self.circuit.loads.get(point)?))).collect();
        let (mut rows, mut touches) = (Vec::with_capacity(states.len()), Vec::new());
        self.solver.sweep(&conducting, |n, found| {
            let (Some(state), Some(conducting)) = (states.get(n), conducting.get(n)) else { return };
            let joined = self.connectivity.at(state);
            let calm = self.calm.stays(conducting, found);
            let volts: Option<Vec<f64>> = if calm {
                loads.iter().map(|(_, load)| self.volts_of(load, &joined, (conducting, found))).collect()
            } else {
                None
            };
            let got: Vec<(Power, f64)>;
            let at = group.handles.iter().filter_map(|handle| self.circuit.at(handle, state)).collect();
            let mut row = TableRow { at, gets: Vec::new(), trips: Vec::new(), locked: Vec::new() };
            if let Some(volts) = volts {
                got = loads
                    .iter()
                    .zip(volts)
                    .map(|((_, load), volts)| (self.circuit.power_of(load, volts), volts))
                    .collect();
            } else {
                let left = self.left(state);
                got = loads.iter().map(|(_, load)| self.gets(load, &left, &joined)).collect();
                (row.trips, row.locked) = (left.trips, left.locked);
            }
            for ((point, load), (power, volts)) in loads.iter().zip(got) {
                let open = self.open_ends(load, &joined);
                row.gets.push(Gets { power, volts, seen: open.is_empty() });
                touches.extend(open.into_iter().map(|end| (end, (*point).clone())));
            }
            rows.push(row);
        });
        for (end, point) in touches {
            self.touches.entry(end).or_default().insert(point);
        }
        rows
    }

    /// Volts across a load point. Across an empty outlet they count by what a loaded meter reads, so that a ghost is
    /// not taken for power: where metal ties both sides to buses that is the same to less than a thousandth, elsewhere
    /// it is `None`, and the position is solved by itself.
    fn volts_of(&self, load: &LoadNode, joined: &Joined, (at, found): (&State, &Voltages<'_>)) -> Option<f64> {
        let firm = self.circuit.draws(load, at) || [load.from, load.to].iter().all(|node| self.is_tied(*node, joined));
        firm.then(|| found.across(load.from, load.to).norm())
    }

    fn is_tied(&self, node: NodeId, joined: &Joined) -> bool {
        self.circuit.buses().any(|bus| joined.joined(bus, node))
    }

    /// What is left in a position by itself.
    fn left(&self, state: &State) -> Left<'a> {
        let settled = self.circuit.settle(self.solver, state);
        let trips = self.circuit.trips(&settled.solution);
        let at_once = |trip: &Trip| trip.when.opens_within().is_some_and(|seconds| seconds <= AT_ONCE_SECONDS);
        if self.calm.all_set(state) && !trips.iter().any(at_once) {
            return Left { settled, trips, locked: Vec::new(), joined: None };
        }
        let operated = self.circuit.operate(self.solver, state);
        // Nothing opened at once after all: what takes its time has not happened yet.
        if operated.locked.is_empty() && !trips.iter().any(at_once) {
            return Left { settled, trips, locked: Vec::new(), joined: None };
        }
        let joined = Some(self.connectivity.at(&operated.state));
        Left { settled: operated.settled, trips: operated.trips, locked: operated.locked, joined }
    }

    fn gets(&self, load: &LoadNode, left: &Left<'_>, before: &Joined) -> (Power, f64) {
        let (power, volts) = self.circuit.power(load, &left.settled);
        // A bus that metal joined to one of its sides and that what opened has parted from it.
        let cut = |after: &Joined| {
            let parted = |bus: NodeId, side: NodeId| before.joined(bus, side) && !after.joined(bus, side);
            self.circuit.buses().any(|bus| parted(bus, load.from) || parted(bus, load.to))
        };
        match power {
            Power::Off if left.joined.as_ref().is_some_and(cut) => (Power::Tripped, volts),
            power => (power, volts),
        }
    }

    /// Ends that nobody knows, where metal ties a side of the load point to one and to no bus.
    fn open_ends(&self, load: &LoadNode, joined: &Joined) -> Vec<Boundary> {
        let floats = |node: &NodeId| !self.is_tied(*node, joined);
        let sides: Vec<NodeId> = [load.from, load.to].into_iter().filter(floats).collect();
        if sides.is_empty() {
            return Vec::new();
        }
        let touch = |nodes: &Vec<NodeId>| nodes.iter().any(|end| sides.iter().any(|side| joined.joined(*end, *side)));
        let ends = self.circuit.boundaries.iter().filter(|(_, nodes)| touch(nodes));
        ends.map(|(boundary, _)| boundary.clone()).collect()
    }
}

#[cfg(test)]
impl Sight<'_> {
    /// What load points get in a position solved by itself.
    pub(super) fn alone(&self, points: &[LoadPoint], state: &State) -> Vec<Power> {
        let (left, joined) = (self.left(state), self.connectivity.at(state));
        points
            .iter()
            .filter_map(|point| self.circuit.loads.get(point))
            .map(|load| self.gets(load, &left, &joined).0)
            .collect()
    }
}

impl Circuit {
    /// What a load point gets in a solution, and the volts RMS across it. One that draws nothing there (an empty
    /// outlet, a lamp that is missing, electronics that stopped) counts by what a loaded meter reads, so that a ghost
    /// is not taken for power.
    pub fn power(&self, load: &LoadNode, settled: &Settled<'_>) -> (Power, f64) {
        let solution = &settled.solution;
        let volts = if self.draws(load, solution.state()) {
            solution.across(load.from, load.to).norm()
        } else {
            let burden = self.assumptions.low_impedance_meter.value;
            solution.across_burdened(load.from, load.to, burden).norm()
        };
        (if settled.stable { self.power_of(load, volts) } else { Power::Unsettled }, volts)
    }

    /// Something is there that draws current.
    fn draws(&self, load: &LoadNode, state: &State) -> bool {
        let element = load.element.and_then(|id| self.network.element(id));
        element.is_some_and(|element| element.present(state) && element.value != Value::Open)
    }

    fn power_of(&self, load: &LoadNode, volts: f64) -> Power {
        let a = &self.assumptions;
        let part = volts / load.volts;
        if part < a.dead_part.value {
            Power::Off
        } else if part < a.live_low.value {
            Power::Weak
        } else if part <= a.live_high.value {
            Power::On
        } else {
            Power::Over
        }
    }
}
