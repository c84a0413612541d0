//! Noting with gloves on: on every screen that a box's noting reaches, whatever has a closed set of answers is a
//! choice, what is typed is named here with the reason, and no place of a picture is smaller than a finger.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod acts;
mod screen_support;

use std::collections::BTreeSet;

use acts::flow;
use boxproof_core::screen::{Body, Screen};

/// What a finger in a glove needs, in dp: this project's own floor.
const FINGER: f64 = 56.0;

/// Fields that are typed, by page and key, and why no choice would do.
const TYPED: [(&str, &str, &str); 14] = [
    ("note-box", "location", "places are without end; rooms and what a box is there stand above it as choices"),
    ("note-box", "tag", "an own way to tag; the free tags stand above it as choices"),
    ("note-box", "volume", "printed on the box, any number; what others of this kind have stands above it"),
    ("run", "length", "a number read off a tape"),
    ("device", "name", "a name of one's own, never needed"),
    ("device", "number", "a number read off the panel"),
    ("device", "directory", "what somebody wrote in the panel"),
    ("splice", "name", "a name of one's own; the trade's names stand above it as choices"),
    ("end", "free-length", "a number read off a rule"),
    ("end", "torque", "a number read off a tool"),
    ("cable", "length", "a number read off a tape"),
    ("cable", "letter", "an own way to letter; the next letter is given"),
    ("cable", "method", "how it is laid, in own words"),
    ("cable", "insulation", "its condition, in own words; the usual one stands beside it as a choice"),
];

fn page(screen: &Screen) -> &str {
    screen.address.split(' ').next().unwrap_or_default()
}

#[test]
fn nothing_is_typed_that_could_be_picked() {
    let done = flow::two_gang();
    let mut pages = BTreeSet::new();
    let mut wrong = BTreeSet::new();
    for screen in &done.screens {
        pages.insert(page(screen).to_owned());
        for row in &screen.rows {
            let Body::Blank { numeric, .. } = &row.body else { continue };
            let named = TYPED.iter().find(|(on, key, _)| *on == page(screen) && *key == row.key);
            match named {
                None => {
                    wrong.insert(format!("{} {}", page(screen), row.key));
                }
                // A number brings the number pad: letters would be typed in vain.
                Some((.., why)) if why.contains("number") && row.key != "number" => {
                    assert!(numeric, "{} {} wants a number", page(screen), row.key);
                }
                Some(_) => {}
            }
        }
    }
    assert!(wrong.is_empty(), "typed without a reason: {wrong:?}");
    assert!(pages.len() > 4, "{pages:?}");
}

#[test]
fn every_place_in_every_picture_takes_a_finger() {
    let done = flow::two_gang();
    let mut places = 0;
    for screen in &done.screens {
        for row in &screen.rows {
            let Body::Drawing { places: here, .. } = &row.body else { continue };
            for place in here {
                places += 1;
                assert!(place.width >= FINGER && place.height >= FINGER, "{place:?} at {}", screen.address);
                assert!(!place.token.is_empty() && !place.spoken.is_empty(), "{place:?} at {}", screen.address);
            }
        }
    }
    assert!(places > 50, "only {places} places were looked at");
}
