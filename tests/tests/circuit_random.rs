//! Random jobs against ngspice and against a solution of 40 digits, and what metal joins against what volts say.
//!
//! A few hundred jobs in the everyday run, 10 000 when `BOXPROOF_FULL` is set.

#![allow(
    clippy::print_stdout,
    clippy::cast_precision_loss,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]

use std::f64::consts::TAU;

use boxproof_core::circuit::{Connectivity, Network, NodeId, Solution, Solver, State, Value};
use boxproof_tests::random::{Flaw, Job, job};
use boxproof_tests::spice::Spice;
use boxproof_tests::{apart, forty};
use num_complex::Complex64;

/// Positions of each job that are solved.
const POSITIONS: usize = 16;
/// The program is nearer than this to the solution of 40 digits.
const PROGRAM_VOLTS: f64 = 1e-9;
/// ngspice factorises a matrix in double precision, where a leak of 1e-12 S stands in one sum with joints of 1e3 S.
/// What it loses by that is seen below to reach this on floating parts; whatever is further from the program is judged
/// by the solution of 40 digits, position by position.
const SIMULATOR_VOLTS: f64 = 1e-4;
/// Jobs of which every position is compared with the solution of 40 digits, whatever the simulator says.
const SAMPLED: u64 = 36;

fn jobs() -> u64 {
    if std::env::var_os("BOXPROOF_FULL").is_some() { 10_000 } else { 300 }
}

fn voltages(network: &Network, solution: &Solution<'_>) -> Vec<Complex64> {
    network.nodes().map(|node| solution.volts(node)).collect()
}

fn program(network: &Network, states: &[State]) -> Vec<Vec<Complex64>> {
    let solver = Solver::new(network);
    states.iter().map(|state| voltages(network, &solver.at(state))).collect()
}

/// The program's and the simulator's distance to the truth, position by position: the program is on it, and what lies
/// between the two is the simulator's own.
fn judge(job: &Job, states: &[State], ours: &[Vec<Complex64>], theirs: &[Vec<Complex64>]) -> f64 {
    let exact = forty::solve(&job.net.network, states).unwrap();
    let mut simulator: f64 = 0.0;
    for (n, exact) in exact.iter().enumerate() {
        let one = |of: &[Vec<Complex64>]| vec![of[n].clone()];
        let (ours, theirs, exact) = (one(ours), one(theirs), vec![exact.clone()]);
        let program = apart::worst(&ours, &exact);
        let at = &job.net.names[program.node];
        assert!(program.volts <= PROGRAM_VOLTS, "{}: {} V at {at}, {:?}", job.net.name, program.volts, job.flaws);
        let own = apart::worst(&theirs, &exact).volts;
        let between = apart::worst(&ours, &theirs).volts;
        assert!(between <= own + PROGRAM_VOLTS, "{}: {between} V apart, ngspice {own} V off", job.net.name);
        simulator = simulator.max(own);
    }
    simulator
}

#[test]
fn random_jobs_agree_with_ngspice_within_its_own_error() {
    let (mut positions, mut judged, mut worst) = (0, 0, 0.0f64);
    for seed in 0..jobs() {
        let job = job(seed).unwrap();
        let states = job.positions(POSITIONS);
        let ours = program(&job.net.network, &states);
        let mut spice = Spice::load(&job.net.network, &states[0]).unwrap();
        let theirs: Vec<_> = states.iter().map(|state| spice.at(state).unwrap()).collect();
        positions += states.len();
        let doubtful = |n: &usize| apart::worst(&ours[*n..=*n], &theirs[*n..=*n]).volts > SIMULATOR_VOLTS;
        let asked: Vec<usize> = (0..states.len()).filter(|n| seed < SAMPLED || doubtful(n)).collect();
        if !asked.is_empty() {
            let some = |of: &[Vec<Complex64>]| asked.iter().map(|n| of[*n].clone()).collect::<Vec<_>>();
            let states: Vec<_> = asked.iter().map(|n| states[*n].clone()).collect();
            worst = worst.max(judge(&job, &states, &some(&ours), &some(&theirs)));
            judged += asked.len();
        }
    }
    println!("{positions} positions of {} jobs, {judged} judged by 40 digits; ngspice at most {worst:e} V off", jobs());
    assert!(positions as u64 > jobs() * 4, "{positions}");
}

