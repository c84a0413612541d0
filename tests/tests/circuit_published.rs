//! Published worked examples, noted in the notebook as wiring and solved as the program solves a job: events, fold,
//! conductor table, network, solution. `circuit_conductors.rs` has the table and the bare arithmetic behind them.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]

use std::fmt::Write as _;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::circuit::{Assumptions, Circuit, Fault, NodeId, Part, Solver};
use boxproof_core::job::{Layer, Notes, Tip, Wiring};
use boxproof_core::token::path::Names;
use boxproof_tests::played::{CASE, notes_of};
use num_complex::Complex64;

const PANEL_AND_FAR_END: &str = r#"box tag=P location=panel kind=panel system=split_phase
box tag=R location="far end" kind=nonmetallic-1g
"#;

/// A noted example and its circuit.
struct Example {
    notes: Notes,
    layer: Layer,
    circuit: Circuit,
}

impl Example {
    /// Joints, breaker and source, of which the examples know nothing, are so good that they cannot be seen; the
    /// conductors are as warm as in the tables that the examples use.
    fn noted(script: &str, celsius: f64) -> Self {
        let notes = notes_of(&format!("{CASE}{PANEL_AND_FAR_END}{script}"), None).unwrap();
        let layer = Layer::Found(notes.job_now().unwrap());
        let mut values = Assumptions::standard().unwrap().clone();
        values.conductor_temperature.value = celsius;
        for ohms in [
            &mut values.splice_contact,
            &mut values.push_in_contact,
            &mut values.breaker_contact,
            &mut values.bus_joint,
            &mut values.device_strap,
            &mut values.source_leg,
            &mut values.source_neutral,
        ] {
            ohms.value = 1e-6;
        }
        let wiring = Wiring::of(&notes, layer);
        let circuit = Circuit::with(&wiring, Catalogue::shared(), &values).unwrap();
        Self { notes, layer, circuit }
    }

    fn names(&self) -> Names<'_> {
        Names::new(&self.notes, Catalogue::shared(), self.layer)
    }

    fn tip(&self, name: &str) -> Tip {
        self.names().tip(name).unwrap()
    }

    fn node(&self, name: &str) -> NodeId {
        self.circuit.node(&self.names().spot(name).unwrap()).unwrap()
    }

    /// Volts from one point to another, with every handle at rest.
    fn across(&self, from: &str, to: &str) -> Complex64 {
        let solver = Solver::new(&self.circuit.network);
        solver.at(&self.circuit.rest()).across(self.node(from), self.node(to))
    }

    fn amperes(&self, load: &str) -> f64 {
        let load = &self.circuit.loads[&self.names().load(load).unwrap()];
        let solver = Solver::new(&self.circuit.network);
        solver.at(&self.circuit.rest()).amperes(load.element.unwrap()).norm()
    }
}

