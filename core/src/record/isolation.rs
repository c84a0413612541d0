//! What was switched off, how it was held, and who was told.

use std::collections::BTreeSet;

use crate::catalogue::bus_name;
use crate::job::{Bus, Happened, Happening, Held, Subject, ThingId};
use crate::words::say;

use super::day::{Day, known};
use super::document::{Section, Table};
use super::front::entry;

/// What a source stands at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Stand {
    /// Whether it is on; `None`: nobody said.
    pub(super) on: Option<bool>,
    /// Whose locks are on it.
    pub(super) locks: Vec<ThingId>,
    /// It stays on, guarded.
    pub(super) guarded: bool,
}

/// The sources that anything was noted of in the span, in the order in which they came up.
pub(super) fn sources(day: &Day<'_>) -> Vec<ThingId> {
    let mut seen = BTreeSet::new();
    let touched = day.happened.iter().filter(|happened| is_about_a_source(&happened.what));
    let ids = touched.filter_map(|happened| match happened.of {
        Subject::Thing(id) => Some(id),
        Subject::Side(..) | Subject::Tip(_) => None,
    });
    ids.filter(|id| seen.insert(*id)).collect()
}

fn is_about_a_source(what: &Happening) -> bool {
    matches!(what, Happening::Isolated(_) | Happening::Unlocked(_) | Happening::Switched { .. })
}

/// What a source stood at when the span ended.
pub(super) fn stand(day: &Day<'_>, source: ThingId) -> Stand {
    let mut stand = Stand::default();
    for happened in day.notes.happened().filter(|happened| happened.of == Subject::Thing(source)) {
        match &happened.what {
            Happening::Switched { on } => (stand.on, stand.guarded) = (Some(*on), false),
            Happening::Isolated(Held::Lock(person)) if !stand.locks.contains(person) => stand.locks.push(*person),
            Happening::Isolated(Held::Guarded) => stand.guarded = true,
            Happening::Unlocked(person) => stand.locks.retain(|other| other != person),
            _ => {}
        }
    }
    stand
}

/// What a source stands at, in words.
pub(super) fn stand_words(day: &Day<'_>, stand: &Stand) -> String {
    let at = match (stand.on, stand.guarded) {
        (_, true) => say("record.isolation.guarded", &[]),
        (Some(true), _) => say("record.isolation.on", &[]),
        (Some(false), _) => say("record.isolation.off", &[]),
        (None, _) => say("record.known.not", &[]),
    };
    let locks: Vec<String> = stand.locks.iter().map(|person| day.names().person(*person)).collect();
    if locks.is_empty() {
        return at;
    }
    say("record.isolation.held", &[("at", &at), ("locks", &locks.join(", "))])
}

/// Isolation, source by source, and who was told.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("isolation", say("record.isolation", &[]));
    let told = Table::new(say("record.told", &[]), "record.told", &["time", "what", "by"]);
    part.table(told_rows(day, told));
    let sources = sources(day);
    if sources.is_empty() {
        part.text(say("record.isolation.none", &[]));
    }
    for source in sources {
        part.sections.push(one(day, source));
    }
    part
}

fn told_rows(day: &Day<'_>, mut table: Table) -> Table {
    for happened in &day.happened {
        if let Happening::Told(words) = &happened.what {
            let by = day.who(&happened.fact.entry);
            table.row(vec![day.time(happened.wall).into(), words.clone().into(), by.into()]);
        }
    }
    table
}

fn one(day: &Day<'_>, source: ThingId) -> Section {
    let mut part = Section::new(format!("source-{source}"), capital(&day.names().source(source)));
    let mut entries = Vec::new();
    if let Some(note) = day.left.devices.get(&source) {
        entries.push(entry("record.isolation.directory", known(&note.directory, String::clone)));
        entries.push(entry("record.isolation.leg", known(&note.leg, |bus: &Bus| bus_name(*bus))));
        let kind = known(&note.kind, |kind| day.catalogue.device_name(kind));
        entries.push(entry("record.isolation.kind", kind));
    }
    let reached = super::dead::reached_by(day, source);
    if !reached.is_empty() {
        entries.push(entry("record.isolation.reaches", reached));
    }
    entries.push(entry("record.isolation.end", stand_words(day, &stand(day, source))));
    part.entries(entries);
    let mut table = Table::new("", "record.isolation.table", &["time", "what", "by"]);
    for happened in day.happened_to(source) {
        if let Some(what) = words(day, happened) {
            let by = day.who(&happened.fact.entry);
            table.row(vec![day.time(happened.wall).into(), what.into(), by.into()]);
        }
    }
    part.table(table);
    part
}

/// With a capital, as a heading begins.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn words(day: &Day<'_>, happened: &Happened) -> Option<String> {
    is_about_a_source(&happened.what).then(|| super::done::words(&day.names(), &happened.what))
}
