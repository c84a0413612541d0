//! Everything that a notebook knows of a site, as lines `of = says`: what a careful paper record would hold. Two
//! notebooks in which the same things were noted give the same lines, whatever names the things got.

use std::collections::BTreeSet;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::happening::Held;
use boxproof_core::job::{
    Happened, Happening, InstrumentNote, JobNote, Kind, Layer, Notes, PersonNote, Place, Promised, RunNote, Side,
    SiteNote, Subject, ThingId, Tip, Wiring,
};
use boxproof_core::token::path::word_of;

/// The lines of one site.
pub(crate) struct Sheet<'a> {
    notes: &'a Notes,
    catalogue: &'a Catalogue,
    pub(crate) lines: BTreeSet<String>,
}

impl<'a> Sheet<'a> {
    pub(crate) fn of(notes: &'a Notes, site: ThingId) -> Self {
        let mut sheet = Self { notes, catalogue: Catalogue::shared(), lines: BTreeSet::new() };
        sheet.setting(site);
        let job = notes.job_now().unwrap();
        let [found, planned, left] = [Layer::Found(job), Layer::Planned(job), Layer::Left(job)].map(|l| sheet.layer(l));
        let (more, done): (BTreeSet<_>, BTreeSet<_>) =
            (planned.difference(&found).cloned().collect(), left.difference(&found).cloned().collect());
        sheet.lines.extend(found);
        sheet.lines.extend(more.iter().map(|line| format!("planned {line}")));
        // What was left as it was planned is not said twice.
        sheet.lines.extend(done.difference(&more).map(|line| format!("left {line}")));
        sheet.lines.extend(more.intersection(&done).map(|line| format!("left as planned: {line}")));
        sheet.asked(job);
        for happened in notes.happened() {
            sheet.happened(happened);
        }
        sheet
    }

    fn say(&mut self, of: &str, says: impl std::fmt::Display) {
        self.lines.insert(format!("{of} = {says}"));
    }

    fn some<T: std::fmt::Display>(&mut self, of: &str, says: Option<T>) {
        if let Some(says) = says {
            self.say(of, says);
        }
    }

    /// Site, people, instruments, jobs, packs.
    fn setting(&mut self, site: ThingId) {
        let note = SiteNote::read(self.notes, site);
        self.some("site", note.name.get());
        for id in self.notes.things(Kind::Person, Layer::Site) {
            let note = PersonNote::read(self.notes, id);
            let of = format!("person {}", note.name.get().unwrap());
            self.some(&of, note.licence.get());
        }
        for id in self.notes.things(Kind::Instrument, Layer::Site) {
            let note = InstrumentNote::read(self.notes, id);
            let of = format!("instrument {}", note.name.get().unwrap());
            self.some(&format!("{of} kind"), note.kind.get());
            self.some(&format!("{of} serial"), note.serial.get());
            self.some(&format!("{of} category"), note.category.get());
            for burden in note.burdens.iter().filter_map(|note| note.get()) {
                let setting = if burden.low { "low" } else { "high" };
                self.say(&format!("{of} {setting}"), format!("{} kΩ", burden.kilohms));
            }
        }
        for id in self.notes.things(Kind::Job, Layer::Site) {
            let note = JobNote::read(self.notes, id);
            let of = format!("job {}", note.name.get().unwrap());
            self.some(&format!("{of} edition"), note.edition.get());
            self.some(&format!("{of} number"), note.number.get());
            self.some(&format!("{of} scope"), note.scope.get());
            self.some(&format!("{of} dead limit"), note.dead_limit.get());
            let after = note.after.get().copied().flatten().map(|id| JobNote::read(self.notes, id));
            self.some(&format!("{of} after"), after.as_ref().and_then(|note| note.name.get()));
        }
    }

