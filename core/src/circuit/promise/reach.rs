//! A group with more combinations than are worked out: what can be said of each load point by itself.
//!
//! Metal can bring to a load point only what lies on a way from one of its two sides to a bus. A handle none of whose
//! contacts lies on such a way changes nothing of what metal joins there: a lamp behind a master switch has the master
//! and its own switch, not the two hundred others behind the same master. So its table has few rows, the others at
//! rest.
//!
//! Ways are found by taking apart the graph of contacts at its joints (blocks and articulation points, one pass, linear
//! in the contacts), all buses as one joint. A contact counts if it lies on a way that never passes a joint twice.
//!
//! That is exact where metal ties both sides to buses. Where a side floats, the handles at rest could still bring it
//! something through other loads. Then it is looked at what could be reached at all; if more than one kind of bus
//! could, the row is said as far as seen.

#![allow(clippy::indexing_slicing, reason = "places come from the circuit's own nodes and the joints made of them")]

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Handle, LoadPoint};

use super::super::build::{Circuit, LoadNode};
use super::super::connect::Sets;
use super::super::group::{Group, Islands, automatic_switches};
use super::super::network::{ElementId, NodeId, State, Value};
use super::super::point::Part;
use super::MOST_COMBINATIONS;

/// Most rows that the parts of one group have together.
const MOST_ROWS: u64 = 8 * MOST_COMBINATIONS;

/// A group taken apart.
pub(super) struct Apart {
    /// Load points with the handles that metal can bring to them.
    pub(super) parts: Vec<Group>,
    /// Load points that have too many handles of their own, with these.
    pub(super) left_out: Vec<Group>,
}

/// The joints of a circuit between contacts, and the blocks that they form.
pub(super) struct Ways<'c> {
    circuit: &'c Circuit,
    islands: &'c Islands,
    /// Joint of each node's metal; the buses are joint 0.
    joint_of: BTreeMap<u32, usize>,
    /// The block by which each joint hangs on the buses; none if it cannot reach them.
    block_of: Vec<Option<usize>>,
    /// The joint of each block that is nearest to the buses.
    top_of: Vec<usize>,
    /// The handles of each block.
    handles_of: Vec<BTreeSet<Handle>>,
}

struct Contact {
    a: usize,
    b: usize,
    handle: Handle,
}

impl<'c> Ways<'c> {
    pub(super) fn of(circuit: &'c Circuit, islands: &'c Islands) -> Self {
        let mut joint_of: BTreeMap<u32, usize> = BTreeMap::new();
        let mut contacts = Vec::new();
        for (n, element) in (0u32..).zip(circuit.network.elements()) {
            let Part::Contact(handle) = circuit.part(ElementId(n)) else { continue };
            if circuit.handles.get(handle).is_none_or(|node| node.automatic) {
                continue;
            }
            let mut joint = |node: NodeId| match islands.joint(node) {
                None => 0,
                Some(root) => {
                    let next = joint_of.len() + 1;
                    *joint_of.entry(root).or_insert(next)
                }
            };
            let (a, b) = (joint(element.from), joint(element.to));
            if a != b {
                contacts.push(Contact { a, b, handle: handle.clone() });
            }
        }
        let count = joint_of.len() + 1;
        let mut ways = Self {
            circuit,
            islands,
            joint_of,
            block_of: vec![None; count],
            top_of: Vec::new(),
            handles_of: Vec::new(),
        };
        ways.blocks(&contacts, count);
        ways
    }

    /// Blocks by one depth-first walk from the buses, without recursion, so that a long chain ends well.
    fn blocks(&mut self, contacts: &[Contact], count: usize) {
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (n, contact) in contacts.iter().enumerate() {
            at[contact.a].push(n);
            at[contact.b].push(n);
        }
        let (mut order, mut low) = (vec![usize::MAX; count], vec![usize::MAX; count]);
        let mut pending: Vec<usize> = Vec::new();
        // Joint, the contact it was reached by, and how many of its contacts were looked at.
        let mut walk: Vec<(usize, Option<usize>, usize)> = vec![(0, None, 0)];
        (order[0], low[0]) = (0, 0);
        let mut next = 1;
        while let Some((joint, by, looked)) = walk.last_mut() {
            let joint = *joint;
            if let Some(contact) = at[joint].get(*looked).copied() {
                *looked += 1;
                if Some(contact) == *by {
                    continue;
                }
                let other = if contacts[contact].a == joint { contacts[contact].b } else { contacts[contact].a };
                if order[other] == usize::MAX {
                    pending.push(contact);
                    (order[other], low[other]) = (next, next);
                    next += 1;
                    walk.push((other, Some(contact), 0));
                } else if order[other] < order[joint] {
                    pending.push(contact);
                    low[joint] = low[joint].min(order[other]);
                }
                continue;
            }
            let by = *by;
            walk.pop();
            let (Some((before, ..)), Some(by)) = (walk.last(), by) else { continue };
            let before = *before;
            low[before] = low[before].min(low[joint]);
            if low[joint] >= order[before] {
                self.block(before, by, contacts, &mut pending);
            }
        }
    }

