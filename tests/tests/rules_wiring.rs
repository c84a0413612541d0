//! Each rule on noted wiring: what is beyond a limit, what just meets it, and what is not known.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

mod rules_support;

use boxproof_core::job::value::{Addition, Link, NumberedWire, Range};
use boxproof_core::job::{Colour, Conductor, Kind, Landing, Layer, Metal, Place, Side, Subject, Value};
use boxproof_core::rules::nec::Verdict;
use boxproof_core::rules::{Finding, Severity};
use boxproof_tests::hand::id;
use rules_support::{Sheet, decimal};

fn rules(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.rule).collect()
}

/// A device box with two 12-2 and a duplex: 4 x 2.25 + 2.25 + 4.50 = 15.75 in3.
fn duplex_between(kind: &str) -> Sheet {
    let mut sheet = Sheet::default();
    sheet.r#box("B2", kind).run("A", "nm-12-2", ("B2", "A"), ("_", "")).run("B", "nm-12-2", ("B2", "B"), ("_", ""));
    sheet.device("duplex", "receptacle-15-duplex", "B2");
    sheet.land("duplex", "A.0 hot_1, B.0 hot_2, A.1 neutral_1, B.1 neutral_2");
    sheet
}

#[test]
fn just_full_is_a_pass() {
    let mut sheet = duplex_between("device-3x2-3.5");
    sheet.of("B2", Value::Clamps(1));
    let fill = sheet.fill("B2", 2020).unwrap();
    // 15.75 and one more allowance of 12 AWG for the clamps: 18.0 of 18.0.
    assert_eq!((fill.needed().number(), fill.share_thousandths()), ("18.0".to_owned(), Some(1000)));
    assert_eq!(fill.verdict(), Verdict::Fits);
    sheet.of("B2", Value::Volume(decimal("17.9999")));
    let found = sheet.of_rule(2020, "rule.fill");
    assert_eq!(rules(&found), ["rule.fill.over"]);
    assert_eq!(
        found[0].sentence(),
        "B2: what is in the box needs 18.0 in³, the box has 17.9999 in³: 0.0001 in³ too little. Section 314.16(B) of \
         NEC 2020. The adopted local code decides."
    );
}

#[test]
fn what_nobody_said_counts_only_where_it_decides() {
    let mut sheet = duplex_between("device-3x2-3.5");
    // Clamps not said: 15.75 or 18.0, both fit 18.0.
    assert_eq!(sheet.of_rule(2020, "rule.fill"), []);
    let mut unsaid = duplex_between("device-3x2-3.5");
    let thing = unsaid.thing("B2");
    unsaid.strip(|set| set.of == thing.into() && matches!(set.value, Value::Clamps(_)));
    assert_eq!(unsaid.of_rule(2020, "rule.fill"), []);
    // In a box marked 17.0 it decides.
    unsaid.of("B2", Value::Volume(decimal("17.0")));
    let found = unsaid.of_rule(2020, "rule.fill");
    assert_eq!((rules(&found), found[0].severity), (vec!["rule.fill.not_known"], Severity::NotKnown));
    assert_eq!(
        found[0].what(),
        "B2: what is in the box needs from 15.75 in³ to 18.0 in³, the box has 17.0 in³. Not known: internal clamps."
    );
    // And at 15.7 nothing that is not known can help.
    unsaid.of("B2", Value::Volume(decimal("15.7")));
    assert_eq!(rules(&unsaid.of_rule(2020, "rule.fill")), ["rule.fill.over"]);
    sheet.of("B2", Value::Volume(decimal("15.75")));
    assert_eq!(sheet.of_rule(2020, "rule.fill"), []);
}

#[test]
fn a_box_without_any_volume_is_not_known() {
    // 314.16(A)(2): nonmetallic boxes count by the volume marked on them; unmarked they have none.
    let sheet = duplex_between("nonmetallic-1g");
    let found = sheet.of_rule(2020, "rule.fill");
    assert_eq!(rules(&found), ["rule.fill.no_room"]);
    assert_eq!((found[0].severity, found[0].limit), (Severity::NotKnown, None));
    assert!(found[0].sentence().contains("15.75 in³"), "{}", found[0].sentence());
}

