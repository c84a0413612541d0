//! The commands, one file each, and what they share: which site is meant, and how a command ends.

mod demo;
mod entries;
mod fault;
mod findings;
mod grid;
mod labels;
mod lines;
mod note;
mod page;
mod readings;
mod record;
mod rows;
mod show;
mod site;
mod table;
mod text;
mod verify;
mod watched;

use std::process::ExitCode;

use boxproof_core::words::say;
use clap::{Parser, Subcommand};

use crate::out;

pub(crate) use fault::Fault;

/// How a command ended that could do what was asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Status {
    /// Nothing was found.
    Nothing,
    /// There are findings or disagreements.
    Findings,
    /// The arguments were wrong; it has been said.
    Usage,
}

impl Status {
    /// Findings, if there are any.
    pub(crate) fn findings(any: bool) -> Self {
        if any { Self::Findings } else { Self::Nothing }
    }
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        Self::from(match status {
            Status::Nothing => 0,
            Status::Findings => 1,
            Status::Usage => 2,
        })
    }
}

// No comment on these becomes help: every word of it is looked up.
#[derive(Parser)]
#[command(name = "boxproof", version, about = say("desk.about", &[]), after_help = say_all("desk.after", 3))]
struct Line {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    #[command(about = say("desk.demo", &[]), after_help = demo::examples())]
    Demo(demo::Demo),
    #[command(about = say("desk.table", &[]), after_help = table::examples())]
    Table(table::Table),
    #[command(about = say("desk.readings", &[]), after_help = readings::examples())]
    Readings(readings::Readings),
    #[command(about = say("desk.findings", &[]), after_help = findings::examples())]
    Findings(findings::Findings),
    #[command(about = say("desk.record", &[]), after_help = record::examples())]
    Record(record::Record),
    #[command(about = say("desk.labels", &[]), after_help = labels::examples())]
    Labels(labels::Labels),
    #[command(about = say("desk.entries", &[]), after_help = entries::examples())]
    Entries(entries::Entries),
    #[command(about = say("desk.verify", &[]), after_help = verify::examples())]
    Verify(verify::Verify),
    #[command(about = say("desk.note", &[]), after_help = note::examples())]
    Note(note::Note),
    #[command(about = say("desk.show", &[]), after_help = show::examples())]
    Show(show::Show),
    #[command(about = say("desk.page", &[]), after_help = page::examples())]
    Page(page::Page),
}

/// Reads the arguments and does what they say.
pub(crate) fn run() -> Result<Status, Fault> {
    let line = match Line::try_parse() {
        Ok(line) => line,
        Err(said) => return Ok(if out::usage(&said) { Status::Nothing } else { Status::Usage }),
    };
    match line.command {
        Command::Demo(demo) => demo.run(),
        Command::Table(table) => table.run(),
        Command::Readings(readings) => readings.run(),
        Command::Findings(findings) => findings.run(),
        Command::Record(record) => record.run(),
        Command::Labels(labels) => labels.run(),
        Command::Entries(entries) => entries.run(),
        Command::Verify(verify) => verify.run(),
        Command::Note(note) => note.run(),
        Command::Show(show) => show.run(),
        Command::Page(page) => page.run(),
    }
}

/// Words that stand in several lines: `key.1`, `key.2`, and so on.
fn say_all(key: &str, lines: usize) -> String {
    let lines: Vec<String> = (1..=lines).map(|n| say(&format!("{key}.{n}"), &[])).collect();
    lines.join("\n")
}

/// A report as JSON, for a program that reads it.
fn json(report: &impl serde::Serialize) -> Result<String, Fault> {
    let text = serde_json::to_string_pretty(report);
    text.map(|text| text + "\n").map_err(|error| Fault(say("desk.not_printed", &[("why", &error.to_string())])))
}

/// Examples for the end of a command's help: what is typed, and the key of what it does.
fn examples_of(list: &[(&str, &str)]) -> String {
    let mut text = say("desk.examples", &[]);
    for (typed, key) in list {
        text.push_str("\n  ");
        text.push_str(typed);
        text.push_str("\n      ");
        text.push_str(&say(key, &[]));
    }
    text
}
