//! The switch table: for every combination of positions, what each load point gets; and whether that is what was
//! promised. It is worked out, never a proof: what was not noted it does not cover, and it says so first.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Handle, LoadPoint, Promised};

use super::build::{Circuit, LoadNode};
use super::connect::{Connectivity, Joined};
use super::group::Group;
use super::hazard::Hazard;
use super::network::{NodeId, State};
use super::point::{Boundary, Positions, Step};
use super::solve::Solver;

/// Most combinations of positions of one group that are worked out. Nine two-way handles have as many.
pub const MOST_COMBINATIONS: u64 = 512;

/// Whether a load point has power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Power {
    /// None.
    Off,
    /// Its rated voltage.
    On,
    /// Too little: behind another load, on one leg of two.
    Weak,
    /// Too much: across two legs.
    Over,
    /// No state that agrees with itself: it hunts on and off.
    Unsettled,
}

/// What a load point gets in one combination of positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gets {
    /// Whether it has power.
    pub power: Power,
    /// Volts RMS across it; across an outlet with nothing in it, as a low-impedance meter reads them.
    pub volts: f64,
    /// False where something at the unknown end of the map could give it power.
    pub seen: bool,
}

/// One combination of positions.
#[derive(Debug, Clone, PartialEq)]
pub struct TableRow {
    /// Positions of the group's handles, in order.
    pub at: Positions,
    /// What each load point of the group gets, in order.
    pub gets: Vec<Gets>,
}

/// The table of handles and load points that matter to one another.
#[derive(Debug, Clone, PartialEq)]
pub struct TableGroup {
    /// The handles.
    pub handles: Vec<Handle>,
    /// Handles of which nobody knows yet what up does. Which row is which is open for them; how many rows are on, and
    /// whether every flip toggles, is the same with either mapping.
    pub unmapped: BTreeSet<Handle>,
    /// The load points.
    pub loads: Vec<LoadPoint>,
    /// The rows; the first handle moves slowest.
    pub rows: Vec<TableRow>,
}

impl TableGroup {
    /// What a load point gets, row by row.
    pub fn column(&self, load: &LoadPoint) -> Option<Vec<Gets>> {
        let place = self.loads.iter().position(|other| other == load)?;
        self.rows.iter().map(|row| row.gets.get(place).copied()).collect()
    }
}

/// What the table does not cover.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum NotCovered {
    /// The map ends here.
    Boundary(Boundary),
    /// So many handles touch one another that their combinations were not worked out.
    TooMany {
        /// The handles.
        handles: Vec<Handle>,
        /// Their combinations.
        combinations: u64,
        /// The load points that are left out.
        loads: Vec<LoadPoint>,
    },
}

/// One combination of positions in which a promise is not kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// The positions.
    pub at: Positions,
    /// What the load point gets.
    pub power: Power,
    /// Whether it should have power.
    pub wanted: bool,
    /// A handle that was promised to toggle it and does not touch it.
    pub idle: Option<Handle>,
    /// The way through terminals and joints: from the bus to the load point where it has power and should not; else
    /// from the load point back to where its conductor ends.
    pub path: Vec<Step>,
}

/// How a promise stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// Kept in every combination.
    AsPromised,
    /// Kept, as far as the map goes.
    AsFarAsSeen,
    /// Not kept.
    Broken(Vec<Breach>),
    /// Kept, but a hazard touches it: nothing is said for it. Numbers of the hazards in their list.
    UnderHazard(Vec<usize>),
    /// The table does not cover it.
    NotCovered,
    /// "As found", and nothing was found to compare with.
    NothingToCompare,
}

/// How the promise to one load point stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// What was promised; "as found" where nothing was said.
    pub promised: Promised,
    /// In how many rows it has power.
    pub lit: usize,
    /// Of how many.
    pub rows: usize,
    /// Which row is which is known for every handle that touches it.
    pub mapped: bool,
    /// How it stands.
    pub outcome: Outcome,
}

/// The switch table of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchTable {
    /// What it does not cover.
    pub not_covered: Vec<NotCovered>,
    /// Its groups.
    pub groups: Vec<TableGroup>,
}

