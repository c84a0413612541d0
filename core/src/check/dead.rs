//! The state of a dead check, for one person.
//!
//! Order of the acts: the references shown to be real, every source OFF and locked, the instrument shown to work on a
//! known source, every pair read, the instrument shown to work again. The instrument before and after: NFPA 70E-2021
//! 120.5(7); 29 CFR 1910.333(b)(2)(iv)(B) demands it over 600 V only. That a proximity indicator proves nothing: the
//! DOE electrical safety handbook (DOE-HDBK-1092). A lock for each worker: 29 CFR 1910.147(f)(3).

use std::collections::BTreeSet;

use super::Checks;
use super::feed::behind_sensor;
use super::isolation::{Isolation, UnknownFeed};
use super::joint::{Class, Joint, joint_at, joints};
use super::pairs::{has_positions, not_covered, pairs, same_pair};
use super::proof::{Proven, proven};
use super::reference::{Reference, references};
use super::stale::{Stale, StaleWhy, Standing};
use super::when::{Order, When, order};
use crate::job::happening::{Asked, Question};
use crate::job::value::SupplyKind;
use crate::job::{FactRef, Happening, Mode, Purpose, Reading, Spot, Stamp, ThingId};

/// What a tester without digits is noted with when it indicated nothing. Anything else that is noted of it counts as
/// an indication.
pub const NOTHING_LIT: &str = "nothing lit";

/// A reading with its moment and its reader.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// When.
    pub when: When,
    /// The fact.
    pub fact: FactRef,
    /// By whom, if it is known.
    pub by: Option<ThingId>,
    /// The reading.
    pub reading: Reading,
}

/// What a reading says of a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// At or under the limit, or a tester without digits that indicated nothing.
    Under,
    /// Over the limit, over the range, or a tester without digits that indicated something.
    Over,
    /// From the project's alarm limit on: to be treated as live.
    TreatAsLive,
}

/// Why a reading of the check does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mistake {
    /// Taken before every source was OFF and locked.
    BeforeOff,
    /// The instrument was not shown to work before it, or its person left in between.
    NotProvedBefore,
    /// After it the instrument did not show a known source.
    MeterFailed,
    /// A proximity indicator, ohms or a clamp: never a proof.
    NoVoltmeter,
}

/// One pair of the list that was asked, with its answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The pair with its positions.
    pub question: Question,
    /// The reading that counts, or the last one that does not.
    pub taken: Option<Taken>,
    /// The same in DC volts, where a source may be DC.
    pub dc: Option<Taken>,
    /// Why there is no reading that counts although one was taken.
    pub mistake: Option<Mistake>,
    /// What it says; `None`: not read yet.
    pub verdict: Option<Verdict>,
}

/// What to try where a pair is over the limit. The person decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Try {
    /// Repeat at low impedance: what capacitance couples in goes away.
    LowImpedance,
    /// It may be live: stay away, look for a source that is still ON or fed back.
    BackFeed,
    /// A neutral may be shared with a circuit that is ON.
    SharedNeutral,
    /// Behind a protective device a low-impedance reading to ground may trip it: stay at high impedance.
    HighImpedance,
}

/// Why nothing can be proved at this box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CannotProve {
    /// Nothing in the box was read live before the breaker went OFF, and no independent ground was read against a
    /// known hot.
    NoReference,
    /// It is a panel: its line side stays live.
    Panel,
}

/// The state of a dead check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DeadState {
    /// Nobody asked.
    NotBegun,
    /// It cannot be proved here.
    CannotBeProved(CannotProve),
    /// The person's own lock is not noted on all sources.
    NotHeld {
        /// Sources without it.
        sources: Vec<ThingId>,
        /// Conductors of which nobody knows what feeds them.
        unknown: Vec<UnknownFeed>,
    },
    /// Pairs are left to be read.
    Reading {
        /// Pairs that were asked.
        asked: usize,
        /// Pairs with a reading that counts.
        read: usize,
    },
    /// Pairs are over the limit.
    NotProven {
        /// Which, with what to try.
        over: Vec<(Question, Vec<Try>)>,
    },
    /// Everything is read; these instruments have to be shown to work again.
    ProveAgain(Vec<ThingId>),
    /// Read, and proved before and after.
    Holds {
        /// Since the last proof.
        since: When,
    },
    /// It no longer counts.
    Stale {
        /// Why, in order.
        causes: Vec<Stale>,
        /// What it was without them.
        was: Box<DeadState>,
    },
}

