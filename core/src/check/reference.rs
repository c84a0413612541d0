//! Which spots of a box are shown to be real references. A meter between two dead things reads nothing whatever the
//! rest does, so a reference has to have shown a live reading once: this box's own hot before its breaker went OFF,
//! or a known hot from elsewhere. That the reference ground itself is to be shown real is common practice; no
//! published rule was found for it.

use super::Checks;
use super::isolation::Isolation;
use super::joint::{Class, Joint, joint_at};
use super::when::{Order, When, order};
use crate::job::{
    FactRef, FieldKind, Figure, Happened, Happening, Layer, Mode, Purpose, Reading, Spot, Stamp, Subject, ThingId,
};

/// A spot that was shown to be a real reference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reference {
    /// The spot: a joint's, or an independent one in words.
    pub spot: Spot,
    /// When it was read live.
    pub when: When,
    /// The reading.
    pub fact: FactRef,
}

/// The references of a box that stand for a check that was asked then and read until then, or for one that would be
/// asked now.
pub(crate) fn references(
    checks: &Checks<'_>,
    id: ThingId,
    joints: &[Joint],
    isolation: &Isolation,
    asked: Option<(When, Option<Stamp>)>,
) -> Vec<Reference> {
    let mut found: Vec<Reference> = Vec::new();
    for happened in checks.history.readings().iter().copied() {
        let Some(reading) = live_reading(checks, happened) else { continue };
        if asked.is_some_and(|(asked, _)| asked.wall.day() != happened.wall.day()) {
            continue; // shown on another day: much may have happened to it since
        }
        for (spot, other) in [(&reading.pair.from, &reading.pair.to), (&reading.pair.to, &reading.pair.from)] {
            let Some(spot) =
                shown(checks, id, joints, (isolation, asked.and_then(|(_, last)| last)), happened, (spot, other))
            else {
                continue;
            };
            found.retain(|known| known.spot != spot);
            found.push(Reference { spot, when: happened.into(), fact: happened.fact });
        }
    }
    found
}

/// A reading that shows a live source between its two spots.
fn live_reading<'h>(checks: &Checks<'_>, happened: &'h Happened) -> Option<&'h Reading> {
    let Happening::Read(reading) = &happened.what else { return None };
    let purpose = matches!(reading.purpose, Purpose::Reference | Purpose::Live | Purpose::Search);
    let volts = matches!(reading.mode, Mode::AcHigh | Mode::AcLow);
    let live = match &reading.figure {
        Figure::Number(volts) => volts.to_f64().abs() >= checks.policy.reference_live.to_f64(),
        // A tester without digits that indicated something; see `NOTHING_LIT`.
        Figure::NoDigits(shown) => !shown.is_empty() && shown != super::dead::NOTHING_LIT,
        Figure::OverRange => false,
    };
    (purpose && volts && live).then_some(reading)
}

/// The spot as a reference of this box, if the reading shows it to be one.
fn shown(
    checks: &Checks<'_>,
    id: ThingId,
    joints: &[Joint],
    (isolation, last): (&Isolation, Option<Stamp>),
    happened: &Happened,
    (spot, other): (&Spot, &Spot),
) -> Option<Spot> {
    if let (Spot::Other(_), Spot::Other(_)) = (spot, other) {
        return Some(spot.clone()); // an independent ground against a known hot, both elsewhere
    }
    if happened.of != Subject::Thing(id) {
        return None;
    }
    let joint = joint_at(&checks.net, joints, spot);
    let elsewhere = matches!(other, Spot::Other(_));
    let before_off = match isolation.locked_since() {
        Ok(Some(off)) => order(happened.into(), off) == Order::Before,
        Ok(None) => false, // nothing feeds it, so that nothing in it was live
        Err(_) => true,    // not OFF yet: what is live now is live before
    };
    if let Spot::Other(_) = spot {
        return before_off.then(|| spot.clone());
    }
    let joint = joint?;
    let plain = joint.class != Class::Ungrounded && (elsewhere || before_off);
    (plain && !changed(checks, joint, happened.stamp, last)).then(|| joint.spot.clone())
}

/// The joint was parted or made up anew after the reading and before the last reading of the check.
fn changed(checks: &Checks<'_>, joint: &Joint, since: Stamp, last: Option<Stamp>) -> bool {
    let between = |stamp: Stamp| stamp > since && last.is_none_or(|last| stamp < last);
    joint.tips.iter().any(|tip| {
        if let Some(splice) = checks.net.parted.get(tip) {
            let parted = checks.history.of(*splice).iter().filter(|happened| happened.what == Happening::Parted);
            return parted.into_iter().any(|happened| between(happened.stamp));
        }
        let of = Subject::Tip(tip.clone());
        let Layer::Left(_) = checks.net.wiring.layer else { return false };
        let said = checks.notes.current(&of, &FieldKind::Place.into(), checks.net.wiring.layer);
        said.iter().filter_map(|said| checks.notes.stamp_of(&said.fact.entry)).any(between)
    })
}
