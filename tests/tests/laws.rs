//! The laws of the house that can be read off the sources: who may import whom, which rooms are pure, where words
//! and numbers live, and what shells do not know.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms of the core from the ground up. A room may use rooms of a lower step, and itself.
const STEPS: &[(&str, u8)] = &[
    ("words", 0),
    ("job", 1),
    ("catalogue", 2),
    ("log", 2),
    ("name", 3),
    ("refusal", 3),
    ("circuit", 4),
    ("rules", 4),
    ("token", 4),
    ("plan", 5),
    ("tell", 5),
    ("check", 6),
    ("predict", 6),
    ("picture", 6),
    ("record", 7),
    ("screen", 8),
    ("app", 9),
];

/// Rooms without file, clock, randomness or SQLite.
const PURE: &[&str] = &[
    "words",
    "job",
    "catalogue",
    "name",
    "circuit",
    "rules",
    "token",
    "check",
    "tell",
    "predict",
    "picture",
    "plan",
    "record",
    "screen",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn files(under: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for item in fs::read_dir(under).unwrap_or_else(|error| panic!("{}: {error}", under.display())) {
        let path = item.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path, ending));
        } else if path.extension().is_some_and(|end| end == ending) {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Source text of each room of the core, without comments.
fn rooms() -> Vec<(String, PathBuf, String)> {
    let src = root().join("core/src");
    let all = files(&src, "rs").into_iter().filter_map(|path| {
        let inside = path.strip_prefix(&src).ok()?;
        let first = inside.components().next()?.as_os_str().to_str()?;
        let room = first.trim_end_matches(".rs").to_owned();
        let text = fs::read_to_string(&path).unwrap();
        let code = text.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
        (room != "lib").then_some((room, path, code))
    });
    all.collect()
}

#[test]
fn imports_point_downwards() {
    let steps: BTreeMap<_, _> = STEPS.iter().copied().collect();
    let mut wrong = Vec::new();
    for (room, path, code) in rooms() {
        let Some(here) = steps.get(room.as_str()) else { panic!("{} is in no room of the plan", path.display()) };
        for used in code.split("crate::").skip(1) {
            let name: String = used.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect();
            if let Some(there) = steps.get(name.as_str())
                && name != room
                && there >= here
            {
                wrong.push(format!("{} uses {name}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn pure_rooms_have_no_file_clock_randomness_or_database() {
    let banned =
        ["std::fs", "std::env", "std::net", "std::process", "rusqlite", "SystemTime::now", "Instant::now", "Utc::now"];
    for (room, path, code) in rooms().into_iter().filter(|(room, ..)| PURE.contains(&room.as_str())) {
        // Tests of a room may read files.
        let code = code.split("#[cfg(test)]").next().unwrap_or_default();
        for word in banned {
            assert!(!code.contains(word), "{} in the pure room {room}: {}", word, path.display());
        }
    }
}

/// Keys that a source text asks the words for.
fn keys_in(code: &str) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for piece in code.split('"').skip(1).step_by(2) {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '.';
        let is_file =
            [".css", ".html", ".js", ".json", ".key", ".txt", ".rs"].iter().any(|ending| piece.ends_with(ending));
        if !is_file && piece.contains('.') && piece.chars().all(plain) && !piece.ends_with('.') {
            keys.insert(piece.to_owned());
        }
    }
    keys
}

#[test]
fn every_word_that_is_asked_for_is_there() {
    let words = boxproof_core::words::english();
    let first: BTreeSet<_> = words.keys().filter_map(|key| key.split('.').next()).collect();
    let mut sources = rooms().into_iter().map(|(_, path, code)| (path, code)).collect::<Vec<_>>();
    for path in files(&root().join("bindings/desk/src"), "rs") {
        let code = fs::read_to_string(&path).unwrap();
        sources.push((path, code));
    }
    let mut missing = Vec::new();
    for (path, code) in sources {
        let code = code.split("#[cfg(test)]").next().unwrap_or_default();
        for key in keys_in(code) {
            let family = key.split('.').next().unwrap_or_default();
            // Screens write their keys without the family that all of them share.
            let known = |key: &str| words.find(key).is_some() || words.find(&format!("screen.{key}")).is_some();
            if first.contains(family)
                && !known(&key)
                && words.find(&format!("{key}.many")).is_none()
                && !words.keys().any(|known| known.starts_with(&format!("{key}.")))
            {
                missing.push(format!("{key} in {}", path.display()));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
}

#[test]
fn a_count_has_both_forms() {
    let words = boxproof_core::words::english();
    for key in words.keys() {
        if let Some(stem) = key.strip_suffix(".one") {
            assert!(words.find(&format!("{stem}.many")).is_some(), "{key} has no form for many");
        }
    }
}

#[test]
fn words_that_no_person_may_read_are_not_there() {
    // The trade's own word for dead is not ours to say of a computed table; nothing here says that anything is in order.
    let banned = ["safe", "safely", "ok", "good"];
    let text = fs::read_to_string(root().join("shared/words/en.txt")).unwrap();
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        let Some((_, words)) = line.split_once(" = ") else { continue };
        let lower = words.to_lowercase();
        for word in lower.split(|c: char| !c.is_alphanumeric()) {
            assert!(!banned.contains(&word), "{line}");
        }
    }
}

#[test]
fn shells_know_nothing_of_electricity() {
    let trade = ["volt", "neutral", "breaker", "splice", "conductor", "314.16", "ampere"];
    let page = root().join("bindings/desk/src/page");
    let mut sources = files(&page, "rs");
    sources.extend(files(&page, "js"));
    for path in sources.into_iter().filter(|path| !path.ends_with("tests.rs")) {
        let text = fs::read_to_string(&path).unwrap();
        let code = text.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
        let code = code.split("#[cfg(test)]").next().unwrap_or_default().to_lowercase();
        for word in trade {
            assert!(!code.contains(word), "{word} in {}", path.display());
        }
    }
}

/// Lines of Kotlin that are code: no blank ones, no comments, no imports.
fn kotlin_code(text: &str) -> Vec<&str> {
    let is_code = |line: &&str| {
        let line = line.trim_start();
        !line.is_empty() && !["//", "/*", "*", "import ", "package "].iter().any(|start| line.starts_with(start))
    };
    text.lines().filter(is_code).collect()
}

#[test]
fn the_phone_shell_is_thin_and_knows_nothing_of_electricity() {
    let trade = [
        "volt",
        "volts",
        "ground",
        "grounds",
        "neutral",
        "neutrals",
        "hot",
        "breaker",
        "splice",
        "conductor",
        "circuit",
        "traveler",
        "ampere",
        "amps",
        "ohm",
        "receptacle",
        "luminaire",
        "wiring",
        "wire",
        "nec",
    ];
    let main = root().join("android/app/src/main");
    let mut sources = files(&main.join("kotlin"), "kt");
    let mut lines = 0;
    for path in &sources {
        let text = fs::read_to_string(path).unwrap();
        lines += kotlin_code(&text).len();
        assert!(text.lines().count() <= 600, "{} has more than 600 lines", path.display());
    }
    assert!(lines <= 1200, "{lines} lines of shell");
    sources.extend(files(&main.join("res"), "xml").into_iter().filter(|path| path.ends_with("strings.xml")));
    assert!(sources.len() > 10, "the shell is not where it was");
    for path in sources {
        let text = fs::read_to_string(&path).unwrap();
        let code = kotlin_code(&text).join("\n").to_lowercase();
        for word in code.split(|c: char| !c.is_alphabetic()) {
            assert!(!trade.contains(&word), "{word} in {}", path.display());
        }
        assert!(!code.contains("314.16"), "{}", path.display());
    }
}

#[test]
fn files_and_texts_stay_small_and_name_nothing_of_the_workplace() {
    let own = ["/work/", "/root/", "/farm/", "registry", "artifactory"];
    for folder in ["core", "bindings", "tests", "shared", "android/app"] {
        for ending in ["rs", "py", "js", "css", "txt", "sh", "kts", "toml"] {
            for path in files(&root().join(folder), ending) {
                let text = fs::read_to_string(&path).unwrap();
                let is_code = matches!(ending, "rs" | "py" | "js");
                assert!(!is_code || text.lines().count() <= 600, "{} has more than 600 lines", path.display());
                if path.ends_with("laws.rs") {
                    continue;
                }
                for word in own {
                    assert!(!text.contains(word), "{word} in {}", path.display());
                }
            }
        }
    }
}
