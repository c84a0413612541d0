//! The back stair of the invented Lantern Lane job: its boxes, its readings, its disagreement.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{At, Bus, LoadPoint, Mode, Pair, Place, Promised, Spot, ThingId, Tip};

use super::expect::{Ask, Prediction, SourceVolts, expect};
use super::hazard::hazards;
use super::invented::*;
use super::promise::{Outcome, Power, SwitchTable};

struct Lantern {
    invented: Invented,
    /// Two switches of the stair light.
    switches: [ThingId; 2],
    /// Switch with receptacle at the foot of the stair.
    combination: ThingId,
    stair_light: LoadPoint,
    wall_light: LoadPoint,
    pot: LoadPoint,
    breaker: ThingId,
    feed: ThingId,
    to_stair: ThingId,
}

/// As left: the wall light at B5 from B3, the stair light at B7 from B3 and B6, a 400 W glue pot at B4.
fn lantern(exchanged: bool) -> Lantern {
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-1p-15", Bus::A);
    let b1 = w.a_box("square-4-1.5");
    let [b3, b6] = ["nonmetallic-2g", "nonmetallic-1g"].map(|kind| w.a_box(kind));
    let [b4, b5, b7] = ["device-3x2-2.75", "round-4-2.125", "octagon-4-1.5"].map(|kind| w.a_box(kind));
    let home = w.home_run("nm-14-2", breaker, b1, 9);
    let feed = w.run("nm-14-2", b1, Some(b3), 26);
    let to_stair = w.run("nm-14-3", b3, Some(b6), 31);
    let to_bench = w.run("nm-14-2", b3, Some(b4), 11);
    let to_wall = w.run("nm-14-2", b3, Some(b5), 14);
    let to_landing = w.run("nm-14-2", b6, Some(b7), 8);
    for (wire, kind) in [(BLACK, false), (WHITE, false), (BARE_2, true)] {
        let splice = w.splice(b1, &[far(home, wire), near(feed, wire)]);
        if kind {
            w.bond(b1, splice);
        }
    }
    let three_way = w.device("switch-3way", b3);
    let combination = w.device("switch-receptacle-combo", b3);
    let upper = w.device("switch-3way", b6);
    let hot = w.splice(b3, &[far(feed, BLACK), near(to_bench, BLACK)]);
    let whites = [far(feed, WHITE), near(to_stair, WHITE), near(to_bench, WHITE), near(to_wall, WHITE)];
    let neutral = w.splice(b3, &whites);
    let bares = [far(feed, BARE_2), near(to_stair, BARE_3), near(to_bench, BARE_2), near(to_wall, BARE_2)];
    let ground = w.splice(b3, &bares);
    w.pigtail(b3, hot, three_way, if exchanged { "traveler_2" } else { "common" });
    w.land(near(to_stair, BLACK), three_way, "traveler_1");
    w.land(near(to_stair, RED), three_way, if exchanged { "common" } else { "traveler_2" });
    w.pigtail(b3, hot, combination, "line");
    w.land(near(to_wall, BLACK), combination, "switched");
    w.pigtail(b3, neutral, combination, "neutral");
    w.pigtail(b3, ground, combination, "ground");
    w.pigtail(b3, ground, three_way, "ground");
    w.land(far(to_stair, BLACK), upper, "traveler_1");
    w.land(far(to_stair, RED), upper, "traveler_2");
    w.land(near(to_landing, BLACK), upper, "common");
    w.splice(b6, &[far(to_stair, WHITE), near(to_landing, WHITE)]);
    let ground = w.splice(b6, &[far(to_stair, BARE_3), near(to_landing, BARE_2)]);
    w.pigtail(b6, ground, upper, "ground");
    let bench = w.device("receptacle-15-duplex", b4);
    w.land(far(to_bench, BLACK), bench, "hot_1");
    w.land(far(to_bench, WHITE), bench, "neutral_1");
    let ground = w.splice(b4, &[far(to_bench, BARE_2)]);
    w.pigtail(b4, ground, bench, "ground");
    w.bond(b4, ground);
    let stair_light = w.fixture(b7, to_landing, 34);
    let wall_light = w.fixture(b5, to_wall, 12);
    let plug = w.plug("plug-appliance", &outlet(bench, "upper"));
    w.watts(plug, "appliance", 400);
    let pot = outlet(plug, "appliance");
    let switches = [three_way, upper];
    Lantern { invented: w, switches, combination, stair_light, wall_light, pot, breaker, feed, to_stair }
}

