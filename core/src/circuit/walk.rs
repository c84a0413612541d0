//! One ampere sent in at a node and followed along the elimination path until it reaches the sources.
//!
//! By reciprocity the part of it that reaches a source is the part that the node has of the source's voltage, so that
//! a walk finds a voltage without substituting all nodes. It also finds the impedance that it looks into: `Σ J² / Σy`
//! over the steps on the way.

use num_complex::Complex64;

use super::network::NodeId;
use super::solve::Solution;

/// What came by each step.
#[derive(Debug, Clone, Default)]
pub(super) struct Walk {
    /// Amperes that came by each step on the way, and its `1 / Σy` in ohms.
    by: Vec<(Complex64, Complex64)>,
    /// Amperes that reach fixed nodes, the reference left out.
    ends: Vec<(NodeId, Complex64)>,
}

fn add<K: Copy + Ord>(list: &mut Vec<(K, Complex64)>, key: K, amperes: Complex64) {
    // From the last key to the first: what comes next is at the end.
    let at = list.partition_point(|(other, _)| *other > key);
    match list.get_mut(at) {
        Some((other, sum)) if *other == key => *sum += amperes,
        _ => list.insert(at, (key, amperes)),
    }
}

impl Walk {
    /// From a node to the reference.
    pub(super) fn from(solution: &Solution<'_>, node: NodeId) -> Self {
        Self::of(solution, &[(node, 1.0)])
    }

    /// In at one node and out at another.
    pub(super) fn between(solution: &Solution<'_>, from: NodeId, to: NodeId) -> Self {
        Self::of(solution, &[(from, 1.0), (to, -1.0)])
    }

    fn of(solution: &Solution<'_>, sent: &[(NodeId, f64)]) -> Self {
        let (plan, network) = (&solution.solver().plan, solution.solver().network);
        let (mut front, mut walk) = (Vec::new(), Self::default());
        let put = |walk: &mut Self, front: &mut Vec<(u32, Complex64)>, node: NodeId, amperes: Complex64| match plan
            .step(node)
        {
            Some(step) => add(front, step, amperes),
            None if node != network.reference() => add(&mut walk.ends, node, amperes),
            None => {}
        };
        for (node, ampere) in sent {
            put(&mut walk, &mut front, *node, Complex64::from(*ampere));
        }
        while let Some((step, amperes)) = front.pop() {
            let star = solution.star(step as usize);
            walk.by.push((amperes, star.inverse));
            for (weight, next) in star.weights.iter().zip(star.near) {
                put(&mut walk, &mut front, NodeId(*next), weight * amperes);
            }
        }
        walk
    }

    /// Voltage that it stands for, in volts.
    pub(super) fn volts(&self, solution: &Solution<'_>) -> Complex64 {
        let fixed = |node| solution.solver().network.fixed(node).unwrap_or_default();
        self.ends.iter().map(|(node, amperes)| amperes * fixed(*node)).sum()
    }

    /// Part that reaches a source.
    pub(super) fn reaches(&self, source: NodeId) -> Complex64 {
        self.ends.iter().find(|(node, _)| *node == source).map_or(Complex64::ZERO, |(_, amperes)| *amperes)
    }

    /// Impedance that it looks into, in ohms.
    pub(super) fn ohms(&self) -> Complex64 {
        self.by.iter().map(|(amperes, inverse)| amperes * amperes * inverse).sum()
    }
}
