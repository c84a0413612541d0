//! `boxproof note`: sends events as a shell would.

use std::path::PathBuf;

use boxproof_core::app::line::Line;
use boxproof_core::app::{Notebook, Sent};
use boxproof_core::job::ThingId;
use boxproof_core::screen::Screen;
use boxproof_core::words::{count, say};
use clap::Args;

use super::{Fault, Status, examples_of, rows, site};
use crate::out;

#[derive(Args)]
pub(crate) struct Note {
    #[arg(help = say("desk.note.site", &[]))]
    site: PathBuf,
    #[arg(required = true, value_name = "EVENT", help = say("desk.note.event", &[]))]
    events: Vec<String>,
    #[arg(long, value_name = "TEXT", help = say("desk.note.input", &[]))]
    input: Option<String>,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        (r#"boxproof note lane 'site name="Lantern Lane"'"#, "desk.note.example.site"),
        ("boxproof note lane 'cover B8 off' 'set B8 kind=octagon-4-1.5 layer=left'", "desk.note.example.two"),
    ])
}

impl Note {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let (folder, mut site) = match site::home(&self.site) {
            // A notebook begins with the event that names its first site.
            Err(_) if !self.site.exists() && self.begins() => (self.site.clone(), None),
            home => home?,
        };
        let book = site::notebook(&folder)?;
        let mut last = None;
        for (n, event) in self.events.iter().enumerate() {
            match self.send(&book, &mut site, event) {
                Ok(screen) => last = Some(screen),
                Err(fault) if n == 0 => return Err(fault),
                Err(fault) => return Err(Fault(format!("{fault} {}", count("desk.note.before", n, &[])))),
            }
        }
        if let Some(screen) = last {
            out::print(rows::text(&screen, false))?;
        }
        Ok(Status::Nothing)
    }

    /// Whether the first event begins a site.
    fn begins(&self) -> bool {
        self.events.first().and_then(|event| event.parse::<Line>().ok()).is_some_and(|line| line.verb == "site")
    }

    fn send(&self, book: &Notebook, site: &mut Option<ThingId>, event: &str) -> Result<Screen, Fault> {
        let mut line: Line = event.parse().map_err(|why: boxproof_core::app::line::NotALine| {
            Fault(say("refuse.line", &[("why", &why.to_string())]))
        })?;
        let begins = line.verb == "site";
        if site.is_none() && !begins {
            *site = match book.sites()?.as_slice() {
                [only] => Some(*only),
                _ => None,
            };
        }
        if !begins && line.field("site").is_none() {
            line = line.with_some("site", *site);
        }
        let drawn = match site {
            Some(site) if !begins => book.revision(*site)?,
            _ => book.sites()?.len() as u64,
        };
        let screen = book.send(&Sent { token: line.to_string(), input: self.input.clone(), drawn })?;
        if begins {
            let address: Line = screen.address.parse().unwrap_or_default();
            *site = address.field("site").and_then(|site| site.parse().ok());
        }
        Ok(screen)
    }
}
