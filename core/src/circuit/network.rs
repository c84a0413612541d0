//! A plain network of passive elements, fixed sources and switched contacts. It knows nothing of wiring.
//!
//! Every value is checked as it comes in, so that the solution needs no check: there is no zero resistance, no
//! negative one and no missing one. Alternating current of one frequency; voltages are RMS phasors.

use std::f64::consts::TAU;

use num_complex::Complex64;

/// A point of the network at which elements meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub(super) u32);

/// An element between two nodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(pub(super) u32);

/// A set of contacts that move together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SwitchId(pub(super) u32);

impl NodeId {
    /// As a place in a list.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl ElementId {
    /// As a place in a list.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl SwitchId {
    /// As a place in a list.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Why an element was refused. The network is as it was before.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NetworkError {
    /// Zero, negative, not a number, or beyond what exists.
    #[error("{value} {unit} is outside {least} to {most}")]
    Value {
        /// What was given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Least that is taken.
        least: f64,
        /// Most that is taken.
        most: f64,
    },
    /// Both sides of an element are the same node.
    #[error("an element cannot begin and end at one node")]
    OneNode,
    /// A node, element or switch of another network.
    #[error("the node, element or switch is not part of this network")]
    NotHere,
    /// A switch without positions, or a position that it does not have.
    #[error("a switch has 1 to {most} positions")]
    Positions {
        /// Most positions.
        most: u8,
    },
    /// More nodes or elements than can be numbered.
    #[error("the network has too many parts")]
    TooLarge,
}

/// What an element is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// Metal: a conductor, a joint, a contact. It connects.
    Metal {
        /// Ohms.
        ohms: f64,
    },
    /// Anything else that lets current through: soil, insulation, a meter.
    Resistance {
        /// Ohms.
        ohms: f64,
    },
    /// Insulation between two conductors.
    Capacitance {
        /// Farads.
        farads: f64,
    },
    /// Something that draws power: resistance and inductance in series.
    Load {
        /// Ohms.
        ohms: f64,
        /// Henries; zero for pure resistance.
        henries: f64,
    },
    /// Nothing: an element that was taken away. It keeps its number and its place.
    Open,
}

const OHMS: (f64, f64) = (1e-7, 1e15);
const FARADS: (f64, f64) = (1e-18, 1.0);
const HENRIES: (f64, f64) = (0.0, 1e6);
const HERTZ: (f64, f64) = (1.0, 1e5);
const SIEMENS: (f64, f64) = (1e-15, 1.0);
const VOLTS: (f64, f64) = (0.0, 1e6);
const MOST_POSITIONS: u8 = 32;

fn within(value: f64, unit: &'static str, (least, most): (f64, f64)) -> Result<f64, NetworkError> {
    // A comparison with NaN is false, so that NaN is refused too.
    if value >= least && value <= most { Ok(value) } else { Err(NetworkError::Value { value, unit, least, most }) }
}

impl Value {
    /// A load that draws `watts` at `volts` with a lagging power factor.
    ///
    /// # Errors
    /// [`NetworkError::Value`] if one of them is not positive or the power factor is above 1 or under 0.05.
    pub fn of_power(watts: f64, volts: f64, power_factor: f64, hertz: f64) -> Result<Self, NetworkError> {
        let watts = within(watts, "W", (1e-6, 1e9))?;
        let volts = within(volts, "V", (1e-3, VOLTS.1))?;
        let factor = within(power_factor, "power factor", (0.05, 1.0))?;
        let hertz = within(hertz, "Hz", HERTZ)?;
        let impedance_ohms = volts * volts * factor / watts;
        let reactance_ohms = impedance_ohms * (1.0 - factor * factor).sqrt();
        Ok(Self::Load { ohms: impedance_ohms * factor, henries: reactance_ohms / (TAU * hertz) })
    }

    pub(super) fn check(self) -> Result<Self, NetworkError> {
        match self {
            Self::Metal { ohms } | Self::Resistance { ohms } => within(ohms, "ohm", OHMS)?,
            Self::Capacitance { farads } => within(farads, "F", FARADS)?,
            Self::Load { ohms, henries } => within(ohms, "ohm", OHMS).and(within(henries, "H", HENRIES))?,
            Self::Open => 0.0,
        };
        Ok(self)
    }

    /// Whether it joins its two nodes as metal does.
    pub fn connects(self) -> bool {
        matches!(self, Self::Metal { .. })
    }

