//! Solution with electronic loads, each of which draws nothing below a voltage: on and off until all agree.

use std::collections::BTreeSet;

use super::build::Circuit;
use super::network::State;
use super::solve::{Solution, Solver};

/// A solution in which every electronic load agrees with its own voltage, or the last one that was tried.
#[derive(Debug)]
pub struct Settled<'s> {
    /// The solution.
    pub solution: Solution<'s>,
    /// False if no assignment was found that agrees with itself: such a circuit hunts on and off.
    pub stable: bool,
}

const CONDUCTS: u8 = 0;
const STOPPED: u8 = 1;

impl Circuit {
    /// Solves a position. Electronic loads begin conducting; those without voltage stop; one that stopped starts
    /// again only if it then keeps its voltage, so that a ghost on a floating conductor starts nothing.
    pub fn settle<'s>(&self, solver: &'s Solver<'_>, state: &State) -> Settled<'s> {
        let mut state = self.electronic.iter().fold(state.clone(), |state, e| state.with(e.switch, CONDUCTS));
        let mut seen = BTreeSet::new();
        loop {
            let solution = solver.at(&state);
            if !seen.insert(state.clone()) {
                return Settled { solution, stable: false };
            }
            let starved = |e: &&super::build::Electronic| {
                state.position(e.switch) == CONDUCTS && solution.across(e.from, e.to).norm() < e.stops_below_volts
            };
            let stopping: Vec<_> = self.electronic.iter().filter(starved).collect();
            if !stopping.is_empty() {
                state = stopping.iter().fold(state, |state, e| state.with(e.switch, STOPPED));
                continue;
            }
            let starting = self.electronic.iter().find_map(|e| {
                let stopped = state.position(e.switch) == STOPPED;
                if !stopped || solution.across(e.from, e.to).norm() < e.stops_below_volts {
                    return None;
                }
                let tried = state.clone().with(e.switch, CONDUCTS);
                (solver.at(&tried).across(e.from, e.to).norm() >= e.stops_below_volts).then_some(tried)
            });
            match starting {
                Some(tried) => state = tried,
                None => return Settled { solution, stable: true },
            }
        }
    }
}
