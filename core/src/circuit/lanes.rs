//! Complex numbers of several positions side by side, and the two passes of a solution over them.
//!
//! Plain arrays and plain loops: the compiler makes vector instructions of them, for the processor that it is told of.

#![allow(clippy::indexing_slicing, reason = "every index comes from the schedule, which was made for these lists")]
#![allow(clippy::inline_always, reason = "what is not inlined is not compiled for the processor that was found")]

use num_complex::Complex64;

/// Positions side by side.
pub(super) const LANES: usize = 8;

/// A complex number for each position.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub(super) struct Wide {
    pub(super) re: [f64; LANES],
    pub(super) im: [f64; LANES],
}

/// A product and a sum, rounded once where the processor can do that.
#[inline(always)]
fn multiply_add<const FUSED: bool>(a: f64, b: f64, c: f64) -> f64 {
    if FUSED { a.mul_add(b, c) } else { a * b + c }
}

impl Wide {
    pub(super) const ZERO: Self = Self { re: [0.0; LANES], im: [0.0; LANES] };

    /// The same number for each position.
    #[inline(always)]
    pub(super) fn splat(value: Complex64) -> Self {
        Self { re: [value.re; LANES], im: [value.im; LANES] }
    }

    /// The number of one position.
    #[inline]
    pub(super) fn lane(&self, lane: usize) -> Complex64 {
        Complex64::new(self.re[lane], self.im[lane])
    }

    #[inline(always)]
    fn plus(mut self, other: &Self) -> Self {
        for l in 0..LANES {
            self.re[l] += other.re[l];
            self.im[l] += other.im[l];
        }
        self
    }

    #[inline(always)]
    fn plus_product<const FUSED: bool>(mut self, a: &Self, b: &Self) -> Self {
        for l in 0..LANES {
            let re = multiply_add::<FUSED>(-a.im[l], b.im[l], self.re[l]);
            let im = multiply_add::<FUSED>(a.im[l], b.re[l], self.im[l]);
            self.re[l] = multiply_add::<FUSED>(a.re[l], b.re[l], re);
            self.im[l] = multiply_add::<FUSED>(a.re[l], b.im[l], im);
        }
        self
    }

    #[inline(always)]
    fn plus_scaled<const FUSED: bool>(mut self, weight: [f64; 2], b: &Self) -> Self {
        let [re_weight, im_weight] = weight;
        for l in 0..LANES {
            let re = multiply_add::<FUSED>(-im_weight, b.im[l], self.re[l]);
            let im = multiply_add::<FUSED>(im_weight, b.re[l], self.im[l]);
            self.re[l] = multiply_add::<FUSED>(re_weight, b.re[l], re);
            self.im[l] = multiply_add::<FUSED>(re_weight, b.im[l], im);
        }
        self
    }

    #[inline(always)]
    fn inverse<const FUSED: bool>(mut self) -> Self {
        for l in 0..LANES {
            let (re, im) = (self.re[l], self.im[l]);
            let scale = 1.0 / multiply_add::<FUSED>(re, re, im * im);
            self.re[l] = re * scale;
            self.im[l] = -im * scale;
        }
        self
    }
}

/// One step whose values differ between positions.
#[derive(Debug, Clone)]
pub(super) struct MovingStep {
    /// First edge, and the one after the last.
    pub(super) edges: (u32, u32),
    /// One bit for each switch that it depends on.
    pub(super) switches: u64,
}

/// How a node's voltage follows from others: the terms up to `end` of a list, beginning where the node before ended.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// One after its last term.
    pub(super) end: u32,
    /// The terms' weights differ between positions.
    pub(super) moving: bool,
}

/// What the passes go by.
#[derive(Debug, Clone, Default)]
pub(super) struct Schedule {
    /// Steps in order.
    pub(super) steps: Vec<MovingStep>,
    /// Part of each edge's admittance that is the same in every position.
    pub(super) base: Vec<Complex64>,
    /// First product of each edge, and their number at the end.
    pub(super) product_start: Vec<u32>,
    /// Weight and admittance of the list of edges, contacts after them.
    pub(super) product: Vec<[u32; 2]>,
    /// Nodes of the core, the last step first.
    pub(super) nodes: Vec<Node>,
    /// Terms of these nodes: slot of a voltage and edge of the weight, or place of it among `weights`.
    pub(super) terms: Vec<[u32; 2]>,
    /// Weights of nodes that are the same in every position.
    pub(super) weights: Vec<[f64; 2]>,
}

