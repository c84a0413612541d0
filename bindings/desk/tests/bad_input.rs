//! What the program does with what it cannot use: one sentence that names it, status 2, and everything left as it was.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

mod support;

use std::fs::{self, File};
use std::io::Read as _;
use std::path::Path;
use std::process::{Command, Stdio};

use support::{PROGRAM, Ran, book, run, run_on};

/// Commands that look at a site, with what follows the site's name.
const LOOKING: [(&str, &[&str]); 6] =
    [("table", &[]), ("readings", &[]), ("findings", &[]), ("show", &[]), ("entries", &[]), ("verify", &[])];

/// One or more plain sentences, no trace of the program's inside.
fn is_a_sentence(ran: &Ran, of: &str) {
    assert!(ran.err.trim_end().ends_with(['.', '`']), "{of}: {}", ran.err);
    for inside in ["panicked", "Err(", "Error {", "RUST_BACKTRACE", "desk.", "refuse."] {
        assert!(!ran.err.contains(inside), "{of}: {}", ran.err);
    }
}

/// Every looking command, and noting, refuses `path` with a sentence that names it.
fn all_refuse(path: &Path, of: &str) {
    for (command, after) in LOOKING.into_iter().chain([("note", &["cover B3 off"][..])]) {
        let ran = run_on(&[command], path, after);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{command} of {of}: {}", ran.err);
        assert!(ran.err.contains(&path.display().to_string()), "{command} of {of}: {}", ran.err);
        is_a_sentence(&ran, &format!("{command} of {of}"));
    }
}

#[test]
fn what_is_no_site_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let cases: [(&str, Option<&[u8]>); 6] = [
        ("a missing file", None),
        ("an empty file", Some(b"")),
        ("a text", Some(b"B3, foot of stair\n")),
        ("random bytes", Some(&[0x9c, 0, 0xff, 0x13, 0x0a, 0x80, 0xfe, 7])),
        ("the head of another database", Some(b"SQLite format 3\0\x10\0\x01\x01\0 ")),
        ("a line that begins like ours", Some(b"[{\"sig\":\"00\",\"entry\":{}}]\n")),
    ];
    for (n, (of, bytes)) in cases.into_iter().enumerate() {
        let path = folder.path().join(format!("case {n}.boxproof"));
        if let Some(bytes) = bytes {
            fs::write(&path, bytes).unwrap();
        }
        all_refuse(&path, of);
        assert_eq!(fs::read(&path).ok().as_deref(), bytes, "{of} was changed");
    }
}

#[test]
fn a_folder_without_one_site_is_refused_and_nothing_is_made_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let things = folder.path().join("things");
    fs::create_dir(&things).unwrap();
    fs::write(things.join("letter.txt"), "not ours").unwrap();
    all_refuse(&things, "a folder with other things");
    assert_eq!(fs::read_dir(&things).unwrap().count(), 1);

    let two = book("morning");
    fs::copy(&two.file, two.file.with_file_name("018eec5b-7300-7d26-a215-000000000000.boxproof")).unwrap();
    for (command, after) in LOOKING {
        let ran = run_on(&[command], two.folder.path(), after);
        assert_eq!(ran.code, 2, "{command}");
        assert!(ran.err.contains("4e6d76b2b2b9") && ran.err.contains("000000000000"), "{}", ran.err);
    }
}

#[test]
fn half_a_file_is_named_and_what_can_be_read_of_it_is_given_out() {
    let book = book("morning");
    let whole = fs::read(&book.file).unwrap();
    let half = &whole[..whole.len() / 2];
    fs::write(&book.file, half).unwrap();
    for (command, after) in &LOOKING[..4] {
        let ran = run_on(&[command], &book.file, after);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{command}: {}", ran.err);
        assert!(ran.err.contains("boxproof entries"), "{command}: {}", ran.err);
        is_a_sentence(&ran, command);
    }
    let given = run_on(&["entries"], &book.file, &[]);
    let lines = given.out.lines().count();
    assert!(lines > 10, "{lines} lines of half a day: {}", given.err);
    assert_eq!(given.code, 1);
    assert!(given.err.contains(&lines.to_string()), "{}", given.err);
    let verified = run_on(&["verify"], &book.file, &[]);
    assert_eq!(verified.code, 1);
    assert!(verified.out.contains(&lines.to_string()), "{}", verified.out);
    assert_eq!(fs::read(&book.file).unwrap(), half, "looking changed the file");
}

