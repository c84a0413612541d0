//! Many positions: classes that expand to the very rows, parity, groups taken apart, and what trials tell.

use super::super::invented::*;
use super::classes::Tree;
use super::tests::single_pole;
use super::*;
use crate::job::happening::Trial;
use crate::job::{At, Bus, ThingId};
use proptest::prelude::*;

/// Every row of a table as what its classes say of it; rows that no class or more than one has are `None`.
fn expanded(group: &TableGroup, load: &LoadPoint) -> Vec<Option<(Power, bool)>> {
    let classes = group.classes(load);
    let is_in = |class: &Class, row: &TableRow| {
        let position = |handle: &Handle| &row.at.iter().find(|at| at.handle == *handle).unwrap().position;
        let held = class.held.iter().all(|(handle, positions)| positions.contains(position(handle)));
        let away = |handle: &&Handle| {
            let place = group.handles.iter().position(|other| other == *handle).unwrap();
            *position(handle) != group.positions[place][0]
        };
        held && class.parity.as_ref().is_none_or(|p| (p.handles.iter().filter(away).count() % 2 == 1) == p.odd)
    };
    let of_row = |row: &TableRow| {
        let mut having = classes.iter().filter(|class| is_in(class, row));
        let first = having.next().map(|class| (class.power, class.seen))?;
        having.next().is_none().then_some(first)
    };
    assert_eq!(classes.iter().map(|class| class.rows).sum::<usize>(), group.rows.len());
    group.rows.iter().map(of_row).collect()
}

fn same_as_rows(group: &TableGroup, load: &LoadPoint) {
    let rows: Vec<_> = group.column(load).unwrap().iter().map(|gets| Some((gets.power, gets.seen))).collect();
    assert_eq!(expanded(group, load), rows);
}

/// The parity law of three-way and four-way switching, as classes: on with an even or an odd number of them down,
/// whatever the number of switches. The law is handbook knowledge; each flip of any of them turns the lamp over.
#[test]
fn two_to_nine_switches_in_turn_are_two_classes() {
    for count in 2..=9 {
        let chain = chain(count);
        let table = SwitchTable::of(&chain.invented.circuit());
        let (load, handles) = (lamp(chain.lamp), chain.switches.iter().map(|s| handle(*s)).collect::<Vec<_>>());
        let group = table.group_of(&load).unwrap();
        assert_eq!(group.matter(&load).len(), count);
        let classes = group.classes(&load);
        assert_eq!(classes.len(), 2, "{count} switches: {classes:?}");
        for class in &classes {
            assert_eq!((class.held.as_slice(), class.rows), ([].as_slice(), 1 << (count - 1)));
            let mut counted = class.parity.clone().unwrap().handles;
            counted.sort();
            let mut all = handles.clone();
            all.sort();
            assert_eq!(counted, all);
        }
        assert_eq!((classes[0].power, classes[1].power), (Power::On, Power::Off));
        same_as_rows(group, &load);
    }
}

/// A master switch before lamps with a switch each. Gives the master, the switches and the lamps.
fn behind_a_master(count: usize) -> (Invented, ThingId, Vec<ThingId>, Vec<LoadPoint>) {
    let mut invented = Invented::new();
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let place = invented.a_box("nonmetallic-2g");
    let feed = invented.home_run("nm-14-2", breaker, place, 30);
    let master = invented.device("switch-1p", place);
    let hot = invented.splice(place, &[far(feed, BLACK)]);
    invented.pigtail(place, hot, master, "line");
    let behind = invented.splice(place, &[]);
    invented.pigtail(place, behind, master, "switched");
    let (mut whites, mut bares) = (vec![far(feed, WHITE)], vec![far(feed, BARE_2)]);
    let (mut switches, mut lamps) = (Vec::new(), Vec::new());
    for _ in 0..count {
        let switch = invented.device("switch-1p", place);
        invented.pigtail(place, behind, switch, "line");
        let ceiling = invented.a_box("octagon-4-1.5");
        let leg = invented.run("nm-14-2", place, Some(ceiling), 10);
        invented.land(near(leg, BLACK), switch, "switched");
        whites.push(near(leg, WHITE));
        bares.push(near(leg, BARE_2));
        lamps.push(invented.fixture(ceiling, leg, 9));
        switches.push(switch);
    }
    invented.splice(place, &whites);
    invented.splice(place, &bares);
    (invented, master, switches, lamps)
}

