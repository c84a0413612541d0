//! What the desk gives the core: the wall clock, random bytes, and the 32 secret bytes that this notebook signs with.

use std::fs::{File, OpenOptions};
use std::io::{self, Read as _, Write as _};
use std::path::Path;
use std::time::Duration;

use boxproof_core::app::{Outside, Refusal};
use boxproof_core::job::Wall;
use boxproof_core::words::say;

/// The file in the notebook's folder that holds the secret bytes.
pub const SECRET_FILE: &str = "desk.key";

/// The clock and randomness of this machine.
#[derive(Debug)]
pub struct Machine(());

impl Machine {
    /// Asks for random bytes once, so that a machine that has none is known before anything is noted.
    pub fn new() -> Result<Self, Refusal> {
        fill(&mut [0; 16]).map_err(|why| Refusal::Storage(say("page.random", &[("why", &why)])))?;
        Ok(Self(()))
    }
}

impl Outside for Machine {
    fn now(&self) -> Wall {
        let now = chrono::Local::now();
        let minutes = now.offset().local_minus_utc() / 60;
        Wall { utc_ms: now.timestamp_millis(), offset_min: i16::try_from(minutes).unwrap_or(0) }
    }

    fn random(&self) -> [u8; 16] {
        let mut bytes = [0; 16];
        // The source answered at the start and does not dry up; should it stumble, waiting is right: an id that is not
        // random would be wrong for ever.
        while fill(&mut bytes).is_err() {
            std::thread::sleep(Duration::from_millis(10));
        }
        bytes
    }
}

fn fill(bytes: &mut [u8]) -> Result<(), String> {
    getrandom::fill(bytes).map_err(|why| why.to_string())
}

/// A name of 32 random bytes that nobody can guess, as hexadecimal digits.
pub(crate) fn secret_name() -> Result<String, String> {
    let mut bytes = [0; 32];
    fill(&mut bytes)?;
    let digits = bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]);
    Ok(digits.filter_map(|digit| char::from_digit(u32::from(digit), 16)).collect())
}

/// The 32 secret bytes of this notebook. They are made at first use, readable by the owner alone, and never replaced:
/// entries signed with them could not be continued.
pub fn secret(folder: &Path) -> Result<[u8; 32], Refusal> {
    let path = folder.join(SECRET_FILE);
    match File::open(&path) {
        Ok(file) => known(file, &path),
        Err(why) if why.kind() == io::ErrorKind::NotFound => made(folder, &path),
        Err(why) => Err(unread(&path, &why)),
    }
}

fn known(file: File, path: &Path) -> Result<[u8; 32], Refusal> {
    owner_alone(&file).map_err(|why| unread(path, &why))?;
    let mut bytes = Vec::with_capacity(33);
    file.take(33).read_to_end(&mut bytes).map_err(|why| unread(path, &why))?;
    bytes.try_into().map_err(|bytes: Vec<u8>| {
        let held = if bytes.len() > 32 { "> 32".to_owned() } else { bytes.len().to_string() };
        Refusal::NotOurs(say("page.key.length", &[("path", &path.to_string_lossy()), ("held", &held)]))
    })
}

/// Writes the bytes under another name first, so that a half-written key never stands under the right one.
fn made(folder: &Path, path: &Path) -> Result<[u8; 32], Refusal> {
    let failed = |why: io::Error| {
        Refusal::Storage(say("page.key.unwritten", &[("path", &path.to_string_lossy()), ("why", &why.to_string())]))
    };
    let mut bytes = [0; 32];
    fill(&mut bytes).map_err(|why| failed(io::Error::other(why)))?;
    std::fs::create_dir_all(folder).map_err(failed)?;
    let name = secret_name().map_err(|why| failed(io::Error::other(why)))?;
    let draft = folder.join(format!("{SECRET_FILE}.{}", name.get(..8).unwrap_or_default()));
    let written = write_new(&draft, &bytes).and_then(|()| std::fs::hard_link(&draft, path));
    let removed = std::fs::remove_file(&draft);
    match written {
        Ok(()) => removed.map_err(failed)?,
        // Another desk was quicker: its key is the key.
        Err(why) if why.kind() == io::ErrorKind::AlreadyExists => return secret(folder),
        // Some file systems know no links; the file is then made in place, and never over another.
        Err(_) => write_new(path, &bytes).map_err(failed)?,
    }
    sync_folder(folder).map_err(failed)?;
    Ok(bytes)
}

fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut how = OpenOptions::new();
    how.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut how, 0o600);
    let mut file = how.open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(unix)]
fn owner_alone(file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = file.metadata()?.permissions().mode();
    if mode & 0o077 != 0 {
        file.set_permissions(std::fs::Permissions::from_mode(0o600))?;
    }
    Ok(())
}

#[cfg(not(unix))]
fn owner_alone(_file: &File) -> io::Result<()> {
    Ok(())
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

fn unread(path: &Path, why: &io::Error) -> Refusal {
    Refusal::Storage(say("page.key.unread", &[("path", &path.to_string_lossy()), ("why", &why.to_string())]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_secret_stays_the_same_and_belongs_to_its_owner_alone() {
        let folder = tempfile::tempdir().unwrap();
        let first = secret(folder.path()).unwrap();
        assert_eq!(first, secret(folder.path()).unwrap());
        assert_ne!(first, [0; 32]);
        let other = tempfile::tempdir().unwrap();
        assert_ne!(first, secret(other.path()).unwrap());
        let names: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert_eq!(names, [SECRET_FILE]);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            let path = folder.path().join(SECRET_FILE);
            assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
            assert_eq!(first, secret(folder.path()).unwrap());
            assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        }
    }

    #[test]
    fn a_key_of_the_wrong_length_is_left_as_it_is() {
        for bytes in [&b"short"[..], &[7; 33]] {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join(SECRET_FILE);
            std::fs::write(&path, bytes).unwrap();
            assert!(matches!(secret(folder.path()), Err(Refusal::NotOurs(_))));
            assert_eq!(std::fs::read(&path).unwrap(), bytes);
        }
    }

    #[test]
    fn the_clock_stands_after_this_program_was_written_and_ids_differ() {
        let machine = Machine::new().unwrap();
        // 2025-01-01T00:00:00Z, by GNU date.
        assert!(machine.now().utc_ms > 1_735_689_600_000);
        assert_ne!(machine.random(), machine.random());
    }
}
