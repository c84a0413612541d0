//! A general circuit simulator as an outside reference: ngspice as a shared library in this process.
//!
//! The network is loaded once; after that only values are altered. A contact that is not closed stays in the deck as
//! 1e30 ohms. That is no element at all to double precision (its siemens are eighteen powers of ten below the leak of
//! a node), so that nothing of a difference to the program comes from it; 1e12 ohms, which simulators usually take,
//! would be as good a path as the leak itself and would lift a floating part to half of its neighbour's voltage.
//!
//! ngspice keeps its state in globals: whoever holds a [`Spice`] holds the one lock.

mod shared;

use std::ffi::CString;
use std::sync::{MutexGuard, PoisonError};

use boxproof_core::circuit::{Network, State, Value};
use num_complex::Complex64;
use shared::Shared;

/// A contact that is not closed.
const OPEN_OHMS: f64 = 1e30;
/// A capacitance that is not there.
const NO_FARADS: f64 = 1e-40;

/// Why ngspice gave nothing.
#[derive(Debug, Clone, thiserror::Error)]
pub enum SpiceError {
    /// The library is not on this machine.
    #[error("ngspice's shared library was not found ({0}); install the Debian package libngspice0")]
    Missing(String),
    /// It refused a circuit or a command.
    #[error("ngspice refused \"{what}\": {said}")]
    Refused {
        /// What it was asked.
        what: String,
        /// What it said.
        said: String,
    },
}

/// Name and version of the library.
///
/// # Errors
/// [`SpiceError`]
pub fn version() -> Result<String, SpiceError> {
    Ok(shared::library()?.lock().unwrap_or_else(PoisonError::into_inner).version())
}

/// ngspice with one network loaded.
pub struct Spice<'n> {
    shared: MutexGuard<'static, Shared>,
    network: &'n Network,
    state: State,
    /// Vector of each node that has one.
    vectors: Vec<Option<CString>>,
    analysis: CString,
    destroy: CString,
}

/// A command of our own making; it holds no zero byte.
fn text(command: String) -> CString {
    CString::new(command).unwrap_or_default()
}

/// What an element is called, and its value where it is there and where it is not.
fn name_and_values(n: usize, value: Value) -> (String, f64, f64) {
    match value {
        Value::Metal { ohms } | Value::Resistance { ohms } | Value::Load { ohms, .. } => {
            (format!("r{n}"), ohms, OPEN_OHMS)
        }
        Value::Capacitance { farads } => (format!("c{n}"), farads, NO_FARADS),
        Value::Open => (format!("r{n}"), OPEN_OHMS, OPEN_OHMS),
    }
}

fn deck(network: &Network, state: &State) -> Vec<String> {
    let mut lines = vec!["a network of boxproof".to_owned()];
    for node in network.nodes().skip(1) {
        if let Some(volts) = network.fixed(node) {
            let (size, degrees) = (volts.norm(), volts.arg().to_degrees());
            lines.push(format!("v{0} n{0} 0 dc 0 ac {size:e} {degrees:e}", node.index()));
        }
    }
    let name = |node: boxproof_core::circuit::NodeId| match node.index() {
        0 => "0".to_owned(),
        n => format!("n{n}"),
    };
    for (n, element) in network.elements().iter().enumerate() {
        let (called, there, absent) = name_and_values(n, element.value);
        let value = if element.present(state) { there } else { absent };
        let (from, mut to) = (name(element.from), name(element.to));
        if let Value::Load { henries, .. } = element.value
            && henries > 0.0
        {
            lines.push(format!("l{n} m{n} {to} {henries:e}"));
            to = format!("m{n}");
        }
        lines.push(format!("{called} {from} {to} {value:e}"));
    }
    // The leak of every node; and no operating point first, which a linear network does not need.
    lines.push(format!(".options rshunt={:e} noopac", 1.0 / network.leak_siemens()));
    lines.push(".end".to_owned());
    lines
}

