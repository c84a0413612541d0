//! Which ends are one piece of metal, and over which contacts pieces meet: the circuit's network read without volts.
//!
//! A piece is whatever is joined in every position of every switch. The contacts of breakers part it from the panel's
//! buses; those of protective devices do not part it, because a device that has tripped is no way of switching.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::catalogue::{Catalogue, DeviceGroup, DeviceType, Role as Made};
use crate::circuit::{Circuit, Element, NodeId, Part};
use crate::job::{Bus, Handle, LoadPoint, Spot, ThingId, Tip, Wiring};

/// What meets a node.
#[derive(Debug, Clone, Copy)]
enum Edge {
    /// Joined in every position.
    Joined(usize),
    /// Joined in some positions of a handle.
    Contact(usize),
}

/// A load's point in a piece.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Drawn {
    pub(super) load: LoadPoint,
    pub(super) node: usize,
}

/// One piece of metal.
#[derive(Debug, Clone, Default)]
pub(super) struct Piece {
    /// Breakers and other supplies whose load side is in it.
    pub(super) sources: BTreeSet<ThingId>,
    /// A neutral bar is in it.
    pub(super) neutral: bool,
    /// A ground bar is in it.
    pub(super) ground: bool,
    /// Ends in it.
    pub(super) tips: Vec<Tip>,
    /// Terminals and inner sides of leads in it, with what they are made for.
    pub(super) points: Vec<(ThingId, String, Made)>,
    /// The metal of boxes and housings is in it.
    pub(super) shells: BTreeSet<ThingId>,
    /// Load points that draw from it; the supplies of controls left out.
    pub(super) loads: BTreeSet<Drawn>,
    /// Load points that return to it by a point that is made for a neutral.
    pub(super) returns: BTreeSet<LoadPoint>,
}

impl Piece {
    /// It has points, and all that are not the ground's own are made for this.
    pub(super) fn only(&self, is: impl Fn(Made) -> bool) -> bool {
        !self.points.is_empty() && self.points.iter().all(|(_, _, made)| is(*made))
    }

    pub(super) fn any(&self, is: impl Fn(Made) -> bool) -> bool {
        self.points.iter().any(|(_, _, made)| is(*made))
    }
}

/// How far each node is from where the power comes in, and from what.
#[derive(Debug, Clone, Default)]
pub(super) struct Reach {
    steps: BTreeMap<usize, (u32, ThingId)>,
}

impl Reach {
    pub(super) fn steps(&self, node: usize) -> Option<u32> {
        self.steps.get(&node).map(|(steps, _)| *steps)
    }

    pub(super) fn source(&self, node: usize) -> Option<ThingId> {
        self.steps.get(&node).map(|(_, source)| *source)
    }
}

/// The pieces of a wiring.
#[derive(Debug)]
pub(super) struct Web<'a> {
    pub(super) wiring: &'a Wiring,
    pub(super) catalogue: &'a Catalogue,
    edges: Vec<Vec<Edge>>,
    /// Contacts of switches and controls, each with its two nodes.
    contacts: Vec<(usize, usize, Handle)>,
    piece_of: Vec<usize>,
    pub(super) pieces: Vec<Piece>,
    nodes: BTreeMap<Tip, usize>,
    /// Load sides of breakers, legs of other supplies.
    feeds: Vec<(usize, ThingId)>,
    /// Neutral bars, each with its panel.
    bars: Vec<(usize, ThingId)>,
}

fn kind<'a>(wiring: &Wiring, catalogue: &'a Catalogue, device: ThingId) -> Option<&'a DeviceType> {
    catalogue.device(wiring.devices.get(&device)?.kind.get()?)
}

