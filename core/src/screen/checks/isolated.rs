//! The sources of a box and how each is held, as a step of its dead check.

use crate::screen::row::{Edge, Row};
use crate::words::{count, say};

use super::dead::{Dead, Stage};
use super::parts::{edged, step};

/// Everything that can make the box live, each with its hold; and what is not known.
pub(super) fn rows(dead: &Dead<'_, '_>, n: u32) -> Vec<Row> {
    let (checks, view) = (&dead.bench.checks, dead.bench.view);
    let isolation = &dead.check.isolation;
    let each = isolation.sources.iter().map(|source| {
        let (name, hold) = (checks.say_thing(source.id), checks.say_hold(&source.hold));
        let gates = source.behind.iter().map(|(gate, hold)| {
            let (name, hold) = (checks.say_thing(*gate), checks.say_hold(hold));
            say("checks.held.behind", &[("name", &name), ("hold", &hold)])
        });
        let own = say("checks.held.source", &[("name", &name), ("hold", &hold)]);
        std::iter::once(own).chain(gates).collect::<Vec<_>>().join(", ")
    });
    let all = each.collect::<Vec<_>>();
    let second = if all.is_empty() { say("checks.held.none", &[]) } else { all.join("; ") };
    let held = isolation.is_held_by(dead.person);
    let title = say(if held { "checks.held.done" } else { "checks.held.title" }, &[]);
    let value = count("checks.held.sources", isolation.sources.len(), &[]);
    let row = step(n, held, &title, &second, &value);
    let row = if dead.stage == Stage::Sources && !dead.wants_reference() { row.now() } else { row };
    let to = view.go(&view.page("sources").word(dead.check.r#box));
    let mut rows = vec![row.leads(to.clone())];
    rows.extend(isolation.unknown.iter().enumerate().map(|(n, unknown)| {
        let row = edged(&format!("unknown {n}"), Edge::Unknown, &checks.say_unknown(unknown), "", "");
        row.leads(to.clone())
    }));
    rows
}
