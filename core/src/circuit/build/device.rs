//! Devices: what is joined inside, links, contacts, loads; breakers on their buses; plugs in their outlets.

use crate::catalogue::{DeviceGroup, DeviceType, Load, PointForm, Role, Switch};
use crate::job::value::System;
use crate::job::{Bus, DeviceNote, Handle, LoadPoint, Spot, ThingId, Tip};

use super::super::network::{NodeId, Value};
use super::super::point::{Part, Point, Taken, Unknown, Why};
use super::{Builder, CircuitError, Electronic, HandleNode, LoadNode, Pole};

impl Builder<'_> {
    /// The catalogue's entry of a device.
    pub(super) fn kind(&self, device: ThingId) -> Option<&DeviceType> {
        self.catalogue.device(self.wiring.devices.get(&device)?.kind.get()?)
    }

    /// Makes every device.
    pub(super) fn devices(&mut self) -> Result<(), CircuitError> {
        let (wiring, catalogue) = (self.wiring, self.catalogue);
        for (id, note) in &wiring.devices {
            if let Some(kind) = note.kind.get().and_then(|kind| catalogue.device(kind)) {
                self.device(*id, note, kind)?;
            } else {
                let why = if note.kind.is_twice() { Why::Twice } else { Why::KindNotKnown };
                self.unknown(Unknown::Device(*id), why, Vec::new());
            }
        }
        Ok(())
    }

    fn device(&mut self, id: ThingId, note: &DeviceNote, kind: &DeviceType) -> Result<(), CircuitError> {
        let strap = self.circuit.assumptions.device_strap.value;
        for point in &kind.points {
            let inner = self.node(Point::terminal(id, &point.id));
            if point.form == PointForm::Lead {
                let tip = self.node(Point::tip(&Tip::Lead { device: id, lead: point.id.clone() }));
                self.metal(inner, tip, strap, Part::Inside(id))?;
            }
        }
        for (a, b) in &kind.joined {
            let (a, b) = (self.node(Point::terminal(id, a)), self.node(Point::terminal(id, b)));
            self.metal(a, b, strap, Part::Inside(id))?;
        }
        for (link, a, b) in &kind.links {
            let (a, b) = (self.node(Point::terminal(id, a)), self.node(Point::terminal(id, b)));
            let said = note.links.get(link);
            let part = Part::Link { device: id, link: link.clone() };
            if said.is_some_and(crate::job::Note::is_twice) {
                self.unknown(Unknown::Link { device: id, link: link.clone() }, Why::Twice, vec![a, b]);
            } else if said.and_then(crate::job::Note::get).copied().unwrap_or(true) {
                self.metal(a, b, strap, part)?;
            }
        }
        self.housing(id, note, kind)?;
        for switch in &kind.switches {
            self.switch(id, note, kind, switch)?;
        }
        if kind.group == DeviceGroup::Overcurrent {
            self.stabs(id, note, kind)?;
        }
        kind.loads.iter().try_for_each(|load| self.load(id, note, kind, load))
    }

    /// Ground terminal, yoke or housing, and a metal box touch each other.
    fn housing(&mut self, id: ThingId, note: &DeviceNote, kind: &DeviceType) -> Result<(), CircuitError> {
        let contact = self.circuit.assumptions.shell_contact.value;
        let in_box = note.in_box.get().copied().flatten();
        let shell = in_box.and_then(|id| self.circuit.nodes.get(&Point::Spot(Spot::Shell(id))).copied());
        let has_housing = matches!(kind.group, DeviceGroup::Luminaire | DeviceGroup::Load);
        for point in kind.points.iter().filter(|point| point.role == Role::Ground) {
            let inner = self.node(Point::terminal(id, &point.id));
            if matches!(kind.group, DeviceGroup::PlugIn | DeviceGroup::Overcurrent) {
                continue;
            }
            let spot = Spot::Terminal { device: id, terminal: point.id.clone() };
            self.circuit.grounds.insert(spot, inner);
            if has_housing {
                let housing = self.node(Point::Spot(Spot::Shell(id)));
                self.circuit.grounds.insert(Spot::Shell(id), housing);
                let strap = self.circuit.assumptions.device_strap.value;
                self.metal(inner, housing, strap, Part::Inside(id))?;
            }
            // An isolated ground has its own contact away from the yoke.
            if point.id == "ground"
                && let Some(shell) = shell
            {
                self.metal(inner, shell, contact, Part::Yoke(id))?;
            }
        }
        Ok(())
    }

    fn switch(
        &mut self,
        id: ThingId,
        note: &DeviceNote,
        kind: &DeviceType,
        switch: &Switch,
    ) -> Result<(), CircuitError> {
        let Ok(count) = u8::try_from(switch.positions.len()) else { return Ok(()) };
        let mapping = note.mapping.get(&switch.id).and_then(|mapping| mapping.get().copied());
        let reversed = !switch.marked && mapping == Some(false);
        let number = self.circuit.network.switch(count)?;
        let breaker = kind.group == DeviceGroup::Overcurrent;
        let automatic = switch.automatic || breaker;
        let place = |n: u8| if reversed { count - 1 - n } else { n };
        let off = (0u8..).zip(&switch.positions).find(|(_, p)| p.connects.is_empty()).map_or(0, |(n, _)| place(n));
        let handle = Handle { device: id, switch: switch.id.clone() };
        let made = HandleNode {
            switch: number,
            positions: switch.positions.iter().map(|position| position.id.clone()).collect(),
            rest: if automatic { 0 } else { off },
            automatic,
            mapped: switch.marked || mapping.is_some(),
        };
        self.circuit.handles.insert(handle.clone(), made);
        let a = &self.circuit.assumptions;
        let ohms = if breaker { a.breaker_contact.value } else { a.switch_contact.value };
        // One contact for each pair of points, closed in every position that connects them.
        let mut pairs: std::collections::BTreeMap<(&str, &str), Vec<u8>> = std::collections::BTreeMap::new();
        for (n, position) in (0u8..).zip(&switch.positions) {
            for (x, y) in &position.connects {
                let pair = if x < y { (x.as_str(), y.as_str()) } else { (y.as_str(), x.as_str()) };
                pairs.entry(pair).or_default().push(place(n));
            }
        }
        for ((x, y), closed) in pairs {
            let nodes = (self.node(Point::terminal(id, x)), self.node(Point::terminal(id, y)));
            if nodes.0 == nodes.1 {
                continue;
            }
            let element = self.circuit.network.contact(nodes, Value::Metal { ohms }, number, &closed)?;
            self.circuit.parts.push(Part::Contact(handle.clone()));
            if breaker {
                self.pole(id, note, kind, &handle, element, (x, y));
            }
        }
        Ok(())
    }

    /// Remembers a contact between a stab and a load terminal as a pole.
    fn pole(
        &mut self,
        id: ThingId,
        note: &DeviceNote,
        kind: &DeviceType,
        handle: &Handle,
        element: super::ElementId,
        (x, y): (&str, &str),
    ) {
        let stabs: Vec<&str> =
            kind.points.iter().filter(|p| p.form == PointForm::Stab).map(|p| p.id.as_str()).collect();
        let (stab, load) = if stabs.contains(&x) { (x, y) } else { (y, x) };
        let Some(place) = stabs.iter().position(|name| *name == stab) else { return };
        let Some(panel) = self.panel_of(id) else { return };
        let first = note.leg.get().copied().unwrap_or(Bus::A);
        let Some(bus) = self.pole_bus(panel, first, place) else { return };
        let load = self.node(Point::terminal(id, load));
        self.circuit.poles.push(Pole { breaker: id, handle: handle.clone(), leg: (panel, bus), load, element });
    }

    /// Puts a breaker's stabs on their buses.
    fn stabs(&mut self, id: ThingId, note: &DeviceNote, kind: &DeviceType) -> Result<(), CircuitError> {
        let stabs: Vec<_> = kind.points.iter().filter(|point| point.form == PointForm::Stab).collect();
        if stabs.is_empty() {
            return Ok(());
        }
        let Some(panel) = self.panel_of(id) else {
            let nodes = stabs.iter().map(|stab| self.node(Point::terminal(id, &stab.id))).collect();
            self.unknown(Unknown::Device(id), Why::NotSaid, nodes);
            return Ok(());
        };
        if note.leg.is_twice() {
            self.unknown(Unknown::Device(id), Why::Twice, Vec::new());
            return Ok(());
        }
        let one_leg = self.circuit.panels.get(&panel).is_some_and(|panel| panel.legs.len() == 1);
        if note.leg.get().is_none() && !one_leg {
            self.circuit.taken.insert(Taken::Leg(id));
        }
        let first = note.leg.get().copied().unwrap_or(Bus::A);
        let ohms = self.circuit.assumptions.bus_joint.value;
        for (place, stab) in stabs.iter().enumerate() {
            let Some(bus) = self.pole_bus(panel, first, place) else { continue };
            let (stab, bus) = (self.node(Point::terminal(id, &stab.id)), self.node(Point::bus(panel, bus)));
            self.metal(stab, bus, ohms, Part::Stab(id))?;
        }
        Ok(())
    }

    /// Rated volts of a load, and those below which its electronics stop. The catalogue's are those of 120/240 V
    /// systems; where there is one voltage only, everything that is sold is made for it.
    fn rated(&self, load: &Load) -> (f64, Option<f64>) {
        let mut systems = self.circuit.panels.values().map(|panel| panel.system);
        if !systems.any(|system| system == System::Single230) {
            return (load.volts, load.stops_below);
        }
        let volts = self.circuit.assumptions.single_nominal.value;
        (volts, load.stops_below.map(|stops_below| stops_below * volts / load.volts))
    }

    fn load(&mut self, id: ThingId, note: &DeviceNote, kind: &DeviceType, load: &Load) -> Result<(), CircuitError> {
        let from = self.node(Point::terminal(id, &load.from));
        let to = self.node(Point::terminal(id, &load.to));
        if from == to {
            return Ok(());
        }
        let ground = load.ground.as_ref().map(|ground| self.node(Point::terminal(id, ground)));
        let point = LoadPoint { device: id, load: load.id.clone() };
        let noted = note.watts.get(&load.id).and_then(|watts| watts.get()).map(|watts| watts.to_f64());
        // An unplugged load draws nothing; its points stay.
        let there = kind.group != DeviceGroup::PlugIn || note.plugged_into.get().is_some_and(Option::is_some);
        let watts = noted.or(load.watts).filter(|watts| *watts > 0.0 && there);
        if noted.is_none() && watts.is_some() && !load.auxiliary {
            self.circuit.taken.insert(Taken::Watts(point.clone()));
        }
        let hertz = self.circuit.network.hertz();
        let (volts, stops_below) = self.rated(load);
        let value = watts.and_then(|watts| Value::of_power(watts, volts, load.power_factor, hertz).ok());
        let element = match (value, stops_below) {
            (None, _) => None,
            (Some(value), None) => self.join(from, to, value, Part::Load(point.clone()))?,
            (Some(value), Some(stops_below_volts)) => {
                let switch = self.circuit.network.switch(2)?;
                let element = self.circuit.network.contact((from, to), value, switch, &[0])?;
                self.circuit.parts.push(Part::Load(point.clone()));
                self.circuit.electronic.push(Electronic { switch, from, to, stops_below_volts });
                Some(element)
            }
        };
        let to_neutral = kind.point(&load.to).is_some_and(|p| matches!(p.role, Role::Neutral | Role::NeutralLoad));
        let (outlet, auxiliary) = (load.outlet, load.auxiliary);
        let (lamp, plugged) = (load.lamp, kind.group == DeviceGroup::PlugIn);
        let made = LoadNode { from, to, ground, volts, element, outlet, lamp, plugged, auxiliary, to_neutral };
        self.circuit.loads.insert(point, made);
        Ok(())
    }

    /// Puts plugs into their outlets, blade by blade.
    pub(super) fn plugs(&mut self) -> Result<(), CircuitError> {
        let (wiring, catalogue) = (self.wiring, self.catalogue);
        for (id, note) in &wiring.devices {
            if note.plugged_into.is_twice() {
                self.unknown(Unknown::Plug(*id), Why::Twice, Vec::new());
            }
            let Some(Some(outlet)) = note.plugged_into.get() else { continue };
            let kinds = (
                note.kind.get().and_then(|kind| catalogue.device(kind)),
                wiring.devices.get(&outlet.device).and_then(|o| catalogue.device(o.kind.get()?)?.load(&outlet.load)),
            );
            let (Some(plug), Some(socket)) = kinds else {
                self.unknown(Unknown::Plug(*id), Why::NotThere, Vec::new());
                continue;
            };
            self.plug(*id, plug, outlet.device, socket)?;
        }
        Ok(())
    }

    fn plug(&mut self, id: ThingId, plug: &DeviceType, into: ThingId, socket: &Load) -> Result<(), CircuitError> {
        let hots = plug.points.iter().filter(|point| point.role == Role::Hot).count();
        let mut seen = 0;
        let ohms = self.circuit.assumptions.splice_contact.value;
        for point in &plug.points {
            let slot = match point.role {
                Role::Hot => {
                    seen += 1;
                    Some(if seen == 1 { &socket.from } else { &socket.to })
                }
                // Where two hots come out, the neutral has a slot of its own.
                Role::Neutral if hots > 1 => socket.neutral.as_ref(),
                Role::Neutral => Some(&socket.to),
                Role::Ground => socket.ground.as_ref(),
                _ => None,
            };
            let blade: NodeId = self.node(Point::terminal(id, &point.id));
            if let Some(slot) = slot {
                let slot = self.node(Point::terminal(into, slot));
                self.metal(blade, slot, ohms, Part::Plug(id))?;
            }
        }
        Ok(())
    }
}
