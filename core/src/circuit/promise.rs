//! The switch table: for every combination of positions, what each load point gets; and whether that is what was
//! promised. It is worked out, never a proof: what was not noted it does not cover, and it says so first.
//!
//! # How many positions
//! Handles that can matter to one another are a group, and every combination of a group's positions is worked out, up
//! to [`MOST_COMBINATIONS`]. Breakers are on and automatic contacts (sensors, timers) at rest: no position of theirs is
//! a row. Where a breaker, a fuse or a ground-fault device opens in a row, the row says so; what opens within
//! [`AT_ONCE_SECONDS`] leaves its load points without power, what takes longer is only told. A group with more combinations is taken apart by load point (see `promise/reach.rs`): each
//! gets the rows of the handles that metal can bring to it, the others at rest. A load point that has too many of its
//! own is left out, and the table says so; nothing ever grows as 2^n beyond the limit.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Handle, LoadPoint, Promised};

use super::build::Circuit;
use super::connect::Connectivity;
use super::group::Islands;
use super::hazard::Hazard;
use super::network::State;
use super::point::{Boundary, Point, Positions, Step};
use super::solve::Solver;
use super::trip::Trip;

mod calm;
mod classes;
mod mapping;
mod reach;
mod sight;
mod verdict;

pub use classes::{Class, Parity};
pub use mapping::{Named, Ways};
use sight::Sight;

/// Most combinations of positions of one group that are worked out. Nine two-way handles have as many.
pub const MOST_COMBINATIONS: u64 = 512;

/// What opens within so many seconds counts as open in a row: nobody sees a lamp light before it does. A person's
/// measure, from no source.
pub const AT_ONCE_SECONDS: f64 = 1.0;

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
    /// None, because a breaker, a fuse or a ground-fault device opens as soon as power comes on.
    Tripped,
}

impl Power {
    /// Whether there is none.
    pub fn is_none(self) -> bool {
        matches!(self, Self::Off | Self::Tripped)
    }
}

/// What a load point gets in one combination of positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gets {
    /// Whether it has power.
    pub power: Power,
    /// Volts RMS across it; across an outlet with nothing in it, as a low-impedance meter reads them.
    pub volts: f64,
    /// False where something that was not looked at could give it power: an unknown end of the map, or, in a group
    /// that was taken apart, another handle of it.
    pub seen: bool,
}

/// One combination of positions.
#[derive(Debug, Clone, PartialEq)]
pub struct TableRow {
    /// Positions of the group's handles, in order.
    pub at: Positions,
    /// What each load point of the group gets, in order.
    pub gets: Vec<Gets>,
    /// What protective devices do in this position: what opens, may open, or should and cannot.
    pub trips: Vec<Trip>,
    /// Ground-fault devices that cannot be set, because only their load side is fed.
    pub locked: Vec<Handle>,
}

impl TableRow {
    /// What opens as soon as power comes on.
    pub fn opened(&self) -> impl Iterator<Item = &Handle> {
        let at_once = |trip: &&Trip| trip.when.opens_within().is_some_and(|seconds| seconds <= AT_ONCE_SECONDS);
        self.trips.iter().filter(at_once).map(|trip| &trip.handle).chain(&self.locked)
    }
}

/// The table of handles and load points that matter to one another.
#[derive(Debug, Clone, PartialEq)]
pub struct TableGroup {
    /// The handles.
    pub handles: Vec<Handle>,
    /// The positions of each handle, in the order in which the rows go through them.
    pub positions: Vec<Vec<String>>,
    /// Handles of which nobody knows yet what up does. Which row is which is open for them; how many rows are on, and
    /// whether every flip toggles, is the same with either mapping.
    pub unmapped: BTreeSet<Handle>,
    /// Which way round those may stand, as far as trials leave it open.
    pub ways: Ways,
    /// The load points.
    pub loads: Vec<LoadPoint>,
    /// The rows; the first handle moves slowest.
    pub rows: Vec<TableRow>,
    /// Handles of the same group that stood at rest, because it was taken apart.
    pub at_rest: Vec<Handle>,
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
    /// So many handles can be brought to these load points that their combinations were not worked out.
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
    /// The positions, named as far as trials tell which way round handles stand.
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
    /// Where the path ends at an open contact: its other side, where what is missing waits.
    pub waits: Option<Point>,
    /// What opens at once in this position.
    pub opened: Vec<Handle>,
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
    /// Which row is which is known for it.
    pub mapped: bool,
    /// The first row in which it has power, and the way from the bus to it; for promises that name it.
    pub fed: Option<(Positions, Vec<Step>)>,
    /// How it stands.
    pub outcome: Outcome,
}

/// The switch table of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchTable {
    /// What it does not cover.
    pub not_covered: Vec<NotCovered>,
    /// Its groups; those that were taken apart are several, in which a handle may stand more than once.
    pub groups: Vec<TableGroup>,
    /// Ends of the map that could change what load points get.
    pub touches: BTreeMap<Boundary, BTreeSet<LoadPoint>>,
}

impl SwitchTable {
    /// Works the table out, breakers on, automatic contacts at rest.
    pub fn of(circuit: &Circuit) -> Self {
        let mut not_covered: Vec<NotCovered> = circuit.boundaries.keys().cloned().map(NotCovered::Boundary).collect();
        let solver = Solver::new(&circuit.network);
        let connectivity = Connectivity::new(&circuit.network, &[]);
        let islands = Islands::of(circuit);
        let mut sight = Sight::new(circuit, &solver, &connectivity);
        let mut groups = Vec::new();
        let mut ways = None;
        for group in circuit.groups_of(&islands) {
            if let Ok(states) = circuit.combinations(&group.handles) {
                groups.push(sight.table(group, &states));
                continue;
            }
            let apart = ways.get_or_insert_with(|| reach::Ways::of(circuit, &islands)).apart(&group);
            for part in apart.parts {
                groups.push(sight.part(part, &group.handles, &islands));
            }
            not_covered.extend(apart.left_out.into_iter().map(|part| NotCovered::TooMany {
                combinations: circuit.count_combinations(&part.handles),
                handles: part.handles,
                loads: part.loads,
            }));
        }
        Self { not_covered, groups, touches: sight.touches() }
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
        let judge = verdict::Judge::new(self, circuit, (found, hazards));
        points
            .map(|point| (point.clone(), judge.verdict(point, promises.get(point).unwrap_or(&Promised::AsFound))))
            .collect()
    }
}

impl Circuit {
    /// How many combinations of positions some handles have.
    pub(super) fn count_combinations(&self, handles: &[Handle]) -> u64 {
        let counts = handles.iter().filter_map(|handle| self.handles.get(handle)).map(|node| node.positions.len());
        counts.fold(1u64, |n, count| n.saturating_mul(count.max(1) as u64))
    }

    /// Every combination of positions of some handles, the others at rest; or their number if they are too many.
    pub(super) fn combinations(&self, handles: &[Handle]) -> Result<Vec<State>, u64> {
        let count = self.count_combinations(handles);
        if count > MOST_COMBINATIONS {
            return Err(count);
        }
        let nodes = handles.iter().filter_map(|handle| self.handles.get(handle));
        let switches: Vec<_> = nodes.map(|node| node.switch).collect();
        Ok(self.network.states(&switches, &self.rest()))
    }
}

#[cfg(test)]
mod tests;

#[cfg(test)]
mod many;