#[test]
fn runs_and_devices_of_unknown_kinds_leave_the_fill_open() {
    let mut sheet = duplex_between("square-4-1.5");
    sheet.run("C", "emt", ("B2", "C"), ("_", ""));
    let found = sheet.of_rule(2020, "rule.fill");
    assert_eq!(rules(&found), ["rule.fill.not_known"]);
    assert!(found[0].what().contains("an amount not known") && found[0].what().contains("EMT"), "{}", found[0].what());
    // The raceway's conductors noted one by one: 15.75 + 2 x 2.00 = 19.75 of 21.0.
    let black =
        Conductor { colour: Colour::Black, size: "14".to_owned(), metal: Metal::Copper, stranded: true, ground: false };
    for n in 0..2 {
        sheet.of("C", Value::Wire(NumberedWire { n, conductor: black.clone() }));
    }
    assert_eq!(sheet.fill("B2", 2020).unwrap().needed().number(), "19.75");
    assert_eq!(sheet.of_rule(2020, "rule.fill"), []);
    sheet.device("thing", "no-such-kind", "B2");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.fill")), ["rule.fill.not_known"]);
}

#[test]
fn what_is_noted_twice_leaves_the_fill_open() {
    let mut sheet = duplex_between("square-4-1.5");
    sheet.r#box("B9", "square-4-1.5");
    let (run, duplex, other) = (sheet.thing("A"), sheet.thing("duplex"), sheet.thing("B9"));
    let near = Subject::Side(run, Side::Near);
    assert_eq!(sheet.of_rule(2020, "rule.fill"), []);
    sheet.twice(near.clone(), Value::InBox(Some(other)));
    // Neither box may be said to fit while two notes claim the run for both.
    assert_eq!(rules(&sheet.of_rule(2020, "rule.fill")), ["rule.fill.not_known", "rule.fill.not_known"]);
    sheet.set(near, Value::InBox(Some(other)));
    assert_eq!(sheet.of_rule(2020, "rule.fill"), []);
    sheet.twice(duplex, Value::InBox(Some(other)));
    assert_eq!(rules(&sheet.of_rule(2020, "rule.fill")), ["rule.fill.not_known", "rule.fill.not_known"]);
}

#[test]
fn rings_count_only_by_their_marked_volume() {
    // 314.16(A): plaster rings, domed covers and extensions add the volume marked on them.
    let mut sheet = duplex_between("square-4-1.25");
    let ring = |n, volume: Option<&str>| {
        let volume = volume.map(decimal);
        Value::Addition(Addition { n, what: "two-gang ring".to_owned(), volume })
    };
    sheet.of("B2", ring(0, Some("6.5"))).of("B2", ring(1, None));
    let room = sheet.fill("B2", 2020).unwrap().room;
    assert_eq!((room.in3_e4, room.unmarked.len(), room.parts.len()), (Some(245_000), 1, 2));
    // A marked volume stands instead of the table's; two device boxes ganged together have twice the table's.
    sheet.of("B2", Value::Volume(decimal("19.0")));
    assert_eq!(sheet.fill("B2", 2020).unwrap().room.in3_e4, Some(255_000));
    let mut ganged = duplex_between("device-3x2-2.5");
    ganged.of("B2", Value::Gangs(2));
    assert_eq!(ganged.fill("B2", 2020).unwrap().room.in3_e4, Some(250_000));
}

#[test]
fn barriers_take_room_and_part_it() {
    // 314.16(A) since 2017: 0.5 in3 for a metal barrier, 1.0 for a nonmetallic one, where not marked.
    use boxproof_core::rules::Edition;
    use boxproof_core::rules::nec::{Barrier, apportioned};
    let edition = Edition::of(2017).unwrap();
    assert_eq!(apportioned(420_000, &[Barrier::Nonmetallic], &[1, 1], edition), Some(vec![205_000, 205_000]));
    assert_eq!(apportioned(420_000, &[Barrier::Metal], &[2, 1], edition), Some(vec![276_666, 138_333]));
    assert_eq!(apportioned(420_000, &[Barrier::Marked(20_000)], &[1], edition), Some(vec![400_000]));
    assert_eq!(apportioned(5_000, &[Barrier::Metal], &[1], edition), None);
}

