//! What is left when power comes on: what trips, what stays locked out, what small lamps may do in what is left.

use boxproof_core::circuit::{Operated, Solver, Trip, When};
use boxproof_core::job::ThingId;
use boxproof_core::token::Line;

use super::Stage;
use super::statement::Outcome;

impl Stage {
    /// Judges a statement about protective devices or about glowing lamps; none if it is neither. Handles that are
    /// not named are at rest.
    pub(super) fn operated(&self, said: &Line, words: &[&str]) -> Option<Result<Outcome, String>> {
        Some(match (said.verb.as_str(), words) {
            ("trips", [device, how @ ..]) if matches!(how, [] | ["at", "once"]) => self.trips(said, device, how),
            ("holds", [device]) => self.holds(said, device),
            ("locked", [device]) => self.locked(said, device),
            ("left", [load, power @ ("on" | "off")]) => self.left(said, load, power),
            ("glows", [load]) => self.glows(said, load, true),
            ("no", ["glow", load]) => self.glows(said, load, false),
            _ => return None,
        })
    }

    fn device(&self, name: &str) -> Result<ThingId, String> {
        self.names().device(name).map_err(|why| why.to_string())
    }

    fn with_power<T>(&self, said: &Line, of: impl FnOnce(&Operated<'_>) -> T) -> Result<T, String> {
        let (solver, state) = (Solver::new(&self.circuit.network), self.state(said)?);
        Ok(of(&self.circuit.operate(&solver, &state)))
    }

    /// What a device did; an error if it protects nothing, for then it would always hold.
    fn acts(&self, said: &Line, name: &str) -> Result<(Vec<Trip>, bool), String> {
        let device = self.device(name)?;
        let circuit = &self.circuit;
        let sensors = circuit.sensors.iter().map(|sensing| &sensing.handle);
        let mut guards = sensors.chain(circuit.breakers.iter().map(|breaking| &breaking.handle));
        if !guards.any(|handle| handle.device == device) {
            return Err(format!("{name} opens nothing by itself"));
        }
        self.with_power(said, |operated| {
            let own = operated.trips.iter().filter(|trip| trip.handle.device == device).cloned().collect();
            (own, operated.locked.iter().any(|handle| handle.device == device))
        })
    }

    /// `trips P:5 at once`, `trips B:gfci at=B:switch.handle=on`
    fn trips(&self, said: &Line, name: &str, how: &[&str]) -> Result<Outcome, String> {
        let (trips, _) = self.acts(said, name)?;
        let fits = |trip: &Trip| if how.is_empty() { trip.when.is_sure() } else { trip.when == When::AtOnce };
        Ok(Outcome { holds: trips.iter().any(fits), got: format!("{trips:?}") })
    }

    /// `holds P:5`: it does not trip and could not.
    fn holds(&self, said: &Line, name: &str) -> Result<Outcome, String> {
        let (trips, locked) = self.acts(said, name)?;
        let got = if locked { "it is locked out".to_owned() } else { format!("{trips:?}") };
        Ok(Outcome { holds: trips.is_empty() && !locked, got })
    }

    /// `locked B:gfci`: it cannot be set.
    fn locked(&self, said: &Line, name: &str) -> Result<Outcome, String> {
        let (trips, locked) = self.acts(said, name)?;
        Ok(Outcome { holds: locked, got: format!("it can be set, {trips:?}") })
    }

    /// `left B:gfci.upper off`: what a load has once everything has opened that opens by itself.
    fn left(&self, said: &Line, name: &str, wanted: &str) -> Result<Outcome, String> {
        let (_, load) = self.load(name)?;
        let (power, volts) = self.with_power(said, |operated| self.power(load, &operated.settled))?;
        Ok(Outcome { holds: power == wanted, got: format!("{power}, {volts:.1} V") })
    }

    /// `glows B7:light.lamp at=...`, `no glow B7:light.lamp at=...`
    fn glows(&self, said: &Line, name: &str, wanted: bool) -> Result<Outcome, String> {
        let (point, load) = self.load(name)?;
        let (solver, state) = (Solver::new(&self.circuit.network), self.state(said)?);
        let settled = self.circuit.settle(&solver, &state);
        let leak = self.circuit.glow_milliamperes(&solver, &settled, &point);
        let (power, volts) = self.power(load, &settled);
        let got = format!("it leaks {leak:?} mA, it is {power} at {volts:.1} V");
        Ok(Outcome { holds: leak.is_some() == wanted, got })
    }
}
