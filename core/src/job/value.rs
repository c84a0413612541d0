//! The single values that can be noted. A value's kind is its field; see [`Value::field`].

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::id::{Author, ThingId};
use super::measure::Decimal;
use super::subject::{Bus, Handle, LoadPoint, Place};

/// What sort of thing a thing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The building that the log belongs to.
    Site,
    /// A piece of work at the site.
    Job,
    /// Somebody who works there.
    Person,
    /// A meter, a proximity indicator, a proving unit.
    Instrument,
    /// An outlet, switch, junction or panel box, a conduit body, or a splice in the air.
    Box,
    /// What leads from one box to another, or a pigtail inside one.
    Run,
    /// Ends joined with one another.
    Splice,
    /// Anything with terminals or leads of its own, breakers and plugged-in loads among them.
    Device,
    /// Another thing that can make a box live: generator, solar, battery, inverter, cord, another feed.
    Supply,
    /// One dead check or live check of a box.
    Check,
}

/// A conductor's colour as it is seen. Colour is evidence, not fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum Colour {
    Black,
    White,
    Red,
    Blue,
    Green,
    GreenYellow,
    Gray,
    Brown,
    Orange,
    Yellow,
    Purple,
    Bare,
    /// Old cloth covering whose colour tells nothing.
    Cloth,
    /// Painted over.
    Painted,
    /// Looked at and still not to be told.
    CannotTell,
}

/// One conductor of a run.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Conductor {
    /// Its colour.
    pub colour: Colour,
    /// Its size as the conductor table names it: `14`, `1/0`, `2.5mm2`.
    pub size: String,
    /// Its metal.
    pub metal: Metal,
    /// Many strands instead of one.
    pub stranded: bool,
    /// It is an equipment grounding conductor by its make.
    pub ground: bool,
}

/// What a conductor is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum Metal {
    Copper,
    Aluminium,
    CopperCladAluminium,
}

/// Unit of a noted length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum LengthUnit {
    Feet,
    Metres,
}

/// Where a run enters a box, seen from the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum EntryPoint {
    BottomLeft,
    Left,
    TopLeft,
    Top,
    TopRight,
    Right,
    BottomRight,
    Bottom,
    Back,
}

/// What feeds a panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum System {
    /// 120/240 V, two legs and a neutral, 60 Hz.
    SplitPhase,
    /// 208Y/120 V, 60 Hz.
    Wye208,
    /// 230 V, one line and a neutral, 50 Hz.
    Single230,
}

/// Another thing that can make a box live.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum SupplyKind {
    Generator,
    Solar,
    Battery,
    Inverter,
    Cord,
    /// The other leg of a shared neutral.
    OtherLeg,
    /// A switch or load fed from elsewhere.
    FedElsewhere,
}

/// What was asked for: a load point and what it shall do.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Promise {
    /// The load point.
    pub load: LoadPoint,
    /// What it shall do.
    pub rule: Promised,
}

/// What a load point shall do. A load point without a promise is [`Promised::AsFound`].
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Promised {
    /// Has power in every position.
    Always,
    /// Has power in none.
    Never,
    /// Every flip of one of these toggles it; nothing else changes it.
    Toggled(BTreeSet<Handle>),
    /// Does what it did before.
    AsFound,
}

