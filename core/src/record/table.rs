//! Findings by the edition that is set, and the switch table as left: what it does not cover first.

use crate::circuit::{Circuit, Hazard, SwitchTable, TableGroup, hazards};
use crate::job::LoadPoint;
use crate::name::Called;
use crate::predict;
use crate::rules::{Edition, Finding, Severity, check};
use crate::tell::{class_lines, columns, gets_words, group_lines, hazard_words, in_order, outcome_words, uncovered};
use crate::words::say;

use super::day::Day;
use super::document::{Cell, Mark, Section, Table, Weight};
use super::name::listed;

/// Findings open as left, and those of the wiring as found that are there no more.
pub(super) fn findings(day: &Day<'_>) -> Section {
    let mut part = Section::new("findings", say("record.findings", &[]));
    let year = day.job.edition.get().copied();
    let Some(edition) = year.and_then(Edition::of) else {
        part.text(say("record.findings.no_edition", &[]));
        return part;
    };
    part.text(say("record.findings.by", &[("edition", edition.name())]));
    let after = check(&day.left, day.catalogue, edition);
    let before = check(&day.found, day.catalogue, edition);
    let is_same = |a: &Finding, b: &Finding| a.rule == b.rule && a.place == b.place;
    let (over, not_known): (Vec<_>, Vec<_>) = after.iter().partition(|finding| finding.severity == Severity::Over);
    let closed =
        before.iter().filter(|old| old.severity == Severity::Over && !after.iter().any(|new| is_same(old, new)));
    part.table(list(day, "record.findings.open", over.into_iter()));
    part.table(list(day, "record.findings.closed", closed));
    part.table(list(day, "record.findings.not_known", not_known.into_iter()));
    if part.blocks.len() == 1 {
        part.text(say("record.findings.none", &[]));
    }
    part
}

/// How many findings are open.
pub(super) fn open_findings(day: &Day<'_>) -> Option<usize> {
    let edition = Edition::of(*day.job.edition.get()?)?;
    let all = check(&day.left, day.catalogue, edition);
    Some(all.iter().filter(|finding| finding.severity == Severity::Over).count())
}

fn list<'f>(day: &Day<'_>, key: &str, findings: impl Iterator<Item = &'f Finding>) -> Table {
    let mut table = Table::new(say(key, &[]), "record.findings", &["box", "what"]);
    for finding in findings {
        let at = finding.in_box.map_or_else(|| say("record.findings.nowhere", &[]), |id| day.names().r#box(id));
        table.row(vec![at.into(), finding.sentence().into()]);
    }
    table
}

/// The switch table as left.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("switch-table", say("record.table", &[]));
    let Ok(circuit) = Circuit::of(&day.left, day.catalogue) else {
        part.text(say("record.table.no_circuit", &[]));
        return part;
    };
    part.text(say("record.table.is", &[]));
    let called = Called::new(&day.left, day.catalogue);
    let table = predict::switch_table(&circuit, day.notes, &day.left, day.visits.last());
    let mut list = Table::new(say("record.table.not_covered", &[]), "record.not_covered", &["what", "look"]);
    for one in uncovered(&called, &table) {
        list.row(vec![Cell::marked(one.what.clone(), Some(Mark::Unknown)), one.more().join(" ").into()]);
    }
    part.table(list);
    let hazards = hazards(&circuit);
    for hazard in &hazards {
        let words = hazard_words(&called, hazard);
        part.notice(Weight::Hazard, words.title, words.text);
    }
    part.table(verdicts(day, &called, &table, (&circuit, &hazards)));
    for line in table.groups.iter().filter(|group| group.handles.is_empty()).flat_map(|g| group_lines(&called, g)) {
        part.notice(Weight::Hazard, line, String::new());
    }
    for group in table.groups.iter().filter(|group| !group.handles.is_empty()) {
        part.table(group_table(day, &called, group));
        for line in group_lines(&called, group) {
            part.text(line);
        }
    }
    part
}

/// What was asked of each load point and how it stands.
fn verdicts(
    day: &Day<'_>,
    called: &Called<'_>,
    table: &SwitchTable,
    (circuit, hazards): (&Circuit, &[Hazard]),
) -> Table {
    let before = Circuit::of(&day.found, day.catalogue).ok();
    let found = before.as_ref().map(SwitchTable::of);
    let verdicts = table.verdicts(circuit, &day.job.promises, found.as_ref(), hazards);
    let columns = ["load", "asked", "stands", "more"];
    let mut list = Table::new(say("record.asked", &[]), "record.asked", &columns);
    for load in in_order(called, verdicts.keys()) {
        let Some(verdict) = verdicts.get(load) else { continue };
        let told = outcome_words(called, verdict, hazards);
        list.row(vec![called.load(load).into(), told.asked.into(), told.stands.into(), told.lines.join("; ").into()]);
    }
    list
}

/// The rows of one group: positions, then what each load point gets; or the classes of positions that behave alike.
fn group_table(day: &Day<'_>, called: &Called<'_>, group: &TableGroup) -> Table {
    let handles = group.handles.iter().map(|handle| called.handle(handle));
    let caption = say("record.table.of", &[("handles", &listed(handles))]);
    let loads: Vec<&LoadPoint> = group.loads.iter().filter(|load| is_shown(day, load)).collect();
    if let Some(classes) = class_lines(called, group, &loads) {
        let mut table = Table::new(caption, "record.table", &["load", "gets"]);
        for one in classes {
            let name = called.load(&one.load);
            one.lines.into_iter().for_each(|line| table.row(vec![name.clone().into(), line.into()]));
        }
        return table;
    }
    let mut table = Table::new(caption, "record.table", &["at"]);
    let columns = columns(called, group, &loads);
    let heads = columns.iter().map(|column| column.head.clone());
    table.columns.extend(heads.map(|title| super::document::Column { title, figures: false }));
    for (n, row) in group.rows.iter().enumerate() {
        let gets = columns.iter().filter_map(|column| column.gets.get(n));
        let gets = gets.map(|gets| gets_words(gets.power, gets.seen).into());
        table.row(std::iter::once(Cell::new(called.positions(&row.at))).chain(gets).collect());
    }
    table
}

/// A device's own supply is no load point that anybody asks for.
fn is_shown(day: &Day<'_>, load: &LoadPoint) -> bool {
    let kind = day.left.devices.get(&load.device).and_then(|note| note.kind.get());
    let kind = kind.and_then(|kind| day.catalogue.device(kind));
    !kind.and_then(|kind| kind.load(&load.load)).is_some_and(|load| load.auxiliary)
}
