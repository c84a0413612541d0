//! Why a dead check no longer counts: what happened after its first reading. Putting a cover on cures nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::isolation::{Hold, Isolation, SourceState, empty_hold, step};
use super::when::{History, Order, When, order};
use crate::job::happening::Question;
use crate::job::value::SupplyKind;
use crate::job::{
    Fact, FieldKind, Happened, Happening, Held, Layer, Notes, Subject, Target, ThingId, Tip, Value, Wiring,
};

/// Why a dead check no longer counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StaleWhy {
    /// The hold of this source ended: a lock came off, it was switched ON, or it is no longer known.
    HoldEnded(ThingId),
    /// This person left the site.
    Left(ThingId),
    /// This person's visit ended.
    VisitEnded(ThingId),
    /// A splice in the box was parted.
    Parted(ThingId),
    /// Something in the box is new or changed: the splice, run or device.
    Changed(ThingId),
    /// A generator or another supply at the site was started.
    Started(ThingId),
    /// Two people noted what bears on it, and in which order it happened is not known.
    OrderNotKnown,
    /// Today's list has pairs that were not asked.
    NotAsked(Vec<Question>),
}

/// One reason with its moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stale {
    /// Why.
    pub why: StaleWhy,
    /// Since when; `None`: since the list is longer than the one that was asked.
    pub since: Option<When>,
}

/// Changes of the wiring in boxes, in order.
pub(crate) type Changes = BTreeMap<ThingId, Vec<(When, ThingId)>>;

/// Fields that say how a box is wired. Labels, colours, lengths and names change nothing that a lead touches.
const FIELDS: [FieldKind; 7] = [
    FieldKind::Place,
    FieldKind::InBox,
    FieldKind::Present,
    FieldKind::Type,
    FieldKind::Wire,
    FieldKind::Link,
    FieldKind::GroundPath,
];

/// Which boxes each thing and each side of a run is or ever was in.
struct Where {
    sides: BTreeMap<Subject, BTreeSet<ThingId>>,
}

impl Where {
    fn of(notes: &Notes, layers: &[Layer]) -> Self {
        let mut sides: BTreeMap<Subject, BTreeSet<ThingId>> = BTreeMap::new();
        for subject in notes.subjects() {
            for layer in layers {
                for said in notes.statements(subject, &FieldKind::InBox.into(), *layer) {
                    if let Value::InBox(Some(id)) = said.value {
                        sides.entry(subject.clone()).or_default().insert(id);
                    }
                }
            }
        }
        Self { sides }
    }

    fn boxes(&self, subject: &Subject) -> BTreeSet<ThingId> {
        let at = |subject: Subject| self.sides.get(&subject).into_iter().flatten().copied();
        match subject {
            Subject::Tip(Tip::Wire { run, side, .. }) => at(Subject::Side(*run, *side)).collect(),
            Subject::Tip(Tip::Lead { device, .. }) => at(Subject::Thing(*device)).collect(),
            Subject::Side(..) => at(subject.clone()).collect(),
            Subject::Thing(id) => {
                let sides = crate::job::Side::BOTH.into_iter().flat_map(|side| at(Subject::Side(*id, side)));
                at(subject.clone()).chain(sides).collect()
            }
        }
    }
}

fn thing_of(subject: &Subject) -> ThingId {
    match subject {
        Subject::Thing(id) | Subject::Side(id, _) => *id,
        Subject::Tip(Tip::Wire { run, .. }) => *run,
        Subject::Tip(Tip::Lead { device, .. }) => *device,
    }
}

/// Every change of the wiring that stands today, by box: a value that differs from the one before it. A strike of
/// such a value is a change too.
pub(crate) fn changes(notes: &Notes, wiring: &Wiring) -> Changes {
    let wired = |layer: &Layer| matches!(layer, Layer::Found(_) | Layer::Left(_));
    let layers: Vec<Layer> = notes.through(wiring.layer).into_iter().filter(wired).collect();
    let places = Where::of(notes, &layers);
    let sames = notes.sames();
    let mut last = BTreeMap::new();
    let mut changes = Changes::new();
    for (stamp, kept) in notes.entries() {
        let when = When { stamp: *stamp, wall: kept.noted.entry.wall };
        for fact in &kept.noted.entry.facts {
            let mut change = |subject: &Subject| {
                for id in places.boxes(subject) {
                    changes.entry(id).or_default().push((when, thing_of(subject)));
                }
            };
            match fact {
                Fact::Set(set) if layers.contains(&set.layer) && FIELDS.contains(&set.value.kind()) && !kept.struck => {
                    let (subject, value) = (sames.subject(&set.of), sames.value(&set.value));
                    let field = (subject.clone(), value.field());
                    if last.get(&field) != Some(&value) {
                        change(&subject);
                        last.insert(field, value);
                    }
                }
                Fact::Strike(strike) if !kept.struck => {
                    for subject in struck(notes, &strike.what) {
                        change(&sames.subject(&subject));
                    }
                }
                _ => {}
            }
        }
    }
    changes
}

