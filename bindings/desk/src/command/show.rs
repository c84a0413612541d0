//! `boxproof show`: a screen as rows of text.

use std::path::PathBuf;

use boxproof_core::app::line::Line;
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::sign::Signer;
use boxproof_core::job::{Author, Wall};
use boxproof_core::screen::{View, show};
use boxproof_core::words::say;
use boxproof_desk::outside::{SECRET_FILE, secret};
use clap::Args;

use super::site::{self, Site};
use super::{Fault, Status, examples_of, rows};
use crate::out;

#[derive(Args)]
pub(crate) struct Show {
    #[arg(help = say("desk.site", &[]))]
    site: PathBuf,
    #[arg(default_value = "job", help = say("desk.show.address", &[]))]
    address: String,
    #[arg(long, help = say("desk.show.tokens", &[]))]
    tokens: bool,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof show lane", "desk.show.example.job"),
        ("boxproof show lane 'sources'", "desk.show.example.page"),
    ])
}

impl Show {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let read = Site::read(&self.site)?;
        let address: Line = self.address.parse().map_err(|why: boxproof_core::app::line::NotALine| {
            Fault(say("desk.show.no_address", &[("why", &why.to_string())]))
        })?;
        // The clock of the last entry, so that equal notes give equal text.
        let last = read.notes.entries().next_back();
        let now = last.map_or(Wall { utc_ms: 0, offset_min: 0 }, |(_, kept)| kept.noted.entry.wall);
        let view = View::new(&read.notes, Catalogue::shared(), read.id, self.author(), now, address);
        out::print(rows::text(&show(&view)?, self.tokens))?;
        Ok(Status::Nothing)
    }

    /// Whose screen it is: the notebook's own, if the file is in one; looking makes no key.
    fn author(&self) -> Author {
        let folder = site::home(&self.site).ok().map(|(folder, _)| folder);
        let key = folder.filter(|folder| folder.join(SECRET_FILE).is_file()).and_then(|folder| secret(&folder).ok());
        key.map_or(Author([0; 32]), |key| Signer::from_seed(key).author())
    }
}
