//! Property tests of the fold: the same set of entries gives the same bytes, whatever the order of arrival, however
//! it was split and repeated. What a strike reaches is compared with the rule read literally, entry by entry.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "helpers of these tests stop at what they do not expect, as the tests do"
)]

use std::collections::BTreeSet;

use boxproof_core::job::happening::{Asked, Question, Trial};
use boxproof_core::job::{
    At, Entry, Fact, FactRef, FieldKind, Handle, Happening, Hash, Kind, Layer, LoadPoint, Noted, Notes, Pair, Place,
    Side, Spot, Subject, Target, ThingId, Tip, Value,
};
use boxproof_tests::hand::{Book, add, fact, id, instead, same, set, strike};
use proptest::prelude::*;

/// What one author does next, as plain numbers so that a failing case shrinks well.
type Act = (u8, u8, u8, u8, u8, bool);

fn thing(n: u8) -> ThingId {
    id(10 + u32::from(n % 6))
}

fn layer(n: u8) -> Layer {
    [Layer::Site, Layer::Found(id(2)), Layer::Planned(id(2)), Layer::Left(id(2)), Layer::Left(id(3))]
        [usize::from(n % 5)]
}

fn side(n: u8) -> Side {
    Side::BOTH[usize::from(n % 2)]
}

fn tip(n: u8) -> Tip {
    Tip::Wire { run: thing(n), wire: n / 6 % 3, side: side(n / 18) }
}

fn value(of: u8, n: u8) -> (Subject, Value) {
    match of % 5 {
        0 => (thing(n).into(), Value::Present(n.is_multiple_of(2))),
        1 => (thing(n).into(), Value::Tag(format!("B{}", n % 3))),
        2 => (Subject::Side(thing(n), side(n / 6)), Value::InBox(Some(thing(n / 3)))),
        3 => (tip(n).into(), Value::Place(Place::Splice(thing(n / 5)))),
        _ => (tip(n).into(), Value::Place(Place::Through(tip(n / 2)))),
    }
}

fn happening(of: u8, n: u8) -> Fact {
    let at = vec![At { handle: Handle { device: thing(n), switch: "handle".to_owned() }, position: "up".to_owned() }];
    match of % 4 {
        0 => add(thing(n), Happening::CoverOff),
        1 => add(thing(n), Happening::Looked { tip: tip(n), seen: Place::Splice(thing(n / 7)) }),
        2 => {
            let load = LoadPoint { device: thing(n), load: "lamp".to_owned() };
            add(thing(n), Happening::Tried(Trial { load, at, on: n.is_multiple_of(2), shown: None }))
        }
        _ => {
            let pair = Pair { from: Spot::Splice(thing(n)), to: Spot::Tip(tip(n / 2)) };
            add(thing(n), Happening::Asked(Asked { check: id(90), pairs: vec![Question { pair, at }] }))
        }
    }
}

fn newer(n: u8) -> Fact {
    let text = format!("{{\"measured_from_orbit\" : {{ \"n\":{n} }} }}");
    Fact::Newer(serde_json::value::RawValue::from_string(text).unwrap())
}

/// Plays the acts. A strike, a replacement and a same may name anything written before it in the pile, seen by its
/// author or not: merging has to stand even that.
fn play(acts: &[Act]) -> Vec<Noted> {
    let mut book = Book::default();
    let mut known: Vec<Hash> = Vec::new();
    for (by, what, of, n, back, exchange) in acts {
        let earlier = known.len().checked_sub(1 + usize::from(*back) % known.len().max(1)).map(|n| known[n]);
        let one = match (what % 8, earlier) {
            (0, Some(hash)) => strike(Target::Entry(hash)),
            (1, Some(hash)) => strike(Target::Fact(fact(hash, u16::from(n % 2)))),
            (2, _) if n % 3 == 0 => strike(Target::Thing(thing(*of))),
            (3, _) => same(thing(*of), thing(*n), back % 2 == 0),
            (4, _) => happening(*of, *n),
            (5, Some(hash)) => {
                let (subject, value) = value(*of, *n);
                instead(subject, layer(*back), value, &[fact(hash, 0)])
            }
            (6, _) if n % 4 == 0 => newer(*n),
            _ => {
                let (subject, value) = value(*of, *n);
                set(subject, layer(*back), value)
            }
        };
        let (subject, second) = value(of / 5, n / 2);
        if *exchange {
            book.exchange();
        }
        known.push(book.write_apart(by % 3, vec![one, set(subject, layer(back / 5), second)]));
    }
    book.entries
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    prop::collection::vec(any::<Act>(), 0..28)
}

