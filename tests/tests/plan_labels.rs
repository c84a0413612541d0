//! What is proposed for tapes: in the demo job what its people wrote themselves, in boxes of several circuits and
//! pairs words that tell conductors apart, and along one traveler one number.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::collections::BTreeMap;

use boxproof_core::app::path::Names;
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{Layer, Notes, Wiring};
use boxproof_core::name::Called;
use boxproof_core::plan::label::Abbreviations;
use boxproof_core::plan::{Duty, Evidence, Labels, Roles};
use boxproof_tests::played::{CASE, notes_of};

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");

/// What is proposed in a box, by the conductor's name.
fn proposed_in(notes: &Notes, layer: Layer, tag: &str, short: &Abbreviations) -> BTreeMap<String, String> {
    let (catalogue, wiring) = (Catalogue::shared(), Wiring::of(notes, layer));
    let at = Names::new(notes, catalogue, layer).box_named(tag).unwrap();
    let roles = Roles::of(&wiring, catalogue);
    let called = Called::new(&wiring, catalogue);
    let proposed = Labels::new(&wiring, catalogue, &roles, short).proposals(at);
    proposed.into_iter().map(|(tip, words)| (called.tip(&tip), words)).collect()
}

fn planned(notes: &Notes) -> Layer {
    Layer::Planned(notes.job_now().unwrap())
}

fn found(notes: &Notes) -> Layer {
    Layer::Found(notes.job_now().unwrap())
}

fn words(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
    pairs.iter().map(|(tip, words)| ((*tip).to_owned(), (*words).to_owned())).collect()
}

/// The demo job without what anybody wrote on tape.
fn unlabelled() -> Notes {
    let script: Vec<&str> = DEMO.lines().filter(|line| !line.contains("label ")).collect();
    notes_of(&script.join("\n"), Some("morning")).unwrap()
}

#[test]
fn the_demo_job_is_labelled_as_its_people_labelled_it() {
    let notes = unlabelled();
    let none = Abbreviations::new();
    let at = |tag| proposed_in(&notes, planned(&notes), tag, &none);
    assert_eq!(
        at("B3"),
        words(&[
            ("A black", "HOT IN"),
            ("A white", "NEUT IN"),
            ("B black", "TRAV 1"),
            ("B red", "TRAV 2"),
            ("B white", "NEUT B6"),
            ("C black", "TO B4"),
            ("C white", "NEUT B4"),
            ("D black", "SW LEG"),
            ("D white", "NEUT B5"),
        ])
    );
    assert_eq!(
        at("B6"),
        words(&[
            ("A black", "TRAV 1"),
            ("A red", "TRAV 2"),
            ("A white", "NEUT IN"),
            ("B black", "SW LEG"),
            ("B white", "NEUT B7"),
        ])
    );
    assert_eq!(at("B4"), words(&[("A black", "HOT IN"), ("A white", "NEUT")]));
    assert_eq!(at("B5"), words(&[("A black", "SW LEG IN"), ("A white", "NEUT")]));
    assert_eq!(at("B2")["B black"], "HOT OUT");
}

#[test]
fn what_is_noted_is_kept_and_followed() {
    let notes = notes_of(DEMO, Some("morning")).unwrap();
    let none = Abbreviations::new();
    let b3 = proposed_in(&notes, planned(&notes), "B3", &none);
    assert_eq!(b3, words(&[("C white", "NEUT B4")]), "everything else in B3 has a label");
    // Red was taken for the first traveler at the foot of the stair: the top follows, and black gets what is left.
    let script = CASE.to_owned() + PAIR + "label B3/A/red \"T1\"\n";
    let notes = notes_of(&script, None).unwrap();
    let at = |tag| proposed_in(&notes, found(&notes), tag, &none);
    assert_eq!((at("B6")["A red"].as_str(), at("B6")["A black"].as_str()), ("TRAV 1", "TRAV 2"));
    assert_eq!(at("B3")["A black"], "TRAV 2");
    // Words that are no number are followed as they stand.
    let script = CASE.to_owned() + PAIR + "label B3/A/red \"upper left screw\"\n";
    let notes = notes_of(&script, None).unwrap();
    let at = |tag| proposed_in(&notes, found(&notes), tag, &none);
    assert_eq!((at("B6")["A red"].as_str(), at("B6")["A black"].as_str()), ("upper left screw", "TRAV 1"));
    // Two travelers that both say 1 are nobody's to number.
    let script = CASE.to_owned() + PAIR + "label B3/A/red \"TRAV 1\" B3/A/black \"TRAV 1\"\n";
    let notes = notes_of(&script, None).unwrap();
    let b6 = proposed_in(&notes, found(&notes), "B6", &none);
    assert!(!b6.contains_key("A red") && !b6.contains_key("A black"), "{b6:?}");
}

#[test]
fn a_persons_own_words_stand_on_both_ends() {
    let notes = unlabelled();
    let short: Abbreviations =
        [("TRAV", "T"), ("SW LEG", "S.L."), ("TO", ">")].map(|(of, text)| (of.to_owned(), text.to_owned())).into();
    let b3 = proposed_in(&notes, planned(&notes), "B3", &short);
    let b6 = proposed_in(&notes, planned(&notes), "B6", &short);
    assert_eq!((b3["B black"].as_str(), b6["A black"].as_str()), ("T 1", "T 1"));
    assert_eq!((b3["D black"].as_str(), b3["C black"].as_str()), ("S.L.", "> B4"));
}

