//! What protective devices do by themselves: ground-fault devices, breakers and fuses, and what is left when power
//! comes on.
//!
//! A ground-fault device sees the sum of the currents through its sensor, as the catalogue says which points are
//! before and which after it. Besides, it looks for a way of metal round the sensor, without any load. A breaker
//! carries, or opens in time, or at once. What is not sure is told as such and is left closed.

mod operate;
mod table;

use std::sync::OnceLock;

use num_complex::Complex64;

use crate::catalogue::GroundedNeutral;
use crate::job::Handle;

use super::build::{Breaking, Circuit, LoadNode, Sensing};
use super::connect::Connectivity;
use super::network::{Element, ElementId, NodeId, Value};
use super::point::{Part, Step};
use super::solve::Solution;

pub use operate::Operated;
pub use table::{OvercurrentRow, SensorClass, TripTable};

/// What a protective device sees.
#[derive(Debug, Clone, PartialEq)]
pub enum Sees {
    /// More current goes out through its sensor than comes back.
    Difference {
        /// Milliamperes RMS.
        milliamperes: f64,
    },
    /// Metal leads round its sensor: a protected neutral is joined to ground, or to the neutral before it.
    WayRound {
        /// Ohms of the way.
        ohms: f64,
        /// The way from the protected side.
        path: Vec<Step>,
    },
    /// The current of its pole that carries most.
    Current {
        /// Amperes RMS.
        amperes: f64,
        /// Its rating; none if nobody said.
        rating_amperes: Option<f64>,
    },
}

/// What it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum When {
    /// It stays closed.
    Holds,
    /// It should open and cannot: its own electronics have no supply.
    NoSupply,
    /// It may open.
    May,
    /// It opens.
    Within {
        /// At the latest after so many seconds.
        seconds: f64,
        /// It may open without delay.
        maybe_at_once: bool,
    },
    /// It opens without delay.
    AtOnce,
}

impl When {
    /// Longest time in seconds until it opens; none if that is not sure.
    pub fn opens_within(self) -> Option<f64> {
        match self {
            Self::Holds | Self::NoSupply | Self::May => None,
            Self::Within { seconds, .. } => Some(seconds),
            Self::AtOnce => Some(0.0),
        }
    }
}

/// What one protective device sees and does.
#[derive(Debug, Clone, PartialEq)]
pub struct Trip {
    /// The contacts that it opens.
    pub handle: Handle,
    /// What it sees.
    pub sees: Sees,
    /// What it does.
    pub when: When,
}

/// Elements through sensors and breakers, found when first asked for. A copy begins empty, so that a circuit with
/// something changed finds its own.
#[derive(Debug, Default)]
pub(super) struct Ways(OnceLock<Found>);

impl Clone for Ways {
    fn clone(&self) -> Self {
        Self::default()
    }
}

/// Elements through a sensor, true if it is entered at the side before; and whether metal could lead round it.
pub(super) type SensorWays = (Vec<(ElementId, bool)>, bool);

#[derive(Debug)]
struct Found {
    sensors: Vec<SensorWays>,
    /// For each breaker its poles.
    breakers: Vec<Vec<ElementId>>,
}

impl Circuit {
    fn found(&self) -> &Found {
        self.ways.0.get_or_init(|| Found {
            sensors: self.sensors.iter().map(|sensing| self.through(sensing)).collect(),
            breakers: self.breakers.iter().map(|breaking| self.poles_of(breaking)).collect(),
        })
    }

    /// For each sensor: the elements through it, true if it is entered at the side before; and whether metal could lead
    /// round it in some position.
    pub(super) fn ways_of_sensors(&self) -> &[SensorWays] {
        &self.found().sensors
    }

    fn poles_of(&self, breaking: &Breaking) -> Vec<ElementId> {
        self.poles.iter().filter(|pole| pole.handle == breaking.handle).map(|pole| pole.element).collect()
    }

    fn through(&self, sensing: &Sensing) -> SensorWays {
        let device = sensing.handle.device;
        let own = self.elements_where(|part| match part {
            Part::Contact(handle) => handle.device == device,
            Part::Inside(id) => *id == device,
            _ => false,
        });
        let (before, after) = (&sensing.before, &sensing.after);
        let enters = |element: &Element| {
            if before.contains(&element.from) && after.contains(&element.to) {
                return Some(true);
            }
            (after.contains(&element.from) && before.contains(&element.to)).then_some(false)
        };
        let through = |id: ElementId| Some((id, self.network.element(id).and_then(enters)?));
        let ways: Vec<_> = own.into_iter().filter_map(through).collect();
        let ids: Vec<ElementId> = ways.iter().map(|(id, _)| *id).collect();
        let ever = Connectivity::new(&self.network, &ids).ever();
        let round = after.iter().any(|after| before.iter().any(|before| ever.joined(*after, *before)));
        (ways, round)
    }

    /// What every protective device sees and does in a solution; also those that hold.
    pub fn protection(&self, solution: &Solution<'_>) -> Vec<Trip> {
        let found = self.found();
        let sensors = self.sensors.iter().zip(&found.sensors);
        let sensors = sensors.filter_map(|(sensing, (ways, round))| self.sensed(solution, sensing, ways, *round));
        let breakers = self.breakers.iter().zip(&found.breakers);
        let breakers = breakers.filter_map(|(breaking, poles)| self.carried(solution, breaking, poles));
        sensors.chain(breakers).collect()
    }

    /// What opens, may open or cannot in a solution, ground-fault devices first.
    pub fn trips(&self, solution: &Solution<'_>) -> Vec<Trip> {
        self.protection(solution).into_iter().filter(|trip| trip.when != When::Holds).collect()
    }

