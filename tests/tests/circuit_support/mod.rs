//! Networks of the outside checks, and the ways to hand them to a general circuit simulator and to a 40-digit
//! reference.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::process::{Command, Stdio};

use boxproof_core::circuit::{Network, NodeId, State, SwitchId, Value};
use num_complex::Complex64;

/// An invented network with named nodes.
pub(crate) struct Bench {
    pub(crate) network: Network,
    pub(crate) names: BTreeMap<String, NodeId>,
    pub(crate) switches: Vec<SwitchId>,
    /// Ohms per metre of its conductors.
    pub(crate) ohms_per_metre: f64,
}

pub(crate) const CONTACT: Value = Value::Metal { ohms: 1e-3 };
pub(crate) const SWITCH: Value = Value::Metal { ohms: 5e-3 };

impl Bench {
    /// A split-phase source: legs `L1`, `L2`, neutral bar `N`, ground bar `G`, bonded and earthed.
    pub(crate) fn split_phase(ohms_per_metre: f64) -> Self {
        let network = Network::new(60.0, 1e-12).unwrap();
        let mut bench = Self { network, names: BTreeMap::new(), switches: Vec::new(), ohms_per_metre };
        let centre = bench.network.reference();
        let legs = [("L1", 120.0), ("L2", -120.0)];
        for (name, volts) in legs {
            let leg = bench.network.source(Complex64::new(volts, 0.0)).unwrap();
            let bus = bench.node(name);
            bench.network.connect(leg, bus, Value::Metal { ohms: 0.025 }).unwrap();
        }
        let (neutral, ground, earth) = (bench.node("N"), bench.node("G"), bench.node("earth"));
        for (a, b, ohms) in
            [(centre, neutral, 0.01), (neutral, ground, 2e-4), (ground, earth, 25.0), (earth, centre, 5.0)]
        {
            bench.network.connect(a, b, Value::Metal { ohms }).unwrap();
        }
        bench
    }

    pub(crate) fn node(&mut self, name: &str) -> NodeId {
        if let Some(node) = self.names.get(name) {
            return *node;
        }
        let node = self.network.node();
        self.names.insert(name.to_owned(), node);
        node
    }

    pub(crate) fn join(&mut self, a: &str, b: &str, value: Value) {
        let (a, b) = (self.node(a), self.node(b));
        self.network.connect(a, b, value).unwrap();
    }

    /// A cable in two sections with capacitance between each two conductors at both ends and in the middle.
    pub(crate) fn cable(&mut self, name: &str, from: [&str; 4], to: [&str; 4], metres: f64) {
        let joints = ["a", "m", "z"];
        for (n, (start, end)) in from.iter().zip(to).enumerate().filter(|(_, (start, _))| !start.is_empty()) {
            self.join(start, &format!("{name}.{n}a"), CONTACT);
            for pair in joints.windows(2) {
                let ohms = self.ohms_per_metre * metres / 2.0;
                self.join(&format!("{name}.{n}{}", pair[0]), &format!("{name}.{n}{}", pair[1]), Value::Metal { ohms });
            }
            self.join(&format!("{name}.{n}z"), end, CONTACT);
        }
        for (first, second, per_metre) in
            [(0, 1, 29.5e-12), (0, 2, 29.5e-12), (1, 2, 29.5e-12), (0, 3, 78.7e-12), (1, 3, 78.7e-12), (2, 3, 78.7e-12)]
        {
            if from[first].is_empty() || from[second].is_empty() {
                continue;
            }
            for (joint, part) in joints.iter().zip([0.25, 0.5, 0.25]) {
                let farads = per_metre * metres * part;
                self.join(
                    &format!("{name}.{first}{joint}"),
                    &format!("{name}.{second}{joint}"),
                    Value::Capacitance { farads },
                );
            }
        }
    }

    /// A switch whose contacts are closed in position 0 or in position 1.
    pub(crate) fn switch(&mut self, contacts: &[(&str, &str, u8)]) {
        let switch = self.network.switch(2).unwrap();
        for (a, b, position) in contacts {
            let (a, b) = (self.node(a), self.node(b));
            self.network.contact((a, b), SWITCH, switch, &[*position]).unwrap();
        }
        self.switches.push(switch);
    }

    pub(crate) fn load(&mut self, a: &str, b: &str, watts: f64, volts: f64, power_factor: f64) {
        let value = Value::of_power(watts, volts, power_factor, self.network.hertz()).unwrap();
        self.join(a, b, value);
    }

    pub(crate) fn states(&self) -> Vec<State> {
        self.network.states(&self.switches, &self.network.first_state())
    }
}

/// What an element is to the references: kind and two values.
fn written(value: Value) -> (&'static str, f64, f64) {
    match value {
        Value::Metal { ohms } | Value::Resistance { ohms } => ("resistance", ohms, 0.0),
        Value::Capacitance { farads } => ("capacitance", farads, 0.0),
        Value::Load { ohms, henries } => ("load", ohms, henries),
    }
}

