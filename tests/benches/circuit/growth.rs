//! How the cost grows: the dwelling in more sizes.

use std::error::Error;
use std::hint::black_box;
use std::io::Write;

use boxproof_core::circuit::Solver;
use boxproof_tests::{nets, number};

use crate::measure::{least_us, pass};

const SIZES: [usize; 5] = [6, 12, 24, 48, 96];

/// Measures and writes each size.
pub(crate) fn write(out: &mut impl Write) -> Result<(), Box<dyn Error>> {
    writeln!(out, "\nGrowth: dwellings of other sizes")?;
    writeln!(
        out,
        "{:<24}{:>8}{:>20}{:>28}{:>24}",
        "network", "nodes", "µs for a position", "ns for a node and position", "plan, ns for a node"
    )?;
    for circuits in SIZES {
        let net = nets::dwelling(circuits)?;
        let (states, nodes) = (net.positions(), net.network.node_count());
        let solver = Solver::new(&net.network);
        let us = least_us(states.len(), 0.5, || {
            pass(&solver, &states);
            Ok(())
        })?;
        let plan = least_us(nodes, 0.25, || {
            black_box(Solver::new(&net.network));
            Ok(())
        })?;
        writeln!(
            out,
            "{:<24}{:>8}{:>20.3}{:>28.3}{:>24.0}",
            net.name,
            nodes,
            us,
            us * 1e3 / number(nodes),
            plan * 1e3
        )?;
    }
    Ok(())
}
