//! Which boxes a job works in, which sources feed them, and which things belong to which box.

use std::collections::BTreeSet;

use crate::catalogue::position_name;
use crate::job::{At, ThingId, Wiring};
use crate::name::Called;
use crate::screen::row::HandleAt;
use crate::screen::view::View;

use super::bench::Bench;

/// The boxes that this job works in: those it means to open, those whose cover came off on its visits, those of which
/// anything was noted as left. In the order of their tags; panels are none of them.
pub(super) fn boxes(view: &View<'_>) -> Vec<ThingId> {
    crate::check::worked(view.notes, view.job, view.left())
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
