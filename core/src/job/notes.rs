//! Everything that is known of one site: the fold over its entries. Order of arrival does not matter; two phones
//! that hold the same entries know the same, to the byte.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use super::entry::{Fact, How, Layer, Noted, Target};
use super::happening::Happening;
use super::id::{FactRef, Hash, Stamp, ThingId};
use super::measure::Wall;
use super::note::{Basis, Note};
use super::same::Sames;
use super::subject::{Subject, Tip};
use super::value::{Field, FieldKind, Kind, Value};
use super::wiring::Wiring;
use super::wirings::Wirings;

/// One value as somebody said it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Statement {
    /// The fact.
    pub fact: FactRef,
    /// How it is known.
    pub how: How,
    /// The value, under joined names.
    pub value: Value,
    /// The facts that it replaces.
    pub replaces: Vec<FactRef>,
    /// Struck out: still readable, counts for nothing.
    pub struck: bool,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Happened {
    /// Its place in the order.
    pub stamp: Stamp,
    /// The fact.
    pub fact: FactRef,
    /// The wall clock, for showing.
    pub wall: Wall,
    /// The visit that it belongs to.
    pub visit: Option<Hash>,
    /// To what it happened.
    pub of: Subject,
    /// What happened.
    pub what: Happening,
    /// Struck out.
    pub struck: bool,
}

/// An entry as the notes keep it.
#[derive(Debug, Clone)]
pub struct Kept {
    /// The entry.
    pub noted: Arc<Noted>,
    /// Struck out as a whole.
    pub struck: bool,
}

/// What is said of one field, by layer, oldest first.
type Layers = BTreeMap<Layer, Vec<Statement>>;

/// What is said of one subject.
pub(crate) type Fields = BTreeMap<Field, Layers>;

/// The values that stand: unstruck, and replaced by no unstruck one.
fn standing(said: &[Statement]) -> Vec<&Statement> {
    match said {
        // Most values are said once.
        [only] => {
            if only.struck {
                Vec::new()
            } else {
                vec![only]
            }
        }
        said => {
            let standing: Vec<_> = said.iter().filter(|said| !said.struck).collect();
            let replaced: BTreeSet<_> = standing.iter().flat_map(|said| &said.replaces).collect();
            standing.iter().filter(|said| !replaced.contains(&said.fact)).copied().collect()
        }
    }
}

/// What is known of a field through the layers of `chain`.
pub(crate) fn note_through<T: PartialEq>(
    layers: &Layers,
    chain: &[Layer],
    take: impl Fn(&Value) -> Option<T>,
) -> Note<T> {
    for (layer, said) in chain.iter().filter_map(|layer| Some((*layer, layers.get(layer)?))) {
        let mut found: Vec<(T, Basis)> = Vec::new();
        for said in standing(said) {
            let Some(value) = take(&said.value) else { continue };
            let basis = Basis { layer, how: said.how, fact: said.fact };
            match found.iter_mut().find(|(other, _)| *other == value) {
                // Of several equal notes the surest counts: looked at before confirmed before told.
                Some((_, known)) => {
                    if basis.how < known.how {
                        *known = basis;
                    }
                }
                None => found.push((value, basis)),
            }
        }
        match found.len() {
            0 => {}
            1 => return found.pop().map_or(Note::NotSaid, |(value, basis)| Note::Said(value, basis)),
            _ => return Note::Twice(found),
        }
    }
    Note::NotSaid
}

/// Everything that is known of one site.
#[derive(Debug, Clone, Default)]
pub struct Notes {
    entries: BTreeMap<Stamp, Kept>,
    stamps: BTreeMap<Hash, Stamp>,
    struck_facts: BTreeSet<FactRef>,
    struck_things: BTreeMap<ThingId, Stamp>,
    sames: Sames,
    values: BTreeMap<Subject, Fields>,
    happened: Vec<Happened>,
    newer: usize,
    unread: usize,
    wirings: Wirings,
    /// Things by what they are, as far as anybody asked: every screen asks for people, sources and jobs many times.
    kinds: OnceLock<BTreeMap<Kind, Vec<ThingId>>>,
}

/// The thing that a subject belongs to.
fn thing_of(subject: &Subject) -> ThingId {
    match subject {
        Subject::Thing(id) | Subject::Side(id, _) => *id,
        Subject::Tip(Tip::Wire { run, .. }) => *run,
        Subject::Tip(Tip::Lead { device, .. }) => *device,
    }
}

fn says_what_it_is(fact: &Fact) -> bool {
    matches!(fact, Fact::Set(set) if set.value.kind() == FieldKind::Is)
}