#[test]
fn conductors_that_pass_through_count_once_and_long_loops_twice() {
    let mut sheet = Sheet::default();
    sheet.r#box("B9", "square-4-1.5");
    for run in ["A", "B"] {
        sheet.run(run, "emt", ("B9", run), ("_", ""));
        for n in 0..2 {
            let conductor = Conductor {
                colour: Colour::Black,
                size: "12".to_owned(),
                metal: Metal::Copper,
                stranded: true,
                ground: false,
            };
            sheet.of(run, Value::Wire(NumberedWire { n, conductor }));
        }
    }
    for n in 0..2 {
        let on = sheet.tip(&format!("B.{n}"));
        sheet.place(&format!("A.{n}"), Place::Through(on));
    }
    // 314.16(B)(1): once, or twice from 12 in. on; as long as nobody measured, from 2 to 4 allowances of 2.25.
    let fill = sheet.fill("B9", 2020).unwrap();
    assert_eq!((fill.needed.least_in3_e4, fill.needed.most_in3_e4), (45_000, Some(90_000)));
    sheet.free("A.0", "11.9").free("A.1", "12");
    let fill = sheet.fill("B9", 2020).unwrap();
    assert_eq!((fill.needed.least_in3_e4, fill.needed.most_in3_e4), (67_500, Some(67_500)));
    // An unbroken loop is not measured against 300.14.
    assert_eq!(sheet.of_rule(2020, "rule.free"), []);
}

#[test]
fn a_canopy_leaves_small_fixture_wires_out() {
    let mut sheet = Sheet::default();
    sheet.r#box("B7", "octagon-4-1.25").run("A", "nm-14-2", ("B7", "A"), ("_", ""));
    sheet.run("B", "nm-14-2", ("B7", "B"), ("_", "")).device("light", "luminaire", "B7");
    // 4 x 2.00 + 2.00 for grounds; two 18 AWG wires of 1.50 more without a canopy.
    sheet.of("B7", Value::Canopy(true));
    assert_eq!(sheet.fill("B7", 2020).unwrap().needed().number(), "10.0");
    assert_eq!(sheet.of_rule(2020, "rule.fill"), []);
    sheet.of("B7", Value::Canopy(false));
    assert_eq!(sheet.fill("B7", 2020).unwrap().needed().number(), "13.0");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.fill")), ["rule.fill.over"]);
    let thing = sheet.thing("B7");
    sheet.strip(|set| set.of == thing.into() && matches!(set.value, Value::Canopy(_)));
    let found = sheet.of_rule(2020, "rule.fill");
    assert_eq!(rules(&found), ["rule.fill.not_known"]);
    assert!(found[0].what().ends_with("Not known: a dome or canopy on the box."), "{}", found[0].what());
}

#[test]
fn absent_conductors_and_pigtails_need_no_room() {
    let mut sheet = duplex_between("device-3x2-3.5");
    sheet.pigtail("tail", "pigtail-12-black", "B2").place("B.0", Place::Absent);
    assert_eq!(sheet.fill("B2", 2020).unwrap().needed().number(), "13.5");
}

