//! The log on a disk whose power goes, that fills up, fails, or may not be written: no acknowledged entry is lost.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

mod cut;

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use boxproof_core::job::{Hash, Signed, sign};
use boxproof_core::log::{About, Kept, Log, LogError, ReadOnly};
use boxproof_tests::every::{self, Pen};
use cut::Plan;
use rusqlite::Connection;

/// Entries of one author, some longer than a page.
fn entries() -> &'static [(Hash, Signed)] {
    static ENTRIES: OnceLock<Vec<(Hash, Signed)>> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let mut pen = Pen::new(1, every::site());
        let long = |n: usize| if n % 7 == 3 { 6_000 } else { 40 * n };
        let text = |n| format!("entry {n} {}", "reading 120.3 V ".repeat(long(n) / 16));
        (0..18)
            .map(|n| {
                let signed = pen.remark(&text(n)).unwrap();
                (pen.last(), signed)
            })
            .collect()
    })
}

fn place() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let path = folder.path().join("site.boxproof");
    (folder, path)
}

/// Notes all entries as the program does, closing and opening now and then, and again after each error; gives those
/// that were acknowledged.
fn note_all(path: &Path) -> Option<Vec<Hash>> {
    let mut log = (0..4).find_map(|_| Log::create(path, About::Site(every::site())).ok());
    let mut noted = log.as_ref().map(|_| Vec::new());
    for (n, (hash, signed)) in entries().iter().enumerate() {
        if n % 6 == 5 {
            log = None;
        }
        // A failing disk is tried again; one without power is not coming back.
        for _ in 0..4 {
            if log.is_none() {
                log = Log::open(path).ok();
                noted = noted.or_else(|| log.as_ref().map(|_| Vec::new()));
            }
            let Some(open) = &mut log else { continue };
            match open.append(signed) {
                Ok(Kept::New | Kept::Already) => {
                    noted.get_or_insert_default().push(*hash);
                    break;
                }
                Err(error) => {
                    let sentence = error.to_string();
                    assert!(sentence.contains("site.boxproof"), "{sentence}");
                    assert!(!matches!(error, LogError::Damaged { .. }), "moved aside on a failing disk: {sentence}");
                }
            }
        }
    }
    noted
}

/// What became of the acknowledged entries.
#[derive(Debug, Default)]
struct Outcome {
    noted: usize,
    lost: usize,
    damaged: usize,
}

impl Outcome {
    fn count(&mut self, path: &Path, noted: Option<Vec<Hash>>) {
        let Some(noted) = noted else { return };
        self.noted += noted.len();
        let found = Log::open(path).and_then(|mut log| {
            let verified = log.verify()?;
            assert!(verified.wrong.is_empty(), "{verified:?}");
            log.entries()
        });
        let Ok(found) = found else {
            self.damaged += 1;
            self.lost += noted.len();
            return;
        };
        let lost = noted.iter().filter(|hash| !found.iter().any(|(there, _)| there == *hash));
        self.lost += lost.count();
        // What is there is a prefix of what was written, perhaps with one more than was acknowledged.
        assert!(found.iter().zip(entries()).all(|(found, written)| found == written), "out of order");
    }
}

#[test]
fn no_acknowledged_entry_is_lost_when_the_power_goes() {
    let _turn = cut::turn();
    let (_folder, path) = place();
    cut::fresh(Plan { seed: 1, ..Plan::default() });
    assert_eq!(note_all(&path).map(|noted| noted.len()), Some(entries().len()));
    let operations = cut::operations();
    let mut outcome = Outcome::default();
    for seed in 1..=250 {
        let (_folder, path) = place();
        cut::fresh(Plan { seed, cut_at: 1 + seed * 7_919 % (operations + 4), ..Plan::default() });
        let noted = note_all(&path);
        cut::power_back();
        outcome.count(&path, noted);
    }
    assert!(outcome.noted > 1_000, "{outcome:?}");
    assert_eq!((outcome.lost, outcome.damaged), (0, 0), "{outcome:?}");
}

#[test]
fn no_acknowledged_entry_is_lost_when_the_disk_fails_now_and_then() {
    let _turn = cut::turn();
    let mut outcome = Outcome::default();
    for seed in 1..=150 {
        let (_folder, path) = place();
        let plan = match seed % 3 {
            0 => Plan { fail_write: 31, ..Plan::default() },
            1 => Plan { fail_sync: 9, ..Plan::default() },
            _ => Plan { fail_write: 61, fail_sync: 17, ..Plan::default() },
        };
        // Every other time the power goes before the end, too.
        let cut_at = if seed % 2 == 0 { 100 + seed * 7_919 % 300 } else { 0 };
        cut::fresh(Plan { seed, cut_at, ..plan });
        let noted = note_all(&path);
        cut::power_back();
        outcome.count(&path, noted);
    }
    assert!(outcome.noted > 1_000, "{outcome:?}");
    assert_eq!((outcome.lost, outcome.damaged), (0, 0), "{outcome:?}");
}

