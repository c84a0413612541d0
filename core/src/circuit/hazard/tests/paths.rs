//! Which way currents go: rings, borrowed ways, loads behind loads; and groups with too many combinations.

use super::*;

/// A ring of two cables through two boxes with a receptacle each, from one breaker.
struct Ring {
    invented: Invented,
    cables: [ThingId; 3],
}

fn ring() -> Ring {
    let mut invented = Invented::new();
    let panel = invented.panel;
    let breaker = invented.breaker("breaker-1p-30", Bus::A);
    let boxes = [0; 2].map(|_| invented.a_box("nonmetallic-1g"));
    let cables = [
        invented.run("nm-12-2", panel, Some(boxes[0]), 30),
        invented.run("nm-12-2", boxes[0], Some(boxes[1]), 20),
        invented.run("nm-12-2", panel, Some(boxes[1]), 60),
    ];
    for cable in [cables[0], cables[2]] {
        invented.land(near(cable, BLACK), breaker, "load");
        invented.put(near(cable, WHITE), Place::Bus { panel, bus: Bus::Neutral });
        invented.put(near(cable, BARE_2), Place::Bus { panel, bus: Bus::Ground });
    }
    for (n, ends) in
        [[(cables[0], true), (cables[1], false)], [(cables[1], true), (cables[2], true)]].iter().enumerate()
    {
        let receptacle = invented.device("receptacle-15-single", boxes[n]);
        for (wire, terminal) in [(BLACK, "hot"), (WHITE, "neutral"), (BARE_2, "ground")] {
            let tips = ends.map(|(cable, is_far)| if is_far { far(cable, wire) } else { near(cable, wire) });
            let splice = invented.splice(boxes[n], &tips);
            invented.pigtail(boxes[n], splice, receptacle, terminal);
        }
    }
    Ring { invented, cables }
}

/// Every cable of a whole ring carries as much out as back, whatever part of it. With one conductor broken every outlet
/// still works, and the sums tell.
#[test]
fn a_whole_ring_has_no_net_current_and_a_broken_one_has() {
    let mut ring = ring();
    assert_eq!(ring.invented.kinds(), []);
    ring.invented.put(near(ring.cables[2], WHITE), Place::Capped);
    let hazards = ring.invented.hazards();
    let apart = of(&hazards, |kind| matches!(kind, HazardKind::ConductorsApart { .. }));
    assert!(!apart.is_empty());
    for hazard in &apart {
        let HazardKind::ConductorsApart { runs, .. } = &hazard.kind else { continue };
        assert_eq!(*runs, BTreeSet::from(ring.cables));
    }
    assert_eq!(hazards.len(), apart.len());
}

/// A heater's second leg is lost: lamps of that leg are hot only through the heater. With the leg whole they are not.
#[test]
fn half_a_house_that_works_only_through_a_heater_is_fed_through_it() {
    let mut invented = Invented::new();
    let panel = invented.panel;
    let breaker = invented.breaker("breaker-2p-20", Bus::A);
    let place = invented.a_box("nonmetallic-4g");
    let run = invented.home_run("nm-12-3", breaker, place, 20);
    let heater = invented.device("heater-240", place);
    invented.splice(place, &[far(run, BLACK), lead(heater, "hot_1")]);
    let red = invented.splice(place, &[far(run, RED), lead(heater, "hot_2")]);
    let neutral = invented.splice(place, &[far(run, WHITE)]);
    let ground = invented.splice(place, &[far(run, BARE_3)]);
    invented.pigtail(place, ground, heater, "ground");
    let lamps = [0; 2].map(|_| {
        let lamp = invented.device("luminaire", place);
        for (name, splice) in [("hot", red), ("neutral", neutral), ("ground", ground)] {
            invented.put(lead(lamp, name), Place::Splice(splice));
        }
        super::lamp(lamp)
    });
    assert_eq!(invented.kinds(), []);
    invented.put(near(run, RED), Place::Capped);
    let through = BTreeSet::from([outlet(heater, "heater")]);
    let kinds = invented.kinds();
    assert_eq!(kinds, [HazardKind::FedThrough(through.clone())]);
    let hazard = the(&invented, &HazardKind::FedThrough(through.clone()));
    assert_eq!((hazard.place, hazard.always), (Some(place), true));
    assert_eq!(hazard.loads.difference(&through).cloned().collect::<BTreeSet<_>>(), BTreeSet::from(lamps.clone()));
    let parts: Vec<&Part> = hazard.path.iter().map(|step| &step.part).filter(|p| matches!(p, Part::Load(_))).collect();
    assert_eq!(parts, [&Part::Load(outlet(heater, "heater")), &Part::Load(lamps[0].clone())]);
    // Where the red lands nobody noted: nothing is claimed.
    invented.wiring.runs.get_mut(&run).unwrap().near.feed = crate::job::Note::NotSaid;
    invented.land(near(run, BLACK), breaker, "load_1");
    invented.put(near(run, WHITE), Place::Bus { panel, bus: Bus::Neutral });
    invented.put(near(run, BARE_3), Place::Bus { panel, bus: Bus::Ground });
    invented.wiring.tips.remove(&near(run, RED));
    assert_eq!(invented.kinds(), []);
}

