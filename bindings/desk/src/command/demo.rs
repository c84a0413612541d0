//! `boxproof demo`: the invented job of Lantern Lane, played into a new notebook.

use std::fs;
use std::io::Write as _;
use std::path::PathBuf;

use boxproof_core::app::script::{play_seen, seed};
use boxproof_core::log::Folder;
use boxproof_core::words::say;
use boxproof_desk::outside::{SECRET_FILE, secret};
use clap::{Args, ValueEnum};

use super::{Fault, Status, examples_of, site};
use crate::out;

const LANTERN_LANE: &str = include_str!("../../../../shared/demo/lantern-lane.txt");

#[derive(Args)]
pub(crate) struct Demo {
    #[arg(help = say("desk.demo.folder", &[]))]
    folder: PathBuf,
    #[arg(long, value_enum, default_value_t = Moment::Evening, help = say("desk.demo.until", &[]))]
    until: Moment,
}

/// Where the playing may end.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Moment {
    #[value(help = say("desk.demo.morning", &[]))]
    Morning,
    #[value(help = say("desk.demo.disagreement", &[]))]
    Disagreement,
    #[value(help = say("desk.demo.evening", &[]))]
    Evening,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof demo lane", "desk.demo.example.evening"),
        ("boxproof demo lane --until disagreement", "desk.demo.example.disagreement"),
    ])
}

impl Demo {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let folder = &self.folder;
        if fs::metadata(folder).is_ok_and(|meta| !meta.is_dir()) || !site::is_empty(folder)? {
            return Err(Fault::of("desk.demo.not_empty", folder));
        }
        let until = self.until.to_possible_value().map(|value| value.get_name().to_owned());
        let mut show = |line: usize, of: usize| {
            let share = (100 * line / of.max(1)).to_string();
            out::progress(&say("desk.demo.playing", &[("share", &share)]));
        };
        let played = play_seen(LANTERN_LANE, folder, until.as_deref(), &mut show);
        out::progress("");
        let played = played.map_err(|fault| {
            let (path, why) = (folder.display().to_string(), fault.to_string());
            Fault(say("desk.demo.stopped", &[("path", &path), ("why", &why)]))
        })?;
        self.keep_hand(&played.hand)?;
        let file = Folder::open(folder)?.site_path(played.site);
        out::print(format!("{}\n", file.display()))?;
        Ok(Status::Nothing)
    }

    /// Leaves the demo's hand as the notebook's key, so that whoever opens it goes on as that person. Anybody can
    /// work this key out: it signs invented jobs alone.
    fn keep_hand(&self, hand: &str) -> Result<(), Fault> {
        let path = self.folder.join(SECRET_FILE);
        let written = fs::File::create_new(&path).and_then(|mut file| file.write_all(&seed(hand)));
        written.map_err(|error| {
            let (file, why) = (path.display().to_string(), error.to_string());
            Fault(say("file.not_written", &[("file", &file), ("why", &why)]))
        })?;
        // Reading it back makes it its owner's alone.
        secret(&self.folder)?;
        Ok(())
    }
}
