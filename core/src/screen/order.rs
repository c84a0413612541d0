//! The order of boxes along the power: breadth first through the runs from the panels, what nothing leads to last.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::job::{Side, ThingId, Wiring};

use super::parts::all_boxes;
use super::view::View;

/// The boxes of a site as the power runs.
pub(super) fn boxes_as_power_runs(view: &View<'_>) -> Vec<ThingId> {
    let boxes = all_boxes(view);
    let layers = [view.found(), view.planned(), view.left()];
    let next = neighbours(&layers);
    let is_panel = |id: &&ThingId| layers.iter().any(|wiring| is_panel(view, wiring, **id));
    let mut ordered = Vec::new();
    let mut seen = BTreeSet::new();
    let mut queue: VecDeque<ThingId> = boxes.iter().filter(is_panel).copied().collect();
    while let Some(id) = queue.pop_front() {
        if !seen.insert(id) || !boxes.contains(&id) {
            continue;
        }
        ordered.push(id);
        queue.extend(next.get(&id).into_iter().flatten().map(|(_, other)| *other));
    }
    ordered.extend(boxes.into_iter().filter(|id| !seen.contains(id)));
    ordered
}

/// Is a box a panel: said to be one by its kind, or by what feeds it?
pub(super) fn is_panel(view: &View<'_>, wiring: &Wiring, id: ThingId) -> bool {
    let Some(note) = wiring.boxes.get(&id) else { return false };
    let kind = note.kind.get().and_then(|kind| view.catalogue.box_type(kind));
    kind.is_some_and(|kind| kind.panel) || note.system.is_said()
}

/// From each box the boxes at the other ends of its runs, by the run's letter there.
fn neighbours(layers: &[&Wiring]) -> BTreeMap<ThingId, BTreeSet<(String, ThingId)>> {
    let mut next: BTreeMap<ThingId, BTreeSet<(String, ThingId)>> = BTreeMap::new();
    for note in layers.iter().flat_map(|wiring| wiring.runs.values()).filter(|note| !note.is_inside()) {
        for side in Side::BOTH {
            let (here, there) = (note.side(side), note.side(side.other()));
            let (Some(Some(from)), Some(Some(to))) = (here.in_box.get(), there.in_box.get()) else { continue };
            next.entry(*from).or_default().insert((here.letter.or(String::new()), *to));
        }
    }
    next
}
