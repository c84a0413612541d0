//! What bad input gets in the circuit: nothing panics, nothing hangs, every voltage and every answer is a number, and
//! what is not known is said. The wirings are noted through the notebook or made of notes directly; no outside source
//! is needed to know what a number is.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the whole file is a check, which stops where something is wrong"
)]

use boxproof_core::catalogue::Catalogue;
use boxproof_core::circuit::{
    Ask, Circuit, Fault, HazardKind, Part, Point, Solver, SourceVolts, SwitchTable, Taken, Unknown, expect,
    expect_amperes, expect_ohms, hazards,
};
use boxproof_core::job::{Bus, Layer, Mode, Notes, Pair, Spot, Wiring};
use boxproof_core::token::path::Names;
use boxproof_tests::played::{CASE, notes_of};

const PANEL: &str = "box tag=P kind=panel system=split_phase\ndevice P:1 kind=breaker-1p-15 number=1 leg=a\n";

/// Notes that a script leaves, or why a line of it was refused.
fn noted(lines: &str) -> Result<Notes, String> {
    notes_of(&format!("{CASE}{lines}"), None).map_err(|fault| format!("{}: {}", fault.text, fault.why))
}

fn wiring(notes: &Notes) -> Wiring {
    Wiring::of(notes, Layer::Found(notes.job_now().unwrap()))
}

/// Everything that can be asked of a circuit is asked, and every number in the answers must be finite. What would take
/// for ever does so here: nothing is timed, the check would stand still.
fn is_sound(wiring: &Wiring) -> Circuit {
    let circuit = Circuit::of(wiring, Catalogue::shared()).unwrap();
    all_finite(&circuit);
    let table = SwitchTable::of(&circuit);
    for gets in table.groups.iter().flat_map(|group| &group.rows).flat_map(|row| &row.gets) {
        assert!(gets.volts.is_finite(), "{gets:?}");
    }
    let _ = hazards(&circuit);
    let sources = SourceVolts::of(&circuit);
    let spots: Vec<Spot> = circuit.points().filter_map(|(_, point)| point.spot().cloned()).take(12).collect();
    for (from, to) in spots.iter().zip(spots.iter().skip(1)) {
        let pair = Pair { from: from.clone(), to: to.clone() };
        for mode in [Mode::AcHigh, Mode::AcLow] {
            if let Ok(read) = expect(&circuit, &sources, &Ask { pair: &pair, at: &[], mode, burden_ohms: None }) {
                assert!(read.volts.low.is_finite() && read.volts.high.is_finite(), "{read:?}");
                assert!(read.nominal.is_finite() && read.source_ohms.is_finite(), "{read:?}");
            }
        }
        if let Ok(read) = expect_ohms(&circuit, &pair, &[]) {
            assert!(read.low_ohms.is_finite() && read.high_ohms.is_finite() && read.low_ohms <= read.high_ohms);
        }
    }
    for run in wiring.runs.keys().take(6) {
        if let Ok(read) = expect_amperes(&circuit, &sources, &[(*run, 0)], &[]) {
            assert!(read.low_amperes.is_finite() && read.high_amperes.is_finite(), "{read:?}");
        }
    }
    circuit
}

fn all_finite(circuit: &Circuit) {
    let solver = Solver::new(&circuit.network);
    let settled = circuit.settle(&solver, &circuit.rest());
    for (node, point) in circuit.points() {
        assert!(settled.solution.volts(node).norm().is_finite(), "{point:?}");
    }
}

/// A lamp behind a switch on breaker 1, with a length and watts as given.
fn lamp_job(length: &str, watts: &str) -> String {
    format!(
        r"{PANEL}box tag=B1 kind=octagon-4-1.5
run B1/A to=P kind=nm-14-2 feed=P:1{length}
device B1:light kind=luminaire{watts}
join B1+hot B1/A/black B1:light.hot
join B1+neutrals B1/A/white B1:light.neutral
join B1+grounds B1/A/bare B1:light.ground
"
    )
}

/// Absurd lengths and watts are either refused with a sentence or taken for what nobody noted, and listed so.
#[test]
fn absurd_lengths_and_watts() {
    for length in ["", "0 ft", "-5 ft", "1000000000 ft", "0.0001 ft", "99999 m", "5 ft"] {
        let field = if length.is_empty() { String::new() } else { format!(" length=\"{length}\"") };
        match noted(&lamp_job(&field, "")) {
            Ok(notes) => {
                let wiring = wiring(&notes);
                let circuit = is_sound(&wiring);
                let taken = circuit.taken.iter().any(|taken| matches!(taken, Taken::Length(_)));
                assert_eq!(taken, length != "5 ft", "{length}: {:?}", circuit.taken);
            }
            Err(why) => assert!(why.len() > 20 && length != "5 ft" && !length.is_empty(), "{length}: {why}"),
        }
    }
    for watts in ["0", "-60", "1000000000000", "0.0000001", "60"] {
        match noted(&lamp_job(" length=\"5 ft\"", &format!(" watts=\"lamp {watts}\""))) {
            Ok(notes) => {
                is_sound(&wiring(&notes));
            }
            Err(why) => assert!(why.len() > 20 && watts != "60", "{watts}: {why}"),
        }
    }
}

