//! Solution with what the voltages themselves work: electronic loads, each of which draws nothing below a voltage, and
//! contacts that a coil or their own electronics drive. On and off until all agree, or round in a circle.

use std::collections::BTreeSet;

use super::build::{Circuit, Electronic, Follower};
use super::network::{Element, State, Value};
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
        let mut state = self.conducting(state);
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

    /// A position with every electronic load conducting.
    pub(super) fn conducting(&self, state: &State) -> State {
        self.electronic.iter().fold(state.clone(), |state, e| state.with(e.switch, CONDUCTS))
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
        let draws = |element: &&Element| element.present(solution.state()) && element.value != Value::Open;
        let volts = match element.filter(draws) {
            Some(element) => solution.across(element.from, element.to).norm(),
            None => 0.0,
        };
        let rated = load.map_or(f64::INFINITY, |load| load.volts);
        let (pulls_in, drops_out) = (self.trip_table.coil_pulls_in.value, self.trip_table.coil_drops_out.value);
        let electronic = element.is_some_and(|element| element.contact.is_some());
        match follower.pulled_in {
            Some(pulled_in) if now == follower.released => {
                if volts >= pulls_in * rated {
                    pulled_in
                } else {
                    now
                }
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
    /// small lamp glow or flash, or if something beside it keeps its volts down. Above that nobody can say whether a
    /// lamp glows: its make decides.
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
        // What lies beside the lamp takes the leak and keeps the volts too low.
        if volts < self.assumptions.dead_part.value * node.volts {
            return None;
        }
        let milliamperes = volts / solution.thevenin_ohms(node.from, node.to).norm() * 1000.0;
        (milliamperes >= self.trip_table.glow.value).then_some(milliamperes)
    }
}

#[cfg(test)]
mod tests {
    use super::super::fault::Fault;
    use super::super::invented::*;
    use super::super::promise::{Power, SwitchTable};
    use super::*;
    use crate::job::{Bus, LoadPoint, Place, ThingId};

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

    /// A lamp at the end of a switch loop; the device of a wall box on its black and its white.
    fn loop_with(kind: &str, switched: &str, lamp_kind: &str) -> (Invented, ThingId, LoadPoint) {
        let mut invented = Invented::new();
        let breaker = invented.breaker("breaker-1p-15", Bus::A);
        let (ceiling, place) = (invented.a_box("octagon-4-1.5"), invented.a_box("nonmetallic-1g"));
        let feed = invented.home_run("nm-14-2", breaker, ceiling, 30);
        let down = invented.run("nm-14-2", ceiling, Some(place), 12);
        let (fixture, device) = (invented.device(lamp_kind, ceiling), invented.device(kind, place));
        invented.splice(ceiling, &[far(feed, BLACK), near(down, WHITE)]);
        invented.splice(ceiling, &[near(down, BLACK), lead(fixture, "hot")]);
        invented.splice(ceiling, &[far(feed, WHITE), lead(fixture, "neutral")]);
        invented.splice(ceiling, &[far(feed, BARE_2), near(down, BARE_2), lead(fixture, "ground")]);
        for (wire, point) in [(WHITE, "line"), (BLACK, switched), (BARE_2, "ground")] {
            if kind == "switch-1p" {
                invented.land(far(down, wire), device, point);
            } else {
                invented.splice(place, &[far(down, wire), lead(device, point)]);
            }
        }
        (invented, device, lamp(fixture))
    }

    fn powers(invented: &Invented, load: &LoadPoint) -> Vec<Power> {
        column(&SwitchTable::of(&invented.circuit()), load)
    }

    /// A relay that draws its supply through the lamp that it switches goes on and off; a real two-wire dimmer keeps a
    /// part for itself. From a public report of a lamp relay's firmware tracker: closing shorts its own supply.
    #[test]
    fn a_relay_fed_through_its_own_lamp_goes_on_and_off() {
        let (touch, _, lamp) = loop_with("switch-touch-2wire", "switched", "luminaire");
        assert_eq!(powers(&touch, &lamp), [Power::Unsettled, Power::Off]);
        let (dimmer, _, lamp) = loop_with("dimmer-2wire", "switched", "luminaire");
        assert_eq!(powers(&dimmer, &lamp), [Power::On, Power::Off]);
        // The lamp taken out, the relay has no supply and stays open: the same report.
        let (mut touch, device, lamp) = loop_with("switch-touch-2wire", "switched", "luminaire");
        touch.watts(lamp.device, "lamp", 0);
        let circuit = touch.circuit();
        let solver = Solver::new(&circuit.network);
        let settled = circuit.settle(&solver, &circuit.state(&[at(device, "on")], circuit.rest()));
        assert!(settled.stable);
        assert_eq!(circuit.at(&handle(device), settled.solution.state()).unwrap().position, "off");
    }

    /// What is taken for a neutral is the switched conductor of the loop: the same report. With a real neutral the
    /// device works; without any it is dead.
    #[test]
    fn electronics_on_a_wrong_neutral_go_on_and_off() {
        let (mut wrong, device, lamp) = loop_with("switch-smart", "switched", "luminaire");
        let splice = wrong.wiring.splices.keys().copied().find(|splice| {
            let at = wrong.wiring.tips.get(&lead(device, "switched")).and_then(|note| note.place.get());
            at == Some(&Place::Splice(*splice))
        });
        wrong.put(lead(device, "neutral"), Place::Capped);
        assert_eq!(powers(&wrong, &lamp), [Power::Off, Power::Off], "no supply at all");
        wrong.put(lead(device, "neutral"), Place::Splice(splice.unwrap()));
        assert_eq!(powers(&wrong, &lamp), [Power::Unsettled, Power::Off]);

        let mut invented = Invented::new();
        let breaker = invented.breaker("breaker-1p-15", Bus::A);
        let place = invented.a_box("nonmetallic-2g");
        let feed = invented.home_run("nm-14-2", breaker, place, 30);
        let (device, fixture) = (invented.device("switch-smart", place), invented.device("luminaire", place));
        invented.splice(place, &[far(feed, BLACK), lead(device, "line")]);
        invented.splice(place, &[far(feed, WHITE), lead(device, "neutral"), lead(fixture, "neutral")]);
        invented.splice(place, &[lead(device, "switched"), lead(fixture, "hot")]);
        let lamp = super::super::invented::lamp(fixture);
        assert_eq!(powers(&invented, &lamp), [Power::On, Power::Off]);
    }

    /// A wall switch, a coil, and a load on the contacts from another breaker.
    fn contactor(coil_behind_a_lamp: bool) -> (Invented, ThingId, LoadPoint) {
        let mut invented = Invented::new();
        let breakers = [Bus::A, Bus::B].map(|leg| invented.breaker("breaker-1p-15", leg));
        let place = invented.a_box("nonmetallic-2g");
        let [control, power] = breakers.map(|breaker| invented.home_run("nm-14-2", breaker, place, 30));
        let (switch, relay) = (invented.device("switch-1p", place), invented.device("contactor-2p", place));
        let load = invented.device("load-120", place);
        invented.land(far(control, BLACK), switch, "line");
        let jumper = |invented: &mut Invented, from: (ThingId, &str), to: (ThingId, &str)| {
            let wire = invented.run("pigtail-14-black", place, Some(place), 1);
            invented.land(near(wire, 0), from.0, from.1);
            invented.land(far(wire, 0), to.0, to.1);
        };
        if coil_behind_a_lamp {
            let lamp = invented.device("luminaire", place);
            invented.watts(lamp, "lamp", 1);
            let wire = invented.run("pigtail-14-black", place, Some(place), 1);
            invented.land(near(wire, 0), switch, "switched");
            invented.splice(place, &[far(wire, 0), lead(lamp, "hot")]);
            invented.land(lead(lamp, "neutral"), relay, "coil_1");
        } else {
            jumper(&mut invented, (switch, "switched"), (relay, "coil_1"));
        }
        invented.land(far(control, WHITE), relay, "coil_2");
        invented.land(far(power, BLACK), relay, "line_1");
        invented.land(lead(load, "hot"), relay, "load_1");
        invented.splice(place, &[far(power, WHITE), lead(load, "neutral")]);
        (invented, switch, outlet(load, "load"))
    }

    #[test]
    fn contacts_follow_their_coil_and_the_switch_of_the_coil_is_the_loads_own() {
        let (invented, switch, load) = contactor(false);
        let table = SwitchTable::of(&invented.circuit());
        assert_eq!(table.group_of(&load).unwrap().handles, [handle(switch)]);
        assert_eq!(column(&table, &load), [Power::On, Power::Off]);
        // A lamp of 1 W (14 400 ohms) before a coil of 6 W at a power factor of 0.4 (960 ohms) leaves the coil about
        // 8 V, by hand: it does not pull in.
        let (invented, _, load) = contactor(true);
        assert_eq!(powers(&invented, &load), [Power::Off, Power::Off]);
        // Nor does one whose coil is gone, whether that is noted or supposed.
        let (mut invented, _, load) = contactor(false);
        let relay = invented.wiring.devices.iter().find(|(_, n)| n.kind.get().is_some_and(|k| k == "contactor-2p"));
        let relay = *relay.unwrap().0;
        let missing = Fault::Missing(outlet(relay, "coil"));
        let supposed = invented.circuit().with_faults(&[missing]).unwrap();
        assert_eq!(column(&SwitchTable::of(&supposed), &load), [Power::Off, Power::Off]);
        invented.watts(relay, "coil", 0);
        assert_eq!(powers(&invented, &load), [Power::Off, Power::Off]);
    }

    /// Sealed in: through its own contact a coil never starts, and once pulled in it holds.
    #[test]
    fn a_coil_behind_its_own_contact_holds_and_does_not_start() {
        let mut invented = Invented::new();
        let breaker = invented.breaker("breaker-1p-15", Bus::A);
        let place = invented.a_box("nonmetallic-2g");
        let feed = invented.home_run("nm-14-2", breaker, place, 30);
        let relay = invented.device("contactor-2p", place);
        let wire = invented.run("pigtail-14-black", place, Some(place), 1);
        invented.land(far(feed, BLACK), relay, "line_1");
        invented.land(near(wire, 0), relay, "load_1");
        invented.land(far(wire, 0), relay, "coil_1");
        invented.land(far(feed, WHITE), relay, "coil_2");
        let circuit = invented.circuit();
        let solver = Solver::new(&circuit.network);
        let contacts = crate::job::Handle { device: relay, switch: "contacts".to_owned() };
        for position in ["released", "pulled_in"] {
            let asked = crate::job::At { handle: contacts.clone(), position: position.to_owned() };
            let settled = circuit.settle(&solver, &circuit.state(std::slice::from_ref(&asked), circuit.rest()));
            assert!(settled.stable);
            assert_eq!(circuit.at(&contacts, settled.solution.state()).unwrap(), asked);
        }
    }

    /// Noted with no watts, a lamp is missing or burnt out: nothing flows, nothing was taken for so, and its holder
    /// has the whole voltage.
    #[test]
    fn a_lamp_without_watts_is_an_open_load() {
        let (mut invented, _, lamp) = loop_with("switch-1p", "switched", "luminaire");
        invented.watts(lamp.device, "lamp", 0);
        let circuit = invented.circuit();
        assert!(circuit.loads[&lamp].element.is_none());
        assert!(!circuit.taken.iter().any(|taken| matches!(taken, super::super::Taken::Watts(of) if *of == lamp)));
        assert_eq!(powers(&invented, &lamp), [Power::On, Power::Off]);
    }

    /// An electronic lamp behind a two-wire dimmer that is off: its supply of 0.3 W at 120 V is 48 kilohms, so that at
    /// most 2.5 mA leak, by hand. Behind a plain switch there is nothing but 12 ft of cable; conducting, no leak.
    #[test]
    fn a_small_lamp_may_glow_behind_a_dimmer_that_is_off() {
        let leaks = |kind: &str, position: &str| {
            let (invented, device, lamp) = loop_with(kind, "switched", "luminaire-led");
            let circuit = invented.circuit();
            let solver = Solver::new(&circuit.network);
            let settled = circuit.settle(&solver, &circuit.state(&[at(device, position)], circuit.rest()));
            circuit.glow_milliamperes(&solver, &settled, &lamp)
        };
        let off = leaks("dimmer-2wire", "off").unwrap();
        assert!((off - 2.5).abs() < 0.1, "{off} mA");
        assert_eq!(leaks("dimmer-2wire", "on"), None);
        // 12 ft at 21 pF/ft beside the live conductor: 120 V x 377/s x 0.25 nF = 0.011 mA, by hand.
        assert_eq!(leaks("switch-1p", "off"), None);
    }

    /// A bypass of 3 W at 120 V (4.8 kilohms) beside the lamp, behind the 48 kilohms of the dimmer's supply: the lamp has
    /// 120 x 4.8 / 52.8 = 10.9 V, by hand, and stays dark.
    #[test]
    fn a_bypass_keeps_a_small_lamp_dark_and_feeds_the_dimmer() {
        let (mut invented, device, lamp) = loop_with("dimmer-2wire", "switched", "luminaire-led");
        let place_of = |invented: &Invented, name: &str| {
            invented.wiring.tips[&lead(lamp.device, name)].place.get().cloned().unwrap()
        };
        let (hot, neutral) = (place_of(&invented, "hot"), place_of(&invented, "neutral"));
        let ceiling = invented.wiring.devices[&lamp.device].in_box.get().copied().flatten().unwrap();
        let bypass = invented.device("load-bypass", ceiling);
        invented.put(lead(bypass, "hot"), hot);
        invented.put(lead(bypass, "neutral"), neutral);
        let circuit = invented.circuit();
        let solver = Solver::new(&circuit.network);
        let settled = circuit.settle(&solver, &circuit.state(&[at(device, "off")], circuit.rest()));
        assert_eq!(circuit.glow_milliamperes(&solver, &settled, &lamp), None);
        let load = &circuit.loads[&lamp];
        let volts = settled.solution.across(load.from, load.to).norm();
        assert!((volts - 10.9).abs() < 0.1, "{volts}");
    }
}
