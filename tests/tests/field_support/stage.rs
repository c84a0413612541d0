//! One variant of a case: its events played through the notebook, and the circuit that comes of them.

use std::collections::BTreeSet;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::circuit::{Circuit, HazardKind, State, hazards};
use boxproof_core::job::{At, Handle, Layer, LoadPoint, Notes, Wiring};
use boxproof_core::token::Line;
use boxproof_core::token::path::Names;
use boxproof_tests::played::{CASE, notes_of};

use super::Numbered;

/// A variant with its circuit.
pub(crate) struct Stage {
    notes: Notes,
    layer: Layer,
    pub(super) circuit: Circuit,
}

impl Stage {
    /// Plays the lines, and breaks what the faults say. An error names the line.
    pub(super) fn of(script: &[Numbered], faults: &[(usize, Line)]) -> Result<Self, String> {
        let before = CASE.lines().count();
        let text = script.iter().fold(CASE.to_owned(), |text, (_, line)| format!("{text}{line}\n"));
        let notes = notes_of(&text, None).map_err(|fault| {
            let line = fault.line.checked_sub(before + 1).and_then(|n| script.get(n)).map_or(0, |line| line.0);
            format!("line {line}: {}: {}", fault.text, fault.why)
        })?;
        let layer = Layer::Found(notes.job_now().ok_or("no job is noted")?);
        let wiring = Wiring::of(&notes, layer);
        let circuit = Circuit::of(&wiring, Catalogue::shared()).map_err(|why| why.to_string())?;
        if let Some(end) = circuit.boundaries.keys().next() {
            return Err(format!("the map ends somewhere, which a case may not: {end:?}"));
        }
        let mut stage = Self { notes, layer, circuit };
        stage.break_parts(faults)?;
        Ok(stage)
    }

    fn break_parts(&mut self, faults: &[(usize, Line)]) -> Result<(), String> {
        let read = |(line, said): &(usize, Line)| {
            super::fault::read(&self.names(), said).map_err(|why| format!("line {line}: fault {said}: {why}"))
        };
        let found = faults.iter().map(read).collect::<Result<Vec<_>, _>>()?;
        // One by one, so that an error has its line.
        for ((line, said), fault) in faults.iter().zip(found) {
            let broken = self.circuit.with_faults(std::slice::from_ref(&fault));
            self.circuit = broken.map_err(|why| format!("line {line}: fault {said}: {why}"))?;
        }
        Ok(())
    }

    pub(super) fn names(&self) -> Names<'_> {
        Names::new(&self.notes, Catalogue::shared(), self.layer)
    }

    /// The positions of `at=A:switch.handle=up,P:5.handle=off`.
    pub(super) fn at(&self, said: &Line) -> Result<Vec<At>, String> {
        let parts = said.field("at").unwrap_or_default().split(',').filter(|part| !part.is_empty());
        let mut all = Vec::new();
        for part in parts {
            let (handle, position) = part.split_once('=').ok_or_else(|| format!("{part}: which position?"))?;
            let handle = self.names().handle(handle).map_err(|why| why.to_string())?;
            let known =
                self.circuit.handles.get(&handle).is_some_and(|node| node.positions.iter().any(|p| p == position));
            if !known {
                return Err(format!("{part}: it has no such position"));
            }
            all.push(At { handle, position: position.to_owned() });
        }
        Ok(all)
    }

    /// Every combination of the handles that matter to a load point, those of `at` where they are said to be.
    pub(super) fn states(&self, load: &LoadPoint, at: &[At]) -> Vec<State> {
        let circuit = &self.circuit;
        let group = circuit.groups().into_iter().find(|group| group.loads.contains(load));
        let free = |handle: &&Handle| at.iter().all(|at| at.handle != **handle);
        let handles = group.iter().flat_map(|group| &group.handles).filter(free);
        let switches: Vec<_> =
            handles.filter_map(|handle| circuit.handles.get(handle)).map(|node| node.switch).collect();
        circuit.network.states(&switches, &circuit.state(at, circuit.rest()))
    }

    /// The hazards of a kind, as the words of the kind's name with hyphens; of a box and of a load point if named.
    pub(super) fn hazards(&self, kind: &str, said: &Line) -> Result<BTreeSet<HazardKind>, String> {
        let place =
            said.field("in").map(|tag| self.names().box_named(tag).map_err(|why| why.to_string())).transpose()?;
        let load = said.field("of").map(|load| self.names().load(load).map_err(|why| why.to_string())).transpose()?;
        let found = hazards(&self.circuit).into_iter().filter(|hazard| name(&hazard.kind) == kind);
        let found = found.filter(|hazard| place.is_none() || hazard.place == place);
        let found = found.filter(|hazard| load.as_ref().is_none_or(|load| hazard.loads.contains(load)));
        Ok(found.map(|hazard| hazard.kind).collect())
    }
}

/// `SwitchedNeutral { … }` as `switched-neutral`.
fn name(kind: &HazardKind) -> String {
    let debug = format!("{kind:?}");
    let mut name = String::new();
    for letter in debug.chars().take_while(|letter| letter.is_alphanumeric()) {
        if letter.is_uppercase() && !name.is_empty() {
            name.push('-');
        }
        name.extend(letter.to_lowercase());
    }
    name
}
