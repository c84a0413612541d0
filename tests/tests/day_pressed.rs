//! The whole demo job from an empty notebook to a signed record, noted by nothing but touches and typed texts on the
//! screens; and how many of them it takes, beside the facts that a careful paper record of it holds.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod screen_support;
mod thumb_support;

use thumb_support::Day;

#[test]
fn the_whole_day_is_noted_by_touch() {
    let mut day = Day::begin();
    day.play(include_str!("../thumb/day.txt"));
}
