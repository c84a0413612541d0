//! The wiring of a site seen from one layer: every noun with what is known of it, resolved once, so that the
//! rooms above work on plain data.

use std::collections::{BTreeMap, BTreeSet};

use super::boxes::BoxNote;
use super::device::DeviceNote;
use super::entry::Layer;
use super::homes::{Homes, Seal, by_gang, by_letter};
use super::id::ThingId;
use super::note::Note;
use super::notes::{Fields, Notes, note_through};
use super::piece::{JobNote, PersonNote};
use super::run::RunNote;
use super::splice::{SpliceNote, SupplyNote};
use super::subject::{LoadPoint, Place, Side, Subject, Tip};
use super::tip::TipNote;
use super::value::{Field, FieldKind, Kind, Promised, Value};

/// Picks the inner value out of one kind of [`Value`].
macro_rules! pick {
    ($kind:ident) => {
        |value: &$crate::job::value::Value| match value {
            $crate::job::value::Value::$kind(inner) => Some(inner.clone()),
            _ => None,
        }
    };
}
pub(crate) use pick;

/// Looks values of one subject up in one layer.
pub(crate) struct Lookup<'a> {
    pub(crate) notes: &'a Notes,
    pub(crate) of: Subject,
    /// All that is said of the subject, found once for its many fields.
    said: Option<&'a Fields>,
    /// The layers that are looked through, the asked one first.
    pub(crate) chain: &'a [Layer],
}

impl<'a> Lookup<'a> {
    /// Makes ready to look a subject up through the layers of `chain`.
    pub(crate) fn new(notes: &'a Notes, of: impl Into<Subject>, chain: &'a [Layer]) -> Self {
        let of = of.into();
        Self { notes, said: notes.said_of(&of), of, chain }
    }

    /// What is known of a field.
    pub(crate) fn note<T: PartialEq>(&self, field: impl Into<Field>, take: impl Fn(&Value) -> Option<T>) -> Note<T> {
        let layers = self.said.and_then(|fields| fields.get(&field.into()));
        layers.map_or(Note::NotSaid, |layers| note_through(layers, self.chain, take))
    }

    /// What is known of each part of a field.
    pub(crate) fn parts<T: PartialEq>(
        &self,
        kind: FieldKind,
        take: impl Fn(&Value) -> Option<T> + Copy,
    ) -> Vec<Note<T>> {
        let fields = self.notes.fields(&self.of, kind);
        fields.into_iter().map(|field| self.note(field, take)).filter(Note::is_said).collect()
    }
}

/// The wiring of a site seen from one layer.
#[derive(Debug, Clone)]
pub struct Wiring {
    /// The layer.
    pub layer: Layer,
    /// The layers that it looks through to, itself first.
    pub through: Vec<Layer>,
    /// Boxes that are there, panels among them.
    pub boxes: BTreeMap<ThingId, BoxNote>,
    /// Runs, pigtails among them.
    pub runs: BTreeMap<ThingId, RunNote>,
    /// Splices.
    pub splices: BTreeMap<ThingId, SpliceNote>,
    /// Devices, breakers and plugged-in loads among them.
    pub devices: BTreeMap<ThingId, DeviceNote>,
    /// Other supplies.
    pub supplies: BTreeMap<ThingId, SupplyNote>,
    /// Conductor ends of which anything is noted.
    pub tips: BTreeMap<Tip, TipNote>,
    /// What the layer's job was asked for.
    pub promises: BTreeMap<LoadPoint, Promised>,
    /// What packs say that connectors take: (connector, size) to (least, most).
    pub ranges: BTreeMap<(String, String), (u8, u8)>,
    /// What people of the site write on tape, in capitals, to the words that it stands for. What stands for two
    /// different words is not here: nobody can tell which is meant.
    pub tape_words: BTreeMap<String, String>,
    /// What is where, once it no longer changes.
    pub(crate) seal: Seal,
}

