//! A list of catalogue entries: in the order in which a person picks, and found by name.

use std::collections::BTreeMap;

use super::fault::CatalogueFault;

/// Entries in list order, found by name.
#[derive(Debug, Clone)]
pub(super) struct List<T> {
    entries: Vec<T>,
    places: BTreeMap<String, usize>,
}

impl<T> Default for List<T> {
    fn default() -> Self {
        Self { entries: Vec::new(), places: BTreeMap::new() }
    }
}

impl<T> List<T> {
    /// Adds an entry at the end; refuses a name that is taken.
    pub(super) fn push(&mut self, id: &str, entry: T) -> Result<(), CatalogueFault> {
        if id.is_empty() {
            return Err(CatalogueFault::new(id, "catalogue.fault.empty", ""));
        }
        if self.places.insert(id.to_owned(), self.entries.len()).is_some() {
            return Err(CatalogueFault::new(id, "catalogue.fault.twice", id));
        }
        self.entries.push(entry);
        Ok(())
    }

    pub(super) fn get(&self, id: &str) -> Option<&T> {
        self.places.get(id).and_then(|place| self.entries.get(*place))
    }

    pub(super) fn iter(&self) -> std::slice::Iter<'_, T> {
        self.entries.iter()
    }
}
