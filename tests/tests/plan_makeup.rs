//! Make-up proposals against the demo job: what was noted there by hand is what is proposed from runs, devices, tapes
//! and promises, but for what each test says.
//!
//! The section of the code that a choice follows stands beside it (NFPA 70, in own words): 250.148 grounds joined and
//! bonded to a metal box, 110.14(A) one conductor a terminal, 200.7(C) whites as hots, 404.2 switches in the hot. Which
//! connector, and splice before device terminals, is common practice.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::collections::BTreeSet;

use boxproof_core::app::path::Names;
use boxproof_core::catalogue::Catalogue;
use boxproof_core::circuit::{Circuit, HazardKind, hazards};
use boxproof_core::job::{Layer, Note, Notes, Place, ThingId, Tip, Wiring};
use boxproof_core::plan::makeup::{Change, Difference, Way, ways};
use boxproof_tests::played::notes_of;

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

/// The demo until the morning, without the lines of the plan for which `drop` holds.
fn morning(drop: impl Fn(&str) -> bool) -> Notes {
    let mut planned = false;
    let lines = DEMO.lines().filter(|line| {
        planned |= *line == "layer planned";
        !(planned && drop(line))
    });
    notes_of(&lines.collect::<Vec<_>>().join("\n"), Some("morning")).unwrap()
}

fn place_in(notes: &Notes, tag: &str) -> ThingId {
    let layer = Layer::Planned(notes.job_now().unwrap());
    Names::new(notes, Catalogue::shared(), layer).box_named(tag).unwrap()
}

/// An end as a person would say it within its box.
fn said(wiring: &Wiring, tip: &Tip) -> String {
    let device = |id: &ThingId| wiring.devices[id].name.get().unwrap().clone();
    match tip {
        Tip::Lead { device: id, lead } => format!("{}.{lead}", device(id)),
        Tip::Wire { run, wire, side } => {
            let note = &wiring.runs[run];
            if note.is_inside() {
                let far = Tip::Wire { run: *run, wire: *wire, side: side.other() };
                return match wiring.place(&far) {
                    Some(Place::Terminal { device: id, terminal, .. }) => format!(">{}.{terminal}", device(id)),
                    Some(Place::Shell(_)) => ">box".to_owned(),
                    other => panic!("{other:?}"),
                };
            }
            let conductor = Catalogue::shared().conductor(note, *wire).unwrap();
            format!("{} {:?}", note.side(*side).letter.get().unwrap(), conductor.colour).to_lowercase()
        }
    }
}

/// How a box is made up: every splice with its members, every end under a terminal, through or capped.
fn made_up(wiring: &Wiring, at: ThingId) -> BTreeSet<String> {
    let mut lines = BTreeSet::new();
    for splice in wiring.splices_in(at) {
        let mut ends: Vec<String> = wiring.ends_in(splice).into_iter().map(|tip| said(wiring, tip)).collect();
        ends.sort();
        lines.insert(ends.join(" + "));
    }
    for (tip, note) in &wiring.tips {
        let inside = matches!(tip, Tip::Wire { run, .. } if wiring.runs[run].is_inside());
        if wiring.box_of(tip) != Some(at) || inside {
            continue;
        }
        match note.place.get() {
            Some(Place::Terminal { device, terminal, .. }) => {
                let name = wiring.devices[device].name.get().unwrap();
                lines.insert(format!("{} on {name}.{terminal}", said(wiring, tip)));
            }
            Some(Place::Through(other)) => {
                let mut both = [said(wiring, tip), said(wiring, other)];
                both.sort();
                lines.insert(both.join(" through "));
            }
            Some(Place::Capped) => drop(lines.insert(format!("{} capped", said(wiring, tip)))),
            Some(Place::Splice(_)) | None => {}
            other => panic!("{other:?}"),
        }
    }
    lines
}

/// The same wiring with nothing noted of how a box is made up: runs, devices, tapes stay.
fn emptied(wiring: &Wiring, at: ThingId) -> Wiring {
    let mut empty = wiring.clone();
    for splice in wiring.splices_in(at) {
        empty.splices.remove(&splice);
    }
    for run in wiring.pigtails_in(at) {
        empty.runs.remove(&run);
        empty.tips.retain(|tip, _| !matches!(tip, Tip::Wire { run: of, .. } if *of == run));
    }
    for (tip, note) in &mut empty.tips {
        if wiring.box_of(tip) == Some(at) {
            note.place = Note::NotSaid;
        }
    }
    empty
}

fn first(wiring: &Wiring, at: ThingId) -> Way {
    ways(wiring, Catalogue::shared(), at).into_iter().next().expect("a way")
}

fn as_set(lines: &[&str]) -> BTreeSet<String> {
    lines.iter().map(|line| (*line).to_owned()).collect()
}

/// What no wiring of a proposal has that was not there before.
fn shorts(wiring: &Wiring) -> usize {
    let circuit = Circuit::of(wiring, Catalogue::shared()).unwrap();
    let bad = |kind: &HazardKind| matches!(kind, HazardKind::Short { .. } | HazardKind::SwitchedNeutral { .. });
    hazards(&circuit).iter().filter(|hazard| bad(&hazard.kind)).count()
}

