//! The phasor solution against a general circuit simulator and against a 40-digit solution.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]

mod circuit_support;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::circuit::{Circuit, Network, Solver, State, Value};
use boxproof_core::job::{Layer, Wiring};
use boxproof_tests::forty;
use boxproof_tests::played::notes_of;
use boxproof_tests::spice::Spice;
use circuit_support::Bench;
use num_complex::Complex64;

/// 12 AWG solid copper, warm.
const OHMS_PER_METRE: f64 = 0.0054;

/// Panel, receptacle with a motor, two three-way switches and a lamp.
fn stair() -> Bench {
    let mut bench = Bench::split_phase(OHMS_PER_METRE);
    bench.join("L1", "breaker", Value::Metal { ohms: 3e-3 });
    bench.cable("A", ["breaker", "N", "", "G"], ["hot", "neutral", "", "ground"], 18.0);
    bench.cable("B", ["brass1", "neutral", "brass2", "ground"], ["far1", "neutral2", "far2", "ground2"], 9.0);
    bench.cable("C", ["far", "neutral2", "", "ground2"], ["lamp", "neutral3", "", "ground3"], 4.0);
    bench.switch(&[("hot", "brass1", 0), ("hot", "brass2", 1)]);
    bench.switch(&[("far", "far1", 0), ("far", "far2", 1)]);
    bench.load("lamp", "neutral3", 60.0, 120.0, 1.0);
    bench.load("hot", "neutral", 500.0, 120.0, 0.6);
    bench
}

/// Both legs with a shared neutral that a contact opens, a 240 V load, three-way, four-way, three-way, a single pole.
fn house() -> Bench {
    let mut bench = Bench::split_phase(OHMS_PER_METRE);
    bench.join("L1", "breaker1", Value::Metal { ohms: 3e-3 });
    bench.join("L2", "breaker2", Value::Metal { ohms: 3e-3 });
    bench.switch(&[("N", "shared", 1)]);
    bench.cable("A", ["breaker1", "shared", "breaker2", "G"], ["hot1", "neutral", "hot2", "ground"], 22.0);
    bench.load("hot1", "hot2", 1500.0, 240.0, 1.0);
    bench.load("hot1", "neutral", 900.0, 120.0, 0.8);
    bench.load("hot2", "neutral", 200.0, 120.0, 1.0);
    bench.cable("B", ["b1", "neutral", "b2", "ground"], ["c1", "neutral_b", "c2", "ground_b"], 7.0);
    bench.cable("C", ["d1", "neutral_b", "d2", "ground_b"], ["e1", "neutral_c", "e2", "ground_c"], 12.0);
    bench.cable("D", ["e", "neutral_c", "", "ground_c"], ["stair_lamp", "neutral_d", "", "ground_d"], 5.0);
    bench.switch(&[("hot1", "b1", 0), ("hot1", "b2", 1)]);
    bench.switch(&[("c1", "d1", 0), ("c2", "d2", 0), ("c1", "d2", 1), ("c2", "d1", 1)]);
    bench.switch(&[("e", "e1", 0), ("e", "e2", 1)]);
    bench.load("stair_lamp", "neutral_d", 34.0, 120.0, 0.9);
    bench.cable("E", ["leg", "neutral", "", "ground"], ["wall_lamp", "neutral_e", "", "ground_e"], 6.0);
    bench.switch(&[("hot2", "leg", 1)]);
    bench.load("wall_lamp", "neutral_e", 12.0, 120.0, 0.7);
    bench
}

/// Opens of 1e12 ohms beside joints of 1 milliohm, with a motor behind them: the hardest mixture of sizes.
fn sizes() -> Bench {
    let mut bench = Bench::split_phase(OHMS_PER_METRE);
    bench.join("L1", "a", Value::Metal { ohms: 1e-3 });
    bench.join("a", "b", Value::Resistance { ohms: 1e12 });
    bench.join("b", "c", Value::Metal { ohms: 1e-3 });
    bench.load("c", "d", 300.0, 120.0, 0.5);
    bench.join("d", "e", Value::Resistance { ohms: 1e12 });
    bench.join("e", "N", Value::Metal { ohms: 1e-3 });
    bench.join("b", "e", Value::Capacitance { farads: 3e-10 });
    bench.switch(&[("a", "b", 1)]);
    bench.switch(&[("d", "e", 1)]);
    bench
}

