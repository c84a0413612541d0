//! What each conductor does, worked out from what is noted.
//!
//! First by following metal: from breakers, from neutral bars, to loads. Where that ends, what was asked for tells,
//! then what is written on a tape, then colour, which alone tells no more than what is a neutral or a ground.

use std::collections::{BTreeMap, BTreeSet};

use super::role::{Duty, Evidence, Flow, Role, Roles};
use super::tape;
use super::web::{Piece, Reach, Web};
use crate::catalogue::{Catalogue, Role as Made};
use crate::job::{Colour, Handle, LoadPoint, Promised, ThingId, Tip, Wiring};

/// What a piece does as a whole.
#[derive(Debug, Clone)]
struct Known {
    duty: Duty,
    evidence: Evidence,
    loads: Vec<LoadPoint>,
    device: Option<ThingId>,
    steps: Steps,
}

/// From where steps are counted to tell which way the power goes.
#[derive(Debug, Clone)]
enum Steps {
    /// Nothing tells.
    None,
    /// From breakers, through no contact.
    Hot,
    /// From breakers, through contacts too.
    Live,
    /// From neutral bars.
    Returns,
    /// From where the power comes in.
    From(Reach),
    /// From where the power goes to.
    To(Reach),
}

impl Roles {
    /// What the conductors of a wiring do.
    pub fn of(wiring: &Wiring, catalogue: &Catalogue) -> Self {
        Web::of(wiring, catalogue).map(|web| Self::of_web(&web)).unwrap_or_default()
    }

    pub(super) fn of_web(web: &Web<'_>) -> Self {
        let mut trace = Trace {
            web,
            hot: web.reach_of_feeds(false),
            live: web.reach_of_feeds(true),
            returns: web.reach_of_bars(false),
            parted: web.reach_of_bars(true),
            told: Vec::new(),
        };
        trace.told = (0..web.pieces.len()).map(|piece| trace.piece(piece)).collect();
        let mut roles: BTreeMap<Tip, Role> =
            web.tips().filter_map(|(tip, node)| trace.tip(tip, node).map(|role| (tip.clone(), role))).collect();
        breakers_of_neutrals(&mut roles);
        Self(roles)
    }
}

struct Trace<'w, 'a> {
    web: &'w Web<'a>,
    /// From breakers, through no contact.
    hot: Reach,
    /// From breakers, through contacts too.
    live: Reach,
    /// From neutral bars, through no contact.
    returns: Reach,
    /// From neutral bars, through contacts too.
    parted: Reach,
    told: Vec<Option<Known>>,
}

fn neutral_point(made: Made) -> bool {
    matches!(made, Made::Neutral | Made::NeutralLoad)
}

impl Trace<'_, '_> {
    fn piece(&self, number: usize) -> Option<Known> {
        let piece = self.web.pieces.get(number)?;
        if piece.tips.is_empty() {
            return None;
        }
        if !piece.sources.is_empty() && (piece.neutral || piece.ground) {
            return None; // a short: nothing is claimed of its conductors but what their make says
        }
        self.traced(number, piece).or_else(|| self.asked(piece)).or_else(|| self.taped(piece))
    }

    fn traced(&self, number: usize, piece: &Piece) -> Option<Known> {
        let plain = |duty, steps| Known { duty, evidence: Evidence::Traced, loads: Vec::new(), device: None, steps };
        if !piece.sources.is_empty() {
            return Some(plain(Duty::ConstantHot, Steps::Hot));
        }
        if piece.neutral {
            return Some(plain(Duty::Neutral, Steps::Returns));
        }
        if piece.ground {
            return Some(plain(Duty::Ground, Steps::None));
        }
        let node = piece.tips.first().and_then(|tip| self.web.node(tip))?;
        let live = self.live.steps(node).is_some();
        if self.parted.steps(node).is_some() && !live {
            return None; // a neutral behind a switch is neither the one nor the other
        }
        if piece.only(|made| made == Made::Traveler) {
            return Some(plain(Duty::Traveler, Steps::None));
        }
        if piece.only(neutral_point) {
            let nodes = piece.returns.iter().flat_map(|load| self.tips_at(piece, load.device));
            let reach = self.web.reach(&nodes.collect::<Vec<_>>(), false);
            return Some(plain(Duty::Neutral, Steps::To(reach)));
        }
        if piece.only(|made| made == Made::Ground) || (piece.points.is_empty() && !piece.shells.is_empty()) {
            return Some(plain(Duty::Ground, Steps::None));
        }
        if piece.any(|made| made == Made::Traveler || neutral_point(made)) {
            return None;
        }
        let from_switch = piece.any(|made| made == Made::Switched);
        let worked = !piece.loads.is_empty() || piece.any(|made| made == Made::Common);
        if from_switch || (live && worked) {
            let loads = self.downstream(number);
            let steps = if live { Steps::Live } else { self.switched_from(piece) };
            let device = self.comes_from(number, piece);
            return Some(Known { loads, device, ..plain(Duty::SwitchedLeg, steps) });
        }
        None
    }

