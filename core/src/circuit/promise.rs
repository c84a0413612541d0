//! The switch table: for every combination of positions, what each load point gets; and whether that is what was
//! promised. It is worked out, never a proof: what was not noted it does not cover, and it says so first.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Handle, LoadPoint, Promised};

use super::build::{Circuit, LoadNode};
use super::connect::{Connectivity, Joined};
use super::group::Group;
use super::hazard::Hazard;
use super::network::{NodeId, State};
use super::point::{Boundary, Positions, Step};
use super::solve::Solver;

/// Most combinations of positions of one group that are worked out. Nine two-way handles have as many.
pub const MOST_COMBINATIONS: u64 = 512;

/// Whether a load point has power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Power {
    /// None.
    Off,
    /// Its rated voltage.
    On,
    /// Too little: behind another load, on one leg of two.
    Weak,
    /// Too much: across two legs.
    Over,
    /// No state that agrees with itself: it hunts on and off.
    Unsettled,
}

/// What a load point gets in one combination of positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gets {
    /// Whether it has power.
    pub power: Power,
    /// Volts RMS across it; across an outlet with nothing in it, as a low-impedance meter reads them.
    pub volts: f64,
    /// False where something at the unknown end of the map could give it power.
    pub seen: bool,
}

/// One combination of positions.
#[derive(Debug, Clone, PartialEq)]
pub struct TableRow {
    /// Positions of the group's handles, in order.
    pub at: Positions,
    /// What each load point of the group gets, in order.
    pub gets: Vec<Gets>,
}

/// The table of handles and load points that matter to one another.
#[derive(Debug, Clone, PartialEq)]
pub struct TableGroup {
    /// The handles.
    pub handles: Vec<Handle>,
    /// Handles of which nobody knows yet what up does. Which row is which is open for them; how many rows are on, and
    /// whether every flip toggles, is the same with either mapping.
    pub unmapped: BTreeSet<Handle>,
    /// The load points.
    pub loads: Vec<LoadPoint>,
    /// The rows; the first handle moves slowest.
    pub rows: Vec<TableRow>,
}

impl TableGroup {
    /// What a load point gets, row by row.
    pub fn column(&self, load: &LoadPoint) -> Option<Vec<Gets>> {
        let place = self.loads.iter().position(|other| other == load)?;
        self.rows.iter().map(|row| row.gets.get(place).copied()).collect()
    }
}

/// What the table does not cover.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum NotCovered {
    /// The map ends here.
    Boundary(Boundary),
    /// So many handles touch one another that their combinations were not worked out.
    TooMany {
        /// The handles.
        handles: Vec<Handle>,
        /// Their combinations.
        combinations: u64,
        /// The load points that are left out.
        loads: Vec<LoadPoint>,
    },
}

/// One combination of positions in which a promise is not kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// The positions.
    pub at: Positions,
    /// What the load point gets.
    pub power: Power,
    /// Whether it should have power.
    pub wanted: bool,
    /// A handle that was promised to toggle it and does not touch it.
    pub idle: Option<Handle>,
    /// The way through terminals and joints: from the bus to the load point where it has power and should not; else
    /// from the load point back to where its conductor ends.
    pub path: Vec<Step>,
}

/// How a promise stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// Kept in every combination.
    AsPromised,
    /// Kept, as far as the map goes.
    AsFarAsSeen,
    /// Not kept.
    Broken(Vec<Breach>),
    /// Kept, but a hazard touches it: nothing is said for it. Numbers of the hazards in their list.
    UnderHazard(Vec<usize>),
    /// The table does not cover it.
    NotCovered,
    /// "As found", and nothing was found to compare with.
    NothingToCompare,
}

/// How the promise to one load point stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// What was promised; "as found" where nothing was said.
    pub promised: Promised,
    /// In how many rows it has power.
    pub lit: usize,
    /// Of how many.
    pub rows: usize,
    /// Which row is which is known for every handle that touches it.
    pub mapped: bool,
    /// How it stands.
    pub outcome: Outcome,
}

