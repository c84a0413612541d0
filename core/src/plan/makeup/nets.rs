//! The nets of a box: which ends, terminals and leads belong together.

use std::collections::{BTreeMap, BTreeSet};

use super::net::Net;
use super::scene::{Empty, Scene};
use super::{Target, What, Why};
use crate::catalogue::{ConnectorForm, DeviceGroup, PointForm, Role as Made};
use crate::job::{Handle, Landing, Place, Promised, ThingId, Tip};
use crate::plan::role::{Duty, Flow};

/// What is chosen where two ways are right.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Choice {
    /// What goes onward is protected by the protective device of the box.
    pub(super) protect: bool,
    /// Two neutrals that nothing else needs go through.
    pub(super) through: bool,
    /// The form of connector that a person asks for, where one of it takes the count.
    pub(super) form: Option<ConnectorForm>,
}

/// The nets of a box, and pairs of travelers with the terminals that they go to.
#[derive(Debug, Default)]
pub(super) struct Nets {
    pub(super) made: Vec<Net>,
    pub(super) travelers: Vec<(Tip, Empty, Why)>,
    /// Travelers that pass through the box from cable to cable.
    pub(super) passing: Vec<(Tip, Tip, Why)>,
    /// Ends that lead to something that is known to be capped or not there.
    pub(super) ended: Vec<Tip>,
}

/// A net of the box being put together.
pub(super) struct Weaver<'s, 'a> {
    scene: &'s Scene<'a>,
    choice: Choice,
    /// Breakers of each run.
    breakers: BTreeMap<ThingId, BTreeSet<ThingId>>,
    /// Every breaker of the box.
    all: BTreeSet<ThingId>,
    grounds: Net,
    neutrals: Vec<Net>,
    hots: Vec<Net>,
    legs: Vec<Net>,
    protected: Vec<Net>,
    done: Nets,
}

fn run_of(tip: &Tip) -> Option<ThingId> {
    match tip {
        Tip::Wire { run, .. } => Some(*run),
        Tip::Lead { .. } => None,
    }
}

impl<'s, 'a> Weaver<'s, 'a> {
    pub(super) fn nets(scene: &'s Scene<'a>, choice: Choice) -> Nets {
        let mut breakers: BTreeMap<ThingId, BTreeSet<ThingId>> = BTreeMap::new();
        for tip in scene.free.iter().chain(&scene.placed) {
            if let (Some(run), Some(breaker)) = (run_of(tip), scene.role(tip).and_then(|(role, _)| role.breaker)) {
                breakers.entry(run).or_default().insert(breaker);
            }
        }
        let all = breakers.values().flatten().copied().collect();
        let mut weaver = Self {
            scene,
            choice,
            breakers,
            all,
            grounds: Net::new(What::Grounds),
            neutrals: Vec::new(),
            hots: Vec::new(),
            legs: Vec::new(),
            protected: Vec::new(),
            done: Nets::default(),
        };
        weaver.what_is_there();
        weaver.outputs();
        weaver.free_ends();
        weaver.empty_points();
        weaver.travelers();
        weaver.lone_common();
        weaver.leftovers();
        weaver.finish()
    }

    /// The circuit of an end: none where the box has one alone. `Err`: it is not known which.
    fn circuit(&self, tip: &Tip, neutral: bool) -> Result<Option<ThingId>, ()> {
        if self.all.len() <= 1 {
            return Ok(None);
        }
        let own = self.scene.role(tip).and_then(|(role, _)| role.breaker);
        let run = run_of(tip).and_then(|run| self.breakers.get(&run));
        let only = run.filter(|run| run.len() == 1).and_then(|run| run.first().copied());
        match (own.or(only), run) {
            (Some(breaker), _) if neutral => Ok(Some(self.shares(breaker))),
            (Some(breaker), _) => Ok(Some(breaker)),
            // One neutral for several breakers of its cable: they share it (210.4).
            (None, Some(run)) if neutral && self.only_neutral(tip) => {
                run.first().map(|breaker| Some(self.shares(*breaker))).ok_or(())
            }
            _ => Err(()),
        }
    }

