//! What can be bought: devices, runs, connectors and boxes, as data under `shared/catalogue/`.
//!
//! A new kind of device is an entry there and a line of words, not code.

mod device;
mod goods;

pub use device::{DeviceGroup, DevicePoint, DeviceType, Load, Metalwork, PointForm, Position, Role, Sensor, Switch};
pub use goods::{BoxType, ConnectorForm, ConnectorType, RunForm, RunType};
