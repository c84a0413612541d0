//! The card for coming back: which checks are to be done again, in the order of the walk, each with why it no longer
//! counts; and what is to be looked at first.

use crate::check::{DeadState, SourceState};
use crate::job::ThingId;
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::order::boxes_as_power_runs;
use crate::screen::row::{Edge, Pick, Row, Screen};
use crate::screen::sources::lock_rows;
use crate::screen::state::is_cover_off;
use crate::screen::view::View;
use crate::token::Line;
use crate::words::{count, say};

use super::bench::Bench;
use super::parts::{deeds, edged, headline, moment, notice, place, sentence, take_back};
use super::work;

/// Most reasons that stand beside one box.
const MOST_CAUSES: usize = 3;

/// The page `coming-back`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let mut screen = view.screen(&site_name(view), &say("checks.back.title", &[]));
    let rows = &mut screen.rows;
    rows.push(notice("caution", false, &say("checks.back.caution", &[]), &say("checks.back.caution.text", &[])));
    if let Some((_, wall)) = view.visit.and_then(|visit| visit.away) {
        rows.push(sentence("away", &say("checks.back.away", &[("when", &moment(view, wall))])));
    }
    rows.extend(holds(&bench));
    rows.extend(meter(&bench));
    let (again, rest) = boxes(&bench);
    rows.push(headline("again", &say("checks.back.again", &[]), &count("words.boxes", again.len(), &[])));
    if again.is_empty() {
        rows.push(sentence("none", &say("checks.back.none", &[])));
    }
    let first = again.first().copied();
    rows.extend(again.iter().map(|id| box_row(&bench, *id, first == Some(*id))));
    if !rest.is_empty() {
        rows.push(headline("rest", &say("checks.back.rest", &[]), ""));
        rows.extend(rest.iter().map(|id| box_row(&bench, *id, false)));
    }
    rows.push(deed_row(&bench, first));
    Ok(screen)
}

/// Every source of the work with the locks on it: look at them before anything else.
fn holds(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let sources = bench.checks.holders(&work::boxes(view));
    let mut rows = vec![headline("holds", &say("checks.back.holds", &[]), "")];
    for id in sources {
        let hold = bench.checks.hold(id);
        let edge = if hold.state == SourceState::NotKnown { Edge::Unknown } else { Edge::Found };
        let row = edged(&format!("source {id}"), edge, &bench.checks.say_thing(id), &bench.checks.say_hold(&hold), "");
        rows.push(row.leads(view.go(&view.page("source").word(id))));
        rows.extend(lock_rows(view, id));
    }
    if rows.len() == 1 {
        rows.push(sentence("no source", &say("checks.held.none", &[])));
    }
    rows
}

/// The meter is shown on a known source again: what it showed before its person left counts no more.
fn meter(bench: &Bench<'_>) -> Option<Row> {
    let proved = bench.meter.is_proved(&bench.checks, bench.meter.mode);
    let title = say("checks.prove.title", &[("meter", &bench.meter.name)]);
    (!proved).then(|| edged("meter", Edge::Stale, &title, &say("checks.back.meter", &[]), ""))
}

/// Boxes whose check is to be done again before anybody works in them: those whose cover is off first, in the order of
/// the walk; then those that are shut, before they are opened.
fn boxes(bench: &Bench<'_>) -> (Vec<ThingId>, Vec<ThingId>) {
    let view = bench.view;
    let Some(person) = bench.person else { return (Vec::new(), Vec::new()) };
    let wanted = |id: &ThingId| {
        let check = bench.checks.dead(*id, person);
        let begun = check.check.is_some() || is_cover_off(view, *id);
        begun && !check.isolation.panel && !check.counts()
    };
    let all = boxes_as_power_runs(view).into_iter().filter(wanted);
    all.partition(|id| is_cover_off(view, *id))
}

fn box_row(bench: &Bench<'_>, id: ThingId, is_first: bool) -> Row {
    let view = bench.view;
    let state = bench.person.map(|person| bench.checks.dead(id, person).state);
    let (edge, second) = match &state {
        Some(DeadState::Stale { causes, .. }) => {
            let mut each: Vec<String> = Vec::new();
            for words in causes.iter().map(|cause| bench.checks.say_cause(cause)) {
                if !each.contains(&words) {
                    each.push(words);
                }
            }
            let more = each.len().saturating_sub(MOST_CAUSES);
            let mut words = each.into_iter().take(MOST_CAUSES).collect::<Vec<_>>();
            if more > 0 {
                words.push(count("checks.dead.causes", more, &[]));
            }
            (Edge::Stale, words.join("; "))
        }
        Some(state) => (Edge::Unknown, bench.checks.say_state(state)),
        None => (Edge::Unknown, String::new()),
    };
    let row = edged(&format!("box {id}"), edge, &place(view.left(), id), &second, "");
    let row = if is_first { row.now() } else { row };
    row.leads(view.go(&view.page("dead").word(id)))
}

fn deed_row(bench: &Bench<'_>, first: Option<ThingId>) -> Row {
    let view = bench.view;
    let main = match (view.visit.and_then(|visit| visit.away), first) {
        (Some(_), _) => Some(Pick::new(&say("screen.deed.back", &[]), view.event(Line::new("back")))),
        (None, Some(id)) => {
            let words = say("screen.next.dead_again", &[("box", &bench.called.r#box(id))]);
            Some(Pick::new(&words, view.go(&view.page("dead").word(id))))
        }
        (None, None) => None,
    };
    let front = Pick::new(&say("checks.back.front", &[]), view.go(&view.page("job")));
    deeds(main, vec![front, take_back(view)])
}
