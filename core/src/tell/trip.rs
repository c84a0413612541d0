//! What protective devices do by themselves, in words.

use crate::circuit::{Operated, Sees, Trip, When};
use crate::job::Handle;
use crate::name::Called;
use crate::words::say;

use super::path_words;

/// "trips within 3.7 s".
pub fn when_words(when: When) -> String {
    match when {
        When::Holds => say("tell.trip.holds", &[]),
        When::NoSupply => say("tell.trip.no_supply", &[]),
        When::May => say("tell.trip.may", &[]),
        When::AtOnce => say("tell.trip.at_once", &[]),
        When::Within { seconds, maybe_at_once } => {
            let key = if maybe_at_once { "tell.trip.within_or_at_once" } else { "tell.trip.within" };
            say(key, &[("time", &time_words(seconds))])
        }
    }
}

/// A time as people say it, two figures: "25 ms", "3.7 s", "2 min", "1 h".
fn time_words(seconds: f64) -> String {
    let (key, n) = if seconds < 1.0 {
        ("tell.trip.time.ms", seconds * 1_000.0)
    } else if seconds < 60.0 {
        ("tell.trip.time.s", seconds)
    } else if seconds < 3_600.0 {
        ("tell.trip.time.min", seconds / 60.0)
    } else {
        ("tell.trip.time.h", seconds / 3_600.0)
    };
    say(key, &[("n", &figures(n))])
}

/// Two figures that count, no zeros behind the point.
fn figures(n: f64) -> String {
    let text = if n < 9.95 { format!("{n:.1}") } else { format!("{n:.0}") };
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// What a device sees.
fn sees_words(called: &Called<'_>, sees: &Sees) -> String {
    match sees {
        Sees::Difference { milliamperes } => {
            say("tell.trip.sees.difference", &[("milliamperes", &figures(*milliamperes))])
        }
        Sees::WayRound { ohms, path } => {
            let (ohms, path) = (format!("{ohms:.2}"), path_words(called, path));
            let key = if path.is_empty() { "tell.trip.sees.way_round" } else { "tell.trip.sees.way_round_by" };
            say(key, &[("ohms", &ohms), ("path", &path)])
        }
        Sees::Current { amperes, rating_amperes: Some(rating) } => {
            say("tell.trip.sees.current", &[("amperes", &figures(*amperes)), ("rating", &figures(*rating))])
        }
        Sees::Current { amperes, rating_amperes: None } => {
            say("tell.trip.sees.current_not_rated", &[("amperes", &figures(*amperes))])
        }
    }
}

/// What one device does and why, in one line.
pub fn trip_words(called: &Called<'_>, trip: &Trip) -> String {
    let (device, does) = (called.device_in_box(trip.handle.device), when_words(trip.when));
    let sees = sees_words(called, &trip.sees);
    say("tell.trip.line", &[("device", &device), ("does", &does), ("sees", &sees)])
}

/// A device that cannot be set.
pub fn locked_words(called: &Called<'_>, handle: &Handle) -> String {
    say("tell.trip.locked", &[("device", &called.device_in_box(handle.device))])
}

/// What happens when power comes on, a line for each device that does something.
pub fn operated_lines(called: &Called<'_>, operated: &Operated<'_>) -> Vec<String> {
    let locked = operated.locked.iter().map(|handle| locked_words(called, handle));
    locked.chain(operated.trips.iter().map(|trip| trip_words(called, trip))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_currents_are_said_in_two_figures() {
        let within = |seconds, maybe_at_once| when_words(When::Within { seconds, maybe_at_once });
        assert_eq!(within(0.025, false), "trips within 25 ms");
        assert_eq!(within(3.706, false), "trips within 3.7 s");
        assert_eq!(within(120.0, true), "trips within 2 min, perhaps at once");
        assert_eq!(within(3_600.0, false), "trips within 1 h");
        assert_eq!(when_words(When::AtOnce), "trips at once");
        assert_eq!(when_words(When::May), "may trip");
        assert_eq!(figures(565.4), "565");
        assert_eq!(figures(8.04), "8");
    }
}
