//! Opening an SQLite file so that what is acknowledged stays.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, MAIN_DB, OpenFlags};

use super::error::Trouble;
use super::schema::{self, APPLICATION_ID, STEPS};

/// What a damaged file's name goes on with, before a number.
pub(super) const ASIDE: &str = ".damaged-";

/// How long another program's write is waited for.
const WAIT: Duration = Duration::from_secs(2);

/// What a file is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wanted {
    /// To read and to note.
    Write,
    /// To read only, beside whoever notes.
    Read,
}

/// Why a log can be read and not written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadOnly {
    /// It was asked for like this.
    Asked,
    /// The file or its folder may not be written here.
    File,
    /// A newer program wrote it.
    Newer,
}

/// An open file and whether it can be written.
pub(super) struct Opened {
    pub(super) conn: Connection,
    pub(super) read_only: Option<ReadOnly>,
}

/// Whether the first bytes of a file say that it is one of ours. Reads only.
pub(super) fn has_our_header(path: &Path) -> io::Result<bool> {
    let mut start = Vec::with_capacity(100);
    File::open(path)?.take(100).read_to_end(&mut start)?;
    // The SQLite file format: the magic text at 0, the application id big-endian at 68.
    let ours = start.starts_with(b"SQLite format 3\0") && start.get(68..72) == Some(&APPLICATION_ID.to_be_bytes()[..]);
    Ok(ours)
}

/// Opens a file that [`has_our_header`]. `shaken`: this program's connection before ended in an I/O error.
pub(super) fn open(path: &Path, wanted: Wanted, shaken: bool) -> Result<Opened, Trouble> {
    if wanted == Wanted::Read {
        return open_to_read(path, ReadOnly::Asked);
    }
    let unclosed = beside(path, "-wal").try_exists()?;
    let mut conn = connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    if conn.is_readonly(MAIN_DB)? {
        drop(conn);
        return open_to_read(path, ReadOnly::File);
    }
    // Asked before anything that writes: a newer file is not even switched to another journal.
    if schema::is_newer(schema::of_file(&conn)?, STEPS)? {
        drop(conn);
        return open_to_read(path, ReadOnly::Newer);
    }
    keep_everything(&conn)?;
    match schema::upgrade(&mut conn, STEPS) {
        Ok(()) => {}
        Err(Trouble::Newer) => {
            drop(conn);
            return open_to_read(path, ReadOnly::Newer);
        }
        Err(trouble) => return Err(trouble),
    }
    if unclosed {
        match write_again(&conn, path) {
            // Someone else works with the file and has opened it as carefully.
            Err(trouble) if !shaken && trouble.is_busy() => {}
            done => done?,
        }
    }
    Ok(Opened { conn, read_only: None })
}

/// Opens a file to read, whatever it is that forbids to write.
fn open_to_read(path: &Path, why: ReadOnly) -> Result<Opened, Trouble> {
    let conn = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let conn = match schema::of_file(&conn) {
        Ok(_) => conn,
        // A log in a folder that cannot be written has no place for SQLite's shared index. If nothing waits in a
        // write-ahead file, the database stands alone and nobody can change it here.
        Err(_) if why == ReadOnly::File && nothing_waits(path) => connect_alone(path)?,
        Err(trouble) => return Err(trouble),
    };
    conn.pragma_update(None, "query_only", true)?;
    Ok(Opened { conn, read_only: Some(why) })
}

fn nothing_waits(path: &Path) -> bool {
    fs::metadata(beside(path, "-wal")).map_or(true, |wal| wal.len() == 0)
}

fn connect_alone(path: &Path) -> Result<Connection, Trouble> {
    // The path goes into a URI, where these three would be read as something else.
    let text = path.to_str().ok_or(Trouble::Setting("immutable"))?;
    let text = text.replace('%', "%25").replace('?', "%3f").replace('#', "%23");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    Ok(Connection::open_with_flags(format!("file:{text}?immutable=1"), flags)?)
}

fn connect(path: &Path, how: OpenFlags) -> Result<Connection, Trouble> {
    let conn = Connection::open_with_flags(path, how | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    conn.busy_timeout(WAIT)?;
    // A damaged file must not be written by the very act of closing it; [`close`] allows it for a sound one.
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    conn.pragma_update(None, "trusted_schema", false)?;
    conn.pragma_update(None, "cell_size_check", true)?;
    conn.pragma_update(None, "recursive_triggers", true)?;
    conn.pragma_update(None, "foreign_keys", true)?;
    if conn.query_row("PRAGMA foreign_keys", [], |row| row.get::<_, u32>(0))? != 1 {
        return Err(Trouble::Setting("foreign_keys"));
    }
    Ok(conn)
}

/// Makes every commit reach the disk before it returns, and checks that this is in force.
///
/// EXTRA comes first: the switch to WAL may answer "wal" after a failed sync and yet not be in force. With EXTRA the
/// rollback journal that is then used loses nothing either, which FULL does not give.
pub(super) fn keep_everything(conn: &Connection) -> Result<(), Trouble> {
    extra(conn)?;
    let mode: String = conn.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))?;
    let in_force: String = conn.query_row("PRAGMA journal_mode", [], |row| row.get(0))?;
    if mode != "wal" || in_force != "wal" {
        return Err(Trouble::Setting("journal_mode"));
    }
    Ok(())
}

