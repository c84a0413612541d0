//! Hazards that follow from what joins what, in some combination of positions: each with its positions, its path
//! through terminals and joints, and the box to look in.
//!
//! Nothing here says that what is not listed is in order: only what was noted can be looked at. What is a hazard here
//! is also a matter for the adopted code and a licensed person.
//!
//! # How it looks
//! Breakers are on. Each group of handles goes through its combinations while the other groups are at rest; load
//! points are looked at in their own group. Where a group has too many combinations, it is looked at with its handles
//! at rest and with each of them moved by itself, and that is a finding of its own
//! ([`HazardKind::NotEveryPosition`]).
//!
//! # What is what
//! * Whether something is live, neutral or grounded is told by the buses of the panels that have a supply. The bars of
//!   a panel that another one feeds count only as far as metal joins them with those, or as far as the map does not
//!   tell ([`scene`]).
//! * Loads in series and a load point fed through another's load are two things ([`series`]).
//! * What stays live with a breaker OFF is told once for each box and breaker ([`still_live`]).
//! * Which way the current of a load point goes is worked out, never taken from the shortest way ([`apart`]).

mod apart;
mod ground;
mod loose;
mod metal;
mod neutral;
mod notes;
mod parted;
mod protect;
mod scene;
mod series;
mod still_live;

use std::collections::BTreeSet;

use crate::job::{Bus, Handle, LoadPoint, Spot, ThingId, Tip};

use super::build::Circuit;
use super::group::Group;
use super::network::State;
use super::point::{Positions, Step};

pub use protect::Blind;

use notes::Notes;
use scene::{Look, Scene};

/// What is wrong, the worst first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum HazardKind {
    /// Metal joins a leg to neutral, to ground or to another leg.
    Short {
        /// One bus.
        leg: Bus,
        /// The other.
        other: Bus,
    },
    /// Metal joins the legs of two supplies.
    SuppliesMeet {
        /// The panel of one.
        one: ThingId,
        /// The panel of the other.
        other: ThingId,
    },
    /// Two breakers, or a breaker and another supply, feed one conductor.
    SourcesMeet {
        /// One breaker.
        one: ThingId,
        /// The other; the same where both are halves of one.
        other: ThingId,
    },
    /// A box, housing or ground contact is live.
    EnergisedGround(Spot),
    /// A box, housing or ground contact is joined to no ground bar.
    BrokenGround(Spot),
    /// Neutral and ground are joined downstream of the source; the ground contact or bar where they are.
    NeutralGrounded(Spot),
    /// A switch opens the neutral and leaves the load hot.
    SwitchedNeutral {
        /// The load point.
        load: LoadPoint,
        /// The switch.
        handle: Handle,
    },
    /// Hot where the neutral belongs, and neutral where the hot belongs.
    ReversedPolarity(LoadPoint),
    /// A load point for one leg and neutral has another leg where the neutral belongs.
    AcrossLegs(LoadPoint),
    /// The load is fed by one breaker and returns by the neutral of another.
    BorrowedNeutral {
        /// The breaker that feeds it.
        hot: ThingId,
        /// The breaker whose neutral it uses.
        neutral: ThingId,
    },
    /// One neutral carries the sum of two breakers on the same leg.
    SharedNeutralOverload {
        /// The neutral's end in the panel.
        tip: Tip,
        /// The leg.
        leg: Bus,
    },
    /// A ground-fault device cannot do what it is there for.
    GfciCannotSee {
        /// The device.
        device: ThingId,
        /// Why.
        why: Blind,
    },
    /// A ground-fault device trips as soon as a load runs: its current goes through the sensor one way only.
    GfciAlwaysTrips {
        /// The device.
        device: ThingId,
        /// The load point; none where metal leads round the sensor.
        load: Option<LoadPoint>,
    },
    /// A neutral joint that more than one breaker's loads return through, or those of a breaker that it does not
    /// belong to: what lies away from the panel goes to line voltage if it is parted while one of them is on.
    NeutralRises(Spot),
    /// Loads are in series: the current of one goes through the other.
    LoadsInSeries(BTreeSet<LoadPoint>),
    /// Load points whose hot conductor no metal joins to a leg: what they get comes through these loads.
    FedThrough(BTreeSet<LoadPoint>),
    /// A conductor is neither capped nor landed, and it is live.
    LiveLoose(Tip),
    /// A current-carrying conductor is neither capped nor landed.
    Loose(Tip),
    /// Something in a box is still live when a breaker that feeds it is off.
    StaysLive {
        /// The box.
        place: ThingId,
        /// The breaker that is off, the others on.
        off: Handle,
    },
    /// Hot and neutral of one load go different ways.
    ConductorsApart {
        /// The load point.
        load: LoadPoint,
        /// The runs that carry one without the other.
        runs: BTreeSet<ThingId>,
    },
    /// So many handles touch one another that hazards were looked for only with all of them at rest and with each one
    /// moved by itself.
    NotEveryPosition {
        /// The handles.
        handles: Vec<Handle>,
        /// Their combinations.
        combinations: u64,
    },
}

