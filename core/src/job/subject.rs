//! What a fact speaks of: a thing, one side of a run, the tip of a conductor; and where tips and probes can be.

use serde::{Deserialize, Serialize};

use super::id::ThingId;

/// One of the two sides of a run. Which is which means nothing beyond telling them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// The side that was noted first.
    Near,
    /// The other one.
    Far,
}

impl Side {
    /// Both sides, near first.
    pub const BOTH: [Self; 2] = [Self::Near, Self::Far];

    /// The other side.
    pub fn other(self) -> Self {
        match self {
            Self::Near => Self::Far,
            Self::Far => Self::Near,
        }
    }
}

/// An end of a conductor. Its identity never depends on the box it is in.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Tip {
    /// One conductor of a run, at one side.
    Wire {
        /// The run.
        run: ThingId,
        /// Which conductor of the run, from 0, in the order of its catalogue entry.
        wire: u8,
        /// At which side.
        side: Side,
    },
    /// A device's own lead, named by its catalogue entry.
    Lead {
        /// The device.
        device: ThingId,
        /// The lead's name in the catalogue.
        lead: String,
    },
}

/// What a fact speaks of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Subject {
    /// A thing with a name of its own.
    Thing(ThingId),
    /// One side of a run.
    Side(ThingId, Side),
    /// An end of a conductor.
    Tip(Tip),
}

impl From<ThingId> for Subject {
    fn from(id: ThingId) -> Self {
        Self::Thing(id)
    }
}

impl From<Tip> for Subject {
    fn from(tip: Tip) -> Self {
        Self::Tip(tip)
    }
}

/// How a conductor is held by a terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Landing {
    /// Looped under a binding screw.
    Screw,
    /// Under a clamp plate.
    Clamp,
    /// Pushed into a spring hole at the back.
    PushIn,
    /// Nobody said.
    NotSaid,
}

/// A bus or bar of a panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bus {
    /// First leg.
    A,
    /// Second leg.
    B,
    /// Third leg of a three-phase panel.
    C,
    /// Neutral bar.
    Neutral,
    /// Equipment ground bar.
    Ground,
}

/// Where an end is. An end is in one place; a splice is the set of ends that say they are in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Place {
    /// In a splice.
    Splice(ThingId),
    /// On a terminal of a device.
    Terminal {
        /// The device.
        device: ThingId,
        /// The terminal's name in the catalogue.
        terminal: String,
        /// How it is held.
        landing: Landing,
    },
    /// On a device, on which terminal is not known yet.
    SomewhereOn(ThingId),
    /// On the grounding screw or clip of a metal box or housing.
    Shell(ThingId),
    /// On a bus or bar of a panel, or of another supply: so it is said where a generator comes in.
    Bus {
        /// The panel's box, or the supply.
        panel: ThingId,
        /// Which bus.
        bus: Bus,
    },
    /// Passes through the box unspliced and goes on as this other tip.
    Through(Tip),
    /// Capped off.
    Capped,
    /// Free and bare.
    Loose,
    /// Cut back or not there at all.
    Absent,
}

/// What a probe touches.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Spot {
    /// A conductor's end.
    Tip(Tip),
    /// A splice, through its connector's test opening or on one of its ends.
    Splice(ThingId),
    /// A terminal, or a receptacle's slot that it feeds.
    Terminal {
        /// The device.
        device: ThingId,
        /// The terminal's name in the catalogue.
        terminal: String,
    },
    /// A metal box or housing.
    Shell(ThingId),
    /// A bus or bar of a panel, or of another supply.
    Bus {
        /// The panel's box, or the supply.
        panel: ThingId,
        /// Which bus.
        bus: Bus,
    },
    /// An independent ground or anything else, in words.
    Other(String),
}

/// Two points between which a meter reads: the first is where the lead is clipped.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// Where the lead is clipped.
    pub from: Spot,
    /// What the probe touches.
    pub to: Spot,
}

/// A thing that promises and trials speak of: a lamp, one half of a duplex, the fan of a fan with light.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LoadPoint {
    /// The device.
    pub device: ThingId,
    /// The load point's name in the catalogue.
    pub load: String,
}

/// One handle of a device: a device with two switches on one yoke has two.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Handle {
    /// The device.
    pub device: ThingId,
    /// The switch's name in the catalogue.
    pub switch: String,
}

/// One handle in one of its positions.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct At {
    /// The handle.
    pub handle: Handle,
    /// The position's name in the catalogue: `up`, `down`, `on`, `off`.
    pub position: String,
}