#[test]
fn isolated_grounds_and_terminal_blocks_count_by_their_editions() {
    let mut sheet = Sheet::default();
    sheet.r#box("B1", "square-4-2.125").run("A", "mc-12-2", ("B1", "A"), ("_", ""));
    let wire = |n| {
        let (colour, ground) = if n == 0 { (Colour::Black, false) } else { (Colour::Green, true) };
        let conductor = Conductor { colour, size: "12".to_owned(), metal: Metal::Copper, stranded: true, ground };
        Value::Wire(NumberedWire { n, conductor })
    };
    sheet.run("B", "emt", ("B1", "B"), ("_", "")).of("B", wire(0)).of("B", wire(1));
    sheet.device("duplex", "receptacle-20-isolated-ground", "B1");
    sheet.land("duplex", "A.0 hot_1, A.1 neutral_1, B.1 isolated_ground");
    // 3 x 2.25 + yoke 4.50 + one ground 2.25, and by 250.146(D) up to 2017 another 2.25 for the isolated set.
    assert_eq!(sheet.fill("B1", 2017).unwrap().needed().number(), "15.75");
    assert_eq!(sheet.fill("B1", 2020).unwrap().needed().number(), "13.5");
    // By a pigtail it is the same set.
    sheet.pigtail("tail", "pigtail-12-green", "B1").splice("iso", "B1", "lever-2", "B.1 tail.0");
    sheet.land("duplex", "tail.0' isolated_ground");
    assert_eq!(sheet.fill("B1", 2017).unwrap().needed().number(), "15.75");
    // 314.16(B)(6), new in 2023: one allowance by the largest conductor on the block.
    sheet.device("block", "terminal-block-2", "B1").land("block", "B.0 in_1");
    assert_eq!(sheet.fill("B1", 2020).unwrap().needed().number(), "13.5");
    assert_eq!(sheet.fill("B1", 2023).unwrap().needed().number(), "15.75");
}

#[test]
fn a_dimmers_leads_stay_inside_and_its_yoke_counts_by_what_they_are_spliced_with() {
    let mut sheet = Sheet::default();
    sheet.r#box("B1", "square-4-1.5").run("A", "nm-12-2", ("B1", "A"), ("_", ""));
    sheet.device("dimmer", "dimmer-2wire", "B1").splice("hot", "B1", "lever-2", "A.0 dimmer:line");
    // 2 x 2.25 + 2.25 + 4.50.
    assert_eq!(sheet.fill("B1", 2020).unwrap().needed().number(), "11.25");
}

#[test]
fn panels_and_splices_in_the_air_have_no_fill() {
    let mut sheet = Sheet::default();
    for (tag, kind) in [("P", "panel"), ("X", "none"), ("H", "compartment")] {
        sheet.r#box(tag, kind);
        assert_eq!(sheet.fill(tag, 2020), None, "{kind}");
    }
    assert_eq!(sheet.findings(2020), []);
}

#[test]
fn one_conductor_in_one_port() {
    let mut sheet = Sheet::default();
    sheet.r#box("B1", "square-4-2.125");
    for run in ["A", "B", "C", "D"] {
        sheet.run(run, "nm-14-2", ("B1", run), ("_", ""));
    }
    sheet.splice("hots", "B1", "lever-3", "A.0 B.0 C.0");
    assert_eq!(sheet.of_rule(2020, "rule.ports"), []);
    sheet.splice("hots", "B1", "lever-3", "D.0");
    let found = sheet.of_rule(2020, "rule.ports");
    assert_eq!(found.len(), 1);
    assert_eq!(
        found[0].what(),
        "B1, hots (lever, 3 ports): 4 conductors for 3 ports, one conductor for each port: 1 too many."
    );
    // What a splice is made with is not known until somebody says.
    sheet.splice("neutrals", "B1", "", "A.1 B.1");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.ports")), ["rule.ports.over", "rule.ports.not_known"]);
    assert_eq!(sheet.of_rule(2020, "rule.ports")[1].what(), "B1: the connector is not known. It is about neutrals.");
    // Alike ones of a box are one line.
    sheet.splice("grounds", "B1", "not-known", "A.2 B.2 C.2");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.ports")), ["rule.ports.over", "rule.ports.not_known"]);
    sheet.splice("grounds", "B1", "crimp", "");
    sheet.splice("neutrals", "B1", "soldered", "");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.ports")), ["rule.ports.over"]);
}