/// How a run is noted: as a cable, or as single conductors in a raceway.
enum Conductors<'a> {
    Cable(&'a str),
    Stranded(&'a str),
}

/// Volts lost in the two conductors of a run to a load that draws `amperes`. The examples fix the current; a noted
/// load is a resistance, and draws a little less at the end of a long run. All is linear, so that the loss by the
/// ampere is scaled.
fn lost(volts: f64, amperes: f64, feet: f64, conductors: &Conductors<'_>) -> f64 {
    let both_legs = volts > 200.0;
    let (breaker, second) = if both_legs { ("breaker-2p-30", "red") } else { ("breaker-1p-20", "white") };
    let mut script = format!("device P:1 kind={breaker} number=1 leg=a\n");
    match conductors {
        Conductors::Cable(kind) => {
            writeln!(script, "run R/A to=P kind={kind} length=\"{feet} ft\" feed=P:1").unwrap();
        }
        Conductors::Stranded(size) => writeln!(
            script,
            "run R/A to=P kind=pvc length=\"{feet} ft\" feed=P:1 wires=\"black {size} copper stranded, {second} {size} \
             copper stranded\""
        )
        .unwrap(),
    }
    let (heater, hot, back) =
        if both_legs { ("heater-240", "hot_1", "hot_2") } else { ("heater-120", "hot", "neutral") };
    write!(
        script,
        "device R:load kind={heater} watts=\"heater {}\"\njoin R+first R/A/black R:load.{hot}\njoin R+second \
         R/A/{second} R:load.{back}\n",
        volts * amperes
    )
    .unwrap();
    let example = Example::noted(&script, 75.0);
    let there = example.across("R/A/black/far", "R/A/black").norm();
    let back = example.across(&format!("R/A/{second}"), &format!("R/A/{second}/far")).norm();
    (there + back) * amperes / example.amperes("R:load.heater")
}

/// Examples by the K method, 12.9 ohm circular mils per foot, which is copper at 75 °C. The program works from the
/// diameter (ASTM B258), the annealed copper standard and a lay factor of 2 % for stranded conductors: that is within
/// 0.5 % of 12.9 over the circular mils, and the examples are printed with three digits.
///
/// V1 and V2: lessons of tradelicenseprep.com and fatskills.com. V3: Electrical Wiring Residential, 19th edition,
/// chapter 4, problem 36, which prints 2.19 V and "10 AWG"; the other sizes are worked out by the same formula. V5: of
/// the kind that textbooks have, from memory.
#[test]
fn stranded_conductors_lose_what_the_k_method_says() {
    let examples = [
        ("V1", 120.0, 20.0, 100.0, "12", 7.90),
        ("V2", 120.0, 20.0, 100.0, "8", 3.13),
        ("V3", 120.0, 10.0, 140.0, "14", 8.79),
        ("V3", 120.0, 10.0, 140.0, "12", 5.53),
        ("V3", 120.0, 10.0, 140.0, "10", 3.48),
        ("V3", 120.0, 10.0, 140.0, "8", 2.19),
        ("V5", 240.0, 24.0, 160.0, "10", 9.54),
    ];
    for (name, volts, amperes, feet, size, published) in examples {
        let ours = lost(volts, amperes, feet, &Conductors::Stranded(size));
        assert!((ours / published - 1.0).abs() < 0.006, "{name} {size}: {ours} V, published {published}");
    }
    let within = |size: &&str| lost(120.0, 10.0, 140.0, &Conductors::Stranded(size)) <= 0.03 * 120.0;
    assert_eq!(["14", "12", "10", "8"].into_iter().find(within), Some("10"));
}

/// V6, worked out by the R method with 1.93 ohms per 1 000 ft (NEC Chapter 9 Table 8, 12 AWG solid). V7, worked out
/// from the same table: the longest runs within 3 % of 120 V. The table has three digits: 0.3 %.
#[test]
fn solid_conductors_of_a_cable_lose_what_table_8_says() {
    let six = lost(120.0, 16.0, 100.0, &Conductors::Cable("nm-12-2"));
    assert!((six / 6.18 - 1.0).abs() < 0.003, "{six}");
    for (kind, amperes, feet) in [("nm-14-2", 12.0, 48.9), ("nm-12-2", 16.0, 58.3)] {
        let ours = lost(120.0, amperes, feet, &Conductors::Cable(kind));
        assert!((ours / 3.6 - 1.0).abs() < 0.004, "{kind}: {ours} V");
    }
}

const SHARED_NEUTRAL: &str = r#"device P:1 kind=breaker-2p-15 number=1 leg=a
run R/A to=P kind=nm-14-3 length="20 ft" feed=P:1
device R:small kind=luminaire watts="lamp 100"
device R:large kind=luminaire watts="lamp 200"
join R+first R/A/black R:small.hot
join R+second R/A/red R:large.hot
join R+neutrals R/A/white R:small.neutral R:large.neutral
"#;

/// A published lesson (studylib.net, document 5726865, "Open neutral"): 100 W and 200 W on 120/240 V with a shared
/// neutral. When it opens, the two are in series on 240 V: 160 V and 80 V. Here 20 ft of 14 AWG stand before them, 0.1
/// ohm of 216, so that each is within 0.1 V.
#[test]
fn an_opened_shared_neutral_divides_240_volts() {
    let whole = Example::noted(SHARED_NEUTRAL, 75.0);
    let volts = |example: &Example| ["R+first", "R+second"].map(|hot| example.across(hot, "R+neutrals").norm());
    assert!(volts(&whole).iter().all(|volts| (volts - 120.0).abs() < 0.2), "{:?}", volts(&whole));
    for joint in ["R/A/white", "R/A/white/far"] {
        let fault = Fault::Open(Part::Joint(whole.tip(joint)));
        let opened = whole.circuit.with_faults(&[fault]).unwrap();
        let solver = Solver::new(&opened.network);
        let solution = solver.at(&opened.rest());
        // Nodes keep their numbers whatever breaks.
        let [small, large] =
            ["R+first", "R+second"].map(|hot| solution.across(whole.node(hot), whole.node("R+neutrals")).norm());
        assert!((small - 160.0).abs() < 0.1 && (large - 80.0).abs() < 0.1, "{joint}: {small} V, {large} V");
    }
}

/// Readings at a receptacle under load, from an instrument maker's note on testing receptacles and from presidium.ph:
/// hot to ground 120.0 V is hot to neutral 118.5 V and neutral to ground 1.5 V. 12 A through 12 AWG solid lose 1.5 V in
/// each conductor over 64.8 ft at 75 °C (1.93 ohms per 1 000 ft), from a source of 121.5 V. Readings are printed with
/// one decimal: 0.05 V.
#[test]
fn hot_to_ground_is_hot_to_neutral_and_neutral_to_ground() {
    let watts = 120.0 * 120.0 * 12.0 / 118.5;
    let mut example = Example::noted(
        &format!(
            "device P:1 kind=breaker-1p-20 number=1 leg=a\nrun R/A to=P kind=nm-12-2 length=\"64.8 ft\" feed=P:1\n\
             device R:outlet kind=receptacle-15-duplex\nland R/A/black R:outlet.hot_1 screw\nland R/A/white \
             R:outlet.neutral_1 screw\nland R/A/bare R:outlet.ground screw\ndevice R:pot kind=plug-appliance \
             watts=\"appliance {watts:.1}\" into=R:outlet.upper\n"
        ),
        75.0,
    );
    let source = example.circuit.panels.values().next().unwrap().supplies[0];
    example.circuit.network.set_source(source, Complex64::new(121.5, 0.0)).unwrap();
    let read = |from: &str, to: &str| example.across(from, to).norm();
    let (hot_ground, hot_neutral, neutral_ground) = (
        read("R:outlet.hot_1", "R:outlet.ground"),
        read("R:outlet.hot_1", "R:outlet.neutral_1"),
        read("R:outlet.neutral_1", "R:outlet.ground"),
    );
    for (ours, published) in [(hot_ground, 120.0), (hot_neutral, 118.5), (neutral_ground, 1.5)] {
        assert!((ours - published).abs() < 0.05, "{ours} V, published {published}");
    }
    assert!((hot_ground - hot_neutral - neutral_ground).abs() < 1e-3);
}
