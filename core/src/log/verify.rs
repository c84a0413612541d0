//! Looking whether a log is whole: signatures, and each author's chain of entries.

use std::collections::{BTreeMap, BTreeSet};

use super::error::{LogError, Trouble};
use super::store::{Log, RawRow};
use crate::job::sign::{self, Head, Read};
use crate::job::{Author, Fact, Happening, Hash};

/// One author's chain as far as it is here.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Chain {
    /// How many entries of the author are here.
    pub entries: usize,
    /// The greatest number.
    pub last: u32,
    /// Entries that no other entry of the author follows: one in a whole chain.
    pub heads: BTreeSet<Hash>,
    /// Numbers that are missing, as first and last of each stretch.
    pub gaps: Vec<(u32, u32)>,
    /// Predecessors that are named and not here.
    pub missing: BTreeSet<Hash>,
    /// Numbers that two or more entries claim: the key was used on two devices or restored from a copy.
    pub repeated: BTreeMap<u32, BTreeSet<Hash>>,
    /// Entries whose predecessor is here and cannot be: another author's, another number, or a later tick.
    pub unfit: BTreeSet<Hash>,
}

impl Chain {
    /// Nothing is missing before the last entry, nothing forks.
    pub fn is_whole(&self) -> bool {
        self.heads.len() == 1
            && self.gaps.is_empty()
            && self.missing.is_empty()
            && self.repeated.is_empty()
            && self.unfit.is_empty()
    }
}

/// What [`Log::verify`] found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verified {
    /// Entries whose signature and hash fit.
    pub sound: usize,
    /// Of these, entries of a newer version.
    pub newer: usize,
    /// Numbers of arrival of entries that are not what their author signed.
    pub wrong: Vec<i64>,
    /// The authors' chains.
    pub chains: BTreeMap<Author, Chain>,
    /// Entries that a signed record stands on and that are not here: taken out at the end of a chain, or not yet
    /// exchanged.
    pub signed_missing: BTreeSet<Hash>,
}

impl Verified {
    /// Everything fits and nothing is missing.
    pub fn is_whole(&self) -> bool {
        self.wrong.is_empty() && self.signed_missing.is_empty() && self.chains.values().all(Chain::is_whole)
    }

    /// Each author's last entry; where a chain forks, the one with the lesser hash.
    pub fn heads(&self) -> BTreeMap<Author, Hash> {
        let first = |chain: &Chain| chain.heads.first().copied();
        self.chains.iter().filter_map(|(author, chain)| Some((*author, first(chain)?))).collect()
    }
}

impl Log {
    /// Checks the file, every signature and every chain. This takes about 0.1 ms an entry.
    pub fn verify(&mut self) -> Result<Verified, LogError> {
        self.run(|conn| {
            let sound: String = conn.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
            if sound != "ok" {
                return Err(Trouble::Wrong("the file's pages"));
            }
            let mut asked = conn.prepare("SELECT n, hash, author, seq, tick, body, sig FROM entry ORDER BY n")?;
            let (mut wrong, mut reads) = (Vec::new(), Vec::new());
            for row in asked.query_map([], RawRow::of)? {
                let row = row?;
                match (row.checked(), sign::read(&row.signed)) {
                    (Ok(_), Ok(read)) => reads.push(read),
                    _ => wrong.push(row.n),
                }
            }
            Ok(Verified { wrong, ..verify(&reads) })
        })
    }

    /// Each author's last entry, for a signature over all that is noted.
    pub fn heads(&mut self) -> Result<BTreeMap<Author, Hash>, LogError> {
        self.run(|conn| {
            let mut asked = conn.prepare("SELECT author, hash FROM entry ORDER BY author, seq, hash DESC")?;
            let rows = asked.query_map([], |row| Ok((Author(row.get(0)?), Hash(row.get(1)?))))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

/// Looks at entries whose signatures fit.
pub fn verify(reads: &[Read]) -> Verified {
    let heads: BTreeMap<Hash, Head> = reads.iter().map(|read| (read.hash(), read.head())).collect();
    let mut found = Verified { sound: heads.len(), ..Verified::default() };
    let mut numbers: BTreeMap<Author, BTreeMap<u32, BTreeSet<Hash>>> = BTreeMap::new();
    let followed: BTreeSet<Hash> = heads.values().map(|head| head.prev).collect();
    for (hash, head) in &heads {
        numbers.entry(head.author).or_default().entry(head.seq).or_default().insert(*hash);
        let chain = found.chains.entry(head.author).or_default();
        chain.entries += 1;
        if !followed.contains(hash) {
            chain.heads.insert(*hash);
        }
        match heads.get(&head.prev) {
            Some(before) if !follows(before, head) => _ = chain.unfit.insert(*hash),
            None if head.prev != Hash::NONE => _ = chain.missing.insert(head.prev),
            Some(_) | None => {}
        }
    }
    for (author, by_number) in numbers {
        let chain = found.chains.entry(author).or_default();
        let mut wanted = 1;
        for (number, hashes) in by_number {
            if number > wanted {
                chain.gaps.push((wanted, number - 1));
            }
            wanted = number.saturating_add(1);
            chain.last = number;
            if hashes.len() > 1 {
                chain.repeated.insert(number, hashes);
            }
        }
    }
    for read in reads {
        match read {
            Read::Newer(_) => found.newer += 1,
            Read::Known(noted) => {
                let named = noted.entry.facts.iter().filter_map(signed_heads).flatten();
                found.signed_missing.extend(named.filter(|hash| !heads.contains_key(hash)));
            }
        }
    }
    found
}

/// Whether `after` can name `before` as its predecessor.
fn follows(before: &Head, after: &Head) -> bool {
    before.author == after.author
        && before.site == after.site
        && before.seq.checked_add(1) == Some(after.seq)
        && before.tick < after.tick
}

fn signed_heads(fact: &Fact) -> Option<impl Iterator<Item = Hash>> {
    match fact {
        Fact::Add(add) => match &add.what {
            Happening::Signed { heads } => Some(heads.values().copied()),
            _ => None,
        },
        _ => None,
    }
}
