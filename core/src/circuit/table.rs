//! Tables of the circuit: resistance of conductors, and the values that are assumed where nothing was noted.
//!
//! The values live under `shared/tables/` with their sources; code holds none. Both files are part of the program.
//! A table that cannot be read is found by the tests; at run time it is an error, never a panic.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::job::{Conductor, Metal};

const CONDUCTORS: &str = include_str!("../../../shared/tables/conductors.json");
const ASSUMPTIONS: &str = include_str!("../../../shared/tables/circuit.json");

/// Why a table gives no value.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// The file that came with the program is damaged.
    #[error("the table {file} that came with the program cannot be read: {why}; install the program again")]
    Damaged {
        /// Name of the table.
        file: &'static str,
        /// What the reader said.
        why: String,
    },
}

/// A value with what it rests on.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Assumed {
    /// In `unit`.
    pub value: f64,
    /// SI unit, or `1` for a ratio.
    pub unit: String,
    /// What it describes and where it is from.
    pub source: String,
    /// How it was confirmed; `assumption` where nothing stands behind it but the trade's experience.
    pub confirmed: String,
}

/// Declares the named assumptions once, so that a name without a value and a value without a name are both errors.
macro_rules! assumptions {
    ($($(#[$doc:meta])* $name:ident: $unit:literal,)*) => {
        /// Values that the circuit takes where nothing was noted. A caller may change a copy.
        #[derive(Debug, Clone, PartialEq, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct Assumptions { $($(#[$doc])* pub $name: Assumed,)* }

        impl Assumptions {
            /// All assumptions with their names, in order.
            pub fn all(&self) -> Vec<(&'static str, &Assumed)> {
                vec![$((stringify!($name), &self.$name),)*]
            }

            fn check(&self) -> Result<(), String> {
                $(
                    if self.$name.unit != $unit {
                        return Err(format!("{} is in {}, not {}", stringify!($name), self.$name.unit, $unit));
                    }
                    if !(self.$name.value.is_finite() && self.$name.value > 0.0) {
                        return Err(format!("{} is not a positive number", stringify!($name)));
                    }
                )*
                Ok(())
            }
        }
    };
}

assumptions! {
    /// Good joint of an end in a splice or under a screw, ohms.
    splice_contact: "ohm",
    /// Good push-in contact, ohms.
    push_in_contact: "ohm",
    /// Closed contact of a switch, ohms.
    switch_contact: "ohm",
    /// Closed breaker, one pole, ohms.
    breaker_contact: "ohm",
    /// Break-off link or internal join of a device, ohms.
    device_strap: "ohm",
    /// Ground screw of a metal box, or a yoke against it, ohms.
    shell_contact: "ohm",
    /// Length of a pigtail, metres.
    pigtail_length: "m",
    /// Length of a run that nobody noted, metres.
    default_run_length: "m",
    /// Temperature of conductors, degrees Celsius.
    conductor_temperature: "C",
    /// A conductor whose size is not in the table, ohms per kilometre at 20 degrees.
    default_size_ohm: "ohm/km",
    /// One leg of the source, ohms.
    source_leg: "ohm",
    /// Neutral of the source, ohms.
    source_neutral: "ohm",
    /// Bond of neutral to ground at the source, ohms.
    source_bond: "ohm",
    /// A conductor on a bar of a panel, ohms.
    bus_joint: "ohm",
    /// Grounding electrode, ohms.
    electrode: "ohm",
    /// Earth of the supply transformer, ohms.
    transformer_earth: "ohm",
    /// From every node to the reference, siemens.
    leak: "S",
    /// Between two insulated conductors of a cable, farads per metre.
    wire_capacitance: "F/m",
    /// Between an insulated conductor and the ground of a cable, farads per metre.
    ground_capacitance: "F/m",
    /// Between two single conductors in a raceway, farads per metre.
    raceway_wire_capacitance: "F/m",
    /// Between a single conductor and the metal raceway around it, farads per metre.
    raceway_metal_capacitance: "F/m",
    /// Between two single conductors in the open, farads per metre.
    open_wire_capacitance: "F/m",
    /// Between a single conductor in the open and the earth, farads per metre.
    open_earth_capacitance: "F/m",
    /// A longer run is counted as two sections, metres.
    section_length: "m",
    /// Input of a meter in its ordinary setting, ohms.
    high_impedance_meter: "ohm",
    /// Input of a meter in its low-impedance setting, ohms.
    low_impedance_meter: "ohm",
    /// Scatter of a reading, as a part of it.
    meter_part: "1",
    /// Scatter of a reading, volts.
    meter_volts: "V",
    /// From this source impedance on a reading is a ghost, ohms.
    ghost_impedance: "ohm",
    /// Lower end of a ghost as a part of the calculated value.
    ghost_low: "1",
    /// Upper end of a ghost as a part of the calculated value.
    ghost_high: "1",
    /// Metal raceway or armour that serves as ground, ohms per metre.
    sheath: "ohm/m",
    /// One leg of another supply, ohms.
    supply_leg: "ohm",
    /// Neutral of another supply, ohms.
    supply_neutral: "ohm",
    /// Two points that touch with less than this are joined, ohms.
    bridge_metal: "ohm",
    /// A bad joint with less than this still joins, ohms.
    joint_metal: "ohm",
    /// A wet path that is tried where damp is suspected, ohms.
    wet_leak: "ohm",
    /// A post that stands in soil, to the earth, ohms.
    post_in_soil: "ohm",
    /// Leads of an ohmmeter, ohms.
    ohms_leads: "ohm",
    /// From here on some ohmmeters show OL, ohms.
    ohms_range_low: "ohm",
    /// From here on every ohmmeter shows OL, ohms.
    ohms_range_high: "ohm",
    /// From this voltage on no ohmmeter reading is predicted, volts at low impedance.
    ohms_dead_volts: "V",
    /// A cold filament, lowest, as a part of what it has when lit.
    filament_cold_low: "1",
    /// A cold filament, highest, as a part of what it has when lit.
    filament_cold_high: "1",
    /// A winding to direct current, lowest, as a part of what it has when it runs.
    winding_low: "1",
    /// Scatter of a clamp, as a part of the reading.
    clamp_part: "1",
    /// Scatter of a clamp, amperes.
    clamp_amperes: "A",
    /// A load point has its power from this part of its rated volts on.
    live_low: "1",
    /// Above this part of its rated volts a load point gets too much.
    live_high: "1",
    /// Below this part of its rated volts a load point counts as off.
    dead_part: "1",
    /// Load that is tried at an unknown end, watts.
    unknown_load: "W",
    /// A guess at an unknown end that draws more would have tripped the breaker, amperes.
    trip_current: "A",
    /// From here on a ground that should be dead is called live, volts at low impedance.
    energised: "V",
    /// Sum of the currents of a run's conductors, from which on a load's hot and return are said to go different ways,
    /// as a part of what the load draws.
    net_current: "1",
    /// 120/240 V, line to neutral, lowest.
    split_phase_low: "V",
    /// 120/240 V, line to neutral, highest.
    split_phase_high: "V",
    /// 208Y/120 V, line to neutral, lowest.
    wye_low: "V",
    /// 208Y/120 V, line to neutral, highest.
    wye_high: "V",
    /// 230 V, lowest.
    single_low: "V",
    /// 230 V, highest.
    single_high: "V",
    /// 120/240 V, line to neutral, nominal.
    split_phase_nominal: "V",
    /// 208Y/120 V, line to neutral, nominal.
    wye_nominal: "V",
    /// 230 V, nominal.
    single_nominal: "V",
}

impl Assumptions {
    /// The assumptions that came with the program.
    ///
    /// # Errors
    /// [`TableError::Damaged`] if the table cannot be read.
    pub fn standard() -> Result<&'static Self, TableError> {
        static TABLE: OnceLock<Result<Assumptions, TableError>> = OnceLock::new();
        TABLE.get_or_init(|| Self::read(ASSUMPTIONS)).as_ref().map_err(Clone::clone)
    }

    fn read(text: &str) -> Result<Self, TableError> {
        let damaged = |why: String| TableError::Damaged { file: "circuit", why };
        let table: Self = serde_json::from_str(text).map_err(|error| damaged(error.to_string()))?;
        table.check().map_err(damaged)?;
        Ok(table)
    }
}

/// One size of conductor.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Size {
    /// Its name: `14`, `1/0`, `2.5mm2`.
    pub size: String,
    /// Section in square millimetres.
    pub area_mm2: f64,
    /// Solid copper at 20 degrees Celsius, ohms per kilometre.
    pub copper_ohm_per_km_20c: f64,
    /// Solid aluminium at 20 degrees Celsius, ohms per kilometre; none where it is not made.
    pub aluminium_ohm_per_km_20c: Option<f64>,
    /// What stranding multiplies the resistance by.
    pub stranded_factor: f64,
    /// Where the values are from.
    pub source: String,
    /// How they were confirmed.
    pub confirmed: String,
}

