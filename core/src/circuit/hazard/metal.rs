//! What metal joins and should not: a leg with another bus, two supplies, two breakers.

use crate::job::{Bus, LoadPoint};

use super::super::build::{LoadNode, Pole};
use super::super::network::NodeId;
use super::super::point::Part;
use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

/// A leg joined with neutral, ground or another leg of the same panel.
pub(super) fn shorts(look: &Look<'_, '_>, notes: &mut Notes) {
    let circuit = look.scene.circuit;
    for panel in circuit.panels.values().filter(|panel| !panel.supplies.is_empty()) {
        for (n, (leg, node)) in panel.legs.iter().enumerate() {
            let others = panel.legs.iter().skip(n + 1).copied();
            let others = others.chain([(Bus::Neutral, panel.neutral), (Bus::Ground, panel.ground)]);
            for (other, to) in others.filter(|(_, to)| look.joined.joined(*node, *to)) {
                let path = look.way(*node, to);
                let on_path = |pole: &&Pole| path.iter().any(|step| step.part == Part::Contact(pole.handle.clone()));
                let poles: Vec<&Pole> = circuit.poles.iter().filter(on_path).collect();
                let beyond = &look.beyond_breakers;
                let fed = |load: &LoadNode| poles.iter().any(|pole| beyond.joined(pole.load, load.from));
                let loads: Vec<LoadPoint> =
                    circuit.loads.iter().filter(|(_, load)| fed(load)).map(|(point, _)| point.clone()).collect();
                let place = look.scene.middle_box(&path);
                notes.note(look, HazardKind::Short { leg: *leg, other }, loads, || (path, place));
            }
        }
    }
}

/// Legs of two panels that have each a supply of their own, or of a panel and another supply that runs: a generator, a
/// cord, another feed. Where a breaker stands between them, that breaker and the other supply meet, and are told so.
pub(super) fn supplies(look: &Look<'_, '_>, notes: &mut Notes) {
    let supplied: Vec<_> = look.scene.circuit.panels.iter().filter(|(_, panel)| !panel.supplies.is_empty()).collect();
    for (n, (one, panel)) in supplied.iter().enumerate() {
        for (other, elsewhere) in supplied.iter().skip(n + 1) {
            let pairs = panel.legs.iter().flat_map(|(_, a)| elsewhere.legs.iter().map(move |(_, b)| (*a, *b)));
            let live = |node: &NodeId| look.scene.live_legs(&look.state).any(|(_, leg)| leg == *node);
            let panels = panel.other.is_none() && elsewhere.other.is_none();
            let met = |a, b| look.joined.joined(a, b) && (panels || look.beyond_breakers.joined(a, b));
            for (a, b) in pairs.filter(|(a, b)| met(*a, *b) && live(a) && live(b)) {
                notes.note(look, HazardKind::SuppliesMeet { one: **one, other: **other }, [], || {
                    let path = look.way(a, b);
                    let place = look.scene.middle_box(&path);
                    (path, place)
                });
            }
        }
    }
}

/// Two breakers, the halves of a tandem, or a breaker and another supply that runs, on one conductor: on one leg or on
/// unlike ones.
pub(super) fn sources(look: &Look<'_, '_>, notes: &mut Notes) {
    let circuit = look.scene.circuit;
    for (n, one) in circuit.poles.iter().enumerate() {
        for other in circuit.poles.iter().skip(n + 1) {
            // Two other supplies are told as supplies; one that does not run feeds nothing.
            let supply = |pole: &Pole| circuit.panels.contains_key(&pole.breaker);
            let runs = |pole: &Pole| circuit.network.element(pole.element).is_some_and(|e| e.present(&look.state));
            let idle = |pole: &Pole| supply(pole) && !runs(pole);
            if one.handle == other.handle
                || supply(one) && supply(other)
                || idle(one)
                || idle(other)
                || !look.beyond_breakers.joined(one.load, other.load)
            {
                continue;
            }
            // The breaker is named before the supply.
            let (one, other) = if supply(one) { (other, one) } else { (one, other) };
            let fed = circuit.loads.iter().filter(|(_, load)| look.beyond_breakers.joined(load.from, one.load));
            let loads: Vec<LoadPoint> = fed.map(|(point, _)| point.clone()).collect();
            notes.note(look, HazardKind::SourcesMeet { one: one.breaker, other: other.breaker }, loads, || {
                let way = look.scene.beyond_breakers.path(&look.state, one.load, other.load);
                let path = way.map(|way| circuit.steps(one.load, &way)).unwrap_or_default();
                let place = look.scene.middle_box(&path);
                (path, place)
            });
        }
    }
}
