//! `boxproof table`: what every load point gets in every position, and whether that is what was promised.

use std::path::PathBuf;

use boxproof_core::catalogue::{Catalogue, position_name};
use boxproof_core::circuit::{Circuit, Hazard, Outcome, Power, SwitchTable, TableGroup, hazards};
use boxproof_core::job::{Layer, LoadPoint, ThingId, Wiring};
use boxproof_core::name::Called;
use boxproof_core::tell::{hazard_words, in_order, not_covered_words, outcome_words, power_words};
use boxproof_core::words::{count, say};
use clap::{Args, ValueEnum};
use serde::Serialize;

use super::site::{Site, layer_words};
use super::{Fault, Status, examples_of, grid, json};
use crate::out;

#[derive(Args)]
pub(crate) struct Table {
    #[arg(help = say("desk.site", &[]))]
    site: PathBuf,
    #[arg(long, value_enum, help = say("desk.table.layer", &[]))]
    layer: Option<LayerWord>,
    #[arg(long, value_name = "NAME", help = say("desk.job", &[]))]
    job: Option<String>,
    #[arg(long, help = say("desk.json", &[]))]
    json: bool,
}

/// Which picture of the wiring.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum LayerWord {
    #[value(help = say("desk.layer.help.planned", &[]))]
    Planned,
    #[value(help = say("desk.layer.help.left", &[]))]
    Left,
    #[value(help = say("desk.layer.help.found", &[]))]
    Found,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof table lane", "desk.table.example.now"),
        ("boxproof table lane --layer planned", "desk.table.example.planned"),
    ])
}

/// The table in words.
#[derive(Serialize)]
struct Report {
    title: String,
    layer: String,
    newer: usize,
    not_covered: Vec<String>,
    groups: Vec<Group>,
    promises: Vec<Promise>,
    hazards: Vec<Danger>,
}

/// Handles and load points that matter to one another.
#[derive(Serialize)]
struct Group {
    handles: Vec<String>,
    loads: Vec<String>,
    rows: Vec<Row>,
    /// Handles whose positions nobody knows yet.
    unmapped: Vec<String>,
}

#[derive(Serialize)]
struct Row {
    at: Vec<String>,
    gets: Vec<Cell>,
}

#[derive(Serialize)]
struct Cell {
    power: String,
    volts: f64,
    seen: bool,
}

#[derive(Serialize)]
struct Promise {
    load: String,
    asked: String,
    stands: String,
    kept: bool,
    lines: Vec<String>,
}

#[derive(Serialize)]
struct Danger {
    title: String,
    text: String,
}

impl Table {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let site = Site::read(&self.site)?;
        let job = site.job(self.job.as_deref())?;
        let word = self.layer.and_then(|layer| layer.to_possible_value());
        let layer = site.layer(job, word.as_ref().map(|word| word.get_name()));
        let report = worked_out(&site, job, layer)?;
        let found = !report.hazards.is_empty() || report.promises.iter().any(|promise| !promise.kept);
        let text = if self.json { json(&report)? } else { report.text(&site) };
        out::print(text)?;
        Ok(Status::findings(found))
    }
}

/// Why no table could be made.
fn not_made(error: &boxproof_core::circuit::CircuitError) -> Fault {
    Fault(say("desk.table.not_made", &[("why", &error.to_string())]))
}

fn worked_out(site: &Site, job: Option<ThingId>, layer: Layer) -> Result<Report, Fault> {
    let catalogue = Catalogue::shared();
    let wiring = Wiring::of(&site.notes, layer);
    let circuit = Circuit::of(&wiring, catalogue).map_err(|error| not_made(&error))?;
    let table = SwitchTable::of(&circuit);
    let dangers = hazards(&circuit);
    // What was found is what "as found" is compared with; as found itself has nothing before it.
    let before = match (job, layer) {
        (Some(job), Layer::Planned(_) | Layer::Left(_)) => {
            let found = Wiring::of(&site.notes, Layer::Found(job));
            Circuit::of(&found, catalogue).ok().map(|circuit| SwitchTable::of(&circuit))
        }
        _ => None,
    };
    let verdicts = table.verdicts(&circuit, &wiring.promises, before.as_ref(), &dangers);
    let called = Called::new(&wiring, catalogue);
    let mut promises = Vec::new();
    for load in in_order(&called, verdicts.keys()) {
        let Some(verdict) = verdicts.get(load) else { continue };
        if verdict.outcome == Outcome::NothingToCompare {
            continue;
        }
        let told = outcome_words(&called, verdict, &dangers);
        let kept = !matches!(verdict.outcome, Outcome::Broken(_) | Outcome::UnderHazard(_));
        promises.push(Promise {
            load: called.load(load),
            asked: told.asked,
            stands: told.stands,
            kept,
            lines: told.lines,
        });
    }
    promises.extend(absent(&wiring, &verdicts.keys().collect::<Vec<_>>(), &called));
    Ok(Report {
        title: site.title(job),
        layer: layer_words(layer),
        newer: site.newer,
        not_covered: table.not_covered.iter().map(|what| not_covered_words(&called, what)).collect(),
        groups: table.groups.iter().map(|one| group(one, &called)).collect(),
        promises,
        hazards: dangers.iter().map(|hazard| danger(&called, hazard)).collect(),
    })
}

