//! In which order nodes are eliminated: those with the fewest neighbours first (minimum degree).

#![allow(clippy::indexing_slicing, reason = "every index is a node of the network")]

use std::collections::VecDeque;

use super::network::Network;

/// A node without a contact that has more neighbours than this when its turn comes waits for the core.
const HUB: usize = 6;

/// The order, and how many of its steps are the same in every position. Nodes that touch a contact, and hubs, come
/// after all others. Among equals the one that has waited longest comes first, so that the order is always the same
/// and long chains are taken from both ends.
pub(super) fn minimum_degree(network: &Network) -> (Vec<u32>, usize) {
    let touches = touches_a_contact(network);
    let mut stars = Stars::of(network);
    let all = || network.nodes().filter(|node| network.fixed(*node).is_none()).map(|node| node.0);
    let mut order = Vec::with_capacity(network.node_count());
    let hubs = stars.take(all().filter(|node| !touches[*node as usize]).collect(), Some(HUB), &mut order);
    let static_steps = order.len();
    stars.take(all().filter(|node| touches[*node as usize]).chain(hubs).collect(), None, &mut order);
    (order, static_steps)
}

fn touches_a_contact(network: &Network) -> Vec<bool> {
    let mut touches = vec![false; network.node_count()];
    for element in network.elements().iter().filter(|element| element.contact.is_some()) {
        touches[element.from.index()] = true;
        touches[element.to.index()] = true;
    }
    touches
}

/// Neighbours of each node among those to be found and not yet taken, in order.
struct Stars {
    near: Vec<Vec<u32>>,
    merged: Vec<u32>,
}

impl Stars {
    fn of(network: &Network) -> Self {
        let mut near: Vec<Vec<u32>> = vec![Vec::new(); network.node_count()];
        for element in network.elements() {
            let (a, b) = (element.from, element.to);
            if network.fixed(a).is_none() && network.fixed(b).is_none() {
                near[a.index()].push(b.0);
                near[b.index()].push(a.0);
            }
        }
        for star in &mut near {
            star.sort_unstable();
            star.dedup();
        }
        Self { near, merged: Vec::new() }
    }

    /// Takes nodes by degree until none is left, or none within `most`; gives those that are left.
    fn take(&mut self, nodes: Vec<u32>, most: Option<usize>, order: &mut Vec<u32>) -> Vec<u32> {
        let mut waits = vec![false; self.near.len()];
        let mut queue = Buckets::default();
        for node in &nodes {
            waits[*node as usize] = true;
            queue.push(self.near[*node as usize].len(), *node);
        }
        while let Some((degree, node)) = queue.pop(most.unwrap_or(usize::MAX)) {
            // A node is queued anew whenever its degree changes; what it left behind is passed over.
            if !waits[node as usize] || self.near[node as usize].len() != degree {
                continue;
            }
            waits[node as usize] = false;
            order.push(node);
            let star = std::mem::take(&mut self.near[node as usize]);
            for a in &star {
                let before = self.near[*a as usize].len();
                self.mesh(*a, node, &star);
                let after = self.near[*a as usize].len();
                if waits[*a as usize] && after != before {
                    queue.push(after, *a);
                }
            }
        }
        nodes.into_iter().filter(|node| waits[*node as usize]).collect()
    }

    /// Joins `a` to the rest of a star whose middle is taken.
    fn mesh(&mut self, a: u32, middle: u32, star: &[u32]) {
        let near = &mut self.near[a as usize];
        self.merged.clear();
        let (mut mine, mut theirs) = (near.iter().peekable(), star.iter().peekable());
        loop {
            let next = match (mine.peek(), theirs.peek()) {
                (Some(x), Some(y)) => **x.min(y),
                (Some(x), None) => **x,
                (None, Some(y)) => **y,
                (None, None) => break,
            };
            mine.next_if(|x| **x == next);
            theirs.next_if(|y| **y == next);
            if next != middle && next != a {
                self.merged.push(next);
            }
        }
        near.clear();
        near.extend_from_slice(&self.merged);
    }
}

/// Nodes by degree, first in, first out.
#[derive(Default)]
struct Buckets {
    by_degree: Vec<VecDeque<u32>>,
    least: usize,
}

impl Buckets {
    fn push(&mut self, degree: usize, node: u32) {
        if self.by_degree.len() <= degree {
            self.by_degree.resize_with(degree + 1, VecDeque::new);
        }
        self.by_degree[degree].push_back(node);
        self.least = self.least.min(degree);
    }

    fn pop(&mut self, most: usize) -> Option<(usize, u32)> {
        while self.least < self.by_degree.len() && self.least <= most {
            if let Some(node) = self.by_degree[self.least].pop_front() {
                return Some((self.least, node));
            }
            self.least += 1;
        }
        None
    }
}
