//! What version 1 wrote is read by every later version. The frozen files are made once and never again; see
//! `shared/frozen/README.md`.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::fs;
use std::path::{Path, PathBuf};

use boxproof_core::job::sign::{self, Read};
use boxproof_core::job::{Fact, Signed};
use boxproof_core::log::line::{self, Line};
use boxproof_core::log::{About, Log};
use boxproof_tests::every;

fn frozen(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/frozen").join(name)
}

fn entries() -> Vec<Signed> {
    let text = fs::read(frozen("entry-1.jsonl")).unwrap();
    let lines = text.split(|byte| *byte == b'\n').filter(|line| !line.is_empty());
    lines.map(|line| if let Line::Entry(signed) = line::parse(line) { signed } else { panic!("no entry") }).collect()
}

#[test]
fn every_fact_of_version_1_is_read_and_written_alike() {
    let entries = entries();
    assert!(entries.len() > 30);
    for signed in entries {
        let Read::Known(noted) = sign::read(&signed).unwrap() else { panic!("taken for newer: {}", signed.body) };
        for fact in &noted.entry.facts {
            assert!(!matches!(fact, Fact::Newer(_)), "no longer read: {fact:?}");
        }
        // A field or a kind under another name would read as newer or come out otherwise.
        assert_eq!(serde_json::to_string(&noted.entry).unwrap(), *signed.body);
    }
}

#[test]
fn a_file_of_schema_1_opens_to_read_and_to_note() {
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let path = folder.path().join("site.boxproof");
    fs::copy(frozen("schema-1.boxproof"), &path).unwrap();
    let mut log = Log::open(&path).unwrap();
    assert_eq!(log.read_only(), None, "the steps that made the frozen file were changed");
    assert_eq!(log.about(), About::Site(every::site()));
    let kept: Vec<Signed> = log.entries().unwrap().into_iter().map(|(_, signed)| signed).collect();
    assert_eq!(kept, entries());
    assert_eq!(log.notes(0).unwrap().noted.len(), kept.len());
    assert!(log.verify().unwrap().wrong.is_empty());
    let mut pen = every::Pen::new(9, every::site());
    log.append(&pen.remark("years later").unwrap()).unwrap();
}

/// Makes the frozen files. Run by hand for the first version, and by nobody after that:
/// `cargo test -p boxproof-tests --test log_frozen -- --ignored make`
#[test]
#[ignore = "makes the frozen files; they are made once"]
fn make() {
    let entries = every::log().unwrap();
    let mut lines = Vec::new();
    for signed in &entries {
        line::write(signed, &mut lines).unwrap();
    }
    fs::write(frozen("entry-1.jsonl"), lines).unwrap();
    let path = frozen("schema-1.boxproof");
    let _ = fs::remove_file(&path);
    let mut log = Log::create(&path, About::Site(every::site())).unwrap();
    for signed in &entries {
        log.append(signed).unwrap();
    }
}
