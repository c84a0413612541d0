//! Wirings that were made already. A wiring is a function of the values that its layer looks through to: readings,
//! covers and remarks change nothing in it, and an entry that sets a few values changes it in a few places.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use super::entry::Layer;
use super::notes::Notes;
use super::subject::Subject;
use super::wiring::Wiring;

/// Wirings by layer, as far as anybody asked for them.
#[derive(Debug, Default)]
pub(crate) struct Wirings(Mutex<BTreeMap<Layer, Arc<Wiring>>>);

impl Clone for Wirings {
    fn clone(&self) -> Self {
        Self(Mutex::new(self.0.lock().unwrap_or_else(PoisonError::into_inner).clone()))
    }
}

impl Wirings {
    /// The wiring of a layer; `make` makes it if nobody asked before.
    pub(crate) fn of(&self, layer: Layer, make: impl FnOnce() -> Wiring) -> Arc<Wiring> {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner).get(&layer).cloned();
        known.unwrap_or_else(|| {
            let made = Arc::new(make().sealed());
            self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(layer, Arc::clone(&made));
            made
        })
    }

    /// These wirings after an entry that set values of `set` in their layers, as `notes` have them now. What nobody
    /// holds any more is brought up to date where it is; the rest is made anew when it is asked for.
    pub(crate) fn after(self, notes: &Notes, set: &BTreeSet<(Layer, Subject)>) -> Self {
        let known = self.0.into_inner().unwrap_or_else(PoisonError::into_inner);
        let known = known.into_iter().filter_map(|(layer, wiring)| {
            // An end of which another layer says something is known here too, with nothing said of it.
            let is_new = |of: &Subject| matches!(of, Subject::Tip(tip) if !wiring.tips.contains_key(tip));
            let shown = set.iter().filter(|(layer, of)| wiring.through.contains(layer) || is_new(of));
            let subjects: BTreeSet<Subject> = shown.map(|(_, of)| of.clone()).collect();
            if subjects.is_empty() {
                return Some((layer, wiring));
            }
            let mut own = Arc::into_inner(wiring)?;
            own.refresh(notes, &subjects).then(|| (layer, Arc::new(own.sealed())))
        });
        Self(Mutex::new(known.collect()))
    }
}
