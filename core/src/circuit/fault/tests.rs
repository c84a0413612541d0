//! Faults on small wirings, with the arithmetic beside them.

use super::super::invented::*;
use super::super::network::State;
use super::super::{Hazard, HazardKind, Solver, SwitchTable, hazards};
use super::*;

/// Volts between two points with everything where it stands in `state`.
fn volts(circuit: &Circuit, state: &State, from: &Point, to: &Point) -> f64 {
    let (from, to) = (circuit.nodes[from], circuit.nodes[to]);
    let solver = Solver::new(&circuit.network);
    circuit.settle(&solver, state).solution.across(from, to).norm()
}

fn lit(circuit: &Circuit, of: ThingId) -> usize {
    column(&SwitchTable::of(circuit), &lamp(of)).iter().filter(|power| **power == super::super::Power::On).count()
}

fn kinds(circuit: &Circuit) -> Vec<HazardKind> {
    hazards(circuit).into_iter().map(|hazard: Hazard| hazard.kind).collect()
}

/// Both legs over one neutral to two lamps of 100 W and 200 W, as `expect/tests.rs` has it.
struct Shared {
    invented: Invented,
    run: ThingId,
    lamps: [ThingId; 2],
    breakers: [ThingId; 2],
}

fn shared() -> Shared {
    let mut invented = Invented::new();
    let breakers = [Bus::A, Bus::B].map(|leg| invented.breaker("breaker-1p-15", leg));
    let place = invented.a_box("nonmetallic-2g");
    let run = invented.run("nm-14-3", invented.panel, Some(place), 10);
    let panel = invented.panel;
    invented.land(near(run, BLACK), breakers[0], "load");
    invented.land(near(run, RED), breakers[1], "load");
    for (wire, bus) in [(WHITE, Bus::Neutral), (BARE_3, Bus::Ground)] {
        invented.put(near(run, wire), crate::job::Place::Bus { panel, bus });
    }
    let neutral = invented.splice(place, &[far(run, WHITE)]);
    let ground = invented.splice(place, &[far(run, BARE_3)]);
    let lamps = [(BLACK, 100), (RED, 200)].map(|(wire, watts)| {
        let lamp = invented.device("luminaire", place);
        invented.watts(lamp, "lamp", watts);
        invented.splice(place, &[far(run, wire), lead(lamp, "hot")]);
        invented.put(lead(lamp, "neutral"), crate::job::Place::Splice(neutral));
        invented.put(lead(lamp, "ground"), crate::job::Place::Splice(ground));
        lamp
    });
    Shared { invented, run, lamps, breakers }
}

fn lamp_volts(circuit: &Circuit, device: ThingId) -> f64 {
    let load = &circuit.loads[&lamp(device)];
    let solver = Solver::new(&circuit.network);
    circuit.settle(&solver, &circuit.rest()).solution.across(load.from, load.to).norm()
}

/// A neutral that lets go: 100 W (144 ohm) and 200 W (72 ohm) share 240 V as 160 V and 80 V (the case of
/// studylib.net document 5726865, "Open neutral"). Numbers stay, and the sound circuit is not touched.
#[test]
fn a_joint_that_lets_go_is_the_published_open_neutral() {
    let shared = shared();
    let sound = shared.invented.circuit();
    for (fault, part) in [
        (Fault::Open(Part::Joint(near(shared.run, WHITE))), Part::Joint(near(shared.run, WHITE))),
        (
            Fault::Open(Part::Conductor { run: shared.run, wire: WHITE }),
            Part::Conductor { run: shared.run, wire: WHITE },
        ),
    ] {
        let broken = sound.with_faults(std::slice::from_ref(&fault)).unwrap();
        for (device, expected) in shared.lamps.into_iter().zip([160.0, 80.0]) {
            let read = lamp_volts(&broken, device);
            assert!((read - expected).abs() < 0.2, "{fault:?} {read}");
            assert!((lamp_volts(&sound, device) - 120.0).abs() < 0.2);
        }
        assert_eq!(broken.network.node_count(), sound.network.node_count());
        assert_eq!(broken.network.elements().len(), sound.network.elements().len());
        assert!(
            broken.elements_where(|of| *of == part).iter().all(|id| !broken
                .network
                .element(*id)
                .unwrap()
                .value
                .connects())
        );
        // Taken away twice is an error, not silence.
        assert_eq!(sound.with_faults(&[fault.clone(), fault]).unwrap_err(), FaultError::NoPart(part));
    }
}

