//! The switch table on small wirings, as the laws of switching say.

use super::super::hazard::hazards;
use super::super::invented::*;
use super::*;
use crate::job::{Place, Tip};
use proptest::prelude::*;

fn toggled(chain: &Chain) -> BTreeMap<LoadPoint, Promised> {
    let handles = chain.switches.iter().map(|switch| handle(*switch)).collect();
    BTreeMap::from([(lamp(chain.lamp), Promised::Toggled(handles))])
}

fn verdict(invented: &Invented, promises: &BTreeMap<LoadPoint, Promised>, load: &LoadPoint) -> Verdict {
    let circuit = invented.circuit();
    let table = SwitchTable::of(&circuit);
    let verdicts = table.verdicts(&circuit, promises, None, &hazards(&circuit));
    verdicts.get(load).unwrap().clone()
}

/// The parity law of three-way and four-way switching: on in exactly half of the positions, every flip toggles.
#[test]
fn two_to_five_switches_light_the_lamp_in_exactly_half_of_the_positions() {
    for count in 2..=5 {
        let chain = chain(count);
        let verdict = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp));
        assert_eq!((verdict.lit, verdict.rows), (1 << (count - 1), 1 << count), "{count} switches");
        assert_eq!(verdict.outcome, Outcome::AsPromised, "{count} switches");
        assert!(!verdict.mapped);
    }
}

#[test]
fn a_promise_to_fewer_handles_is_broken_by_the_others() {
    let chain = chain(3);
    let promises = BTreeMap::from([(
        lamp(chain.lamp),
        Promised::Toggled(BTreeSet::from([handle(chain.switches[0]), handle(chain.switches[2])])),
    )]);
    let Outcome::Broken(breaches) = verdict(&chain.invented, &promises, &lamp(chain.lamp)).outcome else {
        panic!("not broken")
    };
    assert_eq!(breaches.len(), 4);
    assert!(breaches.iter().all(|breach| !breach.path.is_empty()));
}

/// The feed and the red traveler exchanged at the first switch: on in one of four positions.
fn exchanged() -> Chain {
    let mut chain = chain(2);
    let switch = chain.switches[0];
    chain.invented.land(near(chain.travelers[0], RED), switch, "common");
    chain.invented.land(far(chain.feed, BLACK), switch, "traveler_2");
    chain
}

#[test]
fn a_common_and_a_traveler_exchanged_light_the_lamp_in_one_of_four() {
    let mut chain = exchanged();
    // The mapping of both handles learnt so that the one lit position is up, up.
    chain.invented.map(chain.switches[0], "handle", false);
    chain.invented.map(chain.switches[1], "handle", false);
    let circuit = chain.invented.circuit();
    let table = SwitchTable::of(&circuit);
    let load = lamp(chain.lamp);
    assert_eq!(column(&table, &load), [Power::On, Power::Off, Power::Off, Power::Off]);
    let verdict = verdict(&chain.invented, &toggled(&chain), &load);
    assert!(verdict.mapped);
    assert_eq!((verdict.lit, verdict.rows), (1, 4));
    let Outcome::Broken(breaches) = verdict.outcome else { panic!("not broken") };
    let [breach] = breaches.as_slice() else { panic!("one position is wrong: {breaches:?}") };
    assert_eq!(breach.at, [at(chain.switches[0], "down"), at(chain.switches[1], "down")]);
    assert!(breach.wanted && breach.power == Power::Off);
    // The way back from the lamp ends at the switch where the exchange is.
    let last = breach.path.last().unwrap();
    let first_box = Some(chain.boxes[0]);
    assert_eq!(circuit.node(last.to.spot().unwrap()).and_then(|node| circuit.box_of(node)), first_box);
}

#[test]
fn a_broken_traveler_lights_the_lamp_in_one_of_four_too() {
    let mut chain = chain(2);
    chain.invented.put(far(chain.travelers[0], RED), Place::Capped);
    let circuit = chain.invented.circuit();
    let lit = column(&SwitchTable::of(&circuit), &lamp(chain.lamp));
    assert_eq!(lit.iter().filter(|power| **power == Power::On).count(), 1);
}