#[test]
fn a_lamp_behind_a_master_is_on_in_one_class_and_the_others_do_not_matter() {
    let (invented, master, switches, lamps) = behind_a_master(6);
    let table = SwitchTable::of(&invented.circuit());
    let group = table.group_of(&lamps[2]).unwrap();
    assert_eq!((group.rows.len(), group.at_rest.len()), (128, 0));
    assert_eq!(group.matter(&lamps[2]).len(), 2);
    let on: Vec<Class> = group.classes(&lamps[2]).into_iter().filter(|class| class.power == Power::On).collect();
    let [class] = on.as_slice() else { panic!("{on:?}") };
    let mut held = class.held.clone();
    held.sort();
    let mut wanted = vec![(handle(master), vec!["on".to_owned()]), (handle(switches[2]), vec!["on".to_owned()])];
    wanted.sort();
    assert_eq!((held, class.rows), (wanted, 32));
    for lamp in &lamps {
        same_as_rows(group, lamp);
    }
}

/// Three hundred switches behind one master have 2^301 combinations. Each lamp has four rows, exact: nothing else can
/// be brought to it, and every other lamp returns by the same neutral.
#[test]
fn three_hundred_switches_behind_a_master_are_three_hundred_small_tables() {
    let (invented, master, switches, lamps) = behind_a_master(300);
    let circuit = invented.circuit();
    let table = SwitchTable::of(&circuit);
    assert_eq!(table.not_covered, []);
    for (switch, lamp) in switches.iter().zip(&lamps) {
        let group = table.group_of(lamp).unwrap();
        assert_eq!((group.rows.len(), group.handles.len(), group.at_rest.len()), (4, 2, 299));
        let gets = group.column(lamp).unwrap();
        assert!(gets.iter().all(|gets| gets.seen), "{gets:?}");
        for (row, gets) in group.rows.iter().zip(&gets) {
            let on = [master, *switch].iter().all(|device| row.at.contains(&at(*device, "on")));
            assert_eq!(gets.power, if on { Power::On } else { Power::Off });
        }
    }
    let promises = BTreeMap::from([(
        lamps[0].clone(),
        Promised::Toggled(BTreeSet::from([handle(switches[0]), handle(switches[1])])),
    )]);
    let verdicts = table.verdicts(&circuit, &promises, None, &[]);
    let Outcome::Broken(breaches) = &verdicts[&lamps[0]].outcome else { panic!("{:?}", verdicts[&lamps[0]]) };
    assert!(breaches.iter().any(|breach| breach.idle == Some(handle(switches[1]))));
}

/// A lamp whose neutral is broken is in series with whatever else is on: of the handles that were left at rest nothing
/// is claimed.
#[test]
fn what_handles_at_rest_could_change_is_not_claimed() {
    let (mut invented, _, _, lamps) = behind_a_master(12);
    // All lamps but the first return by the first one's white, and that is parted from the panel.
    let feed_white = invented.wiring.tips.iter().find_map(|(tip, note)| match (tip, note.place.get()) {
        (crate::job::Tip::Wire { run, wire: WHITE, .. }, Some(crate::job::Place::Splice(_)))
            if invented.wiring.runs[run].near.feed.is_said() =>
        {
            Some(tip.clone())
        }
        _ => None,
    });
    invented.put(feed_white.unwrap(), crate::job::Place::Capped);
    let whites: Vec<_> = lamps.iter().map(|lamp| lead(lamp.device, "neutral")).collect();
    // The second lamp's neutral lead sits on its ground: the only way back, for everybody.
    let ceiling = invented.wiring.devices[&lamps[1].device].in_box.get().copied().flatten().unwrap();
    let grounds = invented
        .wiring
        .splices_in(ceiling)
        .into_iter()
        .find(|id| invented.wiring.ends_in(*id).contains(&&lead(lamps[1].device, "ground")));
    invented.put(whites[1].clone(), crate::job::Place::Splice(grounds.unwrap()));
    let table = SwitchTable::of(&invented.circuit());
    let gets = table.group_of(&lamps[0]).unwrap().column(&lamps[0]).unwrap();
    assert!(gets.iter().any(|gets| !gets.seen), "{gets:?}");
}

