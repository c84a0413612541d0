//! Runs that may be one run, noted from both of its ends. Nothing is joined here: somebody looks and says so.

use std::collections::{BTreeMap, BTreeSet};

use super::happening::Happening;
use super::id::{Hash, ThingId};
use super::notes::Notes;
use super::run::RunNote;
use super::subject::{Side, Subject};
use super::wiring::Wiring;

/// Two notes that may be of one run: each by the side whose box it was noted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Alike {
    /// The side that one note speaks of.
    pub a: (ThingId, Side),
    /// The side that the other speaks of.
    pub b: (ThingId, Side),
    /// Both notes lead from one box to the other; else neither note knows where its run leads.
    pub between: bool,
}

impl Alike {
    /// Is one of its sides in this box?
    pub fn touches(&self, wiring: &Wiring, at: ThingId) -> bool {
        [self.a, self.b].into_iter().any(|(run, side)| box_of(wiring, run, side) == Some(at))
    }
}

fn box_of(wiring: &Wiring, run: ThingId, side: Side) -> Option<ThingId> {
    wiring.runs.get(&run).and_then(|note| note.side(side).in_box.get().copied().flatten())
}

/// The one side that has a letter: a run noted from one box has none at the other.
fn lettered(note: &RunNote) -> Option<Side> {
    match Side::BOTH.map(|side| note.side(side).letter.is_said()) {
        [true, false] => Some(Side::Near),
        [false, true] => Some(Side::Far),
        _ => None,
    }
}

/// The side in a box, where the other one's box is not known.
fn open_from(note: &RunNote) -> Option<Side> {
    let known = |side: Side| note.side(side).in_box.get().copied().flatten().is_some();
    match Side::BOTH.map(known) {
        [true, false] => Some(Side::Near),
        [false, true] => Some(Side::Far),
        _ => None,
    }
}

/// Their types are alike, or one is not known. Two of which no type is known are alike too: somebody looks.
fn same_kind(a: &RunNote, b: &RunNote) -> bool {
    match (a.kind.get(), b.kind.get()) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    }
}

/// Runs that may be one: those between the same two boxes with a letter at one side each, not the same side; and those
/// of one type from unlike boxes of which nobody knows where they lead.
pub fn alike_runs(wiring: &Wiring) -> Vec<Alike> {
    let runs: Vec<(ThingId, &RunNote)> =
        wiring.runs.iter().filter(|(_, note)| !note.is_inside()).map(|(run, note)| (*run, note)).collect();
    let mut found = BTreeSet::new();
    for (n, (a, note_a)) in runs.iter().enumerate() {
        for (b, note_b) in runs.iter().skip(n + 1).filter(|(_, note)| same_kind(note_a, note)) {
            found.extend(between(wiring, (*a, note_a), (*b, note_b)));
            found.extend(open(wiring, (*a, note_a), (*b, note_b)));
        }
    }
    found.into_iter().collect()
}

/// Runs of which somebody followed them and said that they are two.
#[derive(Debug, Default)]
pub struct Apart(BTreeSet<(ThingId, ThingId)>);

impl Apart {
    /// How many pairs.
    pub fn count(&self) -> usize {
        self.0.len()
    }

    /// Did somebody say that these are two runs?
    pub fn has(&self, a: ThingId, b: ThingId) -> bool {
        self.0.contains(&(a.min(b), a.max(b)))
    }
}

/// Runs of which somebody said that they are two.
///
/// There is no fact of its own for it: an entry of version 1 says it by remarking the same of a side of each run, and
/// of nothing else. Whoever reads only remarks reads it in words, and it is taken back as one act.
pub fn told_apart(notes: &Notes) -> Apart {
    let mut acts: BTreeMap<Hash, Vec<(ThingId, &str)>> = BTreeMap::new();
    for happened in notes.happened() {
        if let (Happening::Remark(words), Subject::Side(run, _)) = (&happened.what, &happened.of)
            && notes.entry(happened.stamp).is_some_and(|kept| kept.noted.entry.facts.len() == 2)
        {
            acts.entry(happened.fact.entry).or_default().push((*run, words));
        }
    }
    let two = acts.into_values().filter_map(|said| match said.as_slice() {
        [(a, words), (b, again)] if a != b && words == again => Some((*a.min(b), *a.max(b))),
        _ => None,
    });
    Apart(two.collect())
}

type Noted<'a> = (ThingId, &'a RunNote);

fn between(wiring: &Wiring, (a, note_a): Noted<'_>, (b, note_b): Noted<'_>) -> Option<Alike> {
    let (at_a, at_b) = (lettered(note_a)?, lettered(note_b)?);
    let (here, there) = (box_of(wiring, a, at_a)?, box_of(wiring, a, at_a.other())?);
    let turned = box_of(wiring, b, at_b) == Some(there) && box_of(wiring, b, at_b.other()) == Some(here);
    turned.then_some(Alike { a: (a, at_a), b: (b, at_b), between: true })
}

