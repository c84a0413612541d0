//! The state of a dead check. The order of acts is that of NFPA 70E-2021 120.5 (sources found, OFF, locked, the
//! instrument shown to work before and after, every conductor to every other and to ground); that proximity proves
//! nothing is the DOE electrical safety handbook's word; a lock for each worker is 29 CFR 1910.147(f)(3). The limits
//! are this project's policies.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "helpers of these tests stop at what they do not expect, as the tests do"
)]

use boxproof_core::check::{CannotProve, DeadState, Mistake, NOTHING_LIT, NeutralRule, StaleWhy, Try, Verdict};
use boxproof_core::job::happening::Question;
use boxproof_core::job::value::SupplyKind;
use boxproof_core::job::{
    FieldKind, Figure, Happening, Held, Kind, Layer, Mode, Place, Purpose, Side, Spot, Subject, Value,
};
use boxproof_tests::hand::{add, id, set};
use boxproof_tests::house::*;

const CHECK: u32 = 901;

fn state(house: &House) -> DeadState {
    house.dead(B3, TOLLIVER).state
}

fn holds(house: &House) -> bool {
    house.dead(B3, TOLLIVER).counts()
}

/// Why the last check of a box is stale, for a person.
fn causes(house: &House, of: u32, person: u32) -> Vec<StaleWhy> {
    match house.dead(of, person).state {
        DeadState::Stale { causes, .. } => causes.into_iter().map(|cause| cause.why).collect(),
        state => panic!("not stale: {state:?}"),
    }
}

#[test]
fn the_acts_in_their_order_lead_from_not_begun_to_holds() {
    let mut house = House::read_live();
    assert_eq!(state(&house), DeadState::NotBegun);
    assert_eq!(house.dead(B3, TOLLIVER).references.len(), 1, "the ground was read against the hot");
    house.book.at(8, 52);
    house.lock(0, SEVEN, TOLLIVER);
    house.prove(0, Mode::AcLow, figure("121.4"));
    let pairs = house.with_checks(|checks| checks.pairs(id(B3), None));
    house.ask(0, B3, CHECK, pairs.clone());
    for (read, question) in pairs.iter().enumerate() {
        assert_eq!(state(&house), DeadState::Reading { asked: 17, read });
        house.answer(0, B3, CHECK, question, figure("0.1"));
    }
    assert_eq!(state(&house), DeadState::ProveAgain(vec![id(METER)]));
    house.book.at(9, 10);
    house.prove(0, Mode::AcLow, figure("121.3"));
    let DeadState::Holds { since } = state(&house) else { panic!("{:?}", state(&house)) };
    assert_eq!(since.wall.clock(), "09:10");
    house.happens(0, B3, Happening::CoverOn);
    assert!(holds(&house), "a cover changes nothing");
}

#[test]
fn marking_and_measuring_lengths_change_nothing() {
    let mut house = House::checked();
    let of = tip(RUN_B, RED, Side::Near);
    let label = set(of.clone(), house.layer, Value::Label(Some("TRAV 2".to_owned())));
    house.note(vec![label, set(of, house.layer, Value::FreeLength("6".parse().unwrap()))]);
    assert!(holds(&house));
}

type Act = fn(&mut House);

/// Each of these ends the check; the last column is the reason that must be among those given.
fn endings() -> Vec<(&'static str, Act, StaleWhy)> {
    [ended_holds(), ended_visits(), changed_wiring()].concat()
}

fn ended_holds() -> Vec<(&'static str, Act, StaleWhy)> {
    vec![
        (
            "the lock came off",
            |h| {
                h.happens(0, SEVEN, Happening::Unlocked(id(TOLLIVER)));
            },
            StaleWhy::HoldEnded(id(SEVEN)),
        ),
        (
            "switched ON",
            |h| {
                h.happens(1, SEVEN, Happening::Switched { on: true });
            },
            StaleWhy::HoldEnded(id(SEVEN)),
        ),
        (
            "guarded instead",
            |h| {
                h.happens(0, SEVEN, Happening::Isolated(Held::Guarded));
            },
            StaleWhy::HoldEnded(id(SEVEN)),
        ),
        (
            "no longer known",
            |h| {
                h.happens(0, SEVEN, Happening::Isolated(Held::NotKnown));
            },
            StaleWhy::HoldEnded(id(SEVEN)),
        ),
        (
            "a generator was started",
            |h| {
                h.thing(150, Kind::Supply, vec![Value::Supply(SupplyKind::Generator)]);
                h.fed_by(B3, 150, false);
                h.happens(0, 150, Happening::Switched { on: true });
            },
            StaleWhy::Started(id(150)),
        ),
    ]
}

