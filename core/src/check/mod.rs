//! Checks of a box: dead, before power, live. Worked out from the notes and the wiring as it stands; nothing here
//! says that anything may be touched. It says what was read, where, when, by whom and with which instrument.
//!
//! Pure: "now" is the last entry of the notes, and the person that a check shall count for comes in as a value.

mod clips;
mod dead;
mod feed;
mod isolation;
mod joint;
mod live;
mod net;
mod neutral;
mod pairs;
mod policy;
mod power;
mod proof;
mod reference;
mod say;
mod stale;
mod when;
mod worked;

use std::cell::OnceCell;
use std::collections::BTreeSet;

use crate::catalogue::Catalogue;
use crate::job::happening::{Proof, Question};
use crate::job::{LoadPoint, Notes, Pair, Spot, Stamp, ThingId, Wiring};

pub use dead::{Answer, CannotProve, DeadCheck, DeadState, Mistake, NOTHING_LIT, Taken, Try, Verdict};
pub use isolation::{Hold, Isolation, Reach, Source, SourceKind, SourceState, UnknownFeed};
pub use joint::{Class, Joint};
pub use live::{Disagreement, LiveCheck, LiveReading, LiveTrial, Observed, Tried};
pub use neutral::{NeutralEnd, NeutralRule};
pub use policy::{Policy, PolicyLine, policies};
pub use power::{Between, Left, ReadyItem, ReadyWhat, readied};
pub use proof::Proven;
pub use reference::Reference;
pub use say::{say_between, say_mistake, say_ready, say_try};
pub use stale::{Stale, StaleWhy};
pub use when::When;
pub use worked::{on_since, worked};

/// How one breaker, disconnect or supply is held now; for who asks nothing else of the checks.
pub fn hold_of(notes: &Notes, source: ThingId) -> Hold {
    isolation::hold(&when::History::new(notes), source, None)
}

/// Everything that checks are worked out from, prepared once for a state of the notes.
pub struct Checks<'a> {
    notes: &'a Notes,
    net: net::Net<'a>,
    parts: isolation::Parts,
    people: when::People,
    history: when::History<'a>,
    /// Asked for by dead checks alone, and costs a walk over all entries.
    changes: OnceCell<stale::Changes>,
    policy: Policy,
    today: Option<String>,
}

impl<'a> Checks<'a> {
    /// Prepares the checks of a wiring as it stands: that of a job's left layer, which looks through to what was
    /// found.
    pub fn new(notes: &'a Notes, wiring: &'a Wiring, catalogue: &'a Catalogue, policy: Policy) -> Self {
        let net = net::Net::new(notes, wiring, catalogue);
        let parts = isolation::Parts::of(&net);
        let people = when::People::of(notes);
        let history = when::History::new(notes);
        Self { notes, net, parts, people, history, changes: OnceCell::new(), policy, today: None }
    }

    /// Said on a day: moments of other days are said with theirs. "Since 16:40" of a week ago is no lock of today.
    #[must_use]
    pub fn on(self, day: String) -> Self {
        Self { today: Some(day), ..self }
    }

    /// The limits that these checks go by.
    pub fn policy(&self) -> &Policy {
        &self.policy
    }

    pub(crate) fn changes(&self) -> &stale::Changes {
        self.changes.get_or_init(|| stale::changes(self.notes, self.net.wiring))
    }

    /// Everything that can make a box live, and how it is held.
    pub fn isolation(&self, id: ThingId) -> Isolation {
        self.isolation_until(id, None)
    }

    /// Neutrals in a box that several sources return over, each with those sources.
    pub fn shared_neutrals(&self, id: ThingId) -> Vec<BTreeSet<ThingId>> {
        isolation::shared_neutrals(&self.net, &self.parts, id)
    }

    /// How one breaker, disconnect or supply is held.
    pub fn hold(&self, source: ThingId) -> Hold {
        isolation::hold(&self.history, source, None)
    }

    pub(crate) fn isolation_until(&self, id: ThingId, until: Option<Stamp>) -> Isolation {
        isolation::isolation(&self.net, &self.parts, &self.history, id, until)
    }

    /// What can be touched in a box: grounds, neutrals, then the rest.
    pub fn joints(&self, id: ThingId) -> Vec<Joint> {
        joint::joints(&self.net, id)
    }

    /// What can be touched in a box and is fed in every position of every handle, while its source is ON: where a
    /// live reading shows a reference to be real.
    pub fn constant_hots(&self, id: ThingId) -> Vec<Spot> {
        let ungrounded = self.joints(id).into_iter().filter(|joint| joint.class == Class::Ungrounded);
        ungrounded.filter(|joint| feed::is_constant(&self.net, &joint.nodes)).map(|joint| joint.spot).collect()
    }

    /// The pairs that a dead check of a box asks for today, in the order of fewest clip moves. With `independent`,
    /// a ground from elsewhere, in words, stands in for the box's own.
    pub fn pairs(&self, id: ThingId, independent: Option<&str>) -> Vec<Question> {
        pairs::pairs(&self.net, id, independent)
    }

    /// The proof of an instrument on a known source that stands now: what is read next lies after it.
    pub fn proved(&self, instrument: ThingId, dc: bool) -> Option<(When, Proof)> {
        proof::standing(self, instrument, dc)
    }

    /// Spots of a box that stand as real references for a check that would be asked now: to be shown before its
    /// breaker goes OFF, because afterwards it is too late.
    pub fn references(&self, id: ThingId) -> Vec<Reference> {
        reference::references(self, id, &self.joints(id), &self.isolation(id), None)
    }

    /// What each neutral of a box asks for before and after its splice is parted.
    pub fn neutrals(&self, id: ThingId) -> Vec<NeutralRule> {
        neutral::neutrals(self, id)
    }

    /// The last dead check of a box, as it counts for a person.
    pub fn dead(&self, id: ThingId, person: ThingId) -> DeadCheck {
        dead::dead(self, id, person)
    }

    /// All dead checks of a box in the order in which they were asked, as they count for a person.
    pub fn dead_all(&self, id: ThingId, person: ThingId) -> Vec<DeadCheck> {
        dead::all(self, id, person)
    }

    /// The list before power for the boxes that were worked in.
    pub fn before_power(&self, job: ThingId, boxes: &[ThingId]) -> Vec<ReadyItem> {
        power::before_power(self, job, boxes)
    }

    /// Locks that are still noted on some sources, for whoever is about to switch ON.
    pub fn locks_on(&self, sources: &BTreeSet<ThingId>) -> Vec<Left> {
        power::locks_on(self, sources)
    }

    /// One of these ends is noted as bare: nobody can say of it that it is capped.
    pub fn is_any_bare(&self, left: &[Left]) -> bool {
        power::is_any_bare(self, left)
    }

    /// Everything that a lock may hang on for some boxes: their sources, and the disconnects before them.
    pub fn holders(&self, boxes: &[ThingId]) -> BTreeSet<ThingId> {
        power::holders(self, boxes)
    }

    /// Loads that show in a resistance between two spots, in some position of the handles.
    pub fn loads_between(&self, pair: &Pair) -> Vec<LoadPoint> {
        power::loads_between(self, pair)
    }

    /// The readings and trials that the wiring calls for once some boxes were worked in. What was observed up to
    /// `since` does not answer.
    pub fn live(&self, boxes: &BTreeSet<ThingId>, since: Option<Stamp>) -> LiveCheck {
        live::live(self, boxes, since)
    }

    /// Everything that was read or tried live and is not as worked out, in order.
    pub fn disagreements(&self) -> Vec<Disagreement> {
        live::disagreements(self)
    }
}
