//! How promises stand against the table, and the path that breaks one: through which terminals and joints, because
//! the person must find it with a screwdriver.

use std::collections::BTreeSet;

use crate::job::{Handle, LoadPoint, Promised};

use super::super::build::{Circuit, LoadNode};
use super::super::connect::Connectivity;
use super::super::hazard::Hazard;
use super::super::network::{NodeId, State};
use super::super::point::{Point, Positions, Step};
use super::{Breach, Gets, Named, Outcome, Power, SwitchTable, TableGroup, TableRow, Verdict};

/// Most rows of one promise whose path is looked for.
const MOST_PATHS: usize = 16;

/// What promises are compared with.
pub(super) struct Judge<'a> {
    table: &'a SwitchTable,
    circuit: &'a Circuit,
    found: Option<&'a SwitchTable>,
    hazards: &'a [Hazard],
    connectivity: Connectivity<'a>,
}

/// A path, and where what is missing waits beyond its end.
type Explained = (Vec<Step>, Option<Point>);

impl<'a> Judge<'a> {
    /// For a table of this circuit, the table of the layer as found, and the circuit's hazards.
    pub(super) fn new(
        table: &'a SwitchTable,
        circuit: &'a Circuit,
        (found, hazards): (Option<&'a SwitchTable>, &'a [Hazard]),
    ) -> Self {
        let connectivity = Connectivity::new(&circuit.network, &[]);
        Self { table, circuit, found, hazards, connectivity }
    }

    /// How the promise to a load point stands.
    pub(super) fn verdict(&self, point: &LoadPoint, promised: &Promised) -> Verdict {
        let promised = promised.clone();
        let Some((group, column)) = self.table.group_of(point).and_then(|g| Some((g, g.column(point)?))) else {
            let (fed, outcome) = (None, Outcome::NotCovered);
            return Verdict { promised, lit: 0, rows: 0, mapped: false, fed, outcome };
        };
        let lit = column.iter().filter(|gets| !gets.power.is_none()).count();
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
        let mapped = matches!(group.named(point), Some(Named::Known(_)));
        let fed = if promised == Promised::AsFound { None } else { self.fed(point, group, &column) };
        Verdict { promised, lit, rows: column.len(), mapped, fed, outcome }
    }

    /// The first row with power, and the way to the load point in it.
    fn fed(&self, point: &LoadPoint, group: &TableGroup, column: &[Gets]) -> Option<(Positions, Vec<Step>)> {
        let (row, _) = group.rows.iter().zip(column).find(|(_, gets)| !gets.power.is_none())?;
        let load = self.circuit.loads.get(point)?;
        let state = self.circuit.state(&row.at, self.circuit.rest());
        let way = live(self.circuit, &self.connectivity, &state, load.from);
        (!way.is_empty()).then(|| (group.named_at(row), way))
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
                let explained = breaches.len() < MOST_PATHS;
                let (path, waits) = if explained { self.explain(point, row, gets.power) } else { Explained::default() };
                let at = group.named_at(row);
                let opened = if gets.power == Power::Tripped { row.opened().cloned().collect() } else { Vec::new() };
                breaches.push(Breach { at, power: gets.power, wanted: *wanted, idle: None, path, waits, opened });
            }
        }
        if let (Promised::Toggled(handles), Some(row), Some(gets)) = (promised, group.rows.first(), column.first()) {
            for handle in handles.iter().filter(|handle| !group.handles.contains(handle)) {
                let idle = Some(handle.clone());
                let (at, power, path) = (group.named_at(row), gets.power, Vec::new());
                let (wanted, opened) = (power.is_none(), Vec::new());
                breaches.push(Breach { at, power, wanted, idle, path, waits: None, opened });
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
            let powers: BTreeSet<bool> = matching.map(|(_, gets)| !gets.power.is_none()).collect();
            let is = !now.is_none();
            if powers.contains(&!is) { !is } else { is }
        };
        let now = group.column(point)?;
        Some(group.rows.iter().zip(now).map(|(row, gets)| wanted(row, gets.power)).collect())
    }

    fn explain(&self, point: &LoadPoint, row: &TableRow, power: Power) -> Explained {
        let Some(load) = self.circuit.loads.get(point) else { return Explained::default() };
        let state = self.circuit.state(&row.at, self.circuit.rest());
        if power == Power::Tripped {
            return Explained::default();
        }
        if power == Power::Off {
            return missing(self.circuit, &self.connectivity, &state, load);
        }
        (live(self.circuit, &self.connectivity, &state, load.from), None)
    }
}

impl TableGroup {
    /// The named positions that mean a row: by the first way round that trials leave.
    fn named_at(&self, row: &TableRow) -> Positions {
        let way = self.ways.left.first().copied().unwrap_or(0);
        let place = self.rows.iter().position(|other| other.at == row.at);
        let named = place.and_then(|place| self.rows.get(self.turned(place, way)));
        named.unwrap_or(row).at.clone()
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
        pairs.filter(|(odd, gets)| gets.power.is_none() == (**odd != flip)).count()
    };
    let flip = wrong(true) <= wrong(false);
    odd.into_iter().map(|odd| odd != flip).collect()
}

/// The way from a leg to a node.
pub(in crate::circuit) fn live(
    circuit: &Circuit,
    connectivity: &Connectivity<'_>,
    state: &State,
    node: NodeId,
) -> Vec<Step> {
    let legs = circuit.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg));
    let ways = legs.filter_map(|leg| Some((leg, connectivity.path(state, leg, node)?)));
    let shortest = ways.min_by_key(|(_, way)| way.len());
    shortest.map(|(leg, way)| circuit.steps(leg, &way)).unwrap_or_default()
}

/// The way from a load point without power back to where its conductor ends: at an open contact whose other side is
/// tied to the bus that is missing, if there is one, else at the far end of its metal.
fn missing(circuit: &Circuit, connectivity: &Connectivity<'_>, state: &State, load: &LoadNode) -> Explained {
    let joined = connectivity.at(state);
    let legs: Vec<NodeId> = circuit.panels.values().flat_map(|panel| panel.legs.iter().map(|(_, leg)| *leg)).collect();
    let neutrals: Vec<NodeId> = circuit.panels.values().map(|panel| panel.neutral).collect();
    let tied = |node: NodeId, buses: &[NodeId]| buses.iter().any(|bus| joined.joined(*bus, node));
    let (start, wanted) = if tied(load.from, &legs) { (load.to, &neutrals) } else { (load.from, &legs) };
    let open = circuit.network.elements().iter().filter(|e| e.contact.is_some() && !e.present(state));
    let ends = open.flat_map(|e| [(e.from, e.to), (e.to, e.from)]);
    let near = ends.filter(|(here, there)| joined.joined(*here, start) && tied(*there, wanted));
    let ways = near.filter_map(|(here, there)| Some((there, connectivity.path(state, start, here)?)));
    if let Some((there, way)) = ways.min_by_key(|(_, way)| way.len()) {
        return (circuit.steps(start, &way), Some(circuit.point(there).clone()));
    }
    let reach = circuit.network.nodes().filter(|node| joined.joined(*node, start));
    let ways = reach.filter_map(|node| connectivity.path(state, start, node));
    (ways.max_by_key(Vec::len).map(|way| circuit.steps(start, &way)).unwrap_or_default(), None)
}
