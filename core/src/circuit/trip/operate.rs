//! What is left when power comes on: what opens is opened until nothing more opens.

use crate::job::Handle;

use super::super::build::{Circuit, Sensing};
use super::super::connect::Connectivity;
use super::super::network::{NodeId, State};
use super::super::settle::Settled;
use super::super::solve::Solver;
use super::{Trip, When};

/// A position after everything that opens by itself has opened.
#[derive(Debug)]
pub struct Operated<'s> {
    /// The solution that is left.
    pub settled: Settled<'s>,
    /// What opened, in that order, with what it saw; then what may open or cannot in the solution that is left.
    pub trips: Vec<Trip>,
    /// Devices that cannot be set: their load side is fed, their line side is not.
    pub locked: Vec<Handle>,
    /// The positions that are left.
    pub state: State,
}

impl Operated<'_> {
    /// What opened for sure.
    pub fn opened(&self) -> impl Iterator<Item = &Trip> {
        self.trips.iter().filter(|trip| trip.when.opens_within().is_some())
    }
}

impl Circuit {
    /// What happens when power comes on in a position. Opened is only what opens for sure, the quickest first; of
    /// devices that open within a tenth of a second any may be first, and all are opened.
    ///
    /// Each round opens one handle at least, so that it ends. Where controls hunt on and off, the last solution that
    /// was tried counts.
    pub fn operate<'s>(&self, solver: &'s Solver<'_>, state: &State) -> Operated<'s> {
        let locked = self.locked_out(state);
        let mut state = locked.iter().fold(state.clone(), |state, sensing| state.with(sensing.switch, sensing.opens));
        let locked = locked.into_iter().map(|sensing| sensing.handle.clone()).collect();
        let mut opened: Vec<Trip> = Vec::new();
        loop {
            let settled = self.settle(solver, &state);
            let trips = self.trips(&settled.solution);
            let now: Vec<Trip> = trips.iter().filter(|trip| self.opens_now(trip, &trips, &state)).cloned().collect();
            if now.is_empty() {
                let unsure = trips.into_iter().filter(|trip| trip.when.opens_within().is_none());
                return Operated { settled, trips: opened.into_iter().chain(unsure).collect(), locked, state };
            }
            state = now.iter().fold(state, |state, trip| match self.open_position(&trip.handle) {
                Some((switch, opens)) => state.with(switch, opens),
                None => state,
            });
            opened.extend(now);
        }
    }

    fn opens_now(&self, trip: &Trip, all: &[Trip], state: &State) -> bool {
        let first = all.iter().filter_map(|trip| trip.when.opens_within()).fold(f64::INFINITY, f64::min);
        let closed = self.open_position(&trip.handle).is_some_and(|(switch, opens)| state.position(switch) != opens);
        let together = self.trip_table.together.value;
        closed && trip.when.opens_within().is_some_and(|seconds| seconds <= first.max(together))
    }

    fn open_position(&self, handle: &Handle) -> Option<(super::super::network::SwitchId, u8)> {
        let sensors = self.sensors.iter().map(|sensing| (&sensing.handle, sensing.switch, sensing.opens));
        let breakers = self.breakers.iter().map(|breaking| (&breaking.handle, breaking.switch, breaking.opens));
        sensors.chain(breakers).find(|(of, ..)| *of == handle).map(|(_, switch, opens)| (switch, opens))
    }

    /// Devices that stay open because only their load side is fed. They are set one after the other as power
    /// reaches their line side; one that no power reaches on either side is left as it is.
    fn locked_out(&self, state: &State) -> Vec<&Sensing> {
        let mut open: Vec<&Sensing> = self
            .sensors
            .iter()
            .filter(|sensing| sensing.locks_out && state.position(sensing.switch) != sensing.opens)
            .collect();
        if open.is_empty() {
            return open;
        }
        let metal = Connectivity::new(&self.network, &[]);
        let legs: Vec<NodeId> = self.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg)).collect();
        loop {
            let tried = open.iter().fold(state.clone(), |state, sensing| state.with(sensing.switch, sensing.opens));
            let joined = metal.at(&tried);
            let fed = |nodes: &[NodeId]| nodes.iter().any(|node| legs.iter().any(|leg| joined.joined(*node, *leg)));
            let before = open.len();
            let (set, left): (Vec<_>, Vec<_>) = open.into_iter().partition(|sensing| fed(&sensing.line));
            if set.is_empty() || left.len() == before {
                return left.into_iter().filter(|sensing| fed(&sensing.load)).collect();
            }
            open = left;
        }
    }
}

impl When {
    /// Whether it is open for sure after a while.
    pub fn is_sure(self) -> bool {
        self.opens_within().is_some()
    }
}
