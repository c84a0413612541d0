//! Networks of the outside checks.

use std::collections::BTreeMap;

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
