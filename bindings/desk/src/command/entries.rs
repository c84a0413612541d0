//! `boxproof entries`: gives a site's entries out as lines, and takes others in.

use std::path::{Path, PathBuf};

use boxproof_core::app::files::taken_words;
use boxproof_core::job::ThingId;
use boxproof_core::log::{Bad, Folder, Log, LogError, Salvage, TakenIn};
use boxproof_core::words::{count, say};
use clap::Args;

use super::text::Text;
use super::{Fault, Status, examples_of, lines, site};
use crate::out;

#[derive(Args)]
pub(crate) struct Entries {
    #[arg(help = say("desk.site", &[]))]
    site: PathBuf,
    #[arg(long, value_name = "FILE", conflicts_with = "take", help = say("desk.entries.out", &[]))]
    out: Option<PathBuf>,
    #[arg(long, value_name = "FILE", num_args = 1.., help = say("desk.entries.take", &[]))]
    take: Vec<PathBuf>,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof entries lane --out day.jsonl", "desk.entries.example.out"),
        ("boxproof entries office --take day.jsonl phone.jsonl", "desk.entries.example.take"),
    ])
}

impl Entries {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        if self.take.is_empty() { self.give_out() } else { self.take_in() }
    }

    fn give_out(&self) -> Result<Status, Fault> {
        let path = site::file(&self.site)?;
        let mut bytes = Vec::new();
        let given = site::open(&path).and_then(|mut log| log.give_out(&mut bytes));
        let (entries, status) = match given {
            Ok(entries) => (entries, Status::Nothing),
            Err(LogError::Damaged { file, moved_to }) => {
                bytes.clear();
                let now = moved_to.unwrap_or(file);
                let salvage = Salvage::read(&now).map_err(|error| site::not_read(&now, &error))?;
                let entries = salvage.give_out(&mut bytes).map_err(|error| site::not_read(&now, &error))?;
                out::tell(&count("desk.rescued", entries, &[("path", &now.display().to_string())]));
                (entries, Status::Findings)
            }
            Err(error) => return Err(error.into()),
        };
        match &self.out {
            None => out::print(&bytes)?,
            Some(to) => {
                out::write_file(to, &bytes)?;
                out::print(format!(
                    "{}\n",
                    count("desk.entries.given", entries, &[("path", &to.display().to_string())])
                ))?;
            }
        }
        Ok(status)
    }

    fn take_in(&self) -> Result<Status, Fault> {
        let mut log = self.log_to_take_into()?;
        let mut status = Status::Nothing;
        let mut unread = None;
        for file in &self.take {
            let name = file.display().to_string();
            let taken = match lines::of(file) {
                Ok(mut from) => log.take_in(&mut from)?,
                // The other files are taken in all the same.
                Err(fault) => {
                    out::tell(&fault.to_string());
                    unread = Some(count("desk.entries.unread", 1, &[("path", &name)]));
                    continue;
                }
            };
            out::print(format!(
                "{}\n",
                say("desk.entries.taken", &[("path", &name), ("words", &taken_words(&taken))])
            ))?;
            out::print(details(&taken))?;
            if taken.bad > 0 || !taken.other_sites.is_empty() || taken.ended.is_some() {
                status = Status::Findings;
            }
        }
        unread.map_or(Ok(status), |unread| Err(Fault(unread)))
    }

    /// The log that is meant. In a notebook without a site, the site of the files begins.
    fn log_to_take_into(&self) -> Result<Log, Fault> {
        let fresh = match site::is_folder(&self.site) {
            Ok(false) => return Ok(Log::open(&self.site)?),
            Ok(true) => {
                let known = self.site.join("sites").is_dir();
                (known && Folder::open(&self.site)?.sites()?.is_empty()) || (!known && site::is_empty(&self.site)?)
            }
            Err(fault) if self.site.exists() => return Err(fault),
            Err(_) => true,
        };
        if !fresh {
            return Ok(Log::open(&site::file(&self.site)?)?);
        }
        let only = self.site_of_files()?;
        Ok(Folder::open(&self.site)?.new_site(only)?)
    }

    /// The one site that the files speak of.
    fn site_of_files(&self) -> Result<ThingId, Fault> {
        let mut sites = std::collections::BTreeSet::new();
        for file in &self.take {
            if let Ok(mut from) = lines::of(file) {
                sites.extend(lines::sorted(&mut *from).sites.into_keys());
            }
        }
        let first = sites.pop_first();
        match (first, sites.len()) {
            (Some(only), 0) => Ok(only),
            (Some(_), more) => Err(Fault(count("desk.entries.many_sites", more + 1, &[]))),
            (None, _) => Err(Fault::of("desk.entries.no_entries", self.first_file())),
        }
    }

    fn first_file(&self) -> &Path {
        self.take.first().map_or(Path::new(""), PathBuf::as_path)
    }
}

/// What was not taken, line by line.
fn details(taken: &TakenIn) -> String {
    let others = taken.other_sites.iter();
    let mut lines: Vec<String> =
        others.map(|(site, n)| count("desk.entries.of_site", *n, &[("site", &site.to_string())])).collect();
    for (number, bad) in &taken.named {
        let why = match bad {
            Bad::NotOurs => say("desk.entries.bad.not_ours", &[]),
            Bad::TooLong => say("desk.entries.bad.too_long", &[]),
            Bad::Damaged => say("desk.entries.bad.damaged", &[]),
            Bad::Unread(why) => why.to_string(),
        };
        lines.push(say("desk.entries.bad", &[("n", &number.to_string()), ("why", &why)]));
    }
    let more = taken.bad - taken.named.len();
    if more > 0 {
        lines.push(count("desk.entries.bad.more", more, &[]));
    }
    let mut text = Text::default();
    text.indent(2, &lines);
    text.end()
}
