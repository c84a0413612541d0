//! Parts of a branch circuit as elements of a network: panel, cables, splices, pigtails, switches, loads.

use boxproof_core::circuit::{Network, NetworkError, NodeId, SwitchId, Value};
use num_complex::Complex64;

/// A good joint of an end in a splice or under a screw.
pub const CONTACT_OHMS: f64 = 1e-3;
/// A closed contact of a switch.
pub const SWITCH_OHMS: f64 = 5e-3;
/// Solid copper of 12 AWG at 20 °C (ASTM B258, International Annealed Copper Standard).
pub const OHMS_PER_FOOT_12: f64 = 1.588e-3;
/// Solid copper of 14 AWG at 20 °C.
pub const OHMS_PER_FOOT_14: f64 = 2.525e-3;

const HERTZ: f64 = 60.0;
const VOLTS: f64 = 120.0;
const LEAK_SIEMENS: f64 = 1e-12;
const BREAKER_OHMS: f64 = 3e-3;
const PIGTAIL_FEET: f64 = 0.5;

/// Capacitance of a cable by the foot. Flat cable with two conductors: 9 pF between them and 24 pF from each to the
/// ground give the 21 pF that was measured on a reel with the ground floating. Round cable with three: 14 pF a pair.
const FLAT: (f64, f64) = (9e-12, 24e-12);
const ROUND: (f64, f64) = (14e-12, 14e-12);

/// One side of a cable with two conductors and a ground.
#[derive(Debug, Clone, Copy)]
pub struct Two {
    /// Black.
    pub black: NodeId,
    /// White.
    pub white: NodeId,
    /// Bare or green.
    pub ground: NodeId,
}

/// One side of a cable with three conductors and a ground.
#[derive(Debug, Clone, Copy)]
pub struct Three {
    /// Black.
    pub black: NodeId,
    /// Red.
    pub red: NodeId,
    /// White.
    pub white: NodeId,
    /// Bare or green.
    pub ground: NodeId,
}

/// Bars of the panel.
#[derive(Debug, Clone, Copy)]
pub struct Bars {
    /// Buses of the two legs.
    pub legs: [NodeId; 2],
    /// Neutral bar.
    pub neutral: NodeId,
    /// Ground bar.
    pub ground: NodeId,
}

/// A network that grows part by part.
#[derive(Debug)]
pub struct Parts {
    pub(super) network: Network,
    pub(super) names: Vec<String>,
    pub(super) boxes: usize,
    /// Bars of its panel.
    pub bars: Bars,
    /// Of the cables and pigtails that come next.
    pub ohms_per_foot: f64,
    sections: usize,
}

