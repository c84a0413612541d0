//! `boxproof table`: what every load point gets in every position, and whether that is what was promised.

use std::path::PathBuf;

use boxproof_core::catalogue::{Catalogue, position_name};
use boxproof_core::circuit::{Circuit, Outcome, Power, SwitchTable, TableGroup, hazards};
use boxproof_core::job::{Layer, LoadPoint, ThingId, Wiring};
use boxproof_core::name::Called;
use boxproof_core::tell::{HazardWords, hazard_words, in_order, not_covered_lines, outcome_words, power_words};
use boxproof_core::words::{count, say};
use clap::{Args, ValueEnum};
use serde::Serialize;

use super::site::{Site, layer_words};
use super::text::Text;
use super::{Fault, Status, examples_of, grid, json, watched};
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
pub(crate) enum LayerWord {
    #[value(help = say("desk.layer.help.planned", &[]))]
    Planned,
    #[value(help = say("desk.layer.help.left", &[]))]
    Left,
    #[value(help = say("desk.layer.help.found", &[]))]
    Found,
}

impl LayerWord {
    /// As addresses write it.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Left => "left",
            Self::Found => "found",
        }
    }
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
    /// How many ends of the map there are.
    ends: usize,
    not_covered: Vec<String>,
    groups: Vec<Group>,
    promises: Vec<Promise>,
    hazards: Vec<Danger>,
    /// What was read or tried and stands against this table.
    disagreements: Vec<String>,
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

/// A hazard in words.
#[derive(Serialize)]
pub(crate) struct Danger {
    title: String,
    text: String,
}

impl From<HazardWords> for Danger {
    fn from(HazardWords { title, text }: HazardWords) -> Self {
        Self { title, text }
    }
}

impl Danger {
    /// What is wrong, and where and how under it.
    pub(crate) fn text(&self, to: &mut Text) {
        to.line(&format!("  {}", self.title));
        to.line(&format!("      {}", self.text));
    }
}

impl Table {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let site = Site::read(&self.site)?;
        let job = site.job(self.job.as_deref())?;
        let layer = site.layer(job, self.layer.map(LayerWord::word));
        let report = worked_out(&site, job, layer)?;
        let found = !(report.hazards.is_empty() && report.disagreements.is_empty())
            || report.promises.iter().any(|promise| !promise.kept);
        let text = if self.json { json(&report)? } else { report.text(&site) };
        out::print(text)?;
        Ok(Status::findings(found))
    }
}

/// Why no table could be made.
pub(crate) fn not_made(error: &boxproof_core::circuit::CircuitError) -> Fault {
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
    // Trials are made on the wiring as left; they say nothing of a plan or of what was there before.
    let disagreements = match layer {
        Layer::Left(_) => watched::disagreements(&site.notes, layer, job, "desk.table.disagrees").stand,
        _ => Vec::new(),
    };
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
        ends: table.not_covered.len(),
        not_covered: not_covered_lines(&called, &table.not_covered),
        groups: table.groups.iter().map(|one| group(one, &called)).collect(),
        promises,
        hazards: dangers.iter().map(|hazard| hazard_words(&called, hazard)).map(Danger::from).collect(),
        disagreements,
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
        let mut text = Text::default();
        text.line(&say("desk.table.head", &[("layer", &self.layer), ("title", &self.title)]));
        text.line(&say("desk.table.limit", &[]));
        text.lines(site.newer_words());
        text.section(&count("desk.table.not_covered", self.ends, &[]), &self.not_covered);
        if !self.disagreements.is_empty() {
            text.section(&count("desk.table.disagree", self.disagreements.len(), &[]), &self.disagreements);
        }
        text.section(&count("desk.table.hazards", self.hazards.len(), &[]), &[]);
        self.hazards.iter().for_each(|hazard| hazard.text(&mut text));
        text.section(&say("desk.table.positions", &[]), &[]);
        let (moved, still): (Vec<_>, Vec<_>) = self.groups.iter().partition(|group| !group.handles.is_empty());
        for (n, group) in moved.into_iter().enumerate() {
            if n > 0 {
                text.line("");
            }
            group.text(&mut text);
        }
        let constant: Vec<String> = still.into_iter().flat_map(Group::constant).collect();
        if !constant.is_empty() {
            text.section(&say("desk.table.whatever", &[]), &constant);
        }
        text.section(&say("desk.table.promises", &[]), &[]);
        for promise in &self.promises {
            let fill = [("load", promise.load.as_str()), ("asked", &promise.asked), ("stands", &promise.stands)];
            text.line(&format!("  {}", say("desk.table.promise", &fill)));
            text.indent(6, &promise.lines);
        }
        text.end()
    }
}

impl Cell {
    fn words(&self) -> String {
        if self.seen { self.power.clone() } else { say("desk.table.as_far_as_seen", &[("power", &self.power)]) }
    }
}

impl Group {
    /// Positions and what each load point gets, row by row.
    fn text(&self, text: &mut Text) {
        let columns: Vec<String> = self.handles.iter().chain(&self.loads).cloned().collect();
        let row = |row: &Row| row.at.iter().cloned().chain(row.gets.iter().map(Cell::words)).collect();
        let cells: Vec<Vec<String>> = self.rows.iter().map(row).collect();
        text.indent(2, &grid::lines(&columns, &cells));
        if !self.unmapped.is_empty() {
            text.line(&format!("  {}", say("desk.table.unmapped", &[("handles", &self.unmapped.join(", "))])));
        }
    }

    /// Load points that no switch touches, with what they get.
    fn constant(&self) -> Vec<String> {
        let gets = self.rows.iter().flat_map(|row| &row.gets);
        self.loads.iter().zip(gets).map(|(load, cell)| format!("{load}: {}", cell.words())).collect()
    }
}
