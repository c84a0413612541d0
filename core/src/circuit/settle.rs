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

#[cfg(test)]
mod tests {
    use super::super::invented::*;
    use super::*;
    use crate::job::{Bus, Place};

    /// Two electronic lamps of 12 W (1080 ohms, stopping below 60 V) side by side behind a lamp of 18 W (800 ohms).
    /// Together they would have 48 V and stop; one alone has about 69 V and stays. No outside source: divider by hand.
    #[test]
    fn of_two_starved_lamps_one_starts_again() {
        let mut invented = Invented::new();
        let breaker = invented.breaker("breaker-1p-15", Bus::A);
        let place = invented.a_box("nonmetallic-2g");
        let feed = invented.home_run("nm-14-2", breaker, place, 10);
        let before = invented.device("luminaire", place);
        invented.watts(before, "lamp", 18);
        invented.splice(place, &[far(feed, BLACK), lead(before, "hot")]);
        let middle = invented.splice(place, &[lead(before, "neutral")]);
        let neutral = invented.splice(place, &[far(feed, WHITE)]);
        let lamps = [0, 1].map(|_| {
            let lamp = invented.device("luminaire-led", place);
            invented.put(lead(lamp, "hot"), Place::Splice(middle));
            invented.put(lead(lamp, "neutral"), Place::Splice(neutral));
            lamp
        });
        let circuit = invented.circuit();
        let solver = Solver::new(&circuit.network);
        let settled = circuit.settle(&solver, &circuit.rest());
        assert!(settled.stable);
        let conducting: Vec<f64> = lamps
            .iter()
            .map(|device| {
                let load = &circuit.loads[&lamp(*device)];
                let volts = settled.solution.across(load.from, load.to).norm();
                assert!((volts - 69.0).abs() < 3.0, "{volts}");
                settled.solution.amperes(load.element.unwrap()).norm()
            })
            .collect();
        assert_eq!(conducting.iter().filter(|amperes| **amperes > 0.05).count(), 1, "{conducting:?}");
    }
}
