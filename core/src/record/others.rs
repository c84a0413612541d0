//! What stands from earlier visits and other people.

use std::collections::BTreeMap;

use crate::job::{Happened, Happening, Hash, PersonNote};
use crate::words::say;

use super::day::{Day, known};
use super::document::{Section, Table};
use super::done;

/// Earlier visits, and what their people wrote down for the next one.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("earlier", say("record.earlier", &[]));
    part.table(visits(day));
    part.table(words(day));
    if !part.is_empty() {
        part.text(say("record.earlier.is", &[]));
    }
    part
}

/// Every visit outside the span.
fn visits(day: &Day<'_>) -> Table {
    let mut entries: BTreeMap<Hash, usize> = BTreeMap::new();
    for (_, kept) in day.notes.entries() {
        let visit = kept.noted.entry.visit.unwrap_or(kept.noted.hash);
        *entries.entry(visit).or_default() += 1;
    }
    let columns = ["day", "person", "licence", "job", "entries#"];
    let mut table = Table::new(say("record.earlier.visits", &[]), "record.earlier", &columns);
    for visit in day.notes.visits() {
        if day.visits.iter().any(|own| own.id == visit.id) {
            continue;
        }
        let person = PersonNote::read(day.notes, visit.person);
        let count = entries.get(&visit.id).copied().unwrap_or(0);
        table.row(vec![
            visit.arrived.day().into(),
            day.names().person(visit.person).into(),
            known(&person.licence, String::clone).into(),
            day.names().thing(visit.job).into(),
            count.to_string().into(),
        ]);
    }
    table
}

/// Words that somebody left outside the span.
fn words(day: &Day<'_>) -> Table {
    let columns = ["day", "by", "about", "words"];
    let mut table = Table::new(say("record.earlier.left_words", &[]), "record.earlier", &columns);
    let is_left = |happened: &&Happened| {
        let left = matches!(
            happened.what,
            Happening::Remark(_)
                | Happening::Concluded(_)
                | Happening::FoundNotOurs(_)
                | Happening::DoNotCover(_)
                | Happening::MayCover(_)
                | Happening::Unfinished(_)
        );
        left && !day.has(&happened.fact.entry)
    };
    for happened in day.notes.happened().filter(is_left) {
        let names = day.names();
        table.row(vec![
            happened.wall.day().into(),
            day.who(&happened.fact.entry).into(),
            names.subject(&happened.of).into(),
            done::words(&names, &happened.what).into(),
        ]);
    }
    table
}
