//! Questions, holds and states in words. Spots and pairs are called as everywhere, see `name`.

use super::Checks;
use super::When;
use super::dead::{CannotProve, DeadState, Mistake, Try};
use super::isolation::{Hold, SourceState, UnknownFeed};
use super::power::{Between, ReadyWhat};
use super::stale::{Stale, StaleWhy};
use crate::job::happening::Question;
use crate::job::{Pair, PersonNote, ThingId};
use crate::name::Called;
use crate::words::{count, say};

impl Checks<'_> {
    /// A person's name, or that it is not known.
    pub fn say_person(&self, person: ThingId) -> String {
        PersonNote::read(self.notes, person).name.or(say("check.somebody", &[]))
    }

    /// A device, breaker, supply, splice or run in words.
    pub fn say_thing(&self, id: ThingId) -> String {
        let wiring = self.net.wiring;
        if wiring.devices.contains_key(&id) {
            self.called().device(id)
        } else if let Some(supply) = wiring.supplies.get(&id) {
            supply.name.or(say("check.supply", &[]))
        } else if wiring.splices.contains_key(&id) {
            self.called().splice(id)
        } else if wiring.runs.contains_key(&id) {
            self.called().run(id)
        } else if wiring.boxes.contains_key(&id) {
            self.called().r#box(id)
        } else {
            say("check.thing", &[])
        }
    }

    /// A pair in words: what the probe touches, then where the lead is clipped. "B black TRAV 1 to neutrals".
    pub fn say_pair(&self, pair: &Pair) -> String {
        self.called().pair(pair)
    }

    fn called(&self) -> Called<'_> {
        Called::new(self.net.wiring, self.net.catalogue)
    }

    /// A question with its positions.
    pub fn say_question(&self, question: &Question) -> String {
        let pair = self.say_pair(&question.pair);
        if question.at.is_empty() {
            return pair;
        }
        say("check.question", &[("pair", &pair), ("at", &self.called().positions(&question.at))])
    }

    /// A moment by the clock; with its day where that is not the day of whoever looks.
    fn say_moment(&self, when: When) -> String {
        let (day, clock) = (when.wall.day(), when.wall.clock());
        match &self.today {
            Some(today) if *today != day => say("check.moment", &[("day", &day), ("clock", &clock)]),
            _ => clock,
        }
    }

    /// How a source stands: "OFF, lock of W. Tolliver since 08:52".
    pub fn say_hold(&self, hold: &Hold) -> String {
        let since = hold.since.map_or_else(String::new, |since| self.say_moment(since));
        let fill = [("since", since.as_str())];
        match hold.state {
            SourceState::Locked => {
                let locks = hold.locks.iter().map(|(person, since)| {
                    let person = self.say_person(*person);
                    say("check.source.lock", &[("person", &person), ("since", &self.say_moment(*since))])
                });
                let locks = locks.collect::<Vec<_>>().join(", ");
                say("check.source.locked", &[("locks", &locks)])
            }
            SourceState::Off => say("check.source.off", &fill),
            SourceState::Guarded => say("check.source.guarded", &fill),
            SourceState::On => say("check.source.on", &fill),
            SourceState::NotKnown => say("check.source.not_known", &[]),
        }
    }

    /// A conductor of which nobody knows what feeds it.
    pub fn say_unknown(&self, unknown: &UnknownFeed) -> String {
        match unknown {
            UnknownFeed::Spot(spot) => say("check.unknown.spot", &[("spot", &self.called().spot(spot))]),
            UnknownFeed::OtherBreaker(run, side) => {
                let note = self.net.wiring.runs.get(run);
                let letter = note.and_then(|note| note.side(*side).letter.get().cloned()).unwrap_or_default();
                say("check.unknown.other_breaker", &[("letter", &letter)])
            }
        }
    }

    /// The state of a dead check in one line.
    pub fn say_state(&self, state: &DeadState) -> String {
        match state {
            DeadState::NotBegun => say("check.state.not_begun", &[]),
            DeadState::CannotBeProved(CannotProve::NoReference) => say("check.state.no_reference", &[]),
            DeadState::CannotBeProved(CannotProve::Panel) => say("check.state.panel", &[]),
            DeadState::NotHeld { sources, unknown } => {
                let named = sources.iter().map(|source| self.say_thing(*source));
                let all = named.chain(unknown.iter().map(|one| self.say_unknown(one))).collect::<Vec<_>>().join(", ");
                say("check.state.not_held", &[("sources", &all)])
            }
            DeadState::Reading { asked, read } => {
                say("check.state.reading", &[("asked", &asked.to_string()), ("read", &read.to_string())])
            }
            DeadState::NotProven { over } => count("check.state.not_proven", over.len(), &[]),
            DeadState::ProveAgain(_) => say("check.state.prove_again", &[]),
            DeadState::Holds { since } => say("check.state.holds", &[("since", &self.say_moment(*since))]),
            DeadState::Stale { causes, .. } => {
                let first = causes.first().map(|cause| self.say_cause(cause)).unwrap_or_default();
                say("check.state.stale", &[("why", &first)])
            }
        }
    }

    /// Why a dead check no longer counts, with the moment.
    pub fn say_cause(&self, cause: &Stale) -> String {
        let since = cause.since.map(|since| self.say_moment(since)).unwrap_or_default();
        let fill = |key: &str, name: &str| say(key, &[("since", since.as_str()), ("name", name)]);
        match &cause.why {
            StaleWhy::HoldEnded(source) => fill("check.stale.hold", &self.say_thing(*source)),
            StaleWhy::Left(person) => fill("check.stale.left", &self.say_person(*person)),
            StaleWhy::VisitEnded(person) => fill("check.stale.visit", &self.say_person(*person)),
            StaleWhy::Parted(splice) => fill("check.stale.parted", &self.say_thing(*splice)),
            StaleWhy::Changed(thing) => fill("check.stale.changed", &self.say_thing(*thing)),
            StaleWhy::Started(supply) => fill("check.stale.started", &self.say_thing(*supply)),
            StaleWhy::OrderNotKnown => fill("check.stale.order", ""),
            StaleWhy::NotAsked(questions) => count("check.stale.not_asked", questions.len(), &[]),
        }
    }
}

