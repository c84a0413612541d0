//! The three calls that shells make: open a notebook, show a screen, send an event.
//!
//! A tap becomes an event, an event becomes one entry, the entry is on disk before any screen shows it as noted.

mod act;
mod amend;
mod arrive;
mod draft;
pub mod files;
mod happen;
mod kit;
mod makeup;
mod probe;
pub mod script;
mod site;
mod values;
mod verbs;
mod wire;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::catalogue::Catalogue;
use crate::job::sign::Signer;
use crate::job::{Author, Layer, Notes, ThingId, Wall};
use crate::log::Folder;
use crate::screen::{self, Screen, View};
use crate::words::say;

use site::OpenSite;

pub use crate::refusal::Refusal;
pub use crate::token::{line, path};

use line::Line;

/// What the core cannot make itself: time and randomness come in from outside.
pub trait Outside: Send + Sync {
    /// The wall clock now.
    fn now(&self) -> Wall;
    /// Sixteen random bytes from a cryptographic source.
    fn random(&self) -> [u8; 16];
}

/// One event as a shell sends it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sent {
    /// The token of what was pressed, as the core made it.
    pub token: String,
    /// What was typed, or the path of a chosen file.
    pub input: Option<String>,
    /// The revision that the person saw.
    pub drawn: u64,
}

/// A notebook: a folder with a log for each site.
pub struct Notebook {
    folder: Folder,
    signer: Signer,
    outside: Arc<dyn Outside>,
    sites: Mutex<BTreeMap<ThingId, OpenSite>>,
    kit: Mutex<Option<OpenSite>>,
}

impl Notebook {
    /// Opens the notebook in `folder`, making it if there is none. `seed` is the shell's 32 secret bytes.
    pub fn open(folder: &Path, seed: [u8; 32], outside: Arc<dyn Outside>) -> Result<Self, Refusal> {
        let folder = Folder::open(folder)?;
        Ok(Self { folder, signer: Signer::from_seed(seed), outside, sites: Mutex::default(), kit: Mutex::default() })
    }

    /// The key that this notebook's entries are signed with.
    pub fn author(&self) -> Author {
        self.signer.author()
    }

    // A panic in another call must not make the notes unreadable: what is on disk is whole.
    fn lock(&self) -> MutexGuard<'_, BTreeMap<ThingId, OpenSite>> {
        self.sites.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The screen at `address`; an empty address is the list of sites.
    pub fn screen(&self, address: &str) -> Result<Screen, Refusal> {
        let line = if address.trim().is_empty() { Line::new("sites") } else { read_line(address)? };
        let mut sites = self.lock();
        self.show(&mut sites, &line)
    }

    /// Notes what a token says, and shows the screen that follows.
    pub fn send(&self, sent: &Sent) -> Result<Screen, Refusal> {
        let line = read_line(&sent.token)?;
        let mut sites = self.lock();
        let then = match line.verb.as_str() {
            "kit" => self.note_in_kit(&line, sent)?,
            "take-in" if line.field("site").is_none() => return self.take_any(&mut sites, sent),
            "take-in" | "give-out" => return self.exchange(&mut sites, &line, sent),
            "go" => {
                // What was typed goes into the address: a half-made choice lives there and nowhere else.
                let to = line.words.first().filter(|to| !to.trim().is_empty());
                let to = to.map(|to| read_line(to)).transpose()?;
                to.map(|to| act::filled(&to, sent.input.as_deref()).to_string()).unwrap_or_default()
            }
            "site" => {
                let id = self.new_site(&mut sites, &line, sent)?;
                Line::new("job").with("site", id).to_string()
            }
            _ => self.note(&mut sites, &line, sent)?,
        };
        let then = if then.is_empty() { Line::new("sites") } else { read_line(&then)? };
        self.show(&mut sites, &then)
    }

    /// Reads the notes of a site, for the rooms that only look.
    pub fn notes(&self, site: ThingId) -> Result<Notes, Refusal> {
        let mut sites = self.lock();
        Ok(self.site(&mut sites, site)?.notes.clone())
    }

