//! Random networks like real jobs, each from a seed: runs, splices, devices, and what can be wrong with them.
//!
//! The same seed gives the same network on every machine; there is no clock and no other randomness.

mod grow;

use std::collections::BTreeSet;

use boxproof_core::circuit::{ElementId, NetworkError, NodeId, State, Value};

use crate::nets::{Net, Parts, Supply};
use grow::Grow;

/// A small generator of numbers (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ self.0 >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ mixed >> 31
    }

    /// A whole number below `end`, which is not zero.
    pub fn below(&mut self, end: usize) -> usize {
        let end = u64::try_from(end.max(1)).unwrap_or(u64::MAX);
        usize::try_from(self.next() % end).unwrap_or(0)
    }

    /// Whether one of `many` chances came true.
    pub fn one_in(&mut self, many: usize) -> bool {
        self.below(many) == 0
    }

    /// A number between two.
    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        // 32 bits are fine enough for a length or a resistance.
        let part = u32::try_from(self.next() >> 32).map_or(0.0, f64::from) / 4_294_967_296.0;
        least + part * (most - least)
    }

    /// One of some.
    pub fn of<T: Copy>(&mut self, some: &[T], otherwise: T) -> T {
        some.get(self.below(some.len())).copied().unwrap_or(otherwise)
    }
}

/// Something that is wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flaw {
    /// A joint that is none.
    Open(ElementId),
    /// A joint with so many ohms.
    Poor(ElementId, f64),
    /// Two conductors of a cable that touch.
    Short(NodeId, NodeId),
    /// Two conductors landed on each other's places.
    Exchanged,
    /// No bond of neutral to ground at the source.
    NoBond,
}

/// A random job.
#[derive(Debug)]
pub struct Job {
    /// Its network.
    pub net: Net,
    /// What is wrong with it.
    pub flaws: Vec<Flaw>,
    /// Where its panel's bars are.
    pub legs: Vec<NodeId>,
    random: Random,
}

/// The job of a seed.
///
/// # Errors
/// [`NetworkError`] if one of the values here is none; a check would find it.
pub fn job(seed: u64) -> Result<Job, NetworkError> {
    let mut random = Random::new(seed);
    let supply = random.of(&[Supply::SplitPhase, Supply::SplitPhase, Supply::Wye, Supply::Single], Supply::SplitPhase);
    let parts = Parts::new(supply, 1 + random.below(2))?;
    let mut grow = Grow::new(parts, random);
    grow.circuits()?;
    let Grow { mut parts, mut random, switches, exchanged, .. } = grow;
    let mut flaws = vec![Flaw::Exchanged; exchanged];
    flaws.extend(spoil(&mut parts, &mut random)?);
    let legs = parts.bars.legs.clone();
    let net = Net::of(format!("random job {seed}"), parts, switches);
    Ok(Job { net, flaws, legs, random })
}

/// Breaks some things. Half of the jobs have nothing broken here.
fn spoil(parts: &mut Parts, random: &mut Random) -> Result<Vec<Flaw>, NetworkError> {
    let mut flaws = Vec::new();
    let many = if random.one_in(2) { 0 } else { 1 + random.below(3) };
    for _ in 0..many {
        let joint = random.below(parts.joints.len());
        let joint = parts.joints.get(joint).copied();
        let flaw = match random.below(8) {
            0..3 => joint.map(Flaw::Open),
            3..5 => joint.map(|joint| Flaw::Poor(joint, random.of(&[0.1, 1.0, 30.0, 2e4], 1.0))),
            5..7 => {
                let place = random.below(parts.beside.len());
                parts.beside.get(place).filter(|row| row.len() >= 2).and_then(|row| {
                    let first = random.below(row.len());
                    let second = (first + 1 + random.below(row.len() - 1)) % row.len();
                    Some(Flaw::Short(*row.get(first)?, *row.get(second)?))
                })
            }
            _ => Some(Flaw::NoBond),
        };
        let Some(flaw) = flaw else { continue };
        match flaw {
            Flaw::Open(joint) => parts.network().replace(joint, Value::Open)?,
            Flaw::Poor(joint, ohms) => parts.network().replace(joint, Value::Metal { ohms })?,
            Flaw::Short(a, b) => drop(parts.network().connect(a, b, Value::Metal { ohms: 5e-3 })?),
            Flaw::NoBond => {
                let bond = parts.bars.bond;
                parts.network().replace(bond, Value::Open)?;
            }
            Flaw::Exchanged => {}
        }
        flaws.push(flaw);
    }
    Ok(flaws)
}

impl Job {
    /// All positions of its switches, or so many of them: at rest, and others as they come.
    pub fn positions(&self, most: usize) -> Vec<State> {
        let (network, rest) = (&self.net.network, self.net.network.first_state());
        let many = |switch| usize::from(network.positions(switch).unwrap_or(1));
        let all = self.net.switches.iter().try_fold(1usize, |all, switch| all.checked_mul(many(*switch)));
        if all.is_some_and(|all| all <= most) {
            return network.states(&self.net.switches, &rest);
        }
        let mut random = self.random.clone();
        let mut states = BTreeSet::from([rest.clone()]);
        while states.len() < most {
            let turned = self.net.switches.iter().fold(rest.clone(), |state, switch| {
                let position = random.below(many(*switch));
                state.with(*switch, u8::try_from(position).unwrap_or(0))
            });
            states.insert(turned);
        }
        states.into_iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_always_gives_the_same_job_and_others_give_others() {
        let sizes = |seed| {
            let job = job(seed).unwrap();
            (job.net.network.node_count(), job.net.network.elements().len(), job.net.switches.len(), job.net.boxes)
        };
        assert_eq!(sizes(7), sizes(7));
        let unlike: BTreeSet<_> = (0..50).map(sizes).collect();
        assert!(unlike.len() > 40, "{}", unlike.len());
    }

    #[test]
    fn every_kind_of_flaw_and_of_supply_comes_among_a_hundred() {
        let jobs: Vec<_> = (0..100).map(|seed| job(seed).unwrap()).collect();
        let has = |wanted: fn(&Flaw) -> bool| jobs.iter().any(|job| job.flaws.iter().any(wanted));
        assert!(has(|flaw| matches!(flaw, Flaw::Open(_))) && has(|flaw| matches!(flaw, Flaw::Poor(..))));
        assert!(has(|flaw| matches!(flaw, Flaw::Short(..))) && has(|flaw| *flaw == Flaw::Exchanged));
        assert!(has(|flaw| *flaw == Flaw::NoBond));
        assert!((1..=3).all(|legs| jobs.iter().any(|job| job.legs.len() == legs)));
        assert!(jobs.iter().filter(|job| job.flaws.is_empty()).count() > 20);
        assert!(jobs.iter().all(|job| (20..800).contains(&job.net.network.node_count())));
        assert!(jobs.iter().all(|job| job.positions(16).len() <= 16));
        assert!(jobs.iter().any(|job| job.net.switches.len() > 6));
    }
}
