//! Kinds of devices: their terminals and leads, what their switches connect, their loads and links.

use serde::Deserialize;

use crate::job::{Colour, Landing};

/// What a device is to the trade; orders the list that a person picks from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum DeviceGroup {
    Switch,
    Receptacle,
    Combination,
    Control,
    Protective,
    Luminaire,
    Load,
    /// A load with a plug.
    PlugIn,
    /// Breakers, fuses, disconnects, transfer switches.
    Overcurrent,
}

/// A screw terminal or a lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PointForm {
    /// Takes conductors.
    Terminal,
    /// Brings a conductor of its own.
    Lead,
    /// A blade of a plug, or a slot: reached by plugging in, never by a conductor.
    Blade,
    /// A breaker's stab on a panel bus.
    Stab,
}

/// What a terminal looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum Metalwork {
    Brass,
    Silver,
    Green,
    Dark,
    Plain,
}

/// What a terminal or lead is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Constant hot in, or the line side of a device.
    Line,
    /// A hot of a receptacle or load.
    Hot,
    /// The conductor that a switch makes live.
    Switched,
    /// Protected side of a protective device.
    Load,
    /// The common of a three-way switch.
    Common,
    /// A traveler.
    Traveler,
    /// Neutral.
    Neutral,
    /// Neutral on the protected side.
    NeutralLoad,
    /// Equipment ground.
    Ground,
    /// Signal: smoke alarm interconnect, companion of a smart switch, control conductors.
    Signal,
}

/// One terminal or lead.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DevicePoint {
    /// Its name within the device.
    pub id: String,
    /// Terminal, lead or blade.
    pub form: PointForm,
    /// What it is for.
    pub role: Role,
    /// What it looks like.
    #[serde(default)]
    pub metalwork: Option<Metalwork>,
    /// A lead's colour.
    #[serde(default)]
    pub colour: Option<Colour>,
    /// A lead's size as the conductor table names it.
    #[serde(default)]
    pub size: Option<String>,
    /// Ways in which it takes conductors.
    #[serde(default)]
    pub landings: Vec<Landing>,
    /// Most conductors that one landing is identified for: 1 unless marked for more.
    #[serde(default = "one")]
    pub holds: u8,
    /// A grounding terminal kept apart from the yoke (250.146(D)).
    #[serde(default)]
    pub isolated: bool,
}

fn one() -> u8 {
    1
}

/// A position of a switch and what is connected in it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Position {
    /// `up`, `down`, `on`, `off`.
    pub id: String,
    /// Pairs of points that are connected in it.
    pub connects: Vec<(String, String)>,
}

/// One handle or contact set of a device.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Switch {
    /// Its name within the device.
    pub id: String,
    /// Its positions, in the order in which a trial goes through them.
    pub positions: Vec<Position>,
    /// The device itself marks which position is ON. If not, which connections a position takes is not known
    /// until a trial tells: the listed order or the reverse.
    pub marked: bool,
    /// Not worked by a hand: sensor, timer, thermostat, trip.
    #[serde(default)]
    pub automatic: bool,
    /// A load of the same device works it.
    #[serde(default)]
    pub driven_by: Option<Driven>,
}

/// A contact set that a load of its own device works: a relay's coil, or the supply of its electronics.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Driven {
    /// The load.
    pub load: String,
    /// Position that it falls back to while the load has no voltage.
    pub released: String,
    /// Position that it goes to while the load has its voltage; none for electronics that hold whatever position was
    /// asked for.
    #[serde(default)]
    pub pulled_in: Option<String>,
}

