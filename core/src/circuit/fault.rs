//! What can be broken in a circuit: put into the network of a wiring, without a change to the wiring.
//!
//! The circuit with faults has the same nodes and elements under the same numbers. What is broken is
//! [`Value::Open`], what is bad has another value, and what was added stands after all others. So a reading, a path or
//! a switch table of the one can be laid beside that of the other.
//!
//! # What counts as metal
//! Connectivity follows: what is open joins nothing. A bridge under `bridge_metal` ohms joins as metal does, one above
//! it is a leak. A joint or contact that is bad stays metal up to `joint_metal` ohms: a lamp behind it still lights.
//!
//! Faults are put in one after the other, in the order of the list. Each must find what it speaks of, and none is left
//! out in silence: a part that is not there, or was taken away by a fault before it, is an error.

use crate::job::{Bus, Handle, LoadPoint, Spot, ThingId, Tip};

use super::build::Circuit;
use super::network::{ElementId, NetworkError, NodeId, Value};
use super::point::{Part, Point, Unknown};

/// Something that is broken.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// A part does not conduct: a joint that let go, a broken conductor, a bond that was never made, a coupling that
    /// came apart (`Part::Sheath`).
    Open(Part),
    /// A part conducts badly: it has at least this many ohms from end to end.
    Resistance {
        /// The part.
        part: Part,
        /// Ohms.
        ohms: f64,
    },
    /// Two points touch that should not: a bare conductor on a box, a load on its housing, a wet path, a post in soil
    /// ([`Point::Earth`]). A point in words ([`Spot::Other`]) and the housing of a device that has none of its own are
    /// made if need be.
    Bridge {
        /// One point.
        from: Point,
        /// The other.
        to: Point,
        /// Ohms.
        ohms: f64,
    },
    /// Something that nobody noted draws power: what was left plugged in, a lamp nobody saw.
    Draws {
        /// One point.
        from: Point,
        /// The other.
        to: Point,
        /// Watts at the rated volts.
        watts: f64,
        /// Rated volts.
        volts: f64,
    },
    /// A conductor of the supply to a panel is lost: a leg, or with [`Bus::Neutral`] the neutral.
    LegLost {
        /// The panel.
        panel: ThingId,
        /// Which one.
        bus: Bus,
    },
    /// A breaker takes from another bus than the noted one; its further poles take the next ones.
    OnBus {
        /// The breaker.
        breaker: ThingId,
        /// The bus of its first pole.
        bus: Bus,
    },
    /// A handle stands between its positions: no contact at all, whatever it is set to.
    Parked(Handle),
    /// A handle's contacts stay as they are in one position, whatever it is set to.
    Stuck {
        /// The handle.
        handle: Handle,
        /// The position.
        position: String,
    },
    /// In one position the contacts do not touch; the others are good.
    NoContact {
        /// The handle.
        handle: Handle,
        /// The position.
        position: String,
    },
    /// A lamp is missing or burnt out, an appliance broken: nothing is drawn.
    Missing(LoadPoint),
    /// Each of two ends is where the other is noted to be.
    Exchanged {
        /// One end.
        one: Tip,
        /// The other.
        other: Tip,
    },
    /// An end is somewhere else than noted: on another terminal, in another splice, on a bus, on a shell.
    Moved {
        /// The end.
        tip: Tip,
        /// Where it is.
        to: Spot,
    },
}