/// Two three-way switches with a lamp, each box fed by its own run.
const PAIR: &str = r#"
box tag=P location=cellar kind=panel system=split_phase
device P:7 kind=breaker-1p-15 number=7 leg=a
box tag=B3 location="foot of stair" kind=nonmetallic-2g
box tag=B6 location="top of stair" kind=nonmetallic-1g
box tag=B7 location=ceiling kind=octagon-4-1.5
run B3/F to=P kind=nm-14-2 feed=P:7
run B3/A to=B6/A kind=nm-14-3
run B6/B to=B7/A kind=nm-14-2
device B3:switch kind=switch-3way gang=1
device B6:switch kind=switch-3way gang=1
device B7:light kind=luminaire watts="lamp 34"
land B3/F/black B3:switch.common screw
land B3/A/black B3:switch.traveler_1 screw
land B3/A/red B3:switch.traveler_2 screw
join B3+neutrals B3/F/white B3/A/white
land B6/A/black B6:switch.traveler_1 screw
land B6/A/red B6:switch.traveler_2 screw
land B6/B/black B6:switch.common screw
join B6+neutrals B6/A/white B6/B/white
join B7+hot B7/A/black B7:light.hot
join B7+neutrals B7/A/white B7:light.neutral
"#;

#[test]
fn two_pairs_in_one_box_are_told_apart_and_numbers_agree_from_box_to_box() {
    // A second pair from B3 to B8, and a third to B6 beside the first.
    let more = r"
box tag=B8 location=porch kind=nonmetallic-2g
run B3/C to=B8/A kind=nm-14-3
device B3:second kind=switch-3way gang=2
device B8:switch kind=switch-3way gang=1
land B3/C/black B3:second.traveler_1 screw
land B3/C/red B3:second.traveler_2 screw
land B8/A/black B8:switch.traveler_2 screw
land B8/A/red B8:switch.traveler_1 screw
run B3/D to=B6/D kind=nm-14-3
device B3:third kind=switch-3way gang=3
device B6:third kind=switch-3way gang=2
land B3/D/black B3:third.traveler_1 screw
land B3/D/red B3:third.traveler_2 screw
land B6/D/black B6:third.traveler_1 screw
land B6/D/red B6:third.traveler_2 screw
run B3/G to=P kind=nm-14-2 feed=P:7
run B3/H to=P kind=nm-14-2 feed=P:7
land B3/G/black B3:second.common screw
land B3/H/black B3:third.common screw
";
    let notes = notes_of(&(CASE.to_owned() + PAIR + more), None).unwrap();
    let none = Abbreviations::new();
    let at = |tag| proposed_in(&notes, found(&notes), tag, &none);
    let (b3, b6, b8) = (at("B3"), at("B6"), at("B8"));
    let travelers = |all: &BTreeMap<String, String>| {
        all.iter()
            .filter(|(_, words)| words.starts_with("TRAV"))
            .map(|(tip, words)| (tip.clone(), words.clone()))
            .collect::<BTreeMap<_, _>>()
    };
    let here = travelers(&b3);
    assert_eq!(here.len(), 6, "{b3:?}");
    let apart: std::collections::BTreeSet<_> = here.values().collect();
    assert_eq!(apart.len(), 6, "two conductors in one box have the same words: {here:?}");
    assert!(here["C black"].ends_with(" B8") && here["A black"].ends_with(" B6"), "{here:?}");
    let number = |words: &str| words.split(' ').nth(1).unwrap().to_owned();
    for (near, far) in [
        (&here["A black"], &b6["A black"]),
        (&here["A red"], &b6["A red"]),
        (&here["C red"], &b8["A red"]),
        (&here["D red"], &b6["D red"]),
    ] {
        assert_eq!(number(near), number(far), "one conductor, two numbers: {near}, {far}");
    }
}

#[test]
fn what_colour_alone_suggests_and_what_is_not_known_gets_no_words() {
    let script = CASE.to_owned()
        + r"
box tag=B1 location=attic kind=octagon-4-1.5
run B1/A to=? kind=nm-14-2
run B1/B to=? kind=nm-14-3
";
    let notes = notes_of(&script, None).unwrap();
    assert_eq!(proposed_in(&notes, found(&notes), "B1", &Abbreviations::new()), BTreeMap::new());
}

#[test]
fn a_tape_in_somebodys_own_words_is_read_as_what_it_stands_for() {
    // Nothing here is traced: each run leads nobody knows where, so that the tapes alone tell.
    let boxes = r#"
box tag=B1 location=attic kind=octagon-4-1.5
run B1/A to=? kind=nm-14-2
run B1/B to=? kind=nm-14-3
label B1/A/black "S.L." B1/B/black "T 2" B1/B/red "FEED"
"#;
    let duties = |more: &str| {
        let notes = notes_of(&format!("{CASE}{boxes}{more}"), None).unwrap();
        let (catalogue, wiring) = (Catalogue::shared(), Wiring::of(&notes, found(&notes)));
        let roles = Roles::of(&wiring, catalogue);
        let names = Names::new(&notes, catalogue, found(&notes));
        ["B1/A/black", "B1/B/black", "B1/B/red"].map(|tip| {
            let role = roles.of_end(&names.tip(tip).unwrap());
            role.filter(|role| role.evidence == Evidence::Tape).map(|role| role.duty)
        })
    };
    assert_eq!(duties(""), [None; 3], "to everybody else these words say nothing");
    let own = r#"
set "A. Rowe" abbreviation="SW LEG" as="S.L."
set "A. Rowe" abbreviation=TRAV as=T
set "A. Rowe" abbreviation="HOT IN" as=feed
"#;
    let read = [Some(Duty::SwitchedLeg), Some(Duty::Traveler), Some(Duty::ConstantHot)];
    assert_eq!(duties(own), read);
    // Another person means something else by the same word: nobody can tell who wrote the tape.
    let other = "person name=\"B. Stone\"\nset \"B. Stone\" abbreviation=NEUT as=T\n";
    assert_eq!(duties(&format!("{own}{other}"))[1], None);
}
