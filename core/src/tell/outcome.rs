//! How promises stand, in words.

use crate::circuit::{Breach, Hazard, Outcome, Point, Power, Verdict};
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
            Power::Tripped => "tell.power.tripped",
        },
        &[],
    )
}

/// Most lines that say where one promise is not kept; the rest are counted.
const MOST_BREACHES: usize = 4;

/// Where a promise is not kept, a line for each path that breaks it: the positions, what is there and what should be,
/// and the path. Rows with one path stand together.
pub fn breach_lines(called: &Called<'_>, breaches: &[Breach]) -> Vec<String> {
    let alike = |a: &Breach, b: &Breach| {
        let key = |breach: &Breach| (breach.power, breach.wanted, breach.idle.clone());
        key(a) == key(b) && a.path == b.path && a.waits == b.waits && a.opened == b.opened
    };
    let mut together: Vec<Vec<&Breach>> = Vec::new();
    for breach in breaches {
        match together.iter_mut().find(|others| others.first().is_some_and(|first| alike(first, breach))) {
            Some(others) => others.push(breach),
            None => together.push(vec![breach]),
        }
    }
    let (shown, rest) = together.split_at(together.len().min(MOST_BREACHES));
    let mut lines: Vec<String> = shown.iter().map(|breaches| breach_words(called, breaches)).collect();
    let left: usize = rest.iter().map(Vec::len).sum();
    if left > 0 {
        lines.push(count("tell.breach.more", left, &[]));
    }
    lines
}

/// Rows in which a promise is not kept by one path.
fn breach_words(called: &Called<'_>, breaches: &[&Breach]) -> String {
    let Some(breach) = breaches.first() else { return String::new() };
    let mut each: Vec<String> = breaches.iter().take(MOST_BREACHES).map(|one| called.positions(&one.at)).collect();
    if breaches.len() > each.len() {
        each.push(count("tell.breach.others", breaches.len() - each.len(), &[]));
    }
    let positions = each.join("; ");
    let positions = if positions.is_empty() { say("tell.class.every", &[]) } else { positions };
    let wanted = say(if breach.wanted { "tell.power.on" } else { "tell.power.off" }, &[]);
    let power = power_words(breach.power);
    let mut line = match &breach.idle {
        Some(handle) => say("tell.breach.idle", &[("handle", &called.handle(handle))]),
        None => say("tell.breach", &[("positions", &positions), ("power", &power), ("wanted", &wanted)]),
    };
    let path = path_words(called, &breach.path);
    if !path.is_empty() {
        let key = if breach.power == Power::Off { "tell.breach.back" } else { "tell.breach.path" };
        line.push(' ');
        line.push_str(&say(key, &[("path", &path)]));
    }
    if !breach.opened.is_empty() {
        let each = breach.opened.iter().map(|handle| called.device_in_box(handle.device)).collect::<Vec<_>>();
        line.push(' ');
        line.push_str(&say("tell.breach.opened", &[("devices", &each.join(", "))]));
    }
    if let Some(Point::Spot(spot)) = &breach.waits {
        line.push(' ');
        line.push_str(&say("tell.breach.waits", &[("spot", &called.spot_in_box(spot))]));
    }
    line
}

/// How the promise to a load point stands.
pub fn outcome_words(called: &Called<'_>, verdict: &Verdict, hazards: &[Hazard]) -> Told {
    let asked = asked_words(called, &verdict.promised);
    let rows = verdict.rows.to_string();
    let lit = count("tell.lit", verdict.lit, &[("rows", &rows)]);
    let mut lines = if verdict.rows > 1 { vec![lit] } else { Vec::new() };
    if verdict.rows > 0 && !verdict.mapped {
        lines.push(say("tell.unmapped", &[]));
    }
    let stands = match &verdict.outcome {
        Outcome::AsPromised => say("tell.outcome.as_promised", &[]),
        Outcome::AsFarAsSeen => say("tell.outcome.as_far_as_seen", &[]),
        Outcome::NotCovered => say("tell.outcome.not_covered", &[]),
        Outcome::NothingToCompare => say("tell.outcome.nothing_to_compare", &[]),
        Outcome::Broken(breaches) => {
            lines.extend(breach_lines(called, breaches));
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

/// How a load point gets its power in the first position in which it has any: the way from the bus, box by box.
pub fn fed_words(called: &Called<'_>, verdict: &Verdict) -> Option<String> {
    let (at, way) = verdict.fed.as_ref()?;
    let path = path_words(called, way);
    let positions = called.positions(at);
    Some(if positions.is_empty() {
        say("tell.fed", &[("path", &path)])
    } else {
        say("tell.fed.at", &[("positions", &positions), ("path", &path)])
    })
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