    /// The nodes of ends of a piece in a device's box.
    fn tips_at(&self, piece: &Piece, device: ThingId) -> Vec<(usize, ThingId)> {
        let Some(at) = self.web.wiring.devices.get(&device).and_then(|note| note.in_box.get().copied().flatten())
        else {
            return Vec::new();
        };
        let here = piece.tips.iter().filter(|tip| self.web.wiring.box_of(tip) == Some(at));
        here.filter_map(|tip| self.web.node(tip)).map(|node| (node, device)).collect()
    }

    fn switched_from(&self, piece: &Piece) -> Steps {
        let switches = piece.points.iter().filter(|(_, _, made)| *made == Made::Switched);
        let from: Vec<_> = switches.flat_map(|(device, _, _)| self.tips_at(piece, *device)).collect();
        if from.is_empty() { Steps::None } else { Steps::From(self.web.reach(&from, false)) }
    }

    /// What a switched leg works: what draws from it, and what draws behind further contacts.
    fn downstream(&self, number: usize) -> Vec<LoadPoint> {
        let mut seen = BTreeSet::from([number]);
        let mut open = vec![number];
        let mut loads = BTreeSet::new();
        while let Some(here) = open.pop() {
            let Some(piece) = self.web.pieces.get(here) else { continue };
            loads.extend(piece.loads.iter().map(|drawn| drawn.load.clone()));
            for (from, to, _) in self.web.contacts(here) {
                let onward = match (self.live.steps(from), self.live.steps(to)) {
                    (Some(from), Some(to)) => to > from,
                    _ => false,
                };
                if let Some(next) = self.web.number(to).filter(|next| onward && seen.insert(*next)) {
                    open.push(next);
                }
            }
        }
        loads.into_iter().collect()
    }

    /// The switch that a leg comes from: the one whose contact is nearest to the breaker, else the one that it is
    /// made to be switched by.
    fn comes_from(&self, number: usize, piece: &Piece) -> Option<ThingId> {
        let contacts = self.web.contacts(number);
        let nearer = contacts.filter_map(|(_, beyond, handle)| Some((self.live.steps(beyond)?, handle.device)));
        let made = || piece.points.iter().find(|(_, _, made)| *made == Made::Switched).map(|(device, _, _)| *device);
        nearer.min().map(|(_, device)| device).or_else(made)
    }

    /// What was asked for, where it leaves nothing else: of a piece that loads draw from and no switch is on yet.
    fn asked(&self, piece: &Piece) -> Option<Known> {
        let promised = &self.web.wiring.promises;
        let mut rules = piece.loads.iter().filter_map(|drawn| promised.get(&drawn.load));
        let first = rules.find(|rule| **rule != Promised::AsFound)?;
        if rules.any(|rule| *rule != Promised::AsFound && rule != first) {
            return None;
        }
        let from: Vec<_> = piece.loads.iter().map(|drawn| (drawn.node, drawn.load.device)).collect();
        let steps = Steps::To(self.web.reach(&from, false));
        let plain = |duty| Known { duty, evidence: Evidence::Scope, loads: Vec::new(), device: None, steps };
        match first {
            Promised::Always => Some(plain(Duty::ConstantHot)),
            Promised::Toggled(handles) => {
                let loads = piece.loads.iter().map(|drawn| drawn.load.clone()).collect();
                Some(Known { loads, device: self.nearest(piece, handles), ..plain(Duty::SwitchedLeg) })
            }
            Promised::Never | Promised::AsFound => None,
        }
    }

