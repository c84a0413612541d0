//! Splices, and supplies other than a panel's breakers.

use super::id::ThingId;
use super::note::Note;
use super::value::{FieldKind, SupplyKind};
use super::wiring::{Lookup, pick};

/// What is known of a splice. Its members are the ends that say they are in it.
#[derive(Debug, Clone)]
pub struct SpliceNote {
    /// Its name.
    pub id: ThingId,
    /// The box that it is in.
    pub in_box: Note<Option<ThingId>>,
    /// Words for it: "grounds", "constant hot".
    pub name: Note<String>,
    /// Its connector's entry in the catalogue, or `soldered`.
    pub connector: Note<String>,
}

impl SpliceNote {
    pub(crate) fn read(id: ThingId, look: &Lookup<'_>) -> Self {
        Self {
            id,
            in_box: look.note(FieldKind::InBox, pick!(InBox)),
            name: look.note(FieldKind::Name, pick!(Name)),
            connector: look.note(FieldKind::Type, pick!(Type)),
        }
    }
}

/// What is known of another supply: a generator, a battery, a cord.
#[derive(Debug, Clone)]
pub struct SupplyNote {
    /// Its name.
    pub id: ThingId,
    /// Words for it.
    pub name: Note<String>,
    /// What it is.
    pub kind: Note<SupplyKind>,
}

impl SupplyNote {
    pub(crate) fn read(id: ThingId, look: &Lookup<'_>) -> Self {
        Self { id, name: look.note(FieldKind::Name, pick!(Name)), kind: look.note(FieldKind::Supply, pick!(Supply)) }
    }
}
