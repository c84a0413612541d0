//! Findings by the edition that is set, and the switch table as left: what it does not cover first.

use crate::circuit::{Circuit, Gets, SwitchTable, TableGroup, hazards};
use crate::name::Called;
use crate::rules::{Edition, Finding, Severity, check};
use crate::tell::{hazard_words, in_order, not_covered_words, outcome_words, power_words};
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
    let table = SwitchTable::of(&circuit);
    let not_covered = table.not_covered.iter().map(|what| not_covered_words(&called, what));
    let mut list = Table::new(say("record.table.not_covered", &[]), "record.not_covered", &["what"]);
    not_covered.for_each(|what| list.row(vec![Cell::marked(what, Some(Mark::Unknown))]));
    part.table(list);
    let hazards = hazards(&circuit);
    for hazard in &hazards {
        let words = hazard_words(&called, hazard);
        part.notice(Weight::Hazard, words.title, words.text);
    }
    part.table(verdicts(day, &called, &table, &circuit));
    for group in &table.groups {
        if !group.handles.is_empty() {
            part.table(group_table(day, &called, group));
        }
    }
    part
}

/// What was asked of each load point and how it stands.
fn verdicts(day: &Day<'_>, called: &Called<'_>, table: &SwitchTable, circuit: &Circuit) -> Table {
    let before = Circuit::of(&day.found, day.catalogue).ok();
    let found = before.as_ref().map(SwitchTable::of);
    let hazards = hazards(circuit);
    let verdicts = table.verdicts(circuit, &day.job.promises, found.as_ref(), &hazards);
    let columns = ["load", "asked", "stands", "more"];
    let mut list = Table::new(say("record.asked", &[]), "record.asked", &columns);
    for load in in_order(called, verdicts.keys()) {
        let Some(verdict) = verdicts.get(load) else { continue };
        let told = outcome_words(called, verdict, &hazards);
        list.row(vec![called.load(load).into(), told.asked.into(), told.stands.into(), told.lines.join("; ").into()]);
    }
    list
}

/// The rows of one group: positions, then what each load point gets.
fn group_table(day: &Day<'_>, called: &Called<'_>, group: &TableGroup) -> Table {
    let handles = group.handles.iter().map(|handle| called.handle(handle));
    let caption = say("record.table.of", &[("handles", &listed(handles))]);
    let mut table = Table::new(caption, "record.table", &["at"]);
    let loads: Vec<usize> = (0..group.loads.len()).filter(|n| is_shown(day, group, *n)).collect();
    for n in &loads {
        let title = group.loads.get(*n).map(|load| called.load(load)).unwrap_or_default();
        table.columns.push(super::document::Column { title, figures: false });
    }
    for row in &group.rows {
        let gets = loads.iter().map(|n| row.gets.get(*n).map_or_else(Cell::default, gets));
        table.row(std::iter::once(Cell::new(called.positions(&row.at))).chain(gets).collect());
    }
    if !group.unmapped.is_empty() {
        let handles = listed(group.unmapped.iter().map(|handle| called.handle(handle)));
        table.caption = say("record.table.unmapped", &[("caption", &table.caption), ("handles", &handles)]);
    }
    table
}

/// A device's own supply is no load point that anybody asks for.
fn is_shown(day: &Day<'_>, group: &TableGroup, n: usize) -> bool {
    let Some(load) = group.loads.get(n) else { return false };
    let kind = day.left.devices.get(&load.device).and_then(|note| note.kind.get());
    let kind = kind.and_then(|kind| day.catalogue.device(kind));
    !kind.and_then(|kind| kind.load(&load.load)).is_some_and(|load| load.auxiliary)
}

fn gets(gets: &Gets) -> Cell {
    let power = power_words(gets.power);
    if gets.seen { power.into() } else { say("record.table.as_far", &[("power", &power)]).into() }
}
