//! Runs: conductors with their resistance and capacitance, raceways and sheaths that conduct.

use std::collections::BTreeMap;

use crate::catalogue::{RunForm, RunType};
use crate::job::value::{Length, LengthUnit};
use crate::job::{Conductor, Note, RunNote, Side, Spot, ThingId, Tip};

use super::super::network::{NodeId, Value};
use super::super::point::{Part, Point, Taken, Unknown, Why};
use super::{Builder, CircuitError};

const METRES_PER_FOOT: f64 = 0.3048;

/// A conductor's nodes from the near to the far side, and whether it is an equipment ground.
struct Strand {
    nodes: Vec<NodeId>,
    ground: bool,
}

/// Capacitance of a conductor, in farads or farads per metre: to another insulated conductor, to a grounding one, to
/// the metal around.
#[derive(Clone, Copy)]
struct Farads {
    between: f64,
    to_ground: f64,
    to_metal: f64,
}

impl Farads {
    fn times(self, metres: f64) -> Self {
        let Self { between, to_ground, to_metal } = self;
        Self { between: between * metres, to_ground: to_ground * metres, to_metal: to_metal * metres }
    }
}

impl Builder<'_> {
    /// Makes every run.
    pub(super) fn runs(&mut self) -> Result<(), CircuitError> {
        let wiring = self.wiring;
        wiring.runs.iter().try_for_each(|(id, note)| self.run(*id, note))
    }

    /// The conductors of a run by number: the catalogue's, overlaid by what is noted one by one. `None` for one of
    /// which only its ends are noted, or that is noted twice.
    pub(super) fn conductors_of(&self, run: ThingId) -> BTreeMap<u8, Option<Conductor>> {
        let mut conductors = BTreeMap::new();
        let Some(note) = self.wiring.runs.get(&run) else { return conductors };
        if let Some(kind) = note.kind.get().and_then(|kind| self.catalogue.run(kind)) {
            conductors.extend((0u8..).zip(kind.wires.iter().cloned().map(Some)));
        }
        for tip in self.wiring.tips.keys() {
            if let Tip::Wire { run: of, wire, .. } = tip
                && *of == run
            {
                conductors.entry(*wire).or_insert(None);
            }
        }
        conductors.extend(note.wires.iter().map(|(n, wire)| (*n, wire.get().cloned())));
        conductors
    }

    fn run(&mut self, id: ThingId, note: &RunNote) -> Result<(), CircuitError> {
        let kind = note.kind.get().and_then(|kind| self.catalogue.run(kind));
        let form = kind.map_or(RunForm::Cable, |kind| kind.form);
        let inside = form == RunForm::Pigtail || note.is_inside();
        let metres = self.metres(id, note, inside);
        let conductors = self.conductors_of(id);
        if conductors.is_empty() {
            let why = if note.kind.is_twice() { Why::Twice } else { Why::KindNotKnown };
            self.unknown(Unknown::Run(id), why, Vec::new());
        }
        if form == RunForm::Open {
            self.circuit.open_runs.insert(id);
        }
        for side in Side::BOTH {
            if let Some(breaker) = note.side(side).feed.get() {
                self.circuit.feeds.insert(id, *breaker);
            }
            if let Some(panel) = note.side(side).in_box.get().copied().flatten()
                && self.circuit.panels.contains_key(&panel)
            {
                self.circuit.panel_runs.insert(id, panel);
            }
        }
        let sections = if inside || metres <= self.circuit.assumptions.section_length.value { 1 } else { 2 };
        let mut strands = Vec::new();
        for (wire, conductor) in &conductors {
            let ground = conductor.as_ref().is_some_and(|conductor| conductor.ground);
            if ground {
                self.circuit.ground_wires.insert((id, *wire));
            }
            let ohms = self.ohms_per_metre(id, *wire, conductor.as_ref()) * metres;
            strands.push(Strand { nodes: self.strand(id, *wire, ohms, sections)?, ground });
        }
        if inside {
            return Ok(());
        }
        let metal = self.metal_of(note, kind);
        self.strays(id, &strands, self.farads_per_metre(kind, form).times(metres), &metal)?;
        let conducts = note.ground_path.get().copied().unwrap_or(kind.is_some_and(|kind| kind.sheath_ground));
        if conducts && form != RunForm::Open {
            self.sheath(id, note, metres)?;
        }
        Ok(())
    }

    /// Capacitance of a run's conductors: the catalogue's, else that of the form.
    fn farads_per_metre(&self, kind: Option<&RunType>, form: RunForm) -> Farads {
        let a = &self.circuit.assumptions;
        let per_foot = |pf: f64| pf * 1e-12 / METRES_PER_FOOT;
        let usual = match form {
            RunForm::Raceway => Farads {
                between: a.raceway_wire_capacitance.value,
                to_ground: a.raceway_wire_capacitance.value,
                to_metal: a.raceway_metal_capacitance.value,
            },
            RunForm::Open => Farads {
                between: a.open_wire_capacitance.value,
                to_ground: a.open_wire_capacitance.value,
                to_metal: a.open_earth_capacitance.value,
            },
            RunForm::Cable | RunForm::Cord | RunForm::Pigtail => Farads {
                between: a.wire_capacitance.value,
                to_ground: a.ground_capacitance.value,
                to_metal: a.ground_capacitance.value,
            },
        };
        let to_ground = kind.and_then(|kind| kind.ground_pf_per_ft).map(per_foot);
        Farads {
            between: kind.and_then(|kind| kind.pf_per_ft).map_or(usual.between, per_foot),
            to_ground: to_ground.unwrap_or(usual.to_ground),
            to_metal: to_ground.unwrap_or(usual.to_metal),
        }
    }

    /// The metal around a run's conductors at each side: the shells that a metal sheath or raceway ends at, the earth
    /// for single conductors in the open. Where only one side is metal, all of it.
    fn metal_of(&self, note: &RunNote, kind: Option<&RunType>) -> Vec<NodeId> {
        if kind.is_some_and(|kind| kind.form == RunForm::Open) {
            let earth = self.circuit.nodes.get(&Point::Earth).copied();
            return vec![earth.unwrap_or_else(|| self.circuit.network.reference())];
        }
        let metal = note.ground_path.get() == Some(&true) || kind.is_some_and(RunType::is_metal);
        let sides = Side::BOTH.into_iter().filter(|_| metal);
        sides.filter_map(|side| self.shell_at(note, side)).collect()
    }

    fn metres(&mut self, id: ThingId, note: &RunNote, inside: bool) -> f64 {
        let noted = note.length.get().map(|Length { value, unit, .. }| match unit {
            LengthUnit::Feet => value.to_f64() * METRES_PER_FOOT,
            LengthUnit::Metres => value.to_f64(),
        });
        // A centimetre is the least, a long farm feeder the most that is taken; else the note is a slip of the pen.
        if let Some(metres) = noted.filter(|metres| (0.01..=5000.0).contains(metres)) {
            return metres;
        }
        if inside {
            return self.circuit.assumptions.pigtail_length.value;
        }
        self.circuit.taken.insert(Taken::Length(id));
        self.circuit.assumptions.default_run_length.value
    }

    fn ohms_per_metre(&mut self, run: ThingId, wire: u8, conductor: Option<&Conductor>) -> f64 {
        let celsius = self.circuit.assumptions.conductor_temperature.value;
        if let Some(ohms) = conductor.and_then(|conductor| self.conductors.of(conductor, celsius)) {
            return ohms;
        }
        self.circuit.taken.insert(Taken::Size { run, wire });
        self.circuit.assumptions.default_size_ohm.value / 1000.0
    }

    fn strand(&mut self, run: ThingId, wire: u8, ohms: f64, sections: u8) -> Result<Vec<NodeId>, CircuitError> {
        let end = |side| Point::tip(&Tip::Wire { run, wire, side });
        let mut nodes = vec![self.node(end(Side::Near))];
        if sections == 2 {
            nodes.push(self.node(Point::Middle { run, wire }));
        }
        nodes.push(self.node(end(Side::Far)));
        for (from, to) in nodes.iter().zip(nodes.iter().skip(1)) {
            self.metal(*from, *to, ohms / f64::from(sections), Part::Conductor { run, wire })?;
        }
        Ok(nodes)
    }

    /// Half of the capacitance at each end, or a quarter there and half in the middle. `metal` has the nodes of the
    /// metal around, from the near to the far side.
    fn strays(
        &mut self,
        run: ThingId,
        strands: &[Strand],
        farads: Farads,
        metal: &[NodeId],
    ) -> Result<(), CircuitError> {
        let part = |places: usize, at: usize| if places == 2 || at == 1 { 0.5 } else { 0.25 };
        let stray = Part::Stray(run);
        for (n, one) in strands.iter().enumerate() {
            for other in strands.iter().skip(n + 1) {
                let whole = if one.ground || other.ground { farads.to_ground } else { farads.between };
                let places = one.nodes.len().min(other.nodes.len());
                for (at, (a, b)) in one.nodes.iter().zip(&other.nodes).enumerate() {
                    let value = Value::Capacitance { farads: whole * part(places, at) };
                    self.join(*a, *b, value, stray.clone())?;
                }
            }
            let last = one.nodes.len().saturating_sub(1);
            for (at, node) in one.nodes.iter().enumerate() {
                // The middle is as near to the one side as to the other.
                let near: Vec<NodeId> = match (metal, at) {
                    ([near, ..], 0) => vec![*near],
                    (_, at) if at == last => metal.last().copied().into_iter().collect(),
                    _ => metal.to_vec(),
                };
                for to in &near {
                    let share = part(one.nodes.len(), at) / f64::from(u8::try_from(near.len()).unwrap_or(1));
                    self.join(*node, *to, Value::Capacitance { farads: farads.to_metal * share }, stray.clone())?;
                }
            }
        }
        Ok(())
    }

    /// The metal that a run ends at on one side: a box's shell, a panel's ground bar.
    fn shell_at(&self, note: &RunNote, side: Side) -> Option<NodeId> {
        let in_box: &Note<Option<ThingId>> = &note.side(side).in_box;
        let place = in_box.get().copied().flatten()?;
        let panel = self.circuit.panels.get(&place).map(|panel| panel.ground);
        panel.or_else(|| self.circuit.nodes.get(&Point::Spot(Spot::Shell(place))).copied())
    }

    /// A metal sheath or raceway joins the shells of its two boxes.
    fn sheath(&mut self, id: ThingId, note: &RunNote, metres: f64) -> Result<(), CircuitError> {
        let (Some(near), Some(far)) = (self.shell_at(note, Side::Near), self.shell_at(note, Side::Far)) else {
            return Ok(());
        };
        let ohms = self.circuit.assumptions.sheath.value * metres;
        self.metal(near, far, ohms, Part::Sheath(id))
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::invented::*;
    use super::*;

    /// A conductor's capacitance and resistance are those of its length, in one section or in two.
    #[test]
    fn a_run_has_the_capacitance_and_resistance_of_its_length() {
        for feet in [5, 100] {
            let mut invented = Invented::new();
            let (a, b) = (invented.a_box("nonmetallic-1g"), invented.a_box("nonmetallic-1g"));
            let run = invented.run("nm-14-2", a, Some(b), feet);
            let circuit = invented.circuit();
            let (mut farads, mut ohms) = (0.0, [0.0; 3]);
            for id in circuit.elements_where(|part| *part == Part::Stray(run)) {
                if let Value::Capacitance { farads: more } = circuit.network.element(id).unwrap().value {
                    farads += more;
                }
            }
            for (wire, sum) in (0u8..).zip(&mut ohms) {
                for id in circuit.elements_where(|part| *part == Part::Conductor { run, wire }) {
                    if let Value::Metal { ohms: more } = circuit.network.element(id).unwrap().value {
                        *sum += more;
                    }
                }
            }
            // 9 pF/ft between the insulated conductors, 24 pF/ft from each to the ground.
            let length = f64::from(i32::try_from(feet).unwrap());
            assert!((farads * 1e12 / length - (9.0 + 24.0 + 24.0)).abs() < 1e-6, "{farads}");
            // 14 AWG copper: 2.525 ohms per 1 000 ft at 20 degrees, 0.393 % more for each kelvin, here at 30.
            let expected = 2.525e-3 * length * 1.0393;
            assert!(ohms.iter().all(|ohms| (ohms / expected - 1.0).abs() < 1e-3), "{ohms:?} {expected}");
        }
    }
}
