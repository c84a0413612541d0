//! Which boxes a job works in, which sources feed them, and which things belong to which box.

use std::collections::BTreeSet;

use crate::catalogue::position_name;
use crate::job::{At, Happening, Layer, Place, Side, Subject, ThingId, Wiring};
use crate::name::Called;
use crate::screen::row::HandleAt;
use crate::screen::view::View;

use super::bench::Bench;

/// The boxes that this job works in: those it means to open, those whose cover came off on its visits, those of which
/// anything was noted as left. In the order of their tags; panels are none of them.
pub(super) fn boxes(view: &View<'_>) -> Vec<ThingId> {
    let wiring = view.left();
    let mut worked = BTreeSet::new();
    if let Some(job) = view.job_note() {
        let opens = job.opens.iter().filter_map(|note| note.get()).filter(|open| open.open);
        worked.extend(opens.map(|open| open.r#box));
    }
    let visits: BTreeSet<_> =
        view.notes.visits().into_iter().filter(|visit| Some(visit.job) == view.job).map(|visit| visit.id).collect();
    for happened in view.notes.happened() {
        if let (Happening::CoverOff, Subject::Thing(id)) = (&happened.what, &happened.of)
            && happened.visit.is_some_and(|visit| visits.contains(&visit))
        {
            worked.insert(*id);
        }
    }
    if let Layer::Left(_) = wiring.layer {
        for subject in view.notes.subjects() {
            let fields = view.notes.all_fields(subject);
            let noted = fields.iter().any(|field| !view.notes.current(subject, field, wiring.layer).is_empty());
            if noted {
                worked.extend(boxes_of(wiring, subject));
            }
        }
    }
    let is_panel = |id: &ThingId| wiring.boxes.get(id).is_some_and(|note| note.system.is_said());
    wiring.boxes_in_order().into_iter().filter(|id| worked.contains(id) && !is_panel(id)).collect()
}

/// The boxes that a subject belongs to; a run belongs to both of its boxes only by its ends.
fn boxes_of(wiring: &Wiring, subject: &Subject) -> Vec<ThingId> {
    match subject {
        Subject::Thing(id) if wiring.boxes.contains_key(id) => vec![*id],
        Subject::Thing(id) => {
            let device = wiring.devices.get(id).and_then(|note| note.in_box.get().copied().flatten());
            let splice = wiring.splices.get(id).and_then(|note| note.in_box.get().copied().flatten());
            device.into_iter().chain(splice).collect()
        }
        Subject::Side(run, side) => side_box(wiring, *run, *side).into_iter().collect(),
        Subject::Tip(tip) => {
            let placed = wiring.place(tip).is_some_and(|place| *place != Place::Absent);
            wiring.box_of(tip).filter(|_| placed).into_iter().collect()
        }
    }
}

fn side_box(wiring: &Wiring, run: ThingId, side: Side) -> Option<ThingId> {
    *wiring.runs.get(&run)?.side(side).in_box.get()?
}

/// The sources that feed some boxes.
pub(super) fn sources(bench: &Bench<'_>, boxes: &[ThingId]) -> Vec<ThingId> {
    let all: BTreeSet<ThingId> =
        boxes.iter().flat_map(|id| bench.checks.isolation(*id).sources).map(|source| source.id).collect();
    all.into_iter().collect()
}

/// The box of a device.
pub(super) fn home(wiring: &Wiring, device: ThingId) -> Option<ThingId> {
    wiring.devices.get(&device).and_then(|note| note.in_box.get().copied().flatten())
}

/// A handle in one position as a trial draws it: by its box where no other device there has handles, else by its name.
pub(super) fn handle_at(view: &View<'_>, called: &Called<'_>, at: &At) -> HandleAt {
    let wiring = called.wiring;
    let kind = |device: ThingId| {
        let kind = wiring.devices.get(&device).and_then(|note| note.kind.get());
        kind.and_then(|kind| view.catalogue.device(kind))
    };
    let home = home(wiring, at.handle.device);
    let handles = |id: ThingId| {
        let devices = wiring.devices_in(id).into_iter().filter_map(kind);
        devices.flat_map(|kind| &kind.switches).filter(|switch| !switch.automatic).count()
    };
    let alone = home.filter(|id| handles(*id) == 1);
    let first = kind(at.handle.device).and_then(|kind| kind.switch(&at.handle.switch));
    let first = first.and_then(|switch| switch.positions.first());
    HandleAt {
        name: alone.map_or_else(|| called.handle(&at.handle), |id| called.r#box(id)),
        position: position_name(&at.position),
        up: first.is_some_and(|first| first.id == at.position),
    }
}
