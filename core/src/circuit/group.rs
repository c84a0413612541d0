//! Which handles can matter to which load points, so that unrelated switches do not multiply.
//!
//! A node that metal ties to a bus whatever the hands do is settled. What remains are the islands between contacts:
//! travelers, switched legs, a neutral behind a switch. Handles and load points that touch one island belong together.
//!
//! Everything else reaches them only through the source's impedance and through conductors that they share: a drop of
//! volts, never a change of what metal joins. So the handles of the other groups stay where they are noted, else at
//! rest. A switch table is not moved by that: the bands of "on" and "off" are far wider than such a drop. A predicted
//! reading (`expect.rs`) covers every position of the handles of the islands that its two points touch; for the others
//! it takes the stated position, else rest, and only the meter's own scatter (a part of the reading and a fixed voltage,
//! both assumptions of the table) stands for what they could do. Where a reading is taken with other loads on, their
//! positions are to be stated.
//!
//! The grouping is one pass over the elements.

#![allow(clippy::indexing_slicing, reason = "every index is a node or switch of the network")]

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
    /// What metal joins whatever the hands do, automatic contacts at rest.
    metal: Sets,
    /// Tied to a bus whatever the hands do.
    tied: Vec<bool>,
    /// A node in the island of each switch, by the switch's number.
    of_switch: Vec<Option<u32>>,
}

impl Islands {
    pub(super) fn of(circuit: &Circuit) -> Self {
        let network = &circuit.network;
        let (rest, automatic) = (circuit.rest(), automatic_switches(circuit));
        let mut metal = Sets::new(network.node_count());
        for e in network.elements().iter().filter(|e| e.value.connects()) {
            if e.contact.is_none_or(|c| automatic[c.switch.index()]) && e.present(&rest) {
                metal.join(e.from.0, e.to.0);
            }
        }
        let buses: BTreeSet<u32> = circuit.buses().map(|node| metal.find(node.0)).collect();
        let tied: Vec<bool> = network.nodes().map(|node| buses.contains(&metal.find(node.0))).collect();
        let mut sets = Sets::new(network.node_count());
        let mut of_switch: Vec<Option<u32>> = vec![None; automatic.len()];
        for (n, element) in (0u32..).zip(network.elements()) {
            let (a, b) = (element.from, element.to);
            let conducts = matches!(element.value, Value::Metal { .. } | Value::Load { .. });
            if conducts && !tied[a.index()] && !tied[b.index()] {
                sets.join(a.0, b.0);
            }
            let Some(contact) = element.contact else { continue };
            // All contacts of one handle move together: what they touch is one island.
            if let Part::Contact(_) = circuit.part(super::network::ElementId(n)) {
                for node in [a, b].into_iter().filter(|node| !tied[node.index()]) {
                    let first = *of_switch[contact.switch.index()].get_or_insert(node.0);
                    sets.join(first, node.0);
                }
            }
        }
        for load in circuit.loads.values().filter(|load| !tied[load.from.index()] && !tied[load.to.index()]) {
            sets.join(load.from.0, load.to.0);
        }
        join_driven(circuit, &tied, &mut sets);
        Self { sets, metal, tied, of_switch }
    }

    /// The island of a node; none if it is tied to a bus.
    pub(super) fn island(&self, node: NodeId) -> Option<u32> {
        (!self.tied[node.index()]).then(|| self.sets.find(node.0))
    }

    /// What stands for everything that metal joins with a node whatever the hands do; none if that is a bus.
    pub(super) fn joint(&self, node: NodeId) -> Option<u32> {
        (!self.tied[node.index()]).then(|| self.metal.find(node.0))
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

/// Whether a switch is worked by no hand, by the switch's number.
pub(super) fn automatic_switches(circuit: &Circuit) -> Vec<bool> {
    let mut automatic = vec![false; circuit.network.switch_count()];
    for handle in circuit.handles.values().filter(|handle| handle.automatic) {
        automatic[handle.switch.index()] = true;
    }
    automatic
}

impl Circuit {
    /// Every bus of every panel.
    pub(super) fn buses(&self) -> impl Iterator<Item = NodeId> + '_ {
        self.panels
            .values()
            .flat_map(|panel| panel.legs.iter().map(|(_, node)| *node).chain([panel.neutral, panel.ground]))
    }

    /// The island that a handle touches; none if both sides of it are tied to buses.
    pub(super) fn island_of_handle(&self, islands: &Islands, handle: &Handle) -> Option<u32> {
        let node = (*islands.of_switch.get(self.handles.get(handle)?.switch.index())?)?;
        Some(islands.sets.find(node))
    }

    /// Handles worked by a hand and load points, grouped. The last group has no handles: load points that no switch
    /// touches.
    pub fn groups(&self) -> Vec<Group> {
        self.groups_of(&Islands::of(self))
    }

    pub(super) fn groups_of(&self, islands: &Islands) -> Vec<Group> {
        let mut groups: BTreeMap<u32, Group> = BTreeMap::new();
        let mut alone: Vec<Group> = Vec::new();
        for handle in self.handles.iter().filter(|(_, node)| !node.automatic).map(|(handle, _)| handle) {
            match self.island_of_handle(islands, handle) {
                Some(island) => groups.entry(island).or_default().handles.push(handle.clone()),
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