    /// The revision of a site's notes.
    pub fn revision(&self, site: ThingId) -> Result<u64, Refusal> {
        let mut sites = self.lock();
        let open = self.site(&mut sites, site)?;
        open.catch_up()?;
        Ok(open.notes.revision())
    }

    /// How many questions of the dead check that was asked last in a box are without an answer.
    pub fn left_to_answer(&self, site: Option<ThingId>, name: &str) -> Result<usize, Refusal> {
        let line = Line::default().with_some("site", site);
        let id = self.site_of(&line)?;
        let mut sites = self.lock();
        let notes = &self.site(&mut sites, id)?.notes;
        let layer = notes.job_now().map_or(Layer::Site, Layer::Left);
        let at = path::Names::new(notes, Catalogue::shared(), layer).box_named(name)?;
        Ok(probe::last_asked(notes, at).map_or(0, |open| open.left.len()))
    }

    /// The sites of the notebook.
    pub fn sites(&self) -> Result<Vec<ThingId>, Refusal> {
        Ok(self.folder.sites()?.into_iter().filter_map(|found| found.site).collect())
    }

    fn site<'s>(&self, sites: &'s mut BTreeMap<ThingId, OpenSite>, id: ThingId) -> Result<&'s mut OpenSite, Refusal> {
        match sites.entry(id) {
            std::collections::btree_map::Entry::Occupied(open) => Ok(open.into_mut()),
            std::collections::btree_map::Entry::Vacant(place) => Ok(place.insert(OpenSite::open(&self.folder, id)?)),
        }
    }

    /// The site that a line speaks of; the only one, if there is just one.
    fn site_of(&self, line: &Line) -> Result<ThingId, Refusal> {
        if let Some(name) = line.field("site") {
            return name.parse().map_err(|_| Refusal::Input(say("refuse.no_such", &[("name", name)])));
        }
        match self.sites()?.as_slice() {
            [only] => Ok(*only),
            _ => Err(Refusal::Input(say("refuse.which_site", &[]))),
        }
    }

    fn new_site(&self, sites: &mut BTreeMap<ThingId, OpenSite>, line: &Line, sent: &Sent) -> Result<ThingId, Refusal> {
        // The list of sites is drawn from their number: a second tap would begin the same site twice.
        if sent.drawn != self.sites()?.len() as u64 {
            return Err(Refusal::Input(say("refuse.changed_since", &[])));
        }
        let open = OpenSite::create(&self.folder, &self.signer, self.outside.as_ref(), line, sent)?;
        let id = open.site;
        sites.insert(id, open);
        Ok(id)
    }

    fn note(&self, sites: &mut BTreeMap<ThingId, OpenSite>, line: &Line, sent: &Sent) -> Result<String, Refusal> {
        let id = self.site_of(line)?;
        let kit = self.kit_notes()?;
        let open = self.site(sites, id)?;
        open.note(&self.signer, self.outside.as_ref(), line, sent, &kit)?;
        let front = || Line::new("job").with("site", id).to_string();
        Ok(line.field("then").map_or_else(front, str::to_owned))
    }

    /// The notes of the person's kit; empty where there is none.
    fn kit_notes(&self) -> Result<Notes, Refusal> {
        if !self.folder.kit_path().exists() {
            return Ok(Notes::default());
        }
        let mut kit = self.kit.lock().unwrap_or_else(PoisonError::into_inner);
        let open = match kit.take() {
            Some(open) => open,
            None => OpenSite::open_kit(&self.folder, &self.signer, self.outside.as_ref())?,
        };
        let open = kit.insert(open);
        open.catch_up()?;
        Ok(open.notes.clone())
    }

    /// `kit "instrument name=M2 kind=meter"`: an event noted in the person's own kit.
    fn note_in_kit(&self, line: &Line, sent: &Sent) -> Result<String, Refusal> {
        let event = read_line(line.words.first().map_or("", String::as_str))?;
        let mut kit = self.kit.lock().unwrap_or_else(PoisonError::into_inner);
        let mut open = match kit.take() {
            Some(open) => open,
            None => OpenSite::open_kit(&self.folder, &self.signer, self.outside.as_ref())?,
        };
        // The kit has one writer: what was drawn before is what is there now.
        let sent = Sent { drawn: open.notes.revision(), ..sent.clone() };
        let done = open.note(&self.signer, self.outside.as_ref(), &event, &sent, &Notes::default());
        *kit = Some(open);
        done.map(|()| line.field("then").unwrap_or_default().to_owned())
    }

    /// `take-in` with the path of a file of entries as input; `give-out` writes one.
    fn exchange(&self, sites: &mut BTreeMap<ThingId, OpenSite>, line: &Line, sent: &Sent) -> Result<Screen, Refusal> {
        let id = self.site_of(line)?;
        let open = self.site(sites, id)?;
        let then = line.field("then").map_or_else(|| Ok(Line::new("job").with("site", id)), read_line)?;
        if line.verb == "give-out" {
            let file = match line.words.first().map(String::as_str) {
                Some("record") => files::record(open, self.folder.path(), id)?,
                Some("labels") => {
                    let (author, now) = (self.signer.author(), self.outside.now());
                    let view = View::new(&open.notes, Catalogue::shared(), id, author, now, line.clone());
                    files::labels(&view, self.folder.path())?
                }
                _ => files::give_out(open, self.folder.path(), id)?,
            };
            return Ok(Screen { file: Some(file), ..self.show(sites, &then)? });
        }
        let taken = files::take_in(open, files::chosen(sent)?)?;
        self.told(sites, &then, files::taken_words(&taken))
    }

    /// A screen with a sentence over its rows.
    fn told(&self, sites: &mut BTreeMap<ThingId, OpenSite>, then: &Line, text: String) -> Result<Screen, Refusal> {
        let mut screen = self.show(sites, then)?;
        screen.rows.insert(0, screen::Row::new("taken in", screen::Body::Sentence { text }));
        Ok(screen)
    }

    fn show(&self, sites: &mut BTreeMap<ThingId, OpenSite>, address: &Line) -> Result<Screen, Refusal> {
        if address.verb == "sites" {
            return self.list(sites, address);
        }
        let id = self.site_of(address)?;
        let author = self.signer.author();
        let now = self.outside.now();
        let open = self.site(sites, id)?;
        open.catch_up()?;
        let view = View::new(&open.notes, Catalogue::shared(), id, author, now, address.clone());
        screen::show(&view)
    }

    fn list(&self, sites: &mut BTreeMap<ThingId, OpenSite>, address: &Line) -> Result<Screen, Refusal> {
        let mut known = Vec::new();
        let mut held = Vec::new();
        let (author, now) = (self.signer.author(), self.outside.now());
        for id in self.sites()? {
            // One damaged file must not hide the other sites.
            match self.site(sites, id) {
                Ok(open) => {
                    let view = View::new(&open.notes, Catalogue::shared(), id, author, now, address.clone());
                    held.extend(screen::ongoing(&view));
                    known.push((id, Ok(screen::SiteLine::of(&open.notes, id))));
                }
                Err(refusal) => known.push((id, Err(refusal.to_string()))),
            }
        }
        Ok(screen::sites(address, &known, &held))
    }
}

fn read_line(text: &str) -> Result<Line, Refusal> {
    text.parse().map_err(|error: line::NotALine| Refusal::Input(say("refuse.line", &[("why", &error.to_string())])))
}

/// The layer that a word in an address names, for a job.
pub fn layer_named(word: Option<&str>, job: ThingId) -> Layer {
    match word {
        Some("planned") => Layer::Planned(job),
        Some("left") => Layer::Left(job),
        _ => Layer::Found(job),
    }
}
