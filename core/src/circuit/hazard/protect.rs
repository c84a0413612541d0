//! Ground-fault devices that always trip, and those that cannot see or cannot open. Found from what metal joins
//! without the device's own sensor: currents only confirm it.

use crate::job::LoadPoint;

use super::super::build::{Circuit, LoadNode, Sensing};
use super::super::connect::{Connectivity, Joined};
use super::super::network::NodeId;
use super::super::point::Step;
use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

/// Why a ground-fault device cannot do what it is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Blind {
    /// It is fed from its load side.
    Exchanged,
    /// The neutral of its line side goes nowhere: its electronics have no supply.
    NoSupply,
    /// A ground contact behind it reaches no ground: the device works, a plug-in tester's button there does not.
    NoGround,
}

/// What metal joins without each sensor, made once for all positions.
pub(super) struct Sensors<'a> {
    each: Vec<(&'a Sensing, Connectivity<'a>)>,
    /// With all of them.
    whole: Connectivity<'a>,
}

impl<'a> Sensors<'a> {
    pub(super) fn new(circuit: &'a Circuit) -> Self {
        let each = circuit.sensors.iter().zip(circuit.ways_of_sensors()).map(|(sensing, (ways, _))| {
            let through: Vec<_> = ways.iter().map(|(id, _)| *id).collect();
            (sensing, Connectivity::new(&circuit.network, &through))
        });
        let each = each.collect();
        Self { each, whole: Connectivity::new(&circuit.network, &[]) }
    }
}

/// What is wrong with protective devices in a position, for the load points that are looked at.
pub(super) fn protect(look: &Look<'_, '_>, notes: &mut Notes) {
    let sensors = &look.scene.sensors;
    if sensors.each.is_empty() {
        return;
    }
    let whole = sensors.whole.at(&look.state);
    let legs: Vec<NodeId> = look.scene.live_legs(&look.state).map(|(_, leg)| leg).collect();
    for (sensing, metal) in &sensors.each {
        if look.state.position(sensing.switch) != sensing.opens {
            let joined = metal.at(&look.state);
            Around { look, sensing, metal, joined, whole: &whole, legs: &legs }.note(notes);
        }
    }
}

/// One device in one position.
struct Around<'p, 's, 'a> {
    look: &'p Look<'s, 'a>,
    sensing: &'p Sensing,
    metal: &'p Connectivity<'p>,
    joined: Joined,
    /// The same with the sensor.
    whole: &'p Joined,
    legs: &'p [NodeId],
}

