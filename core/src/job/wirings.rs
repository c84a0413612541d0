//! Wirings that were made already. A wiring is a function of the values that its layer looks through to, so that it
//! stays what it is for as long as none of them is noted: readings, covers and remarks change nothing in it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use super::entry::Layer;
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
            let made = Arc::new(make());
            self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(layer, Arc::clone(&made));
            made
        })
    }

    /// Forgets the wirings that look through to one of these layers.
    pub(crate) fn forget(&mut self, layers: &BTreeSet<Layer>) {
        let known = self.0.get_mut().unwrap_or_else(PoisonError::into_inner);
        known.retain(|_, wiring| !wiring.through.iter().any(|layer| layers.contains(layer)));
    }
}
