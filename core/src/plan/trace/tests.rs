use std::collections::BTreeSet;

use crate::catalogue::Catalogue;
use crate::circuit::invented::*;
use crate::job::{Bus, Colour, LoadPoint, Place, Promised, ThingId, Tip};
use crate::plan::{Duty, Evidence, Flow, Role, Roles};

fn role(invented: &Invented, tip: &Tip) -> Option<Role> {
    Roles::of(&invented.wiring, Catalogue::shared()).of_end(tip).cloned()
}

fn short(role: Option<Role>) -> Option<(Duty, Evidence, Option<Flow>)> {
    role.map(|role| (role.duty, role.evidence, role.flow))
}

fn label(invented: &mut Invented, tip: &Tip, words: &str) {
    if !invented.wiring.tips.contains_key(tip) {
        invented.place(tip.clone(), crate::job::Note::NotSaid);
    }
    invented.wiring.tips.get_mut(tip).unwrap().label = noted(Some(words.to_owned()));
}

/// Three switches that work one lamp: feed, two pairs of travelers, leg, each told by following it.
#[test]
fn a_chain_of_switches_is_followed_from_the_breaker_to_the_lamp() {
    let chain = chain(3);
    let w = &chain.invented;
    let traced = |duty, flow| Some((duty, Evidence::Traced, flow));
    assert_eq!(short(role(w, &far(chain.feed, BLACK))), traced(Duty::ConstantHot, Some(Flow::In)));
    assert_eq!(short(role(w, &far(chain.feed, WHITE))), traced(Duty::Neutral, Some(Flow::In)));
    assert_eq!(short(role(w, &near(chain.travelers[0], WHITE))), traced(Duty::Neutral, Some(Flow::Out)));
    assert_eq!(short(role(w, &far(chain.feed, BARE_2))), traced(Duty::Ground, None));
    let leg = role(w, &near(chain.leg, BLACK)).unwrap();
    assert_eq!((leg.duty, leg.flow), (Duty::SwitchedLeg, Some(Flow::Out)));
    assert_eq!(leg.loads, [lamp(chain.lamp)]);
    assert_eq!((leg.device, leg.breaker), (Some(chain.switches[2]), Some(chain.breaker)));
    for wire in [BLACK, RED] {
        let first = role(w, &near(chain.travelers[0], wire)).unwrap();
        assert_eq!((first.duty, first.flow, first.device), (Duty::Traveler, None, Some(chain.switches[1])));
        assert_eq!(role(w, &far(chain.travelers[0], wire)).unwrap().device, Some(chain.switches[0]));
        assert_eq!(role(w, &far(chain.travelers[1], wire)).unwrap().device, Some(chain.switches[1]));
    }
    // The neutral belongs to the breaker of the hots in its cable.
    assert_eq!(role(w, &near(chain.leg, WHITE)).unwrap().breaker, Some(chain.breaker));
    assert_eq!(role(w, &lead(chain.lamp, "hot")).map(|role| role.duty), Some(Duty::SwitchedLeg));
}

/// An end that has no place yet gets what the far box tells: a traveler there is one here.
#[test]
fn an_end_without_a_place_gets_what_its_far_box_tells() {
    let mut chain = chain(2);
    let here = [BLACK, RED].map(|wire| far(chain.travelers[0], wire));
    for tip in &here {
        chain.invented.wiring.tips.remove(tip);
    }
    let leg = near(chain.leg, BLACK);
    chain.invented.wiring.tips.remove(&leg);
    for tip in &here {
        assert_eq!(short(role(&chain.invented, tip)), Some((Duty::Traveler, Evidence::Traced, None)));
    }
    // The leg leads to a lamp and comes from nothing yet: nothing tells what works it,
    assert_eq!(role(&chain.invented, &leg), None);
    // until somebody asks for it.
    let handles = chain.switches.iter().map(|switch| handle(*switch)).collect();
    chain.invented.wiring.promises.insert(lamp(chain.lamp), Promised::Toggled(handles));
    let asked = role(&chain.invented, &leg).unwrap();
    assert_eq!((asked.duty, asked.evidence, asked.flow), (Duty::SwitchedLeg, Evidence::Scope, Some(Flow::Out)));
    assert_eq!((asked.device, asked.loads), (Some(chain.switches[1]), vec![lamp(chain.lamp)]));
}

/// A run of which nothing is noted but its colours and its tapes.
fn bare_run(kind: &str) -> (Invented, ThingId, ThingId) {
    let mut w = Invented::new();
    let (a, b) = (w.a_box("nonmetallic-1g"), w.a_box("nonmetallic-1g"));
    let run = w.run(kind, a, Some(b), 20);
    (w, run, b)
}

