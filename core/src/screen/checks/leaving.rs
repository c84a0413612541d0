//! The card for leaving: what is held OFF and by whom, free ends, covers, what people were told, what is live, what is
//! not finished. Its acts are the everyday ones; it only gathers them at the door.

use crate::check::readied::{COVERS_GUARDED, ENDS_CAPPED};
use crate::check::{Left, ReadyItem, ReadyWhat, SourceState};
use crate::job::{Happening, Subject, ThingId};
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::order::boxes_as_power_runs;
use crate::screen::row::{Edge, Pick, Row, Screen};
use crate::screen::sources::{lock_rows, other_phone};
use crate::screen::state::is_cover_off;
use crate::screen::view::View;
use crate::token::Line;
use crate::token::path::tip_text;
use crate::words::{count, say};

use super::bench::Bench;
use super::parts::{choice, deeds, edged, headline, item, moment, notice, place, sentence, step, text};
use super::work;

/// The page `leaving`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let mut screen = view.screen(&site_name(view), &say("checks.leaving.title", &[]));
    let rows = &mut screen.rows;
    rows.push(notice("caution", false, &say("checks.leaving.caution", &[]), &say("checks.leaving.caution.text", &[])));
    let boxes = work::boxes(view);
    let list = view.job.map(|job| bench.checks.before_power(job, &boxes)).unwrap_or_default();
    let item_of = |what: ReadyWhat| list.iter().find(|item| item.what == what);
    rows.extend(held(&bench, &boxes));
    rows.extend(ends(&bench, item_of(ReadyWhat::EndsCapped)));
    rows.extend(covers(&bench));
    rows.extend(told(&bench, &boxes));
    rows.extend(live_and_dead(&bench, &boxes));
    rows.extend(unfinished(&bench, &boxes));
    rows.push(deed_row(view));
    Ok(screen)
}

/// Step 1: every source by its number, how it stands, whose lock is on it.
fn held(bench: &Bench<'_>, boxes: &[ThingId]) -> Vec<Row> {
    let view = bench.view;
    let sources = bench.checks.holders(boxes);
    let off = |id: &&ThingId| matches!(bench.checks.hold(**id).state, SourceState::Locked | SourceState::Off);
    let done = !sources.is_empty() && sources.iter().all(|id| !bench.checks.hold(*id).locks.is_empty());
    let second = count("checks.leaving.off", sources.iter().filter(off).count(), &[]);
    let mut rows = vec![step(1, done, &say("checks.leaving.held", &[]), &second, "")];
    for id in sources {
        let hold = bench.checks.hold(id);
        let known = if hold.state == SourceState::NotKnown { Edge::Unknown } else { Edge::Found };
        let row = edged(&format!("source {id}"), known, &bench.checks.say_thing(id), &bench.checks.say_hold(&hold), "");
        rows.push(row.leads(view.go(&view.page("source").word(id))));
        rows.extend(lock_rows(view, id).into_iter().filter(|_| hold.locks.len() > 1 || other_phone(view, &hold)));
    }
    rows
}

/// Step 2: a cap on every free end.
fn ends(bench: &Bench<'_>, item: Option<&ReadyItem>) -> Vec<Row> {
    let view = bench.view;
    let Some(item) = item else { return Vec::new() };
    let words = if item.done { "checks.ready.nothing_left" } else { "checks.leaving.caps" };
    let mut rows = vec![step(2, item.done, &say("checks.leaving.ends", &[]), &say(words, &[]), "")];
    for (n, left) in item.left.iter().enumerate() {
        if let Left::End(tip) = left {
            let to = view.page("end").with("tip", tip_text(tip)).with("layer", "left");
            let name = bench.called.tip_in_box(tip);
            let row = edged(&format!("end {n}"), Edge::Unknown, &name, &say("checks.ready.end", &[]), "");
            rows.push(row.leads(view.go(&to)));
        }
    }
    if !item.done && !bench.checks.is_any_bare(&item.left) {
        let event = Line::new("ready").word(ENDS_CAPPED);
        rows.push(choice("capped", "", vec![Pick::new(&say("checks.ready.say_capped", &[]), view.event(event))]));
    }
    rows
}

