//! The three calls that shells make: open a notebook, show a screen, send an event.

use crate::job::Wall;

/// What the core cannot make itself: time and randomness come in from outside.
pub trait Outside: Send + Sync {
    /// The wall clock now.
    fn now(&self) -> Wall;
    /// Sixteen random bytes from a cryptographic source.
    fn random(&self) -> [u8; 16];
}

/// Why nothing was done. One clear sentence each; nothing noted before is harmed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The input is wrong: change it and send again.
    #[error("{0}")]
    Input(String),
    /// The storage failed: free space, check the disk, open again.
    #[error("{0}")]
    Storage(String),
    /// The file is not one of ours, damaged or newer: it was left as it is.
    #[error("{0}")]
    NotOurs(String),
}
