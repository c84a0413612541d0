//! What a meter should read between two points: an interval, before it is taken.
//!
//! The interval covers what the source may be, the scatter of the instrument, both mappings of a handle whose mapping
//! nobody knows, every position of a handle that matters and was not stated, and, where the map ends, what could be
//! there: nothing, a load, a leg, neutral, ground. On a conductor that floats the reading is a ghost: a wide range,
//! never above the live conductor's.

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;

use crate::job::value::System;
use crate::job::{At, Bus, Handle, Mode, Pair, Spot, ThingId, Tip};

use super::build::{Circuit, HandleNode, PanelNode};
use super::connect::Connectivity;
use super::corners::{Share, corners};
use super::cover::Cover;
use super::group::Islands;
use super::network::{Network, NodeId, State, Value};
use super::point::{Boundary, Part as Element, Unknown};
use super::solve::{Solution, Solver};

/// Volts RMS from low to high.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volts {
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
}

/// What each leg of each source may be.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceVolts {
    legs: BTreeMap<(ThingId, Bus), Volts>,
}

/// What is asked.
#[derive(Debug, Clone)]
pub struct Ask<'a> {
    /// Between which points.
    pub pair: &'a Pair,
    /// Positions of handles and breakers, as far as they are stated; breakers not named are on.
    pub at: &'a [At],
    /// The instrument's setting.
    pub mode: Mode,
    /// Its input in ohms, where it is noted.
    pub burden_ohms: Option<f64>,
}

/// What should be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// The interval in volts.
    pub volts: Volts,
    /// Volts with the source at its nominal value and every guess left out.
    pub nominal: f64,
    /// Impedance that the meter looks into, in ohms.
    pub source_ohms: f64,
    /// The reading is a ghost on a floating conductor.
    pub ghost: bool,
    /// Ends of the map that move the interval.
    pub touched: BTreeSet<Boundary>,
    /// Handles whose unknown mapping or unstated position is covered by the interval.
    pub covered: BTreeSet<Handle>,
    /// More positions would have to be covered than are worked out: the interval holds for the handles at rest.
    pub partial: bool,
}

/// Why nothing is predicted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoPrediction {
    /// Only AC volts are predicted.
    Mode(Mode),
    /// The point is not part of the circuit as it is noted.
    NotInCircuit(Spot),
    /// The circuit has no source.
    NoSource,
    /// The circuit has no state that agrees with itself.
    Unsettled,
}

impl SourceVolts {
    /// What the standards let each leg be.
    pub fn of(circuit: &Circuit) -> Self {
        let a = &circuit.assumptions;
        let mut legs = BTreeMap::new();
        for (id, panel) in circuit.panels.iter().filter(|(_, panel)| !panel.supplies.is_empty()) {
            let (low, high) = match panel.system {
                System::SplitPhase => (a.split_phase_low.value, a.split_phase_high.value),
                System::Wye208 => (a.wye_low.value, a.wye_high.value),
                System::Single230 => (a.single_low.value, a.single_high.value),
            };
            legs.extend(panel.legs.iter().map(|(bus, _)| ((*id, *bus), Volts { low, high })));
        }
        Self { legs }
    }

    /// What a leg may be.
    pub fn leg(&self, panel: ThingId, bus: Bus) -> Option<Volts> {
        self.legs.get(&(panel, bus)).copied()
    }

    /// Narrows a leg by a reading of this visit between points that this leg alone stands behind, firmly. The
    /// instrument's own scatter is counted in every prediction; what is left here is that the source drifts a little.
    /// Gives the leg that was narrowed.
    pub fn narrow(&mut self, circuit: &Circuit, pair: &Pair, at: &[At], read_volts: f64) -> Option<(ThingId, Bus)> {
        let (from, to) = (circuit.node(&pair.from)?, circuit.node(&pair.to)?);
        let solver = Solver::new(&circuit.network);
        let settled = circuit.settle(&solver, &circuit.state(at, circuit.rest()));
        if settled.solution.thevenin_ohms(from, to).norm() > circuit.assumptions.low_impedance_meter.value / 10.0 {
            return None;
        }
        let parts = contributions(circuit, &settled.solution, (from, to));
        let largest = parts.iter().max_by(|a, b| a.1.norm().total_cmp(&b.1.norm()))?;
        let alone = parts.iter().all(|part| part.0 == largest.0 || part.1.norm() < 0.1 * largest.1.norm());
        let nominal = circuit.network.fixed(largest.2).map_or(0.0, Complex64::norm);
        let whole: Complex64 = parts.iter().map(|part| part.1).sum();
        let leg = self.legs.get_mut(&largest.0)?;
        let source = read_volts * nominal / whole.norm();
        let drift = circuit.assumptions.meter_volts.value;
        // A reading far from what a source can be says something about the wiring, not about the source.
        let believable = source > leg.low * 0.8 && source < leg.high * 1.2;
        if !alone || !believable || largest.1.norm() < 0.5 * nominal {
            return None;
        }
        *leg = Volts { low: source - drift, high: source + drift };
        Some(largest.0)
    }

