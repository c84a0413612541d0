//! What the program proposes and a person confirms: what each conductor does, how a box is made up, what is written
//! on its tapes. Nothing here is an observation, and what is noted as found is never moved by a proposal.

pub mod label;
pub mod makeup;
pub mod role;
mod tape;
mod trace;
mod web;

pub use label::Labels;
pub use role::{Duty, Evidence, Flow, Role, Roles};
