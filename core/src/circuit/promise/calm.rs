//! Positions in which nothing works by itself: no electronic load is starved, no coil moves a contact, no protective
//! device has anything to do. They are solved side by side; what is left is worked out one by one.

use num_complex::Complex64;

use super::super::build::Circuit;
use super::super::connect::{Connectivity, Joined};
use super::super::network::{Element, ElementId, NodeId, State};
use super::super::sweep::Voltages;

/// What would have to be looked at in a position.
pub(super) struct Calm<'a> {
    circuit: &'a Circuit,
    connectivity: &'a Connectivity<'a>,
    legs: Vec<NodeId>,
    /// For each sensor its elements, true if entered at the side before; none where metal could lead round it.
    sensors: Vec<Option<Vec<(&'a Element, bool)>>>,
}

impl<'a> Calm<'a> {
    pub(super) fn new(circuit: &'a Circuit, connectivity: &'a Connectivity<'a>) -> Self {
        let legs = circuit.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg)).collect();
        let element = |(id, forward): &(ElementId, bool)| Some((circuit.network.element(*id)?, *forward));
        let sensors = circuit.ways_of_sensors().iter();
        let sensors =
            sensors.map(|(ways, round)| (!round).then(|| ways.iter().filter_map(element).collect())).collect();
        Self { circuit, connectivity, legs, sensors }
    }

    /// The state in which such a position is solved: every electronic load conducts.
    pub(super) fn state(&self, state: &State) -> State {
        self.circuit.conducting(state)
    }

    /// Whether the voltages of a position are what stays.
    pub(super) fn stays(&self, state: &State, volts: &Voltages<'_>) -> bool {
        let circuit = self.circuit;
        let fed = |e: &super::super::build::Electronic| volts.across(e.from, e.to).norm() >= e.stops_below_volts;
        circuit.followers.is_empty()
            && circuit.electronic.iter().all(fed)
            && self.breakers_carry(state, volts)
            && self.sensors_hold(state, volts)
            && self.all_set(state)
    }

    fn breakers_carry(&self, state: &State, volts: &Voltages<'_>) -> bool {
        let table = &self.circuit.trip_table;
        self.circuit.breakers.iter().all(|breaking| {
            let rating = breaking.rating_amperes.unwrap_or(table.least_rating.value);
            let poles = self.circuit.poles.iter().filter(|pole| pole.handle == breaking.handle);
            let elements = poles.filter_map(|pole| self.circuit.network.element(pole.element));
            let most = elements.map(|element| self.amperes(element, state, volts).norm()).fold(0.0, f64::max);
            most <= table.carries.value * rating
        })
    }

    fn sensors_hold(&self, state: &State, volts: &Voltages<'_>) -> bool {
        self.circuit.sensors.iter().zip(&self.sensors).all(|(sensing, ways)| {
            let Some(ways) = ways else { return false };
            let each = ways.iter().map(|(element, forward)| {
                let amperes = self.amperes(element, state, volts);
                if *forward { amperes } else { -amperes }
            });
            each.sum::<Complex64>().norm() * 1000.0 < sensing.class.holds_below.value
        })
    }

    /// Every device that stays open without power on its line side has it there, through no other such device.
    pub(super) fn all_set(&self, state: &State) -> bool {
        let locking = || self.circuit.sensors.iter().filter(|sensing| sensing.locks_out);
        if locking().next().is_none() {
            return true;
        }
        let open = locking().fold(state.clone(), |state, sensing| state.with(sensing.switch, sensing.opens));
        let joined = self.connectivity.at(&open);
        locking().all(|sensing| self.is_fed(&joined, &sensing.line))
    }

    fn is_fed(&self, joined: &Joined, nodes: &[NodeId]) -> bool {
        nodes.iter().any(|node| self.legs.iter().any(|leg| joined.joined(*leg, *node)))
    }

    fn amperes(&self, element: &Element, state: &State, volts: &Voltages<'_>) -> Complex64 {
        if !element.present(state) {
            return Complex64::ZERO;
        }
        volts.across(element.from, element.to) * element.value.admittance(self.circuit.network.hertz())
    }
}