/// A hazard with where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hazard {
    /// What is wrong.
    pub kind: HazardKind,
    /// The first combination of positions in which it shows; the other handles are at rest.
    pub at: Positions,
    /// It shows in every combination that was looked at.
    pub always: bool,
    /// The way through terminals and joints.
    pub path: Vec<Step>,
    /// The box to look in.
    pub place: Option<ThingId>,
    /// Load points that it touches: nothing is promised for them.
    pub loads: BTreeSet<LoadPoint>,
    /// Breakers that take part: those that keep a box live, those whose loads return through a joint.
    pub breakers: BTreeSet<Handle>,
}

impl Hazard {
    /// The very places that it is at, where it is at any: what a picture marks.
    pub fn spots(&self) -> Vec<Spot> {
        match &self.kind {
            HazardKind::EnergisedGround(spot)
            | HazardKind::BrokenGround(spot)
            | HazardKind::NeutralGrounded(spot)
            | HazardKind::NeutralRises(spot) => vec![spot.clone()],
            HazardKind::LiveLoose(tip) | HazardKind::Loose(tip) | HazardKind::SharedNeutralOverload { tip, .. } => {
                vec![Spot::Tip(tip.clone())]
            }
            _ => Vec::new(),
        }
    }

    /// The devices that it is at as a whole.
    pub fn devices(&self) -> Vec<ThingId> {
        match &self.kind {
            HazardKind::SwitchedNeutral { handle, .. } => vec![handle.device],
            HazardKind::ReversedPolarity(load) | HazardKind::AcrossLegs(load) => vec![load.device],
            HazardKind::GfciCannotSee { device, .. } | HazardKind::GfciAlwaysTrips { device, .. } => vec![*device],
            HazardKind::LoadsInSeries(loads) | HazardKind::FedThrough(loads) => {
                loads.iter().map(|load| load.device).collect()
            }
            _ => Vec::new(),
        }
    }
}

/// The hazards of a circuit, worst first, breakers on.
pub fn hazards(circuit: &Circuit) -> Vec<Hazard> {
    let groups = circuit.groups();
    let scene = Scene::new(circuit, &groups);
    let mut notes = Notes::default();
    for (n, group) in groups.iter().enumerate() {
        look_at_group(&scene, &mut notes, n, group);
    }
    notes.finish()
}

/// Looks at every combination of a group's positions; at its own load points only, for the others do not change.
fn look_at_group(scene: &Scene<'_>, notes: &mut Notes, n: usize, group: &Group) {
    let circuit = scene.circuit;
    let (states, combinations) = match circuit.combinations(&group.handles) {
        Ok(states) => (states, None),
        Err(combinations) => (one_at_a_time(circuit, &group.handles), Some(combinations)),
    };
    notes.begin(n, states.len());
    for state in states {
        notes.look();
        let look = Look::new(scene, n, group, state);
        if let Some(combinations) = combinations {
            let kind = HazardKind::NotEveryPosition { handles: group.handles.clone(), combinations };
            notes.note(&look, kind, group.loads.clone(), || (Vec::new(), None));
        }
        metal::shorts(&look, notes);
        metal::supplies(&look, notes);
        metal::sources(&look, notes);
        ground::grounds(&look, notes);
        series::series(&look, notes);
        loose::loose(&look, notes);
        still_live::still_live(&look, notes);
        protect::protect(&look, notes);
        for point in &group.loads {
            let Some(load) = circuit.loads.get(point) else { continue };
            neutral::polarity(&look, notes, point, load);
            neutral::returning(&look, notes, point, load);
            parted::parted(&look, notes, point, load);
            apart::apart(&look, notes, point, load);
        }
    }
}

/// All handles at rest, then each of them by itself in each of its other positions.
fn one_at_a_time(circuit: &Circuit, handles: &[Handle]) -> Vec<State> {
    let rest = circuit.rest();
    let nodes = handles.iter().filter_map(|handle| circuit.handles.get(handle));
    let moved = nodes.flat_map(|node| {
        let positions = 0..u8::try_from(node.positions.len()).unwrap_or(u8::MAX);
        let elsewhere = positions.filter(|position| *position != node.rest);
        elsewhere.map(|position| rest.clone().with(node.switch, position)).collect::<Vec<_>>()
    });
    std::iter::once(rest.clone()).chain(moved).collect()
}

#[cfg(test)]
mod tests;