impl<'a> Web<'a> {
    /// The pieces of a wiring; nothing where the program's own tables are damaged.
    pub(super) fn of(wiring: &'a Wiring, catalogue: &'a Catalogue) -> Option<Self> {
        let circuit = Circuit::of(wiring, catalogue).ok()?;
        let count = circuit.network.node_count();
        let mut web = Self {
            wiring,
            catalogue,
            edges: vec![Vec::new(); count],
            contacts: Vec::new(),
            piece_of: vec![usize::MAX; count],
            pieces: Vec::new(),
            nodes: BTreeMap::new(),
            feeds: circuit.poles.iter().map(|pole| (pole.load.index(), pole.breaker)).collect(),
            bars: circuit.panels.iter().map(|(id, panel)| (panel.neutral.index(), *id)).collect(),
        };
        for id in circuit.elements_where(|_| true) {
            if let Some(element) = circuit.network.element(id).filter(|element| element.value.connects()) {
                web.edge(&circuit, element, circuit.part(id));
            }
        }
        let nodes: Vec<NodeId> = circuit.points().map(|(node, _)| node).collect();
        for node in &nodes {
            web.gather(node.index());
        }
        for node in nodes {
            web.describe(&circuit, node);
        }
        web.draw(&circuit);
        Some(web)
    }

    fn edge(&mut self, circuit: &Circuit, element: &Element, part: &Part) {
        let (a, b) = (element.from.index(), element.to.index());
        let handle = match part {
            // What touches by its make, the bond and the metal around conductors tell nothing of what a conductor does.
            Part::Yoke(_) | Part::Bond(_) | Part::Sheath(_) | Part::Source(_) | Part::Earth => return,
            // Beyond a breaker is the panel's bus, where every circuit meets.
            Part::Contact(handle) if circuit.poles.iter().any(|pole| pole.handle == *handle) => return,
            Part::Contact(handle) if !self.holds(handle.device) => Some(handle.clone()),
            _ => None,
        };
        let contact = handle.is_some();
        self.contacts.extend(handle.map(|handle| (a, b, handle)));
        for (from, to) in [(a, b), (b, a)] {
            let edge = if contact { Edge::Contact(to) } else { Edge::Joined(to) };
            if let Some(edges) = self.edges.get_mut(from) {
                edges.push(edge);
            }
        }
    }

    /// A device whose contacts stand as set while it is used: protective ones and disconnects.
    fn holds(&self, device: ThingId) -> bool {
        let group = kind(self.wiring, self.catalogue, device).map(|kind| kind.group);
        matches!(group, Some(DeviceGroup::Protective | DeviceGroup::Overcurrent))
    }

    fn gather(&mut self, start: usize) {
        if self.piece_of.get(start).is_none_or(|piece| *piece != usize::MAX) {
            return;
        }
        let number = self.pieces.len();
        self.pieces.push(Piece::default());
        let mut open = vec![start];
        while let Some(node) = open.pop() {
            let Some(slot) = self.piece_of.get_mut(node).filter(|slot| **slot == usize::MAX) else { continue };
            *slot = number;
            open.extend(self.edges.get(node).into_iter().flatten().filter_map(|edge| match edge {
                Edge::Joined(next) => Some(*next),
                Edge::Contact(_) => None,
            }));
        }
    }

    fn describe(&mut self, circuit: &Circuit, node: NodeId) {
        let Some(spot) = circuit.point(node).spot() else { return };
        let at = node.index();
        let made = match spot {
            Spot::Terminal { device, terminal } => {
                kind(self.wiring, self.catalogue, *device).and_then(|kind| kind.point(terminal)).map(|point| point.role)
            }
            _ => None,
        };
        if let Spot::Tip(tip) = spot {
            self.nodes.insert(tip.clone(), at);
        }
        let Some(piece) = self.piece_of.get(at).and_then(|piece| self.pieces.get_mut(*piece)) else { return };
        match spot {
            Spot::Tip(tip) => piece.tips.push(tip.clone()),
            Spot::Terminal { device, terminal } => {
                piece.points.extend(made.map(|made| (*device, terminal.clone(), made)));
            }
            Spot::Shell(id) => drop(piece.shells.insert(*id)),
            Spot::Bus { bus: Bus::Neutral, .. } => piece.neutral = true,
            Spot::Bus { bus: Bus::Ground, .. } => piece.ground = true,
            Spot::Bus { .. } | Spot::Splice(_) | Spot::Other(_) => {}
        }
    }