/// Voltages of every node in each state, from ngspice.
fn ngspice(network: &Network, states: &[State]) -> Vec<Vec<Complex64>> {
    let mut spice = Spice::load(network, &network.first_state()).unwrap();
    states.iter().map(|state| spice.at(state).unwrap()).collect()
}

/// Greatest distance of the program's voltages to a reference's, over all nodes and positions.
fn worst(network: &Network, states: &[State], reference: &[Vec<Complex64>]) -> f64 {
    let solver = Solver::new(network);
    assert_eq!(states.len(), reference.len());
    let mut worst: f64 = 0.0;
    for (state, volts) in states.iter().zip(reference) {
        let solution = solver.at(state);
        for (node, volts) in network.nodes().zip(volts) {
            let distance = (solution.volts(node) - volts).norm();
            assert!(distance.is_finite());
            worst = worst.max(distance);
        }
    }
    worst
}

/// ngspice factorises a matrix in double precision; with leaks of 1e-12 S beside joints of 1e3 S it is good to about
/// 1e-4 V on floating nodes.
#[test]
fn voltages_agree_with_ngspice_in_every_position() {
    for bench in [stair(), house()] {
        let states = bench.states();
        let distance = worst(&bench.network, &states, &ngspice(&bench.network, &states));
        assert!(distance < 2e-4, "{distance} V");
    }
}

#[test]
fn voltages_agree_with_a_solution_of_forty_digits() {
    for (bench, name) in [(stair(), "stair"), (house(), "house"), (sizes(), "sizes")] {
        let states = bench.states();
        let distance = worst(&bench.network, &states, &forty::solve(&bench.network, &states).unwrap());
        assert!(distance < 1e-9, "{name}: {distance} V");
    }
}

/// A floating traveler between a live partner and the ground: both references see the same ghost.
#[test]
fn a_floating_traveler_reads_a_ghost_and_a_low_impedance_meter_drains_it() {
    let bench = stair();
    let solver = Solver::new(&bench.network);
    let (traveler, ground) = (bench.names["brass2"], bench.names["ground"]);
    // Both switches on the first traveler: the second floats beside it.
    let solution = solver.at(&bench.network.first_state());
    let open = solution.across(traveler, ground).norm();
    let high = solution.across_burdened(traveler, ground, 1e7).norm();
    let low = solution.across_burdened(traveler, ground, 3e3).norm();
    assert!(open > 20.0 && open < 60.0, "{open}");
    assert!(high > 5.0 && high < open, "{high}");
    assert!(low < 0.1, "{low}");
    let mut metered = bench.network.clone();
    metered.connect(traveler, ground, Value::Resistance { ohms: 1e7 }).unwrap();
    let reference = &ngspice(&metered, &[metered.first_state()])[0];
    let read = (reference[traveler.index()] - reference[ground.index()]).norm();
    assert!((read - high).abs() < 1e-3, "{read} {high}");
}

/// The demo's own network as it was left, all positions of its three handles, every node.
#[test]
fn the_demo_agrees_with_ngspice_in_every_position() {
    let notes = notes_of(include_str!("../../shared/demo/lantern-lane.txt"), Some("evening")).unwrap();
    let wiring = Wiring::of(&notes, Layer::Left(notes.job_now().unwrap()));
    let circuit = Circuit::of(&wiring, Catalogue::shared()).unwrap();
    let by_hand: Vec<_> = circuit.handles.values().filter(|handle| handle.positions.len() == 2).collect();
    let by_hand: Vec<_> = by_hand.iter().map(|handle| handle.switch).collect();
    let states = circuit.network.states(&by_hand, &circuit.rest());
    assert!(states.len() >= 8, "{} positions", states.len());
    let distance = worst(&circuit.network, &states, &ngspice(&circuit.network, &states));
    assert!(distance < 2e-4, "{distance} V over {} nodes", circuit.network.node_count());
}
