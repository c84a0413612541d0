//! A job from an empty folder, noted only by pressing what the screens show.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod screen_support;

use boxproof_core::app::Sent;
use boxproof_core::job::{Kind, Layer, Place, Wiring};
use boxproof_core::screen::Edge;
use screen_support::{Thumb, picks};

/// A site, a person, a job, an arrival, a panel with a breaker.
fn begun() -> Thumb {
    let mut thumb = Thumb::new();
    thumb.press_and_type("New site", "Lantern Lane");
    thumb.press("Note who you are");
    thumb.fill("Name", "W. Tolliver").fill("License", "J-0417").press("Note this person");
    thumb.press("Note the job");
    thumb.fill("Name", "Back stair").choose("Edition", "NEC 2020").press("Note this job");
    thumb.press("Arrive");
    thumb.press("Note the first box");
    thumb.choose("Construction", "panel").choose("Place", "cellar");
    thumb.choose("Fed by", "120/240 V, split phase").press("Note box P");
    thumb.press("Note a device");
    thumb.choose("Kind", "single-pole breaker, 15 A").fill("Circuit number", "7").choose("Leg", "leg A");
    thumb.press("Note single-pole breaker, 15 A");
    thumb
}

fn front(thumb: &mut Thumb) -> &mut Thumb {
    let address = thumb.screen.address.split("site=").nth(1).unwrap().split(' ').next().unwrap().to_owned();
    thumb.screen = thumb.notebook.screen(&format!("job site={address}")).unwrap();
    thumb
}

/// From a box's page to everything in it, as a list.
fn list(thumb: &mut Thumb) -> &mut Thumb {
    thumb.enter("Everything in it")
}

/// Two boxes with a run between them, and one from the panel; a switch, a splice, a label.
fn wired() -> Thumb {
    let mut thumb = begun();
    front(&mut thumb).press("Note a box");
    thumb.choose("Place", "foot of stair").choose("Construction", "nonmetallic two-gang");
    thumb.fill("Volume marked on it", "32.0").choose("Internal cable clamps", "1");
    thumb.press("Note box B1");
    thumb.press("Note a run");
    thumb.choose("Type", "14-2 with ground").choose("Enters the box at", "bottom left").choose("Comes from", "P");
    thumb.choose("Breaker", "Circuit 7").fill("Length", "9").press("Note run A");
    thumb.press("Note a run").choose("Type", "14-3 with ground").choose("Comes from", "new box");
    thumb.choose("Place", "top of stair").press("Note box B2");
    thumb.fill("Length", "31").choose("The length is", "estimated").press("Note run B");
    thumb.press("Note a device").choose("Kind", "three-way switch").press("Note three-way switch");
    thumb
}

fn site_wiring(thumb: &Thumb) -> Wiring {
    let site = thumb.notebook.sites().unwrap()[0];
    let notes = thumb.notebook.notes(site).unwrap();
    let job = notes.things(Kind::Job, Layer::Site)[0];
    Wiring::of(&notes, Layer::Found(job))
}

#[test]
fn a_job_is_noted_by_pressing_what_is_shown() {
    let mut thumb = wired();
    assert_eq!((thumb.screen.tag.as_deref(), thumb.screen.title.as_str()), (Some("B1"), "foot of stair"));
    let wiring = site_wiring(&thumb);
    assert_eq!(wiring.boxes.len(), 3);
    assert_eq!(wiring.runs.len(), 2);
    // Trade fact: 14-2 and 14-3 with ground bring three and four conductors; seven ends are in the box, none placed.
    assert!(thumb.shows("7 ends not placed"), "{}", thumb.seen());

    thumb.press("Note a splice").choose("Ends in it", "A bare").choose("Ends in it", "B bare");
    thumb.choose("Pigtails from it", "to three-way switch, ground").choose("Connector", "middle wire connector");
    thumb.press("Note grounds");
    list(&mut thumb);
    let row = thumb.row("grounds: middle wire connector");
    assert_eq!(row.edge, Some(Edge::Found));
    assert!(row.spoken.contains("3 ends, pack not noted"), "{}", row.spoken);
    let wiring = site_wiring(&thumb);
    let splice = *wiring.splices.keys().next().unwrap();
    assert_eq!(wiring.ends_in(splice).len(), 3);

    thumb.enter("B: 14-3 with ground, B2").enter("not known");
    thumb.choose("Terminals with nothing on them", "to three-way switch, traveler 1");
    let landed = site_wiring(&thumb);
    let on_terminal = landed.tips.values().filter(|note| matches!(note.place.get(), Some(Place::Terminal { .. })));
    assert_eq!(on_terminal.count(), 2, "the pigtail and the traveler");

    thumb.press("Labels").enter("B black").press("TRAV 1");
    assert!(thumb.row("B black").spoken.contains("TRAV 1"));
    thumb.press("Back to the box").press("Cover off");
    assert!(list(&mut thumb).shows("Cover off since"));
    front(&mut thumb);
    assert!(thumb.shows("1 cover off"), "{}", thumb.seen());
}