    fn only_neutral(&self, tip: &Tip) -> bool {
        let ends = self.scene.free.iter().chain(&self.scene.placed).filter(|other| run_of(other) == run_of(tip));
        ends.filter(|other| self.scene.duty(other) == Some(Duty::Neutral)).count() == 1
    }

    /// The first of the breakers that share a neutral with this one.
    fn shares(&self, breaker: ThingId) -> ThingId {
        let mut all = BTreeSet::from([breaker]);
        loop {
            let with = self.breakers.values().filter(|run| run.len() > 1 && run.iter().any(|one| all.contains(one)));
            let more: BTreeSet<ThingId> = with.flatten().copied().collect();
            if more.is_subset(&all) {
                return all.first().copied().unwrap_or(breaker);
            }
            all.extend(more);
        }
    }

    /// The circuit of a device: that of what is on it already.
    fn device_circuit(&self, device: ThingId) -> Result<Option<ThingId>, ()> {
        if self.all.len() <= 1 {
            return Ok(None);
        }
        let on = self.scene.wiring.tips.iter().filter(|(tip, note)| {
            let lead = matches!(tip, Tip::Lead { device: of, .. } if *of == device);
            lead || matches!(note.place.get(), Some(Place::Terminal { device: of, .. }) if *of == device)
        });
        let breakers: BTreeSet<ThingId> =
            on.filter_map(|(tip, _)| self.scene.role(tip).and_then(|(role, _)| role.breaker)).collect();
        match breakers.len() {
            1 => Ok(breakers.first().copied()),
            _ => Err(()),
        }
    }

    fn of_circuit(nets: &mut Vec<Net>, what: What, circuit: Option<ThingId>) -> &mut Net {
        let place = nets.iter().position(|net| net.what == what && net.circuit == circuit).unwrap_or_else(|| {
            nets.push(Net { circuit, ..Net::new(what) });
            nets.len() - 1
        });
        #[allow(clippy::indexing_slicing, reason = "the place was just found or made")]
        &mut nets[place]
    }

    /// Splices that are noted, ends under terminals, ends that go through.
    fn what_is_there(&mut self) {
        let wiring = self.scene.wiring;
        for splice in wiring.splices_in(self.scene.at) {
            let ends: Vec<Tip> = wiring.ends_in(splice).into_iter().cloned().collect();
            let told = ends.iter().find_map(|tip| Some((tip, self.scene.role(tip)?.0.clone())));
            if let Some((tip, role)) = told {
                self.note_there(tip, &role, Some(splice), None);
            }
        }
        for tip in self.scene.placed.clone() {
            let Some(role) = self.scene.role(&tip).map(|(role, _)| role.clone()) else { continue };
            match wiring.place(&tip) {
                Some(Place::Terminal { device, terminal, .. }) => {
                    let target = Target::Terminal { device: *device, terminal: terminal.clone() };
                    self.note_there(&tip, &role, None, Some((tip.clone(), Some(target))));
                }
                Some(Place::Shell(id)) => {
                    self.note_there(&tip, &role, None, Some((tip.clone(), Some(Target::Shell(*id)))));
                }
                Some(Place::Through(other)) => {
                    for end in [tip.clone(), other.clone()] {
                        self.note_there(&tip, &role, None, Some((end, None)));
                    }
                }
                _ => {}
            }
        }
    }

    fn note_there(
        &mut self,
        tip: &Tip,
        role: &crate::plan::role::Role,
        splice: Option<ThingId>,
        direct: Option<(Tip, Option<Target>)>,
    ) {
        let circuit = self.circuit(tip, role.duty == Duty::Neutral);
        let net = match (role.duty, circuit) {
            (Duty::Ground, _) => &mut self.grounds,
            (Duty::Neutral, Ok(circuit)) => Self::of_circuit(&mut self.neutrals, What::Neutrals, circuit),
            (Duty::ConstantHot, Ok(circuit)) => Self::of_circuit(&mut self.hots, What::ConstantHot, circuit),
            (Duty::SwitchedLeg, _) => {
                let handles = self.workers(tip);
                let device = role.device.filter(|device| self.scene.home(*device) == Some(self.scene.at));
                let net = self.leg(&handles, device);
                net.handles.extend(handles);
                net
            }
            _ => return,
        };
        net.splice = net.splice.or(splice);
        if let Some(direct) = direct
            && !net.direct.contains(&direct)
        {
            net.direct.push(direct);
        }
    }

