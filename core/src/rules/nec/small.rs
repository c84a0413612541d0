//! Small conductors against the breaker or fuse before them, 240.4(D).

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::edition::Edition;
use super::table;
use crate::catalogue::{DeviceGroup, PointForm, RunForm, area_thousandth_mm2, size_name};
use crate::job::{Colour, Conductor, Decimal, Metal, Place, ThingId, Tip};
use crate::rules::finding::{Amount, Finding, Severity, Unit};
use crate::rules::index::{Index, other_end};
use crate::rules::name;
use crate::words::say;

pub(super) fn check(index: &Index<'_>, edition: Edition) -> Vec<Finding> {
    let protective = index.wiring.devices.keys().filter(|id| is_overcurrent(index, **id));
    protective.flat_map(|id| of_device(index, *id, edition)).collect()
}

/// A breaker or fuse: it stands on a bus.
fn is_overcurrent(index: &Index<'_>, id: ThingId) -> bool {
    index.kind(id).is_some_and(|kind| {
        kind.group == DeviceGroup::Overcurrent && kind.points.iter().any(|point| point.form == PointForm::Stab)
    })
}

/// Its rating in thousandths of an ampere.
fn rating_ma(index: &Index<'_>, id: ThingId) -> Option<i64> {
    let note = index.device(id)?;
    if note.rating.is_said() {
        return note.rating.get()?.in_units(3);
    }
    Decimal::new(i64::from(index.kind(id)?.amperes?), 0).in_units(3)
}

fn metal_key(metal: Metal) -> &'static str {
    match metal {
        Metal::Copper => "copper",
        Metal::Aluminium => "aluminium",
        Metal::CopperCladAluminium => "copper_clad_aluminium",
    }
}

/// What the table says of a conductor.
enum Limit {
    /// At most so many thousandths of an ampere.
    Most(i64),
    /// A small conductor that the table does not list.
    Unlisted,
    /// Larger than the table's sizes: its ampacity decides, by another rule.
    Larger,
}

fn limit(conductor: &Conductor, edition: Edition) -> Limit {
    let key = format!("{} {}", metal_key(conductor.metal), conductor.size);
    if let Some(most) = table::small_conductors().row(&key, edition).and_then(|row| row.steps(3)) {
        return Limit::Most(most);
    }
    let rows = table::small_conductors().rows.iter().filter_map(|row| row.id.split_once(' '));
    let largest = rows.filter_map(|(_, size)| area_thousandth_mm2(size)).max();
    match area_thousandth_mm2(&conductor.size) {
        Some(area) if Some(area) > largest => Limit::Larger,
        Some(_) | None => Limit::Unlisted,
    }
}

fn of_device(index: &Index<'_>, id: ThingId, edition: Edition) -> Vec<Finding> {
    let reached = Reach::from(index, id).wires;
    if reached.is_empty() {
        return Vec::new();
    }
    let report = |rule, severity, run: Option<ThingId>, limit: Option<i64>, size: String| {
        finding(index, id, edition, &Said { rule, severity, run, limit, size })
    };
    let Some(rating) = rating_ma(index, id) else {
        return vec![report("rule.small.no_rating", Severity::NotKnown, None, None, String::new())];
    };
    // One finding for each run: its weakest conductor stands for all.
    let mut worst: BTreeMap<ThingId, (i64, Finding)> = BTreeMap::new();
    for (run, wire) in reached {
        let Some(conductor) = index.run(run).and_then(|note| index.catalogue.conductor(note, wire)) else { continue };
        let size = words(&conductor);
        let (rank, found) = match limit(&conductor, edition) {
            Limit::Most(most) if rating > most => {
                (most, report("rule.small.over", Severity::Over, Some(run), Some(most), size))
            }
            Limit::Unlisted => (i64::MAX, report("rule.small.unlisted", Severity::NotKnown, Some(run), None, size)),
            Limit::Most(_) | Limit::Larger => continue,
        };
        if worst.get(&run).is_none_or(|(other, _)| rank < *other) {
            worst.insert(run, (rank, found));
        }
    }
    worst.into_values().map(|(_, finding)| finding).collect()
}

/// "14 AWG copper".
fn words(conductor: &Conductor) -> String {
    let metal = say(&format!("rule.metal.{}", metal_key(conductor.metal)), &[]);
    say("rule.name.size_metal", &[("size", &size_name(&conductor.size)), ("metal", &metal)])
}

struct Said {
    rule: &'static str,
    severity: Severity,
    run: Option<ThingId>,
    limit: Option<i64>,
    size: String,
}

fn finding(index: &Index<'_>, breaker: ThingId, edition: Edition, said: &Said) -> Finding {
    let in_run = said.run.and_then(|run| index.run(run));
    let near = in_run.and_then(|run| run.near.in_box.get().copied().flatten());
    let own = index.device(breaker).and_then(|note| note.in_box.get().copied().flatten());
    let in_box = if said.run.is_some() { near } else { own };
    let section = table::small_conductors().rows.first().map_or("", |row| row.section.as_str());
    let amount = |value: i64| Amount::new(value, Unit::Milliampere);
    Finding {
        rule: said.rule,
        severity: said.severity,
        place: said.run.unwrap_or(breaker).into(),
        in_box,
        amount: rating_ma(index, breaker).map(amount),
        limit: said.limit.map(amount),
        citation: edition.cite(section),
        fill: vec![
            ("where", name::r#box(index, in_box)),
            ("run", said.run.map(|run| name::run(index, run)).unwrap_or_default()),
            ("size", said.size.clone()),
            ("breaker", name::device(index, breaker)),
        ],
    }
}

/// A step of the walk from a breaker.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Step {
    Tip(Tip),
    Point(ThingId, String),
}

