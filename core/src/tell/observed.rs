//! Readings and switch trials beside what was worked out when they were shown, in words.

use crate::job::happening::{Expected, Trial};
use crate::job::{At, LoadPoint, Purpose, Reading, ThingId};
use crate::name::Called;
use crate::words::say;

use super::{figure_words, power_words, prediction_words, verdict_of, within};
use crate::circuit::Power;

/// Something that was observed, in words.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ObservedWords {
    /// What was read or tried, where, with handles in which positions.
    pub what: String,
    /// What was read or seen.
    pub seen: String,
    /// What was worked out when it was shown.
    pub shown: String,
    /// "agrees", "disagrees", or nothing where nothing was worked out.
    pub verdict: String,
}

/// A reading at a box.
pub fn reading_words(called: &Called<'_>, at: Option<ThingId>, reading: &Reading) -> ObservedWords {
    let agrees = reading.shown.as_ref().and_then(|shown| within(&reading.figure, shown));
    let pair = called.pair(&reading.pair);
    let place = at.map(|id| called.wiring.tag(id)).unwrap_or_default();
    let pair = if place.is_empty() { pair } else { say("name.in_box", &[("box", &place), ("name", &pair)]) };
    ObservedWords {
        what: with_positions(called, pair, &reading.at),
        seen: figure_words(&reading.figure, reading.mode),
        shown: expected_words(reading.shown.as_ref()),
        verdict: verdict_of(agrees),
    }
}

/// A switch trial.
pub fn trial_words(called: &Called<'_>, trial: &Trial) -> ObservedWords {
    ObservedWords {
        what: with_positions(called, called.load(&trial.load), &trial.at),
        seen: on_off(Some(trial.on)),
        shown: on_off(trial.shown),
        verdict: verdict_of(trial.shown.map(|shown| shown == trial.on)),
    }
}

/// A load point with handles in some positions: what a trial asks for.
pub fn asked_trial_words(called: &Called<'_>, load: &LoadPoint, at: &[At]) -> String {
    with_positions(called, called.load(load), at)
}

/// What a meter should show; says so where nothing can be worked out.
pub fn expected_words(shown: Option<&Expected>) -> String {
    shown.map_or_else(|| say("tell.not_worked_out", &[]), |shown| prediction_words(shown.low, shown.high))
}

/// On, off, or that it cannot be worked out.
pub fn on_off(on: Option<bool>) -> String {
    match on {
        Some(on) => power_words(if on { Power::On } else { Power::Off }),
        None => say("tell.not_worked_out", &[]),
    }
}

/// What a reading was taken for.
pub fn purpose_words(purpose: Purpose) -> String {
    say(
        match purpose {
            Purpose::Reference => "tell.purpose.reference",
            Purpose::Dead => "tell.purpose.dead",
            Purpose::Neutral => "tell.purpose.neutral",
            Purpose::BeforePower => "tell.purpose.before_power",
            Purpose::Live => "tell.purpose.live",
            Purpose::Search => "tell.purpose.search",
        },
        &[],
    )
}

fn with_positions(called: &Called<'_>, what: String, at: &[At]) -> String {
    if at.is_empty() {
        return what;
    }
    say("tell.with_positions", &[("what", &what), ("positions", &called.positions(at))])
}
