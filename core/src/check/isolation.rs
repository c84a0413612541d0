//! What can make a box live, and how each of it is held. Found by connectivity over the wiring as it stands, in any
//! position of any switch, and by what people noted.
//!
//! Every worker has a lock of their own (29 CFR 1910.147(f)(3) for groups; 1910.333(b)(2) and 1926.417 for electrical
//! work; NFPA 70E-2021 120.4). The program never infers that a source is held: somebody noted it.

use std::collections::{BTreeMap, BTreeSet};

use super::joint::{Class, joints};
use super::net::{Net, Node, Via, is_source};
use super::when::{History, When};
use crate::catalogue::DeviceGroup;
use crate::job::value::SupplyKind;
use crate::job::{Happened, Happening, Held, Side, Spot, Stamp, SupplyNote, ThingId, Tip};

/// What sort of source it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SourceKind {
    /// A breaker or fuse of a panel.
    Breaker,
    /// Another supply; `None`: nobody said of which kind.
    Supply(Option<SupplyKind>),
    /// Something that was noted as a source and is of no kind that feeds.
    Other,
}

/// Why it counts as a source of the box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// The wiring leads there, in some position of the switches.
    Wired,
    /// Somebody noted that it does, here or in a box that the wiring leads to.
    Noted,
    /// It shares a neutral with a source that reaches the box, or its neutral is in the box: the other leg.
    SharedNeutral,
    /// It is at the site and nobody noted where it leads.
    NotKnown,
}

/// How a source stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SourceState {
    /// OFF, with at least one lock on it.
    Locked,
    /// OFF, nobody's lock on it.
    Off,
    /// Staying ON, guarded.
    Guarded,
    /// ON.
    On,
    /// Nobody said.
    NotKnown,
}

/// How a source is held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    /// How it stands.
    pub state: SourceState,
    /// Since when it stands so; `None`: nobody ever said anything of it.
    pub since: Option<When>,
    /// Since when it is OFF, locked or not.
    pub off_since: Option<When>,
    /// Locks on it: whose, and since when.
    pub locks: BTreeMap<ThingId, When>,
    /// Since when there was at least one lock on it without a break.
    pub locked_since: Option<When>,
}

/// One source of a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The breaker, fuse or supply.
    pub id: ThingId,
    /// Its kind.
    pub kind: SourceKind,
    /// Why it counts.
    pub reach: Reach,
    /// How it is held.
    pub hold: Hold,
    /// Disconnects that it goes through on every way to the box, with their holds: each holds it as well.
    pub behind: Vec<(ThingId, Hold)>,
}

impl Source {
    /// The moment since when this person's lock holds it, at the source or at a disconnect before the box.
    pub fn held_by(&self, person: ThingId) -> Option<When> {
        self.holds().filter_map(|hold| hold.locks.get(&person)).min().copied()
    }

    /// The moment since when somebody's lock held it without a break.
    pub fn locked_since(&self) -> Option<When> {
        self.holds().filter_map(|hold| hold.locked_since).min()
    }

    fn holds(&self) -> impl Iterator<Item = &Hold> {
        std::iter::once(&self.hold).chain(self.behind.iter().map(|(_, hold)| hold))
    }
}

/// A conductor in the box of which nobody knows what feeds it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum UnknownFeed {
    /// It leads to where nobody looked, and to no source that is known.
    Spot(Spot),
    /// A run with two hots and one white: the second hot may be the other leg of a shared neutral. Which other
    /// breaker?
    OtherBreaker(ThingId, Side),
}

/// Everything that can make a box live.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Isolation {
    /// The box.
    pub r#box: ThingId,
    /// Its sources, in the order of their names.
    pub sources: Vec<Source>,
    /// What is not known; a dead check cannot count before it is.
    pub unknown: Vec<UnknownFeed>,
    /// It is a panel: the line side stays live whatever is OFF.
    pub panel: bool,
}

