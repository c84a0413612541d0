//! Many positions of one network, several side by side.
//!
//! What no switch that turns can reach is worked out once. Of the rest, a step is worked out again only when a switch
//! behind it stands otherwise than in the block of positions before.

#![allow(clippy::indexing_slicing, reason = "every index comes from the plan and the schedule")]

use num_complex::Complex64;

use super::lanes::{LANES, MovingStep, Node, Schedule, StaticNodes, Wide, Work, solve};
use super::network::{Contact, NodeId, State, SwitchId};
use super::plan::NOWHERE;
use super::solve::{Solver, Steps};

/// Voltages of every node in one of the positions of a sweep, in volts RMS.
#[derive(Debug)]
pub struct Voltages<'v> {
    slots: &'v [u32],
    volts: &'v [Wide],
    lane: usize,
}

impl Voltages<'_> {
    /// Voltage of a node to the reference, in volts RMS; zero for a node of another network.
    #[inline]
    pub fn volts(&self, node: NodeId) -> Complex64 {
        let slot = self.slots.get(node.index());
        slot.and_then(|slot| self.volts.get(*slot as usize)).map_or(Complex64::ZERO, |volts| volts.lane(self.lane))
    }

    /// Voltage from one node to another, in volts RMS.
    #[inline]
    pub fn across(&self, from: NodeId, to: NodeId) -> Complex64 {
        self.volts(from) - self.volts(to)
    }
}

/// Where voltages lie, and the back-substitution that every sweep shares.
#[derive(Debug, Default)]
pub(super) struct Layout {
    /// Slot of each node.
    slots: Vec<u32>,
    /// Voltages of the fixed nodes, which have the first slots.
    fixed: Vec<Complex64>,
    statics: StaticNodes,
}

fn number(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(NOWHERE)
}

impl Layout {
    pub(super) fn new(solver: &Solver<'_>) -> Self {
        let (plan, network) = (&solver.plan, solver.network);
        let fixed_nodes: Vec<NodeId> = network.nodes().filter(|node| network.fixed(*node).is_some()).collect();
        let mut layout = Self { slots: vec![0; network.node_count()], ..Self::default() };
        layout.fixed = fixed_nodes.iter().map(|node| network.fixed(*node).unwrap_or_default()).collect();
        for (slot, node) in fixed_nodes.iter().enumerate() {
            layout.slots[node.index()] = number(slot);
        }
        for (back, node) in plan.order.iter().rev().enumerate() {
            layout.slots[*node as usize] = number(fixed_nodes.len() + back);
        }
        for step in (0..plan.static_steps).rev() {
            let before = layout.statics.slots.len();
            for edge in plan.edges(step).filter(|edge| plan.neighbour[*edge] != network.reference().0) {
                let weight = solver.statics.weight[edge];
                layout.statics.slots.push(layout.slots[plan.neighbour[edge] as usize]);
                layout.statics.weights.push([weight.re, weight.im]);
            }
            layout.statics.counts.push(number(layout.statics.slots.len() - before));
        }
        layout
    }
}

/// A contact that is not the same in all positions of a sweep.
#[derive(Debug, Clone)]
struct Turning {
    contact: Contact,
    /// Its switch's place among those that turn.
    switch: usize,
    admittance: Complex64,
}

/// What a sweep goes by.
#[derive(Debug, Clone)]
pub(super) struct Sweep {
    switches: Vec<SwitchId>,
    contacts: Vec<Turning>,
    schedule: Schedule,
}

/// One bit for a switch; those beyond the last bit share it.
fn bit(switch: usize) -> u64 {
    1 << switch.min(63)
}