/// Load points that something was promised of and that this wiring does not have.
fn absent(wiring: &Wiring, there: &[&LoadPoint], called: &Called<'_>) -> Vec<Promise> {
    if matches!(wiring.layer, Layer::Found(_) | Layer::Site) {
        return Vec::new();
    }
    let gone = wiring.promises.iter().filter(|(load, _)| !there.contains(load));
    gone.map(|(load, promised)| Promise {
        load: called.load(load),
        asked: boxproof_core::tell::asked_words(called, promised),
        stands: say("desk.table.absent", &[]),
        kept: false,
        lines: Vec::new(),
    })
    .collect()
}

fn danger(called: &Called<'_>, hazard: &Hazard) -> Danger {
    let words = hazard_words(called, hazard);
    Danger { title: words.title, text: words.text }
}

fn group(group: &TableGroup, called: &Called<'_>) -> Group {
    let rows = group.rows.iter().map(|row| Row {
        at: row.at.iter().map(|at| position_name(&at.position)).collect(),
        gets: row
            .gets
            .iter()
            .map(|gets| Cell {
                power: power_words(gets.power),
                volts: (gets.volts * 10.0).round() / 10.0,
                seen: gets.seen || gets.power != Power::Off,
            })
            .collect(),
    });
    Group {
        handles: group.handles.iter().map(|handle| called.handle(handle)).collect(),
        loads: group.loads.iter().map(|load| called.load(load)).collect(),
        rows: rows.collect(),
        unmapped: group.unmapped.iter().map(|handle| called.handle(handle)).collect(),
    }
}

impl Report {
    fn text(&self, site: &Site) -> String {
        let mut lines = vec![
            say("desk.table.head", &[("layer", &self.layer), ("title", &self.title)]),
            say("desk.table.limit", &[]),
        ];
        lines.extend(site.newer_words());
        section(&mut lines, &count("desk.table.not_covered", self.not_covered.len(), &[]), &self.not_covered);
        section(&mut lines, &count("desk.table.hazards", self.hazards.len(), &[]), &[]);
        for hazard in &self.hazards {
            lines.push(format!("  {}", hazard.title));
            lines.push(format!("      {}", hazard.text));
        }
        section(&mut lines, &say("desk.table.positions", &[]), &[]);
        for group in &self.groups {
            group.text(&mut lines);
        }
        section(&mut lines, &say("desk.table.promises", &[]), &[]);
        for promise in &self.promises {
            let fill = [("load", promise.load.as_str()), ("asked", &promise.asked), ("stands", &promise.stands)];
            lines.push(format!("  {}", say("desk.table.promise", &fill)));
            lines.extend(promise.lines.iter().map(|line| format!("      {line}")));
        }
        lines.push(String::new());
        lines.join("\n")
    }
}

/// A heading with a blank line before it, and lines under it.
fn section(lines: &mut Vec<String>, heading: &str, under: &[String]) {
    lines.push(String::new());
    lines.push(heading.to_owned());
    lines.extend(under.iter().map(|line| format!("  {line}")));
}

impl Group {
    fn text(&self, lines: &mut Vec<String>) {
        let columns: Vec<String> = self.handles.iter().chain(&self.loads).cloned().collect();
        let cell = |cell: &Cell| match cell.seen {
            true => cell.power.clone(),
            false => say("desk.table.as_far_as_seen", &[("power", &cell.power)]),
        };
        let cells: Vec<Vec<String>> =
            self.rows.iter().map(|row| row.at.iter().cloned().chain(row.gets.iter().map(cell)).collect()).collect();
        lines.extend(grid::lines(&columns, &cells).into_iter().map(|line| format!("  {line}")));
        for handle in &self.unmapped {
            lines.push(format!("  {}", say("desk.table.unmapped", &[("handle", handle)])));
        }
        lines.push(String::new());
    }
}