/// No panel, a panel without a breaker, a device with nothing on it, parts that hang on nothing, a run to nowhere.
#[test]
fn parts_that_hang_on_nothing() {
    let nothing = is_sound(&wiring(&noted("").unwrap()));
    assert!(nothing.boundaries.keys().any(|end| end.of == Unknown::Source));
    let bare = is_sound(&wiring(&noted("box tag=P kind=panel system=split_phase\n").unwrap()));
    assert!(bare.poles.is_empty() && bare.loads.is_empty());
    let alone = format!(
        r"{PANEL}box tag=B1 kind=nonmetallic-1g
device B1:switch kind=switch-3way
device B1:outlet kind=receptacle-15-duplex
box tag=B2 kind=octagon-4-1.5
run B2/A to=? kind=nm-14-2
run B2/B to=B1/A kind=emt
"
    );
    // A run of which nobody said what it is: what it brings is not known.
    let vague = is_sound(&wiring(&noted(&alone.replace(" kind=emt", "")).unwrap()));
    assert!(vague.boundaries.keys().any(|end| matches!(end.of, Unknown::Run(_))));
    let circuit = is_sound(&wiring(&noted(&alone).unwrap()));
    let unknown: Vec<_> = circuit.boundaries.keys().map(|end| &end.of).collect();
    assert!(unknown.iter().any(|of| matches!(of, Unknown::Run(_))), "a raceway of which nobody said what is in it");
    assert!(unknown.iter().any(|of| matches!(of, Unknown::Tip(_))));
    for hazard in hazards(&circuit) {
        assert!(!matches!(hazard.kind, HazardKind::Short { .. } | HazardKind::EnergisedGround(_)), "{hazard:?}");
    }
}

/// Both legs joined in one splice, at the panel: a short is named, and the voltages are those of a short.
#[test]
fn both_legs_in_one_splice() {
    let lines = format!(
        r"{PANEL}device P:3 kind=breaker-1p-15 number=3 leg=b
box tag=B1 kind=square-4-1.5
run B1/A to=P kind=nm-14-2 feed=P:1
run B1/B to=P kind=nm-14-2 feed=P:3
join B1+hot B1/A/black B1/B/black
join B1+all B1/A/white B1/A/bare B1/B/white B1/B/bare
"
    );
    let circuit = is_sound(&wiring(&noted(&lines).unwrap()));
    let found = hazards(&circuit);
    assert!(found.iter().any(|hazard| hazard.kind == HazardKind::Short { leg: Bus::A, other: Bus::B }), "{found:?}");
    // Worse: bars bridged by nothing to speak of.
    let panel = *circuit.panels.keys().next().unwrap();
    let spot = |bus| Point::from(Spot::Bus { panel, bus });
    let joined = [
        Fault::Bridge { from: spot(Bus::A), to: spot(Bus::B), ohms: 1e-6 },
        Fault::Bridge { from: spot(Bus::A), to: spot(Bus::Neutral), ohms: 1e-6 },
        Fault::Bridge { from: spot(Bus::B), to: Point::Earth, ohms: 1e-6 },
    ];
    all_finite(&circuit.with_faults(&joined).unwrap());
    // Everything open at once is a circuit still: it has no voltage anywhere but at the source.
    let mut open: Vec<Part> = Vec::new();
    for id in circuit.elements_where(|part| !matches!(part, Part::Stray(_))) {
        let part = circuit.part(id).clone();
        if !open.contains(&part) {
            open.push(part);
        }
    }
    let broken = circuit.with_faults(&open.into_iter().map(Fault::Open).collect::<Vec<_>>()).unwrap();
    all_finite(&broken);
    assert!(
        SwitchTable::of(&broken)
            .groups
            .iter()
            .flat_map(|group| &group.rows)
            .all(|row| row.gets.iter().all(|g| g.volts.is_finite()))
    );
}

