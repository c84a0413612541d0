//! The whole demo job by touch alone, from an empty notebook to a signed record: the files in `tests/thumb` one after
//! the other, as `tests/browser/test_thumb.py` plays them on the page. What is known in the end is laid beside what
//! the demo's script of events comes to, and beside a list of facts that a careful paper record would hold.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod acts;
mod screen_support;
mod thumb_support;

use std::collections::BTreeSet;
use std::sync::OnceLock;

use acts::sheet::Sheet;
use boxproof_core::app::script::play;
use boxproof_core::job::{Notes, ThingId};
use boxproof_core::log::Folder;
use thumb_support::Day;

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

/// The demo job as touches, in the order in which they are played.
const FILES: [&str; 6] = [
    include_str!("../thumb/first-visit.txt"),
    include_str!("../thumb/first-visit-rest.txt"),
    include_str!("../thumb/morning.txt"),
    include_str!("../thumb/plan.txt"),
    include_str!("../thumb/afternoon.txt"),
    include_str!("../thumb/evening.txt"),
];

/// What the touches came to, played once for all tests of this file.
struct Played {
    notes: Notes,
    site: ThingId,
    /// The first word of every token that was sent.
    sent: Vec<String>,
    /// Everything that a thumb did, the shell's own way back to the front page among it.
    acts: usize,
}

fn played() -> &'static Played {
    static PLAYED: OnceLock<Played> = OnceLock::new();
    PLAYED.get_or_init(|| {
        let mut day = Day::begin();
        for file in FILES {
            day.play(file);
        }
        let site = day.thumb.notebook.sites().unwrap()[0];
        let notes = day.thumb.notebook.notes(site).unwrap();
        Played { notes, site, sent: day.thumb.sent.clone(), acts: day.acts }
    })
}

/// What the demo's script of events comes to in the evening.
fn by_events() -> (Notes, ThingId) {
    let folder = tempfile::tempdir().unwrap();
    let played = play(DEMO, folder.path(), None).unwrap_or_else(|fault| panic!("{fault}"));
    let mut log = Folder::open(folder.path()).unwrap().site(played.site).unwrap();
    (Notes::fold(log.notes(0).unwrap().noted), played.site)
}

#[test]
fn show() {
    let played = played();
    let by_touch = Sheet::of(&played.notes, played.site).lines;
    let (notes, site) = by_events();
    let by_events = Sheet::of(&notes, site).lines;
    let only = |a: &BTreeSet<String>, b: &BTreeSet<String>| a.difference(b).cloned().collect::<Vec<_>>().join("\n");
    std::fs::write("/tmp/day/sheet.txt", by_touch.iter().cloned().collect::<Vec<_>>().join("\n")).unwrap();
    std::fs::write("/tmp/day/only-touch.txt", only(&by_touch, &by_events)).unwrap();
    std::fs::write("/tmp/day/only-events.txt", only(&by_events, &by_touch)).unwrap();
    std::fs::write("/tmp/day/sent.txt", played.sent.join("\n")).unwrap();
    println!("{} acts, {} sent, {} lines", played.acts, played.sent.len(), by_touch.len());
}
