//! From the wiring of one layer to a network.
//!
//! # What becomes a node
//! Every end of every conductor, every splice, every terminal and lead of every device, the shell of every metal box
//! and housing, every bus of a panel, and the middle of a long conductor.
//!
//! # What becomes an element
//! * A conductor: its resistance by size, metal, length and temperature. A cable also has capacitance between each two
//!   of its conductors, at its ends and, when it is long, in its middle.
//! * An end in its place: a contact. A conductor that passes through a box: its loop.
//! * A device: what is always joined inside, its break-off links, its contacts in each position, its loads. Electronic
//!   loads are switches too: below a voltage they draw nothing.
//! * A panel that nothing feeds: a source behind its impedance, the bond of neutral and ground, the way through earth.
//!
//! # What is not known
//! An end whose place nobody stated, or for which unlike places are noted, is a [`Boundary`]: it is left broken, and
//! everything that depends on it is marked by whoever asks. In a panel the landings of a run whose side names its
//! breaker are taken from the colours, and listed in [`Circuit::taken`] like every other value that nobody noted.
//!
//! # What is metal
//! Only what a person would call a connection counts as metal for connectivity: conductors, joints, contacts. The
//! source's impedance and the earth do not, so that "joined to a bus" means just that. Touching yokes and the bond are
//! metal, but marked, so that a check can leave them out.

mod device;
mod guard;
mod panel;
mod run;
mod supply;

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Catalogue;
use crate::job::value::{SupplyKind, System};
use crate::job::{At, Bus, Handle, Landing, LoadPoint, Note, Place, Spot, ThingId, Tip, Wiring};

use super::network::{ElementId, Network, NetworkError, NodeId, State, SwitchId, Value};
use super::point::{Boundary, Part, Point, Step, Taken, Unknown, Why};
use super::table::{Assumptions, Conductors, TableError};
use super::trip::{TripTable, Ways};

pub use guard::{Breaking, Follower, Sensing};

/// Why there is no circuit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CircuitError {
    /// A table of the program is damaged.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A value could not be taken. Noted values are checked before, so that this is a fault of the program.
    #[error("the circuit could not be worked out ({0}); what is noted is unharmed")]
    Network(#[from] NetworkError),
}

/// A handle, contact set or breaker in the network.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandleNode {
    /// Its switch.
    pub switch: SwitchId,
    /// Names of its positions, in the catalogue's order. With a reversed mapping the last one has the first contacts.
    pub positions: Vec<String>,
    /// Position in which it stands when nobody says otherwise: on for breakers and automatic contacts, else off.
    pub rest: u8,
    /// Not worked by a hand in a trial: sensor, trip, breaker, fuse.
    pub automatic: bool,
    /// Which connections a position takes is known.
    pub mapped: bool,
}

/// A load point in the network.
#[allow(clippy::struct_excessive_bools, reason = "each is a plain property of a load point")]
#[derive(Debug, Clone, PartialEq)]
pub struct LoadNode {
    /// Node that it draws from.
    pub from: NodeId,
    /// Node that it returns to.
    pub to: NodeId,
    /// Its ground contact.
    pub ground: Option<NodeId>,
    /// Rated volts.
    pub volts: f64,
    /// What it draws: none for an outlet with nothing in it.
    pub element: Option<ElementId>,
    /// Something is plugged into it rather than being part of it.
    pub outlet: bool,
    /// It takes a lamp, which may have a filament: cold it has a small part of its resistance.
    pub lamp: bool,
    /// It has a plug: somebody may have pulled it, or switched it off where nobody notes it.
    pub plugged: bool,
    /// A control's own supply: not a load point for people.
    pub auxiliary: bool,
    /// The point that it returns to is a neutral by its make.
    pub to_neutral: bool,
}

