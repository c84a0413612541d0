//! Hazards that follow from what joins what, in some combination of positions: each with its positions, its path
//! through terminals and joints, and the box to look in.
//!
//! Nothing here says that what is not listed is in order: only what was noted can be looked at. What is a hazard here
//! is also a matter for the adopted code and a licensed person.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Bus, Handle, LoadPoint, Spot, ThingId, Tip};

use super::build::{Circuit, LoadNode, Pole};
use super::connect::{Connectivity, Joined};
use super::group::Group;
use super::network::{ElementId, NodeId, State};
use super::point::{Part, Point, Positions, Step};
use super::promise::live;
use super::solve::Solver;

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum HazardKind {
    /// Metal joins a leg to neutral, to ground or to another leg.
    Short {
        /// One bus.
        leg: Bus,
        /// The other.
        other: Bus,
    },
    /// Two breakers feed one conductor.
    SourcesMeet {
        /// One breaker.
        one: ThingId,
        /// The other.
        other: ThingId,
    },
    /// A box, housing or ground contact is live.
    EnergisedGround(Spot),
    /// A box, housing or ground contact is joined to no ground bar.
    BrokenGround(Spot),
    /// Neutral and ground are joined downstream of the source; the ground contact or bar where they are.
    NeutralGrounded(Spot),
    /// A switch opens the neutral and leaves the load hot.
    SwitchedNeutral {
        /// The load point.
        load: LoadPoint,
        /// The switch.
        handle: Handle,
    },
    /// Hot where the neutral belongs, and neutral where the hot belongs.
    ReversedPolarity(LoadPoint),
    /// The load is fed by one breaker and returns by the neutral of another.
    BorrowedNeutral {
        /// The breaker that feeds it.
        hot: ThingId,
        /// The breaker whose neutral it uses.
        neutral: ThingId,
    },
    /// One neutral carries the sum of two breakers on the same leg.
    SharedNeutralOverload {
        /// The neutral's end in the panel.
        tip: Tip,
        /// The leg.
        leg: Bus,
    },
    /// Loads are in series: the current of one goes through the other.
    LoadsInSeries(BTreeSet<LoadPoint>),
    /// A conductor is neither capped nor landed, and it is live.
    LiveLoose(Tip),
    /// A current-carrying conductor is neither capped nor landed.
    Loose(Tip),
    /// Hot and neutral of one load go different ways.
    ConductorsApart {
        /// The load point.
        load: LoadPoint,
        /// The runs that carry one without the other.
        runs: BTreeSet<ThingId>,
    },
}

/// A hazard with where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hazard {
    /// What is wrong.
    pub kind: HazardKind,
    /// The first combination of positions in which it shows; the other handles are at rest.
    pub at: Positions,
    /// It shows in every combination that was looked at.
    pub always: bool,
    /// The way through terminals and joints.
    pub path: Vec<Step>,
    /// The box to look in.
    pub place: Option<ThingId>,
    /// Load points that it touches: nothing is promised for them.
    pub loads: BTreeSet<LoadPoint>,
}

/// The hazards of a circuit, worst first, breakers on.
pub fn hazards(circuit: &Circuit) -> Vec<Hazard> {
    let mut search = Search::new(circuit);
    for group in circuit.groups() {
        search.group(&group);
    }
    search.finish()
}

struct Seen {
    at: Positions,
    times: usize,
    /// The first group that it was seen in has as many combinations.
    of: usize,
    /// The position that it was last seen in.
    last: usize,
    path: Vec<Step>,
    loads: BTreeSet<LoadPoint>,
}

/// One combination of positions, and what metal joins in it.
struct Look {
    state: State,
    at: Positions,
    joined: Joined,
    beyond_breakers: Joined,
    beyond_bars: Joined,
}

struct Search<'a> {
    circuit: &'a Circuit,
    solver: Solver<'a>,
    /// Without the bond at the source.
    metal: Connectivity<'a>,
    /// Without the bond and without breakers.
    beyond_breakers: Connectivity<'a>,
    /// Without the bond and without what lands on neutral bars.
    beyond_bars: Connectivity<'a>,
    /// Ends on neutral bars, with the breakers that they belong to.
    landings: Vec<(Tip, NodeId, BTreeSet<ThingId>)>,
    returns: BTreeMap<(Tip, Bus), BTreeSet<ThingId>>,
    looked: usize,
    /// Combinations of the group that is being looked at.
    scope: usize,
    seen: BTreeMap<HazardKind, Seen>,
}

