//! What can be bought: devices, runs, connectors and boxes, as data under `shared/catalogue/`.
//!
//! A new kind of device is an entry there and a line of words, not code. Every entry is checked as it is read, so
//! that the rooms above can take a named point for one that exists.

mod check;
mod device;
mod fault;
mod goods;
mod list;
mod size;
mod wires;

use std::sync::OnceLock;

use serde::Deserialize;

use crate::words::english;

pub use device::{
    DeviceGroup, DevicePoint, DeviceType, Driven, GroundedNeutral, Load, Metalwork, PointForm, Position, Role, Sensor,
    Switch,
};
pub use fault::CatalogueFault;
pub use goods::{BoxType, ConnectorForm, ConnectorType, RunForm, RunType};
pub use size::{area_thousandth_mm2, larger, largest, sizes};
pub use wires::{bus_name, colour_name, conductors, size_name};

use list::List;

/// The text of the four lists that the program brings.
const DEVICES: &str = include_str!("../../../shared/catalogue/devices.json");
const RUNS: &str = include_str!("../../../shared/catalogue/runs.json");
const CONNECTORS: &str = include_str!("../../../shared/catalogue/connectors.json");
const BOXES: &str = include_str!("../../../shared/catalogue/boxes.json");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Devices {
    #[allow(dead_code, reason = "says where the entries come from, to whoever reads the file")]
    about: String,
    devices: Vec<DeviceType>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Runs {
    #[allow(dead_code, reason = "says where the entries come from, to whoever reads the file")]
    about: String,
    runs: Vec<RunType>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Connectors {
    #[allow(dead_code, reason = "says where the entries come from, to whoever reads the file")]
    about: String,
    connectors: Vec<ConnectorType>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Boxes {
    #[allow(dead_code, reason = "says where the entries come from, to whoever reads the file")]
    about: String,
    boxes: Vec<BoxType>,
}

/// Everything that can be picked by name.
#[derive(Debug, Clone, Default)]
pub struct Catalogue {
    devices: List<DeviceType>,
    runs: List<RunType>,
    connectors: List<ConnectorType>,
    boxes: List<BoxType>,
}

/// Reads one list.
fn read<T: for<'de> Deserialize<'de>>(entry: &str, text: &str) -> Result<T, CatalogueFault> {
    serde_json::from_str(text).map_err(|error| CatalogueFault::new(entry, "catalogue.fault.json", &error.to_string()))
}

impl Catalogue {
    /// The catalogue that the program brings, read once. Should it be broken, which a test refuses, it is empty:
    /// everything then shows as not known, and nothing noted is harmed.
    pub fn shared() -> &'static Self {
        static SHARED: OnceLock<Catalogue> = OnceLock::new();
        SHARED.get_or_init(|| Self::read_shared().unwrap_or_default())
    }

    /// Reads the lists that the program brings.
    pub fn read_shared() -> Result<Self, CatalogueFault> {
        Self::from_lists(DEVICES, RUNS, CONNECTORS, BOXES)
    }

    /// A catalogue from the text of four lists, each `{"about": …, "devices" | "runs" | "connectors" | "boxes": […]}`.
    pub fn from_lists(devices: &str, runs: &str, connectors: &str, boxes: &str) -> Result<Self, CatalogueFault> {
        let mut catalogue = Self::default();
        for device in read::<Devices>("devices", devices)?.devices {
            catalogue.add_device(device)?;
        }
        for run in read::<Runs>("runs", runs)?.runs {
            check::run(&run)?;
            catalogue.runs.push(&run.id.clone(), run)?;
        }
        for connector in read::<Connectors>("connectors", connectors)?.connectors {
            check::connector(&connector)?;
            catalogue.connectors.push(&connector.id.clone(), connector)?;
        }
        for kind in read::<Boxes>("boxes", boxes)?.boxes {
            check::r#box(&kind)?;
            catalogue.boxes.push(&kind.id.clone(), kind)?;
        }
        Ok(catalogue)
    }

    fn add_device(&mut self, device: DeviceType) -> Result<(), CatalogueFault> {
        check::device(&device)?;
        self.devices.push(&device.id.clone(), device)
    }

    /// This catalogue with more kinds of devices: one entry of `devices.json`, or an array of them.
    /// On an error nothing is added.
    pub fn with(&self, device_json: &str) -> Result<Self, CatalogueFault> {
        let mut more = self.clone();
        let entries: Vec<DeviceType> = if device_json.trim_start().starts_with('[') {
            read("devices", device_json)?
        } else {
            vec![read("devices", device_json)?]
        };
        entries.into_iter().try_for_each(|device| more.add_device(device))?;
        Ok(more)
    }

    /// The kind of device of this name.
    pub fn device(&self, id: &str) -> Option<&DeviceType> {
        self.devices.get(id)
    }

    /// The kind of run of this name.
    pub fn run(&self, id: &str) -> Option<&RunType> {
        self.runs.get(id)
    }

    /// The kind of connector of this name.
    pub fn connector(&self, id: &str) -> Option<&ConnectorType> {
        self.connectors.get(id)
    }

    /// The kind of box of this name.
    pub fn box_type(&self, id: &str) -> Option<&BoxType> {
        self.boxes.get(id)
    }

    /// All kinds of devices, in list order.
    pub fn devices(&self) -> impl Iterator<Item = &DeviceType> {
        self.devices.iter()
    }

    /// All kinds of runs, in list order.
    pub fn runs(&self) -> impl Iterator<Item = &RunType> {
        self.runs.iter()
    }

    /// All kinds of connectors, in list order.
    pub fn connectors(&self) -> impl Iterator<Item = &ConnectorType> {
        self.connectors.iter()
    }

    /// All kinds of boxes, in list order.
    pub fn box_types(&self) -> impl Iterator<Item = &BoxType> {
        self.boxes.iter()
    }

    /// A kind of device in words; its own name where the words file has none, else its id.
    pub fn device_name(&self, id: &str) -> String {
        let own = self.device(id).and_then(|device| device.name.as_deref());
        words_or("device", id, own)
    }
}

/// The words under `section.id`, or `own`, or the id.
fn words_or(section: &str, id: &str, own: Option<&str>) -> String {
    english().find(&format!("{section}.{id}")).or(own).unwrap_or(id).to_owned()
}

/// A kind of run in words: "14-2 with ground".
pub fn run_name(id: &str) -> String {
    words_or("run", id, None)
}

/// A kind of run in few letters: "14-2"; in words where it has no shorter name.
pub fn run_short_name(id: &str) -> String {
    english().find(&format!("run_short.{id}")).map_or_else(|| run_name(id), str::to_owned)
}

/// A kind of connector in words: "lever, 5 ports".
pub fn connector_name(id: &str) -> String {
    words_or("connector", id, None)
}

/// A kind of box in words.
pub fn box_name(id: &str) -> String {
    words_or("box", id, None)
}

/// A terminal or lead in words: "traveler 1".
pub fn point_name(id: &str) -> String {
    words_or("point", id, None)
}

/// A load point in words: "upper half".
pub fn load_name(id: &str) -> String {
    words_or("load", id, None)
}

/// A handle or contact set in words.
pub fn switch_name(id: &str) -> String {
    words_or("switch", id, None)
}

/// A position of a handle in words: "up".
pub fn position_name(id: &str) -> String {
    words_or("position", id, None)
}

/// A break-off link in words.
pub fn link_name(id: &str) -> String {
    words_or("link", id, None)
}
