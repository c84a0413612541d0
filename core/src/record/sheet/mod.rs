//! What is printed and put into the building: flag labels and box tags, cards of boxes, cards for the inside of plates.
//!
//! Each box is shown as it was left where anything of it is noted as left, else as it is planned, which looks through
//! to what was found. [`sheets`] lays an order out as pictures, one for each sheet; [`page`] puts them into one file.

mod card;
mod flags;
mod page;
mod plate;

use std::cell::OnceCell;
use std::collections::BTreeSet;
use std::sync::Arc;

use crate::catalogue::Catalogue;
use crate::check::{Checks, Policy, Reach, UnknownFeed};
use crate::job::{Author, Fact, Happened, JobNote, Kind, Layer, Notes, PersonNote, SiteNote, ThingId, Wall, Wiring};
use crate::name::Called;
use crate::picture::{Paper, Picture, box_cards, label_sheets, plate_cards};
use crate::plan::label::{Abbreviations, abbreviations};
use crate::plan::{Labels, Roles};
use crate::words::say;

use super::name::{Names, listed};

pub use page::page;

/// What is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// Flags that are not on their conductors yet: proposed and planned ones, with the boxes' tags.
    Open,
    /// All flags: those that are written too.
    Flags,
    /// A card of each box, a sheet each.
    Cards,
    /// Cards for the inside of plates.
    Plates,
}

impl What {
    /// All of them, as they are offered.
    pub const ALL: [Self; 4] = [Self::Open, Self::Flags, Self::Cards, Self::Plates];

    /// Its name in addresses and commands.
    pub fn name(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Flags => "flags",
            Self::Cards => "cards",
            Self::Plates => "plates",
        }
    }

    /// What has this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|what| what.name() == name)
    }
}

/// Whose notes are printed, and for whom.
#[derive(Clone, Copy)]
pub struct Source<'a> {
    /// Everything known of the site.
    pub notes: &'a Notes,
    /// What can be bought.
    pub catalogue: &'a Catalogue,
    /// The site.
    pub site: ThingId,
    /// The job; without one, the site as it is.
    pub job: Option<ThingId>,
    /// Whose words are written on tape; nobody's own where it is not said.
    pub author: Option<Author>,
}

/// Lays out what was ordered; nothing to print is no sheet.
pub fn sheets(source: Source<'_>, what: What, paper: Paper, boxes: &[ThingId]) -> Vec<Picture> {
    let print = Print::new(source);
    let site = print.site_name();
    match what {
        What::Open | What::Flags => {
            let title = say("sheet.flags.title", &[("site", &site)]);
            let flags = flags::flags(&print, boxes, what == What::Flags);
            // A box without a flag needs no new tag unless all are printed.
            let tagged: BTreeSet<ThingId> = flags.iter().map(|(at, _)| *at).collect();
            let tagged = boxes.iter().filter(|at| what == What::Flags || tagged.contains(at));
            let tags: Vec<_> = tagged.map(|at| flags::tag(&print, *at)).collect();
            let flags: Vec<_> = flags.into_iter().map(|(_, flag)| flag).collect();
            label_sheets(paper, &title, &flags, &tags)
        }
        What::Cards => {
            let cards: Vec<_> = boxes.iter().map(|at| card::card(&print, *at)).collect();
            box_cards(paper, &cards)
        }
        What::Plates => {
            let cards: Vec<_> = boxes.iter().map(|at| plate::card(&print, *at)).collect();
            plate_cards(paper, &say("sheet.plates.title", &[("site", &site)]), &cards)
        }
    }
}

/// The boxes of a site that labels and cards are made for, in order; panels have their own directory.
pub fn boxes(source: Source<'_>) -> Vec<ThingId> {
    let print = Print::new(source);
    let mut ids = print.planned.boxes_in_order();
    let more: Vec<_> = print.left.boxes_in_order().into_iter().filter(|id| !ids.contains(id)).collect();
    ids.extend(more);
    ids.retain(|id| print.wiring(*id).boxes.get(id).is_some_and(|note| !note.system.is_said()));
    ids
}

/// The boxes that somebody has looked into: of their construction, of what is in them or of where an end is something
/// is noted. The others are known by what leads to them, and a sheet of them would be as good as empty.
pub fn looked_into(source: Source<'_>) -> Vec<ThingId> {
    let print = Print::new(source);
    let mut ids = boxes(source);
    ids.retain(|id| {
        let wiring = print.wiring(*id);
        let placed = wiring
            .tips
            .iter()
            .any(|(tip, note)| (note.place.is_said() || note.label.is_said()) && wiring.box_of(tip) == Some(*id));
        let made = wiring.boxes.get(id).is_some_and(|note| note.kind.is_said() || note.volume.is_said());
        made || placed || !wiring.devices_in(*id).is_empty() || !wiring.splices_in(*id).is_empty()
    });
    ids
}

