//! What is in a noted box, gathered from the wiring for the count of 314.16(B).

use std::collections::{BTreeMap, BTreeSet};

use super::contents::{Contents, Gap, Yoke};
use super::edition::Edition;
use super::fill::loop_length_in_e3;
use crate::catalogue::{BoxType, DeviceType, PointForm, Role, largest};
use crate::job::{BoxNote, Conductor, Place, Side, ThingId, Tip};
use crate::rules::index::Index;

/// Gathers what is in a box.
pub(super) fn contents(index: &Index<'_>, note: &BoxNote, edition: Edition) -> Contents {
    let kind = note.kind.get().and_then(|kind| index.catalogue.box_type(kind));
    let mut gather = Gather { index, edition, out: Contents::default(), passed: BTreeSet::new() };
    gather.fittings(note, kind);
    for (run, side) in index.runs_in.get(&note.id).into_iter().flatten() {
        gather.run(*run, *side);
    }
    for device in index.devices_in.get(&note.id).into_iter().flatten() {
        gather.device(*device);
    }
    let perhaps = index.runs_perhaps_in.get(&note.id).into_iter().flatten();
    gather.out.gaps.extend(perhaps.map(|run| Gap::Run(*run)));
    let perhaps = index.devices_perhaps_in.get(&note.id).into_iter().flatten();
    gather.out.gaps.extend(perhaps.map(|device| Gap::Device(*device)));
    gather.out
}

struct Gather<'a, 'i> {
    index: &'i Index<'a>,
    edition: Edition,
    out: Contents,
    /// Ends that were counted with the end that they go on as.
    passed: BTreeSet<&'a Tip>,
}

fn add(to: &mut BTreeMap<String, u32>, size: &str) {
    *to.entry(size.to_owned()).or_default() += 1;
}

impl Gather<'_, '_> {
    fn fittings(&mut self, note: &BoxNote, kind: Option<&BoxType>) {
        self.out.clamps = note.clamps.get().map(|clamps| *clamps > 0);
        // A box that cannot hold a stud has none unless one is noted.
        let may_hold = kind.is_none_or(|kind| kind.takes_stud) || note.studs.is_twice();
        self.out.stud_types = note.studs.get().copied().or((!may_hold).then_some(0));
        self.out.canopy = note.canopy.get().copied();
    }

    fn run(&mut self, run: ThingId, side: Side) {
        let Some(note) = self.index.run(run) else { return };
        let wires = self.index.catalogue.conductors(note);
        if wires.is_empty() {
            self.out.gaps.push(Gap::Run(run));
        }
        for (wire, conductor) in wires {
            let tip = Tip::Wire { run, wire, side };
            match (conductor, self.index.wiring.place(&tip)) {
                (_, Some(Place::Absent)) => {}
                (Some(conductor), _) => self.conductor(&tip, &conductor),
                (None, _) => self.out.gaps.push(Gap::Wire(tip)),
            }
        }
    }

    fn conductor(&mut self, tip: &Tip, conductor: &Conductor) {
        if self.passed.contains(tip) {
            return;
        }
        let on = self.index.through.get(tip).copied();
        if let Some(on) = on {
            self.passed.insert(on);
        }
        if conductor.ground {
            let set = if self.is_isolated(tip) { &mut self.out.isolated_grounds } else { &mut self.out.grounds };
            set.push(conductor.size.clone());
            return;
        }
        let to = match on {
            None => &mut self.out.conductors,
            Some(on) => match (self.free_in_e3(tip).or_else(|| self.free_in_e3(on)), loop_length_in_e3(self.edition)) {
                (Some(length), Some(limit)) if length < limit => &mut self.out.conductors,
                (Some(_), Some(_)) => &mut self.out.loops,
                _ => &mut self.out.unmeasured,
            },
        };
        add(to, &conductor.size);
    }

    /// Noted free length in thousandths of an inch, for a conductor that passes through: of its loop.
    fn free_in_e3(&self, tip: &Tip) -> Option<i64> {
        self.index.wiring.tips.get(tip)?.free_length.get()?.in_units(3)
    }

    /// Lands on a grounding terminal that is kept apart from its yoke, itself or by a pigtail.
    fn is_isolated(&self, tip: &Tip) -> bool {
        let lands = |tip: &Tip| match self.index.wiring.place(tip) {
            Some(Place::Terminal { device, terminal, .. }) => {
                let kind = self.index.kind(*device);
                kind.and_then(|kind| kind.point(terminal)).is_some_and(|point| point.isolated)
            }
            _ => false,
        };
        let Some((tip, _)) = self.index.wiring.tips.get_key_value(tip) else { return false };
        let by_pigtail = |other: &Tip| {
            self.index.is_pigtail(other) && crate::rules::index::other_end(other).is_some_and(|far| lands(&far))
        };
        lands(tip) || self.index.spliced_with(tip).any(by_pigtail)
    }

    fn device(&mut self, device: ThingId) {
        let Some(kind) = self.index.kind(device) else {
            self.out.gaps.push(Gap::Device(device));
            return;
        };
        if kind.terminal_block {
            self.out.blocks.push(self.largest_on(device, kind));
        } else if kind.yokes > 0 {
            let size = self.largest_on(device, kind);
            self.out.yokes.push(Yoke { device: Some(device), gangs: kind.yoke_gangs(), size });
        } else {
            self.leads(device, kind);
        }
    }

    /// The largest conductor connected to a device, by its terminals or spliced to its leads. Grounds do not set it:
    /// the paragraph speaks of what the yoke's device is fed with, and a ground is never the larger one in a cable.
    fn largest_on(&self, device: ThingId, kind: &DeviceType) -> Option<String> {
        let on = self.index.on_device.get(&device).into_iter().flatten().map(|on| on.tip);
        let leads = kind.points.iter().filter(|point| point.form == PointForm::Lead);
        let leads = leads.map(|point| Tip::Lead { device, lead: point.id.clone() });
        let known = leads.filter_map(|lead| self.index.wiring.tips.get_key_value(&lead)).map(|(lead, _)| lead);
        let spliced: Vec<&Tip> = known.flat_map(|lead| self.index.spliced_with(lead)).collect();
        let conductors = on.chain(spliced).filter_map(|tip| self.index.conductor(tip));
        let sizes: Vec<String> = conductors.filter(|wire| !wire.ground).map(|wire| wire.size).collect();
        largest(sizes.iter().map(String::as_str)).map(str::to_owned)
    }

    /// Leads of a device without a yoke come into the box from outside it.
    fn leads(&mut self, device: ThingId, kind: &DeviceType) {
        for point in kind.points.iter().filter(|point| point.form == PointForm::Lead) {
            let tip = Tip::Lead { device, lead: point.id.clone() };
            if self.index.wiring.place(&tip) == Some(&Place::Absent) {
                continue;
            }
            match &point.size {
                Some(size) if point.role == Role::Ground => self.out.fixture_grounds.push(size.clone()),
                Some(size) => add(&mut self.out.fixture_wires, size),
                None => self.out.gaps.push(Gap::Wire(tip)),
            }
        }
    }
}
