//! Readings of a box other than those of its dead checks, and the trials of its loads, each beside what was worked
//! out when it was taken.

use crate::job::happening::{Expected, Trial};
use crate::job::{Figure, Happened, Happening, Purpose, Reading, ThingId};
use crate::tell::{figure_words, mode_words, prediction_words, verdict_of, within};
use crate::words::{count, say};

use super::day::Day;
use super::document::{Cell, Mark, Table};
use super::name::{listed, words_of};

/// Readings of the span at a box that belong to no dead check, in order.
fn of_box<'a>(day: &Day<'a>, id: ThingId) -> Vec<(&'a Happened, &'a Reading)> {
    let read = day.happened_to(id).filter_map(|happened| match &happened.what {
        Happening::Read(reading) if reading.purpose != Purpose::Dead => Some((happened, reading)),
        _ => None,
    });
    read.collect()
}

/// What was worked out for a reading when it was taken.
pub(super) fn shown_words(shown: Option<&Expected>) -> String {
    shown.map_or_else(|| say("record.shown.none", &[]), |shown| prediction_words(shown.low, shown.high))
}

/// A verdict with its mark: what disagrees is marked, what agrees needs none.
pub(super) fn verdict(agrees: Option<bool>) -> Cell {
    match agrees {
        Some(false) => Cell::marked("", Some(Mark::Disagrees)),
        other => verdict_of(other).into(),
    }
}

/// A moment, with whoever noted it where there are several.
pub(super) fn moment(day: &Day<'_>, happened: &Happened) -> String {
    let by = if day.has_several_people() { day.who(&happened.fact.entry) } else { String::new() };
    listed([day.time(happened.wall), by])
}

/// The readings of a box.
pub(super) fn table(day: &Day<'_>, id: ThingId) -> Table {
    let columns = ["time", "purpose", "pair", "at", "with", "shown#", "read#", "verdict"];
    let mut table = Table::new(say("record.readings", &[]), "record.readings", &columns);
    let names = day.names();
    for (happened, reading) in of_box(day, id) {
        let (from, to) = (names.spot(&reading.pair.from, Some(id)), names.spot(&reading.pair.to, Some(id)));
        let shown = reading.shown.as_ref();
        table.row(vec![
            moment(day, happened).into(),
            words_of("record.purpose", &reading.purpose).into(),
            say("name.pair", &[("to", &to), ("from", &from)]).into(),
            names.at(&reading.at).into(),
            listed([names.instrument(reading.instrument), mode_words(reading.mode)]).into(),
            shown_words(shown).into(),
            figure_words(&reading.figure, reading.mode).into(),
            verdict(shown.and_then(|shown| within(&reading.figure, shown))),
        ]);
    }
    table
}

/// The live readings of a box: how many, the highest, when the last was taken.
pub(super) fn live_words(day: &Day<'_>, id: ThingId) -> String {
    let live: Vec<_> = of_box(day, id).into_iter().filter(|(_, r)| r.purpose == Purpose::Live).collect();
    let Some((last, _)) = live.last() else { return say("record.read.not", &[]) };
    let readings = count("record.read.readings", live.len(), &[]);
    listed([day.time(last.wall), readings, highest(live.iter().map(|(_, reading)| *reading))])
}

/// The highest of some readings.
pub(super) fn highest<'r>(readings: impl Iterator<Item = &'r Reading>) -> String {
    let mut top: Option<(f64, &Reading)> = None;
    for reading in readings {
        let value = match &reading.figure {
            Figure::Number(number) => number.to_f64().abs(),
            Figure::OverRange => f64::INFINITY,
            Figure::NoDigits(_) => continue,
        };
        if top.is_none_or(|(most, _)| value > most) {
            top = Some((value, reading));
        }
    }
    top.map_or_else(
        || say("record.read.no_digits", &[]),
        |(_, reading)| say("record.read.highest", &[("v", &figure_words(&reading.figure, reading.mode))]),
    )
}

/// Whether a load had power.
pub(super) fn on_off(on: bool) -> String {
    say(if on { "tell.power.on" } else { "tell.power.off" }, &[])
}

/// What was worked out for a trial when it was shown.
pub(super) fn shown_on_off(shown: Option<bool>) -> String {
    shown.map_or_else(|| say("record.shown.none", &[]), on_off)
}

/// The trials of the loads in a box, in order.
pub(super) fn trials(day: &Day<'_>, id: ThingId) -> Table {
    let columns = ["time", "load", "at", "shown", "seen", "verdict"];
    let mut table = Table::new(say("record.trials", &[]), "record.trials", &columns);
    let names = day.names();
    for happened in &day.happened {
        let Happening::Tried(trial) = &happened.what else { continue };
        if home(day, trial) != Some(id) {
            continue;
        }
        table.row(vec![
            moment(day, happened).into(),
            names.load(&trial.load).into(),
            names.at(&trial.at).into(),
            shown_on_off(trial.shown).into(),
            on_off(trial.on).into(),
            verdict(trial.shown.map(|shown| shown == trial.on)),
        ]);
    }
    table
}

/// The box of the load that was tried.
fn home(day: &Day<'_>, trial: &Trial) -> Option<ThingId> {
    let wirings = [&day.left, &day.found, &day.planned];
    wirings.into_iter().find_map(|wiring| *wiring.devices.get(&trial.load.device)?.in_box.get()?)
}
