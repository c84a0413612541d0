//! When protective devices and controls act: the values with their sources, from `shared/tables/trip.json`.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use super::super::table::{Assumed, TableError};

const TRIP: &str = include_str!("../../../../shared/tables/trip.json");

/// How a device acts on a difference of currents.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SensorClass {
    /// Below this it does not trip, milliamperes.
    pub holds_below: Assumed,
    /// From here on it trips, milliamperes.
    pub trips_from: Assumed,
    /// It trips within (this / I) to the power below, seconds; milliamperes.
    pub curve_milliamperes: Assumed,
    /// The power.
    pub curve_power: Assumed,
    /// Above this the time is as it is here, milliamperes.
    pub curve_end: Assumed,
    /// A way of metal round the sensor is found up to this resistance, ohms.
    pub grounded_neutral: Assumed,
}

impl SensorClass {
    /// Longest time in seconds in which it opens at a difference of currents that trips it.
    pub fn seconds(&self, milliamperes: f64) -> f64 {
        let counted = milliamperes.min(self.curve_end.value);
        (self.curve_milliamperes.value / counted).powf(self.curve_power.value)
    }
}

/// Longest time to open from a part of the rating on.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OvercurrentRow {
    /// From this many times the rating on.
    pub from: f64,
    /// For ratings up to this, amperes.
    pub up_to_amperes: f64,
    /// Opens within, seconds.
    pub seconds: f64,
    /// Where it is from.
    pub source: String,
    /// How it was confirmed.
    pub confirmed: String,
}

/// Everything that protective devices and controls go by. A caller may change a copy.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TripTable {
    /// What the table is.
    pub about: String,
    /// Classes of sensors by the name that the catalogue gives them.
    pub classes: BTreeMap<String, SensorClass>,
    /// A breaker holds up to this many times its rating.
    pub carries: Assumed,
    /// Times to open.
    pub overcurrent: Vec<OvercurrentRow>,
    /// It may open at once from this many times its rating on.
    pub magnetic_may: Assumed,
    /// It opens at once from this many times its rating on.
    pub magnetic_does: Assumed,
    /// Least rating that a breaker without a noted one can have, amperes.
    pub least_rating: Assumed,
    /// Greatest rating that a breaker without a noted one can have, amperes.
    pub most_rating: Assumed,
    /// Devices that open within this time open together, seconds.
    pub together: Assumed,
    /// A coil pulls in from this part of its rated volts on.
    pub coil_pulls_in: Assumed,
    /// A coil has let go below this part of its rated volts.
    pub coil_drops_out: Assumed,
    /// A small electronic lamp glows from this current on, milliamperes.
    pub glow: Assumed,
}

