//! What findings call the things that they speak of.

use super::index::Index;
use crate::catalogue::{colour_name, connector_name, point_name, run_name};
use crate::job::{SideNote, ThingId, Tip};
use crate::words::say;

/// A box by its tag, or its place in words.
pub(crate) fn r#box(index: &Index<'_>, id: Option<ThingId>) -> String {
    let tag = id.map(|id| index.wiring.tag(id)).unwrap_or_default();
    if tag.is_empty() { say("rule.name.box", &[]) } else { tag }
}

/// A run by its kind and where it leads: "14-2 with ground from P to B1".
pub(crate) fn run(index: &Index<'_>, id: ThingId) -> String {
    let Some(run) = index.run(id) else { return say("rule.name.run", &[]) };
    let kind = run.kind.get().map_or_else(|| say("rule.name.run", &[]), |kind| run_name(kind));
    let end = |note: &SideNote| match note.in_box.get() {
        Some(Some(id)) => self::r#box(index, Some(*id)),
        Some(None) | None => say("rule.name.nowhere", &[]),
    };
    let (near, far) = (end(&run.near), end(&run.far));
    if run.is_inside() {
        say("rule.name.run.inside", &[("kind", &kind), ("near", &near)])
    } else {
        say("rule.name.run.between", &[("kind", &kind), ("near", &near), ("far", &far)])
    }
}

/// An end by its run's letter and its colour: "A white".
pub(crate) fn tip(index: &Index<'_>, tip: &Tip) -> String {
    match tip {
        Tip::Wire { run, side, .. } => {
            let seen = index.wiring.tips.get(tip).and_then(|note| note.colour.get().copied());
            let colour = seen.or_else(|| index.conductor(tip).map(|conductor| conductor.colour));
            let colour = colour.map_or_else(|| say("rule.name.conductor", &[]), colour_name);
            let letter = index.run(*run).and_then(|run| run.side(*side).letter.get());
            match letter {
                Some(letter) => say("rule.name.tip", &[("letter", letter), ("colour", &colour)]),
                None => colour,
            }
        }
        Tip::Lead { device, lead } => {
            say("rule.name.lead", &[("lead", &point_name(lead)), ("device", &self::device(index, *device))])
        }
    }
}

/// A device by its name, or its kind.
pub(crate) fn device(index: &Index<'_>, id: ThingId) -> String {
    let note = index.device(id);
    let name = note.and_then(|note| note.name.get().cloned());
    let kind = || note.and_then(|note| note.kind.get()).map(|kind| index.catalogue.device_name(kind));
    let number = note.and_then(|note| note.number.get());
    match (name.or_else(kind), number) {
        (Some(name), Some(number)) => say("rule.name.numbered", &[("name", &name), ("number", number)]),
        (Some(name), None) => name,
        (None, _) => say("rule.name.device", &[]),
    }
}

/// A splice by its name, else by one of its ends, with its connector where it is known.
pub(crate) fn splice(index: &Index<'_>, id: ThingId) -> String {
    let note = index.wiring.splices.get(&id);
    let named = note.and_then(|note| note.name.get().cloned());
    let by_end = || {
        let ends = index.in_splice.get(&id).into_iter().flatten();
        let first = ends.copied().find(|end| !index.is_pigtail(end))?;
        Some(say("rule.name.splice.of", &[("tip", &tip(index, first))]))
    };
    let name = named.or_else(by_end).unwrap_or_else(|| say("rule.name.splice", &[]));
    match note.and_then(|note| note.connector.get()) {
        Some(kind) => say("rule.name.splice.in", &[("name", &name), ("connector", &connector_name(kind))]),
        None => name,
    }
}
