//! A changed, removed or added element: the eliminations on the path from it to the last step, done again.
//!
//! Taking an element out by a rank-one update would subtract: in a network that is nearly a tree an element is a
//! bridge, what is left behind it is nothing but leak, and the difference shows volts that are not there. Putting one
//! in by rank one is well behaved for one element, but not for the next: a floating part of 1e12 ohms that was tied
//! down by 1 milliohm is left with an impedance that is the difference of two numbers of 1e12. Redone, the steps only
//! add. A new element joins nodes that the plan does not join, so that redone steps have neighbours of their own.

#![allow(clippy::indexing_slicing, reason = "every index comes from the plan")]

use num_complex::Complex64;

use super::network::{ElementId, NodeId, Value};
use super::plan::{NOWHERE, Plan};
use super::solve::{Solution, Star};

/// One thing that differs from the network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Edit {
    /// An element is there with this value whatever the positions, or is not there if none is given.
    Change(ElementId, Option<Value>),
    /// An element more.
    Add {
        /// One side.
        from: NodeId,
        /// The other side.
        to: NodeId,
        /// What it is.
        value: Value,
    },
}

/// Steps that differ, with what they leave behind.
#[derive(Debug)]
pub(super) struct Patch {
    edits: Vec<Edit>,
    /// Place of each step in `first` and `inverse`, or [`NOWHERE`].
    place: Vec<u32>,
    /// First edge of each step that differs, and the number of edges at the end.
    first: Vec<u32>,
    near: Vec<u32>,
    weight: Vec<Complex64>,
    inverse: Vec<Complex64>,
}

/// Admittances that wait for a step, by step and then by the rank of the node that they lead to; the last come first.
#[derive(Default)]
struct Waiting {
    list: Vec<((u32, u32, u32), Complex64)>,
}

impl Waiting {
    /// Adds an admittance between two nodes, of which at least one is to be found.
    fn add(&mut self, plan: &Plan, a: u32, b: u32, admittance: Complex64) {
        let (first, second) = if plan.rank(a) < plan.rank(b) { (a, b) } else { (b, a) };
        let (step, (rank, node)) = (plan.step_of[first as usize], plan.rank(second));
        if step == NOWHERE {
            return;
        }
        let key = (step, rank, node);
        let at = self.list.partition_point(|(other, _)| *other > key);
        match self.list.get_mut(at) {
            Some((other, sum)) if *other == key => *sum += admittance,
            _ => self.list.insert(at, (key, admittance)),
        }
    }

    /// The next admittance of a step, as rank, node and siemens.
    fn next_of(&mut self, step: u32) -> Option<((u32, u32), Complex64)> {
        let ((_, rank, node), admittance) = self.list.pop_if(|(key, _)| key.0 == step)?;
        Some(((rank, node), admittance))
    }
}

impl Patch {
    /// What differs from a solution without edits.
    pub(super) fn new(under: &Solution<'_>, edits: Vec<Edit>) -> Self {
        let (plan, network) = (&under.solver().plan, under.solver().network);
        let mut waiting = Waiting::default();
        for edit in &edits {
            match edit {
                Edit::Change(id, _) => {
                    // Nothing is added, but the edge is worked out anew.
                    if let Some(element) = network.element(*id) {
                        waiting.add(plan, element.from.0, element.to.0, Complex64::ZERO);
                    }
                }
                Edit::Add { from, to, value } => {
                    waiting.add(plan, from.0, to.0, value.admittance(network.hertz()));
                }
            }
        }
        let place = vec![NOWHERE; plan.order.len()];
        let (near, weight, inverse) = (Vec::new(), Vec::new(), Vec::new());
        let mut patch = Self { edits, place, first: vec![0], near, weight, inverse };
        let mut star = Vec::new();
        while let Some(((step, ..), _)) = waiting.list.last() {
            let step = *step;
            patch.star_of(under, step, &mut waiting, &mut star);
            let sum: Complex64 = star.iter().map(|(_, y)| y).sum();
            let inverse = sum.inv();
            for (n, (node, y)) in star.iter().enumerate() {
                let weight = y * inverse;
                for (other, admittance) in &star[n + 1..] {
                    waiting.add(plan, *node, *other, weight * admittance);
                }
                patch.near.push(*node);
                patch.weight.push(weight);
            }
            patch.place[step as usize] = u32::try_from(patch.inverse.len()).unwrap_or(NOWHERE);
            patch.inverse.push(inverse);
            patch.first.push(u32::try_from(patch.near.len()).unwrap_or(NOWHERE));
        }
        patch
    }

