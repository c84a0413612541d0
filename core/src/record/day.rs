//! The day record of a job: the notes of one span, put in the order in which the office reads them.

use std::collections::BTreeMap;

use crate::catalogue::Catalogue;
use crate::job::notes::Kept;
use crate::job::{
    Author, FactRef, Happened, Hash, How, JobNote, Kind, Layer, Note, Notes, PersonNote, SiteNote, Stamp, ThingId,
    Visit, Wall, Wiring,
};
use crate::words::say;

use super::document::{Document, Mark};
use super::name::{Names, listed};
use super::span::{Reach, Span};
use super::{amend, boxes, dead, first, front, goods, hands, isolation, kit, others, people, power, table};

/// What the parts of a record are made from.
pub(super) struct Day<'a> {
    pub(super) notes: &'a Notes,
    pub(super) catalogue: &'a Catalogue,
    pub(super) site: SiteNote,
    pub(super) job: JobNote,
    pub(super) span: Span,
    pub(super) found: Wiring,
    pub(super) planned: Wiring,
    pub(super) left: Wiring,
    /// The visits of the span, in order of arrival.
    pub(super) visits: Vec<Visit>,
    /// What happened in the span, struck happenings left out.
    pub(super) happened: Vec<&'a Happened>,
    /// Every entry by its identity.
    pub(super) kept: BTreeMap<Hash, &'a Kept>,
    /// Everybody's visits.
    all_visits: BTreeMap<Hash, Visit>,
    /// Whose keys are noted.
    keys: BTreeMap<Author, ThingId>,
    reach: Reach,
    /// What the checks come to.
    pub(super) checked: dead::Checked,
}

/// The record of a span of a job.
///
/// It stands on the notes as they were when the last entry of the span was written, so that the record of a day can be
/// made again later and is the same; entries that came after are counted.
pub fn day(notes: &Notes, catalogue: &Catalogue, site: ThingId, job: ThingId, span: &Span) -> Document {
    let reach = Reach::new(notes, job, span);
    let end = reach.last(notes);
    let newest = notes.entries().next_back().map(|(stamp, _)| *stamp);
    match end.filter(|end| Some(*end) != newest) {
        Some(end) => {
            let then = notes.until(end);
            write(&Day::new(&then, catalogue, site, job, span), Some((notes, end)))
        }
        None => write(&Day::new(notes, catalogue, site, job, span), None),
    }
}

/// Puts the parts together. `later` is what has been noted since, if anything.
fn write(day: &Day<'_>, later: Option<(&Notes, Stamp)>) -> Document {
    let parts = [
        first::section(day),
        front::section(day),
        people::section(day),
        isolation::section(day),
        kit::section(day),
        boxes::overview(day),
        boxes::section(day),
        power::section(day),
        power::disagreements(day),
        table::findings(day),
        table::section(day),
        others::section(day),
        goods::section(day),
        goods::unfinished(day),
        amend::section(day),
        hands::what_this_is(),
        hands::section(day, later),
    ];
    let sections = parts.into_iter().filter(|part| !part.is_empty()).collect();
    let name = |note: &Note<String>, key: &str| note.get().cloned().unwrap_or_else(|| say(key, &[]));
    let (site, job) = (name(&day.site.name, "record.name.site"), name(&day.job.name, "record.name.job"));
    Document {
        language: "en".to_owned(),
        title: say("record.title", &[("site", &site), ("job", &job)]),
        subtitle: listed([day.span_words(), listed(day.people())]),
        foot: hands::foot(day),
        sections,
    }
}

impl<'a> Day<'a> {
    fn new(notes: &'a Notes, catalogue: &'a Catalogue, site: ThingId, job: ThingId, span: &Span) -> Self {
        let reach = Reach::new(notes, job, span);
        let kept: BTreeMap<Hash, &Kept> = notes.entries().map(|(_, kept)| (kept.noted.hash, kept)).collect();
        let in_span = |happened: &&Happened| kept.get(&happened.fact.entry).is_some_and(|kept| reach.has(kept));
        let happened: Vec<&Happened> = notes.happened().filter(in_span).collect();
        let visits = notes.visits();
        let people = notes.things(Kind::Person, Layer::Site).into_iter();
        let keys = people.filter_map(|id| PersonNote::read(notes, id).key.get().map(|key| (*key, id))).collect();
        let mut day = Self {
            notes,
            catalogue,
            site: SiteNote::read(notes, site),
            job: JobNote::read(notes, job),
            span: span.clone(),
            found: Wiring::of(notes, Layer::Found(job)),
            planned: Wiring::of(notes, Layer::Planned(job)),
            left: Wiring::of(notes, Layer::Left(job)),
            visits: visits.iter().filter(|visit| reach.has_visit(visit)).copied().collect(),
            happened,
            kept,
            all_visits: visits.into_iter().map(|visit| (visit.id, visit)).collect(),
            keys,
            reach,
            checked: dead::Checked::default(),
        };
        day.checked = dead::checked(&day);
        day
    }