/// Voltages of every node in each state, from the 40-digit reference.
///
/// # Panics
/// If Python or mpmath is missing: install the Debian packages `python3` and `python3-mpmath`.
pub(crate) fn high_precision(network: &Network, states: &[State]) -> Vec<Vec<Complex64>> {
    let mut input = String::new();
    for state in states {
        let fixed: BTreeMap<String, [String; 2]> = network
            .nodes()
            .filter_map(|node| {
                network.fixed(node).map(|v| (node.index().to_string(), [v.re, v.im].map(|x| format!("{x:e}"))))
            })
            .collect();
        let elements: Vec<_> = network
            .elements()
            .iter()
            .filter(|element| element.present(state))
            .map(|element| {
                let (kind, first, second) = written(element.value);
                // Texts of seventeen digits carry the very number that the program has.
                serde_json::json!({"from": element.from.index(), "to": element.to.index(), "kind": kind,
                    "first": format!("{first:.17e}"), "second": format!("{second:.17e}")})
            })
            .collect();
        let one = serde_json::json!({"hertz": network.hertz().to_string(), "leak": format!("{:e}", network.leak_siemens()),
            "nodes": network.node_count(), "fixed": fixed, "elements": elements});
        writeln!(input, "{one}").unwrap();
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/reference/circuit_nodal.py");
    let output = run(boxproof_tests::tool::python(), &[script], &input, "python3 and python3-mpmath");
    let numbers = |line: &str| -> Vec<Complex64> {
        let texts: Vec<[String; 2]> = serde_json::from_str(line).unwrap();
        texts.iter().map(|[re, im]| Complex64::new(re.parse().unwrap(), im.parse().unwrap())).collect()
    };
    output.lines().map(numbers).collect()
}

/// Voltages of every node in each state, from ngspice: one copy of the network for each state, solved in one run.
///
/// # Panics
/// If ngspice is missing: install the Debian package `ngspice`.
pub(crate) fn ngspice(network: &Network, states: &[State]) -> Vec<Vec<Complex64>> {
    let mut deck = String::from("boxproof outside check\n");
    for (copy, state) in states.iter().enumerate() {
        let name = |node: NodeId| if node.index() == 0 { "0".to_owned() } else { format!("p{copy}n{}", node.index()) };
        for node in network.nodes().skip(1) {
            match network.fixed(node) {
                Some(v) => {
                    let (size, degrees) = (v.norm(), v.arg().to_degrees());
                    writeln!(deck, "V{copy}x{} {} 0 DC 0 AC {size:.17e} {degrees:.17e}", node.index(), name(node))
                        .unwrap();
                }
                None => writeln!(deck, "RL{copy}x{} {} 0 {:e}", node.index(), name(node), 1.0 / network.leak_siemens())
                    .unwrap(),
            }
        }
        for (n, element) in network.elements().iter().enumerate().filter(|(_, element)| element.present(state)) {
            let (from, to) = (name(element.from), name(element.to));
            match element.value {
                Value::Metal { ohms } | Value::Resistance { ohms } => {
                    writeln!(deck, "R{copy}x{n} {from} {to} {ohms:.17e}")
                }
                Value::Capacitance { farads } => writeln!(deck, "C{copy}x{n} {from} {to} {farads:.17e}"),
                Value::Load { ohms, henries } if henries > 0.0 => {
                    writeln!(
                        deck,
                        "R{copy}x{n} {from} q{copy}x{n} {ohms:.17e}\nL{copy}x{n} q{copy}x{n} {to} {henries:.17e}"
                    )
                }
                Value::Load { ohms, .. } => writeln!(deck, "R{copy}x{n} {from} {to} {ohms:.17e}"),
            }
            .unwrap();
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let (deck_path, out) = (folder.path().join("deck.cir"), folder.path().join("out.raw"));
    let hertz = network.hertz();
    write!(
        deck,
        ".control\nset filetype=ascii\nset numdgt=16\nac lin 1 {hertz} {hertz}\nwrite {}\nquit 0\n.endc\n.end\n",
        out.display()
    )
    .unwrap();
    std::fs::write(&deck_path, deck).unwrap();
    let log = run("ngspice", &["-b", deck_path.to_str().unwrap()], "", "ngspice");
    let raw = std::fs::read_to_string(&out).unwrap_or_else(|error| panic!("ngspice wrote nothing ({error}):\n{log}"));
    let values = read_raw(&raw);
    let volts = |copy: usize, node: NodeId| match node.index() {
        0 => Complex64::ZERO,
        n => *values.get(&format!("v(p{copy}n{n})")).unwrap_or_else(|| panic!("ngspice gives no v(p{copy}n{n})")),
    };
    (0..states.len()).map(|copy| network.nodes().map(|node| volts(copy, node)).collect()).collect()
}

/// Reads the one point of an ngspice raw file in text form.
fn read_raw(raw: &str) -> BTreeMap<String, Complex64> {
    let (head, body) = raw.split_once("\nValues:").expect("no values in the raw file");
    let (_, variables) = head.split_once("\nVariables:").expect("no variables in the raw file");
    let names = variables.lines().filter_map(|line| line.split_whitespace().nth(1)).map(str::to_owned);
    let numbers = body.split_whitespace().filter_map(|word| word.split_once(','));
    names
        .zip(numbers)
        .map(|(name, (re, im))| (name, Complex64::new(re.parse().unwrap(), im.parse().unwrap())))
        .collect()
}

/// Runs a tool and gives what it wrote.
fn run(tool: &str, arguments: &[&str], input: &str, package: &str) -> String {
    let missing = |why: String| -> ! {
        panic!("{tool} did not run ({why}). This check needs it: install the Debian package {package}.")
    };
    let mut child = Command::new(tool)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| missing(error.to_string()));
    let mut stdin = child.stdin.take().unwrap();
    let text = input.to_owned();
    // A tool that ends early closes its input; what it wrote then says why.
    let feeding = std::thread::spawn(move || stdin.write_all(text.as_bytes()).is_ok());
    let output = child.wait_with_output().unwrap();
    let fed = feeding.join().unwrap();
    let written = String::from_utf8_lossy(&output.stdout).into_owned();
    if !output.status.success() || !fed {
        missing(format!("{written}{}", String::from_utf8_lossy(&output.stderr)));
    }
    written
}
