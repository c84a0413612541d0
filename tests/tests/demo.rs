//! The demo job plays through the notebook's three calls alone.

use std::path::Path;

use boxproof_core::app::script::play;

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

fn played(until: &str, folder: &Path) -> boxproof_core::app::script::Played {
    play(DEMO, folder, Some(until)).unwrap_or_else(|fault| panic!("{fault}"))
}

#[test]
fn the_demo_plays_to_each_of_its_moments() {
    let mut events = 0;
    for moment in ["morning", "disagreement", "evening"] {
        let folder = tempfile::tempdir().unwrap();
        let now = played(moment, folder.path()).events;
        assert!(now > events, "{moment} adds nothing");
        events = now;
    }
}
