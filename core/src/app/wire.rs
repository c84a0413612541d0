//! Events that note wiring: boxes, runs, devices, splices, where each end is, what is written on it.

use std::collections::BTreeSet;

use crate::job::value::{NumberedWire, OpenOrNot};
use crate::job::{
    Colour, Conductor, FieldKind, Happening, How, Kind, Landing, Layer, Metal, Place, Promise, Promised, Side, Subject,
    ThingId, Tip, Value,
};

use super::Refusal;
use super::act::{Act, refuse, text};
use super::path::one_of;

impl Act<'_> {
    /// `box tag=B3 location="foot of stair" kind=nonmetallic-2gang volume=32.0`; with `joins=B1/C/far` it is where a
    /// run leads whose other side was not known, and gets that run as its first.
    pub(crate) fn note_box(&mut self) -> Result<(), Refusal> {
        self.field("tag")?;
        if let Ok(taken) = self.names.box_named(self.field("tag")?) {
            let place = self.names.wiring().boxes.get(&taken).and_then(|note| note.location.get().cloned());
            let place = place.unwrap_or_default();
            return Err(refuse("refuse.tag_taken", &[("tag", self.field("tag")?), ("place", &place)]));
        }
        let joins = self.line.field("joins").map(|name| self.open_side(name)).transpose()?;
        let id = self.draft.thing(Kind::Box, self.layer);
        if let Some((run, side)) = joins {
            let of = Subject::Side(run, side);
            self.draft.set(of.clone(), self.layer, Value::InBox(Some(id)), self.how);
            self.draft.set(of, Layer::Site, Value::Letter("A".to_owned()), self.how);
        }
        self.set_fields(id, Kind::Box)
    }

    /// A run's side of which nobody knows yet in which box it is.
    fn open_side(&self, name: &str) -> Result<(ThingId, Side), Refusal> {
        let (run, side) = self.names.side(name)?;
        match self.side_is_in(run, side) {
            None => Ok((run, side)),
            Some(_) => Err(refuse("refuse.side_known", &[])),
        }
    }

    /// `device B3:switch kind=switch-3way gang=1`
    pub(crate) fn note_device(&mut self) -> Result<(), Refusal> {
        let (place, name) = self.word(0)?.split_once(':').ok_or_else(|| refuse("refuse.missing", &[]))?;
        let in_box = self.names.box_named(place)?;
        let kind = self.field("kind")?;
        let Some(known) = self.names.catalogue.device(kind) else {
            return Err(refuse("refuse.not_in_catalogue", &[("name", kind)]));
        };
        for (field, is_there) in [
            ("watts", (|kind, name| kind.load(name).is_some()) as fn(&crate::catalogue::DeviceType, &str) -> bool),
            ("mapping", |kind, name| kind.switch(name).is_some()),
            ("link", |kind, name| kind.links.iter().any(|link| link.0 == name)),
        ] {
            let named = self.line.field(field).and_then(|value| value.split_whitespace().next());
            if let Some(named) = named.filter(|named| !is_there(known, named)) {
                return Err(refuse("refuse.no_part", &[("name", named), ("device", kind)]));
            }
        }
        let id = self.draft.thing(Kind::Device, self.layer);
        self.draft.set(id, self.layer, Value::InBox(Some(in_box)), self.how);
        self.draft.set(id, Layer::Site, Value::Name(text(name)?), self.how);
        self.set_fields(id, Kind::Device)
    }

    /// `run B3/A to=B1/C kind=nm-14-2 length="26 ft"`; `to=?` where the other side is not known yet, no kind where its
    /// type is not.
    pub(crate) fn note_run(&mut self) -> Result<(), Refusal> {
        let near = self.run_side(self.word(0)?)?;
        let far = match self.line.field("to") {
            None | Some("?") => (None, None),
            Some(to) => {
                let (id, letter) = self.run_side(to)?;
                (Some(id), letter)
            }
        };
        if Some(near.0) == far.0 {
            return Err(refuse("refuse.run_to_itself", &[]));
        }
        let id = self.draft.thing(Kind::Run, self.layer);
        for (side, in_box, letter) in [(Side::Near, Some(near.0), near.1), (Side::Far, far.0, far.1)] {
            let of = Subject::Side(id, side);
            self.draft.set(of.clone(), self.layer, Value::InBox(in_box), self.how);
            if let Some(letter) = letter {
                self.draft.set(of, Layer::Site, Value::Letter(letter), self.how);
            }
        }
        self.set_run_fields(id)
    }

    fn set_run_fields(&mut self, id: ThingId) -> Result<(), Refusal> {
        // What belongs to a side stands beside the run's own values in the event, for the side noted first; only
        // the feed belongs to the side at the panel.
        let line = self.line.clone();
        let mut own = line.clone();
        for (name, side) in [("enters", Side::Near), ("feed", Side::Far)] {
            if let Some(value) = own.fields.remove(name) {
                let value = match name {
                    "enters" => Value::EntersAt(one_of(&value)?),
                    _ => Value::Feed(self.names.device(&value)?),
                };
                self.draft.set(Subject::Side(id, side), self.layer, value, self.how);
            }
        }
        // The conductors of a raceway, each as `wire` would have it, parted by commas: `wires="black 12, white 12"`.
        for (n, wire) in own.fields.remove("wires").iter().flat_map(|list| list.split(',')).enumerate() {
            let single = super::line::Line::new(&line.verb).with("wire", format!("{n} {}", wire.trim()));
            self.set_fields_of(&single, &id.into(), Kind::Run)?;
        }
        self.set_fields_of(&own, &id.into(), Kind::Run)
    }

    /// A box and, after a stroke, the letter that a run gets there; refused if another run has that letter.
    fn run_side(&self, name: &str) -> Result<(ThingId, Option<String>), Refusal> {
        let Some((place, letter)) = name.split_once('/') else {
            return Ok((self.names.box_named(name)?, None));
        };
        if self.names.side(name).is_ok() {
            return Err(refuse("refuse.letter_taken", &[("letter", letter), ("box", place)]));
        }
        Ok((self.names.box_named(place)?, Some(text(letter)?)))
    }

    /// `join B3+grounds connector=wire-connector-large B3/A/bare B3/B/bare >B3:switch.ground`
    ///
    /// A member that begins with `>` is the far end of a new pigtail from this splice.
    pub(crate) fn join(&mut self) -> Result<(), Refusal> {
        let known = self.names.splice(self.word(0)?);
        let (in_box, name) = match self.word(0)?.split_once('+') {
            Some((place, name)) => (self.names.box_named(place)?, name),
            None => (self.splice_box(known.clone()?).ok_or_else(|| not_in_box(self.line))?, ""),
        };
        if known.is_err() && self.line.words.len() < 2 {
            return Err(refuse("refuse.splice_of_none", &[]));
        }
        let splice = if let Ok(id) = known {
            if !self.names.notes.present(id, self.layer) {
                self.draft.set(id, self.layer, Value::Present(true), self.how);
            }
            id
        } else {
            let id = self.draft.thing(Kind::Splice, self.layer);
            self.draft.set(id, self.layer, Value::InBox(Some(in_box)), self.how);
            self.draft.set(id, Layer::Site, Value::Name(text(name)?), self.how);
            id
        };
        self.set_fields(splice, Kind::Splice)?;
        let was_parted = |happened: &crate::job::Happened| {
            happened.what == Happening::Parted && happened.of == Subject::Thing(splice)
        };
        let was_parted = self.names.notes.happened().any(was_parted);
        let mut typical: Option<Conductor> = None;
        let mut pigtails = Vec::new();
        for member in self.line.words.iter().skip(1) {
            if let Some(to) = member.strip_prefix('>') {
                pigtails.push(to.to_owned());
                continue;
            }
            let tip = self.names.tip(member)?;
            self.must_be_in(&tip, in_box, member)?;
            if let Tip::Wire { run, wire, .. } = &tip {
                typical = typical.or_else(|| self.names.conductors(*run).remove(wire));
            }
            let place = Value::Place(Place::Splice(splice));
            if was_parted {
                self.draft.set_anew(tip, self.layer, place, self.how);
            } else {
                self.draft.set(tip, self.layer, place, self.how);
            }
        }
        // A splice that gets a pigtail later takes its make from the ends that are in it already.
        typical = typical.or_else(|| {
            let ends = self.names.wiring().ends_in(splice).into_iter().cloned().collect::<Vec<_>>();
            ends.into_iter().find_map(|tip| match tip {
                Tip::Wire { run, wire, .. } => self.names.conductors(run).remove(&wire),
                Tip::Lead { .. } => None,
            })
        });
        for to in pigtails {
            self.pigtail(in_box, splice, &to, typical.as_ref())?;
        }
        Ok(())
    }

    fn pigtail(&mut self, at: ThingId, splice: ThingId, to: &str, like: Option<&Conductor>) -> Result<(), Refusal> {
        let end = match to.strip_suffix('~') {
            Some(shell) => Place::Shell(self.names.box_named(shell)?),
            None => self.landing(to, None)?,
        };
        if let Place::Terminal { device, .. } = &end {
            self.device_must_be_in(*device, at, to)?;
        }
        let mut conductor = like.cloned().unwrap_or(Conductor {
            colour: Colour::CannotTell,
            size: "14".to_owned(),
            metal: Metal::Copper,
            stranded: false,
            ground: false,
        });
        if let Some(colour) = self.line.field("pigtail") {
            conductor.colour = one_of(colour)?;
        }
        let run = self.draft.thing(Kind::Run, self.layer);
        let letter = self.pigtail_letter(at);
        self.draft.set(Subject::Side(run, Side::Near), Layer::Site, Value::Letter(letter), self.how);
        self.draft.set(run, self.layer, Value::Type("pigtail".to_owned()), self.how);
        self.draft.set(run, self.layer, Value::Wire(NumberedWire { n: 0, conductor }), self.how);
        for (side, place) in [(Side::Near, Place::Splice(splice)), (Side::Far, end)] {
            self.draft.set(Subject::Side(run, side), self.layer, Value::InBox(Some(at)), self.how);
            self.draft.set(Tip::Wire { run, wire: 0, side }, self.layer, Value::Place(place), self.how);
        }
        Ok(())
    }

    /// A letter for one more pigtail in a box: `p1`, `p2`; so that its ends have names that people can say.
    fn pigtail_letter(&mut self, at: ThingId) -> String {
        self.pigtails += 1;
        let known = |wiring: &crate::job::Wiring| wiring.pigtails_in(at).len();
        format!("p{}", self.names.most(known) + self.pigtails)
    }

    /// A terminal as a place, with the way it holds.
    fn landing(&self, name: &str, held: Option<&str>) -> Result<Place, Refusal> {
        if let Some((panel, bus)) = name.split_once('!') {
            return Ok(Place::Bus { panel: self.names.with_buses(panel)?, bus: one_of(bus)? });
        }
        if !name.contains('.') {
            return Ok(Place::SomewhereOn(self.names.device(name)?));
        }
        let (device, terminal) = self.names.terminal(name)?;
        let landing = held.map_or(Ok(Landing::NotSaid), one_of)?;
        Ok(Place::Terminal { device, terminal, landing })
    }

    fn must_be_in(&self, tip: &Tip, place: ThingId, name: &str) -> Result<(), Refusal> {
        let is_in = match tip {
            Tip::Wire { run, side, .. } => self.side_is_in(*run, *side),
            Tip::Lead { device, .. } => self.device_is_in(*device),
        };
        if is_in == Some(place) { Ok(()) } else { Err(refuse("refuse.not_in_box", &[("name", name)])) }
    }

    fn device_must_be_in(&self, device: ThingId, place: ThingId, name: &str) -> Result<(), Refusal> {
        if self.device_is_in(device) == Some(place) {
            Ok(())
        } else {
            Err(refuse("refuse.not_in_box", &[("name", name)]))
        }
    }

    fn side_is_in(&self, run: ThingId, side: Side) -> Option<ThingId> {
        let take = crate::job::wiring::pick!(InBox);
        let of = Subject::Side(run, side);
        *self.names.notes.note(&of, &FieldKind::InBox.into(), self.layer, take).get()?
    }

    fn splice_box(&self, splice: ThingId) -> Option<ThingId> {
        *self.names.wiring().splices.get(&splice)?.in_box.get()?
    }

    fn device_is_in(&self, device: ThingId) -> Option<ThingId> {
        let take = crate::job::wiring::pick!(InBox);
        *self.names.notes.note(&device.into(), &FieldKind::InBox.into(), self.layer, take).get()?
    }

    /// `land B3/B/black B3:switch.traveler_1 screw`
    pub(crate) fn land(&mut self) -> Result<(), Refusal> {
        let tip = self.names.tip(self.word(0)?)?;
        let place = self.landing(self.word(1)?, self.line.words.get(2).map(String::as_str))?;
        let at = match &place {
            Place::Terminal { device, .. } | Place::SomewhereOn(device) => self.device_is_in(*device),
            Place::Bus { panel, .. } => Some(*panel),
            _ => None,
        };
        let at = at.ok_or_else(|| not_in_box(self.line))?;
        // Another supply is no box: its conductors may end in any, or nowhere yet.
        if self.names.notes.kind(at) != Some(Kind::Supply) {
            self.must_be_in(&tip, at, self.word(0)?)?;
        }
        self.draft.set(tip.clone(), self.layer, Value::Place(place), self.how);
        self.set_fields(tip, Kind::Run)
    }

    /// `place B3/B/red capped`, `place B6/A/white through B6/B/white`, `place B3/A/bare shell`
    pub(crate) fn place(&mut self) -> Result<(), Refusal> {
        let tip = self.names.tip(self.word(0)?)?;
        let place = match self.word(1)? {
            "capped" => Place::Capped,
            "loose" => Place::Loose,
            "absent" => Place::Absent,
            "shell" => {
                let at = self.names.wiring().box_of(&tip);
                Place::Shell(at.ok_or_else(|| not_in_box(self.line))?)
            }
            "through" => {
                let other = self.names.tip(self.word(2)?)?;
                let at = self.names.wiring().box_of(&tip);
                self.must_be_in(&other, at.ok_or_else(|| not_in_box(self.line))?, self.word(2)?)?;
                self.draft.set(other.clone(), self.layer, Value::Place(Place::Through(tip.clone())), self.how);
                Place::Through(other)
            }
            other => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
        };
        self.draft.set(tip, self.layer, Value::Place(place), self.how);
        Ok(())
    }

    /// `cap B3/D/black B3/D/white B3/D/bare`: each has a cap on and is joined to nothing.
    pub(crate) fn cap(&mut self) -> Result<(), Refusal> {
        self.word(0)?;
        for name in &self.line.words {
            let tip = self.names.tip(name)?;
            self.draft.set(tip, self.layer, Value::Place(Place::Capped), self.how);
        }
        Ok(())
    }

    /// `label B3/A/black "HOT IN" B3/A/white NEUT`; `-` for nothing written.
    pub(crate) fn label(&mut self) -> Result<(), Refusal> {
        self.word(1)?;
        for pair in self.line.words.chunks(2) {
            let [name, label] = pair else { return Err(refuse("refuse.missing", &[])) };
            let tip = self.names.tip(name)?;
            let label = if label == "-" { None } else { Some(text(label)?) };
            self.draft.set(tip, self.layer, Value::Label(label), self.how);
        }
        Ok(())
    }

    /// `set B3 volume=32.0`, `set B4/A/white free=5`
    pub(crate) fn set_values(&mut self) -> Result<(), Refusal> {
        if let Ok((run, side)) = self.names.side(self.word(0)?) {
            return self.set_side(run, side);
        }
        let of = self.subject()?;
        let kind = match &of {
            Subject::Thing(id) => self.names.notes.kind(*id).ok_or_else(|| refuse("refuse.missing", &[]))?,
            Subject::Side(..) | Subject::Tip(_) => Kind::Run,
        };
        self.set_fields(of, kind)
    }

    /// Of the values said of a run by one of its sides, those that belong to the side go there, the others to the run.
    fn set_side(&mut self, run: ThingId, side: Side) -> Result<(), Refusal> {
        let line = self.line;
        for (name, value) in &line.fields {
            let of = match name.as_str() {
                "in" | "letter" | "enters" | "feed" => Subject::Side(run, side),
                _ => run.into(),
            };
            let single = super::line::Line::new(&line.verb).with(name, value);
            self.set_fields_of(&single, &of, Kind::Run)?;
        }
        Ok(())
    }

    /// The subject that the first word names; a side of a run too.
    pub(crate) fn subject(&self) -> Result<Subject, Refusal> {
        let name = self.word(0)?;
        self.names.subject(name).or_else(|error| match self.names.side(name) {
            Ok((run, side)) => Ok(Subject::Side(run, side)),
            Err(_) => Err(error),
        })
    }

    /// `remove B3:blank`: no longer there in this layer.
    pub(crate) fn remove(&mut self) -> Result<(), Refusal> {
        let Subject::Thing(id) = self.names.subject(self.word(0)?)? else {
            return Err(refuse("refuse.not_a_thing", &[("name", self.word(0)?)]));
        };
        self.draft.set(id, self.layer, Value::Present(false), self.how);
        Ok(())
    }

    /// `promise B7:light.lamp toggled B3:switch.handle B6:switch.handle`
    pub(crate) fn promise(&mut self) -> Result<(), Refusal> {
        let job = self.the_job()?;
        let load = self.names.load(self.word(0)?)?;
        let rule = match self.word(1)? {
            "always" => Promised::Always,
            "never" => Promised::Never,
            "as-found" => Promised::AsFound,
            "toggled" => {
                let handles = self.line.words.iter().skip(2).map(|name| self.names.handle(name));
                let handles = handles.collect::<Result<BTreeSet<_>, _>>()?;
                if handles.is_empty() {
                    return Err(refuse("refuse.missing", &[]));
                }
                Promised::Toggled(handles)
            }
            other => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
        };
        self.draft.set(job, Layer::Site, Value::Promise(Promise { load, rule }), self.how);
        Ok(())
    }

    /// `to-open B3 why="the wall light is fed from it"`, `not-to-open B1 why="nothing to do there"`
    pub(crate) fn open_or_not(&mut self, open: bool) -> Result<(), Refusal> {
        let job = self.the_job()?;
        let why = text(self.field("why")?)?;
        for name in &self.line.words {
            let id = self.names.box_named(name)?;
            let value = Value::Open(OpenOrNot { r#box: id, open, why: why.clone() });
            self.draft.set(job, Layer::Site, value, self.how);
        }
        Ok(())
    }

    /// `seen B3/B/red B3/D/black`: each of these ends was looked at and is where the layer has it.
    pub(crate) fn seen(&mut self) -> Result<(), Refusal> {
        self.word(0)?;
        for name in &self.line.words {
            let tip = self.names.tip(name)?;
            let Some(place) = self.names.wiring().place(&tip).cloned() else {
                return Err(refuse("refuse.place_not_known", &[("name", name)]));
            };
            if let Some(at) = self.names.wiring().box_of(&tip) {
                self.draft.add(at, Happening::Looked { tip: tip.clone(), seen: place.clone() });
            }
            self.draft.set(tip, self.layer, Value::Place(place), How::Seen);
        }
        Ok(())
    }

    /// `as-planned B3`: what was planned for a box is how it was left, carried over in bulk and not looked at.
    pub(crate) fn as_planned(&mut self) -> Result<(), Refusal> {
        let job = self.the_job()?;
        let at = self.names.box_named(self.word(0)?)?;
        let (planned, left) = (Layer::Planned(job), Layer::Left(job));
        let notes = self.names.notes;
        let wiring = notes.wiring(planned);
        let here: Vec<_> = notes.subjects().filter(|of| self.belongs_to(of, at, &wiring)).collect();
        let fields = here.into_iter().flat_map(|of| notes.all_fields(of).into_iter().map(move |field| (of, field)));
        let planned: Vec<_> = fields
            .flat_map(|(of, field)| notes.current(of, &field, planned).into_iter().map(move |said| (of, said)))
            .collect();
        if planned.is_empty() {
            return Err(refuse("refuse.nothing_planned", &[]));
        }
        for (of, said) in planned {
            self.draft.set(of.clone(), left, said.value.clone(), How::Carried);
        }
        Ok(())
    }

    /// Does a subject belong to a box, as planned, or as found if the plan takes it away?
    fn belongs_to(&self, of: &Subject, at: ThingId, planned: &crate::job::Wiring) -> bool {
        let thing = |id: ThingId| {
            let take = crate::job::wiring::pick!(InBox);
            let home = self.names.notes.note(&id.into(), &FieldKind::InBox.into(), planned.layer, take);
            id == at || home.get() == Some(&Some(at))
        };
        let run = |id: &ThingId| {
            let note = planned.runs.get(id);
            note.is_some_and(|note| Side::BOTH.iter().any(|s| note.side(*s).in_box.get() == Some(&Some(at))))
        };
        match of {
            Subject::Thing(id) => thing(*id) || run(id),
            Subject::Side(id, _) => run(id),
            Subject::Tip(tip) => planned.box_of(tip) == Some(at),
        }
    }
}

/// The end that an event speaks of first is in no box yet.
pub(crate) fn not_in_box(line: &super::line::Line) -> Refusal {
    refuse("refuse.not_in_box", &[("name", line.words.first().map_or("", String::as_str))])
}
