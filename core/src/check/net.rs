//! What is connected with what, by connectivity alone: no volts, no roles. Ends, splices, terminals and housings are
//! nodes; conductors, places, links and contacts are edges. A panel's bars are where it stops, because every circuit
//! meets there.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::{Catalogue, DeviceGroup, DeviceType, PointForm, Role};
use crate::job::{
    Bus, Colour, Conductor, Field, FieldKind, Handle, Happening, Notes, Place, Side, Stamp, Subject, ThingId, Tip,
    Wiring,
};

/// A piece of metal that can be touched or that something is fixed to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Node {
    Tip(Tip),
    Splice(ThingId),
    Point(ThingId, String),
    Shell(ThingId),
    Bus(ThingId, Bus),
}

/// What an edge is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Via {
    /// A conductor of a run from box to box.
    Run,
    /// A pigtail or jumper inside one box.
    Inside,
    /// An end in its place.
    Place,
    /// A conductor that goes through a box unspliced.
    Through,
    /// Joined inside a device: a link that is whole, a lead, a bar.
    Device(ThingId),
    /// An end somewhere on a device: perhaps on this point.
    Maybe,
    /// A contact of a device, made in one position of one of the net's turns.
    Contact { device: ThingId, turn: usize, position: usize },
}

/// A handle or contact set, and whether a hand may turn it during a check.
#[derive(Debug, Clone)]
pub(crate) struct Turn {
    pub(crate) handle: Handle,
    pub(crate) positions: Vec<String>,
    pub(crate) by_hand: bool,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct Edge {
    pub(crate) a: usize,
    pub(crate) b: usize,
    pub(crate) via: Via,
}

/// The net of one wiring.
#[derive(Debug)]
pub(crate) struct Net<'a> {
    pub(crate) wiring: &'a Wiring,
    pub(crate) catalogue: &'a Catalogue,
    index: BTreeMap<Node, usize>,
    nodes: Vec<Node>,
    edges: Vec<Edge>,
    next: Vec<Vec<usize>>,
    pub(crate) turns: Vec<Turn>,
    /// Load sides of breakers and fuses, and ends on other supplies: where a source enters the net.
    feeds: BTreeMap<usize, ThingId>,
    /// Ends of splices that were parted and not made up again since.
    pub(crate) parted: BTreeMap<Tip, ThingId>,
    /// Conductors of each run, by number.
    wires: BTreeMap<ThingId, BTreeSet<u8>>,
}

impl<'a> Net<'a> {
    pub(crate) fn new(notes: &Notes, wiring: &'a Wiring, catalogue: &'a Catalogue) -> Self {
        let mut net = Self {
            wiring,
            catalogue,
            index: BTreeMap::new(),
            nodes: Vec::new(),
            edges: Vec::new(),
            next: Vec::new(),
            turns: Vec::new(),
            feeds: BTreeMap::new(),
            parted: parted(notes, wiring),
            wires: wiring.runs.keys().map(|run| (*run, wires(wiring, catalogue, *run))).collect(),
        };
        for device in wiring.devices.keys() {
            net.add_device(*device);
        }
        for run in wiring.runs.keys() {
            net.add_run(*run);
        }
        for tip in wiring.tips.keys() {
            net.add_place(tip);
        }
        for id in wiring.boxes.keys().filter(|id| net.is_metal(**id)).copied().collect::<Vec<_>>() {
            net.node(Node::Shell(id)); // there to be touched, whether or not anything is fixed to it
        }
        net
    }

    fn node(&mut self, node: Node) -> usize {
        let next = self.nodes.len();
        let place = *self.index.entry(node.clone()).or_insert(next);
        if place == next {
            self.nodes.push(node);
            self.next.push(Vec::new());
        }
        place
    }

    fn join(&mut self, a: Node, b: Node, via: Via) {
        let (a, b) = (self.node(a), self.node(b));
        let edge = self.edges.len();
        self.edges.push(Edge { a, b, via });
        for end in [a, b] {
            if let Some(next) = self.next.get_mut(end) {
                next.push(edge);
            }
        }
    }

