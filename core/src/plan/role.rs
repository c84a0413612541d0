//! What each conductor of a wiring does, and how that is known.

use std::collections::BTreeMap;

use crate::job::{LoadPoint, ThingId, Tip};

/// What a conductor does, in the order in which its splice is folded into the box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Duty {
    /// Equipment ground.
    Ground,
    /// Grounded conductor of a circuit.
    Neutral,
    /// Hot in every position of every switch.
    ConstantHot,
    /// Hot as a switch or switches say, on its way to what they switch.
    SwitchedLeg,
    /// Between two switches that work together.
    Traveler,
}

/// How it is known what a conductor does, the strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Evidence {
    /// Followed through splices and devices that are noted.
    Traced,
    /// What was asked for leaves nothing else.
    Scope,
    /// What is written on its tape says so.
    Tape,
    /// Its colour suggests it. Colour is evidence, not fact.
    Colour,
}

/// Which way the power goes at an end, seen from its box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flow {
    /// It brings the power into the box.
    In,
    /// It takes the power onward.
    Out,
}

/// What one end's conductor does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Role {
    /// What it does.
    pub duty: Duty,
    /// How that is known.
    pub evidence: Evidence,
    /// Which way the power goes at this end; nothing where that is not known or means nothing.
    pub flow: Option<Flow>,
    /// The breaker that it belongs to, where one was traced.
    pub breaker: Option<ThingId>,
    /// What a switched leg works, sorted.
    pub loads: Vec<LoadPoint>,
    /// The device at a traveler's other side, or that a switched leg comes from.
    pub device: Option<ThingId>,
}

/// What the conductors of a wiring do; an end that is missing is not known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Roles(pub(crate) BTreeMap<Tip, Role>);

impl Roles {
    /// What an end's conductor does, where anything tells.
    pub fn of_end(&self, tip: &Tip) -> Option<&Role> {
        self.0.get(tip)
    }
}
