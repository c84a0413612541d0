//! Solution with what the voltages themselves work: electronic loads, each of which draws nothing below a voltage, and
//! contacts that a coil or their own electronics drive. On and off until all agree, or round in a circle.

use std::collections::BTreeSet;

use super::build::{Circuit, Electronic, Follower};
use super::network::State;
use super::solve::{Solution, Solver};

/// A solution in which every electronic load and every driven contact agrees with its own voltage, or the last one
/// that was tried.
#[derive(Debug)]
pub struct Settled<'s> {
    /// The solution. Its state is that of the driven contacts too.
    pub solution: Solution<'s>,
    /// False if no assignment was found that agrees with itself: such a circuit goes on and off.
    pub stable: bool,
}

const CONDUCTS: u8 = 0;
const STOPPED: u8 = 1;

impl Circuit {
    /// Solves a position. Electronic loads begin conducting; those without voltage stop; one that stopped starts
    /// again only if it then keeps its voltage, so that a ghost on a floating conductor starts nothing. When the loads
    /// agree, driven contacts move, all at once, and the loads are asked again.
    pub fn settle<'s>(&self, solver: &'s Solver<'_>, state: &State) -> Settled<'s> {
        let mut state = self.electronic.iter().fold(state.clone(), |state, e| state.with(e.switch, CONDUCTS));
        let asked = state.clone();
        let mut seen = BTreeSet::new();
        loop {
            let solution = solver.at(&state);
            if !seen.insert(state.clone()) {
                return Settled { solution, stable: false };
            }
            let next = self
                .stopping(&solution, &state)
                .or_else(|| self.starting(solver, &solution, &state))
                .or_else(|| self.following(&solution, &state, &asked));
            match next {
                Some(next) => state = next,
                None => return Settled { solution, stable: true },
            }
        }
    }

    /// Loads that conduct below their voltage stop, all at once.
    fn stopping(&self, solution: &Solution<'_>, state: &State) -> Option<State> {
        let starved = |e: &&Electronic| {
            state.position(e.switch) == CONDUCTS && solution.across(e.from, e.to).norm() < e.stops_below_volts
        };
        let mut stopping = self.electronic.iter().filter(starved).peekable();
        stopping.peek()?;
        Some(stopping.fold(state.clone(), |state, e| state.with(e.switch, STOPPED)))
    }

    /// The first load that stopped and would keep its voltage starts.
    fn starting(&self, solver: &Solver<'_>, solution: &Solution<'_>, state: &State) -> Option<State> {
        self.electronic.iter().find_map(|e| {
            let stopped = state.position(e.switch) == STOPPED;
            if !stopped || solution.across(e.from, e.to).norm() < e.stops_below_volts {
                return None;
            }
            let tried = state.clone().with(e.switch, CONDUCTS);
            (solver.at(&tried).across(e.from, e.to).norm() >= e.stops_below_volts).then_some(tried)
        })
    }

    /// Contacts that do not stand where their coil or their electronics want them move.
    fn following(&self, solution: &Solution<'_>, state: &State, asked: &State) -> Option<State> {
        let moves = self.followers.iter().filter_map(|follower| {
            let now = state.position(follower.switch);
            let wanted = self.wanted(follower, now, solution, asked);
            (wanted != now).then_some((follower.switch, wanted))
        });
        let mut moves = moves.peekable();
        moves.peek()?;
        Some(moves.fold(state.clone(), |state, (switch, position)| state.with(switch, position)))
    }

    fn wanted(&self, follower: &Follower, now: u8, solution: &Solution<'_>, asked: &State) -> u8 {
        let load = self.loads.get(&follower.load);
        let element = load.and_then(|load| load.element).and_then(|id| self.network.element(id));
        // A coil that is not there pulls nothing; electronics that stopped hold nothing.
        let volts = match element.filter(|element| element.present(solution.state())) {
            Some(element) => solution.across(element.from, element.to).norm(),
            None => 0.0,
        };
        let rated = load.map_or(f64::INFINITY, |load| load.volts);
        let (pulls_in, drops_out) = (self.trip_table.coil_pulls_in.value, self.trip_table.coil_drops_out.value);
        let electronic = element.is_some_and(|element| element.contact.is_some());
        match follower.pulled_in {
            Some(pulled_in) if now == follower.released => {
                if volts >= pulls_in * rated { pulled_in } else { now }
            }
            Some(_) if volts < drops_out * rated => follower.released,
            Some(_) => now,
            // An electronic load that still conducts has all it needs.
            None if volts > 0.0 && (electronic || volts >= drops_out * rated) => asked.position(follower.switch),
            None => follower.released,
        }
    }

    /// The current in milliamperes that leaks through a stopped electronic load by way of controls that draw their
    /// supply through it, or of cables beside it; none if it conducts, is not electronic, or leaks less than makes a
    /// small lamp glow or flash. Above that nobody can say whether a lamp glows: its make decides.
    pub fn glow_milliamperes(
        &self,
        solver: &Solver<'_>,
        settled: &Settled<'_>,
        load: &crate::job::LoadPoint,
    ) -> Option<f64> {
        let node = self.loads.get(load)?;
        let contact = self.network.element(node.element?)?.contact?;
        let own = self.electronic.iter().find(|e| e.switch == contact.switch)?;
        let state = settled.solution.state();
        if state.position(own.switch) != STOPPED {
            return None;
        }
        // The capacitor of the lamp is empty at first: it takes what the supplies of controls let through.
        let supplies = self.loads.values().filter(|load| load.auxiliary).filter_map(|load| load.element);
        let contacts = supplies.filter_map(|id| self.network.element(id)?.contact);
        let leaking = contacts.fold(state.clone(), |state, contact| state.with(contact.switch, CONDUCTS));
        let solution = solver.at(&leaking);
        let volts = solution.across(node.from, node.to).norm();
        let milliamperes = volts / solution.thevenin_ohms(node.from, node.to).norm() * 1000.0;
        (milliamperes >= self.trip_table.glow.value).then_some(milliamperes)
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
