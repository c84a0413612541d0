use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::{Change, Difference, Joined, Target, Way, What, ways};
use crate::catalogue::Catalogue;
use crate::circuit::invented::*;
use crate::circuit::{Circuit, HazardKind, Outcome, SwitchTable, hazards};
use crate::job::{Bus, Colour, Layer, LoadPoint, Note, Place, Promised, Side, ThingId, Tip, Wiring};

fn planned(mut invented: Invented) -> Wiring {
    invented.wiring.layer = Layer::Planned(ThingId::new(9, [9; 16]));
    invented.wiring
}

fn all(wiring: &Wiring, at: ThingId) -> Vec<Way> {
    ways(wiring, Catalogue::shared(), at)
}

fn first(wiring: &Wiring, at: ThingId) -> Way {
    all(wiring, at).into_iter().next().expect("a way")
}

fn splice<'w>(way: &'w Way, key: &str) -> &'w Joined {
    match way.parts.iter().find(|part| part.key == key).map(|part| &part.change) {
        Some(Change::Splice(joined)) => joined,
        other => panic!("{key}: {other:?} in {way:#?}"),
    }
}

fn lands(way: &Way) -> BTreeMap<Tip, String> {
    let each = way.parts.iter().filter_map(|part| match &part.change {
        Change::Land { tip, to: Target::Terminal { terminal, .. } } => Some((tip.clone(), terminal.clone())),
        _ => None,
    });
    each.collect()
}

fn to(device: ThingId, terminal: &str) -> Target {
    Target::Terminal { device, terminal: terminal.to_owned() }
}

/// Feed at the lamp, a cable down to a switch and back: the white is the hot that feeds the switch, re-marked at both
/// ends, the black comes back as the leg (200.7(C)(1)). Both boxes made up one after the other do what was asked.
#[test]
fn a_switch_loop_uses_its_white_as_the_hot() {
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-1p-15", Bus::A);
    let (ceiling, wall) = (w.a_box("octagon-4-1.5"), w.a_box("nonmetallic-1g"));
    let feed = w.home_run("nm-14-2", breaker, ceiling, 30);
    let drop = w.run("nm-14-2", ceiling, Some(wall), 12);
    let (fixture, switch) = (w.device("luminaire", ceiling), w.device("switch-1p", wall));
    w.watts(fixture, "lamp", 40);
    w.wiring.promises.insert(lamp(fixture), Promised::Toggled(BTreeSet::from([handle(switch)])));
    let wiring = planned(w);
    let above = first(&wiring, ceiling);
    assert_eq!(splice(&above, "hot").ends, [far(feed, BLACK), near(drop, WHITE)]);
    assert_eq!(splice(&above, "leg").ends, [near(drop, BLACK), lead(fixture, "hot")]);
    assert_eq!(splice(&above, "neutrals").ends, [far(feed, WHITE), lead(fixture, "neutral")]);
    let marks = |way: &Way| -> Vec<Change> {
        way.parts.iter().filter(|part| part.what == What::Remark).map(|part| part.change.clone()).collect()
    };
    assert_eq!(marks(&above), [Change::Remark(near(drop, WHITE), Colour::Black)]);
    let wiring = above.applied(&wiring, Catalogue::shared());
    let below = first(&wiring, wall);
    let expected = [(far(drop, WHITE), "line".to_owned()), (far(drop, BLACK), "switched".to_owned())];
    let mut found = lands(&below);
    found.retain(|tip, _| matches!(tip, Tip::Wire { wire, .. } if *wire != BARE_2));
    assert_eq!(found, expected.into_iter().collect());
    assert_eq!(marks(&below), [Change::Remark(far(drop, WHITE), Colour::Black)]);
    kept(&below.applied(&wiring, Catalogue::shared()));
}

/// Every promise of a wiring is kept and nothing is a hazard.
fn kept(wiring: &Wiring) {
    let circuit = Circuit::of(wiring, Catalogue::shared()).unwrap();
    let hazards = hazards(&circuit);
    assert_eq!(hazards, []);
    for (load, verdict) in SwitchTable::of(&circuit).verdicts(&circuit, &wiring.promises, None, &hazards) {
        let asked = wiring.promises.contains_key(&load);
        assert!(!asked || verdict.outcome == Outcome::AsPromised, "{load:?} {:?}", verdict.outcome);
    }
}