impl<'a> Search<'a> {
    fn new(circuit: &'a Circuit) -> Self {
        let bonds = circuit.elements_where(|part| matches!(part, Part::Bond(_)));
        let breakers: Vec<_> = circuit.poles.iter().map(|pole| pole.element).chain(bonds.iter().copied()).collect();
        let landings = landings(circuit);
        let neutrals: Vec<NodeId> = circuit.panels.values().map(|panel| panel.neutral).collect();
        let bars = (0u32..).zip(circuit.network.elements());
        let bars = bars.filter(|(_, e)| neutrals.contains(&e.from) || neutrals.contains(&e.to));
        let bond_and_bars: Vec<_> = bars.map(|(n, _)| ElementId(n)).chain(bonds.iter().copied()).collect();
        Self {
            circuit,
            solver: Solver::new(&circuit.network),
            metal: Connectivity::new(&circuit.network, &bonds),
            beyond_breakers: Connectivity::new(&circuit.network, &breakers),
            beyond_bars: Connectivity::new(&circuit.network, &bond_and_bars),
            landings,
            returns: BTreeMap::new(),
            looked: 0,
            scope: 0,
            seen: BTreeMap::new(),
        }
    }

    /// Notes a hazard in the position that is being looked at.
    fn note(&mut self, kind: HazardKind, at: &Positions, path: Vec<Step>, loads: BTreeSet<LoadPoint>) {
        let (looked, scope) = (self.looked, self.scope);
        let seen = self.seen.entry(kind).or_insert_with(|| Seen {
            at: at.clone(),
            times: 0,
            of: scope,
            last: 0,
            path,
            loads: BTreeSet::new(),
        });
        seen.loads.extend(loads);
        if seen.last != looked {
            seen.last = looked;
            seen.times += 1;
        }
    }

    /// Load points in a box.
    fn loads_in(&self, place: Option<ThingId>) -> BTreeSet<LoadPoint> {
        let here = |load: &LoadNode| place.is_some() && self.circuit.box_of(load.from) == place;
        let loads = self.circuit.loads.iter().filter(|(_, load)| here(load) && !load.auxiliary);
        loads.map(|(point, _)| point.clone()).collect()
    }

    /// The box in the middle of a path that goes out on one conductor and comes back on another.
    fn middle_box(&self, path: &[Step]) -> Option<ThingId> {
        let box_of = |step: &Step| self.circuit.node(step.to.spot()?).and_then(|node| self.circuit.box_of(node));
        let middle = path.len() / 2;
        let nearest_first = path.iter().enumerate().map(|(n, step)| (n.abs_diff(middle), step));
        let mut near: Vec<_> = nearest_first.collect();
        near.sort_by_key(|(distance, _)| *distance);
        near.into_iter().find_map(|(_, step)| box_of(step))
    }

    /// Looks at every combination of a group's positions; at its own load points only, for the others do not change.
    fn group(&mut self, group: &Group) {
        let circuit = self.circuit;
        let states = circuit.combinations(&group.handles).unwrap_or_else(|_| vec![circuit.rest()]);
        self.scope = states.len();
        for state in states {
            self.looked += 1;
            let look = Look {
                at: group.handles.iter().filter_map(|handle| circuit.at(handle, &state)).collect(),
                joined: self.metal.at(&state),
                beyond_breakers: self.beyond_breakers.at(&state),
                beyond_bars: self.beyond_bars.at(&state),
                state,
            };
            self.shorts(&look);
            self.sources(&look);
            self.grounds(&look);
            self.series(&look);
            self.loose(&look);
            for point in &group.loads {
                let Some(load) = circuit.loads.get(point) else { continue };
                self.polarity(&look, point, load);
                self.returning(&look, point, load);
                self.apart(&look, point, load);
            }
        }
    }

    fn legs(&self) -> Vec<(Bus, NodeId)> {
        self.circuit.panels.values().flat_map(|panel| panel.legs.clone()).collect()
    }

    fn is_hot(&self, joined: &Joined, node: NodeId) -> bool {
        self.legs().iter().any(|(_, leg)| joined.joined(*leg, node))
    }

    fn is_neutral(&self, joined: &Joined, node: NodeId) -> bool {
        self.circuit.panels.values().any(|panel| joined.joined(panel.neutral, node))
    }

