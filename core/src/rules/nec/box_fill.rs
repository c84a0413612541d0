//! Box fill of noted boxes: room against need, for screens, the record and findings.

use std::collections::BTreeMap;

use super::contents::Gap;
use super::edition::Edition;
use super::fill::{Needed, needed};
use super::gather::contents;
use super::room::{Room, room};
use crate::catalogue::{Catalogue, size_name};
use crate::job::{BoxNote, ThingId, Wiring};
use crate::rules::finding::{Amount, Finding, Severity, Unit};
use crate::rules::index::Index;
use crate::rules::name;
use crate::words::{count, say};

/// Room and need of one box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxFill {
    /// The edition that it was counted by.
    pub edition: Edition,
    /// What its contents need.
    pub needed: Needed,
    /// What it has.
    pub room: Room,
}

/// What a count comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// It fits; equal is a fit.
    Fits,
    /// Beyond the room, whatever is not known.
    Over,
    /// What is not known decides.
    NotKnown,
}

impl BoxFill {
    /// What the count comes to.
    pub fn verdict(&self) -> Verdict {
        match (self.room.in3_e4, self.needed.most_in3_e4) {
            (Some(there), _) if self.needed.least_in3_e4 > there => Verdict::Over,
            (Some(there), Some(most)) if most <= there => Verdict::Fits,
            _ => Verdict::NotKnown,
        }
    }

    /// The room that the contents need, as far as they are known.
    pub fn needed(&self) -> Amount {
        Amount::new(self.needed.least_in3_e4, Unit::CubicInchE4)
    }

    /// The room that there is.
    pub fn there(&self) -> Option<Amount> {
        self.room.in3_e4.map(|room| Amount::new(room, Unit::CubicInchE4))
    }

    /// Need as a share of the room in thousandths, rounded up, so that just full is 1000 and over is always more.
    pub fn share_thousandths(&self) -> Option<i64> {
        let room = self.room.in3_e4.filter(|room| *room > 0)?;
        let scaled = self.needed.least_in3_e4.checked_mul(1000)?;
        Some(scaled / room + i64::from(scaled % room != 0))
    }
}

/// Box fill of one box; `None` where 314.16 does not speak of it: panels, wiring compartments, no box at all.
pub fn box_fill(wiring: &Wiring, catalogue: &Catalogue, id: ThingId, edition: Edition) -> Option<BoxFill> {
    fill_of(&Index::new(wiring, catalogue), id, edition)
}

/// Box fill of every box that 314.16 speaks of: one walk over the wiring for all of them.
pub fn box_fills(wiring: &Wiring, catalogue: &Catalogue, edition: Edition) -> BTreeMap<ThingId, BoxFill> {
    let index = Index::new(wiring, catalogue);
    wiring.boxes.keys().filter_map(|id| Some((*id, fill_of(&index, *id, edition)?))).collect()
}

pub(super) fn fill_of(index: &Index<'_>, id: ThingId, edition: Edition) -> Option<BoxFill> {
    let note = index.r#box(id)?;
    let kind = note.kind.get().and_then(|kind| index.catalogue.box_type(kind));
    if kind.is_some_and(|kind| !kind.has_fill()) {
        return None;
    }
    Some(of_box(index, note, edition))
}

fn of_box(index: &Index<'_>, note: &BoxNote, edition: Edition) -> BoxFill {
    let needed = needed(&contents(index, note, edition), edition);
    BoxFill { edition, needed, room: room(note, index.catalogue) }
}

/// What is not known of a box's contents, in words.
fn gaps(index: &Index<'_>, needed: &Needed) -> String {
    let gaps = needed.gaps.iter().map(|gap| gap_words(index, gap));
    let unsure = needed.unsure.iter().map(|unsure| say(unsure.words(), &[]));
    gaps.chain(unsure).collect::<Vec<_>>().join(", ")
}

fn gap_words(index: &Index<'_>, gap: &Gap) -> String {
    match gap {
        Gap::Run(run) => say("rule.fill.gap.run", &[("run", &name::run(index, *run))]),
        Gap::Wire(tip) => say("rule.fill.gap.wire", &[("tip", &name::tip(index, tip))]),
        Gap::Device(device) => say("rule.fill.gap.device", &[("device", &name::device(index, *device))]),
        Gap::Size(size) => say("rule.fill.gap.size", &[("size", &size_name(size))]),
        Gap::Bare => say("rule.fill.gap.bare", &[]),
    }
}

/// Findings of box fill.
pub(super) fn check(index: &Index<'_>, edition: Edition) -> Vec<Finding> {
    let boxes = index.wiring.boxes.values();
    boxes.filter_map(|note| finding(index, note, &fill_of(index, note.id, edition)?, edition)).collect()
}

fn finding(index: &Index<'_>, note: &BoxNote, fill: &BoxFill, edition: Edition) -> Option<Finding> {
    let place = name::r#box(index, Some(note.id));
    let (rule, severity, section) = match (fill.verdict(), fill.there()) {
        (Verdict::Fits, _) => return None,
        (Verdict::Over, _) => ("rule.fill.over", Severity::Over, "fill"),
        (Verdict::NotKnown, None) => ("rule.fill.no_room", Severity::NotKnown, "volume"),
        (Verdict::NotKnown, Some(_)) => ("rule.fill.not_known", Severity::NotKnown, "fill"),
    };
    let most = fill.needed.most_in3_e4.map(|most| Amount::new(most, Unit::CubicInchE4).to_string());
    let most = most.unwrap_or_else(|| say("rule.fill.no_most", &[]));
    let slots = vec![("where", place), ("most", most), ("gaps", gaps(index, &fill.needed))];
    Some(Finding {
        rule,
        severity,
        place: note.id.into(),
        in_box: Some(note.id),
        amount: Some(fill.needed()),
        limit: fill.there(),
        citation: edition.cite(edition.section(section)),
        fill: slots,
    })
}

/// One line of a count in words: "7 conductors of 14 AWG: 14.0 in³".
pub fn line_words(line: &super::fill::Line) -> String {
    let n = usize::try_from(line.n).unwrap_or(usize::MAX);
    let needed = line.needed().to_string();
    count(line.counted.words(), n, &[("size", &size_name(&line.size)), ("volume", &needed)])
}