/// Black and red say nothing but that they are no neutral; bare is a ground, white a neutral unless it was re-marked.
/// (250.119 and 200.6; 200.7(C)(1) for the re-marked one.)
#[test]
fn colour_alone_tells_a_ground_and_a_neutral_and_no_more() {
    let (mut w, run, _) = bare_run("nm-14-3");
    assert_eq!(role(&w, &near(run, BLACK)), None);
    assert_eq!(role(&w, &near(run, RED)), None);
    assert_eq!(short(role(&w, &near(run, WHITE))), Some((Duty::Neutral, Evidence::Colour, None)));
    assert_eq!(short(role(&w, &near(run, BARE_3))), Some((Duty::Ground, Evidence::Colour, None)));
    w.put(near(run, WHITE), Place::Capped);
    w.wiring.tips.get_mut(&near(run, WHITE)).unwrap().remarked = noted(Some(Colour::Black));
    assert_eq!(role(&w, &near(run, WHITE)), None);
}

#[test]
fn a_tape_tells_for_the_whole_conductor_and_which_way_the_power_goes() {
    let (mut w, run, _) = bare_run("nm-14-3");
    label(&mut w, &near(run, BLACK), "HOT IN");
    label(&mut w, &far(run, RED), "SW LEG");
    let tape = |duty, flow| Some((duty, Evidence::Tape, flow));
    assert_eq!(short(role(&w, &near(run, BLACK))), tape(Duty::ConstantHot, Some(Flow::In)));
    assert_eq!(short(role(&w, &far(run, BLACK))), tape(Duty::ConstantHot, Some(Flow::Out)));
    assert_eq!(short(role(&w, &near(run, RED))), tape(Duty::SwitchedLeg, None));
    // Two tapes that disagree tell nothing.
    label(&mut w, &near(run, RED), "HOT");
    assert_eq!(role(&w, &near(run, RED)), None);
}

/// The white of a switch loop is the hot that goes down to the switch, whatever its colour says (200.7(C)(1)).
#[test]
fn the_white_of_a_switch_loop_is_hot() {
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-1p-15", Bus::A);
    let (ceiling, wall) = (w.a_box("octagon-4-1.5"), w.a_box("nonmetallic-1g"));
    let feed = w.home_run("nm-14-2", breaker, ceiling, 30);
    let drop = w.run("nm-14-2", ceiling, Some(wall), 12);
    let (fixture, switch) = (w.device("luminaire", ceiling), w.device("switch-1p", wall));
    w.splice(ceiling, &[far(feed, BLACK), near(drop, WHITE)]);
    w.splice(ceiling, &[near(drop, BLACK), lead(fixture, "hot")]);
    w.splice(ceiling, &[far(feed, WHITE), lead(fixture, "neutral")]);
    w.land(far(drop, WHITE), switch, "line");
    w.land(far(drop, BLACK), switch, "switched");
    assert_eq!(short(role(&w, &far(drop, WHITE))), Some((Duty::ConstantHot, Evidence::Traced, Some(Flow::In))));
    let leg = role(&w, &near(drop, BLACK)).unwrap();
    assert_eq!((leg.duty, leg.flow), (Duty::SwitchedLeg, Some(Flow::In)));
    assert_eq!((leg.loads, leg.device), (vec![lamp(fixture)], Some(switch)));
}

/// A protective receptacle that has tripped is no switch: what it protects is constant hot.
#[test]
fn what_is_behind_a_protective_device_is_constant_hot() {
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-1p-20", Bus::A);
    let (a, b) = (w.a_box("nonmetallic-1g"), w.a_box("nonmetallic-1g"));
    let feed = w.home_run("nm-12-2", breaker, a, 30);
    let onward = w.run("nm-12-2", a, Some(b), 12);
    let (guard, last) = (w.device("receptacle-gfci-20", a), w.device("receptacle-20-duplex", b));
    w.land(far(feed, BLACK), guard, "line_hot");
    w.land(far(feed, WHITE), guard, "line_neutral");
    w.land(near(onward, BLACK), guard, "load_hot");
    w.land(near(onward, WHITE), guard, "load_neutral");
    w.land(far(onward, BLACK), last, "hot_1");
    w.land(far(onward, WHITE), last, "neutral_1");
    let duty = |tip: &Tip| short(role(&w, tip));
    assert_eq!(duty(&far(onward, BLACK)), Some((Duty::ConstantHot, Evidence::Traced, Some(Flow::In))));
    assert_eq!(duty(&near(onward, WHITE)), Some((Duty::Neutral, Evidence::Traced, Some(Flow::Out))));
}

