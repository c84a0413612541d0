//! Which site a person means: a site's file, or a notebook's folder with one site in it. Looking changes nothing:
//! the file is opened to read, beside whoever notes in it.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use boxproof_core::app::path::Names;
use boxproof_core::app::{Notebook, layer_named};
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{JobNote, Kind, Layer, Notes, SiteNote, ThingId};
use boxproof_core::log::{About, Folder, Log, LogError};
use boxproof_core::words::{count, say};
use boxproof_desk::outside::{Machine, secret};

use super::Fault;

/// The folder in a notebook that holds the sites' files.
const SITES: &str = "sites";

/// The file that is meant.
pub(crate) fn file(asked: &Path) -> Result<PathBuf, Fault> {
    if !is_folder(asked)? {
        return Ok(asked.to_owned());
    }
    if !asked.join(SITES).is_dir() {
        return Err(Fault::of("desk.no_notebook", asked));
    }
    let folder = Folder::open(asked)?;
    let mut files: Vec<PathBuf> = folder.sites()?.into_iter().map(|file| file.path).collect();
    match (files.pop(), files.len()) {
        (Some(only), 0) => Ok(only),
        (Some(last), _) => {
            files.push(last);
            let names: Vec<String> = files.iter().map(|path| path.display().to_string()).collect();
            let path = asked.display().to_string();
            Err(Fault(say("desk.several_sites", &[("path", &path), ("files", &names.join(", "))])))
        }
        (None, _) => match folder.damaged()?.first() {
            Some(damaged) => Err(Fault::of("desk.only_damaged", damaged)),
            None => Err(Fault::of("desk.no_site", asked)),
        },
    }
}

/// Whether there is a folder at a path; a sentence if there is nothing.
pub(crate) fn is_folder(path: &Path) -> Result<bool, Fault> {
    match fs::metadata(path) {
        Ok(meta) => Ok(meta.is_dir()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            Err(LogError::Missing { file: path.to_owned() }.into())
        }
        Err(error) => Err(not_read(path, &error)),
    }
}

/// A file that cannot be read.
pub(crate) fn not_read(path: &Path, error: &io::Error) -> Fault {
    let (file, why) = (path.display().to_string(), error.to_string());
    Fault(say("file.not_read", &[("file", &file), ("why", &why)]))
}

/// Opens a log to read.
pub(crate) fn open(path: &Path) -> Result<Log, LogError> {
    match Log::open_to_read(path) {
        // A folder that cannot be written has no room for SQLite's shared index. Opening to note finds that out and
        // then reads the file alone.
        Err(LogError::Io { .. } | LogError::ReadOnly { .. }) => Log::open(path),
        opened => opened,
    }
}

/// A site that was read.
pub(crate) struct Site {
    /// Its name.
    pub(crate) id: ThingId,
    /// Everything known of it.
    pub(crate) notes: Notes,
    /// Entries and facts of newer versions, kept and not understood here.
    pub(crate) newer: usize,
}

impl Site {
    /// Reads the site that is meant.
    pub(crate) fn read(asked: &Path) -> Result<Self, Fault> {
        let path = file(asked)?;
        let mut log = open(&path)?;
        let About::Site(id) = log.about() else { return Err(Fault::of("desk.is_kit", &path)) };
        let read = log.notes(0)?;
        let notes = Notes::fold(read.noted);
        let newer = read.newer.len() + notes.newer();
        Ok(Self { id, notes, newer })
    }

    /// The job that is named, or the one that work is noted for.
    pub(crate) fn job(&self, named: Option<&str>) -> Result<Option<ThingId>, Fault> {
        match named {
            Some(name) => {
                let names = Names::new(&self.notes, Catalogue::shared(), Layer::Site);
                Ok(Some(names.thing_named(name, Kind::Job)?))
            }
            None => Ok(self.notes.job_now()),
        }
    }

    /// The layer that a word names; without one, as left if anything is noted there, else as planned, else as found.
    pub(crate) fn layer(&self, job: Option<ThingId>, word: Option<&str>) -> Layer {
        let Some(job) = job else { return Layer::Site };
        if word.is_some() {
            return layer_named(word, job);
        }
        let layers = [Layer::Left(job), Layer::Planned(job)];
        layers.into_iter().find(|layer| self.has(*layer)).unwrap_or(Layer::Found(job))
    }

    fn has(&self, layer: Layer) -> bool {
        let notes = &self.notes;
        let said = |of| notes.all_fields(of).iter().any(|field| !notes.current(of, field, layer).is_empty());
        notes.subjects().any(said)
    }

    /// Which site and job a text is about, for its first line.
    pub(crate) fn title(&self, job: Option<ThingId>) -> String {
        let site = SiteNote::read(&self.notes, self.id).name.or(self.id.to_string());
        match job.and_then(|job| JobNote::read(&self.notes, job).name.get().cloned()) {
            Some(job) => say("desk.title", &[("site", &site), ("job", &job)]),
            None => site,
        }
    }

    /// A line on what newer programs noted, if they did.
    pub(crate) fn newer_words(&self) -> Option<String> {
        (self.newer > 0).then(|| count("desk.newer", self.newer, &[]))
    }
}

/// The word of a layer in a heading.
pub(crate) fn layer_words(layer: Layer) -> String {
    say(
        match layer {
            Layer::Site => "desk.layer.site",
            Layer::Found(_) => "desk.layer.found",
            Layer::Planned(_) => "desk.layer.planned",
            Layer::Left(_) => "desk.layer.left",
        },
        &[],
    )
}

/// The notebook that an asked file or folder belongs to, and the site if a file was named.
pub(crate) fn home(asked: &Path) -> Result<(PathBuf, Option<ThingId>), Fault> {
    if is_folder(asked)? {
        return Ok((asked.to_owned(), None));
    }
    // The whole path, because `x.boxproof` says nothing of the folder that it lies in.
    let whole = asked.canonicalize().map_err(|error| not_read(asked, &error))?;
    let sites = whole.parent().filter(|folder| folder.file_name().is_some_and(|name| name == SITES));
    let folder = sites.and_then(Path::parent).ok_or_else(|| Fault::of("desk.alone", asked))?;
    Ok((folder.to_owned(), Some(open(asked)?.about().id())))
}

/// Opens a notebook to note in it, making it if there is none. A folder with other things in it is left alone.
pub(crate) fn notebook(folder: &Path) -> Result<Notebook, Fault> {
    if fs::metadata(folder).is_ok_and(|meta| !meta.is_dir()) {
        return Err(Fault::of("desk.not_a_folder", folder));
    }
    if !folder.join(SITES).is_dir() && !is_empty(folder)? {
        return Err(Fault::of("desk.other_things", folder));
    }
    let machine = Machine::new()?;
    Ok(Notebook::open(folder, secret(folder)?, Arc::new(machine))?)
}

/// Whether a folder has nothing in it, or is not there.
pub(crate) fn is_empty(folder: &Path) -> Result<bool, Fault> {
    match fs::read_dir(folder) {
        Ok(mut inside) => Ok(inside.next().is_none()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(error) => Err(not_read(folder, &error)),
    }
}
