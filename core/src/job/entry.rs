//! An entry: one act of one person, with every fact that the act states. It is stored, signed, merged and struck
//! whole. What is signed is the body's bytes as stored; they are never written anew.

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::value::RawValue;

use super::happening::Happening;
use super::id::{Author, FactRef, Hash, Stamp, ThingId};
use super::measure::Wall;
use super::subject::Subject;
use super::value::Value;

/// The version of entries that this program writes.
pub const VERSION: u16 = 1;

/// Most facts in one entry: more than any act states, few enough to number.
pub const MOST_FACTS: usize = 2_000;

/// Which picture of the wiring a value belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Layer {
    /// True of the site whatever the job: names, tags, people, instruments.
    Site,
    /// As a job found it.
    Found(ThingId),
    /// As a job plans it.
    Planned(ThingId),
    /// As a job left it.
    Left(ThingId),
}

/// How a value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Looked at, one by one.
    Seen,
    /// Confirmed together with others.
    Confirmed,
    /// Carried over: as planned, or from an earlier visit.
    Carried,
    /// Somebody said so.
    Told,
}

/// What a strike reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// An entry with all its facts.
    Entry(Hash),
    /// One fact.
    Fact(FactRef),
    /// Everything said before of a thing.
    Thing(ThingId),
}

/// One fact of an entry.
#[derive(Debug, Clone)]
pub enum Fact {
    /// A value of a subject in a layer.
    Set(Set),
    /// Something happened to a subject.
    Add(Add),
    /// Two notes are of one thing.
    Same(Same),
    /// Something noted earlier is struck out; still readable.
    Strike(Strike),
    /// A fact of a newer version: kept and passed on, not folded.
    Newer(Box<RawValue>),
}

/// A value of a subject in a layer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Set {
    /// Of what.
    pub of: Subject,
    /// In which layer.
    pub layer: Layer,
    /// The value.
    pub value: Value,
    /// How it is known.
    pub how: How,
    /// The facts that it replaces.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub replaces: Vec<FactRef>,
}

/// Something that happened to a subject.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Add {
    /// To what.
    pub of: Subject,
    /// What.
    pub what: Happening,
}

/// Two notes of one thing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Same {
    /// One note.
    pub a: ThingId,
    /// The other.
    pub b: ThingId,
    /// For two notes of a run: the near side of one is the far side of the other.
    pub swapped: bool,
}

/// A strike with its reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Strike {
    /// What is struck.
    pub what: Target,
    /// Why, in words; may be empty for taking back before signing.
    pub reason: String,
}

/// The written form of the facts that this version knows.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Known {
    Set(Set),
    Add(Add),
    Same(Same),
    Strike(Strike),
}

impl Serialize for Fact {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self.clone() {
            Self::Set(set) => Known::Set(set).serialize(to),
            Self::Add(add) => Known::Add(add).serialize(to),
            Self::Same(same) => Known::Same(same).serialize(to),
            Self::Strike(strike) => Known::Strike(strike).serialize(to),
            Self::Newer(raw) => raw.serialize(to),
        }
    }
}

impl<'de> Deserialize<'de> for Fact {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let raw = Box::<RawValue>::deserialize(from)?;
        Ok(match serde_json::from_str(raw.get()) {
            Ok(Known::Set(set)) => Self::Set(set),
            Ok(Known::Add(add)) => Self::Add(add),
            Ok(Known::Same(same)) => Self::Same(same),
            Ok(Known::Strike(strike)) => Self::Strike(strike),
            Err(_) if raw.get().starts_with('{') => Self::Newer(raw),
            Err(error) => return Err(D::Error::custom(error)),
        })
    }
}

/// The body of an entry, as it is written.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Entry {
    /// Version of the form.
    pub v: u16,
    /// The site that it belongs to.
    pub site: ThingId,
    /// Who signed it.
    pub author: Author,
    /// The author's running number at this site, from 1.
    pub seq: u32,
    /// The author's entry before at this site, or [`Hash::NONE`].
    pub prev: Hash,
    /// One more than the greatest tick that the author had seen.
    pub tick: u64,
    /// The wall clock when it was noted; shown, never used for order.
    pub wall: Wall,
    /// The visit that it was noted on: the entry of the arrival.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub visit: Option<Hash>,
    /// What it states.
    pub facts: Vec<Fact>,
}

/// An entry as it is kept: the exact bytes of its body, and the author's signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// The body's JSON, exactly as signed.
    pub body: Box<str>,
    /// Ed25519 signature.
    pub signature: [u8; 64],
}

/// An entry that was read and whose identity is known.
#[derive(Debug, Clone)]
pub struct Noted {
    /// Its identity.
    pub hash: Hash,
    /// Its body.
    pub entry: Entry,
}

impl Noted {
    /// Its place in the order that every phone agrees on.
    pub fn stamp(&self) -> Stamp {
        let Entry { tick, author, seq, .. } = self.entry;
        Stamp { tick, author, seq, hash: self.hash }
    }
}
