//! Which admittances meet in the elimination, and where each product of it goes: once for a topology.
//!
//! A node's star of admittances is replaced by the mesh between its neighbours (star-mesh transformation), node after
//! node. A branch circuit is nearly a tree, so that nodes with few neighbours go first (minimum degree) and hardly
//! anything is filled in. Nodes that touch a contact go last: what comes before them is the same in every position.
//! So do nodes that still have many neighbours by then, the bars of a panel above all: eliminated early, a bar would
//! join every circuit to every other. Positions and hypotheses change values, never the plan.
//!
//! The schedule is written from the receiving side: each edge knows the products that are added to it. A step can then
//! be redone alone, from what the steps before it left behind, without undoing anything.

#![allow(clippy::indexing_slicing, reason = "every index is made here from the lengths of these same lists")]

use std::ops::Range;

use super::network::{Network, NodeId};
use super::order::minimum_degree;

/// Marks an edge that needs no place: both its nodes are fixed. Marks a step that nothing is joined to.
pub(super) const NOWHERE: u32 = u32::MAX;

/// Flat lists, so that a solution walks memory forward.
///
/// *Step* `s` eliminates `order[s]`. Its *edges* `start[s]..start[s + 1]` lead to the nodes that are still there.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// Nodes to be found, in the order of elimination.
    pub(super) order: Vec<u32>,
    /// Step of a node; [`NOWHERE`] for a fixed one.
    pub(super) step_of: Vec<u32>,
    /// First edge of each step, and the number of edges at the end.
    start: Vec<u32>,
    /// Node that an edge leads to.
    pub(super) neighbour: Vec<u32>,
    /// The first step that takes over from each step: the next one that changes when it changes. [`NOWHERE`] if none.
    pub(super) parent: Vec<u32>,
    /// First product of each edge, and the number of products at the end.
    product_start: Vec<u32>,
    /// Pairs of edges of one step: the weight of the first times the admittance of the second is added to the edge.
    product: Vec<[u32; 2]>,
    /// How many products of each edge come from static steps: the first ones.
    static_products: Vec<u32>,
    /// Step of each edge.
    edge_step: Vec<u32>,
    /// Edge of an element, or [`NOWHERE`].
    pub(super) element_edge: Vec<u32>,
    /// First element of each edge in `elements`, and their number at the end.
    element_start: Vec<u32>,
    /// Elements by edge.
    elements: Vec<u32>,
    /// Steps before this one are the same in every position.
    pub(super) static_steps: usize,
    /// Elements with a contact.
    pub(super) moving: Vec<u32>,
}

fn number(value: usize) -> u32 {
    // A network refuses more nodes and elements than a u32 holds; products of a few of them fit as well.
    u32::try_from(value).unwrap_or(NOWHERE)
}

/// Lists of one list each, from pairs of place and value: where each begins, and the values in the order given.
fn listed<V: Copy + Default>(places: usize, pairs: impl Iterator<Item = (u32, V)> + Clone) -> (Vec<u32>, Vec<V>) {
    let mut start = vec![0; places + 1];
    let is_place = |pair: &(u32, V)| pair.0 != NOWHERE;
    for (place, _) in pairs.clone().filter(is_place) {
        start[place as usize + 1] += 1;
    }
    for place in 0..places {
        start[place + 1] += start[place];
    }
    let mut next = start.clone();
    let mut values = vec![V::default(); start[places] as usize];
    for (place, value) in pairs.filter(is_place) {
        let at = &mut next[place as usize];
        values[*at as usize] = value;
        *at += 1;
    }
    (start, values)
}

impl Plan {
    /// The plan of a network.
    pub(super) fn new(network: &Network) -> Self {
        let (order, static_steps) = minimum_degree(network);
        let mut step_of = vec![NOWHERE; network.node_count()];
        for (step, node) in order.iter().enumerate() {
            step_of[*node as usize] = number(step);
        }
        let moving = (0u32..).zip(network.elements()).filter(|(_, e)| e.contact.is_some()).map(|(n, _)| n).collect();
        let mut plan = Self {
            order,
            step_of,
            start: vec![0],
            neighbour: Vec::new(),
            parent: Vec::new(),
            product_start: Vec::new(),
            product: Vec::new(),
            static_products: Vec::new(),
            edge_step: Vec::new(),
            element_edge: Vec::new(),
            element_start: Vec::new(),
            elements: Vec::new(),
            static_steps,
            moving,
        };
        plan.eliminate(network);
        plan.place(network);
        plan
    }

    /// Order of elimination with fixed nodes after all others.
    pub(super) fn rank(&self, node: u32) -> (u32, u32) {
        (self.step_of[node as usize], node)
    }