    /// Whether an edit can be made: its value is one that a network takes, and its nodes or element are there.
    pub(super) fn takes(under: &Solution<'_>, edit: &Edit) -> bool {
        let network = under.solver().network;
        match edit {
            Edit::Change(id, value) => {
                network.element(*id).is_some() && value.is_none_or(|value| value.check().is_ok())
            }
            Edit::Add { from, to, value } => {
                let count = network.node_count();
                from != to && from.index() < count && to.index() < count && value.check().is_ok()
            }
        }
    }

    /// Neighbours and admittances of a step: those of the plan and those that wait for it, in the order of the ranks.
    fn star_of(&self, under: &Solution<'_>, step: u32, waiting: &mut Waiting, star: &mut Vec<(u32, Complex64)>) {
        let plan = &under.solver().plan;
        star.clear();
        let mut next = waiting.next_of(step);
        for edge in plan.edges(step as usize) {
            let node = plan.neighbour[edge];
            let rank = plan.rank(node);
            while let Some((key, admittance)) = next.filter(|(key, _)| *key < rank) {
                star.push((key.1, admittance));
                next = waiting.next_of(step);
            }
            match next {
                Some((key, admittance)) if key == rank => {
                    star.push((node, self.unwaited(under, edge) + admittance));
                    next = waiting.next_of(step);
                }
                // No earlier step that differs adds to it.
                _ => star.push((node, under.admittance(edge))),
            }
        }
        while let Some((key, admittance)) = next {
            star.push((key.1, admittance));
            next = waiting.next_of(step);
        }
    }

    /// Admittance of an edge from its leak, its elements and the products of steps that do not differ, in siemens.
    fn unwaited(&self, under: &Solution<'_>, edge: usize) -> Complex64 {
        let (plan, network) = (&under.solver().plan, under.solver().network);
        let leak = if plan.neighbour[edge] == network.reference().0 { network.leak_siemens() } else { 0.0 };
        let mut sum = Complex64::from(leak);
        for element in plan.elements(edge) {
            let id = ElementId(*element);
            if let Some(value) = self.value(id).unwrap_or_else(|| under.value(id)) {
                sum += value.admittance(network.hertz());
            }
        }
        for pair in plan.products(edge).iter().filter(|pair| self.place[plan.step_of_edge(pair[0])] == NOWHERE) {
            sum += under.product(*pair);
        }
        sum
    }

    /// What a step leaves behind, if it differs.
    pub(super) fn star(&self, step: usize) -> Option<Star<'_>> {
        let place = *self.place.get(step)? as usize;
        let edges = *self.first.get(place)? as usize..*self.first.get(place + 1)? as usize;
        Some(Star { near: &self.near[edges.clone()], weights: &self.weight[edges], inverse: self.inverse[place] })
    }

    /// What an element became, if it was changed; the last change counts.
    #[allow(clippy::option_option, reason = "not edited, taken away, and changed are three things")]
    pub(super) fn value(&self, element: ElementId) -> Option<Option<Value>> {
        self.edits.iter().rev().find_map(|edit| match edit {
            Edit::Change(id, value) if *id == element => Some(*value),
            _ => None,
        })
    }

    /// Everything that differs.
    pub(super) fn edits(&self) -> &[Edit] {
        &self.edits
    }
}
