//! Systems, bonds, raceways, open wiring, other supplies: each on a small wiring, by hand.

use super::invented::*;
use super::*;
use crate::job::value::{SupplyKind, System};
use crate::job::{Bus, Colour, LoadPoint, Mode, Pair, Place, Spot, ThingId, Tip};

fn across(circuit: &Circuit, at: &[crate::job::At], from: &Spot, to: &Spot) -> f64 {
    let solver = Solver::new(&circuit.network);
    let state = circuit.state(at, circuit.rest());
    let (from, to) = (circuit.node(from).unwrap(), circuit.node(to).unwrap());
    circuit.settle(&solver, &state).solution.across(from, to).norm()
}

fn amperes(circuit: &Circuit, run: ThingId, wire: u8) -> f64 {
    let solver = Solver::new(&circuit.network);
    let id = circuit.elements_where(|part| *part == Part::Conductor { run, wire })[0];
    circuit.settle(&solver, &circuit.rest()).solution.amperes(id).norm()
}

fn bus(panel: ThingId, bus: Bus) -> Spot {
    Spot::Bus { panel, bus }
}

/// 208Y/120: 120 V to neutral, 120 x sqrt 3 = 207.85 V between any two legs, also on a breaker of two poles.
#[test]
fn three_phase_reads_208_between_legs() {
    let mut invented = Invented::new();
    invented.system(System::Wye208);
    let panel = invented.panel;
    let breaker = invented.breaker("breaker-2p-20", Bus::C);
    let circuit = invented.circuit();
    for (one, other) in [(Bus::A, Bus::B), (Bus::B, Bus::C), (Bus::C, Bus::A)] {
        assert!((across(&circuit, &[], &bus(panel, one), &bus(panel, other)) - 207.846).abs() < 0.001);
        assert!((across(&circuit, &[], &bus(panel, one), &bus(panel, Bus::Neutral)) - 120.0).abs() < 0.001);
    }
    let terminal = |name: &str| Spot::Terminal { device: breaker, terminal: name.to_owned() };
    assert!((across(&circuit, &[], &terminal("load_1"), &terminal("load_2")) - 207.846).abs() < 0.001);
    assert_eq!(circuit.poles.iter().map(|pole| pole.leg.1).collect::<Vec<_>>(), [Bus::C, Bus::A]);
}

/// A neutral shared by three legs of 208Y/120: three equal loads leave nothing in it, two of three leave the current
/// of one (10 A for 1200 W): the sum of two phasors 120 degrees apart is as long as each.
#[test]
fn a_neutral_shared_by_three_legs_carries_what_does_not_cancel() {
    for (loads, expected) in [(3, 0.0), (2, 10.0), (1, 10.0)] {
        let mut invented = Invented::new();
        invented.system(System::Wye208);
        let panel = invented.panel;
        let place = invented.a_box("square-4-2.125");
        let run = invented.run("emt", panel, Some(place), 2);
        let colours = [Colour::Black, Colour::Red, Colour::Blue, Colour::White];
        for (n, colour) in (0u8..).zip(colours) {
            invented.wire(run, n, colour, "12");
        }
        invented.put(near(run, 3), Place::Bus { panel, bus: Bus::Neutral });
        let neutral = invented.splice(place, &[far(run, 3)]);
        for (n, leg) in (0u8..).zip([Bus::A, Bus::B, Bus::C]) {
            let breaker = invented.breaker("breaker-1p-20", leg);
            invented.land(near(run, n), breaker, "load");
            if n >= loads {
                invented.put(far(run, n), Place::Capped);
                continue;
            }
            let heater = invented.device("heater-120", place);
            invented.watts(heater, "heater", 1200);
            invented.splice(place, &[far(run, n), lead(heater, "hot")]);
            invented.put(lead(heater, "neutral"), Place::Splice(neutral));
        }
        let read = amperes(&invented.circuit(), run, 3);
        assert!((read - expected).abs() < 0.1, "{loads} {read}");
    }
}

/// 230 V, 50 Hz: 2300 W draw 10 A, and the frequency is in the inductance: 230 W at 0.5 draw 2 A.
#[test]
fn single_phase_230_volts_at_50_hertz() {
    let mut invented = Invented::new();
    invented.system(System::Single230);
    let circuit = invented.circuit();
    assert!((circuit.network.hertz() - 50.0).abs() < 1e-9);
    assert!(
        (across(&circuit, &[], &bus(invented.panel, Bus::A), &bus(invented.panel, Bus::Neutral)) - 230.0).abs() < 1e-6
    );
    let draws = |watts: f64, factor: f64| {
        let load = Value::of_power(watts, 230.0, factor, 50.0).unwrap();
        (load.admittance(50.0) * 230.0).norm()
    };
    assert!((draws(2300.0, 1.0) - 10.0).abs() < 1e-9 && (draws(230.0, 0.5) - 2.0).abs() < 1e-9);
    let sources = SourceVolts::of(&circuit);
    let leg = sources.leg(invented.panel, Bus::A).unwrap();
    assert!((leg.low, leg.high) == (207.0, 253.0));
}

