//! The ways that the page's and the phone's tests walk (`tests/browser/ways.txt`) lead to every page that there is, so
//! that none goes unlooked at.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that fails says so by stopping")]

mod screen_support;

use std::collections::BTreeSet;

use boxproof_core::screen::{Body, Row};
use screen_support::{Thumb, picks_of};

const WAYS: &str = include_str!("../browser/ways.txt");
const SCREENS: &str = include_str!("../../core/src/screen/mod.rs");

/// What can be pressed in a row, with what it says: its tag or its words, and all of them.
fn pressed(row: &Row) -> Vec<(String, String, String)> {
    let mut all: Vec<(String, String, String)> = picks_of(row)
        .into_iter()
        .map(|pick| (pick.text.clone(), format!("{} {}", pick.text, pick.second).trim().to_owned(), pick.token))
        .collect();
    if let Some(go) = &row.go {
        let first = match &row.body {
            Body::Item { tag: Some(tag), .. } => tag.clone(),
            Body::Item { title, .. } => title.clone(),
            _ => row.spoken.clone(),
        };
        all.insert(0, (first, row.spoken.clone(), go.clone()));
    }
    all
}

/// Presses the first thing that a word of a way means.
fn press(thumb: &mut Thumb, what: &str) {
    let fits = |first: &str, whole: &str| match what.split_once(':') {
        Some(("tag", tag)) => first == tag,
        Some(("exactly", words)) => whole == words,
        _ => whole.to_lowercase().contains(&what.to_lowercase()),
    };
    let all: Vec<_> = thumb.screen.rows.iter().flat_map(pressed).collect();
    let found = all.iter().find(|(first, whole, _)| fits(first, whole));
    let (_, _, token) = found.unwrap_or_else(|| panic!("nothing to press for {what:?} on {}", thumb.seen()));
    thumb.try_send(token, None).unwrap_or_else(|refusal| panic!("{what}: {refusal}"));
}

#[test]
fn every_page_is_on_a_way() {
    let list = SCREENS.split("const PAGES").nth(1).and_then(|rest| rest.split("];").next()).unwrap();
    let pages: BTreeSet<&str> =
        list.lines().filter_map(|line| line.trim().strip_prefix("(\"")?.split('"').next()).collect();
    assert!(pages.len() > 40, "{pages:?}");
    let mut seen = BTreeSet::new();
    for moment in ["morning", "disagreement", "evening"] {
        let mut thumb = Thumb::of_demo(moment);
        let front = thumb.screen.address.clone();
        for line in WAYS.lines().filter(|line| line.split('|').next().map(str::trim) == Some(moment)) {
            // Some ways note something.
            thumb.screen = thumb.notebook.screen(&front).unwrap();
            line.split('|').skip(2).for_each(|what| press(&mut thumb, what.trim()));
            seen.insert(thumb.screen.address.split(' ').next().unwrap().to_owned());
        }
    }
    let missing: Vec<&&str> = pages.iter().filter(|page| !seen.contains(**page)).collect();
    assert!(missing.is_empty(), "no way ends at {missing:?}");
}
