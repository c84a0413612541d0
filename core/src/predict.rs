//! What a reading or a switch trial should show, worked out from everything noted so far: the wiring of a layer,
//! the source voltage as the readings of this visit narrow it, and what earlier trials tell of unmarked handles.

use sha2::{Digest, Sha256};

use crate::catalogue::Catalogue;
use crate::circuit::{Ask, Circuit, Power, SourceVolts, SwitchTable, TableGroup, expect};
use crate::job::happening::{Expected, Trial};
use crate::job::{
    At, Figure, Happening, Hash, InstrumentNote, LoadPoint, Mode, Notes, Pair, Purpose, ThingId, Visit, Wiring,
};
use crate::tell::kept;

/// Most unmarked handles whose mappings are weighed against the trials.
const MOST_UNMAPPED: usize = 10;

/// Works out readings and trials for one wiring.
pub struct Predictor {
    circuit: Circuit,
    sources: SourceVolts,
    table: SwitchTable,
    trials: Vec<Trial>,
    basis: Hash,
}

impl Predictor {
    /// Makes ready for a wiring. `None` if no network can be made of it; nothing is predicted then.
    pub fn new(notes: &Notes, wiring: &Wiring, catalogue: &Catalogue, visit: Option<&Visit>) -> Option<Self> {
        let circuit = Circuit::of(wiring, catalogue).ok()?;
        let mut sources = SourceVolts::of(&circuit);
        let mut trials: Vec<Trial> = Vec::new();
        let in_visit = |stamp| visit.is_none_or(|visit| stamp > visit.began);
        for happened in notes.happened().filter(|happened| in_visit(happened.stamp)) {
            match &happened.what {
                // Only a live reading of firm ground says what the source is today.
                Happening::Read(reading) if matches!(reading.purpose, Purpose::Reference | Purpose::Live) => {
                    if let Figure::Number(value) = &reading.figure {
                        sources.narrow(&circuit, &reading.pair, &reading.at, value.to_f64());
                    }
                }
                // What a load point did before a breaker went off was done by other wiring, perhaps.
                Happening::Switched { on: false } => trials.clear(),
                Happening::Tried(trial) => trials.push(trial.clone()),
                _ => {}
            }
        }
        let table = SwitchTable::of(&circuit);
        let basis = Hash(Sha256::digest(format!("{wiring:?}")).into());
        Some(Self { circuit, sources, table, trials, basis })
    }

    /// The circuit that predictions are made with.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// Its switch table.
    pub fn table(&self) -> &SwitchTable {
        &self.table
    }

    /// What a meter should read; `None` where nothing can be said.
    pub fn reading(
        &self,
        notes: &Notes,
        pair: &Pair,
        at: &[At],
        (instrument, mode): (Option<ThingId>, Mode),
    ) -> Option<Expected> {
        let burden_ohms = instrument.and_then(|id| burden(notes, id, mode));
        let prediction = expect(&self.circuit, &self.sources, &Ask { pair, at, mode, burden_ohms }).ok()?;
        kept(&prediction, self.basis)
    }

    /// Whether a load point should have power with handles in these positions. Handles that the device does not mark
    /// count either way round, as far as this visit's trials leave it open; `None` where that makes a difference.
    pub fn trial(&self, load: &LoadPoint, at: &[At]) -> Option<bool> {
        let group = self.table.group_of(load)?;
        let unmapped: Vec<_> = group.unmapped.iter().collect();
        if unmapped.len() > MOST_UNMAPPED {
            return None;
        }
        let mut answer = None;
        for turned in 0u32..1 << unmapped.len() {
            let is_turned =
                |at: &At| unmapped.iter().position(|h| **h == at.handle).is_some_and(|n| turned >> n & 1 == 1);
            let fits = |trial: &Trial| {
                !group.loads.contains(&trial.load) || power(group, &trial.load, &trial.at, &is_turned) == Some(trial.on)
            };
            if !self.trials.iter().all(fits) {
                continue;
            }
            let on = power(group, load, at, &is_turned)?;
            if answer.is_some_and(|before| before != on) {
                return None;
            }
            answer = Some(on);
        }
        answer
    }
}

/// Whether a load point has power in the rows that fit some positions, with some handles the other way round than
/// the catalogue lists them; `None` if the rows differ. As far as the map goes: what a screen says beside it.
fn power(group: &TableGroup, load: &LoadPoint, at: &[At], is_turned: &dyn Fn(&At) -> bool) -> Option<bool> {
    let place = group.loads.iter().position(|other| other == load)?;
    let mut answer = None;
    for row in &group.rows {
        let fits = at.iter().filter(|at| group.handles.contains(&at.handle)).all(|asked| {
            let mut positions = positions_of(group, &asked.handle);
            if is_turned(asked) {
                positions.reverse();
            }
            let listed = positions_of(group, &asked.handle);
            let n = positions.iter().position(|name| *name == asked.position);
            let stands = n.and_then(|n| listed.get(n).copied());
            row.at.iter().any(|at| at.handle == asked.handle && Some(at.position.as_str()) == stands)
        });
        if !fits {
            continue;
        }
        let gets = row.gets.get(place)?;
        let on = match gets.power {
            Power::On => true,
            Power::Off => false,
            Power::Weak | Power::Over | Power::Unsettled => return None,
        };
        if answer.is_some_and(|before| before != on) {
            return None;
        }
        answer = Some(on);
    }
    answer
}

/// The positions of a handle in the order in which the table goes through them.
fn positions_of<'g>(group: &'g TableGroup, handle: &crate::job::Handle) -> Vec<&'g str> {
    let mut positions: Vec<&str> = Vec::new();
    for at in group.rows.iter().flat_map(|row| &row.at).filter(|at| at.handle == *handle) {
        if !positions.contains(&at.position.as_str()) {
            positions.push(&at.position);
        }
    }
    positions
}

/// An instrument's own input impedance in ohms, where it is noted.
fn burden(notes: &Notes, instrument: ThingId, mode: Mode) -> Option<f64> {
    let note = InstrumentNote::read(notes, instrument);
    let low = mode == Mode::AcLow;
    let burden = note.burdens.iter().filter_map(|burden| burden.get()).find(|burden| burden.low == low)?;
    Some(burden.kilohms.to_f64() * 1_000.0)
}
