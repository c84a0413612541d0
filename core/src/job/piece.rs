//! Jobs (pieces of work at a site), people, instruments and the site itself.

use std::collections::BTreeMap;

use super::entry::Layer;
use super::id::{Author, ThingId};
use super::measure::Decimal;
use super::note::Note;
use super::notes::Notes;
use super::subject::LoadPoint;
use super::value::{Burden, FieldKind, OpenOrNot, Promised};
use super::wiring::{Lookup, pick};

/// What is known of a job.
#[derive(Debug, Clone)]
pub struct JobNote {
    /// Its name.
    pub id: ThingId,
    /// Words for it: "Back stair, wall light".
    pub name: Note<String>,
    /// The office's number.
    pub number: Note<String>,
    /// The permit.
    pub permit: Note<String>,
    /// The edition of the code that is set for it.
    pub edition: Note<u16>,
    /// The job that it comes after.
    pub after: Note<Option<ThingId>>,
    /// What was asked for, in words.
    pub scope: Note<String>,
    /// Volts above which a dead check is not proven, by this job's policy.
    pub dead_limit: Note<Decimal>,
    /// What was asked of each load point.
    pub promises: BTreeMap<LoadPoint, Promised>,
    /// Boxes to open or to leave alone.
    pub opens: Vec<Note<OpenOrNot>>,
}

impl JobNote {
    /// What is known of `job`.
    pub fn read(notes: &Notes, job: ThingId) -> Self {
        let look = Lookup::new(notes, job, &[Layer::Site]);
        let promises = look.parts(FieldKind::Promise, pick!(Promise)).into_iter();
        let promises = promises.filter_map(|note| note.get().cloned()).map(|promise| (promise.load, promise.rule));
        Self {
            id: job,
            name: look.note(FieldKind::Name, pick!(Name)),
            number: look.note(FieldKind::JobNumber, pick!(JobNumber)),
            permit: look.note(FieldKind::Permit, pick!(Permit)),
            edition: look.note(FieldKind::Edition, pick!(Edition)),
            after: look.note(FieldKind::After, pick!(After)),
            scope: look.note(FieldKind::Scope, pick!(Scope)),
            dead_limit: look.note(FieldKind::DeadLimit, pick!(DeadLimit)),
            promises: promises.collect(),
            opens: look.parts(FieldKind::Open, pick!(Open)),
        }
    }
}

/// What is known of a site.
#[derive(Debug, Clone)]
pub struct SiteNote {
    /// Its name.
    pub id: ThingId,
    /// Words for it.
    pub name: Note<String>,
    /// Street address.
    pub address: Note<String>,
    /// Whom the work is for.
    pub customer: Note<String>,
}

impl SiteNote {
    /// What is known of `site`.
    pub fn read(notes: &Notes, site: ThingId) -> Self {
        let look = Lookup::new(notes, site, &[Layer::Site]);
        Self {
            id: site,
            name: look.note(FieldKind::Name, pick!(Name)),
            address: look.note(FieldKind::Address, pick!(Address)),
            customer: look.note(FieldKind::Customer, pick!(Customer)),
        }
    }
}

/// What is known of a person.
#[derive(Debug, Clone)]
pub struct PersonNote {
    /// The person.
    pub id: ThingId,
    /// Name.
    pub name: Note<String>,
    /// Licence.
    pub licence: Note<String>,
    /// The key that this person's entries are signed with.
    pub key: Note<Author>,
    /// What this person writes on tape, by the words as they are proposed.
    pub abbreviations: BTreeMap<String, String>,
}

impl PersonNote {
    /// What is known of `person`.
    pub fn read(notes: &Notes, person: ThingId) -> Self {
        let look = Lookup::new(notes, person, &[Layer::Site]);
        let short = look.parts(FieldKind::Abbreviation, pick!(Abbreviation)).into_iter();
        let short = short.filter_map(|note| note.get().cloned()).map(|short| (short.of, short.text));
        Self {
            id: person,
            abbreviations: short.collect(),
            name: look.note(FieldKind::Name, pick!(Name)),
            licence: look.note(FieldKind::Licence, pick!(Licence)),
            key: look.note(FieldKind::Key, pick!(Key)),
        }
    }
}

/// What is known of an instrument.
#[derive(Debug, Clone)]
pub struct InstrumentNote {
    /// The instrument.
    pub id: ThingId,
    /// What it is called: "M2".
    pub name: Note<String>,
    /// What it is: `meter`, `proximity`, `proving-unit`.
    pub kind: Note<String>,
    /// Serial number.
    pub serial: Note<String>,
    /// Measurement category.
    pub category: Note<String>,
    /// Input impedances.
    pub burdens: Vec<Note<Burden>>,
}

impl InstrumentNote {
    /// What is known of `instrument`.
    pub fn read(notes: &Notes, instrument: ThingId) -> Self {
        let look = Lookup::new(notes, instrument, &[Layer::Site]);
        Self {
            id: instrument,
            name: look.note(FieldKind::Name, pick!(Name)),
            kind: look.note(FieldKind::Type, pick!(Type)),
            serial: look.note(FieldKind::Serial, pick!(Serial)),
            category: look.note(FieldKind::Category, pick!(Category)),
            burdens: look.parts(FieldKind::Burden, pick!(Burden)),
        }
    }
}
