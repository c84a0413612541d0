//! What can make a box live, found by connectivity, and how each of it is held. A breaker for every hot, the other leg
//! of a shared neutral among them: NEC 210.4(B) wants both legs of a multiwire branch circuit opened together for the
//! same reason.

use std::collections::BTreeSet;

use boxproof_core::check::{Left, Reach, SourceKind, SourceState, UnknownFeed};
use boxproof_core::job::value::SupplyKind;
use boxproof_core::job::{Bus, Happening, Held, Kind, Layer, Place, Side, Spot, Subject, Value};
use boxproof_tests::hand::{id, instead, set};
use boxproof_tests::house::*;

fn sources(house: &House, of: u32) -> Vec<(u32, Reach)> {
    let number = |source| [FIVE, SEVEN, NINE, 150, 160].into_iter().find(|n| id(*n) == source).unwrap_or(0);
    let isolation = house.with_checks(|checks| checks.isolation(id(of)));
    isolation.sources.iter().map(|source| (number(source.id), source.reach)).collect()
}

fn unknown(house: &House, of: u32) -> Vec<UnknownFeed> {
    house.with_checks(|checks| checks.isolation(id(of))).unknown
}

/// Circuit 9 comes into a box by a cable of its own.
fn second_circuit(house: &mut House, at: u32) {
    house.run(410, "nm-14-2", [(PANEL, "B"), (at, "F")]);
    house.note(vec![set(Subject::Side(id(410), Side::Near), house.layer, Value::Feed(id(NINE)))]);
    house.place(&tip(410, BLACK, Side::Far), Place::Capped);
}

/// A 14-3 from the panel to B4: black of circuit 7's bench, red of circuit 9, one white.
fn multiwire(house: &mut House) {
    house.run(411, "nm-14-3", [(PANEL, "M"), (B4, "M")]);
    for (wire, breaker) in [(BLACK, FIVE), (RED, NINE)] {
        house.land(&tip(411, wire, Side::Near), breaker, "load");
    }
    house.place(&tip(411, RED, Side::Far), Place::Capped);
    house.place(&tip(411, BLACK, Side::Far), Place::Capped);
}

#[test]
fn a_breaker_reaches_through_splices_switches_and_on_to_the_last_lamp() {
    let house = House::found();
    for of in [B3, B4, B6, B7] {
        assert_eq!(sources(&house, of), [(SEVEN, Reach::Wired)], "{of}");
        assert!(unknown(&house, of).is_empty());
    }
    let kind = house.with_checks(|checks| checks.isolation(id(B7)).sources[0].kind);
    assert_eq!(kind, SourceKind::Breaker);
}

#[test]
fn a_landing_that_is_noted_counts_instead_of_the_one_that_is_assumed() {
    let mut house = House::found();
    house.land(&tip(RUN_A, BLACK, Side::Near), NINE, "load");
    assert_eq!(sources(&house, B3), [(NINE, Reach::Wired)]);
}

#[test]
fn a_box_with_two_circuits_is_shared() {
    let mut house = House::found();
    second_circuit(&mut house, B6);
    assert_eq!(sources(&house, B6), [(SEVEN, Reach::Wired), (NINE, Reach::Wired)]);
    assert_eq!(sources(&house, B3), [(SEVEN, Reach::Wired)], "not beyond the capped end");
    assert!(house.with_checks(|checks| checks.isolation(id(B6)).is_shared()));
}

#[test]
fn the_other_leg_of_a_shared_neutral_is_a_source() {
    let mut house = House::found();
    multiwire(&mut house);
    // In B4 both legs are wired. In a box beyond, only one leg goes on, with the white: the other leg still matters.
    house.a_box(208, "B9", "nonmetallic-1g");
    house.run(412, "nm-14-2", [(B4, "N"), (208, "A")]);
    house.join(530, B4, &[tip(411, BLACK, Side::Far), tip(412, BLACK, Side::Near)]);
    house.join(531, B4, &[tip(411, WHITE, Side::Far), tip(412, WHITE, Side::Near)]);
    assert_eq!(sources(&house, 208), [(FIVE, Reach::Wired), (NINE, Reach::SharedNeutral)]);
    // Somebody looked and noted that it does not.
    house.fed_by(208, NINE, false);
    assert_eq!(sources(&house, 208), [(FIVE, Reach::Wired)]);
}