/// A panel in the network, or another supply of which it is known where it comes in.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelNode {
    /// What feeds it.
    pub system: System,
    /// Its legs.
    pub legs: Vec<(Bus, NodeId)>,
    /// Its neutral bar.
    pub neutral: NodeId,
    /// Its ground bar.
    pub ground: NodeId,
    /// Source nodes in the order of the legs; empty if it is fed from another panel.
    pub supplies: Vec<NodeId>,
    /// Not a panel but another supply, of this kind where it is noted. Its ground bus is joined to no earth.
    pub other: Option<Option<SupplyKind>>,
}

/// One pole of a breaker or fuse, or one leg of another supply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pole {
    /// The breaker.
    pub breaker: ThingId,
    /// Its handle.
    pub handle: Handle,
    /// The panel and bus that it takes from.
    pub leg: (ThingId, Bus),
    /// Node on the load side.
    pub load: NodeId,
    /// The contact.
    pub element: ElementId,
}

/// An electronic load: a switch that its own voltage works.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Electronic {
    pub(super) switch: SwitchId,
    pub(super) from: NodeId,
    pub(super) to: NodeId,
    pub(super) stops_below_volts: f64,
}

/// A circuit: the network of one layer's wiring, with what each node and element is.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// The network.
    pub network: Network,
    /// The values that were taken.
    pub assumptions: Assumptions,
    /// Handles and contact sets.
    pub handles: BTreeMap<Handle, HandleNode>,
    /// Load points, auxiliary ones too.
    pub loads: BTreeMap<LoadPoint, LoadNode>,
    /// Panels.
    pub panels: BTreeMap<ThingId, PanelNode>,
    /// Poles of breakers and fuses.
    pub poles: Vec<Pole>,
    /// Places where the map ends, each with its nodes.
    pub boundaries: BTreeMap<Boundary, Vec<NodeId>>,
    /// What was taken for so.
    pub taken: BTreeSet<Taken>,
    /// Ends that are free and bare.
    pub loose: Vec<Tip>,
    /// Ground contacts, shells and housings, each with its node.
    pub grounds: BTreeMap<Spot, NodeId>,
    /// Equipment grounding conductors, by run and wire.
    pub ground_wires: BTreeSet<(ThingId, u8)>,
    /// Runs whose conductors may lie apart: single conductors in the open.
    pub open_runs: BTreeSet<ThingId>,
    /// Runs with a side in a panel.
    pub panel_runs: BTreeMap<ThingId, ThingId>,
    /// When protective devices and controls act.
    pub trip_table: TripTable,
    /// Devices that open on a difference of currents.
    pub sensors: Vec<Sensing>,
    /// Handles of breakers, and fuses.
    pub breakers: Vec<Breaking>,
    /// Contact sets that a load of their own device drives.
    pub followers: Vec<Follower>,
    pub(super) ways: Ways,
    /// Runs of which a side names its breaker, with that breaker.
    pub feeds: BTreeMap<ThingId, ThingId>,
    pub(super) electronic: Vec<Electronic>,
    pub(super) points: Vec<Point>,
    pub(super) nodes: BTreeMap<Point, NodeId>,
    pub(super) boxes: Vec<Option<ThingId>>,
    pub(super) parts: Vec<Part>,
}

impl Circuit {
    /// Builds the network of a layer's wiring with the values that came with the program.
    ///
    /// # Errors
    /// See [`CircuitError`].
    pub fn of(wiring: &Wiring, catalogue: &Catalogue) -> Result<Self, CircuitError> {
        Self::with(wiring, catalogue, Assumptions::standard()?)
    }