impl Sweep {
    /// For positions in which these switches turn, the others standing as in `rest`.
    fn new(solver: &Solver<'_>, switches: Vec<SwitchId>, rest: &State) -> Self {
        let (plan, network) = (&solver.plan, solver.network);
        let (first_edge, first_step) = (plan.core_start(), plan.static_steps);
        let mut place = vec![NOWHERE; network.switch_count()];
        for (n, switch) in switches.iter().enumerate() {
            place[switch.index()] = number(n);
        }
        let mut base = solver.core_base.clone();
        let mut masks = vec![0u64; plan.order.len() - first_step];
        let mut contacts = Vec::new();
        let mut turning: Vec<(u32, u32)> = Vec::new();
        for moving in &plan.moving {
            let (element, edge) = (&network.elements()[*moving as usize], plan.element_edge[*moving as usize]);
            let Some(contact) = element.contact.filter(|_| edge != NOWHERE) else { continue };
            let admittance = element.value.admittance(network.hertz());
            match place[contact.switch.index()] {
                NOWHERE if element.present(rest) => base[edge as usize - first_edge] += admittance,
                NOWHERE => {}
                switch => {
                    masks[plan.step_of_edge(edge) - first_step] |= bit(switch as usize);
                    turning.push((edge, number(contacts.len())));
                    contacts.push(Turning { contact, switch: switch as usize, admittance });
                }
            }
        }
        for step in 0..masks.len() {
            if let Some(next) = masks.get((plan.parent[first_step + step] as usize).wrapping_sub(first_step)) {
                let both = next | masks[step];
                masks[plan.parent[first_step + step] as usize - first_step] = both;
            }
        }
        turning.sort_unstable();
        let schedule = Compile { solver, base, masks: &masks, turning: &turning }.schedule();
        Self { switches, contacts, schedule }
    }

    /// For positions in which every switch turns.
    pub(super) fn of_all(solver: &Solver<'_>) -> Self {
        Self::new(solver, solver.network.switches().collect(), &solver.network.first_state())
    }
}

/// A schedule in the making.
struct Compile<'a> {
    solver: &'a Solver<'a>,
    base: Vec<Complex64>,
    /// Switches that each of the core's steps depends on.
    masks: &'a [u64],
    /// Edge and place of each contact that turns, by edge.
    turning: &'a [(u32, u32)],
}

impl Compile<'_> {
    fn schedule(self) -> Schedule {
        let plan = &self.solver.plan;
        let (first_edge, first_step) = (plan.core_start(), plan.static_steps);
        // Place of each edge of the core among those that move.
        let mut local = vec![NOWHERE; self.base.len()];
        let mut moving = 0;
        for step in (0..self.masks.len()).filter(|step| self.masks[*step] != 0) {
            for edge in plan.edges(first_step + step) {
                local[edge - first_edge] = moving;
                moving += 1;
            }
        }
        let mut schedule = Schedule { product_start: vec![0], ..Schedule::default() };
        let mut still = Still {
            steps: Steps::default(),
            weight: vec![Complex64::ZERO; self.base.len()],
            admittance: vec![Complex64::ZERO; self.base.len()],
        };
        let mut star = Vec::new();
        let mut turning = self.turning.iter().peekable();
        for (n, mask) in self.masks.iter().enumerate() {
            let edges = plan.edges(first_step + n);
            star.clear();
            for edge in edges.clone() {
                let mut sum = self.base[edge - first_edge];
                while let Some((_, contact)) = turning.next_if(|(at, _)| *at as usize == edge) {
                    schedule.product.push([moving + contact; 2]);
                }
                for pair in plan.core_products(edge) {
                    let [a, b] = pair.map(|edge| edge as usize - first_edge);
                    if local[a] == NOWHERE {
                        sum += still.weight[a] * still.admittance[b];
                    } else {
                        schedule.product.push([local[a], local[b]]);
                    }
                }
                star.push(sum);
                if *mask != 0 {
                    schedule.base.push(sum);
                    schedule.product_start.push(number(schedule.product.len()));
                }
            }
            if *mask == 0 {
                still.take(edges.start - first_edge, &star);
            } else {
                let end = number(schedule.base.len());
                schedule.steps.push(MovingStep { edges: (end - number(edges.len()), end), switches: *mask });
            }
        }
        self.nodes(&mut schedule, &local, &still.weight);
        schedule
    }

    /// Back-substitution of the core's nodes.
    fn nodes(&self, schedule: &mut Schedule, local: &[u32], still: &[Complex64]) {
        let (plan, layout) = (&self.solver.plan, &self.solver.layout);
        let first_edge = plan.core_start();
        for (n, mask) in self.masks.iter().enumerate().rev() {
            let edges = plan.edges(plan.static_steps + n);
            for edge in edges.filter(|edge| plan.neighbour[*edge] != self.solver.network.reference().0) {
                let slot = layout.slots[plan.neighbour[edge] as usize];
                let weight = if *mask == 0 {
                    let weight = still[edge - first_edge];
                    schedule.weights.push([weight.re, weight.im]);
                    number(schedule.weights.len() - 1)
                } else {
                    local[edge - first_edge]
                };
                schedule.terms.push([slot, weight]);
            }
            schedule.nodes.push(Node { end: number(schedule.terms.len()), moving: *mask != 0 });
        }
    }
}