impl<'n> Spice<'n> {
    /// Waits for the one library and loads a network into it, with the switches in these positions.
    ///
    /// # Errors
    /// [`SpiceError`]
    pub fn load(network: &'n Network, state: &State) -> Result<Self, SpiceError> {
        let mut shared = shared::library()?.lock().unwrap_or_else(PoisonError::into_inner);
        shared.circuit(&deck(network, state))?;
        let vector =
            |node: boxproof_core::circuit::NodeId| (node.index() > 0).then(|| text(format!("n{}", node.index())));
        let vectors = network.nodes().map(vector).collect();
        let hertz = network.hertz();
        let analysis = text(format!("ac lin 1 {hertz} {hertz}"));
        let destroy = text("destroy all".into());
        Ok(Self { shared, network, state: state.clone(), vectors, analysis, destroy })
    }

    /// Commands that take the switches to other positions: only values that differ.
    pub fn alterations(&self, to: &State) -> Vec<CString> {
        let changes = |n: usize, element: &boxproof_core::circuit::Element| {
            let present = element.present(to);
            let (called, there, absent) = name_and_values(n, element.value);
            (present != element.present(&self.state))
                .then(|| text(format!("alter {called} = {:e}", if present { there } else { absent })))
        };
        let elements = self.network.elements().iter().enumerate();
        elements
            .filter(|(_, element)| element.contact.is_some())
            .filter_map(|(n, element)| changes(n, element))
            .collect()
    }

    /// Takes the switches to other positions.
    ///
    /// # Errors
    /// [`SpiceError::Refused`]
    pub fn alter(&mut self, commands: &[CString], to: &State) -> Result<(), SpiceError> {
        commands.iter().try_for_each(|command| self.shared.command(command))?;
        self.state.clone_from(to);
        Ok(())
    }

    /// Solves the positions that it is in. What it found stays until [`Self::forget`].
    ///
    /// # Errors
    /// [`SpiceError::Refused`]
    pub fn solve(&mut self) -> Result<(), SpiceError> {
        self.shared.command(&self.analysis)
    }

    /// Solves them so many times as points of one analysis: the bare engine, without what surrounds an analysis.
    ///
    /// # Errors
    /// [`SpiceError::Refused`]
    pub fn solve_points(&mut self, points: usize) -> Result<(), SpiceError> {
        let hertz = self.network.hertz();
        self.shared.command(&text(format!("ac lin {points} {hertz} {}", hertz * (1.0 + 1e-5))))
    }

    /// Voltages of every node of the last analysis, in the network's order.
    ///
    /// # Errors
    /// [`SpiceError::Refused`] if a node has no voltage.
    pub fn volts(&mut self) -> Result<Vec<Complex64>, SpiceError> {
        let shared = &mut self.shared;
        let nodes = self.vectors.iter().map(|vector| match vector {
            None => Ok(Complex64::ZERO),
            Some(name) => shared.value(name).ok_or_else(|| SpiceError::Refused {
                what: format!("voltage of {}", name.to_string_lossy()),
                said: "there is no such vector".into(),
            }),
        });
        nodes.collect()
    }

    /// Throws the last analysis away.
    ///
    /// # Errors
    /// [`SpiceError::Refused`]
    pub fn forget(&mut self) -> Result<(), SpiceError> {
        self.shared.command(&self.destroy)
    }

    /// Voltages of every node in a state.
    ///
    /// # Errors
    /// [`SpiceError::Refused`]
    pub fn at(&mut self, state: &State) -> Result<Vec<Complex64>, SpiceError> {
        let commands = self.alterations(state);
        self.alter(&commands, state)?;
        self.solve()?;
        let volts = self.volts()?;
        self.forget()?;
        Ok(volts)
    }
}

impl Drop for Spice<'_> {
    fn drop(&mut self) {
        // The next network begins with an empty library. One that cannot be removed only costs memory.
        let _ = self.shared.command(c"remcirc");
    }
}