    fn add_device(&mut self, id: ThingId) {
        let (wiring, catalogue) = (self.wiring, self.catalogue);
        let Some(kind) = wiring.devices.get(&id).and_then(|note| catalogue.device(note.kind.get()?)) else { return };
        let point = |name: &str| Node::Point(id, name.to_owned());
        let source = is_source(kind);
        for one in &kind.points {
            let node = self.node(point(&one.id));
            if one.form == PointForm::Lead {
                self.join(Node::Tip(Tip::Lead { device: id, lead: one.id.clone() }), point(&one.id), Via::Device(id));
            }
            let returns = matches!(one.role, Role::Neutral | Role::NeutralLoad | Role::Ground);
            if source && one.form != PointForm::Stab && !returns {
                self.feeds.insert(node, id);
            }
        }
        for (a, b) in &kind.joined {
            self.join(point(a), point(b), Via::Device(id));
        }
        let broken = |link: &str| {
            wiring.devices.get(&id).and_then(|note| note.links.get(link)?.get().copied()).is_some_and(|whole| !whole)
        };
        for (link, a, b) in &kind.links {
            if !broken(link) {
                self.join(point(a), point(b), Via::Device(id));
            }
        }
        if source {
            return; // what is before a breaker is the panel's bus, which is always live
        }
        for switch in &kind.switches {
            let turn = self.turns.len();
            self.turns.push(Turn {
                handle: Handle { device: id, switch: switch.id.clone() },
                positions: switch.positions.iter().map(|position| position.id.clone()).collect(),
                by_hand: !switch.automatic && kind.group != DeviceGroup::Overcurrent,
            });
            for (position, one) in switch.positions.iter().enumerate() {
                for (a, b) in &one.connects {
                    self.join(point(a), point(b), Via::Contact { device: id, turn, position });
                }
            }
        }
    }

    fn add_run(&mut self, run: ThingId) {
        let Some(note) = self.wiring.runs.get(&run) else { return };
        let via = if note.is_inside() { Via::Inside } else { Via::Run };
        for wire in self.wires(run) {
            let tip = |side| Node::Tip(Tip::Wire { run, wire, side });
            self.join(tip(Side::Near), tip(Side::Far), via);
        }
        // At a panel the landings are assumed by colour until someone notes them.
        for side in Side::BOTH {
            let Some(breaker) = note.side(side).feed.get().copied() else { continue };
            let loads: Vec<usize> = self.feeds.iter().filter(|(_, id)| **id == breaker).map(|(n, _)| *n).collect();
            for wire in self.wires(run) {
                let tip = Tip::Wire { run, wire, side };
                if self.wiring.place(&tip).is_some() || self.grounds(&tip) || self.is_white(&tip) {
                    continue;
                }
                for load in &loads {
                    if let Some(node) = self.nodes.get(*load).cloned() {
                        self.join(Node::Tip(tip.clone()), node, Via::Place);
                    }
                }
            }
        }
    }

    fn add_place(&mut self, tip: &Tip) {
        let Some(place) = self.wiring.place(tip) else { return };
        let here = Node::Tip(tip.clone());
        match place {
            Place::Splice(_) if self.parted.contains_key(tip) => {}
            Place::Splice(id) => self.join(here, Node::Splice(*id), Via::Place),
            Place::Terminal { device, terminal, .. } => {
                self.join(here, Node::Point(*device, terminal.clone()), Via::Place);
            }
            Place::SomewhereOn(device) => {
                // On which terminal is not known: it may be any that is not for the ground.
                let kind = self.kind(*device);
                let points = kind.into_iter().flat_map(|kind| &kind.points);
                let points: Vec<_> = points.filter(|point| point.role != Role::Ground).collect();
                for point in points {
                    self.join(here.clone(), Node::Point(*device, point.id.clone()), Via::Maybe);
                }
            }
            Place::Shell(id) => self.join(here, Node::Shell(*id), Via::Place),
            Place::Bus { panel, bus } => {
                // Where a conductor of another supply is noted to come from, it enters.
                let live = matches!(bus, Bus::A | Bus::B | Bus::C);
                if live && self.wiring.supplies.contains_key(panel) {
                    let end = self.node(here.clone());
                    self.feeds.insert(end, *panel);
                }
                self.join(here, Node::Bus(*panel, *bus), Via::Place);
            }
            Place::Through(other) => self.join(here, Node::Tip(other.clone()), Via::Through),
            Place::Capped | Place::Loose | Place::Absent => {}
        }
    }

    /// It is noted on which conductors another supply comes in.
    pub(crate) fn comes_in(&self, supply: ThingId) -> bool {
        self.feeds.values().any(|source| *source == supply)
    }

