//! Neutrals: behind a switch, re-marked, shared, borrowed, parted.

use super::*;
use crate::job::Colour;
use crate::job::value::System;

/// A switch that opens both conductors leaves nothing hot.
#[test]
fn a_double_pole_switch_switches_no_neutral_alone() {
    let mut light = light();
    light.invented.change(light.switch, "switch-2p");
    for (tip, terminal) in [
        (far(light.feed, BLACK), "line_1"),
        (far(light.feed, WHITE), "line_2"),
        (near(light.leg, BLACK), "switched_1"),
        (near(light.leg, WHITE), "switched_2"),
    ] {
        light.invented.land(tip, light.switch, terminal);
    }
    assert_eq!(light.invented.kinds(), []);
}

/// A switch loop: the white feeds the switch, the black comes back. Colour is no polarity.
#[test]
fn a_white_that_is_used_as_hot_reverses_nothing() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let (ceiling, place) = (invented.a_box("octagon-4-1.5"), invented.a_box("nonmetallic-1g"));
    let feed = invented.home_run("nm-14-2", breaker, ceiling, 30);
    let cable = invented.run("nm-14-2", ceiling, Some(place), 12);
    let (fixture, switch) = (invented.device("luminaire", ceiling), invented.device("switch-1p", place));
    invented.splice(ceiling, &[far(feed, BLACK), near(cable, WHITE)]);
    invented.splice(ceiling, &[near(cable, BLACK), lead(fixture, "hot")]);
    invented.splice(ceiling, &[far(feed, WHITE), lead(fixture, "neutral")]);
    let grounds = invented.splice(ceiling, &[far(feed, BARE_2), near(cable, BARE_2), lead(fixture, "ground")]);
    invented.bond(ceiling, grounds);
    invented.land(far(cable, WHITE), switch, "line");
    invented.land(far(cable, BLACK), switch, "switched");
    invented.land(far(cable, BARE_2), switch, "ground");
    assert_eq!(invented.kinds(), []);
}

/// Three legs of 208Y/120 V and one neutral: it carries what the legs differ by. A fourth circuit on one of the legs
/// adds to its leg's part.
#[test]
fn a_neutral_shared_by_three_legs_is_overloaded_only_by_a_second_one_of_a_leg() {
    let build = |fourth: Bus| {
        let mut invented = Invented::new();
        let panel = invented.panel;
        invented.system(System::Wye208);
        let place = invented.a_box("nonmetallic-4g");
        let run = invented.run("emt", panel, Some(place), 30);
        let legs = [Bus::A, Bus::B, Bus::C];
        for (n, colour) in (0u8..).zip([Colour::White, Colour::Black, Colour::Red, Colour::Blue]) {
            invented.wire(run, n, colour, "12");
        }
        invented.put(near(run, 0), Place::Bus { panel, bus: Bus::Neutral });
        let neutral = invented.splice(place, &[far(run, 0)]);
        for (n, leg) in (1u8..).zip(legs) {
            let breaker = invented.breaker("breaker-1p-20", leg);
            invented.land(near(run, n), breaker, "load");
            let lamp = invented.device("luminaire", place);
            invented.put(lead(lamp, "ground"), Place::Capped);
            invented.splice(place, &[far(run, n), lead(lamp, "hot")]);
            invented.put(lead(lamp, "neutral"), Place::Splice(neutral));
        }
        invented.note(invented_breaker(&invented, 2)).leg = Invented::leg(fourth);
        let over = |kind: &HazardKind| matches!(kind, HazardKind::SharedNeutralOverload { .. });
        of(&invented.hazards(), over)
    };
    assert_eq!(build(Bus::C), []);
    assert_eq!(build(Bus::A).len(), 1);
}

/// The breaker that was made so many breakers after the first.
fn invented_breaker(invented: &Invented, n: usize) -> ThingId {
    let breakers = invented.wiring.devices.values().filter(|d| d.kind.get().is_some_and(|k| k.starts_with("breaker")));
    breakers.map(|note| note.id).nth(n).unwrap()
}

/// The two halves of a tandem are on one leg.
#[test]
fn a_neutral_shared_by_the_halves_of_a_tandem_is_overloaded() {
    let (mut invented, run, ..) = shared([Bus::A, Bus::A]);
    let tandem = invented.breaker("breaker-tandem", Bus::A);
    invented.land(near(run, BLACK), tandem, "load_1");
    invented.land(near(run, RED), tandem, "load_2");
    let kind = HazardKind::SharedNeutralOverload { tip: near(run, WHITE), leg: Bus::A };
    assert_eq!(faults(&invented), [kind]);
}