impl Lantern {
    fn promises(&self) -> BTreeMap<LoadPoint, Promised> {
        let stair = self.switches.iter().map(|switch| handle(*switch)).collect();
        BTreeMap::from([
            (self.stair_light.clone(), Promised::Toggled(stair)),
            (self.wall_light.clone(), Promised::Toggled(BTreeSet::from([handle(self.combination)]))),
            (outlet(self.combination, "outlet"), Promised::Always),
            (self.pot.clone(), Promised::Always),
        ])
    }

    fn outcomes(&self) -> BTreeMap<LoadPoint, Outcome> {
        let circuit = self.invented.circuit();
        let verdicts = SwitchTable::of(&circuit).verdicts(&circuit, &self.promises(), None, &hazards(&circuit));
        verdicts.into_iter().map(|(point, verdict)| (point, verdict.outcome)).collect()
    }
}

#[test]
fn as_planned_every_promise_is_kept_and_nothing_is_a_hazard() {
    let lantern = lantern(false);
    assert_eq!(lantern.invented.kinds(), []);
    let outcomes = lantern.outcomes();
    for point in lantern.promises().keys() {
        assert_eq!(outcomes[point], Outcome::AsPromised, "{point:?}");
    }
    let table = SwitchTable::of(&lantern.invented.circuit());
    assert_eq!(table.not_covered, []);
    // The wall light's switch and the stair's two do not multiply.
    let sizes: BTreeSet<usize> = table.groups.iter().map(|group| group.rows.len()).collect();
    assert_eq!(sizes, BTreeSet::from([1, 2, 4]));
}

/// The feed and B red exchanged at B3: on, off, off, off where two of four were promised. Everything else is kept.
#[test]
fn the_disagreement_of_the_afternoon() {
    let mut lantern = lantern(true);
    for switch in lantern.switches {
        lantern.invented.map(switch, "handle", false);
    }
    let table = SwitchTable::of(&lantern.invented.circuit());
    let lit = column(&table, &lantern.stair_light);
    assert_eq!(lit, [Power::On, Power::Off, Power::Off, Power::Off]);
    let outcomes = lantern.outcomes();
    assert!(matches!(&outcomes[&lantern.stair_light], Outcome::Broken(breaches) if breaches.len() == 1));
    assert_eq!(outcomes[&lantern.wall_light], Outcome::AsPromised);
    assert_eq!(outcomes[&lantern.pot], Outcome::AsPromised);
}

/// The live reading that would tell, with B3 down: B black to neutral is about 0 V where the exchange is at B3 and
/// about 120 V where all is well; B red to neutral is 0 V when all is well.
#[test]
fn the_reading_that_tells_the_exchange() {
    for (exchanged, low, high) in [(true, 0.0, 0.6), (false, 108.0, 132.0)] {
        let mut lantern = lantern(exchanged);
        for switch in lantern.switches {
            // As the page tells it: up takes the red traveler at B3 and at B6.
            lantern.invented.map(switch, "handle", false);
        }
        let circuit = lantern.invented.circuit();
        let pair = Pair { from: Spot::Tip(near(lantern.to_stair, BLACK)), to: Spot::Tip(far(lantern.feed, WHITE)) };
        let down: Vec<At> = lantern.switches.iter().map(|switch| at(*switch, "down")).collect();
        let asked = Ask { pair: &pair, at: &down, mode: Mode::AcLow, burden_ohms: None };
        let read = expect(&circuit, &SourceVolts::of(&circuit), &asked).unwrap();
        assert!(read.volts.low >= low && read.volts.high <= high, "{exchanged} {read:?}");
    }
}

