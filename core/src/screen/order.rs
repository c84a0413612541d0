//! The order of boxes along the power: breadth first through the runs from the panels, what nothing leads to last.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::job::{Side, ThingId, Wiring};

use super::parts::all_boxes;
use super::view::View;

/// The run that brings a box its power, and the box that it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct FedBy {
    pub(super) from: ThingId,
    pub(super) run: ThingId,
}

/// The boxes of a site as the power runs.
pub(super) fn boxes_as_power_runs(view: &View<'_>) -> Vec<ThingId> {
    power_course(view).into_iter().map(|(id, _)| id).collect()
}

/// The boxes of a site as the power runs, each with what feeds it. Nothing feeds the first panel; what no panel leads
/// to begins a walk of its own.
pub(super) fn power_course(view: &View<'_>) -> Vec<(ThingId, Option<FedBy>)> {
    let boxes = all_boxes(view);
    let layers = [view.found(), view.planned(), view.left()];
    let next = neighbours(&layers);
    let (panels, others): (Vec<ThingId>, Vec<ThingId>) =
        boxes.iter().partition(|id| layers.iter().any(|wiring| is_panel(view, wiring, **id)));
    let mut ordered = Vec::new();
    let mut seen = BTreeSet::new();
    for start in panels.into_iter().chain(others) {
        let mut queue = VecDeque::from([(start, None)]);
        while let Some((id, by)) = queue.pop_front() {
            if boxes.contains(&id) && seen.insert(id) {
                ordered.push((id, by));
                let on = next.get(&id).into_iter().flatten();
                queue.extend(on.map(|(_, to, run)| (*to, Some(FedBy { from: id, run: *run }))));
            }
        }
    }
    ordered
}

/// Is a box a panel: said to be one by its kind, or by what feeds it?
pub(super) fn is_panel(view: &View<'_>, wiring: &Wiring, id: ThingId) -> bool {
    let Some(note) = wiring.boxes.get(&id) else { return false };
    let kind = note.kind.get().and_then(|kind| view.catalogue.box_type(kind));
    kind.is_some_and(|kind| kind.panel) || note.system.is_said()
}

/// From each box the boxes at the other ends of its runs, by the run's letter there.
fn neighbours(layers: &[&Wiring]) -> BTreeMap<ThingId, BTreeSet<(String, ThingId, ThingId)>> {
    let mut next: BTreeMap<ThingId, BTreeSet<(String, ThingId, ThingId)>> = BTreeMap::new();
    for (run, note) in layers.iter().flat_map(|wiring| &wiring.runs).filter(|(_, note)| !note.is_inside()) {
        for side in Side::BOTH {
            let (here, there) = (note.side(side), note.side(side.other()));
            let (Some(Some(from)), Some(Some(to))) = (here.in_box.get(), there.in_box.get()) else { continue };
            next.entry(*from).or_default().insert((here.letter.or(String::new()), *to, *run));
        }
    }
    next
}
