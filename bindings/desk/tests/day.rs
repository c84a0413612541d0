//! The demo's day from the command line: what a person or a program reads off.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

mod support;

use std::fs;

use serde_json::Value;
use support::{book, run, run_on};

#[test]
fn the_plan_keeps_what_was_promised_and_says_first_what_it_does_not_cover() {
    let book = book("morning");
    let table = run_on(&["table"], &book.file, &[]);
    assert_eq!((table.code, table.err.as_str()), (0, ""));
    let at = |words: &str| table.out.find(words).unwrap_or_else(|| panic!("no {words:?} in {}", table.out));
    assert!(at("as planned") < at("Not covered"));
    assert!(at("Not covered") < at("Hazards") && at("Hazards") < at("Position by position"));
    // Four positions of two three-way switches, two of them on: what a three-way pair does.
    assert!(table.out.contains("on in 2 of 4 positions"), "{}", table.out);
    // Nobody knows where run B of B2 goes, nor what is in B8.
    assert!(table.out.contains("B8 A black") && table.out.contains("far end of B2 B black"), "{}", table.out);
}

#[test]
fn a_trial_that_disagrees_stands_in_every_report_and_in_the_status() {
    let book = book("disagreement");
    for command in ["table", "readings", "findings"] {
        let ran = run_on(&[command], &book.file, &[]);
        assert_eq!(ran.code, 1, "{command}");
        let line = ran.out.lines().find(|line| line.contains("16:10")).unwrap_or_else(|| panic!("{}", ran.out));
        assert!(line.contains("B7 light") && line.contains("off"), "{line}");
    }
    let json: Value = serde_json::from_str(&run_on(&["readings"], &book.file, &["--json"]).out).unwrap();
    let taken = json["taken"].as_array().unwrap();
    let disagree: Vec<_> = taken.iter().filter(|line| line["agrees"] == Value::Bool(false)).collect();
    assert_eq!(disagree.len(), 1);
    // What the script typed at 16:04 stands beside what was worked out for it.
    let read = taken.iter().find(|line| line["read"] == "119.6 V").unwrap();
    assert_eq!((&read["time"], &read["agrees"]), (&Value::from("16:04"), &Value::Bool(true)));
    assert!(read["worked_out"].as_str().unwrap().contains(" to "), "{read}");
}

#[test]
fn what_a_program_reads_is_json_and_what_a_person_reads_is_the_same_twice() {
    let (one, other) = (book("morning"), book("morning"));
    for command in ["table", "readings", "findings", "show"] {
        let texts = [&one, &other].map(|book| run_on(&[command], &book.file, &[]).out);
        assert_eq!(texts[0], texts[1], "{command}");
        assert!(!texts[0].contains('\u{1b}'), "{command} prints colours");
        assert!(texts[0].lines().all(|line| line.trim_end() == line), "{command} ends lines in blanks");
    }
    for command in ["table", "readings", "findings", "verify"] {
        let text = run_on(&[command], &one.file, &["--json"]).out;
        serde_json::from_str::<Value>(&text).unwrap_or_else(|why| panic!("{command}: {why}: {text}"));
    }
}

#[test]
fn entries_go_to_another_notebook_in_any_order_twice_and_partly() {
    let from = book("morning");
    let lines = run_on(&["entries"], &from.file, &[]).out;
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: String| {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path
    };
    let all: Vec<&str> = lines.lines().collect();
    let backwards = file("b.jsonl", all.iter().rev().take(40).copied().collect::<Vec<_>>().join("\n"));
    let whole = file("w.jsonl", lines.clone());
    let office = folder.path().join("office");
    let take = |paths: &[&std::path::Path]| {
        let paths: Vec<&str> = paths.iter().map(|path| path.to_str().unwrap()).collect();
        run_on(&["entries"], &office, &[&["--take"], &paths[..]].concat())
    };
    let taken = take(&[&backwards, &whole]);
    assert_eq!((taken.code, taken.err.as_str()), (0, ""));
    assert!(
        taken.out.contains("40 entries are new here") && taken.out.contains("40 were known already"),
        "{}",
        taken.out
    );
    assert!(take(&[&whole]).out.contains("0 entries are new here"));
    // A site's own file can be handed over as it is.
    assert!(take(&[&from.file]).out.contains("0 entries are new here"));
    assert_eq!(run_on(&["entries"], &office, &[]).out, lines);
    for path in [office.as_path(), &whole] {
        let verified = run_on(&["verify"], path, &[]);
        assert_eq!(verified.code, 0, "{}", verified.out);
        assert!(verified.out.contains("W. Tolliver") && verified.out.contains("J. Ferrow"), "{}", verified.out);
    }
    // Without its first entries a chain has a gap, and says so.
    let partly = run_on(&["verify"], &backwards, &[]);
    assert_eq!(partly.code, 1);
    assert!(partly.out.contains("missing: number"), "{}", partly.out);
}

