//! Which handles can matter to which load points, so that unrelated switches do not multiply.
//!
//! A node that metal ties to a bus whatever the hands do is settled. What remains are the islands between contacts:
//! travelers, switched legs, a neutral behind a switch. Handles and load points that touch one island belong together;
//! everything else reaches them only through a few hundredths of a volt.

#![allow(clippy::indexing_slicing, reason = "every index is a node of the network")]

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Handle, LoadPoint};

use super::build::Circuit;
use super::connect::Sets;
use super::network::{NodeId, Value};
use super::point::Part;

/// Handles and load points that matter to one another.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Group {
    /// The handles, in order.
    pub handles: Vec<Handle>,
    /// The load points, in order; auxiliary ones left out.
    pub loads: Vec<LoadPoint>,
}

/// Islands between contacts.
pub(super) struct Islands {
    sets: Sets,
    /// Tied to a bus whatever the hands do.
    tied: Vec<bool>,
}

impl Islands {
    pub(super) fn of(circuit: &Circuit) -> Self {
        let network = &circuit.network;
        let (rest, automatic) = (circuit.rest(), automatic_switches(circuit));
        let fixed = |contact: Option<super::network::Contact>| contact.is_none_or(|c| automatic.contains(&c.switch));
        let mut metal = Sets::new(network.node_count());
        for element in network.elements().iter().filter(|e| e.value.connects() && fixed(e.contact) && e.present(&rest))
        {
            metal.join(element.from.0, element.to.0);
        }
        let buses: BTreeSet<u32> = circuit.buses().map(|node| metal.find(node.0)).collect();
        let tied: Vec<bool> = network.nodes().map(|node| buses.contains(&metal.find(node.0))).collect();
        let mut sets = Sets::new(network.node_count());
        let mut of_handle: BTreeMap<&Handle, u32> = BTreeMap::new();
        for (n, element) in (0u32..).zip(network.elements()) {
            let (a, b) = (element.from, element.to);
            let conducts = matches!(element.value, Value::Metal { .. } | Value::Load { .. });
            if conducts && !tied[a.index()] && !tied[b.index()] {
                sets.join(a.0, b.0);
            }
            if let Part::Contact(handle) = circuit.part(super::network::ElementId(n)) {
                for node in [a, b].into_iter().filter(|node| !tied[node.index()]) {
                    let first = *of_handle.entry(handle).or_insert(node.0);
                    sets.join(first, node.0);
                }
            }
        }
        for load in circuit.loads.values().filter(|load| !tied[load.from.index()] && !tied[load.to.index()]) {
            sets.join(load.from.0, load.to.0);
        }
        join_driven(circuit, &tied, &mut sets);
        Self { sets, tied }
    }

    /// The island of a node; none if it is tied to a bus.
    pub(super) fn island(&self, node: NodeId) -> Option<u32> {
        (!self.tied[node.index()]).then(|| self.sets.find(node.0))
    }
}

/// What moves a coil moves its contacts: their islands are one.
fn join_driven(circuit: &Circuit, tied: &[bool], sets: &mut Sets) {
    for follower in &circuit.followers {
        let load = circuit.loads.get(&follower.load);
        let coil = load.into_iter().flat_map(|load| [load.from, load.to]);
        let contacts = circuit
            .network
            .elements()
            .iter()
            .filter(|element| element.contact.is_some_and(|contact| contact.switch == follower.switch));
        let nodes = coil.chain(contacts.flat_map(|element| [element.from, element.to]));
        let islands: Vec<NodeId> = nodes.filter(|node| !tied[node.index()]).collect();
        for pair in islands.windows(2) {
            sets.join(pair[0].0, pair[1].0);
        }
    }
}

fn automatic_switches(circuit: &Circuit) -> BTreeSet<super::network::SwitchId> {
    circuit.handles.values().filter(|handle| handle.automatic).map(|handle| handle.switch).collect()
}

impl Circuit {
    /// Every bus of every panel.
    pub(super) fn buses(&self) -> impl Iterator<Item = NodeId> + '_ {
        self.panels
            .values()
            .flat_map(|panel| panel.legs.iter().map(|(_, node)| *node).chain([panel.neutral, panel.ground]))
    }

    /// Islands that a handle touches.
    pub(super) fn islands_of_handle(&self, islands: &Islands, handle: &Handle) -> BTreeSet<u32> {
        let contacts = self.elements_where(|part| matches!(part, Part::Contact(of) if of == handle));
        let elements = contacts.into_iter().filter_map(|id| self.network.element(id));
        elements.flat_map(|e| [e.from, e.to]).filter_map(|node| islands.island(node)).collect()
    }

    /// Handles worked by a hand and load points, grouped. The last group has no handles: load points that no switch
    /// touches.
    pub fn groups(&self) -> Vec<Group> {
        let islands = Islands::of(self);
        let mut groups: BTreeMap<u32, Group> = BTreeMap::new();
        let mut alone: Vec<Group> = Vec::new();
        for handle in self.handles.iter().filter(|(_, node)| !node.automatic).map(|(handle, _)| handle) {
            match self.islands_of_handle(&islands, handle).first() {
                Some(island) => groups.entry(*island).or_default().handles.push(handle.clone()),
                // Both sides are tied to buses: it moves nothing, or it is a short.
                None => alone.push(Group { handles: vec![handle.clone()], loads: Vec::new() }),
            }
        }
        let mut rest = Group::default();
        for (point, load) in self.loads.iter().filter(|(_, load)| !load.auxiliary) {
            let island = [load.from, load.to].into_iter().find_map(|node| islands.island(node));
            match island.and_then(|island| groups.get_mut(&island)) {
                Some(group) => group.loads.push(point.clone()),
                None => rest.loads.push(point.clone()),
            }
        }
        let mut all: Vec<Group> = groups.into_values().chain(alone).collect();
        all.sort_by(|a, b| a.handles.cmp(&b.handles));
        all.push(rest);
        all
    }
}