/// The rule of strikes read literally: a fact is struck if an unstruck strike of a later entry names it, its entry,
/// or its thing under any name that stood for it when the strike was written.
struct Literal<'a> {
    entries: Vec<&'a Noted>,
}

impl Literal<'_> {
    fn struck(&self, place: usize, n: u16) -> bool {
        let noted = self.entries[place];
        let at = FactRef { entry: noted.hash, n };
        let thing = match &noted.entry.facts[usize::from(n)] {
            Fact::Set(set) => Some(thing_of(&set.of)),
            Fact::Add(add) => Some(thing_of(&add.of)),
            Fact::Same(_) | Fact::Strike(_) | Fact::Newer(_) => None,
        };
        self.later_strikes(place).into_iter().any(|(by, what)| match what {
            Target::Entry(hash) => *hash == noted.hash,
            Target::Fact(fact) => *fact == at,
            Target::Thing(struck) => thing.is_some_and(|thing| self.names(*struck, by).contains(&thing)),
        })
    }

    /// The strikes of entries after `place` that are not struck themselves.
    fn later_strikes(&self, place: usize) -> Vec<(usize, &Target)> {
        let mut strikes = Vec::new();
        for (by, noted) in self.entries.iter().enumerate().skip(place + 1) {
            for (n, fact) in (0u16..).zip(&noted.entry.facts) {
                if let Fact::Strike(strike) = fact
                    && !self.struck(by, n)
                {
                    strikes.push((by, &strike.what));
                }
            }
        }
        strikes
    }

    /// Every name that stood for a thing before the entry at `by`.
    fn names(&self, thing: ThingId, by: usize) -> BTreeSet<ThingId> {
        let mut names = BTreeSet::from([thing]);
        loop {
            let before = names.len();
            for (place, noted) in self.entries.iter().enumerate().take(by) {
                for (n, fact) in (0u16..).zip(&noted.entry.facts) {
                    if let Fact::Same(same) = fact
                        && (names.contains(&same.a) || names.contains(&same.b))
                        && !self.struck(place, n)
                    {
                        names.extend([same.a, same.b]);
                    }
                }
            }
            if names.len() == before {
                return names;
            }
        }
    }
}

fn thing_of(of: &Subject) -> ThingId {
    match of {
        Subject::Thing(id) | Subject::Side(id, _) => *id,
        Subject::Tip(Tip::Wire { run, .. }) => *run,
        Subject::Tip(Tip::Lead { device, .. }) => *device,
    }
}

