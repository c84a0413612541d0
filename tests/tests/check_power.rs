//! The list before power and the live check. The items before power are those of 29 CFR 1910.333(b)(2)(v) and common
//! practice; a class A protective device trips between 4 and 6 mA (UL 943).

#![allow(
    clippy::redundant_closure_for_method_calls,
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "helpers of these tests stop at what they do not expect, as the tests do; a path instead of a closure has too narrow a lifetime"
)]

use std::collections::BTreeSet;

use boxproof_core::check::{Between, LiveCheck, Observed, ReadyItem, ReadyWhat, policies, readied};
use boxproof_core::job::value::{Promise, Promised};
use boxproof_core::job::{Figure, Handle, Happening, Layer, LoadPoint, Mode, Place, Purpose, Side, Value};
use boxproof_core::words::english;
use boxproof_tests::hand::{id, set};
use boxproof_tests::house::*;

const LAMP: (u32, &str) = (L7, "lamp");

fn list(house: &House) -> Vec<ReadyItem> {
    house.with_checks(|checks| checks.before_power(id(JOB), &[id(B3), id(B4)]))
}

fn item(house: &House, what: ReadyWhat) -> ReadyItem {
    list(house).into_iter().find(|item| item.what == what).unwrap()
}

fn ohms(house: &mut House, from: boxproof_core::job::Spot, to: boxproof_core::job::Spot, shown: Figure) {
    house.read(0, B3, reading(Purpose::BeforePower, from, to, Mode::Ohms, shown));
}

#[test]
fn the_list_before_power_is_done_item_by_item() {
    let mut house = House::checked();
    house.happens(0, B3, Happening::CoverOff);
    let done =
        |house: &House| list(house).into_iter().filter(|item| item.done).map(|item| item.what).collect::<Vec<_>>();
    assert_eq!(done(&house), [ReadyWhat::EndsCapped]);
    house.happens(0, B3, Happening::CoverOn);
    house.happens(0, JOB, Happening::Told("power comes back".to_owned()));
    house.happens(0, JOB, Happening::Readied(readied::LOADS_OFF.to_owned()));
    assert_eq!(done(&house), [ReadyWhat::EndsCapped, ReadyWhat::Covers, ReadyWhat::Told, ReadyWhat::LoadsOff]);
    ohms(&mut house, splice(NEUTRAL3), splice(HOT3), figure("36"));
    ohms(&mut house, splice(GROUND3), splice(HOT3), Figure::OverRange);
    ohms(&mut house, splice(GROUND3), splice(NEUTRAL3), figure("0.3"));
    house.happens(0, SEVEN, Happening::Unlocked(id(TOLLIVER)));
    assert!(list(&house).iter().all(|item| item.done && !item.looks_short), "{:?}", list(&house));
}

#[test]
fn what_was_told_before_the_outage_is_not_told_before_power() {
    let mut house = House::found();
    house.happens(0, JOB, Happening::Told("it goes off".to_owned()));
    house.lock(0, SEVEN, TOLLIVER);
    assert!(!item(&house, ReadyWhat::Told).done);
    house.happens(0, JOB, Happening::Readied(readied::TOLD.to_owned()));
    assert!(item(&house, ReadyWhat::Told).done);
}

#[test]
fn a_bare_end_is_left_whatever_was_ticked_off() {
    let mut house = House::locked();
    house.layer = Layer::Left(id(JOB));
    house.run(404, "nm-14-2", [(B3, "D"), (0, "A")]);
    assert!(!item(&house, ReadyWhat::EndsCapped).done, "nobody noted where three ends are");
    house.happens(0, JOB, Happening::Readied(readied::ENDS_CAPPED.to_owned()));
    assert!(item(&house, ReadyWhat::EndsCapped).done);
    house.place(&tip(404, BLACK, Side::Near), Place::Loose);
    assert!(!item(&house, ReadyWhat::EndsCapped).done);
    for wire in [BLACK, WHITE, BARE] {
        house.place(&tip(404, wire, Side::Near), Place::Capped);
    }
    assert!(item(&house, ReadyWhat::EndsCapped).left.is_empty());
    house.happens(0, NEUTRAL3, Happening::Parted);
    assert!(!item(&house, ReadyWhat::EndsCapped).done, "the ends of a parted splice are bare");
}

