//! The day record before it is read and signed: what is in it, what goes with the name as unfinished, what it is.

use std::collections::{BTreeMap, BTreeSet};

use crate::check::{SourceState, on_since};
use crate::job::{Happening, Mode, Purpose, Side, Subject, ThingId, Wall};
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::row::{Edge, Pick, Row, Screen};
use crate::screen::view::View;
use crate::token::Line;
use crate::words::{count, say};

use super::bench::Bench;
use super::disagree::standing_rows;
use super::live::{open_words, through, tried_words};
use super::parts::{deeds, edged, headline, moment, notice, number, text};
use super::work;

/// Most trials and readings that are still open and named one by one.
const MOST_OPEN: usize = 4;

/// The page `record`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let mut screen = view.screen(&site_name(view), &say("checks.record.title", &[]));
    let boxes = work::boxes(view);
    let rows = &mut screen.rows;
    rows.extend(standing_rows(&bench));
    rows.extend(part_rows(&bench, &boxes));
    rows.push(headline("unfinished", &say("checks.record.unfinished", &[]), ""));
    rows.extend(unfinished(&bench));
    rows.extend(holds(&bench));
    rows.push(headline("isolation", &say("checks.record.isolation", &[]), ""));
    rows.extend(isolation(&bench));
    rows.push(headline("more", &say("checks.record.more", &[]), ""));
    rows.extend(typed(view));
    rows.push(notice("caution", false, &say("checks.record.caution", &[]), &say("checks.record.caution.text", &[])));
    rows.extend(signed(&bench));
    rows.push(deed_row(view));
    Ok(screen)
}

