//! Devices: switches, receptacles, luminaires, loads, breakers. What their terminals do stands in the catalogue.

use std::collections::BTreeMap;

use super::id::ThingId;
use super::measure::Decimal;
use super::note::Note;
use super::subject::{Bus, LoadPoint};
use super::value::{FieldKind, Part, Value};
use super::wiring::{Lookup, pick};

/// What is known of a device.
#[derive(Debug, Clone)]
pub struct DeviceNote {
    /// Its name.
    pub id: ThingId,
    /// Words for it: "stair light".
    pub name: Note<String>,
    /// Its entry in the device catalogue.
    pub kind: Note<String>,
    /// The box that it is in.
    pub in_box: Note<Option<ThingId>>,
    /// The gang that it sits in, from 1 at the left.
    pub gang: Note<u8>,
    /// Its rating in amperes, where it differs from the catalogue's.
    pub rating: Note<Decimal>,
    /// Its break-off links, whole or not.
    pub links: BTreeMap<String, Note<bool>>,
    /// Watts of its load points.
    pub watts: BTreeMap<String, Note<Decimal>>,
    /// Whether its switches take the catalogue's connections in the listed order.
    pub mapping: BTreeMap<String, Note<bool>>,
    /// Circuit number of a breaker.
    pub number: Note<String>,
    /// The bus that a breaker's first pole takes.
    pub leg: Note<Bus>,
    /// The directory line of a circuit.
    pub directory: Note<String>,
    /// The outlet that it is plugged into.
    pub plugged_into: Note<Option<LoadPoint>>,
}

impl DeviceNote {
    pub(crate) fn read(id: ThingId, look: &Lookup<'_>) -> Self {
        fn named<T: PartialEq>(
            look: &Lookup<'_>,
            kind: FieldKind,
            take: impl Fn(&Value) -> Option<T> + Copy,
        ) -> BTreeMap<String, Note<T>> {
            let fields = look.notes.fields(&look.of, kind).into_iter();
            let parts = fields.filter_map(|field| match &field.part {
                Part::Named(name) => Some((name.clone(), look.note(field.clone(), take))),
                _ => None,
            });
            parts.filter(|(_, note)| note.is_said()).collect()
        }
        Self {
            id,
            name: look.note(FieldKind::Name, pick!(Name)),
            kind: look.note(FieldKind::Type, pick!(Type)),
            in_box: look.note(FieldKind::InBox, pick!(InBox)),
            gang: look.note(FieldKind::Gang, pick!(Gang)),
            rating: look.note(FieldKind::Rating, pick!(Rating)),
            links: named(look, FieldKind::Link, |v| if let Value::Link(link) = v { Some(link.whole) } else { None }),
            watts: named(look, FieldKind::Watts, |v| if let Value::Watts(load) = v { Some(load.watts) } else { None }),
            mapping: named(look, FieldKind::Mapping, |v| match v {
                Value::Mapping(mapping) => Some(mapping.listed),
                _ => None,
            }),
            number: look.note(FieldKind::Number, pick!(Number)),
            leg: look.note(FieldKind::Leg, pick!(Leg)),
            directory: look.note(FieldKind::Directory, pick!(Directory)),
            plugged_into: look.note(FieldKind::PluggedInto, pick!(PluggedInto)),
        }
    }
}
