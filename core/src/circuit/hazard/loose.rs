//! Ends that are free and bare.

use crate::job::{Spot, Tip};

use super::HazardKind;
use super::notes::Notes;
use super::scene::Look;

/// Current-carrying conductors that are neither capped nor landed; a free ground is not one.
pub(super) fn loose(look: &Look<'_, '_>, notes: &mut Notes) {
    let circuit = look.scene.circuit;
    for tip in &circuit.loose {
        let ground = matches!(tip, Tip::Wire { run, wire, .. } if circuit.ground_wires.contains(&(*run, *wire)));
        let Some(node) = circuit.node(&Spot::Tip(tip.clone())) else { continue };
        // A ground that is live is one that a hand may touch, whatever it was meant for.
        if ground && !look.is_hot(node) {
            continue;
        }
        let place = circuit.box_of(node);
        let loads = look.scene.loads_in(place);
        if look.is_hot(node) {
            let path = || (look.scene.live(&look.state, node), place);
            notes.note(look, HazardKind::LiveLoose(tip.clone()), loads, path);
        } else {
            notes.note(look, HazardKind::Loose(tip.clone()), loads, || (look.to_its_end(node), place));
        }
    }
}