/// Two breakers of their own: with one OFF, parting the shared neutral lets it rise through the other's loads. One
/// breaker for both opens both.
#[test]
fn a_shared_neutral_rises_where_two_breakers_feed_through_it() {
    let rises = |kind: &HazardKind| matches!(kind, HazardKind::NeutralRises(_));
    let (mut invented, run, _, place) = shared([Bus::A, Bus::B]);
    let hazards = of(&invented.hazards(), rises);
    let [hazard] = hazards.as_slice() else { panic!("{hazards:?}") };
    assert!(matches!(hazard.kind, HazardKind::NeutralRises(Spot::Splice(_))));
    assert_eq!((hazard.place, hazard.breakers.len()), (Some(place), 2));
    assert!(hazard.path.iter().any(|step| matches!(step.part, Part::Conductor { wire: WHITE, run: of } if of == run)));
    assert_eq!(hazard.loads, BTreeSet::new());
    let both = invented.breaker("breaker-2p-15", Bus::A);
    invented.land(near(run, BLACK), both, "load_1");
    invented.land(near(run, RED), both, "load_2");
    assert_eq!(invented.kinds(), []);
}

/// A neutral that goes on by way of a receptacle's screws is parted when the receptacle comes out.
#[test]
fn a_shared_neutral_rises_beyond_a_receptacle_that_it_goes_on_by() {
    let (mut invented, run, [first, second], place) = shared([Bus::A, Bus::B]);
    invented.change(first, "receptacle-15-duplex");
    invented.land(far(run, BLACK), first, "hot_1");
    let neutral = invented.splice(place, &[far(run, WHITE)]);
    let in_between = invented.pigtail(place, neutral, first, "neutral_1");
    invented.pigtail(place, neutral, second, "neutral");
    let by_device = |invented: &Invented| {
        let is = |kind: &HazardKind| matches!(kind, HazardKind::NeutralRises(Spot::Terminal { device, .. }) if *device == first);
        of(&invented.hazards(), is).len()
    };
    assert_eq!(by_device(&invented), 0);
    // The second one from the first one's other screw.
    let on = invented.run("pigtail-14-white", place, Some(place), 1);
    invented.land(near(on, 0), first, "neutral_2");
    let old: Vec<Tip> = landed(&invented, second, "neutral");
    for tip in old {
        invented.put(tip, Place::Capped);
    }
    invented.land(far(on, 0), second, "neutral");
    assert_eq!(by_device(&invented), 1);
    assert_eq!(landed(&invented, first, "neutral_1"), [far(in_between, 0)]);
}

fn landed(invented: &Invented, on: ThingId, at: &str) -> Vec<Tip> {
    let is =
        |place: &Place| matches!(place, Place::Terminal { device, terminal, .. } if *device == on && terminal == at);
    let tips = invented.wiring.tips.iter().filter(|(_, note)| note.place.get().is_some_and(is));
    tips.map(|(tip, _)| tip.clone()).collect()
}

/// A lamp that returns by another circuit's white: that circuit's breaker OFF does not make its neutral dead.
#[test]
fn a_borrowed_neutral_rises_where_its_own_breaker_is_off() {
    let rises = |kind: &HazardKind| matches!(kind, HazardKind::NeutralRises(_));
    let mut light = light();
    let (_, run) = second(&mut light, Bus::B);
    light.invented.put(far(run, WHITE), Place::Capped);
    // Its own neutral, one breaker: nothing to tell.
    assert_eq!(of(&light.invented.hazards(), rises), []);
    light.invented.put(far(light.feed, WHITE), Place::Capped);
    light.invented.splice(light.place, &[far(run, WHITE), near(light.leg, WHITE)]);
    let hazards = of(&light.invented.hazards(), rises);
    assert!(hazards.iter().any(|hazard| hazard.place == Some(light.place)), "{hazards:?}");
    assert!(hazards.iter().all(|hazard| hazard.breakers == BTreeSet::from([handle(light.breaker)])));
    assert!(hazards.iter().all(|hazard| hazard.at == [at(light.switch, "on")]));
}