#[test]
fn a_chain_too_long_is_said_beside_what_can_be_said() {
    let chain = chain_in(chain(14).invented, 3);
    let table = SwitchTable::of(&chain.invented.circuit());
    assert!(
        matches!(table.not_covered.as_slice(), [NotCovered::TooMany { combinations: 16384, handles, .. }] if handles.len() == 14)
    );
    assert_eq!(table.group_of(&lamp(chain.lamp)).unwrap().rows.len(), 8);
}

/// Exchanges ends within their boxes.
fn exchange(invented: &mut Invented, swaps: &[(usize, usize)]) {
    let wiring = &mut invented.wiring;
    let tips: Vec<_> = wiring.tips.keys().cloned().collect();
    for (a, by) in swaps {
        let a = &tips[a % tips.len()];
        let place = wiring.box_of(a);
        let here: Vec<_> = tips.iter().filter(|tip| wiring.box_of(tip) == place).collect();
        let b = here[by % here.len()].clone();
        let places = [a, &b].map(|tip| wiring.tips[tip].place.clone());
        wiring.tips.get_mut(&b).unwrap().place = places[0].clone();
        wiring.tips.get_mut(a).unwrap().place = places[1].clone();
    }
}

fn seen(chain: &Chain, positions: &[&str], on: bool) -> Trial {
    let at: Vec<At> = chain.switches.iter().zip(positions).map(|(switch, name)| at(*switch, name)).collect();
    Trial { load: lamp(chain.lamp), at, on, shown: None }
}

#[test]
fn one_trial_of_a_pair_tells_which_row_is_which() {
    let chain = chain(2);
    let (circuit, load) = (chain.invented.circuit(), lamp(chain.lamp));
    let fresh = SwitchTable::of(&circuit);
    assert!(matches!(fresh.group_of(&load).unwrap().named(&load), Some(Named::Either(..))));
    assert_eq!(fresh.trial(&load, &[at(chain.switches[0], "up"), at(chain.switches[1], "up")]), None);
    for on in [true, false] {
        let table = SwitchTable::of(&circuit).with_trials(&[seen(&chain, &["up", "up"], on)]);
        let group = table.group_of(&load).unwrap();
        // Two ways of the four are left, each with both handles turned against the other; they say the same.
        assert_eq!((group.ways.left.len(), group.ways.fits_none), (2, false));
        let Some(Named::Known(gets)) = group.named(&load) else { panic!("{:?}", group.named(&load)) };
        let lit: Vec<bool> = gets.iter().map(|gets| gets.power == Power::On).collect();
        assert_eq!(lit, [on, !on, !on, on]);
        assert_eq!(table.trial(&load, &[at(chain.switches[0], "down"), at(chain.switches[1], "up")]), Some(!on));
        // One handle alone settles nothing.
        assert_eq!(table.trial(&load, &[at(chain.switches[0], "down")]), None);
        let verdicts = table.verdicts(&circuit, &BTreeMap::new(), None, &[]);
        assert!(verdicts[&load].mapped);
    }
}