/// Something that draws power, or an outlet for it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// Its name within the device.
    pub id: String,
    /// Point that it draws from.
    pub from: String,
    /// Point that it returns to.
    pub to: String,
    /// Ground contact, for an outlet.
    #[serde(default)]
    pub ground: Option<String>,
    /// Neutral contact, for an outlet between two hots that also brings a neutral.
    #[serde(default)]
    pub neutral: Option<String>,
    /// Watts at the rated voltage; none for an outlet with nothing in it.
    #[serde(default)]
    pub watts: Option<f64>,
    /// Rated volts.
    #[serde(default = "volts_120")]
    pub volts: f64,
    /// Power factor, lagging; 1 for resistance.
    #[serde(default = "unity")]
    pub power_factor: f64,
    /// Volts below which an electronic load draws nothing.
    #[serde(default)]
    pub stops_below: Option<f64>,
    /// Something is plugged into it rather than being part of it.
    #[serde(default)]
    pub outlet: bool,
    /// It takes a lamp, which may have a filament.
    #[serde(default)]
    pub lamp: bool,
    /// Draws whenever it has power, unnoticed: a control's own supply, a bell transformer.
    #[serde(default)]
    pub auxiliary: bool,
}

fn volts_120() -> f64 {
    120.0
}

fn unity() -> f64 {
    1.0
}

/// Which points are on which side of a current sensor.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sensor {
    /// Points before the sensor.
    pub before: Vec<String>,
    /// Points after it.
    pub after: Vec<String>,
    /// Trips on the difference of the currents (GFCI), else on arcs alone.
    pub difference: bool,
    /// Its class in the trip table; none for one that trips on arcs alone.
    #[serde(default)]
    pub class: Option<String>,
    /// What a protected neutral that is joined to ground does, without any load.
    #[serde(default)]
    pub grounded_neutral: GroundedNeutral,
    /// It cannot be set while its line side has no voltage: fed from its load side it stays open.
    #[serde(default)]
    pub locks_out: bool,
}

/// Whether a protected neutral that is joined to ground trips a device without any load.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GroundedNeutral {
    /// It is not looked for.
    #[default]
    Holds,
    /// Nobody knows: older devices.
    May,
    /// It trips.
    Trips,
}

/// A kind of device.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceType {
    /// Its name in the catalogue; the words for people are under `device.<id>`.
    pub id: String,
    /// What it is to the trade.
    pub group: DeviceGroup,
    /// Yokes or straps (314.16(B)(4)); 0 for what is not mounted by one.
    pub yokes: u8,
    /// Gangs that it takes.
    pub gangs: u8,
    /// Rating in amperes.
    #[serde(default)]
    pub amperes: Option<u16>,
    /// Its name for people where the words file has none: for kinds added later as data.
    #[serde(default)]
    pub name: Option<String>,
    /// The configuration of its slots or blades by NEMA WD 6: `5-15`, `14-50`.
    #[serde(default)]
    pub configuration: Option<String>,
    /// An assembly of terminals for splicing (314.16(B)(6) from 2023 on).
    #[serde(default)]
    pub terminal_block: bool,
    /// Terminals and leads, in the order in which they are drawn.
    pub points: Vec<DevicePoint>,
    /// Break-off links, named, each between two points.
    #[serde(default)]
    pub links: Vec<(String, String, String)>,
    /// Points that are always connected inside.
    #[serde(default)]
    pub joined: Vec<(String, String)>,
    /// Switches, each on its own.
    #[serde(default)]
    pub switches: Vec<Switch>,
    /// Loads and outlets.
    #[serde(default)]
    pub loads: Vec<Load>,
    /// A current sensor.
    #[serde(default)]
    pub sensor: Option<Sensor>,
}

impl DeviceType {
    /// The point of this name.
    pub fn point(&self, id: &str) -> Option<&DevicePoint> {
        self.points.iter().find(|point| point.id == id)
    }

    /// Yokes' worth of room: a device wider than one gang counts once for each gang that it needs (314.16(B)(4)).
    pub fn yoke_gangs(&self) -> u8 {
        if self.yokes == 0 { 0 } else { self.yokes.max(self.gangs) }
    }

    /// The load of this name.
    pub fn load(&self, id: &str) -> Option<&Load> {
        self.loads.iter().find(|load| load.id == id)
    }

    /// The switch of this name.
    pub fn switch(&self, id: &str) -> Option<&Switch> {
        self.switches.iter().find(|switch| switch.id == id)
    }
}
