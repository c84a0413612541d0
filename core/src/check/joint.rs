//! What can be touched in a box: splices, terminals, free ends, the metal itself. Two spots are one joint only if
//! metal that lies before the eyes joins them: a splice, a pigtail, a link that is whole. What the map says of other
//! boxes plays no part, and a conductor that goes through unspliced has nothing bare to touch.

use std::collections::{BTreeMap, BTreeSet};

use super::net::{Net, Node, Via};
use crate::catalogue::{PointForm, Role};
use crate::job::{Place, RunNote, Spot, ThingId, Tip};

/// What a joint is taken for when the pairs are chosen. Only what is plainly so counts: whatever is mixed, free or
/// not known is ungrounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Grounding conductors by their make, and nothing else.
    Ground,
    /// Whites that are not re-marked, and nothing else, joined with one another or with a neutral terminal.
    Neutral,
    /// Everything else.
    Ungrounded,
}

/// Something in a box that a probe touches as one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Joint {
    /// Where the probe goes.
    pub spot: Spot,
    /// What it is taken for.
    pub class: Class,
    /// Conductors' ends in it, in the order of the box's runs.
    pub tips: Vec<Tip>,
    pub(crate) nodes: BTreeSet<usize>,
}

/// The nodes of a box that can be touched, in the order in which a person goes through it: runs by letter,
/// pigtails, devices from the left, the metal last.
fn touchable(net: &Net<'_>, id: ThingId) -> Vec<Node> {
    let wiring = net.wiring;
    let mut nodes = Vec::new();
    for (run, side) in wiring.runs_in(id) {
        nodes.extend(net.wires(run).into_iter().map(|wire| Node::Tip(Tip::Wire { run, wire, side })));
    }
    for run in wiring.pigtails_in(id) {
        for wire in net.wires(run) {
            nodes.extend(crate::job::Side::BOTH.map(|side| Node::Tip(Tip::Wire { run, wire, side })));
        }
    }
    for device in wiring.devices_in(id) {
        for point in net.kind(device).into_iter().flat_map(|kind| &kind.points) {
            match point.form {
                PointForm::Lead => nodes.push(Node::Tip(Tip::Lead { device, lead: point.id.clone() })),
                PointForm::Terminal => nodes.push(Node::Point(device, point.id.clone())),
                PointForm::Blade | PointForm::Stab => {}
            }
        }
    }
    if net.is_metal(id) {
        nodes.push(Node::Shell(id));
    }
    nodes.retain(|node| match node {
        Node::Tip(tip) => !matches!(wiring.place(tip), Some(Place::Through(_) | Place::Absent)),
        _ => true,
    });
    nodes
}

/// Joins that lie before the eyes in one box.
fn inside(net: &Net<'_>, id: ThingId, via: Via) -> bool {
    match via {
        Via::Inside | Via::Place => true,
        Via::Device(device) => net.wiring.devices.get(&device).is_some_and(|note| note.in_box.get() == Some(&Some(id))),
        Via::Run | Via::Through | Via::Maybe | Via::Contact { .. } => false,
    }
}

/// The joints of a box: grounds, neutrals, then the rest in the order of the box.
pub(crate) fn joints(net: &Net<'_>, id: ThingId) -> Vec<Joint> {
    let mut taken = BTreeSet::new();
    let mut joints = Vec::new();
    for node in touchable(net, id) {
        let Some(at) = net.at(&node).filter(|at| !taken.contains(at)) else { continue };
        let nodes = net.reach([at], |edge| inside(net, id, edge.via));
        taken.extend(nodes.iter().copied());
        joints.extend(joint(net, nodes));
    }
    if !joints.iter().any(|joint| joint.class == Class::Ground) {
        // Without a ground in the box, a strap's green screw with nothing on it is metal that nobody vouches for.
        joints.sort_by_key(|joint| joint.class);
        return joints;
    }
    joints.retain(|joint| !joint.tips.is_empty() || !is_green_screw(net, joint));
    joints.sort_by_key(|joint| joint.class);
    joints
}

fn is_green_screw(net: &Net<'_>, joint: &Joint) -> bool {
    joint.nodes.iter().all(|node| match net.name(*node) {
        Some(Node::Point(device, point)) => net.role(*device, point) == Some(Role::Ground),
        _ => false,
    })
}