    /// The same with other assumptions.
    ///
    /// # Errors
    /// See [`CircuitError`].
    pub fn with(wiring: &Wiring, catalogue: &Catalogue, assumptions: &Assumptions) -> Result<Self, CircuitError> {
        let conductors = Conductors::standard()?;
        let hertz = if wiring.boxes.values().any(|b| b.system.get() == Some(&System::Single230)) { 50.0 } else { 60.0 };
        let network = Network::new(hertz, assumptions.leak.value)?;
        let circuit = Self {
            network,
            assumptions: assumptions.clone(),
            handles: BTreeMap::new(),
            loads: BTreeMap::new(),
            panels: BTreeMap::new(),
            poles: Vec::new(),
            boundaries: BTreeMap::new(),
            taken: BTreeSet::new(),
            loose: Vec::new(),
            grounds: BTreeMap::new(),
            ground_wires: BTreeSet::new(),
            open_runs: BTreeSet::new(),
            panel_runs: BTreeMap::new(),
            trip_table: TripTable::standard()?.clone(),
            sensors: Vec::new(),
            breakers: Vec::new(),
            followers: Vec::new(),
            ways: Ways::default(),
            feeds: BTreeMap::new(),
            electronic: Vec::new(),
            // The reference is the centre of the source.
            points: vec![Point::Earth],
            nodes: BTreeMap::new(),
            boxes: vec![None],
            parts: Vec::new(),
        };
        let mut builder = Builder { wiring, catalogue, conductors, circuit };
        builder.panels()?;
        builder.supplies()?;
        builder.shells();
        builder.devices()?;
        builder.runs()?;
        builder.places()?;
        builder.plugs()?;
        builder.guards();
        Ok(builder.circuit)
    }

    /// The node of a spot, if it is part of the circuit.
    pub fn node(&self, spot: &Spot) -> Option<NodeId> {
        self.nodes.get(&Point::Spot(spot.clone())).copied()
    }

    /// What a node is.
    pub fn point(&self, node: NodeId) -> &Point {
        self.points.get(node.index()).unwrap_or(&Point::Earth)
    }

    /// What an element is.
    pub fn part(&self, element: ElementId) -> &Part {
        self.parts.get(element.index()).unwrap_or(&Part::Guess)
    }

    /// The box that a node is in.
    pub fn box_of(&self, node: NodeId) -> Option<ThingId> {
        self.boxes.get(node.index()).copied().flatten()
    }

    /// Nodes with what they are.
    pub fn points(&self) -> impl Iterator<Item = (NodeId, &Point)> + '_ {
        self.network.nodes().zip(&self.points).skip(1)
    }

    /// Elements of which `is` holds.
    pub fn elements_where(&self, is: impl Fn(&Part) -> bool) -> Vec<ElementId> {
        (0u32..).zip(&self.parts).filter(|(_, part)| is(part)).map(|(n, _)| ElementId(n)).collect()
    }

    /// Every handle where it stands when nobody says otherwise.
    pub fn rest(&self) -> State {
        self.handles.values().fold(self.network.first_state(), |state, handle| state.with(handle.switch, handle.rest))
    }

    /// A state with handles in named positions. A name that the handle does not have is left out.
    pub fn state(&self, at: &[At], rest: State) -> State {
        at.iter().fold(rest, |state, at| {
            let Some(handle) = self.handles.get(&at.handle) else { return state };
            let place = handle.positions.iter().position(|name| *name == at.position);
            match place.and_then(|place| u8::try_from(place).ok()) {
                Some(position) => state.with(handle.switch, position),
                None => state,
            }
        })
    }

    /// The named position of a handle in a state.
    pub fn at(&self, handle: &Handle, state: &State) -> Option<At> {
        let node = self.handles.get(handle)?;
        let position = node.positions.get(usize::from(state.position(node.switch)))?.clone();
        Some(At { handle: handle.clone(), position })
    }

    /// A path of elements as steps between points, the two halves of a long conductor as one.
    pub fn steps(&self, from: NodeId, elements: &[ElementId]) -> Vec<Step> {
        let mut steps: Vec<Step> = Vec::new();
        let mut at = from;
        for id in elements {
            let Some(element) = self.network.element(*id) else { continue };
            let next = element.other(at);
            let (part, to) = (self.part(*id).clone(), self.point(next).clone());
            match steps.last_mut() {
                Some(last) if last.part == part && matches!(last.to, Point::Middle { .. }) => last.to = to,
                _ => steps.push(Step { from: self.point(at).clone(), part, to }),
            }
            at = next;
        }
        steps
    }
}

