//! All positions of one circuit's switches, in three networks: the program on one thread, a general circuit simulator
//! in the same process, a solution of 40 digits, and the floor that memory traffic and divisions set.
//!
//! `cargo bench -p boxproof-tests --bench circuit`
//!
//! The simulator is ngspice as a shared library, tuned: one load of the network, only values that differ altered, no
//! operating point, memory kept. Both sides solve the same positions in the same order, in which one switch moves from
//! each to the next. Times are the least of many passes: what else the machine does only adds.

mod floor;
mod growth;
mod measure;

use std::error::Error;
use std::hint::black_box;
use std::io::{self, Write};

use boxproof_core::circuit::{Solver, State};
use boxproof_tests::nets::{self, Net};
use boxproof_tests::spice::{self, Spice};
use boxproof_tests::{apart, forty};
use num_complex::Complex64;

use measure::{all_voltages, least_us, pass};

/// Seconds that each measurement takes at least.
const SECONDS: f64 = 1.0;
/// States that the 40-digit solution is asked for at once, so that progress can be shown.
const AT_ONCE: usize = 8;

/// What one network gave, in microseconds for a position where nothing else is said.
struct Row {
    plan_us: f64,
    program_us: f64,
    /// Positions one by one, each kept with everything that a later question needs.
    single_us: f64,
    spice_us: f64,
    engine_us: f64,
    floor_us: f64,
    schedule: floor::Schedule,
    nodes: usize,
    positions: usize,
}

/// Greatest distances in volts.
struct Apart {
    program_to_spice: apart::Apart,
    program_to_forty: apart::Apart,
    spice_to_forty: apart::Apart,
}

fn progress(text: &str) {
    // To the other stream, so that the table can be kept by itself.
    let _ = writeln!(io::stderr(), "  … {text}");
}

/// Microseconds of ngspice for a position: values altered, solved, thrown away; and of its engine alone.
fn spice_times(net: &Net, states: &[State]) -> Result<(f64, f64), Box<dyn Error>> {
    let mut spice = Spice::load(&net.network, states.first().ok_or("no positions")?)?;
    let mut steps = Vec::new();
    for state in states.iter().skip(1).chain(states.first()) {
        let commands = spice.alterations(state);
        spice.alter(&commands, state)?;
        steps.push((commands, state));
    }
    let whole = least_us(states.len(), SECONDS, || {
        for (commands, state) in &steps {
            spice.alter(commands, state)?;
            spice.solve()?;
            spice.forget()?;
        }
        Ok(())
    })?;
    let points = 100_000 / net.network.node_count();
    let engine = least_us(points, SECONDS, || {
        spice.solve_points(points)?;
        Ok(spice.forget()?)
    })?;
    Ok((whole, engine))
}

fn times(net: &Net) -> Result<Row, Box<dyn Error>> {
    let states = net.positions();
    progress(&format!("{}: the program", net.name));
    let plan_us = least_us(1, SECONDS / 4.0, || {
        black_box(Solver::new(&net.network));
        Ok(())
    })?;
    let solver = Solver::new(&net.network);
    let program_us = least_us(states.len(), SECONDS, || {
        pass(&solver, &states);
        Ok(())
    })?;
    let single_us = least_us(states.len(), SECONDS, || {
        for state in &states {
            black_box(solver.at(state));
        }
        Ok(())
    })?;
    let schedule = floor::Schedule::of(net);
    let mut traffic = floor::Traffic::of(&schedule);
    let passes = states.len().div_ceil(floor::LANES);
    let floor_us = least_us(passes * floor::LANES, SECONDS, || {
        for _ in 0..passes {
            traffic.pass();
        }
        Ok(())
    })?;
    progress(&format!("{}: ngspice", net.name));
    let (spice_us, engine_us) = spice_times(net, &states)?;
    let (nodes, positions) = (net.network.node_count(), states.len());
    Ok(Row { plan_us, program_us, single_us, spice_us, engine_us, floor_us, schedule, nodes, positions })
}

