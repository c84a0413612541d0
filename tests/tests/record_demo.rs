//! The record of the demo job's evening: what the scenario says must stand in it, each item in its section.

use boxproof_core::app::script::play;
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{Notes, ThingId};
use boxproof_core::log::Folder;
use boxproof_core::record::{Document, Span, day, html};

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

/// The notes of the demo job at one of its moments, read back from the file.
fn notes(until: &str) -> (Notes, ThingId) {
    let folder = tempfile::tempdir().unwrap();
    let played = play(DEMO, folder.path(), Some(until)).unwrap_or_else(|fault| panic!("{fault}"));
    let mut log = Folder::open(folder.path()).unwrap().site(played.site).unwrap();
    (Notes::fold(log.notes(0).unwrap().noted), played.site)
}

fn record(until: &str) -> Document {
    let (notes, site) = notes(until);
    let job = notes.job_now().unwrap();
    day(&notes, Catalogue::shared(), site, job, &Span::last(&notes, job))
}

#[test]
fn writes() {
    let start = std::time::Instant::now();
    let document = record("evening");
    eprintln!("{:?}", start.elapsed());
    std::fs::write("/tmp/evening.html", html(&document)).unwrap();
}