    fn highest(&self) -> f64 {
        self.legs.values().map(|leg| leg.high).fold(0.0, f64::max)
    }
}

/// A leg, what it by itself puts between two nodes at its nominal voltage, and its source node.
type Part = ((ThingId, Bus), Complex64, NodeId);

/// What each leg by itself puts between two nodes.
fn contributions(circuit: &Circuit, solution: &Solution<'_>, (from, to): (NodeId, NodeId)) -> Vec<Part> {
    let panels = circuit.panels.iter();
    let fed = panels.flat_map(|(id, panel)| {
        panel.legs.iter().zip(&panel.supplies).map(|((bus, _), supply)| ((*id, *bus), *supply))
    });
    fed.map(|(leg, supply)| (leg, solution.part_of(supply, from, to), supply)).collect()
}

/// What a meter should read.
///
/// # Errors
/// See [`NoPrediction`].
pub fn expect(circuit: &Circuit, sources: &SourceVolts, ask: &Ask<'_>) -> Result<Prediction, NoPrediction> {
    let a = &circuit.assumptions;
    let usual = match ask.mode {
        Mode::AcHigh => a.high_impedance_meter.value,
        Mode::AcLow => a.low_impedance_meter.value,
        mode => return Err(NoPrediction::Mode(mode)),
    };
    if sources.legs.is_empty() {
        return Err(NoPrediction::NoSource);
    }
    let burden_ohms = ask.burden_ohms.filter(|ohms| *ohms > 0.0).unwrap_or(usual);
    let node = |spot: &Spot| circuit.node(spot).ok_or_else(|| NoPrediction::NotInCircuit(spot.clone()));
    let nodes = (node(&ask.pair.from)?, node(&ask.pair.to)?);
    let meter = Meter { circuit, sources, nodes, burden_ohms };
    let Cover { states, handles: covered, partial } = meter.cover(ask.at);
    let mut plain: Option<Interval> = None;
    let solver = Solver::new(&circuit.network);
    for state in &states {
        let interval = meter.interval(&solver, state, false).ok_or(NoPrediction::Unsettled)?;
        plain = Some(plain.map_or(interval, |before| before.hull(interval)));
    }
    let plain = plain.ok_or(NoPrediction::Unsettled)?;
    let mut volts = plain.volts;
    let mut touched = BTreeSet::new();
    for (boundary, network) in meter.guesses(&states) {
        let solver = Solver::new(&network);
        for state in &states {
            let Some(guess) = meter.interval(&solver, state, true) else { continue };
            let moved = guess.volts.low < plain.volts.low - a.meter_volts.value
                || guess.volts.high > plain.volts.high + a.meter_volts.value;
            if moved {
                touched.insert(boundary.clone());
                volts = volts.hull(guess.volts);
            }
        }
    }
    let Interval { nominal, source_ohms, ghost, .. } = plain;
    Ok(Prediction { volts, nominal, source_ohms, ghost, touched, covered, partial })
}

impl Volts {
    fn hull(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }
}

#[derive(Debug, Clone, Copy)]
struct Interval {
    volts: Volts,
    nominal: f64,
    source_ohms: f64,
    ghost: bool,
}

impl Interval {
    /// Both; the first one's nominal value stays.
    fn hull(self, other: Self) -> Self {
        Self { volts: self.volts.hull(other.volts), ghost: self.ghost || other.ghost, ..self }
    }
}

struct Meter<'a> {
    circuit: &'a Circuit,
    sources: &'a SourceVolts,
    nodes: (NodeId, NodeId),
    burden_ohms: f64,
}