/// A single-pole switch beside a receptacle that is always on, on one circuit.
pub(super) fn single_pole() -> (Invented, crate::job::ThingId, crate::job::ThingId, crate::job::ThingId) {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", crate::job::Bus::A);
    let (place, ceiling) = (invented.a_box("nonmetallic-2g"), invented.a_box("nonmetallic-round"));
    let feed = invented.home_run("nm-14-2", breaker, place, 30);
    let leg = invented.run("nm-14-2", place, Some(ceiling), 12);
    let switch = invented.device("switch-1p", place);
    let receptacle = invented.device("receptacle-15-duplex", place);
    let fixture = invented.device("luminaire", ceiling);
    let hot = invented.splice(place, &[far(feed, BLACK)]);
    let neutral = invented.splice(place, &[far(feed, WHITE), near(leg, WHITE)]);
    let ground = invented.splice(place, &[far(feed, BARE_2), near(leg, BARE_2)]);
    invented.pigtail(place, hot, switch, "line");
    invented.pigtail(place, hot, receptacle, "hot_1");
    invented.pigtail(place, neutral, receptacle, "neutral_1");
    invented.pigtail(place, ground, receptacle, "ground");
    invented.pigtail(place, ground, switch, "ground");
    invented.land(near(leg, BLACK), switch, "switched");
    for (wire, name) in [(BLACK, "hot"), (WHITE, "neutral"), (BARE_2, "ground")] {
        invented.splice(ceiling, &[far(leg, wire), lead(fixture, name)]);
    }
    (invented, switch, receptacle, fixture)
}

#[test]
fn unrelated_switches_do_not_multiply_and_an_outlet_stays_on() {
    let (invented, switch, receptacle, fixture) = single_pole();
    let circuit = invented.circuit();
    let table = SwitchTable::of(&circuit);
    assert_eq!(table.not_covered, []);
    assert_eq!(column(&table, &lamp(fixture)), [Power::On, Power::Off]);
    assert_eq!(column(&table, &outlet(receptacle, "upper")), [Power::On]);
    let promises = BTreeMap::from([
        (lamp(fixture), Promised::Toggled(BTreeSet::from([handle(switch)]))),
        (outlet(receptacle, "upper"), Promised::Always),
        (outlet(receptacle, "lower"), Promised::Never),
    ]);
    assert_eq!(verdict(&invented, &promises, &lamp(fixture)).outcome, Outcome::AsPromised);
    assert_eq!(verdict(&invented, &promises, &outlet(receptacle, "upper")).outcome, Outcome::AsPromised);
    let Outcome::Broken(breaches) = verdict(&invented, &promises, &outlet(receptacle, "lower")).outcome else {
        panic!("an outlet on the constant hot has power")
    };
    // From the leg over the breaker and the splice to the outlet, through the link of the duplex.
    assert!(breaches[0].path.iter().any(|step| matches!(&step.part, super::super::Part::Link { .. })));
}

#[test]
fn as_found_is_compared_with_the_layer_as_found() {
    let (before, _, receptacle, fixture) = single_pole();
    let (mut after, switch, _, _) = single_pole();
    let found = SwitchTable::of(&before.circuit());
    let check = |invented: &Invented, load: &LoadPoint| {
        let circuit = invented.circuit();
        let table = SwitchTable::of(&circuit);
        let verdicts = table.verdicts(&circuit, &BTreeMap::new(), Some(&found), &hazards(&circuit));
        verdicts.get(load).unwrap().outcome.clone()
    };
    assert_eq!(check(&after, &lamp(fixture)), Outcome::AsPromised);
    // The leg lands on the line screw as well: the lamp burns always.
    let leg = after.wiring.tips.iter().find_map(|(tip, note)| match note.place.get() {
        Some(Place::Terminal { device, terminal, .. }) if *device == switch && terminal == "switched" => Some(tip),
        _ => None,
    });
    let leg = leg.unwrap().clone();
    after.land(leg, switch, "line");
    let Outcome::Broken(breaches) = check(&after, &lamp(fixture)) else { panic!("the lamp cannot be put out") };
    assert_eq!(breaches.len(), 1);
    assert_eq!(check(&after, &outlet(receptacle, "upper")), Outcome::AsPromised);
    let none = verdict(&before, &BTreeMap::new(), &lamp(fixture));
    assert_eq!(none.outcome, Outcome::NothingToCompare);
}

