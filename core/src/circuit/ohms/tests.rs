//! Ohms and amperes on small wirings, by hand.

use super::super::invented::*;
use super::*;
use crate::job::Place;

fn ohms(circuit: &Circuit, from: Spot, to: Spot, at: &[At]) -> Result<Ohms, NoOhms> {
    expect_ohms(circuit, &Pair { from, to }, at)
}

fn tip(of: crate::job::Tip) -> Spot {
    Spot::Tip(of)
}

/// With the breaker OFF: a conductor of 12 ft is nearly nothing, neutral to ground goes by the bond, hot to neutral
/// with the lamp off shows OL, with it on a lamp of 60 W (240 ohm lit), 14 ohm if it has a filament.
#[test]
fn a_dead_circuit_reads_what_is_in_it() {
    let mut chain = chain(2);
    for switch in chain.switches.clone() {
        chain.invented.map(switch, "handle", true);
    }
    chain.invented.watts(chain.lamp, "lamp", 60);
    let circuit = chain.invented.circuit();
    let off = at(chain.breaker, "off");
    let positions =
        |one: &str, other: &str| vec![off.clone(), at(chain.switches[0], one), at(chain.switches[1], other)];
    let along =
        ohms(&circuit, tip(near(chain.leg, BLACK)), tip(far(chain.leg, BLACK)), &positions("up", "up")).unwrap();
    assert!(along.low_ohms == 0.0 && along.high_ohms < 0.6 && !along.may_be_over, "{along:?}");
    let (hot, white, bare) = (far(chain.feed, BLACK), far(chain.feed, WHITE), far(chain.feed, BARE_2));
    let bond = ohms(&circuit, tip(white.clone()), tip(bare), &positions("up", "up")).unwrap();
    assert!(bond.high_ohms < 1.0, "{bond:?}");
    let open = ohms(&circuit, tip(hot.clone()), tip(white.clone()), &positions("up", "down")).unwrap();
    assert!(open.is_over && open.may_be_over, "{open:?}");
    let lamp = ohms(&circuit, tip(hot.clone()), tip(white.clone()), &positions("up", "up")).unwrap();
    assert!(lamp.low_ohms > 13.0 && lamp.low_ohms < 15.0, "{lamp:?}");
    assert!(lamp.high_ohms > 240.0 && lamp.high_ohms < 250.0, "{lamp:?}");
    // Both positions of one handle: from the lamp to OL.
    let any = ohms(&circuit, tip(hot.clone()), tip(white.clone()), &[off, at(chain.switches[0], "up")]).unwrap();
    assert!(any.covered.len() == 1 && any.low_ohms < 15.0 && any.may_be_over && !any.is_over, "{any:?}");
    // With the breaker ON it is no place for an ohmmeter.
    assert_eq!(ohms(&circuit, tip(hot), tip(white.clone()), &[]), Err(NoOhms::Live));
    let pipe = Spot::Other("a pipe".to_owned());
    assert_eq!(ohms(&circuit, pipe.clone(), tip(white), &[]), Err(NoOhms::NotInCircuit(pipe)));
}

/// Electronics may show anything; a motor's winding less than when it turns; a heater what it has: 14.4 ohm at 1000 W.
#[test]
fn loads_differ_to_direct_current() {
    for (kind, load, watts, low, high, over) in [
        ("heater-120", "heater", 1000, 13.0..14.4, 14.4..16.0, false),
        ("disposal", "motor", 500, 0.0..1.0, 14.0..16.0, false),
        ("luminaire-led", "lamp", 10, 1100.0..1450.0, 4e7..6e7, true),
    ] {
        let mut invented = Invented::new();
        let breaker = invented.breaker("breaker-1p-15", Bus::A);
        let place = invented.a_box("nonmetallic-1g");
        let run = invented.home_run("nm-14-2", breaker, place, 10);
        let device = invented.device(kind, place);
        invented.watts(device, load, watts);
        invented.splice(place, &[far(run, BLACK), lead(device, "hot")]);
        invented.splice(place, &[far(run, WHITE), lead(device, "neutral")]);
        let circuit = invented.circuit();
        let off = [at(breaker, "off")];
        let read = ohms(&circuit, tip(far(run, BLACK)), tip(far(run, WHITE)), &off).unwrap();
        assert!(low.contains(&read.low_ohms) && high.contains(&read.high_ohms), "{kind} {read:?}");
        assert_eq!(read.may_be_over, over, "{kind}");
    }
}

