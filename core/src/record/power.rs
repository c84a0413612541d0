//! What was done before power, and what was read or seen after it that was not as worked out.

use crate::check::Observed;
use crate::job::Happening;
use crate::tell::figure_words;
use crate::words::say;

use super::day::Day;
use super::document::{Cell, Mark, Section, Table};
use super::done::readied;
use super::reading::{on_off, shown_on_off, shown_words};

/// The list before power, as far as it was noted.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("before-power", say("record.power", &[]));
    let mut table = Table::new("", "record.power", &["time", "what", "by"]);
    for happened in &day.happened {
        if let Happening::Readied(point) = &happened.what {
            let by = day.who(&happened.fact.entry);
            table.row(vec![day.time(happened.wall).into(), readied(point).into(), by.into()]);
        }
    }
    if table.rows.is_empty() {
        part.text(say("record.power.none", &[]));
    } else {
        part.text(say("record.power.readings", &[]));
    }
    part.table(table);
    part
}

/// Everything that was not as worked out, and when the same point was read or tried again and agreed.
pub(super) fn disagreements(day: &Day<'_>) -> Section {
    let mut part = Section::new("disagreements", say("record.disagreements", &[]));
    let columns = ["time", "what", "shown", "seen", "ended"];
    let mut table = Table::new("", "record.disagreements", &columns);
    for one in &day.checked.disagreements {
        let Some(row) = row(day, &one.observed) else { continue };
        let ended = match one.ended {
            Some(when) => Cell::new(say("record.disagreements.at", &[("time", &day.time(when.wall))])),
            None => Cell::marked(say("record.disagreements.stands", &[]), Some(Mark::Disagrees)),
        };
        table.row(row.into_iter().chain([ended]).collect());
    }
    if table.rows.is_empty() {
        part.text(say("record.disagreements.none", &[]));
    }
    part.table(table);
    part
}

fn row(day: &Day<'_>, observed: &Observed) -> Option<Vec<Cell>> {
    let names = day.names();
    let (when, fact, what, shown, seen) = match observed {
        Observed::Reading(_, taken) => {
            let reading = &taken.reading;
            let (from, to) = (names.spot(&reading.pair.from, None), names.spot(&reading.pair.to, None));
            let pair = say("name.pair", &[("to", &to), ("from", &from)]);
            let what = super::name::listed([pair, names.at(&reading.at)]);
            let figure = figure_words(&reading.figure, reading.mode);
            (taken.when, taken.fact, what, shown_words(reading.shown.as_ref()), figure)
        }
        Observed::Trial(tried) => {
            let trial = &tried.trial;
            let what = super::name::listed([names.load(&trial.load), names.at(&trial.at)]);
            (tried.when, tried.fact, what, shown_on_off(trial.shown), on_off(trial.on))
        }
    };
    let row = [day.time(when.wall), what, shown, seen];
    day.has(&fact.entry).then(|| row.map(Cell::new).into())
}
