//! Which switch feeds a conductor, and what a source goes through on its way.

use std::collections::BTreeSet;

use super::joint::Joint;
use super::net::{Net, Node, Via};
use crate::job::{At, ThingId};

/// More positions than these together are not gone through one by one.
const MOST_POSITIONS: usize = 256;

/// Positions of turns, one for each turn that matters, as (turn, position).
type Setting = Vec<(usize, usize)>;

/// The positions that a joint must be read in: none where no switch feeds it, else each position of the switch that
/// makes and breaks its feed. Handles of this box come first, because the person stands before them.
pub(crate) fn positions(net: &Net<'_>, joint: &Joint, here: &BTreeSet<ThingId>) -> Vec<Vec<At>> {
    let start = || joint.nodes.iter().copied();
    let all = net.reach(start(), |_| true);
    let sources: Vec<usize> = all.iter().copied().filter(|node| net.is_feed(*node)).collect();
    if sources.is_empty() {
        return untraced(net, joint, here);
    }
    let constant = net.reach(sources, |edge| !by_hand(net, edge.via));
    if joint.nodes.iter().any(|node| constant.contains(node)) {
        return Vec::new();
    }
    let turns = turns_before(net, &joint.nodes, &constant);
    let settings = settings(net, &turns);
    if settings.len() > MOST_POSITIONS {
        return untraced(net, joint, here);
    }
    let live: Vec<bool> = settings
        .iter()
        .map(|setting| {
            let reached = net.reach(start(), |edge| conducts(net, edge.via, setting));
            reached.iter().any(|node| constant.contains(node))
        })
        .collect();
    let mut order = turns;
    order.sort_by_key(|turn| !net.turns.get(*turn).is_some_and(|turn| here.contains(&turn.handle.device)));
    let table: Vec<(&Setting, bool)> = settings.iter().zip(live).collect();
    let always = order.iter().find(|turn| toggles(&table, **turn).1);
    let chosen = always
        .map(|turn| (*turn, Setting::new()))
        .or_else(|| order.iter().find_map(|turn| toggles(&table, *turn).0.map(|others| (*turn, others))));
    chosen.map_or_else(|| untraced(net, joint, here), |(turn, others)| each_position(net, turn, &others))
}

fn by_hand(net: &Net<'_>, via: Via) -> bool {
    match via {
        Via::Contact { turn, .. } => net.turns.get(turn).is_some_and(|turn| turn.by_hand),
        _ => false,
    }
}

fn conducts(net: &Net<'_>, via: Via, setting: &Setting) -> bool {
    match via {
        Via::Contact { turn, position, .. } if by_hand(net, via) => {
            setting.iter().all(|(of, at)| *of != turn || *at == position)
        }
        _ => true,
    }
}

/// The turns between some nodes and what is always fed.
fn turns_before(net: &Net<'_>, from: &BTreeSet<usize>, constant: &BTreeSet<usize>) -> Vec<usize> {
    let mut found: BTreeSet<usize> = from.clone();
    let mut open: Vec<usize> = found.iter().copied().collect();
    let mut turns = BTreeSet::new();
    while let Some(node) = open.pop() {
        if constant.contains(&node) {
            continue;
        }
        for (next, edge) in net.edges_at(node) {
            if let Via::Contact { turn, .. } = edge.via
                && by_hand(net, edge.via)
            {
                turns.insert(turn);
            }
            if found.insert(next) {
                open.push(next);
            }
        }
    }
    turns.into_iter().collect()
}

/// Every combination of positions of these turns, up to one more than is gone through.
fn settings(net: &Net<'_>, turns: &[usize]) -> Vec<Setting> {
    let mut all = vec![Setting::new()];
    for turn in turns {
        let count = net.turns.get(*turn).map_or(0, |turn| turn.positions.len());
        let longer = all.iter().flat_map(|setting| {
            (0..count).map(move |position| setting.iter().copied().chain([(*turn, position)]).collect())
        });
        all = longer.take(MOST_POSITIONS + 1).collect();
    }
    all
}

/// Positions of the others in which this turn makes and breaks the feed, and whether it does so in all of them.
fn toggles(table: &[(&Setting, bool)], turn: usize) -> (Option<Setting>, bool) {
    let others = |setting: &Setting| -> Setting { setting.iter().copied().filter(|(of, _)| *of != turn).collect() };
    let mut some = None;
    let mut all = true;
    for (setting, live) in table {
        let rest = others(setting);
        let differs = table.iter().any(|(other, other_live)| others(other) == rest && other_live != live);
        if differs {
            some.get_or_insert(rest);
        } else {
            all = false;
        }
    }
    (some, all)
}