#[test]
fn boxes_stand_as_the_power_runs() {
    let mut thumb = wired();
    front(&mut thumb);
    let tags: Vec<String> = thumb
        .screen
        .rows
        .iter()
        .filter_map(|row| match &row.body {
            boxproof_core::screen::Body::Item { tag, .. } => tag.clone(),
            _ => None,
        })
        .collect();
    assert_eq!(tags, ["P", "B1", "B2"]);
    assert_eq!(thumb.box_row("top of stair").edge, Some(Edge::Unknown), "nobody has looked into B2");
}

#[test]
fn a_second_tap_notes_once_and_an_old_screen_notes_nothing() {
    let mut thumb = begun();
    front(&mut thumb).press("Note a box").choose("Free tags", "B1");
    let token = picks(&thumb.screen).into_iter().find(|pick| pick.text == "Note box B1").unwrap().token;
    let sent = Sent { token, input: None, drawn: thumb.screen.drawn };
    let first = thumb.notebook.send(&sent).unwrap();
    let second = thumb.notebook.send(&sent).unwrap();
    assert_eq!(first, second, "a second tap changes nothing");
    assert_eq!(site_wiring(&thumb).boxes.len(), 2);

    let take_back = picks(&first).into_iter().find(|pick| pick.text == "Cover off").unwrap().token;
    let stale = Sent { token: take_back, input: None, drawn: first.drawn - 1 };
    let refusal = thumb.notebook.send(&stale).unwrap_err().to_string();
    assert!(refusal.contains("changed since this screen was drawn"), "{refusal}");
    assert_eq!(thumb.notebook.screen(&first.address).unwrap().drawn, first.drawn);
}

#[test]
fn a_source_is_held_by_a_lock_and_the_screens_say_so() {
    let mut thumb = wired();
    front(&mut thumb).press("Sources");
    assert_eq!(thumb.row("Circuit 7").edge, Some(Edge::Unknown), "nobody noted how it is held");
    thumb.enter("Circuit 7").press("OFF, my lock and tag on");
    thumb.wait(11);
    front(&mut thumb);
    assert!(thumb.row("Circuit 7: OFF since 08:41").spoken.contains("lock and tag: W. Tolliver"));
    assert!(thumb.screen.ongoing.as_deref().is_some_and(|line| line.starts_with("Circuit 7 OFF since 08:41")));
    list(thumb.enter("foot of stair")).enter("What can make it live");
    assert!(thumb.shows("Circuit 7"), "the run from the panel leads to it: {}", thumb.seen());
    thumb.enter("Circuit 7");
    assert!(picks(&thumb.screen).iter().all(|pick| pick.text != "ON"), "a locked source is not switched ON");
    thumb.press("My lock off").press("ON");
    assert!(thumb.screen.ongoing.is_none());
}

#[test]
fn a_run_noted_at_one_end_is_taken_up_at_the_other() {
    let mut thumb = wired();
    front(&mut thumb).enter("top of stair").press("Note a run");
    thumb.choose("Type", "14-2 with ground").choose("Comes from", "not known").press("Note run B");
    list(&mut thumb);
    assert!(
        thumb.shows("other end of B not known") || thumb.shows("B: 14-2 with ground, not known"),
        "{}",
        thumb.seen()
    );
    front(&mut thumb).press("Note a box").choose("Place", "hall").press("Note box B3");
    thumb.press("Note a run").choose("Comes from", "B2").choose("Enters the box at", "top").press("Note run A");
    let wiring = site_wiring(&thumb);
    assert_eq!(wiring.runs.len(), 3, "no second run is noted");
    list(&mut thumb);
    assert!(thumb.shows("A: 14-2 with ground, B2"), "{}", thumb.seen());
    assert!(thumb.shows("top; A black"), "{}", thumb.seen());
}