impl Notes {
    /// Folds entries, in any order, each counted once.
    pub fn fold(entries: impl IntoIterator<Item = Noted>) -> Self {
        let mut notes = Self::default();
        for noted in entries {
            notes.keep(noted);
        }
        notes.refold();
        notes
    }

    /// Adds one entry. One that comes last in the order and neither strikes nor joins is applied as it is; any
    /// other folds the whole set anew.
    pub fn add(&mut self, noted: Noted) {
        let last = self.entries.last_key_value().is_none_or(|(stamp, _)| *stamp < noted.stamp());
        let plain = noted.entry.facts.iter().all(|fact| !matches!(fact, Fact::Strike(_) | Fact::Same(_)));
        let stamp = noted.stamp();
        if !self.keep(noted) {
            return;
        }
        if last && plain {
            if let Some(kept) = self.entries.get(&stamp).cloned() {
                self.apply(stamp, &kept);
                if kept.noted.entry.facts.iter().any(says_what_it_is) {
                    self.kinds = OnceLock::new();
                }
                let set = kept.noted.entry.facts.iter().filter_map(|fact| match fact {
                    Fact::Set(set) => Some((set.layer, self.sames.subject(&set.of))),
                    _ => None,
                });
                let set = set.collect();
                self.wirings = std::mem::take(&mut self.wirings).after(self, &set);
            }
        } else {
            self.refold();
        }
    }

    /// Keeps an entry; false if it is known already.
    fn keep(&mut self, noted: Noted) -> bool {
        let stamp = noted.stamp();
        if self.stamps.insert(noted.hash, stamp).is_some() {
            return false;
        }
        self.entries.insert(stamp, Kept { noted: Arc::new(noted), struck: false });
        true
    }

    fn refold(&mut self) {
        self.find_struck();
        self.find_sames_and_struck_things();
        self.values.clear();
        self.happened.clear();
        self.wirings = Wirings::default();
        self.kinds = OnceLock::new();
        self.newer = 0;
        for (stamp, kept) in self.entries.clone() {
            self.apply(stamp, &kept);
        }
    }

    /// A strike reaches only earlier entries, so walking from the last entry back settles each before it is asked.
    fn find_struck(&mut self) {
        let mut entries = BTreeSet::new();
        self.struck_facts.clear();
        let stamps = &self.stamps;
        let earlier = |hash: &Hash, than: Stamp| stamps.get(hash).is_some_and(|stamp| *stamp < than);
        for (stamp, kept) in self.entries.iter_mut().rev() {
            kept.struck = entries.contains(&kept.noted.hash);
            if kept.struck {
                continue;
            }
            for (n, fact) in (0u16..).zip(&kept.noted.entry.facts) {
                let Fact::Strike(strike) = fact else { continue };
                if self.struck_facts.contains(&FactRef { entry: kept.noted.hash, n }) {
                    continue;
                }
                match &strike.what {
                    Target::Entry(hash) if earlier(hash, *stamp) => drop(entries.insert(*hash)),
                    Target::Fact(fact) if earlier(&fact.entry, *stamp) => drop(self.struck_facts.insert(*fact)),
                    Target::Thing(_) | Target::Entry(_) | Target::Fact(_) => {}
                }
            }
        }
    }

    /// Walks from the first entry on, so that a strike of a thing reaches it under every name that stood for it when
    /// the strike was written: of a box noted by two phones and joined, no half stays behind. A name that is joined
    /// later is not reached, because whoever struck did not speak of it.
    fn find_sames_and_struck_things(&mut self) {
        self.sames = Sames::default();
        self.struck_things.clear();
        for (stamp, kept) in self.entries.iter().filter(|(_, kept)| !kept.struck) {
            let facts = (0u16..).zip(&kept.noted.entry.facts);
            let standing =
                facts.filter(|(n, _)| !self.struck_facts.contains(&FactRef { entry: kept.noted.hash, n: *n }));
            let standing: Vec<_> = standing.map(|(_, fact)| fact).collect();
            for fact in &standing {
                if let Fact::Strike(strike) = fact
                    && let Target::Thing(id) = strike.what
                {
                    self.struck_things.extend(self.sames.names(id).into_iter().map(|name| (name, *stamp)));
                }
            }
            for fact in standing {
                if let Fact::Same(same) = fact {
                    self.sames.join(same.a, same.b, same.swapped);
                }
            }
        }
    }