/// 0.4 ohm in the hot joint of a 500 W load (28.8 ohm): 120 x 28.8 / 29.2 = 118.36 V, and only under load. By hand.
#[test]
fn a_bad_joint_shows_only_under_load() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let place = invented.a_box("nonmetallic-1g");
    let run = invented.home_run("nm-14-2", breaker, place, 1);
    let load = invented.device("load-120", place);
    invented.splice(place, &[far(run, BLACK), lead(load, "hot")]);
    invented.splice(place, &[far(run, WHITE), lead(load, "neutral")]);
    let circuit = invented.circuit();
    let point = LoadPoint { device: load, load: "load".to_owned() };
    let across = |circuit: &Circuit| {
        let node = &circuit.loads[&point];
        let solver = Solver::new(&circuit.network);
        circuit.settle(&solver, &circuit.rest()).solution.across(node.from, node.to).norm()
    };
    let bad = Fault::Resistance { part: Part::Joint(far(run, BLACK)), ohms: 0.4 };
    let drop = across(&circuit) - across(&circuit.with_faults(std::slice::from_ref(&bad)).unwrap());
    assert!((drop - (120.0 - 118.36)).abs() < 0.03, "{drop}");
    let idle = circuit.with_faults(&[Fault::Missing(point.clone()), bad]).unwrap();
    assert!((across(&idle) - 120.0).abs() < 0.001, "{}", across(&idle));
    // The sections of a long conductor share what it has: 30 ft of 14 AWG have 0.08 ohm, then 0.4.
    let long = chain(2);
    let circuit = long.invented.circuit();
    let part = Part::Conductor { run: long.feed, wire: BLACK };
    let ohms = |circuit: &Circuit| -> f64 {
        let each = circuit.elements_where(|of| *of == part);
        assert_eq!(each.len(), 2);
        each.iter()
            .map(|id| match circuit.network.element(*id).unwrap().value {
                Value::Metal { ohms } => ohms,
                other => panic!("{other:?}"),
            })
            .sum()
    };
    let worse = circuit.with_faults(&[Fault::Resistance { part: part.clone(), ohms: 0.4 }]).unwrap();
    assert!((ohms(&worse) - 0.4).abs() < 1e-12);
    let less = circuit.with_faults(&[Fault::Resistance { part: part.clone(), ohms: 0.01 }]).unwrap();
    assert!((ohms(&less) - ohms(&circuit)).abs() < 1e-15 && ohms(&less) > 0.07);
    // So bad that it joins no more.
    let gone = circuit.with_faults(&[Fault::Resistance { part: part.clone(), ohms: 1e6 }]).unwrap();
    assert!(
        gone.elements_where(|of| *of == part).iter().all(|id| !gone.network.element(*id).unwrap().value.connects())
    );
    assert_eq!(lit(&circuit, long.lamp), 2);
    assert_eq!(lit(&gone, long.lamp), 0);
    for ohms in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let fault = Fault::Resistance { part: part.clone(), ohms };
        let taken = circuit.with_faults(&[fault]);
        // Less than it has is no fault; what is no number is refused.
        assert!(taken.is_err() || (ohms <= 0.0 && taken.is_ok()), "{ohms}");
    }
}