/// One dead check of a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeadCheck {
    /// The box.
    pub r#box: ThingId,
    /// The check; `None`: not begun.
    pub check: Option<ThingId>,
    /// When its list was asked.
    pub asked: Option<When>,
    /// The state, for the person.
    pub state: DeadState,
    /// The list that was asked, answered as far as it is; today's list if nobody asked.
    pub answers: Vec<Answer>,
    /// Today's questions that the list does not cover.
    pub missing: Vec<Question>,
    /// Spots that were shown to be real references.
    pub references: Vec<Reference>,
    /// Proofs that bracket the readings, by instrument.
    pub proofs: Vec<Proven>,
    /// The sources and their holds.
    pub isolation: Isolation,
}

impl DeadCheck {
    /// It counts now.
    pub fn counts(&self) -> bool {
        matches!(self.state, DeadState::Holds { .. })
    }

    /// When it was first read, and last.
    pub fn read_between(&self) -> Option<(When, When)> {
        let taken = || self.answers.iter().flat_map(|answer| answer.taken.iter().chain(&answer.dc));
        let all = || taken().map(|taken| taken.when);
        Some((all().min()?, all().max()?))
    }
}

/// What is at hand for one evaluation.
struct Bench<'a, 'b> {
    checks: &'b Checks<'a>,
    joints: Vec<Joint>,
    isolation: Isolation,
    person: ThingId,
    id: ThingId,
}

/// The last dead check of a box, for a person.
pub(crate) fn dead(checks: &Checks<'_>, id: ThingId, person: ThingId) -> DeadCheck {
    some(checks, id, person, true).pop().unwrap_or_else(|| not_begun(checks, id))
}

/// All dead checks of a box in the order in which they were asked, for a person.
pub(crate) fn all(checks: &Checks<'_>, id: ThingId, person: ThingId) -> Vec<DeadCheck> {
    some(checks, id, person, false)
}

fn some(checks: &Checks<'_>, id: ThingId, person: ThingId, last: bool) -> Vec<DeadCheck> {
    let bench = Bench { checks, joints: joints(&checks.net, id), isolation: checks.isolation(id), person, id };
    let asked: Vec<(When, &Asked)> = checks
        .history
        .of(id)
        .iter()
        .filter_map(|happened| match &happened.what {
            Happening::Asked(asked) => Some(((*happened).into(), asked)),
            _ => None,
        })
        .collect();
    let mut names: Vec<ThingId> = Vec::new();
    for (_, asked) in &asked {
        if !names.contains(&asked.check) {
            names.push(asked.check);
        }
    }
    let left_out = if last { names.len().saturating_sub(1) } else { 0 };
    names.into_iter().skip(left_out).filter_map(|check| bench.one(check, &asked)).collect()
}

fn not_begun(checks: &Checks<'_>, id: ThingId) -> DeadCheck {
    let today = pairs(&checks.net, id, None);
    let isolation = checks.isolation(id);
    let joints = joints(&checks.net, id);
    let references = references(checks, id, &joints, &isolation, None);
    let state = if isolation.panel { DeadState::CannotBeProved(CannotProve::Panel) } else { DeadState::NotBegun };
    let answer = |question: &Question| Answer {
        question: question.clone(),
        taken: None,
        dc: None,
        mistake: None,
        verdict: None,
    };
    DeadCheck {
        r#box: id,
        check: None,
        asked: None,
        state,
        answers: today.iter().map(answer).collect(),
        missing: today,
        references,
        proofs: Vec::new(),
        isolation,
    }
}

