//! Each hazard on a small wiring that has it, and none on wirings that are as they should be.

mod live;
mod metal;
mod neutral;
mod paths;

use std::collections::BTreeMap;

use super::super::invented::*;
use super::super::point::Part;
use super::*;
use crate::job::Place;

/// The hazards of one sort.
fn of(hazards: &[Hazard], is: impl Fn(&HazardKind) -> bool) -> Vec<Hazard> {
    hazards.iter().filter(|hazard| is(&hazard.kind)).cloned().collect()
}

/// One hazard, which must be there.
fn the(invented: &Invented, kind: &HazardKind) -> Hazard {
    let found = invented.hazards().into_iter().find(|hazard| hazard.kind == *kind);
    found.unwrap_or_else(|| panic!("{kind:?} is not among {:?}", invented.kinds()))
}

/// What a person must know before a cover is off, and before a neutral joint is parted; no fault of the wiring.
fn is_to_know(kind: &HazardKind) -> bool {
    matches!(kind, HazardKind::StaysLive { .. } | HazardKind::NeutralRises(_))
}

fn faults(invented: &Invented) -> Vec<HazardKind> {
    invented.kinds().into_iter().filter(|kind| !is_to_know(kind)).collect()
}

/// A lamp behind a single-pole switch on a circuit of its own: box of the switch, then the ceiling.
struct Light {
    invented: Invented,
    breaker: ThingId,
    place: ThingId,
    ceiling: ThingId,
    feed: ThingId,
    leg: ThingId,
    switch: ThingId,
    fixture: ThingId,
}

fn light() -> Light {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let (place, ceiling) = (invented.a_box("nonmetallic-1g"), invented.a_box("octagon-4-1.5"));
    let feed = invented.home_run("nm-14-2", breaker, place, 30);
    let leg = invented.run("nm-14-2", place, Some(ceiling), 12);
    let switch = invented.device("switch-1p", place);
    let fixture = invented.device("luminaire", ceiling);
    invented.land(far(feed, BLACK), switch, "line");
    invented.land(near(leg, BLACK), switch, "switched");
    invented.splice(place, &[far(feed, WHITE), near(leg, WHITE)]);
    let grounds = invented.splice(place, &[far(feed, BARE_2), near(leg, BARE_2)]);
    invented.pigtail(place, grounds, switch, "ground");
    invented.splice(ceiling, &[far(leg, BLACK), lead(fixture, "hot")]);
    invented.splice(ceiling, &[far(leg, WHITE), lead(fixture, "neutral")]);
    invented.splice(ceiling, &[far(leg, BARE_2), lead(fixture, "ground")]);
    Light { invented, breaker, place, ceiling, feed, leg, switch, fixture }
}

#[test]
fn what_is_wired_as_it_should_be_has_no_hazard() {
    assert_eq!(light().invented.kinds(), []);
    for count in 2..=4 {
        assert_eq!(chain(count).invented.kinds(), []);
    }
}

#[test]
fn a_leg_on_neutral_is_a_short_only_where_the_switch_joins_them() {
    let mut light = light();
    light.invented.splice(light.ceiling, &[far(light.leg, BLACK), far(light.leg, WHITE), lead(light.fixture, "hot")]);
    let hazards = light.invented.hazards();
    let short = hazards.iter().find(|h| matches!(h.kind, HazardKind::Short { leg: Bus::A, other: Bus::Neutral }));
    let short = short.unwrap();
    assert!(!short.always);
    assert_eq!(short.at, [at(light.switch, "on")]);
    assert_eq!(short.place, Some(light.ceiling));
    assert!(short.loads.contains(&lamp(light.fixture)));
    assert!(short.path.iter().any(|step| step.part == Part::Contact(handle(light.switch))));
}

