//! Clocks, the machine, memory, and the calls of the program that are measured.

use std::error::Error;
use std::hint::black_box;
use std::io::{self, Write};
use std::process::Command;

use boxproof_core::circuit::{Solver, State};
use boxproof_tests::{nets, number};
use num_complex::Complex64;

/// Argument that asks for the memory of one solution alone.
pub(crate) const MEMORY: &str = "--memory-of-the-dwelling";

const LEAST_PASSES: usize = 5;

/// Seconds that the processor gave to this thread. On a machine that does other work as well, a clock on the wall
/// would count that too.
fn now_s() -> f64 {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    let whole = u32::try_from(time.tv_sec).unwrap_or(u32::MAX);
    f64::from(whole) + f64::from(u32::try_from(time.tv_nsec).unwrap_or(0)) * 1e-9
}

/// Microseconds for one of the `many` things that each call of `work` does: the least of many calls.
pub(crate) fn least_us(
    many: usize,
    seconds: f64,
    mut work: impl FnMut() -> Result<(), Box<dyn Error>>,
) -> Result<f64, Box<dyn Error>> {
    work()?;
    let (began, mut least, mut passes) = (now_s(), f64::INFINITY, 0);
    while passes < LEAST_PASSES || now_s() - began < seconds {
        let start = now_s();
        work()?;
        least = least.min(now_s() - start);
        passes += 1;
    }
    Ok(least * 1e6 / number(many))
}

/// Solves all positions side by side and reads a voltage of each, so that nothing can be left out.
pub(crate) fn pass(solver: &Solver<'_>, states: &[State]) {
    let node = solver.network().nodes().last().unwrap_or(solver.network().reference());
    solver.sweep(states, |_, voltages| {
        black_box(voltages.volts(node));
    });
}

/// Voltages of every node in all positions, by the same calls that are timed.
pub(crate) fn all_voltages(solver: &Solver<'_>, states: &[State]) -> Vec<Vec<Complex64>> {
    let mut all = Vec::with_capacity(states.len());
    solver.sweep(states, |_, found| all.push(solver.network().nodes().map(|node| found.volts(node)).collect()));
    all
}

/// Kind of processor, as the system names it.
pub(crate) fn processor() -> String {
    let info = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let named = info.lines().find(|line| line.starts_with("model name")).and_then(|line| line.split_once(':'));
    named.map_or_else(|| format!("not named ({})", std::env::consts::ARCH), |(_, name)| name.trim().to_owned())
}

/// Greatest resident memory of this process so far, in megabytes.
fn resident_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse::<f64>().ok().map(|kilobytes| kilobytes / 1024.0)
}

/// Solves all positions of the dwelling and prints the memory that this took: the work of a process of its own.
pub(crate) fn solve_dwelling() -> Result<(), Box<dyn Error>> {
    let unknown = "this system does not tell a process its memory";
    let before = resident_mb().ok_or(unknown)?;
    let net = nets::dwelling(nets::CIRCUITS)?;
    pass(&Solver::new(&net.network), &net.positions());
    writeln!(io::stdout(), "{} {before}", resident_mb().ok_or(unknown)?)?;
    Ok(())
}

/// Megabytes of a process that solves the dwelling, at most and before it began.
pub(crate) fn memory() -> Result<(f64, f64), Box<dyn Error>> {
    let output = Command::new(std::env::current_exe()?).arg(MEMORY).output()?;
    let text = String::from_utf8(output.stdout)?;
    let (most, before) = text.trim().split_once(' ').ok_or("the process for the memory did not answer")?;
    Ok((most.parse()?, before.parse()?))
}
