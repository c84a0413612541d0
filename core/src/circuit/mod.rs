//! The circuit, worked out: network, phasor solution, switch table, hazards, expected readings.

mod build;
pub mod connect;
mod expect;
mod group;
mod hazard;
#[cfg(test)]
mod invented;
#[cfg(test)]
mod lantern;
pub mod network;
mod plan;
mod point;
mod promise;
mod settle;
pub mod solve;
pub mod table;

pub use build::{Circuit, CircuitError, HandleNode, LoadNode, PanelNode, Pole};
pub use connect::{Connectivity, Joined};
pub use expect::{Ask, NoPrediction, Prediction, SourceVolts, Volts, expect};
pub use group::Group;
pub use hazard::{Hazard, HazardKind, hazards};
pub use network::{Contact, Element, ElementId, Network, NetworkError, NodeId, State, SwitchId, Value};
pub use point::{Boundary, Part, Point, Positions, Step, Taken, Unknown, Why};
pub use promise::{
    Breach, Class, Gets, MOST_COMBINATIONS, Named, NotCovered, Outcome, Parity, Power, SwitchTable, TableGroup,
    TableRow, Verdict, Ways,
};
pub use settle::Settled;
pub use solve::{Solution, Solver};
pub use table::{Assumed, Assumptions, Conductors, TableError};
