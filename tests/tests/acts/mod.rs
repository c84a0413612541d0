//! Facts of a paper note, each looked up in a wiring; and the flow that notes them.

#![allow(dead_code, reason = "each test that shares this file uses a part of it")]

pub(crate) mod flow;
pub(crate) mod sheet;

use boxproof_core::app::path::{Names, word_of};
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{How, Layer, Notes, Place, RunNote, Side, ThingId, Tip, Wiring};

/// The box that the facts are of.
const AT: &str = "B3";

/// One fact: of what, and what it says.
#[derive(Debug)]
pub(crate) struct Fact {
    of: String,
    says: String,
}

/// The list of facts.
pub(crate) struct Facts {
    pub(crate) lines: Vec<Fact>,
}

impl Facts {
    pub(crate) fn read(text: &str) -> Self {
        let lines = text.lines().filter(|line| !line.is_empty() && !line.starts_with('#'));
        let lines = lines.map(|line| {
            let (of, says) = line.split_once(" = ").unwrap_or_else(|| panic!("{line}"));
            Fact { of: of.to_owned(), says: says.to_owned() }
        });
        Self { lines: lines.collect() }
    }
}

/// What is known in the end, with the names of things.
pub(crate) struct Known<'a> {
    names: Names<'a>,
    wiring: Wiring,
    at: ThingId,
}

impl<'a> Known<'a> {
    pub(crate) fn of(notes: &'a Notes, layer: Layer) -> Self {
        let names = Names::new(notes, Catalogue::shared(), layer);
        let at = names.box_named(AT).unwrap();
        Self { wiring: Wiring::of(notes, layer), names, at }
    }

    fn tip(&self, name: &str) -> Tip {
        self.names.tip(&format!("{AT}/{name}")).unwrap()
    }

    fn run(&self, letter: &str) -> (&RunNote, Side) {
        let (run, side) = self.names.side(&format!("{AT}/{letter}")).unwrap();
        (&self.wiring.runs[&run], side)
    }

    fn device(&self, gang: &str) -> ThingId {
        let devices = self.wiring.devices_in(self.at);
        let in_gang = |id: &ThingId| self.wiring.devices[id].gang.get().is_some_and(|known| known.to_string() == gang);
        devices.into_iter().find(in_gang).unwrap_or_else(|| panic!("no device in gang {gang}"))
    }

    fn splice(&self, tip: &Tip) -> Option<ThingId> {
        match self.wiring.place(tip) {
            Some(Place::Splice(splice)) => Some(*splice),
            _ => None,
        }
    }

    fn box_fact(&self, field: &str) -> Option<String> {
        let note = &self.wiring.boxes[&self.at];
        match field {
            "tag" => note.tag.get().cloned(),
            "place" => note.location.get().cloned(),
            "construction" => note.kind.get().cloned(),
            "volume" => note.volume.get().map(ToString::to_string),
            "gangs" => note.gangs.get().map(ToString::to_string),
            "clamps" => note.clamps.get().map(ToString::to_string),
            other => panic!("{other} is no fact of a box"),
        }
    }

    fn run_fact(&self, letter: &str, field: &str) -> Option<String> {
        let (note, side) = self.run(letter);
        match field {
            "type" => note.kind.get().cloned(),
            "other box" => note.side(side.other()).in_box.get().copied().flatten().map(|far| self.wiring.tag(far)),
            "length" => note.length.get().map(|length| length.value.to_string()),
            other => panic!("{other} is no fact of a run"),
        }
    }

    fn colour(&self, name: &str) -> Option<String> {
        let (letter, n) = name.split_once('/').unwrap();
        let wires = Catalogue::shared().conductors(self.run(letter).0);
        let n: u8 = n.parse().unwrap();
        let wire = wires.into_iter().find(|(known, _)| *known == n)?.1?;
        Some(word_of(&wire.colour))
    }

    /// On a terminal of the device in a gang: `1 traveler` is either traveler of the left gang.
    fn is_on(&self, tip: &Tip, terminal: &str) -> bool {
        let (gang, wanted) = terminal.split_once(' ').unwrap();
        let on = self.device(gang);
        matches!(self.wiring.place(tip),
            Some(Place::Terminal { device, terminal, .. }) if *device == on && terminal.starts_with(wanted))
    }

    /// A pigtail on a terminal comes from the splice that an end is in.
    fn is_pigtail(&self, terminal: &str, name: &str) -> bool {
        let (gang, wanted) = terminal.split_once(' ').unwrap();
        let splice = self.splice(&self.tip(name));
        let ends = self.wiring.ends_on(self.device(gang), wanted);
        splice.is_some()
            && ends.into_iter().any(|tip| match tip {
                Tip::Wire { run, wire, side } => {
                    self.splice(&Tip::Wire { run: *run, wire: *wire, side: side.other() }) == splice
                }
                Tip::Lead { .. } => false,
            })
    }

    fn connector(&self, name: &str) -> Option<String> {
        let splice = self.splice(&self.tip(name))?;
        self.wiring.splices.get(&splice)?.connector.get().cloned()
    }

    /// For each label of the box, whether it says that somebody looked: it was noted in bulk, so it must not. What is
    /// planned is an intention and no observation, however it was noted.
    pub(crate) fn looked_at(&self) -> Vec<bool> {
        let here = self.wiring.tips.iter().filter(|(tip, _)| self.wiring.box_of(tip) == Some(self.at));
        let bases = here.filter_map(|(_, note)| note.label.basis());
        bases.map(|basis| basis.how != How::Confirmed && !matches!(basis.layer, Layer::Planned(_))).collect()
    }

    /// What is written on the ends of the box, for whoever reads a failure.
    pub(crate) fn labels(&self) -> Vec<String> {
        let called = boxproof_core::name::Called::new(&self.wiring, self.names.catalogue);
        let here = self.wiring.tips.iter().filter(|(tip, _)| self.wiring.box_of(tip) == Some(self.at));
        here.filter_map(|(tip, note)| Some(format!("{}: {}", called.tip(tip), note.label.get()?.as_ref()?))).collect()
    }

    fn label(&self, name: &str) -> Option<String> {
        self.wiring.tips.get(&self.tip(name))?.label.get().cloned().flatten()
    }
}

impl Fact {
    /// Says how it differs from what is known; nothing where it is known so.
    pub(crate) fn unlike(&self, known: &Known<'_>) -> Option<String> {
        let (kind, of) = self.of.split_once(' ').unwrap_or(("", &self.of));
        let says = |is: bool| is.then(|| self.says.clone());
        let is = match kind {
            "" => known.box_fact(of),
            "run" => of.split_once(' ').and_then(|(letter, field)| known.run_fact(letter, field)),
            "colour" => known.colour(of),
            "device" => of.split_once(' ').and_then(|(gang, field)| {
                let note = &known.wiring.devices[&known.device(gang)];
                if field == "kind" { note.kind.get().cloned() } else { note.gang.get().map(ToString::to_string) }
            }),
            "end" if self.says.contains('/') => {
                let (one, other) = (known.splice(&known.tip(of)), known.splice(&known.tip(&self.says)));
                says(one.is_some() && one == other)
            }
            "end" => says(known.is_on(&known.tip(of), &self.says)),
            "pigtail" => says(known.is_pigtail(of, &self.says)),
            "connector" => known.connector(of),
            "label" => known.label(of),
            other => panic!("{other} is no kind of fact"),
        };
        (is.as_ref() != Some(&self.says)).then(|| format!("{}: {is:?}, not {}", self.of, self.says))
    }
}
