//! Taking in and giving out entries as lines of JSON; see [`line`](super::line) for the form.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, BufRead, Write};

use super::error::{LogError, Trouble};
use super::line::{self, Line};
use super::store::{self, Kept, Log};
use crate::job::sign::{self, Read, Unread};
use crate::job::{Signed, ThingId};

/// Lines that are put in the file in one transaction: enough that the disk is not the brake, few enough that another
/// program does not wait long.
const BATCH: usize = 256;

/// Most bad lines that are named one by one; the others are counted.
pub const MOST_NAMED: usize = 200;

/// Why a line was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bad {
    /// It is nothing that this program gives out.
    NotOurs,
    /// It is longer than a line of ours can be.
    TooLong,
    /// It begins like one of ours and was cut or changed.
    Damaged,
    /// It has the form of an entry and is none.
    Unread(Unread),
}

/// What was taken in, line by line counted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TakenIn {
    /// Entries that are new here and on disk.
    pub taken: usize,
    /// Of these, entries of a newer version.
    pub newer: usize,
    /// Entries that were here already, or came twice.
    pub known: usize,
    /// Sound entries of other sites, not taken.
    pub other_sites: BTreeMap<ThingId, usize>,
    /// Lines that were not taken.
    pub bad: usize,
    /// The first of these, up to [`MOST_NAMED`]: line number from 1, and why.
    pub named: Vec<(usize, Bad)>,
    /// What ended the reading before the end of the lines, if something did. What was taken before is kept.
    pub ended: Option<String>,
}

impl TakenIn {
    fn refuse(&mut self, number: usize, why: Bad) {
        self.bad += 1;
        if self.named.len() < MOST_NAMED {
            self.named.push((number, why));
        }
    }
}

/// The sites of the sound entries among lines.
pub fn sites_in(from: &mut impl BufRead) -> io::Result<BTreeSet<ThingId>> {
    let mut sites = BTreeSet::new();
    let mut text = Vec::new();
    while line::next(from, &mut text)? {
        let Line::Entry(signed) = line::parse(&text) else { continue };
        if let Ok(read) = sign::read(&signed) {
            sites.insert(read.head().site);
        }
    }
    Ok(sites)
}

impl Log {
    /// Takes in the entries of this site from lines in any order, some of them perhaps known, damaged or of another
    /// site. A bad line never stops it. An error means that the file could not be written; what was taken in before
    /// is kept, and the same lines can be taken in again.
    pub fn take_in(&mut self, from: &mut impl BufRead) -> Result<TakenIn, LogError> {
        let mut report = TakenIn::default();
        let mut batch = Vec::with_capacity(BATCH);
        let mut text = Vec::new();
        for number in 1.. {
            match line::next(from, &mut text) {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) => {
                    report.ended = Some(error.to_string());
                    break;
                }
            }
            match line::parse(&text) {
                Line::Empty => {}
                Line::NotOurs => report.refuse(number, Bad::NotOurs),
                Line::TooLong => report.refuse(number, Bad::TooLong),
                Line::Damaged => report.refuse(number, Bad::Damaged),
                Line::Entry(signed) => match sign::read(&signed) {
                    Err(why) => report.refuse(number, Bad::Unread(why)),
                    Ok(read) if read.head().site != self.about().id() => {
                        *report.other_sites.entry(read.head().site).or_default() += 1;
                    }
                    Ok(read) => batch.push((read, signed)),
                },
            }
            if batch.len() >= BATCH {
                self.put(&mut batch, &mut report)?;
            }
        }
        self.put(&mut batch, &mut report)?;
        Ok(report)
    }

    /// Keeps entries that were read and verified.
    fn put(&mut self, batch: &mut Vec<(Read, Signed)>, report: &mut TakenIn) -> Result<(), LogError> {
        if batch.is_empty() {
            return Ok(());
        }
        let entries = std::mem::take(batch);
        let kept: Vec<Kept> = self.write(|tx| {
            let one = |(read, signed): &(Read, Signed)| -> Result<Kept, Trouble> {
                if store::knows(tx, read.hash())? {
                    return Ok(Kept::Already);
                }
                store::insert(tx, read, signed)?;
                Ok(Kept::New)
            };
            entries.iter().map(one).collect()
        })?;
        for ((read, _), kept) in entries.iter().zip(kept) {
            match (kept, read) {
                (Kept::Already, _) => report.known += 1,
                (Kept::New, Read::Known(_)) => report.taken += 1,
                (Kept::New, Read::Newer(_)) => {
                    report.taken += 1;
                    report.newer += 1;
                }
            }
        }
        Ok(())
    }

    /// Gives out all entries as lines, in the order that every phone agrees on, so that equal sets of entries give
    /// equal bytes. Says how many there were.
    pub fn give_out(&mut self, to: &mut impl Write) -> Result<usize, LogError> {
        self.run(|conn| {
            let mut asked = conn.prepare("SELECT body, sig FROM entry ORDER BY tick, author, seq, hash")?;
            let mut rows = asked.query([])?;
            let mut count = 0;
            while let Some(row) = rows.next()? {
                let body = Box::from(row.get_ref(0)?.as_str().map_err(|_| Trouble::Wrong("a body"))?);
                let signed = Signed { body, signature: row.get(1)? };
                line::write(&signed, to).map_err(Trouble::Writing)?;
                count += 1;
            }
            to.flush().map_err(Trouble::Writing)?;
            Ok(count)
        })
    }
}

#[cfg(test)]
mod tests {
    use ed25519_dalek::{Signer as _, SigningKey};

    use super::*;
    use crate::job::{Author, Hash};
    use crate::log::About;

    /// An entry as a later version could write it.
    fn newer(site: ThingId) -> Signed {
        let key = SigningKey::from_bytes(&[5; 32]);
        let author = Author(key.verifying_key().to_bytes());
        let body = format!(
            r#"{{"v":7,"site":"{site}","author":"{author}","seq":1,"prev":"{}","tick":3,"acts":{{"weigh":0.5}}}}"#,
            Hash::NONE
        );
        let signed = [&sign::TAG[..], &Hash::NONE.0, &author.0, body.as_bytes()].concat();
        Signed { body: body.into(), signature: key.sign(&signed).to_bytes() }
    }

    #[test]
    fn an_entry_of_a_newer_version_is_kept_and_passed_on_as_it_came() {
        let folder = tempfile::tempdir().unwrap();
        let site = ThingId::new(0, [1; 16]);
        let mut log = Log::create(&folder.path().join("site"), About::Site(site)).unwrap();
        let mut text = Vec::new();
        line::write(&newer(site), &mut text).unwrap();
        let report = log.take_in(&mut &text[..]).unwrap();
        assert_eq!((report.taken, report.newer, report.bad), (1, 1, 0));
        let notes = log.notes(0).unwrap();
        assert_eq!((notes.noted.len(), notes.newer.len()), (0, 1));
        assert_eq!(log.verify().unwrap().newer, 1);
        assert_eq!(log.next(Author([0; 32])).unwrap().tick, 4);
        let mut out = Vec::new();
        log.give_out(&mut out).unwrap();
        assert_eq!(out, text);
    }
}