/// What has a plug reads what it has, 36 ohm for 400 W at 120 V, or OL once it is pulled: both lie in the interval.
#[test]
fn what_has_a_plug_may_be_pulled() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let place = invented.a_box("nonmetallic-1g");
    let run = invented.home_run("nm-14-2", breaker, place, 10);
    let device = invented.device("receptacle-15-duplex", place);
    let pot = invented.plug("plug-appliance", &outlet(device, "upper"));
    invented.watts(pot, "appliance", 400);
    invented.land(far(run, BLACK), device, "hot_1");
    invented.land(far(run, WHITE), device, "neutral_1");
    let circuit = invented.circuit();
    let read = ohms(&circuit, tip(far(run, BLACK)), tip(far(run, WHITE)), &[at(breaker, "off")]).unwrap();
    assert!(read.low_ohms < 36.0 && read.low_ohms > 1.0 && read.may_be_over && !read.is_over, "{read:?}");
}

/// A spare whose far end nobody knows may be tied to anything there.
#[test]
fn an_unknown_end_may_lower_the_reading() {
    let mut chain = chain(2);
    let run = chain.invented.run("nm-14-2", chain.boxes[0], None, 20);
    chain.invented.put(near(run, BLACK), Place::Capped);
    let circuit = chain.invented.circuit();
    let off = [at(chain.breaker, "off")];
    let read = ohms(&circuit, tip(near(run, BLACK)), tip(far(chain.feed, WHITE)), &off).unwrap();
    assert!(read.low_ohms == 0.0 && read.may_be_over && !read.touched.is_empty(), "{read:?}");
}

/// 500 W at 0.7 are 500 / (120 x 0.7) = 5.95 A in hot and neutral, and nothing around both.
#[test]
fn a_clamp_reads_the_sum_of_what_it_is_closed_around() {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let place = invented.a_box("nonmetallic-1g");
    let run = invented.home_run("nm-14-2", breaker, place, 10);
    let device = invented.device("disposal", place);
    invented.splice(place, &[far(run, BLACK), lead(device, "hot")]);
    invented.splice(place, &[far(run, WHITE), lead(device, "neutral")]);
    let circuit = invented.circuit();
    let sources = SourceVolts::of(&circuit);
    let clamp = |wires: &[u8], at: &[At]| {
        let around: Vec<_> = wires.iter().map(|wire| (run, *wire)).collect();
        expect_amperes(&circuit, &sources, &around, at).unwrap()
    };
    for wire in [BLACK, WHITE] {
        let read = clamp(&[wire], &[]);
        assert!((read.nominal_amperes - 5.95).abs() < 0.06, "{read:?}");
        // 114 to 126 V, 3 % and 0.1 A.
        assert!((read.low_amperes - (5.95 * 0.95 * 0.97 - 0.1)).abs() < 0.06, "{read:?}");
        assert!((read.high_amperes - (5.95 * 1.05 * 1.03 + 0.1)).abs() < 0.06, "{read:?}");
    }
    let both = clamp(&[BLACK, WHITE], &[]);
    assert!(both.nominal_amperes < 1e-3 && both.low_amperes == 0.0 && both.high_amperes < 0.11, "{both:?}");
    let dead = clamp(&[BLACK], &[at(breaker, "off")]);
    assert!(dead.high_amperes < 0.11, "{dead:?}");
    assert!(matches!(expect_amperes(&circuit, &sources, &[(run, 9)], &[]), Err(NoOhms::NoConductor { wire: 9, .. })));
}
