//! What was worked out, in words: promises, hazards, paths, predictions. Screens, records and the command line all
//! say it the same way.

mod observed;
mod outcome;
mod reading;
mod table;
mod trip;
mod trouble;
mod twice;
mod uncovered;

pub use observed::{
    ObservedWords, asked_trial_words, expected_words, on_off, purpose_words, reading_words, trial_words,
};
pub use outcome::in_order;
pub use outcome::{Told, asked_words, breach_lines, fed_words, outcome_words, power_words};
pub(crate) use reading::kept;
pub use reading::{figure_words, mode_words, prediction_words, unit, verdict_of, within};
pub use table::{ClassLines, Column, MOST_ROWS, class_lines, columns, gets_words, group_lines};
pub use trip::{locked_words, operated_lines, trip_words, when_words};
pub use trouble::{boundary_words, hazard_words, path_words};
pub use twice::twice_words;
pub use uncovered::{Uncovered, uncovered};

/// A hazard in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HazardWords {
    /// What is wrong, in one line.
    pub title: String,
    /// Where, in which positions, by which path.
    pub text: String,
}
