//! Kinds of runs, connectors and boxes.

use serde::Deserialize;

use crate::job::{Conductor, Decimal};

/// What a run is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunForm {
    /// Conductors in one sheath.
    Cable,
    /// A raceway with single conductors.
    Raceway,
    /// Single conductors in the open: knob and tube.
    Open,
    /// A short piece inside one box.
    Pigtail,
    /// A flexible cord.
    Cord,
}

/// A kind of run.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunType {
    /// Its name in the catalogue; the words for people are under `run.<id>`.
    pub id: String,
    /// What it is.
    pub form: RunForm,
    /// The conductors that it brings; none where each is noted by itself.
    pub wires: Vec<Conductor>,
    /// Capacitance between two insulated conductors, picofarads per foot, other conductors floating aside.
    #[serde(default)]
    pub pf_per_ft: Option<f64>,
    /// Capacitance between an insulated and a grounding conductor, picofarads per foot.
    #[serde(default)]
    pub ground_pf_per_ft: Option<f64>,
    /// Its metal sheath or the raceway is listed as equipment ground.
    #[serde(default)]
    pub sheath_ground: bool,
    /// Its sheath is metal, listed as equipment ground or not.
    #[serde(default)]
    pub metal_sheath: bool,
    /// Colour of the jacket as a role name of the palette.
    #[serde(default)]
    pub jacket: Option<String>,
}

impl RunType {
    /// Metal is around its conductors.
    pub fn is_metal(&self) -> bool {
        self.metal_sheath || self.sheath_ground
    }
}

/// What a splice is made with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum ConnectorForm {
    Lever,
    PushIn,
    /// A wire connector that is twisted on; what it takes is printed on its pack.
    WireConnector,
    Crimp,
    Soldered,
    SplitBolt,
    /// Nobody looked.
    NotKnown,
}

/// A kind of splicing connector.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConnectorType {
    /// Its name in the catalogue; the words for people are under `connector.<id>`.
    pub id: String,
    /// What it is.
    pub form: ConnectorForm,
    /// Ports, where it has any: one conductor each.
    #[serde(default)]
    pub ports: Option<u8>,
}

/// A kind of box.
#[allow(clippy::struct_excessive_bools, reason = "each is a plain property of a catalogue entry, said or left out")]
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoxType {
    /// Its name in the catalogue; the words for people are under `box.<id>`.
    pub id: String,
    /// It conducts.
    pub metal: bool,
    /// Volume by the table in cubic inches; none: only a marked volume counts.
    #[serde(default)]
    pub volume: Option<Decimal>,
    /// Gangs.
    #[serde(default)]
    pub gangs: Option<u8>,
    /// A panel: it has buses and takes breakers.
    #[serde(default)]
    pub panel: bool,
    /// Eight sides.
    #[serde(default)]
    pub octagon: bool,
    /// No box at all: a splice in the air.
    #[serde(default)]
    pub none: bool,
    /// The wiring compartment of a piece of equipment: outside 314.16.
    #[serde(default)]
    pub compartment: bool,
    /// The volume is for one gang of several put together.
    #[serde(default)]
    pub per_gang: bool,
    /// May hold a luminaire stud.
    #[serde(default)]
    pub takes_stud: bool,
    /// Where its volume comes from.
    #[serde(default)]
    pub source: Option<String>,
    /// How its volume was confirmed.
    #[serde(default)]
    pub how: Option<String>,
}

impl BoxType {
    /// 314.16 speaks of it: an outlet, device or junction box or a conduit body.
    pub fn has_fill(&self) -> bool {
        !(self.panel || self.none || self.compartment)
    }
}