/// Why a fault cannot be put in.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FaultError {
    /// The circuit has no such part, or a fault before this one took it away.
    #[error("a part that should be broken is not in the circuit, or is broken already; note it first")]
    NoPart(Part),
    /// The circuit has no such point.
    #[error("a point that should be bridged is not in the circuit; note it first")]
    NoPoint(Point),
    /// The circuit has no such handle.
    #[error("a handle that should be broken is not in the circuit; note its device first")]
    NoHandle(Handle),
    /// The handle has no such position.
    #[error("the handle has no position of the name {position}; take one of its own")]
    NoPosition {
        /// The handle.
        handle: Handle,
        /// The name.
        position: String,
    },
    /// The circuit has no such load point.
    #[error("a load that should be missing is not in the circuit; note its device first")]
    NoLoad(LoadPoint),
    /// Nothing is drawn there anyway.
    #[error("nothing is drawn at a load that should be missing; note what it draws first")]
    DrawsNothing(LoadPoint),
    /// The panel has no such supply conductor.
    #[error("the panel has no such leg or neutral of its supply; take one that it has")]
    NoLeg {
        /// The panel.
        panel: ThingId,
        /// Which one.
        bus: Bus,
    },
    /// Not a joint: nobody noted where the end is, or it goes on through the box unspliced.
    #[error("where an end is that should be exchanged or moved is not noted, or it goes on unspliced; note it first")]
    NotSeated(Tip),
    /// The ends are in one joint, or the end is there already.
    #[error("the exchange changes nothing: both are in one joint")]
    Same(Tip),
    /// Resistance makes no sense for it.
    #[error("the part has no resistance that could be greater; take a conductor, joint, contact or load")]
    NoResistance(Part),
    /// A value that does not exist.
    #[error("the value of a fault was not taken: {0}; nothing was changed")]
    Value(#[from] NetworkError),
}

impl Fault {
    /// Two spots that touch.
    pub fn bridge(from: Spot, to: Spot, ohms: f64) -> Self {
        Self::Bridge { from: from.into(), to: to.into(), ohms }
    }

    /// A way from a spot into the soil: a metal post, a wet wall.
    pub fn to_earth(from: Spot, ohms: f64) -> Self {
        Self::Bridge { from: from.into(), to: Point::Earth, ohms }
    }
}

impl Circuit {
    /// A wet path between two points, with the ohms that are assumed for one.
    pub fn wet(&self, from: Point, to: Point) -> Fault {
        Fault::Bridge { from, to, ohms: self.assumptions.wet_leak.value }
    }

    /// Metal that stands in moist soil, with the ohms that are assumed for a post.
    pub fn in_soil(&self, from: Spot) -> Fault {
        Fault::to_earth(from, self.assumptions.post_in_soil.value)
    }

    /// The same circuit with something broken. Numbers of nodes and elements stay; new ones come after them.
    ///
    /// # Errors
    /// See [`FaultError`]; this circuit is never changed.
    pub fn with_faults(&self, faults: &[Fault]) -> Result<Self, FaultError> {
        let mut circuit = self.clone();
        faults.iter().try_for_each(|fault| circuit.break_one(fault))?;
        Ok(circuit)
    }

    fn break_one(&mut self, fault: &Fault) -> Result<(), FaultError> {
        match fault {
            Fault::Open(part) => self.open(&self.there(part)?),
            Fault::Resistance { part, ohms } => self.worsen(part, *ohms),
            Fault::Bridge { from, to, ohms } => {
                let metal = *ohms < self.assumptions.bridge_metal.value;
                let value = if metal { Value::Metal { ohms: *ohms } } else { Value::Resistance { ohms: *ohms } };
                self.put_between(from, to, value)
            }
            Fault::Draws { from, to, watts, volts } => {
                let value = Value::of_power(*watts, *volts, 1.0, self.network.hertz())?;
                self.put_between(from, to, value)
            }
            Fault::LegLost { panel, bus } => self.open(&self.supply(*panel, *bus)?),
            Fault::OnBus { breaker, bus } => self.on_bus(*breaker, *bus),
            Fault::Parked(handle) => {
                self.handle(handle)?;
                self.open(&self.there(&Part::Contact(handle.clone()))?)
            }
            Fault::Stuck { handle, position } => self.stick(handle, position),
            Fault::NoContact { handle, position } => self.part_in(handle, position),
            Fault::Missing(point) => self.miss(point),
            Fault::Exchanged { one, other } => self.exchange(one, other),
            Fault::Moved { tip, to } => self.reseat(tip, to),
        }
    }

    /// The elements of a part that are still there.
    fn there(&self, part: &Part) -> Result<Vec<ElementId>, FaultError> {
        let mut found = self.elements_where(|of| of == part);
        found.retain(|id| self.network.element(*id).is_some_and(|element| element.value != Value::Open));
        if found.is_empty() { Err(FaultError::NoPart(part.clone())) } else { Ok(found) }
    }

