//! What the record calls things. Names are those of [`Called`]; a record also speaks of what is no longer or not yet
//! there, so that a thing is looked for in the wiring that is spoken of and then in the others of the job.

use serde::Serialize;

use crate::catalogue::{Catalogue, bus_name, colour_name, connector_name};
use crate::job::{
    At, InstrumentNote, Kind, Landing, LoadPoint, Note, Notes, PersonNote, Place, Promised, Spot, Subject, ThingId,
    Tip, Wiring,
};
use crate::name::Called;
use crate::tell;
use crate::words::{english, say};

/// The written word of one of a closed set, for keys of the words.
fn word<T: Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}

/// The words under `prefix.<word of value>`.
pub(super) fn words_of<T: Serialize>(prefix: &str, value: &T) -> String {
    say(&format!("{prefix}.{}", word(value)), &[])
}

/// Words of a catalogue entry of any kind, or the text itself: people also type what they used.
pub(crate) fn goods(catalogue: &Catalogue, item: &str) -> String {
    if catalogue.device(item).is_some() {
        return catalogue.device_name(item);
    }
    let listed = ["run", "connector", "box"].iter().find_map(|list| english().find(&format!("{list}.{item}")));
    listed.unwrap_or(item).to_owned()
}

/// Pieces joined with commas, empty ones left out.
pub(super) fn listed(pieces: impl IntoIterator<Item = String>) -> String {
    pieces.into_iter().filter(|piece| !piece.is_empty()).collect::<Vec<_>>().join(", ")
}

/// Names as one wiring has them; what it does not have, as the wirings beside it do.
#[derive(Clone, Copy)]
pub(super) struct Names<'a> {
    pub(super) notes: &'a Notes,
    pub(super) catalogue: &'a Catalogue,
    pub(super) wiring: &'a Wiring,
    pub(super) beside: [&'a Wiring; 3],
}

impl<'a> Names<'a> {
    fn wirings(&self) -> impl Iterator<Item = &'a Wiring> + use<'a> {
        std::iter::once(self.wiring).chain(self.beside)
    }