#[test]
fn a_plan_is_a_layer_and_its_changes_are_counted() {
    let mut thumb = wired();
    front(&mut thumb).enter("foot of stair").choose("Layer", "planned");
    thumb.press("Note a device").choose("Kind", "duplex receptacle, 15 A").press("Note duplex receptacle, 15 A");
    assert!(thumb.shows("duplex receptacle, 15 A new"), "{}", thumb.seen());
    front(&mut thumb);
    let row = thumb.box_row("foot of stair");
    assert_eq!(row.edge, Some(Edge::Planned));
    assert!(row.spoken.contains("planned: 1 change"), "{}", row.spoken);
    assert!(site_wiring(&thumb).devices.len() == 2, "as found there are the breaker and the switch");
    thumb
        .press("What was asked")
        .enter("upper half")
        .choose("Toggled by", "B1 three-way switch")
        .press("Toggled by these");
    assert!(thumb.row("upper half").spoken.contains("toggled by B1 three-way switch"), "{}", thumb.seen());
    front(&mut thumb).enter("foot of stair").press("Left as planned");
    assert_eq!(thumb.row("Layer").spoken, "Layer, left");
    front(&mut thumb);
    assert_eq!(thumb.box_row("foot of stair").edge, Some(Edge::Unchecked), "bulk is not sight");
}

#[test]
fn what_is_taken_back_stays_readable() {
    let mut thumb = wired();
    thumb.press_and_type("Remark", "plaster is loose");
    assert!(list(&mut thumb).shows("remark: plaster is loose"));
    thumb.press("Take back");
    assert!(!thumb.shows("remark: plaster is loose"));
    thumb.enter("History");
    assert!(thumb.row("plaster is loose").spoken.contains("struck out"), "{}", thumb.seen());
    thumb.press("Bring back");
    assert!(!thumb.row("plaster is loose").spoken.contains("struck out"), "{}", thumb.seen());
}

#[test]
fn one_conductor_is_moved_by_two_touches_of_the_picture() {
    let mut thumb = wired();
    let before = site_wiring(&thumb);
    assert!(before.tips.is_empty());
    // One touch takes the end in hand, the next says where it goes: a terminal.
    thumb.touch("B black");
    assert!(thumb.screen.address.starts_with("end "), "{}", thumb.screen.address);
    thumb.touch("nothing on three-way switch, traveler 1");
    assert!(thumb.screen.address.starts_with("box "), "{}", thumb.screen.address);
    let wiring = site_wiring(&thumb);
    let on = wiring.tips.values().filter(|note| matches!(note.place.get(), Some(Place::Terminal { .. })));
    assert_eq!(on.count(), 1);
    // Onto an end that nobody placed: both are in a new splice.
    thumb.touch("A black");
    thumb.touch("B red");
    let wiring = site_wiring(&thumb);
    let splice = *wiring.splices.keys().next().unwrap();
    assert_eq!(wiring.ends_in(splice).len(), 2);
    // Onto an end in a splice: into that splice; onto one on a terminal: onto that terminal.
    thumb.touch("A white");
    thumb.touch("A black");
    assert_eq!(site_wiring(&thumb).ends_in(splice).len(), 3);
    thumb.touch("B red");
    thumb.touch("B black");
    let wiring = site_wiring(&thumb);
    assert_eq!(wiring.ends_in(splice).len(), 2, "it has left the splice");
    let on = wiring.tips.values().filter(|note| matches!(note.place.get(), Some(Place::Terminal { .. })));
    assert_eq!(on.count(), 2, "two on one terminal, as it was said");
    // Touched again, it stays where it is; a device offers its terminals.
    thumb.touch("A white");
    thumb.touch("A white");
    assert!(thumb.screen.address.starts_with("box "));
    thumb.touch("A white");
    let of_device = |place: &boxproof_core::screen::Touch| place.spoken.starts_with("three-way switch");
    let boxproof_core::screen::Body::Drawing { places, .. } = &thumb.row("Box B1").body else { panic!("no picture") };
    let token = places.iter().find(|place| of_device(place)).unwrap().token.clone();
    thumb.try_send(&token, None).unwrap();
    thumb.choose("three-way switch", "common");
    assert_eq!(site_wiring(&thumb).ends_in(splice).len(), 1);
}

