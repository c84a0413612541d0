//! What every search needs: the circuit with its connectivities, and one combination of positions with what metal
//! joins in it.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Bus, Handle, LoadPoint, ThingId, Tip};

use super::super::build::{Circuit, LoadNode, Pole};
use super::super::connect::{Connectivity, Joined};
use super::super::group::Group;
use super::super::network::{ElementId, NodeId, State, Value};
use super::super::point::{Part, Point, Positions, Step, Unknown};
use super::super::settle::Settled;
use super::super::solve::Solver;
use super::apart::Loops;
use super::parted::Cuts;
use super::protect::Sensors;
use super::still_live::Places;

/// An end on a neutral bar, with the breakers that it belongs to: those that the hots of the same run land on, or the
/// breaker whose tail it is.
pub(super) struct Landing {
    pub(super) tip: Tip,
    pub(super) node: NodeId,
    pub(super) breakers: BTreeSet<ThingId>,
}

/// The circuit, made ready for looking.
pub(super) struct Scene<'a> {
    pub(super) circuit: &'a Circuit,
    solver: OnceCell<Solver<'a>>,
    /// Without the bond at the source.
    pub(super) metal: Connectivity<'a>,
    /// Without the bond and without breakers.
    pub(super) beyond_breakers: Connectivity<'a>,
    /// Without the bond and without what lands on neutral bars.
    pub(super) beyond_bars: Connectivity<'a>,
    pub(super) landings: Vec<Landing>,
    /// Legs from which something is live.
    pub(super) legs: Vec<(Bus, NodeId)>,
    /// Bars that something must reach to be neutral.
    pub(super) neutrals: Vec<NodeId>,
    /// Bars that something must reach to be grounded.
    pub(super) grounds: Vec<NodeId>,
    /// Bonds at the sources.
    pub(super) bonds: Vec<ElementId>,
    /// Ends of the map.
    pub(super) unknown: BTreeSet<NodeId>,
    /// Boxes with conductors of which nobody noted where they are.
    waiting: BTreeSet<ThingId>,
    pub(super) loops: Loops,
    pub(super) cuts: Cuts,
    pub(super) places: Places,
    pub(super) sensors: Sensors<'a>,
}

/// Boxes with ends whose place is not noted.
fn waiting(circuit: &Circuit) -> BTreeSet<ThingId> {
    let ends = circuit.boundaries.iter().filter(|(end, _)| matches!(end.of, Unknown::Tip(_)));
    ends.flat_map(|(_, nodes)| nodes).filter_map(|node| circuit.box_of(*node)).collect()
}

impl<'a> Scene<'a> {
    pub(super) fn new(circuit: &'a Circuit, groups: &[Group]) -> Self {
        let bonds = circuit.elements_where(|part| matches!(part, Part::Bond(_)));
        let breakers: Vec<_> = circuit.poles.iter().map(|pole| pole.element).chain(bonds.iter().copied()).collect();
        let bars: Vec<NodeId> = circuit.panels.values().map(|panel| panel.neutral).collect();
        let on_bar = (0u32..).zip(circuit.network.elements());
        let on_bar = on_bar.filter(|(_, e)| bars.contains(&e.from) || bars.contains(&e.to));
        let bond_and_bars: Vec<_> = on_bar.map(|(n, _)| ElementId(n)).chain(bonds.iter().copied()).collect();
        let metal = Connectivity::new(&circuit.network, &bonds);
        let beyond_breakers = Connectivity::new(&circuit.network, &breakers);
        let unknown: BTreeSet<NodeId> = circuit.boundaries.values().flatten().copied().collect();
        let (legs, neutrals, grounds) = roots(circuit, &metal.ever(), &unknown);
        Self {
            circuit,
            solver: OnceCell::new(),
            loops: Loops::new(circuit),
            cuts: Cuts::new(circuit, &metal, &neutrals),
            places: Places::new(circuit, &beyond_breakers.ever(), groups),
            sensors: Sensors::new(circuit),
            metal,
            beyond_breakers,
            beyond_bars: Connectivity::new(&circuit.network, &bond_and_bars),
            landings: landings(circuit),
            bonds,
            legs,
            neutrals,
            grounds,
            unknown,
            waiting: waiting(circuit),
        }
    }

    /// A box holds conductors of which nobody noted where they are: what a contact there lacks may be among them.
    pub(super) fn waits(&self, place: Option<ThingId>) -> bool {
        place.is_some_and(|place| self.waiting.contains(&place))
    }

