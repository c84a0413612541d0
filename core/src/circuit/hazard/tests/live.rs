//! What stays live with a breaker off.

use super::*;

fn stays(invented: &Invented) -> Vec<Hazard> {
    of(&invented.hazards(), |kind| matches!(kind, HazardKind::StaysLive { .. }))
}

fn kind(place: ThingId, off: ThingId) -> HazardKind {
    HazardKind::StaysLive { place, off: handle(off) }
}

#[test]
fn a_box_of_two_circuits_stays_live_with_either_off_and_a_box_of_one_does_not() {
    let mut light = light();
    assert_eq!(stays(&light.invented), []);
    let (other, run) = second(&mut light, Bus::B);
    light.invented.put(far(run, WHITE), Place::Capped);
    let hazards = stays(&light.invented);
    let kinds: Vec<_> = hazards.iter().map(|hazard| hazard.kind.clone()).collect();
    // The ceiling has the first circuit alone: it is not told.
    assert_eq!(kinds, [kind(light.place, light.breaker), kind(light.place, other)]);
    for (hazard, by) in hazards.iter().zip([other, light.breaker]) {
        assert_eq!((hazard.place, hazard.always), (Some(light.place), true));
        assert_eq!(hazard.breakers, BTreeSet::from([handle(by)]));
        assert!(hazard.path.iter().any(|step| step.part == Part::Contact(handle(by))), "{:?}", hazard.path);
        assert_eq!(hazard.loads, BTreeSet::new());
    }
}

#[test]
fn one_breaker_for_both_hots_leaves_nothing_live() {
    let (mut invented, run, _, place) = shared([Bus::A, Bus::B]);
    let hazards = stays(&invented);
    assert_eq!(hazards.iter().filter(|hazard| hazard.place == Some(place)).count(), 2);
    let both = invented.breaker("breaker-2p-15", Bus::A);
    invented.land(near(run, BLACK), both, "load_1");
    invented.land(near(run, RED), both, "load_2");
    assert_eq!(stays(&invented), []);
}

/// A second circuit that a switch brings in: with the first OFF it is live only where the switch is on.
#[test]
fn what_a_switch_brings_in_is_told_with_its_position() {
    let mut light = light();
    let breaker = light.invented.breaker("breaker-1p-20", Bus::B);
    let run = light.invented.home_run("nm-12-2", breaker, light.ceiling, 30);
    for wire in [BLACK, WHITE, BARE_2] {
        light.invented.put(far(run, wire), Place::Capped);
    }
    let hazards = stays(&light.invented);
    let off = hazards.iter().find(|hazard| hazard.kind == kind(light.ceiling, breaker)).unwrap();
    assert_eq!((off.at.as_slice(), off.always), ([at(light.switch, "on")].as_slice(), false));
    assert!(hazards.iter().any(|hazard| hazard.kind == kind(light.ceiling, light.breaker) && hazard.always));
}

/// A heater between two breakers of their own feeds the dead hot from the live one; on one two-pole breaker it does
/// not.
#[test]
fn a_heater_between_two_breakers_feeds_back() {
    let build = |two: bool| {
        let mut invented = Invented::new();
        let place = invented.a_box("nonmetallic-2g");
        let away = invented.a_box("nonmetallic-1g");
        let breakers = if two {
            [Bus::A, Bus::B].map(|leg| invented.breaker("breaker-1p-20", leg))
        } else {
            [invented.breaker("breaker-2p-20", Bus::A); 2]
        };
        let run = invented.run("nm-12-3", invented.panel, Some(place), 20);
        let loads = if two { ["load", "load"] } else { ["load_1", "load_2"] };
        for ((wire, breaker), terminal) in [BLACK, RED].into_iter().zip(breakers).zip(loads) {
            invented.land(near(run, wire), breaker, terminal);
        }
        let panel = invented.panel;
        invented.put(near(run, BARE_3), Place::Bus { panel, bus: Bus::Ground });
        invented.put(near(run, WHITE), Place::Bus { panel, bus: Bus::Neutral });
        invented.put(far(run, WHITE), Place::Capped);
        let heater = invented.device("heater-240", place);
        // The red goes on to a box of its own.
        let on = invented.run("nm-12-2", place, Some(away), 20);
        invented.splice(place, &[far(run, BLACK), lead(heater, "hot_1")]);
        invented.splice(place, &[far(run, RED), lead(heater, "hot_2"), near(on, BLACK)]);
        invented.land(far(run, BARE_3), heater, "ground");
        for wire in [WHITE, BARE_2] {
            invented.put(near(on, wire), Place::Capped);
        }
        for wire in [BLACK, WHITE, BARE_2] {
            invented.put(far(on, wire), Place::Capped);
        }
        (invented, breakers, away, heater)
    };
    let (invented, breakers, away, heater) = build(true);
    // The box beyond has the red alone, and still it is live with the red's breaker OFF.
    let hazard = the(&invented, &kind(away, breakers[1]));
    assert!(hazard.path.iter().any(|step| step.part == Part::Load(outlet(heater, "heater"))), "{:?}", hazard.path);
    assert_eq!(hazard.breakers, BTreeSet::from([handle(breakers[0])]));
    assert!(!invented.kinds().contains(&kind(away, breakers[0])));
    let (invented, ..) = build(false);
    assert_eq!(stays(&invented), []);
}

/// A cable is noted on one breaker and its black lands on another: the noted one OFF leaves it live.
#[test]
fn a_cable_that_lands_elsewhere_than_noted_stays_live() {
    let mut light = light();
    let other = light.invented.breaker("breaker-1p-15", Bus::B);
    light.invented.land(near(light.feed, BLACK), light.breaker, "load");
    assert_eq!(light.invented.kinds(), []);
    light.invented.land(near(light.feed, BLACK), other, "load");
    let hazards = stays(&light.invented);
    // The switch's box and what it leads to; not with the breaker OFF that really feeds them.
    let places: Vec<_> = hazards.iter().map(|hazard| hazard.kind.clone()).collect();
    assert_eq!(places, [kind(light.place, light.breaker), kind(light.ceiling, light.breaker)]);
}
