//! A box, unfolded: what the box picture is drawn from. Plain data, with every word ready.

use super::shape::Edge;

/// What is said and sent when something is touched.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sense {
    /// Spoken.
    pub spoken: String,
    /// Sent.
    pub token: String,
    /// It is the one that is being moved: a ring of ink goes round its place.
    pub held: bool,
}

/// The frame of a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Outline {
    /// Four corners.
    #[default]
    Square,
    /// Cut corners.
    Octagon,
    /// No box at all, a splice in the air: no frame.
    Air,
}

/// A box with its cables, joints and devices.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Unfolded {
    /// It conducts: a heavier frame.
    pub metal: bool,
    /// How its frame is drawn.
    pub outline: Outline,
    /// A hazard of the switch table is at its metal: its frame is hatched.
    pub hazard: bool,
    /// In the order in which they enter, clockwise from the bottom left.
    pub cables: Vec<Cable>,
    /// From the back of the box to the front: grounds, neutrals, hots, switched legs, travelers, others, free ends.
    pub joints: Vec<Joint>,
    /// Left gang first.
    pub devices: Vec<Device>,
    /// The whole in words.
    pub spoken: String,
}

/// A cable, raceway or other run where it enters.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cable {
    /// Its letter.
    pub letter: String,
    /// Its kind, short: "14-2".
    pub kind: String,
    /// Where it enters, short.
    pub enters: String,
    /// The box that it comes from.
    pub from: String,
    /// Role of its jacket.
    pub jacket: String,
    /// How sure we are of it.
    pub edge: Option<Edge>,
    /// It differs from what was found.
    pub changed: bool,
    /// It was taken out: it keeps its column.
    pub removed: bool,
    /// Its conductors.
    pub ends: Vec<End>,
    /// What its sheath says and sends.
    pub sense: Sense,
}

/// Where an end or the far side of a pigtail is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seat {
    /// In a joint, by its place in the list.
    Joint(usize),
    /// On a terminal, by device and terminal.
    Terminal(usize, usize),
}

/// How a free end is finished.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Finish {
    /// It is not free.
    #[default]
    Joined,
    /// Capped.
    Capped,
    /// Bare.
    Bare,
    /// Nobody noted where it is.
    Unknown,
}

/// What is written on a conductor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The words.
    pub text: String,
    /// Not written yet.
    pub planned: bool,
    /// Noted twice with unlike words: all of them stand here.
    pub twice: bool,
}

/// A conductor's end.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// Role of its colour.
    pub colour: String,
    /// The colour in words.
    pub word: String,
    /// The colour in letters, for where the word does not fit.
    pub letters: String,
    /// Role of the colour that it is re-marked with.
    pub remarked: Option<String>,
    /// What is written on it.
    pub label: Option<Label>,
    /// Where it is.
    pub seat: Seat,
    /// How it is finished.
    pub finish: Finish,
    /// How sure we are.
    pub edge: Option<Edge>,
    /// It differs from what was found.
    pub changed: bool,
    /// A hazard is at this very end.
    pub hazard: bool,
    /// What it says and sends.
    pub sense: Sense,
}

/// What holds a joint together: told by its shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Holder {
    /// Tapered at one end.
    WireConnector,
    /// Round ends.
    PushIn,
    /// Square ends.
    #[default]
    Other,
    /// No holder: free ends, or ends of which nobody knows where they are.
    Free,
    /// No joint: the conductor passes through.
    Through,
}

/// A joint, drawn as a strip.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Joint {
    /// Its name.
    pub name: String,
    /// Kind and count: "lever, 4 of 5 ports".
    pub text: String,
    /// What holds it.
    pub holder: Holder,
    /// Ports with nothing in them, drawn as rings.
    pub spare: usize,
    /// How sure we are.
    pub edge: Option<Edge>,
    /// It differs from what was found.
    pub changed: bool,
    /// A hazard is at this joint.
    pub hazard: bool,
    /// Pigtails and leads from it.
    pub pigtails: Vec<Pigtail>,
    /// What it says and sends where no cable's end is in it.
    pub sense: Sense,
}

/// A pigtail from a joint, or a device's lead to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pigtail {
    /// Role of its colour.
    pub colour: String,
    /// In words: "black pigtail", "white lead".
    pub word: String,
    /// Where its other side is.
    pub to: Seat,
    /// How sure we are.
    pub edge: Option<Edge>,
    /// It differs from what was found.
    pub changed: bool,
    /// What it says and sends.
    pub sense: Sense,
}

/// What a terminal looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Metal {
    Brass,
    Silver,
    Green,
    Dark,
    /// No screw: a lead comes out.
    Lead,
    #[default]
    Plain,
}

/// A terminal or lead of a device.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Terminal {
    /// Its name.
    pub name: String,
    /// What it looks like.
    pub metal: Metal,
    /// A hazard is at this very terminal.
    pub hazard: bool,
    /// What it says and sends while nothing is on it; a place to touch only where it sends something.
    pub sense: Sense,
}

/// A device's face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Face {
    Switch,
    Receptacle,
    Combination,
    Light,
    #[default]
    Other,
}

/// A device, at the bottom of the picture, nearest to the person.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Device {
    /// Its name.
    pub name: String,
    /// At the right of it.
    pub note: String,
    /// Its face.
    pub face: Face,
    /// How sure we are.
    pub edge: Option<Edge>,
    /// It differs from what was found.
    pub changed: bool,
    /// A hazard is at the device as a whole.
    pub hazard: bool,
    /// Its terminals, in the catalogue's order.
    pub terminals: Vec<Terminal>,
    /// Break-off links between terminals, and whether they are whole.
    pub links: Vec<(usize, usize, bool)>,
    /// What it says and sends.
    pub sense: Sense,
}