impl Isolation {
    /// Sources that this person's lock is not on.
    pub fn not_held_by(&self, person: ThingId) -> Vec<ThingId> {
        self.sources.iter().filter(|source| source.held_by(person).is_none()).map(|source| source.id).collect()
    }

    /// Every source is known, and this person's lock is noted on each.
    pub fn is_held_by(&self, person: ThingId) -> bool {
        !self.panel && self.unknown.is_empty() && self.not_held_by(person).is_empty()
    }

    /// The moment since when every source was locked by somebody without a break; `Err`: one is not.
    pub fn locked_since(&self) -> Result<Option<When>, ThingId> {
        let each = self.sources.iter().map(|source| source.locked_since().ok_or(source.id));
        each.collect::<Result<Vec<_>, _>>().map(|all| all.into_iter().max())
    }

    /// More than one source reaches the box by wire, note or neutral.
    pub fn is_shared(&self) -> bool {
        self.sources.len() > 1
    }
}

/// How a source is held after everything that happened to it, up to and with `until`.
pub(crate) fn hold(history: &History<'_>, source: ThingId, until: Option<Stamp>) -> Hold {
    let mut hold = empty_hold();
    let past = |happened: &&&Happened| until.is_none_or(|until| happened.stamp <= until);
    for happened in history.of(source).iter().take_while(past) {
        step(&mut hold, happened);
    }
    hold
}

pub(crate) fn empty_hold() -> Hold {
    Hold { state: SourceState::NotKnown, since: None, off_since: None, locks: BTreeMap::new(), locked_since: None }
}

/// What one happening makes of a hold.
pub(crate) fn step(hold: &mut Hold, happened: &Happened) {
    let now = When::from(happened);
    let state = match &happened.what {
        Happening::Isolated(Held::Lock(person)) => {
            hold.locks.entry(*person).or_insert(now);
            hold.locked_since.get_or_insert(now);
            SourceState::Locked
        }
        Happening::Isolated(Held::Guarded) => SourceState::Guarded,
        Happening::Isolated(Held::NotKnown) => SourceState::NotKnown,
        Happening::Unlocked(person) => {
            let had = hold.locks.remove(person).is_some();
            match hold.state {
                SourceState::Locked if hold.locks.is_empty() => SourceState::Off,
                _ if had => hold.state.clone(),
                _ => return,
            }
        }
        // A lock keeps a source from being switched on; if somebody says it is ON, the lock holds nothing.
        Happening::Switched { on: true } => SourceState::On,
        Happening::Switched { on: false } if hold.locks.is_empty() => SourceState::Off,
        Happening::Switched { on: false } => SourceState::Locked,
        _ => return,
    };
    if state != SourceState::Locked {
        hold.locked_since = None;
    }
    if matches!(state, SourceState::Locked | SourceState::Off) {
        hold.off_since.get_or_insert(now);
    } else {
        hold.locks.clear();
        hold.off_since = None;
    }
    if state != hold.state {
        hold.since = Some(now);
    }
    hold.state = state;
}

/// Ungrounded parts of the net that hang together in some position, with the sources that feed each.
pub(crate) struct Parts {
    of: BTreeMap<usize, usize>,
    nodes: Vec<BTreeSet<usize>>,
    sources: Vec<BTreeSet<ThingId>>,
    /// For a neutral part: sources whose hots run beside it or return over it.
    returns: BTreeMap<usize, BTreeSet<ThingId>>,
}

