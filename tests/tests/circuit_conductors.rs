//! Resistance of conductors and voltage drop against standards and published worked examples.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]
#![allow(clippy::approx_constant, reason = "3.14 ohms is not a circle")]

use std::f64::consts::PI;

use boxproof_core::circuit::{Conductors, Network, Solver, Value};
use boxproof_core::job::Metal;
use num_complex::Complex64;

const FEET_PER_KM: f64 = 1000.0 / 0.3048;

fn ohms_per_kft(size: &str, metal: Metal, stranded: bool, celsius: f64) -> f64 {
    let table = Conductors::standard().unwrap();
    table.ohms_per_metre(size, metal, stranded, celsius).unwrap() * 304.8
}

/// ASTM B258: d = 0.127 mm × 92^((36 − n) / 39). International Annealed Copper Standard (IEC 60028): 17.241 ohm mm²/km
/// at 20 °C; aluminium of 61 % of that conductivity.
#[test]
fn awg_resistances_follow_from_the_diameter_and_the_copper_standard() {
    let table = Conductors::standard().unwrap();
    for row in table.sizes().filter(|row| !row.size.ends_with("mm2")) {
        let number = match row.size.strip_suffix("/0") {
            Some(zeros) => 1.0 - zeros.parse::<f64>().unwrap(),
            None => row.size.parse().unwrap(),
        };
        let diameter_mm = 0.127 * 92f64.powf((36.0 - number) / 39.0);
        let area = PI * diameter_mm * diameter_mm / 4.0;
        let near = |value: f64, from: f64| (value / from - 1.0).abs() < 1e-3;
        assert!(near(row.area_mm2, area), "{}", row.size);
        assert!(near(row.copper_ohm_per_km_20c, 17.241 / area), "{}", row.size);
        assert!(near(row.aluminium_ohm_per_km_20c.unwrap(), 17.241 / 0.61 / area), "{}", row.size);
    }
}

/// NEC Chapter 9 Table 8, direct current at 75 °C, ohms per 1 000 ft: size, stranded, copper, aluminium.
const TABLE_8: [(&str, bool, f64, f64); 17] = [
    ("14", false, 3.07, 5.06),
    ("14", true, 3.14, 5.17),
    ("12", false, 1.93, 3.18),
    ("12", true, 1.98, 3.25),
    ("10", false, 1.21, 2.00),
    ("10", true, 1.24, 2.04),
    ("8", false, 0.764, 1.26),
    ("8", true, 0.778, 1.28),
    ("6", true, 0.491, 0.808),
    ("4", true, 0.308, 0.508),
    ("3", true, 0.245, 0.403),
    ("2", true, 0.194, 0.319),
    ("1", true, 0.154, 0.253),
    ("1/0", true, 0.122, 0.201),
    ("2/0", true, 0.0967, 0.159),
    ("3/0", true, 0.0766, 0.126),
    ("4/0", true, 0.0608, 0.100),
];

/// The printed table has three digits and its own lay factors: 0.7 % covers both.
#[test]
fn resistances_at_75_degrees_are_those_of_nec_chapter_9_table_8() {
    for (size, stranded, copper, aluminium) in TABLE_8 {
        for (metal, printed) in [(Metal::Copper, copper), (Metal::Aluminium, aluminium)] {
            let ours = ohms_per_kft(size, metal, stranded, 75.0);
            assert!((ours / printed - 1.0).abs() < 0.007, "{size} {metal:?} stranded {stranded}: {ours} {printed}");
        }
    }
}

/// IEC 60228 class 1 and 2, plain copper, greatest resistance at 20 °C in ohms per kilometre.
#[test]
fn metric_sizes_are_those_of_iec_60228() {
    let printed = [
        ("1", 18.1),
        ("1.5", 12.1),
        ("2.5", 7.41),
        ("4", 4.61),
        ("6", 3.08),
        ("10", 1.83),
        ("16", 1.15),
        ("25", 0.727),
    ];
    for (area, ohms) in printed {
        let ours = ohms_per_kft(&format!("{area}mm2"), Metal::Copper, true, 20.0) * FEET_PER_KM / 1000.0;
        assert!((ours / ohms - 1.0).abs() < 1e-9, "{area} {ours}");
    }
    // Pair sums R1 + R2 in milliohms per metre, as installation guides print them: 2.5/1.5 mm².
    let table = Conductors::standard().unwrap();
    let pair: f64 =
        ["2.5mm2", "1.5mm2"].map(|s| table.ohms_per_metre(s, Metal::Copper, false, 20.0).unwrap()).iter().sum();
    assert!((pair * 1000.0 - 19.51).abs() < 0.005);
}

/// Volts lost on the way to a load that draws `amperes`, from the solved network of source, two conductors and load.
fn drop_volts(source_volts: f64, amperes: f64, feet: f64, ohms_per_kft: f64) -> f64 {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let source = network.source(Complex64::new(source_volts, 0.0)).unwrap();
    let (hot, neutral) = (network.node(), network.node());
    let ohms = ohms_per_kft * feet / 1000.0;
    network.connect(source, hot, Value::Metal { ohms }).unwrap();
    network.connect(neutral, network.reference(), Value::Metal { ohms }).unwrap();
    let load = Value::Load { ohms: source_volts / amperes - 2.0 * ohms, henries: 0.0 };
    network.connect(hot, neutral, load).unwrap();
    let solver = Solver::new(&network);
    source_volts - solver.at(&network.first_state()).across(hot, neutral).norm()
}

