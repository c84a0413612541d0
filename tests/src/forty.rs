//! A solution with 40 digits as an outside reference: Debian's Python with mpmath, written from the textbook. See
//! `tests/reference/circuit_nodal.py`.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::process::{Command, Stdio};

use boxproof_core::circuit::{Network, State, Value};
use num_complex::Complex64;
use serde_json::json;

use crate::tool::python;

/// Why the reference gave nothing.
#[derive(Debug, thiserror::Error)]
#[error("the reference of 40 digits did not run ({0}); it needs the Debian packages python3 and python3-mpmath")]
pub struct NoReference(String);

impl NoReference {
    #[allow(clippy::needless_pass_by_value, reason = "it is handed to map_err")]
    fn because(why: impl ToString) -> Self {
        Self(why.to_string())
    }
}

/// Voltages of every node in each state, in the network's order.
///
/// # Errors
/// [`NoReference`] if Python or mpmath is missing or answers nonsense.
pub fn solve(network: &Network, states: &[State]) -> Result<Vec<Vec<Complex64>>, NoReference> {
    solve_all(&states.iter().map(|state| (network, state.clone())).collect::<Vec<_>>())
}

/// Voltages of every node of each network in its state.
///
/// # Errors
/// See [`solve`].
pub fn solve_all(of: &[(&Network, State)]) -> Result<Vec<Vec<Complex64>>, NoReference> {
    let mut input = String::new();
    for (network, state) in of {
        writeln!(input, "{}", written(network, state)).map_err(NoReference::because)?;
    }
    let answers: Vec<_> = run(input)?.lines().map(read).collect::<Result<_, _>>()?;
    let complete = answers.len() == of.len()
        && answers.iter().zip(of).all(|(volts, (network, _))| volts.len() == network.node_count());
    if complete { Ok(answers) } else { Err(NoReference::because("it answered too little")) }
}

/// A network in a state. Texts of eighteen digits carry the very number that the program has.
fn written(network: &Network, state: &State) -> serde_json::Value {
    let fixed: BTreeMap<String, [String; 2]> = network
        .nodes()
        .filter_map(|node| {
            network.fixed(node).map(|v| (node.index().to_string(), [v.re, v.im].map(|x| format!("{x:.17e}"))))
        })
        .collect();
    let elements: Vec<_> = network
        .elements()
        .iter()
        .filter(|element| element.present(state))
        .filter_map(|element| {
            let (kind, first, second) = match element.value {
                Value::Open => return None,
                Value::Metal { ohms } | Value::Resistance { ohms } => ("resistance", ohms, 0.0),
                Value::Capacitance { farads } => ("capacitance", farads, 0.0),
                Value::Load { ohms, henries } => ("load", ohms, henries),
            };
            Some(json!({"from": element.from.index(), "to": element.to.index(), "kind": kind,
                "first": format!("{first:.17e}"), "second": format!("{second:.17e}")}))
        })
        .collect();
    json!({"hertz": network.hertz().to_string(), "leak": format!("{:.17e}", network.leak_siemens()),
        "nodes": network.node_count(), "fixed": fixed, "elements": elements})
}

fn read(line: &str) -> Result<Vec<Complex64>, NoReference> {
    let texts: Vec<[String; 2]> = serde_json::from_str(line).map_err(NoReference::because)?;
    let number = |text: &str| text.parse::<f64>().map_err(NoReference::because);
    texts.iter().map(|[re, im]| Ok(Complex64::new(number(re)?, number(im)?))).collect()
}

fn run(input: String) -> Result<String, NoReference> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/reference/circuit_nodal.py");
    let mut child = Command::new(python())
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(NoReference::because)?;
    let stdin = child.stdin.take();
    // A tool that ends early closes its input; what it wrote then says why.
    let feeding = std::thread::spawn(move || stdin.is_some_and(|mut pipe| pipe.write_all(input.as_bytes()).is_ok()));
    let output = child.wait_with_output().map_err(NoReference::because)?;
    let fed = feeding.join().unwrap_or(false);
    if output.status.success() && fed {
        return String::from_utf8(output.stdout).map_err(NoReference::because);
    }
    Err(NoReference(String::from_utf8_lossy(&output.stderr).into_owned()))
}