/// A circuit under construction.
struct Builder<'a> {
    wiring: &'a Wiring,
    catalogue: &'a Catalogue,
    conductors: &'a Conductors,
    circuit: Circuit,
}

impl Builder<'_> {
    /// The node of a point, made if it is new.
    fn node(&mut self, point: Point) -> NodeId {
        if let Some(node) = self.circuit.nodes.get(&point) {
            return *node;
        }
        let node = self.circuit.network.node();
        self.keep(point, node);
        node
    }

    fn keep(&mut self, point: Point, node: NodeId) {
        let place = self.place_of(&point);
        self.circuit.nodes.insert(point.clone(), node);
        self.circuit.points.push(point);
        self.circuit.boxes.push(place);
    }

    fn place_of(&self, point: &Point) -> Option<ThingId> {
        let in_box = |device: &ThingId| {
            let note = self.wiring.devices.get(device)?;
            // A plugged-in load is where its outlet is.
            let outlet = note.plugged_into.get().and_then(Option::as_ref);
            let holder = outlet.and_then(|outlet| self.wiring.devices.get(&outlet.device)).unwrap_or(note);
            holder.in_box.get().copied().flatten()
        };
        match point.spot()? {
            Spot::Tip(tip) => self.wiring.box_of(tip),
            Spot::Splice(splice) => self.wiring.splices.get(splice)?.in_box.get().copied().flatten(),
            Spot::Terminal { device, .. } => in_box(device),
            Spot::Shell(id) if self.wiring.boxes.contains_key(id) => Some(*id),
            Spot::Shell(id) => in_box(id),
            Spot::Bus { panel, .. } => Some(*panel),
            Spot::Other(_) => None,
        }
    }

    /// An element with what it is.
    fn join(&mut self, from: NodeId, to: NodeId, value: Value, part: Part) -> Result<Option<ElementId>, CircuitError> {
        if from == to {
            return Ok(None);
        }
        let id = self.circuit.network.connect(from, to, value)?;
        self.circuit.parts.push(part);
        Ok(Some(id))
    }

    fn metal(&mut self, from: NodeId, to: NodeId, ohms: f64, part: Part) -> Result<(), CircuitError> {
        self.join(from, to, Value::Metal { ohms }, part).map(|_| ())
    }

    fn unknown(&mut self, of: Unknown, why: Why, nodes: Vec<NodeId>) {
        self.circuit.boundaries.entry(Boundary { of, why }).or_default().extend(nodes);
    }

    /// A node for the shell of every metal box.
    fn shells(&mut self) {
        for (id, note) in &self.wiring.boxes {
            let kind = note.kind.get().and_then(|kind| self.catalogue.box_type(kind));
            if kind.is_some_and(|kind| kind.metal && !kind.panel) {
                let node = self.node(Point::Spot(Spot::Shell(*id)));
                self.circuit.grounds.insert(Spot::Shell(*id), node);
            }
        }
    }

    /// Puts every end where it is noted.
    fn places(&mut self) -> Result<(), CircuitError> {
        let tips: Vec<Tip> = self
            .circuit
            .nodes
            .keys()
            .filter_map(|point| match point {
                Point::Spot(Spot::Tip(tip)) => Some(tip.clone()),
                _ => None,
            })
            .collect();
        for tip in tips {
            self.put(&tip)?;
        }
        Ok(())
    }

    fn put(&mut self, tip: &Tip) -> Result<(), CircuitError> {
        let end = self.node(Point::tip(tip));
        let noted = self.wiring.tips.get(tip);
        if let Some(place) = noted.and_then(|noted| noted.place.get()) {
            return match self.seat(tip, end, place)? {
                Some(why) => {
                    self.unknown(Unknown::Tip(tip.clone()), why, vec![end]);
                    Ok(())
                }
                None => Ok(()),
            };
        }
        let why = if noted.is_some_and(|noted| noted.place.is_twice()) { Why::Twice } else { Why::NotSaid };
        let landing = if why == Why::NotSaid { self.landing_by_colour(tip) } else { None };
        if let Some(spot) = landing {
            return self.land(tip, end, spot);
        }
        // The other end of a loop said where this one goes on.
        let told = self.wiring.tips.values().any(|note| note.place.get() == Some(&Place::Through(tip.clone())));
        if why == Why::Twice || !told {
            self.unknown(Unknown::Tip(tip.clone()), why, vec![end]);
        }
        Ok(())
    }

    /// Joins an end to what it is noted to be in or on. Gives why it cannot, where the place is not one.
    fn seat(&mut self, tip: &Tip, end: NodeId, place: &Place) -> Result<Option<Why>, CircuitError> {
        let a = &self.circuit.assumptions;
        let (contact, push_in) = (a.splice_contact.value, a.push_in_contact.value);
        let (strap, shell) = (a.device_strap.value, a.shell_contact.value);
        let joint = Part::Joint(tip.clone());
        let known = |point: Point| self.circuit.nodes.get(&point).copied();
        let (to, ohms, part) = match place {
            Place::Splice(splice) if self.wiring.splices.contains_key(splice) => {
                (Some(self.node(Point::Spot(Spot::Splice(*splice)))), contact, joint)
            }
            Place::Terminal { device, terminal, landing } => {
                let ohms = if *landing == Landing::PushIn { push_in } else { contact };
                (known(Point::terminal(*device, terminal)), ohms, joint)
            }
            Place::Shell(id) if self.wiring.boxes.contains_key(id) || self.wiring.devices.contains_key(id) => {
                let spot = Spot::Shell(*id);
                let at = self.node(Point::Spot(spot.clone()));
                self.circuit.grounds.entry(spot).or_insert(at);
                (Some(at), shell, joint)
            }
            Place::Bus { panel, bus } => (known(Point::bus(*panel, *bus)), contact, joint),
            // Both ends may say that they go on as the other: one loop of conductor, not two.
            Place::Through(other) => match self.wiring.tips.get(other).map(|note| &note.place) {
                // Both ends may say that they go on as the other: one loop of conductor, not two.
                Some(Note::Said(Place::Through(back), _)) if back == tip && other < tip => return Ok(None),
                // The other end is said to be elsewhere: nothing is claimed across it.
                Some(Note::Said(said, _)) if *said != Place::Through(tip.clone()) => return Ok(Some(Why::Twice)),
                Some(Note::Twice(_)) => return Ok(Some(Why::Twice)),
                _ => (known(Point::tip(other)), strap, Part::Through(tip.clone())),
            },
            Place::SomewhereOn(device) => return Ok(Some(Why::SomewhereOn(*device))),
            Place::Capped | Place::Absent => return Ok(None),
            Place::Loose => {
                self.circuit.loose.push(tip.clone());
                return Ok(None);
            }
            Place::Splice(_) | Place::Shell(_) => (None, contact, joint),
        };
        let Some(to) = to else { return Ok(Some(Why::NotThere)) };
        self.metal(end, to, ohms, part)?;
        Ok(None)
    }

    fn land(&mut self, tip: &Tip, node: NodeId, spot: Spot) -> Result<(), CircuitError> {
        let at = self.node(Point::Spot(spot.clone()));
        self.circuit.taken.insert(Taken::Landing { tip: tip.clone(), at: spot });
        let ohms = self.circuit.assumptions.splice_contact.value;
        self.metal(node, at, ohms, Part::Joint(tip.clone()))
    }
}
