use super::super::super::invented::*;
use super::super::super::solve::Solver;
use super::super::super::trip::{Sees, Trip};
use super::*;
use std::collections::BTreeSet;

use crate::job::{Bus, Place, ThingId};

/// A ground-fault device, a switch behind it, and a fan at the end. A place may be changed before it is built.
struct Bathroom {
    invented: Invented,
    guard: ThingId,
    feed: ThingId,
    onward: ThingId,
    fan: LoadPoint,
    here: ThingId,
    whites: ThingId,
}

fn bathroom(kind: &str) -> Bathroom {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-20", Bus::A);
    let (here, there) = (invented.a_box("nonmetallic-2g"), invented.a_box("nonmetallic-round"));
    let feed = invented.home_run("nm-12-2", breaker, here, 30);
    let onward = invented.run("nm-12-2", here, Some(there), 12);
    let (guard, switch) = (invented.device(kind, here), invented.device("switch-1p", here));
    let whites = invented.splice(here, &[far(feed, WHITE)]);
    invented.land(far(feed, BLACK), guard, "line_hot");
    invented.pigtail(here, whites, guard, "line_neutral");
    let wire = invented.run("pigtail-14-black", here, Some(here), 1);
    invented.land(near(wire, 0), guard, "load_hot");
    invented.land(far(wire, 0), switch, "line");
    invented.land(near(onward, BLACK), switch, "switched");
    invented.land(near(onward, WHITE), guard, "load_neutral");
    let grounds = invented.splice(here, &[far(feed, BARE_2), near(onward, BARE_2)]);
    invented.pigtail(here, grounds, guard, "ground");
    invented.pigtail(here, grounds, switch, "ground");
    let fan = invented.device("fan-exhaust", there);
    for (wire, name) in [(BLACK, "hot"), (WHITE, "neutral"), (BARE_2, "ground")] {
        invented.splice(there, &[far(onward, wire), lead(fan, name)]);
    }
    let fan = outlet(fan, "fan");
    Bathroom { invented, guard, feed, onward, fan, here, whites }
}

fn gfci(invented: &Invented) -> Vec<HazardKind> {
    let of = |kind: &HazardKind| matches!(kind, HazardKind::GfciAlwaysTrips { .. } | HazardKind::GfciCannotSee { .. });
    invented.kinds().into_iter().filter(of).collect()
}

/// Devices that trip for sure by a difference of currents in some position, with the noted loads on.
fn trip_by_current(invented: &Invented) -> BTreeSet<ThingId> {
    let circuit = invented.circuit();
    let solver = Solver::new(&circuit.network);
    let mut tripped = BTreeSet::new();
    for group in circuit.groups() {
        for state in circuit.combinations(&group.handles).unwrap() {
            let sure = |trip: &&Trip| trip.when.is_sure() && matches!(trip.sees, Sees::Difference { .. });
            let trips = circuit.trips(&circuit.settle(&solver, &state).solution);
            tripped.extend(trips.iter().filter(sure).map(|trip| trip.handle.device));
        }
    }
    tripped
}

#[test]
fn landed_as_it_should_nothing_is_told() {
    for kind in ["receptacle-gfci-20", "receptacle-gfci-15-old", "gfci-blank"] {
        let bathroom = bathroom(kind);
        assert_eq!(gfci(&bathroom.invented), [], "{kind}");
        assert!(trip_by_current(&bathroom.invented).is_empty());
    }
}

/// A public trouble report (a question-and-answer site, "GFCI plug to bathroom fan keeps tripping"): the fan's hot
/// from LOAD, its neutral in the bundle of the feed. Both before the sensor is no hazard.
#[test]
fn a_neutral_on_the_wrong_side_trips_as_soon_as_its_load_runs() {
    let mut bathroom = bathroom("receptacle-gfci-20");
    let guard = bathroom.guard;
    bathroom.invented.put(near(bathroom.onward, WHITE), Place::Splice(bathroom.whites));
    let load = Some(bathroom.fan.clone());
    assert_eq!(gfci(&bathroom.invented), [HazardKind::GfciAlwaysTrips { device: guard, load }]);
    let hazards = bathroom.invented.hazards();
    let hazard = hazards.iter().find(|h| matches!(h.kind, HazardKind::GfciAlwaysTrips { .. })).unwrap();
    assert_eq!(hazard.place, Some(bathroom.here));
    assert!(!hazard.always && hazard.loads == BTreeSet::from([bathroom.fan.clone()]));
    assert_eq!(trip_by_current(&bathroom.invented), BTreeSet::from([guard]));

    let switch = bathroom.invented.wiring.devices.iter().find(|(_, n)| n.kind.get().is_some_and(|k| k == "switch-1p"));
    let switch = *switch.unwrap().0;
    let hots = bathroom.invented.splice(bathroom.here, &[far(bathroom.feed, BLACK)]);
    bathroom.invented.pigtail(bathroom.here, hots, guard, "line_hot");
    bathroom.invented.pigtail(bathroom.here, hots, switch, "line");
    let wire = bathroom.invented.wiring.tips.iter().find(|(_, note)| {
        matches!(note.place.get(), Some(Place::Terminal { device, terminal, .. }) if *device == guard && terminal == "load_hot")
    });
    let end = wire.unwrap().0.clone();
    bathroom.invented.put(end, Place::Capped);
    assert_eq!(trip_by_current(&bathroom.invented), BTreeSet::new());
    let told = gfci(&bathroom.invented);
    // The jumper from LOAD to the switch still joins nothing: its other end is capped, so the fan is before the sensor.
    assert_eq!(told, []);
}