    /// A device's kind, if it is noted and known.
    pub(crate) fn kind(&self, device: ThingId) -> Option<&'a DeviceType> {
        self.catalogue.device(self.wiring.devices.get(&device)?.kind.get()?)
    }

    /// The conductors of a run, by number.
    pub(crate) fn wires(&self, run: ThingId) -> BTreeSet<u8> {
        self.wires.get(&run).cloned().unwrap_or_default()
    }

    /// A conductor as noted, or as its run's kind brings it.
    pub(crate) fn conductor(&self, run: ThingId, wire: u8) -> Option<&Conductor> {
        let note = self.wiring.runs.get(&run)?;
        let own = note.wires.get(&wire).and_then(|wire| wire.get());
        own.or_else(|| self.catalogue.run(note.kind.get()?)?.wires.get(usize::from(wire)))
    }

    /// The colour of an end as it is seen.
    pub(crate) fn colour(&self, tip: &Tip) -> Option<Colour> {
        let own = self.wiring.tips.get(tip).and_then(|note| note.colour.get().copied());
        own.or_else(|| match tip {
            Tip::Wire { run, wire, .. } => self.conductor(*run, *wire).map(|conductor| conductor.colour),
            Tip::Lead { device, lead } => self.kind(*device)?.point(lead)?.colour,
        })
    }

    /// An equipment grounding conductor by its make.
    pub(crate) fn grounds(&self, tip: &Tip) -> bool {
        match tip {
            Tip::Wire { run, wire, .. } => {
                let made = self.conductor(*run, *wire).is_some_and(|conductor| conductor.ground);
                made || matches!(self.colour(tip), Some(Colour::Bare | Colour::Green | Colour::GreenYellow))
            }
            Tip::Lead { device, lead } => self.role(*device, lead) == Some(Role::Ground),
        }
    }

    /// White or gray and not re-marked, or a device's neutral lead. Evidence, not fact.
    pub(crate) fn is_white(&self, tip: &Tip) -> bool {
        if let Tip::Lead { device, lead } = tip {
            return matches!(self.role(*device, lead), Some(Role::Neutral | Role::NeutralLoad));
        }
        let remarked = self.wiring.tips.get(tip).and_then(|note| note.remarked.get().copied().flatten());
        let white = |colour| matches!(colour, Colour::White | Colour::Gray);
        self.colour(tip).is_some_and(white) && remarked.is_none_or(white)
    }

    /// What a point of a device is for.
    pub(crate) fn role(&self, device: ThingId, point: &str) -> Option<Role> {
        Some(self.kind(device)?.point(point)?.role)
    }

    /// How many nodes there are.
    pub(crate) fn len(&self) -> usize {
        self.nodes.len()
    }

    pub(crate) fn at(&self, node: &Node) -> Option<usize> {
        self.index.get(node).copied()
    }

    pub(crate) fn name(&self, node: usize) -> Option<&Node> {
        self.nodes.get(node)
    }

    /// The load side of a breaker or fuse, or an end on another supply.
    pub(crate) fn is_feed(&self, node: usize) -> bool {
        self.feeds.contains_key(&node)
    }

    /// The edges of a node.
    pub(crate) fn edges_at(&self, node: usize) -> impl Iterator<Item = (usize, &Edge)> {
        let edges = self.next.get(node).into_iter().flatten().filter_map(|edge| self.edges.get(*edge));
        edges.map(move |edge| (if edge.a == node { edge.b } else { edge.a }, edge))
    }

    /// Everything that `from` reaches over edges that conduct. A panel's bars are reached but not left again.
    pub(crate) fn reach(
        &self,
        from: impl IntoIterator<Item = usize>,
        conducts: impl Fn(&Edge) -> bool,
    ) -> BTreeSet<usize> {
        let mut found: BTreeSet<usize> = from.into_iter().collect();
        let mut open: Vec<usize> = found.iter().copied().collect();
        while let Some(node) = open.pop() {
            if matches!(self.name(node), Some(Node::Bus(..))) {
                continue;
            }
            for (next, edge) in self.edges_at(node) {
                if conducts(edge) && found.insert(next) {
                    open.push(next);
                }
            }
        }
        found
    }

    /// The breakers and fuses whose load sides are among `nodes`.
    pub(crate) fn sources_in(&self, nodes: &BTreeSet<usize>) -> BTreeSet<ThingId> {
        nodes.iter().filter_map(|node| self.feeds.get(node).copied()).collect()
    }

    /// The box that a node is in.
    pub(crate) fn box_of(&self, node: usize) -> Option<ThingId> {
        match self.name(node)? {
            Node::Tip(tip) => self.wiring.box_of(tip),
            Node::Splice(id) => self.wiring.splices.get(id)?.in_box.get().copied().flatten(),
            Node::Point(id, _) => self.wiring.devices.get(id)?.in_box.get().copied().flatten(),
            Node::Shell(id) | Node::Bus(id, _) => Some(*id),
        }
    }

    /// A box that has buses.
    pub(crate) fn is_panel(&self, id: ThingId) -> bool {
        let Some(note) = self.wiring.boxes.get(&id) else { return false };
        let kind = note.kind.get().and_then(|kind| self.catalogue.box_type(kind));
        note.system.is_said() || kind.is_some_and(|kind| kind.panel)
    }

    /// A box that conducts.
    pub(crate) fn is_metal(&self, id: ThingId) -> bool {
        let kind = self.wiring.boxes.get(&id).and_then(|note| self.catalogue.box_type(note.kind.get()?));
        kind.is_some_and(|kind| kind.metal)
    }
}

