//! The neutral of a load point: switched, exchanged with the hot, taken from another circuit, shared wrongly.

use crate::job::{LoadPoint, ThingId};

use super::super::build::{LoadNode, Pole};
use super::super::network::{ElementId, NodeId};
use super::super::point::{Part, Step};
use super::HazardKind;
use super::notes::Notes;
use super::scene::{Landing, Look};

/// Hot and neutral of a load point: exchanged, on two legs, or the neutral behind a switch. Colours play no part: a
/// white that is used as hot is what metal makes of it.
pub(super) fn polarity(look: &Look<'_, '_>, notes: &mut Notes, point: &LoadPoint, load: &LoadNode) {
    if !load.to_neutral {
        return;
    }
    let circuit = look.scene.circuit;
    let (from, to) = (look.leg(load.from), look.leg(load.to));
    let here = |node: NodeId| {
        let path = look.scene.in_last_box(look.scene.live(&look.state, node));
        (path, circuit.box_of(load.from))
    };
    match (from, to) {
        // Where hot and neutral are one piece of metal, that is a short and told as one.
        (None, Some(_)) if look.is_neutral(load.from) && !look.is_neutral(load.to) => {
            notes.note(look, HazardKind::ReversedPolarity(point.clone()), [point.clone()], || here(load.to));
        }
        (Some(_), Some(_)) if !look.joined.joined(load.from, load.to) => {
            notes.note(look, HazardKind::AcrossLegs(point.clone()), [point.clone()], || here(load.to));
        }
        (Some(_), None) if !look.is_neutral(load.to) => switched(look, notes, point, load),
        _ => {}
    }
}

/// Handles of open contacts between the load's neutral side and a neutral bar.
fn switched(look: &Look<'_, '_>, notes: &mut Notes, point: &LoadPoint, load: &LoadNode) {
    let circuit = look.scene.circuit;
    for (n, element) in (0u32..).zip(circuit.network.elements()).filter(|(_, e)| !e.present(&look.state)) {
        let Part::Contact(handle) = circuit.part(ElementId(n)) else { continue };
        let by_hand = circuit.handles.get(handle).is_some_and(|node| !node.automatic);
        let ends = [(element.from, element.to), (element.to, element.from)];
        let opens = ends.into_iter().find(|(a, b)| look.joined.joined(*a, load.to) && look.is_neutral(*b));
        if let (true, Some((near, _))) = (by_hand, opens) {
            let kind = HazardKind::SwitchedNeutral { load: point.clone(), handle: handle.clone() };
            notes.note(look, kind, [point.clone()], || (look.way(load.to, near), circuit.box_of(element.from)));
        }
    }
}

/// By which neutral ends a load point returns to its panel.
pub(super) fn landings<'l>(look: &'l Look<'_, '_>, load: &LoadNode) -> impl Iterator<Item = &'l Landing> {
    let to = load.to;
    look.scene.landings.iter().filter(move |landing| look.beyond_bars.joined(landing.node, to))
}

fn home(look: &Look<'_, '_>, load: &LoadNode, landing: &Landing) -> (Vec<Step>, Option<ThingId>) {
    let way = look.scene.beyond_bars.path(&look.state, load.to, landing.node);
    let path = way.map(|way| look.scene.circuit.steps(load.to, &way)).unwrap_or_default();
    let place = look.scene.last_box(&path);
    (path, place)
}

/// The neutral that a load point returns by: another circuit's, or one that carries the sum of two of one leg. On
/// unlike legs, two of 120/240 V or three of 208Y/120 V, a shared neutral carries the difference.
pub(super) fn returning(look: &Look<'_, '_>, notes: &mut Notes, point: &LoadPoint, load: &LoadNode) {
    if !load.to_neutral || !look.is_hot(load.from) || !look.is_neutral(load.to) {
        return;
    }
    let poles = look.poles(load.from);
    let supply = |pole: &&&Pole| look.scene.circuit.panels.contains_key(&pole.breaker);
    let Some(pole) = poles.iter().find(|pole| !supply(pole)).or_else(|| poles.first()) else { return };
    let (mut last, mut ends) = (None, 0);
    for landing in landings(look, load) {
        (last, ends) = (Some(landing), ends + 1);
        notes.returns.entry((landing.tip.clone(), pole.leg.1)).or_default().insert(pole.load);
        let own = poles.iter().any(|pole| landing.breakers.contains(&pole.breaker));
        if let Some(other) = landing.breakers.first().filter(|_| !own) {
            let kind = HazardKind::BorrowedNeutral { hot: pole.breaker, neutral: *other };
            notes.note(look, kind, [point.clone()], || home(look, load, landing));
        }
    }
    // With two ways home the sum may divide: no end is known to carry all of it.
    let Some(landing) = last.filter(|_| ends == 1) else { return };
    let leg = pole.leg.1;
    if notes.returns.get(&(landing.tip.clone(), leg)).is_some_and(|poles| poles.len() > 1) {
        let kind = HazardKind::SharedNeutralOverload { tip: landing.tip.clone(), leg };
        notes.note(look, kind, [point.clone()], || home(look, load, landing));
    }
}