/// From runs, devices and tapes alone the boxes come out as they were found and planned.
#[test]
fn an_empty_box_is_made_up_as_the_demo_noted_it() {
    let notes = morning(|_| false);
    let job = notes.job_now().unwrap();
    for (layer, tags) in
        [(Layer::Found(job), &["B1", "B2", "B3", "B6", "B7"][..]), (Layer::Planned(job), &["B5", "B6", "B7"])]
    {
        let wiring = Wiring::of(&notes, layer);
        for tag in tags {
            let at = place_in(&notes, tag);
            let empty = emptied(&wiring, at);
            let way = first(&empty, at);
            let mut expected = made_up(&wiring, at);
            if *tag == "B6" {
                // The demo's whites go through; splicing them stands first, because two cables come in (common
                // practice), and the way through is the second.
                let second = &ways(&empty, Catalogue::shared(), at)[1];
                assert_eq!(
                    (way.difference, second.difference),
                    (Difference::NeutralsSpliced, Difference::NeutralsThrough)
                );
                assert_eq!(made_up(&second.applied(&empty, Catalogue::shared()), at), expected, "{tag}");
                expected.remove("a white through b white");
                expected.insert("a white + b white".to_owned());
            }
            let applied = way.applied(&empty, Catalogue::shared());
            assert_eq!(made_up(&applied, at), expected, "{tag} {layer:?}");
            assert_eq!(way.open, [], "{tag}");
            assert_eq!(shorts(&applied), shorts(&wiring), "{tag}");
        }
    }
}

/// The plan for B3: run D, the switch with receptacle; what was found stays and is made larger.
#[test]
fn the_plan_for_b3_extends_what_was_found() {
    let notes = morning(|line| line.starts_with("join B3+") || line.starts_with("land B3/"));
    let wiring = Wiring::of(&notes, Layer::Planned(notes.job_now().unwrap()));
    let at = place_in(&notes, "B3");
    let way = first(&wiring, at);
    let noted = morning(|_| false);
    let by_hand = Wiring::of(&noted, Layer::Planned(noted.job_now().unwrap()));
    let applied = way.applied(&wiring, Catalogue::shared());
    assert_eq!(made_up(&applied, at), made_up(&by_hand, place_in(&noted, "B3")));
    let connectors: Vec<_> = way
        .parts
        .iter()
        .filter_map(|part| match &part.change {
            Change::Splice(joined) => Some((part.key.as_str(), joined.count(), joined.connector.as_deref())),
            _ => None,
        })
        .collect();
    // By hand levers with five ports were chosen for neutrals and hot. The wire connectors that are there take two to
    // five, so that they stay; the grounds are six, which only the large ones take.
    assert_eq!(connectors, [("grounds", 6, Some("wire-connector-large")), ("neutrals", 5, None), ("hot", 4, None)]);
    assert!(way.parts.iter().any(|part| part.key == "leg"), "{:?}", way.parts);
    // Nothing that was found is moved.
    for (tip, note) in &wiring.tips {
        if note.place.is_said() {
            assert_eq!(wiring.place(tip), applied.place(tip), "{tip:?}");
        }
    }
}

/// B4 is as it was found: the receptacle's screws hold its conductors, and nothing of it is ours to propose.
#[test]
fn a_box_that_is_made_up_gets_no_proposal() {
    let notes = morning(|_| false);
    let planned = Wiring::of(&notes, Layer::Planned(notes.job_now().unwrap()));
    for tag in ["B1", "B2", "B3", "B4", "B5", "B6", "B7", "P"] {
        assert_eq!(ways(&planned, Catalogue::shared(), place_in(&notes, tag)), [], "{tag}");
    }
    // From an empty B4 its metal is bonded too: the demo noted the ground on the receptacle's screw alone, and a
    // metal box is bonded by a pigtail or a listed yoke (250.146, 250.148).
    let found = Wiring::of(&notes, Layer::Found(notes.job_now().unwrap()));
    let at = place_in(&notes, "B4");
    let empty = emptied(&found, at);
    let applied = first(&empty, at).applied(&empty, Catalogue::shared());
    let expected =
        ["a black on receptacle.hot_1", "a white on receptacle.neutral_1", ">box + >receptacle.ground + a bare"];
    assert_eq!(made_up(&applied, at), as_set(&expected));
}

/// In the layer as found commons and travelers are each confirmed by one's own act; the rest is one act.
#[test]
fn as_found_commons_and_travelers_stand_alone() {
    let notes = morning(|_| false);
    let found = Wiring::of(&notes, Layer::Found(notes.job_now().unwrap()));
    let at = place_in(&notes, "B3");
    let empty = emptied(&found, at);
    let way = first(&empty, at);
    let single: Vec<&str> = way.parts.iter().filter(|part| part.is_single()).map(|part| part.key.as_str()).collect();
    assert_eq!(single, ["traveler", "traveler-2"]);
    // The pigtail to the common waits until its splice is noted.
    let hot = way.parts.iter().find(|part| part.key == "hot").unwrap();
    let Change::Splice(joined) = &hot.change else { panic!("{hot:?}") };
    assert_eq!((joined.ends.len(), joined.pigtails.len(), joined.singly.len()), (2, 0, 1));
    let b6 = emptied(&found, place_in(&notes, "B6"));
    let keys: Vec<String> = first(&b6, place_in(&notes, "B6")).parts.into_iter().map(|part| part.key).collect();
    assert_eq!(keys, ["grounds", "neutrals", "common", "traveler", "traveler-2"]);
}