impl TripTable {
    /// The table that came with the program.
    ///
    /// # Errors
    /// [`TableError::Damaged`] if it cannot be read.
    pub fn standard() -> Result<&'static Self, TableError> {
        static TABLE: OnceLock<Result<TripTable, TableError>> = OnceLock::new();
        TABLE.get_or_init(|| Self::read(TRIP)).as_ref().map_err(Clone::clone)
    }

    fn read(text: &str) -> Result<Self, TableError> {
        let damaged = |why: String| TableError::Damaged { file: "trip", why };
        let table: Self = serde_json::from_str(text).map_err(|error| damaged(error.to_string()))?;
        table.check().map_err(damaged)?;
        Ok(table)
    }

    /// Every single value with its name and unit.
    pub fn all(&self) -> Vec<(String, &Assumed, &'static str)> {
        let mut all: Vec<(String, &Assumed, &'static str)> = Vec::new();
        for (name, class) in &self.classes {
            for (what, value, unit) in [
                ("holds_below", &class.holds_below, "mA"),
                ("trips_from", &class.trips_from, "mA"),
                ("curve_milliamperes", &class.curve_milliamperes, "mA"),
                ("curve_power", &class.curve_power, "1"),
                ("curve_end", &class.curve_end, "mA"),
                ("grounded_neutral", &class.grounded_neutral, "ohm"),
            ] {
                all.push((format!("{name} {what}"), value, unit));
            }
        }
        for (what, value, unit) in [
            ("carries", &self.carries, "1"),
            ("magnetic_may", &self.magnetic_may, "1"),
            ("magnetic_does", &self.magnetic_does, "1"),
            ("least_rating", &self.least_rating, "A"),
            ("most_rating", &self.most_rating, "A"),
            ("together", &self.together, "s"),
            ("coil_pulls_in", &self.coil_pulls_in, "1"),
            ("coil_drops_out", &self.coil_drops_out, "1"),
            ("glow", &self.glow, "mA"),
        ] {
            all.push((what.to_owned(), value, unit));
        }
        all
    }

    fn check(&self) -> Result<(), String> {
        for (name, value, unit) in self.all() {
            if value.unit != unit {
                return Err(format!("{name} is in {}, not {unit}", value.unit));
            }
            if !(value.value.is_finite() && value.value > 0.0) {
                return Err(format!("{name} is not a positive number"));
            }
        }
        let good = |row: &&OvercurrentRow| {
            [row.from, row.up_to_amperes, row.seconds].into_iter().all(|value| value.is_finite() && value > 0.0)
        };
        match self.overcurrent.iter().find(|row| !good(row)) {
            Some(row) => Err(format!("the time from {} times the rating on is not a positive number", row.from)),
            None => Ok(()),
        }
    }

    /// Longest time in seconds until `times` the rating opens a breaker of this rating; none where nothing is sure.
    pub fn opens_within(&self, times: f64, rating_amperes: f64) -> Option<f64> {
        let rows = self.overcurrent.iter().filter(|row| times >= row.from && rating_amperes <= row.up_to_amperes);
        rows.map(|row| row.seconds).min_by(f64::total_cmp)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_says_where_it_is_from() {
        let table = TripTable::standard().unwrap();
        assert!(table.all().iter().all(|(_, value, _)| !value.source.is_empty() && !value.confirmed.is_empty()));
        assert!(table.overcurrent.iter().all(|row| !row.source.is_empty() && !row.confirmed.is_empty()));
    }

    #[test]
    fn a_damaged_table_is_an_error_with_a_sentence() {
        assert!(TripTable::read("{}").unwrap_err().to_string().contains("install the program again"));
        assert!(TripTable::read(&TRIP.replace("\"unit\": \"ohm\"", "\"unit\": \"V\"")).is_err());
        assert!(TripTable::read(&TRIP.replace("\"from\": 1.35", "\"from\": -1.35")).is_err());
    }

    /// UL 943 as public pages give it: T = (20 / I)^1.43, 25 ms at 264 mA and above. The other times are worked out
    /// from the formula by hand: 6 mA 5.59 s, 20 mA 1.00 s, 30 mA 0.560 s, 100 mA 0.100 s.
    #[test]
    fn times_of_class_a_follow_the_published_curve() {
        let class = &TripTable::standard().unwrap().classes["class_a"];
        for (milliamperes, seconds) in
            [(6.0, 5.59), (7.5, 4.07), (20.0, 1.0), (30.0, 0.560), (100.0, 0.100), (264.0, 0.025), (5000.0, 0.025)]
        {
            let worked_out = class.seconds(milliamperes);
            assert!((worked_out - seconds).abs() < 0.005 * seconds + 0.0003, "{milliamperes} mA: {worked_out} s");
        }
    }

    /// IEC 61008-1, general type, from memory: longest times at once, twice and five times the rated 30 mA. The curve
    /// must not promise less; it starts where the standard's does.
    #[test]
    fn times_of_residual_current_devices_are_never_below_the_standards() {
        let class = &TripTable::standard().unwrap().classes["residual_30"];
        assert!((class.seconds(30.0) - 0.3).abs() < 1e-9 && (class.seconds(60.0) - 0.15).abs() < 1e-9);
        assert!((0.04..0.1).contains(&class.seconds(150.0)) && (class.seconds(500.0) - 0.04).abs() < 1e-9);
        assert!((class.holds_below.value - 15.0).abs() < 1e-9, "half of the rated current does not trip it");
    }

    /// UL 489 by a breaker maker's public page: 135 % within 1 h, 200 % within 2 min up to 30 A.
    #[test]
    fn times_of_breakers_follow_the_published_figures() {
        let table = TripTable::standard().unwrap();
        assert_eq!(table.opens_within(1.34, 15.0), None);
        assert_eq!(table.opens_within(1.35, 15.0), Some(3600.0));
        assert_eq!(table.opens_within(2.0, 20.0), Some(120.0));
        // From memory.
        assert_eq!(table.opens_within(2.0, 60.0), Some(360.0));
        assert_eq!(table.opens_within(1.5, 100.0), Some(7200.0));
    }
}
