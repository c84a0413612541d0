//! Materials, hours and extras; what is unfinished, held open, or found and not ours.

use std::collections::BTreeSet;

use crate::check::{Checks, Policy, on_since, say_between, worked};
use crate::job::{Happened, Happening, Subject, ThingId};
use crate::words::say;

use super::day::Day;
use super::document::{Cell, Section, Table};
use super::done::amount;
use super::name::goods as named;

/// Materials used, hours, extras to bill.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("materials", say("record.goods", &[]));
    let mut used = Table::new(say("record.used", &[]), "record.used", &["item", "amount#", "whose"]);
    let mut hours = Table::new(say("record.hours", &[]), "record.hours", &["person", "hours#"]);
    let mut extras = Table::new(say("record.extras", &[]), "record.extras", &["time", "what", "by"]);
    for happened in &day.happened {
        let by = day.who(&happened.fact.entry);
        match &happened.what {
            Happening::Used(one) => {
                let whose = if one.customers { say("record.used.customers", &[]) } else { String::new() };
                used.row(vec![named(day.catalogue, &one.item).into(), amount(one).into(), whose.into()]);
            }
            Happening::Hours(worked) => hours.row(vec![by.into(), worked.to_string().into()]),
            Happening::Extra(words) => {
                extras.row(vec![day.time(happened.wall).into(), words.clone().into(), by.into()]);
            }
            _ => {}
        }
    }
    if used.rows.is_empty() {
        part.text(say("record.used.none", &[]));
    }
    part.table(used);
    if hours.rows.is_empty() {
        part.text(say("record.hours.none", &[]));
    }
    part.table(hours);
    part.table(extras);
    part
}

/// A do-not-cover hold, and when it ended.
pub(super) struct Hold<'a> {
    pub(super) noted: &'a Happened,
    pub(super) words: &'a str,
    pub(super) ended: Option<&'a Happened>,
}

/// Every hold of the job's site that was noted in the span or still stands at its end.
pub(super) fn holds<'a>(day: &Day<'a>) -> Vec<Hold<'a>> {
    let mut holds: Vec<Hold<'a>> = Vec::new();
    for happened in day.notes.happened() {
        match &happened.what {
            Happening::DoNotCover(words) => holds.push(Hold { noted: happened, words, ended: None }),
            Happening::MayCover(_) => {
                let open = holds.iter_mut().filter(|hold| hold.noted.of == happened.of && hold.ended.is_none());
                open.for_each(|hold| hold.ended = Some(happened));
            }
            _ => {}
        }
    }
    let in_span = |happened: &Happened| day.has(&happened.fact.entry);
    holds.retain(|hold| hold.ended.is_none_or(in_span) || in_span(hold.noted));
    holds
}

/// What is left undone, by subject.
pub(super) fn undone<'a>(day: &Day<'a>) -> Vec<(&'a Subject, &'a str, &'a Happened)> {
    let each = day.happened.iter().filter_map(|happened| match &happened.what {
        Happening::Unfinished(words) => Some((&happened.of, words.as_str(), *happened)),
        _ => None,
    });
    each.collect()
}

/// Unfinished work, holds, and what was found and is not ours.
pub(super) fn unfinished(day: &Day<'_>) -> Section {
    let mut part = Section::new("unfinished", say("record.unfinished", &[]));
    let names = day.names();
    let columns = ["about", "words", "time", "by"];
    let mut open = Table::new("", "record.unfinished", &columns);
    for (of, words, happened) in undone(day) {
        let by = day.who(&happened.fact.entry);
        open.row(vec![names.subject(of).into(), words.into(), day.time(happened.wall).into(), by.into()]);
    }
    if open.rows.is_empty() {
        part.text(say("record.unfinished.none", &[]));
    }
    part.table(open);
    let columns = ["about", "words", "time", "by", "ended"];
    let mut held = Table::new(say("record.held", &[]), "record.held", &columns);
    for hold in holds(day) {
        let ended = match hold.ended.map(|ended| (&ended.what, ended)) {
            Some((Happening::MayCover(words), ended)) => {
                say("record.held.ended_at", &[("time", &day.time(ended.wall)), ("words", words)])
            }
            _ => say("record.held.stands", &[]),
        };
        held.row(vec![
            names.subject(&hold.noted.of).into(),
            hold.words.into(),
            day.time(hold.noted.wall).into(),
            day.who(&hold.noted.fact.entry).into(),
            ended.into(),
        ]);
    }
    part.table(held);
    part.table(not_tried(day));
    part.table(not_ours(day));
    part
}

/// What the live check calls for and nobody tried or read since the power came on. Nothing of it is noted: it is told
/// because a list of what was tried does not show what was not.
fn not_tried(day: &Day<'_>) -> Table {
    let checks = Checks::new(day.notes, &day.left, day.catalogue, Policy::of(&day.job));
    let boxes = worked(day.notes, Some(day.job.id), &day.left);
    let sources: BTreeSet<ThingId> =
        boxes.iter().flat_map(|id| checks.isolation(*id).sources).map(|source| source.id).collect();
    let sources: Vec<ThingId> = sources.into_iter().collect();
    let live = checks.live(&boxes.into_iter().collect(), on_since(day.notes, &sources));
    let names = day.names();
    let columns = ["about", "at", "state"];
    let mut table = Table::new(say("record.not_tried", &[]), "record.not_tried", &columns);
    for trial in live.trials.iter().filter(|trial| trial.tried.is_none()) {
        let state = say("record.not_tried.trial", &[]);
        table.row(vec![names.load(&trial.load).into(), names.at(&trial.at).into(), state.into()]);
    }
    for reading in live.readings.iter().filter(|reading| reading.taken.is_none()) {
        let state = say("record.not_tried.reading", &[]);
        table.row(vec![names.load(&reading.load).into(), say_between(reading.between).into(), state.into()]);
    }
    table
}

/// What was found and not caused by this work, with the occupant's word.
fn not_ours(day: &Day<'_>) -> Table {
    let mut table = Table::new(say("record.not_ours", &[]), "record.not_ours", &["about", "words", "time", "by"]);
    for happened in &day.happened {
        if let Happening::FoundNotOurs(words) = &happened.what {
            let row = [
                day.names().subject(&happened.of),
                words.clone(),
                day.time(happened.wall),
                day.who(&happened.fact.entry),
            ];
            table.row(row.map(Cell::new).into());
        }
    }
    table
}
