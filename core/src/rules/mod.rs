//! Code checks: what is known of a job, to findings, each with its citation.
//!
//! A finding says what, where, by how much, which section of which edition, and that the adopted local code decides.
//! What is as asked gives none; what cannot be decided gives one that says what would have to be known.

mod finding;
mod index;
mod name;
pub mod nec;

use std::collections::BTreeMap;

use crate::catalogue::Catalogue;
use crate::job::{ThingId, Wiring};

pub use finding::{Amount, Citation, Finding, Severity, Unit};
pub use nec::{BoxFill, Edition, box_fill, box_fills};

use index::Index;

/// Checks one wiring by one edition. Ordered by box as boxes are listed, then what is over before what is not known,
/// then by rule and place: the same wiring gives the same list, to the byte.
pub fn check(wiring: &Wiring, catalogue: &Catalogue, edition: Edition) -> Vec<Finding> {
    let mut findings = nec::check(&Index::new(wiring, catalogue), edition);
    let order: BTreeMap<ThingId, usize> = wiring.boxes_in_order().into_iter().zip(0..).collect();
    let rank = |finding: &Finding| finding.in_box.and_then(|id| order.get(&id)).copied().unwrap_or(usize::MAX);
    findings.sort_by(|a, b| {
        let key = |finding: &Finding| (rank(finding), finding.severity, finding.rule);
        key(a).cmp(&key(b)).then_with(|| a.place.cmp(&b.place)).then_with(|| a.fill.cmp(&b.fill))
    });
    findings
}
