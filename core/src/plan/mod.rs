//! What the program proposes and a person confirms: what each conductor does, how a box is made up, what is written
//! on its tapes. Nothing here is an observation, and what is noted as found is never moved by a proposal.

pub mod role;
pub mod tape;

pub use role::{Duty, Evidence, Flow, Role, Roles};
pub use tape::Tape;
