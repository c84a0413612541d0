//! The list before power: what has to be so before somebody takes the last lock off. OSHA's order before a circuit is
//! energized again: tests and looks that all is clear, people told, locks off by their owners, people seen to be
//! clear (29 CFR 1910.333(b)(2)(v)). The resistances for a short are common practice; no source is claimed for them.

use std::collections::BTreeSet;

use super::Checks;
use super::dead::Taken;
use super::joint::{Class, Joint, joint_at};
use super::net::{Node, Via};
use super::when::When;
use crate::catalogue::{DeviceGroup, Role};
use crate::job::{Bus, FactRef, Figure, Happening, LoadPoint, Mode, Pair, Place, Purpose, Spot, Subject, ThingId, Tip};

/// What a person ticks off of the list in so many words; noted of the job as [`Happening::Readied`].
pub mod readied {
    /// Everybody concerned knows that power comes back.
    pub const TOLD: &str = "people_told";
    /// Loads and electronics are off or unplugged.
    pub const LOADS_OFF: &str = "loads_off";
    /// Boxes without a cover are guarded.
    pub const COVERS_GUARDED: &str = "guarded";
    /// Ends of which nobody noted where they are were looked at and are capped.
    pub const ENDS_CAPPED: &str = "capped";
}

/// Between what a resistance or a voltage is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Between {
    /// Hot and neutral.
    HotNeutral,
    /// Hot and ground.
    HotGround,
    /// Neutral and ground. Both meet at the service, so that it reads low unless the neutral is lifted there.
    NeutralGround,
    /// Two hots.
    HotHot,
}

/// What is left to do of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Left {
    /// An end that is free and bare, or of which nobody noted where it is.
    End(Tip),
    /// A box without its cover.
    Cover(ThingId),
    /// A lock that is still noted on a source: whose.
    Lock {
        /// The source.
        source: ThingId,
        /// Its owner.
        person: ThingId,
        /// Since when.
        since: When,
    },
}

/// One item of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReadyWhat {
    /// Free ends are capped.
    EndsCapped,
    /// Covers are on, or boxes guarded.
    Covers,
    /// People were told.
    Told,
    /// Loads and electronics are off.
    LoadsOff,
    /// A resistance was read.
    Resistance(Between),
    /// Each lock is off, by its owner.
    LocksOff,
}

/// One item of the list with what stands for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadyItem {
    /// What.
    pub what: ReadyWhat,
    /// It is done, by what was noted since the source went OFF.
    pub done: bool,
    /// What is left of it, or what it was noted in spite of.
    pub left: Vec<Left>,
    /// What was noted for it.
    pub evidence: Vec<FactRef>,
    /// Resistances as read.
    pub taken: Vec<Taken>,
    /// A resistance under the project's policy: it looks like a short. Never said of neutral to ground.
    pub looks_short: bool,
}

impl ReadyItem {
    fn new(what: ReadyWhat) -> Self {
        Self { what, done: false, left: Vec::new(), evidence: Vec::new(), taken: Vec::new(), looks_short: false }
    }
}

/// The list before power for some boxes.
pub(crate) fn before_power(checks: &Checks<'_>, job: ThingId, boxes: &[ThingId]) -> Vec<ReadyItem> {
    let sources: BTreeSet<ThingId> =
        boxes.iter().flat_map(|id| checks.isolation(*id).sources).map(|source| source.id).collect();
    let since = sources.iter().filter_map(|source| checks.hold(*source).off_since).max();
    let readied = Readied::of(checks, job, since);
    let mut list = vec![
        ends(checks, boxes, &readied),
        covers(checks, boxes, &readied),
        noted(ReadyWhat::Told, &readied.told),
        noted(ReadyWhat::LoadsOff, &readied.loads_off),
    ];
    for between in [Between::HotNeutral, Between::HotGround, Between::NeutralGround] {
        list.push(resistance(checks, boxes, since, between));
    }
    list.push(locks(checks, &holders(checks, boxes)));
    list
}

/// Everything that a lock may hang on for these boxes: their sources, and the disconnects before them.
pub(crate) fn holders(checks: &Checks<'_>, boxes: &[ThingId]) -> BTreeSet<ThingId> {
    let sources = boxes.iter().flat_map(|id| checks.isolation(*id).sources);
    sources
        .flat_map(|source| std::iter::once(source.id).chain(source.behind.into_iter().map(|(gate, _)| gate)))
        .collect()
}