impl Meter<'_> {
    /// Positions to cover: of the handles that touch an island of the two points.
    fn cover(&self, at: &[At]) -> Cover {
        let islands = Islands::of(self.circuit);
        let here: BTreeSet<u32> =
            [self.nodes.0, self.nodes.1].into_iter().filter_map(|node| islands.island(node)).collect();
        let touches = |handle: &Handle, _: &HandleNode| {
            self.circuit.island_of_handle(&islands, handle).is_some_and(|island| here.contains(&island))
        };
        Cover::of(self.circuit, at, touches)
    }

    /// What is read in one state of one network. `None` if it does not settle or, for a guess, if the breaker would
    /// have tripped.
    fn interval(&self, solver: &Solver<'_>, state: &State, guess: bool) -> Option<Interval> {
        let a = &self.circuit.assumptions;
        let settled = self.circuit.settle(solver, state);
        if !settled.stable {
            return None;
        }
        let solution = settled.solution;
        let mut sources = self.circuit.elements_where(|part| matches!(part, Element::Source(_))).into_iter();
        if guess && sources.any(|element| solution.amperes(element).norm() > a.trip_current.value) {
            return None;
        }
        let thevenin_ohms = solution.thevenin_ohms(self.nodes.0, self.nodes.1);
        let burdened = (1.0 + thevenin_ohms / self.burden_ohms).inv();
        let source_ohms = thevenin_ohms.norm();
        let nominal = (solution.across(self.nodes.0, self.nodes.1) * burdened).norm();
        let mut parts = contributions(self.circuit, &solution, self.nodes);
        for (_, volts, _) in &mut parts {
            *volts *= burdened;
        }
        let mut volts = self.corners(solver.network(), &parts);
        let ghost = source_ohms > a.ghost_impedance.value;
        if ghost {
            // Never above the live conductor's; what the calculation itself gives above that stays.
            let most = self.sources.highest().max(volts.high);
            volts = Volts { low: volts.low * a.ghost_low.value, high: (volts.high * a.ghost_high.value).min(most) };
        }
        let (part, fixed) = (a.meter_part.value, a.meter_volts.value);
        let low = (volts.low * (1.0 - part) - fixed).max(0.0);
        let volts = Volts { low, high: volts.high * (1.0 + part) + fixed };
        Some(Interval { volts, nominal, source_ohms, ghost })
    }

    /// Least and greatest voltage with each leg anywhere in its interval.
    fn corners(&self, network: &Network, parts: &[Part]) -> Volts {
        let share = |(leg, volts, supply): &Part| {
            let nominal = network.fixed(*supply).map_or(1.0, Complex64::norm).max(f64::MIN_POSITIVE);
            let range = self.sources.leg(leg.0, leg.1).unwrap_or(Volts { low: nominal, high: nominal });
            Share { value: *volts, low: range.low / nominal, high: range.high / nominal }
        };
        let (low, high) = corners(parts.iter().map(share).collect());
        Volts { low, high }
    }

    /// What could be at each end of the map that metal joins to the two points: tied to each bus, or a load to
    /// another unknown end of the same side of its run.
    fn guesses(&self, states: &[State]) -> Vec<(Boundary, Network)> {
        let circuit = self.circuit;
        let connectivity = Connectivity::new(&circuit.network, &[]);
        let reached = |end: NodeId| {
            let mut joined = states.iter().map(|state| connectivity.at(state));
            joined.any(|joined| joined.joined(end, self.nodes.0) || joined.joined(end, self.nodes.1))
        };
        let mut guesses = Vec::new();
        let ends: Vec<(&Boundary, NodeId)> =
            circuit.boundaries.iter().flat_map(|(of, nodes)| nodes.iter().map(move |node| (of, *node))).collect();
        let Some(panel) = circuit.panels.values().find(|panel| !panel.supplies.is_empty()) else { return guesses };
        let buses: Vec<NodeId> = panel.legs.iter().map(|(_, leg)| *leg).chain([panel.neutral, panel.ground]).collect();
        let a = &circuit.assumptions;
        let tie = Value::Metal { ohms: a.splice_contact.value };
        let nominal = panel.supplies.first().and_then(|s| circuit.network.fixed(*s)).map_or(0.0, Complex64::norm);
        let load = Value::of_power(a.unknown_load.value, nominal, 1.0, circuit.network.hertz()).ok();
        for (boundary, end) in ends.iter().filter(|(_, end)| reached(*end)) {
            let ties = buses.iter().map(|bus| (*bus, Some(tie)));
            let others = ends.iter().filter(|(other, node)| node != end && same_side(boundary, other));
            for (to, value) in ties.chain(others.map(|(_, node)| (*node, load))) {
                let mut network = circuit.network.clone();
                // Two ends of one node need no guess.
                if let Some(value) = value
                    && network.connect(*end, to, value).is_ok()
                {
                    guesses.push(((*boundary).clone(), network));
                }
            }
        }
        guesses.extend(self.guesses_on_both_sides(states, &ends, panel, tie));
        guesses
    }

    /// Where the map ends on either side of the meter, one guess alone leaves the other side floating: both ends are
    /// tied at once, to unlike buses.
    fn guesses_on_both_sides(
        &self,
        states: &[State],
        ends: &[(&Boundary, NodeId)],
        panel: &PanelNode,
        tie: Value,
    ) -> Vec<(Boundary, Network)> {
        let circuit = self.circuit;
        let connectivity = Connectivity::new(&circuit.network, &[]);
        let mut guesses = Vec::new();
        for joined in states.iter().map(|state| connectivity.at(state)) {
            let (from, to) = self.nodes;
            if joined.joined(from, to) {
                continue;
            }
            let end_of = |side: NodeId| ends.iter().find(|(_, end)| joined.joined(*end, side));
            let (Some((boundary, one)), Some((_, other))) = (end_of(from), end_of(to)) else { continue };
            let legs = panel.legs.iter().map(|(_, leg)| *leg);
            for (hot, cold) in legs.flat_map(|leg| [(leg, panel.neutral), (panel.neutral, leg), (leg, panel.ground)]) {
                let mut network = circuit.network.clone();
                if network.connect(*one, hot, tie).is_ok() && network.connect(*other, cold, tie).is_ok() {
                    guesses.push(((*boundary).clone(), network));
                }
            }
        }
        guesses
    }
}

/// Two unknown ends of the same side of one run.
fn same_side(a: &Boundary, b: &Boundary) -> bool {
    let side = |boundary: &Boundary| match &boundary.of {
        Unknown::Tip(Tip::Wire { run, side, .. }) => Some((*run, *side)),
        _ => None,
    };
    side(a).is_some() && side(a) == side(b)
}

#[cfg(test)]
mod tests;