/// Three and four switches in a row from nothing but runs, devices and what was asked: each box from the panel on made
/// up as proposed, and the lamp turns with every switch. The hot is switched, never the neutral (404.2(A)).
#[test]
fn a_chain_of_switches_is_made_up_from_what_was_asked() {
    for count in 1..=4 {
        let mut made = chain(count.max(2));
        let promise = Promised::Toggled(made.switches.iter().map(|switch| handle(*switch)).collect());
        made.invented.wiring.promises.insert(lamp(made.lamp), promise);
        made.invented.wiring.tips.clear();
        made.invented.wiring.splices.clear();
        let runs: Vec<ThingId> = made.travelers.iter().chain([&made.feed, &made.leg]).copied().collect();
        made.invented.wiring.runs.retain(|run, _| runs.contains(run));
        let boxes: Vec<ThingId> = made.invented.wiring.boxes.keys().copied().collect();
        let mut wiring = planned(made.invented);
        for at in boxes {
            if let Some(way) = all(&wiring, at).into_iter().next() {
                wiring = way.applied(&wiring, Catalogue::shared());
            }
        }
        kept(&wiring);
        assert!(wiring.boxes.keys().all(|at| all(&wiring, *at).is_empty()));
    }
}

/// A protective receptacle with a cable onward: both ways are shown, before it and behind it.
#[test]
fn what_goes_onward_is_before_or_behind_a_protective_device() {
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-1p-20", Bus::A);
    let (a, b) = (w.a_box("nonmetallic-1g"), w.a_box("nonmetallic-1g"));
    let feed = w.home_run("nm-12-2", breaker, a, 30);
    let onward = w.run("nm-12-2", a, Some(b), 12);
    let (guard, last) = (w.device("receptacle-gfci-20", a), w.device("receptacle-20-duplex", b));
    w.land(far(onward, BLACK), last, "hot_1");
    w.land(far(onward, WHITE), last, "neutral_1");
    w.land(far(onward, BARE_2), last, "ground");
    let outlet = LoadPoint { device: last, load: "upper".to_owned() };
    w.wiring.promises.insert(outlet, Promised::Always);
    let wiring = planned(w);
    let found = all(&wiring, a);
    let differences: Vec<Difference> = found.iter().map(|way| way.difference).collect();
    assert_eq!(differences, [Difference::OnwardFromLine, Difference::OnwardProtected]);
    let before = &found[0];
    assert_eq!(splice(before, "hot").pigtails, [to(guard, "line_hot")]);
    assert_eq!(splice(before, "hot").ends, [far(feed, BLACK), near(onward, BLACK)]);
    let behind = lands(&found[1]);
    let expected = [
        (far(feed, BLACK), "line_hot"),
        (far(feed, WHITE), "line_neutral"),
        (near(onward, BLACK), "load_hot"),
        (near(onward, WHITE), "load_neutral"),
    ];
    assert_eq!(behind, expected.map(|(tip, point)| (tip, point.to_owned())).into_iter().collect());
    for way in found {
        kept(&way.applied(&wiring, Catalogue::shared()));
    }
}

/// Two circuits in one box: neutrals apart (300.3(B)), grounds together (250.148).
#[test]
fn neutrals_of_two_circuits_stay_apart() {
    let mut w = Invented::new();
    let (left, right) = (w.breaker("breaker-1p-15", Bus::A), w.breaker("breaker-1p-15", Bus::B));
    let (a, b, c) = (w.a_box("square-4-1.5"), w.a_box("nonmetallic-1g"), w.a_box("nonmetallic-1g"));
    let (one, two) = (w.home_run("nm-14-2", left, a, 20), w.home_run("nm-14-2", right, a, 20));
    // What goes onward is told by the breaker at its other side: both leave this box to boxes with feeds noted so.
    let (on_one, on_two) = (w.run("nm-14-2", a, Some(b), 10), w.run("nm-14-2", a, Some(c), 10));
    let wiring = planned(w);
    let way = first(&wiring, a);
    let grounds = splice(&way, "grounds");
    let bares = [far(one, BARE_2), far(two, BARE_2), near(on_one, BARE_2), near(on_two, BARE_2)];
    assert_eq!(grounds.ends, bares);
    assert_eq!(grounds.pigtails, [Target::Shell(a)]);
    // Of the two onward nobody can tell whose they are: they are left open, not guessed.
    assert!(way.parts.iter().all(|part| !part.ends().contains(&&near(on_one, BLACK))));
    assert!(way.open.contains(&near(on_two, WHITE)));
    for part in way.parts.iter().filter(|part| part.what == What::Neutrals) {
        assert!(part.ends().len() < 2, "{part:?}");
    }
}

