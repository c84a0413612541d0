//! The networks of the benchmark: every position of the first two against ngspice, a sample of all three against a
//! solution of 40 digits. What is timed in the benchmark is what is checked here.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]

use boxproof_core::circuit::{ElementId, Network, NodeId, Solver, State, Value};
use boxproof_tests::nets::{self, Net};
use boxproof_tests::spice::Spice;
use boxproof_tests::{apart, forty};
use num_complex::Complex64;

fn program(net: &Net, states: &[State]) -> Vec<Vec<Complex64>> {
    let solver = Solver::new(&net.network);
    let mut all = Vec::with_capacity(states.len());
    solver.sweep(states, |_, found| all.push(net.network.nodes().map(|node| found.volts(node)).collect()));
    all
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

/// Joints, contacts and pigtails: metal of a few milliohms.
const CONTACT_OHMS: f64 = 0.01;

/// Each contact by itself broken, and each by itself with 1 ohm: every node beside a solution of 40 digits. The small
/// network in the everyday run, the circuit of 14 boxes as well when `BOXPROOF_FULL` is set.
#[test]
fn every_single_change_of_a_contact_is_within_a_nanovolt_of_forty_digits() {
    let mut nets = vec![nets::small().unwrap()];
    if std::env::var_os("BOXPROOF_FULL").is_some() {
        nets.push(nets::circuit().unwrap());
    }
    for net in nets {
        let state = net.positions()[1].clone();
        let solver = Solver::new(&net.network);
        let solution = solver.at(&state);
        let is_contact = |id: &ElementId| {
            let element = net.network.element(*id).unwrap();
            element.present(&state) && matches!(element.value, Value::Metal { ohms } if ohms <= CONTACT_OHMS)
        };
        let contacts: Vec<ElementId> = net.network.element_ids().filter(is_contact).collect();
        assert!(contacts.len() > 40, "{} contacts", contacts.len());
        for value in [None, Some(Value::Metal { ohms: 1.0 })] {
            let changed: Vec<Network> = contacts
                .iter()
                .map(|id| {
                    let mut network = net.network.clone();
                    network.replace(*id, value.unwrap_or(Value::Open)).unwrap();
                    network
                })
                .collect();
            let asked: Vec<(&Network, State)> = changed.iter().map(|network| (network, state.clone())).collect();
            let exact = forty::solve_all(&asked).unwrap();
            let ours: Vec<Vec<Complex64>> = contacts
                .iter()
                .map(|id| {
                    let changed = solution.with_changed(&[(*id, value)]);
                    net.network.nodes().map(|node: NodeId| changed.volts(node)).collect()
                })
                .collect();
            let apart = apart::worst(&ours, &exact);
            assert!(apart.volts < 1e-9, "{}: {} V at {}", net.name, apart.volts, net.names[apart.node]);
        }
    }
}