/// All positions by all three.
fn apart_in_all_positions(net: &Net) -> Result<Apart, Box<dyn Error>> {
    let states = net.positions();
    let program = all_voltages(&Solver::new(&net.network), &states);
    let mut spice = Spice::load(&net.network, &net.network.first_state())?;
    let simulated: Vec<Vec<Complex64>> = states.iter().map(|state| spice.at(state)).collect::<Result<_, _>>()?;
    let mut exact = Vec::new();
    for some in states.chunks(AT_ONCE) {
        exact.extend(forty::solve(&net.network, some)?);
        progress(&format!("{}: {} of {} positions with 40 digits", net.name, exact.len(), states.len()));
    }
    Ok(Apart {
        program_to_spice: apart::worst(&program, &simulated),
        program_to_forty: apart::worst(&program, &exact),
        spice_to_forty: apart::worst(&simulated, &exact),
    })
}

fn main() -> Result<(), Box<dyn Error>> {
    if std::env::args().any(|argument| argument == measure::MEMORY) {
        return measure::solve_dwelling();
    }
    let mut out = io::stdout().lock();
    let nets = nets::three()?;
    writeln!(
        out,
        "Processor: {}; one thread. Reference: {}, in this process.",
        measure::processor(),
        spice::version()?
    )?;
    writeln!(out, "Microseconds for one position, all node voltages; the least of many passes.\n")?;
    writeln!(
        out,
        "{:<24}{:>6}{:>10}{:>10}{:>12}{:>9}{:>12}{:>9}{:>9}{:>9}",
        "network", "nodes", "positions", "Boxproof", "ngspice", "ratio", "its engine", "ratio", "floor", "× floor"
    )?;
    let rows: Vec<Row> = nets.iter().map(times).collect::<Result<_, _>>()?;
    for (net, row) in nets.iter().zip(&rows) {
        writeln!(
            out,
            "{:<24}{:>6}{:>10}{:>10.3}{:>12.1}{:>9.0}{:>12.1}{:>9.0}{:>9.3}{:>9.2}",
            net.name,
            row.nodes,
            row.positions,
            row.program_us,
            row.spice_us,
            row.spice_us / row.program_us,
            row.engine_us,
            row.engine_us / row.program_us,
            row.floor_us,
            row.program_us / row.floor_us
        )?;
    }
    writeln!(
        out,
        "  ngspice: values altered, one analysis, its result thrown away. Its engine: one point of an analysis"
    )?;
    writeln!(out, "  of many points, which no program that changes values between points can have.")?;
    writeln!(
        out,
        "  Floor: for each position the edges of the nodes that touch a turning switch are copied and divided,"
    )?;
    writeln!(out, "  every other node's voltage is written once with one multiply-add for each of its edges.\n")?;

    schedules(&mut out, &nets, &rows)?;
    distances(&mut out, &nets)?;
    growth::write(&mut out)?;
    let (resident, before) = measure::memory()?;
    writeln!(
        out,
        "\nMemory of a process that solves the dwelling: at most {resident:.1} MB resident, {before:.1} MB before it began."
    )?;
    Ok(())
}

/// What one plan has.
fn schedules(out: &mut impl Write, nets: &[Net], rows: &[Row]) -> Result<(), Box<dyn Error>> {
    writeln!(
        out,
        "{:<24}{:>12}{:>14}{:>12}{:>14}{:>14}",
        "network", "plan, once", "one by one", "core nodes", "core edges", "other edges"
    )?;
    for (net, row) in nets.iter().zip(rows) {
        let s = &row.schedule;
        writeln!(
            out,
            "{:<24}{:>9.0} µs{:>11.3} µs{:>12}{:>14}{:>14}",
            net.name,
            row.plan_us,
            row.single_us,
            s.core_nodes(),
            s.core_edges(),
            s.static_edges()
        )?;
    }
    Ok(())
}

/// How far the three are apart.
fn distances(out: &mut impl Write, nets: &[Net]) -> Result<(), Box<dyn Error>> {
    writeln!(out, "\nGreatest distance of a node's voltage over all positions, in volts")?;
    writeln!(
        out,
        "{:<24}{:>18}{:>22}{:>22}",
        "network", "Boxproof–ngspice", "Boxproof–40 digits", "ngspice–40 digits"
    )?;
    for net in nets {
        let apart = apart_in_all_positions(net)?;
        writeln!(
            out,
            "{:<24}{:>18.1e}{:>22.1e}{:>22.1e}   ({})",
            net.name,
            apart.program_to_spice.volts,
            apart.program_to_forty.volts,
            apart.spice_to_forty.volts,
            net.names.get(apart.spice_to_forty.node).map_or("", String::as_str),
        )?;
    }
    Ok(())
}
