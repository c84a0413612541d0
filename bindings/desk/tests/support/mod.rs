//! The program as a person runs it, and a demo notebook to run it on.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_boxproof");

/// How a run ended.
pub(crate) struct Ran {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl From<Output> for Ran {
    fn from(output: Output) -> Self {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        // A signal, as of a panic that aborts, is no status at all.
        Self { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
    }
}

pub(crate) fn run<S: AsRef<OsStr>>(arguments: &[S]) -> Ran {
    Command::new(PROGRAM).args(arguments).stdin(Stdio::null()).output().unwrap().into()
}

/// A run with words before the path of a site and words after it.
pub(crate) fn run_on(before: &[&str], site: &Path, after: &[&str]) -> Ran {
    let mut arguments: Vec<&OsStr> = before.iter().map(OsStr::new).collect();
    arguments.push(site.as_os_str());
    arguments.extend(after.iter().map(OsStr::new));
    run(&arguments)
}

/// The demo's site file at a moment of the day, played once.
fn played(moment: &'static str) -> &'static [u8] {
    static MORNING: OnceLock<Vec<u8>> = OnceLock::new();
    static DISAGREEMENT: OnceLock<Vec<u8>> = OnceLock::new();
    static EVENING: OnceLock<Vec<u8>> = OnceLock::new();
    let once = match moment {
        "morning" => &MORNING,
        "disagreement" => &DISAGREEMENT,
        _ => &EVENING,
    };
    once.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let ran = run_on(&["demo"], folder.path(), &["--until", moment]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        fs::read(ran.out.trim_end()).unwrap()
    })
}

/// A notebook of one's own with the demo's site in it.
pub(crate) struct Book {
    #[allow(dead_code, reason = "holds the folder; one of the two tests that share this asks for it")]
    pub(crate) folder: tempfile::TempDir,
    pub(crate) file: PathBuf,
}

pub(crate) fn book(moment: &'static str) -> Book {
    let folder = tempfile::tempdir().unwrap();
    let sites = folder.path().join("sites");
    fs::create_dir(&sites).unwrap();
    let file = sites.join("018eec5b-7300-7d26-a215-4e6d76b2b2b9.boxproof");
    fs::write(&file, played(moment)).unwrap();
    Book { folder, file }
}
