//! The rules on the boxes of the invented Lantern Lane job: as found and as planned.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

mod rules_support;

use boxproof_core::job::value::Range;
use boxproof_core::job::{Layer, Value};
use boxproof_core::rules::nec::Verdict;
use boxproof_core::rules::{Amount, Severity, Unit};
use boxproof_tests::hand::id;
use rules_support::{Sheet, decimal};

/// What the kit's packs say: small 2 to 4, middle 2 to 5, large 2 to 6 of 14 AWG.
fn packs(sheet: &mut Sheet) {
    let layer = std::mem::replace(&mut sheet.layer, Layer::Site);
    let site = id(1);
    sheet.set(site, Value::Is(boxproof_core::job::Kind::Site)).set(site, Value::Present(true));
    for (connector, most) in [("small", 4), ("middle", 5), ("large", 6)] {
        let connector = format!("wire-connector-{connector}");
        sheet.set(site, Value::Range(Range { connector, size: "14".to_owned(), least: 2, most }));
    }
    sheet.layer = layer;
}

fn as_found() -> Sheet {
    let mut sheet = Sheet::default();
    packs(&mut sheet);
    sheet.r#box("B3", "nonmetallic-2g").of("B3", Value::Volume(decimal("32.0"))).of("B3", Value::Clamps(2));
    sheet.r#box("B4", "device-3x2-2.75");
    sheet.run("A", "nm-14-2", ("B3", "A"), ("B1", "C"));
    sheet.run("B", "nm-14-3", ("B3", "B"), ("B6", "A"));
    sheet.run("C", "nm-14-2", ("B3", "C"), ("B4", "A"));
    sheet.device("3way", "switch-3way", "B3");
    sheet.pigtail("feed", "pigtail-14-black", "B3").pigtail("earth", "pigtail-14-bare", "B3");
    sheet.splice("constant hot", "B3", "wire-connector-small", "A.0 C.0 feed.0");
    sheet.splice("neutrals", "B3", "wire-connector-small", "A.1 B.1 C.1");
    sheet.splice("grounds", "B3", "wire-connector-middle", "A.2 B.3 C.2 earth.0");
    sheet.land("3way", "feed.0' common, B.0 traveler_1, B.2 traveler_2, earth.0' ground");
    sheet.device("duplex", "receptacle-15-duplex", "B4");
    sheet.land("duplex", "C.0' hot_1, C.1' neutral_1, C.2' ground").free("C.1'", "5");
    sheet
}

fn as_planned() -> Sheet {
    let mut sheet = as_found();
    sheet.layer = Layer::Planned(id(2));
    sheet.r#box("B5", "round-4-2.125");
    sheet.run("D", "nm-14-2", ("B3", "D"), ("B5", "A"));
    sheet.device("combo", "switch-receptacle-combo", "B3");
    sheet.pigtail("feed2", "pigtail-14-black", "B3").pigtail("white2", "pigtail-14-white", "B3");
    sheet.pigtail("earth2", "pigtail-14-bare", "B3");
    sheet.splice("constant hot", "B3", "lever-5", "A.0 C.0 feed.0 feed2.0");
    sheet.splice("neutrals", "B3", "lever-5", "A.1 B.1 C.1 D.1 white2.0");
    sheet.splice("grounds", "B3", "wire-connector-large", "A.2 B.3 C.2 D.2 earth.0 earth2.0");
    sheet.land("combo", "feed2.0' line, D.0 switched, white2.0' neutral, earth2.0' ground");
    sheet.device("light", "luminaire", "B5");
    sheet.splice("B5 hot", "B5", "lever-2", "D.0' light:hot");
    sheet.splice("B5 neutral", "B5", "lever-2", "D.1' light:neutral");
    sheet.pigtail("white4", "pigtail-14-white", "B4");
    sheet.splice("B4 white", "B4", "lever-2", "C.1' white4.0").land("duplex", "white4.0' neutral_1");
    sheet
}

#[test]
fn b3_as_found_needs_22() {
    // SCENARIO arithmetic by 314.16(B): seven conductors, one for three grounds, one for clamps, two for the yoke.
    for year in [2017, 2020, 2023] {
        let fill = as_found().fill("B3", year).unwrap();
        assert_eq!(
            (fill.needed().to_string(), fill.there().unwrap().to_string()),
            ("22.0 in³".into(), "32.0 in³".into())
        );
        assert_eq!(fill.needed.allowances_hundredths(), 1100);
        assert_eq!((fill.verdict(), fill.needed.most_in3_e4), (Verdict::Fits, Some(220_000)));
    }
    let found = as_found().findings(2020);
    assert!(found.iter().all(|finding| finding.rule == "rule.free.short"), "{found:#?}");
}

#[test]
fn b3_as_planned_needs_30_of_32_in_2017_and_2020_alike() {
    for year in [2017, 2020, 2023] {
        let fill = as_planned().fill("B3", year).unwrap();
        assert_eq!(fill.needed().to_string(), "30.0 in³");
        assert_eq!(fill.needed.allowances_hundredths(), 1500);
        assert_eq!((fill.verdict(), fill.share_thousandths()), (Verdict::Fits, Some(938)));
        let counts: Vec<_> = fill.needed.lines.iter().map(|line| (line.n, line.allowances_hundredths)).collect();
        assert_eq!(counts, [(9, 900), (4, 100), (1, 100), (1, 200), (1, 200)], "{:#?}", fill.needed.lines);
    }
}

#[test]
fn the_plan_leaves_no_finding_in_the_boxes_that_it_opens() {
    let planned = as_planned();
    // In 2020 a spliced length counts; the fixture leads are under a lever, so no pack is asked.
    assert_eq!(planned.findings(2020), []);
    assert_eq!(planned.findings(2023), []);
    let before = planned.findings(2017);
    assert_eq!(before.iter().map(|finding| finding.rule).collect::<Vec<_>>(), ["rule.free.spliced"]);
    assert_eq!(before[0].severity, Severity::NotKnown);
}

#[test]
fn the_short_white_of_b4_is_a_finding() {
    let found = as_found().findings(2020);
    assert_eq!(found.len(), 1);
    let finding = &found[0];
    assert_eq!((finding.amount, finding.limit), (Some(inches(5_000)), Some(inches(6_000))));
    assert_eq!((finding.by(), finding.severity), (Some(inches(1_000)), Severity::Over));
    assert_eq!(
        finding.sentence(),
        "B4, A white: 5 in. free, at least 6 in. are asked: 1 in. short. Section 300.14 of NEC 2020. The adopted \
         local code decides."
    );
}

fn inches(e3: i64) -> Amount {
    Amount::new(e3, Unit::InchE3)
}