    /// Admittance in siemens at a frequency.
    pub fn admittance(self, hertz: f64) -> Complex64 {
        match self {
            Self::Metal { ohms } | Self::Resistance { ohms } => Complex64::new(1.0 / ohms, 0.0),
            Self::Capacitance { farads } => Complex64::new(0.0, TAU * hertz * farads),
            Self::Load { ohms, henries } => Complex64::new(ohms, TAU * hertz * henries).inv(),
            Self::Open => Complex64::ZERO,
        }
    }
}

/// A contact is closed in some positions of one switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Contact {
    /// The switch.
    pub switch: SwitchId,
    /// One bit for each position, from the lowest.
    closed: u32,
}

impl Contact {
    /// Whether it is closed in a position.
    pub fn closed_in(self, position: u8) -> bool {
        position < MOST_POSITIONS && self.closed >> position & 1 == 1
    }
}

/// An element with its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Element {
    /// One side.
    pub from: NodeId,
    /// The other side.
    pub to: NodeId,
    /// What it is.
    pub value: Value,
    /// There only in some positions of a switch; always there if none.
    pub contact: Option<Contact>,
}

impl Element {
    /// Whether it is there with the switches in these positions.
    pub fn present(&self, state: &State) -> bool {
        self.contact.is_none_or(|contact| contact.closed_in(state.position(contact.switch)))
    }

    /// The other side of it.
    pub fn other(&self, node: NodeId) -> NodeId {
        if node == self.from { self.to } else { self.from }
    }
}

/// A position for each switch of a network.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct State(Vec<u8>);

impl State {
    /// The position of a switch, from 0.
    pub fn position(&self, switch: SwitchId) -> u8 {
        self.0.get(switch.index()).copied().unwrap_or(0)
    }

    /// The same with one switch elsewhere.
    #[must_use]
    pub fn with(mut self, switch: SwitchId, position: u8) -> Self {
        if let Some(slot) = self.0.get_mut(switch.index()) {
            *slot = position;
        }
        self
    }
}

/// Nodes, elements, sources and switches.
#[derive(Debug, Clone)]
pub struct Network {
    hertz: f64,
    leak_siemens: f64,
    /// Phasor of a fixed node, none for the others.
    nodes: Vec<Option<Complex64>>,
    elements: Vec<Element>,
    /// Number of positions of each switch.
    switches: Vec<u8>,
}

impl Network {
    /// A network with its reference node, which is at zero volts. Every other node leaks to it a little, so that an
    /// island without a source has a voltage.
    ///
    /// # Errors
    /// [`NetworkError::Value`] if the frequency or the leak is out of range.
    pub fn new(hertz: f64, leak_siemens: f64) -> Result<Self, NetworkError> {
        within(hertz, "Hz", HERTZ)?;
        within(leak_siemens, "S", SIEMENS)?;
        let nodes = vec![Some(Complex64::ZERO)];
        Ok(Self { hertz, leak_siemens, nodes, elements: Vec::new(), switches: Vec::new() })
    }

    /// The node at zero volts.
    pub fn reference(&self) -> NodeId {
        NodeId(0)
    }

    /// Frequency in hertz.
    pub fn hertz(&self) -> f64 {
        self.hertz
    }

    /// Leak of each node to the reference, in siemens.
    pub fn leak_siemens(&self) -> f64 {
        self.leak_siemens
    }

    /// A new node whose voltage is to be found.
    pub fn node(&mut self) -> NodeId {
        self.add(None)
    }

    /// A new node whose voltage is given, in volts RMS.
    ///
    /// # Errors
    /// [`NetworkError::Value`] if it is not a voltage.
    pub fn source(&mut self, volts: Complex64) -> Result<NodeId, NetworkError> {
        within(volts.norm(), "V", VOLTS)?;
        Ok(self.add(Some(volts)))
    }

    fn add(&mut self, fixed: Option<Complex64>) -> NodeId {
        let id = NodeId(u32::try_from(self.nodes.len()).unwrap_or(u32::MAX));
        self.nodes.push(fixed);
        id
    }

    /// Gives a source another voltage.
    ///
    /// # Errors
    /// [`NetworkError::NotHere`] if the node is not a source, [`NetworkError::Value`] if it is not a voltage.
    pub fn set_source(&mut self, node: NodeId, volts: Complex64) -> Result<(), NetworkError> {
        within(volts.norm(), "V", VOLTS)?;
        match self.nodes.get_mut(node.index()) {
            Some(Some(fixed)) if node != NodeId(0) => *fixed = volts,
            _ => return Err(NetworkError::NotHere),
        }
        Ok(())
    }

