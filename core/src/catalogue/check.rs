//! What an entry of the catalogue must hold, so that no room above has to ask.

use std::collections::BTreeSet;

use super::device::{DeviceType, PointForm, Switch};
use super::fault::CatalogueFault;
use super::goods::{BoxType, ConnectorForm, ConnectorType, RunForm, RunType};
use super::size;

type Checked = Result<(), CatalogueFault>;

/// Refuses a name that comes twice among `names`.
fn unique<'a>(entry: &str, names: impl IntoIterator<Item = &'a str>) -> Checked {
    let mut seen = BTreeSet::new();
    for name in names {
        if name.is_empty() {
            return Err(CatalogueFault::new(entry, "catalogue.fault.empty", ""));
        }
        if !seen.insert(name) {
            return Err(CatalogueFault::new(entry, "catalogue.fault.twice", name));
        }
    }
    Ok(())
}

fn known_size(entry: &str, name: &str) -> Checked {
    match size::area_thousandth_mm2(name) {
        Some(_) => Ok(()),
        None => Err(CatalogueFault::new(entry, "catalogue.fault.size", name)),
    }
}

/// Every point that anything in a device speaks of.
fn spoken_of(device: &DeviceType) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    names.extend(device.links.iter().flat_map(|(_, a, b)| [a.as_str(), b]));
    names.extend(device.joined.iter().flat_map(|(a, b)| [a.as_str(), b]));
    let positions = device.switches.iter().flat_map(|switch| &switch.positions);
    names.extend(positions.flat_map(|position| &position.connects).flat_map(|(a, b)| [a.as_str(), b]));
    for load in &device.loads {
        names.extend([load.from.as_str(), &load.to]);
        names.extend([&load.ground, &load.neutral].into_iter().flatten().map(String::as_str));
    }
    if let Some(sensor) = &device.sensor {
        names.extend(sensor.before.iter().chain(&sensor.after).map(String::as_str));
    }
    names
}

/// A load that drives a switch is one of the device, and both positions are the switch's own.
fn driven(device: &DeviceType, switch: &Switch) -> Checked {
    let Some(driven) = &switch.driven_by else { return Ok(()) };
    if device.load(&driven.load).is_none_or(|load| load.outlet) {
        return Err(CatalogueFault::new(&device.id, "catalogue.fault.driven", &driven.load));
    }
    let named = std::iter::once(&driven.released).chain(&driven.pulled_in);
    match named.into_iter().find(|name| switch.positions.iter().all(|position| position.id != **name)) {
        Some(name) => Err(CatalogueFault::new(&device.id, "catalogue.fault.driven", name)),
        None => Ok(()),
    }
}

/// Checks one kind of device.
pub(super) fn device(device: &DeviceType) -> Checked {
    let entry = &device.id;
    unique(entry, device.points.iter().map(|point| point.id.as_str()))?;
    unique(entry, device.switches.iter().map(|switch| switch.id.as_str()))?;
    unique(entry, device.loads.iter().map(|load| load.id.as_str()))?;
    unique(entry, device.links.iter().map(|(link, _, _)| link.as_str()))?;
    if device.points.is_empty() {
        return Err(CatalogueFault::new(entry, "catalogue.fault.points", ""));
    }
    if let Some(name) = spoken_of(device).into_iter().find(|name| device.point(name).is_none()) {
        return Err(CatalogueFault::new(entry, "catalogue.fault.no_point", name));
    }
    for switch in &device.switches {
        unique(entry, switch.positions.iter().map(|position| position.id.as_str()))?;
        if switch.positions.len() < 2 {
            return Err(CatalogueFault::new(entry, "catalogue.fault.positions", &switch.id));
        }
    }
    device.switches.iter().try_for_each(|switch| driven(device, switch))?;
    if device.sensor.as_ref().is_some_and(|sensor| sensor.difference != sensor.class.is_some()) {
        return Err(CatalogueFault::new(entry, "catalogue.fault.sensor", ""));
    }
    for point in &device.points {
        point.size.as_deref().map_or(Ok(()), |size| known_size(entry, size))?;
        if point.form == PointForm::Terminal && (point.landings.is_empty() || point.holds == 0) {
            return Err(CatalogueFault::new(entry, "catalogue.fault.landing", &point.id));
        }
        if point.form == PointForm::Lead && point.colour.is_none() {
            return Err(CatalogueFault::new(entry, "catalogue.fault.colour", &point.id));
        }
    }
    for load in &device.loads {
        let watts = load.watts.is_none_or(|watts| watts.is_finite() && watts >= 0.0);
        let rated = load.volts.is_finite() && load.volts > 0.0;
        let factor = load.power_factor > 0.0 && load.power_factor <= 1.0;
        if !(watts && rated && factor) || load.outlet == load.watts.is_some() {
            return Err(CatalogueFault::new(entry, "catalogue.fault.load", &load.id));
        }
    }
    Ok(())
}

/// Checks one kind of run.
pub(super) fn run(run: &RunType) -> Checked {
    run.wires.iter().try_for_each(|wire| known_size(&run.id, &wire.size))?;
    if run.wires.is_empty() && matches!(run.form, RunForm::Cable | RunForm::Cord) {
        return Err(CatalogueFault::new(&run.id, "catalogue.fault.wires", ""));
    }
    let capacitance = [run.pf_per_ft, run.ground_pf_per_ft].into_iter().flatten();
    if let Some(wrong) = capacitance.into_iter().find(|pf| !(pf.is_finite() && *pf >= 0.0)) {
        return Err(CatalogueFault::new(&run.id, "catalogue.fault.capacitance", &wrong.to_string()));
    }
    Ok(())
}

/// Checks one kind of connector.
pub(super) fn connector(connector: &ConnectorType) -> Checked {
    let has_ports = matches!(connector.form, ConnectorForm::Lever | ConnectorForm::PushIn);
    if has_ports == connector.ports.is_some_and(|ports| ports > 1) {
        Ok(())
    } else {
        Err(CatalogueFault::new(&connector.id, "catalogue.fault.ports", ""))
    }
}

/// Checks one kind of box.
pub(super) fn r#box(kind: &BoxType) -> Checked {
    if kind.volume.is_some_and(|volume| volume.in_units(4).is_none_or(|volume| volume <= 0)) {
        return Err(CatalogueFault::new(&kind.id, "catalogue.fault.volume", ""));
    }
    if kind.volume.is_some() && (kind.source.is_none() || kind.how.is_none()) {
        return Err(CatalogueFault::new(&kind.id, "catalogue.fault.source", ""));
    }
    Ok(())
}
