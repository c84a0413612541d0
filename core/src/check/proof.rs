//! Proofs of an instrument on a known source. One before and one after may bracket the readings of several boxes.

use std::collections::BTreeSet;

use super::Checks;
use super::dead::{NOTHING_LIT, Taken};
use super::when::When;
use crate::job::happening::Proof;
use crate::job::{Figure, Happening, Mode, Subject, ThingId};

/// A stretch of readings of one instrument between a proof before and a proof after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proven {
    /// The instrument.
    pub instrument: ThingId,
    /// It works on DC volts, else on AC volts.
    pub dc: bool,
    /// The proof before.
    pub before: (When, Proof),
    /// The next proof of the instrument; whether it showed the known source.
    pub after: Option<(When, Proof, bool)>,
    /// When the proof before stopped counting because its person left.
    ended: Option<When>,
}

impl Proven {
    /// The reading lies in the stretch.
    pub(crate) fn covers(&self, taken: &Taken) -> bool {
        let same = self.instrument == taken.reading.instrument && self.dc == (taken.reading.mode == Mode::Dc);
        let after = taken.when.stamp > self.before.0.stamp;
        let before_next = self.after.as_ref().is_none_or(|(next, ..)| taken.when.stamp < next.stamp);
        same && after && before_next && self.ended.is_none_or(|ended| taken.when.stamp < ended.stamp)
    }

    /// The proof after did not show the known source: what was read before it counts for nothing.
    pub fn failed_after(&self) -> bool {
        matches!(self.after, Some((_, _, false)))
    }

    /// The moment of the proof after, if it showed the known source.
    pub fn closed(&self) -> Option<When> {
        match &self.after {
            Some((when, _, true)) => Some(*when),
            _ => None,
        }
    }
}

/// A known source was shown: volts from the alarm limit on (a proving unit counts as well as a receptacle), or any
/// indication of a tester without digits.
fn shown(checks: &Checks<'_>, figure: &Figure) -> bool {
    match figure {
        Figure::Number(volts) => volts.to_f64().abs() >= checks.policy.treat_as_live.to_f64(),
        Figure::NoDigits(shown) => !shown.is_empty() && shown != NOTHING_LIT,
        Figure::OverRange => false,
    }
}

/// The stretches that readings lie in, for each instrument among them.
pub(crate) fn proven(checks: &Checks<'_>, taken: &[Taken]) -> Vec<Proven> {
    let instruments: BTreeSet<(ThingId, bool)> =
        taken.iter().map(|taken| (taken.reading.instrument, taken.reading.mode == Mode::Dc)).collect();
    let mut all = Vec::new();
    for (instrument, dc) in instruments {
        let stretches = stretches(checks, instrument, dc);
        all.extend(stretches.into_iter().filter(|stretch| taken.iter().any(|taken| stretch.covers(taken))));
    }
    all
}

/// The proof that opens the stretch in which the next reading would lie.
pub(crate) fn standing(checks: &Checks<'_>, instrument: ThingId, dc: bool) -> Option<(When, Proof)> {
    let last = stretches(checks, instrument, dc).pop()?;
    (last.after.is_none() && last.ended.is_none()).then_some(last.before)
}

fn stretches(checks: &Checks<'_>, instrument: ThingId, dc: bool) -> Vec<Proven> {
    let of = Subject::Thing(instrument);
    let kind = |mode: Mode| match mode {
        Mode::AcHigh | Mode::AcLow => Some(false),
        Mode::Dc => Some(true),
        Mode::Ohms | Mode::Clamp | Mode::Proximity => None,
    };
    let mut all: Vec<Proven> = Vec::new();
    let mut open: Option<(Proven, Option<ThingId>)> = None;
    for happened in checks.history.among(checks.people.all().chain([instrument])) {
        match &happened.what {
            Happening::Proved(proof) if happened.of == of && kind(proof.mode) == Some(dc) => {
                let good = shown(checks, &proof.figure);
                if let Some((mut stretch, _)) = open.take() {
                    stretch.after = Some((happened.into(), proof.clone(), good));
                    all.push(stretch);
                }
                let before = (happened.into(), proof.clone());
                let stretch = Proven { instrument, dc, before, after: None, ended: None };
                open = good.then(|| (stretch, checks.people.who(happened)));
            }
            Happening::Gone { .. } => {
                if let (Some((stretch, by)), Subject::Thing(person)) = (&mut open, &happened.of)
                    && by.is_none_or(|by| by == *person)
                {
                    stretch.ended.get_or_insert(happened.into());
                }
            }
            _ => {}
        }
    }
    all.extend(open.map(|(stretch, _)| stretch));
    all
}
