//! Predictions on small wirings, against what meters are known to show.

use super::super::invented::*;
use super::*;
use crate::job::Place;

fn tip(tip: Tip) -> Spot {
    Spot::Tip(tip)
}

fn ask(circuit: &Circuit, from: Spot, to: Spot, at: &[At], mode: Mode) -> Prediction {
    let pair = Pair { from, to };
    expect(circuit, &SourceVolts::of(circuit), &Ask { pair: &pair, at, mode, burden_ohms: None }).unwrap()
}

fn off(chain: &Chain) -> At {
    at(chain.breaker, "off")
}

/// At a feed: what ANSI C84.1 lets a service be, and the scatter of the meter. Hot to ground equals hot to neutral.
#[test]
fn a_feed_reads_what_the_source_may_be() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    for to in [WHITE, BARE_2] {
        let read = ask(&circuit, tip(far(chain.feed, BLACK)), tip(far(chain.feed, to)), &[], Mode::AcLow);
        assert!(read.volts.low > 108.0 && read.volts.low < 114.0, "{read:?}");
        assert!(read.volts.high > 126.0 && read.volts.high < 132.0, "{read:?}");
        assert!(!read.ghost && read.touched.is_empty() && read.source_ohms < 1.0);
    }
    let neutral = ask(&circuit, tip(far(chain.feed, WHITE)), tip(far(chain.feed, BARE_2)), &[], Mode::AcLow);
    assert!(neutral.volts.low == 0.0 && neutral.volts.high < 2.0, "{neutral:?}");
    let dead = ask(&circuit, tip(far(chain.feed, BLACK)), tip(far(chain.feed, WHITE)), &[off(&chain)], Mode::AcHigh);
    assert!(dead.volts.high < 1.0, "{dead:?}");
}

/// A reading of 120.4 V narrows its leg, and the next prediction with it.
#[test]
fn a_first_reading_narrows_the_source() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    let pair = Pair { from: tip(far(chain.feed, BLACK)), to: tip(far(chain.feed, WHITE)) };
    let mut sources = SourceVolts::of(&circuit);
    let leg = sources.narrow(&circuit, &pair, &[], 120.4).unwrap();
    assert_eq!(leg, (chain.invented.panel, Bus::A));
    let narrowed = sources.leg(leg.0, leg.1).unwrap();
    assert!(narrowed.low > 119.5 && narrowed.high < 121.5, "{narrowed:?}");
    let other = sources.leg(leg.0, Bus::B).unwrap();
    assert!(other.low < 115.0);
    let ask = Ask { pair: &pair, at: &[], mode: Mode::AcHigh, burden_ohms: None };
    let wide = expect(&circuit, &SourceVolts::of(&circuit), &ask).unwrap().volts;
    let read = expect(&circuit, &sources, &ask).unwrap().volts;
    assert!(read.low < 120.4 && read.high > 120.4 && read.high - read.low < 0.5 * (wide.high - wide.low));
    // A reading that no source gives narrows nothing, and neither does one on a floating conductor.
    assert_eq!(sources.narrow(&circuit, &pair, &[], 60.0), None);
    let ghost = Pair { from: tip(near(chain.leg, BLACK)), to: tip(near(chain.leg, WHITE)) };
    assert_eq!(sources.narrow(&circuit, &ghost, &[off(&chain)], 3.0), None);
}

/// The traveler that the switch does not feed floats beside the live one: a ghost at high impedance, drained at low.
/// Published field readings of such conductors lie between a quarter and a half of the supply and scatter widely.
#[test]
fn a_floating_traveler_reads_a_ghost() {
    let mut chain = chain(2);
    for switch in chain.switches.clone() {
        chain.invented.map(switch, "handle", true);
    }
    let circuit = chain.invented.circuit();
    let up: Vec<At> = chain.switches.iter().map(|switch| at(*switch, "up")).collect();
    let (red, ground) = (tip(near(chain.travelers[0], RED)), tip(near(chain.travelers[0], BARE_3)));
    let high = ask(&circuit, red.clone(), ground.clone(), &up, Mode::AcHigh);
    assert!(high.ghost && high.source_ohms > 1e5, "{high:?}");
    assert!(high.nominal > 5.0 && high.volts.low < 0.5 * high.nominal && high.volts.high > 1.5 * high.nominal);
    assert!(high.volts.high <= 126.0 * 1.02 + 0.5);
    let low = ask(&circuit, red.clone(), ground.clone(), &up, Mode::AcLow);
    assert!(low.volts.high < 1.0, "{low:?}");
    let black = ask(&circuit, tip(near(chain.travelers[0], BLACK)), ground, &up, Mode::AcLow);
    assert!(black.volts.low > 108.0 && !black.ghost);
    // Hot against its floating partner reads low: why that pair alone proves nothing.
    let partner = ask(&circuit, tip(near(chain.travelers[0], BLACK)), red, &up, Mode::AcLow);
    assert!(partner.volts.low == 0.0, "{partner:?}");
}

