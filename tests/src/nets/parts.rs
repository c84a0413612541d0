//! Parts of a branch circuit as elements of a network: panel, cables, splices, pigtails, switches, loads.

use boxproof_core::circuit::{ElementId, Network, NetworkError, NodeId, SwitchId, Value};
use num_complex::Complex64;

/// A good joint of an end in a splice or under a screw.
pub const CONTACT_OHMS: f64 = 1e-3;
/// A closed contact of a switch.
pub const SWITCH_OHMS: f64 = 5e-3;
/// Solid copper of 12 AWG at 20 °C (ASTM B258, International Annealed Copper Standard).
pub const OHMS_PER_FOOT_12: f64 = 1.588e-3;
/// Solid copper of 14 AWG at 20 °C.
pub const OHMS_PER_FOOT_14: f64 = 2.525e-3;

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

/// What feeds a panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Supply {
    /// 120/240 V, 60 Hz.
    SplitPhase,
    /// 208Y/120 V, 60 Hz.
    Wye,
    /// 230 V, 50 Hz, one phase.
    Single,
}

impl Supply {
    /// Volts from a leg to the neutral.
    pub fn volts(self) -> f64 {
        if self == Self::Single { 230.0 } else { 120.0 }
    }

    fn hertz(self) -> f64 {
        if self == Self::Single { 50.0 } else { 60.0 }
    }

    fn degrees(self) -> &'static [f64] {
        match self {
            Self::SplitPhase => &[0.0, 180.0],
            Self::Wye => &[0.0, -120.0, 120.0],
            Self::Single => &[0.0],
        }
    }
}

/// Bars of the panel.
#[derive(Debug, Clone)]
pub struct Bars {
    /// Buses of the legs.
    pub legs: Vec<NodeId>,
    /// Neutral bar.
    pub neutral: NodeId,
    /// Ground bar.
    pub ground: NodeId,
    /// Between the two.
    pub bond: ElementId,
}

impl Bars {
    /// The bus of a leg, counted round; the neutral bar where there is no leg.
    pub fn leg(&self, n: usize) -> NodeId {
        self.legs.get(n % self.legs.len().max(1)).copied().unwrap_or(self.neutral)
    }
}

/// A network that grows part by part.
#[derive(Debug)]
pub struct Parts {
    pub(super) network: Network,
    pub(super) names: Vec<String>,
    pub(super) boxes: usize,
    /// What feeds it.
    pub supply: Supply,
    /// Bars of its panel.
    pub bars: Bars,
    /// Of the cables and pigtails that come next.
    pub ohms_per_foot: f64,
    /// Contacts of ends in splices and under screws.
    pub joints: Vec<ElementId>,
    /// Conductors of each cable that lie side by side, at each place that has nodes.
    pub beside: Vec<Vec<NodeId>>,
    sections: usize,
}

