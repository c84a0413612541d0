//! `boxproof table`: what every load point gets in every position, and whether that is what was promised.

use std::path::PathBuf;

use boxproof_core::catalogue::{Catalogue, position_name};
use boxproof_core::circuit::{Circuit, Outcome, SwitchTable, TableGroup, hazards};
use boxproof_core::job::{Layer, LoadPoint, ThingId, Wiring};
use boxproof_core::name::Called;
use boxproof_core::predict;
use boxproof_core::tell::{
    HazardWords, class_lines, columns, fed_words, gets_words, group_lines, hazard_words, in_order, outcome_words,
    power_words, uncovered,
};
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
    not_covered: Vec<Blind>,
    groups: Vec<Group>,
    promises: Vec<Promise>,
    hazards: Vec<Danger>,
    /// What was read or tried and stands against this table.
    disagreements: Vec<String>,
}

/// What the table does not cover.
#[derive(Serialize)]
struct Blind {
    what: String,
    /// What would have to be looked at.
    look: String,
    /// What it could change; empty if nothing was found.
    touches: String,
}

/// Handles and load points that matter to one another.
#[derive(Serialize)]
struct Group {
    handles: Vec<String>,
    /// What each column of a row is; a load point of which two answers are possible has two.
    columns: Vec<String>,
    rows: Vec<Row>,
    /// Positions that behave alike, for a group with many rows.
    classes: Vec<Classes>,
    /// What there is to say of the group as a whole.
    lines: Vec<String>,
}

/// The classes of one load point.
#[derive(Serialize)]
struct Classes {
    load: String,
    lines: Vec<String>,
}

#[derive(Serialize)]
struct Row {
    at: Vec<String>,
    gets: Vec<Cell>,
}

#[derive(Serialize)]
struct Cell {
    #[serde(skip)]
    words: String,
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
    /// The way by which it gets its power; none where it never has any.
    fed: Option<String>,
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

/// A line with a path, a box a line.
fn path_lines(line: &str) -> Vec<String> {
    let mut parts = line.split(" → ");
    let first = parts.next().map(str::to_owned);
    first.into_iter().chain(parts.map(|part| format!("    → {part}"))).collect()
}

/// Broken promises first, those that stand with nothing to say last.
fn rank(outcome: &Outcome) -> u8 {
    match outcome {
        Outcome::Broken(_) => 0,
        Outcome::UnderHazard(_) => 1,
        Outcome::NotCovered => 2,
        Outcome::AsFarAsSeen => 3,
        Outcome::AsPromised | Outcome::NothingToCompare => 4,
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
    let visits = site.notes.visits();
    let table = predict::switch_table(&circuit, &site.notes, &wiring, visits.last());
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
    let mut loads = in_order(&called, verdicts.keys());
    loads.sort_by_key(|load| verdicts.get(*load).map(|verdict| (rank(&verdict.outcome), verdict.fed.is_none())));
    for load in loads {
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
            fed: fed_words(&called, verdict),
        });
    }
    promises.extend(absent(&wiring, &verdicts.keys().collect::<Vec<_>>(), &called));
    Ok(Report {
        title: site.title(job),
        layer: layer_words(layer),
        newer: site.newer,
        ends: circuit.boundaries.len(),
        not_covered: uncovered(&called, &table)
            .into_iter()
            .map(|one| Blind { what: one.what, look: one.look, touches: one.touches })
            .collect(),
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
        fed: None,
    })
    .collect()
}

fn group(group: &TableGroup, called: &Called<'_>) -> Group {
    let loads = in_order(called, group.loads.iter());
    let columns = columns(called, group, &loads);
    let rows = group.rows.iter().enumerate().map(|(n, row)| Row {
        at: row.at.iter().map(|at| position_name(&at.position)).collect(),
        gets: columns
            .iter()
            .filter_map(|column| column.gets.get(n))
            .map(|gets| Cell {
                words: gets_words(gets.power, gets.seen),
                power: power_words(gets.power),
                volts: (gets.volts * 10.0).round() / 10.0,
                seen: gets.seen,
            })
            .collect(),
    });
    let classes = class_lines(called, group, &loads).unwrap_or_default().into_iter();
    Group {
        handles: group.handles.iter().map(|handle| called.handle(handle)).collect(),
        rows: rows.collect(),
        columns: columns.into_iter().map(|column| column.head).collect(),
        classes: classes.map(|one| Classes { load: called.load(&one.load), lines: one.lines }).collect(),
        lines: group_lines(called, group),
    }
}

impl Report {
    fn text(&self, site: &Site) -> String {
        let mut text = Text::default();
        text.line(&say("desk.table.head", &[("layer", &self.layer), ("title", &self.title)]));
        text.line(&say("desk.table.limit", &[]));
        text.lines(site.newer_words());
        text.section(&count("desk.table.not_covered", self.not_covered.len(), &[]), &[]);
        for one in &self.not_covered {
            text.line(&format!("  {}", one.what));
            let more: Vec<String> = [&one.look, &one.touches].into_iter().filter(|l| !l.is_empty()).cloned().collect();
            text.indent(6, &more);
        }
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
        let constant: Vec<String> = still.into_iter().flat_map(Group::still).collect();
        if !constant.is_empty() {
            text.section(&say("desk.table.whatever", &[]), &constant);
        }
        text.section(&say("desk.table.promises", &[]), &[]);
        for promise in &self.promises {
            let fill = [("load", promise.load.as_str()), ("asked", &promise.asked), ("stands", &promise.stands)];
            text.line(&format!("  {}", say("desk.table.promise", &fill)));
            for line in promise.lines.iter().chain(&promise.fed) {
                text.indent(6, &path_lines(line));
            }
        }
        text.end()
    }
}

impl Group {
    /// Positions and what each load point gets, row by row; or the classes of positions that behave alike.
    fn text(&self, text: &mut Text) {
        if self.classes.is_empty() {
            let columns: Vec<String> = self.handles.iter().chain(&self.columns).cloned().collect();
            let row = |row: &Row| row.at.iter().chain(row.gets.iter().map(|cell| &cell.words)).cloned().collect();
            let cells: Vec<Vec<String>> = self.rows.iter().map(row).collect();
            text.indent(2, &grid::lines(&columns, &cells));
        }
        for one in &self.classes {
            text.line(&format!("  {}", one.load));
            text.indent(6, &one.lines);
        }
        text.indent(2, &self.lines);
    }

    /// Load points that no switch touches, with what they get.
    fn still(&self) -> Vec<String> {
        let gets = self.rows.iter().flat_map(|row| &row.gets);
        self.columns
            .iter()
            .zip(gets)
            .map(|(load, cell)| format!("{load}: {}", cell.words))
            .chain(self.lines.iter().cloned())
            .collect()
    }
}
