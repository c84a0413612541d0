//! Panels: sources, buses, bonds; and where a run's conductors land when only its breaker is named.

use num_complex::Complex64;

use crate::catalogue::{DeviceGroup, PointForm, Role};
use crate::job::value::System;
use crate::job::{Bus, Colour, Place, Side, Spot, ThingId, Tip};

use super::super::network::Value;
use super::super::point::{Part, Point, Taken, Unknown, Why};
use super::super::table::Assumptions;
use super::{Builder, CircuitError, PanelNode};

/// Legs of a system with their phase in degrees.
pub(super) fn legs(system: System) -> &'static [(Bus, f64)] {
    match system {
        System::SplitPhase => &[(Bus::A, 0.0), (Bus::B, 180.0)],
        System::Wye208 => &[(Bus::A, 0.0), (Bus::B, -120.0), (Bus::C, 120.0)],
        System::Single230 => &[(Bus::A, 0.0)],
    }
}

/// Volts from a leg to neutral.
pub(super) fn nominal(a: &Assumptions, system: System) -> f64 {
    match system {
        System::SplitPhase => a.split_phase_nominal.value,
        System::Wye208 => a.wye_nominal.value,
        System::Single230 => a.single_nominal.value,
    }
}

impl Builder<'_> {
    /// Makes every panel, and its source unless another panel feeds it.
    pub(super) fn panels(&mut self) -> Result<(), CircuitError> {
        let panels: Vec<ThingId> = self
            .wiring
            .boxes
            .iter()
            .filter(|(_, note)| {
                let kind = note.kind.get().and_then(|kind| self.catalogue.box_type(kind));
                note.system.is_said() || kind.is_some_and(|kind| kind.panel)
            })
            .map(|(id, _)| *id)
            .collect();
        for panel in &panels {
            self.panel(*panel)?;
        }
        if self.circuit.panels.values().all(|panel| panel.supplies.is_empty()) {
            self.unknown(Unknown::Source, Why::NotSaid, Vec::new());
        }
        Ok(())
    }

    fn panel(&mut self, panel: ThingId) -> Result<(), CircuitError> {
        let noted = self.wiring.boxes.get(&panel).and_then(|note| note.system.get().copied());
        let system = noted.unwrap_or(System::SplitPhase);
        if noted.is_none() {
            self.circuit.taken.insert(Taken::System(panel));
        }
        let buses: Vec<_> = legs(system).iter().map(|(bus, _)| (*bus, self.node(Point::bus(panel, *bus)))).collect();
        let neutral = self.node(Point::bus(panel, Bus::Neutral));
        let ground = self.node(Point::bus(panel, Bus::Ground));
        // The enclosure is bonded to the ground bar.
        let shell = self.node(Point::Spot(Spot::Shell(panel)));
        let contact = self.circuit.assumptions.shell_contact.value;
        self.metal(shell, ground, contact, Part::Inside(panel))?;
        let mut supplies = Vec::new();
        if !self.is_fed(panel) {
            let a = self.circuit.assumptions.clone();
            let volts = nominal(&a, system);
            for ((bus, node), (_, degrees)) in buses.iter().zip(legs(system)) {
                let phasor = Complex64::from_polar(volts, degrees.to_radians());
                let supply = self.circuit.network.source(phasor)?;
                self.keep(Point::Supply { panel, bus: *bus }, supply);
                self.join(supply, *node, Value::Resistance { ohms: a.source_leg.value }, Part::Source(panel))?;
                supplies.push(supply);
            }
            let centre = self.circuit.network.reference();
            self.join(centre, neutral, Value::Resistance { ohms: a.source_neutral.value }, Part::Source(panel))?;
            self.metal(neutral, ground, a.source_bond.value, Part::Bond(panel))?;
            let earth = self.node(Point::Earth);
            self.join(ground, earth, Value::Resistance { ohms: a.electrode.value }, Part::Earth)?;
            self.join(earth, centre, Value::Resistance { ohms: a.transformer_earth.value }, Part::Earth)?;
        }
        self.circuit.panels.insert(panel, PanelNode { system, legs: buses, neutral, ground, supplies, other: None });
        Ok(())
    }

    /// A run from another box lands on its legs.
    fn is_fed(&self, panel: ThingId) -> bool {
        self.wiring.tips.iter().any(|(tip, note)| {
            let Tip::Wire { run, side, .. } = tip else { return false };
            let on_leg = matches!(note.place.get(),
                Some(Place::Bus { panel: on, bus: Bus::A | Bus::B | Bus::C }) if *on == panel);
            let other = self.wiring.runs.get(run).and_then(|run| *run.side(side.other()).in_box.get()?);
            on_leg && other.is_some_and(|other| other != panel)
        })
    }

    /// The bus that a breaker's pole takes: the noted one for the first, the next ones for the others.
    pub(super) fn pole_bus(&self, panel: ThingId, first: Bus, pole: usize) -> Option<Bus> {
        let legs = &self.circuit.panels.get(&panel)?.legs;
        let start = legs.iter().position(|(bus, _)| *bus == first)?;
        legs.get((start + pole) % legs.len()).map(|(bus, _)| *bus)
    }

    /// Where an end in a panel is taken to be: by its colour, on the breaker that its side names.
    pub(super) fn landing_by_colour(&self, tip: &Tip) -> Option<Spot> {
        match tip {
            Tip::Lead { device, lead } => self.tail_landing(*device, lead),
            Tip::Wire { run, wire, side } => self.wire_landing(*run, *wire, *side),
        }
    }

    /// The neutral tail of a breaker goes to the neutral bar.
    fn tail_landing(&self, device: ThingId, lead: &str) -> Option<Spot> {
        let kind = self.kind(device)?;
        let neutral = kind.point(lead).is_some_and(|point| point.role == Role::Neutral);
        let panel = self.panel_of(device)?;
        (kind.group == DeviceGroup::Overcurrent && neutral).then_some(Spot::Bus { panel, bus: Bus::Neutral })
    }

    fn wire_landing(&self, run: ThingId, wire: u8, side: Side) -> Option<Spot> {
        let breaker = *self.wiring.runs.get(&run)?.side(side).feed.get()?;
        let kind = self.kind(breaker)?;
        let panel = self.panel_of(breaker)?;
        let conductors = self.conductors_of(run);
        let role = |n: u8| {
            let conductor = conductors.get(&n)?.as_ref()?;
            let tip = Tip::Wire { run, wire: n, side };
            let note = self.wiring.tips.get(&tip);
            let remarked = note.and_then(|note| note.remarked.get().copied().flatten());
            let colour = remarked.or(note.and_then(|note| note.colour.get().copied())).unwrap_or(conductor.colour);
            Some(if conductor.ground {
                Role::Ground
            } else if matches!(colour, Colour::White | Colour::Gray) {
                Role::Neutral
            } else {
                Role::Hot
            })
        };
        match role(wire)? {
            Role::Ground => Some(Spot::Bus { panel, bus: Bus::Ground }),
            Role::Neutral => {
                // The neutral of a protected circuit lands on the breaker itself.
                let own = kind.points.iter().find(|point| point.role == Role::NeutralLoad);
                Some(match own {
                    Some(point) => Spot::Terminal { device: breaker, terminal: point.id.clone() },
                    None => Spot::Bus { panel, bus: Bus::Neutral },
                })
            }
            _ => {
                let before = conductors.keys().filter(|n| **n < wire && role(**n) == Some(Role::Hot)).count();
                let mut terminals =
                    kind.points.iter().filter(|point| point.form == PointForm::Terminal && point.role == Role::Load);
                let terminal = terminals.nth(before)?.id.clone();
                Some(Spot::Terminal { device: breaker, terminal })
            }
        }
    }

    /// The panel that a breaker is in: as noted, or the only one.
    pub(super) fn panel_of(&self, breaker: ThingId) -> Option<ThingId> {
        let noted = self.wiring.devices.get(&breaker)?.in_box.get().copied().flatten();
        match noted.filter(|id| self.circuit.panels.contains_key(id)) {
            Some(panel) => Some(panel),
            None if self.circuit.panels.len() == 1 => self.circuit.panels.keys().next().copied(),
            None => None,
        }
    }
}
