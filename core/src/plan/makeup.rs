//! Proposals for making up a box: which ends go together, which go where, and why.
//!
//! What is noted stays: a splice that is there is made larger, an end that has a place keeps it. The one exception is
//! said where it is made: an end under a terminal that must now be shared goes into a splice, with a pigtail back to
//! its terminal, and only outside the layer as found. One conductor under one screw (110.14(A)), all grounds together
//! (250.148), neutrals of different circuits apart (300.3(B)), a shared neutral never through a device (300.13(B)).
//! That a splice with pigtails is proposed rather than a device's own terminals is common practice, no rule.

mod apply;
mod connector;
mod emit;
mod lines;
mod loops;
mod net;
mod nets;
mod scene;

use crate::catalogue::{Catalogue, ConnectorForm};
use crate::job::{Colour, Layer, ThingId, Tip, Wiring};

/// One right way to make up a box: its parts in the order in which they are folded in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// The box.
    pub at: ThingId,
    /// What this way does otherwise than the others.
    pub difference: Difference,
    /// What it proposes.
    pub parts: Vec<Part>,
    /// Ends for which nothing tells where they go.
    pub open: Vec<Tip>,
}

/// What sets a way apart from the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Difference {
    /// Nothing: the only or the first way.
    None,
    /// Two neutrals that nothing else needs are spliced.
    NeutralsSpliced,
    /// They go through the box in one piece.
    NeutralsThrough,
    /// What goes onward is taken before a protective device.
    OnwardFromLine,
    /// What goes onward is protected by it.
    OnwardProtected,
}

/// What a part is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "the names say it")]
pub enum What {
    Grounds,
    Neutrals,
    ConstantHot,
    SwitchedLeg,
    Traveler,
    Common,
    ProtectedHot,
    ProtectedNeutrals,
    Cap,
    Remark,
}

/// One part of a way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Its name within the way: `grounds`, `traveler-2`.
    pub key: String,
    /// What it is about.
    pub what: What,
    /// Why, the strongest reason first.
    pub why: Vec<Why>,
    /// What is done.
    pub change: Change,
}

/// What a part does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// Ends go together.
    Splice(Joined),
    /// An end goes under a terminal.
    Land {
        /// The end.
        tip: Tip,
        /// Where it goes.
        to: Target,
    },
    /// Two ends are one conductor that is not cut.
    Through(Tip, Tip),
    /// An end is capped.
    Cap(Tip),
    /// An end is re-marked.
    Remark(Tip, Colour),
}

/// A splice as it is proposed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Joined {
    /// The noted one that is extended; nothing: a new one.
    pub splice: Option<ThingId>,
    /// A connector that takes them all, where one must be chosen.
    pub connector: Option<String>,
    /// Ends that are in it already.
    pub had: usize,
    /// Ends that come into it.
    pub ends: Vec<Tip>,
    /// Ends that leave a terminal for it, because it must now be shared.
    pub moved: Vec<Tip>,
    /// Pigtails that go out from it.
    pub pigtails: Vec<Target>,
    /// Pigtails to commons: as found, each is confirmed by an act of its own.
    pub singly: Vec<Target>,
}

impl Joined {
    /// Conductors in it, as proposed.
    pub fn count(&self) -> usize {
        self.had + self.ends.len() + self.moved.len() + self.pigtails.len() + self.singly.len()
    }
}

/// Where an end or a pigtail goes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// A terminal of a device.
    Terminal {
        /// The device.
        device: ThingId,
        /// The terminal's name in the catalogue.
        terminal: String,
    },
    /// The metal of the box.
    Shell(ThingId),
}

/// Why something is proposed, the strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// What is noted in another box.
    Noted(ThingId),
    /// What is noted in this box.
    Here,
    /// What was asked for leaves nothing else.
    Scope,
    /// What is written on tapes.
    Labels,
    /// A white that can only be the hot of a switch loop (200.7(C)).
    Loop,
    /// It must now share its terminal (110.14(A)).
    Shares,
    /// It is the only conductor left for it.
    Remaining,
    /// There is only this to go onward with; common practice.
    OnlyHot,
    /// Grounds go together (250.148).
    Grounds,
    /// Nothing needs it.
    Unused,
    /// Colour alone.
    Colour,
}

impl Part {
    /// In the layer as found it is confirmed by an act of its own, never in bulk: commons and travelers.
    pub fn is_single(&self) -> bool {
        matches!(self.what, What::Common | What::Traveler)
    }

    /// Ends that get a place by it, pigtails left out.
    pub fn ends(&self) -> Vec<&Tip> {
        match &self.change {
            Change::Splice(joined) => joined.ends.iter().chain(&joined.moved).collect(),
            Change::Land { tip, .. } | Change::Cap(tip) => vec![tip],
            Change::Through(a, b) => vec![a, b],
            Change::Remark(..) => Vec::new(),
        }
    }
}

/// Forms of connector that a person may ask for, each with its word in an address or an event.
pub const FORMS: [(&str, ConnectorForm); 3] = [
    ("lever", ConnectorForm::Lever),
    ("push-in", ConnectorForm::PushIn),
    ("wire-connector", ConnectorForm::WireConnector),
];

/// The form that a word asks for.
pub fn form_of(word: Option<&str>) -> Option<ConnectorForm> {
    let word = word?;
    FORMS.into_iter().find(|(name, _)| *name == word).map(|(_, form)| form)
}

/// The ways to make up a box, best first; none where nothing is left to propose.
pub fn ways(wiring: &Wiring, catalogue: &Catalogue, at: ThingId) -> Vec<Way> {
    ways_with(wiring, catalogue, at, None)
}

/// The same with the form of connector that a person asks for, wherever one of it takes the count.
pub fn ways_with(wiring: &Wiring, catalogue: &Catalogue, at: ThingId, form: Option<ConnectorForm>) -> Vec<Way> {
    let Some(scene) = scene::Scene::of(wiring, catalogue, at) else { return Vec::new() };
    let mut ways: Vec<Way> = Vec::new();
    let mut add = |difference: Difference, choice: nets::Choice| {
        let (parts, open) = emit::parts(&scene, choice);
        let is_new = ways.iter().all(|way| way.parts != parts);
        if is_new && !parts.is_empty() {
            ways.push(Way { at, difference, parts, open });
        }
    };
    let plain = nets::Choice { form, ..nets::Choice::default() };
    add(Difference::None, plain);
    add(Difference::OnwardProtected, nets::Choice { protect: true, ..plain });
    add(Difference::NeutralsThrough, nets::Choice { through: true, ..plain });
    // The first way is told from the others by what they do otherwise.
    let first = match ways.get(1).map(|way| way.difference) {
        Some(Difference::OnwardProtected) => Difference::OnwardFromLine,
        Some(Difference::NeutralsThrough) => Difference::NeutralsSpliced,
        _ => Difference::None,
    };
    if let Some(way) = ways.first_mut() {
        way.difference = first;
    }
    ways
}

/// A wiring is as found, where nothing is moved.
pub(crate) fn is_found(wiring: &Wiring) -> bool {
    matches!(wiring.layer, Layer::Found(_) | Layer::Site)
}

#[cfg(test)]
mod tests;
