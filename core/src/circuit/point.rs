//! What nodes and elements of a circuit are to the person who works on it: points, parts, steps of a path.

use crate::job::{At, Bus, Handle, LoadPoint, Spot, ThingId, Tip};

/// What a node of the network is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Point {
    /// Something that a probe can touch. A device's lead has two: its tip, and the terminal of the same name inside.
    Spot(Spot),
    /// Inside a long conductor.
    Middle {
        /// The run.
        run: ThingId,
        /// Which conductor.
        wire: u8,
    },
    /// Before the source's own impedance.
    Supply {
        /// The panel.
        panel: ThingId,
        /// Which leg.
        bus: Bus,
    },
    /// The earth.
    Earth,
}

impl From<Spot> for Point {
    fn from(spot: Spot) -> Self {
        Self::Spot(spot)
    }
}

impl Point {
    /// The spot, if a probe can touch it.
    pub fn spot(&self) -> Option<&Spot> {
        match self {
            Self::Spot(spot) => Some(spot),
            Self::Middle { .. } | Self::Supply { .. } | Self::Earth => None,
        }
    }

    /// A terminal of a device, or the inner side of a lead.
    pub fn terminal(device: ThingId, terminal: &str) -> Self {
        Self::Spot(Spot::Terminal { device, terminal: terminal.to_owned() })
    }

    /// A bus of a panel.
    pub fn bus(panel: ThingId, bus: Bus) -> Self {
        Self::Spot(Spot::Bus { panel, bus })
    }

    /// An end.
    pub fn tip(tip: &Tip) -> Self {
        Self::Spot(Spot::Tip(tip.clone()))
    }
}

/// What an element of the network is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// A conductor of a run.
    Conductor {
        /// The run.
        run: ThingId,
        /// Which conductor.
        wire: u8,
    },
    /// An end in the place where it is noted: in a splice, under a screw.
    Joint(Tip),
    /// A conductor that passes through a box.
    Through(Tip),
    /// A contact of a switch or breaker.
    Contact(Handle),
    /// A break-off link.
    Link {
        /// The device.
        device: ThingId,
        /// The link's name in the catalogue.
        link: String,
    },
    /// A join or lead inside a device.
    Inside(ThingId),
    /// A load.
    Load(LoadPoint),
    /// A blade of a plug in its outlet.
    Plug(ThingId),
    /// A yoke or housing that touches a metal box.
    Yoke(ThingId),
    /// A metal raceway or sheath.
    Sheath(ThingId),
    /// A breaker's stab on its bus.
    Stab(ThingId),
    /// The bond of neutral and ground at the source.
    Bond(ThingId),
    /// The source's own impedance.
    Source(ThingId),
    /// The way through the earth.
    Earth,
    /// Capacitance of a run.
    Stray(ThingId),
    /// Something that a fault put between two points.
    Bridge,
    /// A guess at an unknown end.
    Guess,
}

/// One step of a path, from one point to another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Step {
    /// Where it begins.
    pub from: Point,
    /// What it goes through.
    pub part: Part,
    /// Where it ends.
    pub to: Point,
}

/// Positions of some handles, in the order of the handles.
pub type Positions = Vec<At>;

/// Why nobody knows what is at an end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Nobody said.
    NotSaid,
    /// Unlike values are noted.
    Twice,
    /// It is on a device, on which terminal nobody said.
    SomewhereOn(ThingId),
    /// It is said to be in or on something that is not there, or on a terminal that the device does not have.
    NotThere,
    /// What sort of thing it is nobody said.
    KindNotKnown,
}

/// A place where the map ends. Nothing is claimed across it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Boundary {
    /// What is not known.
    pub of: Unknown,
    /// Why.
    pub why: Why,
}

/// What is not known at a boundary.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unknown {
    /// Where an end is.
    Tip(Tip),
    /// What a device is.
    Device(ThingId),
    /// How many conductors a run has.
    Run(ThingId),
    /// Whether a link is whole.
    Link {
        /// The device.
        device: ThingId,
        /// The link's name in the catalogue.
        link: String,
    },
    /// Whether or where a load is plugged in.
    Plug(ThingId),
    /// What feeds the circuit: no panel is noted.
    Source,
    /// Where another supply comes in: a generator, a cord, another feed.
    Supply(ThingId),
}

/// Something that was taken for so, though nobody noted it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Taken {
    /// An end lands in the panel where its colour says.
    Landing {
        /// The end.
        tip: Tip,
        /// Where it was taken to be.
        at: Spot,
    },
    /// Length of a run.
    Length(ThingId),
    /// Size of a conductor.
    Size {
        /// The run.
        run: ThingId,
        /// Which conductor.
        wire: u8,
    },
    /// The bus of a breaker's first pole.
    Leg(ThingId),
    /// What feeds a panel.
    System(ThingId),
    /// Watts of a load: the catalogue's.
    Watts(LoadPoint),
}