/// What the record holds, by parts.
fn part_rows(bench: &Bench<'_>, boxes: &[ThingId]) -> Vec<Row> {
    let view = bench.view;
    let names: Vec<String> = boxes.iter().map(|id| bench.called.r#box(*id)).collect();
    let value = count("words.boxes", boxes.len(), &[]);
    let mut rows = vec![
        edged("left", Edge::Left, &say("checks.record.left", &[]), &names.join(", "), &value)
            .leads(view.go(&view.page("job"))),
    ];
    let (all, again) = readings(bench);
    let second = count("checks.record.read_again", again, &[]);
    rows.push(edged("readings", Edge::Left, &say("checks.record.readings", &[]), &second, &all.to_string()));
    let set: BTreeSet<ThingId> = boxes.iter().copied().collect();
    let live = bench.checks.live(&set, on_since(view.notes, &work::sources(bench, boxes)));
    let done = live.trials.iter().filter(|one| one.tried.is_some()).count()
        + live.readings.iter().filter(|one| one.taken.is_some()).count();
    let called_for = live.trials.len() + live.readings.len();
    if called_for > 0 {
        let edge = if through(&live) { Edge::Left } else { Edge::Unknown };
        let row = edged("live", edge, &say("checks.live.title", &[]), &tried_words(done, called_for), "");
        rows.push(row.leads(view.go(&view.page("live"))));
        // Nothing of it is noted: it is open as long as nobody tries it.
        let open = open_words(bench, &live);
        let more = open.len().saturating_sub(MOST_OPEN);
        let shown = open.iter().take(MOST_OPEN).enumerate();
        rows.extend(shown.map(|(n, words)| {
            edged(&format!("open {n}"), Edge::Unknown, words, &say("checks.record.not_tried", &[]), "")
        }));
        if more > 0 {
            rows.push(edged("open more", Edge::Unknown, &count("checks.record.not_tried_more", more, &[]), "", ""));
        }
    }
    let closed = bench.checks.disagreements().iter().filter(|one| one.ended.is_some()).count();
    let concluded = view.notes.happened().filter_map(|happened| match &happened.what {
        Happening::Concluded(words) if is_of_job(view, happened.visit) => Some(words.clone()),
        _ => None,
    });
    let second = concluded.last().unwrap_or_default();
    let row = edged("closed", Edge::Left, &say("checks.record.closed", &[]), &second, &closed.to_string());
    rows.push(row.leads(view.go(&view.page("disagree"))));
    let used = super::used::noted(view).len();
    let second = if used == 0 { say("checks.record.used_none", &[]) } else { String::new() };
    let row = edged("used", Edge::Left, &say("checks.used.title", &[]), &second, &used.to_string());
    rows.push(row.leads(view.go(&view.page("used"))));
    let title = say("checks.findings.title", &[]);
    let findings = edged("findings", Edge::Found, &title, &say("checks.record.findings", &[]), "");
    rows.push(findings.leads(view.go(&view.page("findings").with("layer", "left"))));
    rows
}

fn is_of_job(view: &View<'_>, visit: Option<crate::job::Hash>) -> bool {
    let of = view.notes.visits().into_iter().find(|known| Some(known.id) == visit);
    of.is_some_and(|of| Some(of.job) == view.job)
}

/// Readings of this job, and pairs of a dead check that were read more than once: both stay.
fn readings(bench: &Bench<'_>) -> (usize, usize) {
    let view = bench.view;
    let visits: BTreeSet<_> =
        view.notes.visits().into_iter().filter(|visit| Some(visit.job) == view.job).map(|visit| visit.id).collect();
    let mut all = 0;
    let mut pairs: BTreeMap<(Option<ThingId>, String, bool), usize> = BTreeMap::new();
    for happened in view.notes.happened() {
        let Happening::Read(reading) = &happened.what else { continue };
        if !happened.visit.is_some_and(|visit| visits.contains(&visit)) {
            continue;
        }
        all += 1;
        if reading.purpose == Purpose::Dead {
            let at = super::parts::at_text(&reading.at).unwrap_or_default();
            let pair = format!("{} {at}", super::parts::pair_key(&reading.pair));
            *pairs.entry((reading.check, pair, reading.mode == Mode::Dc)).or_default() += 1;
        }
    }
    (all, pairs.values().filter(|times| **times > 1).count())
}

/// What was noted as unfinished, and what the map does not know.
fn unfinished(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let wiring = view.left();
    let mut rows = Vec::new();
    let mut told: BTreeSet<ThingId> = BTreeSet::new();
    for happened in view.notes.happened().filter(|happened| is_of_job(view, happened.visit)) {
        if let (Happening::Unfinished(words), Subject::Thing(id)) = (&happened.what, &happened.of) {
            told.insert(*id);
            let title = if Some(*id) == view.job { say("checks.record.job", &[]) } else { bench.checks.say_thing(*id) };
            rows.push(edged(&format!("unfinished {}", happened.fact), Edge::Planned, &title, words, ""));
        }
    }
    for (id, note) in &wiring.boxes {
        let looked = note.kind.is_said() || !wiring.devices_in(*id).is_empty() || !wiring.splices_in(*id).is_empty();
        if !looked && !told.contains(id) {
            let (title, second) = (super::parts::place(wiring, *id), say("checks.record.not_opened", &[]));
            let row = edged(&format!("not opened {id}"), Edge::Unknown, &title, &second, "");
            rows.push(row.leads(view.go(&view.page("box").word(id))));
        }
    }
    for (run, note) in wiring.runs.iter().filter(|(_, note)| !note.is_inside()) {
        for side in Side::BOTH {
            let here = note.side(side).in_box.get().copied().flatten();
            let there = note.side(side.other()).in_box.get().copied().flatten();
            if let (Some(at), None) = (here, there)
                && !told.contains(&at)
            {
                let letter = note.side(side).letter.or(String::new());
                let title = say("checks.record.run", &[("box", &bench.called.r#box(at)), ("letter", &letter)]);
                let second = say("checks.record.far_end", &[]);
                let row = edged(&format!("run {run}"), Edge::Unknown, &title, &second, "");
                rows.push(row.leads(view.go(&view.page("box").word(at))));
            }
        }
    }
    if rows.is_empty() {
        rows.push(super::parts::sentence("nothing unfinished", &say("checks.record.nothing_unfinished", &[])));
    }
    rows
}

/// What must not be covered before somebody has seen it.
fn holds(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let mut standing: BTreeMap<Subject, (String, Wall)> = BTreeMap::new();
    for happened in view.notes.happened() {
        match &happened.what {
            Happening::DoNotCover(why) => drop(standing.insert(happened.of.clone(), (why.clone(), happened.wall))),
            Happening::MayCover(_) => drop(standing.remove(&happened.of)),
            _ => {}
        }
    }
    let mut rows = Vec::new();
    if !standing.is_empty() {
        rows.push(headline("holds", &say("checks.record.holds", &[]), ""));
    }
    for (of, (why, _)) in standing {
        let Subject::Thing(id) = of else { continue };
        let row = edged(&format!("hold {id}"), Edge::Planned, &bench.checks.say_thing(id), &why, "");
        rows.push(row);
        let event = Line::new("may-cover").word(id).word("?");
        rows.push(text(&format!("may cover {id}"), &say("checks.record.may_cover", &[]), view.event(event)));
    }
    rows
}

/// When each source was OFF, and how it stands.
fn isolation(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let mut spans: BTreeMap<ThingId, Vec<(Wall, Option<Wall>)>> = BTreeMap::new();
    for happened in view.notes.happened().filter(|happened| is_of_job(view, happened.visit)) {
        if let (Happening::Switched { on }, Subject::Thing(id)) = (&happened.what, &happened.of) {
            let of = spans.entry(*id).or_default();
            match (on, of.last_mut()) {
                (true, Some(last)) if last.1.is_none() => last.1 = Some(happened.wall),
                (false, last) if last.as_ref().is_none_or(|last| last.1.is_some()) => of.push((happened.wall, None)),
                _ => {}
            }
        }
    }
    let each = spans.into_iter().map(|(id, spans)| {
        let spans = spans.iter().map(|(off, on)| match on {
            Some(on) => say("checks.record.off_from_to", &[("off", &clock(view, *off)), ("on", &clock(view, *on))]),
            None => say("checks.record.off_since", &[("off", &clock(view, *off))]),
        });
        let hold = bench.checks.hold(id);
        let edge = if hold.state == SourceState::Locked { Edge::Found } else { Edge::Left };
        let title = bench.checks.say_thing(id);
        let second = spans.collect::<Vec<_>>().join(", ");
        edged(&format!("isolation {id}"), edge, &title, &second, &bench.checks.say_hold(&hold))
    });
    each.collect()
}

/// The hour, with its day where that is not the day of looking.
fn clock(view: &View<'_>, wall: Wall) -> String {
    if wall.day() == view.now.day() { wall.clock() } else { format!("{} {}", wall.day(), wall.clock()) }
}

/// What is typed into the record by hand.
fn typed(view: &View<'_>) -> Vec<Row> {
    let event = |verb: &str| view.event(Line::new(verb).word("?"));
    vec![
        text("type unfinished", &say("checks.record.type_unfinished", &[]), event("unfinished")),
        text("type extra", &say("checks.record.type_extra", &[]), event("extra")),
        number("type hours", &say("checks.record.type_hours", &[]), "h", event("hours")),
    ]
}

fn signed(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let each = view.notes.happened().filter(|happened| is_of_job(view, happened.visit)).filter_map(|happened| {
        let Happening::Signed { .. } = &happened.what else { return None };
        let visit = view.notes.visits().into_iter().find(|visit| Some(visit.id) == happened.visit);
        let person = visit.map(|visit| view.person_name(visit.person)).unwrap_or_default();
        let after = view.notes.entries().filter(|(stamp, _)| **stamp > happened.stamp).count();
        let title = say("checks.record.signed", &[("person", &person)]);
        let second = if after > 0 { count("checks.record.after", after, &[]) } else { String::new() };
        Some(edged(&format!("signed {}", happened.fact), Edge::Left, &title, &second, &moment(view, happened.wall)))
    });
    each.collect()
}

fn deed_row(view: &View<'_>) -> Row {
    let sign = view.visit.map(|visit| {
        let words = say("checks.record.sign", &[("person", &view.person_name(visit.person))]);
        Pick::new(&words, view.event(Line::new("sign")))
    });
    let out = |what: Option<&str>| {
        let line = what.map_or(Line::new("give-out"), |what| Line::new("give-out").word(what));
        view.event(line)
    };
    // Whoever has gone signs no more; the record is read.
    let read = Pick::new(&say("checks.record.read", &[]), out(Some("record")));
    let (main, read) = if sign.is_some() { (sign, Some(read)) } else { (Some(read), None) };
    let more = vec![
        Pick::new(&say("checks.record.give_out", &[]), out(None)),
        Pick::new(&say("checks.record.take_in", &[]), view.event(Line::new("take-in")))
            .asks_file(&say("checks.record.take_in.ask", &[])),
    ];
    deeds(main, read.into_iter().chain(more).collect())
}
