//! Supplies, breakers, grounds, subpanels.

use super::*;
use crate::job::value::{SupplyKind, System};

/// A second panel at the far side of four conductors.
struct Sub {
    invented: Invented,
    panel: ThingId,
    breaker: ThingId,
    feeder: ThingId,
}

const SUB_WIRES: [(u8, Bus); 4] = [(BLACK, Bus::A), (RED, Bus::B), (WHITE, Bus::Neutral), (BARE_3, Bus::Ground)];

fn sub() -> Sub {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-2p-50", Bus::A);
    let panel = invented.a_panel(System::SplitPhase);
    let feeder = invented.run("nm-10-3", invented.panel, Some(panel), 50);
    let main = invented.panel;
    invented.land(near(feeder, BLACK), breaker, "load_1");
    invented.land(near(feeder, RED), breaker, "load_2");
    invented.put(near(feeder, WHITE), Place::Bus { panel: main, bus: Bus::Neutral });
    invented.put(near(feeder, BARE_3), Place::Bus { panel: main, bus: Bus::Ground });
    for (wire, bus) in SUB_WIRES {
        invented.put(far(feeder, wire), Place::Bus { panel, bus });
    }
    Sub { invented, panel, breaker, feeder }
}

/// A lamp on a breaker of the subpanel.
fn sub_lamp(sub: &mut Sub) -> LoadPoint {
    let breaker = sub.invented.device("breaker-1p-15", sub.panel);
    sub.invented.note(breaker).leg = Invented::leg(Bus::A);
    let ceiling = sub.invented.a_box("octagon-4-1.5");
    let run = sub.invented.run("nm-14-2", sub.panel, Some(ceiling), 20);
    let panel = sub.panel;
    sub.invented.land(near(run, BLACK), breaker, "load");
    sub.invented.put(near(run, WHITE), Place::Bus { panel, bus: Bus::Neutral });
    sub.invented.put(near(run, BARE_2), Place::Bus { panel, bus: Bus::Ground });
    sub.invented.fixture(ceiling, run, 60)
}

#[test]
fn a_subpanel_is_bonded_to_ground_only_where_its_bars_are_joined() {
    let mut sub = sub();
    sub_lamp(&mut sub);
    assert_eq!(sub.invented.kinds(), []);
    let jumper = sub.invented.run("pigtail-14-bare", sub.panel, Some(sub.panel), 1);
    let panel = sub.panel;
    sub.invented.put(near(jumper, 0), Place::Bus { panel, bus: Bus::Neutral });
    sub.invented.put(far(jumper, 0), Place::Bus { panel, bus: Bus::Ground });
    let kinds = sub.invented.kinds();
    let kind = HazardKind::NeutralGrounded(Spot::Bus { panel, bus: Bus::Ground });
    assert_eq!(kinds, std::slice::from_ref(&kind));
    assert_eq!(the(&sub.invented, &kind).place, Some(panel));
}

/// The ground bar of a subpanel grounds nothing by itself.
#[test]
fn grounds_of_a_subpanel_are_broken_with_its_feeders_ground() {
    let mut sub = sub();
    let lamp = sub_lamp(&mut sub);
    let broken = |kind: &HazardKind| matches!(kind, HazardKind::BrokenGround(_));
    sub.invented.put(far(sub.feeder, BARE_3), Place::Capped);
    let found = of(&sub.invented.hazards(), broken);
    assert!(found.iter().any(|hazard| hazard.kind == HazardKind::BrokenGround(Spot::Shell(lamp.device))), "{found:?}");
    // The way is told as far as the ground goes: to the bar that nothing grounds.
    let bar = Spot::Bus { panel: sub.panel, bus: Bus::Ground };
    assert!(found.iter().any(|hazard| hazard.path.iter().any(|step| step.to.spot() == Some(&bar))), "{found:?}");
    // Where the feeder's ground goes nobody noted: nothing is claimed.
    sub.invented.wiring.tips.remove(&far(sub.feeder, BARE_3));
    assert_eq!(of(&sub.invented.hazards(), broken), []);
}

#[test]
fn two_supplies_meet_only_where_each_has_its_own() {
    let sub = sub();
    let meet = |kind: &HazardKind| matches!(kind, HazardKind::SuppliesMeet { .. });
    // A feeder lands on the legs: the panel has no supply of its own.
    assert_eq!(of(&sub.invented.hazards(), meet), []);
    // It lands on a breaker of a panel that has one.
    let mut sub = sub;
    let back = sub.invented.device("breaker-2p-50", sub.panel);
    sub.invented.note(back).leg = Invented::leg(Bus::A);
    sub.invented.land(far(sub.feeder, BLACK), back, "load_1");
    sub.invented.land(far(sub.feeder, RED), back, "load_2");
    let kind = HazardKind::SuppliesMeet { one: sub.invented.panel, other: sub.panel };
    let hazard = the(&sub.invented, &kind);
    assert!(hazard.path.iter().any(|step| matches!(step.part, Part::Conductor { run, .. } if run == sub.feeder)));
    let meet = HazardKind::SourcesMeet { one: sub.breaker.min(back), other: sub.breaker.max(back) };
    assert!(sub.invented.kinds().contains(&meet));
}