#[test]
fn trials_that_nothing_fits_are_said_and_nothing_is_predicted() {
    let chain = chain(2);
    let (circuit, load) = (chain.invented.circuit(), lamp(chain.lamp));
    let trials = [seen(&chain, &["up", "up"], true), seen(&chain, &["up", "down"], true)];
    let table = SwitchTable::of(&circuit).with_trials(&trials);
    let group = table.group_of(&load).unwrap();
    assert_eq!((group.ways.left.len(), group.ways.fits_none, group.ways.trials), (4, true, 2));
    assert_eq!(table.trial(&load, &trials[0].at), None);
    // A position that the handle does not have, and a load point that is not there, fit nothing and harm nothing.
    let odd =
        [seen(&chain, &["sideways", "up"], true), Trial { load: outlet(chain.switches[0], "x"), ..trials[0].clone() }];
    assert!(SwitchTable::of(&circuit).with_trials(&odd[..1]).group_of(&load).unwrap().ways.fits_none);
    assert!(!SwitchTable::of(&circuit).with_trials(&odd[1..]).group_of(&load).unwrap().ways.fits_none);
}

/// One trial each of four switches in turn: whatever their hidden bits, parity is settled by one, and a breach is named
/// in the positions of a person.
#[test]
fn a_breach_is_named_by_the_way_round_that_trials_leave() {
    let mut chain = chain(2);
    // The feed and the red traveler exchanged at the first switch: one lit row of four.
    let switch = chain.switches[0];
    chain.invented.land(near(chain.travelers[0], RED), switch, "common");
    chain.invented.land(far(chain.feed, BLACK), switch, "traveler_2");
    let (circuit, load) = (chain.invented.circuit(), lamp(chain.lamp));
    let table = SwitchTable::of(&circuit).with_trials(&[seen(&chain, &["up", "down"], true)]);
    let group = table.group_of(&load).unwrap();
    assert_eq!(group.ways.left.len(), 1);
    let Some(Named::Known(gets)) = group.named(&load) else { panic!("one way is left") };
    let lit: Vec<bool> = gets.iter().map(|gets| gets.power == Power::On).collect();
    assert_eq!(lit, [false, true, false, false]);
    let handles = chain.switches.iter().map(|switch| handle(*switch)).collect();
    let promises = BTreeMap::from([(load.clone(), Promised::Toggled(handles))]);
    let verdicts = table.verdicts(&circuit, &promises, None, &[]);
    let Outcome::Broken(breaches) = &verdicts[&load].outcome else { panic!("not broken") };
    assert_eq!(breaches[0].at, [at(chain.switches[0], "down"), at(chain.switches[1], "up")]);
    assert_eq!(verdicts[&load].fed.as_ref().unwrap().0, [at(chain.switches[0], "up"), at(chain.switches[1], "down")]);
}

#[test]
fn promises_on_what_is_not_there_are_answered() {
    let chain = chain(2);
    let circuit = chain.invented.circuit();
    let table = SwitchTable::of(&circuit);
    let (nowhere, nobody) = (outlet(chain.switches[0], "no such part"), handle(chain.lamp));
    let promises = BTreeMap::from([
        (nowhere.clone(), Promised::Always),
        (lamp(chain.lamp), Promised::Toggled(BTreeSet::from([nobody.clone()]))),
    ]);
    let verdicts = table.verdicts(&circuit, &promises, None, &[]);
    assert!(!verdicts.contains_key(&nowhere));
    assert_eq!(table.group_of(&nowhere), None);
    let Outcome::Broken(breaches) = &verdicts[&lamp(chain.lamp)].outcome else { panic!("not broken") };
    assert!(breaches.iter().any(|breach| breach.idle == Some(nobody.clone())));
    // Promised to nobody at all: it must never change, and it does.
    let none = BTreeMap::from([(lamp(chain.lamp), Promised::Toggled(BTreeSet::new()))]);
    assert!(matches!(table.verdicts(&circuit, &none, None, &[])[&lamp(chain.lamp)].outcome, Outcome::Broken(_)));
}