impl Bench<'_, '_> {
    fn one(&self, check: ThingId, all: &[(When, &Asked)]) -> Option<DeadCheck> {
        // A list may be asked again under the same check, longer: what was read of it stays read.
        let lists = || all.iter().filter(|(_, asked)| asked.check == check);
        let (when, _) = lists().next()?;
        let mut asked: Vec<Question> = Vec::new();
        for question in lists().flat_map(|(_, asked)| &asked.pairs) {
            if !asked.contains(question) {
                asked.push(question.clone());
            }
        }
        let independent = asked.iter().find_map(|question| match &question.pair.from {
            Spot::Other(words) => Some(words.as_str()),
            _ => None,
        });
        let today = pairs(&self.checks.net, self.id, independent);
        let missing = not_covered(&self.checks.net, &self.joints, &today, &asked);
        let taken = self.taken(check);
        let first = taken.iter().map(|taken| taken.when).min();
        let causes = first.map(|first| self.causes(first, &taken, &missing)).unwrap_or_default();
        // A check that no longer counts is judged by the holds as they were at its last reading.
        let last = taken.iter().map(|taken| taken.when.stamp).max();
        let then = last.filter(|_| !causes.is_empty()).map(|last| self.until(last));
        let judge = then.as_ref().unwrap_or(self);
        let references = references(self.checks, self.id, &self.joints, &judge.isolation, Some((*when, last)));
        let proofs = proven(self.checks, &taken);
        let answers: Vec<Answer> = asked.iter().map(|question| judge.answer(question, &taken, &proofs)).collect();
        let was = judge.state(&answers, &references, &asked, &proofs);
        let panel = was == DeadState::CannotBeProved(CannotProve::Panel);
        let state = match was {
            was if causes.is_empty() || panel => was,
            was => DeadState::Stale { causes, was: Box::new(was) },
        };
        let (id, isolation) = (self.id, self.isolation.clone());
        Some(DeadCheck {
            r#box: id,
            check: Some(check),
            asked: Some(*when),
            state,
            answers,
            missing,
            references,
            proofs,
            isolation,
        })
    }

    fn until(&self, last: Stamp) -> Self {
        let isolation = self.checks.isolation_until(self.id, Some(last));
        Self { checks: self.checks, joints: self.joints.clone(), isolation, person: self.person, id: self.id }
    }

    /// The readings of a check, in order, whatever they were taken with.
    fn taken(&self, check: ThingId) -> Vec<Taken> {
        let read = self.checks.history.of(self.id).iter().filter_map(|happened| match &happened.what {
            Happening::Read(reading) if reading.check == Some(check) && reading.purpose == Purpose::Dead => {
                Some(Taken {
                    when: When::from(*happened),
                    fact: happened.fact,
                    by: self.checks.people.who(happened),
                    reading: reading.clone(),
                })
            }
            _ => None,
        });
        read.collect()
    }

    /// A source that may feed DC asks for DC volts too.
    fn wants_dc(&self) -> bool {
        let supplies = &self.checks.net.wiring.supplies;
        self.isolation.sources.iter().any(|source| {
            let kind = supplies.get(&source.id).and_then(|supply| supply.kind.get());
            matches!(kind, Some(SupplyKind::Solar | SupplyKind::Battery))
        })
    }

    fn mistake(&self, taken: &Taken, proofs: &[Proven]) -> Option<Mistake> {
        if !matches!(taken.reading.mode, Mode::AcHigh | Mode::AcLow | Mode::Dc) {
            return Some(Mistake::NoVoltmeter);
        }
        // Where a source has no lock at all, the state says so; readings after a hold that began are judged by it.
        if let Ok(Some(since)) = self.isolation.locked_since()
            && order(since, taken.when) == Order::After
        {
            return Some(Mistake::BeforeOff);
        }
        let proof = proofs.iter().find(|proof| proof.covers(taken));
        match proof {
            None => Some(Mistake::NotProvedBefore),
            Some(proof) if proof.failed_after() => Some(Mistake::MeterFailed),
            Some(_) => None,
        }
    }

    fn answer(&self, question: &Question, taken: &[Taken], proofs: &[Proven]) -> Answer {
        let net = &self.checks.net;
        let fits = |taken: &&Taken| {
            same_pair(net, &self.joints, &taken.reading.pair, &question.pair)
                && has_positions(&question.at, &taken.reading.at)
        };
        let mine: Vec<&Taken> = taken.iter().filter(fits).collect();
        let counting = |dc: bool| {
            let good = mine.iter().filter(|taken| self.mistake(taken, proofs).is_none());
            good.filter(|taken| (taken.reading.mode == Mode::Dc) == dc).max_by_key(|taken| taken.when).copied()
        };
        let (ac, dc) = (counting(false), counting(true));
        let enough = if self.wants_dc() { ac.is_some() && dc.is_some() } else { ac.is_some() || dc.is_some() };
        let verdict = |taken: Option<&Taken>| {
            taken.and_then(|taken| self.checks.verdict(&taken.reading.figure, taken.reading.mode))
        };
        let worst = verdict(ac).max(verdict(dc));
        // Live is live, even if the DC reading is still to come.
        let verdict = worst.filter(|worst| enough || *worst > Verdict::Under);
        let last = mine.iter().max_by_key(|taken| taken.when).copied();
        let mistake =
            if ac.is_none() && dc.is_none() { last.and_then(|last| self.mistake(last, proofs)) } else { None };
        let shown = ac.or(last.filter(|last| dc.is_none() || last.reading.mode != Mode::Dc));
        Answer { question: question.clone(), taken: shown.cloned(), dc: dc.cloned(), mistake, verdict }
    }