#[test]
fn halves_of_a_tandem_meet_where_one_conductor_joins_them() {
    let mut invented = Invented::new();
    let tandem = invented.breaker("breaker-tandem", Bus::A);
    let place = invented.a_box("nonmetallic-1g");
    let run = invented.run("nm-14-3", invented.panel, Some(place), 20);
    invented.land(near(run, BLACK), tandem, "load_1");
    invented.land(near(run, RED), tandem, "load_2");
    for (wire, bus) in [(WHITE, Bus::Neutral), (BARE_3, Bus::Ground)] {
        let panel = invented.panel;
        invented.put(near(run, wire), Place::Bus { panel, bus });
        invented.put(far(run, wire), Place::Capped);
    }
    let splices = [BLACK, RED].map(|wire| invented.splice(place, &[far(run, wire)]));
    let meet = HazardKind::SourcesMeet { one: tandem, other: tandem };
    assert!(!invented.kinds().contains(&meet));
    invented.put(far(run, RED), Place::Splice(splices[0]));
    let hazard = the(&invented, &meet);
    assert!(hazard.always);
    assert_eq!(hazard.place, Some(place));
}

/// Both hots of a receptacle on the two legs of a multiwire run; almost: an appliance made for two legs.
#[test]
fn across_two_legs_is_told_of_what_is_made_for_one() {
    for kind in ["receptacle-15-single", "heater-240"] {
        let mut invented = Invented::new();
        let breaker = invented.breaker("breaker-2p-20", Bus::A);
        let place = invented.a_box("nonmetallic-1g");
        let run = invented.home_run("nm-14-3", breaker, place, 20);
        let device = invented.device(kind, place);
        invented.put(far(run, WHITE), Place::Capped);
        if kind == "heater-240" {
            invented.splice(place, &[far(run, BLACK), lead(device, "hot_1")]);
            invented.splice(place, &[far(run, RED), lead(device, "hot_2")]);
        } else {
            invented.land(far(run, BLACK), device, "hot");
            invented.land(far(run, RED), device, "neutral");
        }
        invented.land(far(run, BARE_3), device, "ground");
        if kind == "heater-240" {
            assert_eq!(invented.kinds(), []);
        } else {
            let point = outlet(device, "outlet");
            assert_eq!(invented.kinds(), [HazardKind::AcrossLegs(point.clone())]);
            let hazard = the(&invented, &HazardKind::AcrossLegs(point.clone()));
            assert_eq!((hazard.place, hazard.loads), (Some(place), BTreeSet::from([point])));
        }
    }
}

/// A generator's cord on the load side of a breaker meets that breaker; behind a transfer switch it does not. What it
/// feeds stays live with the breaker OFF.
#[test]
fn a_generator_meets_the_panel_where_nothing_keeps_them_apart() {
    let mut light = light();
    let generator = light.invented.supply(SupplyKind::Generator);
    let meet = HazardKind::SourcesMeet { one: light.breaker, other: generator };
    let cord = light.invented.run("cord-12-3", light.place, None, 10);
    for (wire, bus) in [(BLACK, Bus::A), (WHITE, Bus::Neutral), (BARE_2, Bus::Ground)] {
        light.invented.put(far(cord, wire), Place::Bus { panel: generator, bus });
        light.invented.put(near(cord, wire), Place::Capped);
    }
    assert!(!light.invented.kinds().contains(&meet));
    let hot = light.invented.splice(light.place, &[far(light.feed, BLACK), near(cord, BLACK)]);
    light.invented.pigtail(light.place, hot, light.switch, "line");
    let hazard = the(&light.invented, &meet);
    assert!(hazard.always);
    assert_eq!(hazard.place, Some(light.place));
    assert!(!light.invented.kinds().iter().any(|kind| matches!(kind, HazardKind::BorrowedNeutral { .. })));
    // With the generator off it is live by the breaker, and the way is from there.
    let running = Handle { device: generator, switch: "running".to_owned() };
    let stays = the(&light.invented, &HazardKind::StaysLive { place: light.place, off: running });
    assert!(stays.path.iter().any(|step| step.part == Part::Contact(handle(light.breaker))), "{:?}", stays.path);
    let kind = HazardKind::StaysLive { place: light.place, off: handle(light.breaker) };
    assert_eq!(the(&light.invented, &kind).breakers.iter().map(|h| h.device).collect::<Vec<_>>(), [generator]);
    // One of the two by way of a transfer switch in the box.
    let transfer = light.invented.device("transfer-switch-1p", light.place);
    light.invented.splice(light.place, &[far(light.feed, BLACK), lead(transfer, "utility")]);
    light.invented.splice(light.place, &[near(cord, BLACK), lead(transfer, "generator")]);
    light.invented.put(lead(transfer, "load"), Place::Splice(hot));
    assert!(!light.invented.kinds().contains(&meet));
    // Straight on the panel's leg, no breaker stands between the two.
    let panel = light.invented.panel;
    light.invented.put(near(cord, BLACK), Place::Bus { panel, bus: Bus::A });
    let supplies = HazardKind::SuppliesMeet { one: panel.min(generator), other: panel.max(generator) };
    assert!(the(&light.invented, &supplies).always);
}
