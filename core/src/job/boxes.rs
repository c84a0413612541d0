//! Boxes: construction, volume and what bears on their fill.

use super::id::ThingId;
use super::measure::Decimal;
use super::note::Note;
use super::value::{Addition, FedBy, FieldKind, System};
use super::wiring::{Lookup, pick};

/// What is known of a box.
#[derive(Debug, Clone)]
pub struct BoxNote {
    /// Its name.
    pub id: ThingId,
    /// Its tag: `B3`.
    pub tag: Note<String>,
    /// Where it is, in words.
    pub location: Note<String>,
    /// Its entry in the box catalogue.
    pub kind: Note<String>,
    /// Marked volume in cubic inches.
    pub volume: Note<Decimal>,
    /// Rings, extensions, domed covers.
    pub additions: Vec<Note<Addition>>,
    /// Internal cable clamps.
    pub clamps: Note<u8>,
    /// Types of studs and hickeys.
    pub studs: Note<u8>,
    /// Gangs.
    pub gangs: Note<u8>,
    /// Domed luminaire or canopy on it.
    pub canopy: Note<bool>,
    /// Reached without opening the building finish.
    pub accessible: Note<bool>,
    /// Opening under 8 in. in some dimension.
    pub small_opening: Note<bool>,
    /// Low voltage in it.
    pub low_voltage: Note<bool>,
    /// Other circuits in it, in words.
    pub other_circuits: Note<String>,
    /// What feeds it, for a panel.
    pub system: Note<System>,
    /// Sources that were noted to reach it, or not to.
    pub fed_by: Vec<Note<FedBy>>,
}

impl BoxNote {
    pub(crate) fn read(id: ThingId, look: &Lookup<'_>) -> Self {
        Self {
            id,
            tag: look.note(FieldKind::Tag, pick!(Tag)),
            location: look.note(FieldKind::Location, pick!(Location)),
            kind: look.note(FieldKind::Type, pick!(Type)),
            volume: look.note(FieldKind::Volume, pick!(Volume)),
            additions: look.parts(FieldKind::Addition, pick!(Addition)),
            clamps: look.note(FieldKind::Clamps, pick!(Clamps)),
            studs: look.note(FieldKind::Studs, pick!(Studs)),
            gangs: look.note(FieldKind::Gangs, pick!(Gangs)),
            canopy: look.note(FieldKind::Canopy, pick!(Canopy)),
            accessible: look.note(FieldKind::Accessible, pick!(Accessible)),
            small_opening: look.note(FieldKind::SmallOpening, pick!(SmallOpening)),
            low_voltage: look.note(FieldKind::LowVoltage, pick!(LowVoltage)),
            other_circuits: look.note(FieldKind::OtherCircuits, pick!(OtherCircuits)),
            system: look.note(FieldKind::System, pick!(System)),
            fed_by: look.parts(FieldKind::FedBy, pick!(FedBy)),
        }
    }
}
