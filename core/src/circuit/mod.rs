//! The circuit, worked out: network, phasor solution, switch table, hazards, expected readings.

mod build;
mod change;
pub mod connect;
mod corners;
mod cover;
mod expect;
mod fault;
mod group;
mod hazard;
#[cfg(test)]
pub(crate) mod invented;
mod lanes;
#[cfg(test)]
mod lantern;
pub mod network;
mod ohms;
mod order;
#[cfg(test)]
mod physics;
mod plan;
mod point;
mod promise;
mod settle;
pub mod solve;
mod sweep;
pub mod table;
mod trip;
mod walk;

pub use build::{Breaking, Circuit, CircuitError, Follower, HandleNode, LoadNode, PanelNode, Pole, Sensing};
pub use change::Edit;
pub use connect::{Connectivity, Joined};
pub use expect::{Ask, NoPrediction, Prediction, SourceVolts, Volts, expect};
pub use fault::{Fault, FaultError};
pub use group::Group;
pub use hazard::{Blind, Hazard, HazardKind, hazards};
pub use network::{Contact, Element, ElementId, Network, NetworkError, NodeId, State, SwitchId, Value};
pub use ohms::{Amperes, NoOhms, Ohms, expect_amperes, expect_ohms};
pub use point::{Boundary, Part, Point, Positions, Step, Taken, Unknown, Why};
pub use promise::{
    AT_ONCE_SECONDS, Breach, Class, Gets, MOST_COMBINATIONS, Named, NotCovered, Outcome, Parity, Power, SwitchTable,
    TableGroup, TableRow, Verdict, Ways,
};
pub use settle::Settled;
pub use solve::{Solution, Solver};
pub use sweep::Voltages;
pub use table::{Assumed, Assumptions, Conductors, TableError};
pub use trip::{Operated, OvercurrentRow, Sees, SensorClass, Trip, TripTable, When};