/// 2 400 W at 120 V are 20 A: a 15 A breaker carries them for a while and then opens. The lamp lights; the row tells.
#[test]
fn what_opens_in_time_is_told_and_the_lamp_lights() {
    let (mut invented, switch, _, fixture) = single_pole();
    invented.watts(fixture, "lamp", 2_400);
    let table = SwitchTable::of(&invented.circuit());
    let group = table.group_of(&lamp(fixture)).unwrap();
    for row in &group.rows {
        let is_on = row.at == [at(switch, "on")];
        assert_eq!(row.gets[0].power, if is_on { Power::On } else { Power::Off });
        assert_eq!(row.trips.len(), usize::from(is_on), "{:?}", row.trips);
        assert_eq!(row.opened().count(), 0);
    }
}

/// The splices of a luminaire's hot and neutral.
fn hot_and_neutral(invented: &Invented, fixture: ThingId) -> [ThingId; 2] {
    ["hot", "neutral"].map(|name| match invented.wiring.tips[&lead(fixture, name)].place.get() {
        Some(crate::job::Place::Splice(splice)) => *splice,
        other => panic!("{other:?}"),
    })
}

/// A second switch lies between hot and neutral of the lamp: with both on the breaker opens at once.
#[test]
fn a_lamp_is_off_because_the_breaker_opens() {
    let (mut invented, switch, _, fixture) = single_pole();
    let ceiling = invented.wiring.devices[&fixture].in_box.get().copied().flatten().unwrap();
    let second = invented.device("switch-1p", ceiling);
    let [hot, neutral] = hot_and_neutral(&invented, fixture);
    invented.pigtail(ceiling, hot, second, "line");
    invented.pigtail(ceiling, neutral, second, "switched");
    let circuit = invented.circuit();
    let table = SwitchTable::of(&circuit);
    let load = lamp(fixture);
    let group = table.group_of(&load).unwrap();
    for (row, gets) in group.rows.iter().zip(group.column(&load).unwrap()) {
        let on = |device| row.at.contains(&at(device, "on"));
        let power = match (on(switch), on(second)) {
            (true, true) => Power::Tripped,
            (true, false) => Power::On,
            (false, _) => Power::Off,
        };
        assert_eq!(gets.power, power, "{row:?}");
        assert_eq!(row.opened().count(), usize::from(power == Power::Tripped), "{:?}", row.trips);
    }
    let promises = BTreeMap::from([(load.clone(), Promised::Toggled(BTreeSet::from([handle(switch)])))]);
    let verdicts = table.verdicts(&circuit, &promises, None, &[]);
    let Outcome::Broken(breaches) = &verdicts[&load].outcome else { panic!("{:?}", verdicts[&load]) };
    assert!(breaches.iter().any(|breach| breach.opened.len() == 1), "{breaches:?}");
    // A trial shows it dark.
    assert_eq!(table.trial(&load, &[at(switch, "on"), at(second, "on")]), Some(false));
}