impl SwitchTable {
    /// Works the table out, breakers on, automatic contacts at rest.
    pub fn of(circuit: &Circuit) -> Self {
        let mut not_covered: Vec<NotCovered> = circuit.boundaries.keys().cloned().map(NotCovered::Boundary).collect();
        let solver = Solver::new(&circuit.network);
        let connectivity = Connectivity::new(&circuit.network, &[]);
        let sight = Sight { circuit, solver: &solver, connectivity: &connectivity };
        let mut groups = Vec::new();
        for group in circuit.groups() {
            match circuit.combinations(&group.handles) {
                Ok(states) => groups.push(sight.table(group, &states)),
                Err(combinations) => {
                    let Group { handles, loads } = group;
                    not_covered.push(NotCovered::TooMany { handles, combinations, loads });
                }
            }
        }
        Self { not_covered, groups }
    }

    /// The group of a load point.
    pub fn group_of(&self, load: &LoadPoint) -> Option<&TableGroup> {
        self.groups.iter().find(|group| group.loads.contains(load))
    }

    /// Compares the table with what was promised. `found` is the table of the layer as found, for load points that
    /// were promised nothing else; `hazards` are those of the same circuit.
    pub fn verdicts(
        &self,
        circuit: &Circuit,
        promises: &BTreeMap<LoadPoint, Promised>,
        found: Option<&Self>,
        hazards: &[Hazard],
    ) -> BTreeMap<LoadPoint, Verdict> {
        let points = circuit.loads.iter().filter(|(_, load)| !load.auxiliary).map(|(point, _)| point);
        let judge = Judge { table: self, circuit, found, hazards };
        points
            .map(|point| (point.clone(), judge.verdict(point, promises.get(point).unwrap_or(&Promised::AsFound))))
            .collect()
    }
}

impl Circuit {
    /// Every combination of positions of some handles, the others at rest; or their number if they are too many.
    pub(super) fn combinations(&self, handles: &[Handle]) -> Result<Vec<State>, u64> {
        let nodes: Vec<_> = handles.iter().filter_map(|handle| self.handles.get(handle)).collect();
        let count = nodes.iter().fold(1u64, |n, node| n.saturating_mul(node.positions.len().max(1) as u64));
        if count > MOST_COMBINATIONS {
            return Err(count);
        }
        let switches: Vec<_> = nodes.iter().map(|node| node.switch).collect();
        Ok(self.network.states(&switches, &self.rest()))
    }
}

struct Sight<'a> {
    circuit: &'a Circuit,
    solver: &'a Solver<'a>,
    connectivity: &'a Connectivity<'a>,
}

impl Sight<'_> {
    fn table(&self, group: Group, states: &[State]) -> TableGroup {
        let row = |state: &State| {
            let settled = self.circuit.settle(self.solver, state);
            let joined = self.connectivity.at(state);
            let loads = group.loads.iter().filter_map(|point| self.circuit.loads.get(point));
            let gets = loads.map(|load| self.gets(load, &settled, &joined)).collect();
            let at = group.handles.iter().filter_map(|handle| self.circuit.at(handle, state)).collect();
            TableRow { at, gets }
        };
        let rows = states.iter().map(row).collect();
        let unmapped = |handle: &&Handle| self.circuit.handles.get(*handle).is_some_and(|node| !node.mapped);
        let unmapped = group.handles.iter().filter(unmapped).cloned().collect();
        TableGroup { unmapped, rows, handles: group.handles, loads: group.loads }
    }

    fn gets(&self, load: &LoadNode, settled: &super::settle::Settled<'_>, joined: &Joined) -> Gets {
        let a = &self.circuit.assumptions;
        let solution = &settled.solution;
        // An empty outlet counts by what a loaded meter reads, so that a ghost is not taken for power.
        let volts = match load.element {
            Some(_) => solution.across(load.from, load.to).norm(),
            None => solution.across_burdened(load.from, load.to, a.low_impedance_meter.value).norm(),
        };
        let part = volts / load.volts;
        let power = if !settled.stable {
            Power::Unsettled
        } else if part < a.dead_part.value {
            Power::Off
        } else if part < a.live_low.value {
            Power::Weak
        } else if part <= a.live_high.value {
            Power::On
        } else {
            Power::Over
        };
        let seen = ![load.from, load.to].into_iter().any(|node| self.floats_at_a_boundary(node, joined));
        Gets { power, volts, seen }
    }

    /// Metal ties the node to no bus, and to an end that nobody knows.
    fn floats_at_a_boundary(&self, node: NodeId, joined: &Joined) -> bool {
        let floats = !self.circuit.buses().any(|bus| joined.joined(bus, node));
        floats && self.circuit.boundaries.values().flatten().any(|end| joined.joined(*end, node))
    }
}

