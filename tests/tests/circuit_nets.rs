//! The networks of the benchmark: every position of the first two against ngspice, a sample of all three against a
//! solution of 40 digits. What is timed in the benchmark is what is checked here.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]

use boxproof_core::circuit::{Solver, State};
use boxproof_tests::nets::{self, Net};
use boxproof_tests::spice::Spice;
use boxproof_tests::{apart, forty};
use num_complex::Complex64;

fn program(net: &Net, states: &[State]) -> Vec<Vec<Complex64>> {
    let solver = Solver::new(&net.network);
    let volts = |state: &State| {
        let solution = solver.at(state);
        net.network.nodes().map(|node| solution.volts(node)).collect()
    };
    states.iter().map(volts).collect()
}

/// ngspice factorises a matrix in double precision: a leak of 1e-12 S in one sum with joints of 1e3 S leaves some
/// 1e-4 V on floating parts. That this is its own error is shown in the next test and in `circuit_random.rs`.
#[test]
fn the_first_two_agree_with_ngspice_in_every_position() {
    for net in [nets::small().unwrap(), nets::circuit().unwrap()] {
        let states = net.positions();
        let mut spice = Spice::load(&net.network, &states[0]).unwrap();
        let theirs: Vec<_> = states.iter().map(|state| spice.at(state).unwrap()).collect();
        let apart = apart::worst(&program(&net, &states), &theirs);
        assert!(apart.volts < 1e-4, "{}: {} V at {}", net.name, apart.volts, net.names[apart.node]);
    }
}

/// Everything of the small ones, every seventh position of the dwelling: each of its switches stands both ways there.
#[test]
fn all_three_are_within_a_nanovolt_of_forty_digits() {
    for (net, step) in nets::three().unwrap().iter().zip([1, 1, 7]) {
        let states: Vec<_> = net.positions().into_iter().step_by(step).collect();
        let exact = forty::solve(&net.network, &states).unwrap();
        let apart = apart::worst(&program(net, &states), &exact);
        assert!(apart.volts < 1e-9, "{}: {} V at {}", net.name, apart.volts, net.names[apart.node]);
    }
}