impl Parts {
    /// A panel with its source, bond and earth. A cable is one section with half of its capacitance at each end, or
    /// two with all of it in the middle.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn new(supply: Supply, sections: usize) -> Result<Self, NetworkError> {
        let mut network = Network::new(supply.hertz(), LEAK_SIEMENS)?;
        let mut names = vec!["centre".to_owned()];
        let centre = network.reference();
        let mut legs = Vec::new();
        for (n, degrees) in supply.degrees().iter().enumerate() {
            let source = network.source(Complex64::from_polar(supply.volts(), degrees.to_radians()))?;
            let leg = network.node();
            network.connect(source, leg, Value::Metal { ohms: 0.025 })?;
            names.extend([format!("source {}", n + 1), format!("leg {}", n + 1)]);
            legs.push(leg);
        }
        let [neutral, ground, earth] = [network.node(), network.node(), network.node()];
        names.extend(["neutral bar", "ground bar", "earth"].map(str::to_owned));
        network.connect(centre, neutral, Value::Metal { ohms: 0.010 })?;
        let bond = network.connect(neutral, ground, Value::Metal { ohms: 2e-4 })?;
        network.connect(centre, earth, Value::Resistance { ohms: 5.0 })?;
        network.connect(ground, earth, Value::Resistance { ohms: 25.0 })?;
        let bars = Bars { legs, neutral, ground, bond };
        let (joints, beside) = (Vec::new(), Vec::new());
        Ok(Self { network, names, boxes: 0, supply, bars, ohms_per_foot: OHMS_PER_FOOT_12, joints, beside, sections })
    }

    /// The network as it is now.
    pub fn network(&mut self) -> &mut Network {
        &mut self.network
    }

    /// A new node.
    pub fn node(&mut self, name: impl Into<String>) -> NodeId {
        self.names.push(name.into());
        self.network.node()
    }

    fn metal(&mut self, from: NodeId, to: NodeId, ohms: f64) -> Result<(), NetworkError> {
        self.network.connect(from, to, Value::Metal { ohms }).map(|_| ())
    }

    /// An end in a splice or under a screw.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn joint(&mut self, end: NodeId, at: NodeId) -> Result<(), NetworkError> {
        let joint = self.network.connect(end, at, Value::Metal { ohms: CONTACT_OHMS })?;
        self.joints.push(joint);
        Ok(())
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
                self.metal(*from, *to, ohms / crate::number(rows.len() - 1))?;
            }
        }
        self.beside.extend(rows.iter().map(|row| row.to_vec()));
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
        let bars = self.bars.clone();
        [(home.black, breaker), (home.white, bars.neutral), (home.ground, bars.ground)]
            .into_iter()
            .try_for_each(|(end, at)| self.joint(end, at))
    }

    /// A splice of some ends.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn splice(&mut self, name: impl Into<String>, ends: &[NodeId]) -> Result<NodeId, NetworkError> {
        let splice = self.node(name);
        ends.iter().try_for_each(|end| self.joint(*end, splice))?;
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
        self.joint(splice, end)?;
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

    /// A switch whose contacts are each closed in one of its positions.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn switched(
        &mut self,
        positions: u8,
        contacts: &[(NodeId, NodeId, u8)],
        value: Value,
    ) -> Result<SwitchId, NetworkError> {
        let switch = self.network.switch(positions)?;
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
        self.switched(2, &[(from, to, 1)], Value::Metal { ohms: SWITCH_OHMS })
    }

    /// A three-way switch with its travelers under two screws.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn three_way(&mut self, name: &str, common: NodeId, ends: [NodeId; 2]) -> Result<SwitchId, NetworkError> {
        let first = self.terminal(format!("{name} traveler 1"), ends[0])?;
        let second = self.terminal(format!("{name} traveler 2"), ends[1])?;
        self.switched(2, &[(common, first, 0), (common, second, 1)], Value::Metal { ohms: SWITCH_OHMS })
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
        self.switched(2, &[(a, c, 0), (b, d, 0), (a, d, 1), (b, c, 1)], Value::Metal { ohms: SWITCH_OHMS })
    }

    /// A load of so many watts at the supply's volts.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn power(&self, watts: f64, power_factor: f64) -> Result<Value, NetworkError> {
        Value::of_power(watts, self.supply.volts(), power_factor, self.supply.hertz())
    }

    /// A load that is always there.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn load(&mut self, from: NodeId, to: NodeId, watts: f64, power_factor: f64) -> Result<(), NetworkError> {
        let value = self.power(watts, power_factor)?;
        self.network.connect(from, to, value).map(|_| ())
    }

    /// A load that somebody plugs in: a switch, unplugged at rest.
    ///
    /// # Errors
    /// [`NetworkError`] if a value is none.
    pub fn test_load(&mut self, from: NodeId, to: NodeId, watts: f64) -> Result<SwitchId, NetworkError> {
        let value = self.power(watts, 1.0)?;
        self.switched(2, &[(from, to, 1)], value)
    }
}