    /// Names as the wiring as left has them.
    pub(super) fn names(&self) -> Names<'_> {
        self.names_in(&self.left)
    }

    /// Names as one wiring has them.
    pub(super) fn names_in<'d>(&'d self, wiring: &'d Wiring) -> Names<'d> {
        Names { notes: self.notes, catalogue: self.catalogue, wiring, beside: [&self.left, &self.planned, &self.found] }
    }

    /// Does an entry belong to the span?
    pub(super) fn has(&self, entry: &Hash) -> bool {
        self.kept.get(entry).is_some_and(|kept| self.reach.has(kept))
    }

    /// Is there more than one day in the span?
    fn has_several_days(&self) -> bool {
        !matches!(self.span, Span::Day(_)) && {
            let days: std::collections::BTreeSet<_> = self.visits.iter().map(|visit| visit.arrived.day()).collect();
            days.len() > 1
        }
    }

    /// A moment: hours and minutes, with its day where the record has several.
    pub(super) fn time(&self, wall: Wall) -> String {
        let same_day = match &self.span {
            Span::Day(day) => wall.day() == *day,
            Span::Visit(_) | Span::Job => {
                !self.has_several_days() && self.visits.first().is_some_and(|visit| visit.arrived.day() == wall.day())
            }
        };
        if same_day { wall.clock() } else { format!("{} {}", wall.day(), wall.clock()) }
    }

    /// When a fact was noted.
    pub(super) fn when(&self, fact: FactRef) -> Option<Wall> {
        self.kept.get(&fact.entry).map(|kept| kept.noted.entry.wall)
    }

    /// What the record covers, in words.
    pub(super) fn span_words(&self) -> String {
        match &self.span {
            Span::Day(day) => day.clone(),
            Span::Visit(_) => self.visits.first().map(|visit| visit.arrived.day()).unwrap_or_default(),
            Span::Job => {
                let (first, last) = (self.visits.first(), self.visits.last());
                match (first.map(|visit| visit.arrived.day()), last.map(|visit| visit.arrived.day())) {
                    (Some(first), Some(last)) if first == last => first,
                    (Some(first), Some(last)) => say("record.span.days", &[("first", &first), ("last", &last)]),
                    _ => say("record.span.none", &[]),
                }
            }
        }
    }

    /// The people of the span's visits, each once.
    pub(super) fn people(&self) -> Vec<String> {
        let mut seen = std::collections::BTreeSet::new();
        let people = self.visits.iter().filter(|visit| seen.insert(visit.person));
        people.map(|visit| self.names().person(visit.person)).collect()
    }

    /// More than one person noted something in the span, so that each line says who.
    pub(super) fn has_several_people(&self) -> bool {
        let people: std::collections::BTreeSet<_> = self.visits.iter().map(|visit| visit.person).collect();
        people.len() > 1
    }

    /// Who wrote an entry: the person of its visit, else whoever has the key, else the key's first digits.
    pub(super) fn who(&self, entry: &Hash) -> String {
        let Some(kept) = self.kept.get(entry) else { return say("record.name.person", &[]) };
        let noted = &kept.noted;
        let visit = self.all_visits.get(&noted.entry.visit.unwrap_or(noted.hash));
        match visit.filter(|visit| visit.author == noted.entry.author) {
            Some(visit) => self.names().person(visit.person),
            None => self.who_has(noted.entry.author),
        }
    }

    /// The person whose act an entry is: of its visit, else whoever has the key, else whoever came last.
    pub(super) fn person_of(&self, entry: &Hash) -> ThingId {
        let noted = self.kept.get(entry).map(|kept| &kept.noted);
        let visit = noted.and_then(|noted| self.all_visits.get(&noted.entry.visit.unwrap_or(noted.hash)));
        let key = noted.and_then(|noted| self.keys.get(&noted.entry.author).copied());
        let last = || self.visits.last().map_or(self.job.id, |visit| visit.person);
        visit.map(|visit| visit.person).or(key).unwrap_or_else(last)
    }

    /// Whose key it is, as far as that is noted: by the person's key, else by the last visit that it signed.
    pub(super) fn who_has(&self, author: Author) -> String {
        let visited = || self.all_visits.values().filter(|visit| visit.author == author).max_by_key(|v| v.began);
        let person = self.keys.get(&author).copied().or_else(|| visited().map(|visit| visit.person));
        match person {
            Some(person) => self.names().person(person),
            None => say("record.name.key", &[("key", &short(&author.to_string()))]),
        }
    }

    /// How a value is known. `None`: it is true of the site whatever the job.
    pub(super) fn mark<T>(&self, note: &Note<T>) -> Option<Mark> {
        let basis = match note {
            Note::NotSaid => return Some(Mark::Unknown),
            Note::Twice(_) => return Some(Mark::Disagrees),
            Note::Said(_, basis) => basis,
        };
        match (basis.layer, basis.how) {
            (Layer::Site, _) => None,
            (Layer::Planned(_), _) => Some(Mark::Planned),
            (Layer::Found(job) | Layer::Left(job), _) if job != self.job.id => Some(Mark::Earlier),
            (_, How::Told) => Some(Mark::Told),
            (Layer::Left(_), How::Seen) => Some(Mark::Left),
            (Layer::Left(_), How::Confirmed | How::Carried) => Some(Mark::Unchecked),
            (Layer::Found(_), How::Seen | How::Confirmed) => Some(Mark::Found),
            (Layer::Found(_), How::Carried) => Some(Mark::Earlier),
        }
    }

    /// What happened to a thing in the span.
    pub(super) fn happened_to(&self, id: ThingId) -> impl Iterator<Item = &'a Happened> + '_ {
        self.happened.iter().copied().filter(move |happened| happened.of == id.into())
    }
}

/// The first digits of a key or a hash, enough to compare by eye.
pub(super) fn short(digits: &str) -> String {
    digits.chars().take(12).collect()
}

/// A note's value in words, or that it is not known, or every value of one that was noted twice.
pub(super) fn known<T>(note: &Note<T>, words: impl Fn(&T) -> String) -> String {
    match note {
        Note::NotSaid => say("record.known.not", &[]),
        Note::Said(value, _) => words(value),
        Note::Twice(values) => {
            let both: Vec<String> = values.iter().map(|(value, _)| words(value)).collect();
            say("record.known.twice", &[("values", &both.join(" / "))])
        }
    }
}