/// The switch table of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchTable {
    /// What it does not cover.
    pub not_covered: Vec<NotCovered>,
    /// Its groups.
    pub groups: Vec<TableGroup>,
}

impl SwitchTable {
    /// Works the table out, breakers on, automatic contacts at rest.
    pub fn of(circuit: &Circuit) -> Self {
        let mut not_covered: Vec<NotCovered> = circuit.boundaries.keys().cloned().map(NotCovered::Boundary).collect();
        let solver = Solver::new(&circuit.network);
        let connectivity = Connectivity::new(&circuit.network, &[]);
        let sight = Sight { circuit, solver: &solver, connectivity: &connectivity };
        let mut groups = Vec::new();
        for group in circuit.groups() {
            match circuit.combinations(&group.handles) {
                Ok(states) => groups.push(sight.table(group, &states)),
                Err(combinations) => {
                    let Group { handles, loads } = group;
                    not_covered.push(NotCovered::TooMany { handles, combinations, loads });
                }
            }
        }
        Self { not_covered, groups }
    }

    /// The group of a load point.
    pub fn group_of(&self, load: &LoadPoint) -> Option<&TableGroup> {
        self.groups.iter().find(|group| group.loads.contains(load))
    }

    /// Compares the table with what was promised. `found` is the table of the layer as found, for load points that
    /// were promised nothing else; `hazards` are those of the same circuit.
    pub fn verdicts(
        &self,
        circuit: &Circuit,
        promises: &BTreeMap<LoadPoint, Promised>,
        found: Option<&Self>,
        hazards: &[Hazard],
    ) -> BTreeMap<LoadPoint, Verdict> {
        let points = circuit.loads.iter().filter(|(_, load)| !load.auxiliary).map(|(point, _)| point);
        let judge = Judge { table: self, circuit, found, hazards };
        points
            .map(|point| (point.clone(), judge.verdict(point, promises.get(point).unwrap_or(&Promised::AsFound))))
            .collect()
    }
}

impl Circuit {
    /// Every combination of positions of some handles, the others at rest; or their number if they are too many.
    pub(super) fn combinations(&self, handles: &[Handle]) -> Result<Vec<State>, u64> {
        let nodes: Vec<_> = handles.iter().filter_map(|handle| self.handles.get(handle)).collect();
        let count = nodes.iter().fold(1u64, |n, node| n.saturating_mul(node.positions.len().max(1) as u64));
        if count > MOST_COMBINATIONS {
            return Err(count);
        }
        let switches: Vec<_> = nodes.iter().map(|node| node.switch).collect();
        Ok(self.network.states(&switches, &self.rest()))
    }
}

struct Sight<'a> {
    circuit: &'a Circuit,
    solver: &'a Solver<'a>,
    connectivity: &'a Connectivity<'a>,
}

impl Sight<'_> {
    fn table(&self, group: Group, states: &[State]) -> TableGroup {
        let row = |state: &State| {
            let settled = self.circuit.settle(self.solver, state);
            let joined = self.connectivity.at(state);
            let loads = group.loads.iter().filter_map(|point| self.circuit.loads.get(point));
            let gets = loads.map(|load| self.gets(load, &settled, &joined)).collect();
            let at = group.handles.iter().filter_map(|handle| self.circuit.at(handle, state)).collect();
            TableRow { at, gets }
        };
        let rows = states.iter().map(row).collect();
        let unmapped = |handle: &&Handle| self.circuit.handles.get(*handle).is_some_and(|node| !node.mapped);
        let unmapped = group.handles.iter().filter(unmapped).cloned().collect();
        TableGroup { unmapped, rows, handles: group.handles, loads: group.loads }
    }

    fn gets(&self, load: &LoadNode, settled: &super::settle::Settled<'_>, joined: &Joined) -> Gets {
        let a = &self.circuit.assumptions;
        let solution = &settled.solution;
        // An empty outlet counts by what a loaded meter reads, so that a ghost is not taken for power.
        let volts = match load.element {
            Some(_) => solution.across(load.from, load.to).norm(),
            None => solution.across_burdened(load.from, load.to, a.low_impedance_meter.value).norm(),
        };
        let part = volts / load.volts;
        let power = if !settled.stable {
            Power::Unsettled
        } else if part < a.dead_part.value {
            Power::Off
        } else if part < a.live_low.value {
            Power::Weak
        } else if part <= a.live_high.value {
            Power::On
        } else {
            Power::Over
        };
        let seen = ![load.from, load.to].into_iter().any(|node| self.floats_at_a_boundary(node, joined));
        Gets { power, volts, seen }
    }

    /// Metal ties the node to no bus, and to an end that nobody knows.
    fn floats_at_a_boundary(&self, node: NodeId, joined: &Joined) -> bool {
        let floats = !self.circuit.buses().any(|bus| joined.joined(bus, node));
        floats && self.circuit.boundaries.values().flatten().any(|end| joined.joined(*end, node))
    }
}