/// Loads that metal joins to both spots, in some position of the handles: each shows in a resistance between them.
pub(crate) fn loads_between(checks: &Checks<'_>, pair: &Pair) -> Vec<LoadPoint> {
    let net = &checks.net;
    // What lies behind a breaker is OFF, or another circuit.
    let inside = |via: Via| match via {
        Via::Contact { device, .. } => net.kind(device).is_none_or(|kind| kind.group != DeviceGroup::Overcurrent),
        _ => true,
    };
    let reach = |spot: &Spot| {
        let node = match spot {
            Spot::Tip(tip) => Node::Tip(tip.clone()),
            Spot::Splice(id) => Node::Splice(*id),
            Spot::Terminal { device, terminal } => Node::Point(*device, terminal.clone()),
            Spot::Shell(id) => Node::Shell(*id),
            Spot::Bus { panel, bus } => Node::Bus(*panel, *bus),
            Spot::Other(_) => return BTreeSet::new(),
        };
        net.at(&node).map(|node| net.reach([node], |edge| inside(edge.via))).unwrap_or_default()
    };
    let (one, other) = (reach(&pair.from), reach(&pair.to));
    let mut found = Vec::new();
    let at = |device: ThingId, point: &String| net.at(&Node::Point(device, point.clone()));
    for (device, note) in &net.wiring.devices {
        // What is plugged in lies between the slots that it is plugged into.
        let host = note.plugged_into.get().cloned().flatten();
        for load in net.kind(*device).into_iter().flat_map(|kind| &kind.loads).filter(|load| !load.outlet) {
            let slots = host.as_ref().and_then(|host| {
                let slots = net.kind(host.device)?.loads.iter().find(|slots| slots.id == host.load)?;
                Some((at(host.device, &slots.from), at(host.device, &slots.to)))
            });
            let (Some(from), Some(to)) = slots.unwrap_or((at(*device, &load.from), at(*device, &load.to))) else {
                continue;
            };
            let joins = (one.contains(&from) && other.contains(&to)) || (one.contains(&to) && other.contains(&from));
            if joins && !load.auxiliary {
                found.push(LoadPoint { device: *device, load: load.id.clone() });
            }
        }
    }
    found
}

/// Locks that are still noted on some sources.
pub(crate) fn locks_on(checks: &Checks<'_>, sources: &BTreeSet<ThingId>) -> Vec<Left> {
    let each = sources.iter().flat_map(|source| {
        let locks = checks.hold(*source).locks.into_iter();
        locks.map(|(person, since)| Left::Lock { source: *source, person, since })
    });
    each.collect()
}

/// What was ticked off since the source went OFF.
#[derive(Default)]
struct Readied {
    told: Vec<FactRef>,
    loads_off: Vec<FactRef>,
    guarded: Vec<FactRef>,
    capped: Vec<FactRef>,
}

impl Readied {
    fn of(checks: &Checks<'_>, job: ThingId, since: Option<When>) -> Self {
        let mut all = Self::default();
        let late = |when: When| since.is_none_or(|since| when > since);
        for happened in checks.notes.happened().filter(|happened| late((*happened).into())) {
            match &happened.what {
                Happening::Told(_) => all.told.push(happened.fact),
                Happening::Readied(what) if happened.of == Subject::Thing(job) => match what.as_str() {
                    readied::TOLD => all.told.push(happened.fact),
                    readied::LOADS_OFF => all.loads_off.push(happened.fact),
                    readied::COVERS_GUARDED => all.guarded.push(happened.fact),
                    readied::ENDS_CAPPED => all.capped.push(happened.fact),
                    _ => {}
                },
                _ => {}
            }
        }
        all
    }
}

fn noted(what: ReadyWhat, evidence: &[FactRef]) -> ReadyItem {
    ReadyItem { done: !evidence.is_empty(), evidence: evidence.to_vec(), ..ReadyItem::new(what) }
}

/// A bare end that is noted stays to be done whatever was ticked off; one that nobody noted may be ticked off.
fn ends(checks: &Checks<'_>, boxes: &[ThingId], readied: &Readied) -> ReadyItem {
    let wiring = checks.net.wiring;
    let mut left = Vec::new();
    for tip in boxes.iter().flat_map(|id| checks.joints(*id)).flat_map(|joint| joint.tips) {
        if is_bare(checks, &tip) || wiring.place(&tip).is_none() {
            left.push(Left::End(tip));
        }
    }
    let bare = is_any_bare(checks, &left);
    let done = left.is_empty() || (!bare && !readied.capped.is_empty());
    ReadyItem { done, left, evidence: readied.capped.clone(), ..ReadyItem::new(ReadyWhat::EndsCapped) }
}

