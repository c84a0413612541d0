//! The one file that prints. A reader that has seen enough and closes the pipe ends the printing quietly.

use std::fs::{self, File, OpenOptions};
use std::io::{self, IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};

use boxproof_core::words::say;

use crate::command::Fault;

/// Prints on standard output.
pub(crate) fn print(text: impl AsRef<[u8]>) -> Result<(), Fault> {
    let mut to = io::stdout().lock();
    match to.write_all(text.as_ref()).and_then(|()| to.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Fault(say("desk.not_printed", &[("why", &error.to_string())])))
        }
        Err(_) | Ok(()) => Ok(()),
    }
}

/// Says something on standard error. If that is gone, nobody is there to be told.
pub(crate) fn tell(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}

/// Shows how far something is, in one line that the next one overwrites; on a terminal only.
pub(crate) fn progress(text: &str) {
    let mut to = io::stderr().lock();
    if to.is_terminal() {
        let _ = write!(to, "\r\u{1b}[K{text}");
        let _ = to.flush();
    }
}

/// Help, the version, or what is wrong with the arguments. True if it was asked for.
pub(crate) fn usage(said: &clap::Error) -> bool {
    let _ = said.print();
    !said.use_stderr()
}

/// Writes a file that appears whole or not at all; what is no plain file (a printer, a pipe) is written as it is.
pub(crate) fn write_file(path: &Path, text: impl AsRef<[u8]>) -> Result<(), Fault> {
    let failed = |error: &io::Error| {
        let (file, why) = (path.display().to_string(), error.to_string());
        Fault(say("file.not_written", &[("file", &file), ("why", &why)]))
    };
    let plain = fs::metadata(path).map_or(true, |meta| meta.is_file());
    if !plain {
        let mut to = OpenOptions::new().write(true).open(path).map_err(|error| failed(&error))?;
        return to.write_all(text.as_ref()).and_then(|()| to.flush()).map_err(|error| failed(&error));
    }
    let beside = PathBuf::from(format!("{}.part", path.display()));
    let whole = || -> io::Result<()> {
        let mut to = File::create(&beside)?;
        to.write_all(text.as_ref())?;
        to.sync_all()?;
        fs::rename(&beside, path)
    };
    whole().map_err(|error| {
        // Half a file helps nobody; the whole is still in the log.
        let _ = fs::remove_file(&beside);
        failed(&error)
    })
}