#[test]
fn a_wire_connector_is_held_to_the_range_on_its_pack() {
    let mut sheet = Sheet::default();
    sheet.r#box("B1", "square-4-2.125");
    for run in ["A", "B", "C"] {
        sheet.run(run, "nm-14-2", ("B1", run), ("_", ""));
    }
    sheet.run("E", "nm-12-2", ("B1", "E"), ("_", ""));
    sheet.splice("hots", "B1", "wire-connector-small", "A.0 B.0");
    let found = sheet.of_rule(2020, "rule.range");
    assert_eq!((rules(&found), found[0].severity), (vec!["rule.range.not_known"], Severity::NotKnown));
    assert_eq!(
        found[0].what(),
        "B1: what the pack of the small wire connector lists for 14 AWG is not noted. Read it off the pack. It is \
         about hots (small wire connector)."
    );
    let layer = std::mem::replace(&mut sheet.layer, Layer::Site);
    let site = id(1);
    sheet.set(site, Value::Is(Kind::Site)).set(site, Value::Present(true));
    let pack = |least, most| {
        let connector = "wire-connector-small".to_owned();
        Value::Range(Range { connector, size: "14".to_owned(), least, most })
    };
    sheet.set(site, pack(2, 2));
    sheet.layer = layer;
    assert_eq!(sheet.of_rule(2020, "rule.range"), []);
    sheet.splice("hots", "B1", "wire-connector-small", "C.0");
    let found = sheet.of_rule(2020, "rule.range");
    assert_eq!((rules(&found), found[0].severity), (vec!["rule.range.over"], Severity::Over));
    assert_eq!(found[0].by().unwrap().to_string(), "1");
    // The pack's word for one size says nothing of a mixture.
    sheet.splice("hots", "B1", "wire-connector-small", "E.0");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.range")), ["rule.range.mixed"]);
    sheet.layer = Layer::Site;
    sheet.set(site, pack(3, 4));
    sheet.layer = layer;
    sheet.splice("hots", "B1", "wire-connector-small", "").place("C.0", Place::Capped).place("E.0", Place::Capped);
    assert_eq!(rules(&sheet.of_rule(2020, "rule.range")), ["rule.range.under"]);
}

#[test]
fn one_conductor_under_one_screw() {
    // 110.14(A). A screw and the push-in hole beside it are two ways.
    let mut sheet = Sheet::default();
    sheet.r#box("B4", "square-4-2.125").device("duplex", "receptacle-15-duplex", "B4");
    for run in ["A", "B", "C"] {
        sheet.run(run, "nm-14-2", ("B4", run), ("_", ""));
    }
    sheet.land("duplex", "A.0 hot_1").land_by("duplex", Landing::PushIn, "B.0 hot_1");
    assert_eq!(sheet.of_rule(2020, "rule.terminal"), []);
    sheet.land("duplex", "B.0 hot_1");
    let found = sheet.of_rule(2020, "rule.terminal");
    assert_eq!(found.len(), 1);
    assert_eq!(
        found[0].sentence(),
        "B4, duplex receptacle, 15 A: 2 conductors under the screw of “hot 1”, which takes 1 unless it is identified \
         for more. Section 110.14(A) of NEC 2020. The adopted local code decides."
    );
    // Not said how: with two ways it may be right; three ends cannot be.
    sheet.land_by("duplex", Landing::NotSaid, "A.0 hot_1, B.0 hot_1");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.terminal")), ["rule.terminal.not_known"]);
    sheet.land_by("duplex", Landing::NotSaid, "C.0 hot_1");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.terminal")), ["rule.terminal.over"]);
    // The clamp of a GFCI receptacle is identified for two.
    sheet.device("gfci", "receptacle-gfci-20", "B4");
    sheet.land_by("gfci", Landing::Clamp, "A.0 line_hot, B.0 line_hot, C.0 load_hot");
    assert_eq!(sheet.of_rule(2020, "rule.terminal"), []);
}

#[test]
fn free_conductor_is_asked_of_what_was_measured() {
    let mut sheet = duplex_between("device-3x2-3.5");
    sheet.free("A.0", "6").free("A.1", "6.5");
    assert_eq!(sheet.of_rule(2020, "rule.free"), []);
    sheet.free("A.0", "5.9");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.free")), ["rule.free.short"]);
    // A pigtail is inside the box, and nothing leaves a sheath there.
    sheet.free("A.0", "6").pigtail("tail", "pigtail-12-black", "B2").free("tail.0", "3");
    assert_eq!(sheet.of_rule(2020, "rule.free"), []);
}

