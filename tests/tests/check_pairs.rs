//! Which pairs a dead check asks for. The order of the clips and the second round with the switch turned follow from
//! the box alone; what is common practice and has no published source is said so in the core.

use boxproof_core::check::Class;
use boxproof_core::job::happening::Question;
use boxproof_core::job::{Happening, Layer, Place, Side, Spot, Tip, Value};
use boxproof_tests::hand::{id, set};
use boxproof_tests::house::*;

fn pairs(house: &House, of: u32) -> Vec<Question> {
    house.with_checks(|checks| checks.pairs(id(of), None))
}

fn count_from(pairs: &[Question], from: &Spot) -> usize {
    pairs.iter().filter(|question| question.pair.from == *from).count()
}

fn positions(question: &Question) -> Vec<(u32, String)> {
    let device = |at: &boxproof_core::job::At| [S3, S6].into_iter().find(|n| id(*n) == at.handle.device).unwrap_or(0);
    question.at.iter().map(|at| (device(at), at.position.clone())).collect()
}

#[test]
fn b3_as_found_asks_seventeen_pairs_in_the_order_of_the_clips() {
    let house = House::found();
    let asked = pairs(&house, B3);
    // By hand: five spots (grounds, neutrals, hot, two travelers). First round: ground to 4, neutral to 3, across 3.
    // Second round with the switch turned: every pair with a traveler, which are 2 + 2 + 3.
    assert_eq!(asked.len(), 17);
    let spots = [splice(GROUND3), splice(NEUTRAL3), splice(HOT3)];
    let first: Vec<&Spot> = asked.iter().take(10).map(|question| &question.pair.from).collect();
    let order = [0, 0, 0, 0, 1, 1, 1, 2, 2];
    assert_eq!(first[..9], order.map(|n| &spots[n]), "one clip after the other");
    assert_eq!(asked.iter().filter(|question| question.at.is_empty()).count(), 3, "G-N, G-H and N-H once");
    let turned: Vec<_> = asked[10..].iter().map(positions).collect();
    assert!(turned.iter().all(|at| *at == [(S3, "down".to_owned())]), "the second round turns one handle once");
}

#[test]
fn every_joint_is_read_to_every_reference_and_no_pair_twice() {
    let house = House::found();
    for (of, count) in [(B3, 17), (B4, 3), (B6, 19), (B7, 5)] {
        let asked = pairs(&house, of);
        assert_eq!(asked.len(), count, "{of}");
        let mut seen = std::collections::BTreeSet::new();
        for question in &asked {
            let mut ends = [question.pair.from.clone(), question.pair.to.clone()];
            ends.sort();
            assert_ne!(ends[0], ends[1]);
            assert!(seen.insert((ends, question.at.clone())), "asked twice: {question:?}");
        }
        let joints = house.with_checks(|checks| checks.joints(id(of)));
        let ground = &joints.iter().find(|joint| joint.class == Class::Ground).unwrap().spot;
        for joint in joints.iter().filter(|joint| joint.spot != *ground) {
            assert!(asked.iter().any(|q| q.pair.from == *ground && q.pair.to == joint.spot), "{joint:?}");
        }
    }
}

#[test]
fn a_switched_conductor_is_asked_with_the_switch_that_feeds_it() {
    let house = House::found();
    // Travelers in B6 are fed by the switch in B3: turning the one at hand would tell nothing.
    let traveler = end(RUN_B, BLACK, Side::Far);
    let asked = pairs(&house, B6);
    let to: Vec<_> =
        asked.iter().filter(|q| q.pair.to == traveler && q.pair.from == splice(512)).map(positions).collect();
    assert_eq!(to, [[(S3, "up".to_owned())], [(S3, "down".to_owned())]]);
    // The switched leg toggles with either switch of the pair; the one in the box is turned.
    let leg = end(RUN_E, BLACK, Side::Near);
    let to: Vec<_> = asked.iter().filter(|q| q.pair.to == leg && q.pair.from == splice(512)).map(positions).collect();
    assert_eq!(to, [[(S6, "up".to_owned())], [(S6, "down".to_owned())]]);
}

#[test]
fn without_a_known_feed_both_positions_of_whatever_touches_it() {
    let mut house = House::found();
    house.layer = Layer::Left(id(JOB));
    // Nobody knows any more where run A comes from.
    house.note(vec![set(boxproof_core::job::Subject::Side(id(RUN_A), Side::Near), house.layer, Value::InBox(None))]);
    house.note(vec![set(id(RUN_A), house.layer, Value::Present(false))]);
    let hot: Vec<_> = pairs(&house, B3)
        .iter()
        .filter(|q| q.pair.from == splice(GROUND3) && q.pair.to == splice(HOT3))
        .map(|q| q.at.len())
        .collect();
    assert!(hot.iter().all(|at| *at == 1) && hot.len() == 2, "the dark screw may be the switched one: {hot:?}");
}