/// The feed and a traveler exchanged: lit in 1 of 4 (common knowledge of the trade; the wiring itself says the same).
#[test]
fn exchanged_and_moved_ends_do_what_the_wiring_would() {
    let mut chain = chain(2);
    let sound = chain.invented.circuit();
    assert_eq!(lit(&sound, chain.lamp), 2);
    let (feed, red) = (far(chain.feed, BLACK), near(chain.travelers[0], RED));
    let exchanged = sound.with_faults(&[Fault::Exchanged { one: feed.clone(), other: red.clone() }]).unwrap();
    assert_eq!(lit(&exchanged, chain.lamp), 1);
    let terminal = |name: &str| Spot::Terminal { device: chain.switches[0], terminal: name.to_owned() };
    let moved = [
        Fault::Moved { tip: feed.clone(), to: terminal("traveler_2") },
        Fault::Moved { tip: red.clone(), to: terminal("common") },
    ];
    assert_eq!(lit(&sound.with_faults(&moved).unwrap(), chain.lamp), 1);
    // Exchanged again is sound again; the same as in a wiring so noted.
    let twice = Fault::Exchanged { one: red.clone(), other: feed.clone() };
    assert_eq!(lit(&exchanged.with_faults(&[twice]).unwrap(), chain.lamp), 2);
    chain.invented.land(feed.clone(), chain.switches[0], "traveler_2");
    chain.invented.land(red.clone(), chain.switches[0], "common");
    let noted = chain.invented.circuit();
    assert_eq!(
        column(&SwitchTable::of(&noted), &lamp(chain.lamp)),
        column(&SwitchTable::of(&exchanged), &lamp(chain.lamp))
    );
    let same = Fault::Exchanged { one: far(chain.feed, WHITE), other: near(chain.travelers[0], WHITE) };
    assert!(matches!(sound.with_faults(&[same]), Err(FaultError::Same(_))));
    let there = Fault::Moved {
        tip: near(chain.leg, BLACK),
        to: Spot::Terminal { device: chain.switches[1], terminal: "common".to_owned() },
    };
    assert!(matches!(sound.with_faults(&[there]), Err(FaultError::Same(_))));
}

/// A capped spare takes the place of the feed; the feed is then capped. A bare end carries its bareness along.
#[test]
fn an_end_exchanged_with_a_free_one_is_free() {
    let mut chain = chain(2);
    let spare = chain.invented.run("nm-14-2", chain.boxes[0], None, 20);
    chain.invented.put(near(spare, BLACK), crate::job::Place::Loose);
    let circuit = chain.invented.circuit();
    let (feed, free) = (far(chain.feed, BLACK), near(spare, BLACK));
    let fault = Fault::Exchanged { one: feed.clone(), other: free.clone() };
    let broken = circuit.with_faults(&[fault]).unwrap();
    assert_eq!(broken.loose, [feed]);
    assert_eq!(lit(&broken, chain.lamp), 0);
    // Where the white of the spare is nobody noted.
    let unknown = Fault::Exchanged { one: near(spare, WHITE), other: free };
    assert_eq!(circuit.with_faults(&[unknown]).unwrap_err(), FaultError::NotSeated(near(spare, WHITE)));
}

/// A handle parked lights nothing; one that sticks makes the other decide alone; one dirty position takes one of two.
#[test]
fn handles_that_stand_between_stick_or_are_dirty() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    let of = handle(chain.switches[0]);
    let put = |fault: Fault| circuit.with_faults(&[fault]).map(|broken| lit(&broken, chain.lamp));
    assert_eq!(put(Fault::Parked(of.clone())), Ok(0));
    let position = |name: &str| name.to_owned();
    assert_eq!(put(Fault::Stuck { handle: of.clone(), position: position("up") }), Ok(2));
    let stuck = circuit.with_faults(&[Fault::Stuck { handle: of.clone(), position: position("up") }]).unwrap();
    let states =
        |lever: &str| circuit.state(&[at(chain.switches[0], lever), at(chain.switches[1], "up")], circuit.rest());
    let load = &circuit.loads[&lamp(chain.lamp)];
    let solver = Solver::new(&stuck.network);
    for lever in ["up", "down"] {
        assert!(solver.at(&states(lever)).across(load.from, load.to).norm() > 110.0, "{lever}");
    }
    assert_eq!(put(Fault::NoContact { handle: of.clone(), position: position("down") }), Ok(1));
    let none = Fault::Stuck { handle: of.clone(), position: position("sideways") };
    assert!(matches!(circuit.with_faults(&[none]), Err(FaultError::NoPosition { .. })));
    let strange = Handle { device: chain.lamp, switch: "handle".to_owned() };
    assert_eq!(circuit.with_faults(&[Fault::Parked(strange.clone())]).unwrap_err(), FaultError::NoHandle(strange));
    let twice = [Fault::Parked(of.clone()), Fault::Parked(of.clone())];
    assert_eq!(circuit.with_faults(&twice).unwrap_err(), FaultError::NoPart(Part::Contact(of)));
}