#[test]
fn a_cable_with_two_hots_and_one_white_asks_for_the_other_breaker() {
    let mut house = House::found();
    house.run(413, "nm-14-3", [(0, "?"), (B4, "G")]);
    for wire in [BLACK, RED] {
        house.place(&tip(413, wire, Side::Far), Place::Capped);
    }
    assert!(unknown(&house, B4).contains(&UnknownFeed::OtherBreaker(id(413), Side::Far)));
    assert!(unknown(&house, B4).contains(&UnknownFeed::Spot(end(413, RED, Side::Far))));
    house.fed_by(B4, NINE, true);
    assert!(unknown(&house, B4).is_empty());
    assert!(sources(&house, B4).contains(&(NINE, Reach::Noted)));
    // A traveler cable has two hots and one white too; its feed is known, so nothing is asked.
    assert!(unknown(&House::found(), B6).is_empty());
}

#[test]
fn a_conductor_from_where_nobody_looked_is_not_known_and_one_that_ends_in_the_air_is_nothing() {
    let mut house = House::found();
    house.run(414, "nm-14-2", [(0, "?"), (B4, "G")]);
    house.place(&tip(414, BLACK, Side::Far), Place::Capped);
    assert_eq!(
        unknown(&house, B4),
        [
            UnknownFeed::Spot(end(414, BLACK, Side::Far)),
            UnknownFeed::Spot(end(414, WHITE, Side::Far)),
            UnknownFeed::Spot(end(414, BARE, Side::Far))
        ]
    );
    // A new run whose other end hangs loose in a box at hand: nothing is on it yet.
    let mut house = House::found();
    house.a_box(205, "B5", "round-4-2.125");
    house.run(404, "nm-14-2", [(B3, "D"), (205, "A")]);
    for wire in [BLACK, WHITE, BARE] {
        house.place(&tip(404, wire, Side::Near), Place::Loose);
    }
    assert!(sources(&house, 205).is_empty() && unknown(&house, 205).is_empty());
}

#[test]
fn a_box_that_was_never_opened_further_on_does_not_stop_the_work() {
    let mut house = House::found();
    house.a_box(208, "B8", "octagon-4-1.5");
    house.run(415, "nm-14-2", [(B7, "B"), (208, "A")]);
    house.place(&tip(415, BLACK, Side::Near), Place::Splice(id(521)));
    house.place(&tip(415, WHITE, Side::Near), Place::Splice(id(522)));
    house.place(&tip(415, BARE, Side::Near), Place::Splice(id(523)));
    assert!(unknown(&house, B7).is_empty());
    assert_eq!(sources(&house, B7), [(SEVEN, Reach::Wired)]);
}

#[test]
fn another_supply_counts_where_it_is_noted_along_the_wiring_and_if_nobody_knows() {
    let mut house = House::found();
    house.thing(150, Kind::Supply, vec![Value::Supply(SupplyKind::Cord)]);
    assert_eq!(sources(&house, B3), [(SEVEN, Reach::Wired), (150, Reach::NotKnown)]);
    house.fed_by(B4, 150, true);
    assert_eq!(sources(&house, B3), [(SEVEN, Reach::Wired), (150, Reach::Noted)], "it feeds back along run C");
    house.fed_by(B3, 150, false);
    assert_eq!(sources(&house, B3), [(SEVEN, Reach::Wired)]);
}

/// Where the conductors of a generator are noted to come in, the wiring itself tells which boxes it reaches.
#[test]
fn another_supply_reaches_what_its_conductors_lead_to() {
    let mut house = House::found();
    house.thing(150, Kind::Supply, vec![Value::Supply(SupplyKind::Generator)]);
    house.run(416, "nm-14-2", [(B3, "Y"), (0, "A")]);
    house.place(&tip(416, BLACK, Side::Near), Place::Splice(id(HOT3)));
    house.place(&tip(416, BLACK, Side::Far), Place::Bus { panel: id(150), bus: Bus::A });
    for at in [B3, B4] {
        assert_eq!(sources(&house, at), [(SEVEN, Reach::Wired), (150, Reach::Wired)]);
    }
    house.place(&tip(416, BLACK, Side::Near), Place::Capped);
    assert_eq!(sources(&house, B3), [(SEVEN, Reach::Wired), (150, Reach::Wired)], "its live end is capped here");
    assert_eq!(sources(&house, B4), [(SEVEN, Reach::Wired)], "it is known where it comes in, and that is not here");
}