/// The other way round: hot before the sensor, neutral behind it.
#[test]
fn a_hot_on_the_wrong_side_trips_too() {
    let mut bathroom = bathroom("gfci-blank");
    let guard = bathroom.guard;
    let hots = bathroom.invented.splice(bathroom.here, &[far(bathroom.feed, BLACK)]);
    bathroom.invented.pigtail(bathroom.here, hots, guard, "line_hot");
    bathroom.invented.put(near(bathroom.onward, BLACK), Place::Splice(hots));
    let load = Some(bathroom.fan.clone());
    assert_eq!(gfci(&bathroom.invented), [HazardKind::GfciAlwaysTrips { device: guard, load }]);
    assert_eq!(trip_by_current(&bathroom.invented), BTreeSet::from([guard]));
}

/// UL 943 wants a protected neutral on ground found; before the sensor it is another hazard, and none of this device.
#[test]
fn a_protected_neutral_on_ground_is_a_way_round() {
    let mut bathroom = bathroom("receptacle-gfci-20");
    let guard = bathroom.guard;
    let there = bathroom.invented.wiring.runs[&bathroom.onward].far.in_box.get().copied().flatten().unwrap();
    let fan = bathroom.fan.device;
    bathroom.invented.splice(
        there,
        &[far(bathroom.onward, WHITE), far(bathroom.onward, BARE_2), lead(fan, "neutral"), lead(fan, "ground")],
    );
    assert!(gfci(&bathroom.invented).contains(&HazardKind::GfciAlwaysTrips { device: guard, load: None }));
    let hazards = bathroom.invented.hazards();
    let hazard = hazards.iter().find(|h| matches!(h.kind, HazardKind::GfciAlwaysTrips { .. })).unwrap();
    assert!(hazard.always && !hazard.path.is_empty());
    assert_eq!(trip_by_current(&bathroom.invented), BTreeSet::from([guard]));

    let mut before = self::bathroom("receptacle-gfci-20");
    let ground = near(before.onward, BARE_2);
    before.invented.put(ground, Place::Splice(before.whites));
    let told = gfci(&before.invented);
    assert!(!told.iter().any(|kind| matches!(kind, HazardKind::GfciAlwaysTrips { .. })), "{told:?}");
    assert!(trip_by_current(&before.invented).is_empty());
}

/// Two circuits on one neutral: behind the device it trips, before it it does not (a public answer on multiwire
/// circuits, "Multiple GFCI with two hot wires and shared neutral").
#[test]
fn a_neutral_shared_behind_the_sensor_trips_and_before_it_does_not() {
    for (terminal, trips) in [("load_neutral", true), ("line_neutral", false)] {
        let mut bathroom = bathroom("receptacle-gfci-20");
        let (guard, here) = (bathroom.guard, bathroom.here);
        let invented = &mut bathroom.invented;
        let other = invented.breaker("breaker-1p-15", Bus::B);
        let run = invented.home_run("nm-14-2", other, here, 30);
        let lamp = invented.device("luminaire", here);
        invented.splice(here, &[far(run, BLACK), lead(lamp, "hot")]);
        invented.put(far(run, WHITE), Place::Capped);
        if terminal == "load_neutral" {
            let both = invented.splice(here, &[near(bathroom.onward, WHITE), lead(lamp, "neutral")]);
            invented.pigtail(here, both, guard, "load_neutral");
        } else {
            invented.put(lead(lamp, "neutral"), Place::Splice(bathroom.whites));
        }
        let told = gfci(invented);
        let kind = HazardKind::GfciAlwaysTrips { device: guard, load: Some(super::super::super::invented::lamp(lamp)) };
        assert_eq!(told, if trips { vec![kind] } else { vec![] }, "{terminal}");
        assert_eq!(!trip_by_current(invented).is_empty(), trips, "{terminal}");
    }
}

