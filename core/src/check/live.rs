//! The live check: readings and switch trials that the wiring as left calls for. Each is judged by the prediction
//! that its person saw beside it, and never judged again: later wiring or a later version changes nothing.
//!
//! Hot to neutral, hot to ground and neutral to ground at each outlet, and a lamp in every combination of its
//! switches: common practice, worked out from what a receptacle and a switch do. A protective device of class A trips
//! between 4 and 6 mA (UL 943); a low-impedance meter of a few kilohms from hot to ground draws more than that.

use std::collections::{BTreeMap, BTreeSet};

use super::Checks;
use super::dead::Taken;
use super::feed::{behind_sensor, combinations, handles};
use super::net::{Node, Via};
use super::pairs::has_positions;
use super::power::Between;
use super::when::When;
use crate::catalogue::{DeviceGroup, Load, Role};
use crate::job::happening::Trial;
use crate::job::{
    At, FactRef, Figure, Happening, LoadPoint, Mode, Pair, Promised, Purpose, Reading, Spot, Stamp, ThingId,
};
use crate::tell::within;

/// A reading that is called for, with the last one that was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LiveReading {
    /// The outlet.
    pub load: LoadPoint,
    /// Between what.
    pub between: Between,
    /// The two spots; the first is where the lead is clipped.
    pub pair: Pair,
    /// The last reading.
    pub taken: Option<Taken>,
    /// It lies within the prediction that was shown beside it; `None`: not read, or nothing was shown.
    pub agrees: Option<bool>,
    /// A protective device that a low-impedance reading here trips.
    pub trips: Option<ThingId>,
    /// The last reading lies behind a protective device and shows no voltage, at low impedance to ground or where
    /// voltage was worked out: ask whether it tripped, and offer high impedance.
    pub ask_tripped: bool,
}

/// A switch trial with its moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tried {
    /// When.
    pub when: When,
    /// The fact.
    pub fact: FactRef,
    /// By whom, if it is known.
    pub by: Option<ThingId>,
    /// The trial.
    pub trial: Trial,
}

/// A trial that is called for, with the last one that was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LiveTrial {
    /// What is looked at.
    pub load: LoadPoint,
    /// Positions of the handles that feed it.
    pub at: Vec<At>,
    /// The last trial.
    pub tried: Option<Tried>,
    /// It was as worked out when it was shown; `None`: not tried, or nothing was shown.
    pub agrees: Option<bool>,
}

/// What a disagreement was seen by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Observed {
    /// A reading, of a box.
    Reading(ThingId, Taken),
    /// A trial.
    Trial(Tried),
}

/// A reading or a trial that is not as worked out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disagreement {
    /// What was read or seen.
    pub observed: Observed,
    /// When the same point was read or tried again and agreed; `None`: it stands.
    pub ended: Option<When>,
}

/// The live check of some boxes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LiveCheck {
    /// Readings, by device.
    pub readings: Vec<LiveReading>,
    /// Trials, by load point.
    pub trials: Vec<LiveTrial>,
}

impl LiveCheck {
    /// Everything called for was read or tried and agrees.
    pub fn agrees(&self) -> bool {
        let mut all = self.readings.iter().map(|one| one.agrees).chain(self.trials.iter().map(|one| one.agrees));
        all.all(|agrees| agrees == Some(true))
    }
}

/// A reading lies within the prediction that was shown beside it.
pub(crate) fn reading_agrees(reading: &Reading) -> Option<bool> {
    within(&reading.figure, reading.shown.as_ref()?)
}

