//! How each source is held: OFF or ON, by whose locks, guarded, or not known.

use std::collections::BTreeMap;

use crate::catalogue::DeviceGroup;
use crate::job::{Happening, Held, Kind, Layer, Subject, ThingId, Wall};

use super::parts::{device_words, w, wf, wiring_of};
use super::row::Edge;
use super::state::moment;
use super::view::View;

/// How one source is held now.
#[derive(Debug, Clone, Default)]
pub(super) struct Hold {
    /// ON or OFF and since when, if anybody noted it.
    pub(super) switched: Option<(bool, Wall)>,
    /// Whose locks are on it, each since when.
    pub(super) locks: Vec<(ThingId, Wall)>,
    /// Stays on, guarded, since when.
    pub(super) guarded: Option<Wall>,
    /// It was said that nobody knows how it is held.
    pub(super) not_known: bool,
}

impl Hold {
    /// It is noted as OFF.
    pub(super) fn is_off(&self) -> bool {
        self.switched.is_some_and(|(on, _)| !on)
    }

    /// The hold in words: "OFF since 08:52", "ON since 15:58", "staying on, guarded", "not known".
    pub(super) fn words(&self, view: &View<'_>) -> String {
        match (self.switched, self.guarded) {
            (_, Some(_)) => w("hold.guarded"),
            (Some((false, wall)), _) => wf("hold.off", &[("when", &moment(view, wall))]),
            (Some((true, wall)), _) => wf("hold.on", &[("when", &moment(view, wall))]),
            (None, None) => w("not_known"),
        }
    }

    /// The locks in words: "lock of W. Tolliver since 08:52".
    pub(super) fn lock_words(&self, view: &View<'_>) -> String {
        let locks = self.locks.iter().map(|(person, wall)| {
            wf("hold.lock", &[("person", &view.person_name(*person)), ("when", &moment(view, *wall))])
        });
        let words: Vec<String> = locks.collect();
        if words.is_empty() { w("hold.no_lock") } else { words.join(", ") }
    }

    /// How sure we are: read on the day it is a fact as found, an unsaid one is not known.
    pub(super) fn edge(&self) -> Edge {
        if self.not_known || (self.switched.is_none() && self.guarded.is_none()) { Edge::Unknown } else { Edge::Found }
    }
}

/// How every source is held, worked out from what happened, in order.
pub(super) fn holds(view: &View<'_>) -> BTreeMap<ThingId, Hold> {
    let mut holds: BTreeMap<ThingId, Hold> = BTreeMap::new();
    for happened in view.notes.happened() {
        let Subject::Thing(id) = happened.of else { continue };
        let wall = happened.wall;
        match &happened.what {
            Happening::Switched { on } => {
                let hold = holds.entry(id).or_default();
                hold.switched = Some((*on, wall));
                hold.guarded = None;
                hold.not_known = false;
            }
            Happening::Isolated(Held::Lock(person)) => {
                let hold = holds.entry(id).or_default();
                if !hold.locks.iter().any(|(known, _)| known == person) {
                    hold.locks.push((*person, wall));
                }
                hold.not_known = false;
            }
            Happening::Isolated(Held::Guarded) => holds.entry(id).or_default().guarded = Some(wall),
            Happening::Isolated(Held::NotKnown) => holds.entry(id).or_default().not_known = true,
            Happening::Unlocked(person) => holds.entry(id).or_default().locks.retain(|(known, _)| known != person),
            _ => {}
        }
    }
    holds
}

/// The sources of a site that can be noted as held: breakers, fuses and disconnects, and other supplies.
pub(super) fn sources(view: &View<'_>) -> Vec<ThingId> {
    let mut out: Vec<(String, ThingId)> = Vec::new();
    for wiring in [view.found(), view.planned(), view.left()] {
        for (id, note) in &wiring.devices {
            let kind = note.kind.get().and_then(|kind| view.catalogue.device(kind));
            if kind.is_some_and(|kind| kind.group == DeviceGroup::Overcurrent) && !out.iter().any(|(_, at)| at == id) {
                let number = note.number.or(String::new());
                out.push((format!("{number:0>6}"), *id));
            }
        }
    }
    out.sort();
    let supplies = view.notes.things(Kind::Supply, Layer::Site);
    out.into_iter().map(|(_, id)| id).chain(supplies).collect()
}

/// A source in words: "Circuit 7", or a supply's name.
pub(super) fn source_words(view: &View<'_>, id: ThingId) -> String {
    if view.notes.kind(id) == Some(Kind::Supply) {
        return super::said::thing_words(view, view.found(), id);
    }
    let layers = [view.found(), view.planned(), view.left()];
    let wiring = layers.into_iter().find(|wiring| wiring.devices.contains_key(&id)).unwrap_or_else(|| view.found());
    let number = wiring.devices.get(&id).and_then(|note| note.number.get().cloned());
    match number {
        Some(number) => wf("circuit", &[("number", &number)]),
        None => device_words(view, wiring, id),
    }
}

/// Where a source is: the tag of its panel.
pub(super) fn source_place(view: &View<'_>, id: ThingId) -> String {
    let wiring = [view.found(), view.planned(), view.left()];
    let at = wiring.iter().find_map(|wiring| wiring.devices.get(&id)?.in_box.get().copied().flatten());
    at.map(|at| wiring_of(view, at).tag(at)).unwrap_or_default()
}

/// The line for a lasting notification: every source that is OFF, since when, with whose lock.
pub(super) fn ongoing(view: &View<'_>) -> Option<String> {
    let holds = holds(view);
    let off = sources(view).into_iter().filter_map(|id| holds.get(&id).filter(|hold| hold.is_off()).map(|h| (id, h)));
    let lines: Vec<String> = off
        .map(|(id, hold)| {
            let source = source_words(view, id);
            wf("held", &[("source", &source), ("hold", &hold.words(view)), ("lock", &hold.lock_words(view))])
        })
        .collect();
    (!lines.is_empty()).then(|| lines.join("; "))
}
