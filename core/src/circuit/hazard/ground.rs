//! Boxes, housings, ground contacts and ground bars: live, broken, or joined to neutral away from the source.

use crate::job::{Bus, Spot};

use super::super::network::NodeId;
use super::super::point::Step;
use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

pub(super) fn grounds(look: &Look<'_, '_>, notes: &mut Notes) {
    bars(look, notes);
    for (spot, node) in &look.scene.circuit.grounds {
        if !look.is_grounded(*node) {
            ungrounded(look, notes, spot, *node);
        } else if look.is_hot(*node) && !look.is_bonded(*node) {
            // With its bond a live ground is a short, and told as one; without, nothing opens.
            let circuit = look.scene.circuit;
            let place = circuit.box_of(*node);
            let path = || (look.scene.live(&look.state, *node), place);
            notes.note(look, HazardKind::EnergisedGround(spot.clone()), look.scene.loads_in(place), path);
        }
    }
}

/// Neutral and ground bars joined otherwise than by the bond at the source. Both panels on such a way have their bars
/// joined; it is told once, at the one whose way is the shorter: there the joint is.
fn bars(look: &Look<'_, '_>, notes: &mut Notes) {
    let panels = look.scene.circuit.panels.iter().filter(|(_, panel)| look.joined.joined(panel.neutral, panel.ground));
    let ways = panels.map(|(id, panel)| (*id, look.way(panel.ground, panel.neutral)));
    let Some((panel, path)) = ways.min_by_key(|(_, way)| way.len()) else { return };
    let place = look.scene.middle_box(&path);
    let loads = look.scene.loads_in(place);
    let spot = Spot::Bus { panel, bus: Bus::Ground };
    notes.note(look, HazardKind::NeutralGrounded(spot), loads, || (path, place));
}

fn ungrounded(look: &Look<'_, '_>, notes: &mut Notes, spot: &Spot, node: NodeId) {
    let circuit = look.scene.circuit;
    let place = circuit.box_of(node);
    let loads = look.scene.loads_in(place);
    let open = look.is_open(node);
    if look.is_hot(node) {
        let path = || (look.scene.live(&look.state, node), place);
        notes.note(look, HazardKind::EnergisedGround(spot.clone()), loads.clone(), path);
    } else if let Some(bar) = look.bar(node) {
        let path = || (look.way(node, bar), place);
        notes.note(look, HazardKind::NeutralGrounded(spot.clone()), loads.clone(), path);
    } else if !open && look.is_reached(node) && volts_to_ground(look, node) >= circuit.assumptions.energised.value {
        let path = || (through_loads(look, node), place);
        notes.note(look, HazardKind::EnergisedGround(spot.clone()), loads.clone(), path);
    }
    // A contact with nothing on it is broken only where no conductor of its box is still to be noted.
    if !open && !look.scene.waits(place) {
        notes.note(look, HazardKind::BrokenGround(spot.clone()), loads, || (look.to_its_end(node), place));
    }
}

/// What a low-impedance meter reads from a node to the ground bar.
fn volts_to_ground(look: &Look<'_, '_>, node: NodeId) -> f64 {
    let Some(bar) = look.scene.grounds.first() else { return 0.0 };
    let burden = look.scene.circuit.assumptions.low_impedance_meter.value;
    look.settled().solution.across_burdened(node, *bar, burden).norm()
}

fn through_loads(look: &Look<'_, '_>, node: NodeId) -> Vec<Step> {
    let way = |leg| look.scene.metal.path_through_loads(&look.state, leg, node);
    let ways = look.scene.legs.iter().filter_map(|(_, leg)| Some((*leg, way(*leg)?)));
    let shortest = ways.min_by_key(|(_, way)| way.len());
    shortest.map(|(leg, way)| look.scene.circuit.steps(leg, &way)).unwrap_or_default()
}