impl Parts {
    pub(crate) fn of(net: &Net<'_>) -> Self {
        let mut parts = Self { of: BTreeMap::new(), nodes: Vec::new(), sources: Vec::new(), returns: BTreeMap::new() };
        let is_bus = |node: usize| matches!(net.name(node), Some(Node::Bus(..)));
        let mut seen = vec![false; net.len()];
        for node in 0..net.len() {
            let mut open = vec![node];
            let mut nodes = Vec::new();
            while let Some(node) = open.pop() {
                let Some(seen) = seen.get_mut(node).filter(|seen| !**seen && !is_bus(node)) else { continue };
                *seen = true;
                nodes.push(node);
                open.extend(net.edges_at(node).map(|(next, _)| next));
            }
            if !nodes.is_empty() {
                let nodes: BTreeSet<usize> = nodes.into_iter().collect();
                parts.of.extend(nodes.iter().map(|node| (*node, parts.nodes.len())));
                parts.sources.push(net.sources_in(&nodes));
                parts.nodes.push(nodes);
            }
        }
        parts.find_returns(net);
        parts
    }

    /// A neutral part is a part without a source that has a white in it. The hots that run beside it in one run, or
    /// that a load connects to it, return over it.
    fn find_returns(&mut self, net: &Net<'_>) {
        let mut beside: Vec<BTreeSet<usize>> = Vec::new();
        for run in net.wiring.runs.keys() {
            let tips =
                net.wires(*run).into_iter().map(|wire| Node::Tip(Tip::Wire { run: *run, wire, side: Side::Near }));
            beside.push(tips.filter_map(|tip| self.part(net, &tip)).collect());
        }
        for device in net.wiring.devices.keys() {
            for load in net.kind(*device).into_iter().flat_map(|kind| &kind.loads) {
                let ends = [&load.from, &load.to].map(|point| Node::Point(*device, point.clone()));
                beside.push(ends.iter().filter_map(|end| self.part(net, end)).collect());
            }
        }
        // Many runs share a part: each is looked through once.
        let neutral: BTreeSet<usize> = (0..self.nodes.len()).filter(|part| self.is_neutral(net, *part)).collect();
        for together in beside {
            let fed: BTreeSet<ThingId> =
                together.iter().filter_map(|n| self.sources.get(*n)).flatten().copied().collect();
            for part in together {
                if neutral.contains(&part) {
                    self.returns.entry(part).or_default().extend(fed.iter().copied());
                }
            }
        }
    }

    fn part(&self, net: &Net<'_>, node: &Node) -> Option<usize> {
        self.of.get(&net.at(node)?).copied()
    }

    fn is_neutral(&self, net: &Net<'_>, part: usize) -> bool {
        let fed = self.sources.get(part).is_some_and(|sources| !sources.is_empty());
        let mut tips = self.nodes.get(part).into_iter().flatten().filter_map(|node| match net.name(*node) {
            Some(Node::Tip(tip)) => Some(tip),
            _ => None,
        });
        !fed && tips.clone().any(|tip| net.is_white(tip)) && !tips.any(|tip| net.grounds(tip))
    }

    /// The parts that some nodes are in.
    fn at(&self, nodes: &BTreeSet<usize>) -> BTreeSet<usize> {
        nodes.iter().filter_map(|node| self.of.get(node)).copied().collect()
    }
}