struct Judge<'a> {
    table: &'a SwitchTable,
    circuit: &'a Circuit,
    found: Option<&'a SwitchTable>,
    hazards: &'a [Hazard],
}

impl Judge<'_> {
    fn verdict(&self, point: &LoadPoint, promised: &Promised) -> Verdict {
        let promised = promised.clone();
        let Some((group, column)) = self.table.group_of(point).and_then(|g| Some((g, g.column(point)?))) else {
            return Verdict { promised, lit: 0, rows: 0, mapped: false, outcome: Outcome::NotCovered };
        };
        let lit = column.iter().filter(|gets| gets.power != Power::Off).count();
        let wanted = match &promised {
            Promised::Always => Some(vec![true; column.len()]),
            Promised::Never => Some(vec![false; column.len()]),
            Promised::Toggled(handles) => Some(parity(group, &column, handles)),
            Promised::AsFound => self.as_found(point, group),
        };
        let outcome = match wanted {
            None => Outcome::NothingToCompare,
            Some(wanted) => self.outcome(point, group, &column, &wanted, &promised),
        };
        Verdict { promised, lit, rows: column.len(), mapped: group.unmapped.is_empty(), outcome }
    }

    fn outcome(
        &self,
        point: &LoadPoint,
        group: &TableGroup,
        column: &[Gets],
        wanted: &[bool],
        promised: &Promised,
    ) -> Outcome {
        let mut breaches: Vec<Breach> = Vec::new();
        for ((row, gets), wanted) in group.rows.iter().zip(column).zip(wanted) {
            let kept = gets.power == if *wanted { Power::On } else { Power::Off };
            if !kept {
                let path = self.explain(point, row, gets.power);
                let at = row.at.clone();
                breaches.push(Breach { at, power: gets.power, wanted: *wanted, idle: None, path });
            }
        }
        if let (Promised::Toggled(handles), Some(row), Some(gets)) = (promised, group.rows.first(), column.first()) {
            for handle in handles.iter().filter(|handle| !group.handles.contains(handle)) {
                let idle = Some(handle.clone());
                let (at, power) = (row.at.clone(), gets.power);
                breaches.push(Breach { at, power, wanted: power == Power::Off, idle, path: Vec::new() });
            }
        }
        if !breaches.is_empty() {
            return Outcome::Broken(breaches);
        }
        let hazards = self.hazards.iter().enumerate().filter(|(_, hazard)| hazard.loads.contains(point));
        let hazards: Vec<usize> = hazards.map(|(n, _)| n).collect();
        if !hazards.is_empty() {
            return Outcome::UnderHazard(hazards);
        }
        if column.iter().all(|gets| gets.seen) { Outcome::AsPromised } else { Outcome::AsFarAsSeen }
    }

    /// What the layer as found gives in the rows of this one. Handles that only one of the two has are matched with
    /// every position of theirs; unlike powers among them are a breach, shown by wanting what is not there.
    fn as_found(&self, point: &LoadPoint, group: &TableGroup) -> Option<Vec<bool>> {
        let before = self.found?.group_of(point)?;
        let column = before.column(point)?;
        let wanted = |row: &TableRow, now: Power| {
            let matching = before.rows.iter().zip(&column).filter(|(old, _)| {
                old.at.iter().all(|at| row.at.iter().all(|other| other.handle != at.handle || other == at))
            });
            let powers: BTreeSet<bool> = matching.map(|(_, gets)| gets.power != Power::Off).collect();
            let is = now != Power::Off;
            if powers.contains(&!is) { !is } else { is }
        };
        let now = group.column(point)?;
        Some(group.rows.iter().zip(now).map(|(row, gets)| wanted(row, gets.power)).collect())
    }

    fn explain(&self, point: &LoadPoint, row: &TableRow, power: Power) -> Vec<Step> {
        let Some(load) = self.circuit.loads.get(point) else { return Vec::new() };
        let state = self.circuit.state(&row.at, self.circuit.rest());
        let connectivity = Connectivity::new(&self.circuit.network, &[]);
        if power == Power::Off {
            missing(self.circuit, &connectivity, &state, load)
        } else {
            live(self.circuit, &connectivity, &state, load.from)
        }
    }
}

