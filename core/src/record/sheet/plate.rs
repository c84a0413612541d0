//! What the card inside a plate says: what the next person should know before touching.

use crate::check::Reach;
use crate::job::ThingId;
use crate::picture::PlateCard;
use crate::words::say;

use super::{Power, Print};

/// The card of one box.
pub(super) fn card(print: &Print<'_>, at: ThingId) -> PlateCard {
    let wiring = print.wiring(at);
    let note = wiring.boxes.get(&at);
    let power = print.power(at);
    let mut cautions = power.cautions();
    if note.and_then(|note| note.low_voltage.get()) == Some(&true) {
        cautions.push(say("sheet.beware.low_voltage", &[]));
    }
    let mut lines = circuits(&power);
    lines.extend(note.and_then(|note| note.other_circuits.get()).map(|text| say("sheet.other_circuits", &[("text", text)])));
    lines.push(opened(print, at));
    PlateCard {
        tag: print.called(wiring).r#box(at),
        place: print.place(at),
        lines,
        cautions,
        foot: say("sheet.plate.foot", &[("day", &print.as_of())]),
    }
}

/// The circuits in the box, each with its panel.
pub(super) fn circuits(power: &Power) -> Vec<String> {
    let reaching = power.feeds.iter().filter(|feed| matches!(feed.reach, Reach::Wired | Reach::Noted));
    let mut lines: Vec<String> = reaching
        .map(|feed| {
            let key = if feed.reach == Reach::Noted { "sheet.circuit.noted" } else { "sheet.circuit" };
            say(key, &[("source", &feed.words)])
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
