//! A box before it is made up: ends without a place, empty terminals, what each end does.

use std::collections::{BTreeMap, BTreeSet};

use super::Why;
use crate::catalogue::{Catalogue, DeviceGroup, DeviceType, PointForm, Role as Made};
use crate::job::{Colour, Handle, LoadPoint, Place, Promised, Side, ThingId, Tip, Wiring};
use crate::plan::role::{Duty, Evidence, Flow, Role, Roles};
use crate::plan::trace::other_end;
use crate::plan::web::Web;

/// A terminal with nothing on it, or a lead that is nowhere.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Empty {
    pub(super) device: ThingId,
    pub(super) point: String,
    pub(super) made: Made,
    pub(super) lead: bool,
    /// Load points that draw from it.
    pub(super) loads: Vec<LoadPoint>,
}

impl Empty {
    pub(super) fn tip(&self) -> Option<Tip> {
        self.lead.then(|| Tip::Lead { device: self.device, lead: self.point.clone() })
    }
}

/// A box before it is made up.
pub(super) struct Scene<'a> {
    pub(super) wiring: &'a Wiring,
    pub(super) catalogue: &'a Catalogue,
    pub(super) at: ThingId,
    pub(super) metal: bool,
    pub(super) found: bool,
    /// Ends of runs without a place, by letter and number.
    pub(super) free: Vec<Tip>,
    /// Ends of runs with a place.
    pub(super) placed: Vec<Tip>,
    pub(super) empties: Vec<Empty>,
    roles: Roles,
    /// What is taken of ends beyond their roles.
    taken: BTreeMap<Tip, (Role, Why)>,
    /// Load points in the piece of each free end.
    pub(super) far_loads: BTreeMap<Tip, BTreeSet<LoadPoint>>,
}

impl<'a> Scene<'a> {
    /// The box, unless it is a panel or nobody noted it.
    pub(super) fn of(wiring: &'a Wiring, catalogue: &'a Catalogue, at: ThingId) -> Option<Self> {
        let note = wiring.boxes.get(&at)?;
        let kind = note.kind.get().and_then(|kind| catalogue.box_type(kind));
        if note.system.is_said() || kind.is_some_and(|kind| kind.panel) {
            return None;
        }
        let web = Web::of(wiring, catalogue)?;
        let roles = Roles::of_web(&web);
        let mut scene = Self {
            wiring,
            catalogue,
            at,
            metal: kind.is_some_and(|kind| kind.metal),
            found: super::is_found(wiring),
            free: Vec::new(),
            placed: Vec::new(),
            empties: Vec::new(),
            roles,
            taken: BTreeMap::new(),
            far_loads: BTreeMap::new(),
        };
        for (run, side) in wiring.runs_in(at) {
            for wire in scene.wires(run) {
                let tip = Tip::Wire { run, wire, side };
                match wiring.tips.get(&tip).map(|note| &note.place) {
                    Some(place) if place.is_twice() => {}
                    Some(place) if place.is_said() => scene.placed.push(tip),
                    _ if scene.goes_on(&tip) => {}
                    _ => scene.free.push(tip),
                }
            }
        }
        for tip in &scene.free {
            let piece = web.node(tip).and_then(|node| web.number(node)).and_then(|number| web.pieces.get(number));
            let loads = piece.into_iter().flat_map(|piece| &piece.loads).map(|drawn| drawn.load.clone()).collect();
            scene.far_loads.insert(tip.clone(), loads);
        }
        for device in wiring.devices_in(at) {
            scene.empty_points(device);
        }
        scene.taken = super::loops::taken(&scene);
        Some(scene)
    }

    /// Another end says that this one goes on as it.
    fn goes_on(&self, tip: &Tip) -> bool {
        self.placed.iter().any(|other| self.wiring.place(other) == Some(&Place::Through(tip.clone())))
    }

    /// The conductors of a run that are known.
    pub(super) fn wires(&self, run: ThingId) -> Vec<u8> {
        let note = self.wiring.runs.get(&run);
        let wires = note.map(|note| self.catalogue.conductors(note)).unwrap_or_default();
        wires.into_iter().filter_map(|(n, conductor)| conductor.map(|_| n)).collect()
    }