    fn draw(&mut self, circuit: &Circuit) {
        for (node, source) in self.feeds.clone() {
            if let Some(piece) = self.piece_mut(node) {
                piece.sources.insert(source);
            }
        }
        for (point, load) in circuit.loads.iter().filter(|(_, load)| !load.auxiliary) {
            let plugged =
                kind(self.wiring, self.catalogue, point.device).is_some_and(|kind| kind.group == DeviceGroup::PlugIn);
            if plugged {
                continue; // what is plugged in belongs to its outlet
            }
            let mut hots = vec![load.from.index()];
            if load.to_neutral {
                if let Some(piece) = self.piece_mut(load.to.index()) {
                    piece.returns.insert(point.clone());
                }
            } else {
                hots.push(load.to.index());
            }
            for node in hots {
                if let Some(piece) = self.piece_mut(node) {
                    piece.loads.insert(Drawn { load: point.clone(), node });
                }
            }
        }
    }

    fn piece_mut(&mut self, node: usize) -> Option<&mut Piece> {
        self.piece_of.get(node).and_then(|piece| self.pieces.get_mut(*piece))
    }

    /// The number of the piece that a node is in.
    pub(super) fn number(&self, node: usize) -> Option<usize> {
        self.piece_of.get(node).copied().filter(|piece| *piece != usize::MAX)
    }

    /// The node of an end.
    pub(super) fn node(&self, tip: &Tip) -> Option<usize> {
        self.nodes.get(tip).copied()
    }

    /// Every end of the wiring.
    pub(super) fn tips(&self) -> impl Iterator<Item = (&Tip, usize)> {
        self.nodes.iter().map(|(tip, node)| (tip, *node))
    }

    /// A device's kind.
    pub(super) fn kind(&self, device: ThingId) -> Option<&'a DeviceType> {
        kind(self.wiring, self.catalogue, device)
    }

    /// From breakers and other supplies, over contacts too if asked.
    pub(super) fn reach_of_feeds(&self, over_contacts: bool) -> Reach {
        self.reach(&self.feeds, over_contacts)
    }

    /// From neutral bars.
    pub(super) fn reach_of_bars(&self, over_contacts: bool) -> Reach {
        self.reach(&self.bars, over_contacts)
    }

    /// Steps from some nodes, each with what it stands for; the nearest counts, then the one named first.
    pub(super) fn reach(&self, from: &[(usize, ThingId)], over_contacts: bool) -> Reach {
        let mut reach = Reach::default();
        let mut queue = VecDeque::new();
        for (node, source) in from {
            if !reach.steps.contains_key(node) {
                reach.steps.insert(*node, (0, *source));
                queue.push_back(*node);
            }
        }
        while let Some(node) = queue.pop_front() {
            let Some((steps, source)) = reach.steps.get(&node).copied() else { continue };
            for edge in self.edges.get(node).into_iter().flatten() {
                let next = match edge {
                    Edge::Joined(next) => *next,
                    Edge::Contact(next) if over_contacts => *next,
                    Edge::Contact(_) => continue,
                };
                reach.steps.entry(next).or_insert_with(|| {
                    queue.push_back(next);
                    (steps.saturating_add(1), source)
                });
            }
        }
        reach
    }

    /// The contacts of a piece: the node on this side, the node beyond, the handle.
    pub(super) fn contacts(&self, piece: usize) -> impl Iterator<Item = (usize, usize, &Handle)> {
        let both = self.contacts.iter().flat_map(|(a, b, handle)| [(*a, *b, handle), (*b, *a, handle)]);
        both.filter(move |(here, _, _)| self.number(*here) == Some(piece))
    }
}
