//! The rule of each neutral. A neutral whose breaker is OFF may carry another circuit's current, and its loose end
//! then rises to full voltage: before a splice of neutrals is parted, a steady voltage to ground or the amperes in a
//! clamp are read; after that, each end again.

use super::Checks;
use super::dead::{Taken, Verdict};
use super::joint::{Class, joint_at, joints};
use crate::job::{Figure, Happening, Mode, Purpose, Spot, ThingId, Tip};

/// An end of a neutral splice that is parted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NeutralEnd {
    /// The end.
    pub tip: Tip,
    /// The last reading of it since the splice was parted.
    pub taken: Option<Taken>,
    /// What it says.
    pub verdict: Option<Verdict>,
}

/// What one neutral asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NeutralRule {
    /// The splice is whole.
    Whole {
        /// The splice.
        spot: Spot,
        /// The last reading to ground or in a clamp before it is parted.
        taken: Option<Taken>,
    },
    /// The splice is parted.
    Parted {
        /// The splice.
        splice: ThingId,
        /// The last reading before it was parted; `None`: it was parted without one.
        before: Option<Taken>,
        /// Its ends.
        ends: Vec<NeutralEnd>,
    },
}

/// The neutrals of a box, whole ones first.
pub(crate) fn neutrals(checks: &Checks<'_>, id: ThingId) -> Vec<NeutralRule> {
    let net = &checks.net;
    let all = joints(net, id);
    let readings = readings(checks, id);
    let ground = |spot: &Spot| match spot {
        Spot::Other(_) | Spot::Shell(_) => true,
        spot => joint_at(net, &all, spot).is_some_and(|joint| joint.class == Class::Ground),
    };
    let mut rules = Vec::new();
    for joint in all.iter().filter(|joint| joint.class == Class::Neutral) {
        if joint.tips.iter().any(|tip| net.parted.contains_key(tip)) || !matches!(joint.spot, Spot::Splice(_)) {
            continue;
        }
        let here = |spot: &Spot| joint_at(net, &all, spot).is_some_and(|at| at.spot == joint.spot);
        let taken = readings.iter().rfind(|taken| fits(taken, here, ground));
        rules.push(NeutralRule::Whole { spot: joint.spot.clone(), taken: taken.cloned() });
    }
    let mut splices: Vec<ThingId> = net.parted.values().copied().collect();
    splices.dedup();
    splices.sort();
    splices.dedup();
    for splice in splices {
        let ends: Vec<&Tip> = net.parted.iter().filter(|(_, of)| **of == splice).map(|(tip, _)| tip).collect();
        if !ends.iter().all(|tip| net.is_white(tip)) || ends.iter().any(|tip| net.wiring.box_of(tip) != Some(id)) {
            continue;
        }
        let Some(parted) = parted(checks, splice) else { continue };
        let whole =
            |spot: &Spot| *spot == Spot::Splice(splice) || matches!(spot, Spot::Tip(tip) if ends.contains(&tip));
        let before = readings.iter().rfind(|taken| taken.when < parted && fits(taken, whole, ground)).cloned();
        let ends = ends.iter().map(|tip| {
            let here = |spot: &Spot| *spot == Spot::Tip((*tip).clone());
            let taken = readings.iter().rfind(|taken| taken.when > parted && fits(taken, here, ground)).cloned();
            let verdict = taken.as_ref().and_then(|taken| checks.verdict(&taken.reading.figure, taken.reading.mode));
            NeutralEnd { tip: (*tip).clone(), taken, verdict }
        });
        rules.push(NeutralRule::Parted { splice, before, ends: ends.collect() });
    }
    rules
}

fn parted(checks: &Checks<'_>, splice: ThingId) -> Option<super::When> {
    let last = checks.history.of(splice).iter().rfind(|happened| happened.what == Happening::Parted);
    last.map(|happened| super::When::from(*happened))
}

/// A clamp around a conductor of it, or volts from it to ground.
fn fits(taken: &Taken, here: impl Fn(&Spot) -> bool, ground: impl Fn(&Spot) -> bool) -> bool {
    let (from, to) = (&taken.reading.pair.from, &taken.reading.pair.to);
    match taken.reading.mode {
        Mode::Clamp => here(from) || here(to),
        Mode::AcHigh | Mode::AcLow | Mode::Dc => (here(from) && ground(to)) || (here(to) && ground(from)),
        Mode::Ohms | Mode::Proximity => false,
    }
}

fn readings(checks: &Checks<'_>, id: ThingId) -> Vec<Taken> {
    let read = checks.history.of(id).iter().filter_map(|happened| match &happened.what {
        Happening::Read(reading) if matches!(reading.purpose, Purpose::Neutral | Purpose::Dead) => Some(Taken {
            when: super::When::from(*happened),
            fact: happened.fact,
            by: checks.people.who(happened),
            reading: reading.clone(),
        }),
        _ => None,
    });
    read.collect()
}

impl Checks<'_> {
    /// What a figure says under this job's policy: of volts. Amperes in a clamp are shown as they are.
    pub(crate) fn verdict(&self, figure: &Figure, mode: Mode) -> Option<Verdict> {
        if !matches!(mode, Mode::AcHigh | Mode::AcLow | Mode::Dc) {
            return None;
        }
        let policy = &self.policy;
        Some(match figure {
            Figure::Number(volts) if volts.to_f64().abs() >= policy.treat_as_live.to_f64() => Verdict::TreatAsLive,
            Figure::Number(volts) if volts.to_f64().abs() > policy.dead_limit.to_f64() => Verdict::Over,
            Figure::Number(_) => Verdict::Under,
            Figure::NoDigits(shown) if shown == super::NOTHING_LIT => Verdict::Under,
            Figure::NoDigits(_) | Figure::OverRange => Verdict::Over,
        })
    }
}
