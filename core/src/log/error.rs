//! What can go wrong with a log. Outside there is one kind for each thing that the person can do about it; inside
//! there is the whole cause.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::job::ThingId;
use crate::job::sign::Unread;
use crate::words::say;

/// Why something was not done. Each is one clear sentence or two: what happened, what was kept, what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LogError {
    /// The file is none of ours. It was left untouched: choose another one.
    #[error("{}", named("log.error.not_ours", file))]
    NotOurs {
        /// The file.
        file: PathBuf,
    },
    /// A newer program wrote the file. It was left untouched: update this program to write to it.
    #[error("{}", named("log.error.newer", file))]
    Newer {
        /// The file.
        file: PathBuf,
    },
    /// The file is damaged and was moved aside whole: export what can be read of it.
    #[error("{}", moved("log.error.damaged", file, moved_to.as_ref()))]
    Damaged {
        /// The file as it was called.
        file: PathBuf,
        /// Where it is now; `None` if it could not or must not be moved by this reader.
        moved_to: Option<PathBuf>,
    },
    /// There is no such file.
    #[error("{}", named("log.error.missing", file))]
    Missing {
        /// The file.
        file: PathBuf,
    },
    /// There is such a file already: open it.
    #[error("{}", named("log.error.exists", file))]
    Exists {
        /// The file.
        file: PathBuf,
    },
    /// The disk is full: free space, then note again.
    #[error("{}", named("log.error.full", file))]
    Full {
        /// The file.
        file: PathBuf,
    },
    /// The file may only be read: note elsewhere, or give the right to write.
    #[error("{}", named("log.error.read_only", file))]
    ReadOnly {
        /// The file.
        file: PathBuf,
    },
    /// The disk gave an error: check it, then look whether the last act is there.
    #[error("{}", caused("log.error.io", file, cause))]
    Io {
        /// The file.
        file: PathBuf,
        /// What the system said.
        cause: String,
    },
    /// Another program is writing to the file: wait, then note again.
    #[error("{}", named("log.error.busy", file))]
    Busy {
        /// The file.
        file: PathBuf,
    },
    /// The same person's key has noted something since this program last read: read again, then note again.
    #[error("{}", named("log.error.behind", file))]
    Behind {
        /// The file.
        file: PathBuf,
    },
    /// The entry belongs to another site: note it there.
    #[error("{}", other_site(file, site))]
    OtherSite {
        /// The file.
        file: PathBuf,
        /// The site that the entry names.
        site: ThingId,
    },
    /// The lines could not be written where they were to go: choose another place. The log itself is whole.
    #[error("{}", caused("log.error.giving_out", file, cause))]
    GivingOut {
        /// The file of the log.
        file: PathBuf,
        /// What the system said.
        cause: String,
    },
    /// What was to be noted is no entry.
    #[error("{}", caused("log.error.refused", file, &why.to_string()))]
    Refused {
        /// The file.
        file: PathBuf,
        /// Why.
        why: Unread,
    },
}

fn named(key: &str, file: &Path) -> String {
    say(key, &[("file", &file.display().to_string())])
}

fn caused(key: &str, file: &Path, cause: &str) -> String {
    say(key, &[("file", &file.display().to_string()), ("cause", cause)])
}

fn other_site(file: &Path, site: &ThingId) -> String {
    say("log.error.other_site", &[("file", &file.display().to_string()), ("site", &site.to_string())])
}

fn moved(key: &str, file: &Path, to: Option<&PathBuf>) -> String {
    match to {
        Some(to) => say(key, &[("file", &file.display().to_string()), ("to", &to.display().to_string())]),
        None => named("log.error.damaged_here", file),
    }
}

/// What went wrong, as this module sees it.
#[derive(Debug, thiserror::Error)]
pub(super) enum Trouble {
    #[error(transparent)]
    Sqlite(#[from] rusqlite::Error),
    #[error(transparent)]
    Io(#[from] io::Error),
    /// The lines that are given out could not be written.
    #[error(transparent)]
    Writing(io::Error),
    /// SQLite is content, but what stands in the file is not what was written.
    #[error("{0}")]
    Wrong(&'static str),
    /// A setting that keeps entries on disk did not take.
    #[error("{0} did not take")]
    Setting(&'static str),
    #[error("made by a newer program")]
    Newer,
    #[error("the file may only be read")]
    ReadOnly,
    #[error("another program is writing")]
    Busy,
    #[error("the chain has grown")]
    Behind,
    #[error("of site {0}")]
    OtherSite(ThingId),
    #[error(transparent)]
    Refused(#[from] Unread),
}

/// What a trouble does to the connection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum After {
    /// It can be used on.
    GoOn,
    /// It is ended, and the next call opens anew.
    Reopen,
    /// It is ended, and the file is moved aside.
    SetAside,
}

impl Trouble {
    /// What has to follow. An I/O error ends the connection: SQLite's view of the file is not to be trusted after it.
    pub(super) fn after(&self) -> After {
        match self {
            Self::Wrong(_) => After::SetAside,
            Self::Io(_) | Self::Setting(_) => After::Reopen,
            Self::Writing(_)
            | Self::Newer
            | Self::ReadOnly
            | Self::Busy
            | Self::Behind
            | Self::OtherSite(_)
            | Self::Refused(_) => After::GoOn,
            Self::Sqlite(error) => match error.sqlite_error_code() {
                // None: a column of another type or a missing row, which our STRICT tables cannot hold.
                Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) | None => After::SetAside,
                Some(ErrorCode::DiskFull | ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => After::GoOn,
                Some(_) => After::Reopen,
            },
        }
    }

    /// Whether SQLite could not make sense of a question, so that the tables are not those that were asked for.
    pub(super) fn is_other_tables(&self) -> bool {
        matches!(self, Self::Sqlite(error) if error.sqlite_error_code() == Some(ErrorCode::Unknown))
    }

    /// Whether another program stands in the way.
    pub(super) fn is_busy(&self) -> bool {
        match self {
            Self::Busy => true,
            Self::Sqlite(error) => error.sqlite_error_code() == Some(ErrorCode::DatabaseBusy),
            _ => false,
        }
    }

    /// The sentence for the person.
    pub(super) fn outside(self, file: &Path) -> LogError {
        let file = file.to_owned();
        match self {
            Self::Newer => LogError::Newer { file },
            Self::ReadOnly => LogError::ReadOnly { file },
            Self::Busy => LogError::Busy { file },
            Self::Behind => LogError::Behind { file },
            Self::OtherSite(site) => LogError::OtherSite { file, site },
            Self::Refused(why) => LogError::Refused { file, why },
            Self::Wrong(_) => LogError::Damaged { file, moved_to: None },
            Self::Setting(_) => LogError::Io { file, cause: self.to_string() },
            Self::Writing(error) => LogError::GivingOut { file, cause: error.to_string() },
            Self::Io(error) => from_io(file, &error),
            Self::Sqlite(error) => match error.sqlite_error_code() {
                Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) | None => {
                    LogError::Damaged { file, moved_to: None }
                }
                Some(ErrorCode::DiskFull) => LogError::Full { file },
                Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => LogError::ReadOnly { file },
                Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => LogError::Busy { file },
                Some(_) => LogError::Io { file, cause: error.to_string() },
            },
        }
    }
}

fn from_io(file: PathBuf, error: &io::Error) -> LogError {
    match error.kind() {
        io::ErrorKind::NotFound => LogError::Missing { file },
        io::ErrorKind::AlreadyExists => LogError::Exists { file },
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => LogError::Full { file },
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => LogError::ReadOnly { file },
        _ => LogError::Io { file, cause: error.to_string() },
    }
}
