//! Readings of the live check, each beside the interval that was worked out for it.

use std::collections::BTreeMap;

use crate::check::{LiveReading, say_between};
use crate::job::happening::Expected;
use crate::job::{Mode, Pair, Purpose, ThingId};
use crate::predict::Predictor;
use crate::screen::row::{Edge, Pick, Row};
use crate::tell::{figure_words, prediction_words, unit, verdict_of};
use crate::words::say;

use super::bench::Bench;
use super::live::{next_open, pass_on, passed};
use super::parts::{choice, figure, headline, here, moment, notice, pair_key, sentence};
use super::work;

/// The readings by device, the next one marked if the trials are through.
pub(super) fn rows(
    bench: &Bench<'_>,
    predictor: Option<&Predictor>,
    readings: &[LiveReading],
    trials_done: bool,
) -> Vec<Row> {
    let asked = bench.view.address.field("reading").and_then(|n| n.parse::<usize>().ok());
    let mut by_device: BTreeMap<ThingId, Vec<(usize, &LiveReading)>> = BTreeMap::new();
    for (n, reading) in readings.iter().enumerate() {
        by_device.entry(reading.load.device).or_default().push((n, reading));
    }
    let mut rows = Vec::new();
    // As a person walks through the house: by box.
    let order = bench.view.left().boxes_in_order();
    let place = |device: &ThingId| {
        let home = work::home(bench.view.left(), *device);
        home.and_then(|id| order.iter().position(|other| *other == id)).unwrap_or(usize::MAX)
    };
    let mut by_device: Vec<_> = by_device.into_iter().collect();
    by_device.sort_by_key(|(device, _)| place(device));
    let course = by_device.iter().flat_map(|(_, of_device)| of_device);
    let open = course.filter(|(_, reading)| reading.taken.is_none()).map(|(n, _)| (*n, reading_key(*n)));
    let open: Vec<(usize, String)> = open.collect();
    let open = next_open(bench.view, open.iter().map(|(n, key)| (*n, key.as_str())));
    let now = asked.filter(|n| *n < readings.len()).or(open);
    for (device, of_device) in by_device {
        rows.push(headline(&format!("device {device}"), &bench.called.device_in_box(device), ""));
        if let Some(guard) = of_device.iter().find_map(|(_, reading)| reading.trips) {
            let guard = bench.called.device_in_box(guard);
            let text = say("checks.live.trips.text", &[("device", &guard)]);
            rows.push(notice(&format!("trips {device}"), false, &say("checks.live.trips", &[]), &text));
        }
        for (n, reading) in of_device {
            let is_now = now == Some(n);
            let row = reading_row(bench, predictor, n, reading, is_now);
            rows.push(if is_now && (trials_done || asked.is_some()) { row.now() } else { row });
            if reading.ask_tripped {
                rows.extend(tripped(bench, n));
            }
            if is_now {
                rows.push(answers(bench, n, reading));
            }
        }
    }
    rows
}

/// A reading's name for passing it on.
fn reading_key(n: usize) -> String {
    format!("r{n}")
}

/// After a sudden zero: did the protective device trip? Either answer leads to reading it again.
fn tripped(bench: &Bench<'_>, n: usize) -> Vec<Row> {
    let view = bench.view;
    let again = |mode: &str| view.go(&here(view, &[("reading", &n.to_string()), ("mode", mode)]));
    let picks = vec![
        Pick::new(&say("checks.live.it_tripped", &[]), again("ac_high")).second(&say("checks.live.reset", &[])),
        Pick::new(&say("checks.live.it_holds", &[]), again("")).second(&say("checks.over.again", &[])),
    ];
    vec![sentence(&format!("tripped {n}"), &say("checks.live.tripped", &[])), choice(&format!("trip {n}"), "", picks)]
}

/// Behind a device that a low-impedance reading to ground would trip, high impedance is set.
fn mode(bench: &Bench<'_>, reading: &LiveReading) -> Mode {
    if reading.trips.is_some() && bench.meter.mode == Mode::AcLow { Mode::AcHigh } else { bench.meter.mode }
}

fn interval(expected: Option<&Expected>) -> String {
    match expected {
        Some(expected) => {
            let words = prediction_words(expected.low, expected.high);
            say("checks.live.interval", &[("interval", &words)])
        }
        None => say("checks.live.no_interval", &[]),
    }
}

fn reading_row(bench: &Bench<'_>, predictor: Option<&Predictor>, n: usize, reading: &LiveReading, is_now: bool) -> Row {
    let view = bench.view;
    let pair = bench.checks.say_pair(&reading.pair);
    let title = say_between(reading.between);
    let key = format!("reading {}", pair_key(&reading.pair));
    let Some(taken) = &reading.taken else {
        let mode = mode(bench, reading);
        let expected =
            predictor.and_then(|predictor| predictor.reading(view.notes, &reading.pair, &[], (bench.meter.id, mode)));
        let waits = !is_now && passed(view).contains(&reading_key(n));
        let second = if waits { say("checks.live.passed_on", &[]) } else { pair };
        let row = figure(&key, &title, &second, "", "V", &interval(expected.as_ref())).edge(Edge::Unknown);
        return if is_now { row } else { row.leads(view.go(&here(view, &[("reading", &n.to_string())]))) };
    };
    let verdict = verdict_of(reading.agrees);
    let fill = [("when", moment(view, taken.when.wall)), ("verdict", verdict)];
    let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
    let second =
        if reading.agrees.is_some() { say("checks.live.read", &fill) } else { say("checks.live.read_only", &fill) };
    let edge = match reading.agrees {
        Some(true) => Edge::Left,
        Some(false) => Edge::Disagrees,
        None => Edge::Found,
    };
    let value = figure_words(&taken.reading.figure, taken.reading.mode);
    let row = figure(&key, &title, &second, &value, "", &interval(taken.reading.shown.as_ref())).edge(edge);
    if is_now { row } else { row.leads(view.go(&here(view, &[("reading", &n.to_string())]))) }
}

/// The number that the meter shows, or that it shows none.
fn answers(bench: &Bench<'_>, n: usize, reading: &LiveReading) -> Row {
    let view = bench.view;
    let pair: &Pair = &reading.pair;
    let at = work::home(view.left(), reading.load.device);
    let at = at.map(|id| bench.read(id, pair, Purpose::Live, mode(bench, reading))).unwrap_or_default();
    let then = here(view, &[("reading", ""), ("again", "")]);
    let send = |name: &str, value: &str| view.event_then(at.clone().with(name, value), &then);
    let number = Pick::new(&say("checks.live.number", &[]), send("value", "?"));
    let none = Pick::new(&say("checks.no_digits", &[]), send("indication", "?"));
    let picks = vec![
        number.asks(&say("checks.ask_number", &[]), true).unit(unit(mode(bench, reading))),
        Pick::new(&say("tell.over_range", &[]), send("value", "OL")),
        none.asks(&say("checks.ask_lit", &[]), false),
    ];
    let pass = reading.taken.is_none().then(|| pass_on(view, &reading_key(n)));
    let picks = picks.into_iter().chain(pass).collect();
    choice(&format!("answer {n}"), "", picks)
}
