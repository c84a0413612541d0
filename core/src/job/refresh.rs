//! Brings a wiring up to date after one more entry, by reading anew only what the entry speaks of. What comes out is
//! what [`Wiring::of`] makes of all notes; `tests/tests/fold_wirings.rs` compares the two after every entry.

use std::collections::BTreeSet;

use super::boxes::BoxNote;
use super::device::DeviceNote;
use super::id::ThingId;
use super::notes::Notes;
use super::run::RunNote;
use super::splice::{SpliceNote, SupplyNote};
use super::subject::{Subject, Tip};
use super::tip::TipNote;
use super::value::Kind;
use super::wiring::{Lookup, Wiring};

impl Wiring {
    /// Reads these subjects anew. False where one of them changes what the wiring as a whole is made from, so that it
    /// must be made anew.
    pub(crate) fn refresh(&mut self, notes: &Notes, subjects: &BTreeSet<Subject>) -> bool {
        self.seal = super::homes::Seal::default();
        // Things come before sides and ends in the order of subjects, so that an end finds its run.
        subjects.iter().all(|of| match of {
            Subject::Thing(id) => self.refresh_thing(notes, *id),
            Subject::Side(run, _) => {
                self.refresh_run(notes, *run);
                true
            }
            Subject::Tip(tip) => {
                self.refresh_tip(notes, tip);
                true
            }
        })
    }

    fn refresh_thing(&mut self, notes: &Notes, id: ThingId) -> bool {
        let there = notes.present(id, self.layer);
        let through = self.through.clone();
        let look = Lookup::new(notes, id, &through);
        match notes.kind(id) {
            Some(Kind::Box) => keep(&mut self.boxes, there, id, || BoxNote::read(id, &look)),
            Some(Kind::Splice) => keep(&mut self.splices, there, id, || SpliceNote::read(id, &look)),
            Some(Kind::Supply) => keep(&mut self.supplies, there, id, || SupplyNote::read(id, &look)),
            Some(Kind::Run) => {
                let was = self.runs.contains_key(&id);
                keep(&mut self.runs, there, id, || RunNote::read(id, &look));
                self.refresh_tips_of(notes, id, was, there);
            }
            Some(Kind::Device) => {
                let was = self.devices.contains_key(&id);
                keep(&mut self.devices, there, id, || DeviceNote::read(id, &look));
                self.refresh_tips_of(notes, id, was, there);
            }
            Some(Kind::Person) => self.tape_words = Self::tape_words_of(notes),
            Some(Kind::Instrument | Kind::Check) => {}
            // A job's promises and what it comes after, a site's packs, a thing of no single kind.
            Some(Kind::Job | Kind::Site) | None => return false,
        }
        true
    }

    fn refresh_run(&mut self, notes: &Notes, run: ThingId) {
        if self.runs.contains_key(&run) {
            let through = self.through.clone();
            self.runs.insert(run, RunNote::read(run, &Lookup::new(notes, run, &through)));
        }
    }

    fn refresh_tip(&mut self, notes: &Notes, tip: &Tip) {
        let there = match tip {
            Tip::Wire { run, .. } => self.runs.contains_key(run),
            Tip::Lead { device, .. } => self.devices.contains_key(device),
        };
        if there {
            let through = self.through.clone();
            self.tips.insert(tip.clone(), TipNote::read(&Lookup::new(notes, tip.clone(), &through)));
        }
    }

    /// A run or device that comes brings the ends that are noted of it; one that goes takes them away.
    fn refresh_tips_of(&mut self, notes: &Notes, id: ThingId, was: bool, is: bool) {
        let belongs = |tip: &Tip| match tip {
            Tip::Wire { run, .. } => *run == id,
            Tip::Lead { device, .. } => *device == id,
        };
        if was && !is {
            self.tips.retain(|tip, _| !belongs(tip));
        }
        if is && !was {
            let noted: Vec<Tip> = notes
                .subjects()
                .filter_map(|of| match of {
                    Subject::Tip(tip) if belongs(tip) => Some(tip.clone()),
                    _ => None,
                })
                .collect();
            for tip in &noted {
                self.refresh_tip(notes, tip);
            }
        }
    }
}

fn keep<T>(all: &mut std::collections::BTreeMap<ThingId, T>, there: bool, id: ThingId, read: impl FnOnce() -> T) {
    if there {
        all.insert(id, read());
    } else {
        all.remove(&id);
    }
}