fn joint(net: &Net<'_>, nodes: BTreeSet<usize>) -> Option<Joint> {
    let names: Vec<&Node> = nodes.iter().filter_map(|node| net.name(*node)).collect();
    let mut tips: Vec<Tip> =
        names.iter().filter_map(|node| if let Node::Tip(tip) = node { Some(tip.clone()) } else { None }).collect();
    tips.sort_by_key(|tip| order(net, tip));
    let spot = spot(&names, &tips, net)?;
    Some(Joint { spot, class: class(net, &names, &tips), tips, nodes })
}

/// Runs from other boxes first, by letter; then pigtails; then leads.
fn order(net: &Net<'_>, tip: &Tip) -> (u8, Option<String>, Tip) {
    let Tip::Wire { run, side, .. } = tip else { return (2, None, tip.clone()) };
    let note = net.wiring.runs.get(run);
    let letter = note.and_then(|note| note.side(*side).letter.get().cloned());
    (u8::from(note.is_some_and(RunNote::is_inside)), letter, tip.clone())
}

/// The one spot that a joint is named by: its splice, else a conductor's end, else a terminal, else the metal.
fn spot(names: &[&Node], tips: &[Tip], net: &Net<'_>) -> Option<Spot> {
    let splice = names.iter().find_map(|node| if let Node::Splice(id) = node { Some(Spot::Splice(*id)) } else { None });
    let shell = || names.iter().find_map(|node| if let Node::Shell(id) = node { Some(Spot::Shell(*id)) } else { None });
    let terminal = || {
        names.iter().find_map(|node| match node {
            Node::Point(device, terminal) => Some(Spot::Terminal { device: *device, terminal: terminal.clone() }),
            _ => None,
        })
    };
    // A pigtail alone is named by the terminal that it feeds.
    let tip = tips.iter().find(|tip| order(net, tip).0 != 1).or_else(|| tips.first().filter(|_| terminal().is_none()));
    splice.or_else(|| tip.cloned().map(Spot::Tip)).or_else(terminal).or_else(shell)
}

fn class(net: &Net<'_>, names: &[&Node], tips: &[Tip]) -> Class {
    let points = |is: fn(Role) -> bool| {
        names.iter().all(|node| match node {
            Node::Point(device, point) => net.role(*device, point).is_some_and(is),
            _ => true,
        })
    };
    let shell = names.iter().any(|node| matches!(node, Node::Shell(_)));
    let joined = names.len() > 1;
    let fixed = tips.iter().all(|tip| net.parted.contains_key(tip) || joined);
    if tips.is_empty() || !fixed {
        return Class::Ungrounded;
    }
    if tips.iter().all(|tip| net.grounds(tip)) && points(|role| role == Role::Ground) {
        return Class::Ground;
    }
    let neutral = points(|role| matches!(role, Role::Neutral | Role::NeutralLoad));
    let from_neutrals = tips.iter().all(|tip| net.parted.get(tip).is_none_or(|splice| was_neutral(net, *splice)));
    if !shell && neutral && from_neutrals && tips.iter().all(|tip| net.is_white(tip)) {
        return Class::Neutral;
    }
    Class::Ungrounded
}

/// A splice that is parted now held whites alone.
fn was_neutral(net: &Net<'_>, splice: ThingId) -> bool {
    let members: BTreeMap<_, _> = net.parted.iter().filter(|(_, of)| **of == splice).collect();
    members.len() > 1 && members.keys().all(|tip| net.is_white(tip))
}

/// The joint that a spot belongs to.
pub(crate) fn joint_at<'j>(net: &Net<'_>, joints: &'j [Joint], spot: &Spot) -> Option<&'j Joint> {
    let node = match spot {
        Spot::Tip(tip) => Node::Tip(tip.clone()),
        Spot::Splice(id) => Node::Splice(*id),
        Spot::Terminal { device, terminal } => Node::Point(*device, terminal.clone()),
        Spot::Shell(id) => Node::Shell(*id),
        Spot::Bus { panel, bus } => Node::Bus(*panel, *bus),
        Spot::Other(_) => return None,
    };
    let node = net.at(&node)?;
    joints.iter().find(|joint| joint.nodes.contains(&node))
}