    fn is_grounded(&self, joined: &Joined, node: NodeId) -> bool {
        self.circuit.panels.values().any(|panel| joined.joined(panel.ground, node))
    }

    fn way(&self, state: &State, from: NodeId, to: NodeId) -> Vec<Step> {
        let way = self.metal.path(state, from, to);
        way.map(|way| self.circuit.steps(from, &way)).unwrap_or_default()
    }

    fn shorts(&mut self, look: &Look) {
        let Look { state, at, joined, .. } = look;
        let circuit = self.circuit;
        for panel in circuit.panels.values().filter(|panel| !panel.supplies.is_empty()) {
            for (n, (leg, node)) in panel.legs.iter().enumerate() {
                let others = panel.legs.iter().skip(n + 1).copied();
                let others = others.chain([(Bus::Neutral, panel.neutral), (Bus::Ground, panel.ground)]);
                for (other, to) in others.filter(|(_, to)| joined.joined(*node, *to)) {
                    let path = self.way(state, *node, to);
                    let on_path =
                        |pole: &&Pole| path.iter().any(|step| step.part == Part::Contact(pole.handle.clone()));
                    let beyond = &look.beyond_breakers;
                    let poles: Vec<&Pole> = circuit.poles.iter().filter(on_path).collect();
                    let fed = |load: &LoadNode| poles.iter().any(|pole| beyond.joined(pole.load, load.from));
                    let loads = circuit.loads.iter().filter(|(_, load)| fed(load)).map(|(point, _)| point.clone());
                    let loads = loads.collect();
                    self.note(HazardKind::Short { leg: *leg, other }, at, path, loads);
                }
            }
        }
    }

    fn sources(&mut self, look: &Look) {
        let Look { state, at, beyond_breakers: joined, .. } = look;
        let circuit = self.circuit;
        for (n, one) in circuit.poles.iter().enumerate() {
            for other in circuit.poles.iter().skip(n + 1) {
                if one.breaker == other.breaker || !joined.joined(one.load, other.load) {
                    continue;
                }
                let way = self.beyond_breakers.path(state, one.load, other.load);
                let path = way.map(|way| circuit.steps(one.load, &way)).unwrap_or_default();
                let fed = circuit.loads.iter().filter(|(_, load)| joined.joined(load.from, one.load));
                let loads = fed.map(|(point, _)| point.clone()).collect();
                self.note(HazardKind::SourcesMeet { one: one.breaker, other: other.breaker }, at, path, loads);
            }
        }
    }

    fn grounds(&mut self, look: &Look) {
        let Look { state, at, joined, .. } = look;
        let circuit = self.circuit;
        for (panel, node) in &circuit.panels {
            if joined.joined(node.neutral, node.ground) {
                let spot = Spot::Bus { panel: *panel, bus: Bus::Ground };
                let path = self.way(state, node.ground, node.neutral);
                let loads = self.loads_in(self.middle_box(&path));
                self.note(HazardKind::NeutralGrounded(spot), at, path, loads);
            }
        }
        let ungrounded: Vec<_> = circuit.grounds.iter().filter(|(_, node)| !self.is_grounded(joined, **node)).collect();
        for (spot, node) in ungrounded {
            self.ungrounded(look, spot, *node);
        }
    }

    fn ungrounded(&mut self, look: &Look, spot: &Spot, node: NodeId) {
        let Look { state, at, joined, .. } = look;
        let circuit = self.circuit;
        let loads = self.loads_in(circuit.box_of(node));
        let neutral = circuit.panels.values().find(|panel| joined.joined(panel.neutral, node));
        let unknown = circuit.boundaries.values().flatten().any(|end| joined.joined(*end, node));
        if self.is_hot(joined, node) {
            let path = live(circuit, &self.metal, state, node);
            self.note(HazardKind::EnergisedGround(spot.clone()), at, path, loads.clone());
        } else if let Some(panel) = neutral {
            let path = self.way(state, node, panel.neutral);
            self.note(HazardKind::NeutralGrounded(spot.clone()), at, path, loads.clone());
        } else if !unknown && self.volts_to_ground(state, node) >= circuit.assumptions.energised.value {
            let path = self.through_loads(state, node);
            self.note(HazardKind::EnergisedGround(spot.clone()), at, path, loads.clone());
        }
        if !unknown {
            self.note(HazardKind::BrokenGround(spot.clone()), at, Vec::new(), loads);
        }
    }