/// Breaker, run to a switch, run to a light, and a branch of 12 AWG.
fn branch(breaker: &str, first: &str, second: &str) -> Sheet {
    let mut sheet = Sheet::default();
    sheet.r#box("P", "panel").r#box("B1", "square-4-2.125").r#box("B2", "octagon-4-2.125");
    sheet.device("breaker", breaker, "P").of("breaker", Value::Number("7".to_owned()));
    sheet.run("A", first, ("P", ""), ("B1", "A")).run("B", second, ("B1", "B"), ("B2", "A"));
    sheet.device("switch", "switch-1p", "B1").device("light", "luminaire", "B2");
    sheet.land("breaker", "A.0 load").land("switch", "A.0' line, B.0 switched");
    sheet.splice("whites", "B1", "lever-2", "A.1' B.1");
    sheet.splice("lamp", "B2", "lever-2", "B.0' light:hot").splice("lamp white", "B2", "lever-2", "B.1' light:neutral");
    sheet
}

#[test]
fn small_conductors_are_held_to_their_breaker() {
    // 240.4(D): 14 AWG copper 15 A, 12 AWG copper 20 A, 10 AWG copper 30 A.
    let found = |breaker: &str, first: &str, second: &str| branch(breaker, first, second).of_rule(2020, "rule.small");
    assert_eq!(found("breaker-1p-15", "nm-14-2", "nm-14-2"), []);
    assert_eq!(found("breaker-1p-20", "nm-12-2", "nm-12-2"), []);
    assert_eq!(found("breaker-1p-30", "nm-10-2", "nm-10-2"), []);
    assert_eq!(found("breaker-1p-30", "nm-8-2", "nm-6-2"), []);
    // Behind the switch is behind the breaker.
    let over = found("breaker-1p-20", "nm-12-2", "nm-14-2");
    assert_eq!(
        over.iter().map(Finding::sentence).collect::<Vec<_>>(),
        ["B1, 14-2 with ground from B1 to B2: 14 AWG copper behind 20 A (single-pole breaker, 20 A, circuit 7), \
          at most 15 A: 5 A too much, unless 240.4(E) or (G) permits more. Section 240.4(D) of NEC 2020. The adopted \
          local code decides."]
    );
    assert_eq!(rules(&found("breaker-1p-30", "nm-12-2", "nm-14-2")), ["rule.small.over", "rule.small.over"]);
    assert_eq!(rules(&found("breaker-1p", "nm-12-2", "nm-14-2")), ["rule.small.no_rating"]);
}

#[test]
fn a_noted_rating_stands_instead_of_the_catalogues() {
    let mut sheet = branch("breaker-1p", "nm-14-2", "nm-14-2");
    sheet.of("breaker", Value::Rating(decimal("15")));
    assert_eq!(sheet.of_rule(2017, "rule.small"), []);
    sheet.of("breaker", Value::Rating(decimal("15.1")));
    assert_eq!(sheet.of_rule(2017, "rule.small").len(), 2);
}

#[test]
fn a_run_said_to_come_from_a_breaker_is_behind_it() {
    let mut sheet = branch("breaker-1p-20", "nm-14-2", "nm-12-2");
    let (run, breaker) = (sheet.thing("A"), sheet.thing("breaker"));
    let tip = sheet.tip("A.0");
    sheet.strip(|set| set.of == tip.clone().into());
    assert_eq!(sheet.of_rule(2020, "rule.small"), []);
    sheet.set(Subject::Side(run, Side::Near), Value::Feed(breaker));
    assert_eq!(rules(&sheet.of_rule(2020, "rule.small")), ["rule.small.over"]);
}

#[test]
fn a_broken_link_ends_what_a_breaker_feeds() {
    let mut sheet = Sheet::default();
    sheet.r#box("P", "panel").r#box("B1", "square-4-2.125").device("breaker", "breaker-1p-20", "P");
    sheet.run("A", "nm-12-2", ("P", ""), ("B1", "A")).run("B", "nm-14-2", ("B1", "B"), ("_", ""));
    sheet.device("duplex", "receptacle-20-duplex", "B1").land("breaker", "A.0 load");
    sheet.land("duplex", "A.0' hot_1, B.0 hot_2");
    assert_eq!(rules(&sheet.of_rule(2020, "rule.small")), ["rule.small.over"]);
    sheet.of("duplex", Value::Link(Link { link: "hot".to_owned(), whole: false }));
    assert_eq!(sheet.of_rule(2020, "rule.small"), []);
}