fn ended_visits() -> Vec<(&'static str, Act, StaleWhy)> {
    vec![
        (
            "left for lunch",
            |h| {
                h.happens(0, TOLLIVER, Happening::Gone { ended: false });
            },
            StaleWhy::Left(id(TOLLIVER)),
        ),
        (
            "the visit ended",
            |h| {
                h.happens(0, TOLLIVER, Happening::Gone { ended: true });
            },
            StaleWhy::VisitEnded(id(TOLLIVER)),
        ),
        ("arrived anew", |h| h.arrive(0, TOLLIVER), StaleWhy::VisitEnded(id(TOLLIVER))),
    ]
}

fn changed_wiring() -> Vec<(&'static str, Act, StaleWhy)> {
    vec![
        (
            "a splice was parted",
            |h| {
                h.happens(0, HOT3, Happening::Parted);
            },
            StaleWhy::Parted(id(HOT3)),
        ),
        (
            "an end moved",
            |h| {
                h.land(&tip(RUN_B, RED, Side::Near), S3, "common");
            },
            StaleWhy::Changed(id(RUN_B)),
        ),
        ("a new run", |h| h.run(404, "nm-14-2", [(B3, "D"), (0, "A")]), StaleWhy::Changed(id(404))),
        ("a new device", |h| h.device(308, "switch-1p", B3), StaleWhy::Changed(id(308))),
        (
            "a device was taken out",
            |h| {
                h.note(vec![set(id(S3), Layer::Left(id(JOB)), Value::Present(false))]);
            },
            StaleWhy::Changed(id(S3)),
        ),
        (
            "what was noted was struck",
            |h| {
                let of = Subject::Tip(tip(RUN_B, RED, Side::Near));
                let said = h.notes().replacing(&of, &FieldKind::Place.into(), h.layer);
                let target = boxproof_core::job::Target::Entry(said[0].entry);
                h.note(vec![boxproof_tests::hand::strike(target)]);
            },
            StaleWhy::Changed(id(RUN_B)),
        ),
    ]
}

#[test]
fn each_ending_makes_it_stale_and_a_cover_or_a_return_does_not_cure_it() {
    for (what, act, why) in endings() {
        let mut house = House::checked();
        assert!(holds(&house), "{what}");
        house.book.at(12, 10);
        act(&mut house);
        assert!(causes(&house, B3, TOLLIVER).contains(&why), "{what}: {:?}", causes(&house, B3, TOLLIVER));
        let DeadState::Stale { causes: first, .. } = state(&house) else { unreachable!() };
        assert_eq!(first[0].since.map(|since| since.wall.clock()).as_deref(), Some("12:10"), "{what}");
        house.book.at(12, 55);
        house.happens(0, TOLLIVER, Happening::Back);
        house.happens(0, B3, Happening::CoverOn);
        assert!(!holds(&house), "{what}");
    }
}

#[test]
fn a_lock_that_is_put_back_does_not_bring_a_check_back() {
    let mut house = House::checked();
    house.happens(0, SEVEN, Happening::Unlocked(id(TOLLIVER)));
    house.lock(0, SEVEN, TOLLIVER);
    assert_eq!(causes(&house, B3, TOLLIVER), [StaleWhy::HoldEnded(id(SEVEN))]);
    // A new check after it holds, and the old one stays in the list for the record.
    house.prove(0, Mode::AcLow, figure("121.4"));
    house.ask_and_answer(0, B3, 902);
    house.prove(0, Mode::AcLow, figure("121.4"));
    assert!(holds(&house));
    assert_eq!(house.with_checks(|checks| checks.dead_all(id(B3), id(TOLLIVER))).len(), 2);
}

#[test]
fn what_happens_in_another_box_leaves_this_one_alone() {
    let mut house = House::checked();
    house.happens(0, 511, Happening::Parted);
    house.layer = Layer::Left(id(JOB));
    house.place(&tip(RUN_B, BLACK, Side::Far), Place::Capped);
    assert!(holds(&house));
}