/// The conductors of a run, by number: of its kind, noted one by one, or noted by an end.
fn wires(wiring: &Wiring, catalogue: &Catalogue, run: ThingId) -> BTreeSet<u8> {
    let Some(note) = wiring.runs.get(&run) else { return BTreeSet::new() };
    let mut wires: BTreeSet<u8> = note.wires.keys().copied().collect();
    let kind = note.kind.get().and_then(|kind| catalogue.run(kind));
    wires.extend((0..).zip(kind.into_iter().flat_map(|kind| &kind.wires)).map(|(n, _)| n));
    for side in Side::BOTH {
        let (first, last) = (Tip::Wire { run, wire: 0, side }, Tip::Wire { run, wire: u8::MAX, side });
        wires.extend(wiring.tips.range(first..=last).filter_map(|(tip, _)| match tip {
            Tip::Wire { wire, side: at, .. } if *at == side => Some(*wire),
            _ => None,
        }));
    }
    wires
}

/// A breaker or fuse that sits on a panel's bus.
pub(crate) fn is_source(kind: &DeviceType) -> bool {
    kind.group == DeviceGroup::Overcurrent && kind.points.iter().any(|point| point.form == PointForm::Stab)
}

/// When an end's place was last said.
fn placed(notes: &Notes, wiring: &Wiring, tip: &Tip) -> Option<Stamp> {
    let basis = wiring.tips.get(tip)?.place.basis()?;
    let field = Field::from(FieldKind::Place);
    let said = notes.current(&Subject::Tip(tip.clone()), &field, basis.layer);
    said.iter().filter_map(|said| notes.stamp_of(&said.fact.entry)).max()
}

/// When a splice's connector was last said, in any layer that the wiring looks through to.
fn connected(notes: &Notes, wiring: &Wiring, splice: ThingId) -> Option<Stamp> {
    let field = Field::from(FieldKind::Type);
    let said = notes.through(wiring.layer).into_iter();
    let said = said.flat_map(|layer| notes.current(&Subject::Thing(splice), &field, layer));
    said.filter_map(|said| notes.stamp_of(&said.fact.entry)).max()
}

/// Ends whose splice was parted after they were said to be in it, and was not made up again with a connector since.
fn parted(notes: &Notes, wiring: &Wiring) -> BTreeMap<Tip, ThingId> {
    let mut last: BTreeMap<ThingId, Stamp> = BTreeMap::new();
    for happened in notes.happened() {
        if let (Happening::Parted, Subject::Thing(splice)) = (&happened.what, &happened.of) {
            last.insert(*splice, happened.stamp);
        }
    }
    let mut parted = BTreeMap::new();
    for (splice, when) in last {
        if connected(notes, wiring, splice).is_some_and(|said| said > when) {
            continue;
        }
        for tip in wiring.ends_in(splice) {
            if placed(notes, wiring, tip).is_some_and(|said| said < when) {
                parted.insert(tip.clone(), splice);
            }
        }
    }
    parted
}
