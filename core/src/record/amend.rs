//! What was noted twice, what was struck out, and what only a newer version can read.

use crate::job::notes::Kept;
use crate::job::{Fact, FactRef, Layer, Note, Strike, Subject, Target};
use crate::words::{count, say};

use super::day::Day;
use super::document::{Cell, Mark, Section, Table};
use super::{done, said};

/// Noted twice, struck out, newer.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("amended", say("record.amended", &[]));
    part.table(twice(day));
    part.table(struck(day));
    let newer = day.notes.newer();
    if newer > 0 {
        part.text(Cell::new(count("record.newer", newer, &[])));
    }
    part
}

/// A value of which unlike notes stand beside each other.
pub(super) struct Twice {
    pub(super) of: Subject,
    field: String,
    values: Vec<(String, FactRef)>,
}

/// Everything that is noted twice with unlike values, seen from what was left.
pub(super) fn noted_twice(day: &Day<'_>) -> Vec<Twice> {
    let mut found = Vec::new();
    let names = day.names();
    for of in day.notes.subjects() {
        let kind = match of {
            Subject::Thing(id) => day.notes.kind(*id),
            Subject::Side(..) | Subject::Tip(_) => None,
        };
        for field in day.notes.all_fields(of) {
            for layer in [Layer::Left(day.job.id), Layer::Planned(day.job.id)] {
                let Note::Twice(values) = day.notes.note(of, &field, layer, |value| Some(value.clone())) else {
                    continue;
                };
                let words = |(value, basis): &(crate::job::Value, crate::job::Basis)| {
                    (said::words(&names, kind, value).1, basis.fact)
                };
                let name = values.first().map(|(value, _)| said::words(&names, kind, value).0).unwrap_or_default();
                found.push(Twice { of: of.clone(), field: name, values: values.iter().map(words).collect() });
                break; // the planned layer looks through to the same two notes
            }
        }
    }
    found
}

fn twice(day: &Day<'_>) -> Table {
    let columns = ["about", "field", "values"];
    let mut table = Table::new(say("record.twice", &[]), "record.twice", &columns);
    for twice in noted_twice(day) {
        let values = twice.values.iter().map(|(value, fact)| {
            let time = day.when(*fact).map(|wall| day.time(wall)).unwrap_or_default();
            let by = day.who(&fact.entry);
            say("record.twice.value", &[("value", value), ("time", &time), ("by", &by)])
        });
        let values = values.collect::<Vec<_>>().join("; ");
        table.row(vec![
            day.names().subject(&twice.of).into(),
            twice.field.into(),
            Cell::marked(values, Some(Mark::Disagrees)),
        ]);
    }
    table
}

/// Strikes of the span, or of entries of the span, with what was struck: still readable, as on paper.
fn struck(day: &Day<'_>) -> Table {
    let columns = ["noted", "what", "by", "struck", "why"];
    let mut table = Table::new(say("record.struck", &[]), "record.struck", &columns);
    for (_, kept) in day.notes.entries() {
        for strike in strikes(kept) {
            let entry = &kept.noted.entry;
            let in_span = day.has(&kept.noted.hash) || target_entry(strike).is_some_and(|hash| day.has(&hash));
            if !in_span {
                continue;
            }
            let (noted, what, by) = what_was_struck(day, strike);
            let mut struck_at = format!("{}, {}", day.time(entry.wall), day.who(&kept.noted.hash));
            if kept.struck {
                struck_at = say("record.struck.back", &[("struck", &struck_at)]);
            }
            let what = if kept.struck { Cell::new(what) } else { Cell::struck(what) };
            let why =
                if strike.reason.is_empty() { say("record.struck.no_reason", &[]) } else { strike.reason.clone() };
            table.row(vec![noted.into(), what, by.into(), struck_at.into(), why.into()]);
        }
    }
    table
}

fn strikes(kept: &Kept) -> impl Iterator<Item = &Strike> {
    kept.noted.entry.facts.iter().filter_map(|fact| match fact {
        Fact::Strike(strike) => Some(strike),
        Fact::Set(_) | Fact::Add(_) | Fact::Same(_) | Fact::Newer(_) => None,
    })
}

fn target_entry(strike: &Strike) -> Option<crate::job::Hash> {
    match &strike.what {
        Target::Entry(hash) => Some(*hash),
        Target::Fact(fact) => Some(fact.entry),
        Target::Thing(_) => None,
    }
}

/// When it was noted, what it said, and by whom.
fn what_was_struck(day: &Day<'_>, strike: &Strike) -> (String, String, String) {
    let facts = |kept: &Kept, only: Option<u16>| {
        let facts = (0u16..).zip(&kept.noted.entry.facts).filter(|(n, _)| only.is_none_or(|only| *n == only));
        facts.map(|(_, fact)| fact_words(day, fact)).collect::<Vec<_>>().join("; ")
    };
    let noted = |hash: &crate::job::Hash, only: Option<u16>| match day.kept.get(hash) {
        Some(kept) => (day.time(kept.noted.entry.wall), facts(kept, only), day.who(hash)),
        None => (String::new(), say("record.struck.not_here", &[]), String::new()),
    };
    match &strike.what {
        Target::Entry(hash) => noted(hash, None),
        Target::Fact(fact) => noted(&fact.entry, Some(fact.n)),
        Target::Thing(id) => {
            let name = day.names().thing(*id);
            (String::new(), say("record.struck.thing", &[("name", &name)]), String::new())
        }
    }
}

/// A fact in words.
fn fact_words(day: &Day<'_>, fact: &Fact) -> String {
    let names = day.names();
    match fact {
        Fact::Set(set) => {
            let kind = match &set.of {
                Subject::Thing(id) => day.notes.kind(*id),
                Subject::Side(..) | Subject::Tip(_) => None,
            };
            let (field, value) = said::words(&names, kind, &set.value);
            say("record.fact.set", &[("of", &names.subject(&set.of)), ("field", &field), ("value", &value)])
        }
        Fact::Add(add) => {
            let what = done::words(&names, &add.what);
            say("record.note.of", &[("of", &names.subject(&add.of)), ("what", &what)])
        }
        Fact::Same(same) => say("record.fact.same", &[("a", &names.thing(same.a)), ("b", &names.thing(same.b))]),
        Fact::Strike(strike) => say("record.fact.strike", &[("reason", &strike.reason)]),
        Fact::Newer(_) => say("record.fact.newer", &[]),
    }
}