/// Step 3: covers on, or the open boxes guarded.
fn covers(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let open: Vec<ThingId> = boxes_as_power_runs(view).into_iter().filter(|id| is_cover_off(view, *id)).collect();
    let guarded = open.is_empty() || guarded_since_opened(view, &open);
    let second = match (open.is_empty(), guarded) {
        (true, _) => say("checks.ready.nothing_left", &[]),
        (false, true) => say("checks.leaving.guarded", &[]),
        (false, false) => count("checks.leaving.covers_off", open.len(), &[]),
    };
    let mut rows = vec![step(3, guarded, &say("checks.leaving.covers", &[]), &second, "")];
    let mut picks: Vec<Pick> = Vec::new();
    for id in &open {
        let name = place(view.left(), *id);
        rows.push(edged(&format!("cover {id}"), Edge::Unknown, &name, &say("checks.ready.cover", &[]), ""));
        let words = say("checks.ready.say_cover", &[("box", &bench.called.r#box(*id))]);
        picks.push(Pick::new(&words, view.event(Line::new("cover").word(id).word("on"))));
    }
    if !guarded {
        let event = Line::new("ready").word(COVERS_GUARDED);
        picks.push(Pick::new(&say("checks.ready.say_guarded", &[]), view.event(event)));
    }
    if !picks.is_empty() {
        rows.push(choice("covers", "", picks));
    }
    rows
}

/// The open boxes were noted as guarded after the last cover came off.
fn guarded_since_opened(view: &View<'_>, open: &[ThingId]) -> bool {
    let mut guarded = false;
    for happened in view.notes.happened() {
        match (&happened.what, &happened.of) {
            (Happening::CoverOff, Subject::Thing(id)) if open.contains(id) => guarded = false,
            (Happening::Readied(words), _) if words == COVERS_GUARDED => guarded = true,
            _ => {}
        }
    }
    guarded
}

/// Step 4: what the customer was told today, and what else went off.
fn told(bench: &Bench<'_>, boxes: &[ThingId]) -> Vec<Row> {
    let view = bench.view;
    let today = view.notes.happened().filter(|happened| happened.wall.day() == view.now.day());
    let said: Vec<(String, String)> = today
        .filter_map(|happened| match &happened.what {
            Happening::Told(words) => Some((words.clone(), moment(view, happened.wall))),
            _ => None,
        })
        .collect();
    let second = if said.is_empty() { say("checks.ready.not_noted", &[]) } else { String::new() };
    let mut rows = vec![step(4, !said.is_empty(), &say("checks.leaving.told", &[]), &second, "")];
    let each = said.iter().enumerate();
    rows.extend(each.map(|(n, (words, when))| edged(&format!("told {n}"), Edge::Found, words, when, "")));
    let stays: Vec<String> = bench
        .checks
        .holders(boxes)
        .into_iter()
        .filter(|id| bench.checks.hold(*id).off_since.is_some())
        .map(|id| {
            let note = view.left().devices.get(&id);
            let directory = note.and_then(|note| note.directory.get().cloned()).unwrap_or_default();
            let fill = [("source", bench.checks.say_thing(id)), ("directory", directory)];
            let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
            say(
                if fill.iter().any(|(_, text)| text.is_empty()) {
                    "checks.leaving.stays"
                } else {
                    "checks.leaving.stays_off"
                },
                &fill,
            )
        })
        .collect();
    if !stays.is_empty() {
        let words = stays.join("; ");
        if !said.iter().any(|(known, _)| *known == words) {
            let pick = Pick::new(&words, view.event(Line::new("told").word(&words)));
            rows.push(choice("tell", &say("checks.leaving.tell", &[]), vec![pick]));
        }
    }
    rows.push(text("told other", &say("checks.leaving.told_other", &[]), view.event(Line::new("told").word("?"))));
    rows.push(text("else", &say("checks.leaving.else", &[]), view.event(Line::new("told").word("?"))));
    rows
}

/// What is left live and what is OFF, by box.
fn live_and_dead(bench: &Bench<'_>, boxes: &[ThingId]) -> Vec<Row> {
    let view = bench.view;
    let mut rows = vec![headline("stands", &say("checks.leaving.stands", &[]), "")];
    if boxes.is_empty() {
        rows.push(sentence("no box", &say("checks.ready.no_box", &[])));
    }
    let order = boxes_as_power_runs(view);
    for id in order.into_iter().filter(|id| boxes.contains(id)) {
        let isolation = bench.checks.isolation(id);
        let off = |source: &crate::check::Source| source.hold.off_since.is_some();
        let known = isolation.unknown.is_empty() && !isolation.sources.is_empty();
        let (key, edge) = match (known, isolation.sources.iter().all(off)) {
            (false, _) => ("checks.leaving.not_known", Edge::Unknown),
            (true, true) => ("checks.leaving.is_off", Edge::Found),
            (true, false) => ("checks.leaving.is_live", Edge::Found),
        };
        let each = isolation.sources.iter().map(|source| {
            let (name, hold) = (bench.checks.say_thing(source.id), bench.checks.say_hold(&source.hold));
            say("checks.held.source", &[("name", &name), ("hold", &hold)])
        });
        let second = each.collect::<Vec<_>>().join("; ");
        rows.push(edged(&format!("stands {id}"), edge, &place(view.left(), id), &second, &say(key, &[])));
    }
    rows
}

/// What is not finished, and a place to say so for each box.
fn unfinished(bench: &Bench<'_>, boxes: &[ThingId]) -> Vec<Row> {
    let view = bench.view;
    let mut rows = vec![headline("unfinished", &say("checks.leaving.unfinished", &[]), "")];
    for happened in view.notes.happened() {
        if let Happening::Unfinished(words) = &happened.what {
            let of = match &happened.of {
                Subject::Thing(id) if view.left().boxes.contains_key(id) => place(view.left(), *id),
                _ => String::new(),
            };
            rows.push(item(&format!("unfinished {}", happened.fact), words, &of).edge(Edge::Found));
        }
    }
    let picks = boxes.iter().map(|id| {
        let ask = say("checks.leaving.ask_unfinished", &[("box", &bench.called.r#box(*id))]);
        let event = Line::new("unfinished").word(id).word("?");
        Pick::new(&bench.called.r#box(*id), view.event(event)).asks(&ask, false)
    });
    let picks: Vec<Pick> = picks.collect();
    if !picks.is_empty() {
        rows.push(choice("unfinished in", &say("checks.leaving.unfinished_in", &[]), picks));
    }
    rows
}

/// Leaving for a while is the main deed; a check that a person leaves no longer counts.
fn deed_row(view: &View<'_>) -> Row {
    let front = view.page("job");
    let end = Pick::new(&say("screen.deed.end_visit", &[]), view.event_then(Line::new("leave").word("end"), &front));
    let record = Pick::new(&say("checks.to_record", &[]), view.go(&view.page("record")));
    match view.visit {
        Some(visit) if visit.away.is_none() => {
            let leave = Pick::new(&say("screen.deed.leave", &[]), view.event_then(Line::new("leave"), &front));
            deeds(Some(leave.second(&say("screen.deed.leave_why", &[]))), vec![end, record])
        }
        Some(_) => deeds(None, vec![end, record]),
        None => deeds(None, vec![record]),
    }
}
