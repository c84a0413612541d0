//! Spots, pairs, positions and states in words.

use super::Checks;
use super::dead::{CannotProve, DeadState, Mistake, Try};
use super::isolation::{Hold, SourceState, UnknownFeed};
use super::joint::{Class, joints};
use super::net::Node;
use super::power::{Between, ReadyWhat};
use super::stale::{Stale, StaleWhy};
use crate::catalogue::{point_name, position_name, switch_name};
use crate::job::happening::Question;
use crate::job::{At, Bus, Pair, PersonNote, RunNote, Spot, ThingId, Tip};
use crate::words::{count, say};

impl Checks<'_> {
    /// A person's name, or that it is not known.
    pub fn say_person(&self, person: ThingId) -> String {
        PersonNote::read(self.notes, person).name.or(say("check.somebody", &[]))
    }

    /// A device, breaker or supply in words: its name, else "circuit 7", else its kind.
    pub fn say_thing(&self, id: ThingId) -> String {
        let wiring = self.net.wiring;
        if let Some(device) = wiring.devices.get(&id) {
            let number = device.number.get().map(|number| say("check.circuit", &[("number", number)]));
            let kind = || device.kind.get().map(|kind| self.net.catalogue.device_name(kind));
            return device.name.get().cloned().or(number).or_else(kind).unwrap_or_else(|| say("check.device", &[]));
        }
        if let Some(supply) = wiring.supplies.get(&id) {
            return supply.name.or(say("check.supply", &[]));
        }
        if let Some(splice) = wiring.splices.get(&id) {
            return splice.name.get().cloned().unwrap_or_else(|| self.say_spot(&Spot::Splice(id)));
        }
        if let Some(run) = wiring.runs.get(&id) {
            let letter = run.near.letter.get().or(run.far.letter.get()).cloned().unwrap_or_default();
            return say("check.run", &[("letter", &letter)]).trim_end().to_owned();
        }
        match wiring.tag(id) {
            tag if tag.is_empty() => say("check.thing", &[]),
            tag => tag,
        }
    }

    /// A conductor's end: "B black TRAV 1".
    pub fn say_tip(&self, tip: &Tip) -> String {
        if let Tip::Lead { device, lead } = tip {
            let (device, lead) = (self.say_thing(*device), point_name(lead));
            return say("check.spot.lead", &[("device", &device), ("lead", &lead)]);
        }
        let Tip::Wire { run, side, .. } = tip else { return String::new() };
        let note = self.net.wiring.runs.get(run);
        let inside = note.is_some_and(RunNote::is_inside);
        let letter = note.and_then(|note| note.side(*side).letter.get().cloned());
        let letter = if inside { Some(say("check.spot.pigtail", &[])) } else { letter };
        let colour = self.net.colour(tip).map_or_else(
            || say("check.colour.none", &[]),
            |colour| {
                let key = serde_json::to_value(colour).ok();
                let key = key.as_ref().and_then(serde_json::Value::as_str).unwrap_or("cannot_tell");
                say(&format!("check.colour.{key}"), &[])
            },
        );
        let label = self.net.wiring.tips.get(tip).and_then(|note| note.label.get().cloned().flatten());
        [letter, Some(colour), label].into_iter().flatten().collect::<Vec<_>>().join(" ")
    }

    /// A spot in words: "B black TRAV 1", "neutral", "grounds", "the box's metal".
    pub fn say_spot(&self, spot: &Spot) -> String {
        match spot {
            Spot::Tip(tip) => self.say_tip(tip),
            Spot::Splice(id) => self.say_splice(*id),
            Spot::Terminal { device, terminal } => {
                let (device, terminal) = (self.say_thing(*device), point_name(terminal));
                say("check.spot.terminal", &[("device", &device), ("terminal", &terminal)])
            }
            Spot::Shell(_) => say("check.spot.shell", &[]),
            Spot::Bus { bus, .. } => say(
                match bus {
                    Bus::A => "check.spot.bus_a",
                    Bus::B => "check.spot.bus_b",
                    Bus::C => "check.spot.bus_c",
                    Bus::Neutral => "check.spot.bus_neutral",
                    Bus::Ground => "check.spot.bus_ground",
                },
                &[],
            ),
            Spot::Other(words) => words.clone(),
        }
    }

    fn say_splice(&self, id: ThingId) -> String {
        let note = self.net.wiring.splices.get(&id);
        if let Some(name) = note.and_then(|note| note.name.get()) {
            return name.clone();
        }
        let in_box = note.and_then(|note| note.in_box.get().copied().flatten());
        let here = in_box.map(|id| joints(&self.net, id)).unwrap_or_default();
        let here_at = self.net.at(&Node::Splice(id));
        let joint = here.iter().find(|joint| here_at.is_some_and(|at| joint.nodes.contains(&at)));
        match joint.map(|joint| joint.class) {
            Some(Class::Ground) => say("check.spot.grounds", &[]),
            Some(Class::Neutral) => say("check.spot.neutral", &[]),
            _ => {
                let ends = self.net.wiring.ends_in(id);
                let from_outside = |tip: &&&Tip| match tip {
                    Tip::Wire { run, .. } => !self.net.wiring.runs.get(run).is_some_and(RunNote::is_inside),
                    Tip::Lead { .. } => false,
                };
                let named: Vec<String> = ends.iter().filter(from_outside).map(|tip| self.say_tip(tip)).collect();
                say("check.spot.splice", &[("ends", &named.join(", "))])
            }
        }
    }

    /// A pair: what the probe touches, then where the lead is clipped. "B black TRAV 1 to neutral".
    pub fn say_pair(&self, pair: &Pair) -> String {
        let (touch, clip) = (self.say_spot(&pair.to), self.say_spot(&pair.from));
        say("check.pair", &[("touch", &touch), ("clip", &clip)])
    }

    /// Positions: "stair switch up, hall switch down".
    pub fn say_positions(&self, at: &[At]) -> String {
        let one = |at: &At| {
            let several = self.net.kind(at.handle.device).is_some_and(|kind| kind.switches.len() > 1);
            let mut device = self.say_thing(at.handle.device);
            if several {
                device = format!("{device}, {}", switch_name(&at.handle.switch));
            }
            say("check.position", &[("device", &device), ("position", &position_name(&at.position))])
        };
        at.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    /// A question with its positions.
    pub fn say_question(&self, question: &Question) -> String {
        let pair = self.say_pair(&question.pair);
        if question.at.is_empty() {
            return pair;
        }
        say("check.question", &[("pair", &pair), ("at", &self.say_positions(&question.at))])
    }

    /// How a source stands: "OFF, lock of W. Tolliver since 08:52".
    pub fn say_hold(&self, hold: &Hold) -> String {
        let since = hold.since.map_or_else(String::new, |since| since.wall.clock());
        let fill = [("since", since.as_str())];
        match hold.state {
            SourceState::Locked => {
                let locks = hold.locks.iter().map(|(person, since)| {
                    let person = self.say_person(*person);
                    say("check.source.lock", &[("person", &person), ("since", &since.wall.clock())])
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
            UnknownFeed::Spot(spot) => say("check.unknown.spot", &[("spot", &self.say_spot(spot))]),
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
            DeadState::Holds { since } => say("check.state.holds", &[("since", &since.wall.clock())]),
            DeadState::Stale { causes, .. } => {
                let first = causes.first().map(|cause| self.say_cause(cause)).unwrap_or_default();
                say("check.state.stale", &[("why", &first)])
            }
        }
    }

    /// Why a dead check no longer counts, with the moment.
    pub fn say_cause(&self, cause: &Stale) -> String {
        let since = cause.since.map(|since| since.wall.clock()).unwrap_or_default();
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