    /// What a low-impedance meter reads from a node to the ground bar.
    fn volts_to_ground(&self, state: &State, node: NodeId) -> f64 {
        let Some(bar) = self.circuit.panels.values().next().map(|panel| panel.ground) else { return 0.0 };
        let settled = self.circuit.settle(&self.solver, state);
        settled.solution.across_burdened(node, bar, self.circuit.assumptions.low_impedance_meter.value).norm()
    }

    fn through_loads(&self, state: &State, node: NodeId) -> Vec<Step> {
        let legs = self.legs();
        let ways = legs.iter().filter_map(|(_, leg)| Some((*leg, self.metal.path_through_loads(state, *leg, node)?)));
        let shortest = ways.min_by_key(|(_, way)| way.len());
        shortest.map(|(leg, way)| self.circuit.steps(leg, &way)).unwrap_or_default()
    }

    /// Islands that two loads leave for unlike buses, a leg among them.
    fn series(&mut self, look: &Look) {
        let Look { at, joined, .. } = look;
        let buses: Vec<(Bus, NodeId)> = self
            .circuit
            .panels
            .values()
            .flat_map(|p| p.legs.iter().copied().chain([(Bus::Neutral, p.neutral), (Bus::Ground, p.ground)]))
            .collect();
        let bus_of = |node: NodeId| buses.iter().find(|(_, bus)| joined.joined(*bus, node)).map(|(bus, _)| *bus);
        let mut islands: BTreeMap<NodeId, BTreeMap<LoadPoint, Bus>> = BTreeMap::new();
        let drawing = self.circuit.loads.iter().filter(|(_, load)| load.element.is_some() && !load.auxiliary);
        for (point, load) in drawing {
            for (here, there) in [(load.from, load.to), (load.to, load.from)] {
                if let (None, Some(bus)) = (bus_of(here), bus_of(there)) {
                    islands.entry(joined.group(here)).or_default().insert(point.clone(), bus);
                }
            }
        }
        for loads in islands.into_values() {
            let buses: BTreeSet<Bus> = loads.values().copied().collect();
            let hot = buses.iter().any(|bus| matches!(bus, Bus::A | Bus::B | Bus::C));
            if hot && buses.len() > 1 {
                let loads: BTreeSet<LoadPoint> = loads.into_keys().collect();
                self.note(HazardKind::LoadsInSeries(loads.clone()), at, Vec::new(), loads);
            }
        }
    }

    fn loose(&mut self, look: &Look) {
        let Look { state, at, joined, .. } = look;
        let circuit = self.circuit;
        for tip in &circuit.loose {
            let ground = matches!(tip, Tip::Wire { run, wire, .. } if circuit.ground_wires.contains(&(*run, *wire)));
            let Some(node) = circuit.node(&Spot::Tip(tip.clone())).filter(|_| !ground) else { continue };
            let loads = self.loads_in(circuit.box_of(node));
            if self.is_hot(joined, node) {
                let path = live(circuit, &self.metal, state, node);
                self.note(HazardKind::LiveLoose(tip.clone()), at, path, loads);
            } else {
                self.note(HazardKind::Loose(tip.clone()), at, Vec::new(), loads);
            }
        }
    }

    fn polarity(&mut self, look: &Look, point: &LoadPoint, load: &LoadNode) {
        let Look { state, at, joined, .. } = look;
        if !load.to_neutral {
            return;
        }
        let only = BTreeSet::from([point.clone()]);
        if self.is_neutral(joined, load.from) && self.is_hot(joined, load.to) {
            let path = live(self.circuit, &self.metal, state, load.to);
            let path = self.last_box(path);
            self.note(HazardKind::ReversedPolarity(point.clone()), at, path, only);
            return;
        }
        if !self.is_hot(joined, load.from) || self.is_neutral(joined, load.to) {
            return;
        }
        let circuit = self.circuit;
        for (n, element) in (0u32..).zip(circuit.network.elements()).filter(|(_, e)| !e.present(state)) {
            let Part::Contact(handle) = circuit.part(ElementId(n)) else { continue };
            let by_hand = circuit.handles.get(handle).is_some_and(|node| !node.automatic);
            let ends = [(element.from, element.to), (element.to, element.from)];
            let opens = ends.into_iter().find(|(a, b)| joined.joined(*a, load.to) && self.is_neutral(joined, *b));
            if let (true, Some((near, _))) = (by_hand, opens) {
                let path = self.way(state, load.to, near);
                let kind = HazardKind::SwitchedNeutral { load: point.clone(), handle: handle.clone() };
                self.note(kind, at, path, only.clone());
            }
        }
    }