/// Published worked examples use K = 12.9 ohm circular mils per foot, which is stranded copper at 75 °C within 0.5 %.
/// V1 and V2: 120 V, 20 A, 100 ft (lessons of tradelicenseprep.com and fatskills.com). V3: 120 V, 10 A, 140 ft,
/// 10 AWG is the smallest within 3 %, 8 AWG loses 2.19 V (Electrical Wiring Residential, 19th ed., ch. 4 problem 36). V5: 240 V, 24 A, 160 ft,
/// from memory. V6: 12 AWG solid by the R method of Table 8, worked out.
#[test]
fn voltage_drops_are_those_of_published_examples() {
    let examples = [
        ("V1", 120.0, 20.0, 100.0, "12", true, 7.90),
        ("V2", 120.0, 20.0, 100.0, "8", true, 3.13),
        ("V3", 120.0, 10.0, 140.0, "14", true, 8.79),
        ("V3", 120.0, 10.0, 140.0, "12", true, 5.53),
        ("V3", 120.0, 10.0, 140.0, "10", true, 3.48),
        ("V3", 120.0, 10.0, 140.0, "8", true, 2.19),
        ("V5", 240.0, 24.0, 160.0, "10", true, 9.54),
        ("V6", 120.0, 16.0, 100.0, "12", false, 6.18),
    ];
    for (name, volts, amperes, feet, size, stranded, published) in examples {
        let ours = drop_volts(volts, amperes, feet, ohms_per_kft(size, Metal::Copper, stranded, 75.0));
        assert!((ours / published - 1.0).abs() < 0.006, "{name} {size}: {ours} {published}");
    }
    let smallest = ["14", "12", "10", "8"]
        .into_iter()
        .find(|size| drop_volts(120.0, 10.0, 140.0, ohms_per_kft(size, Metal::Copper, true, 75.0)) <= 0.03 * 120.0);
    assert_eq!(smallest, Some("10"));
}

/// V4, three phases: 20 A over 200 ft at 1.1 ohms per 1 000 ft lose 7.62 V between lines (inputs of ecmweb.com, "Basics:
/// calculating voltage drop", which prints 7.7).
#[test]
fn a_three_phase_drop_is_the_square_root_of_three_times_one_conductor() {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let (volts, ohms) = (208.0 / 3f64.sqrt(), 1.1 * 0.2);
    let star = network.node();
    let ends = [0.0, -120.0, 120.0].map(|degrees: f64| {
        let source = network.source(Complex64::from_polar(volts, degrees.to_radians())).unwrap();
        let end = network.node();
        network.connect(source, end, Value::Metal { ohms }).unwrap();
        network.connect(end, star, Value::Load { ohms: volts / 20.0 - ohms, henries: 0.0 }).unwrap();
        end
    });
    let solver = Solver::new(&network);
    let drop = 208.0 - solver.at(&network.first_state()).across(ends[0], ends[1]).norm();
    assert!((drop - 7.62).abs() < 0.005, "{drop}");
}

/// V7, worked out from Table 8: the longest runs within 3 % of 120 V.
#[test]
fn the_longest_runs_within_three_percent() {
    for (size, amperes, feet) in [("14", 12.0, 48.9), ("12", 16.0, 58.3)] {
        let ours = drop_volts(120.0, amperes, feet, ohms_per_kft(size, Metal::Copper, false, 75.0));
        assert!((ours / 3.6 - 1.0).abs() < 0.003, "{size}: {ours}");
    }
}

/// Two loads on two legs with a shared neutral that can be opened.
fn shared_neutral(watts: [f64; 2], opened: bool, ohms: f64) -> [f64; 2] {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let (centre, meeting) = (network.reference(), network.node());
    if !opened {
        network.connect(meeting, centre, Value::Metal { ohms }).unwrap();
    }
    let hots = [0, 1].map(|leg| {
        let source = network.source(Complex64::new(if leg == 0 { 120.0 } else { -120.0 }, 0.0)).unwrap();
        let hot = network.node();
        network.connect(source, hot, Value::Metal { ohms }).unwrap();
        network.connect(hot, meeting, Value::of_power(watts[leg], 120.0, 1.0, 60.0).unwrap()).unwrap();
        hot
    });
    let solver = Solver::new(&network);
    let solution = solver.at(&network.first_state());
    hots.map(|hot| solution.across(hot, meeting).norm())
}

/// A published lesson (studylib.net document 5726865, "Open neutral"): 100 W (144 ohms) and 200 W (72 ohms) on 120/240 V. With the neutral opened
/// the two are in series on 240 V, which divides as their resistances do: 160 V and 80 V.
#[test]
fn an_opened_shared_neutral_divides_240_volts_as_the_resistances_do() {
    let whole = shared_neutral([100.0, 200.0], false, 1e-5);
    assert!(whole.iter().all(|volts| (volts - 120.0).abs() < 1e-3), "{whole:?}");
    let opened = shared_neutral([100.0, 200.0], true, 1e-5);
    assert!((opened[0] - 160.0).abs() < 1e-3 && (opened[1] - 80.0).abs() < 1e-3, "{opened:?}");
}

/// A balanced shared neutral carries nothing: each leg loses what one conductor loses, half of a two-wire circuit.
#[test]
fn a_balanced_shared_neutral_halves_the_drop() {
    let ohms = 0.2;
    let shared = 120.0 - shared_neutral([1200.0, 1200.0], false, ohms)[0];
    let one_conductor = 120.0 * ohms / (12.0 + ohms);
    assert!((shared - one_conductor).abs() < 1e-9, "{shared} {one_conductor}");
}