/// Steps of the core that are the same in all positions of a sweep.
struct Still {
    steps: Steps,
    weight: Vec<Complex64>,
    admittance: Vec<Complex64>,
}

impl Still {
    fn take(&mut self, at: usize, star: &[Complex64]) {
        self.steps.admittance.clear();
        self.steps.weight.clear();
        self.steps.take(star.iter().copied());
        self.admittance[at..at + star.len()].copy_from_slice(star);
        self.weight[at..at + star.len()].copy_from_slice(&self.steps.weight);
    }
}

/// A block of positions under way.
struct Block {
    work: Work,
    /// Positions of each switch that turns.
    positions: Vec<[u8; LANES]>,
}

impl Block {
    fn new(sweep: &Sweep, layout: &Layout) -> Self {
        let edges = sweep.schedule.base.len();
        let mut work = Work {
            admittance: vec![Wide::ZERO; edges],
            weight: vec![Wide::ZERO; edges + sweep.contacts.len()],
            volts: vec![Wide::ZERO; layout.slots.len()],
        };
        work.admittance.extend(sweep.contacts.iter().map(|contact| Wide::splat(contact.admittance)));
        for (slot, volts) in work.volts.iter_mut().zip(&layout.fixed) {
            *slot = Wide::splat(*volts);
        }
        // No position has this number, so that every switch has turned for the first block.
        Self { work, positions: vec![[u8::MAX; LANES]; sweep.switches.len()] }
    }

    /// Puts the contacts where they are in these states, at most as many as there are lanes; gives the switches that
    /// are not as before.
    fn turn(&mut self, sweep: &Sweep, states: &[State]) -> u64 {
        let Some(last) = states.len().checked_sub(1) else { return 0 };
        let mut turned = 0;
        for (n, switch) in sweep.switches.iter().enumerate() {
            let now: [u8; LANES] = std::array::from_fn(|lane| states[lane.min(last)].position(*switch));
            if now != self.positions[n] {
                self.positions[n] = now;
                turned |= bit(n);
            }
        }
        let edges = sweep.schedule.base.len();
        for (n, turning) in sweep.contacts.iter().enumerate().filter(|(_, t)| turned & bit(t.switch) != 0) {
            let now = &self.positions[turning.switch];
            let closed = |lane: usize| f64::from(u8::from(turning.contact.closed_in(now[lane])));
            self.work.weight[edges + n].re = std::array::from_fn(closed);
        }
        turned
    }
}

/// Both passes, compiled for the processor that is found when the program runs.
struct Passes<'a> {
    schedule: &'a Schedule,
    layout: &'a Layout,
    work: &'a mut Work,
    turned: u64,
}

impl pulp::WithSimd for Passes<'_> {
    type Output = ();

    #[allow(clippy::inline_always, reason = "only what is inlined is compiled for the wider vectors")]
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        let work = (self.work, self.layout.fixed.len(), self.turned);
        // What is more than scalar has a fused product and sum; without it a fused one would be a slow call.
        if S::IS_SCALAR {
            solve::<false>(self.schedule, &self.layout.statics, work);
        } else {
            solve::<true>(self.schedule, &self.layout.statics, work);
        }
    }
}

impl Solver<'_> {
    /// Solves many positions side by side, and gives the place of each in the list with its voltages, in order. The
    /// cost grows with nodes times positions. It is least where the last switches turn fastest, as they do in
    /// [`super::network::Network::states`].
    pub fn sweep(&self, states: &[State], mut each: impl FnMut(usize, &Voltages<'_>)) {
        let Some(first) = states.first() else { return };
        let switches: Vec<SwitchId> = self
            .network
            .switches()
            .filter(|switch| states.iter().any(|state| state.position(*switch) != first.position(*switch)))
            .collect();
        let own;
        let sweep = if switches.len() == self.network.switch_count() {
            self.all.get_or_init(|| Sweep::of_all(self))
        } else {
            own = Sweep::new(self, switches, first);
            &own
        };
        let arch = pulp::Arch::new();
        let mut block = Block::new(sweep, &self.layout);
        for (n, chunk) in states.chunks(LANES).enumerate() {
            let turned = block.turn(sweep, chunk);
            let work = &mut block.work;
            arch.dispatch(Passes { schedule: &sweep.schedule, layout: &self.layout, work, turned });
            for lane in 0..chunk.len() {
                let voltages = Voltages { slots: &self.layout.slots, volts: &block.work.volts, lane };
                each(n * LANES + lane, &voltages);
            }
        }
    }
}
