//! Which nodes metal joins in a position, and by which way. Most questions need no voltages.

#![allow(clippy::indexing_slicing, reason = "every index is a node or element of the network that it was made for")]

use std::collections::{BTreeSet, VecDeque};

use super::network::{ElementId, Network, NodeId, State};

/// Sets of joined nodes, the smaller joined to the larger.
#[derive(Debug, Clone)]
pub(super) struct Sets {
    parent: Vec<u32>,
    size: Vec<u32>,
}

impl Sets {
    /// Each node by itself.
    pub(super) fn new(count: usize) -> Self {
        Self { parent: (0..u32::try_from(count).unwrap_or(u32::MAX)).collect(), size: vec![1; count] }
    }

    /// The node that stands for a set.
    pub(super) fn find(&self, node: u32) -> u32 {
        let mut at = node;
        while self.parent[at as usize] != at {
            at = self.parent[at as usize];
        }
        at
    }

    /// Makes two sets one.
    pub(super) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        if a != b {
            let (small, large) = if self.size[a as usize] < self.size[b as usize] { (a, b) } else { (b, a) };
            self.parent[small as usize] = large;
            self.size[large as usize] += self.size[small as usize];
        }
    }
}

/// What metal joins whatever the positions.
#[derive(Debug)]
pub struct Connectivity<'n> {
    network: &'n Network,
    sets: Sets,
    /// Elements at each node, all kinds.
    at_node: Vec<Vec<u32>>,
    /// Metal contacts, those left out not among them.
    contacts: Vec<u32>,
}

/// What metal joins in one position.
#[derive(Debug)]
pub struct Joined {
    sets: Sets,
}

impl Joined {
    /// Whether metal joins two nodes.
    pub fn joined(&self, a: NodeId, b: NodeId) -> bool {
        self.sets.find(a.0) == self.sets.find(b.0)
    }

    /// A node that stands for all that are joined with this one.
    pub fn group(&self, node: NodeId) -> NodeId {
        NodeId(self.sets.find(node.0))
    }
}

impl<'n> Connectivity<'n> {
    /// Joins what no contact changes. `without` names elements that are to be left out: a bond, a breaker, a bus.
    pub fn new(network: &'n Network, without: &[ElementId]) -> Self {
        let count = network.node_count();
        let mut sets = Sets::new(count);
        let mut at_node = vec![Vec::new(); count];
        let mut contacts = Vec::new();
        for (n, element) in (0u32..).zip(network.elements()) {
            if without.contains(&ElementId(n)) {
                continue;
            }
            at_node[element.from.index()].push(n);
            at_node[element.to.index()].push(n);
            match element.contact {
                _ if !element.value.connects() => {}
                Some(_) => contacts.push(n),
                None => sets.join(element.from.0, element.to.0),
            }
        }
        Self { network, sets, at_node, contacts }
    }

    /// What is joined in a position.
    pub fn at(&self, state: &State) -> Joined {
        self.closed(|element| element.present(state))
    }

    /// What is joined with every contact closed: what could ever meet.
    pub fn ever(&self) -> Joined {
        self.closed(|_| true)
    }

    fn closed(&self, is: impl Fn(&super::network::Element) -> bool) -> Joined {
        let mut sets = self.sets.clone();
        let contacts = self.contacts.iter().map(|n| &self.network.elements()[*n as usize]);
        for element in contacts.filter(|element| is(element)) {
            sets.join(element.from.0, element.to.0);
        }
        Joined { sets }
    }

    /// The shortest way through metal from one node to another in a position: the elements in order. `None` if there
    /// is no way; empty if both are one node.
    pub fn path(&self, state: &State, from: NodeId, to: NodeId) -> Option<Vec<ElementId>> {
        self.way(state, from, to, |element| element.value.connects())
    }

    /// The same, but loads are ways too.
    pub fn path_through_loads(&self, state: &State, from: NodeId, to: NodeId) -> Option<Vec<ElementId>> {
        use super::network::Value;
        self.way(state, from, to, |element| matches!(element.value, Value::Metal { .. } | Value::Load { .. }))
    }

    /// Nodes that an element of metal joins to a node in a position.
    pub(super) fn around(&self, node: NodeId, state: &State) -> Vec<NodeId> {
        let elements = self.at_node.get(node.index()).into_iter().flatten();
        let elements = elements.map(|n| &self.network.elements()[*n as usize]);
        elements.filter(|e| e.value.connects() && e.present(state)).map(|e| e.other(node)).collect()
    }

    /// The shortest way to the node that is farthest from one through metal.
    pub(super) fn farthest(&self, state: &State, from: NodeId) -> Vec<ElementId> {
        let mut seen = BTreeSet::from([from]);
        let mut queue = VecDeque::from([from]);
        let mut last = from;
        while let Some(node) = queue.pop_front() {
            last = node;
            queue.extend(self.around(node, state).into_iter().filter(|next| seen.insert(*next)));
        }
        self.path(state, from, last).unwrap_or_default()
    }

    fn way(
        &self,
        state: &State,
        from: NodeId,
        to: NodeId,
        passes: impl Fn(&super::network::Element) -> bool,
    ) -> Option<Vec<ElementId>> {
        const NONE: u32 = u32::MAX;
        let mut came_by = vec![NONE; self.network.node_count()];
        let mut seen = vec![false; self.network.node_count()];
        *seen.get_mut(from.index())? = true;
        let mut queue = VecDeque::from([from]);
        while let Some(node) = queue.pop_front() {
            if node == to {
                break;
            }
            for n in &self.at_node[node.index()] {
                let element = &self.network.elements()[*n as usize];
                let next = element.other(node);
                if !seen[next.index()] && passes(element) && element.present(state) {
                    seen[next.index()] = true;
                    came_by[next.index()] = *n;
                    queue.push_back(next);
                }
            }
        }
        if !seen.get(to.index()).copied().unwrap_or(false) {
            return None;
        }
        let mut way = Vec::new();
        let mut node = to;
        while came_by[node.index()] != NONE {
            let n = came_by[node.index()];
            way.push(ElementId(n));
            node = self.network.elements()[n as usize].other(node);
        }
        way.reverse();
        Some(way)
    }
}

#[cfg(test)]
mod tests {
    use super::super::network::Value;
    use super::*;

    #[test]
    fn two_three_way_switches_join_in_two_of_four_positions_and_the_way_is_told() {
        let mut network = Network::new(60.0, 1e-12).unwrap();
        let metal = Value::Metal { ohms: 0.005 };
        let [feed, t1, t2, out] = [0; 4].map(|_| network.node());
        let (s1, s2) = (network.switch(2).unwrap(), network.switch(2).unwrap());
        for (at, switch) in [(feed, s1), (out, s2)] {
            network.contact((at, t1), metal, switch, &[0]).unwrap();
            network.contact((at, t2), metal, switch, &[1]).unwrap();
        }
        let connectivity = Connectivity::new(&network, &[]);
        let on: Vec<bool> = network
            .states(&[s1, s2], &network.first_state())
            .iter()
            .map(|state| {
                let joined = connectivity.at(state).joined(feed, out);
                assert_eq!(connectivity.path(state, feed, out).map(|way| way.len()), joined.then_some(2));
                joined
            })
            .collect();
        assert_eq!(on, [true, false, false, true]);
        assert!(connectivity.ever().joined(feed, out));
        // What is left out stays out, contacts too.
        let without = Connectivity::new(&network, &[ElementId(0), ElementId(1)]);
        assert!(!without.ever().joined(feed, out));
    }
}
