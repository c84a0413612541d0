//! One log file, open.

use std::path::{Path, PathBuf};
use std::thread::{self, ScopedJoinHandle};

use rusqlite::{Connection, OptionalExtension, Row, Transaction, TransactionBehavior};

use super::connection::{self, ReadOnly, Wanted};
use super::error::{After, LogError, Trouble};
use super::salvage::Salvage;
use crate::job::sign::{self, Head, MOST_TICK, Newer, Read};
use crate::job::{Author, Hash, Noted, Signed, ThingId};

/// How many bytes of a stranger's file are searched for entries of ours.
const SEARCHED: u64 = 64 << 20;

/// What a file is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    /// A site.
    Site(ThingId),
    /// A person's own kit: instruments, van stock, abbreviations.
    Kit(ThingId),
}

impl About {
    /// The name that the entries of the file carry as their site.
    pub fn id(self) -> ThingId {
        match self {
            Self::Site(id) | Self::Kit(id) => id,
        }
    }

    fn kind(self) -> &'static str {
        match self {
            Self::Site(_) => "site",
            Self::Kit(_) => "kit",
        }
    }
}

/// What the next entry of an author at this site must say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Next {
    /// The running number.
    pub seq: u32,
    /// The author's entry before.
    pub prev: Hash,
    /// One more than the greatest tick in the file.
    pub tick: u64,
}

/// Whether an entry was new to the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// It is now on disk.
    New,
    /// It was there already.
    Already,
}

/// What a file holds, read.
#[derive(Debug, Clone, Default)]
pub struct Notes {
    /// Entries in the order in which they arrived here.
    pub noted: Vec<Noted>,
    /// Entries of a newer version: kept, passed on, not read.
    pub newer: Vec<Newer>,
    /// Number of the last entry read, to ask only for what came after it.
    pub last: i64,
}

/// One log file, open. It is closed when it is dropped.
pub struct Log {
    path: PathBuf,
    about: About,
    wanted: Wanted,
    read_only: Option<ReadOnly>,
    conn: Option<Connection>,
    /// The connection before ended in an I/O error.
    shaken: bool,
    /// Set once the file was moved aside.
    gone: Option<LogError>,
}

impl Log {
    /// Opens a file to read and to note. Where that cannot be, it opens to read: see [`Log::read_only`].
    pub fn open(path: &Path) -> Result<Self, LogError> {
        Self::begin(path, Wanted::Write)
    }

    /// Opens a file to read beside whoever notes in it. A damaged file is left where it is.
    pub fn open_to_read(path: &Path) -> Result<Self, LogError> {
        Self::begin(path, Wanted::Read)
    }

    /// Makes a file and opens it.
    pub fn create(path: &Path, about: About) -> Result<Self, LogError> {
        let fill = |conn: &Connection| -> Result<(), Trouble> {
            let site = about.id().to_string();
            conn.execute("INSERT INTO about (only, site, kind) VALUES (1, ?1, ?2)", (site, about.kind()))?;
            Ok(())
        };
        connection::create(path, fill).map_err(|trouble| trouble.outside(path))?;
        Self::open(path)
    }

    fn begin(path: &Path, wanted: Wanted) -> Result<Self, LogError> {
        let ours = connection::has_our_header(path).map_err(|error| Trouble::from(error).outside(path))?;
        if !ours {
            // A file of ours whose first bytes are lost is told from a stranger's by the signed entries in it.
            let damaged = Salvage::is_one_of_ours(path, SEARCHED);
            return Err(if damaged { aside(path, wanted) } else { LogError::NotOurs { file: path.to_owned() } });
        }
        let opened = connection::open(path, wanted, false).and_then(|opened| {
            let about = about(&opened.conn).map_err(|trouble| unless_newer(trouble, opened.read_only))?;
            Ok((opened, about))
        });
        match opened {
            Ok((opened, about)) => Ok(Self {
                path: path.to_owned(),
                about,
                wanted,
                read_only: opened.read_only,
                conn: Some(opened.conn),
                shaken: false,
                gone: None,
            }),
            Err(trouble) if trouble.after() == After::SetAside => Err(aside(path, wanted)),
            Err(trouble) => Err(trouble.outside(path)),
        }
    }

    /// Where the file is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What it is about.
    pub fn about(&self) -> About {
        self.about
    }

    /// Why it can be read and not written, if so.
    pub fn read_only(&self) -> Option<ReadOnly> {
        self.read_only
    }

    /// What the next entry of this author must say.
    pub fn next(&mut self, author: Author) -> Result<Next, LogError> {
        self.run(|conn| {
            let tick: i64 = conn.query_row("SELECT ifnull(max(tick), 0) FROM entry", [], |row| row.get(0))?;
            let tick = u64::try_from(tick).map_err(|_| Trouble::Wrong("a tick"))?.saturating_add(1).min(MOST_TICK);
            let (seq, prev) = end_of_chain(conn, author)?;
            Ok(Next { seq: seq.saturating_add(1), prev, tick })
        })
    }

