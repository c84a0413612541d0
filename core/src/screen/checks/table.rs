//! The switch table of a layer: worked out, never a proof. What it does not cover comes first.

use std::collections::BTreeMap;

use crate::catalogue::position_name;
use crate::circuit::{Circuit, Hazard, Outcome, SwitchTable, TableGroup, Verdict, hazards};
use crate::job::{LoadPoint, Promised, ThingId};
use crate::name::Called;
use crate::predict;
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::row::{Body, Edge, Pick, Row, Screen};
use crate::screen::view::View;
use crate::tell::{
    Column, MOST_ROWS, class_lines, columns, fed_words, gets_words, group_lines, hazard_words, in_order, outcome_words,
    uncovered,
};
use crate::token::path::load_text;
use crate::words::{count, say};

use super::parts::{choice, deeds, edged, headline, notice, sentence};
use super::work;

/// The page `table layer=planned`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let wiring = view.asked();
    let called = Called::new(wiring, view.catalogue);
    let mut screen = view.screen(&site_name(view), &say("checks.table.title", &[]));
    screen.rows.push(layers(view));
    let Ok(circuit) = Circuit::of(wiring, view.catalogue) else {
        screen.rows.push(sentence("none", &say("checks.table.no_circuit", &[])));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    };
    let visits = view.notes.visits();
    let visit = view.visit.as_ref().or(visits.last());
    let table = predict::switch_table(&circuit, view.notes, wiring, visit);
    screen.rows.extend(not_covered(&called, &table));
    let found = (view.asked_word() != "found").then(|| Circuit::of(view.found(), view.catalogue).ok()).flatten();
    let found = found.map(|circuit| SwitchTable::of(&circuit));
    let hazards = hazards(&circuit);
    screen.rows.extend(hazard_rows(view, &called, &hazards));
    // What protective devices do whatever the handles do.
    let still = table.groups.iter().filter(|group| group.handles.is_empty());
    let trips = still.flat_map(|group| group_lines(&called, group)).enumerate();
    screen.rows.extend(trips.map(|(n, line)| notice(&format!("trips {n}"), true, &line, "")));
    let verdicts = table.verdicts(&circuit, &wiring.promises, found.as_ref(), &hazards);
    let positions: usize = table.groups.iter().map(|group| group.rows.len()).sum();
    let right = count("checks.table.positions", positions, &[]);
    screen.rows.push(headline("asked", &say("checks.table.asked", &[]), &right));
    let (asked, rest) = verdict_rows(view, &called, &verdicts, &hazards);
    if asked.is_empty() {
        screen.rows.push(sentence("nothing", &say("checks.table.nothing_asked", &[])));
    }
    screen.rows.extend(asked);
    if !rest.is_empty() {
        screen.rows.push(headline("as found", &say("checks.table.as_found", &[]), ""));
        screen.rows.extend(rest);
    }
    for (n, group) in table.groups.iter().enumerate().filter(|(_, group)| !group.handles.is_empty()) {
        screen.rows.extend(group_rows(view, &called, n, group));
    }
    let go = |page: &str, key: &str| Pick::new(&say(key, &[]), view.go(&view.page(page)));
    screen.rows.push(deeds(None, vec![go("promises", "checks.table.promises"), go("findings", "checks.to_findings")]));
    Ok(screen)
}

/// A row for each load point: those that something was asked of, then the others.
fn verdict_rows(
    view: &View<'_>,
    called: &Called<'_>,
    verdicts: &BTreeMap<LoadPoint, Verdict>,
    hazards: &[Hazard],
) -> (Vec<Row>, Vec<Row>) {
    let (mut asked, mut rest) = (Vec::new(), Vec::new());
    for load in in_order(called, verdicts.keys()) {
        let Some(verdict) = verdicts.get(load) else { continue };
        let told = outcome_words(called, verdict, hazards);
        let lines = told.lines.into_iter().chain(fed_words(called, verdict));
        let second = std::iter::once(told.asked).chain(lines).collect::<Vec<_>>().join("; ");
        let row =
            edged(&format!("load {}", load_text(load)), edge(view, verdict), &called.load(load), &second, &told.stands);
        if verdict.promised == Promised::AsFound { rest.push(row) } else { asked.push(row) }
    }
    (asked, rest)
}

/// The choice of a layer; on the same page.
pub(super) fn layers(view: &View<'_>) -> Row {
    let each = [("found", "state.found"), ("planned", "state.planned"), ("left", "state.left")];
    let picks = each
        .map(|(layer, words)| Pick::new(&say(words, &[]), view.here("layer", layer)).on(view.asked_word() == layer));
    choice("layer", &say("checks.table.layer", &[]), picks.to_vec())
}

fn edge(view: &View<'_>, verdict: &Verdict) -> Edge {
    match &verdict.outcome {
        Outcome::NotCovered => Edge::Unknown,
        Outcome::Broken(_) => Edge::Disagrees,
        _ => match view.asked_word() {
            "planned" => Edge::Planned,
            // Worked out from what was noted as left; the live check looks, this does not.
            "left" => Edge::Unchecked,
            _ => Edge::Found,
        },
    }
}