#[test]
fn colour_alone_makes_nothing_grounded() {
    let mut house = House::found();
    house.layer = Layer::Left(id(JOB));
    house.run(404, "nm-14-2", [(B3, "D"), (0, "A")]);
    for wire in [BLACK, WHITE, BARE] {
        house.place(&tip(404, wire, Side::Near), if wire == BLACK { Place::Capped } else { Place::Loose });
    }
    let joints = house.with_checks(|checks| checks.joints(id(B3)));
    let free = |wire| joints.iter().find(|joint| joint.spot == end(404, wire, Side::Near)).unwrap().class;
    assert_eq!([free(BLACK), free(WHITE), free(BARE)], [Class::Ungrounded; 3], "a free end is ungrounded");
    let asked = pairs(&house, B3);
    assert!(
        asked.iter().any(|q| q.pair.from == end(404, WHITE, Side::Near) || q.pair.to == end(404, WHITE, Side::Near))
    );
    assert_eq!(count_from(&asked, &splice(GROUND3)), 4 + 2 + 3);
    // A white that is spliced with blacks is no neutral; one that was re-marked is none either.
    house.join(504, B3, &[tip(404, WHITE, Side::Near), tip(404, BLACK, Side::Near)]);
    let joints = house.with_checks(|checks| checks.joints(id(B3)));
    assert_eq!(joints.iter().find(|joint| joint.spot == splice(504)).unwrap().class, Class::Ungrounded);
    for wire in [(RUN_A, Side::Far), (RUN_B, Side::Near)] {
        let remarked = Value::Remarked(Some(boxproof_core::job::Colour::Black));
        house.note(vec![set(tip(wire.0, WHITE, wire.1), house.layer, remarked)]);
    }
    let joints = house.with_checks(|checks| checks.joints(id(B3)));
    assert_eq!(joints.iter().find(|joint| joint.spot == splice(NEUTRAL3)).unwrap().class, Class::Ungrounded);
}

#[test]
fn a_parted_splice_is_counted_by_its_ends_until_it_is_made_up() {
    let mut house = House::found();
    house.happens(0, NEUTRAL3, Happening::Parted);
    let whites = [(RUN_A, Side::Far), (RUN_B, Side::Near), (RUN_C, Side::Near)];
    let spots: Vec<Spot> = whites.iter().map(|(run, side)| end(*run, WHITE, *side)).collect();
    let asked = pairs(&house, B3);
    for spot in &spots {
        assert!(asked.iter().any(|q| q.pair.from == splice(GROUND3) && q.pair.to == *spot), "each end to ground");
    }
    assert!(!asked.iter().any(|q| q.pair.from == splice(NEUTRAL3) || q.pair.to == splice(NEUTRAL3)));
    assert_eq!(asked.len(), 4 + 2 + 2 + (2 + 1 + 2) + 2 + 3 + 3, "grounds 6, first white 5, across 3, then turned");
    house.layer = Layer::Left(id(JOB));
    for (run, side) in whites {
        house.place(&tip(run, WHITE, side), Place::Splice(id(NEUTRAL3)));
    }
    assert_eq!(pairs(&house, B3).len(), 17, "made up again");
}

#[test]
fn a_conductor_that_goes_through_has_nothing_bare_and_a_link_that_is_broken_has_two_sides() {
    let mut house = House::found();
    house.layer = Layer::Left(id(JOB));
    let (one, other) = (tip(RUN_B, WHITE, Side::Far), tip(RUN_E, WHITE, Side::Near));
    house.place(&one, Place::Through(other.clone()));
    house.place(&other, Place::Through(one.clone()));
    let asked = pairs(&house, B6);
    assert!(!asked.iter().any(|q| [&q.pair.from, &q.pair.to].contains(&&Spot::Tip(one.clone()))));
    assert_eq!(asked.len(), 12, "without the whites: ground to 3, across 3, each twice");
    let broken = Value::Link(boxproof_core::job::value::Link { link: "hot".to_owned(), whole: false });
    house.note(vec![set(id(R4), house.layer, broken)]);
    assert_eq!(pairs(&house, B4).len(), 6, "ground, neutral and two hots: 3 + 2 + 1");
}

#[test]
fn metal_counts_as_ungrounded_until_a_ground_is_on_it() {
    let mut house = House::found();
    assert!(!house.with_checks(|checks| checks.joints(id(B7))).iter().any(|joint| joint.spot == Spot::Shell(id(B7))));
    house.layer = Layer::Left(id(JOB));
    house.place(&tip(603, 0, Side::Far), Place::Loose);
    let joints = house.with_checks(|checks| checks.joints(id(B7)));
    let shell = joints.iter().find(|joint| joint.spot == Spot::Shell(id(B7))).unwrap();
    assert_eq!(shell.class, Class::Ungrounded);
}

#[test]
fn an_independent_ground_reads_the_box_s_own_ground_too() {
    let house = House::found();
    let asked = house.with_checks(|checks| checks.pairs(id(B4), Some("water pipe")));
    let pipe = Spot::Other("water pipe".to_owned());
    assert_eq!(count_from(&asked, &pipe), 3);
    assert!(asked.iter().any(|q| q.pair.from == pipe && q.pair.to == end(RUN_C, BARE, Side::Far)));
}

#[test]
fn an_end_whose_place_nobody_said_is_asked_by_itself() {
    let mut house = House::found();
    house.layer = Layer::Left(id(JOB));
    house.place(&tip(RUN_B, RED, Side::Near), Place::SomewhereOn(id(S3)));
    let asked = pairs(&house, B3);
    let red = end(RUN_B, RED, Side::Near);
    assert!(asked.iter().any(|q| q.pair.to == red));
    let lead = Tip::Lead { device: id(L7), lead: "hot".to_owned() };
    house.place(&lead, Place::Loose);
    assert!(
        pairs(&house, B7)
            .iter()
            .any(|q| q.pair.to == Spot::Tip(lead.clone()) || q.pair.from == Spot::Tip(lead.clone()))
    );
}
