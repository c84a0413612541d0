//! Entries made by hand: distinct authors, hashes that are only names. For tests of the fold and of what is worked
//! out from it; nothing here signs or stores.

use std::collections::BTreeMap;

use boxproof_core::job::{
    Add, Author, Entry, Fact, FactRef, Happening, Hash, How, Layer, Noted, Notes, Same, Set, Strike, Subject, Target,
    ThingId, Value, Wall,
};

/// The `n`th thing. Names of later things are greater.
pub fn id(n: u32) -> ThingId {
    let mut random = [0; 16];
    random[..4].copy_from_slice(&n.to_be_bytes());
    ThingId::new(1_000_000 + i64::from(n), random)
}

/// The `n`th author's key.
pub fn author(n: u8) -> Author {
    Author([n + 1; 32])
}

/// A value that was looked at.
pub fn set(of: impl Into<Subject>, layer: Layer, value: Value) -> Fact {
    Fact::Set(Set { of: of.into(), layer, value, how: How::Seen, replaces: Vec::new() })
}

/// A value that replaces others.
pub fn instead(of: impl Into<Subject>, layer: Layer, value: Value, replaces: &[FactRef]) -> Fact {
    Fact::Set(Set { of: of.into(), layer, value, how: How::Seen, replaces: replaces.to_vec() })
}

/// Something that happened.
pub fn add(of: impl Into<Subject>, what: Happening) -> Fact {
    Fact::Add(Add { of: of.into(), what })
}

/// Two notes of one thing.
pub fn same(a: ThingId, b: ThingId, swapped: bool) -> Fact {
    Fact::Same(Same { a, b, swapped })
}

/// A strike.
pub fn strike(what: Target) -> Fact {
    Fact::Strike(Strike { what, reason: "noted on the wrong line".to_owned() })
}

/// One fact of an entry.
pub fn fact(entry: Hash, n: u16) -> FactRef {
    FactRef { entry, n }
}

/// A pile of entries as several people write them.
#[derive(Debug, Clone)]
pub struct Book {
    /// The site.
    pub site: ThingId,
    /// All entries, in the order in which they were written.
    pub entries: Vec<Noted>,
    /// The wall clock of the next entry.
    pub wall: Wall,
    /// The visit that the next entries belong to.
    pub visit: Option<Hash>,
    /// The greatest tick that each author has written, and the greatest that all have seen.
    seen: BTreeMap<u8, u64>,
    seq: BTreeMap<u8, u32>,
    most: u64,
}

impl Default for Book {
    fn default() -> Self {
        Self {
            site: id(1),
            entries: Vec::new(),
            // 12 May 2026, 08:00 on a wall five hours behind UTC.
            wall: Wall { utc_ms: 1_778_590_800_000, offset_min: -300 },
            visit: None,
            seen: BTreeMap::new(),
            seq: BTreeMap::new(),
            most: 0,
        }
    }
}

impl Book {
    /// Sets the wall clock: hours and minutes of the day.
    pub fn at(&mut self, hour: i64, minute: i64) -> &mut Self {
        self.wall.utc_ms = 1_778_590_800_000 + ((hour - 8) * 60 + minute) * 60_000;
        self
    }

    /// Everybody has now seen every entry.
    pub fn exchange(&mut self) {
        self.most = self.seen.values().copied().max().unwrap_or(0);
    }

    /// Writes one entry of an author who has seen only what was exchanged and their own.
    pub fn write_apart(&mut self, by: u8, facts: Vec<Fact>) -> Hash {
        let tick = self.seen.get(&by).copied().unwrap_or(0).max(self.most) + 1;
        let seq = self.seq.get(&by).copied().unwrap_or(0) + 1;
        self.seen.insert(by, tick);
        self.seq.insert(by, seq);
        let mut name = [0; 32];
        name[0] = by + 1;
        name[1..5].copy_from_slice(&seq.to_le_bytes());
        let hash = Hash(name);
        let entry = Entry {
            v: 1,
            site: self.site,
            author: author(by),
            seq,
            prev: Hash::NONE,
            tick,
            wall: self.wall,
            visit: self.visit,
            facts,
        };
        self.entries.push(Noted { hash, entry });
        hash
    }

    /// Writes one entry that comes after all others.
    pub fn write(&mut self, by: u8, facts: Vec<Fact>) -> Hash {
        self.exchange();
        self.write_apart(by, facts)
    }

    /// The fold over all entries.
    pub fn notes(&self) -> Notes {
        Notes::fold(self.entries.clone())
    }
}