fn not_covered(called: &Called<'_>, table: &SwitchTable) -> Vec<Row> {
    if table.not_covered.is_empty() {
        return Vec::new();
    }
    let title = say("checks.table.not_covered", &[]);
    let mut rows = vec![headline("not covered", &title, &table.not_covered.len().to_string())];
    let each = uncovered(called, table).into_iter().enumerate();
    rows.extend(
        each.map(|(n, one)| edged(&format!("not covered {n}"), Edge::Unknown, &one.what, &one.more().join(" "), "")),
    );
    rows
}

/// The hazards of a circuit, each filled and hatched, leading to the box to look in.
pub(in crate::screen) fn hazard_rows(view: &View<'_>, called: &Called<'_>, hazards: &[Hazard]) -> Vec<Row> {
    let each = hazards.iter().enumerate().map(|(n, hazard)| {
        let words = hazard_words(called, hazard);
        let row = notice(&format!("hazard {n}"), true, &words.title, &words.text);
        match hazard.place {
            Some(place) => {
                let to = view.page("box").word(place).with_some("layer", view.address.field("layer"));
                row.leads(view.go(&to))
            }
            None => row,
        }
    });
    each.collect()
}

/// Hazards that are shown where they are: each filled and hatched, leading nowhere.
fn hazard_notices(called: &Called<'_>, hazards: &[Hazard]) -> Vec<Row> {
    let each = hazards.iter().enumerate().map(|(n, hazard)| {
        let words = hazard_words(called, hazard);
        notice(&format!("hazard {n}"), true, &words.title, &words.text)
    });
    each.collect()
}

/// The hazards that are in a box, for its own page.
pub(in crate::screen) fn hazards_in(view: &View<'_>, at: ThingId) -> Vec<Row> {
    let here: Vec<Hazard> = view.hazards().iter().filter(|hazard| hazard.place == Some(at)).cloned().collect();
    hazard_notices(&Called::new(view.asked(), view.catalogue), &here)
}

fn group_rows(view: &View<'_>, called: &Called<'_>, n: usize, group: &TableGroup) -> Vec<Row> {
    let moving = |load: &&LoadPoint| {
        let first = group.column(load).and_then(|column| column.first().map(|gets| gets.power));
        group.column(load).is_some_and(|column| column.iter().any(|gets| Some(gets.power) != first))
    };
    let loads: Vec<&LoadPoint> = group.loads.iter().filter(moving).collect();
    let notes = group_lines(called, group);
    if loads.is_empty() && notes.is_empty() {
        return Vec::new();
    }
    let mut rows = Vec::new();
    let notes = notes.into_iter().enumerate();
    let notes = notes.map(|(m, line)| sentence(&format!("open {n} {m}"), &line));
    if loads.is_empty() {
        let handles: Vec<String> = group.handles.iter().map(|handle| called.handle(handle)).collect();
        rows.push(headline(&format!("group {n}"), &handles.join(", "), ""));
        rows.extend(notes);
        return rows;
    }
    if let Some(classes) = class_lines(called, group, &loads) {
        for one in classes {
            let key = load_text(&one.load);
            rows.push(headline(&format!("group {n} {key}"), &called.load(&one.load), &say("checks.worked_out", &[])));
            let lines = one.lines.iter().enumerate();
            rows.extend(lines.map(|(m, line)| sentence(&format!("class {n} {m} {key}"), line)));
        }
        rows.extend(notes);
        return rows;
    }
    let columns = columns(called, group, &loads);
    if group.rows.len() > MOST_ROWS {
        rows.push(headline(&format!("group {n}"), &say("checks.table.group", &[]), ""));
        rows.push(grid(called, n, group, &columns));
        rows.extend(notes);
        return rows;
    }
    for (m, column) in columns.iter().enumerate() {
        let key = format!("{n} {m} {}", load_text(&column.load));
        rows.push(headline(&format!("group {key}"), &column.head, &say("checks.worked_out", &[])));
        rows.extend(group.rows.iter().zip(&column.gets).enumerate().map(|(m, (row, gets))| {
            let body = Body::Trial {
                handles: row.at.iter().map(|at| work::handle_at(view, called, at)).collect(),
                computed: gets_words(gets.power, gets.seen),
                seen: String::new(),
                verdict: String::new(),
                answers: Vec::new(),
            };
            let row = Row::new(&format!("row {m} {key}"), body);
            if gets.seen { row } else { row.edge(Edge::Unknown) }
        }));
    }
    rows.extend(notes);
    rows
}

fn grid(called: &Called<'_>, n: usize, group: &TableGroup, columns: &[Column]) -> Row {
    let heads = group.handles.iter().map(|handle| called.handle(handle));
    let heads = heads.chain(columns.iter().map(|column| column.head.clone())).collect();
    let cells = group.rows.iter().enumerate().map(|(m, row)| {
        let at = row.at.iter().map(|at| position_name(&at.position));
        let gets = columns.iter().filter_map(|column| column.gets.get(m));
        at.chain(gets.map(|gets| gets_words(gets.power, gets.seen))).collect()
    });
    Row::new(&format!("grid {n}"), Body::Grid { columns: heads, cells: cells.collect() })
}