/// What the fold says of one fact, if it folds it at all.
fn fold_says(notes: &Notes, fact: &Fact, at: FactRef) -> Option<bool> {
    match fact {
        Fact::Set(set) => {
            let of = notes.sames().subject(&set.of);
            let field = notes.sames().value(&set.value).field();
            let said = notes.statements(&of, &field, set.layer).iter().find(|said| said.fact == at);
            Some(said.unwrap().struck)
        }
        Fact::Add(_) => Some(notes.happened_with_struck().iter().find(|h| h.fact == at).unwrap().struck),
        Fact::Same(_) | Fact::Strike(_) | Fact::Newer(_) => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_split_order_and_repetition_folds_to_the_same_bytes(
        acts in acts(), keys in prop::collection::vec(any::<u16>(), 60), cut in any::<u8>(),
    ) {
        let entries = play(&acts);
        let whole = Notes::fold(entries.clone()).image();
        let mut shuffled: Vec<_> = entries.iter().chain(&entries).zip(keys.iter().cycle()).collect();
        shuffled.sort_by_key(|(noted, key)| (**key, noted.hash));
        let shuffled: Vec<Noted> = shuffled.into_iter().map(|(noted, _)| noted.clone()).collect();
        prop_assert_eq!(&whole, &Notes::fold(shuffled.clone()).image(), "another order");

        let mut grown = Notes::default();
        for noted in shuffled.clone() {
            grown.add(noted);
        }
        prop_assert_eq!(&whole, &grown.image(), "one by one");

        let (first, second) = shuffled.split_at(usize::from(cut) % (shuffled.len() + 1));
        let mut merged = Notes::fold(first.to_vec());
        for noted in second {
            merged.add(noted.clone());
        }
        prop_assert_eq!(&whole, &merged.image(), "one part folded, the other added");
        prop_assert_eq!(merged.revision(), entries.len() as u64);
    }

    #[test]
    fn the_past_is_the_fold_of_what_was_there(acts in acts(), cut in any::<u8>()) {
        let notes = Notes::fold(play(&acts));
        let stamps: Vec<_> = notes.entries().map(|(stamp, kept)| (*stamp, kept.noted.as_ref().clone())).collect();
        if !stamps.is_empty() {
            let last = stamps[usize::from(cut) % stamps.len()].0;
            let then = stamps.into_iter().filter(|(stamp, _)| *stamp <= last).map(|(_, noted)| noted);
            prop_assert_eq!(Notes::fold(then).image(), notes.until(last).image());
        }
    }

    #[test]
    fn a_strike_reaches_what_the_rule_says_and_nothing_else(acts in prop::collection::vec(any::<Act>(), 0..12)) {
        let notes = Notes::fold(play(&acts));
        let literal = Literal { entries: notes.entries().map(|(_, kept)| kept.noted.as_ref()).collect() };
        for (place, noted) in literal.entries.iter().enumerate() {
            for (n, fact) in (0u16..).zip(&noted.entry.facts) {
                let at = FactRef { entry: noted.hash, n };
                if let Some(struck) = fold_says(&notes, fact, at) {
                    prop_assert_eq!(struck, literal.struck(place, n), "{:?} of {:?}", at, fact);
                }
            }
        }
    }

    #[test]
    fn taking_back_and_bringing_back_is_nothing(acts in acts(), which in any::<u8>()) {
        let entries = play(&acts);
        let before = Notes::fold(entries.clone());
        if !entries.is_empty() {
            let target = entries[usize::from(which) % entries.len()].hash;
            let mut book = Book::default();
            let mut last = |what: Target, n: u64| {
                let hash = book.write(6, vec![strike(what)]);
                let mut noted = book.entries.pop().unwrap();
                noted.entry.tick = before.tick() + n;
                (hash, noted)
            };
            let (taken_back, first) = last(Target::Entry(target), 1);
            let (_, second) = last(Target::Entry(taken_back), 2);
            let mut grown = before.clone();
            grown.add(first.clone());
            grown.add(second.clone());
            prop_assert_eq!(before.image(), grown.image());
            let all = entries.into_iter().chain([second, first]);
            prop_assert_eq!(before.image(), Notes::fold(all).image());
        }
    }

    #[test]
    fn entries_stay_byte_for_byte_through_reading_and_writing(acts in acts()) {
        for noted in play(&acts) {
            let text = serde_json::to_string(&noted.entry).unwrap();
            let read: Entry = serde_json::from_str(&text).unwrap();
            prop_assert_eq!(&text, &serde_json::to_string(&read).unwrap());
        }
    }
}

#[test]
fn of_two_entries_that_claim_one_number_both_are_kept() {
    let mut book = Book::default();
    book.write(0, vec![set(id(10), Layer::Site, Value::Is(Kind::Box))]);
    let mut twin = book.entries[0].clone();
    twin.hash = Hash([77; 32]);
    twin.entry.facts = vec![set(id(11), Layer::Site, Value::Is(Kind::Box))];
    book.entries.push(twin);
    let notes = book.notes();
    book.entries.reverse();
    assert_eq!(notes.image(), book.notes().image());
    assert_eq!(notes.revision(), 2);
    assert_eq!(notes.fields(&id(11).into(), FieldKind::Is).len(), 1);
}
