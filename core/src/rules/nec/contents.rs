//! What is in a box, as 314.16(B) counts it.

use std::collections::BTreeMap;

use crate::job::{ThingId, Tip};

/// A yoke or strap with the device on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Yoke {
    /// The device, where the yoke comes from a noted one.
    pub device: Option<ThingId>,
    /// Gangs that it needs.
    pub gangs: u8,
    /// The largest conductor connected to the device; `None`: not known yet.
    pub size: Option<String>,
}

impl Yoke {
    /// A single-gang yoke whose largest conductor is `size`.
    pub fn single(size: &str) -> Self {
        Self { device: None, gangs: 1, size: Some(size.to_owned()) }
    }
}

/// Something in a box whose room cannot be counted.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gap {
    /// Nobody said which conductors this run brings.
    Run(ThingId),
    /// One conductor of a run is not known, or noted twice.
    Wire(Tip),
    /// Nobody said what this device is, or the catalogue does not know it.
    Device(ThingId),
    /// A size that the table of the code does not have.
    Size(String),
    /// A yoke or terminal block in a box without any conductor noted.
    Bare,
}

/// What is in a box. Sizes are the names of the size table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Contents {
    /// Conductors from outside that end, are spliced, or pass through with a short loop: how many by size.
    pub conductors: BTreeMap<String, u32>,
    /// Unbroken loops of twice the free length or more, by size.
    pub loops: BTreeMap<String, u32>,
    /// Conductors that pass through unbroken and whose loop nobody measured, by size.
    pub unmeasured: BTreeMap<String, u32>,
    /// Wires that come in from a luminaire or other equipment on the box, by size.
    pub fixture_wires: BTreeMap<String, u32>,
    /// Equipment grounding conductors that come in from a luminaire, by their sizes.
    pub fixture_grounds: Vec<String>,
    /// The luminaire has a dome or canopy; `None`: not known.
    pub canopy: Option<bool>,
    /// Equipment grounding conductors that come in, by their sizes.
    pub grounds: Vec<String>,
    /// Those of an isolated-ground set.
    pub isolated_grounds: Vec<String>,
    /// Internal cable clamps; `None`: not known.
    pub clamps: Option<bool>,
    /// Types of studs and hickeys; `None`: not known, and the box could hold one.
    pub stud_types: Option<u8>,
    /// Yokes.
    pub yokes: Vec<Yoke>,
    /// Terminal-block assemblies with the largest conductor on each.
    pub blocks: Vec<Option<String>>,
    /// What cannot be counted.
    pub gaps: Vec<Gap>,
}

impl Contents {
    /// Nothing in the box, and everything known: no clamps, no stud, no canopy.
    pub fn none() -> Self {
        Self { canopy: Some(false), clamps: Some(false), stud_types: Some(0), ..Self::default() }
    }

    /// Every size of conductor that comes in, grounds too.
    pub(super) fn sizes(&self) -> impl Iterator<Item = &str> {
        let counted = [&self.conductors, &self.loops, &self.unmeasured, &self.fixture_wires];
        let counted = counted.into_iter().flat_map(BTreeMap::keys);
        counted.chain(&self.grounds).chain(&self.isolated_grounds).chain(&self.fixture_grounds).map(String::as_str)
    }
}