#[test]
fn copper_clad_fourteen_is_listed_from_2023_on() {
    let mut sheet = branch("breaker-1p-15", "nm-14-2", "nm-14-2");
    let clad = Conductor {
        colour: Colour::Black,
        size: "14".to_owned(),
        metal: Metal::CopperCladAluminium,
        stranded: false,
        ground: false,
    };
    sheet.of("A", Value::Wire(NumberedWire { n: 0, conductor: clad }));
    assert_eq!(rules(&sheet.of_rule(2020, "rule.small")), ["rule.small.unlisted"]);
    assert_eq!(rules(&sheet.of_rule(2023, "rule.small")), ["rule.small.over"]);
}

#[test]
fn findings_come_in_the_same_order_and_all_say_who_decides() {
    let mut sheet = branch("breaker-1p-30", "nm-12-2", "nm-14-2");
    sheet.of("B2", Value::Volume(decimal("4.0"))).splice("whites", "B1", "", "");
    sheet.land("switch", "B.1 line").free("A.0'", "4").free("B.0'", "4");
    let found = sheet.findings(2017);
    assert!(found.len() >= 6, "{:?}", rules(&found));
    assert_eq!(found, sheet.findings(2017));
    for finding in &found {
        let text = finding.sentence();
        assert!(text.ends_with("of NEC 2017. The adopted local code decides."), "{text}");
        assert!(!text.contains('{') && !text.contains("rule."), "{text}");
        assert!(!finding.citation.section.is_empty(), "{text}");
    }
    let boxes: Vec<_> = found.iter().filter_map(|finding| finding.in_box).collect();
    let mut grouped = boxes.clone();
    grouped.dedup();
    let distinct: std::collections::BTreeSet<_> = boxes.iter().collect();
    assert_eq!(grouped.len(), distinct.len(), "findings of one box stand together");
}

#[test]
fn a_second_overcurrent_device_and_a_cord_end_what_a_breaker_is_held_to() {
    let mut sheet = Sheet::default();
    sheet.r#box("P", "panel").r#box("B1", "square-4-2.125").device("breaker", "breaker-1p-30", "P");
    sheet.run("A", "nm-10-2", ("P", ""), ("B1", "A")).run("B", "nm-14-2", ("B1", "B"), ("_", ""));
    sheet.device("fuse", "fuse-plug", "B1").of("fuse", Value::Rating(decimal("15")));
    sheet.land("breaker", "A.0 load").land("fuse", "A.0' bus, B.0 load");
    assert_eq!(sheet.of_rule(2020, "rule.small"), []);
    sheet.of("fuse", Value::Rating(decimal("20")));
    assert_eq!(sheet.of_rule(2020, "rule.small").len(), 1);
    // 240.5 speaks of flexible cords.
    let mut sheet = branch("breaker-1p-20", "nm-12-2", "nm-12-2");
    sheet.run("cord", "cord-16-3", ("B2", ""), ("_", "")).splice("lamp", "B2", "lever-3", "cord.0");
    assert_eq!(sheet.of_rule(2020, "rule.small"), []);
}

#[test]
fn a_yoke_counts_by_its_circuit_conductors_not_by_a_larger_ground() {
    // The published example with a 10 AWG ground beside a switch on 12 AWG (ElectriciansExam, lesson on box fill)
    // counts the yoke by 12 AWG: here 2.25 + 2.50 + 4.50.
    let mut sheet = Sheet::default();
    sheet.r#box("B1", "square-4-2.125").run("A", "emt", ("B1", "A"), ("_", "")).device("switch", "switch-1p", "B1");
    let wire = |n, colour, size: &str, ground| {
        let conductor = Conductor { colour, size: size.to_owned(), metal: Metal::Copper, stranded: true, ground };
        Value::Wire(NumberedWire { n, conductor })
    };
    sheet.of("A", wire(0, Colour::Black, "12", false)).of("A", wire(1, Colour::Green, "10", true));
    sheet.land("switch", "A.0 line, A.1 ground");
    assert_eq!(sheet.fill("B1", 2020).unwrap().needed().number(), "9.25");
}