/// Declares the value kinds once, and from them the fields that they fill.
macro_rules! values {
    ($($(#[$doc:meta])* $name:ident($($inner:tt)*),)*) => {
        /// A single value of a subject. A later one names the values that it replaces.
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Value { $($(#[$doc])* $name(values!(@type $($inner)*)),)* }

        /// The kind of a [`Value`].
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum FieldKind { $($(#[$doc])* $name,)* }

        impl Value {
            /// The kind of this value.
            pub fn kind(&self) -> FieldKind {
                match self { $(Self::$name(..) => FieldKind::$name,)* }
            }
        }
    };
    (@type $inner:ty) => { $inner };
}

values! {
    /// What sort of thing it is.
    Is(Kind),
    /// That it is there, in a layer.
    Present(bool),
    /// A name in words.
    Name(String),
    /// The short tag that is written on it: `B3`.
    Tag(String),
    /// Where it is, in words.
    Location(String),
    /// Its entry in the catalogue: of a box, a run, a splice's connector, a device, an instrument.
    Type(String),
    /// The box that it is in, for a splice, a device or one side of a run; `None`: known to be nowhere yet.
    InBox(Option<ThingId>),
    /// Street address of a site.
    Address(String),
    /// Whom the work is for.
    Customer(String),
    /// The office's number of a job.
    JobNumber(String),
    /// The permit.
    Permit(String),
    /// The edition of the code that is set for a job, as a year.
    Edition(u16),
    /// The job that this one comes after.
    After(Option<ThingId>),
    /// What was asked for, in words.
    Scope(String),
    /// What was asked of one load point.
    Promise(Promise),
    /// Boxes that the plan opens (true) or leaves alone (false), with the reason.
    Open(OpenOrNot),
    /// Volts above which this job calls a dead check not proven; a policy, never the code's.
    DeadLimit(Decimal),
    /// A person's licence.
    Licence(String),
    /// The key that a person's entries are signed with.
    Key(Author),
    /// Serial number of an instrument.
    Serial(String),
    /// Measurement category of an instrument.
    Category(String),
    /// Impedance of an instrument's voltage input in kilohms.
    Burden(Burden),
    /// Volume marked on a box, in cubic inches.
    Volume(Decimal),
    /// A ring, extension or domed cover with its marked volume.
    Addition(Addition),
    /// Internal cable clamps: how many.
    Clamps(u8),
    /// Types of luminaire studs and hickeys in the box.
    Studs(u8),
    /// Gangs of a box.
    Gangs(u8),
    /// The cover is part of a luminaire with a dome or canopy.
    Canopy(bool),
    /// Can be reached without opening the building finish.
    Accessible(bool),
    /// The opening of the box is under 8 in. in some dimension (300.14).
    SmallOpening(bool),
    /// Low-voltage or limited-energy conductors are in it.
    LowVoltage(bool),
    /// Other circuits in it, in words.
    OtherCircuits(String),
    /// What feeds a panel.
    System(System),
    /// Length of a run.
    Length(Length),
    /// One conductor of a run, where the type does not bring it or it differs.
    Wire(NumberedWire),
    /// How a run is laid.
    Method(String),
    /// Condition of the insulation.
    Insulation(String),
    /// The raceway itself serves as equipment ground.
    GroundPath(bool),
    /// The letter of a run at one side.
    Letter(String),
    /// Where a run enters a box.
    EntersAt(EntryPoint),
    /// The breaker that a run's side in a panel is said to come from.
    Feed(ThingId),
    /// Where an end is.
    Place(Place),
    /// The tape on an end as written; `None`: looked at, nothing written.
    Label(Option<String>),
    /// The colour that an end was re-marked with; `None`: looked at, not re-marked.
    Remarked(Option<Colour>),
    /// The colour of an end where it differs from its run's.
    Colour(Colour),
    /// Free conductor in the box, in inches.
    FreeLength(Decimal),
    /// Torque applied at an end's terminal, in pound-force inches.
    Torque(Decimal),
    /// Which gang a device sits in, from 1 at the left.
    Gang(u8),
    /// A break-off link of a device.
    Link(Link),
    /// Rating in amperes.
    Rating(Decimal),
    /// Watts of one load point.
    Watts(LoadWatts),
    /// Which mapping a handle's first position takes, learnt from a trial.
    Mapping(Mapping),
    /// The circuit number of a breaker.
    Number(String),
    /// The bus that a breaker's first pole takes.
    Leg(Bus),
    /// The directory line of a circuit.
    Directory(String),
    /// The outlet that a load is plugged into; `None`: unplugged.
    PluggedInto(Option<LoadPoint>),
    /// What sort of supply it is.
    Supply(SupplyKind),
    /// A source that was noted to reach this box, or noted not to.
    FedBy(FedBy),
    /// Combinations printed on a connector's pack, for a conductor size.
    Range(Range),
    /// A person's own form of words that are written on tape.
    Abbreviation(Abbreviation),
}

/// Whether a box is to be opened for a job.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OpenOrNot {
    /// The box.
    pub r#box: ThingId,
    /// To be opened.
    pub open: bool,
    /// Why, in words.
    pub why: String,
}

/// Input impedance of an instrument in one of its settings.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Burden {
    /// The low-impedance setting, else the ordinary one.
    pub low: bool,
    /// Kilohms.
    pub kilohms: Decimal,
}

/// A part that adds volume to a box.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Addition {
    /// Which one, from 0.
    pub n: u8,
    /// What it is, in words.
    pub what: String,
    /// Marked volume in cubic inches; `None`: not marked, adds nothing.
    pub volume: Option<Decimal>,
}

/// A noted length.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Length {
    /// As typed.
    pub value: Decimal,
    /// Its unit.
    pub unit: LengthUnit,
    /// Measured, else estimated.
    pub measured: bool,
}

/// One conductor of a run with its number.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NumberedWire {
    /// Which conductor, from 0.
    pub n: u8,
    /// The conductor.
    pub conductor: Conductor,
}

/// State of a break-off link.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Link {
    /// The link's name in the catalogue.
    pub link: String,
    /// Whole, else broken off.
    pub whole: bool,
}

/// Watts of one load point.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LoadWatts {
    /// The load point's name in the catalogue.
    pub load: String,
    /// Watts at rated voltage.
    pub watts: Decimal,
}

/// Which way round a switch is built: whether its positions take the catalogue's connections in the listed order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// The switch's name in the catalogue.
    pub switch: String,
    /// In the listed order, else reversed.
    pub listed: bool,
}