#[test]
fn a_box_that_an_open_run_leads_to_has_that_run_when_it_is_noted() {
    let mut thumb = wired();
    thumb.press("Note a run").choose("Type", "14-2 with ground").press("Note run C");
    front(&mut thumb).press("Note a box").choose("It is where this run leads", "B1").press("Note box B3");
    let wiring = site_wiring(&thumb);
    assert_eq!(wiring.runs.len(), 3);
    assert!(list(&mut thumb).shows("A: 14-2 with ground, B1"), "{}", thumb.seen());
    // One touch: the same construction with the next free tag; one more run like the last, one more device.
    front(&mut thumb).press("Note a box").press("Like B1");
    assert_eq!(thumb.screen.tag.as_deref(), Some("B4"));
    let wiring = site_wiring(&thumb);
    let alike = wiring.boxes.values().filter(|note| note.gangs.get() == Some(&2) && note.volume.is_said());
    assert_eq!(alike.count(), 2);
    front(&mut thumb).enter("foot of stair").press("One more run like C").press("One more three-way switch");
    let wiring = site_wiring(&thumb);
    assert_eq!(wiring.runs.len(), 4);
    let gangs: Vec<_> = wiring.devices.values().filter_map(|note| note.gang.get().copied()).collect();
    assert_eq!(gangs, [1, 2]);
}

#[test]
fn a_run_noted_from_both_ends_is_found_and_joined() {
    let mut thumb = wired();
    for place in ["foot of stair", "top of stair"] {
        front(&mut thumb).enter(place).press("Note a run").choose("Type", "12-2 with ground");
        let letter = if place == "foot of stair" { "Note run C" } else { "Note run B" };
        thumb.choose("Comes from", "not known").press(letter);
    }
    assert_eq!(site_wiring(&thumb).runs.len(), 4);
    front(&mut thumb).enter("2 runs may be one with another").press("They are one run");
    let wiring = site_wiring(&thumb);
    assert_eq!(wiring.runs.len(), 3);
    let joined = wiring.runs.values().find(|run| run.kind.get().is_some_and(|kind| kind == "nm-12-2")).unwrap();
    let boxes = [&joined.near, &joined.far].map(|side| side.in_box.get().copied().flatten().map(|at| wiring.tag(at)));
    assert_eq!(boxes.map(Option::unwrap).iter().collect::<std::collections::BTreeSet<_>>().len(), 2);
    assert!(!front(&mut thumb).shows("may be one"), "{}", thumb.seen());
    assert!(!thumb.shows("noted twice"), "what was not known does not stand against what is: {}", thumb.seen());
}

#[test]
fn grounds_together_is_one_act_and_no_observation() {
    let mut thumb = wired();
    thumb.press("Grounds are together");
    let wiring = site_wiring(&thumb);
    let splice = *wiring.splices.keys().next().unwrap();
    assert_eq!(wiring.ends_in(splice).len(), 2);
    let how: Vec<_> = wiring.tips.values().filter_map(|note| note.place.basis().map(|basis| basis.how)).collect();
    assert_eq!(how, [boxproof_core::job::How::Confirmed; 2]);
    assert!(picks(&thumb.screen).iter().all(|pick| pick.text != "Grounds are together"));
}

#[test]
fn nothing_optional_has_to_be_answered() {
    let mut thumb = begun();
    front(&mut thumb).press("Note a box").press("Note box B1");
    thumb.press("Note a run").choose("Type", "not known").press("Note run A");
    thumb.press("Note a device").choose("Kind", "single-pole switch").press("Note single-pole switch");
    for kind in ["knob and tube, two conductors", "old 14-2 without ground"] {
        thumb.press("Note a run").choose("Type", kind).press("Note run B");
        let wiring = site_wiring(&thumb);
        assert_eq!(wiring.runs.values().filter(|run| run.kind.is_said()).count(), 1, "{kind}");
        thumb.press("Take back");
    }
    thumb.press("Note a run").choose("Type", "EMT").choose("Conductors in it", "black, white, green");
    thumb.choose("One more conductor", "red").choose("Size of its conductors", "12 AWG").press("Note run B");
    let wiring = site_wiring(&thumb);
    let raceway = wiring.runs.values().find(|run| run.wires.len() == 4).unwrap();
    assert!(raceway.wires.values().all(|wire| wire.get().unwrap().size == "12"));
    thumb
        .press("Note a run")
        .choose("Type", "14-2 with ground")
        .choose("Colors seen", "painted over")
        .press("Note run C");
    assert!(list(&mut thumb).shows("C painted"), "{}", thumb.seen());
    front(&mut thumb).enter("P").press("Note a device").choose("Kind", "single-pole breaker, 20 A");
    thumb.press("Note single-pole breaker, 20 A");
    assert_eq!(site_wiring(&thumb).devices.len(), 3);
}