#[test]
fn a_lock_on_a_disconnect_before_the_box_holds_its_breaker() {
    let mut house = House::found();
    house.device(160, "disconnect-1p", B3);
    house.layer = Layer::Left(id(JOB));
    house.land(&tip(RUN_A, BLACK, Side::Far), 160, "line");
    house.pigtail(604, "pigtail-14-black", B3, HOT3, (160, "load"));
    house.lock(0, 160, TOLLIVER);
    let isolation = house.with_checks(|checks| checks.isolation(id(B4)));
    assert_eq!(isolation.sources[0].behind.len(), 1);
    assert!(isolation.is_held_by(id(TOLLIVER)) && !isolation.is_held_by(id(FERROW)));
    let before = house.with_checks(|checks| checks.isolation(id(B3)));
    assert!(!before.is_held_by(id(TOLLIVER)), "its line side is in B3");
}

#[test]
fn a_source_stands_as_it_was_noted_last() {
    let mut house = House::found();
    let mut hold = |what: Vec<Happening>| {
        for one in what {
            house.happens(0, SEVEN, one);
        }
        house.with_checks(|checks| checks.hold(id(SEVEN)))
    };
    assert_eq!(hold(vec![]).state, SourceState::NotKnown);
    assert_eq!(hold(vec![Happening::Switched { on: true }]).state, SourceState::On);
    assert_eq!(hold(vec![Happening::Switched { on: false }]).state, SourceState::Off);
    let (one, other) = (id(TOLLIVER), id(FERROW));
    let locked = hold(vec![Happening::Isolated(Held::Lock(one)), Happening::Isolated(Held::Lock(other))]);
    assert_eq!((locked.state, locked.locks.len()), (SourceState::Locked, 2));
    assert_eq!(hold(vec![Happening::Unlocked(one)]).state, SourceState::Locked);
    let off = hold(vec![Happening::Unlocked(other)]);
    assert_eq!((off.state, off.locks.len(), off.locked_since), (SourceState::Off, 0, None));
    assert_eq!(hold(vec![Happening::Unlocked(other)]).state, SourceState::Off, "a lock that is not there");
    // A source that is said to be ON is held by nothing, whatever locks were noted.
    let on = hold(vec![Happening::Isolated(Held::Lock(one)), Happening::Switched { on: true }]);
    assert_eq!((on.state, on.locks.len()), (SourceState::On, 0));
    assert_eq!(hold(vec![Happening::Isolated(Held::Guarded)]).state, SourceState::Guarded);
    assert_eq!(hold(vec![Happening::Isolated(Held::NotKnown)]).state, SourceState::NotKnown);
}

#[test]
fn a_circuit_that_stays_on_guarded_keeps_a_check_from_counting() {
    let mut house = House::checked();
    second_circuit(&mut house, B3);
    house.happens(0, NINE, Happening::Isolated(Held::Guarded));
    let isolation = house.with_checks(|checks| checks.isolation(id(B3)));
    assert_eq!(isolation.not_held_by(id(TOLLIVER)), [id(NINE)]);
}

#[test]
fn whoever_switches_on_sees_whose_locks_are_still_noted() {
    let mut house = House::locked();
    house.happens(1, SEVEN, Happening::Isolated(Held::Lock(id(FERROW))));
    let locks = |house: &House| house.with_checks(|checks| checks.locks_on(&BTreeSet::from([id(SEVEN), id(NINE)])));
    assert_eq!(locks(&house).len(), 2);
    house.happens(0, SEVEN, Happening::Unlocked(id(TOLLIVER)));
    let left = locks(&house);
    assert!(matches!(left.as_slice(), [Left::Lock { person, .. }] if *person == id(FERROW)), "{left:?}");
}

#[test]
fn a_breaker_that_two_people_note_differently_counts_both_ways() {
    let mut house = House::found();
    let of = id(B4);
    for (reaches, replaces) in [(true, vec![]), (false, vec![])] {
        let value = Value::FedBy(boxproof_core::job::value::FedBy { source: id(NINE), reaches });
        house.note(vec![instead(of, house.layer, value, &replaces)]);
    }
    assert!(sources(&house, B4).contains(&(NINE, Reach::Noted)), "the careful reading counts");
}

#[test]
fn a_spot_of_another_circuit_is_in_the_list_of_pairs_too() {
    let mut house = House::found();
    second_circuit(&mut house, B6);
    let pairs = house.with_checks(|checks| checks.pairs(id(B6), None));
    let other: Spot = end(410, BLACK, Side::Far);
    assert!(pairs.iter().any(|question| question.pair.to == other || question.pair.from == other));
}