    /// What was asked for, and which boxes are opened for it.
    fn asked(&mut self, job: ThingId) {
        let wiring = Wiring::of(self.notes, Layer::Planned(job));
        for (load, rule) in &wiring.promises {
            let of = format!("asked {} {}", device(&wiring, load.device), load.load);
            match rule {
                Promised::Always => self.say(&of, "always"),
                Promised::Never => self.say(&of, "never"),
                Promised::AsFound => self.say(&of, "as found"),
                Promised::Toggled(handles) => {
                    for handle in handles {
                        self.say(&of, format!("toggled by {}", device(&wiring, handle.device)));
                    }
                }
            }
        }
        for open in JobNote::read(self.notes, job).opens.iter().filter_map(|note| note.get()) {
            self.say(&format!("open {}", wiring.tag(open.r#box)), if open.open { "yes" } else { "no" });
        }
        for ((connector, size), (least, most)) in &wiring.ranges {
            self.say(&format!("pack {connector} {size}"), format!("{least} to {most}"));
        }
    }

    fn layer(&self, layer: Layer) -> BTreeSet<String> {
        let wiring = Wiring::of(self.notes, layer);
        let mut at = Layered { wiring: &wiring, catalogue: self.catalogue, lines: BTreeSet::new() };
        at.boxes();
        at.runs();
        at.devices();
        at.ends();
        at.lines
    }

    /// What happened, with its time; the readings are counted apart and compared apart.
    fn happened(&mut self, happened: &Happened) {
        let job = self.notes.job_now().unwrap();
        let wiring = Wiring::of(self.notes, Layer::Left(job));
        let of = match &happened.of {
            Subject::Thing(id) if wiring.boxes.contains_key(id) => wiring.tag(*id),
            Subject::Thing(id) if wiring.devices.contains_key(id) => device(&wiring, *id),
            Subject::Thing(id) if wiring.splices.contains_key(id) => splice(&wiring, *id),
            _ => String::new(),
        };
        let person = |id: &ThingId| PersonNote::read(self.notes, *id).name.get().cloned().unwrap();
        let here = match &happened.of {
            Subject::Thing(id) if self.notes.kind(*id) == Some(Kind::Person) => person(id),
            _ => of.clone(),
        };
        let what = match &happened.what {
            Happening::Arrived { job } => {
                format!("arrived {here} for {}", JobNote::read(self.notes, *job).name.get().unwrap())
            }
            Happening::Gone { ended } => format!("{} {here}", if *ended { "gone" } else { "away" }),
            Happening::Back => format!("back {here}"),
            Happening::Told(words) => format!("told {words}"),
            Happening::CoverOff => format!("cover off {of}"),
            Happening::CoverOn => format!("cover on {of}"),
            Happening::Isolated(Held::Lock(who)) => format!("lock on {of} of {}", person(who)),
            Happening::Unlocked(who) => format!("lock off {of} of {}", person(who)),
            Happening::Switched { on } => format!("{} {of}", if *on { "ON" } else { "OFF" }),
            Happening::Parted => format!("parted {of}"),
            Happening::Looked { tip, seen } => format!("looked {}: {}", end(&wiring, tip), place(&wiring, tip, seen)),
            Happening::Readied(point) => format!("before power {point}"),
            Happening::Concluded(words) => format!("concluded {words}"),
            Happening::Remark(words) => format!("remark {of}: {words}"),
            Happening::DoNotCover(words) => format!("do not cover {of}: {words}"),
            Happening::Unfinished(words) => format!("unfinished {of}: {words}"),
            Happening::Used(used) => {
                let whose = if used.customers { ", the customer's" } else { "" };
                format!("used {} {} {}{whose}", used.amount, used.unit, used.item)
            }
            Happening::Hours(hours) => format!("hours {hours}"),
            Happening::Signed { .. } => "signed".to_owned(),
            _ => return,
        };
        self.say(&what, happened.wall.clock());
    }
}

/// One layer of the wiring.
struct Layered<'w> {
    wiring: &'w Wiring,
    catalogue: &'w Catalogue,
    lines: BTreeSet<String>,
}

impl Layered<'_> {
    fn some<T: std::fmt::Display>(&mut self, of: &str, says: Option<T>) {
        if let Some(says) = says {
            self.lines.insert(format!("{of} = {says}"));
        }
    }

    fn boxes(&mut self) {
        let wiring = self.wiring;
        for (id, note) in &wiring.boxes {
            let of = format!("box {}", wiring.tag(*id));
            self.some(&of, Some("there"));
            self.some(&format!("{of} place"), note.location.get());
            self.some(&format!("{of} construction"), note.kind.get());
            self.some(&format!("{of} volume"), note.volume.get());
            self.some(&format!("{of} gangs"), note.gangs.get());
            self.some(&format!("{of} clamps"), note.clamps.get());
            self.some(&format!("{of} studs"), note.studs.get());
            self.some(&format!("{of} supply"), note.system.get().map(word_of));
        }
    }

    fn runs(&mut self) {
        let wiring = self.wiring;
        for (id, note) in wiring.runs.iter().filter(|(_, note)| !note.is_inside()) {
            let of = format!("run {}", run(wiring, *id));
            self.some(&of, Some("there"));
            self.some(&format!("{of} type"), note.kind.get());
            let length = note.length.get().map(|length| {
                format!("{} {}{}", length.value, word_of(&length.unit), if length.measured { "" } else { " est." })
            });
            self.some(&format!("{of} length"), length);
            let feed = [&note.near, &note.far].into_iter().find_map(|side| side.feed.get());
            self.some(&format!("{of} breaker"), feed.map(|id| device(wiring, *id)));
            for (n, wire) in self.catalogue.conductors(note) {
                self.some(&format!("{of} conductor {n}"), wire.map(|wire| word_of(&wire.colour)));
            }
        }
    }

    fn devices(&mut self) {
        let wiring = self.wiring;
        for (id, note) in &wiring.devices {
            let of = format!("device {}", device(wiring, *id));
            self.some(&of, Some("there"));
            self.some(&format!("{of} gang"), note.gang.get());
            self.some(&format!("{of} number"), note.number.get());
            self.some(&format!("{of} leg"), note.leg.get().map(word_of));
            self.some(&format!("{of} directory"), note.directory.get());
            let into = note.plugged_into.get().cloned().flatten();
            self.some(
                &format!("{of} plugged into"),
                into.map(|load| format!("{} {}", device(wiring, load.device), load.load)),
            );
            for (load, watts) in &note.watts {
                self.some(&format!("{of} {load}"), watts.get().map(|watts| format!("{watts} W")));
            }
        }
        for (id, note) in wiring.splices.iter().filter(|(id, _)| !wiring.ends_in(**id).is_empty()) {
            self.some(&format!("connector of {}", splice(wiring, *id)), note.connector.get());
        }
    }

    fn ends(&mut self) {
        let wiring = self.wiring;
        for (tip, note) in &wiring.tips {
            if is_pigtail(wiring, tip) {
                self.pigtail(tip);
                continue;
            }
            let of = end(wiring, tip);
            self.some(&format!("end {of}"), note.place.get().map(|at| place(wiring, tip, at)));
            self.some(&format!("label {of}"), note.label.get().and_then(Option::as_ref));
            self.some(&format!("free length {of}"), note.free_length.get());
        }
    }

    /// A pigtail by where its far end goes.
    fn pigtail(&mut self, tip: &Tip) {
        let Tip::Wire { run, wire, side } = tip else { return };
        let other = Tip::Wire { run: *run, wire: *wire, side: side.other() };
        if let (Some(Place::Splice(from)), Some(to)) = (self.wiring.place(&other), self.wiring.place(tip))
            && !matches!(to, Place::Splice(_))
        {
            self.some(&format!("pigtail of {}", splice(self.wiring, *from)), Some(place(self.wiring, tip, to)));
        }
    }
}

fn is_pigtail(wiring: &Wiring, tip: &Tip) -> bool {
    matches!(tip, Tip::Wire { run, .. } if wiring.runs.get(run).is_some_and(RunNote::is_inside))
}

fn home(wiring: &Wiring, id: ThingId) -> String {
    let note = wiring.devices.get(&id);
    note.and_then(|note| note.in_box.get().copied().flatten()).map(|at| wiring.tag(at)).unwrap_or_default()
}

/// A device by its box, its kind, and a breaker by its number.
fn device(wiring: &Wiring, id: ThingId) -> String {
    let note = &wiring.devices[&id];
    let number = note.number.get().map(|number| format!(" {number}")).unwrap_or_default();
    format!("{} {}{number}", home(wiring, id), note.kind.get().map_or("", String::as_str))
}

/// A run by the two boxes that it joins.
fn run(wiring: &Wiring, id: ThingId) -> String {
    let note = &wiring.runs[&id];
    let mut tags = Side::BOTH.map(|side| {
        let at = note.side(side).in_box.get().copied().flatten();
        at.map_or_else(|| "?".to_owned(), |at| wiring.tag(at))
    });
    tags.sort();
    tags.join("-")
}

/// An end by its run, its colour and the box that it is in; a lead by its device.
fn end(wiring: &Wiring, tip: &Tip) -> String {
    match tip {
        Tip::Wire { run: id, wire, .. } => {
            let at = wiring.box_of(tip).map(|at| wiring.tag(at)).unwrap_or_default();
            let note = &wiring.runs[id];
            let conductor = Catalogue::shared().conductor(note, *wire);
            let colour = conductor.map_or_else(|| wire.to_string(), |wire| word_of(&wire.colour));
            if note.is_inside() {
                format!("{at} {colour} pigtail")
            } else {
                format!("{at} {} {colour}", run(wiring, *id))
            }
        }
        Tip::Lead { device: id, lead } => format!("{} lead {lead}", device(wiring, *id)),
    }
}

/// A splice by its box and the first of the ends that come to it from elsewhere.
fn splice(wiring: &Wiring, id: ThingId) -> String {
    let ends = wiring.ends_in(id).into_iter().filter(|tip| !is_pigtail(wiring, tip));
    let first = ends.map(|tip| end(wiring, tip)).min();
    format!("splice {}", first.unwrap_or_default())
}

fn place(wiring: &Wiring, tip: &Tip, at: &Place) -> String {
    match at {
        Place::Splice(id) => {
            let others = wiring.ends_in(*id).into_iter().filter(|other| *other != tip && !is_pigtail(wiring, other));
            let first = others.map(|other| end(wiring, other)).min();
            format!("with {}", first.unwrap_or_else(|| "a pigtail".to_owned()))
        }
        Place::Terminal { device: id, terminal, .. } => format!("{}.{terminal}", device(wiring, *id)),
        Place::SomewhereOn(id) => format!("somewhere on {}", device(wiring, *id)),
        Place::Shell(id) => format!("the metal of {}", wiring.tag(*id)),
        Place::Bus { bus, .. } => format!("bus {}", word_of(bus)),
        Place::Through(other) => format!("through as {}", end(wiring, other)),
        Place::Capped => "capped".to_owned(),
        Place::Loose => "loose".to_owned(),
        Place::Absent => "absent".to_owned(),
    }
}
