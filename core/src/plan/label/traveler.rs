//! Travelers as whole conductors, from switch to switch through every splice on the way, numbered in their pairs.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Place, Side, ThingId, Tip, Wiring};
use crate::words::say;

use super::super::role::{Duty, Roles};
use super::super::tape;

/// One traveler from end to end.
#[derive(Debug, Default)]
struct Way {
    tips: Vec<Tip>,
    runs: BTreeSet<ThingId>,
    boxes: BTreeSet<ThingId>,
    devices: BTreeSet<ThingId>,
    /// Numbers that are written along it.
    written: BTreeSet<u32>,
    /// Its pair, once that is found.
    pair: usize,
    /// Its number, once that is settled; `None`: what is written contradicts itself.
    number: Option<u32>,
}

/// The travelers of a wiring.
pub(super) struct Travelers {
    ways: Vec<Way>,
    of: BTreeMap<Tip, usize>,
    /// Words that are no number, written at an end: the conductor's other end follows them.
    named: BTreeMap<Tip, String>,
}

impl Travelers {
    /// Finds the travelers, puts those that work together in pairs, and numbers them.
    pub(super) fn of(wiring: &Wiring, roles: &Roles, own_word: &str) -> Self {
        let tips: Vec<&Tip> =
            roles.0.iter().filter(|(_, role)| role.duty == Duty::Traveler).map(|(tip, _)| tip).collect();
        let of = together(wiring, &tips);
        let mut travelers = Self { ways: Vec::new(), of, named: BTreeMap::new() };
        let count = travelers.of.values().max().map_or(0, |most| most + 1);
        travelers.ways.resize_with(count, Way::default);
        for tip in tips {
            travelers.add(wiring, roles, own_word, tip);
        }
        travelers.find_pairs();
        travelers.number();
        travelers
    }

    fn add(&mut self, wiring: &Wiring, roles: &Roles, own_word: &str, tip: &Tip) {
        let Some(way) = self.of.get(tip).and_then(|n| self.ways.get_mut(*n)) else { return };
        way.tips.push(tip.clone());
        way.boxes.extend(wiring.box_of(tip));
        way.devices.extend(roles.of_end(tip).and_then(|role| role.device));
        if let Tip::Wire { run, .. } = tip
            && wiring.runs.get(run).is_some_and(|note| !note.is_inside())
        {
            way.runs.insert(*run);
        }
        let written = wiring.tips.get(tip).and_then(|note| note.label.get().cloned().flatten());
        if let Some(text) = written {
            match number_in(&tape::plain(&text, &wiring.tape_words), own_word) {
                Some(number) => drop(way.written.insert(number)),
                None => drop(self.named.insert(tip.clone(), text)),
            }
        }
    }

    /// Travelers that share a run and lead between the same switches, as far as those are known, work together.
    fn find_pairs(&mut self) {
        for n in 0..self.ways.len() {
            let (before, rest) = self.ways.split_at_mut(n);
            let Some(way) = rest.first_mut() else { continue };
            let with = before.iter().find(|other| {
                let same = other.devices.is_subset(&way.devices) || way.devices.is_subset(&other.devices);
                same && !other.runs.is_disjoint(&way.runs)
            });
            way.pair = with.map_or(n, |other| other.pair);
        }
    }

    /// What is written counts. The others get the lowest numbers that none has that they could be taken for: none of
    /// their own pair, and none of another pair that is in two of the same boxes.
    fn number(&mut self) {
        for n in 0..self.ways.len() {
            let number = match self.ways.get(n).map(|way| way.written.iter().copied().collect::<Vec<_>>()) {
                Some(written) if written.is_empty() => continue,
                Some(written) => written.first().copied().filter(|only| written.len() == 1 && !self.is_taken(n, *only)),
                None => continue,
            };
            if let Some(way) = self.ways.get_mut(n) {
                way.number = number;
            }
        }
        for n in 0..self.ways.len() {
            if self
                .ways
                .get(n)
                .is_none_or(|way| !way.written.is_empty() || way.tips.iter().any(|tip| self.follows(tip)))
            {
                continue;
            }
            // Of one number more than there are travelers, one is free.
            let most = u32::try_from(self.ways.len()).unwrap_or(u32::MAX);
            let free = (1..=most.saturating_add(1)).find(|number| !self.is_taken(n, *number));
            if let Some(way) = self.ways.get_mut(n) {
                way.number = free;
            }
        }
    }

