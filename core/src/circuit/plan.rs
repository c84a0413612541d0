//! In which order nodes are eliminated, and where each product of the elimination goes: once for a topology.
//!
//! A node's star of admittances is replaced by the mesh between its neighbours (star-mesh transformation), node after
//! node. A branch circuit is nearly a tree, so that nodes with few neighbours go first (minimum degree) and hardly
//! anything is filled in. Nodes that touch a contact go last: what comes before them is the same in every position.
//! So do nodes that still have many neighbours by then, the bars of a panel above all: eliminated early, a bar would
//! join every circuit to every other. Positions and hypotheses change values, never the plan.

#![allow(clippy::indexing_slicing, reason = "every index is made here from the lengths of these same lists")]

use std::collections::BTreeSet;

use super::network::{Network, NodeId};

/// Marks an edge that needs no place: both its nodes are fixed.
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
    pub(super) start: Vec<u32>,
    /// Node that an edge leads to.
    pub(super) neighbour: Vec<u32>,
    /// First pair of each step.
    pub(super) pair_start: Vec<u32>,
    /// Edge that the product of a pair of edges is added to, or [`NOWHERE`].
    pub(super) pair_target: Vec<u32>,
    /// Edge of an element, or [`NOWHERE`].
    pub(super) element_edge: Vec<u32>,
    /// Edge of the leak of each step's node.
    pub(super) leak_edge: Vec<u32>,
    /// Steps before this one are the same in every position.
    pub(super) static_steps: usize,
    /// Elements with a contact.
    pub(super) moving: Vec<u32>,
}

fn number(value: usize) -> u32 {
    // A network refuses more nodes and elements than a u32 holds; products of a few of them fit as well.
    u32::try_from(value).unwrap_or(NOWHERE)
}

impl Plan {
    /// The plan of a network.
    pub(super) fn new(network: &Network) -> Self {
        let found: Vec<bool> = network.nodes().map(|node| network.fixed(node).is_none()).collect();
        let touches = touches_a_contact(network);
        let (order, static_steps) = minimum_degree(network, &found, &touches);
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
            pair_start: vec![0],
            pair_target: Vec::new(),
            element_edge: Vec::new(),
            leak_edge: Vec::new(),
            static_steps,
            moving,
        };
        plan.eliminate(network);
        plan.place(network);
        plan
    }

    /// Order of elimination with fixed nodes after all others.
    fn rank(&self, node: u32) -> (u32, u32) {
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
            list.sort_by_key(|node| self.rank(*node));
            list.dedup();
            // The first neighbour inherits the others; they reach the rest through it.
            if let Some((heir, others)) = list.split_first()
                && let Some(inherited) = later.get_mut(self.step_of[*heir as usize] as usize)
            {
                inherited.extend_from_slice(others);
            }
            self.neighbour.append(&mut list);
            self.start.push(number(self.neighbour.len()));
        }
    }

    /// Finds where products, elements and leaks go.
    fn place(&mut self, network: &Network) {
        for step in 0..self.order.len() {
            let edges = self.start[step] as usize..self.start[step + 1] as usize;
            for first in edges.clone() {
                for second in first + 1..edges.end {
                    let target = self.edge(self.neighbour[first], self.neighbour[second]);
                    self.pair_target.push(target);
                }
            }
            self.pair_start.push(number(self.pair_target.len()));
        }
        self.element_edge = network.elements().iter().map(|e| self.edge(e.from.0, e.to.0)).collect();
        self.leak_edge = self.order.iter().map(|node| self.edge(*node, network.reference().0)).collect();
    }

    /// The edge between two nodes, or [`NOWHERE`] if both are fixed.
    fn edge(&self, a: u32, b: u32) -> u32 {
        let (first, second) = if self.rank(a) < self.rank(b) { (a, b) } else { (b, a) };
        let step = self.step_of[first as usize] as usize;
        if step >= self.order.len() {
            return NOWHERE;
        }
        let edges = self.start[step] as usize..self.start[step + 1] as usize;
        self.neighbour[edges]
            .iter()
            .position(|node| *node == second)
            .map_or(NOWHERE, |at| self.start[step] + number(at))
    }

    /// First edge that can differ between positions.
    pub(super) fn core_start(&self) -> usize {
        self.start[self.static_steps] as usize
    }

    /// Step of a node to be found.
    pub(super) fn step(&self, node: NodeId) -> Option<u32> {
        self.step_of.get(node.index()).copied().filter(|step| *step != NOWHERE)
    }
}

fn touches_a_contact(network: &Network) -> Vec<bool> {
    let mut touches = vec![false; network.node_count()];
    for element in network.elements().iter().filter(|element| element.contact.is_some()) {
        touches[element.from.index()] = true;
        touches[element.to.index()] = true;
    }
    touches
}

/// A node without a contact that has more neighbours than this when its turn comes waits for the core.
const HUB: usize = 6;

/// Fewest neighbours first, and how many steps are the same in every position. Nodes that touch a contact, and hubs,
/// come after all others. Ties by number, so that it is always the same.
fn minimum_degree(network: &Network, found: &[bool], touches: &[bool]) -> (Vec<u32>, usize) {
    let mut near: Vec<BTreeSet<u32>> = vec![BTreeSet::new(); network.node_count()];
    for element in network.elements() {
        if found[element.from.index()] && found[element.to.index()] {
            near[element.from.index()].insert(element.to.0);
            near[element.to.index()].insert(element.from.0);
        }
    }
    let all: Vec<u32> = network.nodes().filter(|node| found[node.index()]).map(|node| node.0).collect();
    let mut order = Vec::with_capacity(all.len());
    let statics = all.iter().copied().filter(|node| !touches[*node as usize]).collect();
    let core: BTreeSet<u32> = all.iter().copied().filter(|node| touches[*node as usize]).collect();
    let hubs = take_in_order(&mut near, statics, Some(HUB), &mut order);
    let static_steps = order.len();
    take_in_order(&mut near, core.into_iter().chain(hubs).collect(), None, &mut order);
    (order, static_steps)
}

/// Takes nodes by degree until none is left, or none within `most`; gives those that are left.
fn take_in_order(near: &mut [BTreeSet<u32>], nodes: Vec<u32>, most: Option<usize>, order: &mut Vec<u32>) -> Vec<u32> {
    let mut waits = vec![false; near.len()];
    let mut queue = BTreeSet::new();
    for node in nodes {
        waits[node as usize] = true;
        queue.insert((near[node as usize].len(), node));
    }
    while let Some((degree, node)) = queue.pop_first() {
        if most.is_some_and(|most| degree > most) {
            queue.insert((degree, node));
            break;
        }
        order.push(node);
        let star = std::mem::take(&mut near[node as usize]);
        for a in &star {
            if waits[*a as usize] {
                queue.remove(&(near[*a as usize].len(), *a));
            }
            near[*a as usize].remove(&node);
            near[*a as usize].extend(star.iter().filter(|b| *b != a));
            if waits[*a as usize] {
                queue.insert((near[*a as usize].len(), *a));
            }
        }
    }
    queue.into_iter().map(|(_, node)| node).collect()
}