/// A short of hot to neutral makes nothing sure; neutral joined to ground beyond the panel leaves each what it is.
#[test]
fn a_short_claims_nothing_and_a_bootleg_bond_keeps_both_apart() {
    let chain = chain(2);
    let mut short_circuit = chain.invented.wiring.clone();
    let splice = *short_circuit.splices.keys().next().unwrap();
    let mut at = short_circuit.tips.get(&far(chain.feed, BLACK)).unwrap().clone();
    at.place = noted(Place::Splice(splice));
    short_circuit.tips.insert(far(chain.feed, BLACK), at);
    let roles = Roles::of(&short_circuit, Catalogue::shared());
    assert_eq!(roles.of_end(&far(chain.feed, BLACK)), None);
    assert_eq!(roles.of_end(&far(chain.feed, WHITE)).map(|role| role.evidence), Some(Evidence::Colour));

    let mut w = chain.invented;
    let jumper = w.run("pigtail-14-bare", chain.boxes[0], Some(chain.boxes[0]), 1);
    let splice_of = |w: &Invented, tip: &Tip| match w.wiring.place(tip) {
        Some(Place::Splice(id)) => *id,
        other => panic!("{other:?}"),
    };
    let (neutral, ground) = (splice_of(&w, &far(chain.feed, WHITE)), splice_of(&w, &far(chain.feed, BARE_2)));
    w.put(near(jumper, 0), Place::Splice(neutral));
    w.put(far(jumper, 0), Place::Splice(ground));
    assert_eq!(role(&w, &far(chain.leg, WHITE)).map(|role| role.duty), Some(Duty::Neutral));
    assert_eq!(role(&w, &far(chain.leg, BARE_2)).map(|role| role.duty), Some(Duty::Ground));
}

/// What was asked for tells a receptacle's hot from a leg: always live, or worked by a switch.
#[test]
fn what_was_asked_for_tells_a_conductor_to_a_receptacle() {
    let mut w = Invented::new();
    let (a, b) = (w.a_box("nonmetallic-1g"), w.a_box("nonmetallic-1g"));
    let run = w.run("nm-14-2", a, Some(b), 11);
    let (switch, receptacle) = (w.device("switch-1p", a), w.device("receptacle-15-duplex", b));
    w.land(far(run, BLACK), receptacle, "hot_1");
    assert_eq!(role(&w, &near(run, BLACK)), None);
    let upper = LoadPoint { device: receptacle, load: "upper".to_owned() };
    w.wiring.promises.insert(upper.clone(), Promised::Always);
    let told = short(role(&w, &near(run, BLACK)));
    assert_eq!(told, Some((Duty::ConstantHot, Evidence::Scope, Some(Flow::Out))));
    let by_switch = Promised::Toggled(BTreeSet::from([handle(switch)]));
    w.wiring.promises.insert(upper, by_switch.clone());
    assert_eq!(short(role(&w, &near(run, BLACK))).map(|told| told.0), Some(Duty::SwitchedLeg));
    // One half always, the other worked, and the link between them whole: that cannot be, so it tells nothing.
    w.wiring.promises.insert(LoadPoint { device: receptacle, load: "lower".to_owned() }, Promised::Always);
    assert_eq!(role(&w, &near(run, BLACK)), None);
}

/// Two breakers share a neutral: it belongs to neither alone (210.4).
#[test]
fn a_shared_neutral_belongs_to_no_one_breaker() {
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-2p-20", Bus::A);
    let (left, right) = (w.breaker("breaker-1p-15", Bus::A), w.breaker("breaker-1p-15", Bus::B));
    let a = w.a_box("square-4-1.5");
    let (tied, two) = (w.home_run("nm-12-3", breaker, a, 20), w.run("nm-14-3", w.panel, Some(a), 20));
    w.land(near(two, BLACK), left, "load");
    w.land(near(two, RED), right, "load");
    w.put(near(two, WHITE), Place::Bus { panel: w.panel, bus: Bus::Neutral });
    assert_eq!(role(&w, &far(two, RED)).unwrap().breaker, Some(right));
    assert_eq!(role(&w, &far(two, WHITE)).unwrap().breaker, None);
    assert_eq!(role(&w, &far(tied, WHITE)).unwrap().breaker, Some(breaker));
}
