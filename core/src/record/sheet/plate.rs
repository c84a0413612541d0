//! What the card inside a plate says: what the next person should know before touching.

use crate::check::Reach;
use crate::job::ThingId;
use crate::picture::PlateCard;
use crate::words::say;

use super::super::name::listed;
use super::{Power, Print};

/// The card of one box.
pub(super) fn card(print: &Print<'_>, at: ThingId) -> PlateCard {
    let wiring = print.wiring(at);
    let note = wiring.boxes.get(&at);
    let power = print.power(at);
    let cautions = cautions(print, &power, at);
    let mut lines = circuits(&power);
    lines.extend(
        note.and_then(|note| note.other_circuits.get()).map(|text| say("sheet.other_circuits", &[("text", text)])),
    );
    lines.push(opened(print, at));
    PlateCard {
        tag: print.called(wiring).r#box(at),
        place: print.place(at),
        lines,
        cautions,
        foot: say("sheet.plate.foot", &[("day", &print.as_of())]),
    }
}

/// What to beware of in a box.
pub(super) fn cautions(print: &Print<'_>, power: &Power, at: ThingId) -> Vec<String> {
    let wiring = print.wiring(at);
    let mut lines = power.cautions();
    for (run, side) in wiring.runs_in(at) {
        let Some(note) = wiring.runs.get(&run) else { continue };
        if note.side(side.other()).in_box.get().copied().flatten().is_none() {
            let letter = note.side(side).letter.or("?".to_owned());
            lines.push(say("sheet.beware.run", &[("letter", &letter)]));
        }
    }
    if wiring.boxes.get(&at).and_then(|note| note.low_voltage.get()) == Some(&true) {
        lines.push(say("sheet.beware.low_voltage", &[]));
    }
    lines
}

/// The circuits in the box, each with its panel, its breaker, and its line in the panel's directory.
pub(super) fn circuits(power: &Power) -> Vec<String> {
    let reaching = power.feeds.iter().filter(|feed| matches!(feed.reach, Reach::Wired | Reach::Noted));
    let mut lines: Vec<String> = reaching
        .map(|feed| {
            let line = listed([feed.words.clone(), feed.about.clone()]);
            if feed.reach == Reach::Noted { say("sheet.circuit.noted", &[("source", &line)]) } else { line }
        })
        .collect();
    if lines.is_empty() {
        lines.push(say("sheet.circuit.none", &[]));
    }
    lines
}

/// When the box was last opened, and by whom.
pub(super) fn opened(print: &Print<'_>, at: ThingId) -> String {
    match print.last_opened(at) {
        Some((wall, Some(who))) => say("sheet.opened.by", &[("day", &wall.day()), ("person", &who)]),
        Some((wall, None)) => say("sheet.opened", &[("day", &wall.day())]),
        None => say("sheet.opened.never", &[]),
    }
}