/// A lamp that is missing draws nothing: on a shared neutral the other leg alone loads it, 200 W at 120 V = 1.667 A.
#[test]
fn a_missing_lamp_draws_nothing() {
    let shared = shared();
    let sound = shared.invented.circuit();
    let neutral = |circuit: &Circuit| {
        let solver = Solver::new(&circuit.network);
        let solution = circuit.settle(&solver, &circuit.rest()).solution;
        let id = circuit.elements_where(|part| *part == Part::Conductor { run: shared.run, wire: WHITE })[0];
        solution.amperes(id).norm()
    };
    assert!((neutral(&sound) - 100.0 / 120.0).abs() < 0.01);
    let dark = sound.with_faults(&[Fault::Missing(lamp(shared.lamps[0]))]).unwrap();
    assert!((neutral(&dark) - 200.0 / 120.0).abs() < 0.01);
    assert_eq!(dark.loads[&lamp(shared.lamps[0])].element, None);
    let again = dark.with_faults(&[Fault::Missing(lamp(shared.lamps[0]))]);
    assert_eq!(again.unwrap_err(), FaultError::DrawsNothing(lamp(shared.lamps[0])));
    assert!(matches!(sound.with_faults(&[Fault::Missing(lamp(shared.run))]), Err(FaultError::NoLoad(_))));
}

/// Both breakers on one leg: the neutral carries the sum, 300 W / 120 V = 2.5 A, instead of the difference.
#[test]
fn a_breaker_on_another_bus_takes_from_it() {
    let shared = shared();
    let sound = shared.invented.circuit();
    let fault = Fault::OnBus { breaker: shared.breakers[1], bus: Bus::A };
    let broken = sound.with_faults(&[fault]).unwrap();
    let solver = Solver::new(&broken.network);
    let solution = broken.settle(&solver, &broken.rest()).solution;
    let id = broken.elements_where(|part| *part == Part::Conductor { run: shared.run, wire: WHITE })[0];
    assert!((solution.amperes(id).norm() - 2.5).abs() < 0.02);
    assert!(broken.poles.iter().all(|pole| pole.leg == (shared.invented.panel, Bus::A)));
    assert!(matches!(
        sound.with_faults(&[Fault::OnBus { breaker: shared.breakers[1], bus: Bus::C }]),
        Err(FaultError::NoLeg { .. })
    ));
    assert!(matches!(
        sound.with_faults(&[Fault::OnBus { breaker: shared.run, bus: Bus::A }]),
        Err(FaultError::NoPart(_))
    ));
}

/// A lost service neutral divides the legs like a broken neutral of the circuit: all of the current returns by the
/// electrode, 25 + 5 ohms beside 144 and 72. By hand: the neutral is at 120 (1/144 - 1/72) / (1/144 + 1/72 + 1/30) = -15.3 V.
#[test]
fn a_lost_service_neutral_returns_through_the_earth() {
    let shared = shared();
    let sound = shared.invented.circuit();
    let panel = shared.invented.panel;
    let broken = sound.with_faults(&[Fault::LegLost { panel, bus: Bus::Neutral }]).unwrap();
    let shift = 120.0 * (1.0 / 144.0 - 1.0 / 72.0) / (1.0 / 144.0 + 1.0 / 72.0 + 1.0 / 30.0);
    assert!((shift - -15.38_f64).abs() < 0.01);
    let read = lamp_volts(&broken, shared.lamps[0]);
    assert!((read - (120.0 - shift)).abs() < 0.3, "{read}");
    // One leg lost: its lamp is dark, or nearly so.
    let leg = sound.with_faults(&[Fault::LegLost { panel, bus: Bus::B }]).unwrap();
    assert!(lamp_volts(&leg, shared.lamps[1]) < 1.0 && lamp_volts(&leg, shared.lamps[0]) > 119.0);
    for bus in [Bus::C, Bus::Ground] {
        assert_eq!(sound.with_faults(&[Fault::LegLost { panel, bus }]).unwrap_err(), FaultError::NoLeg { panel, bus });
    }
}