    fn apply(&mut self, stamp: Stamp, kept: &Kept) {
        let entry = &kept.noted.entry;
        for (n, fact) in (0u16..).zip(&entry.facts) {
            let at = FactRef { entry: kept.noted.hash, n };
            let gone = |of: &Subject| {
                let thing_struck = self.struck_things.get(&thing_of(of)).is_some_and(|by| stamp < *by);
                kept.struck || thing_struck || self.struck_facts.contains(&at)
            };
            match fact {
                Fact::Set(set) => {
                    let statement = Statement {
                        fact: at,
                        how: set.how,
                        value: self.sames.value(&set.value),
                        replaces: set.replaces.clone(),
                        struck: gone(&set.of),
                    };
                    let fields = self.values.entry(self.sames.subject(&set.of)).or_default();
                    fields.entry(statement.value.field()).or_default().entry(set.layer).or_default().push(statement);
                }
                Fact::Add(add) => {
                    let struck = gone(&add.of);
                    let (wall, visit) = (entry.wall, entry.visit);
                    let (of, what) = (self.sames.subject(&add.of), self.sames.happening(&add.what));
                    self.happened.push(Happened { stamp, fact: at, wall, visit, of, what, struck });
                }
                Fact::Newer(_) => self.newer += 1,
                Fact::Same(_) | Fact::Strike(_) => {}
            }
        }
    }

    /// How many entries there are: the revision that a screen is drawn from.
    pub fn revision(&self) -> u64 {
        self.entries.len() as u64
    }

    /// Facts and whole entries of newer versions: kept, passed on, not understood here.
    pub fn newer(&self) -> usize {
        self.newer + self.unread
    }

    /// Counts entries of a newer version that the log holds beside these.
    pub fn count_unread(&mut self, entries: usize) {
        self.unread += entries;
    }

    /// The entries in order, struck ones too.
    pub fn entries(&self) -> impl DoubleEndedIterator<Item = (&Stamp, &Kept)> {
        self.entries.iter()
    }

    /// The entry at a place in the order.
    pub fn entry(&self, stamp: Stamp) -> Option<&Kept> {
        self.entries.get(&stamp)
    }

    /// The greatest tick seen.
    pub fn tick(&self) -> u64 {
        self.entries.last_key_value().map_or(0, |(stamp, _)| stamp.tick)
    }

    /// An entry's place in the order.
    pub fn stamp_of(&self, hash: &Hash) -> Option<Stamp> {
        self.stamps.get(hash).copied()
    }

    /// What happened, in order, struck happenings left out.
    pub fn happened(&self) -> impl DoubleEndedIterator<Item = &Happened> {
        self.happened.iter().filter(|happened| !happened.struck)
    }

    /// What happened, in order, struck happenings too.
    pub fn happened_with_struck(&self) -> &[Happened] {
        &self.happened
    }

    /// Joined things.
    pub fn sames(&self) -> &Sames {
        &self.sames
    }

    /// The notes as they stood up to and with `last`: the wiring that a reading was taken on.
    #[must_use]
    pub fn until(&self, last: Stamp) -> Self {
        Self::fold(self.entries.range(..=last).map(|(_, kept)| kept.noted.as_ref().clone()))
    }

    /// Every statement of a field in one layer, oldest first, struck and replaced ones too.
    pub fn statements(&self, of: &Subject, field: &Field, layer: Layer) -> &[Statement] {
        self.values
            .get(of)
            .and_then(|fields| fields.get(field))
            .and_then(|layers| layers.get(&layer))
            .map_or(&[], Vec::as_slice)
    }

    /// The current values of a field in one layer: unstruck, and replaced by no unstruck one.
    pub fn current(&self, of: &Subject, field: &Field, layer: Layer) -> Vec<&Statement> {
        standing(self.statements(of, field, layer))
    }

    /// All that is said of a subject.
    pub(crate) fn said_of(&self, of: &Subject) -> Option<&Fields> {
        self.values.get(of)
    }

    /// Values that were said more than once in one layer: those that may differ.
    pub fn said_again(&self) -> impl Iterator<Item = (&Subject, &Field, Layer)> {
        let fields =
            self.values.iter().flat_map(|(of, fields)| fields.iter().map(move |(field, said)| (of, field, said)));
        fields.flat_map(|(of, field, layers)| {
            layers.iter().filter(|(_, said)| said.len() > 1).map(move |(layer, _)| (of, field, *layer))
        })
    }

    /// The wiring seen from `layer`, made once for as long as nothing that it shows is noted.
    pub fn wiring(&self, layer: Layer) -> Arc<Wiring> {
        self.wirings.of(layer, || Wiring::of(self, layer))
    }