#[test]
fn a_longer_list_than_the_one_that_was_asked_has_to_be_asked() {
    let mut house = House::locked();
    let pairs = house.with_checks(|checks| checks.pairs(id(B3), None));
    let (short, left_out) = pairs.split_at(16);
    house.ask(0, B3, CHECK, short.to_vec());
    for question in short {
        house.answer(0, B3, CHECK, question, figure("0.0"));
    }
    house.prove(0, Mode::AcLow, figure("121.3"));
    assert_eq!(causes(&house, B3, TOLLIVER), [StaleWhy::NotAsked(left_out.to_vec())]);
    // The rest asked and read under the same check, and proved again: it holds.
    house.ask(0, B3, CHECK, left_out.to_vec());
    house.answer(0, B3, CHECK, &left_out[0], figure("0.0"));
    assert_eq!(state(&house), DeadState::ProveAgain(vec![id(METER)]));
    house.prove(0, Mode::AcLow, figure("121.3"));
    assert!(holds(&house));
}

#[test]
fn without_a_real_reference_it_cannot_be_proved_here() {
    let mut house = House::found();
    house.arrive(0, TOLLIVER);
    house.lock(0, SEVEN, TOLLIVER);
    house.prove(0, Mode::AcLow, figure("121.4"));
    house.ask_and_answer(0, B3, CHECK);
    house.prove(0, Mode::AcLow, figure("121.4"));
    let cannot = DeadState::CannotBeProved(CannotProve::NoReference);
    assert_eq!(state(&house), cannot);
    // A ghost on a floating ground is no live reading; one taken after the breaker went OFF shows nothing of this box.
    let mut ghost = house.clone();
    let (ground, hot) = (splice(GROUND3), splice(HOT3));
    ghost.read(0, B3, reading(Purpose::Reference, ground.clone(), hot, Mode::AcHigh, figure("58")));
    assert_eq!(state(&ghost), cannot);
    // A known hot from elsewhere, read against this box's ground, does.
    let known = Spot::Other("hot of circuit 5 by a long lead".to_owned());
    house.read(0, B3, reading(Purpose::Reference, known, ground, Mode::AcLow, figure("121.2")));
    assert!(holds(&house));
}

#[test]
fn an_independent_ground_counts_once_it_was_read_against_a_known_hot() {
    let mut house = House::found();
    house.arrive(0, TOLLIVER);
    house.lock(0, SEVEN, TOLLIVER);
    house.prove(0, Mode::AcLow, figure("121.4"));
    let pipe = Spot::Other("water pipe".to_owned());
    let pairs = house.with_checks(|checks| checks.pairs(id(B3), Some("water pipe")));
    assert!(pairs.iter().any(|question| question.pair.from == pipe));
    house.ask(0, B3, CHECK, pairs.clone());
    for question in &pairs {
        house.answer(0, B3, CHECK, question, figure("0.0"));
    }
    house.prove(0, Mode::AcLow, figure("121.4"));
    assert_eq!(state(&house), DeadState::CannotBeProved(CannotProve::NoReference));
    let hot = Spot::Other("hot of circuit 5 at the cellar lamp".to_owned());
    house.read(0, B3, reading(Purpose::Reference, pipe, hot, Mode::AcLow, figure("120.9")));
    assert!(holds(&house));
}

#[test]
fn a_live_reading_before_the_breaker_went_off_again_is_a_reference() {
    let mut house = House::checked();
    house.happens(0, SEVEN, Happening::Unlocked(id(TOLLIVER)));
    house.happens(0, SEVEN, Happening::Switched { on: true });
    let (ground, hot) = (terminal(S3, "ground"), terminal(S3, "common"));
    house.read(0, B3, reading(Purpose::Live, ground, hot, Mode::AcHigh, figure("119.9")));
    house.lock(0, SEVEN, TOLLIVER);
    let references = house.with_checks(|checks| checks.references(id(B3)));
    assert_eq!(references.len(), 1, "the terminals are the same metal as the splices: {references:?}");
    assert_eq!(references[0].spot, splice(GROUND3));
    // A ground that was made up anew since then was not read live.
    house.layer = Layer::Left(id(JOB));
    house.place(&tip(RUN_A, BARE, Side::Far), Place::Splice(id(GROUND3)));
    assert!(house.with_checks(|checks| checks.references(id(B3))).is_empty());
}

/// Answers of one question after the meter was proved, in a check of which all else reads 0.1.
fn with_one(answers: &[(Mode, Figure)]) -> (House, Question) {
    let mut house = House::locked();
    house.prove(0, Mode::AcHigh, figure("121.4"));
    let pairs = house.ask_and_answer(0, B3, CHECK);
    for (mode, shown) in answers {
        house.read(0, B3, dead_reading(CHECK, &pairs[2], *mode, shown.clone()));
    }
    house.prove(0, Mode::AcLow, figure("121.3"));
    (house, pairs[2].clone())
}