/// Only the neutral of the feed on LOAD: what its own slots give goes out through the sensor and comes back before it.
#[test]
fn a_feed_that_is_half_on_load_trips() {
    let mut bathroom = bathroom("receptacle-gfci-20");
    let (guard, feed, here) = (bathroom.guard, bathroom.feed, bathroom.here);
    bathroom.invented.put(near(bathroom.onward, WHITE), Place::Splice(bathroom.whites));
    bathroom.invented.land(far(feed, WHITE), guard, "load_neutral");
    let plug = bathroom.invented.plug("plug-appliance", &outlet(guard, "upper"));
    bathroom.invented.watts(plug, "appliance", 100);
    assert_eq!(gfci(&bathroom.invented), [HazardKind::GfciAlwaysTrips { device: guard, load: None }]);
    assert_eq!(trip_by_current(&bathroom.invented), BTreeSet::from([guard]));
    assert_eq!(
        bathroom
            .invented
            .hazards()
            .iter()
            .find(|h| h.kind == HazardKind::GfciAlwaysTrips { device: guard, load: None })
            .unwrap()
            .place,
        Some(here)
    );
}

/// An electrical supplier on the 2015 revision of UL 943; a public trouble report on two replaced devices.
#[test]
fn line_and_load_exchanged_are_told() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-20", Bus::A);
    let here = invented.a_box("nonmetallic-1g");
    let feed = invented.home_run("nm-12-2", breaker, here, 30);
    let guard = invented.device("receptacle-gfci-15-old", here);
    invented.land(far(feed, BARE_2), guard, "ground");
    for (line, told) in [(true, None), (false, Some(Blind::Exchanged))] {
        let (hot, neutral) = if line { ("line_hot", "line_neutral") } else { ("load_hot", "load_neutral") };
        invented.land(far(feed, BLACK), guard, hot);
        invented.land(far(feed, WHITE), guard, neutral);
        let kinds: Vec<_> = told.into_iter().map(|why| HazardKind::GfciCannotSee { device: guard, why }).collect();
        assert_eq!(gfci(&invented), kinds);
    }
}

#[test]
fn without_a_neutral_it_cannot_open_and_without_a_ground_no_tester_trips_it() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-20", Bus::A);
    let here = invented.a_box("nonmetallic-1g");
    let feed = invented.home_run("nm-12-2", breaker, here, 30);
    let guard = invented.device("receptacle-gfci-15", here);
    let cannot = |why| HazardKind::GfciCannotSee { device: guard, why };
    invented.land(far(feed, BLACK), guard, "line_hot");
    invented.land(far(feed, WHITE), guard, "line_neutral");
    invented.land(far(feed, BARE_2), guard, "ground");
    assert_eq!(gfci(&invented), []);
    invented.put(far(feed, WHITE), Place::Capped);
    assert_eq!(gfci(&invented), [cannot(Blind::NoSupply)]);
    // Where nobody knows where the neutral is, nothing is said.
    invented.wiring.tips.remove(&far(feed, WHITE));
    assert!(!gfci(&invented).contains(&cannot(Blind::NoSupply)));
    invented.land(far(feed, WHITE), guard, "line_neutral");
    invented.put(far(feed, BARE_2), Place::Capped);
    assert_eq!(gfci(&invented), [cannot(Blind::NoGround)]);
    // A device without a sensor for leaks is not asked.
    invented.change(guard, "receptacle-afci-15");
    assert_eq!(gfci(&invented), []);
}

#[test]
fn a_breaker_with_a_sensor_is_asked_the_same() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-gfci", Bus::A);
    let place = invented.a_box("octagon-4-1.5");
    let feed = invented.home_run("nm-14-2", breaker, place, 30);
    let lamp = invented.fixture(place, feed, 60);
    assert_eq!(gfci(&invented), []);
    invented.put(near(feed, WHITE), Place::Bus { panel: invented.panel, bus: Bus::Neutral });
    assert_eq!(gfci(&invented), [HazardKind::GfciAlwaysTrips { device: breaker, load: Some(lamp) }]);
    assert_eq!(trip_by_current(&invented), BTreeSet::from([breaker]));
    // Its tail lands nowhere.
    invented.wiring.tips.remove(&near(feed, WHITE));
    invented.put(lead(breaker, "neutral_tail"), Place::Capped);
    assert_eq!(gfci(&invented), [HazardKind::GfciCannotSee { device: breaker, why: Blind::NoSupply }]);
}