    /// Of the switches that were asked for, the one in whose box an end of the piece waits for its place.
    fn nearest(&self, piece: &Piece, handles: &BTreeSet<Handle>) -> Option<ThingId> {
        let wiring = self.web.wiring;
        let waits = |at: Option<ThingId>| {
            let mut here = piece.tips.iter().filter(|tip| wiring.place(tip).is_none());
            at.is_some() && here.any(|tip| wiring.box_of(tip) == at)
        };
        let at = |device: &ThingId| wiring.devices.get(device).and_then(|note| note.in_box.get().copied().flatten());
        let devices: BTreeSet<ThingId> = handles.iter().map(|handle| handle.device).collect();
        devices.iter().find(|device| waits(at(device))).or(devices.first()).copied()
    }

    /// What is written on the tapes of a piece, where they agree.
    fn taped(&self, piece: &Piece) -> Option<Known> {
        let tapes =
            piece.tips.iter().filter_map(|tip| Some((tip, tape::read(self.label(tip)?, &self.web.wiring.tape_words)?)));
        let tapes: Vec<(&Tip, (Duty, Option<Flow>))> = tapes.collect();
        let duty = tapes.first().map(|(_, (duty, _))| *duty)?;
        if tapes.iter().any(|(_, (other, _))| *other != duty) {
            return None;
        }
        // Power comes in at an end whose tape says so; it came from the conductor's other end.
        let comes = tapes.iter().filter(|(_, (_, flow))| *flow == Some(Flow::In));
        let from = comes.filter_map(|(tip, _)| Some((self.web.node(&other_end(tip)?)?, run_of(tip)?)));
        let from: Vec<_> = from.collect();
        let goes = tapes.iter().filter(|(_, (_, flow))| *flow == Some(Flow::Out));
        let onward: Vec<_> = goes.filter_map(|(tip, _)| Some((self.web.node(tip)?, run_of(tip)?))).collect();
        let from = if from.is_empty() { onward } else { from };
        let steps = if from.is_empty() { Steps::None } else { Steps::From(self.web.reach(&from, false)) };
        let loads =
            if duty == Duty::SwitchedLeg { piece.loads.iter().map(|d| d.load.clone()).collect() } else { Vec::new() };
        Some(Known { duty, evidence: Evidence::Tape, loads, device: None, steps })
    }

    fn label(&self, tip: &Tip) -> Option<&str> {
        self.web.wiring.tips.get(tip)?.label.get()?.as_deref()
    }

    fn tip(&self, tip: &Tip, node: usize) -> Option<Role> {
        let made = by_make(self.web, tip);
        let number = self.web.number(node)?;
        let known = self.told.get(number).and_then(Option::as_ref);
        let plain =
            |duty, evidence| Role { duty, evidence, flow: None, breaker: None, loads: Vec::new(), device: None };
        let Some(known) = known else {
            // A white that ends where a hot belongs is no neutral, whatever it is used for.
            let hot_point = |made: Made| !neutral_point(made) && made != Made::Ground;
            let short = |piece: &Piece| !piece.sources.is_empty();
            let elsewhere = self.web.pieces.get(number).is_some_and(|piece| !short(piece) && piece.any(hot_point));
            let made = made.filter(|duty| *duty != Duty::Neutral || !elsewhere);
            return made.map(|duty| plain(duty, Evidence::Colour));
        };
        let bonded = self.web.pieces.get(number).is_some_and(|piece| piece.neutral && piece.ground);
        // Where neutral and ground are joined beyond the panel, each is still what it was made for.
        if bonded && made == Some(Duty::Ground) {
            return Some(plain(Duty::Ground, Evidence::Traced));
        }
        let device = match known.duty {
            Duty::Traveler => self.beyond(number, tip),
            _ => known.device,
        };
        let breaker = match known.duty {
            Duty::ConstantHot => self.hot.source(node),
            Duty::SwitchedLeg | Duty::Traveler => self.live.source(node),
            Duty::Neutral | Duty::Ground => None,
        };
        let flow = self.flow(known, tip, node);
        let loads = known.loads.clone();
        Some(Role { duty: known.duty, evidence: known.evidence, flow, breaker, loads, device })
    }

