//! What is wrong with a catalogue entry.

use std::fmt;

use crate::words;

/// A catalogue that cannot be taken. Its text says what is wrong, that nothing was changed and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CatalogueFault {
    /// The entry, or the list where no entry could be read.
    pub entry: String,
    /// Key of the words.
    key: &'static str,
    /// What is filled into them.
    what: String,
}

impl CatalogueFault {
    pub(super) fn new(entry: &str, key: &'static str, what: &str) -> Self {
        Self { entry: entry.to_owned(), key, what: what.chars().take(120).collect() }
    }
}

impl fmt::Display for CatalogueFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let why = words::say(self.key, &[("what", &self.what)]);
        f.write_str(&words::say("catalogue.fault", &[("entry", &self.entry), ("why", &why)]))
    }
}

impl std::error::Error for CatalogueFault {}