    /// Handles that an end's leg is worked by: those that were asked for, else those of the switch that it comes from.
    fn workers(&self, tip: &Tip) -> BTreeSet<Handle> {
        let Some((role, _)) = self.scene.role(tip) else { return BTreeSet::new() };
        let far = self.scene.far_loads.get(tip).into_iter().flatten();
        let asked = self.scene.workers(role.loads.iter().chain(far));
        match role.device.filter(|_| asked.is_empty()) {
            Some(device) => self.handles_of(device, None),
            None => asked,
        }
    }

    /// Handles of a device, or those that make one of its points live.
    fn handles_of(&self, device: ThingId, point: Option<&str>) -> BTreeSet<Handle> {
        let switches = self.scene.kind(device).into_iter().flat_map(|kind| &kind.switches);
        let works = switches.filter(|switch| {
            let mut pairs = switch.positions.iter().flat_map(|position| &position.connects);
            point.is_none_or(|point| pairs.any(|(a, b)| a == point || b == point))
        });
        works.map(|switch| Handle { device, switch: switch.id.clone() }).collect()
    }

    /// The leg that these handles work; a new one if there is none. A leg of which nobody knows what works it is the
    /// only one there is.
    fn leg(&mut self, handles: &BTreeSet<Handle>, device: Option<ThingId>) -> &mut Net {
        let fits = |net: &Net| {
            !net.handles.is_disjoint(handles)
                || device.is_some_and(|device| net.handles.iter().any(|handle| handle.device == device))
        };
        let vague = |net: &Net| net.handles.is_empty() || handles.is_empty();
        let place = self.legs.iter().position(fits);
        let place = place.or((self.legs.len() == 1 && self.legs.iter().all(vague)).then_some(0));
        let place = place.unwrap_or_else(|| {
            self.legs.push(Net { handles: handles.clone(), ..Net::new(What::SwitchedLeg) });
            self.legs.len() - 1
        });
        #[allow(clippy::indexing_slicing, reason = "the place was just found or made")]
        &mut self.legs[place]
    }

    /// A leg for every output of a switch with nothing on it.
    fn outputs(&mut self) {
        for empty in self.scene.empties.iter().filter(|empty| empty.made == Made::Switched) {
            let handles = self.handles_of(empty.device, Some(&empty.point));
            let mut net = Net { handles, ..Net::new(What::SwitchedLeg) };
            net.take(empty);
            // What is there already of this leg, in a splice that lost its pigtail.
            match self.legs.iter_mut().find(|leg| !leg.handles.is_disjoint(&net.handles)) {
                Some(leg) => leg.take(empty),
                None => self.legs.push(net),
            }
        }
    }

    fn free_ends(&mut self) {
        for tip in self.scene.free.clone() {
            let Some((role, why)) = self.scene.role(&tip).map(|(role, why)| (role.clone(), why)) else { continue };
            let far = crate::plan::trace::other_end(&tip);
            let ended = far.and_then(|far| self.scene.wiring.place(&far));
            if matches!(ended, Some(Place::Capped | Place::Absent)) {
                self.done.ended.push(tip);
                continue;
            }
            match role.duty {
                Duty::Ground => self.grounds.add(tip, Some(why)),
                Duty::Neutral => {
                    let Ok(circuit) = self.circuit(&tip, true) else { continue };
                    if self.is_protected(&tip) {
                        Self::of_circuit(&mut self.protected, What::ProtectedNeutrals, None).add(tip, Some(why));
                    } else {
                        Self::of_circuit(&mut self.neutrals, What::Neutrals, circuit).add(tip, Some(why));
                    }
                }
                Duty::ConstantHot => {
                    let Ok(circuit) = self.circuit(&tip, false) else { continue };
                    if self.is_protected(&tip) {
                        Self::of_circuit(&mut self.protected, What::ProtectedHot, None).add(tip, Some(why));
                    } else {
                        Self::of_circuit(&mut self.hots, What::ConstantHot, circuit).add(tip, Some(why));
                    }
                }
                Duty::SwitchedLeg => {
                    let handles = self.workers(&tip);
                    self.common_of(&handles, &tip);
                    let device = role.device.filter(|device| self.scene.home(*device) == Some(self.scene.at));
                    self.leg(&handles, device).add(tip, Some(why));
                }
                Duty::Traveler => {}
            }
        }
    }