impl Parts {
    /// A panel on 120/240 V with its source, bond and earth. A cable is one section with half of its capacitance at
    /// each end, or two with all of it in the middle.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn split_phase(sections: usize) -> Result<Self, NetworkError> {
        let mut network = Network::new(HERTZ, LEAK_SIEMENS)?;
        let centre = network.reference();
        let sources = [network.source(VOLTS.into())?, network.source(Complex64::from(-VOLTS))?];
        let legs = [network.node(), network.node()];
        let bars = Bars { legs, neutral: network.node(), ground: network.node() };
        let earth = network.node();
        for (from, to, ohms) in [
            (sources[0], legs[0], 0.025),
            (sources[1], legs[1], 0.025),
            (centre, bars.neutral, 0.010),
            (bars.neutral, bars.ground, 2e-4),
            (centre, earth, 5.0),
            (bars.ground, earth, 25.0),
        ] {
            network.connect(from, to, Value::Metal { ohms })?;
        }
        let names = ["centre", "source 1", "source 2", "leg 1", "leg 2", "neutral bar", "ground bar", "earth"];
        let names = names.map(str::to_owned).into();
        Ok(Self { network, names, boxes: 0, bars, ohms_per_foot: OHMS_PER_FOOT_12, sections })
    }

    /// A new node.
    pub fn node(&mut self, name: impl Into<String>) -> NodeId {
        self.names.push(name.into());
        self.network.node()
    }

    fn metal(&mut self, from: NodeId, to: NodeId, ohms: f64) -> Result<(), NetworkError> {
        self.network.connect(from, to, Value::Metal { ohms }).map(|_| ())
    }

    /// A breaker that is ON: its terminal.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn breaker(&mut self, name: &str, bus: NodeId) -> Result<NodeId, NetworkError> {
        let terminal = self.node(name);
        self.metal(bus, terminal, BREAKER_OHMS)?;
        Ok(terminal)
    }

    /// The conductors of a cable at its two sides; the last of `wires` is the ground.
    fn cable<const N: usize>(
        &mut self,
        name: &str,
        feet: f64,
        wires: [&str; N],
        (between, to_ground): (f64, f64),
    ) -> Result<[[NodeId; N]; 2], NetworkError> {
        let ends = |parts: &mut Self, at: &str| wires.map(|wire| parts.node(format!("{name} {wire} {at}")));
        let (near, far) = (ends(self, "near"), ends(self, "far"));
        let middle = (self.sections == 2).then(|| ends(self, "middle"));
        let ohms = self.ohms_per_foot * feet;
        let rows = match middle {
            Some(middle) => vec![near, middle, far],
            None => vec![near, far],
        };
        for (from, to) in rows.iter().zip(rows.iter().skip(1)) {
            for (from, to) in from.iter().zip(to) {
                self.metal(*from, *to, ohms / (rows.len() - 1) as f64)?;
            }
        }
        let places = middle.map_or(vec![(near, 0.5), (far, 0.5)], |middle| vec![(middle, 1.0)]);
        for (row, share) in places {
            for (n, one) in row.iter().enumerate() {
                for (m, other) in row.iter().enumerate().skip(n + 1) {
                    let per_foot = if m == N - 1 { to_ground } else { between };
                    let value = Value::Capacitance { farads: per_foot * feet * share };
                    self.network.connect(*one, *other, value)?;
                }
            }
        }
        Ok([near, far])
    }

    /// A cable with two conductors and a ground: its two sides.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn two_wire(&mut self, name: &str, feet: f64) -> Result<[Two; 2], NetworkError> {
        let sides = self.cable(name, feet, ["black", "white", "ground"], FLAT)?;
        Ok(sides.map(|[black, white, ground]| Two { black, white, ground }))
    }

    /// A cable with three conductors and a ground: its two sides.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn three_wire(&mut self, name: &str, feet: f64) -> Result<[Three; 2], NetworkError> {
        let sides = self.cable(name, feet, ["black", "red", "white", "ground"], ROUND)?;
        Ok(sides.map(|[black, red, white, ground]| Three { black, red, white, ground }))
    }

    /// Lands a home run on a breaker and on the bars.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn land_in_panel(&mut self, home: Two, breaker: NodeId) -> Result<(), NetworkError> {
        let bars = self.bars;
        [(home.black, breaker), (home.white, bars.neutral), (home.ground, bars.ground)]
            .into_iter()
            .try_for_each(|(end, at)| self.metal(end, at, CONTACT_OHMS))
    }

    /// A splice of some ends.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn splice(&mut self, name: impl Into<String>, ends: &[NodeId]) -> Result<NodeId, NetworkError> {
        let splice = self.node(name);
        ends.iter().try_for_each(|end| self.metal(*end, splice, CONTACT_OHMS))?;
        Ok(splice)
    }

    /// A terminal with a conductor under its screw.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn terminal(&mut self, name: impl Into<String>, end: NodeId) -> Result<NodeId, NetworkError> {
        self.splice(name, &[end])
    }

    /// A terminal that a pigtail feeds from a splice.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn pigtail(&mut self, splice: NodeId, name: impl Into<String>) -> Result<NodeId, NetworkError> {
        let name = name.into();
        let end = self.node(format!("{name} pigtail"));
        let terminal = self.node(name);
        self.metal(splice, end, CONTACT_OHMS)?;
        self.metal(end, terminal, CONTACT_OHMS + PIGTAIL_FEET * self.ohms_per_foot)?;
        Ok(terminal)
    }

    /// Terminals that pigtails feed.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn pigtails<const N: usize>(&mut self, from: [(NodeId, &str); N]) -> Result<[NodeId; N], NetworkError> {
        let mut terminals = from.map(|(splice, _)| splice);
        for (terminal, (splice, name)) in terminals.iter_mut().zip(from) {
            *terminal = self.pigtail(splice, name)?;
        }
        Ok(terminals)
    }

    fn switched(&mut self, contacts: &[(NodeId, NodeId, u8)], value: Value) -> Result<SwitchId, NetworkError> {
        let switch = self.network.switch(2)?;
        for (from, to, position) in contacts {
            self.network.contact((*from, *to), value, switch, &[*position])?;
        }
        Ok(switch)
    }

    /// A single-pole switch, off at rest.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn single_pole(&mut self, from: NodeId, to: NodeId) -> Result<SwitchId, NetworkError> {
        self.switched(&[(from, to, 1)], Value::Metal { ohms: SWITCH_OHMS })
    }

    /// A three-way switch with its travelers under two screws.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn three_way(&mut self, name: &str, common: NodeId, ends: [NodeId; 2]) -> Result<SwitchId, NetworkError> {
        let first = self.terminal(format!("{name} traveler 1"), ends[0])?;
        let second = self.terminal(format!("{name} traveler 2"), ends[1])?;
        self.switched(&[(common, first, 0), (common, second, 1)], Value::Metal { ohms: SWITCH_OHMS })
    }

    /// A four-way switch: straight at rest, crossed in its other position.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn four_way(&mut self, name: &str, near: [NodeId; 2], far: [NodeId; 2]) -> Result<SwitchId, NetworkError> {
        let [a, b, c, d] = [near[0], near[1], far[0], far[1]];
        let a = self.terminal(format!("{name} in 1"), a)?;
        let b = self.terminal(format!("{name} in 2"), b)?;
        let c = self.terminal(format!("{name} out 1"), c)?;
        let d = self.terminal(format!("{name} out 2"), d)?;
        self.switched(&[(a, c, 0), (b, d, 0), (a, d, 1), (b, c, 1)], Value::Metal { ohms: SWITCH_OHMS })
    }

    /// A load that is always there.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn load(&mut self, from: NodeId, to: NodeId, watts: f64, power_factor: f64) -> Result<(), NetworkError> {
        let value = Value::of_power(watts, VOLTS, power_factor, HERTZ)?;
        self.network.connect(from, to, value).map(|_| ())
    }

    /// A load that somebody plugs in: a switch, unplugged at rest.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn test_load(&mut self, from: NodeId, to: NodeId, watts: f64) -> Result<SwitchId, NetworkError> {
        let value = Value::of_power(watts, VOLTS, 1.0, HERTZ)?;
        self.switched(&[(from, to, 1)], value)
    }
}
