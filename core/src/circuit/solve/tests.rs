//! Laws of circuits that every solution must keep, on invented networks.

use super::super::network::{ElementId, Network, Value};
use super::*;
use proptest::prelude::*;

/// An element of an invented network: between which nodes, what, and a switch that it belongs to.
#[derive(Debug, Clone)]
struct Part {
    from: usize,
    to: usize,
    value: Value,
    switched: Option<u8>,
}

fn values(passive_resistances_only: bool) -> BoxedStrategy<Value> {
    let metal = (-3.0..4.0).prop_map(|p: f64| Value::Metal { ohms: 10f64.powf(p) });
    let weak = (4.0..12.0).prop_map(|p: f64| Value::Resistance { ohms: 10f64.powf(p) });
    if passive_resistances_only {
        return prop_oneof![3 => metal, 1 => weak].boxed();
    }
    let stray = (-12.0..-7.0).prop_map(|p: f64| Value::Capacitance { farads: 10f64.powf(p) });
    let load = (1.0..3000.0, 0.3..1.0)
        .prop_map(|(watts, factor): (f64, f64)| Value::of_power(watts, 120.0, factor, 60.0).unwrap());
    prop_oneof![4 => metal, 1 => weak, 2 => stray, 2 => load].boxed()
}

fn parts(nodes: usize, resistances: bool) -> impl Strategy<Value = Vec<Part>> {
    let part = (0..nodes, 1..nodes, values(resistances), prop::option::weighted(0.2, 0..2u8))
        .prop_map(move |(from, by, value, switched)| Part { from, to: (from + by) % nodes, value, switched });
    prop::collection::vec(part, nodes..3 * nodes)
}

/// The reference, two sources of the given volts, and nodes to be found.
fn network(parts: &[Part], nodes: usize, sources: [Complex64; 2]) -> Network {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let mut ids = vec![network.reference()];
    ids.extend(sources.map(|volts| network.source(volts).unwrap()));
    ids.extend((3..nodes).map(|_| network.node()));
    let switches = [network.switch(2).unwrap(), network.switch(2).unwrap()];
    for part in parts {
        let ends = (ids[part.from], ids[part.to]);
        match part.switched {
            Some(n) => network.contact(ends, part.value, switches[usize::from(n)], &[1]),
            None => network.connect(ends.0, ends.1, part.value),
        }
        .unwrap();
    }
    network
}

fn every_state(network: &Network) -> Vec<State> {
    let switches: Vec<_> = network.switches().collect();
    network.states(&switches, &network.first_state())
}

const NODES: usize = 9;

fn legs() -> [Complex64; 2] {
    [Complex64::new(120.0, 0.0), Complex64::new(-120.0, 0.0)]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Kirchhoff: what flows to a node flows away from it.
    #[test]
    fn currents_at_each_node_add_to_nothing(parts in parts(NODES, false)) {
        let network = network(&parts, NODES, legs());
        let solver = Solver::new(&network);
        for state in every_state(&network) {
            let solution = solver.at(&state);
            let mut sums = vec![Complex64::ZERO; network.node_count()];
            let mut scale = vec![0.0; network.node_count()];
            for (n, element) in (0..).zip(network.elements()) {
                let amperes = solution.amperes(ElementId(n));
                sums[element.from.index()] += amperes;
                sums[element.to.index()] -= amperes;
                if element.present(&state) {
                    let most = element.value.admittance(60.0).norm() * 120.0;
                    scale[element.from.index()] += most;
                    scale[element.to.index()] += most;
                }
            }
            for node in network.nodes().filter(|node| network.fixed(*node).is_none()) {
                let leak = solution.volts(node) * network.leak_siemens();
                let error = (sums[node.index()] + leak).norm();
                // Currents come from differences of voltages that are known to a few units in the last place.
                prop_assert!(error <= 1e-13 * scale[node.index()] + 1e-20, "{error} of {}", scale[node.index()]);
            }
        }
    }

    /// Reciprocity: source and meter exchanged, the same current.
    #[test]
    fn source_and_meter_can_be_exchanged(parts in parts(NODES, false)) {
        let volts = Complex64::new(120.0, 0.0);
        let there = network(&parts, NODES, [volts, Complex64::ZERO]);
        let back = network(&parts, NODES, [Complex64::ZERO, volts]);
        let into = |network: &Network, node: u32, state: &State| -> Complex64 {
            let solver = Solver::new(network);
            let solution = solver.at(state);
            (0..).zip(network.elements()).map(|(n, e)| match (e.from.0 == node, e.to.0 == node) {
                (true, false) => -solution.amperes(ElementId(n)),
                (false, true) => solution.amperes(ElementId(n)),
                _ => Complex64::ZERO,
            }).sum()
        };
        for state in every_state(&there) {
            let (a, b) = (into(&there, 2, &state), into(&back, 1, &state));
            prop_assert!((a - b).norm() <= 1e-9 * (a.norm() + 1e-6), "{a} {b}");
        }
    }

    /// Superposition: two sources together do what each does alone.
    #[test]
    fn sources_add(parts in parts(NODES, false)) {
        let [a, b] = legs();
        let all = [[a, b], [a, Complex64::ZERO], [Complex64::ZERO, b]].map(|s| network(&parts, NODES, s));
        let solvers = [0, 1, 2].map(|n| Solver::new(&all[n]));
        for state in every_state(&all[0]) {
            let [both, first, second] = [0, 1, 2].map(|n| solvers[n].at(&state));
            let nodes: Vec<_> = all[0].nodes().collect();
            for node in all[0].nodes() {
                let part = both.part_of(nodes[1], node, nodes[0]);
                prop_assert!((part - first.volts(node)).norm() < 1e-10);
                let error = both.volts(node) - first.volts(node) - second.volts(node);
                prop_assert!(error.norm() < 1e-10);
            }
        }
    }

    /// Passivity: among resistances no node is above the highest source.
    #[test]
    fn no_node_is_above_the_highest_source(parts in parts(NODES, true)) {
        let network = network(&parts, NODES, legs());
        let solver = Solver::new(&network);
        for state in every_state(&network) {
            let solution = solver.at(&state);
            for node in network.nodes() {
                prop_assert!(solution.volts(node).norm() <= 120.0 * (1.0 + 1e-13));
                prop_assert!(solution.volts(node).im == 0.0);
            }
        }
    }

    /// A meter read by its Thevenin impedance reads what it reads as an element of the network.
    #[test]
    fn a_meter_reads_the_same_inside_and_outside(parts in parts(NODES, false), a in 3..NODES, by in 1..NODES - 3) {
        let b = 3 + (a - 3 + by) % (NODES - 3);
        let plain = network(&parts, NODES, legs());
        let nodes: Vec<_> = plain.nodes().collect();
        for burden in [1e7, 3e3] {
            let mut metered = plain.clone();
            metered.connect(nodes[a], nodes[b], Value::Resistance { ohms: burden }).unwrap();
            let (outside, inside) = (Solver::new(&plain), Solver::new(&metered));
            for state in every_state(&plain) {
                let expected = inside.at(&state).across(nodes[a], nodes[b]);
                let read = outside.at(&state).across_burdened(nodes[a], nodes[b], burden);
                prop_assert!((read - expected).norm() < 1e-8, "{read} {expected}");
            }
        }
    }
}

mod odd;
mod same;