    /// What a meter of `burden_ohms` between two nodes makes open or perhaps open that would not without it.
    pub fn meter_trips(&self, solution: &Solution<'_>, from: NodeId, to: NodeId, burden_ohms: f64) -> Vec<Trip> {
        if self.sensors.is_empty() {
            return Vec::new();
        }
        let before = self.protection(solution);
        let was = |trip: &Trip| {
            let same = before.iter().find(|other| other.handle == trip.handle && same_kind(&other.sees, &trip.sees));
            same.map_or(When::Holds, |other| other.when)
        };
        // A burden that no meter has, or both probes on one point, changes nothing.
        let after = self.trips(&solution.with_added(from, to, Value::Resistance { ohms: burden_ohms }));
        let sure = |when: When| when.opens_within().is_some();
        let new = |trip: &Trip| if sure(trip.when) { !sure(was(trip)) } else { was(trip) == When::Holds };
        after.into_iter().filter(new).collect()
    }

    fn sensed(
        &self,
        solution: &Solution<'_>,
        sensing: &Sensing,
        ways: &[(ElementId, bool)],
        round: bool,
    ) -> Option<Trip> {
        if solution.state().position(sensing.switch) == sensing.opens {
            return None;
        }
        let part = |(id, forward): &(ElementId, bool)| {
            let amperes = solution.amperes(*id);
            if *forward { amperes } else { -amperes }
        };
        let sum: Complex64 = ways.iter().map(part).sum();
        let milliamperes = sum.norm() * 1000.0;
        let class = &sensing.class;
        let mut when = if milliamperes < class.holds_below.value {
            When::Holds
        } else if milliamperes < class.trips_from.value {
            When::May
        } else {
            When::Within { seconds: class.seconds(milliamperes), maybe_at_once: false }
        };
        let mut sees = Sees::Difference { milliamperes };
        if round && when.opens_within().is_none() {
            let way = self.way_round(solution, sensing, ways);
            if let Some((ohms, path)) = way.filter(|_| sensing.grounded_neutral != GroundedNeutral::Holds) {
                let sure = sensing.grounded_neutral == GroundedNeutral::Trips && ohms <= class.grounded_neutral.value;
                sees = Sees::WayRound { ohms, path };
                // The standard's time for the least difference that trips.
                let seconds = class.seconds(class.trips_from.value);
                when = if sure { When::Within { seconds, maybe_at_once: false } } else { When::May };
            }
        }
        if when != When::Holds && !self.is_supplied(solution, sensing) {
            when = When::NoSupply;
        }
        Some(Trip { handle: sensing.handle.clone(), sees, when })
    }

    /// Metal that leads from the protected side to the side before, in the positions of a solution, and its ohms.
    fn way_round(
        &self,
        solution: &Solution<'_>,
        sensing: &Sensing,
        ways: &[(ElementId, bool)],
    ) -> Option<(f64, Vec<Step>)> {
        let without: Vec<ElementId> = ways.iter().map(|(id, _)| *id).collect();
        let metal = Connectivity::new(&self.network, &without);
        let joined = metal.at(solution.state());
        let pairs = sensing.after.iter().flat_map(|after| sensing.before.iter().map(move |before| (*after, *before)));
        let (after, before) = pairs.into_iter().find(|(after, before)| joined.joined(*after, *before))?;
        let way = metal.path(solution.state(), after, before)?;
        let ohms = |id: &ElementId| match self.network.element(*id).map(|element| element.value) {
            Some(Value::Metal { ohms }) => ohms,
            _ => 0.0,
        };
        Some((way.iter().map(ohms).sum(), self.steps(after, &way)))
    }

    /// Its own electronics have some voltage that is more than a ghost. A device whose entry names no supply needs none.
    fn is_supplied(&self, solution: &Solution<'_>, sensing: &Sensing) -> bool {
        let load = sensing.supply.as_ref().and_then(|point| self.loads.get(point));
        let (dead_part, burden) = (self.assumptions.dead_part.value, self.assumptions.low_impedance_meter.value);
        let volts = |load: &LoadNode| solution.across_burdened(load.from, load.to, burden).norm();
        load.is_none_or(|load| volts(load) >= dead_part * load.volts)
    }

    fn carried(&self, solution: &Solution<'_>, breaking: &Breaking, poles: &[ElementId]) -> Option<Trip> {
        if solution.state().position(breaking.switch) == breaking.opens {
            return None;
        }
        let amperes = poles.iter().map(|id| solution.amperes(*id).norm()).fold(0.0, f64::max);
        let table = &self.trip_table;
        let when = if let Some(rating) = breaking.rating_amperes {
            overcurrent(table, amperes, rating)
        } else {
            // Whatever its rating is, it lies between these.
            match overcurrent(table, amperes, table.most_rating.value) {
                When::Holds if overcurrent(table, amperes, table.least_rating.value) == When::Holds => When::Holds,
                When::Holds => When::May,
                when => when,
            }
        };
        let sees = Sees::Current { amperes, rating_amperes: breaking.rating_amperes };
        Some(Trip { handle: breaking.handle.clone(), sees, when })
    }
}

fn same_kind(one: &Sees, other: &Sees) -> bool {
    matches!(one, Sees::Current { .. }) == matches!(other, Sees::Current { .. })
}

fn overcurrent(table: &TripTable, amperes: f64, rating_amperes: f64) -> When {
    let times = amperes / rating_amperes;
    if times <= table.carries.value {
        When::Holds
    } else if times >= table.magnetic_does.value {
        When::AtOnce
    } else {
        let maybe_at_once = times >= table.magnetic_may.value;
        let within = table.opens_within(times, rating_amperes);
        within.map_or(When::May, |seconds| When::Within { seconds, maybe_at_once })
    }
}

#[cfg(test)]
mod tests;