    fn open(&mut self, elements: &[ElementId]) -> Result<(), FaultError> {
        elements.iter().try_for_each(|id| self.network.replace(*id, Value::Open)).map_err(FaultError::from)
    }

    /// The sections of a conductor share the ohms by length; contacts of a handle are bad each by itself.
    fn worsen(&mut self, part: &Part, ohms: f64) -> Result<(), FaultError> {
        let elements = self.there(part)?;
        let own = |id: &ElementId| match self.network.element(*id).map(|element| element.value) {
            Some(Value::Metal { ohms } | Value::Resistance { ohms } | Value::Load { ohms, .. }) => Some(ohms),
            _ => None,
        };
        let each: Option<Vec<f64>> = elements.iter().map(own).collect();
        let each = each.ok_or_else(|| FaultError::NoResistance(part.clone()))?;
        let whole: f64 = if matches!(part, Part::Conductor { .. }) { each.iter().sum() } else { 0.0 };
        for (id, own) in elements.iter().zip(each) {
            let share = if whole > 0.0 { own / whole } else { 1.0 };
            // NaN must not be lost in a comparison: the network refuses it.
            let ohms = if ohms * share < own { own } else { ohms * share };
            let value = match self.network.element(*id).map(|element| element.value) {
                Some(Value::Load { henries, .. }) => Value::Load { ohms, henries },
                Some(Value::Metal { .. }) if ohms < self.assumptions.joint_metal.value => Value::Metal { ohms },
                _ => Value::Resistance { ohms },
            };
            self.network.replace(*id, value)?;
        }
        Ok(())
    }

    fn put_between(&mut self, from: &Point, to: &Point, value: Value) -> Result<(), FaultError> {
        let (from, to) = (self.point_node(from)?, self.point_node(to)?);
        self.network.connect(from, to, value)?;
        self.parts.push(Part::Bridge);
        Ok(())
    }

    /// The node of a point. What has a name but no part in the wiring becomes a node of its own: a point in words, and
    /// the housing of a device whose kind brings no ground to it.
    fn point_node(&mut self, point: &Point) -> Result<NodeId, FaultError> {
        if let Some(node) = self.nodes.get(point) {
            return Ok(*node);
        }
        let of_device = |id: &ThingId| {
            let own =
                |at: &&NodeId| matches!(self.point(**at), Point::Spot(Spot::Terminal { device, .. }) if device == id);
            self.nodes.values().find(own).copied()
        };
        let place = match point {
            Point::Spot(Spot::Other(_)) => None,
            Point::Spot(Spot::Shell(id)) => match of_device(id) {
                Some(terminal) => self.box_of(terminal),
                None => return Err(FaultError::NoPoint(point.clone())),
            },
            _ => return Err(FaultError::NoPoint(point.clone())),
        };
        let node = self.network.node();
        self.nodes.insert(point.clone(), node);
        self.points.push(point.clone());
        self.boxes.push(place);
        Ok(node)
    }

    /// What brings a bus of a panel its supply: the source's own impedance, or the joints of the feeder.
    fn supply(&self, panel: ThingId, bus: Bus) -> Result<Vec<ElementId>, FaultError> {
        let missing = || FaultError::NoLeg { panel, bus };
        let note = self.panels.get(&panel).ok_or_else(missing)?;
        let node = match bus {
            Bus::Neutral => note.neutral,
            Bus::Ground => return Err(missing()),
            leg => note.legs.iter().find(|(name, _)| *name == leg).map(|(_, node)| *node).ok_or_else(missing)?,
        };
        let feeds = self.feeders(panel);
        let is = |id: &ElementId| {
            let at =
                self.network.element(*id).is_some_and(|e| e.value != Value::Open && (e.from == node || e.to == node));
            at && match self.part(*id) {
                Part::Source(of) => *of == panel,
                Part::Joint(Tip::Wire { run, .. }) => note.supplies.is_empty() && feeds.contains(run),
                _ => false,
            }
        };
        let mut found = self.elements_where(|part| matches!(part, Part::Source(_) | Part::Joint(_)));
        found.retain(is);
        if found.is_empty() { Err(missing()) } else { Ok(found) }
    }

