//! Moments and people: when something happened, whose act it was, and whether the order of two acts is known.

use std::collections::{BTreeMap, BTreeSet};

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

    /// Everybody who ever arrived or signed.
    pub(crate) fn all(&self) -> impl Iterator<Item = ThingId> {
        let all: BTreeSet<_> = self.by_visit.values().chain(self.by_author.values()).copied().collect();
        all.into_iter()
    }

    /// The person whose act it was: of the visit, else of the key that signed it.
    pub(crate) fn who(&self, happened: &Happened) -> Option<ThingId> {
        let by_visit = happened.visit.and_then(|visit| self.by_visit.get(&visit));
        by_visit.or_else(|| self.by_author.get(&happened.stamp.author)).copied()
    }
}

/// What happened, by the thing that it happened to, so that a job of many boxes is not read through for each.
#[derive(Debug, Default)]
pub(crate) struct History<'a> {
    of: BTreeMap<ThingId, Vec<&'a Happened>>,
    readings: Vec<&'a Happened>,
}

impl<'a> History<'a> {
    pub(crate) fn new(notes: &'a Notes) -> Self {
        let mut history = Self::default();
        for happened in notes.happened() {
            if let Subject::Thing(id) = happened.of {
                history.of.entry(id).or_default().push(happened);
            }
            if matches!(happened.what, Happening::Read(_)) {
                history.readings.push(happened);
            }
        }
        history
    }

    /// What happened to one thing, in order.
    pub(crate) fn of(&self, id: ThingId) -> &[&'a Happened] {
        self.of.get(&id).map_or(&[], Vec::as_slice)
    }

    /// Every reading, in order.
    pub(crate) fn readings(&self) -> &[&'a Happened] {
        &self.readings
    }

    /// What happened to several things, in order.
    pub(crate) fn among(&self, ids: impl IntoIterator<Item = ThingId>) -> Vec<&'a Happened> {
        let mut all: Vec<_> = ids.into_iter().flat_map(|id| self.of(id)).copied().collect();
        all.sort_by_key(|happened| (happened.stamp, happened.fact));
        all
    }
}