/// The day on which the job was last visited, as `2026-05-12`.
pub fn last_day(source: Source<'_>) -> Option<String> {
    let job = source.job?;
    source.notes.visits().into_iter().rev().find(|visit| visit.job == job).map(|visit| visit.arrived.day())
}

/// The boxes of which anything was stated on a day, in order.
pub fn changed_on(source: Source<'_>, day: &str) -> Vec<ThingId> {
    let print = Print::new(source);
    let mut changed = BTreeSet::new();
    for (_, kept) in source.notes.entries().filter(|(_, kept)| !kept.struck) {
        let entry = &kept.noted.entry;
        if entry.wall.day() != day {
            continue;
        }
        for fact in &entry.facts {
            let Fact::Set(set) = fact else { continue };
            let of = source.notes.sames().subject(&set.of);
            for wiring in [print.planned.as_ref(), print.left.as_ref()] {
                changed.extend(wiring.boxes_of(&of));
            }
        }
    }
    let mut ids = boxes(source);
    ids.retain(|id| changed.contains(id));
    ids
}

/// What the parts are made from.
struct Print<'a> {
    source: Source<'a>,
    job: Option<JobNote>,
    found: Arc<Wiring>,
    planned: Arc<Wiring>,
    left: Arc<Wiring>,
    /// Boxes of which anything is noted as left.
    left_boxes: BTreeSet<ThingId>,
    roles: [OnceCell<Roles>; 2],
    short: Abbreviations,
}

/// One source of a box in words, with why it counts.
struct Feed {
    words: String,
    /// A breaker's kind, and its line in the panel's directory.
    about: String,
    reach: Reach,
}

impl<'a> Print<'a> {
    fn new(source: Source<'a>) -> Self {
        let Source { notes, job, .. } = source;
        let of = |layer: fn(ThingId) -> Layer| notes.wiring(job.map_or(Layer::Site, layer));
        let (found, planned, left) = (of(Layer::Found), of(Layer::Planned), of(Layer::Left));
        let left_boxes = job.map(|job| noted_in(notes, &left, Layer::Left(job))).unwrap_or_default();
        let short = source.author.map(|author| abbreviations(notes, author)).unwrap_or_default();
        let job = job.map(|job| JobNote::read(notes, job));
        Self { source, job, found, planned, left, left_boxes, roles: Default::default(), short }
    }

    /// The wiring that a box is shown by.
    fn wiring(&self, at: ThingId) -> &Wiring {
        self.wiring_as(self.is_left(at))
    }

    /// Something is noted of the box as left.
    fn is_left(&self, at: ThingId) -> bool {
        self.left_boxes.contains(&at) && self.left.boxes.contains_key(&at)
    }

    fn wiring_as(&self, left: bool) -> &Wiring {
        if left { &self.left } else { &self.planned }
    }

    /// What the conductors do in the wiring that a box is shown by.
    fn roles(&self, left: bool) -> &Roles {
        let [as_planned, as_left] = &self.roles;
        let cell = if left { as_left } else { as_planned };
        cell.get_or_init(|| Roles::of(self.wiring_as(left), self.source.catalogue))
    }

