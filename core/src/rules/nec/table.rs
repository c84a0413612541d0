//! Tables of the code's numbers under `shared/tables/`: each row says for which editions and sections it stands, where
//! it was read and how it was confirmed.

use std::sync::OnceLock;

use serde::Deserialize;

use super::edition::Edition;
use crate::job::Decimal;

/// One number of a code.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// What it is.
    pub id: String,
    /// The number.
    pub value: Decimal,
    /// Its unit.
    pub unit: String,
    /// The section that states it.
    pub section: String,
    /// The editions in which it stands.
    pub editions: Vec<u16>,
    /// Where it was read.
    pub source: String,
    /// How it was confirmed.
    pub how: String,
}

impl Row {
    /// The number in whole steps of `10^-places` of its unit, if it has no finer digits.
    pub fn steps(&self, places: u8) -> Option<i64> {
        self.value.in_units(places)
    }
}

/// A table: rows by name and edition.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    /// What the table is.
    #[serde(default)]
    pub about: String,
    /// Its rows.
    pub rows: Vec<Row>,
}

impl Table {
    /// Reads a table.
    pub fn read(text: &str) -> Result<Self, serde_json::Error> {
        serde_json::from_str(text)
    }

    /// The row of this name that stands in `edition`. A broken table, which a test refuses, has none: what it
    /// decides is then not known.
    pub fn row(&self, id: &str, edition: Edition) -> Option<&Row> {
        self.rows.iter().find(|row| row.id == id && row.editions.contains(&edition.year()))
    }
}

macro_rules! tables {
    ($($(#[$doc:meta])* $name:ident = $file:literal;)*) => {
        $($(#[$doc])*
        pub fn $name() -> &'static Table {
            static TABLE: OnceLock<Table> = OnceLock::new();
            TABLE.get_or_init(|| {
                Table::read(include_str!(concat!("../../../../shared/tables/", $file))).unwrap_or_default()
            })
        })*
    };
}

tables! {
    /// Box fill, 314.16.
    box_fill = "box_fill.json";
    /// Small conductors, 240.4(D).
    small_conductors = "small_conductors.json";
    /// Free conductor, 300.14.
    free_conductor = "free_conductor.json";
}