#[test]
fn metal_on_metal_looks_like_a_short_and_neutral_to_ground_never_does() {
    for (shown, short) in [("0.4", true), ("1.9", true), ("2", false), ("9.6", false)] {
        let mut house = House::locked();
        ohms(&mut house, splice(NEUTRAL3), splice(HOT3), figure(shown));
        ohms(&mut house, splice(GROUND3), splice(NEUTRAL3), figure(shown));
        assert_eq!(item(&house, ReadyWhat::Resistance(Between::HotNeutral)).looks_short, short, "{shown}");
        assert!(!item(&house, ReadyWhat::Resistance(Between::NeutralGround)).looks_short);
    }
}

#[test]
fn every_policy_is_called_a_policy() {
    assert_eq!(policies().len(), 4);
    for line in policies() {
        assert!(line.source.starts_with("project policy"), "{}", line.id);
        let words = english().find(&format!("policy.{}", line.id)).unwrap();
        assert!(words.contains("not of the code"), "{words}");
    }
}

fn live(house: &House, boxes: &[u32]) -> LiveCheck {
    let boxes: BTreeSet<_> = boxes.iter().map(|of| id(*of)).collect();
    house.with_checks(|checks| checks.live(&boxes, None))
}

fn volts(house: &mut House, of: u32, pair: [&str; 2], mode: Mode, shown: &str, range: Option<(&str, &str)>) {
    let mut one = reading(Purpose::Live, terminal(R4, pair[0]), terminal(R4, pair[1]), mode, figure(shown));
    one.shown = range.and_then(|(low, high)| expected(low, high));
    house.read(0, of, one);
}

#[test]
fn a_receptacle_calls_for_three_readings_and_a_lamp_for_every_position_of_its_switches() {
    let house = House::found();
    let check = live(&house, &[B3, B4]);
    let between: Vec<_> = check.readings.iter().map(|one| (one.load.load.as_str(), one.between)).collect();
    assert_eq!(
        between,
        [("upper", Between::HotNeutral), ("upper", Between::HotGround), ("upper", Between::NeutralGround)],
        "the links are whole: one half is read"
    );
    let positions: Vec<_> =
        check.trials.iter().map(|trial| trial.at.iter().map(|at| at.position.as_str()).collect::<Vec<_>>()).collect();
    assert_eq!(positions, [["up", "up"], ["up", "down"], ["down", "down"], ["down", "up"]], "one handle at a time");
    // A box that only passes the circuit on calls for nothing of its own.
    let check = live(&house, &[PANEL]);
    assert!(check.readings.is_empty() && check.trials.is_empty());
}

#[test]
fn a_broken_link_calls_for_both_halves() {
    let mut house = House::found();
    let broken = Value::Link(boxproof_core::job::value::Link { link: "hot".to_owned(), whole: false });
    house.note(vec![set(id(R4), house.layer, broken)]);
    assert_eq!(live(&house, &[B4]).readings.len(), 6);
}

#[test]
fn a_promise_is_tried_with_the_handles_that_it_names() {
    let mut house = House::found();
    house.a_box(209, "B9", "octagon-4-1.5");
    house.device(309, "luminaire", 209);
    let load = LoadPoint { device: id(309), load: "lamp".to_owned() };
    let rule = Promised::Toggled(BTreeSet::from([Handle { device: id(S3), switch: "handle".to_owned() }]));
    assert!(!live(&house, &[B4]).trials.iter().any(|trial| trial.load == load));
    house.note(vec![set(id(JOB), Layer::Site, Value::Promise(Promise { load: load.clone(), rule }))]);
    let trials: Vec<_> = live(&house, &[B4]).trials.into_iter().filter(|trial| trial.load == load).collect();
    assert_eq!(trials.len(), 2, "its wiring is not known; the promise names one handle");
}