/// Without the bond a voltmeter between neutral and ground sees nothing: 500 W through the source's 10 milliohm lift
/// the neutral bar by 4.17 A x 0.01 = 42 mV against the earth. That is why the bond is looked for, not measured.
#[test]
fn a_missing_bond_hides_from_a_voltmeter() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let place = invented.a_box("nonmetallic-1g");
    let run = invented.home_run("nm-14-2", breaker, place, 10);
    let load = invented.device("load-120", place);
    invented.splice(place, &[far(run, BLACK), lead(load, "hot")]);
    invented.splice(place, &[far(run, WHITE), lead(load, "neutral")]);
    let panel = invented.panel;
    let sound = invented.circuit();
    let broken = sound.with_faults(&[Fault::Open(Part::Bond(panel))]).unwrap();
    let read = |circuit: &Circuit| across(circuit, &[], &bus(panel, Bus::Neutral), &bus(panel, Bus::Ground));
    assert!(read(&sound) < 0.001, "{}", read(&sound));
    assert!((read(&broken) - 0.0415).abs() < 0.002, "{}", read(&broken));
}

/// Two conductors of 50 ft in one run, one live, one capped at both ends: the divider of their capacitances.
fn ghost(kind: &str, boxes: &str, wires: &[(u8, Colour)]) -> (Circuit, f64) {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-20", Bus::A);
    let (from, to) = (invented.a_box(boxes), invented.a_box(boxes));
    let feed = invented.home_run("nm-12-2", breaker, from, 1);
    let run = invented.run(kind, from, Some(to), 50);
    for (n, colour) in wires {
        invented.wire(run, *n, *colour, "12");
    }
    invented.splice(from, &[far(feed, BLACK), near(run, 0)]);
    invented.put(far(feed, WHITE), Place::Capped);
    let grounds = invented.splice(from, &[far(feed, BARE_2)]);
    if boxes.starts_with("square") {
        invented.bond(from, grounds);
    }
    for tip in [far(run, 0), near(run, 1), far(run, 1)] {
        invented.put(tip, Place::Capped);
    }
    let circuit = invented.circuit();
    let panel = invented.panel;
    let read = across(&circuit, &[], &Spot::Tip(far(run, 1)), &bus(panel, Bus::Ground));
    (circuit, read)
}

/// In a metal raceway the metal holds a floating conductor down: 120 x 9 / (9 + 24) = 32.7 V. In a plastic one without
/// a ground nothing does: 120 V. The metal-sheathed cable, 14 pF/ft each way: half. In the open, 6.4 pF/m to the
/// partner and 7.1 to the earth: 56.9 V.
#[test]
fn a_floating_conductor_couples_to_its_partner_and_to_the_metal_around() {
    let pair = [(0, Colour::Black), (1, Colour::White)];
    for (kind, boxes, wires, expected) in [
        ("emt", "square-4-1.5", &pair[..], 120.0 * 9.0 / 33.0),
        ("pvc", "nonmetallic-1g", &pair[..], 120.0),
        ("ac-14-2", "square-4-1.5", &[][..], 60.0),
        ("knob-and-tube-pair", "nonmetallic-1g", &[][..], 120.0 * 6.4 / 13.5),
    ] {
        let (circuit, read) = ghost(kind, boxes, wires);
        assert!((read - expected).abs() < 0.3, "{kind} {read} {expected}");
        // The whole of it: 50 ft of 24 pF/ft between the floating conductor and the metal.
        if kind == "emt" {
            let node = |run_end: &Element| [run_end.from, run_end.to];
            let shells: Vec<NodeId> = circuit.grounds.values().copied().collect();
            let strays = circuit.elements_where(|part| matches!(part, Part::Stray(_)));
            let farads: f64 = strays
                .iter()
                .filter_map(|id| circuit.network.element(*id))
                .filter(|element| node(element).iter().any(|node| shells.contains(node)))
                .map(|element| match element.value {
                    Value::Capacitance { farads } => farads,
                    _ => 0.0,
                })
                .sum();
            assert!((farads * 1e12 / (2.0 * 50.0 * 24.0) - 1.0).abs() < 0.01, "{farads}");
        }
    }
}

