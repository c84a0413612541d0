//! Terminals: one conductor under one screw or clamp unless identified for more, 110.14(A).

use std::collections::BTreeMap;

use super::edition::Edition;
use crate::catalogue::point_name;
use crate::job::{Landing, ThingId};
use crate::rules::finding::{Amount, Finding, Severity, Unit};
use crate::rules::index::Index;
use crate::rules::name;
use crate::words::say;

pub(super) fn check(index: &Index<'_>, edition: Edition) -> Vec<Finding> {
    index.on_device.keys().flat_map(|device| of_device(index, *device, edition)).collect()
}

fn of_device(index: &Index<'_>, device: ThingId, edition: Edition) -> Vec<Finding> {
    let mut counts: BTreeMap<&str, BTreeMap<Landing, u32>> = BTreeMap::new();
    for on in index.on_device.get(&device).into_iter().flatten() {
        if let Some(terminal) = on.terminal {
            *counts.entry(terminal).or_default().entry(on.landing).or_default() += 1;
        }
    }
    let each = counts.into_iter();
    each.filter_map(|(terminal, landings)| of_terminal(index, device, terminal, &landings, edition)).collect()
}

fn of_terminal(
    index: &Index<'_>,
    device: ThingId,
    terminal: &str,
    landings: &BTreeMap<Landing, u32>,
    edition: Edition,
) -> Option<Finding> {
    let point = index.kind(device)?.point(terminal)?;
    let holds = u32::from(point.holds);
    let unsaid = landings.get(&Landing::NotSaid).copied().unwrap_or(0);
    let said = |n: &(&Landing, &u32)| *n.0 != Landing::NotSaid;
    // Ends whose landing nobody said may be on any of the ways that the terminal has and that are still free.
    let ways = u32::try_from(point.landings.len().max(1)).unwrap_or(u32::MAX);
    let worst = landings.iter().filter(said).max_by_key(|(_, n)| **n);
    let free: u32 = if worst.is_none() { ways * holds } else { ways_left(point.landings.as_slice(), landings, holds) };
    let (rule, n, landing) = match worst {
        Some((landing, n)) if *n > holds => ("rule.terminal.over", *n, *landing),
        _ if unsaid > free => ("rule.terminal.over", unsaid, Landing::NotSaid),
        _ if unsaid > 0 && unsaid + worst.map_or(0, |(_, n)| *n) > holds => {
            ("rule.terminal.not_known", unsaid + worst.map_or(0, |(_, n)| *n), Landing::NotSaid)
        }
        _ => return None,
    };
    let over = rule == "rule.terminal.over";
    let in_box = index.device(device).and_then(|note| note.in_box.get().copied().flatten());
    let limit = if landing == Landing::NotSaid && over { free } else { holds };
    Some(Finding {
        rule,
        severity: if over { Severity::Over } else { Severity::NotKnown },
        place: device.into(),
        in_box,
        amount: Some(Amount::new(i64::from(n), Unit::Conductor)),
        limit: Some(Amount::new(i64::from(limit), Unit::Conductor)),
        citation: edition.cite(edition.section("terminal")),
        fill: vec![
            ("where", name::r#box(index, in_box)),
            ("device", name::device(index, device)),
            ("terminal", point_name(terminal)),
            ("landing", landing_words(landing)),
        ],
    })
}

/// How many more conductors the ways of a terminal take.
fn ways_left(ways: &[Landing], landings: &BTreeMap<Landing, u32>, holds: u32) -> u32 {
    ways.iter().map(|way| holds.saturating_sub(landings.get(way).copied().unwrap_or(0))).sum()
}

fn landing_words(landing: Landing) -> String {
    let key = match landing {
        Landing::Screw => "rule.landing.screw",
        Landing::Clamp => "rule.landing.clamp",
        Landing::PushIn => "rule.landing.push_in",
        Landing::NotSaid => "rule.landing.not_said",
    };
    say(key, &[])
}
