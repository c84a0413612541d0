//! What is written on a conductor's tape, proposed from what the conductor does.
//!
//! Only ends of runs get tape: grounds are told by their make, pigtails and leads by where they end. Nothing is
//! proposed for an end whose duty is not known, and nothing from its colour alone: colour is evidence, and what stands
//! on tape is read as a fact for years. What is written already is never replaced.
//!
//! Travelers are numbered so that one conductor has one number in every box that it reaches, and a number that is
//! already written somewhere along it is followed.

mod traveler;

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::{Catalogue, load_name};
use crate::job::{Author, Kind, Layer, Note, Notes, PersonNote, ThingId, Tip, Wiring};
use crate::words::say;

use super::role::{Duty, Evidence, Flow, Role, Roles};
use traveler::Travelers;

/// Words that tape can say before a tag or a number; trade abbreviations, common practice without a source.
pub const WORDS: [&str; 9] = ["hot", "hot_in", "hot_out", "to", "neut", "neut_in", "trav", "sw_leg", "sw_leg_in"];

/// What a person writes instead, by the words as they are proposed.
pub type Abbreviations = BTreeMap<String, String>;

/// The person who writes with a key: whose key it is noted to be, else whose visit it last signed.
pub fn writer(notes: &Notes, author: Author) -> Option<PersonNote> {
    let people = notes.things(Kind::Person, Layer::Site).into_iter().map(|id| PersonNote::read(notes, id));
    let keyed = people.into_iter().find(|person| person.key.get() == Some(&author));
    let visited = || {
        let visits = notes.visits().into_iter().rev();
        visits.into_iter().find(|visit| visit.author == author).map(|visit| PersonNote::read(notes, visit.person))
    };
    keyed.or_else(visited)
}

/// The words that whoever writes with a key has of their own.
pub fn abbreviations(notes: &Notes, author: Author) -> Abbreviations {
    writer(notes, author).map(|person| person.abbreviations).unwrap_or_default()
}

/// A word of the tape as it is proposed to everybody.
pub fn word(key: &str) -> String {
    say(&format!("tape.{key}"), &[])
}

/// A word of the tape as this person writes it.
pub fn word_as(key: &str, short: &Abbreviations) -> String {
    let plain = word(key);
    short.get(&plain).cloned().unwrap_or(plain)
}

/// A word of the tape with what tells it apart: `TO B4`, `TRAV 1`.
pub fn with(word: &str, more: &str) -> String {
    say("tape.with", &[("word", word), ("more", more)])
}

/// What can be proposed for the tapes of one wiring.
pub struct Labels<'a> {
    wiring: &'a Wiring,
    catalogue: &'a Catalogue,
    roles: &'a Roles,
    short: &'a Abbreviations,
    travelers: Travelers,
}

impl<'a> Labels<'a> {
    /// Makes ready for a wiring whose roles are known, in the words of one person.
    pub fn new(wiring: &'a Wiring, catalogue: &'a Catalogue, roles: &'a Roles, short: &'a Abbreviations) -> Self {
        let travelers = Travelers::of(wiring, roles, &word_as("trav", short));
        Self { wiring, catalogue, roles, short, travelers }
    }

    /// What is proposed for the ends in a box on which nothing is noted as written, by run and conductor.
    pub fn proposals(&self, at: ThingId) -> Vec<(Tip, String)> {
        let ends = self.ends(at);
        let here = Here::of(self, &ends);
        let open = ends.iter().filter(|tip| self.is_unwritten(tip));
        open.filter_map(|tip| Some((tip.clone(), self.proposal(&here, tip)?))).collect()
    }

    /// The ends of runs in a box.
    pub fn ends(&self, at: ThingId) -> Vec<Tip> {
        let runs = self.wiring.runs_in(at).into_iter();
        runs.flat_map(|(run, side)| {
            let note = self.wiring.runs.get(&run);
            let wires = note.map(|note| self.catalogue.conductors(note)).unwrap_or_default();
            wires.into_iter().map(move |(wire, _)| Tip::Wire { run, wire, side })
        })
        .collect()
    }

    fn is_unwritten(&self, tip: &Tip) -> bool {
        match self.wiring.tips.get(tip).map(|note| &note.label) {
            None | Some(Note::NotSaid | Note::Said(None, _)) => true,
            Some(Note::Said(Some(_), _) | Note::Twice(_)) => false,
        }
    }

