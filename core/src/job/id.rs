//! Names of things, entries and people's keys. All are ordered and cheap to copy; none is made here:
//! time and randomness come in through [`Outside`](crate::app::Outside).

use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use uuid::Uuid;

/// What a text could not be read as.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not {what}")]
pub struct NotRead {
    /// The text that was given.
    pub text: String,
    /// What it should have been.
    pub what: &'static str,
}

impl NotRead {
    /// An error for `text`, which should have been `what`.
    pub fn new(text: &str, what: &'static str) -> Self {
        // A damaged file can hold very long texts; a sentence for a person should not.
        Self { text: text.chars().take(80).collect(), what }
    }
}

/// Reads a type from its text form without a copy of the text: a site's log holds a hundred thousand such texts.
pub(crate) struct AsText<T>(pub(crate) PhantomData<T>);

impl<T: FromStr<Err = NotRead>> de::Visitor<'_> for AsText<T> {
    type Value = T;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text")
    }
    fn visit_str<E: de::Error>(self, text: &str) -> Result<T, E> {
        text.parse().map_err(E::custom)
    }
}

/// Writes and reads a type as its text form.
macro_rules! as_text {
    ($name:ty) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                from.deserialize_str($crate::job::id::AsText(std::marker::PhantomData))
            }
        }
    };
}
pub(crate) use as_text;

/// Any thing that has a life of its own: site, job, box, run, splice, device, supply, instrument, person, check.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ThingId(Uuid);

impl ThingId {
    /// A new name from a moment (milliseconds since 1970, UTC) and sixteen random bytes: a version 7 UUID.
    pub fn new(utc_ms: i64, random: [u8; 16]) -> Self {
        let millis = u64::try_from(utc_ms).unwrap_or(0);
        let mut tail = [0; 10];
        tail.copy_from_slice(&random[..10]);
        Self(uuid::Builder::from_unix_timestamp_millis(millis, &tail).into_uuid())
    }
}

impl fmt::Display for ThingId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.as_hyphenated().fmt(f)
    }
}

impl fmt::Debug for ThingId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for ThingId {
    type Err = NotRead;
    fn from_str(text: &str) -> Result<Self, NotRead> {
        // Only the one written form is taken, so that equal names are equal texts.
        match Uuid::try_parse(text) {
            Ok(id) if text.len() == 36 && !text.contains(|c: char| c.is_ascii_uppercase()) => Ok(Self(id)),
            _ => Err(NotRead::new(text, "the name of a thing")),
        }
    }
}
as_text!(ThingId);

/// Thirty-two bytes as 64 hexadecimal digits.
fn hex(bytes: &[u8], f: &mut fmt::Formatter<'_>) -> fmt::Result {
    bytes.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
}

/// Reads exactly `N` bytes from lower-case hexadecimal digits.
pub(crate) fn from_hex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let digits = text.as_bytes();
    if digits.len() != 2 * N {
        return None;
    }
    if !digits.iter().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f')) {
        return None;
    }
    // The low half of a letter's code is its value less nine, and a letter has bit 6 where a digit has none.
    let value = |digit: u8| (digit & 15) + 9 * (digit >> 6);
    let mut bytes = [0; N];
    for (byte, [high, low]) in bytes.iter_mut().zip(digits.as_chunks().0) {
        *byte = value(*high) << 4 | value(*low);
    }
    Some(bytes)
}

macro_rules! hex_name {
    ($(#[$doc:meta])* $name:ident, $what:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub [u8; 32]);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                hex(&self.0, f)
            }
        }
        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                hex(&self.0[..4], f)
            }
        }
        impl FromStr for $name {
            type Err = NotRead;
            fn from_str(text: &str) -> Result<Self, NotRead> {
                from_hex(text).map(Self).ok_or_else(|| NotRead::new(text, $what))
            }
        }
        as_text!($name);
    };
}

hex_name! {
    /// The public Ed25519 key of whoever signs entries: one phone or desk.
    Author, "an author's key of 64 hexadecimal digits"
}
hex_name! {
    /// The identity of an entry: SHA-256 over what is signed and the signature.
    Hash, "a hash of 64 hexadecimal digits"
}

impl Hash {
    /// Stands before an author's first entry.
    pub const NONE: Self = Self([0; 32]);
}

/// One fact of one entry, counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FactRef {
    /// The entry.
    pub entry: Hash,
    /// Which of its facts.
    pub n: u16,
}

impl fmt::Display for FactRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.entry, self.n)
    }
}

impl FromStr for FactRef {
    type Err = NotRead;
    fn from_str(text: &str) -> Result<Self, NotRead> {
        let wrong = || NotRead::new(text, "a fact (hash:number)");
        let (entry, n) = text.split_once(':').ok_or_else(wrong)?;
        Ok(Self { entry: entry.parse()?, n: n.parse().map_err(|_| wrong())? })
    }
}
as_text!(FactRef);

/// The place of an entry in the order that every phone agrees on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stamp {
    /// One more than the greatest tick that the author had seen.
    pub tick: u64,
    /// Who wrote it.
    pub author: Author,
    /// The author's running number at this site, from 1.
    pub seq: u32,
    /// Parts two entries that claim the same number.
    pub hash: Hash,
}
