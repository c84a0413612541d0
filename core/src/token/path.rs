//! Names that people and tokens give to things, and what they mean.
//!
//! A token uses the things' own names (UUIDs). A person, and the demo script, may say it by what is written in the
//! building: `B3` a box, `B3/A` the side of run A in it, `B3/A/black` that conductor's end, `B3+grounds` a splice,
//! `B3:switch` a device, `B3:switch.common` its terminal or lead, `P:7` the breaker of circuit 7, `P!neutral` a bus,
//! `B3~` the metal of the box itself.

use std::cell::OnceCell;
use std::sync::Arc;

use crate::catalogue::{Catalogue, PointForm, conductors};
use crate::job::{Bus, Colour, Handle, Kind, Layer, LoadPoint, Notes, Side, Spot, Subject, ThingId, Tip, Wiring};
use crate::words::say;

use crate::refusal::Refusal;

/// Finds what a name means, in the wiring of a job: first as the asked layer has it, then as any other.
pub struct Names<'a> {
    /// Everything that is known.
    pub notes: &'a Notes,
    /// What can be bought.
    pub catalogue: &'a Catalogue,
    layers: Vec<(Layer, OnceCell<Arc<Wiring>>)>,
}

fn unknown(name: &str) -> Refusal {
    Refusal::Input(say("refuse.no_such", &[("name", name)]))
}

/// Reads one of a closed set of words, as they are written in entries; a hyphen counts as an underline.
pub fn one_of<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, Refusal> {
    let word = serde_json::Value::String(text.replace('-', "_").to_lowercase());
    serde_json::from_value(word).map_err(|_| Refusal::Input(say("refuse.not_a_choice", &[("text", text)])))
}

/// The written word of one of a closed set.
pub fn word_of<T: serde::Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}

impl<'a> Names<'a> {
    /// Names as seen from `layer`, then from the other layers of the same job, then as the site has them.
    pub fn new(notes: &'a Notes, catalogue: &'a Catalogue, layer: Layer) -> Self {
        let mut layers = vec![layer];
        if let Layer::Found(job) | Layer::Planned(job) | Layer::Left(job) = layer {
            layers.extend([Layer::Planned(job), Layer::Left(job), Layer::Found(job)].iter().filter(|l| **l != layer));
        }
        let layers = layers.into_iter().map(|layer| (layer, OnceCell::new())).collect();
        Self { notes, catalogue, layers }
    }

    /// The wirings of the asked layer and of the others of its job, in that order.
    pub(crate) fn wirings(&self) -> impl Iterator<Item = &Wiring> {
        self.layers.iter().map(|(layer, cell)| cell.get_or_init(|| self.notes.wiring(*layer)).as_ref())
    }

    /// The wiring of the asked layer.
    pub fn wiring(&self) -> &Wiring {
        // A name table is made with at least one layer; the fallback keeps this free of panics.
        static EMPTY: std::sync::OnceLock<Wiring> = std::sync::OnceLock::new();
        self.wirings().next().unwrap_or_else(|| EMPTY.get_or_init(|| Wiring::of(&Notes::default(), Layer::Site)))
    }

    /// The greatest count that any of the layers gives.
    pub fn most(&self, count: impl Fn(&Wiring) -> usize) -> usize {
        self.wirings().map(count).max().unwrap_or(0)
    }

    /// A thing by its own name, if it is noted and of the right kind.
    fn by_id(&self, text: &str, kind: Kind) -> Option<ThingId> {
        let id: ThingId = text.parse().ok()?;
        let id = self.notes.sames().find(id).0;
        (self.notes.kind(id) == Some(kind)).then_some(id)
    }

    /// A box: `B3`.
    pub fn box_named(&self, text: &str) -> Result<ThingId, Refusal> {
        if let Some(id) = self.by_id(text, Kind::Box) {
            return Ok(id);
        }
        let tagged = |wiring: &Wiring| {
            let mut found = wiring.boxes.iter().filter(|(_, note)| note.tag.get().is_some_and(|tag| tag == text));
            found.next().map(|(id, _)| *id)
        };
        self.wirings().find_map(tagged).ok_or_else(|| unknown(text))
    }

