//! The conductors of a noted run: what its type brings, and what was noted one by one; sizes and colours in words.

use std::collections::BTreeMap;

use super::{Catalogue, RunType};
use crate::job::{Colour, Conductor, Note, RunNote};
use crate::words::say;

/// The conductors of `run` by number. One noted by itself counts before the type's; one noted twice is left out,
/// so that nobody builds on it.
pub fn conductors(run: &RunNote, kind: Option<&RunType>) -> BTreeMap<u8, Conductor> {
    let typical = kind.into_iter().flat_map(|kind| (0u8..).zip(kind.wires.iter().cloned()));
    let mut wires: BTreeMap<u8, Conductor> = typical.collect();
    for (n, note) in &run.wires {
        match note.get() {
            Some(conductor) => drop(wires.insert(*n, conductor.clone())),
            None => drop(wires.remove(n)),
        }
    }
    wires
}

impl Catalogue {
    /// One conductor of a run: as noted by itself, else as its kind brings it. `None`: not known, or noted twice.
    pub fn conductor(&self, run: &RunNote, wire: u8) -> Option<Conductor> {
        match run.wires.get(&wire) {
            Some(Note::Said(conductor, _)) => Some(conductor.clone()),
            Some(Note::Twice(_)) => None,
            Some(Note::NotSaid) | None => self.run(run.kind.get()?)?.wires.get(usize::from(wire)).cloned(),
        }
    }

    /// The conductors of a run by number; `None` for one that is not known. Empty: nobody said what the run brings.
    pub fn conductors(&self, run: &RunNote) -> Vec<(u8, Option<Conductor>)> {
        let brought = run.kind.get().and_then(|kind| self.run(kind)).map_or(0, |kind| kind.wires.len());
        let brought = u8::try_from(brought).unwrap_or(u8::MAX);
        let mut numbers: Vec<u8> = (0..brought).chain(run.wires.keys().copied()).collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers.into_iter().map(|wire| (wire, self.conductor(run, wire))).collect()
    }
}

/// A conductor size in words: "14 AWG", "2.5 mm²".
pub fn size_name(size: &str) -> String {
    match size.strip_suffix("mm2") {
        Some(area) => say("size.mm2", &[("n", area)]),
        None => say("size.awg", &[("n", size)]),
    }
}

/// A colour in words.
pub fn colour_name(colour: Colour) -> String {
    let key = match colour {
        Colour::Black => "black",
        Colour::White => "white",
        Colour::Red => "red",
        Colour::Blue => "blue",
        Colour::Green => "green",
        Colour::GreenYellow => "green_yellow",
        Colour::Gray => "gray",
        Colour::Brown => "brown",
        Colour::Orange => "orange",
        Colour::Yellow => "yellow",
        Colour::Purple => "purple",
        Colour::Bare => "bare",
        Colour::Cloth => "cloth",
        Colour::Painted => "painted",
        Colour::CannotTell => "cannot_tell",
    };
    say(&format!("colour.{key}"), &[])
}

/// A bus or bar in words.
pub fn bus_name(bus: crate::job::Bus) -> String {
    use crate::job::Bus;
    let key = match bus {
        Bus::A => "bus.a",
        Bus::B => "bus.b",
        Bus::C => "bus.c",
        Bus::Neutral => "bus.neutral",
        Bus::Ground => "bus.ground",
    };
    crate::words::say(key, &[])
}
