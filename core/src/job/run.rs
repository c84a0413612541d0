//! Runs: cables, raceways, single conductors, pigtails; and their two sides.

use std::collections::BTreeMap;

use super::id::ThingId;
use super::note::Note;
use super::subject::{Side, Subject};
use super::value::{Conductor, EntryPoint, FieldKind, Length};
use super::wiring::{Lookup, pick};

/// What is known of one side of a run.
#[derive(Debug, Clone)]
pub struct SideNote {
    /// The box; `Some(None)`: said to be not known yet.
    pub in_box: Note<Option<ThingId>>,
    /// The letter there.
    pub letter: Note<String>,
    /// Where it enters.
    pub enters_at: Note<EntryPoint>,
    /// The breaker that it is said to come from, at a panel.
    pub feed: Note<ThingId>,
}

/// What is known of a run.
#[derive(Debug, Clone)]
pub struct RunNote {
    /// Its name.
    pub id: ThingId,
    /// Its entry in the run catalogue.
    pub kind: Note<String>,
    /// Its length.
    pub length: Note<Length>,
    /// Conductors noted one by one: all of a raceway's, or what differs in a cable.
    pub wires: BTreeMap<u8, Note<Conductor>>,
    /// How it is laid.
    pub method: Note<String>,
    /// Condition of its insulation.
    pub insulation: Note<String>,
    /// The raceway serves as equipment ground.
    pub ground_path: Note<bool>,
    /// The side that was noted first.
    pub near: SideNote,
    /// The other side.
    pub far: SideNote,
}

impl RunNote {
    pub(crate) fn read(id: ThingId, look: &Lookup<'_>) -> Self {
        let side = |side: Side| {
            let look = Lookup::new(look.notes, Subject::Side(id, side), look.chain);
            SideNote {
                in_box: look.note(FieldKind::InBox, pick!(InBox)),
                letter: look.note(FieldKind::Letter, pick!(Letter)),
                enters_at: look.note(FieldKind::EntersAt, pick!(EntersAt)),
                feed: look.note(FieldKind::Feed, pick!(Feed)),
            }
        };
        let wires = look.notes.fields(&look.of, FieldKind::Wire).into_iter().filter_map(|field| {
            let super::value::Part::Number(n) = field.part else { return None };
            let take = |value: &super::value::Value| match value {
                super::value::Value::Wire(wire) => Some(wire.conductor.clone()),
                _ => None,
            };
            let note = look.note(field, take);
            note.is_said().then_some((n, note))
        });
        Self {
            id,
            kind: look.note(FieldKind::Type, pick!(Type)),
            length: look.note(FieldKind::Length, pick!(Length)),
            wires: wires.collect(),
            method: look.note(FieldKind::Method, pick!(Method)),
            insulation: look.note(FieldKind::Insulation, pick!(Insulation)),
            ground_path: look.note(FieldKind::GroundPath, pick!(GroundPath)),
            near: side(Side::Near),
            far: side(Side::Far),
        }
    }

    /// What is known of one side.
    pub fn side(&self, side: Side) -> &SideNote {
        match side {
            Side::Near => &self.near,
            Side::Far => &self.far,
        }
    }

    /// Both sides are in one box: a pigtail or a jumper.
    pub fn is_inside(&self) -> bool {
        let near = self.near.in_box.get().copied().flatten();
        near.is_some() && near == self.far.in_box.get().copied().flatten()
    }
}