/// Noted as free and bare, or an end of a splice that is parted.
fn is_bare(checks: &Checks<'_>, tip: &Tip) -> bool {
    checks.net.wiring.place(tip) == Some(&Place::Loose) || checks.net.parted.contains_key(tip)
}

/// One of these ends is noted as bare.
pub(crate) fn is_any_bare(checks: &Checks<'_>, left: &[Left]) -> bool {
    left.iter().any(|left| matches!(left, Left::End(tip) if is_bare(checks, tip)))
}

fn covers(checks: &Checks<'_>, boxes: &[ThingId], readied: &Readied) -> ReadyItem {
    let mut item = ReadyItem::new(ReadyWhat::Covers);
    for id in boxes {
        let last = checks
            .history
            .of(*id)
            .iter()
            .rfind(|happened| matches!(happened.what, Happening::CoverOff | Happening::CoverOn));
        match last.map(|happened| (&happened.what, happened.fact)) {
            Some((Happening::CoverOff, _)) => item.left.push(Left::Cover(*id)),
            Some((_, fact)) => item.evidence.push(fact),
            None => {}
        }
    }
    item.evidence.extend(&readied.guarded);
    item.done = item.left.is_empty() || !readied.guarded.is_empty();
    item
}

fn locks(checks: &Checks<'_>, sources: &BTreeSet<ThingId>) -> ReadyItem {
    let left = locks_on(checks, sources);
    ReadyItem { done: left.is_empty(), left, ..ReadyItem::new(ReadyWhat::LocksOff) }
}

fn resistance(checks: &Checks<'_>, boxes: &[ThingId], since: Option<When>, between: Between) -> ReadyItem {
    let mut item = ReadyItem::new(ReadyWhat::Resistance(between));
    for id in boxes {
        let joints = checks.joints(*id);
        for happened in checks.history.of(*id).iter().copied() {
            let Happening::Read(reading) = &happened.what else { continue };
            let asked = reading.purpose == Purpose::BeforePower && reading.mode == Mode::Ohms;
            let late = since.is_none_or(|since| When::from(happened) > since);
            let classes = [&reading.pair.from, &reading.pair.to].map(|spot| class(checks, &joints, spot));
            if asked && late && kind(classes) == Some(between) {
                item.taken.push(Taken {
                    when: happened.into(),
                    fact: happened.fact,
                    by: checks.people.who(happened),
                    reading: reading.clone(),
                });
            }
        }
    }
    item.taken.sort_by_key(|taken| taken.when);
    item.evidence = item.taken.iter().map(|taken| taken.fact).collect();
    item.done = !item.taken.is_empty();
    let low = |taken: &Taken| match &taken.reading.figure {
        Figure::Number(ohms) => ohms.to_f64() < checks.policy.looks_short.to_f64(),
        Figure::NoDigits(_) | Figure::OverRange => false,
    };
    item.looks_short = between != Between::NeutralGround && item.taken.last().is_some_and(low);
    item
}

/// What a spot is, by its joint or by its terminal's role.
pub(crate) fn class(checks: &Checks<'_>, joints: &[Joint], spot: &Spot) -> Option<Class> {
    if let Some(joint) = joint_at(&checks.net, joints, spot) {
        return Some(joint.class);
    }
    match spot {
        Spot::Terminal { device, terminal } => Some(match checks.net.role(*device, terminal)? {
            Role::Ground => Class::Ground,
            Role::Neutral | Role::NeutralLoad => Class::Neutral,
            _ => Class::Ungrounded,
        }),
        Spot::Shell(_) | Spot::Bus { bus: Bus::Ground, .. } => Some(Class::Ground),
        Spot::Bus { bus: Bus::Neutral, .. } => Some(Class::Neutral),
        Spot::Bus { .. } => Some(Class::Ungrounded),
        Spot::Tip(_) | Spot::Splice(_) | Spot::Other(_) => None,
    }
}

fn kind(classes: [Option<Class>; 2]) -> Option<Between> {
    let [a, b] = classes;
    Some(match (a?.min(b?), a?.max(b?)) {
        (Class::Ground, Class::Neutral) => Between::NeutralGround,
        (Class::Ground, Class::Ungrounded) => Between::HotGround,
        (Class::Neutral, Class::Ungrounded) => Between::HotNeutral,
        (Class::Ungrounded, Class::Ungrounded) => Between::HotHot,
        _ => return None,
    })
}
