//! How each source is held: OFF or ON, by whose locks, guarded, or not known.

use crate::catalogue::DeviceGroup;
use crate::check::{Hold, SourceState, hold_of};
use crate::job::{Kind, Layer, ThingId};

use super::parts::{device_words, w, wf, wiring_of};
use super::row::Edge;
use super::state::moment;
use super::view::View;

/// How one source is held now, with its words.
pub(super) struct Held(pub(super) Hold);

impl Held {
    /// How `source` is held.
    pub(super) fn of(view: &View<'_>, source: ThingId) -> Self {
        Self(hold_of(view.notes, source))
    }

    /// It is noted as OFF, locked or not.
    pub(super) fn is_off(&self) -> bool {
        matches!(self.0.state, SourceState::Locked | SourceState::Off)
    }

    /// A lock of this person is noted on it.
    pub(super) fn has_lock_of(&self, person: ThingId) -> bool {
        self.0.locks.contains_key(&person)
    }

    /// The hold in words: "OFF since 08:52", "ON since 15:58", "stays ON, guarded", "not known".
    pub(super) fn words(&self, view: &View<'_>) -> String {
        let since = |when: Option<crate::check::When>| when.map(|when| moment(view, when.wall)).unwrap_or_default();
        match self.0.state {
            SourceState::Locked | SourceState::Off => wf("hold.off", &[("when", &since(self.0.off_since))]),
            SourceState::Guarded => w("hold.guarded"),
            SourceState::On => wf("hold.on", &[("when", &since(self.0.since))]),
            SourceState::NotKnown => w("not_known"),
        }
    }

    /// The locks in words: "lock and tag: W. Tolliver, 08:52".
    pub(super) fn lock_words(&self, view: &View<'_>) -> String {
        let locks = self.0.locks.iter().map(|(person, when)| {
            wf("hold.lock", &[("person", &view.person_name(*person)), ("when", &moment(view, when.wall))])
        });
        let words: Vec<String> = locks.collect();
        if words.is_empty() { w("hold.no_lock") } else { words.join(", ") }
    }

    /// How sure we are: what somebody noted is as found, an unsaid one is not known.
    pub(super) fn edge(&self) -> Edge {
        if self.0.state == SourceState::NotKnown { Edge::Unknown } else { Edge::Found }
    }
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
    let lines: Vec<String> = off(view)
        .into_iter()
        .map(|(id, held)| {
            let source = source_words(view, id);
            wf("held", &[("source", &source), ("hold", &held.words(view)), ("lock", &held.lock_words(view))])
        })
        .collect();
    (!lines.is_empty()).then(|| lines.join("; "))
}

/// Every source that is OFF.
pub(super) fn off(view: &View<'_>) -> Vec<(ThingId, Held)> {
    let held = sources(view).into_iter().map(|id| (id, Held::of(view, id)));
    held.filter(|(_, held)| held.is_off()).collect()
}
