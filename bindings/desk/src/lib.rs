//! The desk: the notebook's screens on a loopback page, and what the core needs from this machine.

pub mod outside;
pub mod page;
