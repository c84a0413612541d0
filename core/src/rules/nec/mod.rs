//! Checks by the NEC, in the editions that the tables have. A pack for another code stands beside this one.

mod box_fill;
mod contents;
mod edition;
mod fill;
mod free_length;
mod gather;
mod room;
mod small;
mod splices;
mod table;
mod terminals;

use super::finding::Finding;
use super::index::Index;

pub use box_fill::{BoxFill, Verdict, box_fill, box_fills, line_words};
pub use contents::{Contents, Gap, Yoke};
pub use edition::Edition;
pub use fill::{Counted, Line, Needed, Unsure, most_of, needed, volume_in3_e4};
pub use room::{Barrier, Room, VolumeOf, apportioned, room};
pub use table::{Row, Table, box_fill as box_fill_table, free_conductor, small_conductors};

/// All findings of one wiring by one edition, unordered.
pub(super) fn check(index: &Index<'_>, edition: Edition) -> Vec<Finding> {
    let mut findings = box_fill::check(index, edition);
    findings.extend(splices::check(index, edition));
    findings.extend(terminals::check(index, edition));
    findings.extend(free_length::check(index, edition));
    findings.extend(small::check(index, edition));
    findings
}