    /// Names as the first wiring that has it.
    fn called(&self, has: impl Fn(&Wiring) -> bool) -> Called<'a> {
        let wiring = self.wirings().find(|wiring| has(wiring)).unwrap_or(self.wiring);
        Called::new(wiring, self.catalogue)
    }

    fn with_device(&self, id: ThingId) -> Called<'a> {
        self.called(|wiring| wiring.devices.contains_key(&id))
    }

    fn with_splice(&self, id: ThingId) -> Called<'a> {
        self.called(|wiring| wiring.splices.contains_key(&id))
    }

    fn with_tip(&self, tip: &Tip) -> Called<'a> {
        self.called(|wiring| match tip {
            Tip::Wire { run, .. } => wiring.runs.contains_key(run),
            Tip::Lead { device, .. } => wiring.devices.contains_key(device),
        })
    }

    /// A box by its tag, or its place in words.
    pub(super) fn r#box(&self, id: ThingId) -> String {
        self.called(|wiring| !wiring.tag(id).is_empty()).r#box(id)
    }

    /// A device by its name, or its kind.
    pub(super) fn device(&self, id: ThingId) -> String {
        self.with_device(id).device(id)
    }

    /// A device with its kind: "switch: three-way switch".
    pub(super) fn device_and_kind(&self, id: ThingId) -> String {
        let called = self.with_device(id);
        let kind = called.wiring.devices.get(&id).and_then(|note| note.kind.get());
        let (name, kind) = (called.device(id), kind.map(|kind| self.catalogue.device_name(kind)));
        match kind.filter(|kind| *kind != name) {
            Some(kind) => say("record.name.device", &[("name", &name), ("kind", &kind)]),
            None => name,
        }
    }

    /// What can make a box live: a breaker by its circuit and panel, another supply by its name.
    pub(super) fn source(&self, id: ThingId) -> String {
        if let Some(supply) = self.wirings().find_map(|wiring| wiring.supplies.get(&id)) {
            let kind = supply.kind.get().map(|kind| words_of("record.supply", kind));
            let name = supply.name.get().cloned();
            return name.or(kind).unwrap_or_else(|| say("record.name.supply", &[]));
        }
        let called = self.with_device(id);
        let panel = called.wiring.devices.get(&id).and_then(|note| note.in_box.get().copied().flatten());
        match panel {
            Some(panel) => say("record.name.source", &[("circuit", &called.device(id)), ("panel", &self.r#box(panel))]),
            None => called.device(id),
        }
    }

    /// An end within its box.
    pub(super) fn tip(&self, tip: &Tip) -> String {
        self.with_tip(tip).tip(tip)
    }

    /// An end with all that a make-up says of it: where a pigtail leads, its re-marking, its tape.
    pub(super) fn tip_in_full(&self, tip: &Tip) -> String {
        let called = self.with_tip(tip);
        let mut name = called.tip(tip);
        if let Tip::Wire { run, wire, side } = tip
            && called.wiring.runs.get(run).is_some_and(crate::job::RunNote::is_inside)
        {
            let other = Tip::Wire { run: *run, wire: *wire, side: side.other() };
            let to = called.wiring.place(&other).map_or_else(|| say("record.known.not", &[]), |at| self.place_name(at));
            name = say("record.name.pigtail", &[("pigtail", &name), ("to", &to)]);
        }
        let note = self.wiring.tips.get(tip);
        if let Some(Some(colour)) = note.and_then(|note| note.remarked.get()) {
            name = say("record.name.remarked", &[("tip", &name), ("colour", &colour_name(*colour))]);
        }
        match note.and_then(|note| note.label.get()) {
            Some(Some(label)) => say("name.labelled", &[("name", &name), ("label", label)]),
            _ => name,
        }
    }

    /// A splice by its name, else by one of its ends.
    pub(super) fn splice(&self, id: ThingId) -> String {
        self.with_splice(id).splice(id)
    }

    /// A terminal within its box: "switch, common".
    pub(super) fn terminal(&self, device: ThingId, terminal: &str) -> String {
        let spot = Spot::Terminal { device, terminal: terminal.to_owned() };
        self.with_device(device).spot(&spot)
    }

    /// A place by its name alone, as a pigtail's far end is called.
    pub(super) fn place_name(&self, place: &Place) -> String {
        match place {
            Place::Terminal { device, terminal, .. } => self.terminal(*device, terminal),
            Place::Splice(id) => self.splice(*id),
            // A conductor that goes on as another needs no name here, and two could name each other without end.
            Place::Through(_) => say("record.place.on", &[]),
            other => self.place(other),
        }
    }

    /// Where an end is, and how it is held there.
    pub(super) fn place(&self, place: &Place) -> String {
        match place {
            Place::Splice(id) => say("record.place.splice", &[("splice", &self.splice(*id))]),
            Place::Terminal { device, terminal, landing } => {
                let on = self.terminal(*device, terminal);
                let held = match landing {
                    Landing::NotSaid => String::new(),
                    held => words_of("record.landing", held),
                };
                listed([on, held])
            }
            Place::SomewhereOn(device) => say("record.place.somewhere_on", &[("device", &self.device(*device))]),
            Place::Shell(_) => say("name.shell", &[]),
            Place::Bus { panel, bus } => say("name.in_box", &[("box", &self.r#box(*panel)), ("name", &bus_name(*bus))]),
            Place::Through(other) => say("record.place.through", &[("tip", &self.tip(other))]),
            Place::Capped => say("record.place.capped", &[]),
            Place::Loose => say("record.place.loose", &[]),
            Place::Absent => say("record.place.absent", &[]),
        }
    }

    /// What a probe touches, said within box `here`: another box is named.
    pub(super) fn spot(&self, spot: &Spot, here: Option<ThingId>) -> String {
        let (called, at) = match spot {
            Spot::Tip(tip) => {
                let called = self.with_tip(tip);
                (called, called.wiring.box_of(tip))
            }
            Spot::Splice(id) => {
                let called = self.with_splice(*id);
                (called, called.wiring.splices.get(id).and_then(|note| note.in_box.get().copied().flatten()))
            }
            Spot::Terminal { device, .. } => {
                let called = self.with_device(*device);
                (called, called.wiring.devices.get(device).and_then(|note| note.in_box.get().copied().flatten()))
            }
            Spot::Shell(id) | Spot::Bus { panel: id, .. } => {
                (self.called(|wiring| wiring.boxes.contains_key(id)), Some(*id))
            }
            Spot::Other(_) => (self.called(|_| true), None),
        };
        if at == here { called.spot(spot) } else { called.spot_in_box(spot) }
    }

    /// Positions of handles: "B3 switch up, B6 switch down".
    pub(super) fn at(&self, at: &[At]) -> String {
        listed(at.iter().map(|at| self.with_device(at.handle.device).positions(std::slice::from_ref(at))))
    }

    /// A load point: "B7 light".
    pub(super) fn load(&self, load: &LoadPoint) -> String {
        self.with_device(load.device).load(load)
    }

    /// What was asked of a load point.
    pub(super) fn asked(&self, rule: &Promised) -> String {
        match rule {
            Promised::Toggled(handles) => {
                let first = handles.iter().next().map(|handle| handle.device);
                tell::asked_words(&first.map_or_else(|| self.called(|_| true), |id| self.with_device(id)), rule)
            }
            other => tell::asked_words(&self.called(|_| true), other),
        }
    }

    /// A person's name.
    pub(super) fn person(&self, id: ThingId) -> String {
        let name = PersonNote::read(self.notes, id).name;
        name.get().cloned().unwrap_or_else(|| say("record.name.person", &[]))
    }

    /// An instrument's name.
    pub(super) fn instrument(&self, id: ThingId) -> String {
        let name = InstrumentNote::read(self.notes, id).name;
        name.get().cloned().unwrap_or_else(|| say("record.name.instrument", &[]))
    }

    /// A run by its kind and where it leads.
    pub(super) fn run(&self, id: ThingId) -> String {
        self.called(|wiring| wiring.runs.contains_key(&id)).run(id)
    }

    /// Any thing.
    pub(super) fn thing(&self, id: ThingId) -> String {
        let named = |name: &Note<String>, key: &str| name.get().cloned().unwrap_or_else(|| say(key, &[]));
        match self.notes.kind(id) {
            Some(Kind::Box) => self.r#box(id),
            Some(Kind::Run) => self.run(id),
            Some(Kind::Splice) => self.spot(&Spot::Splice(id), None),
            Some(Kind::Device) => self.with_device(id).device_in_box(id),
            Some(Kind::Supply) => self.source(id),
            Some(Kind::Person) => self.person(id),
            Some(Kind::Instrument) => self.instrument(id),
            Some(Kind::Job) => named(&crate::job::JobNote::read(self.notes, id).name, "record.name.job"),
            Some(Kind::Site) => named(&crate::job::SiteNote::read(self.notes, id).name, "record.name.site"),
            Some(Kind::Check) => say("record.name.check", &[]),
            None => say("record.name.thing", &[]),
        }
    }

    /// What a fact speaks of.
    pub(super) fn subject(&self, of: &Subject) -> String {
        match of {
            Subject::Thing(id) => self.thing(*id),
            Subject::Side(run, side) => {
                let note = self.wirings().find_map(|wiring| wiring.runs.get(run)).map(|note| note.side(*side));
                let at = note.and_then(|note| note.in_box.get().copied().flatten());
                match (at, note.and_then(|note| note.letter.get())) {
                    (Some(at), Some(letter)) => say("name.side", &[("box", &self.r#box(at)), ("letter", letter)]),
                    _ => self.run(*run),
                }
            }
            Subject::Tip(tip) => self.spot(&Spot::Tip(tip.clone()), None),
        }
    }

    /// A connector in words with how much of it is used.
    pub(super) fn connector(&self, kind: &str, used: usize) -> String {
        let name = connector_name(kind);
        match self.catalogue.connector(kind).and_then(|kind| kind.ports) {
            Some(_) => say("record.connector.ports", &[("name", &name), ("used", &used.to_string())]),
            None => name,
        }
    }
}