/// A receptacle on its own screws gets a cable onward: its hot and neutral now share their terminals, so that they go
/// into splices with pigtails back (110.14(A); 300.13(B) for a shared neutral). As found nothing is moved.
#[test]
fn an_end_leaves_its_terminal_only_where_it_must_be_shared() {
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-1p-15", Bus::A);
    let (a, b) = (w.a_box("nonmetallic-1g"), w.a_box("nonmetallic-1g"));
    let feed = w.home_run("nm-14-2", breaker, a, 20);
    let first_one = w.device("receptacle-15-duplex", a);
    for (wire, terminal) in [(BLACK, "hot_1"), (WHITE, "neutral_1"), (BARE_2, "ground")] {
        w.land(far(feed, wire), first_one, terminal);
    }
    let alone = w.wiring.clone();
    let onward = w.run("nm-14-2", a, Some(b), 20);
    let last = w.device("receptacle-15-duplex", b);
    for (wire, terminal) in [(BLACK, "hot_1"), (WHITE, "neutral_1"), (BARE_2, "ground")] {
        w.land(far(onward, wire), last, terminal);
    }
    w.wiring.promises.insert(LoadPoint { device: last, load: "upper".to_owned() }, Promised::Always);
    assert_eq!(all(&alone, a), []);
    let as_found = w.wiring.clone();
    for way in all(&as_found, a) {
        assert!(way.parts.iter().all(|part| !matches!(&part.change, Change::Splice(j) if !j.moved.is_empty())));
    }
    let wiring = planned(w);
    let way = first(&wiring, a);
    for (key, wire, terminal) in
        [("hot", BLACK, "hot_1"), ("neutrals", WHITE, "neutral_1"), ("grounds", BARE_2, "ground")]
    {
        let joined = splice(&way, key);
        assert_eq!((&joined.ends, &joined.moved), (&vec![near(onward, wire)], &vec![far(feed, wire)]));
        assert_eq!(joined.pigtails, [to(first_one, terminal)]);
    }
    kept(&way.applied(&wiring, Catalogue::shared()));
}

const KINDS: [&str; 9] = [
    "switch-1p",
    "switch-3way",
    "switch-4way",
    "receptacle-15-duplex",
    "receptacle-gfci-15",
    "luminaire",
    "switch-smart",
    "switch-receptacle-combo",
    "dimmer-3way",
];

/// A random tree of boxes behind a breaker, some of them made up in part, with promises to some loads.
fn invented(seed: &[u16], found: bool) -> (Wiring, Vec<ThingId>) {
    let mut next = seed.iter().copied().cycle();
    let mut draw = |n: usize| usize::from(next.next().unwrap_or(0)) % n;
    let mut w = Invented::new();
    let breaker = w.breaker("breaker-1p-15", Bus::A);
    let mut boxes: Vec<ThingId> = Vec::new();
    let mut devices: Vec<(ThingId, &str)> = Vec::new();
    for n in 0..2 + draw(4) {
        let at = w.a_box(["nonmetallic-2g", "square-4-1.5"][draw(2)]);
        match boxes.get(draw(n.max(1))).copied() {
            None => drop(w.home_run("nm-14-2", breaker, at, 20)),
            Some(from) => drop(w.run(["nm-14-2", "nm-14-3"][draw(2)], from, Some(at), 20)),
        }
        boxes.push(at);
        for _ in 0..draw(3) {
            let kind = KINDS[draw(KINDS.len())];
            devices.push((w.device(kind, at), kind));
        }
    }
    let switches: Vec<ThingId> = devices
        .iter()
        .filter(|(_, kind)| kind.starts_with("switch") || kind.starts_with("dimmer"))
        .map(|(id, _)| *id)
        .collect();
    for (device, kind) in &devices {
        let load = match *kind {
            "luminaire" => "lamp",
            "receptacle-15-duplex" => "upper",
            _ => continue,
        };
        let promise = match (draw(3), switches.as_slice()) {
            (0, _) | (_, []) => continue,
            (1, _) => Promised::Always,
            (_, some) => Promised::Toggled((0..=draw(2)).map(|_| handle(some[draw(some.len())])).collect()),
        };
        w.wiring.promises.insert(LoadPoint { device: *device, load: load.to_owned() }, promise);
    }
    let mut wiring = if found { w.wiring } else { planned(w) };
    for at in &boxes {
        if let (true, Some(way)) = (draw(3) == 0, all(&wiring, *at).into_iter().next()) {
            let keep = draw(4) + 1;
            let kept: Vec<String> = way.parts.iter().take(keep).map(|part| part.key.clone()).collect();
            wiring = way.applied_of(&wiring, Catalogue::shared(), |part| kept.contains(&part.key));
        }
    }
    (wiring, boxes)
}