#[test]
fn events_are_noted_one_by_one_and_those_before_a_refusal_stay() {
    let folder = tempfile::tempdir().unwrap();
    let lane = folder.path().join("lane");
    let begun = run_on(&["note"], &lane, &[r#"site name="Tern Row""#, r#"person name="O. Reed""#]);
    assert_eq!(begun.code, 0, "{}", begun.err);
    let stopped = run_on(&["note"], &lane, &["box tag=B1", "cover B7 off", "box tag=B2"]);
    assert_eq!((stopped.code, stopped.out.as_str()), (2, ""));
    assert!(stopped.err.contains("B7") && stopped.err.contains("1 event before it is noted"), "{}", stopped.err);
    let lines = run_on(&["entries"], &lane, &[]).out;
    assert_eq!(lines.lines().count(), 3);
    let table = run_on(&["table"], &lane, &[]);
    assert_eq!(table.code, 0, "{}", table.err);
}

#[test]
fn the_demo_does_not_touch_a_folder_with_something_in_it() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("letter.txt"), "mine").unwrap();
    let ran = run_on(&["demo"], folder.path(), &[]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    let file = run_on(&["demo"], &folder.path().join("letter.txt"), &[]);
    assert_eq!(file.code, 2);
    assert_eq!(fs::read(folder.path().join("letter.txt")).unwrap(), b"mine");
}

#[test]
fn help_teaches_every_command_with_an_example() {
    let help = run(&["--help"]);
    assert_eq!((help.code, help.err.as_str()), (0, ""));
    for command in ["demo", "table", "readings", "findings", "record", "entries", "verify", "note", "show", "page"] {
        assert!(help.out.contains(&format!("  {command} ")), "{command} is not in the help");
        let own = run(&[command, "--help"]);
        assert_eq!(own.code, 0, "{command}");
        assert!(own.out.contains(&format!("boxproof {command} ")), "{command} has no example: {}", own.out);
        assert!(!own.out.contains("desk."), "{command} shows a key: {}", own.out);
    }
}

#[test]
fn the_record_lies_where_it_says_and_is_the_same_twice() {
    let book = book("disagreement");
    let ran = run_on(&["record"], book.folder.path(), &[]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let path = std::path::Path::new(ran.out.trim_end());
    assert!(path.starts_with(book.folder.path().join("out")), "{}", ran.out);
    let html = fs::read_to_string(path).unwrap();
    assert!(html.starts_with("<!DOCTYPE html>") && html.trim_end().ends_with("</html>"));
    assert!(html.contains("Lantern Lane") && html.contains("119.6"), "{}", html.len());
    let other = book.folder.path().join("other.html");
    let again = run_on(&["record"], &book.file, &["--out", other.to_str().unwrap(), "--day", "2026-05-12"]);
    assert_eq!(again.code, 0, "{}", again.err);
    assert_eq!(fs::read_to_string(&other).unwrap(), html);
    let full = run_on(&["record"], &book.file, &["--out", "/dev/full"]);
    assert_eq!((full.code, full.out.as_str()), (2, ""));
    let never = run_on(&["record"], &book.file, &["--day", "2026-05-13"]);
    assert!(never.code == 2 && never.err.contains("2026-05-12"), "{}", never.err);
}

#[test]
fn labels_are_of_boxes_that_somebody_looked_into_unless_all_are_asked_for() {
    let book = book("morning");
    let folder = tempfile::tempdir().unwrap();
    let cards = |more: &[&str]| {
        let out = folder.path().join("cards.html");
        let mut after = vec!["--what", "cards", "--out", out.to_str().unwrap()];
        after.extend(more);
        let ran = run_on(&["labels"], &book.file, &after);
        assert_eq!(ran.code, 0, "{}", ran.err);
        // A card of each box is a sheet each; how many there are is told beside the files.
        ran.err.split(' ').next().unwrap().parse::<usize>().unwrap()
    };
    // Of eight boxes nobody has opened B8: it is known by the run that leads to it.
    assert_eq!(cards(&[]), 7);
    assert_eq!(cards(&["--all"]), 8);
    assert_eq!(cards(&["--box", "B8"]), 1, "who asks for it gets it");
    let both = run_on(&["labels"], &book.file, &["--all", "--box", "B8", "--out", "x.html"]);
    assert_eq!(both.code, 2, "one or the other: {}", both.out);
}