/// The conductors that a breaker protects: from its load terminals on through splices, terminals, links and switches
/// in any position, up to the loads and the next overcurrent device. Grounds are left out, and flexible cords, which
/// 240.5 speaks of.
struct Reach<'a, 'i> {
    index: &'i Index<'a>,
    seen: BTreeSet<Step>,
    open: VecDeque<Step>,
    wires: BTreeSet<(ThingId, u8)>,
}

impl<'a, 'i> Reach<'a, 'i> {
    fn from(index: &'i Index<'a>, breaker: ThingId) -> Self {
        let mut reach = Self { index, seen: BTreeSet::new(), open: VecDeque::new(), wires: BTreeSet::new() };
        for point in index.kind(breaker).into_iter().flat_map(|kind| &kind.points) {
            if point.form == PointForm::Terminal && point.role == crate::catalogue::Role::Load {
                reach.step(Step::Point(breaker, point.id.clone()));
            }
        }
        reach.landed_by_feed(breaker);
        while let Some(step) = reach.open.pop_front() {
            match step {
                Step::Tip(tip) => reach.tip(&tip),
                Step::Point(device, point) => reach.point(device, &point, device == breaker),
            }
        }
        reach
    }

    fn step(&mut self, step: Step) {
        if self.seen.insert(step.clone()) {
            self.open.push_back(step);
        }
    }

    /// Runs that are said to come from the breaker without anybody having noted which conductor is on it: all that
    /// are neither grounds nor, by their colour, neutrals.
    fn landed_by_feed(&mut self, breaker: ThingId) {
        for (run, side) in self.index.fed_by.get(&breaker).cloned().unwrap_or_default() {
            let Some(note) = self.index.run(run) else { continue };
            for (wire, conductor) in self.index.catalogue.conductors(note) {
                let tip = Tip::Wire { run, wire, side };
                let hot =
                    conductor.is_some_and(|wire| !wire.ground && !matches!(wire.colour, Colour::White | Colour::Gray));
                if hot && self.index.wiring.place(&tip).is_none() {
                    self.step(Step::Tip(tip));
                }
            }
        }
    }

    fn tip(&mut self, tip: &Tip) {
        if let Tip::Wire { run, wire, .. } = tip {
            let Some(note) = self.index.run(*run) else { return };
            if self.index.catalogue.conductor(note, *wire).is_some_and(|conductor| conductor.ground) {
                return;
            }
            let kind = note.kind.get().and_then(|kind| self.index.catalogue.run(kind));
            if kind.is_none_or(|kind| kind.form != RunForm::Cord) {
                self.wires.insert((*run, *wire));
            }
        }
        if let Some(other) = other_end(tip) {
            self.step(Step::Tip(other));
        }
        if let Tip::Lead { device, lead } = tip {
            self.step(Step::Point(*device, lead.clone()));
        }
        if let Some(on) = self.index.through.get(tip).copied() {
            self.step(Step::Tip(on.clone()));
        }
        match self.index.wiring.place(tip) {
            Some(Place::Splice(splice)) => {
                for end in self.index.in_splice.get(splice).cloned().unwrap_or_default() {
                    self.step(Step::Tip(end.clone()));
                }
            }
            Some(Place::Terminal { device, terminal, .. }) => self.step(Step::Point(*device, terminal.clone())),
            _ => {}
        }
    }

    fn point(&mut self, device: ThingId, point: &str, is_start: bool) {
        if !is_start && is_overcurrent(self.index, device) {
            return; // the next overcurrent device protects what follows
        }
        let on = self.index.on_device.get(&device).into_iter().flatten();
        let here: Vec<Tip> = on.filter(|on| on.terminal == Some(point)).map(|on| on.tip.clone()).collect();
        for tip in here {
            self.step(Step::Tip(tip));
        }
        if is_start {
            return;
        }
        let lead = Tip::Lead { device, lead: point.to_owned() };
        if self.index.wiring.tips.contains_key(&lead) {
            self.step(Step::Tip(lead));
        }
        for other in self.connected(device, point) {
            self.step(Step::Point(device, other));
        }
    }

    /// Points that a device connects with `point` in any position. A link counts as whole until it is noted broken.
    fn connected(&self, device: ThingId, point: &str) -> Vec<String> {
        let (Some(kind), Some(note)) = (self.index.kind(device), self.index.device(device)) else { return Vec::new() };
        let whole = |link: &str| note.links.get(link).is_none_or(|whole| whole.or(true));
        let links = kind.links.iter().filter(|(link, _, _)| whole(link)).map(|(_, a, b)| (a, b));
        let joined = kind.joined.iter().map(|(a, b)| (a, b));
        let positions = kind.switches.iter().flat_map(|switch| &switch.positions);
        let switched = positions.flat_map(|position| &position.connects).map(|(a, b)| (a, b));
        let pairs = links.chain(joined).chain(switched);
        let across = pairs.filter_map(|(a, b)| match point {
            _ if a == point => Some(b.clone()),
            _ if b == point => Some(a.clone()),
            _ => None,
        });
        across.collect()
    }
}
