//! The room of a box, 314.16(A): its own volume, what is put on it, and barriers in it.

use super::edition::Edition;
use super::table;
use crate::catalogue::{BoxType, Catalogue};
use crate::job::{BoxNote, Decimal};

/// Where a volume comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum VolumeOf {
    /// Marked on the box.
    Marked,
    /// The table's, for this many gangs.
    Table(u8),
    /// A ring, extension or domed cover with its marked volume, in the words of the note.
    Addition(String),
}

/// The room of a box, part by part.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Room {
    /// Each part with its volume.
    pub parts: Vec<(VolumeOf, i64)>,
    /// Additions without a marked volume: they add nothing.
    pub unmarked: Vec<String>,
    /// All together in ten-thousandths of a cubic inch; `None`: not known.
    pub in3_e4: Option<i64>,
}

/// A noted volume in ten-thousandths of a cubic inch; finer digits are cut off, never rounded up.
fn whole_steps(volume: Decimal) -> Option<i64> {
    const FINER: u8 = 9;
    volume.in_units(FINER).map(|value| value.div_euclid(100_000)).filter(|value| *value > 0)
}

/// The box's own volume: the marked one where there is one, else the table's.
fn own(note: &BoxNote, kind: Option<&BoxType>) -> Option<(VolumeOf, i64)> {
    if note.volume.is_said() {
        return Some((VolumeOf::Marked, whole_steps(*note.volume.get()?)?));
    }
    let kind = kind?;
    let gangs = if kind.per_gang { note.gangs.or(kind.gangs.unwrap_or(1)).max(1) } else { 1 };
    Some((VolumeOf::Table(gangs), whole_steps(kind.volume?)? * i64::from(gangs)))
}

/// The room of a noted box.
pub fn room(note: &BoxNote, catalogue: &Catalogue) -> Room {
    let kind = note.kind.get().and_then(|kind| catalogue.box_type(kind));
    let mut room = Room::default();
    let mut known = true;
    match own(note, kind) {
        Some(part) => room.parts.push(part),
        None => known = false,
    }
    for addition in &note.additions {
        let Some(addition) = addition.get() else {
            known = false; // noted twice with unlike values
            continue;
        };
        match addition.volume.map(whole_steps) {
            Some(Some(volume)) => room.parts.push((VolumeOf::Addition(addition.what.clone()), volume)),
            Some(None) | None => room.unmarked.push(addition.what.clone()),
        }
    }
    room.in3_e4 = known.then(|| room.parts.iter().map(|(_, volume)| volume).sum());
    room
}

/// A barrier in a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Barrier {
    /// Marked with its own volume, in ten-thousandths of a cubic inch.
    Marked(i64),
    /// Metal, not marked.
    Metal,
    /// Nonmetallic, not marked.
    Nonmetallic,
}

/// What is left of a volume when barriers are taken off, apportioned to the spaces in the ratio of `shares`. Each
/// space is rounded down. `None`: no space, or the barriers take all.
pub fn apportioned(total_in3_e4: i64, barriers: &[Barrier], shares: &[u32], edition: Edition) -> Option<Vec<i64>> {
    let takes = |id: &str| table::box_fill().row(id, edition)?.steps(4);
    let mut left = total_in3_e4;
    for barrier in barriers {
        left -= match barrier {
            Barrier::Marked(volume) => *volume,
            Barrier::Metal => takes("barrier_metal")?,
            Barrier::Nonmetallic => takes("barrier_nonmetallic")?,
        };
    }
    let all: i64 = shares.iter().map(|share| i64::from(*share)).sum();
    if left <= 0 || all == 0 {
        return None;
    }
    Some(shares.iter().map(|share| left * i64::from(*share) / all).collect())
}
