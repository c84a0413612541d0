//! Free conductor at a box, 300.14.

use super::edition::Edition;
use super::table;
use crate::job::{Place, Tip, TipNote};
use crate::rules::finding::{Amount, Finding, Severity, Unit};
use crate::rules::index::Index;
use crate::rules::name;

/// Findings of noted lengths; a length that nobody measured is not asked for.
pub(super) fn check(index: &Index<'_>, edition: Edition) -> Vec<Finding> {
    index.wiring.tips.iter().filter_map(|(tip, note)| of_tip(index, tip, note, edition)).collect()
}

fn of_tip(index: &Index<'_>, tip: &Tip, note: &TipNote, edition: Edition) -> Option<Finding> {
    let row = table::free_conductor().row("free_length", edition)?;
    let limit = row.steps(3)?;
    let length = note.free_length.get()?.in_units(3)?;
    let ends_here = !matches!(note.place.get(), Some(Place::Through(_) | Place::Absent));
    let from_outside = matches!(tip, Tip::Wire { .. }) && !index.is_pigtail(tip);
    let in_box = index.wiring.box_of(tip)?;
    if length >= limit || !ends_here || !from_outside || index.through.contains_key(tip) {
        return None;
    }
    // A pigtail spliced on makes it longer. Where the edition says that a splice counts, that settles it.
    let extended = index.spliced_with(index.wiring.tips.get_key_value(tip)?.0).any(|other| index.is_pigtail(other));
    if extended && table::free_conductor().row("spliced_counts", edition).is_some() {
        return None;
    }
    Some(Finding {
        rule: if extended { "rule.free.spliced" } else { "rule.free.short" },
        severity: if extended { Severity::NotKnown } else { Severity::Over },
        place: tip.clone().into(),
        in_box: Some(in_box),
        amount: Some(Amount::new(length, Unit::InchE3)),
        limit: Some(Amount::new(limit, Unit::InchE3)),
        citation: edition.cite(&row.section),
        fill: vec![("where", name::r#box(index, Some(in_box))), ("tip", name::tip(index, tip))],
    })
}
