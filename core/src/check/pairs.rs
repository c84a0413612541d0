//! The pairs that a dead check of a box asks for, in the order of fewest clip moves: clip the lead to ground and touch
//! the rest, clip it to neutral and touch the rest, then across; then with the switches turned, from where the lead is.
//!
//! Conductor to conductor and conductor to ground at the point of work: NFPA 70E-2021 120.5(7); 29 CFR
//! 1910.333(b)(2)(iv)(B) asks for the parts that will be worked on, induced and back-fed voltage too. That each pair
//! is read again with the feeding switch turned follows from what a switch does; no source is claimed for it.

use std::collections::BTreeSet;

use super::clips::{Touch, in_fewest_moves};
use super::feed::positions;
use super::joint::{Class, Joint, joint_at, joints};
use super::net::Net;
use crate::job::happening::Question;
use crate::job::{At, Pair, Spot, ThingId};

/// The pairs of a box. With `independent`, a ground from elsewhere in words stands in for the box's own ground,
/// which is then read like anything else.
pub(crate) fn pairs(net: &Net<'_>, id: ThingId, independent: Option<&str>) -> Vec<Question> {
    if net.is_panel(id) {
        return Vec::new();
    }
    let joints = joints(net, id);
    let here: BTreeSet<ThingId> = net.wiring.devices_in(id).into_iter().collect();
    let turned: Vec<Vec<Vec<At>>> = joints.iter().map(|joint| positions(net, joint, &here)).collect();
    let all: Vec<(&Joint, &[Vec<At>])> = joints.iter().zip(turned.iter().map(Vec::as_slice)).collect();
    let mut asked: Vec<Wanted> = Vec::new();
    let mut ask = |from: &Spot, at: &[Vec<At>], to: &(&Joint, &[Vec<At>]), either: bool| {
        let pair = Pair { from: from.clone(), to: to.0.spot.clone() };
        asked.push(Wanted { pair, at: together(at, to.1), either });
    };
    let of = |class: Class| all.iter().filter(move |(joint, _)| joint.class == class);
    let neutral = of(Class::Neutral).next();
    match independent {
        Some(words) => all.iter().for_each(|to| ask(&Spot::Other(words.to_owned()), &[], to, false)),
        None => {
            for ground in of(Class::Ground).take(1) {
                let rest = all.iter().filter(|to| to.0.spot != ground.0.spot);
                rest.for_each(|to| ask(&ground.0.spot, ground.1, to, false));
            }
        }
    }
    if let Some(neutral) = neutral {
        let rest = all.iter().filter(|to| to.0.class != Class::Ground && to.0.spot != neutral.0.spot);
        rest.for_each(|to| ask(&neutral.0.spot, neutral.1, to, false));
    }
    let rest: Vec<_> = of(Class::Ungrounded).collect();
    for (n, from) in rest.iter().enumerate() {
        rest.iter().skip(n + 1).for_each(|to| ask(&from.0.spot, from.1, to, true));
    }
    in_fewest_moves(&passes(&asked))
}

/// A pair that is wanted, with each of its positions.
struct Wanted {
    pair: Pair,
    at: Vec<Vec<At>>,
    /// Both spots are ungrounded.
    either: bool,
}

/// All pairs in their first positions, then those that are asked again, so that a handle is turned seldom.
fn passes(asked: &[Wanted]) -> Vec<Vec<Touch>> {
    let most = asked.iter().map(|wanted| wanted.at.len()).max().unwrap_or(0);
    let touch = |wanted: &Wanted, n: usize| {
        let at = wanted.at.get(n)?.clone();
        Some(Touch { question: Question { pair: wanted.pair.clone(), at }, either: wanted.either })
    };
    (0..most).map(|n| asked.iter().filter_map(|wanted| touch(wanted, n)).collect()).collect()
}

/// The positions of a pair from those of its two spots: both turn together where they can.
fn together(one: &[Vec<At>], other: &[Vec<At>]) -> Vec<Vec<At>> {
    if one.is_empty() || one == other {
        return if other.is_empty() { vec![Vec::new()] } else { other.to_vec() };
    }
    if other.is_empty() {
        return one.to_vec();
    }
    let count = one.len().max(other.len());
    let both: Vec<Vec<At>> =
        (0..count).filter_map(|n| merge(one.get(n % one.len())?, other.get(n % other.len())?)).collect();
    // The two want one handle in different positions: then each list by itself.
    if both.len() == count { both } else { one.iter().chain(other).cloned().collect() }
}

fn merge(one: &[At], other: &[At]) -> Option<Vec<At>> {
    let mut all = one.to_vec();
    for at in other {
        match all.iter().find(|known| known.handle == at.handle) {
            Some(known) if known.position != at.position => return None,
            Some(_) => {}
            None => all.push(at.clone()),
        }
    }
    Some(all)
}

/// Whether what was asked or read at one pair answers the other: the same two joints, in either direction.
pub(crate) fn same_pair(net: &Net<'_>, joints: &[Joint], one: &Pair, other: &Pair) -> bool {
    let same = |a: &Spot, b: &Spot| {
        a == b
            || match (joint_at(net, joints, a), joint_at(net, joints, b)) {
                (Some(a), Some(b)) => a.spot == b.spot,
                _ => false,
            }
    };
    (same(&one.from, &other.from) && same(&one.to, &other.to))
        || (same(&one.from, &other.to) && same(&one.to, &other.from))
}

/// Every wanted position was noted.
pub(crate) fn has_positions(wanted: &[At], noted: &[At]) -> bool {
    wanted.iter().all(|at| noted.contains(at))
}

/// The questions of today's list that an earlier list does not cover.
pub(crate) fn not_covered(net: &Net<'_>, joints: &[Joint], today: &[Question], asked: &[Question]) -> Vec<Question> {
    let covered = |question: &&Question| {
        asked
            .iter()
            .any(|old| same_pair(net, joints, &question.pair, &old.pair) && has_positions(&question.at, &old.at))
    };
    today.iter().filter(|question| !covered(question)).cloned().collect()
}