/// What the wiring calls for once some boxes were worked in: outlets and lamps in them, everything that was
/// promised, and everything that their switches feed. Observations before `since` do not answer.
pub(crate) fn live(checks: &Checks<'_>, boxes: &BTreeSet<ThingId>, since: Option<Stamp>) -> LiveCheck {
    let mut check = LiveCheck::default();
    for (device, note) in &checks.net.wiring.devices {
        let Some(kind) = checks.net.kind(*device) else { continue };
        if matches!(kind.group, DeviceGroup::PlugIn | DeviceGroup::Overcurrent) {
            continue;
        }
        let here = note.in_box.get().copied().flatten().is_some_and(|id| boxes.contains(&id));
        let mut outlets: Vec<BTreeSet<usize>> = Vec::new();
        for load in kind.loads.iter().filter(|load| !load.auxiliary) {
            let point = LoadPoint { device: *device, load: load.id.clone() };
            let turns = turns(checks, *device, load, &point);
            let moved = turns.iter().filter_map(|turn| checks.net.turns.get(*turn)).any(|turn| {
                let device = checks.net.wiring.devices.get(&turn.handle.device);
                device.and_then(|note| note.in_box.get().copied().flatten()).is_some_and(|id| boxes.contains(&id))
            });
            if !(here || moved || promised(checks, &point)) {
                continue;
            }
            let metal = metal(checks, *device, load);
            if load.outlet && !outlets.contains(&metal) {
                check.readings.extend(readings(checks, *device, load, since));
            }
            if !load.outlet || (!turns.is_empty() && !outlets.contains(&metal)) {
                check.trials.extend(trials(checks, &point, &turns, since));
            }
            outlets.push(metal);
        }
    }
    check
}

fn promised(checks: &Checks<'_>, point: &LoadPoint) -> bool {
    checks.net.wiring.promises.get(point).is_some_and(|rule| *rule != Promised::AsFound)
}

/// The metal that an outlet's contacts are one with inside its device: two halves with whole links are read once.
fn metal(checks: &Checks<'_>, device: ThingId, load: &Load) -> BTreeSet<usize> {
    let ends = [&load.from, &load.to].map(|point| Node::Point(device, point.clone()));
    let ends: Vec<usize> = ends.iter().filter_map(|node| checks.net.at(node)).collect();
    checks.net.reach(ends, |edge| edge.via == Via::Device(device))
}

/// The handles that feed a load, by the wiring and by what was promised.
fn turns(checks: &Checks<'_>, device: ThingId, load: &Load, point: &LoadPoint) -> Vec<usize> {
    let from = checks.net.at(&Node::Point(device, load.from.clone()));
    let mut turns: BTreeSet<usize> = handles(&checks.net, &from.into_iter().collect()).into_iter().collect();
    if let Some(Promised::Toggled(handles)) = checks.net.wiring.promises.get(point) {
        let named = checks.net.turns.iter().enumerate().filter(|(_, turn)| handles.contains(&turn.handle));
        turns.extend(named.map(|(n, _)| n));
    }
    turns.into_iter().collect()
}

fn readings(checks: &Checks<'_>, device: ThingId, load: &Load, since: Option<Stamp>) -> Vec<LiveReading> {
    let spot = |point: &String| Spot::Terminal { device, terminal: point.clone() };
    let returns = checks.net.role(device, &load.to);
    let neutral = matches!(returns, Some(Role::Neutral | Role::NeutralLoad));
    let kind = checks.net.kind(device);
    let own = kind.and_then(|kind| kind.points.iter().find(|point| point.role == Role::Ground));
    let ground = load.ground.clone().or_else(|| own.map(|point| point.id.clone()));
    let first = if neutral { Between::HotNeutral } else { Between::HotHot };
    let mut pairs = vec![(first, &load.to, &load.from)];
    if let Some(ground) = &ground {
        pairs.push((Between::HotGround, ground, &load.from));
        pairs.push((if neutral { Between::NeutralGround } else { Between::HotGround }, ground, &load.to));
    }
    let hot = checks.net.at(&Node::Point(device, load.from.clone()));
    let guard = behind_sensor(&checks.net, &hot.into_iter().collect());
    let own_guard = kind
        .and_then(|kind| kind.sensor.as_ref())
        .filter(|sensor| sensor.difference && sensor.after.contains(&load.from));
    let guard = own_guard.map(|_| device).or(guard);
    let each = pairs.into_iter().map(|(between, from, to)| {
        let pair = Pair { from: spot(from), to: spot(to) };
        let taken = last_reading(checks, &pair, since);
        let trips = guard.filter(|_| between == Between::HotGround);
        let zero = taken.as_ref().and_then(|taken| {
            let dark = match &taken.reading.figure {
                Figure::Number(volts) => volts.to_f64().abs() < checks.policy.treat_as_live.to_f64(),
                Figure::NoDigits(shown) => shown == super::NOTHING_LIT,
                Figure::OverRange => false,
            };
            dark.then_some(taken.reading.mode)
        });
        let agrees = taken.as_ref().and_then(|taken| reading_agrees(&taken.reading));
        let ask_tripped = match zero {
            Some(mode) => (trips.is_some() && mode == Mode::AcLow) || (guard.is_some() && agrees == Some(false)),
            None => false,
        };
        LiveReading {
            load: LoadPoint { device, load: load.id.clone() },
            between,
            agrees,
            pair,
            taken,
            trips,
            ask_tripped,
        }
    });
    each.collect()
}