#[test]
fn a_switch_in_the_neutral_is_found_where_it_is_open() {
    let mut light = light();
    let (feed, leg, switch) = (light.feed, light.leg, light.switch);
    light.invented.splice(light.place, &[far(feed, BLACK), near(leg, BLACK)]);
    light.invented.land(far(feed, WHITE), switch, "line");
    light.invented.land(near(leg, WHITE), switch, "switched");
    let hazards = light.invented.hazards();
    let [hazard] = hazards.as_slice() else { panic!("{hazards:?}") };
    let kind = HazardKind::SwitchedNeutral { load: lamp(light.fixture), handle: handle(switch) };
    assert_eq!((&hazard.kind, hazard.place), (&kind, Some(light.place)));
    assert_eq!(hazard.at, [at(switch, "off")]);
}

#[test]
fn hot_and_neutral_exchanged_at_a_receptacle_is_reversed_polarity() {
    let mut light = light();
    let receptacle = light.invented.device("receptacle-15-single", light.place);
    let (feed, leg) = (light.feed, light.leg);
    let hot = light.invented.splice(light.place, &[far(feed, BLACK)]);
    let neutral = light.invented.splice(light.place, &[far(feed, WHITE), near(leg, WHITE)]);
    let ground = light.invented.splice(light.place, &[far(feed, BARE_2), near(leg, BARE_2)]);
    light.invented.pigtail(light.place, hot, light.switch, "line");
    light.invented.pigtail(light.place, ground, light.switch, "ground");
    light.invented.pigtail(light.place, ground, receptacle, "ground");
    light.invented.pigtail(light.place, hot, receptacle, "neutral");
    light.invented.pigtail(light.place, neutral, receptacle, "hot");
    let hazards = light.invented.hazards();
    let [hazard] = hazards.as_slice() else { panic!("{hazards:?}") };
    assert_eq!(hazard.kind, HazardKind::ReversedPolarity(outlet(receptacle, "outlet")));
    assert!(hazard.always);
    assert_eq!(hazard.loads, BTreeSet::from([outlet(receptacle, "outlet")]));
}

#[test]
fn a_ground_taken_off_is_broken_and_a_live_housing_is_energised() {
    let mut light = light();
    light.invented.put(near(light.leg, BARE_2), Place::Capped);
    let broken = |kind: &HazardKind| matches!(kind, HazardKind::BrokenGround(_));
    let kinds = light.invented.kinds();
    // The metal box, the housing and the ground lead of the luminaire.
    assert_eq!(kinds.iter().filter(|kind| broken(kind)).count(), 3, "{kinds:?}");
    assert!(kinds.iter().all(broken));
    light
        .invented
        .splice(light.ceiling, &[far(light.leg, BLACK), lead(light.fixture, "hot"), lead(light.fixture, "ground")]);
    let hazards = light.invented.hazards();
    let shell = HazardKind::EnergisedGround(Spot::Shell(light.ceiling));
    let live = hazards.iter().find(|hazard| hazard.kind == shell).unwrap();
    assert_eq!((live.at.as_slice(), live.always), ([at(light.switch, "on")].as_slice(), false));
}

/// The neutral broken and the housing bonded to the neutral lead: the lamp lifts the housing, through no metal.
#[test]
fn a_housing_live_through_its_own_lamp_is_energised() {
    let mut light = light();
    light.invented.put(near(light.leg, BARE_2), Place::Capped);
    light.invented.put(near(light.leg, WHITE), Place::Capped);
    let (leg, fixture) = (light.leg, light.fixture);
    light.invented.splice(light.ceiling, &[far(leg, WHITE), lead(fixture, "neutral"), lead(fixture, "ground")]);
    let shell = HazardKind::EnergisedGround(Spot::Shell(light.ceiling));
    let hazards = light.invented.hazards();
    let live = hazards.iter().find(|hazard| hazard.kind == shell).unwrap();
    assert!(live.path.iter().any(|step| step.part == Part::Load(lamp(fixture))));
}

