//! What is known of one value: not said, said, or noted twice with unlike values.

use super::entry::{How, Layer};
use super::id::FactRef;

/// Where a value comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Basis {
    /// The layer that it was said in: perhaps one that the asked layer looks through to.
    pub layer: Layer,
    /// How it is known.
    pub how: How,
    /// The fact.
    pub fact: FactRef,
}

/// What is known of one value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note<T> {
    /// Nobody said.
    NotSaid,
    /// Said once, or several times alike.
    Said(T, Basis),
    /// Unlike values stand beside each other until someone confirms one.
    Twice(Vec<(T, Basis)>),
}

impl<T> Note<T> {
    /// The value, if there is just one.
    pub fn get(&self) -> Option<&T> {
        match self {
            Self::Said(value, _) => Some(value),
            Self::NotSaid | Self::Twice(_) => None,
        }
    }

    /// Where the value comes from, if there is just one.
    pub fn basis(&self) -> Option<&Basis> {
        match self {
            Self::Said(_, basis) => Some(basis),
            Self::NotSaid | Self::Twice(_) => None,
        }
    }

    /// Unlike values are noted.
    pub fn is_twice(&self) -> bool {
        matches!(self, Self::Twice(_))
    }

    /// Something is noted, once or twice.
    pub fn is_said(&self) -> bool {
        !matches!(self, Self::NotSaid)
    }
}

impl<T: Clone> Note<T> {
    /// The value, or `otherwise` where nothing single is known.
    pub fn or(&self, otherwise: T) -> T {
        self.get().cloned().unwrap_or(otherwise)
    }
}