    /// Another named thing: a person, an instrument, a job, a supply.
    pub fn thing_named(&self, text: &str, kind: Kind) -> Result<ThingId, Refusal> {
        if let Some(id) = self.by_id(text, kind) {
            return Ok(id);
        }
        let things = self.notes.things(kind, Layer::Site).into_iter();
        let take = crate::job::wiring::pick!(Name);
        let field = crate::job::FieldKind::Name.into();
        let mut named = things
            .filter(|id| self.notes.note(&(*id).into(), &field, Layer::Site, take).get().is_some_and(|n| n == text));
        named.next().ok_or_else(|| unknown(text))
    }

    /// One side of a run: `B3/A`, or `<run>/near`.
    pub fn side(&self, text: &str) -> Result<(ThingId, Side), Refusal> {
        let (place, letter) = text.split_once('/').ok_or_else(|| unknown(text))?;
        if let Some(run) = self.by_id(place, Kind::Run) {
            return Ok(self.turned(place, run, one_of(letter)?));
        }
        let id = self.box_named(place)?;
        let lettered = |wiring: &Wiring| {
            let sides = wiring.runs.iter().flat_map(|(run, note)| Side::BOTH.map(|side| (*run, side, note.side(side))));
            let mut here = sides.filter(|(_, _, note)| {
                note.in_box.get() == Some(&Some(id)) && note.letter.get().is_some_and(|known| known == letter)
            });
            here.next().map(|(run, side, _)| (run, side))
        };
        self.wirings().find_map(lettered).ok_or_else(|| unknown(text))
    }

    /// A joined run may have its sides the other way round than the note that `text` names.
    fn turned(&self, text: &str, run: ThingId, side: Side) -> (ThingId, Side) {
        let turned = text.parse().is_ok_and(|id| self.notes.sames().find(id).1);
        (run, if turned { side.other() } else { side })
    }

    /// A run by its side or its own name.
    pub fn run(&self, text: &str) -> Result<ThingId, Refusal> {
        match self.by_id(text, Kind::Run) {
            Some(run) => Ok(run),
            None => self.side(text).map(|(run, _)| run),
        }
    }

    /// A conductor's end: `B3/A/black`, `<run>/0/near`, `B3:light.hot`, `<device>.hot`.
    pub fn tip(&self, text: &str) -> Result<Tip, Refusal> {
        if let Some((device, lead)) = text.split_once('.') {
            let device = self.device(device)?;
            return match self.point_form(device, lead) {
                Some(PointForm::Lead) => Ok(Tip::Lead { device, lead: lead.to_owned() }),
                _ => Err(Refusal::Input(say("refuse.no_lead", &[("name", text)]))),
            };
        }
        let mut parts = text.splitn(3, '/');
        let (Some(first), Some(second), Some(third)) = (parts.next(), parts.next(), parts.next()) else {
            return Err(unknown(text));
        };
        if let Some(run) = self.by_id(first, Kind::Run) {
            let wire: u8 = second.parse().map_err(|_| unknown(text))?;
            let (run, side) = self.turned(first, run, one_of(third)?);
            return self.wire(run, wire, side).ok_or_else(|| unknown(text));
        }
        let (run, side) = self.side(&format!("{first}/{second}"))?;
        let (colour, side) = match third.split_once('/') {
            Some((colour, "far")) => (colour, side.other()),
            _ => (third, side),
        };
        let colour: Colour = one_of(colour)?;
        let wires = self.conductors(run);
        let mut of_colour = wires.iter().filter(|(_, conductor)| conductor.colour == colour);
        let wire = of_colour.next().map(|(n, _)| *n).ok_or_else(|| unknown(text))?;
        Ok(Tip::Wire { run, wire, side })
    }

