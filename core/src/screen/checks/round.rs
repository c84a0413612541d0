//! A round of dead checks: several boxes between one showing of the meter on a known source and the next.

use crate::check::Proven;
use crate::job::ThingId;
use crate::screen::order::boxes_as_power_runs;
use crate::screen::row::{Edge, Pick, Row};
use crate::screen::state::{box_state, is_cover_off};
use crate::token::Line;
use crate::words::{count, say};

use super::dead::{Dead, Stage, ground_of};
use super::parts::{choice, edged, item, place};

/// The boxes that wait for their dead check in this round, in the order of the walk from this one on: their cover is
/// off, every source is held, and pairs are left to be read.
pub(super) fn waiting(dead: &Dead<'_, '_>) -> Vec<ThingId> {
    let (bench, view) = (dead.bench, dead.bench.view);
    let order = boxes_as_power_runs(view);
    let here = order.iter().position(|id| *id == dead.check.r#box).unwrap_or(0);
    let walk = order.iter().cycle().skip(here + 1).take(order.len().saturating_sub(1));
    let waits = |id: &&ThingId| {
        is_cover_off(view, **id) && {
            let other = Dead::new(bench, **id, dead.person);
            let begun = other.stage == Stage::Read;
            begun || (other.stage == Stage::Ask && !box_state(view, **id).is_left)
        }
    };
    walk.filter(waits).copied().collect()
}

/// The names of boxes: "B4, B6".
pub(super) fn names(dead: &Dead<'_, '_>, boxes: &[ThingId]) -> String {
    boxes.iter().map(|id| dead.bench.called.r#box(*id)).collect::<Vec<_>>().join(", ")
}

/// Most boxes that are offered besides the next one.
const MORE: usize = 3;

/// The next box of the round, then others that may lie nearer: one touch leads there and asks for its pairs, if its
/// references are shown already; else a known ground is read against a known hot first.
pub(super) fn next_rows(dead: &Dead<'_, '_>, waiting: &[ThingId]) -> Vec<Row> {
    let Some((next, more)) = waiting.split_first() else { return Vec::new() };
    let mut rows = leads_to(dead, *next, "next");
    rows.extend(more.iter().take(MORE).flat_map(|id| leads_to(dead, *id, "or").into_iter().take(1)));
    rows
}

/// One touch to a box of the round; below it, what shows its references first.
fn leads_to(dead: &Dead<'_, '_>, next: ThingId, how: &str) -> Vec<Row> {
    let (bench, view) = (dead.bench, dead.bench.view);
    let page = view.page("dead").word(next).with_some("with", view.address.field("with"));
    let page = page.with_some("mode", view.address.field("mode"));
    let other = Dead::new(bench, next, dead.person);
    let ground = ground_of(&other.check);
    let asks = other.stage == Stage::Ask && !other.check.references.is_empty();
    let title = say(&format!("checks.round.{how}"), &[("box", &place(view.left(), next))]);
    let (second, token) = if asks {
        let pairs = bench.checks.pairs(next, ground.as_deref()).len();
        let event = Line::new("ask").word(next).with_some("ground", ground);
        (count("checks.round.asks", pairs, &[]), view.event_then(event, &page))
    } else if other.check.references.is_empty() {
        (say("checks.round.reference", &[]), view.go(&page))
    } else {
        (say("checks.round.begun", &[]), view.go(&page))
    };
    let mut rows = vec![item(&format!("{how} box {next}"), &title, &second).leads(token)];
    if other.check.references.is_empty() {
        let picks: Vec<Pick> = other.ground_picks(&page);
        let label = say("checks.round.first", &[("box", &bench.called.r#box(next))]);
        rows.extend((!picks.is_empty()).then(|| choice("next ground", &label, picks)));
    }
    rows
}

/// The other boxes that the same two showings of the meter stand before and after.
pub(super) fn together(dead: &Dead<'_, '_>) -> Option<Row> {
    let (bench, view) = (dead.bench, dead.bench.view);
    let closing = dead.check.proofs.iter().filter_map(Proven::closed).max()?;
    let with = boxes_as_power_runs(view).into_iter().filter(|id| *id != dead.check.r#box).filter(|id| {
        let check = bench.checks.dead(*id, dead.person);
        check.counts() && check.proofs.iter().any(|proven| proven.closed() == Some(closing))
    });
    let with: Vec<ThingId> = with.collect();
    let words = say("checks.round.together", &[("boxes", &names(dead, &with))]);
    (!with.is_empty()).then(|| edged("together", Edge::Left, &words, "", ""))
}