/// What a strike takes out of the wiring.
fn struck(notes: &Notes, what: &Target) -> Vec<Subject> {
    let (hash, only) = match what {
        Target::Entry(hash) => (hash, None),
        Target::Fact(fact) => (&fact.entry, Some(fact.n)),
        Target::Thing(id) => return vec![Subject::Thing(*id)],
    };
    let stamp = notes.stamp_of(hash);
    let entry = stamp.and_then(|stamp| notes.entry(stamp));
    let facts = entry.into_iter().flat_map(|kept| (0u16..).zip(&kept.noted.entry.facts));
    let named = facts.filter(|(n, _)| only.is_none_or(|only| only == *n));
    let wiring = named.filter_map(|(_, fact)| match fact {
        Fact::Set(set) if FIELDS.contains(&set.value.kind()) && !matches!(set.layer, Layer::Planned(_)) => {
            Some(set.of.clone())
        }
        _ => None,
    });
    wiring.collect()
}

/// What a check stands on, for asking whether it still does.
pub(crate) struct Standing<'a> {
    pub(crate) history: &'a History<'a>,
    pub(crate) wiring: &'a Wiring,
    pub(crate) changes: &'a Changes,
    pub(crate) isolation: &'a Isolation,
    /// Whom it shall count for.
    pub(crate) person: ThingId,
    /// Whoever read.
    pub(crate) readers: BTreeSet<ThingId>,
    /// The first reading.
    pub(crate) first: When,
}

impl Standing<'_> {
    /// Every reason why the check no longer counts, in order.
    pub(crate) fn causes(&self) -> Vec<Stale> {
        let mut causes = Vec::new();
        let splices = self.wiring.splices_in(self.isolation.r#box).into_iter();
        let people = self.readers.iter().copied().chain([self.person]).collect::<BTreeSet<_>>();
        let concerned = people.into_iter().chain(self.wiring.supplies.keys().copied()).chain(splices);
        for happened in self.history.among(concerned) {
            if let Some(why) = self.people_and_supplies(happened) {
                self.note(&mut causes, happened.into(), why);
            }
        }
        for source in &self.isolation.sources {
            self.holds(source.id, &mut causes);
            for (gate, _) in &source.behind {
                // Either hold alone keeps the box dead; a disconnect counts where the source itself is not locked.
                if source.hold.locked_since.is_none() {
                    self.holds(*gate, &mut causes);
                }
            }
        }
        let changed = self.changes.get(&self.isolation.r#box).into_iter().flatten();
        for (when, thing) in changed {
            self.note(&mut causes, *when, StaleWhy::Changed(*thing));
        }
        causes.sort_by_key(|cause| cause.since);
        // The first of each kind tells when; what followed of the same kind tells nothing more.
        let mut known: Vec<StaleWhy> = Vec::new();
        causes.retain(|cause| {
            let new = !known.contains(&cause.why);
            if new {
                known.push(cause.why.clone());
            }
            new
        });
        causes
    }

    fn note(&self, causes: &mut Vec<Stale>, when: When, why: StaleWhy) {
        match order(when, self.first) {
            Order::Before => {}
            Order::After => causes.push(Stale { why, since: Some(when) }),
            Order::NotKnown => causes.push(Stale { why: StaleWhy::OrderNotKnown, since: Some(when) }),
        }
    }

    fn people_and_supplies(&self, happened: &Happened) -> Option<StaleWhy> {
        let Subject::Thing(of) = happened.of else { return None };
        let concerns = of == self.person || self.readers.contains(&of);
        match &happened.what {
            Happening::Gone { ended: false } if concerns => Some(StaleWhy::Left(of)),
            // Arriving anew ends the visit before, whether or not anybody noted that it ended.
            Happening::Gone { .. } | Happening::Arrived { .. } if concerns => Some(StaleWhy::VisitEnded(of)),
            Happening::Switched { on: true } => {
                let supply = self.wiring.supplies.get(&of)?;
                let starts = !matches!(supply.kind.get(), Some(SupplyKind::OtherLeg | SupplyKind::FedElsewhere));
                starts.then_some(StaleWhy::Started(of))
            }
            Happening::Parted => {
                let here = self.wiring.splices.get(&of)?.in_box.get() == Some(&Some(self.isolation.r#box));
                here.then_some(StaleWhy::Parted(of))
            }
            _ => None,
        }
    }

    /// Walks through what happened to a source and notes each moment at which its hold ended for the person.
    fn holds(&self, source: ThingId, causes: &mut Vec<Stale>) {
        let mut hold = empty_hold();
        for happened in self.history.of(source).iter().copied() {
            let before: Hold = hold.clone();
            step(&mut hold, happened);
            let had = before.state == SourceState::Locked;
            let lost_lock = before.locks.contains_key(&self.person) && !hold.locks.contains_key(&self.person);
            let now = When::from(happened);
            if (lost_lock || (had && hold.state != SourceState::Locked)) && order(now, self.first) == Order::After {
                self.note(causes, happened.into(), StaleWhy::HoldEnded(source));
            }
            // A lock that may have come on only after the reading holds nothing for it; and what was switched ON by
            // somebody whose phone had not seen the lock may have been switched ON under it.
            let comes = !had && hold.state == SourceState::Locked;
            if (comes || ends(&happened.what)) && order(happened.into(), self.first) == Order::NotKnown {
                causes.push(Stale { why: StaleWhy::OrderNotKnown, since: Some(happened.into()) });
            }
        }
    }
}

/// What ends a hold.
fn ends(what: &Happening) -> bool {
    match what {
        Happening::Unlocked(_) | Happening::Switched { on: true } => true,
        Happening::Isolated(held) => !matches!(held, Held::Lock(_)),
        _ => false,
    }
}