/// What to try where a pair is over the limit.
pub fn say_try(one: Try) -> String {
    say(
        match one {
            Try::LowImpedance => "check.try.low_impedance",
            Try::BackFeed => "check.try.back_feed",
            Try::SharedNeutral => "check.try.shared_neutral",
            Try::HighImpedance => "check.try.high_impedance",
        },
        &[],
    )
}

/// Why a reading does not count.
pub fn say_mistake(mistake: Mistake) -> String {
    say(
        match mistake {
            Mistake::BeforeOff => "check.mistake.before_off",
            Mistake::NotProvedBefore => "check.mistake.not_proved",
            Mistake::MeterFailed => "check.mistake.meter_failed",
            Mistake::NoVoltmeter => "check.mistake.no_voltmeter",
        },
        &[],
    )
}

/// Between what something is read.
pub fn say_between(between: Between) -> String {
    say(
        match between {
            Between::HotNeutral => "check.between.hot_neutral",
            Between::HotGround => "check.between.hot_ground",
            Between::NeutralGround => "check.between.neutral_ground",
            Between::HotHot => "check.between.hot_hot",
        },
        &[],
    )
}

/// An item of the list before power.
pub fn say_ready(what: ReadyWhat) -> String {
    let key = match what {
        ReadyWhat::EndsCapped => "check.ready.ends",
        ReadyWhat::Covers => "check.ready.covers",
        ReadyWhat::Told => "check.ready.told",
        ReadyWhat::LoadsOff => "check.ready.loads",
        ReadyWhat::LocksOff => "check.ready.locks",
        ReadyWhat::Resistance(between) => {
            return say("check.ready.resistance", &[("between", &say_between(between))]);
        }
    };
    say(key, &[])
}
