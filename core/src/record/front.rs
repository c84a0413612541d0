//! Where, for whom, what was asked for, by which edition.

use crate::rules::Edition;
use crate::words::say;

use super::day::{Day, known};
use super::document::{Cell, Entry, Section, Table};

/// A label with a value, from a key of the words.
pub(super) fn entry(key: &str, value: impl Into<Cell>) -> Entry {
    Entry { label: say(key, &[]), value: value.into() }
}

/// Site, job and scope.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("scope", say("record.scope", &[]));
    let plain = |text: &String| text.clone();
    part.entries(vec![
        entry("record.scope.site", known(&day.site.name, plain)),
        entry("record.scope.address", known(&day.site.address, plain)),
        entry("record.scope.customer", known(&day.site.customer, plain)),
        entry("record.scope.job", known(&day.job.name, plain)),
        entry("record.scope.number", known(&day.job.number, plain)),
        entry("record.scope.permit", known(&day.job.permit, plain)),
        entry("record.scope.edition", edition(day)),
        entry("record.scope.limit", limit(day)),
        entry("record.scope.asked", known(&day.job.scope, plain)),
    ]);
    part.table(promises(day));
    part.table(opens(day));
    part
}

/// The edition that is set, and whether the program has its tables.
fn edition(day: &Day<'_>) -> String {
    known(&day.job.edition, |year| match Edition::of(*year) {
        Some(edition) => edition.name().to_owned(),
        None => say("record.scope.edition.no_table", &[("year", &year.to_string())]),
    })
}

fn limit(day: &Day<'_>) -> String {
    known(&day.job.dead_limit, |volts| say("record.scope.limit.of", &[("volts", &volts.to_string())]))
}

/// What was asked of each load point.
fn promises(day: &Day<'_>) -> Table {
    let names = day.names();
    let mut table = Table::new(say("record.promises", &[]), "record.promises", &["load", "shall"]);
    for (load, rule) in &day.job.promises {
        table.row(vec![names.load(load).into(), names.asked(rule).into()]);
    }
    table
}

/// Boxes that were to be opened, and those that were not.
fn opens(day: &Day<'_>) -> Table {
    let names = day.names();
    let mut table = Table::new(say("record.opens", &[]), "record.opens", &["box", "open", "why"]);
    let mut rows: Vec<_> = day.job.opens.iter().filter_map(crate::job::Note::get).collect();
    let order = day.left.boxes_in_order();
    rows.sort_by_key(|open| (!open.open, order.iter().position(|id| *id == open.r#box)));
    for open in rows {
        let key = if open.open { "record.opens.yes" } else { "record.opens.no" };
        table.row(vec![names.r#box(open.r#box).into(), say(key, &[]).into(), open.why.clone().into()]);
    }
    table
}