    /// The solver, planned when it is first needed: most questions need no voltages.
    pub(super) fn solver(&self) -> &Solver<'a> {
        self.solver.get_or_init(|| Solver::new(&self.circuit.network))
    }

    /// Legs from which something is live in a position: those of another supply only while it runs.
    pub(super) fn live_legs(&self, state: &State) -> impl Iterator<Item = (Bus, NodeId)> {
        let stands = |leg: NodeId| {
            let own = self.circuit.poles.iter().find(|pole| pole.load == leg);
            own.and_then(|pole| self.circuit.network.element(pole.element)).is_none_or(|element| element.present(state))
        };
        self.legs.iter().copied().filter(move |(_, leg)| stands(*leg))
    }

    /// The shortest way from a live leg to a node.
    pub(super) fn live(&self, state: &State, node: NodeId) -> Vec<Step> {
        let ways = self.live_legs(state).filter_map(|(_, leg)| Some((leg, self.metal.path(state, leg, node)?)));
        let shortest = ways.min_by_key(|(_, way)| way.len());
        shortest.map(|(leg, way)| self.circuit.steps(leg, &way)).unwrap_or_default()
    }

    /// Load points in a box.
    pub(super) fn loads_in(&self, place: Option<ThingId>) -> BTreeSet<LoadPoint> {
        let here = |load: &LoadNode| place.is_some() && self.circuit.box_of(load.from) == place;
        let loads = self.circuit.loads.iter().filter(|(_, load)| here(load) && !load.auxiliary);
        loads.map(|(point, _)| point.clone()).collect()
    }

    fn box_at(&self, point: &Point) -> Option<ThingId> {
        self.circuit.node(point.spot()?).and_then(|node| self.circuit.box_of(node))
    }

    /// The box in the middle of a path that goes out on one conductor and comes back on another.
    pub(super) fn middle_box(&self, path: &[Step]) -> Option<ThingId> {
        let middle = path.len() / 2;
        let mut near: Vec<_> = path.iter().enumerate().map(|(n, step)| (n.abs_diff(middle), step)).collect();
        near.sort_by_key(|(distance, _)| *distance);
        near.into_iter().find_map(|(_, step)| self.box_at(&step.to))
    }

    /// The last box of a path that is no panel.
    pub(super) fn last_box(&self, path: &[Step]) -> Option<ThingId> {
        let mut boxes =
            path.iter().rev().flat_map(|step| [&step.to, &step.from]).filter_map(|point| self.box_at(point));
        boxes.find(|id| !self.circuit.panels.contains_key(id))
    }

    /// The part of a path in the last box that it goes through.
    pub(super) fn in_last_box(&self, path: Vec<Step>) -> Vec<Step> {
        let last = path.last().and_then(|step| self.box_at(&step.to));
        let from = path.iter().rposition(|step| self.box_at(&step.from) != last).map_or(0, |n| n + 1);
        path.into_iter().skip(from).collect()
    }
}

/// Buses that make a thing live, neutral or grounded: those of panels with a supply. A bus of a fed panel is one by
/// itself only where an unknown end, in the panel or joined with the bus, may join it with its feeder; if nothing is
/// noted to be a source, all are. Another supply is a source too: its legs are live while it runs.
fn roots(
    circuit: &Circuit,
    ever: &Joined,
    unknown: &BTreeSet<NodeId>,
) -> (Vec<(Bus, NodeId)>, Vec<NodeId>, Vec<NodeId>) {
    let none = circuit.panels.values().all(|panel| panel.supplies.is_empty());
    let open: BTreeSet<NodeId> = unknown.iter().map(|node| ever.group(*node)).collect();
    let open_in: BTreeSet<ThingId> = unknown.iter().filter_map(|node| circuit.box_of(*node)).collect();
    let counts = |supplied: bool, node: NodeId| none || supplied || open.contains(&ever.group(node));
    let (mut legs, mut neutrals, mut grounds) = (Vec::new(), Vec::new(), Vec::new());
    // Panels with a supply first, so that paths begin there.
    let mut panels: Vec<_> = circuit.panels.iter().collect();
    panels.sort_by_key(|(_, panel)| panel.supplies.is_empty());
    for (id, panel) in panels {
        let supplied = !panel.supplies.is_empty() || open_in.contains(id);
        legs.extend(panel.legs.iter().filter(|(_, node)| counts(supplied, *node)));
        neutrals.extend(Some(panel.neutral).filter(|node| counts(supplied, *node)));
        // Another supply's ground bus reaches no earth of its own.
        grounds.extend(Some(panel.ground).filter(|node| panel.other.is_none() && counts(supplied, *node)));
    }
    (legs, neutrals, grounds)
}

fn landings(circuit: &Circuit) -> Vec<Landing> {
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
    ends.into_iter().map(|(tip, node)| Landing { breakers: of(&tip), tip, node }).collect()
}

/// One combination of positions, and what metal joins in it.
pub(super) struct Look<'s, 'a> {
    pub(super) scene: &'s Scene<'a>,
    /// Number of the group that is being looked at.
    pub(super) group: usize,
    /// Its load points.
    pub(super) loads: &'s [LoadPoint],
    pub(super) state: State,
    pub(super) at: Positions,
    pub(super) joined: Joined,
    pub(super) beyond_breakers: Joined,
    pub(super) beyond_bars: Joined,
    hot: Vec<(Bus, NodeId, NodeId)>,
    neutral: Vec<(NodeId, NodeId)>,
    ground: Vec<NodeId>,
    /// Poles by what they feed.
    poles: BTreeMap<NodeId, Vec<&'s Pole>>,
    settled: OnceCell<Settled<'s>>,
    weak: OnceCell<BTreeSet<NodeId>>,
}

