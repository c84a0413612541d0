//! The floor: what any elimination of this kind has to move and to divide for a position, and nothing else.
//!
//! The schedule is found here anew, from the network alone: nodes with few neighbours first, those that touch a
//! turning switch last. The loop then copies the core's edges, divides once for each core node, multiplies each of its
//! edges, and writes the voltage of every node once, with one multiply-add for each edge of it. It computes nothing of
//! use. Neighbours are read in order, which no real schedule can.

#![allow(clippy::indexing_slicing, reason = "every index is made here from the lengths of these same lists")]

use std::collections::BTreeSet;
use std::hint::black_box;

use boxproof_tests::nets::Net;

/// Positions side by side.
pub(crate) const LANES: usize = 8;

type Lane = [f64; LANES];

/// Edges of each node when its turn comes, in the order of elimination.
pub(crate) struct Schedule {
    /// Without the edge to the reference, whose voltage is zero.
    statics: Vec<usize>,
    /// With the edge to the reference, which the sum needs.
    core: Vec<usize>,
}

impl Schedule {
    /// The schedule of a network in which the first circuit's switches turn.
    pub(crate) fn of(net: &Net) -> Self {
        let network = &net.network;
        let mut neighbours = vec![BTreeSet::new(); network.node_count()];
        let mut turns = vec![false; network.node_count()];
        for element in network.elements() {
            let (a, b) = (element.from.index(), element.to.index());
            // A contact of a switch that stays open at rest is no edge.
            let turning = element.contact.is_some_and(|contact| net.switches.contains(&contact.switch));
            if turning || element.present(&network.first_state()) {
                neighbours[a].insert(b);
                neighbours[b].insert(a);
            }
            if turning {
                turns[a] = true;
                turns[b] = true;
            }
        }
        let mut waiting: BTreeSet<(bool, usize, usize)> = network
            .nodes()
            .filter(|node| network.fixed(*node).is_none())
            .map(|node| (turns[node.index()], neighbours[node.index()].len(), node.index()))
            .collect();
        let fixed: Vec<bool> = network.nodes().map(|node| network.fixed(node).is_some()).collect();
        let mut schedule = Self { statics: Vec::new(), core: Vec::new() };
        while let Some((turning, _, node)) = waiting.pop_first() {
            let around = std::mem::take(&mut neighbours[node]);
            let without_reference = around.iter().filter(|other| **other != 0).count();
            if turning {
                schedule.core.push(without_reference + 1);
            } else {
                schedule.statics.push(without_reference);
            }
            for one in &around {
                if fixed[*one] {
                    continue;
                }
                waiting.remove(&(turns[*one], neighbours[*one].len(), *one));
                neighbours[*one].remove(&node);
                neighbours[*one].extend(around.iter().filter(|other| *other != one));
                waiting.insert((turns[*one], neighbours[*one].len(), *one));
            }
        }
        schedule
    }

    pub(crate) fn core_nodes(&self) -> usize {
        self.core.len()
    }

    pub(crate) fn core_edges(&self) -> usize {
        self.core.iter().sum()
    }

    pub(crate) fn static_edges(&self) -> usize {
        self.statics.iter().sum()
    }
}

/// Memory that the loop walks.
pub(crate) struct Traffic {
    statics: Vec<usize>,
    core: Vec<usize>,
    weights: Vec<[f64; 2]>,
    base: Vec<[f64; 2]>,
    edges: Vec<[Lane; 2]>,
    volts: Vec<[Lane; 2]>,
}

impl Traffic {
    /// As much as a schedule asks for.
    pub(crate) fn of(schedule: &Schedule) -> Self {
        let most = schedule.statics.iter().chain(&schedule.core).copied().max().unwrap_or(0);
        let nodes = schedule.statics.len() + schedule.core.len();
        Self {
            weights: vec![[0.25, 0.0]; schedule.static_edges()],
            base: vec![[1.0, 0.5]; schedule.core_edges()],
            edges: vec![[[0.0; LANES]; 2]; schedule.core_edges()],
            volts: vec![[[1.0; LANES]; 2]; nodes + most],
            statics: schedule.statics.iter().rev().copied().collect(),
            core: schedule.core.clone(),
        }
    }

    /// One pass: [`LANES`] positions.
    pub(crate) fn pass(&mut self) {
        let Self { statics, core, weights, base, edges, volts } = self;
        for (edge, [re, im]) in edges.iter_mut().zip(base.iter()) {
            *edge = [[*re; LANES], [*im; LANES]];
        }
        let mut at = 0;
        for many in core.iter() {
            let mut inverse = [0.0; LANES];
            let [re, im] = &edges[at];
            for lane in 0..LANES {
                inverse[lane] = 1.0 / (re[lane] * re[lane] + im[lane] * im[lane]);
            }
            for edge in &mut edges[at..at + many] {
                for part in edge.iter_mut() {
                    for lane in 0..LANES {
                        part[lane] *= inverse[lane];
                    }
                }
            }
            at += many;
        }
        black_box(&mut *edges);
        // The core's voltages, each from as many before it, then all others.
        let most = volts.len() - core.len() - statics.len();
        let mut next = most;
        let mut edge_at = edges.len();
        for many in core.iter().rev() {
            edge_at -= many;
            let mut sum = [[0.0; LANES]; 2];
            for (edge, near) in edges[edge_at..edge_at + many].iter().zip(&volts[next - many..next]) {
                for part in 0..2 {
                    for lane in 0..LANES {
                        sum[part][lane] += edge[part][lane] * near[part][lane];
                    }
                }
            }
            volts[next] = sum;
            next += 1;
        }
        let mut weight_at = 0;
        for many in statics.iter() {
            let mut sum = [[0.0; LANES]; 2];
            for (weight, near) in weights[weight_at..weight_at + many].iter().zip(&volts[next - many..next]) {
                for part in 0..2 {
                    for lane in 0..LANES {
                        sum[part][lane] += weight[part] * near[part][lane];
                    }
                }
            }
            weight_at += many;
            volts[next] = sum;
            next += 1;
        }
        black_box(&mut *volts);
    }
}