#[test]
fn an_altered_entry_is_found_and_nothing_is_worked_out_from_it() {
    let book = book("morning");
    let mut bytes = fs::read(&book.file).unwrap();
    // SQLite leaves old copies of a row in the file: all of them, so that the one that counts is among them.
    let name = b"Lantern Lane";
    let places: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at..].starts_with(name)).collect();
    assert!(!places.is_empty());
    for at in places {
        bytes[at] = b'l';
    }
    fs::write(&book.file, &bytes).unwrap();
    let verified = run_on(&["verify"], &book.file, &[]);
    assert_eq!(verified.code, 1);
    assert!(verified.out.contains("Entry 1 was changed"), "{}", verified.out);
    for (command, after) in &LOOKING[..4] {
        let ran = run_on(&[command], &book.file, after);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{command}");
        is_a_sentence(&ran, command);
    }
    assert_eq!(fs::read(&book.file).unwrap(), bytes, "looking changed the file");
}

#[test]
fn an_altered_line_is_found_and_the_others_are_taken_in() {
    let from = book("morning");
    let mut lines = run_on(&["entries"], &from.file, &[]).out;
    let all = lines.lines().count();
    // The second line loses a letter of its body, and the last one its end.
    let at = lines.find('\n').unwrap() + 200;
    lines.remove(at);
    lines.truncate(lines.len() - 20);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sent.jsonl");
    fs::write(&path, &lines).unwrap();
    let verified = run_on(&["verify"], &path, &[]);
    assert_eq!(verified.code, 1, "{}", verified.out);
    let to = folder.path().join("office");
    let taken = run_on(&["entries"], &to, &["--take", path.to_str().unwrap()]);
    assert_eq!(taken.code, 1, "{} {}", taken.out, taken.err);
    assert!(taken.out.contains(&format!("{} entries are new", all - 2)), "{}", taken.out);
    assert!(taken.out.contains("line 2:") && taken.out.contains(&format!("line {all}:")), "{}", taken.out);
}