/// What parity wants, in the polarity that disagrees with fewer rows: a promise does not say which way round.
fn parity(group: &TableGroup, column: &[Gets], toggling: &BTreeSet<Handle>) -> Vec<bool> {
    let first: Positions = group.rows.first().map(|row| row.at.clone()).unwrap_or_default();
    let odd = |row: &TableRow| {
        let moved = row.at.iter().zip(&first).filter(|(at, at_first)| at != at_first);
        moved.filter(|(at, _)| toggling.contains(&at.handle)).count() % 2 == 1
    };
    let odd: Vec<bool> = group.rows.iter().map(odd).collect();
    let wrong = |flip: bool| {
        let pairs = odd.iter().zip(column);
        pairs.filter(|(odd, gets)| (gets.power != Power::Off) != (**odd != flip)).count()
    };
    let flip = wrong(true) <= wrong(false);
    odd.into_iter().map(|odd| odd != flip).collect()
}

/// The way from a leg to a node.
pub(super) fn live(circuit: &Circuit, connectivity: &Connectivity<'_>, state: &State, node: NodeId) -> Vec<Step> {
    let legs = circuit.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg));
    let ways = legs.filter_map(|leg| Some((leg, connectivity.path(state, leg, node)?)));
    let shortest = ways.min_by_key(|(_, way)| way.len());
    shortest.map(|(leg, way)| circuit.steps(leg, &way)).unwrap_or_default()
}