fn at(net: &Net<'_>, turn: usize, position: usize) -> Option<At> {
    let turn = net.turns.get(turn)?;
    Some(At { handle: turn.handle.clone(), position: turn.positions.get(position)?.clone() })
}

fn each_position(net: &Net<'_>, turn: usize, others: &Setting) -> Vec<Vec<At>> {
    let count = net.turns.get(turn).map_or(0, |turn| turn.positions.len());
    let positions = (0..count).map(|position| {
        let all = std::iter::once((turn, position)).chain(others.iter().copied());
        all.filter_map(|(turn, position)| at(net, turn, position)).collect()
    });
    positions.collect()
}

/// Where the feed is not known, every handle with a contact on the conductor may be the one that feeds it: all of
/// them in their first position, then all in their second, and so on.
fn untraced(net: &Net<'_>, joint: &Joint, here: &BTreeSet<ThingId>) -> Vec<Vec<At>> {
    let conductor =
        net.reach(joint.nodes.iter().copied(), |edge| !matches!(edge.via, Via::Contact { .. } | Via::Maybe));
    let mut turns = BTreeSet::new();
    for node in &conductor {
        for (_, edge) in net.edges_at(*node) {
            if let Via::Contact { turn, .. } = edge.via
                && by_hand(net, edge.via)
            {
                turns.insert(turn);
            }
        }
    }
    let near = |turn: &usize| net.turns.get(*turn).is_some_and(|turn| here.contains(&turn.handle.device));
    if turns.iter().any(near) {
        turns.retain(near);
    }
    let most = turns.iter().filter_map(|turn| net.turns.get(*turn)).map(|turn| turn.positions.len()).max().unwrap_or(0);
    (0..most)
        .map(|n| {
            let one = |turn: &usize| {
                let count = net.turns.get(*turn)?.positions.len().max(1);
                at(net, *turn, n % count)
            };
            turns.iter().filter_map(one).collect()
        })
        .collect()
}

/// The handles that change whether a joint is fed, for the live check: all of them, in the order of the net.
pub(crate) fn handles(net: &Net<'_>, nodes: &BTreeSet<usize>) -> Vec<usize> {
    let all = net.reach(nodes.iter().copied(), |_| true);
    let sources: Vec<usize> = all.iter().copied().filter(|node| net.is_feed(*node)).collect();
    let constant = net.reach(sources, |edge| !by_hand(net, edge.via));
    if nodes.iter().any(|node| constant.contains(node)) {
        return Vec::new();
    }
    turns_before(net, nodes, &constant)
}

/// Fed in every position of every handle.
pub(crate) fn is_constant(net: &Net<'_>, nodes: &BTreeSet<usize>) -> bool {
    let sources = net.reach(nodes.iter().copied(), |_| true).into_iter().filter(|node| net.is_feed(*node));
    let constant = net.reach(sources, |edge| !by_hand(net, edge.via));
    nodes.iter().any(|node| constant.contains(node))
}

/// Every combination of positions of these turns, from one to the next a single handle turned to its neighbouring
/// position (the reflected order, F. Gray, US patent 2 632 058); empty if they are too many to try by hand.
pub(crate) fn combinations(net: &Net<'_>, turns: &[usize]) -> Vec<Vec<At>> {
    let mut settings = vec![Setting::new()];
    for turn in turns.iter().rev() {
        let count = net.turns.get(*turn).map_or(0, |turn| turn.positions.len());
        if settings.len() * count > MOST_POSITIONS {
            return Vec::new();
        }
        // The handles behind it go through their positions forth and back, so that none of them moves while it does.
        let round = |position: usize| {
            let with = |setting: &Setting| std::iter::once((*turn, position)).chain(setting.iter().copied()).collect();
            let mut part: Vec<Setting> = settings.iter().map(with).collect();
            if position % 2 == 1 {
                part.reverse();
            }
            part
        };
        settings = (0..count).flat_map(round).collect();
    }
    let named = settings.iter().map(|setting| setting.iter().filter_map(|(turn, n)| at(net, *turn, *n)).collect());
    named.collect()
}

/// A protective device that trips on a difference of currents, and that these nodes are on the protected side of.
pub(crate) fn behind_sensor(net: &Net<'_>, nodes: &BTreeSet<usize>) -> Option<ThingId> {
    net.wiring.devices.keys().copied().find(|id| {
        let Some(sensor) = net.kind(*id).and_then(|kind| kind.sensor.as_ref()) else { return false };
        let outside = |via: Via| match via {
            Via::Device(device) | Via::Contact { device, .. } => device != *id,
            _ => true,
        };
        let reached = net.reach(nodes.iter().copied(), |edge| outside(edge.via));
        let after = sensor.after.iter().filter_map(|point| net.at(&Node::Point(*id, point.clone())));
        sensor.difference && after.into_iter().any(|node| reached.contains(&node))
    })
}