    /// A new switch.
    ///
    /// # Errors
    /// [`NetworkError::Positions`] if the number of positions is zero or too large.
    pub fn switch(&mut self, positions: u8) -> Result<SwitchId, NetworkError> {
        if positions == 0 || positions > MOST_POSITIONS {
            return Err(NetworkError::Positions { most: MOST_POSITIONS });
        }
        let id = SwitchId(u32::try_from(self.switches.len()).map_err(|_| NetworkError::TooLarge)?);
        self.switches.push(positions);
        Ok(id)
    }

    /// An element that is always there.
    ///
    /// # Errors
    /// See [`NetworkError`].
    pub fn connect(&mut self, from: NodeId, to: NodeId, value: Value) -> Result<ElementId, NetworkError> {
        self.put(Element { from, to, value, contact: None })
    }

    /// An element that is there in some positions of a switch.
    ///
    /// # Errors
    /// See [`NetworkError`].
    pub fn contact(
        &mut self,
        (from, to): (NodeId, NodeId),
        value: Value,
        switch: SwitchId,
        closed_in: &[u8],
    ) -> Result<ElementId, NetworkError> {
        let closed = self.bits(switch, closed_in)?;
        self.put(Element { from, to, value, contact: Some(Contact { switch, closed }) })
    }

    fn put(&mut self, element: Element) -> Result<ElementId, NetworkError> {
        let count = self.nodes.len();
        if element.from.index() >= count || element.to.index() >= count {
            return Err(NetworkError::NotHere);
        }
        if element.from == element.to {
            return Err(NetworkError::OneNode);
        }
        let value = element.value.check()?;
        let id = ElementId(u32::try_from(self.elements.len()).map_err(|_| NetworkError::TooLarge)?);
        self.elements.push(Element { value, ..element });
        Ok(id)
    }

    /// Makes an element something else, [`Value::Open`] to take it away. All numbers stay.
    ///
    /// # Errors
    /// [`NetworkError::NotHere`] or [`NetworkError::Value`]; the network is then as it was.
    pub fn replace(&mut self, id: ElementId, value: Value) -> Result<(), NetworkError> {
        let value = value.check()?;
        self.elements.get_mut(id.index()).ok_or(NetworkError::NotHere)?.value = value;
        Ok(())
    }

    /// Makes a contact close in other positions of its switch.
    ///
    /// # Errors
    /// [`NetworkError::NotHere`] if the element is no contact, [`NetworkError::Positions`] if its switch has no such
    /// position.
    pub fn close_in(&mut self, id: ElementId, closed_in: &[u8]) -> Result<(), NetworkError> {
        let contact = self.element(id).and_then(|element| element.contact).ok_or(NetworkError::NotHere)?;
        let closed = self.bits(contact.switch, closed_in)?;
        self.elements.get_mut(id.index()).ok_or(NetworkError::NotHere)?.contact = Some(Contact { closed, ..contact });
        Ok(())
    }

    /// One bit for each position.
    fn bits(&self, switch: SwitchId, closed_in: &[u8]) -> Result<u32, NetworkError> {
        let positions = self.positions(switch).ok_or(NetworkError::NotHere)?;
        if closed_in.iter().any(|position| *position >= positions) {
            return Err(NetworkError::Positions { most: positions });
        }
        Ok(closed_in.iter().fold(0, |bits, position| bits | 1 << position))
    }

    /// Number of nodes, the reference among them.
    pub fn node_count(&self) -> usize {
        self.nodes.len()
    }

    /// All nodes in order.
    pub fn nodes(&self) -> impl Iterator<Item = NodeId> + use<> {
        (0..u32::try_from(self.nodes.len()).unwrap_or(u32::MAX)).map(NodeId)
    }

    /// The given voltage of a node; none if it is to be found.
    pub fn fixed(&self, node: NodeId) -> Option<Complex64> {
        self.nodes.get(node.index()).copied().flatten()
    }

    /// All elements in order.
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// Names of all elements in order.
    pub fn element_ids(&self) -> impl Iterator<Item = ElementId> + use<> {
        (0..u32::try_from(self.elements.len()).unwrap_or(u32::MAX)).map(ElementId)
    }

    /// One element.
    pub fn element(&self, id: ElementId) -> Option<&Element> {
        self.elements.get(id.index())
    }