/// The way from a load point without power back to where its conductor ends: at an open contact whose other side is
/// tied to the bus that is missing, if there is one, else at the far end of its metal.
fn missing(circuit: &Circuit, connectivity: &Connectivity<'_>, state: &State, load: &LoadNode) -> Vec<Step> {
    let joined = connectivity.at(state);
    let legs: Vec<NodeId> = circuit.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg)).collect();
    let neutrals: Vec<NodeId> = circuit.panels.values().map(|panel| panel.neutral).collect();
    let tied = |node: NodeId, buses: &[NodeId]| buses.iter().any(|bus| joined.joined(*bus, node));
    let (start, wanted) = if tied(load.from, &legs) { (load.to, &neutrals) } else { (load.from, &legs) };
    let open = circuit.network.elements().iter().filter(|e| e.contact.is_some() && !e.present(state));
    let ends = open.flat_map(|e| [(e.from, e.to), (e.to, e.from)]);
    let near = ends.filter(|(here, there)| joined.joined(*here, start) && tied(*there, wanted));
    let ways = near.filter_map(|(here, _)| connectivity.path(state, start, here));
    if let Some(way) = ways.min_by_key(Vec::len) {
        return circuit.steps(start, &way);
    }
    let reach = circuit.network.nodes().filter(|node| joined.joined(*node, start));
    let ways = reach.filter_map(|node| connectivity.path(state, start, node));
    ways.max_by_key(Vec::len).map(|way| circuit.steps(start, &way)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::super::hazard::hazards;
    use super::super::invented::*;
    use super::*;
    use crate::job::{Place, Tip};

    fn toggled(chain: &Chain) -> BTreeMap<LoadPoint, Promised> {
        let handles = chain.switches.iter().map(|switch| handle(*switch)).collect();
        BTreeMap::from([(lamp(chain.lamp), Promised::Toggled(handles))])
    }

    fn verdict(invented: &Invented, promises: &BTreeMap<LoadPoint, Promised>, load: &LoadPoint) -> Verdict {
        let circuit = invented.circuit();
        let table = SwitchTable::of(&circuit);
        let verdicts = table.verdicts(&circuit, promises, None, &hazards(&circuit));
        verdicts.get(load).unwrap().clone()
    }

    /// The parity law of three-way and four-way switching: on in exactly half of the positions, every flip toggles.
    #[test]
    fn two_to_five_switches_light_the_lamp_in_exactly_half_of_the_positions() {
        for count in 2..=5 {
            let chain = chain(count);
            let verdict = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp));
            assert_eq!((verdict.lit, verdict.rows), (1 << (count - 1), 1 << count), "{count} switches");
            assert_eq!(verdict.outcome, Outcome::AsPromised, "{count} switches");
            assert!(!verdict.mapped);
        }
    }

    #[test]
    fn a_promise_to_fewer_handles_is_broken_by_the_others() {
        let chain = chain(3);
        let promises = BTreeMap::from([(
            lamp(chain.lamp),
            Promised::Toggled(BTreeSet::from([handle(chain.switches[0]), handle(chain.switches[2])])),
        )]);
        let Outcome::Broken(breaches) = verdict(&chain.invented, &promises, &lamp(chain.lamp)).outcome else {
            panic!("not broken")
        };
        assert_eq!(breaches.len(), 4);
        assert!(breaches.iter().all(|breach| !breach.path.is_empty()));
    }

    /// The feed and the red traveler exchanged at the first switch: on in one of four positions.
    fn exchanged() -> Chain {
        let mut chain = chain(2);
        let switch = chain.switches[0];
        chain.invented.land(near(chain.travelers[0], RED), switch, "common");
        chain.invented.land(far(chain.feed, BLACK), switch, "traveler_2");
        chain
    }

    #[test]
    fn a_common_and_a_traveler_exchanged_light_the_lamp_in_one_of_four() {
        let mut chain = exchanged();
        // The mapping of both handles learnt so that the one lit position is up, up.
        chain.invented.map(chain.switches[0], "handle", false);
        chain.invented.map(chain.switches[1], "handle", false);
        let circuit = chain.invented.circuit();
        let table = SwitchTable::of(&circuit);
        let load = lamp(chain.lamp);
        assert_eq!(column(&table, &load), [Power::On, Power::Off, Power::Off, Power::Off]);
        let verdict = verdict(&chain.invented, &toggled(&chain), &load);
        assert!(verdict.mapped);
        assert_eq!((verdict.lit, verdict.rows), (1, 4));
        let Outcome::Broken(breaches) = verdict.outcome else { panic!("not broken") };
        let [breach] = breaches.as_slice() else { panic!("one position is wrong: {breaches:?}") };
        assert_eq!(breach.at, [at(chain.switches[0], "down"), at(chain.switches[1], "down")]);
        assert!(breach.wanted && breach.power == Power::Off);
        // The way back from the lamp ends at the switch where the exchange is.
        let last = breach.path.last().unwrap();
        let first_box = Some(chain.boxes[0]);
        assert_eq!(circuit.node(last.to.spot().unwrap()).and_then(|node| circuit.box_of(node)), first_box);
    }

    #[test]
    fn a_broken_traveler_lights_the_lamp_in_one_of_four_too() {
        let mut chain = chain(2);
        chain.invented.put(far(chain.travelers[0], RED), Place::Capped);
        let circuit = chain.invented.circuit();
        let lit = column(&SwitchTable::of(&circuit), &lamp(chain.lamp));
        assert_eq!(lit.iter().filter(|power| **power == Power::On).count(), 1);
    }

    /// A single-pole switch beside a receptacle that is always on, on one circuit.
    fn single_pole() -> (Invented, crate::job::ThingId, crate::job::ThingId, crate::job::ThingId) {
        let mut invented = Invented::new();
        let breaker = invented.breaker("breaker-1p-15", crate::job::Bus::A);
        let (place, ceiling) = (invented.a_box("nonmetallic-2g"), invented.a_box("nonmetallic-round"));
        let feed = invented.home_run("nm-14-2", breaker, place, 30);
        let leg = invented.run("nm-14-2", place, Some(ceiling), 12);
        let switch = invented.device("switch-1p", place);
        let receptacle = invented.device("receptacle-15-duplex", place);
        let fixture = invented.device("luminaire", ceiling);
        let hot = invented.splice(place, &[far(feed, BLACK)]);
        let neutral = invented.splice(place, &[far(feed, WHITE), near(leg, WHITE)]);
        let ground = invented.splice(place, &[far(feed, BARE_2), near(leg, BARE_2)]);
        invented.pigtail(place, hot, switch, "line");
        invented.pigtail(place, hot, receptacle, "hot_1");
        invented.pigtail(place, neutral, receptacle, "neutral_1");
        invented.pigtail(place, ground, receptacle, "ground");
        invented.pigtail(place, ground, switch, "ground");
        invented.land(near(leg, BLACK), switch, "switched");
        for (wire, name) in [(BLACK, "hot"), (WHITE, "neutral"), (BARE_2, "ground")] {
            invented.splice(ceiling, &[far(leg, wire), lead(fixture, name)]);
        }
        (invented, switch, receptacle, fixture)
    }

    #[test]
    fn unrelated_switches_do_not_multiply_and_an_outlet_stays_on() {
        let (invented, switch, receptacle, fixture) = single_pole();
        let circuit = invented.circuit();
        let table = SwitchTable::of(&circuit);
        assert_eq!(table.not_covered, []);
        assert_eq!(column(&table, &lamp(fixture)), [Power::On, Power::Off]);
        assert_eq!(column(&table, &outlet(receptacle, "upper")), [Power::On]);
        let promises = BTreeMap::from([
            (lamp(fixture), Promised::Toggled(BTreeSet::from([handle(switch)]))),
            (outlet(receptacle, "upper"), Promised::Always),
            (outlet(receptacle, "lower"), Promised::Never),
        ]);
        assert_eq!(verdict(&invented, &promises, &lamp(fixture)).outcome, Outcome::AsPromised);
        assert_eq!(verdict(&invented, &promises, &outlet(receptacle, "upper")).outcome, Outcome::AsPromised);
        let Outcome::Broken(breaches) = verdict(&invented, &promises, &outlet(receptacle, "lower")).outcome else {
            panic!("an outlet on the constant hot has power")
        };
        // From the leg over the breaker and the splice to the outlet, through the link of the duplex.
        assert!(breaches[0].path.iter().any(|step| matches!(&step.part, super::super::Part::Link { .. })));
    }

    #[test]
    fn as_found_is_compared_with_the_layer_as_found() {
        let (before, _, receptacle, fixture) = single_pole();
        let (mut after, switch, _, _) = single_pole();
        let found = SwitchTable::of(&before.circuit());
        let check = |invented: &Invented, load: &LoadPoint| {
            let circuit = invented.circuit();
            let table = SwitchTable::of(&circuit);
            let verdicts = table.verdicts(&circuit, &BTreeMap::new(), Some(&found), &hazards(&circuit));
            verdicts.get(load).unwrap().outcome.clone()
        };
        assert_eq!(check(&after, &lamp(fixture)), Outcome::AsPromised);
        // The leg lands on the line screw as well: the lamp burns always.
        let leg = after.wiring.tips.iter().find_map(|(tip, note)| match note.place.get() {
            Some(Place::Terminal { device, terminal, .. }) if *device == switch && terminal == "switched" => Some(tip),
            _ => None,
        });
        let leg = leg.unwrap().clone();
        after.land(leg, switch, "line");
        let Outcome::Broken(breaches) = check(&after, &lamp(fixture)) else { panic!("the lamp cannot be put out") };
        assert_eq!(breaches.len(), 1);
        assert_eq!(check(&after, &outlet(receptacle, "upper")), Outcome::AsPromised);
        let none = verdict(&before, &BTreeMap::new(), &lamp(fixture));
        assert_eq!(none.outcome, Outcome::NothingToCompare);
    }

    #[test]
    fn where_the_map_ends_a_promise_reads_as_far_as_seen() {
        let mut chain = chain(2);
        let ceiling = chain.invented.circuit().box_of(chain.invented.circuit().loads[&lamp(chain.lamp)].from);
        let ceiling = ceiling.unwrap();
        let on = chain.invented.run("nm-14-2", ceiling, None, 10);
        let splices: Vec<_> = chain.invented.wiring.splices_in(ceiling);
        for (wire, leg_wire) in [(BLACK, BLACK), (WHITE, WHITE), (BARE_2, BARE_2)] {
            let splice =
                splices.iter().find(|id| chain.invented.wiring.ends_in(**id).contains(&&far(chain.leg, leg_wire)));
            chain.invented.put(near(on, wire), Place::Splice(*splice.unwrap()));
        }
        let verdict = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp));
        assert_eq!(verdict.outcome, Outcome::AsFarAsSeen);
        let table = SwitchTable::of(&chain.invented.circuit());
        assert_eq!(table.not_covered.len(), 3);
        // Lit through metal both ways stands; dark with an unknown end on the switched leg does not.
        let gets = table.group_of(&lamp(chain.lamp)).unwrap().column(&lamp(chain.lamp)).unwrap();
        assert!(gets.iter().all(|gets| gets.seen == (gets.power == Power::On)));
    }

    #[test]
    fn nothing_is_claimed_across_what_is_noted_twice() {
        let mut chain = chain(2);
        let tip: Tip = near(chain.leg, BLACK);
        let on = |terminal: &str| Place::Terminal {
            device: chain.switches[1],
            terminal: terminal.to_owned(),
            landing: crate::job::Landing::Screw,
        };
        let note = twice(on("common"), on("traveler_1"));
        chain.invented.place(tip, note);
        let outcome = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp)).outcome;
        assert_ne!(outcome, Outcome::AsPromised);
        let circuit = chain.invented.circuit();
        let table = SwitchTable::of(&circuit);
        let gets = table.group_of(&lamp(chain.lamp)).unwrap().column(&lamp(chain.lamp)).unwrap();
        assert!(gets.iter().all(|gets| !gets.seen));
    }

    #[test]
    fn hundreds_of_combinations_are_said_and_not_worked_out() {
        let chain = chain(10);
        let circuit = chain.invented.circuit();
        let table = SwitchTable::of(&circuit);
        let [NotCovered::TooMany { handles, combinations, loads }] = table.not_covered.as_slice() else {
            panic!("{:?}", table.not_covered)
        };
        assert_eq!((handles.len(), *combinations, loads.as_slice()), (10, 1024, [lamp(chain.lamp)].as_slice()));
        let verdict = verdict(&chain.invented, &toggled(&chain), &lamp(chain.lamp));
        assert_eq!(verdict.outcome, Outcome::NotCovered);
    }

    #[test]
    fn a_split_duplex_has_a_switched_half_and_a_constant_half() {
        let (mut invented, switch, receptacle, _) = single_pole();
        invented.break_link(receptacle, "hot");
        let place = invented.wiring.devices[&switch].in_box.get().copied().flatten().unwrap();
        let jumper = invented.run("pigtail-14-red", place, Some(place), 1);
        invented.land(near(jumper, 0), switch, "switched");
        invented.land(far(jumper, 0), receptacle, "hot_2");
        let table = SwitchTable::of(&invented.circuit());
        assert_eq!(column(&table, &outlet(receptacle, "lower")), [Power::On, Power::Off]);
        assert_eq!(column(&table, &outlet(receptacle, "upper")), [Power::On]);
    }

    /// A dimmer without a neutral draws its own supply through the lamp; an electronic lamp does not light from it.
    #[test]
    fn a_trickle_through_an_electronic_lamp_does_not_light_it() {
        let (mut invented, switch, _, fixture) = single_pole();
        invented.note(switch).kind = crate::job::Note::NotSaid;
        let kind = twice(String::new(), String::new());
        drop(kind);
        let place = invented.wiring.devices[&switch].in_box.get().copied().flatten().unwrap();
        let dimmer = invented.device("dimmer-2wire", place);
        let moved: Vec<_> = invented
            .wiring
            .tips
            .iter()
            .filter_map(|(tip, note)| match note.place.get() {
                Some(Place::Terminal { device, terminal, .. }) if *device == switch => {
                    Some((tip.clone(), terminal.clone()))
                }
                _ => None,
            })
            .collect();
        for (tip, terminal) in moved {
            invented.splice(place, &[tip, lead(dimmer, &terminal)]);
        }
        invented.wiring.devices.remove(&switch);
        invented.device("luminaire-led", place);
        let table = SwitchTable::of(&invented.circuit());
        assert_eq!(column(&table, &lamp(fixture)), [Power::On, Power::Off]);
    }
}