/// Everything that can make a box live, held as it was up to `until`.
pub(crate) fn isolation(
    net: &Net<'_>,
    parts: &Parts,
    history: &History<'_>,
    id: ThingId,
    until: Option<Stamp>,
) -> Isolation {
    let inside = nodes_in(net, id);
    let here = parts.at(&inside);
    let mut found: BTreeMap<ThingId, Reach> = BTreeMap::new();
    let wired: BTreeSet<ThingId> = here.iter().filter_map(|n| parts.sources.get(*n)).flatten().copied().collect();
    found.extend(wired.iter().map(|id| (*id, Reach::Wired)));
    let not_here = noted(net, id, false);
    for source in noted_near(net, parts, &here, id) {
        found.entry(source).or_insert(Reach::Noted);
    }
    for (part, sources) in &parts.returns {
        if here.contains(part) || sources.iter().any(|source| found.contains_key(source) && wired.contains(source)) {
            for source in sources.difference(&not_here) {
                found.entry(*source).or_insert(Reach::SharedNeutral);
            }
        }
    }
    for supply in net.wiring.supplies.keys().filter(|supply| !not_here.contains(supply)) {
        let noted_somewhere = net.wiring.boxes.keys().any(|id| noted(net, *id, true).contains(supply));
        if !noted_somewhere && !net.comes_in(*supply) {
            found.entry(*supply).or_insert(Reach::NotKnown);
        }
    }
    let sources = found.into_iter().map(|(source, reach)| Source {
        id: source,
        kind: kind(net, source),
        reach,
        hold: hold(history, source, until),
        behind: gates(net, &inside, source).into_iter().map(|gate| (gate, hold(history, gate, until))).collect(),
    });
    Isolation { r#box: id, sources: sources.collect(), unknown: unknown(net, parts, id), panel: net.is_panel(id) }
}

/// The sources of each neutral in a box that several return over, each set once.
pub(crate) fn shared_neutrals(net: &Net<'_>, parts: &Parts, id: ThingId) -> Vec<BTreeSet<ThingId>> {
    let here = parts.at(&nodes_in(net, id)).into_iter().filter_map(|part| parts.returns.get(&part));
    let shared: BTreeSet<BTreeSet<ThingId>> = here.filter(|sources| sources.len() > 1).cloned().collect();
    shared.into_iter().collect()
}

/// Every node of a box, conductors that go through it among them.
fn nodes_in(net: &Net<'_>, id: ThingId) -> BTreeSet<usize> {
    let mut nodes = BTreeSet::new();
    for node in 0.. {
        if net.name(node).is_none() {
            break;
        }
        if net.box_of(node) == Some(id) {
            nodes.insert(node);
        }
    }
    nodes
}

/// Sources that were noted to reach a box, or not to.
fn noted(net: &Net<'_>, id: ThingId, reaches: bool) -> BTreeSet<ThingId> {
    let fed = net.wiring.boxes.get(&id).into_iter().flat_map(|note| &note.fed_by);
    // Noted twice, once each way: the careful reading counts.
    let said = fed.flat_map(|note| match note {
        crate::job::Note::Said(fed, _) => vec![fed],
        crate::job::Note::Twice(all) if reaches => all.iter().map(|(fed, _)| fed).collect(),
        _ => Vec::new(),
    });
    said.filter(|fed| fed.reaches == reaches).map(|fed| fed.source).collect()
}

/// Sources noted at this box, and supplies noted at boxes that the wiring leads to from here.
fn noted_near(net: &Net<'_>, parts: &Parts, here: &BTreeSet<usize>, id: ThingId) -> BTreeSet<ThingId> {
    let not_here = noted(net, id, false);
    let mut found = noted(net, id, true);
    for other in net.wiring.boxes.keys().filter(|other| **other != id && !net.is_panel(**other)) {
        let supplies: Vec<_> =
            noted(net, *other, true).into_iter().filter(|id| net.wiring.supplies.contains_key(id)).collect();
        if supplies.is_empty() {
            continue;
        }
        let shared = parts.at(&nodes_in(net, *other)).into_iter().any(|part| {
            let conducts = !parts.nodes.get(part).is_some_and(|nodes| is_ground_part(net, nodes));
            here.contains(&part) && conducts
        });
        if shared {
            found.extend(supplies.into_iter().filter(|supply| !not_here.contains(supply)));
        }
    }
    found
}

fn is_ground_part(net: &Net<'_>, nodes: &BTreeSet<usize>) -> bool {
    nodes.iter().any(|node| match net.name(*node) {
        Some(Node::Tip(tip)) => net.grounds(tip),
        Some(Node::Shell(_)) => true,
        _ => false,
    })
}

fn kind(net: &Net<'_>, source: ThingId) -> SourceKind {
    if let Some(supply) = net.wiring.supplies.get(&source) {
        let SupplyNote { kind, .. } = supply;
        return SourceKind::Supply(kind.get().copied());
    }
    if net.kind(source).is_some_and(is_source) { SourceKind::Breaker } else { SourceKind::Other }
}

/// Disconnects without which a source does not reach these nodes.
fn gates(net: &Net<'_>, nodes: &BTreeSet<usize>, source: ThingId) -> Vec<ThingId> {
    let disconnects = net
        .wiring
        .devices
        .keys()
        .copied()
        .filter(|id| net.kind(*id).is_some_and(|kind| kind.group == DeviceGroup::Overcurrent && !is_source(kind)));
    let reaches = |without: Option<ThingId>| {
        let open = |via: Via| !matches!(via, Via::Contact { device, .. } if Some(device) == without);
        net.sources_in(&net.reach(nodes.iter().copied(), |edge| open(edge.via))).contains(&source)
    };
    let disconnects: Vec<_> = disconnects.collect();
    if disconnects.is_empty() || !reaches(None) {
        return Vec::new();
    }
    disconnects.into_iter().filter(|id| !reaches(Some(*id))).collect()
}

/// Conductors in the box of which nobody knows what feeds them. Once somebody notes a source for the box, what the
/// wiring does not tell counts as told by that note.
fn unknown(net: &Net<'_>, parts: &Parts, id: ThingId) -> Vec<UnknownFeed> {
    if net.is_panel(id) || !noted(net, id, true).is_empty() {
        return Vec::new();
    }
    let mut unknown = BTreeSet::new();
    for joint in joints(net, id).into_iter().filter(|joint| joint.class == Class::Ungrounded) {
        let open = parts.at(&joint.nodes).into_iter().any(|part| is_open(net, parts, id, part));
        if open {
            unknown.insert(UnknownFeed::Spot(joint.spot));
        }
    }
    for (run, side) in net.wiring.runs_in(id) {
        let tips = net.wires(run).into_iter().map(|wire| Tip::Wire { run, wire, side });
        let (white, rest): (Vec<_>, Vec<_>) = tips.filter(|tip| !net.grounds(tip)).partition(|tip| net.is_white(tip));
        let unfed = |tip: &Tip| {
            let part = parts.part(net, &Node::Tip(tip.clone()));
            part.is_some_and(|part| is_open(net, parts, id, part))
        };
        if white.len() == 1 && rest.len() >= 2 && rest.iter().any(unfed) {
            unknown.insert(UnknownFeed::OtherBreaker(run, side));
        }
    }
    unknown.into_iter().collect()
}

/// A part that no known source feeds, that lands on no bar, and that leads to where nobody looked.
fn is_open(net: &Net<'_>, parts: &Parts, here: ThingId, part: usize) -> bool {
    let fed = parts.sources.get(part).is_some_and(|sources| !sources.is_empty());
    let nodes = || parts.nodes.get(part).into_iter().flatten().copied();
    !fed && !nodes().any(|node| is_at_bar(net, node)) && nodes().any(|node| leads_on(net, here, node))
}

/// A conductor's end outside the box of which nobody said where it is: it may lead to a source.
fn leads_on(net: &Net<'_>, here: ThingId, node: usize) -> bool {
    let Some(Node::Tip(tip @ Tip::Wire { .. })) = net.name(node) else { return false };
    let bare = net.edges_at(node).all(|(_, edge)| matches!(edge.via, Via::Run | Via::Inside));
    bare && net.wiring.box_of(tip) != Some(here) && net.wiring.place(tip).is_none()
}

/// An end on a bar of a panel, noted or, as long as nobody noted its landing, assumed by its colour.
fn is_at_bar(net: &Net<'_>, node: usize) -> bool {
    let Some(Node::Tip(tip)) = net.name(node) else { return false };
    let noted = net.edges_at(node).any(|(other, _)| matches!(net.name(other), Some(Node::Bus(..))));
    let at_panel = net.wiring.box_of(tip).is_some_and(|id| net.is_panel(id)) && net.wiring.place(tip).is_none();
    noted || (at_panel && (net.is_white(tip) || net.grounds(tip)))
}
