//! `boxproof labels`: flag labels, box tags and cards as sheets to print, one HTML file or one SVG file a sheet.

use std::path::{Path, PathBuf};

use boxproof_core::app::path::Names;
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{Layer, ThingId};
use boxproof_core::picture::Paper;
use boxproof_core::picture::svg::{Unit, svg};
use boxproof_core::record::sheet::{Source, What, boxes, looked_into, page, sheets};
use boxproof_core::words::{count, say};
use clap::Args;

use super::site::Site;
use super::{Fault, Status, examples_of};
use crate::out;

#[derive(Args)]
pub(crate) struct Labels {
    #[arg(help = say("desk.site", &[]))]
    site: PathBuf,
    #[arg(long, value_name = "PAPER", value_parser = ["letter", "a4"], default_value = "letter", help = say("desk.labels.paper", &[]))]
    paper: String,
    #[arg(long, value_name = "WHAT", value_parser = ["open", "flags", "cards", "plates"], default_value = "open", help = say("desk.labels.what", &[]))]
    what: String,
    #[arg(long = "box", value_name = "TAG", help = say("desk.labels.box", &[]))]
    only: Vec<String>,
    #[arg(long, conflicts_with = "only", help = say("desk.labels.all", &[]))]
    all: bool,
    #[arg(long, value_name = "FILE", help = say("desk.labels.out", &[]))]
    out: PathBuf,
    #[arg(long, value_name = "NAME", help = say("desk.job", &[]))]
    job: Option<String>,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof labels lane --out labels.html", "desk.labels.example"),
        ("boxproof labels lane --what plates --paper a4 --out plates.svg", "desk.labels.example.plates"),
    ])
}

impl Labels {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let read = Site::read(&self.site)?;
        let job = read.job(self.job.as_deref())?;
        // Whoever wrote last is whose words stand on the tape.
        let author = read.notes.entries().next_back().map(|(_, kept)| kept.noted.entry.author);
        let source = Source { notes: &read.notes, catalogue: Catalogue::shared(), site: read.id, job, author };
        let chosen = self.chosen(source)?;
        let paper = Paper::named(&self.paper).unwrap_or(Paper::Letter);
        let what = What::named(&self.what).unwrap_or(What::Open);
        let made = sheets(source, what, paper, &chosen);
        if made.is_empty() {
            return Err(Fault(say("desk.labels.nothing", &[])));
        }
        let ending = self.out.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
        let files: Vec<(PathBuf, String)> = match ending {
            "html" => vec![(self.out.clone(), page(paper, &say("sheet.file_title", &[]), &made))],
            "svg" => made
                .iter()
                .enumerate()
                .map(|(n, sheet)| (self.numbered(n, made.len()), svg(sheet, Unit::Point)))
                .collect(),
            _ => return Err(Fault::of("desk.labels.ending", &self.out)),
        };
        for (path, text) in files {
            out::write_file(&path, text)?;
            out::print(format!("{}\n", path.display()))?;
        }
        out::tell(&count(
            "desk.labels.sheets",
            made.len(),
            &[("paper", &say(&format!("screen.print.paper.{}", paper.name()), &[]))],
        ));
        Ok(Status::Nothing)
    }

    fn chosen(&self, source: Source<'_>) -> Result<Vec<ThingId>, Fault> {
        if self.all {
            return Ok(boxes(source));
        }
        if self.only.is_empty() {
            return Ok(looked_into(source));
        }
        let layer = source.job.map_or(Layer::Site, Layer::Planned);
        let names = Names::new(source.notes, source.catalogue, layer);
        self.only.iter().map(|tag| Ok(names.box_named(tag)?)).collect()
    }

    /// The file of one sheet: as asked where there is one, else with the sheet's number.
    fn numbered(&self, n: usize, of: usize) -> PathBuf {
        if of == 1 {
            return self.out.clone();
        }
        let stem = self.out.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        self.out.parent().unwrap_or(Path::new("")).join(format!("{stem}-{}.svg", n + 1))
    }
}
