//! Phasor solution of a network, position by position, by star-mesh elimination.
//!
//! Eliminating a node adds `y_a y_b / Σy` between each two of its neighbours. Every admittance of a passive network
//! has a positive real part, so that nothing cancels: 1e12 ohms beside 1 milliohm cost no accuracy, where the usual
//! factorisation of a matrix loses the small one. The parts `y / Σy` of each step are kept as weights; the voltage of
//! a node is then the weighted mean of its neighbours' voltages.

#![allow(clippy::indexing_slicing, reason = "every index comes from the plan, which was made for these lists")]

use std::collections::BTreeMap;

use num_complex::Complex64;

use super::network::{ElementId, Network, NodeId, State};
use super::plan::{NOWHERE, Plan};

/// The part of the solution that is the same in every position.
#[derive(Debug)]
pub struct Solver<'n> {
    network: &'n Network,
    plan: Plan,
    /// Weights of the static steps' edges, then admittances of the core's edges without contacts.
    edges: Vec<Complex64>,
    /// `1 / Σy` of the static steps, in ohms.
    inverse: Vec<Complex64>,
}

/// Voltages of every node in one position, in volts RMS.
#[derive(Debug)]
pub struct Solution<'s> {
    solver: &'s Solver<'s>,
    state: State,
    /// Weights of the core's edges.
    core_edges: Vec<Complex64>,
    /// `1 / Σy` of the core's steps, in ohms.
    core_inverse: Vec<Complex64>,
    volts: Vec<Complex64>,
}

/// Eliminates `steps`. `edges` begins at edge `base`; admittances go in, weights come out. Returns `1 / Σy` of each.
fn eliminate(plan: &Plan, steps: std::ops::Range<usize>, base: usize, edges: &mut [Complex64]) -> Vec<Complex64> {
    let mut inverse = Vec::with_capacity(steps.len());
    for step in steps {
        let (start, end) = (plan.start[step] as usize - base, plan.start[step + 1] as usize - base);
        let sum: Complex64 = edges[start..end].iter().sum();
        let inv = sum.inv();
        let mut pair = plan.pair_start[step] as usize;
        for first in start..end {
            let weight = edges[first] * inv;
            for second in first + 1..end {
                let target = plan.pair_target[pair];
                pair += 1;
                if target != NOWHERE {
                    let product = weight * edges[second];
                    edges[target as usize - base] += product;
                }
            }
            edges[first] = weight;
        }
        inverse.push(inv);
    }
    inverse
}

impl<'n> Solver<'n> {
    /// Plans a network and eliminates what no switch changes.
    pub fn new(network: &'n Network) -> Self {
        let plan = Plan::new(network);
        let mut edges = vec![Complex64::ZERO; plan.neighbour.len()];
        for edge in &plan.leak_edge {
            edges[*edge as usize] += network.leak_siemens();
        }
        for (element, edge) in network.elements().iter().zip(&plan.element_edge) {
            if element.contact.is_none() && *edge != NOWHERE {
                edges[*edge as usize] += element.value.admittance(network.hertz());
            }
        }
        let inverse = eliminate(&plan, 0..plan.static_steps, 0, &mut edges);
        Self { network, plan, edges, inverse }
    }

    /// The network.
    pub fn network(&self) -> &'n Network {
        self.network
    }

    /// The solution with the switches in these positions.
    pub fn at(&self, state: &State) -> Solution<'_> {
        let base = self.plan.core_start();
        let mut core_edges = self.edges[base..].to_vec();
        for moving in &self.plan.moving {
            let element = &self.network.elements()[*moving as usize];
            let edge = self.plan.element_edge[*moving as usize];
            if edge != NOWHERE && element.present(state) {
                core_edges[edge as usize - base] += element.value.admittance(self.network.hertz());
            }
        }
        let core = self.plan.static_steps..self.plan.order.len();
        let core_inverse = eliminate(&self.plan, core, base, &mut core_edges);
        let volts = Vec::new();
        let mut solution = Solution { solver: self, state: state.clone(), core_edges, core_inverse, volts };
        solution.volts = solution.substitute(|node| self.network.fixed(node).unwrap_or_default());
        solution
    }
}