/// A lamp behind a heater's neutral: in series. An empty outlet there: fed through it. Side by side: neither.
#[test]
fn behind_a_load_is_in_series_or_fed_through_by_what_draws() {
    let build = |kind: &str, behind: bool| {
        let mut light = light();
        let (leg, fixture) = (light.leg, light.fixture);
        let second = light.invented.device(kind, light.ceiling);
        let middle = light.invented.splice(light.ceiling, &[lead(fixture, "neutral")]);
        let neutral = light.invented.splice(light.ceiling, &[far(leg, WHITE)]);
        let hot = light.invented.splice(light.ceiling, &[far(leg, BLACK), lead(fixture, "hot")]);
        let ground = light.invented.splice(light.ceiling, &[far(leg, BARE_2), lead(fixture, "ground")]);
        if !behind {
            light.invented.put(lead(fixture, "neutral"), Place::Splice(neutral));
        }
        let ways = [("hot", if behind { middle } else { hot }), ("neutral", neutral), ("ground", ground)];
        for (name, splice) in ways {
            if kind == "luminaire" {
                light.invented.put(lead(second, name), Place::Splice(splice));
            } else {
                light.invented.pigtail(light.ceiling, splice, second, name);
            }
        }
        (light, second)
    };
    let (light, second) = build("luminaire", true);
    let series = HazardKind::LoadsInSeries(BTreeSet::from([lamp(light.fixture), lamp(second)]));
    assert_eq!(light.invented.kinds(), std::slice::from_ref(&series));
    let hazard = the(&light.invented, &series);
    assert_eq!((hazard.at.as_slice(), hazard.place), ([at(light.switch, "on")].as_slice(), Some(light.ceiling)));
    let (light, second) = build("receptacle-15-single", true);
    let kind = HazardKind::FedThrough(BTreeSet::from([lamp(light.fixture)]));
    assert_eq!(light.invented.kinds(), std::slice::from_ref(&kind));
    assert!(the(&light.invented, &kind).loads.contains(&outlet(second, "outlet")));
    for kind in ["luminaire", "receptacle-15-single"] {
        assert_eq!(build(kind, false).0.invented.kinds(), []);
    }
}

/// Ten two-way handles have more combinations than are worked out; nine have not. What was left out is said, and a
/// hazard that one handle brings is found all the same.
#[test]
fn a_group_with_too_many_combinations_says_so() {
    let nine = chain(9);
    assert_eq!(nine.invented.kinds(), []);
    let mut ten = chain(10);
    let kinds = ten.invented.kinds();
    let [HazardKind::NotEveryPosition { handles, combinations: 1024 }] = kinds.as_slice() else { panic!("{kinds:?}") };
    assert_eq!(handles.len(), 10);
    let hazards = ten.invented.hazards();
    assert_eq!(hazards[0].loads, BTreeSet::from([lamp(ten.lamp)]));
    // The lamp's conductors joined: a short in half of the positions.
    let ceiling = ten.invented.wiring.devices[&ten.lamp].in_box.get().copied().flatten().unwrap();
    ten.invented.splice(ceiling, &[far(ten.leg, BLACK), far(ten.leg, WHITE), lead(ten.lamp, "hot")]);
    let short = of(&ten.invented.hazards(), |kind| matches!(kind, HazardKind::Short { .. }));
    assert_eq!(short.len(), 1);
    assert!(!short[0].always);
}