    /// Number of switches.
    pub fn switch_count(&self) -> usize {
        self.switches.len()
    }

    /// All switches in order.
    pub fn switches(&self) -> impl Iterator<Item = SwitchId> + use<> {
        (0..u32::try_from(self.switches.len()).unwrap_or(u32::MAX)).map(SwitchId)
    }

    /// Number of positions of a switch.
    pub fn positions(&self, switch: SwitchId) -> Option<u8> {
        self.switches.get(switch.index()).copied()
    }

    /// Every switch in its first position.
    pub fn first_state(&self) -> State {
        State(vec![0; self.switches.len()])
    }

    /// Every combination of positions of some switches, the first one slowest; the others stay as in `rest`.
    pub fn states(&self, of: &[SwitchId], rest: &State) -> Vec<State> {
        let mut states = vec![rest.clone()];
        for switch in of {
            let positions = self.positions(*switch).unwrap_or(1);
            states = states
                .into_iter()
                .flat_map(|state| (0..positions).map(move |position| state.clone().with(*switch, position)))
                .collect();
        }
        states
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_a_value_is_refused() {
        let mut network = Network::new(60.0, 1e-12).unwrap();
        let (a, b) = (network.node(), network.node());
        for ohms in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-9, 1e16] {
            assert!(network.connect(a, b, Value::Metal { ohms }).is_err(), "{ohms}");
        }
        assert!(network.connect(a, b, Value::Capacitance { farads: 0.0 }).is_err());
        assert!(network.connect(a, b, Value::Load { ohms: 10.0, henries: -1.0 }).is_err());
        assert_eq!(network.connect(a, a, Value::Metal { ohms: 1.0 }), Err(NetworkError::OneNode));
        assert_eq!(network.connect(a, NodeId(9), Value::Metal { ohms: 1.0 }), Err(NetworkError::NotHere));
        assert!(network.switch(0).is_err());
        let switch = network.switch(2).unwrap();
        assert!(network.contact((a, b), Value::Metal { ohms: 1.0 }, switch, &[2]).is_err());
        assert!(network.elements().is_empty());
        assert!(Network::new(0.0, 1e-12).is_err());
        assert!(Network::new(60.0, 0.0).is_err());
        assert!(Value::of_power(0.0, 120.0, 1.0, 60.0).is_err());
        assert!(Value::of_power(60.0, 120.0, 1.01, 60.0).is_err());
    }

    #[test]
    fn a_load_draws_its_watts_at_its_volts() {
        for factor in [1.0, 0.6] {
            let load = Value::of_power(500.0, 120.0, factor, 60.0).unwrap();
            let power = (load.admittance(60.0) * 120.0 * 120.0).conj();
            assert!((power.re - 500.0).abs() < 1e-9);
            assert!((power.re / power.norm() - factor).abs() < 1e-12);
        }
    }

    #[test]
    fn an_element_that_is_taken_away_keeps_its_number() {
        let mut network = Network::new(60.0, 1e-12).unwrap();
        let (a, b) = (network.node(), network.node());
        let first = network.connect(a, b, Value::Metal { ohms: 1.0 }).unwrap();
        let switch = network.switch(2).unwrap();
        let second = network.contact((a, b), Value::Metal { ohms: 1.0 }, switch, &[1]).unwrap();
        network.replace(first, Value::Open).unwrap();
        assert!(!network.element(first).unwrap().value.connects());
        assert_eq!(network.element(first).unwrap().value.admittance(60.0), Complex64::ZERO);
        assert!(network.replace(first, Value::Metal { ohms: f64::NAN }).is_err());
        assert_eq!(network.element(first).unwrap().value, Value::Open);
        network.close_in(second, &[0]).unwrap();
        assert!(network.element(second).unwrap().present(&network.first_state()));
        assert!(network.close_in(second, &[2]).is_err() && network.close_in(first, &[0]).is_err());
        assert!(network.replace(ElementId(7), Value::Open).is_err());
    }

    #[test]
    fn every_combination_of_positions_comes_once() {
        let mut network = Network::new(60.0, 1e-12).unwrap();
        let switches = [network.switch(2).unwrap(), network.switch(3).unwrap(), network.switch(2).unwrap()];
        let states = network.states(&switches[..2], &network.first_state());
        assert_eq!(states.len(), 6);
        assert!(states.windows(2).all(|pair| pair[0] < pair[1]));
    }
}