struct Judge<'a> {
    table: &'a SwitchTable,
    circuit: &'a Circuit,
    found: Option<&'a SwitchTable>,
    hazards: &'a [Hazard],
}

impl Judge<'_> {
    fn verdict(&self, point: &LoadPoint, promised: &Promised) -> Verdict {
        let promised = promised.clone();
        let Some((group, column)) = self.table.group_of(point).and_then(|g| Some((g, g.column(point)?))) else {
            return Verdict { promised, lit: 0, rows: 0, mapped: false, outcome: Outcome::NotCovered };
        };
        let lit = column.iter().filter(|gets| gets.power != Power::Off).count();
        let wanted = match &promised {
            Promised::Always => Some(vec![true; column.len()]),
            Promised::Never => Some(vec![false; column.len()]),
            Promised::Toggled(handles) => Some(parity(group, &column, handles)),
            Promised::AsFound => self.as_found(point, group),
        };
        let outcome = match wanted {
            None => Outcome::NothingToCompare,
            Some(wanted) => self.outcome(point, group, &column, &wanted, &promised),
        };
        Verdict { promised, lit, rows: column.len(), mapped: group.unmapped.is_empty(), outcome }
    }

    fn outcome(
        &self,
        point: &LoadPoint,
        group: &TableGroup,
        column: &[Gets],
        wanted: &[bool],
        promised: &Promised,
    ) -> Outcome {
        let mut breaches: Vec<Breach> = Vec::new();
        for ((row, gets), wanted) in group.rows.iter().zip(column).zip(wanted) {
            let kept = gets.power == if *wanted { Power::On } else { Power::Off };
            if !kept {
                let path = self.explain(point, row, gets.power);
                let at = row.at.clone();
                breaches.push(Breach { at, power: gets.power, wanted: *wanted, idle: None, path });
            }
        }
        if let (Promised::Toggled(handles), Some(row), Some(gets)) = (promised, group.rows.first(), column.first()) {
            for handle in handles.iter().filter(|handle| !group.handles.contains(handle)) {
                let idle = Some(handle.clone());
                let (at, power) = (row.at.clone(), gets.power);
                breaches.push(Breach { at, power, wanted: power == Power::Off, idle, path: Vec::new() });
            }
        }
        if !breaches.is_empty() {
            return Outcome::Broken(breaches);
        }
        let hazards = self.hazards.iter().enumerate().filter(|(_, hazard)| hazard.loads.contains(point));
        let hazards: Vec<usize> = hazards.map(|(n, _)| n).collect();
        if !hazards.is_empty() {
            return Outcome::UnderHazard(hazards);
        }
        if column.iter().all(|gets| gets.seen) { Outcome::AsPromised } else { Outcome::AsFarAsSeen }
    }

    /// What the layer as found gives in the rows of this one. Handles that only one of the two has are matched with
    /// every position of theirs; unlike powers among them are a breach, shown by wanting what is not there.
    fn as_found(&self, point: &LoadPoint, group: &TableGroup) -> Option<Vec<bool>> {
        let before = self.found?.group_of(point)?;
        let column = before.column(point)?;
        let wanted = |row: &TableRow, now: Power| {
            let matching = before.rows.iter().zip(&column).filter(|(old, _)| {
                old.at.iter().all(|at| row.at.iter().all(|other| other.handle != at.handle || other == at))
            });
            let powers: BTreeSet<bool> = matching.map(|(_, gets)| gets.power != Power::Off).collect();
            let is = now != Power::Off;
            if powers.contains(&!is) { !is } else { is }
        };
        let now = group.column(point)?;
        Some(group.rows.iter().zip(now).map(|(row, gets)| wanted(row, gets.power)).collect())
    }

    fn explain(&self, point: &LoadPoint, row: &TableRow, power: Power) -> Vec<Step> {
        let Some(load) = self.circuit.loads.get(point) else { return Vec::new() };
        let state = self.circuit.state(&row.at, self.circuit.rest());
        let connectivity = Connectivity::new(&self.circuit.network, &[]);
        if power == Power::Off {
            missing(self.circuit, &connectivity, &state, load)
        } else {
            live(self.circuit, &connectivity, &state, load.from)
        }
    }
}

