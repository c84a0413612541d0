//! Phasor solution of a network, position by position, by star-mesh elimination.
//!
//! Eliminating a node adds `y_a y_b / Σy` between each two of its neighbours. Every admittance of a passive network
//! has a positive real part, so that nothing cancels: 1e12 ohms beside 1 milliohm cost no accuracy, where the usual
//! factorisation of a matrix loses the small one. The parts `y / Σy` of each step are kept as weights; the voltage of
//! a node is then the weighted mean of its neighbours' voltages.

#![allow(clippy::indexing_slicing, reason = "every index comes from the plan, which was made for these lists")]

use std::sync::OnceLock;

use num_complex::Complex64;

use super::change::{Edit, Patch};
use super::network::{ElementId, Network, NodeId, State, Value};
use super::plan::{NOWHERE, Plan};
use super::sweep::{Layout, Sweep};
use super::walk::Walk;

/// The part of the solution that is the same in every position.
#[derive(Debug)]
pub struct Solver<'n> {
    pub(super) network: &'n Network,
    pub(super) plan: Plan,
    pub(super) statics: Steps,
    /// Admittances of the core's edges without contacts and without what the core's own steps add.
    pub(super) core_base: Vec<Complex64>,
    pub(super) layout: Layout,
    /// For sweeps in which every switch turns.
    pub(super) all: OnceLock<Sweep>,
}

/// What an unbroken sequence of steps leaves behind.
#[derive(Debug, Clone, Default)]
pub(super) struct Steps {
    /// Admittance of each edge when its step's turn comes, in siemens.
    pub(super) admittance: Vec<Complex64>,
    /// Its part in the sum of the step's admittances.
    pub(super) weight: Vec<Complex64>,
    /// `1 / Σy` of each step, in ohms.
    pub(super) inverse: Vec<Complex64>,
}

impl Steps {
    /// Room for steps and edges.
    pub(super) fn with_capacity(steps: usize, edges: usize) -> Self {
        Self {
            admittance: Vec::with_capacity(edges),
            weight: Vec::with_capacity(edges),
            inverse: Vec::with_capacity(steps),
        }
    }

    /// Takes one more step, whose edges have these admittances.
    pub(super) fn take(&mut self, admittances: impl Iterator<Item = Complex64>) {
        let start = self.admittance.len();
        self.admittance.extend(admittances);
        let star = &self.admittance[start..];
        let inverse = star.iter().sum::<Complex64>().inv();
        self.weight.extend(star.iter().map(|y| y * inverse));
        self.inverse.push(inverse);
    }
}

/// Voltages of every node in one position, in volts RMS.
#[derive(Debug)]
pub struct Solution<'s> {
    solver: &'s Solver<'s>,
    state: State,
    layer: Layer<'s>,
    /// Voltages of all nodes; if none, each is worked out when it is asked for.
    volts: Option<Vec<Complex64>>,
}

/// What a solution has of its own.
#[derive(Debug)]
enum Layer<'s> {
    /// The core's steps.
    Core(Steps),
    /// Steps that differ from those of a solution without edits.
    Edited { under: &'s Solution<'s>, patch: Patch },
}

/// What one step leaves behind.
#[derive(Debug, Clone, Copy)]
pub(super) struct Star<'a> {
    /// Nodes that were still there.
    pub(super) near: &'a [u32],
    /// The part of each in the sum of the admittances.
    pub(super) weights: &'a [Complex64],
    /// `1 / Σy`, in ohms.
    pub(super) inverse: Complex64,
}

impl<'n> Solver<'n> {
    /// Plans a network and eliminates what no switch changes.
    pub fn new(network: &'n Network) -> Self {
        let plan = Plan::new(network);
        let mut base = vec![Complex64::ZERO; plan.edge_count()];
        for edge in plan.leaks() {
            base[edge] += network.leak_siemens();
        }
        for (element, edge) in network.elements().iter().zip(&plan.element_edge) {
            if element.contact.is_none() && *edge != NOWHERE {
                base[*edge as usize] += element.value.admittance(network.hertz());
            }
        }
        let core = plan.core_start();
        let mut statics = Steps::with_capacity(plan.static_steps, core);
        let mut star = Vec::new();
        for step in 0..plan.static_steps {
            star.clear();
            star.extend(plan.edges(step).map(|edge| {
                let products = plan.products(edge).iter();
                base[edge]
                    + products
                        .map(|[a, b]| statics.weight[*a as usize] * statics.admittance[*b as usize])
                        .sum::<Complex64>()
            }));
            statics.take(star.iter().copied());
        }
        let core_base = (core..plan.edge_count())
            .map(|edge| {
                let products = plan.static_products(edge).iter();
                base[edge]
                    + products
                        .map(|[a, b]| statics.weight[*a as usize] * statics.admittance[*b as usize])
                        .sum::<Complex64>()
            })
            .collect();
        let mut solver = Self { network, plan, statics, core_base, layout: Layout::default(), all: OnceLock::new() };
        solver.layout = Layout::new(&solver);
        solver
    }