    /// The layers that `layer` looks through to, itself first: planned and left to found, found to what the job
    /// before left, and last what is true of the site.
    pub fn through(&self, layer: Layer) -> Vec<Layer> {
        let mut chain = Vec::new();
        let mut next = Some(layer);
        while let Some(layer) = next {
            if chain.contains(&layer) {
                break; // jobs that claim to come after each other
            }
            chain.push(layer);
            next = match layer {
                Layer::Planned(job) | Layer::Left(job) => Some(Layer::Found(job)),
                Layer::Found(job) => self.job_before(job).map(Layer::Left),
                Layer::Site => None,
            };
        }
        if layer != Layer::Site {
            chain.push(Layer::Site);
        }
        chain
    }

    /// The job that `job` comes after.
    pub fn job_before(&self, job: ThingId) -> Option<ThingId> {
        match self.current(&job.into(), &FieldKind::After.into(), Layer::Site).as_slice() {
            [Statement { value: Value::After(before), .. }] => *before,
            _ => None,
        }
    }

    /// What is known of a field, seen from `layer`. `take` picks the inner value out of its kind.
    pub fn note<T: PartialEq>(
        &self,
        of: &Subject,
        field: &Field,
        layer: Layer,
        take: impl Fn(&Value) -> Option<T>,
    ) -> Note<T> {
        // Most fields of most things: asked for each thing, said of few.
        let layers = self.values.get(of).and_then(|fields| fields.get(field));
        layers.map_or(Note::NotSaid, |layers| note_through(layers, &self.through(layer), take))
    }

    /// Subjects with anything noted, in order.
    pub fn subjects(&self) -> impl Iterator<Item = &Subject> {
        self.values.keys()
    }

    /// The parts of a field kind that a subject has anything noted for.
    pub fn fields(&self, of: &Subject, kind: FieldKind) -> Vec<Field> {
        let all = self.values.get(of).into_iter().flat_map(BTreeMap::keys);
        all.filter(|field| field.kind == kind).cloned().collect()
    }

    /// Every field that a subject has anything noted for.
    pub fn all_fields(&self, of: &Subject) -> Vec<Field> {
        self.values.get(of).into_iter().flat_map(BTreeMap::keys).cloned().collect()
    }

    /// What sort of thing a thing is.
    pub fn kind(&self, id: ThingId) -> Option<Kind> {
        let take = |value: &Value| if let Value::Is(kind) = value { Some(*kind) } else { None };
        self.note(&id.into(), &FieldKind::Is.into(), Layer::Site, take).get().copied()
    }

    /// Is a thing there, seen from `layer`?
    pub fn present(&self, id: ThingId, layer: Layer) -> bool {
        let take = |value: &Value| if let Value::Present(there) = value { Some(*there) } else { None };
        match self.note(&id.into(), &FieldKind::Present.into(), layer, take) {
            Note::Said(there, _) => there,
            Note::Twice(_) => true, // shown until someone confirms that it is gone
            Note::NotSaid => false,
        }
    }

    /// The things of a kind that are there, seen from `layer`, in the order of their names.
    pub fn things(&self, kind: Kind, layer: Layer) -> Vec<ThingId> {
        let of_kind = self.kinds().get(&kind).into_iter().flatten();
        of_kind.copied().filter(|id| self.present(*id, layer)).collect()
    }

    /// The things that are there, seen from `layer`, by kind, in the order of their names.
    pub(crate) fn things_by_kind(&self, layer: Layer) -> BTreeMap<Kind, Vec<ThingId>> {
        self.kinds().keys().map(|kind| (*kind, self.things(*kind, layer))).filter(|(_, all)| !all.is_empty()).collect()
    }

    /// All things by kind, there or not, in the order of their names.
    fn kinds(&self) -> &BTreeMap<Kind, Vec<ThingId>> {
        self.kinds.get_or_init(|| {
            let mut all: BTreeMap<Kind, Vec<ThingId>> = BTreeMap::new();
            for subject in self.values.keys() {
                let Subject::Thing(id) = subject else { continue };
                if let Some(kind) = self.kind(*id) {
                    all.entry(kind).or_default().push(*id);
                }
            }
            all
        })
    }

    /// The facts that a new value of this field in this layer replaces.
    pub fn replacing(&self, of: &Subject, field: &Field, layer: Layer) -> Vec<FactRef> {
        self.current(of, field, layer).iter().map(|said| said.fact).collect()
    }

    /// All that is known as text, for comparing to the byte.
    pub fn image(&self) -> String {
        format!("{:#?}\n{:#?}\n{:#?}\n{}", self.values, self.happened, self.sames, self.newer)
    }
}