    /// A role that tape may be written from.
    fn role(&self, tip: &Tip) -> Option<&'a Role> {
        self.roles.of_end(tip).filter(|role| role.evidence != Evidence::Colour)
    }

    /// The tag of the box at a run's other side, where that is known.
    fn far(&self, tip: &Tip) -> Option<String> {
        let Tip::Wire { run, side, .. } = tip else { return None };
        let far = self.wiring.runs.get(run)?.side(side.other()).in_box.get().copied().flatten()?;
        Some(self.wiring.tag(far)).filter(|tag| !tag.is_empty())
    }

    fn word(&self, key: &str) -> String {
        word_as(key, self.short)
    }

    /// A word, with what tells it apart if there is anything.
    fn told_apart(&self, key: &str, more: Option<String>) -> String {
        more.map_or_else(|| self.word(key), |more| with(&self.word(key), &more))
    }

    fn proposal(&self, here: &Here, tip: &Tip) -> Option<String> {
        let role = self.role(tip)?;
        match role.duty {
            Duty::Ground => None,
            Duty::ConstantHot => Some(match (role.flow, self.far(tip)) {
                (Some(Flow::In), _) => self.told_apart("hot_in", self.circuit(here, role)),
                (Some(Flow::Out), Some(far)) => with(&self.word("to"), &far),
                (Some(Flow::Out), None) => self.told_apart("hot_out", self.circuit(here, role)),
                (None, _) => self.told_apart("hot", self.circuit(here, role)),
            }),
            Duty::Neutral => Some(match (role.flow, self.far(tip)) {
                _ if here.neutrals == 1 => self.told_apart("neut", self.circuit(here, role)),
                (Some(Flow::In), _) => self.told_apart("neut_in", self.circuit(here, role)),
                (Some(Flow::Out), Some(far)) => with(&self.word("neut"), &far),
                _ => self.told_apart("neut", self.circuit(here, role)),
            }),
            Duty::SwitchedLeg => Some(self.switched(here, tip, role)),
            Duty::Traveler => self.traveler(here, tip),
        }
    }

    /// The circuit's number, where conductors of several circuits are in the box.
    fn circuit(&self, here: &Here, role: &Role) -> Option<String> {
        let number = self.wiring.devices.get(&role.breaker?)?.number.get().cloned()?;
        (here.breakers.len() > 1).then_some(number)
    }

    /// Several switched legs in one box are told apart by where they go, and then by what they work.
    fn switched(&self, here: &Here, tip: &Tip, role: &Role) -> String {
        let key = switched_key(role);
        let alike = |more: &dyn Fn(&Tip) -> Option<String>| {
            let mine = more(tip);
            here.switched.iter().filter(|(other, of)| *of == key && more(other) == mine).count() > 1
        };
        if !alike(&|_| None) {
            return self.word(key);
        }
        let far = |tip: &Tip| self.far(tip);
        if !alike(&far) {
            return self.told_apart(key, self.far(tip));
        }
        let load = role.loads.first().map(|load| load_name(&load.load).to_uppercase());
        self.told_apart(key, load.or_else(|| self.far(tip)))
    }

    fn traveler(&self, here: &Here, tip: &Tip) -> Option<String> {
        let words = self.travelers.words(tip, &self.word("trav"))?;
        match self.far(tip).filter(|_| here.pairs.len() > 1) {
            Some(far) => Some(with(&words, &far)),
            None => Some(words),
        }
    }
}

fn switched_key(role: &Role) -> &'static str {
    if role.flow == Some(Flow::In) { "sw_leg_in" } else { "sw_leg" }
}

/// What must be told apart in one box.
struct Here {
    neutrals: usize,
    breakers: BTreeSet<ThingId>,
    switched: Vec<(Tip, &'static str)>,
    pairs: BTreeSet<usize>,
}

impl Here {
    fn of(tape: &Labels<'_>, ends: &[Tip]) -> Self {
        let roles: Vec<(&Tip, &Role)> = ends.iter().filter_map(|tip| Some((tip, tape.role(tip)?))).collect();
        let of = |duty| roles.iter().filter(move |(_, role)| role.duty == duty);
        Self {
            neutrals: of(Duty::Neutral).count(),
            breakers: roles.iter().filter_map(|(_, role)| role.breaker).collect(),
            switched: of(Duty::SwitchedLeg).map(|(tip, role)| ((*tip).clone(), switched_key(role))).collect(),
            pairs: of(Duty::Traveler).filter_map(|(tip, _)| tape.travelers.pair(tip)).collect(),
        }
    }
}