    /// Runs with an end on a leg of the panel.
    fn feeders(&self, panel: ThingId) -> Vec<ThingId> {
        let legs: Vec<NodeId> =
            self.panels.get(&panel).into_iter().flat_map(|note| note.legs.iter().map(|(_, node)| *node)).collect();
        let on_leg =
            |id: &ElementId| self.network.element(*id).is_some_and(|e| legs.contains(&e.from) || legs.contains(&e.to));
        let joints = self.elements_where(|part| matches!(part, Part::Joint(Tip::Wire { .. })));
        let runs = joints.into_iter().filter(on_leg).filter_map(|id| match self.part(id) {
            Part::Joint(Tip::Wire { run, .. }) => Some(*run),
            _ => None,
        });
        runs.collect()
    }

    fn on_bus(&mut self, breaker: ThingId, bus: Bus) -> Result<(), FaultError> {
        let stabs = self.there(&Part::Stab(breaker))?;
        let panel = self.poles.iter().find(|pole| pole.breaker == breaker).map(|pole| pole.leg.0);
        let panel = panel.ok_or(FaultError::NoPart(Part::Stab(breaker)))?;
        let missing = || FaultError::NoLeg { panel, bus };
        let legs = self.panels.get(&panel).map(|note| note.legs.clone()).ok_or_else(missing)?;
        let start = legs.iter().position(|(name, _)| *name == bus).ok_or_else(missing)?;
        for (n, id) in stabs.into_iter().enumerate() {
            let Some((name, node)) = legs.get((start + n) % legs.len()).copied() else { return Err(missing()) };
            let Some(element) = self.network.element(id).copied() else { return Err(missing()) };
            // A stab is made from the breaker's point to the bus.
            let stab = element.from;
            self.network.replace(id, Value::Open)?;
            self.network.connect(stab, node, element.value)?;
            self.parts.push(Part::Stab(breaker));
            let at_stab =
                |contact: ElementId| self.network.element(contact).is_some_and(|e| e.from == stab || e.to == stab);
            if let Some(pole) = self.poles.iter_mut().find(|pole| pole.breaker == breaker && at_stab(pole.element)) {
                pole.leg = (panel, name);
            }
        }
        Ok(())
    }

    fn handle(&self, handle: &Handle) -> Result<&super::build::HandleNode, FaultError> {
        self.handles.get(handle).ok_or_else(|| FaultError::NoHandle(handle.clone()))
    }

    /// The number of a named position, and how many there are.
    fn position(&self, handle: &Handle, name: &str) -> Result<(u8, u8), FaultError> {
        let node = self.handle(handle)?;
        let place = node.positions.iter().position(|position| position == name).and_then(|n| u8::try_from(n).ok());
        let count = u8::try_from(node.positions.len()).unwrap_or(u8::MAX);
        let missing = || FaultError::NoPosition { handle: handle.clone(), position: name.to_owned() };
        Ok((place.ok_or_else(missing)?, count))
    }

    fn stick(&mut self, handle: &Handle, name: &str) -> Result<(), FaultError> {
        let (position, count) = self.position(handle, name)?;
        let all: Vec<u8> = (0..count).collect();
        for id in self.there(&Part::Contact(handle.clone()))? {
            let contact = self.network.element(id).and_then(|element| element.contact);
            if contact.is_some_and(|contact| contact.closed_in(position)) {
                self.network.close_in(id, &all)?;
            } else {
                self.network.replace(id, Value::Open)?;
            }
        }
        Ok(())
    }

    fn part_in(&mut self, handle: &Handle, name: &str) -> Result<(), FaultError> {
        let (position, count) = self.position(handle, name)?;
        let mut parted = false;
        for id in self.there(&Part::Contact(handle.clone()))? {
            let Some(contact) = self.network.element(id).and_then(|element| element.contact) else { continue };
            if contact.closed_in(position) {
                let others: Vec<u8> = (0..count).filter(|n| *n != position && contact.closed_in(*n)).collect();
                self.network.close_in(id, &others)?;
                if others.is_empty() {
                    self.network.replace(id, Value::Open)?;
                }
                parted = true;
            }
        }
        // In that position nothing was joined anyway.
        if parted { Ok(()) } else { Err(FaultError::NoPart(Part::Contact(handle.clone()))) }
    }