    fn wire(&self, run: ThingId, wire: u8, side: Side) -> Option<Tip> {
        self.conductors(run).contains_key(&wire).then_some(Tip::Wire { run, wire, side })
    }

    /// The conductors of a run, as the first layer that has it says.
    pub fn conductors(&self, run: ThingId) -> std::collections::BTreeMap<u8, crate::job::Conductor> {
        let note = self.wirings().find_map(|wiring| wiring.runs.get(&run));
        let Some(note) = note else { return std::collections::BTreeMap::new() };
        conductors(note, note.kind.get().and_then(|kind| self.catalogue.run(kind)))
    }

    /// A splice: `B3+grounds`.
    pub fn splice(&self, text: &str) -> Result<ThingId, Refusal> {
        if let Some(id) = self.by_id(text, Kind::Splice) {
            return Ok(id);
        }
        let (place, name) = text.split_once('+').ok_or_else(|| unknown(text))?;
        let id = self.box_named(place)?;
        let named = |wiring: &Wiring| {
            let mut here = wiring.splices.iter().filter(|(_, note)| {
                note.in_box.get() == Some(&Some(id)) && note.name.get().is_some_and(|known| known == name)
            });
            here.next().map(|(id, _)| *id)
        };
        self.wirings().find_map(named).ok_or_else(|| unknown(text))
    }

    /// A device: `B3:switch`, or a breaker by its number, `P:7`.
    pub fn device(&self, text: &str) -> Result<ThingId, Refusal> {
        if let Some(id) = self.by_id(text, Kind::Device) {
            return Ok(id);
        }
        let (place, name) = text.split_once(':').ok_or_else(|| unknown(text))?;
        let id = self.box_named(place)?;
        let named = |wiring: &Wiring| {
            let here = wiring.devices.iter().filter(|(_, note)| note.in_box.get() == Some(&Some(id)));
            let mut here = here.filter(|(_, note)| {
                [&note.name, &note.number].iter().any(|words| words.get().is_some_and(|known| known == name))
            });
            here.next().map(|(id, _)| *id)
        };
        self.wirings().find_map(named).ok_or_else(|| unknown(text))
    }

