//! Ends of conductors: where each is, what is written on it.

use super::measure::Decimal;
use super::note::Note;
use super::subject::Place;
use super::value::{Colour, FieldKind};
use super::wiring::{Lookup, pick};

/// What is known of an end.
#[derive(Debug, Clone)]
pub struct TipNote {
    /// Where it is.
    pub place: Note<Place>,
    /// The tape as written; `Some(None)`: looked at, nothing written.
    pub label: Note<Option<String>>,
    /// What it was re-marked with; `Some(None)`: looked at, not re-marked.
    pub remarked: Note<Option<Colour>>,
    /// Its colour where it differs from its run's.
    pub colour: Note<Colour>,
    /// Free conductor in the box, in inches.
    pub free_length: Note<Decimal>,
    /// Torque at its terminal, in pound-force inches.
    pub torque: Note<Decimal>,
}

impl TipNote {
    pub(crate) fn read(look: &Lookup<'_>) -> Self {
        Self {
            place: look.note(FieldKind::Place, pick!(Place)),
            label: look.note(FieldKind::Label, pick!(Label)),
            remarked: look.note(FieldKind::Remarked, pick!(Remarked)),
            colour: look.note(FieldKind::Colour, pick!(Colour)),
            free_length: look.note(FieldKind::FreeLength, pick!(FreeLength)),
            torque: look.note(FieldKind::Torque, pick!(Torque)),
        }
    }
}
