//! Metal that no bus is joined to and that loads reach: loads in series, and load points fed through another's load.
//!
//! Both are loads around an island of metal. Which of the two it is depends on what the island should be:
//! * **In series** when it is the *return* of a load: the neutral of one goes through the other. So it is with a
//!   shared neutral that is open (two loads divide 240 V as their resistances do, and the weaker one gets too much),
//!   and with one lamp behind another.
//! * **Fed through** when it is the *hot* conductor of what is fed: a leg is missing, and a load between two legs
//!   brings the other one; half a house works only while the dryer runs. Or when nothing is noted in the load points
//!   that are fed, so that no current flows yet: an outlet behind a lamp reads right and collapses under load.
//!
//! A load that draws and has no bus on either side joins its two islands: three lamps one behind another are one row.
//!
//! An island that reaches an unknown end is neither: what is not noted may join it to its bus. A control's own supply
//! through its lamp is made so and is neither.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Bus, LoadPoint, ThingId};

use super::super::build::LoadNode;
use super::super::network::NodeId;
use super::super::point::Step;
use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

/// A load point with one side on an island.
#[derive(Clone, Copy)]
struct Rim<'l> {
    point: &'l LoadPoint,
    load: &'l LoadNode,
    /// Its side on the island.
    here: NodeId,
    /// Its other side.
    there: NodeId,
    /// The leg of its other side; none for neutral and ground.
    leg: Option<(Bus, NodeId)>,
}

impl Rim<'_> {
    /// The island is what it returns by.
    fn returns(&self) -> bool {
        self.load.to_neutral && self.here == self.load.to
    }

    /// Something is noted that draws.
    fn draws(&self) -> bool {
        self.load.element.is_some()
    }
}

pub(super) fn series(look: &Look<'_, '_>, notes: &mut Notes) {
    for Island { rims, between } in islands(look).into_values() {
        let (feeding, fed): (Vec<Rim<'_>>, Vec<Rim<'_>>) = rims.into_iter().partition(|rim| rim.leg.is_some());
        let feeding: Vec<Rim<'_>> = feeding.into_iter().filter(Rim::draws).collect();
        let Some(first) = feeding.first() else { continue };
        let drawing: Vec<Rim<'_>> = fed.iter().copied().filter(Rim::draws).collect();
        let unlike = feeding.iter().find(|rim| rim.leg.map(|(bus, _)| bus) != first.leg.map(|(bus, _)| bus));
        let points = |rims: &[Rim<'_>]| rims.iter().map(|rim| rim.point.clone()).collect::<BTreeSet<LoadPoint>>();
        let in_series = unlike.is_some() || !drawing.is_empty() && feeding.iter().all(Rim::returns);
        if let (true, Some(second)) = (in_series, unlike.or(drawing.first())) {
            let loads: BTreeSet<LoadPoint> =
                points(&feeding).into_iter().chain(points(&drawing)).chain(between).collect();
            notes.note(look, HazardKind::LoadsInSeries(loads.clone()), loads, || through(look, first, second));
        } else if let Some(second) = drawing.first().or(fed.first()) {
            let loads = points(&feeding).into_iter().chain(points(&fed));
            notes.note(look, HazardKind::FedThrough(points(&feeding)), loads, || through(look, first, second));
        }
    }
}

/// Metal that is joined to no bus and to no unknown end.
#[derive(Default)]
struct Island<'l> {
    /// Load points with one side on it and the other on a bus.
    rims: Vec<Rim<'l>>,
    /// Load points with both sides on it.
    between: Vec<LoadPoint>,
}

/// Islands by what stands for them.
fn islands<'l>(look: &Look<'l, '_>) -> BTreeMap<NodeId, Island<'l>> {
    let floats =
        |node: NodeId| !(look.is_hot(node) || look.is_neutral(node) || look.is_grounded(node) || look.is_open(node));
    let loads = || look.scene.circuit.loads.iter().filter(|(_, load)| !load.auxiliary);
    let between: Vec<(&LoadPoint, &LoadNode)> =
        loads().filter(|(_, load)| load.element.is_some() && floats(load.from) && floats(load.to)).collect();
    let mut joined: BTreeMap<NodeId, NodeId> = BTreeMap::new();
    let root = |joined: &BTreeMap<NodeId, NodeId>, node: NodeId| {
        let mut at = look.joined.group(node);
        while let Some(next) = joined.get(&at) {
            at = *next;
        }
        at
    };
    for (_, load) in &between {
        let (one, other) = (root(&joined, load.from), root(&joined, load.to));
        if one != other {
            joined.insert(one, other);
        }
    }
    let mut islands: BTreeMap<NodeId, Island<'_>> = BTreeMap::new();
    for (point, load) in loads() {
        for (here, there) in [(load.from, load.to), (load.to, load.from)] {
            let tied = look.is_hot(there) || look.is_neutral(there) || look.is_grounded(there);
            if floats(here) && tied {
                let rim = Rim { point, load, here, there, leg: look.leg(there) };
                islands.entry(root(&joined, here)).or_default().rims.push(rim);
            }
        }
    }
    for (point, load) in between {
        islands.entry(root(&joined, load.from)).or_default().between.push(point.clone());
    }
    islands
}

/// From the leg through the first load, along the island and through the second one; the box in the middle of the
/// island.
fn through(look: &Look<'_, '_>, first: &Rim<'_>, second: &Rim<'_>) -> (Vec<Step>, Option<ThingId>) {
    let scene = look.scene;
    let metal = |from, to| scene.metal.path(&look.state, from, to).unwrap_or_default();
    let Some((_, leg)) = first.leg else { return (Vec::new(), None) };
    let row = |from, to| scene.metal.path_through_loads(&look.state, from, to).unwrap_or_default();
    let island = scene.metal.path(&look.state, first.here, second.here).unwrap_or_else(|| row(first.here, second.here));
    let home = second.leg.map(|(_, leg)| leg).or_else(|| look.bar(second.there)).unwrap_or(second.there);
    let elements = metal(leg, first.there)
        .into_iter()
        .chain(first.load.element)
        .chain(island.iter().copied())
        .chain(second.load.element);
    let mut path: Vec<_> = elements.collect();
    if second.load.element.is_some() {
        path.extend(metal(second.there, home));
    }
    let place = scene.middle_box(&scene.circuit.steps(first.here, &island));
    (scene.circuit.steps(leg, &path), place.or_else(|| scene.circuit.box_of(second.here)))
}