impl Solution<'_> {
    fn weight(&self, edge: usize) -> Complex64 {
        let base = self.solver.plan.core_start();
        if edge < base { self.solver.edges[edge] } else { self.core_edges[edge - base] }
    }

    fn inverse(&self, step: usize) -> Complex64 {
        let statics = self.solver.plan.static_steps;
        if step < statics { self.solver.inverse[step] } else { self.core_inverse[step - statics] }
    }

    /// Each node is the weighted mean of the neighbours that it had when its turn came, last node first.
    fn substitute(&self, source: impl Fn(NodeId) -> Complex64) -> Vec<Complex64> {
        let (plan, network) = (&self.solver.plan, self.solver.network);
        let fixed = |node| network.fixed(node).map_or(Complex64::ZERO, |_| source(node));
        let mut volts: Vec<Complex64> = network.nodes().map(fixed).collect();
        for step in (0..plan.order.len()).rev() {
            let edges = plan.start[step] as usize..plan.start[step + 1] as usize;
            let mean = edges.map(|edge| self.weight(edge) * volts[plan.neighbour[edge] as usize]).sum();
            volts[plan.order[step] as usize] = mean;
        }
        volts
    }

    /// Voltage from one node to another with one source alone, the others at zero: its part in the superposition.
    pub fn part_of(&self, source: NodeId, from: NodeId, to: NodeId) -> Complex64 {
        let network = self.solver.network;
        let alone = |node| if node == source { network.fixed(node).unwrap_or_default() } else { Complex64::ZERO };
        let volts = self.substitute(alone);
        let at = |node: NodeId| volts.get(node.index()).copied().unwrap_or_default();
        at(from) - at(to)
    }

    /// The positions that this is the solution of.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// Voltage of a node to the reference, in volts RMS; zero for a node of another network.
    pub fn volts(&self, node: NodeId) -> Complex64 {
        self.volts.get(node.index()).copied().unwrap_or_default()
    }

    /// Voltage from one node to another, in volts RMS.
    pub fn across(&self, from: NodeId, to: NodeId) -> Complex64 {
        self.volts(from) - self.volts(to)
    }

    /// Current through an element from its first to its second node, in amperes RMS; zero where it is not there.
    pub fn amperes(&self, element: ElementId) -> Complex64 {
        self.solver
            .network
            .element(element)
            .filter(|e| e.present(&self.state))
            .map_or(Complex64::ZERO, |e| e.value.admittance(self.solver.network.hertz()) * self.across(e.from, e.to))
    }

    /// Impedance that a meter between two nodes looks into, in ohms. Found by sending +1 A in at one and out at the
    /// other along the elimination path only: `Σ J² / Σy`.
    pub fn thevenin_ohms(&self, from: NodeId, to: NodeId) -> Complex64 {
        let plan = &self.solver.plan;
        let mut sent: BTreeMap<u32, Complex64> = BTreeMap::new();
        for (node, ampere) in [(from, 1.0), (to, -1.0)] {
            if let Some(step) = plan.step(node) {
                *sent.entry(step).or_default() += ampere;
            }
        }
        let mut ohms = Complex64::ZERO;
        while let Some((step, amperes)) = sent.pop_first() {
            ohms += amperes * amperes * self.inverse(step as usize);
            for edge in plan.start[step as usize] as usize..plan.start[step as usize + 1] as usize {
                let next = plan.step_of[plan.neighbour[edge] as usize];
                if next != NOWHERE {
                    *sent.entry(next).or_default() += self.weight(edge) * amperes;
                }
            }
        }
        ohms
    }

    /// What one ampere alone does, that comes in at one node and goes out at the other while the sources are at zero:
    /// the volts of each node to the reference. It shows which ways the current of a load takes, and in which parts.
    pub fn driven(&self, into: NodeId, out_of: NodeId) -> Vec<Complex64> {
        let (plan, network) = (&self.solver.plan, self.solver.network);
        let mut sent = vec![Complex64::ZERO; plan.order.len()];
        for (node, ampere) in [(into, 1.0), (out_of, -1.0)] {
            if let Some(step) = plan.step(node) {
                sent[step as usize] += ampere;
            }
        }
        for step in 0..plan.order.len() {
            let amperes = sent[step];
            if amperes == Complex64::ZERO {
                continue;
            }
            for edge in plan.start[step] as usize..plan.start[step + 1] as usize {
                let next = plan.step_of[plan.neighbour[edge] as usize];
                if next != NOWHERE {
                    sent[next as usize] += self.weight(edge) * amperes;
                }
            }
        }
        let mut volts = vec![Complex64::ZERO; network.node_count()];
        for step in (0..plan.order.len()).rev() {
            let edges = plan.start[step] as usize..plan.start[step + 1] as usize;
            let mean: Complex64 = edges.map(|edge| self.weight(edge) * volts[plan.neighbour[edge] as usize]).sum();
            volts[plan.order[step] as usize] = mean + sent[step] * self.inverse(step);
        }
        volts
    }

    /// What a meter of `burden_ohms` between two nodes takes of the voltage that was there without it.
    pub fn across_burdened(&self, from: NodeId, to: NodeId, burden_ohms: f64) -> Complex64 {
        self.across(from, to) / (1.0 + self.thevenin_ohms(from, to) / burden_ohms)
    }
}

#[cfg(test)]
mod tests {
    use super::super::network::Value;
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

        /// One ampere from a source that is set to drive it is one ampere that is driven: the volts between the two
        /// nodes are the Thevenin impedance, and what flows to any other node flows away from it.
        #[test]
        fn one_ampere_alone_obeys_kirchhoff(parts in parts(NODES, false), a in 3..NODES, by in 1..NODES - 3) {
            let b = 3 + (a - 3 + by) % (NODES - 3);
            let network = network(&parts, NODES, legs());
            let nodes: Vec<_> = network.nodes().collect();
            let solver = Solver::new(&network);
            for state in every_state(&network) {
                let solution = solver.at(&state);
                let volts = solution.driven(nodes[a], nodes[b]);
                let ohms = solution.thevenin_ohms(nodes[a], nodes[b]);
                let across = volts[a] - volts[b];
                prop_assert!((across - ohms).norm() <= 1e-9 * ohms.norm().max(volts[a].norm()), "{across} {ohms}");
                for node in network.nodes().filter(|node| network.fixed(*node).is_none()) {
                    let ampere = f64::from(node == nodes[a]) - f64::from(node == nodes[b]);
                    let (mut sum, mut scale) = (volts[node.index()] * network.leak_siemens() - ampere, 1.0f64);
                    for element in network.elements().iter().filter(|e| e.present(&state)) {
                        if element.from == node || element.to == node {
                            let y = element.value.admittance(60.0);
                            sum += y * (volts[node.index()] - volts[element.other(node).index()]);
                            scale = scale.max(y.norm() * volts[node.index()].norm());
                        }
                    }
                    prop_assert!(sum.norm() <= 1e-12 * scale + 1e-9, "{sum}");
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
}