impl<'s, 'a> Look<'s, 'a> {
    pub(super) fn new(scene: &'s Scene<'a>, group: usize, of: &'s Group, state: State) -> Self {
        let joined = scene.metal.at(&state);
        let beyond_breakers = scene.beyond_breakers.at(&state);
        let mut poles: BTreeMap<NodeId, Vec<&Pole>> = BTreeMap::new();
        for pole in &scene.circuit.poles {
            poles.entry(beyond_breakers.group(pole.load)).or_default().push(pole);
        }
        Self {
            scene,
            group,
            loads: &of.loads,
            at: of.handles.iter().filter_map(|handle| scene.circuit.at(handle, &state)).collect(),
            hot: scene.live_legs(&state).map(|(bus, leg)| (bus, leg, joined.group(leg))).collect(),
            neutral: scene.neutrals.iter().map(|bar| (*bar, joined.group(*bar))).collect(),
            ground: scene.grounds.iter().map(|bar| joined.group(*bar)).collect(),
            joined,
            beyond_breakers,
            beyond_bars: scene.beyond_bars.at(&state),
            poles,
            settled: OnceCell::new(),
            weak: OnceCell::new(),
            state,
        }
    }

    /// The leg that metal joins a node to.
    pub(super) fn leg(&self, node: NodeId) -> Option<(Bus, NodeId)> {
        let group = self.joined.group(node);
        self.hot.iter().find(|(_, _, hot)| *hot == group).map(|(bus, leg, _)| (*bus, *leg))
    }

    /// Metal joins the node to a leg.
    pub(super) fn is_hot(&self, node: NodeId) -> bool {
        self.leg(node).is_some()
    }

    /// The neutral bar that metal joins a node to.
    pub(super) fn bar(&self, node: NodeId) -> Option<NodeId> {
        let group = self.joined.group(node);
        self.neutral.iter().find(|(_, neutral)| *neutral == group).map(|(bar, _)| *bar)
    }

    /// Metal joins the node to a neutral bar.
    pub(super) fn is_neutral(&self, node: NodeId) -> bool {
        self.bar(node).is_some()
    }

    /// Metal joins the node to a ground bar.
    pub(super) fn is_grounded(&self, node: NodeId) -> bool {
        self.ground.contains(&self.joined.group(node))
    }

    /// Metal joins the node to a ground bar that its panel's bond still joins to neutral: a leg on it is a short.
    pub(super) fn is_bonded(&self, node: NodeId) -> bool {
        let group = self.joined.group(node);
        let bonds = self.scene.bonds.iter().filter_map(|id| self.scene.circuit.network.element(*id));
        bonds.filter(|e| e.value.connects()).any(|e| [e.from, e.to].map(|end| self.joined.group(end)).contains(&group))
    }

    /// Metal joins the node to an end that nobody knows: nothing is claimed of what it lacks.
    pub(super) fn is_open(&self, node: NodeId) -> bool {
        let group = self.joined.group(node);
        self.scene.unknown.iter().any(|end| self.joined.group(*end) == group)
    }

    /// Poles whose load side metal joins to a node, breakers left out.
    pub(super) fn poles(&self, node: NodeId) -> &[&'s Pole] {
        self.poles.get(&self.beyond_breakers.group(node)).map_or(&[], Vec::as_slice)
    }

    /// The way through metal.
    pub(super) fn way(&self, from: NodeId, to: NodeId) -> Vec<Step> {
        let way = self.scene.metal.path(&self.state, from, to);
        way.map(|way| self.scene.circuit.steps(from, &way)).unwrap_or_default()
    }

    /// The way as far as a node's metal goes.
    pub(super) fn to_its_end(&self, from: NodeId) -> Vec<Step> {
        self.scene.circuit.steps(from, &self.scene.metal.farthest(&self.state, from))
    }

    /// The solution, worked out when it is first asked for.
    pub(super) fn settled(&self) -> &Settled<'s> {
        self.settled.get_or_init(|| self.scene.circuit.settle(self.scene.solver(), &self.state))
    }

    /// Something that is not metal lets current into what a node is joined with: a load, a leak. Capacitance does not
    /// count: a low-impedance meter drains it.
    pub(super) fn is_reached(&self, node: NodeId) -> bool {
        let weak = self.weak.get_or_init(|| {
            let elements = self.scene.circuit.network.elements().iter();
            let weak = elements.filter(|e| matches!(e.value, Value::Load { .. } | Value::Resistance { .. }));
            weak.flat_map(|e| [e.from, e.to]).map(|node| self.joined.group(node)).collect()
        });
        weak.contains(&self.joined.group(node))
    }

    /// The handle of the only breaker that feeds a node, or none.
    pub(super) fn feeder(&self, node: NodeId) -> Option<&'s Handle> {
        match self.poles(node) {
            [pole] => Some(&pole.handle),
            _ => None,
        }
    }
}