    /// A block that hangs on the joint `top`: everything pending down to the contact that began it.
    fn block(&mut self, top: usize, first: usize, contacts: &[Contact], pending: &mut Vec<usize>) {
        let block = self.top_of.len();
        let mut handles = BTreeSet::new();
        while let Some(contact) = pending.pop() {
            let Contact { a, b, handle } = &contacts[contact];
            handles.insert(handle.clone());
            for joint in [*a, *b].into_iter().filter(|joint| *joint != top) {
                self.block_of[joint] = Some(block);
            }
            if contact == first {
                break;
            }
        }
        self.top_of.push(top);
        self.handles_of.push(handles);
    }

    /// The handles that metal can bring to a load point.
    pub(super) fn handles(&self, load: &LoadNode) -> BTreeSet<Handle> {
        let mut handles = BTreeSet::new();
        for node in [load.from, load.to] {
            let mut joint = self.islands.joint(node).and_then(|root| self.joint_of.get(&root).copied()).unwrap_or(0);
            while let Some(block) = self.block_of[joint] {
                handles.extend(self.handles_of[block].iter().cloned());
                joint = self.top_of[block];
            }
        }
        handles
    }

    /// Takes a group apart.
    pub(super) fn apart(&self, group: &Group) -> Apart {
        let mut by_handles: BTreeMap<Vec<Handle>, Vec<LoadPoint>> = BTreeMap::new();
        for point in &group.loads {
            let Some(load) = self.circuit.loads.get(point) else { continue };
            by_handles.entry(self.handles(load).into_iter().collect()).or_default().push(point.clone());
        }
        let mut apart = Apart { parts: Vec::new(), left_out: Vec::new() };
        let mut rows: u64 = 0;
        let mut parts: Vec<Group> = by_handles.into_iter().map(|(handles, loads)| Group { handles, loads }).collect();
        // Those with the fewest handles first, so that the limit leaves out as few as it can.
        parts.sort_by_key(|part| part.handles.len());
        for part in parts {
            let own = self.circuit.count_combinations(&part.handles);
            if own <= MOST_COMBINATIONS && rows.saturating_add(own) <= MOST_ROWS {
                rows += own;
                apart.parts.push(part);
            } else {
                apart.left_out.push(part);
            }
        }
        apart
    }
}

/// What the handles at rest could bring to load points whose side floats.
pub(super) struct Others<'c> {
    circuit: &'c Circuit,
    islands: &'c Islands,
    /// Whether the part moves a switch, or nobody does, by the switch's number.
    own: Vec<bool>,
    /// Kind of bus that each tied joint is, by node: legs one by one, neutral and ground together.
    kinds: Vec<(NodeId, usize)>,
}

impl<'c> Others<'c> {
    /// With the handles that a part moves.
    pub(super) fn new(circuit: &'c Circuit, islands: &'c Islands, own: &[Handle]) -> Self {
        let mut moved = automatic_switches(circuit);
        for node in own.iter().filter_map(|handle| circuit.handles.get(handle)) {
            moved[node.switch.index()] = true;
        }
        let mut kinds = Vec::new();
        for (n, panel) in circuit.panels.values().enumerate() {
            kinds.extend([(panel.neutral, 0), (panel.ground, 0)]);
            kinds.extend(panel.legs.iter().enumerate().map(|(leg, (_, node))| (*node, 1 + n * 4 + leg)));
        }
        Self { circuit, islands, own: moved, kinds }
    }

    /// The load points of a part whose row holds whatever the other handles do.
    pub(super) fn held<'p>(&self, state: &State, points: &'p [LoadPoint]) -> Vec<&'p LoadPoint> {
        points
            .iter()
            .filter(|point| self.circuit.loads.get(point).is_some_and(|load| self.holds(state, load)))
            .collect()
    }

    fn holds(&self, state: &State, load: &LoadNode) -> bool {
        let network = &self.circuit.network;
        let (mut firm, mut ever) = (Sets::new(network.node_count()), Sets::new(network.node_count()));
        let tied = |node: NodeId| self.islands.joint(node).is_none();
        let own = |e: &super::super::Element| e.contact.is_none_or(|c| self.own[c.switch.index()]);
        let mut reached: Vec<(NodeId, NodeId)> = Vec::new();
        for (n, e) in (0u32..).zip(network.elements()) {
            let (metal, is_load) = (e.value.connects(), matches!(e.value, Value::Load { .. }));
            if !metal && (!is_load || load.element == Some(ElementId(n))) {
                continue;
            }
            let present = e.present(state);
            if metal && present && own(e) {
                firm.join(e.from.0, e.to.0);
            }
            if is_load || !own(e) || present {
                match (tied(e.from), tied(e.to)) {
                    (false, false) => ever.join(e.from.0, e.to.0),
                    (false, true) => reached.push((e.from, e.to)),
                    (true, false) => reached.push((e.to, e.from)),
                    (true, true) => {}
                }
            }
        }
        let bus = |node: NodeId| self.kinds.iter().any(|(bus, _)| firm.find(bus.0) == firm.find(node.0));
        if bus(load.from) && bus(load.to) {
            return true;
        }
        let mut kinds: BTreeSet<Option<usize>> = BTreeSet::new();
        let kind = |node: NodeId| {
            let found = self.kinds.iter().find(|(bus, _)| firm.find(bus.0) == firm.find(node.0));
            found.map(|(_, kind)| *kind)
        };
        for side in [load.from, load.to] {
            if tied(side) {
                kinds.insert(kind(side));
                continue;
            }
            let near = reached.iter().filter(|(here, _)| ever.find(here.0) == ever.find(side.0));
            kinds.extend(near.map(|(_, there)| kind(*there)));
        }
        kinds.len() < 2
    }
}
