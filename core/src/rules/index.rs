//! The wiring of one layer, turned round: what is in each splice, on each device, in each box. Made once for all
//! rules, so that none of them walks every end for every question.

use std::collections::BTreeMap;

use crate::catalogue::{Catalogue, DeviceType};
use crate::job::boxes::BoxNote;
use crate::job::device::DeviceNote;
use crate::job::run::RunNote;
use crate::job::wiring::Wiring;
use crate::job::{Conductor, Landing, Note, Place, Side, ThingId, Tip};

/// An end on a device.
pub(crate) struct OnDevice<'a> {
    /// The end.
    pub(crate) tip: &'a Tip,
    /// The terminal; `None`: on the device, nobody said on which.
    pub(crate) terminal: Option<&'a str>,
    /// How it is held.
    pub(crate) landing: Landing,
}

/// The wiring turned round.
pub(crate) struct Index<'a> {
    pub(crate) wiring: &'a Wiring,
    pub(crate) catalogue: &'a Catalogue,
    /// Ends by splice.
    pub(crate) in_splice: BTreeMap<ThingId, Vec<&'a Tip>>,
    /// Ends by device.
    pub(crate) on_device: BTreeMap<ThingId, Vec<OnDevice<'a>>>,
    /// Ends that go on as another end without a splice, both ways.
    pub(crate) through: BTreeMap<&'a Tip, &'a Tip>,
    /// Sides of runs by box, pigtails left out.
    pub(crate) runs_in: BTreeMap<ThingId, Vec<(ThingId, Side)>>,
    /// Runs of which two unlike notes say where a side is, by each of the boxes that they name.
    pub(crate) runs_perhaps_in: BTreeMap<ThingId, Vec<ThingId>>,
    /// Devices of which two unlike notes say where they are, by each of the boxes that they name.
    pub(crate) devices_perhaps_in: BTreeMap<ThingId, Vec<ThingId>>,
    /// Devices by box.
    pub(crate) devices_in: BTreeMap<ThingId, Vec<ThingId>>,
    /// Sides of runs by the breaker that they are said to come from.
    pub(crate) fed_by: BTreeMap<ThingId, Vec<(ThingId, Side)>>,
}

impl<'a> Index<'a> {
    pub(crate) fn new(wiring: &'a Wiring, catalogue: &'a Catalogue) -> Self {
        let mut index = Self {
            wiring,
            catalogue,
            in_splice: BTreeMap::new(),
            on_device: BTreeMap::new(),
            through: BTreeMap::new(),
            runs_in: BTreeMap::new(),
            runs_perhaps_in: BTreeMap::new(),
            devices_perhaps_in: BTreeMap::new(),
            devices_in: BTreeMap::new(),
            fed_by: BTreeMap::new(),
        };
        index.take_tips();
        index.take_runs();
        for (id, device) in &wiring.devices {
            match &device.in_box {
                Note::Said(Some(here), _) => index.devices_in.entry(*here).or_default().push(*id),
                Note::Twice(_) => {
                    for here in perhaps(&device.in_box) {
                        index.devices_perhaps_in.entry(here).or_default().push(*id);
                    }
                }
                Note::Said(None, _) | Note::NotSaid => {}
            }
        }
        index
    }

    fn take_tips(&mut self) {
        for (tip, note) in &self.wiring.tips {
            match note.place.get() {
                Some(Place::Splice(splice)) => self.in_splice.entry(*splice).or_default().push(tip),
                Some(Place::Terminal { device, terminal, landing }) => {
                    let on = OnDevice { tip, terminal: Some(terminal), landing: *landing };
                    self.on_device.entry(*device).or_default().push(on);
                }
                Some(Place::SomewhereOn(device)) => {
                    let on = OnDevice { tip, terminal: None, landing: Landing::NotSaid };
                    self.on_device.entry(*device).or_default().push(on);
                }
                Some(Place::Through(other)) => {
                    self.through.insert(tip, other);
                    self.through.entry(other).or_insert(tip);
                }
                Some(Place::Shell(_) | Place::Bus { .. } | Place::Capped | Place::Loose | Place::Absent) | None => {}
            }
        }
    }

    fn take_runs(&mut self) {
        for (id, run) in &self.wiring.runs {
            for side in Side::BOTH {
                let note = run.side(side);
                if let Some(Some(here)) = note.in_box.get()
                    && !run.is_inside()
                {
                    self.runs_in.entry(*here).or_default().push((*id, side));
                }
                for here in perhaps(&note.in_box) {
                    self.runs_perhaps_in.entry(here).or_default().push(*id);
                }
                if let Some(breaker) = note.feed.get() {
                    self.fed_by.entry(*breaker).or_default().push((*id, side));
                }
            }
        }
    }

    pub(crate) fn r#box(&self, id: ThingId) -> Option<&'a BoxNote> {
        self.wiring.boxes.get(&id)
    }

    pub(crate) fn run(&self, id: ThingId) -> Option<&'a RunNote> {
        self.wiring.runs.get(&id)
    }

    pub(crate) fn device(&self, id: ThingId) -> Option<&'a DeviceNote> {
        self.wiring.devices.get(&id)
    }

    /// The catalogue's entry of a noted device.
    pub(crate) fn kind(&self, id: ThingId) -> Option<&'a DeviceType> {
        self.catalogue.device(self.device(id)?.kind.get()?)
    }

    /// The conductor that an end belongs to; a device's lead has none of a run.
    pub(crate) fn conductor(&self, tip: &Tip) -> Option<Conductor> {
        match tip {
            Tip::Wire { run, wire, .. } => self.catalogue.conductor(self.run(*run)?, *wire),
            Tip::Lead { .. } => None,
        }
    }

    /// Is this the end of a run that stays inside one box?
    pub(crate) fn is_pigtail(&self, tip: &Tip) -> bool {
        matches!(tip, Tip::Wire { run, .. } if self.run(*run).is_some_and(RunNote::is_inside))
    }

    /// Ends that share a splice with `tip`, itself left out.
    pub(crate) fn spliced_with(&self, tip: &'a Tip) -> impl Iterator<Item = &'a Tip> {
        let splice = match self.wiring.place(tip) {
            Some(Place::Splice(splice)) => self.in_splice.get(splice),
            _ => None,
        };
        splice.into_iter().flatten().copied().filter(move |other| *other != tip)
    }
}

/// The boxes that unlike notes name.
fn perhaps(note: &Note<Option<ThingId>>) -> Vec<ThingId> {
    match note {
        Note::Twice(values) => values.iter().filter_map(|(value, _)| *value).collect(),
        Note::Said(..) | Note::NotSaid => Vec::new(),
    }
}

/// The other end of a conductor.
pub(crate) fn other_end(tip: &Tip) -> Option<Tip> {
    match tip {
        Tip::Wire { run, wire, side } => Some(Tip::Wire { run: *run, wire: *wire, side: side.other() }),
        Tip::Lead { .. } => None,
    }
}