/// A bond that was never made: the ground bar hangs by 25 + 5 ohms of earth. A hot on it is a short no longer: 4 A,
/// and the bar reads 25 of 30.12 ohms of 120 V to the earth, 99.6 V; 0.08 ohm of them is 30 ft of 14 AWG, 0.025 the
/// source's leg, the rest joints. By hand.
#[test]
fn without_the_bond_a_hot_on_the_ground_makes_everything_metal_live() {
    let chain = chain(2);
    let sound = chain.invented.circuit();
    let panel = chain.invented.panel;
    let bar = Point::bus(panel, Bus::Ground);
    let hot = Spot::Tip(far(chain.feed, BLACK));
    let faults = [Fault::Open(Part::Bond(panel)), Fault::Bridge { from: hot.into(), to: bar.clone(), ohms: 0.001 }];
    let broken = sound.with_faults(&faults).unwrap();
    let read = volts(&broken, &broken.rest(), &bar, &Point::Earth);
    assert!((read - 120.0 * 25.0 / 30.12).abs() < 0.05, "{read}");
    assert!(kinds(&broken).contains(&HazardKind::Short { leg: Bus::A, other: Bus::Ground }));
    assert_eq!(kinds(&sound), []);
}

/// A hot on a housing: with the ground lifted 120 V on it, with the ground on a short; through a wet path of 12 kohm a
/// 10 Mohm meter still reads it. The housing of a luminaire without a ground becomes a point of its own.
#[test]
fn a_load_on_its_housing() {
    let mut chain = chain(2);
    let sound = chain.invented.circuit();
    let housing = Spot::Shell(chain.lamp);
    let hot = Spot::Terminal { device: chain.lamp, terminal: "hot".to_owned() };
    let touch = Fault::bridge(hot.clone(), housing.clone(), 0.01);
    let on = circuit_on(&sound, &chain);
    let short = sound.with_faults(std::slice::from_ref(&touch)).unwrap();
    assert!(kinds(&short).iter().any(|kind| matches!(kind, HazardKind::EnergisedGround(_) | HazardKind::Short { .. })));
    // The ground lifted where the luminaire's lead is spliced, and the box not bonded.
    let tips = [lead(chain.lamp, "ground")];
    let mut faults: Vec<Fault> = tips.into_iter().map(|tip| Fault::Open(Part::Joint(tip))).collect();
    faults.push(Fault::Open(Part::Yoke(chain.lamp)));
    faults.push(touch);
    let lifted = sound.with_faults(&faults).unwrap();
    let read = volts(&lifted, &on, &Point::Spot(housing.clone()), &Point::Earth);
    assert!(read > 118.0, "{read}");
    faults.pop();
    faults.push(Fault::bridge(hot.clone(), housing.clone(), 12_000.0));
    let wet = sound.with_faults(&faults).unwrap();
    let solver = Solver::new(&wet.network);
    let nodes = (wet.nodes[&Point::Spot(housing.clone())], wet.nodes[&Point::Earth]);
    let solution = wet.settle(&solver, &on).solution;
    assert!(solution.across_burdened(nodes.0, nodes.1, 1e7).norm() > 115.0);
    // At 3 kohm: 120 x 3 / 15 = 24 V.
    assert!((solution.across_burdened(nodes.0, nodes.1, 3e3).norm() - 24.0).abs() < 0.5);

    chain.invented.change(chain.lamp, "luminaire-no-ground");
    let bare = chain.invented.circuit();
    assert!(bare.node(&housing).is_none());
    let broken = bare.with_faults(&[Fault::bridge(hot, housing.clone(), 0.01)]).unwrap();
    assert!(volts(&broken, &on, &housing.into(), &Point::Earth) > 118.0);
}

fn circuit_on(circuit: &Circuit, chain: &Chain) -> State {
    let up: Vec<_> = chain.switches.iter().map(|switch| at(*switch, "up")).collect();
    circuit.state(&up, circuit.rest())
}

