//! The demo job plays through the notebook's three calls alone.

use boxproof_core::app::script::play;

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

#[test]
fn the_demo_plays_to_each_of_its_moments() {
    let mut events = 0;
    for moment in ["morning", "disagreement", "evening"] {
        let folder = tempfile::tempdir().unwrap();
        let now =
            play(DEMO, folder.path(), Some(moment)).map(|played| played.events).map_err(|fault| fault.to_string());
        let now = now.unwrap();
        assert!(now > events, "{moment} adds nothing");
        events = now;
    }
}
