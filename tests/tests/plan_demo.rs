//! What each conductor of the demo job does, worked out from what is noted by the morning.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use boxproof_core::app::path::Names;
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{Layer, Notes, Wiring};
use boxproof_core::plan::{Duty, Evidence, Flow, Roles};
use boxproof_tests::played::notes_of;

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

fn morning() -> Notes {
    notes_of(DEMO, Some("morning")).unwrap()
}

/// An end and what it does: duty, evidence, which way the power goes, what a leg works or a traveler leads to.
type Line = (&'static str, Duty, Evidence, Option<Flow>, &'static str);

fn holds(layer: Layer, expected: &[Line]) {
    let notes = morning();
    let wiring = Wiring::of(&notes, layer);
    let roles = Roles::of(&wiring, Catalogue::shared());
    let names = Names::new(&notes, Catalogue::shared(), layer);
    for (end, duty, evidence, flow, to) in expected {
        let role = roles.of_end(&names.tip(end).unwrap()).unwrap_or_else(|| panic!("{end} is not known"));
        assert_eq!((role.duty, role.evidence, role.flow), (*duty, *evidence, *flow), "{end}");
        match role.duty {
            Duty::SwitchedLeg => assert_eq!(role.loads, [names.load(to).unwrap()], "{end}"),
            Duty::Traveler => assert_eq!(role.device, Some(names.device(to).unwrap()), "{end}"),
            _ => {}
        }
        if matches!(duty, Duty::ConstantHot | Duty::SwitchedLeg | Duty::Traveler) {
            assert_eq!(role.breaker, Some(names.device("P:7").unwrap()), "{end}");
        }
    }
}

/// As planned, every conductor of B3, B5, B6 and B7 is followed; that of B8 too, as far as its near end.
#[test]
fn every_conductor_of_the_demo_is_followed() {
    use Duty::{ConstantHot, Ground, Neutral, SwitchedLeg, Traveler};
    let job = morning().job_now().unwrap();
    let traced = Evidence::Traced;
    let (enters, leaves) = (Some(Flow::In), Some(Flow::Out));
    holds(
        Layer::Planned(job),
        &[
            ("B3/A/black", ConstantHot, traced, enters, ""),
            ("B3/A/white", Neutral, traced, enters, ""),
            ("B3/A/bare", Ground, traced, None, ""),
            ("B3/B/black", Traveler, traced, None, "B6:switch"),
            ("B3/B/red", Traveler, traced, None, "B6:switch"),
            ("B3/B/white", Neutral, traced, leaves, ""),
            ("B3/C/black", ConstantHot, traced, leaves, ""),
            ("B3/D/black", SwitchedLeg, traced, leaves, "B5:light.lamp"),
            ("B3/D/white", Neutral, traced, leaves, ""),
            ("B5/A/black", SwitchedLeg, traced, enters, "B5:light.lamp"),
            ("B5:light.hot", SwitchedLeg, traced, None, "B5:light.lamp"),
            ("B6/A/black", Traveler, traced, None, "B3:switch"),
            ("B6/A/red", Traveler, traced, None, "B3:switch"),
            ("B6/A/white", Neutral, traced, enters, ""),
            ("B6/B/black", SwitchedLeg, traced, leaves, "B7:light.lamp"),
            ("B6/B/white", Neutral, traced, leaves, ""),
            ("B7/A/black", SwitchedLeg, traced, enters, "B7:light.lamp"),
            ("B7/B/black", SwitchedLeg, traced, leaves, "B7:light.lamp"),
            ("B7/A/white", Neutral, traced, enters, ""),
            ("B7/B/white", Neutral, traced, leaves, ""),
            ("B8/A/black", SwitchedLeg, traced, enters, "B7:light.lamp"),
            ("B2/B/black", ConstantHot, traced, leaves, ""),
        ],
    );
}
