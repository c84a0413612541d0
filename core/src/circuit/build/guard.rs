//! What acts by itself: sensors, breakers and fuses, contacts that a coil or electronics drive.

use crate::catalogue::{DeviceGroup, DeviceType, GroundedNeutral, Role, Sensor, Switch};
use crate::job::{DeviceNote, Handle, LoadPoint, ThingId};

use super::super::network::{NodeId, SwitchId};
use super::super::point::Point;
use super::super::trip::SensorClass;
use super::Builder;

/// A device that opens on a difference of the currents that go through it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensing {
    /// The contacts that it opens.
    pub handle: Handle,
    /// Their switch.
    pub switch: SwitchId,
    /// Position in which they are open.
    pub opens: u8,
    /// Nodes before the sensor.
    pub before: Vec<NodeId>,
    /// Nodes after it.
    pub after: Vec<NodeId>,
    /// The hots before it.
    pub line: Vec<NodeId>,
    /// The hots after it that conductors land on.
    pub load: Vec<NodeId>,
    /// What it draws its own power by.
    pub supply: Option<LoadPoint>,
    /// When it acts.
    pub class: SensorClass,
    /// What a way round the sensor does without a load.
    pub grounded_neutral: GroundedNeutral,
    /// It stays open while its line side has no voltage.
    pub locks_out: bool,
}

/// A breaker's handle or a fuse; its poles are among the circuit's.
#[derive(Debug, Clone, PartialEq)]
pub struct Breaking {
    /// The handle.
    pub handle: Handle,
    /// Its switch.
    pub switch: SwitchId,
    /// Position in which it is open.
    pub opens: u8,
    /// Amperes, noted or the catalogue's; none if neither says.
    pub rating_amperes: Option<f64>,
}

/// A contact set that a load of its own device drives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Follower {
    /// Its switch.
    pub switch: SwitchId,
    /// Position that it falls back to.
    pub released: u8,
    /// Position that a coil pulls it to; none for electronics that hold what was asked for.
    pub pulled_in: Option<u8>,
    /// The load.
    pub load: LoadPoint,
}

fn place_of(switch: &Switch, is: impl Fn(&crate::catalogue::Position) -> bool) -> Option<u8> {
    switch.positions.iter().position(is).and_then(|n| u8::try_from(n).ok())
}

impl Builder<'_> {
    /// Finds everything that acts by itself.
    pub(super) fn guards(&mut self) {
        let (wiring, catalogue) = (self.wiring, self.catalogue);
        for (id, note) in &wiring.devices {
            let Some(kind) = note.kind.get().and_then(|kind| catalogue.device(kind)) else { continue };
            if let Some(sensor) = &kind.sensor {
                self.sensing(*id, kind, sensor);
            }
            if kind.group == DeviceGroup::Overcurrent {
                self.breaking(*id, note, kind);
            }
            self.followers(*id, kind);
        }
    }

    fn sensing(&mut self, id: ThingId, kind: &DeviceType, sensor: &Sensor) {
        let class = sensor.class.as_ref().and_then(|class| self.circuit.trip_table.classes.get(class)).cloned();
        let crosses = |(a, b): &(String, String)| {
            let on = |side: &[String], name: &String| side.contains(name);
            (on(&sensor.before, a) && on(&sensor.after, b)) || (on(&sensor.after, a) && on(&sensor.before, b))
        };
        let opening = |switch: &&Switch| switch.positions.iter().any(|position| position.connects.iter().any(crosses));
        let (Some(class), Some(switch)) = (class, kind.switches.iter().find(opening)) else { return };
        let handle = Handle { device: id, switch: switch.id.clone() };
        let Some(number) = self.circuit.handles.get(&handle).map(|node| node.switch) else { return };
        let Some(opens) = place_of(switch, |position| position.connects.is_empty()) else { return };
        let node = |name: &String| self.circuit.nodes.get(&Point::terminal(id, name)).copied();
        let role = |name: &&String, is: &[Role]| kind.point(name).is_some_and(|point| is.contains(&point.role));
        let supply = kind.loads.iter().find(|load| load.auxiliary).map(|load| load.id.clone());
        let sensing = Sensing {
            switch: number,
            opens,
            before: sensor.before.iter().filter_map(node).collect(),
            after: sensor.after.iter().filter_map(node).collect(),
            line: sensor.before.iter().filter(|name| role(name, &[Role::Line])).filter_map(node).collect(),
            load: sensor.after.iter().filter(|name| role(name, &[Role::Load])).filter_map(node).collect(),
            supply: supply.map(|load| LoadPoint { device: id, load }),
            class,
            grounded_neutral: sensor.grounded_neutral,
            locks_out: sensor.locks_out,
            handle,
        };
        self.circuit.sensors.push(sensing);
    }

    fn breaking(&mut self, id: ThingId, note: &DeviceNote, kind: &DeviceType) {
        let noted = note.rating.get().map(|rating| rating.to_f64()).filter(|amperes| *amperes > 0.0);
        let rating_amperes = noted.or(kind.amperes.map(f64::from));
        for switch in &kind.switches {
            let handle = Handle { device: id, switch: switch.id.clone() };
            let has_poles = self.circuit.poles.iter().any(|pole| pole.handle == handle);
            let number = self.circuit.handles.get(&handle).map(|node| node.switch);
            let opens = place_of(switch, |position| position.connects.is_empty());
            if let (true, Some(switch), Some(opens)) = (has_poles, number, opens) {
                self.circuit.breakers.push(Breaking { handle, switch, opens, rating_amperes });
            }
        }
    }

    fn followers(&mut self, id: ThingId, kind: &DeviceType) {
        for switch in &kind.switches {
            let Some(driven) = &switch.driven_by else { continue };
            let handle = Handle { device: id, switch: switch.id.clone() };
            let number = self.circuit.handles.get(&handle).map(|node| node.switch);
            let released = place_of(switch, |position| position.id == driven.released);
            let pulled_in = driven.pulled_in.as_ref().and_then(|name| place_of(switch, |p| p.id == *name));
            if let (Some(switch), Some(released)) = (number, released) {
                let load = LoadPoint { device: id, load: driven.load.clone() };
                self.circuit.followers.push(Follower { switch, released, pulled_in, load });
            }
        }
    }
}
