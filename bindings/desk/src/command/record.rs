//! `boxproof record`: the day record as one HTML file.

use std::fs;
use std::path::{Path, PathBuf};

use boxproof_core::catalogue::Catalogue;
use boxproof_core::record::{Span, day, html};
use boxproof_core::words::say;
use clap::Args;

use super::site::{self, Site};
use super::{Fault, Status, examples_of};
use crate::out;

#[derive(Args)]
pub(crate) struct Record {
    #[arg(help = say("desk.site", &[]))]
    site: PathBuf,
    #[arg(long, value_name = "FILE", help = say("desk.record.out", &[]))]
    out: Option<PathBuf>,
    #[arg(long, value_name = "DAY", conflicts_with = "whole_job", help = say("desk.record.day", &[]))]
    day: Option<String>,
    #[arg(long, help = say("desk.record.whole_job", &[]))]
    whole_job: bool,
    #[arg(long, value_name = "NAME", help = say("desk.job", &[]))]
    job: Option<String>,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof record lane", "desk.record.example"),
        ("boxproof record lane --day 2026-05-12 --out day.html", "desk.record.example.day"),
    ])
}

impl Record {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let read = Site::read(&self.site)?;
        let job = read.job(self.job.as_deref())?.ok_or_else(|| Fault::of("desk.record.no_job", &self.site))?;
        let visits = read.notes.visits().into_iter().filter(|visit| visit.job == job);
        let days: Vec<String> = visits.map(|visit| visit.arrived.day()).collect();
        let span = match &self.day {
            Some(asked) if !days.contains(asked) => {
                let days = if days.is_empty() { say("desk.record.never", &[]) } else { days.join(", ") };
                return Err(Fault(say("desk.record.no_day", &[("day", asked), ("days", &days)])));
            }
            Some(asked) => Span::Day(asked.clone()),
            None if self.whole_job => Span::Job,
            None => Span::last(&read.notes, job),
        };
        let path = match &self.out {
            Some(path) => path.clone(),
            None => self.usual_place(&span)?,
        };
        out::write_file(&path, html(&day(&read.notes, Catalogue::shared(), read.id, job, &span)))?;
        out::print(format!("{}\n", path.display()))?;
        Ok(Status::Nothing)
    }

    /// In the notebook's folder `out`; beside a site's file that lies in no notebook.
    fn usual_place(&self, span: &Span) -> Result<PathBuf, Fault> {
        let name = match span {
            Span::Day(day) => format!("record-{day}.html"),
            Span::Visit(_) | Span::Job => "record.html".to_owned(),
        };
        let Ok((folder, _)) = site::home(&self.site) else {
            return Ok(self.site.parent().unwrap_or(Path::new("")).join(name));
        };
        let folder = folder.join("out");
        fs::create_dir_all(&folder).map_err(|error| {
            let (file, why) = (folder.display().to_string(), error.to_string());
            Fault(say("file.not_written", &[("file", &file), ("why", &why)]))
        })?;
        Ok(folder.join(name))
    }
}