    fn state(&self, answers: &[Answer], references: &[Reference], asked: &[Question], proofs: &[Proven]) -> DeadState {
        if self.isolation.panel {
            return DeadState::CannotBeProved(CannotProve::Panel);
        }
        let over: Vec<_> = answers.iter().filter(|answer| answer.verdict > Some(Verdict::Under)).collect();
        if !over.is_empty() {
            let over = over.into_iter().map(|answer| (answer.question.clone(), self.tries(answer)));
            return DeadState::NotProven { over: over.collect() };
        }
        let clipped = |reference: &Reference| {
            let from = |question: &Question| match &reference.spot {
                spot @ Spot::Other(_) => question.pair.from == *spot,
                spot => joint_at(&self.checks.net, &self.joints, &question.pair.from)
                    .is_some_and(|joint| joint.spot == *spot && joint.class != Class::Ungrounded),
            };
            asked.iter().any(from)
        };
        if !references.iter().any(clipped) {
            return DeadState::CannotBeProved(CannotProve::NoReference);
        }
        if !self.isolation.is_held_by(self.person) {
            let sources = self.isolation.not_held_by(self.person);
            return DeadState::NotHeld { sources, unknown: self.isolation.unknown.clone() };
        }
        let read = answers.iter().filter(|answer| answer.verdict.is_some()).count();
        if read < answers.len() || answers.is_empty() {
            return DeadState::Reading { asked: answers.len(), read };
        }
        let used: Vec<&Taken> = answers.iter().flat_map(|answer| answer.taken.iter().chain(&answer.dc)).collect();
        let closing = |taken: &&Taken| proofs.iter().find(|proof| proof.covers(taken)).and_then(Proven::closed);
        let open: BTreeSet<ThingId> =
            used.iter().filter(|taken| closing(taken).is_none()).map(|taken| taken.reading.instrument).collect();
        match used.iter().filter_map(closing).max() {
            Some(since) if open.is_empty() => DeadState::Holds { since },
            _ => DeadState::ProveAgain(open.into_iter().collect()),
        }
    }

    fn tries(&self, answer: &Answer) -> Vec<Try> {
        let joint = |spot: &Spot| joint_at(&self.checks.net, &self.joints, spot);
        let spots = [&answer.question.pair.from, &answer.question.pair.to];
        let behind = spots
            .iter()
            .filter_map(|spot| joint(spot))
            .any(|joint| joint.class == Class::Ungrounded && behind_sensor(&self.checks.net, &joint.nodes).is_some());
        let neutral = spots.iter().filter_map(|spot| joint(spot)).any(|joint| joint.class == Class::Neutral);
        let low = answer.taken.as_ref().is_some_and(|taken| taken.reading.mode == Mode::AcLow);
        let live = answer.verdict == Some(Verdict::TreatAsLive);
        let all = [
            (Try::BackFeed, live || low),
            (Try::LowImpedance, !low),
            (Try::SharedNeutral, neutral),
            (Try::HighImpedance, behind),
            (Try::BackFeed, !live && !low),
        ];
        all.into_iter().filter(|(_, applies)| *applies).map(|(one, _)| one).collect()
    }

    fn causes(&self, first: When, taken: &[Taken], missing: &[Question]) -> Vec<Stale> {
        let standing = Standing {
            history: &self.checks.history,
            wiring: self.checks.net.wiring,
            changes: self.checks.changes(),
            isolation: &self.isolation,
            person: self.person,
            readers: taken.iter().filter_map(|taken| taken.by).collect(),
            first,
        };
        let mut causes = standing.causes();
        if !missing.is_empty() {
            causes.push(Stale { why: StaleWhy::NotAsked(missing.to_vec()), since: None });
        }
        causes
    }
}