/// Whether every part of a job is what a voltage can be foretold from by looking: no poor joint, nothing shorted.
fn plain(job: &Job) -> bool {
    !job.flaws.iter().any(|flaw| matches!(flaw, Flaw::Poor(..) | Flaw::Short(..)))
}

/// Nodes that metal or a load joins with a node, in a position: walked here, from the list of elements alone.
fn reached(network: &Network, state: &State, from: NodeId) -> Vec<bool> {
    let mut reached = vec![false; network.node_count()];
    reached[from.index()] = true;
    let passing: Vec<_> = network
        .elements()
        .iter()
        .filter(|element| matches!(element.value, Value::Metal { .. } | Value::Load { .. }) && element.present(state))
        .collect();
    loop {
        let before = reached.iter().filter(|is| **is).count();
        for element in &passing {
            let either = reached[element.from.index()] || reached[element.to.index()];
            reached[element.from.index()] = either;
            reached[element.to.index()] = either;
        }
        if reached.iter().filter(|is| **is).count() == before {
            return reached;
        }
    }
}

/// What a low-impedance meter takes of the greatest current that all the network's capacitance could carry.
fn most_of_a_ghost(network: &Network, volts: f64) -> f64 {
    let farads: f64 = network
        .elements()
        .iter()
        .map(|element| if let Value::Capacitance { farads } = element.value { farads } else { 0.0 })
        .sum();
    // The voltage between two legs at most, through everything at once, and every node's leak beside it.
    let leaks = network.leak_siemens() * network.node_count() as f64;
    2.0 * volts * (TAU * network.hertz() * farads + leaks) * METER_OHMS
}

const METER_OHMS: f64 = 3e3;

/// Live through metal means volts, and no way at all from a source means none at a low-impedance meter. The loads of
/// these jobs draw some tens of amperes together and their conductors have about half an ohm: a node that metal joins
/// with one leg keeps two thirds of its voltage, and one that metal joins with the neutral stays under a third.
#[test]
fn what_metal_joins_and_what_volts_say_agree() {
    let mut spoken = [0usize; 3];
    for seed in 0..jobs() {
        let job = job(seed).unwrap();
        if !plain(&job) {
            continue;
        }
        let network = &job.net.network;
        let sources: Vec<NodeId> = network.nodes().skip(1).filter(|node| network.fixed(*node).is_some()).collect();
        let volts = network.fixed(sources[0]).unwrap().norm();
        let (solver, connectivity) = (Solver::new(network), Connectivity::new(network, &[]));
        for state in job.positions(8) {
            let joined = connectivity.at(&state);
            let terminals: Vec<NodeId> = sources.iter().copied().chain([network.reference()]).collect();
            let shorted = |n: usize| terminals[n + 1..].iter().any(|other| joined.joined(terminals[n], *other));
            if (0..terminals.len()).any(shorted) {
                continue;
            }
            let solution = solver.at(&state);
            let mut fed = vec![false; network.node_count()];
            for source in &sources {
                fed.iter_mut().zip(reached(network, &state, *source)).for_each(|(fed, by)| *fed |= by);
            }
            for node in network.nodes() {
                let part = solution.volts(node).norm() / volts;
                let name = &job.net.names[node.index()];
                if sources.iter().any(|source| joined.joined(*source, node)) {
                    assert!(part > 0.67, "{}: {name} is joined with a leg and has {part}", job.net.name);
                    spoken[0] += 1;
                } else if joined.joined(network.reference(), node) {
                    assert!(part < 0.33, "{}: {name} is joined with the neutral and has {part}", job.net.name);
                    spoken[1] += 1;
                } else if !fed[node.index()] {
                    let read = solution.across_burdened(node, network.reference(), METER_OHMS).norm();
                    let most = most_of_a_ghost(network, volts);
                    assert!(read <= most, "{}: {name} is fed by nothing and reads {read} V of {most}", job.net.name);
                    spoken[2] += 1;
                }
            }
        }
    }
    assert!(spoken.iter().all(|many| *many > 1_000), "{spoken:?}");
}
