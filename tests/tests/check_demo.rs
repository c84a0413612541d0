//! The checks of the demo job, as its script notes them.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

use std::sync::Arc;

use boxproof_core::app::script::play;
use boxproof_core::app::{Notebook, Outside};
use boxproof_core::catalogue::Catalogue;
use boxproof_core::check::{Checks, DeadState, Policy};
use boxproof_core::job::{JobNote, Kind, Layer, PersonNote, Wall, Wiring};

struct Still;

impl Outside for Still {
    fn now(&self) -> Wall {
        Wall { utc_ms: 0, offset_min: 0 }
    }

    fn random(&self) -> [u8; 16] {
        [0; 16]
    }
}

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

/// Everything that the demo's checks come to at one of its moments: each check of B3 and B4 in a line, then what it
/// was while it counted.
fn lines(moment: &str) -> (Vec<String>, [usize; 2], Vec<Option<String>>) {
    let folder = tempfile::tempdir().unwrap();
    let played = play(DEMO, folder.path(), Some(moment)).unwrap();
    let book = Notebook::open(folder.path(), [7; 32], Arc::new(Still)).unwrap();
    let notes = book.notes(played.site).unwrap();
    let things = |kind| notes.things(kind, Layer::Site).into_iter();
    let called = |note: &JobNote| note.number.get().map(String::as_str) == Some("1342");
    let job = things(Kind::Job).find(|id| called(&JobNote::read(&notes, *id))).unwrap();
    let named = |note: &PersonNote| note.name.get().map(String::as_str) == Some("W. Tolliver");
    let person = things(Kind::Person).find(|id| named(&PersonNote::read(&notes, *id))).unwrap();
    let wiring = Wiring::of(&notes, Layer::Left(job));
    let checks = Checks::new(&notes, &wiring, Catalogue::shared(), Policy::of(&JobNote::read(&notes, job)));
    let tagged = |tag: &str| wiring.boxes_in_order().into_iter().find(|id| wiring.tag(*id) == tag).unwrap();
    let mut lines = Vec::new();
    for tag in ["B3", "B4"] {
        for dead in checks.dead_all(tagged(tag), person) {
            lines.push(format!("{tag}: {}", checks.say_state(&dead.state)));
            if let DeadState::Stale { was, .. } = &dead.state {
                lines.push(format!("{tag} was: {}", checks.say_state(was)));
            }
        }
    }
    let pairs = [checks.pairs(tagged("B3"), None).len(), checks.pairs(tagged("B4"), None).len()];
    let ended = checks.disagreements().into_iter().map(|one| one.ended.map(|when| when.wall.clock())).collect();
    (lines, pairs, ended)
}

#[test]
fn in_the_morning_two_boxes_are_read_dead_and_bracketed_by_two_proofs() {
    let (lines, pairs, ended) = lines("morning");
    let held = "read dead, the meter shown to work before and after, 10:31";
    assert_eq!(lines, [format!("B3: {held}"), format!("B4: {held}")]);
    // B3 as found: by hand 17, see check_pairs; B4: ground, neutral, hot and the metal of the box, each to each.
    assert_eq!((pairs, ended.len()), ([17, 6], 0));
}

#[test]
fn lunch_work_and_power_make_every_check_stale_and_the_record_keeps_what_it_was() {
    let (lines, pairs, ended) = lines("evening");
    let expected = [
        ("B3", "W. Tolliver left at 12:10", "10:31"),
        ("B3", "14-2 with ground from B3 to B5 is new or changed, 13:55", "13:30"),
        ("B3", "pigtail in B3 is new or changed, 16:34", "16:30"),
        ("B4", "W. Tolliver left at 12:10", "10:31"),
        ("B4", "pigtail in B4 is new or changed, 14:55", "13:30"),
    ];
    let expected = expected.map(|(tag, why, until)| {
        [
            format!("{tag}: stale: {why}"),
            format!("{tag} was: read dead, the meter shown to work before and after, {until}"),
        ]
    });
    assert_eq!(lines, expected.concat());
    // One spot more in B3, the switched leg: ground to 5, neutral to 4, across 6; turned: 3 + 3 + 6.
    assert_eq!(pairs[0], 27);
    assert_eq!(ended, [Some("16:44".to_owned())], "the stair light disagreed once, and agrees since");
}