#[test]
fn over_the_limit_is_not_proven_with_what_to_try() {
    for (answer, verdict, tries) in [
        ((Mode::AcHigh, figure("3.1")), Verdict::Over, vec![Try::LowImpedance, Try::BackFeed]),
        ((Mode::AcHigh, figure("58")), Verdict::TreatAsLive, vec![Try::BackFeed, Try::LowImpedance]),
        ((Mode::AcLow, figure("-4.0")), Verdict::Over, vec![Try::BackFeed]),
        ((Mode::AcLow, figure("30")), Verdict::TreatAsLive, vec![Try::BackFeed]),
        ((Mode::AcLow, Figure::OverRange), Verdict::Over, vec![Try::BackFeed]),
        ((Mode::AcLow, Figure::NoDigits("120 V lamp".to_owned())), Verdict::Over, vec![Try::BackFeed]),
    ] {
        let (house, question) = with_one(std::slice::from_ref(&answer));
        assert_eq!(state(&house), DeadState::NotProven { over: vec![(question.clone(), tries)] }, "{answer:?}");
        let dead = house.dead(B3, TOLLIVER);
        let at = dead.answers.iter().find(|at| at.question == question).unwrap();
        assert_eq!(at.verdict, Some(verdict), "{answer:?}");
    }
}

#[test]
fn at_the_limit_nothing_lit_and_a_repeat_at_low_impedance_count() {
    for answers in [
        vec![(Mode::AcHigh, figure("3"))],
        vec![(Mode::AcHigh, figure("3.0"))],
        vec![(Mode::AcLow, Figure::NoDigits(NOTHING_LIT.to_owned()))],
        vec![(Mode::AcHigh, figure("42")), (Mode::AcLow, figure("0.2"))],
    ] {
        let (house, _) = with_one(&answers);
        assert!(holds(&house), "{answers:?}: {:?}", state(&house));
    }
}

#[test]
fn a_neutral_over_the_limit_may_be_shared() {
    let (mut house, _) = with_one(&[]);
    let pairs = house.with_checks(|checks| checks.pairs(id(B3), None));
    house.answer(0, B3, CHECK, &pairs[0], figure("6"));
    let DeadState::NotProven { over } = state(&house) else { panic!("{:?}", state(&house)) };
    assert_eq!(over, [(pairs[0].clone(), vec![Try::BackFeed, Try::SharedNeutral])]);
}

#[test]
fn the_job_may_lower_the_limit_and_never_raise_it() {
    use boxproof_core::check::Policy;
    use boxproof_core::job::JobNote;
    let mut house = House::found();
    for (limit, expected) in [("1", "1"), ("50", "3")] {
        let replaces =
            house.notes().replacing(&id(JOB).into(), &boxproof_core::job::FieldKind::DeadLimit.into(), Layer::Site);
        let value = Value::DeadLimit(limit.parse().unwrap());
        house.note(vec![boxproof_tests::hand::instead(id(JOB), Layer::Site, value, &replaces)]);
        let notes = house.notes();
        assert_eq!(Policy::of(&JobNote::read(&notes, id(JOB))).dead_limit.to_string(), expected);
    }
}