#[test]
fn where_the_map_ends_a_promise_reads_as_far_as_seen() {
    let mut chain = chain(2);
    let ceiling = chain.invented.circuit().box_of(chain.invented.circuit().loads[&lamp(chain.lamp)].from);
    let ceiling = ceiling.unwrap();
    let on = chain.invented.run("nm-14-2", ceiling, None, 10);
    let splices: Vec<_> = chain.invented.wiring.splices_in(ceiling);
    for (wire, leg_wire) in [(BLACK, BLACK), (WHITE, WHITE), (BARE_2, BARE_2)] {
        let splice = splices.iter().find(|id| chain.invented.wiring.ends_in(**id).contains(&&far(chain.leg, leg_wire)));
        chain.invented.put(near(on, wire), Place::Splice(*splice.unwrap()));
    }
    let verdict = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp));
    assert_eq!(verdict.outcome, Outcome::AsFarAsSeen);
    let table = SwitchTable::of(&chain.invented.circuit());
    assert_eq!(table.not_covered.len(), 3);
    // Lit through metal both ways stands; dark with an unknown end on the switched leg does not.
    let gets = table.group_of(&lamp(chain.lamp)).unwrap().column(&lamp(chain.lamp)).unwrap();
    assert!(gets.iter().all(|gets| gets.seen == (gets.power == Power::On)));
}

#[test]
fn nothing_is_claimed_across_what_is_noted_twice() {
    let mut chain = chain(2);
    let tip: Tip = near(chain.leg, BLACK);
    let on = |terminal: &str| Place::Terminal {
        device: chain.switches[1],
        terminal: terminal.to_owned(),
        landing: crate::job::Landing::Screw,
    };
    let note = twice(on("common"), on("traveler_1"));
    chain.invented.place(tip, note);
    let outcome = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp)).outcome;
    assert_ne!(outcome, Outcome::AsPromised);
    let circuit = chain.invented.circuit();
    let table = SwitchTable::of(&circuit);
    let gets = table.group_of(&lamp(chain.lamp)).unwrap().column(&lamp(chain.lamp)).unwrap();
    assert!(gets.iter().all(|gets| !gets.seen));
}

#[test]
fn hundreds_of_combinations_are_said_and_not_worked_out() {
    let chain = chain(10);
    let circuit = chain.invented.circuit();
    let table = SwitchTable::of(&circuit);
    let [NotCovered::TooMany { handles, combinations, loads }] = table.not_covered.as_slice() else {
        panic!("{:?}", table.not_covered)
    };
    assert_eq!((handles.len(), *combinations, loads.as_slice()), (10, 1024, [lamp(chain.lamp)].as_slice()));
    let verdict = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp));
    assert_eq!(verdict.outcome, Outcome::NotCovered);
}

#[test]
fn a_split_duplex_has_a_switched_half_and_a_constant_half() {
    let (mut invented, switch, receptacle, _) = single_pole();
    invented.break_link(receptacle, "hot");
    let place = invented.wiring.devices[&switch].in_box.get().copied().flatten().unwrap();
    let jumper = invented.run("pigtail-14-red", place, Some(place), 1);
    invented.land(near(jumper, 0), switch, "switched");
    invented.land(far(jumper, 0), receptacle, "hot_2");
    let table = SwitchTable::of(&invented.circuit());
    assert_eq!(column(&table, &outlet(receptacle, "lower")), [Power::On, Power::Off]);
    assert_eq!(column(&table, &outlet(receptacle, "upper")), [Power::On]);
}