    /// Keeps an entry. When this returns, the entry is on disk.
    ///
    /// The entry must be the next of its author's chain; entries from elsewhere come in through [`Log::take_in`],
    /// in any order.
    pub fn append(&mut self, signed: &Signed) -> Result<Kept, LogError> {
        let about = self.about;
        let read = sign::read(signed).map_err(|why| Trouble::from(why).outside(&self.path))?;
        let Head { site, author, seq, prev, .. } = read.head();
        self.write(|tx| {
            if site != about.id() {
                return Err(Trouble::OtherSite(site));
            }
            if knows(tx, read.hash())? {
                return Ok(Kept::Already);
            }
            let (last, end) = end_of_chain(tx, author)?;
            if last.checked_add(1) != Some(seq) || end != prev {
                return Err(Trouble::Behind);
            }
            insert(tx, &read, signed)?;
            Ok(Kept::New)
        })
    }

    /// All entries as they are kept, in the order in which they arrived here.
    pub fn entries(&mut self) -> Result<Vec<(Hash, Signed)>, LogError> {
        self.run(|conn| {
            let mut asked = conn.prepare("SELECT hash, body, sig FROM entry ORDER BY n")?;
            let rows = asked.query_map([], |row| {
                let body = Box::from(row.get_ref(1)?.as_str()?);
                Ok((Hash(row.get(0)?), Signed { body, signature: row.get(2)? }))
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The entries that came after number `after`, 0 for all, read. Each is checked against the hash that was kept
    /// with it; signatures were checked when the entries came in, and are checked again by [`Log::verify`].
    pub fn notes(&mut self, after: i64) -> Result<Notes, LogError> {
        self.run(|conn| {
            let mut asked =
                conn.prepare("SELECT n, hash, author, seq, tick, body, sig FROM entry WHERE n > ?1 ORDER BY n")?;
            let rows = asked.query_map([after], RawRow::of)?.collect::<Result<Vec<_>, _>>()?;
            let mut all = Notes { last: rows.last().map_or(after, |row| row.n), ..Notes::default() };
            for read in checked_all(&rows)? {
                match read {
                    Read::Known(noted) => all.noted.push(noted),
                    Read::Newer(newer) => all.newer.push(newer),
                }
            }
            Ok(all)
        })
    }

    /// Does `work` on the connection, opening it anew if the one before had to be ended.
    pub(super) fn run<T>(&mut self, work: impl FnOnce(&mut Connection) -> Result<T, Trouble>) -> Result<T, LogError> {
        if let Some(gone) = &self.gone {
            return Err(gone.clone());
        }
        let done = self.reopened().and_then(work);
        done.map_err(|trouble| self.end(trouble))
    }

    /// Does `work` in one transaction that is on disk when this returns.
    pub(super) fn write<T>(
        &mut self,
        work: impl FnOnce(&Transaction<'_>) -> Result<T, Trouble>,
    ) -> Result<T, LogError> {
        match self.read_only {
            Some(ReadOnly::Newer) => return Err(Trouble::Newer.outside(&self.path)),
            Some(_) => return Err(Trouble::ReadOnly.outside(&self.path)),
            None => {}
        }
        self.run(|conn| {
            let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let done = work(&tx)?;
            tx.commit()?;
            Ok(done)
        })
    }

    fn reopened(&mut self) -> Result<&mut Connection, Trouble> {
        let conn = if let Some(conn) = self.conn.take() {
            conn
        } else {
            let opened = connection::open(&self.path, self.wanted, self.shaken)?;
            // The file under this name could be another one by now.
            if about(&opened.conn)? != self.about {
                return Err(std::io::Error::from(std::io::ErrorKind::NotFound).into());
            }
            self.read_only = opened.read_only;
            self.shaken = false;
            opened.conn
        };
        Ok(self.conn.insert(conn))
    }

    /// Does to the connection what a trouble asks for, and says it.
    fn end(&mut self, trouble: Trouble) -> LogError {
        let trouble = unless_newer(trouble, self.read_only);
        match trouble.after() {
            After::GoOn => trouble.outside(&self.path),
            After::Reopen => {
                self.conn = None;
                self.shaken = true;
                trouble.outside(&self.path)
            }
            After::SetAside => {
                self.conn = None;
                let error = aside(&self.path, self.wanted);
                self.gone = Some(error.clone());
                error
            }
        }
    }
}

impl Drop for Log {
    fn drop(&mut self) {
        if let Some(conn) = self.conn.take() {
            connection::close(conn);
        }
    }
}

/// Tables that are not as they should be in a newer file are newer, not damaged.
fn unless_newer(trouble: Trouble, read_only: Option<ReadOnly>) -> Trouble {
    let newer =
        read_only == Some(ReadOnly::Newer) && (trouble.is_other_tables() || matches!(trouble, Trouble::Wrong(_)));
    if newer { Trouble::Newer } else { trouble }
}

/// Moves a damaged file aside, if it is ours to move, and says where it is.
fn aside(path: &Path, wanted: Wanted) -> LogError {
    let moved_to = match wanted {
        Wanted::Write => connection::set_aside(path).ok(),
        Wanted::Read => None,
    };
    LogError::Damaged { file: path.to_owned(), moved_to }
}

fn about(conn: &Connection) -> Result<About, Trouble> {
    let (site, kind): (String, String) =
        conn.query_row("SELECT site, kind FROM about", [], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let site = site.parse().map_err(|_| Trouble::Wrong("the file's site"))?;
    match kind.as_str() {
        "site" => Ok(About::Site(site)),
        "kit" => Ok(About::Kit(site)),
        _ => Err(Trouble::Wrong("the file's kind")),
    }
}

/// Whether an entry is in the file.
pub(super) fn knows(conn: &Connection, hash: Hash) -> Result<bool, Trouble> {
    let mut asked = conn.prepare_cached("SELECT 1 FROM entry WHERE hash = ?1")?;
    Ok(asked.exists([hash.0])?)
}

/// The greatest number of an author and the entry that has it; of two that claim it, the one with the lesser hash.
fn end_of_chain(conn: &Connection, author: Author) -> Result<(u32, Hash), Trouble> {
    let mut asked =
        conn.prepare_cached("SELECT seq, hash FROM entry WHERE author = ?1 ORDER BY seq DESC, hash LIMIT 1")?;
    let end = asked.query_row([author.0], |row| Ok((row.get(0)?, Hash(row.get(1)?)))).optional()?;
    Ok(end.unwrap_or((0, Hash::NONE)))
}

/// Puts an entry that was read and verified into the file.
pub(super) fn insert(conn: &Connection, read: &Read, signed: &Signed) -> Result<(), Trouble> {
    let head = read.head();
    let mut put =
        conn.prepare_cached("INSERT INTO entry (hash, author, seq, tick, body, sig) VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?;
    let tick = i64::try_from(head.tick).map_err(|_| sign::Unread::Number)?;
    put.execute((read.hash().0, head.author.0, head.seq, tick, &*signed.body, signed.signature))?;
    Ok(())
}

/// A row of `n, hash, author, seq, tick, body, sig` as it stands in the file.
pub(super) struct RawRow {
    pub(super) n: i64,
    hash: [u8; 32],
    author: [u8; 32],
    seq: u32,
    tick: i64,
    pub(super) signed: Signed,
}

impl RawRow {
    pub(super) fn of(row: &Row<'_>) -> rusqlite::Result<Self> {
        // A text that is no text any more is read as an empty one, which is no body: see `checked`.
        let signed = Signed { body: row.get_ref(5)?.as_str().unwrap_or_default().into(), signature: row.get(6)? };
        let (hash, author) = (row.get(1)?, row.get(2)?);
        Ok(Self { n: row.get(0)?, hash, author, seq: row.get(3)?, tick: row.get(4)?, signed })
    }

    /// Reads the entry and checks that it is what was put there.
    pub(super) fn checked(&self) -> Result<Read, Trouble> {
        let Signed { body: text, signature } = &self.signed;
        let body = sign::parse(text).map_err(|_| Trouble::Wrong("a body"))?;
        let head = body.head();
        if (head.author.0, head.seq) != (self.author, self.seq) || i64::try_from(head.tick) != Ok(self.tick) {
            return Err(Trouble::Wrong("a head"));
        }
        if sign::identity_of(&head, text, signature).0 != self.hash {
            return Err(Trouble::Wrong("a hash"));
        }
        Ok(body.with_hash(Hash(self.hash)))
    }
}

/// Rows that are worth a thread of their own: about a millisecond's work.
const SHARE: usize = 256;

/// Reads and checks rows, many of them on several cores: a site must be open before a hand has left the screen.
fn checked_all(rows: &[RawRow]) -> Result<Vec<Read>, Trouble> {
    let cores = thread::available_parallelism().map_or(1, usize::from).min(4);
    let share = rows.len().div_ceil(cores).max(SHARE);
    let read = |rows: &[RawRow]| rows.iter().map(RawRow::checked).collect::<Result<Vec<_>, _>>();
    let mut shares = rows.chunks(share);
    let first = shares.next().unwrap_or_default();
    let parts = thread::scope(|scope| {
        // Where the system gives no thread, its share is read here.
        let started: Vec<_> =
            shares.map(|part| (part, thread::Builder::new().spawn_scoped(scope, move || read(part)))).collect();
        let mut parts = vec![read(first)];
        parts.extend(started.into_iter().map(|(part, thread)| match thread.map(ScopedJoinHandle::join) {
            Ok(Ok(done)) => done,
            Ok(Err(_)) | Err(_) => read(part),
        }));
        parts
    });
    let mut all = Vec::with_capacity(rows.len());
    for part in parts {
        all.extend(part?);
    }
    Ok(all)
}