/// A source that does or does not reach a box.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FedBy {
    /// A breaker or another supply.
    pub source: ThingId,
    /// It reaches the box.
    pub reaches: bool,
}

/// What a pack says that a connector takes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// The connector's entry in the catalogue.
    pub connector: String,
    /// Conductor size.
    pub size: String,
    /// Fewest conductors.
    pub least: u8,
    /// Most conductors.
    pub most: u8,
}

/// A person's own form of words that are written on tape.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Abbreviation {
    /// The words as they are proposed: `SW LEG`.
    pub of: String,
    /// What this person writes instead: `S.L.`.
    pub text: String,
}

/// Tells two values of one kind apart that speak of different parts of a subject.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// The subject has one value of this kind.
    Whole,
    /// A numbered part.
    Number(u8),
    /// A named part.
    Named(String),
    /// A part that is a thing.
    Thing(ThingId),
    /// A load point.
    Load(LoadPoint),
}

/// What a value fills: two values of one subject compete only if their fields are equal.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Field {
    /// The kind.
    pub kind: FieldKind,
    /// The part of the subject.
    pub part: Part,
}

impl From<FieldKind> for Field {
    fn from(kind: FieldKind) -> Self {
        Self { kind, part: Part::Whole }
    }
}

impl FieldKind {
    /// The field of this kind for a numbered part.
    pub fn number(self, n: u8) -> Field {
        Field { kind: self, part: Part::Number(n) }
    }

    /// The field of this kind for a named part.
    pub fn named(self, name: &str) -> Field {
        Field { kind: self, part: Part::Named(name.to_owned()) }
    }
}

impl Value {
    /// The field that this value fills.
    pub fn field(&self) -> Field {
        let part = match self {
            Self::Promise(promise) => Part::Load(promise.load.clone()),
            Self::Open(open) => Part::Thing(open.r#box),
            Self::Burden(burden) => Part::Number(u8::from(burden.low)),
            Self::Addition(addition) => Part::Number(addition.n),
            Self::Wire(wire) => Part::Number(wire.n),
            Self::Link(link) => Part::Named(link.link.clone()),
            Self::Watts(watts) => Part::Named(watts.load.clone()),
            Self::Mapping(mapping) => Part::Named(mapping.switch.clone()),
            Self::FedBy(fed) => Part::Thing(fed.source),
            Self::Range(range) => Part::Named(format!("{} {}", range.connector, range.size)),
            Self::Abbreviation(short) => Part::Named(short.of.clone()),
            _ => Part::Whole,
        };
        Field { kind: self.kind(), part }
    }
}
