//! Other supplies: generator, inverter, battery, solar, a cord, another feed.
//!
//! Where one comes in is said by the conductors: an end whose place is a bus of the supply, as ends land on the buses
//! of a panel. Then it is a source behind an impedance of its own, and it has a handle: it runs, or it does not. It
//! counts as running until somebody says otherwise, because it may. Without such an end nobody knows where it comes
//! in, and it stays a place where the map ends.
//!
//! Its centre is taken to be held at that of the panel's source, through its own neutral. Two sources that run beside
//! each other are right in what they do to loads and in whether they meet; how a neutral current divides between
//! their neutrals is not.

use std::collections::BTreeSet;

use num_complex::Complex64;

use crate::job::value::System;
use crate::job::{Bus, Handle, Place, ThingId};

use super::super::network::Value;
use super::super::point::{Part, Point, Unknown, Why};
use super::panel::{legs, nominal};
use super::{Builder, CircuitError, HandleNode, PanelNode, Pole};

/// The switch of a supply.
const RUNNING: &str = "running";

impl Builder<'_> {
    /// Makes every other supply of which it is known where it comes in.
    pub(super) fn supplies(&mut self) -> Result<(), CircuitError> {
        let system = self.circuit.panels.values().find(|panel| !panel.supplies.is_empty()).map(|panel| panel.system);
        let wiring = self.wiring;
        for id in wiring.supplies.keys() {
            let places = wiring.tips.values().filter_map(|note| note.place.get());
            let buses: BTreeSet<Bus> = places
                .filter_map(|place| match place {
                    Place::Bus { panel, bus } if panel == id => Some(*bus),
                    _ => None,
                })
                .collect();
            if buses.is_empty() {
                self.unknown(Unknown::Supply(*id), Why::NotSaid, Vec::new());
            } else {
                self.supply(*id, system.unwrap_or(System::SplitPhase), &buses)?;
            }
        }
        Ok(())
    }

    fn supply(&mut self, id: ThingId, system: System, used: &BTreeSet<Bus>) -> Result<(), CircuitError> {
        let volts = nominal(&self.circuit.assumptions, system);
        let (leg_ohms, neutral_ohms) =
            (self.circuit.assumptions.supply_leg.value, self.circuit.assumptions.supply_neutral.value);
        let neutral = self.node(Point::bus(id, Bus::Neutral));
        let ground = self.node(Point::bus(id, Bus::Ground));
        let centre = self.circuit.network.reference();
        self.join(centre, neutral, Value::Resistance { ohms: neutral_ohms }, Part::Source(id))?;
        let handle = Handle { device: id, switch: RUNNING.to_owned() };
        let switch = self.circuit.network.switch(2)?;
        let positions = vec!["on".to_owned(), "off".to_owned()];
        let node = HandleNode { switch, positions, rest: 0, automatic: true, mapped: true };
        self.circuit.handles.insert(handle.clone(), node);
        let (mut buses, mut supplies) = (Vec::new(), Vec::new());
        for (bus, degrees) in legs(system).iter().filter(|(bus, _)| used.contains(bus)) {
            let leg = self.node(Point::bus(id, *bus));
            let source = self.circuit.network.source(Complex64::from_polar(volts, degrees.to_radians()))?;
            self.keep(Point::Supply { panel: id, bus: *bus }, source);
            let value = Value::Resistance { ohms: leg_ohms };
            let element = self.circuit.network.contact((source, leg), value, switch, &[0])?;
            self.circuit.parts.push(Part::Source(id));
            self.circuit.poles.push(Pole { breaker: id, handle: handle.clone(), leg: (id, *bus), load: leg, element });
            buses.push((*bus, leg));
            supplies.push(source);
        }
        let own = self.wiring.supplies.get(&id).and_then(|note| note.kind.get().copied());
        self.circuit.panels.insert(id, PanelNode { system, legs: buses, neutral, ground, supplies, other: Some(own) });
        Ok(())
    }
}