/// A metal's change with temperature.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// Per kelvin, referred to 20 degrees Celsius.
    pub temperature_coefficient_per_kelvin_20c: f64,
    /// Resistance as a multiple of that of solid copper of the same size, for a metal that has no column of its own.
    #[serde(default)]
    pub times_copper: Option<f64>,
    /// Where it is from.
    pub source: String,
    /// How it was confirmed.
    pub confirmed: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    #[serde(rename = "about")]
    _about: String,
    materials: BTreeMap<Metal, Material>,
    sizes: Vec<Size>,
}

/// Resistance of conductors by size, metal, stranding and temperature.
#[derive(Debug)]
pub struct Conductors {
    materials: BTreeMap<Metal, Material>,
    sizes: BTreeMap<String, Size>,
}

impl Conductors {
    /// The table that came with the program.
    ///
    /// # Errors
    /// [`TableError::Damaged`] if the table cannot be read.
    pub fn standard() -> Result<&'static Self, TableError> {
        static TABLE: OnceLock<Result<Conductors, TableError>> = OnceLock::new();
        TABLE.get_or_init(|| Self::read(CONDUCTORS)).as_ref().map_err(Clone::clone)
    }

    fn read(text: &str) -> Result<Self, TableError> {
        let damaged = |why: String| TableError::Damaged { file: "conductors", why };
        let written: Written = serde_json::from_str(text).map_err(|error| damaged(error.to_string()))?;
        let mut sizes = BTreeMap::new();
        for size in written.sizes {
            let numbers = [size.area_mm2, size.copper_ohm_per_km_20c, size.stranded_factor];
            let good = numbers.iter().chain(&size.aluminium_ohm_per_km_20c).all(|n| n.is_finite() && *n > 0.0);
            if !good {
                return Err(damaged(format!("size {} has a value that is not positive", size.size)));
            }
            if let Some(twice) = sizes.insert(size.size.clone(), size) {
                return Err(damaged(format!("size {} stands twice", twice.size)));
            }
        }
        let multiple = |material: &Material| material.times_copper.is_none_or(|times| times.is_finite() && times > 0.0);
        if !written.materials.values().all(multiple) {
            return Err(damaged("a metal has a resistance that is not positive".to_owned()));
        }
        Ok(Self { materials: written.materials, sizes })
    }

    /// The sizes, ordered by name.
    pub fn sizes(&self) -> impl Iterator<Item = &Size> + '_ {
        self.sizes.values()
    }

    /// Whether the table has this size.
    pub fn has(&self, size: &str) -> bool {
        self.sizes.contains_key(size)
    }

    /// Ohms per metre of one conductor at a temperature in degrees Celsius, direct current. For the sizes of branch
    /// circuits alternating current makes no difference that a meter shows. `None` if the size is not in the table
    /// or is not made of this metal.
    pub fn ohms_per_metre(&self, size: &str, metal: Metal, stranded: bool, celsius: f64) -> Option<f64> {
        let row = self.sizes.get(size)?;
        let material = self.materials.get(&metal)?;
        let per_km = match (metal, material.times_copper) {
            (Metal::Copper, _) => row.copper_ohm_per_km_20c,
            (_, Some(times)) => row.copper_ohm_per_km_20c * times,
            (Metal::Aluminium | Metal::CopperCladAluminium, None) => row.aluminium_ohm_per_km_20c?,
        };
        let coefficient = material.temperature_coefficient_per_kelvin_20c;
        let lay = if stranded { row.stranded_factor } else { 1.0 };
        Some(per_km / 1000.0 * lay * (1.0 + coefficient * (celsius - 20.0)))
    }

    /// The same for a conductor as it was noted.
    pub fn of(&self, conductor: &Conductor, celsius: f64) -> Option<f64> {
        self.ohms_per_metre(&conductor.size, conductor.metal, conductor.stranded, celsius)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_tables_can_be_read() {
        let assumptions = Assumptions::standard().unwrap();
        assert!(assumptions.all().iter().all(|(_, a)| !a.source.is_empty() && !a.confirmed.is_empty()));
        let conductors = Conductors::standard().unwrap();
        assert!(conductors.sizes().all(|size| !size.source.is_empty() && !size.confirmed.is_empty()));
        assert_eq!(conductors.materials.len(), 3);
    }

    #[test]
    fn a_damaged_table_is_an_error_with_a_sentence() {
        let error = Conductors::read("{}").unwrap_err();
        assert!(error.to_string().contains("install the program again"));
        let doubled = r#"{"about":"","materials":{},"sizes":[
            {"size":"14","area_mm2":2,"copper_ohm_per_km_20c":8,"aluminium_ohm_per_km_20c":null,"stranded_factor":1,"source":"","confirmed":""},
            {"size":"14","area_mm2":2,"copper_ohm_per_km_20c":8,"aluminium_ohm_per_km_20c":null,"stranded_factor":1,"source":"","confirmed":""}]}"#;
        assert!(Conductors::read(doubled).unwrap_err().to_string().contains("stands twice"));
        assert!(Assumptions::read(&ASSUMPTIONS.replace("\"unit\": \"S\"", "\"unit\": \"V\"")).is_err());
        assert!(Assumptions::read(&ASSUMPTIONS.replace("0.001", "-0.001")).is_err());
    }

    /// Copper-clad aluminium lies between copper and aluminium: a tenth of its section is copper, so that it conducts
    /// 0.1 + 0.9 x 0.61 = 0.649 of copper (ASTM B566, class 10A; the standard's own 26.76 nanoohm metres, from memory,
    /// is 0.644).
    #[test]
    fn copper_clad_aluminium_lies_between_its_metals() {
        let table = Conductors::standard().unwrap();
        let ohms = |metal| table.ohms_per_metre("12", metal, false, 20.0).unwrap();
        let (copper, clad, aluminium) = (ohms(Metal::Copper), ohms(Metal::CopperCladAluminium), ohms(Metal::Aluminium));
        assert!(copper < clad && clad < aluminium);
        assert!((copper / clad - 0.649).abs() < 0.001 && (copper / clad - 17.241 / 26.76).abs() < 0.01);
    }

    /// A flat cable on a reel, ground floating, measures 21 pF/ft between its conductors (published measurement):
    /// straight across and by way of the ground.
    #[test]
    fn cable_capacitances_give_what_was_measured_on_a_reel() {
        let table = Assumptions::standard().unwrap();
        let per_metre = table.wire_capacitance.value + table.ground_capacitance.value / 2.0;
        let pf_per_ft = per_metre * 0.3048 * 1e12;
        assert!((pf_per_ft - 21.0).abs() < 0.1, "{pf_per_ft}");
    }
}