#[test]
fn readings_in_the_wrong_order_or_with_the_wrong_tool_do_not_count() {
    // Everything read before the breaker went OFF; before the meter was proved; with no voltmeter; with a meter that
    // failed afterwards; after its person had been away.
    let begun: [(Mistake, Act); 5] = [
        (Mistake::BeforeOff, |h| {
            h.prove(0, Mode::AcLow, figure("121"));
            h.ask_and_answer(0, B3, CHECK);
            h.lock(0, SEVEN, TOLLIVER);
            h.prove(0, Mode::AcLow, figure("121"));
        }),
        (Mistake::NotProvedBefore, |h| {
            h.lock(0, SEVEN, TOLLIVER);
            h.ask_and_answer(0, B3, CHECK);
            h.prove(0, Mode::AcLow, figure("121"));
        }),
        (Mistake::NoVoltmeter, |h| {
            h.lock(0, SEVEN, TOLLIVER);
            h.prove(0, Mode::AcLow, figure("121"));
            let pairs = h.with_checks(|checks| checks.pairs(id(B3), None));
            h.ask(0, B3, CHECK, pairs.clone());
            for question in &pairs {
                h.read(0, B3, dead_reading(CHECK, question, Mode::Proximity, Figure::NoDigits(NOTHING_LIT.to_owned())));
            }
            h.prove(0, Mode::AcLow, figure("121"));
        }),
        (Mistake::MeterFailed, |h| {
            h.lock(0, SEVEN, TOLLIVER);
            h.prove(0, Mode::AcLow, figure("121"));
            h.ask_and_answer(0, B3, CHECK);
            h.prove(0, Mode::AcLow, figure("0.2"));
            h.prove(0, Mode::AcLow, figure("121"));
        }),
        (Mistake::NotProvedBefore, |h| {
            h.lock(0, SEVEN, TOLLIVER);
            h.prove(0, Mode::AcLow, figure("121"));
            h.happens(0, TOLLIVER, Happening::Gone { ended: false });
            h.happens(0, TOLLIVER, Happening::Back);
            h.ask_and_answer(0, B3, CHECK);
            h.prove(0, Mode::AcLow, figure("121"));
        }),
    ];
    for (mistake, act) in begun {
        let mut house = House::read_live();
        act(&mut house);
        assert_eq!(state(&house), DeadState::Reading { asked: 17, read: 0 }, "{mistake:?}");
        let dead = house.dead(B3, TOLLIVER);
        assert!(dead.answers.iter().all(|answer| answer.mistake == Some(mistake)), "{:?}", dead.answers[0]);
    }
}

#[test]
fn a_proof_with_another_instrument_or_on_dc_proves_nothing_of_these_readings() {
    let mut house = House::read_live();
    house.lock(0, SEVEN, TOLLIVER);
    house.prove(0, Mode::Dc, figure("12"));
    house.prove(0, Mode::Dc, figure("121"));
    house.ask_and_answer(0, B3, CHECK);
    assert_eq!(state(&house), DeadState::Reading { asked: 17, read: 0 });
}

#[test]
fn one_proof_before_and_one_after_bracket_several_boxes() {
    let mut house = House::locked();
    house.ask_and_answer(0, B3, 901);
    house.book.at(9, 40);
    house.ask_and_answer(0, B4, 902);
    assert_eq!(house.dead(B4, TOLLIVER).state, DeadState::ProveAgain(vec![id(METER)]));
    house.book.at(10, 31);
    house.prove(0, Mode::AcLow, figure("121.3"));
    assert!([B3, B4].iter().all(|of| house.dead(*of, TOLLIVER).counts()));
    house.book.at(12, 10);
    house.happens(0, TOLLIVER, Happening::Gone { ended: false });
    for of in [B3, B4] {
        assert_eq!(causes(&house, of, TOLLIVER), [StaleWhy::Left(id(TOLLIVER))]);
    }
}

#[test]
fn each_worker_has_a_lock_of_their_own() {
    let mut house = House::checked();
    let not_held = |house: &House| house.dead(B3, FERROW).state;
    assert_eq!(not_held(&house), DeadState::NotHeld { sources: vec![id(SEVEN)], unknown: vec![] });
    assert!(holds(&house));
    house.book.visit = None;
    house.book.at(9, 40);
    house.happens(1, SEVEN, Happening::Isolated(Held::Lock(id(FERROW))));
    assert!(house.dead(B3, FERROW).counts() && holds(&house), "nobody could switch it on in between");
    // The first worker's lock comes off: dead for the second, no longer for the first.
    house.book.at(10, 0);
    house.happens(0, SEVEN, Happening::Unlocked(id(TOLLIVER)));
    assert!(house.dead(B3, FERROW).counts());
    assert_eq!(causes(&house, B3, TOLLIVER), [StaleWhy::HoldEnded(id(SEVEN))]);
    house.book.at(10, 5);
    house.happens(1, SEVEN, Happening::Unlocked(id(FERROW)));
    assert_eq!(causes(&house, B3, FERROW), [StaleWhy::HoldEnded(id(SEVEN))]);
}

#[test]
fn what_two_phones_noted_in_contradicting_order_makes_it_stale() {
    let mut house = House::checked();
    // The other phone never exchanged anything: by the order of entries its act is early, by its clock it is late.
    let mut other = house.clone();
    other.book.at(9, 20);
    let on = vec![add(id(SEVEN), Happening::Switched { on: true }), add(id(SEVEN), Happening::Switched { on: false })];
    house.book.at(9, 20);
    let mut apart = boxproof_tests::hand::Book::default();
    apart.wall = house.book.wall;
    apart.write_apart(5, on);
    house.book.entries.extend(apart.entries);
    // It held by the order alone: the lock of 08:52 stands after it.
    assert!(other.dead(B3, TOLLIVER).counts());
    assert_eq!(causes(&house, B3, TOLLIVER), [StaleWhy::OrderNotKnown]);
}