impl Wiring {
    /// The wiring seen from `layer`.
    pub fn of(notes: &Notes, layer: Layer) -> Self {
        fn each<T>(
            (notes, chain): (&Notes, &[Layer]),
            things: Option<Vec<ThingId>>,
            read: impl Fn(ThingId, &Lookup<'_>) -> T,
        ) -> BTreeMap<ThingId, T> {
            let things = things.into_iter().flatten();
            things.map(|id| (id, read(id, &Lookup::new(notes, id, chain)))).collect()
        }
        let chain = notes.through(layer);
        let seen = (notes, chain.as_slice());
        let mut things = notes.things_by_kind(layer);
        let runs = each(seen, things.remove(&Kind::Run), RunNote::read);
        let devices = each(seen, things.remove(&Kind::Device), DeviceNote::read);
        let tips = notes.subjects().filter_map(|subject| match subject {
            Subject::Tip(tip) => Some(tip.clone()),
            Subject::Thing(_) | Subject::Side(..) => None,
        });
        let tips = tips.filter(|tip| match tip {
            Tip::Wire { run, .. } => runs.contains_key(run),
            Tip::Lead { device, .. } => devices.contains_key(device),
        });
        let tips = tips.map(|tip| (tip.clone(), TipNote::read(&Lookup::new(notes, tip, &chain)))).collect();
        let job = match layer {
            Layer::Site => None,
            Layer::Found(job) | Layer::Planned(job) | Layer::Left(job) => Some(JobNote::read(notes, job)),
        };
        Self {
            layer,
            through: chain.clone(),
            boxes: each(seen, things.remove(&Kind::Box), BoxNote::read),
            runs,
            splices: each(seen, things.remove(&Kind::Splice), SpliceNote::read),
            devices,
            supplies: each(seen, things.remove(&Kind::Supply), SupplyNote::read),
            tips,
            promises: job.map(|job| job.promises).unwrap_or_default(),
            ranges: Self::ranges(notes),
            tape_words: Self::tape_words_of(notes),
            seal: Seal::default(),
        }
    }

    fn ranges(notes: &Notes) -> BTreeMap<(String, String), (u8, u8)> {
        let sites = notes.things(Kind::Site, Layer::Site);
        let parts = sites
            .into_iter()
            .flat_map(|site| Lookup::new(notes, site, &[Layer::Site]).parts(FieldKind::Range, pick!(Range)));
        let said = parts.filter_map(|note| note.get().cloned());
        said.map(|range| ((range.connector, range.size), (range.least, range.most))).collect()
    }

    /// The own words of everybody noted at the site: whoever reads a tape need not be who wrote it.
    pub(crate) fn tape_words_of(notes: &Notes) -> BTreeMap<String, String> {
        let mut meant: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for person in notes.things(Kind::Person, Layer::Site) {
            for (of, own) in PersonNote::read(notes, person).abbreviations {
                let own = own.to_uppercase().split_whitespace().collect::<Vec<_>>().join(" ");
                meant.entry(own).or_default().insert(of);
            }
        }
        let one = |(own, of): (String, BTreeSet<String>)| (of.len() == 1).then(|| Some((own, of.into_iter().next()?)));
        meant.into_iter().filter_map(one).flatten().filter(|(own, of)| own != of && !own.is_empty()).collect()
    }

    /// Sides of runs in a box, by letter and then by name; pigtails left out.
    pub fn runs_in(&self, id: ThingId) -> Vec<(ThingId, Side)> {
        if let Some(homes) = &self.seal.0 {
            return homes.runs.get(&id).cloned().unwrap_or_default();
        }
        let here = self
            .runs
            .iter()
            .filter(|(_, run)| !run.is_inside())
            .flat_map(|(run, note)| Side::BOTH.map(|side| (*run, side, note.side(side))))
            .filter(|(_, _, side)| side.in_box.get() == Some(&Some(id)))
            .map(|(run, side, note)| (note.letter.get(), run, side));
        by_letter(here.collect())
    }

    /// Pigtails and jumpers inside a box.
    pub fn pigtails_in(&self, id: ThingId) -> Vec<ThingId> {
        if let Some(homes) = &self.seal.0 {
            return homes.pigtails.get(&id).cloned().unwrap_or_default();
        }
        let inside = self.runs.iter().filter(|(_, run)| run.is_inside());
        inside.filter(|(_, run)| run.near.in_box.get() == Some(&Some(id))).map(|(run, _)| *run).collect()
    }

    /// Devices in a box, by gang and then by name.
    pub fn devices_in(&self, id: ThingId) -> Vec<ThingId> {
        if let Some(homes) = &self.seal.0 {
            return homes.devices.get(&id).cloned().unwrap_or_default();
        }
        let here = self.devices.iter().filter(|(_, device)| device.in_box.get() == Some(&Some(id)));
        by_gang(here.map(|(device, note)| (note.gang.or(u8::MAX), *device)).collect())
    }

    /// Splices in a box.
    pub fn splices_in(&self, id: ThingId) -> Vec<ThingId> {
        if let Some(homes) = &self.seal.0 {
            return homes.splices.get(&id).cloned().unwrap_or_default();
        }
        let here = self.splices.iter().filter(|(_, splice)| splice.in_box.get() == Some(&Some(id)));
        here.map(|(splice, _)| *splice).collect()
    }

    /// The ends in a splice.
    pub fn ends_in(&self, splice: ThingId) -> Vec<&Tip> {
        self.tips_where(splice, |place| *place == Place::Splice(splice))
    }

    /// The ends on a terminal.
    pub fn ends_on(&self, on: ThingId, name: &str) -> Vec<&Tip> {
        self.tips_where(
            on,
            |place| matches!(place, Place::Terminal { device, terminal, .. } if *device == on && terminal == name),
        )
    }

    /// The ends on a device's terminals, each with the terminal.
    pub(crate) fn landed_on(&self, on: ThingId) -> Vec<(&Tip, &str)> {
        let here = self.tips_where(on, |place| matches!(place, Place::Terminal { device, .. } if *device == on));
        let terminal = |tip: &Tip| match self.place(tip)? {
            Place::Terminal { terminal, .. } => Some(terminal.as_str()),
            _ => None,
        };
        here.into_iter().filter_map(|tip| Some((tip, terminal(tip)?))).collect()
    }

    /// The ends at a place of which `home` is the splice or device.
    fn tips_where(&self, home: ThingId, is: impl Fn(&Place) -> bool) -> Vec<&Tip> {
        match &self.seal.0 {
            Some(homes) => {
                let here = homes.ends.get(&home).into_iter().flatten();
                here.filter(|tip| self.place(tip).is_some_and(&is)).collect()
            }
            None => {
                self.tips.iter().filter(|(_, note)| note.place.get().is_some_and(&is)).map(|(tip, _)| tip).collect()
            }
        }
    }

    /// The wiring with what is where looked up once: for one that no longer changes.
    pub(crate) fn sealed(mut self) -> Self {
        self.seal = Seal(Some(Box::new(Homes::of(&self))));
        self
    }

    /// Where an end is.
    pub fn place(&self, tip: &Tip) -> Option<&Place> {
        self.tips.get(tip).and_then(|note| note.place.get())
    }

    /// The box that an end is in.
    pub fn box_of(&self, tip: &Tip) -> Option<ThingId> {
        match tip {
            Tip::Wire { run, side, .. } => *self.runs.get(run)?.side(*side).in_box.get()?,
            Tip::Lead { device, .. } => *self.devices.get(device)?.in_box.get()?,
        }
    }

    /// The boxes that a subject belongs to: its own, or both of a run's.
    pub fn boxes_of(&self, of: &Subject) -> Vec<ThingId> {
        let thing = |id: ThingId| {
            let device = self.devices.get(&id).and_then(|note| note.in_box.get().copied().flatten());
            let splice = self.splices.get(&id).and_then(|note| note.in_box.get().copied().flatten());
            let run = self.runs.get(&id).into_iter();
            let run = run.flat_map(|note| Side::BOTH.map(|side| note.side(side).in_box.get().copied().flatten()));
            let own = self.boxes.contains_key(&id).then_some(id);
            own.into_iter().chain(device).chain(splice).chain(run.flatten()).collect()
        };
        match of {
            Subject::Thing(id) => thing(*id),
            Subject::Side(run, side) => {
                let note = self.runs.get(run);
                note.and_then(|note| note.side(*side).in_box.get().copied().flatten()).into_iter().collect()
            }
            Subject::Tip(tip) => self.box_of(tip).into_iter().collect(),
        }
    }

    /// The tag of a box, or its place in words, or nothing.
    pub fn tag(&self, id: ThingId) -> String {
        let note = self.boxes.get(&id);
        note.and_then(|note| note.tag.get().or(note.location.get())).cloned().unwrap_or_default()
    }

    /// Boxes by tag, numbers in their natural order.
    pub fn boxes_in_order(&self) -> Vec<ThingId> {
        let key = |id: &ThingId| {
            let tag = self.tag(*id);
            let digits: String = tag.chars().filter(char::is_ascii_digit).collect();
            let panel = self.boxes.get(id).is_some_and(|note| note.system.is_said());
            (!panel, digits.parse::<u64>().unwrap_or(u64::MAX), tag, *id)
        };
        let mut ids: Vec<_> = self.boxes.keys().copied().collect();
        ids.sort_by_key(key);
        ids
    }
}
