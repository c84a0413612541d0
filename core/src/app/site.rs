//! One site as the notebook has it open: its log, what the log says, and how an act gets into it.

use crate::catalogue::Catalogue;
use crate::job::entry::{MOST_FACTS, VERSION};
use crate::job::sign::Signer;
use crate::job::{Entry, Fact, How, Kind, Layer, Notes, ThingId, Value};
use crate::log::{Folder, Log, Next, TakenIn};

use super::act::{Act, filled, refuse, text};
use super::draft::Draft;
use super::line::Line;
use super::{Outside, Refusal, Sent, verbs};

/// A site that is open.
pub(crate) struct OpenSite {
    /// Its name.
    pub(crate) site: ThingId,
    /// What its log says.
    pub(crate) notes: Notes,
    log: Log,
    /// Number of the last entry read from the log.
    read_to: i64,
    /// The last token noted and the revision it was drawn from: a second tap of the same thing notes nothing.
    last: Option<(String, u64)>,
}

impl OpenSite {
    /// Opens a site of the notebook.
    pub(crate) fn open(folder: &Folder, site: ThingId) -> Result<Self, Refusal> {
        let mut log = folder.site(site)?;
        let read = log.notes(0)?;
        Ok(Self { site, notes: folded(read.noted, read.newer.len()), log, read_to: read.last, last: None })
    }

    /// Opens the person's own kit, and begins it if there is none.
    pub(crate) fn open_kit(folder: &Folder, signer: &Signer, outside: &dyn Outside) -> Result<Self, Refusal> {
        let new = ThingId::new(outside.now().utc_ms, outside.random());
        let mut log = folder.kit(new)?;
        let site = log.about().id();
        let read = log.notes(0)?;
        let mut open = Self { site, notes: folded(read.noted, read.newer.len()), log, read_to: read.last, last: None };
        if open.notes.revision() == 0 {
            let empty = Notes::default();
            let mut draft = Draft::new(&empty, outside);
            draft.set(site, Layer::Site, Value::Is(Kind::Site), How::Seen);
            draft.set(site, Layer::Site, Value::Present(true), How::Seen);
            open.append(signer, outside, draft.into_facts())?;
        }
        Ok(open)
    }

    /// Takes up what another program wrote into the same file since it was read.
    pub(crate) fn catch_up(&mut self) -> Result<(), Refusal> {
        let read = self.log.notes(self.read_to)?;
        self.read_to = read.last;
        self.notes.count_unread(read.newer.len());
        for noted in read.noted {
            self.notes.add(noted);
        }
        Ok(())
    }

    /// Begins the file of a site whose entries come from elsewhere.
    pub(crate) fn begin(folder: &Folder, site: ThingId) -> Result<Self, Refusal> {
        let log = folder.new_site(site)?;
        Ok(Self { site, notes: Notes::default(), log, read_to: 0, last: None })
    }

    /// Makes a new site from `site name="Lantern Lane" address=…`.
    pub(crate) fn create(
        folder: &Folder,
        signer: &Signer,
        outside: &dyn Outside,
        line: &Line,
        sent: &Sent,
    ) -> Result<Self, Refusal> {
        let name = match line.field("name") {
            Some("?") => sent.input.as_deref(),
            other => other,
        };
        let name = text(name.ok_or_else(|| refuse("refuse.missing_field", &[("name", "name")]))?)?;
        let site = ThingId::new(outside.now().utc_ms, outside.random());
        let notes = Notes::default();
        let mut draft = Draft::new(&notes, outside);
        draft.set(site, Layer::Site, Value::Is(Kind::Site), How::Seen);
        draft.set(site, Layer::Site, Value::Present(true), How::Seen);
        draft.set(site, Layer::Site, Value::Name(name), How::Seen);
        for (field, make) in [("address", Value::Address as fn(String) -> Value), ("customer", Value::Customer)] {
            if let Some(value) = line.field(field) {
                draft.set(site, Layer::Site, make(text(value)?), How::Seen);
            }
        }
        let facts = draft.into_facts();
        let log = folder.new_site(site)?;
        let mut open = Self { site, notes: Notes::default(), log, read_to: 0, last: None };
        open.append(signer, outside, facts)?;
        Ok(open)
    }

    /// Notes what an event says. A second tap on what was just noted changes nothing.
    pub(crate) fn note(
        &mut self,
        signer: &Signer,
        outside: &dyn Outside,
        line: &Line,
        sent: &Sent,
        kit: &Notes,
    ) -> Result<(), Refusal> {
        self.catch_up()?;
        if sent.drawn != self.notes.revision() {
            return match &self.last {
                Some((token, drawn)) if *token == sent.token && *drawn == sent.drawn => Ok(()),
                _ => Err(refuse("refuse.changed_since", &[])),
            };
        }
        let borrowed = super::kit::borrow(line, &self.notes, kit, outside);
        if !borrowed.is_empty() {
            self.append(signer, outside, borrowed)?;
        }
        let visit = self.notes.visit_of(signer.author());
        let line = filled(line, sent.input.as_deref());
        let act = Act::new(&line, &self.notes, Catalogue::shared(), outside, visit.as_ref())?;
        let facts = verbs::perform(act, signer.author(), sent.input.as_deref())?;
        if facts.is_empty() {
            return Ok(());
        }
        if facts.len() > MOST_FACTS {
            return Err(refuse("refuse.too_much", &[]));
        }
        self.append(signer, outside, facts)?;
        self.last = Some((sent.token.clone(), sent.drawn));
        Ok(())
    }

    fn append(&mut self, signer: &Signer, outside: &dyn Outside, facts: Vec<Fact>) -> Result<(), Refusal> {
        let author = signer.author();
        let Next { seq, prev, tick } = self.log.next(author)?;
        let entry = Entry {
            v: VERSION,
            site: self.site,
            author,
            seq,
            prev,
            tick,
            wall: outside.now(),
            visit: self.notes.visit_of(author).map(|visit| visit.id),
            facts,
        };
        let (written, _) = signer.sign(&entry).map_err(|error| Refusal::Input(error.to_string()))?;
        self.log.append(&written)?;
        self.catch_up()
    }

    /// Takes in a file of entries: in any order, twice, partly.
    pub(crate) fn take_in(&mut self, from: &mut impl std::io::BufRead) -> Result<TakenIn, Refusal> {
        let taken = self.log.take_in(from)?;
        // What came in may belong anywhere in the order: fold it all anew.
        let read = self.log.notes(0)?;
        self.read_to = read.last;
        self.notes = folded(read.noted, read.newer.len());
        self.last = None;
        Ok(taken)
    }

    /// Gives out every entry as lines.
    pub(crate) fn give_out(&mut self, to: &mut impl std::io::Write) -> Result<usize, Refusal> {
        Ok(self.log.give_out(to)?)
    }
}

/// The notes of everything that a log holds.
fn folded(noted: Vec<crate::job::Noted>, newer: usize) -> Notes {
    let mut notes = Notes::fold(noted);
    notes.count_unread(newer);
    notes
}