#[test]
fn a_reading_is_judged_by_what_was_shown_beside_it_and_never_again() {
    let mut house = House::found();
    volts(&mut house, B4, ["neutral_1", "hot_1"], Mode::AcLow, "119.6", Some(("119.6", "120.4")));
    volts(&mut house, B4, ["hot_1", "ground"], Mode::AcHigh, "58", Some(("119.5", "120.5")));
    volts(&mut house, B4, ["ground", "neutral_1"], Mode::AcHigh, "0.3", None);
    let agrees = |house: &House| live(house, &[B4]).readings.iter().map(|one| one.agrees).collect::<Vec<_>>();
    assert_eq!(agrees(&house), [Some(true), Some(false), None], "at the edge is within; nothing shown, nothing judged");
    house.layer = Layer::Left(id(JOB));
    house.place(&tip(RUN_C, BARE, Side::Far), Place::Capped);
    assert_eq!(agrees(&house), [Some(true), Some(false), None], "later wiring changes nothing");
    assert!(!live(&house, &[B4]).agrees());
}

#[test]
fn a_disagreement_stands_until_the_same_point_is_tried_again_and_agrees() {
    let mut house = House::found();
    let down = vec![at(S3, "down"), at(S6, "down")];
    let up = vec![at(S3, "up"), at(S6, "up")];
    house.tries(LAMP, down.clone(), (false, Some(true)));
    house.tries(LAMP, up.clone(), (true, Some(true)));
    let standing = |house: &House| {
        let all = house.with_checks(|checks| checks.disagreements());
        (all.len(), all.iter().filter(|one| one.ended.is_none()).count())
    };
    assert_eq!(standing(&house), (1, 1), "another position that agrees ends nothing");
    house.tries(LAMP, down.clone(), (false, Some(false)));
    assert_eq!(standing(&house), (1, 0), "kept for the record");
    house.tries(LAMP, down.iter().rev().cloned().collect(), (true, Some(false)));
    assert_eq!(standing(&house), (2, 1));
    volts(&mut house, B4, ["neutral_1", "hot_1"], Mode::AcLow, "3", Some(("118", "121")));
    assert_eq!(standing(&house), (3, 2));
    volts(&mut house, B4, ["hot_1", "neutral_1"], Mode::AcHigh, "119.9", Some(("118", "121")));
    assert_eq!(standing(&house), (3, 1), "the same pair from the other side");
    let all = house.with_checks(|checks| checks.disagreements());
    assert!(matches!(&all[2].observed, Observed::Reading(of, _) if *of == id(B4)));
}

#[test]
fn a_low_impedance_reading_to_ground_behind_a_protective_device_trips_it() {
    let mut house = House::found();
    house.layer = Layer::Left(id(JOB));
    // A protective receptacle in B3 feeds the bench from its protected side.
    house.device(310, "receptacle-gfci-15", B3);
    house.pigtail(605, "pigtail-14-black", B3, HOT3, (310, "line_hot"));
    house.land(&tip(RUN_C, BLACK, Side::Near), 310, "load_hot");
    let trips = |house: &House| live(house, &[B4]).readings.iter().map(|one| one.trips).collect::<Vec<_>>();
    assert_eq!(trips(&house), [None, Some(id(310)), None]);
    let asks = |house: &House| live(house, &[B4]).readings[1].ask_tripped;
    volts(&mut house, B4, ["ground", "hot_1"], Mode::AcHigh, "0.2", None);
    assert!(!asks(&house), "at high impedance it does not trip");
    volts(&mut house, B4, ["ground", "hot_1"], Mode::AcLow, "0.2", None);
    assert!(asks(&house), "a sudden zero at low impedance");
    assert_eq!(trips(&House::found()), [None; 3]);
    // Its own outlets are on the protected side as well.
    let own = live(&house, &[B3]).readings;
    assert!(own.iter().any(|one| one.load.device == id(310) && one.trips == Some(id(310))), "{own:?}");
}
