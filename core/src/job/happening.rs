//! What happened. Happenings only add; a later one never changes an earlier one.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::id::{Author, Hash, ThingId};
use super::measure::Decimal;
use super::subject::{At, LoadPoint, Pair, Place, Spot, Tip};

/// How a source is held while somebody works.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Held {
    /// OFF, held by the lock and tag of this person.
    Lock(ThingId),
    /// Staying on, guarded.
    Guarded,
    /// Nobody knows.
    NotKnown,
}

/// What an instrument was set to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// AC volts at the ordinary, high input impedance.
    AcHigh,
    /// AC volts at low input impedance.
    AcLow,
    /// DC volts.
    Dc,
    /// Ohms, dead circuits only.
    Ohms,
    /// Amperes in a clamp.
    Clamp,
    /// Proximity: a first look, never a proof.
    Proximity,
}

/// What the instrument showed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Figure {
    /// A number as read, in the unit of the mode: volts, ohms or amperes.
    Number(Decimal),
    /// The tester has no digits: what it indicated.
    NoDigits(String),
    /// Above the instrument's range, or broken: "OL".
    OverRange,
}

/// What a reading was taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Live, before the breaker went off: shows that the references are real.
    Reference,
    /// Part of a dead check.
    Dead,
    /// Before or after a neutral splice is parted.
    Neutral,
    /// Before power.
    BeforePower,
    /// Live, after the work.
    Live,
    /// To find out something.
    Search,
}

/// What the person saw predicted beside a reading.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expected {
    /// Lowest value that fits.
    pub low: Decimal,
    /// Highest value that fits.
    pub high: Decimal,
    /// Hash of the wiring that it was worked out from.
    pub basis: Hash,
}

/// One pair of a check with the positions of the handles that it is asked in.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// The pair.
    pub pair: Pair,
    /// Positions that matter; empty: any.
    pub at: Vec<At>,
}

/// One reading.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What it was taken for.
    pub purpose: Purpose,
    /// The check that it belongs to.
    pub check: Option<ThingId>,
    /// Between which points.
    pub pair: Pair,
    /// Positions of the handles, as far as they were noted.
    pub at: Vec<At>,
    /// The instrument.
    pub instrument: ThingId,
    /// Its setting.
    pub mode: Mode,
    /// What it showed.
    pub figure: Figure,
    /// What was predicted when it was shown.
    pub shown: Option<Expected>,
}

/// The list of a dead check as it was asked.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// The check.
    pub check: ThingId,
    /// The pairs.
    pub pairs: Vec<Question>,
}

/// A meter shown to work on a known source.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Proof {
    /// The instrument.
    pub instrument: ThingId,
    /// Its setting.
    pub mode: Mode,
    /// The known source, in words.
    pub on: String,
    /// What it showed.
    pub figure: Figure,
}

/// One switch trial.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// What was looked at.
    pub load: LoadPoint,
    /// Positions of the handles.
    pub at: Vec<At>,
    /// It had power.
    pub on: bool,
    /// What was worked out when it was shown.
    pub shown: Option<bool>,
}

/// Something used up.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Used {
    /// What, in words or as a catalogue entry.
    pub item: String,
    /// How much.
    pub amount: Decimal,
    /// Of which unit: `ft`, `pc`.
    pub unit: String,
    /// The customer's own, not to be billed.
    pub customers: bool,
}

/// Something that happened to a subject.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Happening {
    /// A person came to the site for a job: begins a visit. Of the person.
    Arrived {
        /// The job.
        job: ThingId,
    },
    /// The person went away, and will be back on this visit or not. Of the person.
    Gone {
        /// Ends the visit.
        ended: bool,
    },
    /// The person came back on the same visit.
    Back,
    /// Somebody was told something: the outage, what goes off. Of the site or a job.
    Told(String),
    /// The cover came off. Of a box.
    CoverOff,
    /// The cover went on. Of a box.
    CoverOn,
    /// A source is held. Of a breaker or a supply.
    Isolated(Held),
    /// A lock came off, by its owner. Of a breaker or a supply.
    Unlocked(ThingId),
    /// Switched OFF or ON. Of a breaker or a supply.
    Switched {
        /// ON.
        on: bool,
    },
    /// A check's list was asked. Of a box.
    Asked(Asked),
    /// A meter was shown to work. Of the instrument.
    Proved(Proof),
    /// A reading was taken. Of a box.
    Read(Reading),
    /// A switch was tried. Of the load's device.
    Tried(Trial),
    /// A splice was parted. Of the splice.
    Parted,
    /// An end was looked at. Of the box.
    Looked {
        /// The end.
        tip: Tip,
        /// Where it was seen to be.
        seen: Place,
    },
    /// A first look with a proximity indicator. Of a box.
    FirstLook {
        /// What was looked at.
        spot: Spot,
        /// It indicated.
        indicated: bool,
    },
    /// A point of the list before power was done. Of the job.
    Readied(String),
    /// What a search came to. Of any thing.
    Concluded(String),
    /// A remark. Of any thing.
    Remark(String),
    /// Found and not caused by this work, with the occupant's word. Of any thing.
    FoundNotOurs(String),
    /// Must not be covered before somebody has seen it. Of any thing.
    DoNotCover(String),
    /// The hold is over. Of the same thing.
    MayCover(String),
    /// Left undone. Of any thing.
    Unfinished(String),
    /// An extra to bill. Of the job.
    Extra(String),
    /// Material used. Of the job or a box.
    Used(Used),
    /// Hours worked. Of the job.
    Hours(Decimal),
    /// The record was signed over these entries: each author's last one. Of the job.
    Signed {
        /// Each author's last entry.
        heads: BTreeMap<Author, Hash>,
    },
}
