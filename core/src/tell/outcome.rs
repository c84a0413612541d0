//! How promises stand, in words.

use crate::circuit::{Breach, Hazard, Outcome, Power, Verdict};
use crate::job::{LoadPoint, Promised};
use crate::name::Called;
use crate::words::{count, say};

use super::{hazard_words, path_words};

/// A verdict in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// What was asked: "toggled by B3 switch, B6 switch".
    pub asked: String,
    /// How it stands, in a word or two: "as promised".
    pub stands: String,
    /// What there is to say beyond that, a line each.
    pub lines: Vec<String>,
}

/// What was asked of a load point.
pub fn asked_words(called: &Called<'_>, promised: &Promised) -> String {
    match promised {
        Promised::Always => say("tell.asked.always", &[]),
        Promised::Never => say("tell.asked.never", &[]),
        Promised::AsFound => say("tell.asked.as_found", &[]),
        Promised::Toggled(handles) => {
            let handles: Vec<String> = handles.iter().map(|handle| called.handle(handle)).collect();
            say("tell.asked.toggled", &[("handles", &handles.join(", "))])
        }
    }
}

/// Whether a load point has power, in a word.
pub fn power_words(power: Power) -> String {
    say(
        match power {
            Power::Off => "tell.power.off",
            Power::On => "tell.power.on",
            Power::Weak => "tell.power.weak",
            Power::Over => "tell.power.over",
            Power::Unsettled => "tell.power.unsettled",
        },
        &[],
    )
}

/// One combination in which a promise is not kept, with the path that breaks it.
pub fn breach_words(called: &Called<'_>, breach: &Breach) -> String {
    let positions = called.positions(&breach.at);
    let wanted = say(if breach.wanted { "tell.power.on" } else { "tell.power.off" }, &[]);
    let power = power_words(breach.power);
    let mut line = match &breach.idle {
        Some(handle) => say("tell.breach.idle", &[("handle", &called.handle(handle)), ("positions", &positions)]),
        None => say("tell.breach", &[("positions", &positions), ("power", &power), ("wanted", &wanted)]),
    };
    let path = path_words(called, &breach.path);
    if !path.is_empty() {
        line.push(' ');
        line.push_str(&say("tell.breach.path", &[("path", &path)]));
    }
    line
}

/// How the promise to a load point stands.
pub fn outcome_words(called: &Called<'_>, verdict: &Verdict, hazards: &[Hazard]) -> Told {
    let asked = asked_words(called, &verdict.promised);
    let rows = verdict.rows.to_string();
    let lit = count("tell.lit", verdict.lit, &[("rows", &rows)]);
    let mut lines = if verdict.rows > 1 { vec![lit] } else { Vec::new() };
    if !verdict.mapped {
        lines.push(say("tell.unmapped", &[]));
    }
    let stands = match &verdict.outcome {
        Outcome::AsPromised => say("tell.outcome.as_promised", &[]),
        Outcome::AsFarAsSeen => say("tell.outcome.as_far_as_seen", &[]),
        Outcome::NotCovered => say("tell.outcome.not_covered", &[]),
        Outcome::NothingToCompare => say("tell.outcome.nothing_to_compare", &[]),
        Outcome::Broken(breaches) => {
            lines.extend(breaches.iter().map(|breach| breach_words(called, breach)));
            say("tell.outcome.broken", &[])
        }
        Outcome::UnderHazard(which) => {
            let hazards = which.iter().filter_map(|n| hazards.get(*n));
            lines.extend(hazards.map(|hazard| hazard_words(called, hazard).title));
            say("tell.outcome.under_hazard", &[])
        }
    };
    Told { asked, stands, lines }
}

/// The load points of a table in the order in which people look for them: by box, then by name.
pub fn in_order<'l>(called: &Called<'_>, loads: impl Iterator<Item = &'l LoadPoint>) -> Vec<&'l LoadPoint> {
    let order = called.wiring.boxes_in_order();
    let place = |load: &LoadPoint| {
        let home = called.wiring.devices.get(&load.device).and_then(|note| note.in_box.get().copied().flatten());
        home.and_then(|id| order.iter().position(|other| *other == id)).unwrap_or(usize::MAX)
    };
    let mut all: Vec<_> = loads.collect();
    all.sort_by_key(|load| (place(load), called.load(load)));
    all
}
