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

/// The next box of the round, then others that may lie nearer, each by one touch. Of the next one, if nothing shows its
/// references yet, the known grounds as well: one is read against a known hot first.
pub(super) fn next_rows(dead: &Dead<'_, '_>, waiting: &[ThingId]) -> Vec<Row> {
    let Some((next, more)) = waiting.split_first() else { return Vec::new() };
    let grounds = first_ground(dead, *next);
    let others = more.iter().take(MORE).map(|id| leads_to(dead, *id, "or"));
    std::iter::once(leads_to(dead, *next, "next")).chain(grounds).chain(others).collect()
}

/// Where the dead check of another box is read, with the same meter.
fn page_of(dead: &Dead<'_, '_>, other: ThingId) -> Line {
    let view = dead.bench.view;
    let page = view.page("dead").word(other).with_some("with", view.address.field("with"));
    page.with_some("mode", view.address.field("mode"))
}

/// One touch to a box of the round, which asks for its pairs if its references are shown already.
fn leads_to(dead: &Dead<'_, '_>, next: ThingId, how: &str) -> Row {
    let (bench, view, page) = (dead.bench, dead.bench.view, page_of(dead, next));
    let other = Dead::new(bench, next, dead.person);
    let shown = !other.check.references.is_empty();
    let (second, token) = if shown && other.stage == Stage::Ask {
        let ground = ground_of(&other.check);
        let pairs = bench.checks.pairs(next, ground.as_deref()).len();
        let event = Line::new("ask").word(next).with_some("ground", ground);
        (count("checks.round.asks", pairs, &[]), view.event_then(event, &page))
    } else {
        let why = if shown { "checks.round.begun" } else { "checks.round.reference" };
        (say(why, &[]), view.go(&page))
    };
    let title = say(&format!("checks.round.{how}"), &[("box", &place(view.left(), next))]);
    item(&format!("{how} box {next}"), &title, &second).leads(token)
}

/// For a box of which nothing was read live: known grounds, to be read against a known hot there.
fn first_ground(dead: &Dead<'_, '_>, next: ThingId) -> Option<Row> {
    let other = Dead::new(dead.bench, next, dead.person);
    if !other.check.references.is_empty() {
        return None;
    }
    let picks: Vec<Pick> = other.ground_picks(&page_of(dead, next));
    let label = say("checks.round.first", &[("box", &dead.bench.called.r#box(next))]);
    (!picks.is_empty()).then(|| choice("next ground", &label, picks))
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
