//! What flags and tags say.

use crate::catalogue::box_name;
use crate::job::{Layer, Note, ThingId, Tip};
use crate::picture::{BoxTag, Flag};
use crate::words::{count, say};

use super::super::name::listed;
use super::Print;

/// The flags of some boxes, each with its box: those that are proposed or planned, and with `all` those that are
/// written already.
pub(super) fn flags(print: &Print<'_>, boxes: &[ThingId], all: bool) -> Vec<(ThingId, Flag)> {
    let mut flags = Vec::new();
    for left in [false, true] {
        let here: Vec<ThingId> = boxes.iter().copied().filter(|at| print.is_left(*at) == left).collect();
        if here.is_empty() {
            continue;
        }
        let (wiring, tape) = (print.wiring_as(left), print.tape(left));
        for at in here {
            let proposed = tape.proposals(at);
            for tip in tape.ends(at) {
                let words = match wiring.tips.get(&tip).map(|note| &note.label) {
                    Some(Note::Said(Some(text), basis)) => {
                        Some(text.clone()).filter(|_| all || matches!(basis.layer, Layer::Planned(_)))
                    }
                    _ => proposed.iter().find(|(of, _)| *of == tip).map(|(_, words)| words.clone()),
                };
                if let Some(words) = words {
                    flags.push((at, flag(print, at, &tip, words)));
                }
            }
        }
    }
    // Boxes stand in the order in which they were asked for, whichever wiring they are shown by.
    flags.sort_by_key(|(at, _)| boxes.iter().position(|other| other == at));
    flags
}

fn flag(print: &Print<'_>, at: ThingId, tip: &Tip, words: String) -> Flag {
    let wiring = print.wiring(at);
    let called = print.called(wiring);
    let far = match tip {
        Tip::Wire { run, side, .. } => {
            wiring.runs.get(run).and_then(|note| note.side(side.other()).in_box.get().copied().flatten())
        }
        Tip::Lead { .. } => None,
    };
    let far = far
        .map_or_else(|| say("sheet.flag.far_unknown", &[]), |far| say("sheet.flag.to", &[("far", &called.r#box(far))]));
    let breaker = print.roles(print.is_left(at)).of_end(tip).and_then(|role| role.breaker);
    let circuit = breaker.map(|breaker| called.device(breaker));
    let of = say("name.in_box", &[("box", &called.r#box(at)), ("name", &called.tip(tip))]);
    Flag { of, words, to: listed(std::iter::once(far).chain(circuit)) }
}

/// The tag of one box.
pub(super) fn tag(print: &Print<'_>, at: ThingId) -> BoxTag {
    let wiring = print.wiring(at);
    let note = wiring.boxes.get(&at);
    let kind = note.and_then(|note| note.kind.get()).map(|kind| box_name(kind)).unwrap_or_default();
    let volume =
        note.and_then(|note| note.volume.get()).map(|volume| say("rule.unit.in3", &[("n", &volume.to_string())]));
    let runs = count("sheet.tag.runs", wiring.runs_in(at).len(), &[]);
    BoxTag {
        tag: print.called(wiring).r#box(at),
        circuits: print.circuits(at),
        place: print.place(at),
        about: listed([kind, volume.unwrap_or_default(), runs]),
    }
}