/// What parity wants, in the polarity that disagrees with fewer rows: a promise does not say which way round.
fn parity(group: &TableGroup, column: &[Gets], toggling: &BTreeSet<Handle>) -> Vec<bool> {
    let first: Positions = group.rows.first().map(|row| row.at.clone()).unwrap_or_default();
    let odd = |row: &TableRow| {
        let moved = row.at.iter().zip(&first).filter(|(at, at_first)| at != at_first);
        moved.filter(|(at, _)| toggling.contains(&at.handle)).count() % 2 == 1
    };
    let odd: Vec<bool> = group.rows.iter().map(odd).collect();
    let wrong = |flip: bool| {
        let pairs = odd.iter().zip(column);
        pairs.filter(|(odd, gets)| (gets.power != Power::Off) != (**odd != flip)).count()
    };
    let flip = wrong(true) <= wrong(false);
    odd.into_iter().map(|odd| odd != flip).collect()
}

/// The way from a leg to a node.
pub(super) fn live(circuit: &Circuit, connectivity: &Connectivity<'_>, state: &State, node: NodeId) -> Vec<Step> {
    let legs = circuit.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg));
    let ways = legs.filter_map(|leg| Some((leg, connectivity.path(state, leg, node)?)));
    let shortest = ways.min_by_key(|(_, way)| way.len());
    shortest.map(|(leg, way)| circuit.steps(leg, &way)).unwrap_or_default()
}

/// The way from a load point without power back to where its conductor ends: at an open contact whose other side is
/// tied to the bus that is missing, if there is one, else at the far end of its metal.
fn missing(circuit: &Circuit, connectivity: &Connectivity<'_>, state: &State, load: &LoadNode) -> Vec<Step> {
    let joined = connectivity.at(state);
    let legs: Vec<NodeId> = circuit.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg)).collect();
    let neutrals: Vec<NodeId> = circuit.panels.values().map(|panel| panel.neutral).collect();
    let tied = |node: NodeId, buses: &[NodeId]| buses.iter().any(|bus| joined.joined(*bus, node));
    let (start, wanted) = if tied(load.from, &legs) { (load.to, &neutrals) } else { (load.from, &legs) };
    let open = circuit.network.elements().iter().filter(|e| e.contact.is_some() && !e.present(state));
    let ends = open.flat_map(|e| [(e.from, e.to), (e.to, e.from)]);
    let near = ends.filter(|(here, there)| joined.joined(*here, start) && tied(*there, wanted));
    let ways = near.filter_map(|(here, _)| connectivity.path(state, start, here));
    if let Some(way) = ways.min_by_key(Vec::len) {
        return circuit.steps(start, &way);
    }
    let reach = circuit.network.nodes().filter(|node| joined.joined(*node, start));
    let ways = reach.filter_map(|node| connectivity.path(state, start, node));
    ways.max_by_key(Vec::len).map(|way| circuit.steps(start, &way)).unwrap_or_default()
}

#[cfg(test)]
mod tests;
