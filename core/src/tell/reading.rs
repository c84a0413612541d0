//! Readings and predictions, in words; and whether one agrees with the other.

use crate::circuit::Prediction;
use crate::job::happening::Expected;
use crate::job::{Decimal, Figure, Mode};
use crate::words::say;

/// A setting of an instrument.
pub fn mode_words(mode: Mode) -> String {
    say(
        match mode {
            Mode::AcHigh => "tell.mode.ac_high",
            Mode::AcLow => "tell.mode.ac_low",
            Mode::Dc => "tell.mode.dc",
            Mode::Ohms => "tell.mode.ohms",
            Mode::Clamp => "tell.mode.clamp",
            Mode::Proximity => "tell.mode.proximity",
        },
        &[],
    )
}

/// The unit of what an instrument shows in a mode.
pub fn unit(mode: Mode) -> &'static str {
    match mode {
        Mode::AcHigh | Mode::AcLow | Mode::Dc | Mode::Proximity => "V",
        Mode::Ohms => "Ω",
        Mode::Clamp => "A",
    }
}

/// What an instrument showed, with its unit.
pub fn figure_words(figure: &Figure, mode: Mode) -> String {
    match figure {
        Figure::Number(value) => format!("{value} {}", unit(mode)),
        Figure::NoDigits(words) => say("tell.no_digits", &[("words", words)]),
        Figure::OverRange => say("tell.over_range", &[]),
    }
}

/// What was worked out for a reading: "118.9 to 120.3 V".
pub fn prediction_words(low: Decimal, high: Decimal) -> String {
    say("tell.interval", &[("low", &low.to_string()), ("high", &high.to_string()), ("unit", "V")])
}

/// A prediction as it is kept beside a reading: volts with one decimal, widened outwards to them.
pub(crate) fn kept(prediction: &Prediction, basis: crate::job::Hash) -> Option<Expected> {
    let low = Decimal::rounded((prediction.volts.low * 10.0).floor() / 10.0, 1)?;
    let high = Decimal::rounded((prediction.volts.high * 10.0).ceil() / 10.0, 1)?;
    Some(Expected { low, high, basis })
}

/// Does a figure lie within what was expected? `None` where it has no digits.
pub fn within(figure: &Figure, expected: &Expected) -> Option<bool> {
    match figure {
        Figure::Number(value) => {
            Some(*value_range(expected).start() <= value.to_f64() && value.to_f64() <= *value_range(expected).end())
        }
        Figure::OverRange => Some(false),
        Figure::NoDigits(_) => None,
    }
}

fn value_range(expected: &Expected) -> std::ops::RangeInclusive<f64> {
    expected.low.to_f64()..=expected.high.to_f64()
}

/// "agrees", "disagrees", or nothing where nothing was expected.
pub fn verdict_of(agrees: Option<bool>) -> String {
    match agrees {
        Some(true) => say("tell.agrees", &[]),
        Some(false) => say("tell.disagrees", &[]),
        None => String::new(),
    }
}