    /// Finds the neighbours that each node has when its turn comes.
    fn eliminate(&mut self, network: &Network) {
        let reference = network.reference().0;
        let mut later: Vec<Vec<u32>> = self.order.iter().map(|_| vec![reference]).collect();
        for element in network.elements() {
            let (a, b) = (element.from.0, element.to.0);
            let (first, second) = if self.rank(a) < self.rank(b) { (a, b) } else { (b, a) };
            if let Some(list) = later.get_mut(self.step_of[first as usize] as usize) {
                list.push(second);
            }
        }
        for step in 0..self.order.len() {
            let mut list = std::mem::take(&mut later[step]);
            list.sort_unstable_by_key(|node| self.rank(*node));
            list.dedup();
            // The first neighbour inherits the others; they reach the rest through it.
            let heir = list.first().map_or(NOWHERE, |heir| self.step_of[*heir as usize]);
            if let Some(inherited) = later.get_mut(heir as usize) {
                inherited.extend_from_slice(&list[1..]);
            }
            self.parent.push(heir);
            self.neighbour.append(&mut list);
            self.edge_step.resize(self.neighbour.len(), number(step));
            self.start.push(number(self.neighbour.len()));
        }
    }

    /// Finds where products and elements go.
    fn place(&mut self, network: &Network) {
        let mut pairs: Vec<(u32, [u32; 2])> = Vec::with_capacity(2 * self.neighbour.len());
        for step in 0..self.order.len() {
            let edges = self.edges(step);
            for first in edges.clone() {
                for second in first + 1..edges.end {
                    let target = self.edge(self.neighbour[first], self.neighbour[second]);
                    if target == NOWHERE {
                        // Fixed nodes come after all others, so that what follows is fixed on both sides as well.
                        break;
                    }
                    pairs.push((target, [number(first), number(second)]));
                }
            }
        }
        (self.product_start, self.product) = listed(self.neighbour.len(), pairs.iter().copied());
        let core = number(self.core_start());
        let from_static = |edge: usize| self.products(edge).partition_point(|pair| pair[0] < core);
        self.static_products = (0..self.neighbour.len()).map(|edge| number(from_static(edge))).collect();
        self.element_edge = network.elements().iter().map(|e| self.edge(e.from.0, e.to.0)).collect();
        let placed = self.element_edge.iter().copied().zip(0u32..);
        (self.element_start, self.elements) = listed(self.neighbour.len(), placed);
    }

    /// The edge between two nodes, or [`NOWHERE`] if both are fixed.
    fn edge(&self, a: u32, b: u32) -> u32 {
        let (first, second) = if self.rank(a) < self.rank(b) { (a, b) } else { (b, a) };
        let step = self.step_of[first as usize] as usize;
        if step >= self.order.len() {
            return NOWHERE;
        }
        let place = self.neighbour[self.edges(step)].iter().position(|node| *node == second);
        place.map_or(NOWHERE, |at| self.start[step] + number(at))
    }

    /// Edges of a step.
    pub(super) fn edges(&self, step: usize) -> Range<usize> {
        self.start[step] as usize..self.start[step + 1] as usize
    }

    /// Products that are added to an edge.
    pub(super) fn products(&self, edge: usize) -> &[[u32; 2]] {
        &self.product[self.product_start[edge] as usize..self.product_start[edge + 1] as usize]
    }

    /// Elements of an edge.
    pub(super) fn elements(&self, edge: usize) -> &[u32] {
        &self.elements[self.element_start[edge] as usize..self.element_start[edge + 1] as usize]
    }

    /// First edge that can differ between positions.
    pub(super) fn core_start(&self) -> usize {
        self.start[self.static_steps] as usize
    }

    /// Step of a node to be found.
    pub(super) fn step(&self, node: NodeId) -> Option<u32> {
        self.step_of.get(node.index()).copied().filter(|step| *step != NOWHERE)
    }

    /// Step whose edge this is.
    pub(super) fn step_of_edge(&self, edge: u32) -> usize {
        self.edge_step[edge as usize] as usize
    }

    /// Number of edges.
    pub(super) fn edge_count(&self) -> usize {
        self.neighbour.len()
    }

    /// Edges to the reference, one for each step: the leaks are there.
    pub(super) fn leaks(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.neighbour.len()).filter(|edge| self.neighbour[*edge] == 0)
    }

    /// Products of static steps that are added to an edge.
    pub(super) fn static_products(&self, edge: usize) -> &[[u32; 2]] {
        &self.products(edge)[..self.static_products[edge] as usize]
    }

    /// Products of the core's steps that are added to an edge.
    pub(super) fn core_products(&self, edge: usize) -> &[[u32; 2]] {
        &self.products(edge)[self.static_products[edge] as usize..]
    }
}