/// A dimmer without a neutral draws its own supply through the lamp; an electronic lamp does not light from it.
#[test]
fn a_trickle_through_an_electronic_lamp_does_not_light_it() {
    let (mut invented, switch, _, fixture) = single_pole();
    let place = invented.wiring.devices[&switch].in_box.get().copied().flatten().unwrap();
    invented.change(fixture, "luminaire-led");
    let dimmer = invented.device("dimmer-2wire", place);
    let moved: Vec<_> = invented
        .wiring
        .tips
        .iter()
        .filter_map(|(tip, note)| match note.place.get() {
            Some(Place::Terminal { device, terminal, .. }) if *device == switch => {
                Some((tip.clone(), terminal.clone()))
            }
            _ => None,
        })
        .collect();
    for (tip, terminal) in moved {
        invented.splice(place, &[tip, lead(dimmer, &terminal)]);
    }
    invented.wiring.devices.remove(&switch);
    let table = SwitchTable::of(&invented.circuit());
    assert_eq!(column(&table, &lamp(fixture)), [Power::On, Power::Off]);
    // A lamp of 60 W in place of the electronic one passes the supply's current and stays dark as well.
    invented.change(fixture, "luminaire");
    let circuit = invented.circuit();
    assert_eq!(column(&SwitchTable::of(&circuit), &lamp(fixture)), [Power::On, Power::Off]);
    let solver = Solver::new(&circuit.network);
    let off = circuit.state(&[at(dimmer, "off")], circuit.rest());
    let settled = circuit.settle(&solver, &off);
    let supply = &circuit.loads[&outlet(dimmer, "supply")];
    assert!(settled.solution.across(supply.from, supply.to).norm() > 100.0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// However the ends of each box are exchanged, what metal joins and what the phasors say agree: with one lamp
    /// only, it burns where metal joins one side to a leg and the other to neutral or ground, and nowhere else.
    #[test]
    fn connectivity_and_solution_agree(count in 2usize..5, swaps in prop::collection::vec((0usize..64, 0usize..64), 0..6)) {
        let mut chain = chain(count);
        let wiring = &mut chain.invented.wiring;
        let tips: Vec<Tip> = wiring.tips.keys().cloned().collect();
        for (a, by) in swaps {
            let a = &tips[a % tips.len()];
            let place = wiring.box_of(a);
            let here: Vec<&Tip> = tips.iter().filter(|tip| wiring.box_of(tip) == place).collect();
            let b = here[by % here.len()].clone();
            let places = [a, &b].map(|tip| wiring.tips[tip].place.clone());
            wiring.tips.get_mut(&b).unwrap().place = places[0].clone();
            wiring.tips.get_mut(a).unwrap().place = places[1].clone();
        }
        let circuit = chain.invented.circuit();
        let (solver, connectivity) = (Solver::new(&circuit.network), Connectivity::new(&circuit.network, &[]));
        let load = &circuit.loads[&lamp(chain.lamp)];
        let panel = circuit.panels.values().next().unwrap();
        let handles: Vec<_> = chain.switches.iter().map(|switch| handle(*switch)).collect();
        for state in circuit.combinations(&handles).unwrap() {
            let joined = connectivity.at(&state);
            let hot = |node| panel.legs.iter().any(|(_, leg)| joined.joined(*leg, node));
            let back = |node| joined.joined(panel.neutral, node);
            if hot(panel.neutral) {
                continue; // a short: the breaker would have tripped
            }
            let burns = hot(load.from) && back(load.to) || back(load.from) && hot(load.to);
            let volts = circuit.settle(&solver, &state).solution.across(load.from, load.to).norm();
            prop_assert!(if burns { volts > 110.0 } else { volts < 1.0 }, "{burns} {volts}");
        }
    }
}
