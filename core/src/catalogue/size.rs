//! Names of conductor sizes and their order.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

const SIZES: &str = include_str!("../../../shared/tables/sizes.json");

#[derive(Deserialize)]
struct Row {
    size: String,
    area_thousandth_mm2: u32,
}

#[derive(Deserialize)]
struct Table {
    sizes: Vec<Row>,
}

/// The areas by name; empty if the table is broken, which a test refuses.
fn areas() -> &'static BTreeMap<String, u32> {
    static AREAS: OnceLock<BTreeMap<String, u32>> = OnceLock::new();
    AREAS.get_or_init(|| {
        let table: Table = serde_json::from_str(SIZES).unwrap_or(Table { sizes: Vec::new() });
        table.sizes.into_iter().map(|row| (row.size, row.area_thousandth_mm2)).collect()
    })
}

/// The area of a size in thousandths of a square millimetre, if it is one that the tables know.
pub fn area_thousandth_mm2(size: &str) -> Option<u32> {
    areas().get(size).copied()
}

/// The larger of two sizes; one that no table knows counts as smaller than any other.
pub fn larger<'a>(a: &'a str, b: &'a str) -> &'a str {
    if area_thousandth_mm2(b) > area_thousandth_mm2(a) { b } else { a }
}

/// The largest of several sizes.
pub fn largest<'a>(sizes: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    sizes.into_iter().reduce(larger)
}

/// All sizes, smallest first.
pub fn sizes() -> Vec<&'static str> {
    let mut all: Vec<_> = areas().iter().map(|(size, area)| (*area, size.as_str())).collect();
    all.sort_unstable();
    all.into_iter().map(|(_, size)| size).collect()
}