    /// Its points stay, with the voltage that a meter finds there.
    fn miss(&mut self, point: &LoadPoint) -> Result<(), FaultError> {
        let load = self.loads.get_mut(point).ok_or_else(|| FaultError::NoLoad(point.clone()))?;
        let element = load.element.take().ok_or_else(|| FaultError::DrawsNothing(point.clone()))?;
        let switch = self.network.element(element).and_then(|element| element.contact).map(|contact| contact.switch);
        self.electronic.retain(|electronic| Some(electronic.switch) != switch);
        self.open(&[element])
    }

    /// Where an end is: its joint, the node that it is joined to and by what; none if it is capped, loose or cut back.
    #[allow(clippy::type_complexity, reason = "an end and, if it is seated, by what and on what; used once")]
    fn seat_of(&self, tip: &Tip) -> Result<(NodeId, Option<(ElementId, NodeId, Value)>), FaultError> {
        let lost = || FaultError::NotSeated(tip.clone());
        let end = *self.nodes.get(&Point::tip(tip)).ok_or_else(lost)?;
        if let Ok(joints) = self.there(&Part::Joint(tip.clone())) {
            let joint = joints.first().copied().ok_or_else(lost)?;
            let element = self.network.element(joint).ok_or_else(lost)?;
            return Ok((end, Some((joint, element.other(end), element.value))));
        }
        let unknown = self.boundaries.keys().any(|boundary| boundary.of == Unknown::Tip(tip.clone()));
        let mut loops = self.elements_where(|part| matches!(part, Part::Through(_))).into_iter();
        let through = loops.any(|id| self.network.element(id).is_some_and(|e| e.from == end || e.to == end));
        if unknown || through { Err(lost()) } else { Ok((end, None)) }
    }

    fn exchange(&mut self, one: &Tip, other: &Tip) -> Result<(), FaultError> {
        let ((first, here), (second, there)) = (self.seat_of(one)?, self.seat_of(other)?);
        let node = |seat: &Option<(ElementId, NodeId, Value)>| seat.map(|(_, node, _)| node);
        if node(&here) == node(&there) {
            return Err(FaultError::Same(one.clone()));
        }
        for ((end, tip), seat) in [((second, other), here), ((first, one), there)] {
            if let Some((joint, to, value)) = seat {
                self.network.replace(joint, Value::Open)?;
                self.network.connect(end, to, value)?;
                self.parts.push(Part::Joint(tip.clone()));
            }
        }
        // A bare end goes with its place.
        let was_loose = [one, other].map(|tip| self.loose.contains(tip));
        self.loose.retain(|tip| tip != one && tip != other);
        self.loose
            .extend([other, one].into_iter().zip(was_loose).filter(|(_, loose)| *loose).map(|(tip, _)| tip.clone()));
        Ok(())
    }

    fn reseat(&mut self, tip: &Tip, to: &Spot) -> Result<(), FaultError> {
        let (end, seat) = self.seat_of(tip)?;
        let place = !matches!(to, Spot::Tip(_) | Spot::Other(_));
        let point = Point::Spot(to.clone());
        let to = self.nodes.get(&point).copied().filter(|_| place).ok_or(FaultError::NoPoint(point))?;
        if seat.is_some_and(|(_, node, _)| node == to) {
            return Err(FaultError::Same(tip.clone()));
        }
        let usual = Value::Metal { ohms: self.assumptions.splice_contact.value };
        if let Some((joint, _, _)) = seat {
            self.network.replace(joint, Value::Open)?;
        }
        self.network.connect(end, to, usual)?;
        self.parts.push(Part::Joint(tip.clone()));
        self.loose.retain(|loose| loose != tip);
        Ok(())
    }
}

#[cfg(test)]
mod tests;