    /// What can be proposed for the tapes of the wiring that boxes are shown by.
    fn tape(&self, left: bool) -> Labels<'_> {
        Labels::new(self.wiring_as(left), self.source.catalogue, self.roles(left), &self.short)
    }

    fn called<'w>(&'w self, wiring: &'w Wiring) -> Called<'w> {
        Called::new(wiring, self.source.catalogue)
    }

    fn names<'w>(&'w self, wiring: &'w Wiring) -> Names<'w> {
        let beside: [&Wiring; 3] = [&self.left, &self.planned, &self.found];
        Names { notes: self.source.notes, catalogue: self.source.catalogue, wiring, beside }
    }

    fn site_name(&self) -> String {
        let name = SiteNote::read(self.source.notes, self.source.site).name;
        name.get().cloned().unwrap_or_else(|| say("record.name.site", &[]))
    }

    fn policy(&self) -> Policy {
        self.job.as_ref().map_or_else(Policy::shared, Policy::of)
    }

    /// What can make a box live, what is not known of that, and the neutrals that several circuits share.
    fn power(&self, at: ThingId) -> Power {
        let wiring = self.wiring(at);
        let checks = Checks::new(self.source.notes, wiring, self.source.catalogue, self.policy());
        let isolation = checks.isolation(at);
        let feed = |source: &crate::check::Source| Feed {
            words: self.source_words(wiring, source.id),
            about: self.source_about(wiring, source.id),
            reach: source.reach,
        };
        let shared = checks
            .shared_neutrals(at)
            .into_iter()
            .map(|of| of.into_iter().map(|id| self.source_words(wiring, id)).collect());
        Power {
            feeds: isolation.sources.iter().map(feed).collect(),
            shared: shared.collect(),
            unknown: isolation.unknown.iter().map(|unknown: &UnknownFeed| checks.say_unknown(unknown)).collect(),
        }
    }

    /// A source for people who know nothing of the job: which letter is the panel is said.
    fn source_words(&self, wiring: &Wiring, id: ThingId) -> String {
        let names = self.names(wiring);
        let panel = wiring.devices.get(&id).and_then(|note| note.in_box.get().copied().flatten());
        let at = |panel| say("screen.source_at", &[("source", &names.device(id)), ("panel", &names.r#box(panel))]);
        panel.map_or_else(|| names.source(id), at)
    }

    fn source_about(&self, wiring: &Wiring, id: ThingId) -> String {
        let Some(note) = wiring.devices.get(&id) else { return String::new() };
        let kind = note.kind.get().map(|kind| self.source.catalogue.device_name(kind)).unwrap_or_default();
        let line = note.directory.get().map(|line| say("sheet.circuit.directory", &[("line", line)]));
        listed([kind, line.unwrap_or_default()])
    }

    /// The circuits that reach a box by wire or by note: `circuit 7`.
    fn circuits(&self, at: ThingId) -> String {
        let wiring = self.wiring(at);
        let checks = Checks::new(self.source.notes, wiring, self.source.catalogue, self.policy());
        let sources = checks.isolation(at).sources.into_iter();
        let reaching = sources.filter(|source| matches!(source.reach, Reach::Wired | Reach::Noted));
        listed(reaching.map(|source| self.names(wiring).device(source.id)))
    }

    fn place(&self, at: ThingId) -> String {
        let note = self.wiring(at).boxes.get(&at);
        note.and_then(|note| note.location.get().cloned()).unwrap_or_default()
    }

    /// When something was last noted, as a day.
    fn as_of(&self) -> String {
        self.source.notes.entries().next_back().map(|(_, kept)| kept.noted.entry.wall.day()).unwrap_or_default()
    }

    /// Who noted a happening: the person of its visit, else whoever writes with its key.
    fn who(&self, happened: &Happened) -> Option<String> {
        let notes = self.source.notes;
        let person =
            notes.visits().into_iter().find(|visit| Some(visit.id) == happened.visit).map(|visit| visit.person);
        let keyed = || {
            let author = notes.entry(happened.stamp)?.noted.entry.author;
            let people = notes.things(Kind::Person, Layer::Site).into_iter();
            people.into_iter().find(|id| PersonNote::read(notes, *id).key.get() == Some(&author))
        };
        person.or_else(keyed).map(|person| self.names(&self.left).person(person))
    }

    /// When the cover of a box last came off, and who noted it.
    fn last_opened(&self, at: ThingId) -> Option<(Wall, Option<String>)> {
        let mut openings = self
            .source
            .notes
            .happened()
            .rev()
            .filter(|happened| happened.of == at.into() && happened.what == crate::job::Happening::CoverOff);
        openings.next().map(|opening| (opening.wall, self.who(opening)))
    }
}

/// What can make a box live.
struct Power {
    feeds: Vec<Feed>,
    shared: Vec<Vec<String>>,
    unknown: Vec<String>,
}

impl Power {
    /// What to beware of, in the usual words.
    fn cautions(&self) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for circuits in &self.shared {
            lines.push(say("sheet.beware.shared", &[("circuits", &circuits.join(" / "))]));
        }
        for feed in &self.feeds {
            match feed.reach {
                Reach::SharedNeutral if self.shared.is_empty() => {
                    lines.push(say("sheet.beware.neutral_of", &[("circuit", &feed.words)]));
                }
                Reach::NotKnown => lines.push(say("sheet.beware.source", &[("source", &feed.words)])),
                Reach::Wired | Reach::Noted | Reach::SharedNeutral => {}
            }
        }
        lines.extend(self.unknown.iter().map(|what| say("sheet.beware.unknown", &[("what", what)])));
        lines
    }
}

/// The boxes of which anything is noted in a layer.
fn noted_in(notes: &Notes, wiring: &Wiring, layer: Layer) -> BTreeSet<ThingId> {
    let mut noted = BTreeSet::new();
    for (_, kept) in notes.entries().filter(|(_, kept)| !kept.struck) {
        for fact in &kept.noted.entry.facts {
            if let Fact::Set(set) = fact
                && set.layer == layer
            {
                noted.extend(wiring.boxes_of(&notes.sames().subject(&set.of)));
            }
        }
    }
    noted
}
