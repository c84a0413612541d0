//! What follows for the conductors of a cable from the switch alone that it leads to.
//!
//! A cable that ends at a switch and goes nowhere else brings it the hot and takes the leg back, or the travelers: its
//! white is a hot then, and only the one that feeds the switch, re-marked (200.7(C)). A cable with three insulated
//! conductors between two switches that work together carries the two travelers; that these are the coloured ones is
//! common practice. A cable that ends at loads and goes nowhere else brings them what was asked for them. (404.2(C) asks for a neutral at many switch places: such a loop has none. It is proposed where the
//! cable is there, not as what ought to be pulled.)

use std::collections::BTreeMap;

use super::Why;
use super::scene::Scene;
use crate::catalogue::{DeviceGroup, DeviceType, Role as Made};
use crate::job::{LoadPoint, Promised, Side, ThingId, Tip};
use crate::plan::role::{Duty, Evidence, Flow, Role};

/// A role that is taken rather than told.
fn taken_role(duty: Duty, flow: Option<Flow>, device: Option<ThingId>) -> Role {
    Role { duty, evidence: Evidence::Scope, flow, breaker: None, loads: Vec::new(), device }
}

/// What is taken of the ends of a box.
pub(super) fn taken(scene: &Scene<'_>) -> BTreeMap<Tip, (Role, Why)> {
    let mut taken = BTreeMap::new();
    for (run, side) in scene.wiring.runs_in(scene.at) {
        let ends = scene.insulated(run, side);
        // Nothing is taken of a cable of which anything but colour tells.
        let told = |tip: &Tip| scene.noted_role(tip).is_some_and(|(role, _)| role.evidence != Evidence::Colour);
        if !ends.iter().any(|tip| scene.free.contains(tip)) || ends.iter().any(told) {
            continue;
        }
        let here = lone_switch(scene, scene.at);
        let far = scene.wiring.runs.get(&run).and_then(|note| note.side(side.other()).in_box.get().copied().flatten());
        let there = far.and_then(|far| lone_switch(scene, far));
        let found = match (here, there) {
            (Some(switch), None) => dead_end(scene, &ends, switch, Flow::In),
            (None, Some(switch)) => dead_end(scene, &ends, switch, Flow::Out),
            _ => Vec::new(),
        };
        let found = if found.is_empty() { pair(scene, &ends, run, side) } else { found };
        let found = if found.is_empty() { to_loads(scene, &ends, far) } else { found };
        taken.extend(found);
    }
    taken
}

/// The only switch of a box that one run alone leads to.
fn lone_switch(scene: &Scene<'_>, at: ThingId) -> Option<ThingId> {
    let devices = scene.wiring.devices_in(at);
    match (devices.as_slice(), scene.wiring.runs_in(at).len()) {
        ([only], 1) => Some(*only),
        _ => None,
    }
}

fn count(kind: &DeviceType, made: Made) -> usize {
    kind.points.iter().filter(|point| point.role == made).count()
}

/// `flow`: which way the hot goes at these ends.
fn dead_end(scene: &Scene<'_>, ends: &[Tip], switch: ThingId, flow: Flow) -> Vec<(Tip, (Role, Why))> {
    let Some(kind) = scene.kind(switch) else { return Vec::new() };
    let plain = count(kind, Made::Neutral) == 0 && kind.loads.iter().all(|load| load.auxiliary);
    let (whites, others): (Vec<&Tip>, Vec<&Tip>) = ends.iter().partition(|tip| scene.is_white(tip));
    let ([white], true) = (whites.as_slice(), plain) else { return Vec::new() };
    let back = match flow {
        Flow::In => Flow::Out,
        Flow::Out => Flow::In,
    };
    let hot = ((*white).clone(), (taken_role(Duty::ConstantHot, Some(flow), None), Why::Loop));
    let one_pole = count(kind, Made::Line) == 1 && count(kind, Made::Switched) == 1;
    match others.as_slice() {
        [leg] if one_pole => {
            let leg = ((*leg).clone(), (taken_role(Duty::SwitchedLeg, Some(back), Some(switch)), Why::Loop));
            vec![hot, leg]
        }
        [one, two] if count(kind, Made::Common) == 1 && count(kind, Made::Traveler) == 2 => {
            let travelers =
                [one, two].map(|tip| ((**tip).clone(), (taken_role(Duty::Traveler, None, None), Why::Loop)));
            std::iter::once(hot).chain(travelers).collect()
        }
        _ => Vec::new(),
    }
}

