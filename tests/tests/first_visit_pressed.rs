//! The demo's first visit from an empty notebook, noted by nothing but touches and typed texts on the screens. The same
//! file is played on the page in a browser by `tests/browser/test_thumb.py`.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod screen_support;
mod thumb_support;

use boxproof_core::job::{Kind, Layer, Wiring};
use thumb_support::Day;

#[test]
fn a_first_visit_is_noted_by_touch() {
    let mut day = Day::begin();
    day.play(include_str!("../thumb/first-visit.txt"));
    let site = day.thumb.notebook.sites().unwrap()[0];
    let notes = day.thumb.notebook.notes(site).unwrap();
    let job = notes.things(Kind::Job, Layer::Site)[0];
    let wiring = Wiring::of(&notes, Layer::Found(job));
    let tags: Vec<String> = wiring.boxes_in_order().into_iter().map(|id| wiring.tag(id)).collect();
    assert_eq!(tags, ["P", "B1", "B2", "B3"]);
    let between = wiring.runs.values().filter(|run| !run.is_inside()).count();
    assert_eq!((between, wiring.devices.len()), (3, 2));
    // The make-up of B1 as it was proposed, in one act: grounds with a pigtail to the metal, neutrals, hots.
    let b1 = wiring.boxes_in_order()[1];
    let mut sizes: Vec<usize> = wiring.splices_in(b1).into_iter().map(|splice| wiring.ends_in(splice).len()).collect();
    sizes.sort_unstable();
    assert_eq!((sizes, wiring.pigtails_in(b1).len()), (vec![3, 3, 4], 1));
    // Every run is known at both ends, for each was noted with where it comes from.
    let ends = wiring.runs.values().flat_map(|run| [&run.near, &run.far]);
    assert!(ends.into_iter().all(|side| side.in_box.get().is_some_and(Option::is_some)));
    // What it took when it was last looked at: site, person, job, panel, two breakers, three boxes, three runs, a make-up.
    assert!(day.acts <= 61, "{} acts: more than before", day.acts);
}
