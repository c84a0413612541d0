//! How many acts it takes to note a two-gang box with four runs and two devices, beside the facts that a careful paper
//! note of it holds. Every touch and every typed text that is sent counts, those that only lead on too.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod acts;
mod screen_support;

use acts::{Facts, Known, flow};

#[test]
fn a_two_gang_box_takes_at_most_one_act_for_two_facts() {
    let done = flow::two_gang();
    let facts = Facts::read(include_str!("acts/two_gang_facts.txt"));
    let notes = done.notes();
    let known = Known::of(&notes, done.layer());
    let wrong: Vec<String> = facts.lines.iter().filter_map(|fact| fact.unlike(&known)).collect();
    assert!(wrong.is_empty(), "{wrong:#?}\n{:#?}", known.labels());
    let acts = done.acts;
    assert!(2 * acts <= facts.lines.len(), "{acts} acts for {} facts", facts.lines.len());
    // What was said in bulk is no observation.
    let looked_at = known.looked_at();
    assert!(!looked_at.is_empty() && looked_at.iter().all(|looked| !looked), "{looked_at:?}");
}