    /// A leg that goes out from a box with one of the switches that work it comes from that switch's common.
    fn common_of(&mut self, handles: &BTreeSet<Handle>, tip: &Tip) {
        if self.scene.flow(tip) == Some(Flow::In) {
            return;
        }
        let commons = self.scene.empties.iter().filter(|empty| empty.made == Made::Common);
        for empty in commons {
            let own = self.handles_of(empty.device, Some(&empty.point));
            let used = self.legs.iter().any(|leg| {
                let target = Target::Terminal { device: empty.device, terminal: empty.point.clone() };
                leg.commons.contains(&target) || empty.tip().is_some_and(|tip| leg.ends.contains(&tip))
            });
            if !own.is_disjoint(handles) && !used {
                self.leg(handles, Some(empty.device)).take(empty);
            }
        }
    }

    /// The protective device of the box that something onward can be protected by.
    fn guard(&self) -> Option<ThingId> {
        let loads = self.scene.empties.iter().filter(|empty| empty.made == Made::Load);
        let mut guards = loads
            .map(|empty| empty.device)
            .filter(|device| self.scene.kind(*device).is_some_and(|kind| kind.group == DeviceGroup::Protective));
        guards.next()
    }

    fn is_protected(&self, tip: &Tip) -> bool {
        self.choice.protect && self.guard().is_some() && self.scene.flow(tip) == Some(Flow::Out)
    }

    fn empty_points(&mut self) {
        for empty in self.scene.empties.clone() {
            match empty.made {
                Made::Ground => self.grounds.take(&empty),
                Made::Neutral => {
                    if let Ok(circuit) = self.device_circuit(empty.device) {
                        Self::of_circuit(&mut self.neutrals, What::Neutrals, circuit).take(&empty);
                    }
                }
                Made::Line => self.take_hot(&empty),
                Made::Hot => self.take_load(&empty),
                Made::Common => {
                    let used = self.legs.iter().any(|leg| {
                        let target = Target::Terminal { device: empty.device, terminal: empty.point.clone() };
                        leg.commons.contains(&target) || empty.tip().is_some_and(|tip| leg.ends.contains(&tip))
                    });
                    if !used {
                        self.take_hot(&empty);
                    }
                }
                Made::Load | Made::NeutralLoad => {
                    let what = if empty.made == Made::Load { What::ProtectedHot } else { What::ProtectedNeutrals };
                    let guard = self.guard();
                    let net = self.protected.iter_mut().find(|net| net.what == what && !net.ends.is_empty());
                    if let Some(net) = net.filter(|_| Some(empty.device) == guard) {
                        net.take(&empty);
                    }
                }
                Made::Switched | Made::Traveler | Made::Signal => {}
            }
        }
    }

    fn take_hot(&mut self, empty: &Empty) {
        if let Ok(circuit) = self.device_circuit(empty.device) {
            Self::of_circuit(&mut self.hots, What::ConstantHot, circuit).take(empty);
        }
    }

    /// A load's hot: on the leg of what was asked to work it; without such a wish a lamp on the only leg that is there,
    /// and everything else always hot.
    fn take_load(&mut self, empty: &Empty) {
        let handles = self.scene.workers(&empty.loads);
        if !handles.is_empty() {
            self.leg(&handles, None).take(empty);
            return;
        }
        let always = empty.loads.iter().any(|load| self.scene.wiring.promises.get(load) == Some(&Promised::Always));
        let kind = self.scene.kind(empty.device);
        let built_in = kind.is_some_and(|kind| matches!(kind.group, DeviceGroup::Luminaire | DeviceGroup::Load));
        match self.legs.as_mut_slice() {
            [only] if built_in && !always => only.take(empty),
            _ => self.take_hot(empty),
        }
    }