fn open(wiring: &Wiring, (a, note_a): Noted<'_>, (b, note_b): Noted<'_>) -> Option<Alike> {
    let (at_a, at_b) = (open_from(note_a)?, open_from(note_b)?);
    let apart = box_of(wiring, a, at_a) != box_of(wiring, b, at_b);
    apart.then_some(Alike { a: (a, at_a), b: (b, at_b), between: false })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that fails says so by stopping")]

    use super::*;
    use crate::job::{Basis, FactRef, Hash, How, Layer, Note, Notes};

    fn said<T>(value: T) -> Note<T> {
        let fact = FactRef { entry: Hash::NONE, n: 0 };
        Note::Said(value, Basis { layer: Layer::Site, how: How::Seen, fact })
    }

    fn id(n: u8) -> ThingId {
        ThingId::new(i64::from(n), [n; 16])
    }

    /// A side: the box by number, 0 for not known; the letter, empty for none.
    type At<'t> = (u8, &'t str);

    /// A wiring of runs: type, near side, far side.
    fn wiring(runs: &[(&str, At<'_>, At<'_>)]) -> Wiring {
        let mut wiring = Wiring::of(&Notes::default(), Layer::Site);
        for (n, (kind, near, far)) in (100u8..).zip(runs) {
            let chain = [Layer::Site];
            let notes = Notes::default();
            let look = crate::job::wiring::Lookup::new(&notes, id(n), &chain);
            let mut note = RunNote::read(id(n), &look);
            if !kind.is_empty() {
                note.kind = said((*kind).to_owned());
            }
            for (side, (at, letter)) in [(&mut note.near, near), (&mut note.far, far)] {
                side.in_box = if *at == 0 { said(None) } else { said(Some(id(*at))) };
                if !letter.is_empty() {
                    side.letter = said((*letter).to_owned());
                }
            }
            wiring.runs.insert(id(n), note);
        }
        wiring
    }

    fn pairs(runs: &[(&str, At<'_>, At<'_>)]) -> Vec<Alike> {
        alike_runs(&wiring(runs))
    }

    #[test]
    fn two_notes_between_the_same_boxes_with_a_letter_at_one_side_each() {
        let found = pairs(&[("nm-14-3", (1, "B"), (2, "")), ("nm-14-3", (2, "A"), (1, ""))]);
        assert_eq!(found, [Alike { a: (id(100), Side::Near), b: (id(101), Side::Near), between: true }]);
        // The second noted the other way round: its lettered side is the far one.
        let found = pairs(&[("nm-14-3", (1, "B"), (2, "")), ("nm-14-3", (1, ""), (2, "A"))]);
        assert_eq!(found, [Alike { a: (id(100), Side::Near), b: (id(101), Side::Far), between: true }]);
    }

    #[test]
    fn letters_at_the_same_box_or_at_both_sides_are_two_runs() {
        assert!(pairs(&[("nm-14-3", (1, "B"), (2, "")), ("nm-14-3", (1, "C"), (2, ""))]).is_empty());
        assert!(pairs(&[("nm-14-3", (1, "B"), (2, "A")), ("nm-14-3", (2, "B"), (1, "C"))]).is_empty());
        assert!(pairs(&[("nm-14-3", (1, "B"), (2, "")), ("nm-14-3", (3, "A"), (1, ""))]).is_empty());
    }

    #[test]
    fn unlike_types_are_two_runs_and_a_type_not_known_may_be_either() {
        assert!(pairs(&[("nm-14-3", (1, "B"), (2, "")), ("nm-14-2", (2, "A"), (1, ""))]).is_empty());
        assert_eq!(pairs(&[("nm-14-3", (1, "B"), (2, "")), ("", (2, "A"), (1, ""))]).len(), 1);
    }

    #[test]
    fn runs_that_lead_nobody_knows_where_may_meet() {
        let found = pairs(&[("nm-12-2", (1, "B"), (0, "")), ("nm-12-2", (0, ""), (2, "A"))]);
        assert_eq!(found, [Alike { a: (id(100), Side::Near), b: (id(101), Side::Far), between: false }]);
        assert!(pairs(&[("nm-12-2", (1, "B"), (0, "")), ("nm-12-2", (1, "C"), (0, ""))]).is_empty(), "one box");
        assert!(pairs(&[("nm-12-2", (1, "B"), (0, "")), ("nm-14-2", (2, "A"), (0, ""))]).is_empty(), "unlike");
        assert!(pairs(&[("nm-12-2", (1, "B"), (0, "")), ("nm-12-2", (2, "A"), (3, ""))]).is_empty(), "it leads on");
    }

    #[test]
    fn a_pigtail_is_no_run() {
        assert!(pairs(&[("pigtail", (1, "p1"), (1, "")), ("pigtail", (1, ""), (1, "p2"))]).is_empty());
    }

    #[test]
    fn it_is_shown_at_both_boxes() {
        let wiring = wiring(&[("nm-12-2", (1, "B"), (0, "")), ("nm-12-2", (2, "A"), (0, ""))]);
        let found = alike_runs(&wiring);
        let only = found.first().unwrap();
        assert!(only.touches(&wiring, id(1)) && only.touches(&wiring, id(2)) && !only.touches(&wiring, id(3)));
    }
}