/// A rail in the soil, named in words: 100 ohms of soil in series with the transformer's 5, the rail touched by a hot:
/// 120 / 105 = 1.143 A, and the rail reads 114.3 V to the earth. By hand.
#[test]
fn a_rail_in_the_soil_is_a_point_in_words() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    let rail = Spot::Other("hand rail".to_owned());
    let faults =
        [Fault::bridge(Spot::Tip(far(chain.feed, BLACK)), rail.clone(), 0.1), Fault::to_earth(rail.clone(), 100.0)];
    let broken = circuit.with_faults(&faults).unwrap();
    // The earth itself rises over the source's centre by 5 ohms beside the electrode's 25: 4.17 ohms.
    let expected = 120.0 * 100.0 / (100.0 + 5.0 * 25.0 / 30.0 + 0.1);
    let read = volts(&broken, &broken.rest(), &rail.clone().into(), &Point::Earth);
    assert!((read - expected).abs() < 0.2, "{read} {expected}");
    assert!(broken.node(&rail).is_some());
    // A leak is no metal; a touch is.
    let connects = |ohms: f64| {
        let fault = Fault::bridge(Spot::Tip(far(chain.feed, BLACK)), rail.clone(), ohms);
        let broken = circuit.with_faults(&[fault]).unwrap();
        let id = broken.elements_where(|part| *part == Part::Bridge)[0];
        broken.network.element(id).unwrap().value.connects()
    };
    assert!(connects(0.5) && !connects(2.0));
}

/// Two earth and supply conditions that cannot be: each is refused with its own sentence, and the circuit is unharmed.
#[test]
fn what_is_not_there_is_refused() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    let nowhere = Spot::Splice(chain.lamp);
    let hot = Spot::Tip(far(chain.feed, BLACK));
    let refused = [
        Fault::Open(Part::Guess),
        Fault::Open(Part::Sheath(chain.feed)),
        Fault::bridge(hot.clone(), nowhere.clone(), 1.0),
        Fault::bridge(hot.clone(), Spot::Shell(chain.boxes[0]), 1.0),
        Fault::bridge(hot.clone(), hot.clone(), 1.0),
        Fault::bridge(hot.clone(), Spot::Other("rail".to_owned()), 0.0),
        Fault::Draws { from: hot.clone().into(), to: Point::Earth, watts: f64::NAN, volts: 120.0 },
        Fault::Moved { tip: far(chain.feed, BLACK), to: Spot::Other("rail".to_owned()) },
        Fault::Moved { tip: far(chain.feed, BLACK), to: nowhere },
        Fault::Resistance { part: Part::Stray(chain.feed), ohms: 5.0 },
    ];
    for fault in refused {
        let error = circuit.with_faults(std::slice::from_ref(&fault)).unwrap_err();
        assert!(error.to_string().len() > 20, "{fault:?}");
    }
    let mut dark = Invented::new();
    dark.wiring.boxes.clear();
    let none = dark.circuit();
    assert!(matches!(
        none.with_faults(&[Fault::to_earth(Spot::Other("rail".to_owned()), 1.0)]),
        Err(FaultError::NoPoint(Point::Earth))
    ));
}

/// A heater that somebody left plugged in, 1200 W on 120 V: 10 A more in the feed. By hand.
#[test]
fn something_unnoted_draws() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    let draws = Fault::Draws {
        from: Spot::Tip(far(chain.feed, BLACK)).into(),
        to: Spot::Tip(far(chain.feed, WHITE)).into(),
        watts: 1200.0,
        volts: 120.0,
    };
    let broken = circuit.with_faults(&[draws]).unwrap();
    let amperes = |circuit: &Circuit| {
        let solver = Solver::new(&circuit.network);
        let id = circuit.elements_where(|part| *part == Part::Conductor { run: chain.feed, wire: BLACK })[0];
        solver.at(&circuit.rest()).amperes(id).norm()
    };
    // 30 ft of 14 AWG there and back, 0.157 ohm at 30 degrees, the source's 0.035 and the joints take some of it.
    let expected = 120.0 / (12.0 + 0.157 + 0.035 + 0.01);
    let more = amperes(&broken) - amperes(&circuit);
    assert!((more - expected).abs() < 0.02, "{more} {expected}");
}