    /// Each pair of travelers onto the terminals of the switch that it leads from.
    fn travelers(&mut self) {
        let free = self.scene.free.iter().filter(|tip| self.scene.duty(tip) == Some(Duty::Traveler));
        let mut by_run: BTreeMap<usize, Vec<Tip>> = BTreeMap::new();
        let runs: Vec<ThingId> = self.scene.wiring.runs_in(self.scene.at).into_iter().map(|(run, _)| run).collect();
        for tip in free {
            let place = runs.iter().position(|run| Some(*run) == run_of(tip)).unwrap_or(usize::MAX);
            by_run.entry(place).or_default().push(tip.clone());
        }
        let mut open: Vec<Vec<Tip>> = Vec::new();
        let mut used: BTreeSet<Empty> = BTreeSet::new();
        for ends in by_run.into_values() {
            match self.pair_for(&ends, &used) {
                Some(points) => {
                    for (tip, empty) in ends.iter().zip(points) {
                        let why = self.scene.role(tip).map_or(Why::Remaining, |(_, why)| why);
                        used.insert(empty.clone());
                        self.done.travelers.push((tip.clone(), empty, why));
                    }
                }
                None => open.push(ends),
            }
        }
        if let [one, two] = open.as_slice()
            && one.len() == two.len()
        {
            for (a, b) in one.iter().zip(two) {
                let why = self.scene.role(a).map_or(Why::Remaining, |(_, why)| why);
                self.done.passing.push((a.clone(), b.clone(), why));
            }
        }
    }

    /// Empty traveler points for the ends of one run: a pair of one device, in its order.
    fn pair_for(&self, ends: &[Tip], used: &BTreeSet<Empty>) -> Option<Vec<Empty>> {
        let other = ends.iter().find_map(|tip| self.scene.role(tip).and_then(|(role, _)| role.device));
        let run = ends.first().and_then(run_of);
        for device in self.scene.wiring.devices_in(self.scene.at) {
            let Some(kind) = self.scene.kind(device) else { continue };
            let fits = other.is_none_or(|other| {
                let together = self.scene.together(device);
                together.contains(&other) || together.len() == 1
            });
            let points: Vec<&str> = kind
                .points
                .iter()
                .filter(|point| point.role == Made::Traveler)
                .map(|point| point.id.as_str())
                .collect();
            for pair in points.chunks(2).filter(|_| fits) {
                let is_pair = |empty: &&Empty| empty.device == device && pair.contains(&empty.point.as_str());
                let empty: Vec<Empty> =
                    self.scene.empties.iter().filter(is_pair).filter(|empty| !used.contains(empty)).cloned().collect();
                // Where one of a pair is on already, the other goes beside it.
                let beside = pair.iter().all(|point| {
                    let on = self.scene.wiring.ends_on(device, point);
                    on.iter().all(|tip| run_of(tip) == run)
                });
                if empty.len() >= ends.len() && beside {
                    return Some(empty);
                }
            }
        }
        None
    }

    /// The empty traveler terminal for an end whose companion in the same run is on the other one of the pair.
    fn beside_its_pair(&self, tip: &Tip) -> Option<Empty> {
        let Tip::Wire { run, side, .. } = tip else { return None };
        let companions = self.scene.insulated(*run, *side);
        let mut devices = companions.iter().filter_map(|other| match self.scene.wiring.place(other) {
            Some(Place::Terminal { device, terminal, .. }) => {
                let point = self.scene.kind(*device)?.point(terminal)?;
                (point.role == Made::Traveler).then_some(*device)
            }
            _ => None,
        });
        let device = devices.next()?;
        let mut left = self.scene.empties.iter().filter(|empty| empty.device == device && empty.made == Made::Traveler);
        match (left.next(), left.next()) {
            (Some(only), None) => Some(only.clone()),
            _ => None,
        }
    }