#[test]
fn neutral_on_ground_downstream_is_found_in_its_box() {
    let mut light = light();
    let (leg, fixture) = (light.leg, light.fixture);
    light
        .invented
        .splice(light.ceiling, &[far(leg, WHITE), far(leg, BARE_2), lead(fixture, "neutral"), lead(fixture, "ground")]);
    let hazards = light.invented.hazards();
    let [hazard] = hazards.as_slice() else { panic!("{hazards:?}") };
    assert!(matches!(hazard.kind, HazardKind::NeutralGrounded(Spot::Bus { bus: Bus::Ground, .. })));
    assert_eq!(hazard.place, Some(light.ceiling));
    assert!(hazard.always);
}

/// A second circuit, and the lamp's neutral on it.
fn second(light: &mut Light, leg: Bus) -> (ThingId, ThingId) {
    let breaker = light.invented.breaker("breaker-1p-20", leg);
    let run = light.invented.home_run("nm-12-2", breaker, light.place, 30);
    light.invented.put(far(run, BLACK), Place::Capped);
    light.invented.put(far(run, BARE_2), Place::Capped);
    (breaker, run)
}

#[test]
fn a_neutral_borrowed_from_another_circuit_is_found_with_both_breakers() {
    let mut light = light();
    let (other, run) = second(&mut light, Bus::B);
    light.invented.put(far(light.feed, WHITE), Place::Capped);
    light.invented.splice(light.place, &[far(run, WHITE), near(light.leg, WHITE)]);
    let kinds = light.invented.kinds();
    assert!(kinds.contains(&HazardKind::BorrowedNeutral { hot: light.breaker, neutral: other }), "{kinds:?}");
    // Hot in one cable, neutral in the other.
    let runs = BTreeSet::from([light.feed, run]);
    assert!(kinds.contains(&HazardKind::ConductorsApart { load: lamp(light.fixture), runs }), "{kinds:?}");
}

#[test]
fn single_conductors_in_the_open_may_go_different_ways() {
    let mut light = light();
    let (_, run) = second(&mut light, Bus::B);
    light.invented.put(far(light.feed, WHITE), Place::Capped);
    light.invented.splice(light.place, &[far(run, WHITE), near(light.leg, WHITE)]);
    for run in [light.feed, run] {
        let note = light.invented.wiring.runs.get_mut(&run).unwrap();
        let Some(kind) = note.kind.get().cloned() else { panic!("no kind") };
        assert!(kind.starts_with("nm"));
        note.kind = Invented::run_kind("knob-and-tube-pair");
    }
    assert!(!light.invented.kinds().iter().any(|kind| matches!(kind, HazardKind::ConductorsApart { .. })));
}

#[test]
fn two_breakers_on_one_conductor_meet() {
    let mut light = light();
    let (other, run) = second(&mut light, Bus::A);
    let hot = light.invented.splice(light.place, &[far(light.feed, BLACK), far(run, BLACK)]);
    light.invented.pigtail(light.place, hot, light.switch, "line");
    light.invented.put(far(run, WHITE), Place::Capped);
    let kinds = light.invented.kinds();
    assert!(kinds.contains(&HazardKind::SourcesMeet { one: light.breaker, other }), "{kinds:?}");
    assert!(!kinds.iter().any(|kind| matches!(kind, HazardKind::Short { .. })));
    // On unlike legs it is a short as well.
    light.invented.note(other).leg = Invented::leg(Bus::B);
    let kinds = light.invented.kinds();
    assert!(kinds.contains(&HazardKind::Short { leg: Bus::A, other: Bus::B }), "{kinds:?}");
}