    pub(super) fn kind(&self, device: ThingId) -> Option<&'a DeviceType> {
        self.catalogue.device(self.wiring.devices.get(&device)?.kind.get()?)
    }

    fn empty_points(&mut self, device: ThingId) {
        let Some(kind) = self.kind(device) else { return };
        if matches!(kind.group, DeviceGroup::Overcurrent | DeviceGroup::PlugIn) {
            return;
        }
        // Which terminals are taken is not known while an end is somewhere on the device.
        let vague = self.wiring.tips.values().any(|note| note.place.get() == Some(&Place::SomewhereOn(device)));
        let groups = self.groups(device, kind);
        let used = |point: &str| {
            let lead = Tip::Lead { device, lead: point.to_owned() };
            !self.wiring.ends_on(device, point).is_empty()
                || self.wiring.tips.get(&lead).is_some_and(|n| n.place.is_said())
        };
        let mut empties = Vec::new();
        for group in groups {
            if group.iter().any(|point| used(point)) {
                continue;
            }
            let points = group.iter().filter_map(|id| kind.point(id));
            let mut points = points.filter(|point| matches!(point.form, PointForm::Terminal | PointForm::Lead));
            let Some(point) = points.next().filter(|point| !point.isolated) else { continue };
            if vague && point.role != Made::Ground {
                continue;
            }
            // A load between two hots takes two legs, which nothing here tells apart.
            let between = |load: &crate::catalogue::Load| {
                let to = kind.point(&load.to).map(|point| point.role);
                group.contains(&load.to)
                    || (group.contains(&load.from) && !matches!(to, Some(Made::Neutral | Made::NeutralLoad)))
            };
            if point.role == Made::Hot && kind.loads.iter().any(between) {
                continue;
            }
            let loads = kind.loads.iter().filter(|load| !load.auxiliary && group.contains(&load.from));
            let loads = loads.map(|load| LoadPoint { device, load: load.id.clone() }).collect();
            let lead = point.form == PointForm::Lead;
            empties.push(Empty { device, point: point.id.clone(), made: point.role, lead, loads });
        }
        self.empties.extend(empties);
    }

    /// The points of a device that are one by links that are whole and by joins inside, in catalogue order.
    fn groups(&self, device: ThingId, kind: &DeviceType) -> Vec<Vec<String>> {
        let note = self.wiring.devices.get(&device);
        let whole = |link: &str| note.and_then(|note| note.links.get(link)?.get().copied()).unwrap_or(true);
        let links = kind.links.iter().filter(|(link, _, _)| whole(link)).map(|(_, a, b)| (a, b));
        let joins: Vec<(&String, &String)> = links.chain(kind.joined.iter().map(|(a, b)| (a, b))).collect();
        let mut groups: Vec<Vec<String>> = Vec::new();
        for point in &kind.points {
            let joined = |other: &String| {
                joins.iter().any(|(a, b)| (*a == other && **b == point.id) || (*b == other && **a == point.id))
            };
            match groups.iter_mut().find(|group| group.iter().any(joined)) {
                Some(group) => group.push(point.id.clone()),
                None => groups.push(vec![point.id.clone()]),
            }
        }
        groups
    }

    /// What an end does, with the reason.
    pub(super) fn role(&self, tip: &Tip) -> Option<(&Role, Why)> {
        if let Some((role, why)) = self.taken.get(tip) {
            return Some((role, *why));
        }
        self.noted_role(tip)
    }

    /// The same without what is taken beyond the roles.
    pub(super) fn noted_role(&self, tip: &Tip) -> Option<(&Role, Why)> {
        let role = self.roles.of_end(tip)?;
        let far = other_end(tip).and_then(|other| self.wiring.box_of(&other)).filter(|far| *far != self.at);
        let why = match role.evidence {
            Evidence::Traced => far.map_or(Why::Here, Why::Noted),
            Evidence::Scope => Why::Scope,
            Evidence::Tape => Why::Labels,
            Evidence::Colour if role.duty == Duty::Ground => Why::Grounds,
            Evidence::Colour => Why::Colour,
        };
        Some((role, why))
    }

    pub(super) fn duty(&self, tip: &Tip) -> Option<Duty> {
        self.role(tip).map(|(role, _)| role.duty)
    }

    pub(super) fn flow(&self, tip: &Tip) -> Option<Flow> {
        self.role(tip).and_then(|(role, _)| role.flow)
    }

    /// The colour of an end as it counts: what it was re-marked with, else as seen, else its run's.
    pub(super) fn colour(&self, tip: &Tip) -> Option<Colour> {
        let note = self.wiring.tips.get(tip);
        let remarked = note.and_then(|note| note.remarked.get().copied().flatten());
        let own = note.and_then(|note| note.colour.get().copied());
        let Tip::Wire { run, wire, .. } = tip else { return remarked.or(own) };
        let conductor = self.wiring.runs.get(run).and_then(|note| self.catalogue.conductor(note, *wire));
        remarked.or(own).or(conductor.map(|conductor| conductor.colour))
    }

    pub(super) fn is_white(&self, tip: &Tip) -> bool {
        matches!(self.colour(tip), Some(Colour::White | Colour::Gray))
    }

    pub(super) fn grounds(&self, run: ThingId, wire: u8) -> bool {
        let note = self.wiring.runs.get(&run);
        let conductor = note.and_then(|note| self.catalogue.conductor(note, wire));
        conductor.is_some_and(|conductor| {
            conductor.ground || matches!(conductor.colour, Colour::Bare | Colour::Green | Colour::GreenYellow)
        })
    }

    /// Conductors of a run that are no grounds by their make.
    pub(super) fn insulated(&self, run: ThingId, side: Side) -> Vec<Tip> {
        let wires = self.wires(run).into_iter().filter(|wire| !self.grounds(run, *wire));
        wires.map(|wire| Tip::Wire { run, wire, side }).collect()
    }

    /// The switches that a promise names together with this device; itself where none does.
    pub(super) fn together(&self, device: ThingId) -> BTreeSet<ThingId> {
        let mut all = BTreeSet::from([device]);
        for rule in self.wiring.promises.values() {
            if let Promised::Toggled(handles) = rule
                && handles.iter().any(|handle| handle.device == device)
            {
                all.extend(handles.iter().map(|handle| handle.device));
            }
        }
        all
    }

    /// The switches that were asked for to work one of these loads.
    pub(super) fn workers<'l>(&self, loads: impl IntoIterator<Item = &'l LoadPoint>) -> BTreeSet<Handle> {
        let rules = loads.into_iter().filter_map(|load| self.wiring.promises.get(load));
        rules
            .flat_map(|rule| match rule {
                Promised::Toggled(handles) => handles.iter().cloned().collect::<Vec<_>>(),
                _ => Vec::new(),
            })
            .collect()
    }

    pub(super) fn home(&self, device: ThingId) -> Option<ThingId> {
        self.wiring.devices.get(&device).and_then(|note| note.in_box.get().copied().flatten())
    }
}
