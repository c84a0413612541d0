//! Log files as they are found on disks: sound, foreign, newer, halved, altered, read-only, in use.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use boxproof_core::job::{Hash, Signed, sign};
use boxproof_core::log::{About, Chain, Folder, Kept, Log, LogError, ReadOnly, Salvage};
use boxproof_tests::every::{self, Pen};
use rusqlite::Connection;

struct Made {
    _folder: tempfile::TempDir,
    path: PathBuf,
    entries: Vec<(Hash, Signed)>,
}

/// A closed file with every kind of fact and enough remarks to fill many pages, one of them over several pages.
fn made() -> Made {
    type Once = (Vec<u8>, Vec<(Hash, Signed)>);
    static ONCE: OnceLock<Once> = OnceLock::new();
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let path = folder.path().join("site.boxproof");
    let (bytes, entries) = ONCE.get_or_init(|| {
        let entries = fill(&path);
        (fs::read(&path).unwrap(), entries)
    });
    fs::write(&path, bytes).unwrap();
    Made { _folder: folder, path, entries: entries.clone() }
}

fn fill(path: &Path) -> Vec<(Hash, Signed)> {
    let mut log = Log::create(path, About::Site(every::site())).unwrap();
    for signed in every::log().unwrap() {
        assert_eq!(log.append(&signed).unwrap(), Kept::New);
    }
    let mut pen = Pen::new(3, every::site());
    for n in 0..120 {
        let long = if n == 60 { 40_000 } else { n };
        log.append(&pen.remark(&"x".repeat(long)).unwrap()).unwrap();
    }
    let entries = log.entries().unwrap();
    drop(log);
    assert!(!beside(path, "-wal").exists(), "a closed file stands alone");
    entries
}

fn beside(path: &Path, suffix: &str) -> PathBuf {
    PathBuf::from(format!("{}{suffix}", path.display()))
}

/// Spoils the bytes of a file.
fn spoil(path: &Path, change: impl FnOnce(&mut Vec<u8>)) {
    let mut bytes = fs::read(path).unwrap();
    change(&mut bytes);
    fs::write(path, bytes).unwrap();
}

fn names_file(error: &LogError, path: &Path) {
    let sentence = error.to_string();
    assert!(sentence.contains(&path.display().to_string()), "{sentence}");
    assert!(!sentence.contains("log.error") && !sentence.contains('{'), "{sentence}");
}

#[test]
fn what_was_appended_is_there_again() {
    let Made { path, entries, _folder } = made();
    let mut log = Log::open(&path).unwrap();
    assert_eq!(log.about(), About::Site(every::site()));
    assert_eq!(log.read_only(), None);
    assert_eq!(log.entries().unwrap(), entries);
    let notes = log.notes(0).unwrap();
    assert_eq!(notes.noted.len(), entries.len());
    assert_eq!(log.notes(notes.last - 2).unwrap().noted.len(), 2);
    let verified = log.verify().unwrap();
    // One sample is a record signed over an entry that is not here; all else is whole.
    assert_eq!(verified.signed_missing.iter().collect::<Vec<_>>(), [&Hash([7; 32])]);
    assert!(verified.wrong.is_empty() && verified.chains.values().all(Chain::is_whole), "{verified:?}");
    assert_eq!((verified.sound, verified.chains.len()), (entries.len(), 3));
    assert_eq!(verified.heads(), log.heads().unwrap());
}

#[test]
fn the_next_entry_follows_the_chain_and_no_other_is_appended() {
    let Made { path, _folder, .. } = made();
    let mut log = Log::open(&path).unwrap();
    let mut pen = Pen::new(4, every::site());
    let first = pen.remark("first").unwrap();
    let second = pen.remark("second").unwrap();
    assert!(matches!(log.append(&second), Err(LogError::Behind { .. })));
    let next = log.next(pen.author()).unwrap();
    assert_eq!((next.seq, next.prev), (1, Hash::NONE));
    assert_eq!(log.append(&first).unwrap(), Kept::New);
    assert_eq!(log.append(&first).unwrap(), Kept::Already);
    assert_eq!(log.append(&second).unwrap(), Kept::New);
    let next = log.next(pen.author()).unwrap();
    assert_eq!((next.seq, next.prev), (3, pen.last()));
    let error = log.append(&Pen::new(4, every::thing(99)).remark("x").unwrap()).unwrap_err();
    assert!(matches!(error, LogError::OtherSite { .. }));
    names_file(&error, &path);
    let mut altered = pen.remark("third").unwrap();
    altered.signature[5] ^= 1;
    assert!(matches!(log.append(&altered), Err(LogError::Refused { .. })));
}