    /// The catalogue kind of a device, as the first layer that has one says.
    pub fn device_type(&self, device: ThingId) -> Option<&'a crate::catalogue::DeviceType> {
        let kind = self.wirings().find_map(|wiring| wiring.devices.get(&device)?.kind.get().cloned());
        self.catalogue.device(&kind?)
    }

    fn point_form(&self, device: ThingId, point: &str) -> Option<PointForm> {
        Some(self.device_type(device)?.point(point)?.form)
    }

    /// A terminal: `B3:switch.common`.
    pub fn terminal(&self, text: &str) -> Result<(ThingId, String), Refusal> {
        let (device, point) = text.split_once('.').ok_or_else(|| unknown(text))?;
        let id = self.device(device)?;
        match self.point_form(id, point) {
            Some(PointForm::Terminal | PointForm::Blade | PointForm::Stab) => Ok((id, point.to_owned())),
            Some(PointForm::Lead) => Err(Refusal::Input(say("refuse.is_lead", &[("name", text)]))),
            None => Err(Refusal::Input(say("refuse.no_terminal", &[("name", point), ("device", device)]))),
        }
    }

    /// A load point: `B7:light.lamp`.
    pub fn load(&self, text: &str) -> Result<LoadPoint, Refusal> {
        let (device, load) = text.split_once('.').ok_or_else(|| unknown(text))?;
        let id = self.device(device)?;
        match self.device_type(id).and_then(|kind| kind.load(load)) {
            Some(_) => Ok(LoadPoint { device: id, load: load.to_owned() }),
            None => Err(Refusal::Input(say("refuse.no_load", &[("name", load), ("device", device)]))),
        }
    }

    /// A handle: `B3:switch.handle`.
    pub fn handle(&self, text: &str) -> Result<Handle, Refusal> {
        let (device, switch) = text.split_once('.').ok_or_else(|| unknown(text))?;
        let id = self.device(device)?;
        match self.device_type(id).and_then(|kind| kind.switch(switch)) {
            Some(_) => Ok(Handle { device: id, switch: switch.to_owned() }),
            None => Err(Refusal::Input(say("refuse.no_handle", &[("name", switch), ("device", device)]))),
        }
    }

    /// A source that can be held: a breaker, or another supply.
    pub fn source(&self, text: &str) -> Result<ThingId, Refusal> {
        self.device(text).or_else(|_| self.thing_named(text, Kind::Supply))
    }

    /// What has buses: a panel, or another supply that conductors come from.
    pub fn with_buses(&self, text: &str) -> Result<ThingId, Refusal> {
        self.box_named(text).or_else(|_| self.thing_named(text, Kind::Supply))
    }

    /// A place for a probe: any of the above, `P!neutral`, `B3~`, or `"words` for anything else.
    pub fn spot(&self, text: &str) -> Result<Spot, Refusal> {
        if let Some(words) = text.strip_prefix('\'') {
            return Ok(Spot::Other(words.to_owned()));
        }
        if let Some(id) = text.strip_suffix('~') {
            return Ok(Spot::Shell(self.box_named(id)?));
        }
        if let Some((panel, bus)) = text.split_once('!') {
            return Ok(Spot::Bus { panel: self.with_buses(panel)?, bus: one_of::<Bus>(bus)? });
        }
        if let Ok(id) = self.splice(text) {
            return Ok(Spot::Splice(id));
        }
        match self.terminal(text) {
            Ok((device, terminal)) => Ok(Spot::Terminal { device, terminal }),
            Err(_) => self.tip(text).map(Spot::Tip),
        }
    }

    /// Anything a fact can speak of.
    pub fn subject(&self, text: &str) -> Result<Subject, Refusal> {
        if let Ok(tip) = self.tip(text) {
            return Ok(tip.into());
        }
        if text == "site" {
            let sites = self.notes.things(Kind::Site, Layer::Site);
            return sites.first().map(|id| (*id).into()).ok_or_else(|| unknown(text));
        }
        let things = [self.box_named(text), self.device(text), self.splice(text), self.run(text)];
        if let Some(id) = things.into_iter().find_map(Result::ok) {
            return Ok(id.into());
        }
        match text.parse::<ThingId>() {
            Ok(id) if self.notes.kind(id).is_some() => Ok(id.into()),
            _ => {
                // People and instruments are called by their names, where nothing of the wiring is.
                let named =
                    [Kind::Person, Kind::Instrument].into_iter().find_map(|kind| self.thing_named(text, kind).ok());
                named.map(Subject::from).ok_or_else(|| unknown(text))
            }
        }
    }
}

/// A tip's own name: what tokens use.
pub fn tip_text(tip: &Tip) -> String {
    match tip {
        Tip::Wire { run, wire, side } => format!("{run}/{wire}/{}", word_of(side)),
        Tip::Lead { device, lead } => format!("{device}.{lead}"),
    }
}

/// A probe place's own name.
pub fn spot_text(spot: &Spot) -> String {
    match spot {
        Spot::Tip(tip) => tip_text(tip),
        Spot::Splice(id) => id.to_string(),
        Spot::Terminal { device, terminal } => format!("{device}.{terminal}"),
        Spot::Shell(id) => format!("{id}~"),
        Spot::Bus { panel, bus } => format!("{panel}!{}", word_of(bus)),
        Spot::Other(words) => format!("'{words}"),
    }
}

/// A handle's own name.
pub fn handle_text(handle: &Handle) -> String {
    format!("{}.{}", handle.device, handle.switch)
}

/// A load point's own name.
pub fn load_text(load: &LoadPoint) -> String {
    format!("{}.{}", load.device, load.load)
}