/// The coloured conductors between two switches that were asked to work together.
fn pair(scene: &Scene<'_>, ends: &[Tip], run: ThingId, side: Side) -> Vec<(Tip, (Role, Why))> {
    let coloured: Vec<&Tip> = ends.iter().filter(|tip| !scene.is_white(tip)).collect();
    let [one, two] = coloured.as_slice() else { return Vec::new() };
    let far = scene.wiring.runs.get(&run).and_then(|note| note.side(side.other()).in_box.get().copied().flatten());
    let with_travelers = |device: &ThingId| scene.kind(*device).is_some_and(|kind| count(kind, Made::Traveler) >= 2);
    let here = scene.wiring.devices_in(scene.at).into_iter().filter(with_travelers);
    let mut beyond = here.flat_map(|device| scene.together(device)).filter(with_travelers);
    let Some(other) = beyond.find(|device| far.is_some() && scene.home(*device) == far) else { return Vec::new() };
    let role = || (taken_role(Duty::Traveler, None, Some(other)), Why::Scope);
    vec![((*one).clone(), role()), ((*two).clone(), role())]
}

/// A cable of one white and one coloured conductor to a box with nothing but loads, here or at its other side: the
/// coloured one brings what was asked for all of them, the white is the neutral.
fn to_loads(scene: &Scene<'_>, ends: &[Tip], far: Option<ThingId>) -> Vec<(Tip, (Role, Why))> {
    let (whites, others): (Vec<&Tip>, Vec<&Tip>) = ends.iter().partition(|tip| scene.is_white(tip));
    let ([white], [hot]) = (whites.as_slice(), others.as_slice()) else { return Vec::new() };
    let there = far.and_then(|far| lone_loads(scene, far)).map(|loads| (loads, Flow::Out));
    let Some((loads, flow)) = there.or_else(|| lone_loads(scene, scene.at).map(|loads| (loads, Flow::In))) else {
        return Vec::new();
    };
    let mut rules = loads.iter().filter_map(|load| scene.wiring.promises.get(load));
    let Some(first) = rules.next().filter(|first| rules.all(|rule| rule == *first)) else { return Vec::new() };
    let (duty, device) = match first {
        Promised::Always => (Duty::ConstantHot, None),
        Promised::Toggled(handles) => {
            let mut devices = handles.iter().map(|handle| handle.device);
            (Duty::SwitchedLeg, devices.find(|device| scene.home(*device) == Some(scene.at)))
        }
        Promised::Never | Promised::AsFound => return Vec::new(),
    };
    let role = Role { loads: loads.clone(), ..taken_role(duty, Some(flow), device) };
    vec![
        ((*hot).clone(), (role, Why::Scope)),
        ((*white).clone(), (taken_role(Duty::Neutral, Some(flow), None), Why::Colour)),
    ]
}

/// The load points of a box that one run alone leads to and in which nothing switches.
fn lone_loads(scene: &Scene<'_>, at: ThingId) -> Option<Vec<LoadPoint>> {
    if scene.wiring.runs_in(at).len() != 1 {
        return None;
    }
    let mut loads = Vec::new();
    for device in scene.wiring.devices_in(at) {
        let kind = scene.kind(device)?;
        if kind.group == DeviceGroup::PlugIn {
            continue;
        }
        if !kind.switches.is_empty() || kind.sensor.is_some() {
            return None;
        }
        loads.extend(kind.loads.iter().map(|load| LoadPoint { device, load: load.id.clone() }));
    }
    (!loads.is_empty()).then_some(loads)
}