#[test]
fn a_file_that_is_not_ours_is_left_as_it_is() {
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let foreign = folder.path().join("other.db");
    Connection::open(&foreign)
        .unwrap()
        .execute_batch("CREATE TABLE entry (x TEXT); INSERT INTO entry VALUES ('{')")
        .unwrap();
    let cases = [
        ("empty", Vec::new()),
        ("text", b"{\"sig\":\"not a database\"}\n".to_vec()),
        ("noise", (0..90_000_u32).map(|n| n.wrapping_mul(2_654_435_761).to_be_bytes()[1]).collect()),
        ("magic only", b"SQLite format 3\0".to_vec()),
        ("another program's database", fs::read(&foreign).unwrap()),
    ];
    for (name, bytes) in cases {
        let path = folder.path().join(name);
        fs::write(&path, &bytes).unwrap();
        let before = fs::metadata(&path).unwrap().modified().unwrap();
        for error in [Log::open(&path).err(), Log::open_to_read(&path).err()] {
            let error = error.unwrap_or_else(|| panic!("{name} was opened"));
            assert!(matches!(error, LogError::NotOurs { .. }), "{name}: {error:?}");
            names_file(&error, &path);
        }
        assert_eq!(fs::read(&path).unwrap(), bytes, "{name}");
        assert_eq!(fs::metadata(&path).unwrap().modified().unwrap(), before, "{name}");
        assert!(Log::create(&path, About::Site(every::site())).is_err(), "{name} was written over");
        assert!(Salvage::read(&path).unwrap().is_empty(), "{name}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 6, "a file beside them was made or left");
    let missing = folder.path().join("missing.boxproof");
    assert!(matches!(Log::open(&missing), Err(LogError::Missing { .. })));
    assert!(matches!(Log::open(folder.path()), Err(LogError::Io { .. })));
}

/// A way to damage a file, and the least share of entries, in hundredths, that must be read of it.
type Damage = (&'static str, fn(&mut Vec<u8>), usize);

const DAMAGES: [Damage; 8] = [
    ("half a file", |bytes| bytes.truncate(bytes.len() / 2), 30),
    ("half a file within a page", |bytes| bytes.truncate(bytes.len() / 2 + 777), 30),
    ("the last byte missing", |bytes| _ = bytes.pop(), 90),
    ("first sector gone", |bytes| bytes[..512].fill(0), 99),
    ("application id altered", |bytes| bytes[70] ^= 0x20, 100),
    ("page 1 gone", |bytes| bytes[..4096].fill(0xee), 99),
    (
        "every interior page gone",
        |bytes| {
            for page in bytes.chunks_mut(4096).skip(1).filter(|page| page[0] == 5 || page[0] == 2) {
                page.fill(0);
            }
        },
        100,
    ),
    (
        "one letter of one entry",
        |bytes| {
            let at = bytes.windows(9).position(|window| window == b"wrong box").unwrap();
            bytes[at + 7] = b'a';
        },
        90,
    ),
];

#[test]
fn a_damaged_file_is_moved_aside_whole_and_given_out_as_far_as_it_can_be_read() {
    for (name, damage, least) in DAMAGES {
        let Made { path, entries, _folder } = made();
        spoil(&path, damage);
        let bytes = fs::read(&path).unwrap();

        // A reader moves nothing.
        if let Ok(mut log) = Log::open_to_read(&path) {
            let error = log.notes(0).expect_err(name);
            assert!(matches!(error, LogError::Damaged { moved_to: None, .. }), "{name}: {error:?}");
        }
        assert_eq!(fs::read(&path).unwrap(), bytes, "{name}");

        let error = Log::open(&path).and_then(|mut log| log.notes(0).map(|_| ())).expect_err(name);
        names_file(&error, &path);
        let LogError::Damaged { moved_to: Some(aside), .. } = &error else { panic!("{name}: {error:?}") };
        names_file(&error, aside);
        assert!(!path.exists(), "{name}");
        assert_eq!(fs::read(aside).unwrap(), bytes, "{name}: the damaged file was changed");

        let salvage = Salvage::read(aside).unwrap();
        let read = salvage.len() * 100 / entries.len();
        assert!(read >= least, "{name}: {read} of 100 entries read");
        let known: Vec<_> = entries.iter().map(|(hash, _)| *hash).collect();
        assert!(salvage.entries().iter().all(|(hash, _)| known.contains(hash)), "{name}");
        assert_eq!(salvage.sites().into_iter().collect::<Vec<_>>(), [every::site()], "{name}");

        // The site begins anew with what could be read.
        let mut lines = Vec::new();
        assert_eq!(salvage.give_out(&mut lines).unwrap(), salvage.len());
        let mut log = Log::create(&path, About::Site(every::site())).unwrap();
        assert_eq!(log.take_in(&mut &lines[..]).unwrap().taken, salvage.len(), "{name}");
    }
}

#[test]
fn what_waits_in_the_write_ahead_file_of_a_damaged_file_is_read_too() {
    let Made { path, mut entries, _folder } = made();
    let mut log = Log::open(&path).unwrap();
    let mut pen = Pen::new(9, every::site());
    for long in [10, 9_000] {
        let signed = pen.remark(&"w".repeat(long)).unwrap();
        log.append(&signed).unwrap();
        entries.push((pen.last(), signed));
    }
    // The program ends without closing; then the disk loses page 1.
    let elsewhere = tempfile::tempdir_in(every::quick_place()).unwrap();
    let copy = elsewhere.path().join("site.boxproof");
    for suffix in ["", "-wal"] {
        fs::copy(beside(&path, suffix), beside(&copy, suffix)).unwrap();
    }
    spoil(&copy, |bytes| bytes[..4096].fill(0));
    spoil(&beside(&copy, "-wal"), |bytes| bytes[..32].fill(0));
    let Err(LogError::Damaged { moved_to: Some(aside), .. }) = Log::open(&copy) else { panic!("not moved aside") };
    let salvage = Salvage::read(&aside).unwrap();
    let found: Vec<_> = salvage.entries().iter().map(|(hash, _)| *hash).collect();
    for (hash, _) in entries.iter().rev().take(2) {
        assert!(found.contains(hash), "an entry of the write-ahead file was not found");
    }
    assert!(!beside(&copy, "-wal").exists(), "the write-ahead file stayed behind for the next file");
}

#[test]
fn every_altered_byte_of_an_entry_is_noticed() {
    let Made { path, entries, _folder } = made();
    let sound = fs::read(&path).unwrap();
    let (_, Signed { body, signature }) = &entries[0];
    // The signature stands behind the body. A page that was split may hold an old copy beside the one in use.
    let text = [body.as_bytes(), signature].concat();
    let places: Vec<usize> = (0..sound.len() - text.len()).filter(|at| sound[*at..].starts_with(&text)).collect();
    assert!(!places.is_empty());
    for n in (0..text.len()).step_by(7) {
        let mut bytes = sound.clone();
        for at in &places {
            bytes[at + n] ^= 1;
        }
        fs::write(&path, &bytes).unwrap();
        let opened = Log::open_to_read(&path).and_then(|mut log| log.notes(0));
        assert!(matches!(opened, Err(LogError::Damaged { .. })), "byte {n} was altered and nobody noticed");
    }
}

#[test]
fn a_newer_file_opens_to_read_where_it_is() {
    let Made { path, entries, _folder } = made();
    let newer = Connection::open(&path).unwrap();
    newer.execute_batch("ALTER TABLE entry ADD COLUMN more TEXT; PRAGMA user_version = 2;").unwrap();
    drop(newer);
    let bytes = fs::read(&path).unwrap();
    let mut log = Log::open(&path).unwrap();
    assert_eq!(log.read_only(), Some(ReadOnly::Newer));
    assert_eq!(log.notes(0).unwrap().noted.len(), entries.len());
    assert_eq!(log.give_out(&mut std::io::sink()).unwrap(), entries.len());
    let error = log.append(&Pen::new(8, every::site()).remark("x").unwrap()).unwrap_err();
    assert!(matches!(error, LogError::Newer { .. }));
    names_file(&error, &path);
    drop(log);
    assert_eq!(fs::read(&path).unwrap(), bytes);

    // A newer file whose tables this program cannot make out is newer still, not damaged.
    let newer = Connection::open(&path).unwrap();
    newer.execute_batch("ALTER TABLE entry RENAME TO act; PRAGMA user_version = 3;").unwrap();
    drop(newer);
    let mut log = Log::open(&path).unwrap();
    assert!(matches!(log.notes(0), Err(LogError::Newer { .. })));
    assert!(path.exists());
}

#[test]
fn one_notes_while_another_reads() {
    let Made { path, entries, _folder } = made();
    let mut page = Log::open(&path).unwrap();
    let mut desk = Log::open_to_read(&path).unwrap();
    let mut pen = Pen::new(8, every::site());
    for n in 1..=3 {
        page.append(&pen.remark("noted while read").unwrap()).unwrap();
        assert_eq!(desk.notes(0).unwrap().noted.len(), entries.len() + n);
    }
    let error = desk.append(&pen.remark("from the desk").unwrap()).unwrap_err();
    assert!(matches!(error, LogError::ReadOnly { .. }));
    names_file(&error, &path);
}

#[test]
fn who_cannot_write_because_another_does_is_told_so() {
    let Made { path, _folder, .. } = made();
    let mut log = Log::open(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let mut pen = Pen::new(8, every::site());
    let signed = pen.remark("x").unwrap();
    let error = log.append(&signed).unwrap_err();
    assert!(matches!(error, LogError::Busy { .. }), "{error:?}");
    names_file(&error, &path);
    other.execute_batch("ROLLBACK").unwrap();
    assert_eq!(log.append(&signed).unwrap(), Kept::New);
}

#[test]
fn two_programs_with_one_key_do_not_fork_the_chain() {
    let Made { path, _folder, .. } = made();
    let (mut one, mut two) = (Log::open(&path).unwrap(), Log::open(&path).unwrap());
    let (mut here, mut there) = (Pen::new(8, every::site()), Pen::new(8, every::site()));
    one.append(&here.remark("here").unwrap()).unwrap();
    assert!(matches!(two.append(&there.remark("there").unwrap()), Err(LogError::Behind { .. })));
    let chain = &one.verify().unwrap().chains[&here.author()];
    assert!(chain.is_whole() && chain.last == 1, "{chain:?}");
}

#[test]
fn a_notebook_is_a_folder() {
    let place = tempfile::tempdir_in(every::quick_place()).unwrap();
    let folder = Folder::open(&place.path().join("notebook")).unwrap();
    assert_eq!(folder.sites().unwrap(), []);
    drop(folder.new_site(every::site()).unwrap());
    drop(folder.kit(every::thing(7)).unwrap());
    let kit = folder.kit(every::thing(8)).unwrap();
    assert_eq!(kit.about(), About::Kit(every::thing(7)), "the kit was begun twice");
    assert!(matches!(folder.new_site(every::site()), Err(LogError::Exists { .. })));
    let [file] = &folder.sites().unwrap()[..] else { panic!("one site") };
    assert_eq!(file.site, Some(every::site()));
    spoil(&file.path, |bytes| bytes[200..4096].fill(0x55));
    let error = folder.site(every::site()).and_then(|mut log| log.notes(0)).unwrap_err();
    let LogError::Damaged { moved_to: Some(aside), .. } = error else { panic!("{error:?}") };
    assert_eq!(folder.damaged().unwrap(), [aside]);
    assert_eq!(folder.sites().unwrap(), []);
    assert_eq!(Folder::open(folder.path()).unwrap(), folder);
}

#[test]
fn a_create_that_was_cut_short_is_done_again() {
    let place = tempfile::tempdir_in(every::quick_place()).unwrap();
    let path = place.path().join("site.boxproof");
    fs::write(beside(&path, ".new"), b"half").unwrap();
    fs::write(beside(&path, "-wal"), b"of a file that was lost").unwrap();
    let mut log = Log::create(&path, About::Site(every::site())).unwrap();
    assert_eq!(log.entries().unwrap(), []);
    assert!(!beside(&path, ".new").exists());
    assert_eq!(fs::read(beside(&path, ".damaged-1-wal")).unwrap(), b"of a file that was lost");
}

#[test]
fn reading_checks_signatures_again_where_asked() {
    // Someone with the right tools alters an entry and its hash: opening cannot see it, verifying does.
    let Made { path, entries, _folder } = made();
    let (_, signed) = &entries[0];
    let read = sign::read(signed).unwrap();
    let forged = Signed { signature: [1; 64], ..signed.clone() };
    let hash = sign::identity(&read.head(), &forged);
    let tool = Connection::open(&path).unwrap();
    tool.execute_batch("DROP TRIGGER entry_no_update").unwrap();
    tool.execute("UPDATE entry SET hash = ?1, sig = ?2 WHERE n = 1", (hash.0, forged.signature)).unwrap();
    drop(tool);
    let mut log = Log::open(&path).unwrap();
    assert_eq!(log.notes(0).unwrap().noted.len(), entries.len());
    let verified = log.verify().unwrap();
    assert_eq!(verified.wrong, [1]);
    assert!(!verified.is_whole());
}