/// Two panels that feed each other: neither has a source, and that is said.
#[test]
fn panels_that_feed_each_other_in_a_ring() {
    let ring = r"box tag=P1 kind=panel system=split_phase
box tag=P2 kind=panel system=split_phase
run P1/X to=P2/Y kind=nm-6-3 length=20
run P1/Z to=P2/W kind=nm-6-3 length=20
land P2/Y/black P2!a
land P2/Y/red P2!b
land P1/Z/black P1!a
land P1/Z/red P1!b
land P1/X/black P1!a
land P2/W/black P2!a
";
    let circuit = is_sound(&wiring(&noted(&ring.replace("length=20", "length=\"20 ft\"")).unwrap()));
    assert!(circuit.panels.values().all(|panel| panel.supplies.is_empty()));
    assert!(circuit.boundaries.keys().any(|end| end.of == Unknown::Source));
    // Two that feed themselves, joined: two sources, one short, still numbers.
    let two = r"box tag=P1 kind=panel system=split_phase
box tag=P2 kind=panel system=wye208
device P1:1 kind=breaker-2p-30 number=1 leg=a
device P2:2 kind=breaker-2p-30 number=2 leg=b
run P1/X to=P2/Y kind=nm-6-3
land P1/X/black P1:1.load_1
land P1/X/red P1:1.load_2
land P2/Y/black P2:2.load_1
land P2/Y/red P2:2.load_2
";
    let found = hazards(&is_sound(&wiring(&noted(two).unwrap())));
    assert!(found.iter().any(|hazard| matches!(hazard.kind, HazardKind::SourcesMeet { .. })), "{found:?}");
}

/// Twenty panels that nobody said are fed from one another: forty legs, and every reading is still worked out at once.
#[test]
fn twenty_panels_each_with_a_source() {
    use std::fmt::Write as _;
    let mut lines = String::new();
    for n in 0..20 {
        writeln!(lines, "box tag=P{n} kind=panel system=split_phase").unwrap();
        writeln!(lines, "device P{n}:{n} kind=breaker-2p-30 number={n} leg=a").unwrap();
    }
    for n in 1..20 {
        // Breaker to breaker: metal joins all of them.
        writeln!(lines, "run P{}/N{n} to=P{n}/M kind=nm-6-3", n - 1).unwrap();
        writeln!(lines, "land P{}/N{n}/black P{}:{}.load_1", n - 1, n - 1, n - 1).unwrap();
        writeln!(lines, "land P{n}/M/black P{n}:{n}.load_1").unwrap();
    }
    let circuit = is_sound(&wiring(&noted(&lines).unwrap()));
    assert_eq!(circuit.panels.values().map(|panel| panel.supplies.len()).sum::<usize>(), 40);
}

/// Four hundred switches in one box, each with a lamp, and twenty-four in a row on one wire: no 2^n.
#[test]
fn hundreds_of_switches_in_one_box() {
    use std::fmt::Write as _;
    let mut lines = format!("{PANEL}box tag=B1 kind=nonmetallic-4g\nrun B1/A to=P kind=nm-14-2 feed=P:1\n");
    for n in 0..400 {
        writeln!(lines, "device B1:s{n} kind=switch-1p").unwrap();
    }
    // Twenty-four of them in a row: each one's line on the switched screw of the one before.
    writeln!(lines, "join B1+hot B1/A/black >B1:s0.line").unwrap();
    for n in 1..24 {
        writeln!(lines, "join B1+j{n} >B1:s{}.switched >B1:s{n}.line", n - 1).unwrap();
    }
    let notes = noted(&lines).unwrap();
    let circuit = is_sound(&wiring(&notes));
    assert_eq!(circuit.handles.values().filter(|handle| !handle.automatic).count(), 400);
    let rows: usize = SwitchTable::of(&circuit).groups.iter().map(|group| group.rows.len()).sum();
    assert!(rows < 100_000, "{rows}");
}

/// A place on a supply's bus is noted and read: the generator is a second source, and nobody has to guess where.
#[test]
fn a_generator_is_noted_by_where_its_conductors_land() {
    let lines = format!(
        r#"{}supply name=Genset supply=generator
box tag=B9 kind=weatherproof-1g
run B9/A to=B1/B kind=nm-14-2 length="20 ft"
land B9/A/black Genset!a
land B9/A/white Genset!neutral
land B9/A/bare Genset!ground
join B1+hot B1/B/black
join B1+neutrals B1/B/white
join B1+grounds B1/B/bare
"#,
        lamp_job(" length=\"5 ft\"", "")
    );
    let notes = noted(&lines).unwrap();
    let wiring = wiring(&notes);
    let circuit = is_sound(&wiring);
    let supply = *wiring.supplies.keys().next().unwrap();
    assert!(circuit.panels[&supply].other.is_some());
    assert!(!circuit.boundaries.keys().any(|end| matches!(end.of, Unknown::Supply(_))));
    let names = Names::new(&notes, Catalogue::shared(), Layer::Found(notes.job_now().unwrap()));
    assert_eq!(names.spot("Genset!a").unwrap(), Spot::Bus { panel: supply, bus: Bus::A });
    let meets = hazards(&circuit)
        .into_iter()
        .any(|h| matches!(h.kind, HazardKind::SourcesMeet { one, other } if one == supply || other == supply));
    assert!(meets);
}
