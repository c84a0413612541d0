//! Editions of the code. The adopted one is a setting of the job, never assumed.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::rules::finding::Citation;

const EDITIONS: &str = include_str!("../../../../shared/tables/editions.json");

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    year: u16,
    #[allow(dead_code, reason = "says which code the edition is of, for a pack beside this one")]
    code: String,
    name: String,
    #[allow(dead_code, reason = "says which tables hold rows for it; a test compares")]
    tables: Vec<String>,
    sections: BTreeMap<String, String>,
    #[allow(dead_code, reason = "says where it was read, to whoever reads the file")]
    source: String,
    #[allow(dead_code, reason = "says how it was confirmed, to whoever reads the file")]
    how: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Editions {
    #[allow(dead_code, reason = "says what the table is, to whoever reads the file")]
    about: String,
    editions: Vec<Row>,
}

fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Editions> = OnceLock::new();
    &ROWS.get_or_init(|| serde_json::from_str(EDITIONS).unwrap_or_default()).editions
}

/// An edition that findings can be worked out for.
#[derive(Clone, Copy)]
pub struct Edition(&'static Row);

impl Edition {
    /// The edition of this year, if the tables have it.
    pub fn of(year: u16) -> Option<Self> {
        rows().iter().find(|row| row.year == year).map(Self)
    }

    /// All editions, oldest first.
    pub fn all() -> impl Iterator<Item = Self> {
        rows().iter().map(Self)
    }

    /// Its year.
    pub fn year(self) -> u16 {
        self.0.year
    }

    /// Its name: `NEC 2020`.
    pub fn name(self) -> &'static str {
        &self.0.name
    }

    /// The section that a rule without a number of its own stands on.
    pub(crate) fn section(self, topic: &str) -> &'static str {
        self.0.sections.get(topic).map_or("", String::as_str)
    }

    /// A citation of a section of this edition.
    pub(crate) fn cite(self, section: &str) -> Citation {
        Citation { section: section.to_owned(), edition: self.name().to_owned() }
    }
}

impl fmt::Debug for Edition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl PartialEq for Edition {
    fn eq(&self, other: &Self) -> bool {
        self.year() == other.year()
    }
}

impl Eq for Edition {}