    /// A leg that goes out from a box with no hot comes from the one common there, whoever works it.
    fn lone_common(&mut self) {
        let unfed = |net: &Net| !net.has_run() && net.commons.len() == 1 && net.targets.is_empty();
        let Some(hot) = self.hots.iter().position(unfed).filter(|_| !self.hots.iter().any(Net::has_run)) else {
            return;
        };
        let scene = self.scene;
        let goes = |net: &Net| {
            net.splice.is_none()
                && net.commons.is_empty()
                && net.targets.is_empty()
                && net.has_run()
                && net.ends.iter().all(|tip| scene.flow(tip) != Some(Flow::In))
        };
        let mut legs = self.legs.iter_mut().filter(|net| goes(net));
        if let (Some(leg), None) = (legs.next(), legs.next()) {
            let net = self.hots.swap_remove(hot);
            leg.commons.extend(net.commons);
            leg.ends.extend(net.ends);
            leg.why.insert(Why::Remaining);
        }
    }

    /// Ends of which nothing tells what they do.
    fn leftovers(&mut self) {
        let left: Vec<Tip> = self.scene.free.iter().filter(|tip| self.scene.duty(tip).is_none()).cloned().collect();
        let mut by_run: BTreeMap<Option<ThingId>, Vec<Tip>> = BTreeMap::new();
        for tip in left {
            by_run.entry(run_of(&tip)).or_default().push(tip);
        }
        let mut single: Vec<Tip> = Vec::new();
        for ends in by_run.into_values() {
            match ends.as_slice() {
                [only] => match self.beside_its_pair(only) {
                    Some(empty) => self.done.travelers.push((only.clone(), empty, Why::Remaining)),
                    None => single.push(only.clone()),
                },
                [one, two] => {
                    let no_travelers = !self.scene.free.iter().any(|tip| self.scene.duty(tip) == Some(Duty::Traveler));
                    let points = self.pair_for(&[one.clone(), two.clone()], &BTreeSet::new());
                    if let (true, Some(points), true) = (no_travelers, points, self.done.travelers.is_empty()) {
                        let pair = ends.iter().cloned().zip(points);
                        self.done.travelers.extend(pair.map(|(tip, empty)| (tip, empty, Why::Remaining)));
                    }
                }
                _ => {}
            }
        }
        let outputs: Vec<usize> = (0..).zip(&self.legs).filter(|(_, leg)| !leg.has_run()).map(|(n, _)| n).collect();
        if let ([tip], [output]) = (single.as_slice(), outputs.as_slice()) {
            if let Some(leg) = self.legs.get_mut(*output) {
                leg.add(tip.clone(), Some(Why::Remaining));
            }
            return;
        }
        if !outputs.is_empty() {
            return; // which of them goes to the switch nobody can tell
        }
        for tip in single {
            let hots = self.hots.iter_mut().filter(|net| net.has_run());
            let mut hots: Vec<&mut Net> = hots.collect();
            let no_hot = hots.is_empty();
            let legs = self.legs.iter_mut().filter(|net| no_hot && net.has_run());
            hots.extend(legs);
            if let [only] = hots.as_mut_slice() {
                only.add(tip, Some(Why::OnlyHot));
            } else if let ([net], true) = (self.hots.as_mut_slice(), no_hot) {
                net.add(tip, Some(Why::Remaining));
            }
        }
    }

    fn finish(mut self) -> Nets {
        let shell = self.scene.wiring.tips.values().any(|note| note.place.get() == Some(&Place::Shell(self.scene.at)));
        if self.scene.metal && !shell && !self.grounds.ends.is_empty() {
            self.grounds.targets.push(Target::Shell(self.scene.at));
        }
        self.grounds.why = BTreeSet::from([Why::Grounds]);
        let mut nets = vec![self.grounds];
        nets.extend(self.neutrals);
        nets.extend(self.hots);
        nets.extend(self.protected);
        nets.extend(self.legs);
        self.done.made = nets;
        self.done
    }
}

/// A device's point takes a conductor under a screw, or else in the first way that it has.
pub(super) fn landing(kind: Option<&crate::catalogue::DeviceType>, terminal: &str) -> Landing {
    let point = kind.and_then(|kind| kind.point(terminal));
    let landings = point.filter(|point| point.form == PointForm::Terminal).map_or(&[][..], |point| &point.landings);
    let first = || landings.first().copied().unwrap_or(Landing::NotSaid);
    if landings.contains(&Landing::Screw) { Landing::Screw } else { first() }
}