    /// The part of a path in the last box that it goes through.
    fn last_box(&self, path: Vec<Step>) -> Vec<Step> {
        let box_of = |point: &Point| self.circuit.node(point.spot()?).and_then(|node| self.circuit.box_of(node));
        let last = path.last().and_then(|step| box_of(&step.to));
        let from = path.iter().rposition(|step| box_of(&step.from) != last).map_or(0, |n| n + 1);
        path.into_iter().skip(from).collect()
    }

    fn returning(&mut self, look: &Look, point: &LoadPoint, load: &LoadNode) {
        let Look { state, at, joined, .. } = look;
        if !load.to_neutral || !self.is_hot(joined, load.from) || !self.is_neutral(joined, load.to) {
            return;
        }
        let feeds = |pole: &&Pole| look.beyond_breakers.joined(pole.load, load.from);
        let Some(pole) = self.circuit.poles.iter().find(feeds) else { return };
        let beyond = &look.beyond_bars;
        let ends: Vec<_> = self.landings.iter().filter(|(_, node, _)| beyond.joined(*node, load.to)).cloned().collect();
        for (tip, node, breakers) in &ends {
            let returns = self.returns.entry((tip.clone(), pole.leg.1)).or_default();
            returns.insert(pole.breaker);
            if let Some(other) = breakers.first().filter(|_| !breakers.contains(&pole.breaker)) {
                let way = self.beyond_bars.path(state, load.to, *node);
                let path = way.map(|way| self.circuit.steps(load.to, &way)).unwrap_or_default();
                let kind = HazardKind::BorrowedNeutral { hot: pole.breaker, neutral: *other };
                self.note(kind, at, path, BTreeSet::from([point.clone()]));
            }
        }
        if let [(tip, node, _)] = ends.as_slice()
            && self.returns.get(&(tip.clone(), pole.leg.1)).is_some_and(|breakers| breakers.len() > 1)
        {
            let way = self.beyond_bars.path(state, load.to, *node);
            let path = way.map(|way| self.circuit.steps(load.to, &way)).unwrap_or_default();
            let kind = HazardKind::SharedNeutralOverload { tip: tip.clone(), leg: pole.leg.1 };
            self.note(kind, at, path, BTreeSet::from([point.clone()]));
        }
    }

    /// Hot and return of a load, walked as one loop: in each cable as much must go as comes back.
    fn apart(&mut self, look: &Look, point: &LoadPoint, load: &LoadNode) {
        let Look { state, at, joined, .. } = look;
        let circuit = self.circuit;
        let legs: Vec<NodeId> = self.legs().into_iter().map(|(_, leg)| leg).collect();
        let source = legs.iter().copied().find(|leg| joined.joined(*leg, load.from));
        let neutrals = circuit.panels.values().map(|panel| panel.neutral);
        let back = neutrals.chain(legs.iter().copied()).find(|bus| joined.joined(*bus, load.to));
        let (Some(source), Some(back)) = (source, back) else { return };
        let ways = (self.metal.path(state, source, load.from), self.metal.path(state, load.to, back));
        let (Some(there), Some(home)) = ways else { return };
        let mut net: BTreeMap<ThingId, i32> = BTreeMap::new();
        for (start, way) in [(source, &there), (load.to, &home)] {
            let mut node = start;
            for id in way {
                let Some(element) = circuit.network.element(*id) else { continue };
                if let Part::Conductor { run, .. } = circuit.part(*id) {
                    *net.entry(*run).or_default() += if element.from == node { 1 } else { -1 };
                }
                node = element.other(node);
            }
        }
        let between_boxes = |run: &ThingId| {
            let end = |side| circuit.node(&Spot::Tip(Tip::Wire { run: *run, wire: 0, side }));
            let boxes = crate::job::Side::BOTH.map(|side| end(side).and_then(|node| circuit.box_of(node)));
            boxes.first() != boxes.last()
        };
        let apart = net.into_iter().filter(|(run, net)| *net != 0 && !circuit.open_runs.contains(run));
        let runs: BTreeSet<ThingId> = apart.map(|(run, _)| run).filter(between_boxes).collect();
        if !runs.is_empty() {
            let kind = HazardKind::ConductorsApart { load: point.clone(), runs };
            let path = circuit.steps(source, &there);
            self.note(kind, at, path, BTreeSet::from([point.clone()]));
        }
    }