/// Shorts, and neutrals behind a switch.
fn grave(wiring: &Wiring) -> Vec<HazardKind> {
    let circuit = Circuit::of(wiring, Catalogue::shared()).unwrap();
    let kinds = hazards(&circuit).into_iter().map(|hazard| hazard.kind);
    kinds.filter(|kind| matches!(kind, HazardKind::Short { .. } | HazardKind::SwitchedNeutral { .. })).collect()
}

/// Whatever the box: the same input gives the same ways; no noted end is moved but those that the part names, and
/// none as found; every proposed end is in one part alone and then in one place; no short and no switched neutral
/// comes of it that was not there.
fn keeps_what_is_noted(seed: &[u16], found: bool) -> Result<(), TestCaseError> {
    let (wiring, boxes) = invented(seed, found);
    let before = grave(&wiring);
    for at in boxes {
        let found_ways = all(&wiring, at);
        prop_assert_eq!(&found_ways, &all(&wiring, at));
        for way in found_ways {
            let mut seen: BTreeSet<&Tip> = BTreeSet::new();
            for tip in way.parts.iter().flat_map(super::Part::ends) {
                prop_assert!(seen.insert(tip), "{:?} twice in {:#?}", tip, way);
            }
            let keys: BTreeSet<&str> = way.parts.iter().map(|part| part.key.as_str()).collect();
            prop_assert_eq!(keys.len(), way.parts.len());
            let moved: BTreeSet<&Tip> = way
                .parts
                .iter()
                .flat_map(|part| match &part.change {
                    Change::Splice(joined) => joined.moved.iter().collect(),
                    _ => Vec::new(),
                })
                .collect();
            prop_assert!(!found || moved.is_empty());
            let applied = way.applied(&wiring, Catalogue::shared());
            for (tip, note) in &wiring.tips {
                if note.place.is_said() && !moved.contains(tip) {
                    prop_assert_eq!(wiring.place(tip), applied.place(tip), "{:?}", tip);
                }
            }
            for tip in seen {
                prop_assert!(matches!(applied.tips[tip].place, Note::Said(..)), "{:?}", tip);
                prop_assert_eq!(applied.box_of(tip), Some(at));
            }
            // One conductor under each terminal.
            let mut under: BTreeMap<(ThingId, &str), usize> = BTreeMap::new();
            for note in applied.tips.values() {
                if let Some(Place::Terminal { device, terminal, .. }) = note.place.get() {
                    *under.entry((*device, terminal.as_str())).or_default() += 1;
                }
            }
            prop_assert!(under.values().all(|ends| *ends == 1), "{:?}", under);
            let after = grave(&applied);
            prop_assert!(after.iter().all(|kind| before.contains(kind)), "{:?}\n{:#?}", after, way);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1024, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn proposals_keep_what_is_noted(seed in proptest::collection::vec(any::<u16>(), 8..40), found in any::<bool>()) {
        keeps_what_is_noted(&seed, found)?;
    }
}

/// A white that feeds a three-way at the far box was once proposed as a neutral here.
#[test]
fn a_white_under_a_common_is_no_neutral() {
    let seed = [52209, 30754, 0, 22364, 3005, 537, 0, 0, 3397, 44848, 9107, 0, 6782, 0, 4255, 141, 17350];
    keeps_what_is_noted(&seed, false).unwrap();
}

/// The far side of a pigtail is where it goes; a proposal's own things have names that nothing else has.
#[test]
fn what_a_way_makes_is_new() {
    let made = chain(2);
    let mut wiring = planned(made.invented);
    let before: BTreeSet<ThingId> = wiring.runs.keys().copied().collect();
    wiring.tips.retain(|tip, _| !matches!(tip, Tip::Wire { run, side: Side::Far, .. } if *run == made.leg));
    let at = wiring.box_of(&far(made.leg, BLACK)).unwrap();
    let applied = first(&wiring, at).applied(&wiring, Catalogue::shared());
    assert!(before.iter().all(|run| applied.runs.contains_key(run)));
    assert!(
        applied
            .runs
            .values()
            .filter(|run| run.is_inside())
            .all(|run| { wiring.runs.contains_key(&run.id) || applied.place(&far(run.id, 0)).is_some() })
    );
}
