//! Moments and people: when something happened, whose act it was, and whether the order of two acts is known.

use std::collections::BTreeMap;

use crate::job::{Author, Happened, Happening, Hash, Kind, Layer, Notes, PersonNote, Stamp, Subject, ThingId, Wall};

/// A moment: its place in the order and the wall clock for showing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct When {
    /// Its place in the order.
    pub stamp: Stamp,
    /// The wall clock.
    pub wall: Wall,
}

impl From<&Happened> for When {
    fn from(happened: &Happened) -> Self {
        Self { stamp: happened.stamp, wall: happened.wall }
    }
}

/// Whether something came before something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Order {
    Before,
    After,
    /// Two phones noted the two apart, and their clocks contradict the order of the entries.
    NotKnown,
}

/// The order of `one` and `other`. One author's acts are in the order of their numbers. Between two authors the
/// entries' order is only an agreement; it is taken for the order of events where the clocks say the same.
pub(crate) fn order(one: When, other: When) -> Order {
    let before = one.stamp < other.stamp;
    if one.stamp.author != other.stamp.author {
        let by_clock = one.wall.utc_ms.cmp(&other.wall.utc_ms);
        let contradicts = if before { by_clock.is_gt() } else { by_clock.is_lt() };
        if contradicts {
            return Order::NotKnown;
        }
    }
    if before { Order::Before } else { Order::After }
}

/// Whose acts are whose.
#[derive(Debug, Clone, Default)]
pub(crate) struct People {
    by_visit: BTreeMap<Hash, ThingId>,
    by_author: BTreeMap<Author, ThingId>,
}

impl People {
    pub(crate) fn of(notes: &Notes) -> Self {
        let mut people = Self::default();
        for happened in notes.happened() {
            if let (Happening::Arrived { .. }, Subject::Thing(person)) = (&happened.what, &happened.of) {
                people.by_visit.insert(happened.fact.entry, *person);
            }
        }
        for person in notes.things(Kind::Person, Layer::Site) {
            if let Some(key) = PersonNote::read(notes, person).key.get() {
                people.by_author.insert(*key, person);
            }
        }
        people
    }

    /// The person whose act it was: of the visit, else of the key that signed it.
    pub(crate) fn who(&self, happened: &Happened) -> Option<ThingId> {
        let by_visit = happened.visit.and_then(|visit| self.by_visit.get(&visit));
        by_visit.or_else(|| self.by_author.get(&happened.stamp.author)).copied()
    }
}