    fn finish(&self) -> Vec<Hazard> {
        let circuit = self.circuit;
        let node_of = |spot: &Spot| circuit.node(spot).and_then(|node| circuit.box_of(node));
        let live: BTreeSet<Tip> = self
            .seen
            .keys()
            .filter_map(|kind| if let HazardKind::LiveLoose(tip) = kind { Some(tip.clone()) } else { None })
            .collect();
        let place = |kind: &HazardKind, path: &[Step]| match kind {
            HazardKind::Short { .. } | HazardKind::NeutralGrounded(Spot::Bus { .. }) => self.middle_box(path),
            HazardKind::EnergisedGround(spot) | HazardKind::BrokenGround(spot) => node_of(spot),
            HazardKind::LiveLoose(tip) | HazardKind::Loose(tip) => node_of(&Spot::Tip(tip.clone())),
            HazardKind::SwitchedNeutral { handle, .. } => {
                let contacts = circuit.elements_where(|part| *part == Part::Contact(handle.clone()));
                contacts.first().and_then(|id| circuit.network.element(*id)).and_then(|e| circuit.box_of(e.from))
            }
            HazardKind::ReversedPolarity(load) | HazardKind::ConductorsApart { load, .. } => {
                circuit.loads.get(load).and_then(|load| circuit.box_of(load.from))
            }
            _ => {
                let spots = path.iter().flat_map(|step| [step.from.spot(), step.to.spot()]).flatten();
                let mut boxes = spots.filter_map(node_of).filter(|id| !circuit.panels.contains_key(id));
                boxes.next_back()
            }
        };
        self.seen
            .iter()
            .filter(|(kind, _)| !matches!(kind, HazardKind::Loose(tip) if live.contains(tip)))
            .map(|(kind, seen)| Hazard {
                place: place(kind, &seen.path),
                always: seen.times == if of_a_load(kind) { seen.of } else { self.looked },
                at: seen.at.clone(),
                path: seen.path.clone(),
                loads: seen.loads.clone(),
                kind: kind.clone(),
            })
            .collect()
    }
}

/// It was looked for in the combinations of one group only.
fn of_a_load(kind: &HazardKind) -> bool {
    matches!(
        kind,
        HazardKind::SwitchedNeutral { .. }
            | HazardKind::ReversedPolarity(_)
            | HazardKind::BorrowedNeutral { .. }
            | HazardKind::SharedNeutralOverload { .. }
            | HazardKind::ConductorsApart { .. }
    )
}

/// Ends on neutral bars with the breakers that they belong to: those that the hots of the same run land on, or the
/// breaker whose tail it is.
fn landings(circuit: &Circuit) -> Vec<(Tip, NodeId, BTreeSet<ThingId>)> {
    let neutrals: Vec<NodeId> = circuit.panels.values().map(|panel| panel.neutral).collect();
    let mut breakers: BTreeMap<ThingId, BTreeSet<ThingId>> = BTreeMap::new();
    let mut ends: Vec<(Tip, NodeId)> = Vec::new();
    for (n, element) in (0u32..).zip(circuit.network.elements()) {
        let Part::Joint(tip) = circuit.part(ElementId(n)) else { continue };
        if let Tip::Wire { run, .. } = tip {
            let poles = circuit.poles.iter().filter(|pole| element.from == pole.load || element.to == pole.load);
            breakers.entry(*run).or_default().extend(poles.map(|pole| pole.breaker));
        }
        if let Some(bar) = neutrals.iter().find(|bar| element.from == **bar || element.to == **bar) {
            ends.push((tip.clone(), element.other(*bar)));
        }
    }
    let of = |tip: &Tip| match tip {
        Tip::Wire { run, .. } => breakers.get(run).cloned().unwrap_or_default(),
        Tip::Lead { device, .. } => BTreeSet::from([*device]),
    };
    ends.into_iter().map(|(tip, node)| (tip.clone(), node, of(&tip))).collect()
}

#[cfg(test)]
mod tests;
