//! Files that come in and go out: entries as lines, from other phones and to the office.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{BufReader, BufWriter, Write as _};
use std::path::{Path, PathBuf};

use crate::catalogue::Catalogue;
use crate::job::ThingId;
use crate::log::{TakenIn, sites_in};
use crate::record::sheet::page;
use crate::record::{Span, day as day_record, html};
use crate::screen::{FileOut, View, ordered};
use crate::words::{count, say};

use super::site::OpenSite;
use super::{Refusal, Sent};

/// The file that was chosen with an event.
pub(crate) fn chosen(sent: &Sent) -> Result<&Path, Refusal> {
    let path = sent.input.as_deref().filter(|path| !path.is_empty()).map(Path::new);
    path.ok_or_else(|| Refusal::Input(say("refuse.missing_field", &[("name", "file")])))
}

/// The sites that a file has entries of.
pub(crate) fn sites_of(path: &Path) -> Result<BTreeSet<ThingId>, Refusal> {
    let read = File::open(path).and_then(|file| sites_in(&mut BufReader::new(file)));
    read.map_err(|error| not_read(path, &error))
}

/// Takes the entries of a file in.
pub(crate) fn take_in(open: &mut OpenSite, path: &Path) -> Result<TakenIn, Refusal> {
    let file = File::open(path).map_err(|error| not_read(path, &error))?;
    open.take_in(&mut BufReader::new(file))
}

/// What taking in came to, in one or two sentences.
pub fn taken_words(taken: &TakenIn) -> String {
    let mut parts = vec![count("file.taken", taken.taken, &[]), count("file.known", taken.known, &[])];
    let others: usize = taken.other_sites.values().sum();
    for (key, n) in [("file.others", others), ("file.bad", taken.bad), ("file.newer", taken.newer)] {
        if n > 0 {
            parts.push(count(key, n, &[]));
        }
    }
    if let Some(why) = &taken.ended {
        parts.push(say("file.ended", &[("why", why)]));
    }
    parts.join(" ")
}

/// Writes the site's entries to a file in the notebook's folder. It is written beside and then named, so that half a
/// file never has the name of a whole one.
pub(crate) fn give_out(open: &mut OpenSite, folder: &Path, site: ThingId) -> Result<FileOut, Refusal> {
    let name = format!("{site}.jsonl");
    let path = out_folder(folder)?.join(&name);
    let beside = path.with_extension("part");
    let failed = |error: &std::io::Error| not_written(&path, error);
    let mut to = BufWriter::new(File::create(&beside).map_err(|error| failed(&error))?);
    open.give_out(&mut to)?;
    to.flush().map_err(|error| failed(&error))?;
    to.get_ref().sync_all().map_err(|error| failed(&error))?;
    fs::rename(&beside, &path).map_err(|error| failed(&error))?;
    Ok(FileOut { name, media: "application/jsonl".to_owned(), path: path.display().to_string() })
}

/// Writes the record of the job's last day to a file in the notebook's folder.
pub(crate) fn record(open: &OpenSite, folder: &Path, site: ThingId) -> Result<FileOut, Refusal> {
    let job = open.notes.job_now().ok_or_else(|| Refusal::Input(say("refuse.no_job", &[])))?;
    let span = Span::last(&open.notes, job);
    let name = match &span {
        Span::Day(day) => format!("record-{day}.html"),
        Span::Visit(_) | Span::Job => "record.html".to_owned(),
    };
    let document = day_record(&open.notes, Catalogue::shared(), site, job, &span);
    write_out(folder, &name, "text/html", &html(&document))
}

/// Writes the sheets that a line asks for to a file in the notebook's folder, to be printed.
pub(crate) fn labels(view: &View<'_>, folder: &Path) -> Result<FileOut, Refusal> {
    let (paper, sheets) = ordered(view)?;
    if sheets.is_empty() {
        return Err(Refusal::Input(say("file.no_labels", &[])));
    }
    let what = view.address.field("what").unwrap_or("open");
    let text = page(paper, &say("sheet.file_title", &[]), &sheets);
    write_out(folder, &format!("labels-{what}-{}.html", paper.name()), "text/html", &text)
}

/// Writes a text to a file in the notebook's folder, beside and then under its name.
fn write_out(folder: &Path, name: &str, media: &str, text: &str) -> Result<FileOut, Refusal> {
    let path = out_folder(folder)?.join(name);
    let beside = path.with_extension("part");
    let failed = |error: &std::io::Error| not_written(&path, error);
    fs::write(&beside, text).map_err(|error| failed(&error))?;
    fs::rename(&beside, &path).map_err(|error| failed(&error))?;
    Ok(FileOut { name: name.to_owned(), media: media.to_owned(), path: path.display().to_string() })
}

fn out_folder(folder: &Path) -> Result<PathBuf, Refusal> {
    let out = folder.join("out");
    fs::create_dir_all(&out).map_err(|error| not_written(&out, &error))?;
    Ok(out)
}

fn not_read(path: &Path, error: &std::io::Error) -> Refusal {
    let (file, why) = (path.display().to_string(), error.to_string());
    Refusal::Storage(say("file.not_read", &[("file", &file), ("why", &why)]))
}

fn not_written(path: &Path, error: &std::io::Error) -> Refusal {
    let (file, why) = (path.display().to_string(), error.to_string());
    Refusal::Storage(say("file.not_written", &[("file", &file), ("why", &why)]))
}