    /// The switch at a traveler's other side.
    fn beyond(&self, number: usize, tip: &Tip) -> Option<ThingId> {
        let here = self.web.wiring.box_of(tip);
        let points = self.web.pieces.get(number)?.points.iter().map(|(device, _, _)| *device);
        let elsewhere = points.filter(|device| {
            let note = self.web.wiring.devices.get(device);
            note.is_some_and(|note| note.in_box.get().copied().flatten() != here)
        });
        elsewhere.min()
    }

    /// Which way the power goes at the end of a conductor from box to box.
    fn flow(&self, known: &Known, tip: &Tip, node: usize) -> Option<Flow> {
        let note = self.web.wiring.runs.get(&run_of(tip)?)?;
        let (reach, backwards) = match &known.steps {
            _ if note.is_inside() => return None,
            Steps::None => return None,
            Steps::Hot => (&self.hot, false),
            Steps::Live => (&self.live, false),
            Steps::Returns => (&self.returns, false),
            Steps::From(reach) => (reach, false),
            Steps::To(reach) => (reach, true),
        };
        let here = reach.steps(node)?;
        let there = reach.steps(self.web.node(&other_end(tip)?)?)?;
        match here.cmp(&there) {
            std::cmp::Ordering::Equal => None,
            order => Some(if order.is_gt() == backwards { Flow::Out } else { Flow::In }),
        }
    }
}

/// What a conductor's make and colour tell. A white that was re-marked is no neutral by its colour.
fn by_make(web: &Web<'_>, tip: &Tip) -> Option<Duty> {
    let note = web.wiring.tips.get(tip);
    let Tip::Wire { run, wire, .. } = tip else {
        let Tip::Lead { device, lead } = tip else { return None };
        return match web.kind(*device)?.point(lead)?.role {
            Made::Neutral | Made::NeutralLoad => Some(Duty::Neutral),
            Made::Ground => Some(Duty::Ground),
            _ => None,
        };
    };
    let conductor = web.wiring.runs.get(run).and_then(|note| web.catalogue.conductor(note, *wire));
    let own = note.and_then(|note| note.colour.get().copied());
    let remarked = note.and_then(|note| note.remarked.get().copied().flatten());
    let colour = remarked.or(own).or(conductor.as_ref().map(|conductor| conductor.colour))?;
    let ground = conductor.is_some_and(|conductor| conductor.ground);
    match colour {
        _ if ground => Some(Duty::Ground),
        Colour::Bare | Colour::Green | Colour::GreenYellow => Some(Duty::Ground),
        Colour::White | Colour::Gray => Some(Duty::Neutral),
        _ => None,
    }
}

fn run_of(tip: &Tip) -> Option<ThingId> {
    match tip {
        Tip::Wire { run, .. } => Some(*run),
        Tip::Lead { .. } => None,
    }
}

/// The other end of a conductor.
pub(super) fn other_end(tip: &Tip) -> Option<Tip> {
    match tip {
        Tip::Wire { run, wire, side } => Some(Tip::Wire { run: *run, wire: *wire, side: side.other() }),
        Tip::Lead { .. } => None,
    }
}

/// A neutral belongs to the breaker of the hots in its own run, if that is one.
fn breakers_of_neutrals(roles: &mut BTreeMap<Tip, Role>) {
    let mut by_run: BTreeMap<ThingId, BTreeSet<ThingId>> = BTreeMap::new();
    for (tip, role) in roles.iter() {
        if let (Some(run), Some(breaker)) = (run_of(tip), role.breaker) {
            by_run.entry(run).or_default().insert(breaker);
        }
    }
    for (tip, role) in roles.iter_mut().filter(|(_, role)| role.duty == Duty::Neutral) {
        let breakers = run_of(tip).and_then(|run| by_run.get(&run));
        role.breaker = breakers.filter(|breakers| breakers.len() == 1).and_then(|breakers| breakers.first().copied());
    }
}

#[cfg(test)]
mod tests;