/// Unstated positions and unknown mappings are covered by the interval, and named.
#[test]
fn what_is_not_stated_widens_the_interval() {
    let mut chain = chain(2);
    let circuit = chain.invented.circuit();
    let (red, white) = (tip(near(chain.travelers[0], RED)), tip(near(chain.travelers[0], WHITE)));
    let any = ask(&circuit, red.clone(), white.clone(), &[], Mode::AcLow);
    assert!(any.volts.low < 1.0 && any.volts.high > 120.0, "{any:?}");
    assert_eq!(any.covered.len(), 2);
    let both: Vec<At> = chain.switches.iter().map(|switch| at(*switch, "down")).collect();
    let unmapped = ask(&circuit, red.clone(), white.clone(), &both, Mode::AcLow);
    assert!(unmapped.volts.low < 1.0 && unmapped.volts.high > 120.0, "{unmapped:?}");
    for switch in chain.switches.clone() {
        chain.invented.map(switch, "handle", true);
    }
    let mapped = ask(&chain.invented.circuit(), red, white, &both, Mode::AcLow);
    assert!(mapped.volts.low > 108.0 && mapped.covered.is_empty(), "{mapped:?}");
}

/// A run whose far end nobody knows: dead as drawn, but anything could feed it.
#[test]
fn an_unknown_end_widens_over_what_could_be_there() {
    let mut chain = chain(2);
    let run = chain.invented.run("nm-14-2", chain.boxes[0], None, 20);
    chain.invented.put(near(run, BLACK), Place::Capped);
    let circuit = chain.invented.circuit();
    let read = ask(&circuit, tip(near(run, BLACK)), tip(far(chain.feed, WHITE)), &[], Mode::AcLow);
    assert!(read.nominal < 1.0 && read.volts.low == 0.0 && read.volts.high > 120.0, "{read:?}");
    assert_eq!(read.touched.len(), 1);
    // The feed is firm: what hangs on it somewhere cannot move it.
    let feed = ask(&circuit, tip(far(chain.feed, BLACK)), tip(far(chain.feed, WHITE)), &[], Mode::AcLow);
    assert!(feed.touched.is_empty());
}

#[test]
fn what_cannot_be_predicted_is_refused() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    let sources = SourceVolts::of(&circuit);
    let pair = Pair { from: tip(far(chain.feed, BLACK)), to: Spot::Other("a water pipe".to_owned()) };
    let refuse = |mode| expect(&circuit, &sources, &Ask { pair: &pair, at: &[], mode, burden_ohms: None });
    assert_eq!(refuse(Mode::AcLow), Err(NoPrediction::NotInCircuit(pair.to.clone())));
    assert_eq!(refuse(Mode::Ohms), Err(NoPrediction::Mode(Mode::Ohms)));
    let mut empty = Invented::new();
    empty.wiring.boxes.clear();
    let none = empty.circuit();
    let asked = Ask { pair: &pair, at: &[], mode: Mode::AcLow, burden_ohms: None };
    assert_eq!(expect(&none, &SourceVolts::of(&none), &asked), Err(NoPrediction::NoSource));
}

/// A loose shared neutral under unequal loads: 100 W and 200 W at 120 V divide 240 V into 160 V and 80 V (studylib.net
/// document 5726865, "Open neutral").
#[test]
fn a_lost_neutral_divides_the_two_legs_as_the_loads_do() {
    let mut invented = Invented::new();
    let breakers = [Bus::A, Bus::B].map(|leg| invented.breaker("breaker-1p-15", leg));
    let place = invented.a_box("nonmetallic-2g");
    let run = invented.run("nm-14-3", invented.panel, Some(place), 10);
    invented.land(near(run, BLACK), breakers[0], "load");
    invented.land(near(run, RED), breakers[1], "load");
    invented.put(near(run, WHITE), Place::Capped);
    let panel = invented.panel;
    invented.put(near(run, BARE_3), Place::Bus { panel, bus: Bus::Ground });
    let neutral = invented.splice(place, &[far(run, WHITE)]);
    let ground = invented.splice(place, &[far(run, BARE_3)]);
    let lamps = [(BLACK, 100), (RED, 200)].map(|(wire, watts)| {
        let lamp = invented.device("luminaire", place);
        invented.watts(lamp, "lamp", watts);
        invented.splice(place, &[far(run, wire), lead(lamp, "hot")]);
        invented.put(lead(lamp, "neutral"), Place::Splice(neutral));
        invented.put(lead(lamp, "ground"), Place::Splice(ground));
        lamp
    });
    let circuit = invented.circuit();
    for (lamp, volts) in lamps.into_iter().zip([160.0, 80.0]) {
        let read = ask(&circuit, tip(lead(lamp, "hot")), tip(lead(lamp, "neutral")), &[], Mode::AcHigh);
        assert!((read.nominal - volts).abs() < 0.2, "{read:?}");
        assert!(read.volts.low < volts && read.volts.high > volts);
    }
}