    /// The network.
    pub fn network(&self) -> &'n Network {
        self.network
    }

    /// The solution with the switches in these positions.
    pub fn at(&self, state: &State) -> Solution<'_> {
        let plan = &self.plan;
        let first = plan.core_start();
        let mut base = self.core_base.clone();
        for moving in &plan.moving {
            let element = &self.network.elements()[*moving as usize];
            let edge = plan.element_edge[*moving as usize];
            if edge != NOWHERE && element.present(state) {
                base[edge as usize - first] += element.value.admittance(self.network.hertz());
            }
        }
        let mut core = Steps::with_capacity(plan.order.len() - plan.static_steps, base.len());
        let mut star = Vec::new();
        for step in plan.static_steps..plan.order.len() {
            star.clear();
            star.extend(plan.edges(step).map(|edge| {
                let product =
                    |pair: &[u32; 2]| core.weight[pair[0] as usize - first] * core.admittance[pair[1] as usize - first];
                base[edge - first] + plan.core_products(edge).iter().map(product).sum::<Complex64>()
            }));
            core.take(star.iter().copied());
        }
        Solution { solver: self, state: state.clone(), layer: Layer::Core(core), volts: None }.substituted()
    }
}

impl<'s> Solution<'s> {
    /// What a step leaves behind.
    pub(super) fn star(&self, step: usize) -> Star<'_> {
        match &self.layer {
            Layer::Edited { under, patch } => patch.star(step).unwrap_or_else(|| under.star(step)),
            Layer::Core(core) => {
                let plan = &self.solver.plan;
                let edges = plan.edges(step);
                let near = &plan.neighbour[edges.clone()];
                if step < plan.static_steps {
                    let statics = &self.solver.statics;
                    Star { near, weights: &statics.weight[edges], inverse: statics.inverse[step] }
                } else {
                    let first = plan.core_start();
                    let weights = &core.weight[edges.start - first..edges.end - first];
                    Star { near, weights, inverse: core.inverse[step - plan.static_steps] }
                }
            }
        }
    }

    /// The steps that an edge belongs to, and its place there. What is edited is not looked at.
    fn steps_of(&self, edge: usize) -> (&Steps, usize) {
        let first = self.solver.plan.core_start();
        match &self.layer {
            Layer::Edited { under, .. } => under.steps_of(edge),
            Layer::Core(_) if edge < first => (&self.solver.statics, edge),
            Layer::Core(core) => (core, edge - first),
        }
    }

    /// Admittance of an edge before any edit, in siemens.
    pub(super) fn admittance(&self, edge: usize) -> Complex64 {
        let (steps, place) = self.steps_of(edge);
        steps.admittance[place]
    }

    /// Weight of one edge times the admittance of another, before any edit.
    pub(super) fn product(&self, [first, second]: [u32; 2]) -> Complex64 {
        let (steps, place) = self.steps_of(first as usize);
        // Both are edges of one step.
        steps.weight[place] * steps.admittance[place + (second - first) as usize]
    }

    /// What an element is here; none if it is not there.
    pub(super) fn value(&self, element: ElementId) -> Option<Value> {
        let here = self.solver.network.element(element)?;
        match &self.layer {
            Layer::Core(_) => here.present(&self.state).then_some(here.value),
            Layer::Edited { under, patch } => patch.value(element).unwrap_or_else(|| under.value(element)),
        }
    }

    pub(super) fn solver(&self) -> &'s Solver<'s> {
        self.solver
    }

    /// The same circuit with some things changed, removed or added. The eliminations on the path from each of them to
    /// the last step are redone, so that nothing is subtracted. Each voltage is worked out when it is asked for: much
    /// the fastest way to a few readings. A value that a network would refuse, an element or node of another network
    /// and an element from a node to itself change nothing.
    pub fn edited(&self, edits: &[Edit]) -> Solution<'_> {
        let (under, before) = match &self.layer {
            Layer::Core(_) => (self, [].as_slice()),
            Layer::Edited { under, patch } => (*under, patch.edits()),
        };
        let fit = edits.iter().filter(|edit| Patch::takes(under, edit));
        let patch = Patch::new(under, before.iter().chain(fit).copied().collect());
        Solution { solver: self.solver, state: self.state.clone(), layer: Layer::Edited { under, patch }, volts: None }
    }

    /// The same with elements changed, or removed where no value is given; an element with a contact is then there
    /// whatever the position. All voltages are worked out. See [`Self::edited`].
    pub fn with_changed(&self, changes: &[(ElementId, Option<Value>)]) -> Solution<'_> {
        let edits: Vec<Edit> = changes.iter().map(|(id, value)| Edit::Change(*id, *value)).collect();
        self.edited(&edits).substituted()
    }

    /// The same with an element added. Each voltage is worked out when it is asked for. See [`Self::edited`].
    pub fn with_added(&self, from: NodeId, to: NodeId, value: Value) -> Solution<'_> {
        self.edited(&[Edit::Add { from, to, value }])
    }

    /// Each node is the weighted mean of the neighbours that it had when its turn came, last node first.
    fn substituted(mut self) -> Self {
        let (plan, network) = (&self.solver.plan, self.solver.network);
        let mut volts: Vec<Complex64> = network.nodes().map(|node| network.fixed(node).unwrap_or_default()).collect();
        for step in (0..plan.order.len()).rev() {
            let star = self.star(step);
            let mean = star.weights.iter().zip(star.near).map(|(weight, node)| weight * volts[*node as usize]).sum();
            volts[plan.order[step] as usize] = mean;
        }
        self.volts = Some(volts);
        self
    }

    /// Voltage from one node to another with one source alone, the others at zero: its part in the superposition.
    pub fn part_of(&self, source: NodeId, from: NodeId, to: NodeId) -> Complex64 {
        let volts = self.solver.network.fixed(source).unwrap_or_default();
        Walk::between(self, from, to).reaches(source) * volts
    }

    /// The positions that this is the solution of.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// Voltage of a node to the reference, in volts RMS; zero for a node of another network.
    pub fn volts(&self, node: NodeId) -> Complex64 {
        match &self.volts {
            Some(volts) => volts.get(node.index()).copied().unwrap_or_default(),
            None => Walk::from(self, node).volts(self),
        }
    }

    /// Voltage from one node to another, in volts RMS.
    pub fn across(&self, from: NodeId, to: NodeId) -> Complex64 {
        match &self.volts {
            Some(_) => self.volts(from) - self.volts(to),
            None => Walk::between(self, from, to).volts(self),
        }
    }

    /// Current through an element from its first to its second node, in amperes RMS; zero where it is not there.
    pub fn amperes(&self, element: ElementId) -> Complex64 {
        let network = self.solver.network;
        match (self.value(element), network.element(element)) {
            (Some(value), Some(e)) => value.admittance(network.hertz()) * self.across(e.from, e.to),
            _ => Complex64::ZERO,
        }
    }

    /// Impedance that a meter between two nodes looks into, in ohms. Found by sending +1 A in at one and out at the
    /// other along the elimination path only: `Σ J² / Σy`.
    pub fn thevenin_ohms(&self, from: NodeId, to: NodeId) -> Complex64 {
        Walk::between(self, from, to).ohms()
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
            let star = self.star(step);
            for (node, weight) in star.near.iter().zip(star.weights) {
                let next = plan.step_of[*node as usize];
                if next != NOWHERE {
                    sent[next as usize] += weight * amperes;
                }
            }
        }
        let mut volts = vec![Complex64::ZERO; network.node_count()];
        for step in (0..plan.order.len()).rev() {
            let star = self.star(step);
            let each = star.near.iter().zip(star.weights);
            let mean: Complex64 = each.map(|(node, weight)| weight * volts[*node as usize]).sum();
            volts[plan.order[step] as usize] = mean + sent[step] * star.inverse;
        }
        volts
    }

    /// What a meter of `burden_ohms` between two nodes takes of the voltage that was there without it.
    pub fn across_burdened(&self, from: NodeId, to: NodeId, burden_ohms: f64) -> Complex64 {
        self.across(from, to) / (1.0 + self.thevenin_ohms(from, to) / burden_ohms)
    }
}

#[cfg(test)]
mod tests;
