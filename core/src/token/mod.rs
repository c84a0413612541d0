//! The text form of events and addresses, and what the names in it mean. Tokens are made of it, and scripts are
//! written in it.

pub mod line;
pub mod path;

pub use line::Line;
