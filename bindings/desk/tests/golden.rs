//! Screens of the demo job as text, beside the texts that were read and agreed. Who changes a screen on purpose writes
//! them anew, as `shared/golden/screens.txt` says, and looks at what changed.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

mod support;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use support::{book, run_on};

/// A kept screen: the moment of the demo's day, its name, its address.
struct Kept {
    moment: &'static str,
    name: String,
    address: String,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/golden")
}

fn kept() -> Vec<Kept> {
    let list = fs::read_to_string(folder().join("screens.txt")).unwrap();
    let lines = list.lines().filter(|line| !line.is_empty() && !line.starts_with('#'));
    lines
        .map(|line| {
            let mut parts = line.splitn(3, ' ');
            let moment = parts.next().unwrap();
            let moments = ["morning", "disagreement", "evening"];
            let moment = moments.into_iter().find(|known| *known == moment).unwrap_or_else(|| panic!("{line}"));
            Kept { moment, name: parts.next().unwrap().to_owned(), address: parts.next().unwrap().to_owned() }
        })
        .collect()
}

/// The first lines that differ, each with its number.
fn difference(before: &str, now: &str) -> String {
    let (before, now): (Vec<&str>, Vec<&str>) = (before.lines().collect(), now.lines().collect());
    let first = (0..before.len().max(now.len())).find(|n| before.get(*n) != now.get(*n)).unwrap_or_default();
    let line = |lines: &[&str]| lines.get(first).map_or("nothing", |line| line).to_owned();
    format!("line {}: {:?} was {:?}", first + 1, line(&now), line(&before))
}

#[test]
fn screens_are_as_they_were_agreed() {
    let write = std::env::var_os("BOXPROOF_GOLDEN").is_some();
    let mut changed = Vec::new();
    for screen in kept() {
        let book = book(screen.moment);
        let ran = run_on(&["show"], &book.file, &[screen.address.as_str()]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{} {}", screen.moment, screen.address);
        let file = folder().join(format!("{}-{}.txt", screen.moment, screen.name));
        if write {
            fs::write(&file, &ran.out).unwrap();
            continue;
        }
        let before = fs::read_to_string(&file).unwrap_or_default();
        if before != ran.out {
            changed.push(format!("{}: {}", file.file_name().unwrap().display(), difference(&before, &ran.out)));
        }
    }
    assert!(changed.is_empty(), "{changed:#?}");
}

#[test]
fn every_text_that_is_kept_is_compared() {
    let listed: BTreeSet<String> =
        kept().iter().map(|screen| format!("{}-{}.txt", screen.moment, screen.name)).collect();
    let there = fs::read_dir(folder()).unwrap().map(|file| file.unwrap().file_name().into_string().unwrap());
    let there: BTreeSet<String> = there.filter(|name| name != "screens.txt").collect();
    assert_eq!(there, listed);
}