#[test]
fn a_newer_file_is_read_in_place_and_never_written() {
    let book = book("morning");
    // The SQLite file format keeps the schema's number at byte 60, big-endian (sqlite.org/fileformat2.html, 1.3).
    let mut bytes = fs::read(&book.file).unwrap();
    bytes[60..64].copy_from_slice(&99_u32.to_be_bytes());
    fs::write(&book.file, &bytes).unwrap();
    assert_eq!(run_on(&["table"], &book.file, &[]).code, 0);
    let noted = run_on(&["note"], &book.file, &[r#"person name="A. Reader""#]);
    assert_eq!(noted.code, 2);
    assert!(noted.err.contains("newer"), "{}", noted.err);
    is_a_sentence(&noted, "note");
    assert_eq!(fs::read(&book.file).unwrap(), bytes, "a newer file was written");
}

#[cfg(unix)]
#[test]
fn a_file_that_may_only_be_read_is_read_and_not_written() {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
    use std::os::unix::process::CommandExt as _;
    let book = book("morning");
    let root = book.folder.path();
    let program = root.join("boxproof");
    // Copied by another process: a child that another test starts meanwhile must not inherit it open for writing.
    assert!(Command::new("cp").arg(PROGRAM).arg(&program).status().unwrap().success());
    // A key is there already, so that what is refused is the note and not the making of a key.
    fs::write(root.join("desk.key"), [7; 32]).unwrap();
    let allow = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    allow(&book.file, 0o444);
    allow(&program, 0o755);
    allow(book.file.parent().unwrap(), 0o555);
    let nobody = 65_534;
    let is_root = fs::metadata(root).unwrap().uid() == 0;
    let run_as = |words: &[&str]| -> Ran {
        let mut command = Command::new(&program);
        command.args(&words[..1]).arg(&book.file).args(&words[1..]).stdin(Stdio::null());
        if is_root {
            // Root may write everything; the program has to meet the file as somebody who may not.
            command.uid(nobody).gid(nobody);
        }
        command.output().unwrap().into()
    };
    if is_root {
        std::os::unix::fs::chown(root.join("desk.key"), Some(nobody), Some(nobody)).unwrap();
    }
    allow(root, 0o555);
    let table = run_as(&["table"]);
    assert_eq!(table.code, 0, "{}", table.err);
    assert!(table.out.contains("B7 light"), "{}", table.out);
    let before = fs::read(&book.file).unwrap();
    let noted = run_as(&["note", r#"person name="A. Reader""#]);
    assert_eq!(noted.code, 2, "{}", noted.out);
    assert!(noted.err.contains(book.file.to_str().unwrap()), "{}", noted.err);
    is_a_sentence(&noted, "note");
    assert_eq!(fs::read(&book.file).unwrap(), before);
    allow(root, 0o755);
    allow(book.file.parent().unwrap(), 0o755);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_gets_a_sentence_and_leaves_no_half_file() {
    let book = book("morning");
    let given = run_on(&["entries"], &book.file, &["--out", "/dev/full"]);
    assert_eq!((given.code, given.out.as_str()), (2, ""), "{}", given.err);
    assert!(given.err.contains("/dev/full"), "{}", given.err);
    is_a_sentence(&given, "entries");
    for (command, _) in LOOKING {
        let full = File::options().write(true).open("/dev/full").unwrap();
        let output = Command::new(PROGRAM).arg(command).arg(&book.file).stdout(full).output().unwrap();
        let ran = Ran::from(output);
        assert_eq!(ran.code, 2, "{command}: {}", ran.err);
        is_a_sentence(&ran, command);
    }
    let nowhere = run_on(&["entries"], &book.file, &["--out", "/no such folder/day.jsonl"]);
    assert_eq!(nowhere.code, 2);
    assert!(nowhere.err.contains("/no such folder/day.jsonl"), "{}", nowhere.err);
}

#[test]
fn a_reader_that_has_seen_enough_ends_it_quietly() {
    let book = book("morning");
    for (command, _) in LOOKING {
        let mut child = Command::new(PROGRAM)
            .arg(command)
            .arg(&book.file)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        let code = child.wait().unwrap().code();
        assert_eq!(err, "", "{command}");
        assert!(matches!(code, Some(0 | 1)), "{command}: {code:?}");
    }
}

#[test]
fn wrong_arguments_are_told_and_nothing_is_printed() {
    let cases: [&[&str]; 12] = [
        &[],
        &["frobnicate"],
        &["table"],
        &["table", "a", "b"],
        &["table", "a", "--layer", "yesterday"],
        &["demo"],
        &["demo", "a", "--until", "noon"],
        &["page", "a", "--port", "99999"],
        &["findings", "a", "--edition", "last"],
        &["entries", "a", "--take"],
        &["entries", "a", "--out", "b", "--take", "c"],
        &["note", "a"],
    ];
    for arguments in cases {
        let ran = run(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(!ran.err.is_empty() && !ran.err.contains("panicked"), "{arguments:?}: {}", ran.err);
    }
    let book = book("morning");
    for (arguments, says) in [
        (&["findings", "", "--edition", "1999"][..], "1999"),
        (&["table", "", "--job", "Another job"], "Another job"),
        (&["show", "", "no-such-page"], "no-such-page"),
        (&["show", "", "\"open"], "quotation mark"),
    ] {
        let ran = run_on(&arguments[..1], &book.file, &arguments[2..]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(ran.err.contains(says), "{arguments:?}: {}", ran.err);
        is_a_sentence(&ran, says);
    }
}

#[test]
fn an_event_that_is_refused_notes_nothing() {
    let book = book("morning");
    let before = run_on(&["entries"], &book.file, &[]).out;
    for event in
        ["", "   ", "\"", "frobnicate B3", "cover B99 off", "cover", "read B3", "box tag=B3", "go", "=", "\u{0}\u{1}"]
    {
        // A zero byte cannot be an argument at all.
        let event = event.trim_start_matches('\u{0}');
        let ran = run_on(&["note"], &book.file, &[event]);
        assert!(ran.code == 2 || event == "go", "{event:?}: {} {}", ran.code, ran.out);
        if ran.code == 2 {
            assert_eq!(ran.out, "", "{event:?}");
            is_a_sentence(&ran, event);
        }
    }
    assert_eq!(run_on(&["entries"], &book.file, &[]).out, before);
}