    /// Another traveler that could be taken for this one has the number, settled or written.
    fn is_taken(&self, n: usize, number: u32) -> bool {
        let Some(way) = self.ways.get(n) else { return false };
        let rivals = self.ways.iter().enumerate().filter(|(other, of)| {
            *other != n && (of.pair == way.pair || of.boxes.intersection(&way.boxes).count() > 1)
        });
        rivals.into_iter().any(|(_, of)| of.number == Some(number) || of.written.contains(&number))
    }

    /// Something that is no number is written at this end or at the conductor's other end.
    fn follows(&self, tip: &Tip) -> bool {
        self.named.contains_key(tip) || self.named_far(tip).is_some()
    }

    fn named_far(&self, tip: &Tip) -> Option<&String> {
        let Tip::Wire { run, wire, side } = tip else { return None };
        self.named.get(&Tip::Wire { run: *run, wire: *wire, side: side.other() })
    }

    /// The pair that an end belongs to.
    pub(super) fn pair(&self, tip: &Tip) -> Option<usize> {
        self.of.get(tip).and_then(|n| self.ways.get(*n)).map(|way| way.pair)
    }

    /// What is proposed for an end: the words at the conductor's other end, or its number in its pair.
    pub(super) fn words(&self, tip: &Tip, word: &str) -> Option<String> {
        if let Some(named) = self.named_far(tip) {
            return Some(named.clone());
        }
        let way = self.of.get(tip).and_then(|n| self.ways.get(*n))?;
        Some(super::with(word, &way.number?.to_string()))
    }
}

/// Numbers the conductors that some ends belong to: both ends of a wire, ends in one splice, ends that go through to
/// each other. The numbers follow the order of the ends, which is the same from every box.
fn together(wiring: &Wiring, tips: &[&Tip]) -> BTreeMap<Tip, usize> {
    let known: BTreeSet<&Tip> = tips.iter().copied().collect();
    let mut of = BTreeMap::new();
    let mut count = 0;
    for tip in &known {
        if of.contains_key(*tip) {
            continue;
        }
        let mut open = vec![(*tip).clone()];
        while let Some(at) = open.pop() {
            if !known.contains(&at) || of.insert(at.clone(), count).is_some() {
                continue;
            }
            open.extend(next_to(wiring, &known, &at).into_iter().filter(|next| !of.contains_key(next)));
        }
        count += 1;
    }
    of
}

fn next_to(wiring: &Wiring, known: &BTreeSet<&Tip>, tip: &Tip) -> Vec<Tip> {
    let mut next = Vec::new();
    if let Tip::Wire { run, wire, .. } = tip {
        next.extend(Side::BOTH.map(|side| Tip::Wire { run: *run, wire: *wire, side }));
    }
    match wiring.place(tip) {
        Some(Place::Splice(splice)) => next.extend(wiring.ends_in(*splice).into_iter().cloned()),
        Some(Place::Through(other)) => next.push(other.clone()),
        _ => {}
    }
    let here = |other: &&&Tip| matches!(wiring.place(other), Some(Place::Through(through)) if through == tip);
    next.extend(known.iter().filter(here).map(|tip| (*tip).clone()));
    next
}

/// The number of a traveler in what is written, where it is written in a way that people use.
fn number_in(text: &str, own_word: &str) -> Option<u32> {
    let text = text.trim().to_uppercase();
    let known = say("tape.trav.read", &[]);
    let own = own_word.to_uppercase();
    let words = std::iter::once(own.as_str()).chain(known.split_whitespace());
    words.filter_map(|word| text.strip_prefix(word)).find_map(|rest| {
        let rest = rest.trim_start();
        let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
        let ends = rest.get(digits.len()..).is_some_and(|rest| !rest.starts_with(char::is_alphanumeric));
        digits.parse().ok().filter(|_| ends)
    })
}