/// The meter's own burden: 50 ft in the open, 13.5 pF/m x 15.24 m = 206 pF, 12.9 Mohm at 60 Hz; at 10 Mohm the ghost of
/// 56.9 V reads 56.9 x 10 / |10 - 12.9 j| = 34.9 V, and at 3 kohm nothing.
#[test]
fn a_meter_draws_a_ghost_down() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let (from, to) = (invented.a_box("nonmetallic-1g"), invented.a_box("nonmetallic-1g"));
    let feed = invented.home_run("nm-14-2", breaker, from, 1);
    let run = invented.run("knob-and-tube-pair", from, Some(to), 50);
    invented.splice(from, &[far(feed, BLACK), near(run, 0)]);
    for tip in [far(feed, WHITE), far(feed, BARE_2), far(run, 0), near(run, 1), far(run, 1)] {
        invented.put(tip, Place::Capped);
    }
    let circuit = invented.circuit();
    let pair = Pair { from: bus(invented.panel, Bus::Ground), to: Spot::Tip(far(run, 1)) };
    let read =
        |mode| expect(&circuit, &SourceVolts::of(&circuit), &Ask { pair: &pair, at: &[], mode, burden_ohms: None });
    let high = read(Mode::AcHigh).unwrap();
    assert!(high.ghost && (high.nominal - 34.9).abs() < 0.4, "{high:?}");
    assert!(read(Mode::AcLow).unwrap().nominal < 0.1);
}

/// A raceway as the only ground. A hot on the housing is a short through it; with a coupling apart the housing is live.
#[test]
fn a_raceway_is_the_ground_until_a_coupling_comes_apart() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-20", Bus::A);
    let place = invented.a_box("octagon-4-1.5");
    let panel = invented.panel;
    let run = invented.run("emt", panel, Some(place), 40);
    invented.wire(run, 0, Colour::Black, "12");
    invented.wire(run, 1, Colour::White, "12");
    invented.land(near(run, 0), breaker, "load");
    invented.put(near(run, 1), Place::Bus { panel, bus: Bus::Neutral });
    let light = invented.device("luminaire", place);
    invented.splice(place, &[far(run, 0), lead(light, "hot")]);
    invented.splice(place, &[far(run, 1), lead(light, "neutral")]);
    invented.put(lead(light, "ground"), Place::Shell(place));
    let sound = invented.circuit();
    assert_eq!(hazards(&sound), []);
    let housing = Spot::Shell(light);
    let touch = Fault::bridge(Spot::Tip(lead(light, "hot")), housing.clone(), 0.01);
    let short = sound.with_faults(std::slice::from_ref(&touch)).unwrap();
    // 40 ft of 12 AWG and of raceway, 0.066 + 0.012 ohm, and the source's: some hundreds of amperes.
    let fault_amperes = amperes(&short, run, 0);
    assert!(fault_amperes > 500.0, "{fault_amperes}");
    let apart = sound.with_faults(&[Fault::Open(Part::Sheath(run))]).unwrap();
    let kinds = |circuit: &Circuit| hazards(circuit).into_iter().map(|hazard| hazard.kind).collect::<Vec<_>>();
    assert!(kinds(&apart).contains(&HazardKind::BrokenGround(housing.clone())));
    let live = sound.with_faults(&[Fault::Open(Part::Sheath(run)), touch]).unwrap();
    assert!(across(&live, &[], &housing, &bus(panel, Bus::Ground)) > 118.0);
    assert!(kinds(&live).contains(&HazardKind::EnergisedGround(housing)));
}

/// A generator whose cord is landed on a breaker of the panel: two sources meet. With the breaker OFF it still feeds
/// the conductors, 120 V behind 0.5 ohm; when it does not run they are dead.
fn generator() -> (Invented, ThingId, ThingId, ThingId, LoadPoint) {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let place = invented.a_box("nonmetallic-1g");
    let run = invented.home_run("nm-14-2", breaker, place, 10);
    let supply = invented.supply(SupplyKind::Generator);
    let cord = invented.run("nm-10-2", place, None, 10);
    for (wire, bus) in [(BLACK, Bus::A), (WHITE, Bus::Neutral), (BARE_2, Bus::Ground)] {
        invented.put(far(cord, wire), Place::Bus { panel: supply, bus });
    }
    let heater = invented.device("heater-120", place);
    invented.splice(place, &[far(run, BLACK), near(cord, BLACK), lead(heater, "hot")]);
    invented.splice(place, &[far(run, WHITE), near(cord, WHITE), lead(heater, "neutral")]);
    invented.splice(place, &[far(run, BARE_2), near(cord, BARE_2), lead(heater, "ground")]);
    let point = LoadPoint { device: heater, load: "heater".to_owned() };
    (invented, supply, breaker, run, point)
}

