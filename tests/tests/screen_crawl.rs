//! Every token that a reachable screen carries shows a screen, or gets one sentence that says why not.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod screen_support;

use std::collections::{BTreeSet, VecDeque};

use boxproof_core::app::script::play;
use boxproof_core::app::{Notebook, Sent};
use boxproof_core::screen::Screen;
use screen_support::{Clockwork, Thumb, texts, tokens};
use std::sync::Arc;

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

/// Words that no screen says: they promise what nobody can. This project's own rule.
const NEVER: [&str; 6] = ["safe", "ok", "pass", "good", "tick", "ticks"];

fn check(screen: &Screen) {
    let at = &screen.address;
    let mut keys = BTreeSet::new();
    for row in &screen.rows {
        assert!(keys.insert(&row.key), "the key {:?} stands twice at {at}", row.key);
        if let Some(edge) = row.edge {
            let word = boxproof_core::screen::edge_word(edge);
            assert!(row.spoken.starts_with(&word), "{:?} is not spoken with its state at {at}", row.spoken);
        }
    }
    for text in texts(screen) {
        assert!(!text.contains("screen.") && !text.contains(".why"), "words are missing: {text} at {at}");
        assert!(!text.contains('{') && !text.contains('}'), "a slot is not filled: {text} at {at}");
        let mut words = text.split(|c: char| !c.is_alphabetic()).map(str::to_lowercase);
        assert!(!words.any(|word| NEVER.contains(&word.as_str())), "{text} at {at}");
    }
    assert!(screen.rows.iter().any(|row| row.key == "deeds"), "nothing can be done at {at}");
}

fn check_refusal(why: &str, token: &str) {
    assert!(!why.is_empty() && why.ends_with('.') && !why.contains('\n'), "{why:?} for {token}");
    assert!(why.len() < 400, "{why:?} for {token}");
    assert!(!why.contains("refuse.") && !why.contains('{'), "words are missing: {why} for {token}");
}

/// Goes through every address that can be reached without noting anything, nearest first.
fn crawl(notebook: &Notebook, most: usize) -> (usize, BTreeSet<String>) {
    let mut seen = BTreeSet::new();
    let mut pages = BTreeSet::new();
    let mut asked = BTreeSet::new();
    let mut queue = VecDeque::from([notebook.screen("").unwrap()]);
    while let Some(screen) = queue.pop_front() {
        if seen.len() >= most || !seen.insert(screen.address.clone()) {
            continue;
        }
        if screen.address != "sites" {
            check(&screen);
        }
        pages.insert(screen.address.split(' ').next().unwrap_or_default().to_owned());
        for (token, typed) in tokens(&screen) {
            if asked.len() >= 4_000 {
                break;
            }
            // Many screens lead to the same places: each is asked for once.
            if !token.starts_with("go ") || !asked.insert(token.clone()) {
                continue;
            }
            let input = typed.then(|| "12".to_owned());
            let sent = Sent { token: token.clone(), input, drawn: screen.drawn };
            match notebook.send(&sent) {
                Ok(next) => queue.push_back(next),
                Err(refusal) => panic!("{token} at {} leads nowhere: {refusal}", screen.address),
            }
        }
    }
    (seen.len(), pages)
}

#[test]
fn every_address_of_the_demo_shows_a_screen() {
    let folder = tempfile::tempdir().unwrap();
    play(DEMO, folder.path(), Some("evening")).unwrap();
    let notebook = Notebook::open(folder.path(), [9; 32], Arc::new(Clockwork::default())).unwrap();
    let (screens, pages) = crawl(&notebook, 500);
    assert!(screens > 100, "only {screens} screens were reached");
    for page in ["job", "box", "about", "sources", "source", "history", "cable", "end", "splice", "one-device"] {
        assert!(pages.contains(page), "{page} is not reached: {pages:?}");
    }
}

/// A walk that presses anything, events too, from an empty folder. The same walk each time.
#[test]
fn whatever_is_pressed_there_is_a_screen_or_one_sentence() {
    const TYPED: [&str; 5] = ["12", "B7", "", "0.5", "TRAV 1"];
    let mut thumb = Thumb::new();
    let mut state: u64 = 0x2545_F491_4F6C_DD1D;
    let (mut noted, mut refused) = (0, 0);
    for step in 0..1_500 {
        // A linear congruential step (Knuth's MMIX constants): any fixed scatter will do.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let scatter = usize::try_from(state >> 33).unwrap();
        let all = tokens(&thumb.screen);
        let (token, typed) = all.get(scatter % all.len().max(1)).cloned().unwrap_or_else(|| ("go \"\"".into(), false));
        // Ends of visits and of boxes would soon leave nothing to press.
        if token.starts_with("leave") || token.starts_with("remove") {
            continue;
        }
        let typed = typed.then(|| TYPED[scatter / 7 % TYPED.len()]);
        let before = thumb.screen.drawn;
        match thumb.try_send(&token, typed) {
            Ok(()) => {
                noted += usize::from(thumb.screen.drawn > before);
                if thumb.screen.address != "sites" {
                    check(&thumb.screen);
                }
            }
            Err(refusal) => {
                refused += 1;
                check_refusal(&refusal.to_string(), &token);
            }
        }
        if step % 60 == 59 {
            thumb.screen = thumb.notebook.screen("").unwrap();
        }
        thumb.wait(1);
    }
    assert!(noted > 50, "only {noted} acts were noted, {refused} refused");
}