/// Sets `synchronous` to EXTRA, which is 3, and reads it back.
fn extra(conn: &Connection) -> Result<(), Trouble> {
    conn.pragma_update(None, "synchronous", "EXTRA")?;
    if conn.query_row("PRAGMA synchronous", [], |row| row.get::<_, u32>(0))? != 3 {
        return Err(Trouble::Setting("synchronous"));
    }
    Ok(())
}

/// Makes all that waits in the write-ahead file last, and begins that file anew.
///
/// That file is there when the program before ended without closing, perhaps after a failed sync, which another
/// program cannot know. After a failed sync the system may hold pages as clean that never reached the disk: what is
/// written behind them is lost with them, and what is copied from them into the database damages it when the power
/// goes. So the same bytes are written and synced once more, and only then copied. The file's name may be missing on
/// the disk too, because SQLite syncs a folder only at the first sync of a file that it made itself.
fn write_again(conn: &Connection, path: &Path) -> Result<(), Trouble> {
    // Nobody may write there meanwhile. Who reads sees the same bytes.
    conn.execute_batch("BEGIN IMMEDIATE")?;
    let done = rewrite(&beside(path, "-wal"));
    conn.execute_batch("ROLLBACK")?;
    done?;
    sync_folder(path)?;
    let busy: u32 = conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if busy == 0 { Ok(()) } else { Err(Trouble::Busy) }
}

/// Writes a file's bytes over themselves, its length too, and syncs it.
fn rewrite(path: &Path) -> io::Result<()> {
    let mut file = OpenOptions::new().read(true).write(true).open(path)?;
    let mut bytes = vec![0; 1 << 16];
    let mut at = 0;
    loop {
        file.seek(SeekFrom::Start(at))?;
        let n = file.read(&mut bytes)?;
        if n == 0 {
            file.set_len(at)?;
            return file.sync_all();
        }
        file.seek(SeekFrom::Start(at))?;
        file.write_all(bytes.get(..n).unwrap_or_default())?;
        at += n as u64;
    }
}

/// Makes a new file with the present schema and `fill` done in it. The file appears whole or not at all.
pub(super) fn create(path: &Path, fill: impl FnOnce(&Connection) -> Result<(), Trouble>) -> Result<(), Trouble> {
    if path.try_exists()? {
        return Err(io::Error::from(io::ErrorKind::AlreadyExists).into());
    }
    let begun = beside(path, ".new");
    for old in [begun.clone(), beside(&begun, "-journal")] {
        match fs::remove_file(old) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error.into()),
            _ => {}
        }
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    let mut conn = connect(&begun, flags)?;
    // Not yet WAL: when the last commit returns, all must be in the one file that gets its name.
    extra(&conn)?;
    schema::upgrade(&mut conn, STEPS)?;
    fill(&conn)?;
    conn.close().map_err(|(_, error)| error)?;
    // What a lost file left behind would be read into the new one.
    if ["-wal", "-journal"].iter().any(|suffix| !matches!(beside(path, suffix).try_exists(), Ok(false))) {
        move_all(path, &free_name(path)?, &["-wal", "-journal"])?;
    }
    fs::rename(&begun, path)?;
    sync_folder(path)
}

/// Makes the names in a file's folder last. Systems that cannot do this on a folder keep names by themselves.
pub(super) fn sync_folder(path: &Path) -> Result<(), Trouble> {
    #[cfg(unix)]
    if let Some(folder) = path.parent() {
        File::open(folder)?.sync_all()?;
    }
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}

/// Closes a sound connection, so that the file stands alone again if nobody else has it open.
pub(super) fn close(conn: Connection) {
    // Whatever fails here, the entries are in the write-ahead file and stay there.
    let _ = conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false);
    let _ = conn.close();
}

/// The path with `suffix` after its whole name, as SQLite names the files that go with a database.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}

/// Renames a damaged file, and what goes with it, to a name that is not taken.
pub(super) fn set_aside(path: &Path) -> io::Result<PathBuf> {
    let to = free_name(path)?;
    // The write-ahead file first, so that it never stands alone where a new file could take it for its own.
    move_all(path, &to, &["-wal", "-journal"])?;
    fs::rename(path, &to)?;
    // The shared index is made anew from the write-ahead file where it is needed.
    let _ = fs::remove_file(beside(path, "-shm"));
    Ok(to)
}

/// A name for a damaged file that neither a file nor its companions have.
fn free_name(path: &Path) -> io::Result<PathBuf> {
    let free = |to: &PathBuf| {
        ["", "-wal", "-journal"].iter().all(|suffix| matches!(beside(to, suffix).try_exists(), Ok(false)))
    };
    (1_u16..=u16::MAX)
        .map(|n| beside(path, &format!("{ASIDE}{n}")))
        .find(free)
        .ok_or_else(|| io::ErrorKind::AlreadyExists.into())
}

fn move_all(path: &Path, to: &Path, suffixes: &[&str]) -> io::Result<()> {
    for suffix in suffixes {
        match fs::rename(beside(path, suffix), beside(to, suffix)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(())
}