#[test]
fn a_generator_is_a_second_source_where_its_conductors_come_in() {
    let (invented, supply, breaker, run, point) = generator();
    let circuit = invented.circuit();
    assert!(circuit.boundaries.is_empty(), "{:?}", circuit.boundaries);
    let meets = hazards(&circuit).into_iter().any(|hazard| match hazard.kind {
        HazardKind::SourcesMeet { one, other } => [one, other].contains(&supply) && [one, other].contains(&breaker),
        _ => false,
    });
    assert!(meets);
    let running = |position: &str| crate::job::At {
        handle: crate::job::Handle { device: supply, switch: "running".to_owned() },
        position: position.to_owned(),
    };
    let load = &circuit.loads[&point];
    let volts = |at: &[crate::job::At]| {
        let solver = Solver::new(&circuit.network);
        let state = circuit.state(at, circuit.rest());
        circuit.settle(&solver, &state).solution.across(load.from, load.to).norm()
    };
    // 1000 W are 14.4 ohm: 120 x 14.4 / 14.9 = 116 V, less in 10 ft of 10 AWG.
    let alone = volts(&[at(breaker, "off")]);
    assert!((alone - 115.9).abs() < 0.5, "{alone}");
    assert!(volts(&[at(breaker, "off"), running("off")]) < 0.5);
    assert!(volts(&[running("off")]) > 118.0);
    let pair = Pair { from: Spot::Tip(far(run, BLACK)), to: Spot::Tip(far(run, WHITE)) };
    assert_eq!(expect_ohms(&circuit, &pair, &[at(breaker, "off")]), Err(NoOhms::Live));
    let dead = expect_ohms(&circuit, &pair, &[at(breaker, "off"), running("off")]).unwrap();
    assert!(dead.low_ohms < 14.5 && dead.high_ohms > 14.0 && dead.high_ohms < 16.0, "{dead:?}");
}

#[test]
fn a_supply_without_conductors_stays_an_end_of_the_map() {
    let mut invented = Invented::new();
    let supply = invented.supply(SupplyKind::Solar);
    let circuit = invented.circuit();
    assert!(circuit.boundaries.keys().any(|end| end.of == Unknown::Supply(supply)));
    assert_eq!(circuit.panels.len(), 1);
    // A bus that the system does not have is not one.
    let place = invented.a_box("nonmetallic-1g");
    let cord = invented.run("nm-10-2", place, None, 10);
    let tip: Tip = far(cord, BLACK);
    invented.put(tip.clone(), Place::Bus { panel: supply, bus: Bus::C });
    let circuit = invented.circuit();
    assert!(circuit.boundaries.keys().any(|end| end.of == Unknown::Tip(tip.clone()) && end.why == Why::NotThere));
}

/// A wet path by the assumption, 10 kohm, from a hot to a grounded box: 12 mA more than returns in the neutral.
#[test]
fn a_wet_path_is_what_a_ground_fault_sensor_sees() {
    let mut chain = chain(2);
    let circuit = chain.invented.circuit();
    let (hot, panel) = (Spot::Tip(far(chain.feed, BLACK)), chain.invented.panel);
    let wet = circuit.with_faults(&[circuit.wet(hot.clone().into(), bus(panel, Bus::Ground).into())]).unwrap();
    let net = |circuit: &Circuit| {
        let around = [(chain.feed, BLACK), (chain.feed, WHITE)];
        expect_amperes(circuit, &SourceVolts::of(circuit), &around, &[]).unwrap().nominal_amperes
    };
    assert!(net(&circuit) < 1e-4);
    assert!((net(&wet) - 0.012).abs() < 1e-4, "{}", net(&wet));
    // A metal box in the soil, lifted from every ground, with the hot on it: 120 x 100 / (100 + 4.2).
    chain.invented.change(chain.lamp, "luminaire-no-ground");
    let lifted = chain.invented.circuit();
    let housing = Spot::Shell(chain.lamp);
    let faults = [Fault::bridge(hot, housing.clone(), 0.01), lifted.in_soil(housing.clone())];
    let soil = lifted.with_faults(&faults).unwrap();
    let read = across(&soil, &[], &housing, &bus(panel, Bus::Ground));
    assert!((read - 119.8).abs() < 0.4, "{read}");
}
