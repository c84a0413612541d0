//! Neutral joints that must not be parted while another breaker is on.
//!
//! Whoever turns a circuit off and parts a neutral joint of it expects both sides dead. Where loads of a second breaker
//! return through the same joint, the side away from the panel is then at line voltage, through those loads: in a
//! shared neutral, in a borrowed one, in the feeder's neutral of a subpanel. One breaker that opens every pole of the
//! circuit is no hazard, and neither is a joint that only one breaker's loads return through: that breaker is off.
//!
//! Load points count whether or not something is noted to be in them: a lamp can be plugged in at any time. Which
//! joints the current must pass follows from the metal alone: a joint counts for a load point if there is no way round
//! it. Joints are splices and neutral terminals of devices, of a device the one next to the panel; in the panel itself
//! everything stays live anyhow.

use std::collections::BTreeSet;

use crate::job::{Handle, LoadPoint, Spot};

use super::super::build::{Circuit, LoadNode};
use super::super::connect::Connectivity;
use super::super::network::NodeId;
use super::super::point::Point;
use super::HazardKind;
use super::neutral::landings;
use super::notes::Notes;
use super::scene::Look;

/// Which joints cut a node off from the neutral bars. Worked out with every handle at rest: neutrals do not depend on
/// positions, and one that does is a switched neutral.
pub(super) struct Cuts {
    /// The node that a search from the bars came from.
    parent: Vec<Option<NodeId>>,
    /// In which order it came; none where it did not.
    order: Vec<Option<u32>>,
    /// The earliest node that what lies beyond has a way to.
    low: Vec<u32>,
}

impl Cuts {
    /// Searches in depth from the neutral bars. `metal` is the circuit's without the bond.
    pub(super) fn new(circuit: &Circuit, metal: &Connectivity<'_>, bars: &[NodeId]) -> Self {
        let count = circuit.network.node_count();
        let rest = circuit.rest();
        let mut cuts = Self { parent: vec![None; count], order: vec![None; count], low: vec![u32::MAX; count] };
        let mut came = 0u32;
        for bar in bars {
            // Every bar is a place to get home to: whoever reaches one by a second way is not cut off.
            cuts.arrive(*bar, None, 0);
        }
        for bar in bars {
            let mut open = vec![(*bar, metal.around(*bar, &rest))];
            while let Some((node, ways)) = open.last_mut() {
                let node = *node;
                let Some(next) = ways.pop() else {
                    open.pop();
                    if let Some(parent) = cuts.parent_of(node) {
                        cuts.lower(parent, cuts.low_of(node));
                    }
                    continue;
                };
                match cuts.order_of(next) {
                    Some(order) if cuts.parent_of(node) != Some(next) => cuts.lower(node, order),
                    Some(_) => {}
                    None => {
                        came += 1;
                        cuts.arrive(next, Some(node), came);
                        open.push((next, metal.around(next, &rest)));
                    }
                }
            }
        }
        cuts
    }

    fn arrive(&mut self, node: NodeId, parent: Option<NodeId>, order: u32) {
        let slots =
            (self.parent.get_mut(node.index()), self.order.get_mut(node.index()), self.low.get_mut(node.index()));
        if let (Some(from), Some(at), Some(low)) = slots {
            (*from, *at, *low) = (parent, Some(order), order);
        }
    }

    fn parent_of(&self, node: NodeId) -> Option<NodeId> {
        self.parent.get(node.index()).copied().flatten()
    }

    fn order_of(&self, node: NodeId) -> Option<u32> {
        self.order.get(node.index()).copied().flatten()
    }

    fn low_of(&self, node: NodeId) -> u32 {
        self.low.get(node.index()).copied().unwrap_or(u32::MAX)
    }

    fn lower(&mut self, node: NodeId, to: u32) {
        if let Some(low) = self.low.get_mut(node.index()) {
            *low = (*low).min(to);
        }
    }

    /// Nodes without which a node has no way to a bar, the nearest to it first.
    fn of(&self, node: NodeId) -> Vec<NodeId> {
        let mut cuts = Vec::new();
        let mut beyond = node;
        while let Some(node) = self.parent_of(beyond) {
            if self.order_of(node).is_some_and(|order| self.low_of(beyond) >= order) {
                cuts.push(node);
            }
            beyond = node;
        }
        cuts
    }
}

/// Joints that the current of a node must pass, of each device only the one nearest to the panel.
fn joints(look: &Look<'_, '_>, node: NodeId) -> Vec<(NodeId, Spot)> {
    let circuit = look.scene.circuit;
    let mut joints: Vec<(NodeId, Spot)> = Vec::new();
    for cut in look.scene.cuts.of(node) {
        let Point::Spot(spot @ (Spot::Splice(_) | Spot::Terminal { .. })) = circuit.point(cut) else { continue };
        if circuit.box_of(cut).is_some_and(|id| circuit.panels.contains_key(&id)) {
            continue;
        }
        if let Spot::Terminal { device, .. } = spot {
            joints.retain(|(_, other)| !matches!(other, Spot::Terminal { device: same, .. } if same == device));
        }
        joints.push((cut, spot.clone()));
    }
    joints
}

/// Joints that a load point returns through and that another breaker has to do with.
pub(super) fn parted(look: &Look<'_, '_>, notes: &mut Notes, _point: &LoadPoint, load: &LoadNode) {
    if !load.to_neutral || !look.is_hot(load.from) || !look.is_neutral(load.to) || look.is_hot(load.to) {
        return;
    }
    let poles = look.poles(load.from);
    let feeders: BTreeSet<Handle> = poles.iter().map(|pole| pole.handle.clone()).collect();
    if feeders.is_empty() {
        return;
    }
    let of_another =
        |breakers: &BTreeSet<_>| !breakers.is_empty() && poles.iter().all(|p| !breakers.contains(&p.breaker));
    let borrowed = landings(look, load).any(|landing| of_another(&landing.breakers));
    for (node, spot) in joints(look, load.to) {
        let through = notes.through.entry(node).or_default();
        through.extend(feeders.iter().cloned());
        if !borrowed && through.len() < 2 {
            continue;
        }
        let breakers = through.clone();
        let seen = notes.note(look, HazardKind::NeutralRises(spot), [], || {
            let bar = look.bar(load.to);
            (bar.map(|bar| look.way(load.to, bar)).unwrap_or_default(), look.scene.circuit.box_of(node))
        });
        seen.breakers.extend(breakers);
    }
}
