//! The circuit, worked out: network, phasor solution, switch table, hazards, expected readings.

pub mod connect;
pub mod network;
mod plan;
pub mod solve;
pub mod table;

pub use connect::{Connectivity, Joined};
pub use network::{Contact, Element, ElementId, Network, NetworkError, NodeId, State, SwitchId, Value};
pub use solve::{Solution, Solver};
pub use table::{Assumed, Assumptions, Conductors, TableError};