/// Notes the entries as a careless program would, with this `synchronous`.
fn note_carelessly(path: &Path, synchronous: &str) -> rusqlite::Result<Vec<Hash>> {
    let conn = Connection::open(path)?;
    conn.execute_batch(&format!("PRAGMA synchronous = {synchronous}"))?;
    let mut noted = Vec::new();
    for (hash, signed) in entries() {
        let head = sign::read(signed).unwrap().head();
        let row = (hash.0, head.author.0, head.seq, i64::try_from(head.tick).unwrap(), &*signed.body, signed.signature);
        let sql = "INSERT INTO entry (hash, author, seq, tick, body, sig) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
        match conn.execute(sql, row) {
            Ok(_) => noted.push(*hash),
            Err(_) => break,
        }
    }
    Ok(noted)
}

#[test]
fn this_test_can_fail() {
    let _turn = cut::turn();
    let (mut off, mut normal, mut lying) = (Outcome::default(), Outcome::default(), Outcome::default());
    for seed in 1..=60 {
        for (outcome, synchronous) in [(&mut off, "OFF"), (&mut normal, "NORMAL")] {
            let (_folder, path) = place();
            cut::fresh(Plan { seed, ..Plan::default() });
            drop(Log::create(&path, About::Site(every::site())).unwrap());
            cut::replan(Plan { seed, cut_at: cut::operations() + 10 + seed, ..Plan::default() });
            let noted = note_carelessly(&path, synchronous).unwrap_or_default();
            cut::power_back();
            outcome.count(&path, Some(noted));
        }
        let (_folder, path) = place();
        cut::fresh(Plan { seed, ..Plan::default() });
        drop(Log::create(&path, About::Site(every::site())).unwrap());
        cut::replan(Plan { seed, lying: true, cut_at: cut::operations() + 10 + seed, ..Plan::default() });
        let noted = note_all(&path);
        cut::power_back();
        lying.count(&path, noted);
    }
    assert!(off.lost > 0, "synchronous=OFF lost nothing: {off:?}");
    assert!(normal.lost > 0, "synchronous=NORMAL lost nothing: {normal:?}");
    assert!(lying.lost > 0, "a disk that does not sync lost nothing: {lying:?}");
}

#[test]
fn a_full_disk_is_one_sentence_and_loses_nothing() {
    let _turn = cut::turn();
    let (_folder, path) = place();
    cut::fresh(Plan { seed: 5, ..Plan::default() });
    let mut log = Log::create(&path, About::Site(every::site())).unwrap();
    let (before, after) = entries().split_at(9);
    for (_, signed) in before {
        log.append(signed).unwrap();
    }
    cut::replan(Plan { full: true, ..Plan::default() });
    for _ in 0..3 {
        let error = log.append(&after[0].1).unwrap_err();
        assert!(matches!(error, LogError::Full { .. }), "{error:?}");
        assert!(error.to_string().contains("site.boxproof"), "{error}");
        assert_eq!(log.entries().unwrap(), before, "reading goes on");
    }
    let (_other, elsewhere) = place();
    assert!(matches!(Log::create(&elsewhere, About::Site(every::site())), Err(LogError::Full { .. })));
    assert!(!elsewhere.exists(), "half a file was made");
    cut::replan(Plan::default());
    for (_, signed) in after {
        assert_eq!(log.append(signed).unwrap(), Kept::New);
    }
    drop(log);
    cut::power_back();
    assert_eq!(Log::open(&path).unwrap().entries().unwrap(), entries());
    drop(Log::create(&elsewhere, About::Site(every::site())).unwrap());
}

#[test]
fn a_file_that_may_not_be_written_opens_to_read() {
    let _turn = cut::turn();
    let (_folder, path) = place();
    cut::fresh(Plan { seed: 6, ..Plan::default() });
    let mut log = Log::create(&path, About::Site(every::site())).unwrap();
    let (before, after) = entries().split_at(9);
    for (_, signed) in before {
        log.append(signed).unwrap();
    }
    drop(log);
    let bytes = std::fs::read(&path).unwrap();
    cut::replan(Plan { read_only: true, ..Plan::default() });
    let mut log = Log::open(&path).unwrap();
    assert_eq!(log.read_only(), Some(ReadOnly::File));
    let error = log.append(&after[0].1).unwrap_err();
    assert!(matches!(error, LogError::ReadOnly { .. }), "{error:?}");
    assert_eq!(log.entries().unwrap(), before);
    drop(log);
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
    cut::replan(Plan::default());
}

#[test]
fn an_error_of_the_disk_ends_the_connection_and_the_next_call_opens_anew() {
    let _turn = cut::turn();
    let (_folder, path) = place();
    cut::fresh(Plan { seed: 7, ..Plan::default() });
    let mut log = Log::create(&path, About::Site(every::site())).unwrap();
    log.append(&entries()[0].1).unwrap();
    cut::replan(Plan { fail_sync: 1, ..Plan::default() });
    let error = log.append(&entries()[1].1).unwrap_err();
    assert!(matches!(error, LogError::Io { .. }), "{error:?}");
    // Still failing: the call says so itself, and nothing is taken for noted.
    assert!(matches!(log.append(&entries()[1].1), Err(LogError::Io { .. })));
    cut::replan(Plan::default());
    // The act may have reached the disk or not; noting it again is right in either case.
    log.append(&entries()[1].1).unwrap();
    log.append(&entries()[2].1).unwrap();
    assert_eq!(log.entries().unwrap(), entries()[..3]);
}