/// Hot and neutral meet behind the switch: no load point is worked by it any more, but its rows tell what opens.
#[test]
fn a_switch_that_only_makes_a_short_tells_so() {
    let (mut invented, switch, _, fixture) = single_pole();
    let ceiling = invented.wiring.devices[&fixture].in_box.get().copied().flatten().unwrap();
    let [hot, neutral] = hot_and_neutral(&invented, fixture);
    let bridge = invented.run("pigtail-14-black", ceiling, Some(ceiling), 1);
    invented.put(near(bridge, 0), crate::job::Place::Splice(hot));
    invented.put(far(bridge, 0), crate::job::Place::Splice(neutral));
    let table = SwitchTable::of(&invented.circuit());
    let group = table.groups.iter().find(|group| group.handles.contains(&handle(switch))).unwrap();
    for row in &group.rows {
        assert_eq!(row.opened().count(), usize::from(row.at == [at(switch, "on")]), "{:?}", row.trips);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Random tables of handles with one to four positions: the leaves never overlap and expand to the very column.
    #[test]
    fn leaves_expand_to_the_column(
        radix in prop::collection::vec(1usize..5, 0..5),
        values in prop::collection::vec(0usize..3, 256),
        few in any::<bool>(),
    ) {
        let count: usize = radix.iter().product();
        // Half of the tables depend on little, so that there is something to merge.
        let column: Vec<usize> = (0..count).map(|row| if few { values[row % 5] } else { values[row] }).collect();
        let leaves = Tree::new(radix.clone(), column.clone()).leaves();
        for (row, value) in column.iter().enumerate() {
            let mut left = row;
            let mut digits = vec![0; radix.len()];
            for n in (0..radix.len()).rev() {
                digits[n] = left % radix[n];
                left /= radix[n];
            }
            let having: Vec<_> = leaves
                .iter()
                .filter(|leaf| {
                    let parity = leaf.parity.as_ref().is_none_or(|(places, odd)| {
                        (places.iter().filter(|n| digits[**n] > 0).count() % 2 == 1) == *odd
                    });
                    parity && leaf.held.iter().zip(&digits).all(|(held, digit)| held.contains(digit))
                })
                .collect();
            prop_assert_eq!(having.len(), 1);
            prop_assert_eq!(having[0].value, *value);
        }
        prop_assert_eq!(leaves.iter().map(|leaf| leaf.rows).sum::<usize>(), count);
    }

    /// However the ends of each box are exchanged, positions solved side by side say what each says by itself.
    #[test]
    fn side_by_side_and_one_by_one_agree(
        count in 2usize..5,
        electronic in any::<bool>(),
        swaps in prop::collection::vec((0usize..64, 0usize..64), 0..6),
    ) {
        let mut chain = chain(count);
        if electronic {
            chain.invented.change(chain.lamp, "luminaire-led");
        }
        exchange(&mut chain.invented, &swaps);
        let circuit = chain.invented.circuit();
        let (solver, connectivity) = (Solver::new(&circuit.network), Connectivity::new(&circuit.network, &[]));
        let mut sight = Sight::new(&circuit, &solver, &connectivity);
        for group in circuit.groups() {
            let states = circuit.combinations(&group.handles).unwrap();
            let table = sight.table(group, &states);
            for (row, state) in table.rows.iter().zip(&states) {
                let alone = sight.alone(&table.loads, state);
                let together: Vec<Power> = row.gets.iter().map(|gets| gets.power).collect();
                prop_assert_eq!(together, alone);
            }
        }
    }

    /// However the ends of a box are exchanged, a group taken apart says nothing that the whole table denies.
    #[test]
    fn parts_agree_with_the_whole_table(swaps in prop::collection::vec((0usize..400, 0usize..400), 0..5)) {
        let (mut invented, ..) = behind_a_master(4);
        exchange(&mut invented, &swaps);
        let circuit = invented.circuit();
        let islands = Islands::of(&circuit);
        let (solver, connectivity) = (Solver::new(&circuit.network), Connectivity::new(&circuit.network, &[]));
        let mut sight = Sight::new(&circuit, &solver, &connectivity);
        let whole = SwitchTable::of(&circuit);
        let ways = reach::Ways::of(&circuit, &islands);
        for group in circuit.groups_of(&islands) {
            for part in ways.apart(&group).parts {
                let part = sight.part(part, &group.handles, &islands);
                for load in &part.loads {
                    let all = whole.group_of(load).unwrap();
                    let (column, own) = (all.column(load).unwrap(), part.column(load).unwrap());
                    for (row, gets) in all.rows.iter().zip(column) {
                        let state = circuit.state(&row.at, circuit.rest());
                        let joined = connectivity.at(&state);
                        let shorted = circuit.panels.values().any(|panel| {
                            panel.legs.iter().any(|(_, leg)| joined.joined(*leg, panel.neutral))
                        });
                        // A short pulls every voltage down; the breaker would have tripped.
                        if shorted { continue; }
                        let place = part.rows.iter().position(|own| own.at.iter().all(|at| row.at.contains(at)));
                        let own = own[place.unwrap()];
                        prop_assert!(!own.seen || own.power == gets.power, "{:?} {:?} {:?}", load, own, gets);
                    }
                }
            }
        }
    }
}