/// Back-substitution of the nodes that are the same in every position, the last step first.
#[derive(Debug, Clone, Default)]
pub(super) struct StaticNodes {
    /// Number of terms of each node.
    pub(super) counts: Vec<u32>,
    /// Slot of each term.
    pub(super) slots: Vec<u32>,
    /// Weight of each term.
    pub(super) weights: Vec<[f64; 2]>,
}

/// The numbers that the passes work on.
#[derive(Debug, Clone)]
pub(super) struct Work {
    /// Admittances of edges, then of contacts.
    pub(super) admittance: Vec<Wide>,
    /// Weights of edges, then 1 or 0 for contacts that are closed or open.
    pub(super) weight: Vec<Wide>,
    /// Voltages by slot: fixed nodes, then the steps' nodes, the last step first.
    pub(super) volts: Vec<Wide>,
}

/// Both passes for one block of positions. `turned` has a bit for each switch that is not as in the block before.
#[inline(always)]
pub(super) fn solve<const FUSED: bool>(
    schedule: &Schedule,
    statics: &StaticNodes,
    (work, fixed, turned): (&mut Work, usize, u64),
) {
    eliminate::<FUSED>(schedule, work, turned);
    let slot = substitute_core::<FUSED>(schedule, work, fixed);
    substitute_statics::<FUSED>(statics, &mut work.volts, slot);
}

#[inline(always)]
fn eliminate<const FUSED: bool>(schedule: &Schedule, work: &mut Work, turned: u64) {
    for step in schedule.steps.iter().filter(|step| step.switches & turned != 0) {
        let edges = step.edges.0 as usize..step.edges.1 as usize;
        let mut sum = Wide::ZERO;
        for edge in edges.clone() {
            let mut y = Wide::splat(schedule.base[edge]);
            let products = schedule.product_start[edge] as usize..schedule.product_start[edge + 1] as usize;
            for [first, second] in &schedule.product[products] {
                y = y.plus_product::<FUSED>(&work.weight[*first as usize], &work.admittance[*second as usize]);
            }
            work.admittance[edge] = y;
            sum = sum.plus(&y);
        }
        let inverse = sum.inverse::<FUSED>();
        for edge in edges {
            work.weight[edge] = Wide::ZERO.plus_product::<FUSED>(&work.admittance[edge], &inverse);
        }
    }
}

/// Gives the slot after the last node.
#[inline(always)]
fn substitute_core<const FUSED: bool>(schedule: &Schedule, work: &mut Work, fixed: usize) -> usize {
    let (mut slot, mut start) = (fixed, 0);
    for node in &schedule.nodes {
        let terms = &schedule.terms[start..node.end as usize];
        let mut sum = Wide::ZERO;
        for [from, weight] in terms {
            let volts = &work.volts[*from as usize];
            sum = if node.moving {
                sum.plus_product::<FUSED>(&work.weight[*weight as usize], volts)
            } else {
                sum.plus_scaled::<FUSED>(schedule.weights[*weight as usize], volts)
            };
        }
        work.volts[slot] = sum;
        start = node.end as usize;
        slot += 1;
    }
    slot
}

#[inline(always)]
fn substitute_statics<const FUSED: bool>(nodes: &StaticNodes, volts: &mut [Wide], first: usize) {
    let mut start = 0;
    for (n, count) in nodes.counts.iter().enumerate() {
        let end = start + *count as usize;
        let mut sum = Wide::ZERO;
        for (slot, weight) in nodes.slots[start..end].iter().zip(&nodes.weights[start..end]) {
            sum = sum.plus_scaled::<FUSED>(*weight, &volts[*slot as usize]);
        }
        volts[first + n] = sum;
        start = end;
    }
}