/// Two receptacles on the two hots of one 14-3 with its one white.
fn shared(legs: [Bus; 2]) -> (Invented, ThingId, [ThingId; 2], ThingId) {
    let mut invented = Invented::new();
    let breakers = legs.map(|leg| invented.breaker("breaker-1p-15", leg));
    let place = invented.a_box("nonmetallic-2g");
    let run = invented.run("nm-14-3", invented.panel, Some(place), 40);
    for (wire, breaker) in [(BLACK, breakers[0]), (RED, breakers[1])] {
        invented.land(near(run, wire), breaker, "load");
    }
    let panel = invented.panel;
    invented.put(near(run, WHITE), Place::Bus { panel, bus: Bus::Neutral });
    invented.put(near(run, BARE_3), Place::Bus { panel, bus: Bus::Ground });
    let neutral = invented.splice(place, &[far(run, WHITE)]);
    let ground = invented.splice(place, &[far(run, BARE_3)]);
    let receptacles = [BLACK, RED].map(|wire| {
        let receptacle = invented.device("receptacle-15-single", place);
        invented.land(far(run, wire), receptacle, "hot");
        invented.pigtail(place, neutral, receptacle, "neutral");
        invented.pigtail(place, ground, receptacle, "ground");
        receptacle
    });
    (invented, run, receptacles, place)
}

#[test]
fn a_shared_neutral_is_overloaded_only_by_hots_of_one_leg() {
    let (invented, ..) = shared([Bus::A, Bus::B]);
    assert_eq!(faults(&invented), []);
    let (invented, run, ..) = shared([Bus::A, Bus::A]);
    let kind = HazardKind::SharedNeutralOverload { tip: near(run, WHITE), leg: Bus::A };
    assert_eq!(faults(&invented), [kind]);
}

#[test]
fn an_opened_shared_neutral_puts_two_loads_in_series() {
    let (mut invented, run, receptacles, place) = shared([Bus::A, Bus::B]);
    let plugs = receptacles.map(|receptacle| invented.plug("plug-appliance", &outlet(receptacle, "outlet")));
    assert_eq!(faults(&invented), []);
    invented.put(near(run, WHITE), Place::Capped);
    let series = HazardKind::LoadsInSeries(plugs.iter().map(|plug| outlet(*plug, "appliance")).collect());
    let hazards = invented.hazards();
    let hazard = hazards.iter().find(|hazard| hazard.kind == series).unwrap();
    assert!(hazard.always);
    assert_eq!(hazard.place, Some(place));
    // Through one load, along the neutral, through the other.
    let through: Vec<&Part> = hazard.path.iter().map(|s| &s.part).filter(|p| matches!(p, Part::Load(_))).collect();
    assert_eq!(through.len(), 2, "{:?}", hazard.path);
}

#[test]
fn a_loose_end_is_told_and_a_live_one_is_told_as_live() {
    let mut light = light();
    light.invented.put(near(light.leg, BLACK), Place::Loose);
    assert!(light.invented.kinds().contains(&HazardKind::Loose(near(light.leg, BLACK))));
    light.invented.put(near(light.leg, BLACK), Place::Capped);
    light.invented.put(far(light.feed, BLACK), Place::Loose);
    let hazards = light.invented.hazards();
    let live = hazards.iter().find(|hazard| hazard.kind == HazardKind::LiveLoose(far(light.feed, BLACK)));
    assert_eq!(live.unwrap().place, Some(light.place));
    // A bare ground that is free is no current-carrying conductor.
    light.invented.put(far(light.feed, BLACK), Place::Capped);
    light.invented.put(far(light.leg, BARE_2), Place::Loose);
    assert!(!light.invented.kinds().iter().any(|k| matches!(k, HazardKind::Loose(_) | HazardKind::LiveLoose(_))));
}

#[test]
fn nothing_is_promised_under_a_hazard() {
    use super::super::promise::{Outcome, SwitchTable};
    use crate::job::Promised;
    let mut light = light();
    let (leg, fixture) = (light.leg, light.fixture);
    light
        .invented
        .splice(light.ceiling, &[far(leg, WHITE), far(leg, BARE_2), lead(fixture, "neutral"), lead(fixture, "ground")]);
    let circuit = light.invented.circuit();
    let found = hazards(&circuit);
    let promises = BTreeMap::from([(lamp(fixture), Promised::Toggled(BTreeSet::from([handle(light.switch)])))]);
    let verdicts = SwitchTable::of(&circuit).verdicts(&circuit, &promises, None, &found);
    assert_eq!(verdicts[&lamp(fixture)].outcome, Outcome::UnderHazard(vec![0]));
}