impl Around<'_, '_, '_> {
    fn note(&self, notes: &mut Notes) {
        let (look, device) = (self.look, self.sensing.handle.device);
        let place = self.sensing.before.first().and_then(|node| self.circuit().box_of(*node));
        let cannot = |why| HazardKind::GfciCannotSee { device, why };
        let nowhere = || (Vec::new(), place);
        if self.fed(&self.sensing.load) && !self.fed(&self.sensing.line) {
            let own = self.loads().filter(|(point, _)| point.device == device);
            let own: Vec<_> = own.map(|(point, _)| point.clone()).collect();
            notes.note(look, cannot(Blind::Exchanged), own, nowhere);
            return;
        }
        let behind: Vec<_> =
            self.loads().filter(|(_, load)| self.is_after(load.from) || self.is_after(load.to)).collect();
        let all = || behind.iter().map(|(point, _)| (*point).clone());
        if let Some((after, goal)) = self.way_round() {
            let kind = HazardKind::GfciAlwaysTrips { device, load: None };
            notes.note(look, kind, all(), || (self.steps(after, goal), place));
        } else {
            let here = self.loads().filter(|(point, _)| look.loads.contains(point));
            for (point, _) in here.filter(|(_, load)| self.goes_one_way(load)) {
                let kind = HazardKind::GfciAlwaysTrips { device, load: Some(point.clone()) };
                notes.note(look, kind, [point.clone()], nowhere);
            }
        }
        if self.lacks_supply() {
            notes.note(look, cannot(Blind::NoSupply), all(), nowhere);
        }
        let bare = |load: &LoadNode| load.ground.is_some_and(|ground| self.reaches_no_ground(ground));
        let bare: Vec<_> = behind.iter().filter(|(_, load)| bare(load)).map(|(point, _)| (*point).clone()).collect();
        if !bare.is_empty() {
            notes.note(look, cannot(Blind::NoGround), bare, nowhere);
        }
    }

    fn circuit(&self) -> &Circuit {
        self.look.scene.circuit
    }

    fn loads(&self) -> impl Iterator<Item = (&LoadPoint, &LoadNode)> {
        self.circuit().loads.iter().filter(|(_, load)| !load.auxiliary)
    }

    fn any(&self, node: NodeId, of: &[NodeId]) -> bool {
        of.iter().any(|other| self.joined.joined(node, *other))
    }

    fn fed(&self, nodes: &[NodeId]) -> bool {
        nodes.iter().any(|node| self.any(*node, self.legs))
    }

    fn is_after(&self, node: NodeId) -> bool {
        self.any(node, &self.sensing.after)
    }

    /// Joined to the side before the sensor, or to a bus.
    fn is_outside(&self, node: NodeId) -> bool {
        self.any(node, &self.sensing.before) || self.any(node, self.legs) || self.any(node, &self.look.scene.neutrals)
    }

    /// One end of the load is behind the sensor, the other is not.
    fn goes_one_way(&self, load: &LoadNode) -> bool {
        let [from, to] = [load.from, load.to].map(|node| (self.is_after(node), self.is_outside(node)));
        matches!((from, to), ((true, false), (false, true)) | ((false, true), (true, false)))
    }

    /// A protected point that metal joins to the side before or to a bus, and that. The bond at the source is metal,
    /// so that a protected neutral on ground is one.
    fn way_round(&self) -> Option<(NodeId, NodeId)> {
        let goals = || self.sensing.before.iter().chain(&self.look.scene.neutrals).chain(self.legs).copied();
        let mut pairs = self.sensing.after.iter().flat_map(|after| goals().map(move |goal| (*after, goal)));
        pairs.find(|(after, goal)| self.joined.joined(*after, *goal))
    }

    fn steps(&self, from: NodeId, to: NodeId) -> Vec<Step> {
        let way = self.metal.path(&self.look.state, from, to);
        way.map(|way| self.circuit().steps(from, &way)).unwrap_or_default()
    }

    /// Its line hot is live, and what its electronics return to reaches neither a bus nor the end of the map.
    fn lacks_supply(&self) -> bool {
        let circuit = self.circuit();
        let Some(supply) = self.sensing.supply.as_ref().and_then(|point| circuit.loads.get(point)) else {
            return false;
        };
        let tied = |node: NodeId| {
            let mut goals = self.legs.iter().chain(&self.look.scene.neutrals).chain(&self.look.scene.unknown);
            goals.any(|goal| self.whole.joined(node, *goal))
        };
        let open = self.sensing.before.iter().any(|node| self.is_at_an_end_of_the_map(*node));
        self.fed(&self.sensing.line) && !open && !(tied(supply.from) && tied(supply.to))
    }

    fn reaches_no_ground(&self, ground: NodeId) -> bool {
        !self.look.is_grounded(ground) && !self.look.is_open(ground) && !self.is_at_an_end_of_the_map(ground)
    }

    /// An end whose place nobody knows is in the same box: it may be what is missing.
    fn is_at_an_end_of_the_map(&self, node: NodeId) -> bool {
        let circuit = self.circuit();
        let place = circuit.box_of(node);
        place.is_some() && self.look.scene.unknown.iter().any(|end| circuit.box_of(*end) == place)
    }
}

#[cfg(test)]
mod tests;