#[test]
fn a_solar_supply_asks_for_dc_too() {
    let mut house = House::locked();
    house.thing(151, Kind::Supply, vec![Value::Supply(SupplyKind::Solar)]);
    house.fed_by(B3, 151, true);
    house.lock(0, 151, TOLLIVER);
    house.prove(0, Mode::AcLow, figure("121.4"));
    house.prove(0, Mode::Dc, figure("48"));
    let pairs = house.ask_and_answer(0, B3, CHECK);
    assert_eq!(state(&house), DeadState::Reading { asked: 17, read: 0 });
    for question in &pairs {
        house.read(0, B3, dead_reading(CHECK, question, Mode::Dc, figure("0.0")));
    }
    house.prove(0, Mode::AcLow, figure("121.4"));
    assert_eq!(state(&house), DeadState::ProveAgain(vec![id(METER)]));
    house.prove(0, Mode::Dc, figure("48"));
    assert!(holds(&house), "{:?}", state(&house));
}

#[test]
fn the_neutral_is_read_before_its_splice_is_parted_and_each_end_after() {
    let mut house = House::checked();
    let rules = |house: &House| house.with_checks(|checks| checks.neutrals(id(B3)));
    let NeutralRule::Whole { spot, taken: Some(taken) } = rules(&house).remove(0) else {
        panic!("{:?}", rules(&house))
    };
    assert_eq!(spot, splice(NEUTRAL3));
    assert_eq!(taken.reading.purpose, Purpose::Dead, "the dead check's own reading to ground counts");
    let clamp = reading(Purpose::Neutral, splice(NEUTRAL3), end(RUN_A, WHITE, Side::Far), Mode::Clamp, figure("0.0"));
    let clamped = house.read(0, B3, clamp);
    house.book.at(14, 30);
    house.happens(0, NEUTRAL3, Happening::Parted);
    let NeutralRule::Parted { splice: parted, before, ends } = rules(&house).remove(0) else { panic!() };
    assert_eq!((parted, before.map(|taken| taken.fact.entry)), (id(NEUTRAL3), Some(clamped)));
    assert_eq!(ends.iter().filter(|end| end.taken.is_none()).count(), 3);
    for (run, side, shown) in [(RUN_A, Side::Far, "0.0"), (RUN_B, Side::Near, "0.1"), (RUN_C, Side::Near, "64")] {
        house.read(
            0,
            B3,
            reading(Purpose::Neutral, splice(GROUND3), end(run, WHITE, side), Mode::AcLow, figure(shown)),
        );
    }
    let NeutralRule::Parted { ends, .. } = rules(&house).remove(0) else { panic!() };
    let verdicts: Vec<_> = ends.iter().map(|end| end.verdict).collect();
    assert_eq!(verdicts, [Some(Verdict::Under), Some(Verdict::Under), Some(Verdict::TreatAsLive)]);
}

#[test]
fn struck_readings_are_not_read() {
    let mut house = House::checked();
    let last = house.book.entries.iter().rfind(|noted| matches!(&noted.entry.facts[0], boxproof_core::job::Fact::Add(add) if matches!(add.what, Happening::Read(_))));
    let target = boxproof_core::job::Target::Entry(last.unwrap().hash);
    house.note(vec![boxproof_tests::hand::strike(target)]);
    assert_eq!(state(&house), DeadState::Reading { asked: 17, read: 16 });
}

#[test]
fn a_panel_is_never_proved_dead() {
    assert_eq!(House::found().dead(PANEL, TOLLIVER).state, DeadState::CannotBeProved(CannotProve::Panel));
}

#[test]
fn states_and_causes_are_said_in_words_and_none_promises_anything() {
    let mut house = House::checked();
    let line = |house: &House| house.with_checks(|checks| checks.say_state(&checks.dead(id(B3), id(TOLLIVER)).state));
    assert_eq!(line(&house), "read dead, the meter shown to work before and after, 09:10");
    house.book.at(12, 10);
    house.happens(0, TOLLIVER, Happening::Gone { ended: false });
    assert_eq!(line(&house), "stale: W. Tolliver left at 12:10");
    let hold = house.with_checks(|checks| checks.say_hold(&checks.hold(id(SEVEN))));
    assert_eq!(hold, "OFF, lock of W. Tolliver since 08:52");
}