fn same(one: &Pair, other: &Pair) -> bool {
    one == other || (one.from == other.to && one.to == other.from)
}

fn last_reading(checks: &Checks<'_>, pair: &Pair, since: Option<Stamp>) -> Option<Taken> {
    let mut happened =
        checks.history.readings().iter().filter(|happened| since.is_none_or(|since| happened.stamp > since));
    let happened = happened.rfind(|happened| match &happened.what {
        Happening::Read(reading) => {
            let volts = matches!(reading.mode, Mode::AcHigh | Mode::AcLow | Mode::Dc);
            reading.purpose == Purpose::Live && volts && same(&reading.pair, pair)
        }
        _ => false,
    })?;
    let Happening::Read(reading) = &happened.what else { return None };
    let by = checks.people.who(happened);
    Some(Taken { when: When::from(*happened), fact: happened.fact, by, reading: reading.clone() })
}

fn trials(checks: &Checks<'_>, point: &LoadPoint, turns: &[usize], since: Option<Stamp>) -> Vec<LiveTrial> {
    let each = combinations(&checks.net, turns).into_iter().map(|at| {
        let mut happened =
            checks.history.of(point.device).iter().filter(|happened| since.is_none_or(|since| happened.stamp > since));
        let tried = happened.rfind(|happened| match &happened.what {
            Happening::Tried(trial) => trial.load == *point && has_positions(&at, &trial.at),
            _ => false,
        });
        let tried = tried.and_then(|happened| match &happened.what {
            Happening::Tried(trial) => Some(Tried {
                when: When::from(*happened),
                fact: happened.fact,
                by: checks.people.who(happened),
                trial: trial.clone(),
            }),
            _ => None,
        });
        let agrees = tried.as_ref().and_then(|tried| Some(tried.trial.shown? == tried.trial.on));
        LiveTrial { load: point.clone(), at, tried, agrees }
    });
    each.collect()
}

/// What tells two points apart: the pair in either direction, or the load; and the positions.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Point {
    Pair(BTreeSet<Spot>, BTreeSet<At>),
    Load(LoadPoint, BTreeSet<At>),
}

/// Everything that was read or tried live and is not as worked out, in order; those that stand have no end.
pub(crate) fn disagreements(checks: &Checks<'_>) -> Vec<Disagreement> {
    let mut all: Vec<Disagreement> = Vec::new();
    let mut standing: BTreeMap<Point, Vec<usize>> = BTreeMap::new();
    for happened in checks.notes.happened() {
        let when = When::from(happened);
        let by = checks.people.who(happened);
        let (point, agrees, observed) = match &happened.what {
            Happening::Read(reading) if matches!(reading.purpose, Purpose::Live | Purpose::Search) => {
                let spots = BTreeSet::from([reading.pair.from.clone(), reading.pair.to.clone()]);
                let taken = Taken { when, fact: happened.fact, by, reading: reading.clone() };
                let crate::job::Subject::Thing(id) = happened.of else { continue };
                let point = Point::Pair(spots, reading.at.iter().cloned().collect());
                (point, reading_agrees(reading), Observed::Reading(id, taken))
            }
            Happening::Tried(trial) => {
                let tried = Tried { when, fact: happened.fact, by, trial: trial.clone() };
                let point = Point::Load(trial.load.clone(), trial.at.iter().cloned().collect());
                (point, trial.shown.map(|shown| shown == trial.on), Observed::Trial(tried))
            }
            _ => continue,
        };
        match agrees {
            Some(false) => {
                standing.entry(point).or_default().push(all.len());
                all.push(Disagreement { observed, ended: None });
            }
            Some(true) => {
                for n in standing.remove(&point).into_iter().flatten() {
                    if let Some(one) = all.get_mut(n) {
                        one.ended = Some(when);
                    }
                }
            }
            None => {}
        }
    }
    all
}