/// What was typed on the day, 120.4 V at the panel with the pot on, then 119.6, 119.9 and 0.3 V at the receptacle in
/// B3 with all lights on, lies in the predictions once the panel's reading is taken in.
#[test]
fn the_readings_of_the_day_fit() {
    let lantern = lantern(false);
    let circuit = lantern.invented.circuit();
    let panel = lantern.invented.panel;
    let bus = |bus| Spot::Bus { panel, bus };
    let on = [at(lantern.combination, "on"), at(lantern.switches[0], "up"), at(lantern.switches[1], "up")];
    let mut sources = SourceVolts::of(&circuit);
    let load_side = Spot::Terminal { device: lantern.breaker, terminal: "load".to_owned() };
    let reading = Pair { from: load_side, to: bus(Bus::Neutral) };
    assert_eq!(sources.narrow(&circuit, &reading, &on, 120.4), Some((panel, Bus::A)));
    let terminal = |name: &str| Spot::Terminal { device: lantern.combination, terminal: name.to_owned() };
    let ask = |from, to| -> Prediction {
        let pair = Pair { from, to };
        expect(&circuit, &sources, &Ask { pair: &pair, at: &on, mode: Mode::AcHigh, burden_ohms: None }).unwrap()
    };
    for (from, to, typed) in [("hot", "neutral", 119.6), ("hot", "ground", 119.9), ("neutral", "ground", 0.3)] {
        let read = ask(terminal(from), terminal(to));
        assert!(read.volts.low <= typed && typed <= read.volts.high, "{from} {to} {read:?}");
        // The drop of 35 ft of 14 AWG under the pot and the lights, within a tenth of a volt.
        let expected = typed * 120.0 / 120.4;
        assert!((read.nominal - expected).abs() < 0.4, "{from} {to} {read:?}");
    }
}

/// A conductor that passes through a box, said at both ends, at one, and against what the other end says.
#[test]
fn a_conductor_through_a_box_is_one_loop() {
    let through = |near_says: bool, far_says: bool, against: bool| {
        let mut chain = chain(2);
        let (a, b): (Tip, Tip) = (far(chain.feed, WHITE), near(chain.travelers[0], WHITE));
        for (tip, other, says) in [(&a, &b, near_says), (&b, &a, far_says)] {
            if says {
                chain.invented.put(tip.clone(), Place::Through(other.clone()));
            } else {
                chain.invented.wiring.tips.remove(tip);
            }
        }
        if against {
            chain.invented.put(b, Place::Capped);
        }
        let circuit = chain.invented.circuit();
        let lit = column(&SwitchTable::of(&circuit), &lamp(chain.lamp)).contains(&Power::On);
        (lit, circuit.boundaries.len())
    };
    assert_eq!(through(true, true, false), (true, 0));
    assert_eq!(through(true, false, false), (true, 0));
    assert_eq!(through(false, true, false), (true, 0));
    assert_eq!(through(true, false, true), (false, 1));
}

/// Fifteen circuits with three switches each, sixty boxes: fifteen tables of eight rows, each lamp lit in four.
#[test]
fn circuits_do_not_multiply_one_another() {
    let mut invented = Invented::new();
    let mut lamps = Vec::new();
    for _ in 0..15 {
        let chain = chain_in(invented, 3);
        lamps.push(lamp(chain.lamp));
        invented = chain.invented;
    }
    let table = SwitchTable::of(&invented.circuit());
    assert_eq!(table.groups.iter().map(|group| group.rows.len()).sum::<usize>(), 15 * 8 + 1);
    for lamp in &lamps {
        assert_eq!(column(&table, lamp).iter().filter(|power| **power == Power::On).count(), 4);
    }
    assert_eq!(invented.kinds(), []);
}
