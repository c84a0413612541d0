//! What a reading or a switch trial should show, worked out from everything noted so far: the wiring of a layer,
//! the source voltage as the readings of this visit narrow it, and what earlier trials tell of unmarked handles.

use std::cell::OnceCell;

use sha2::{Digest, Sha256};

use crate::catalogue::Catalogue;
use crate::circuit::{
    Amperes, Ask, Circuit, NoOhms, Ohms, Prediction, SourceVolts, SwitchTable, expect, expect_amperes, expect_ohms,
};
use crate::job::happening::{Expected, Trial};
use crate::job::{
    At, Figure, Happened, Happening, Hash, InstrumentNote, Layer, LoadPoint, Mode, Notes, Pair, Purpose, ThingId,
    Visit, Wiring,
};
use crate::tell::kept;

/// Positions in which a breaker, a disconnect, a fuse or a supply feeds nothing.
const OFF: [&str; 2] = ["off", "out"];

/// Works out readings and trials for one wiring.
pub struct Predictor {
    circuit: Circuit,
    sources: SourceVolts,
    trials: Vec<Trial>,
    /// Made when a trial is first asked for: a reading needs none.
    table: OnceCell<SwitchTable>,
    basis: Hash,
}

impl Predictor {
    /// Makes ready for a wiring. `None` if no network can be made of it; nothing is predicted then.
    pub fn new(notes: &Notes, wiring: &Wiring, catalogue: &Catalogue, visit: Option<&Visit>) -> Option<Self> {
        let circuit = Circuit::of(wiring, catalogue).ok()?;
        let mut sources = SourceVolts::of(&circuit);
        for happened in of_visit(notes, visit) {
            // Only a live reading of firm ground says what the source is today.
            if let Happening::Read(reading) = &happened.what
                && matches!(reading.purpose, Purpose::Reference | Purpose::Live)
                && let Figure::Number(value) = &reading.figure
            {
                sources.narrow(&circuit, &reading.pair, &reading.at, value.to_f64());
            }
        }
        let basis = Hash(Sha256::digest(format!("{wiring:?}")).into());
        Some(Self { circuit, sources, trials: trials(notes, visit), table: OnceCell::new(), basis })
    }

    /// The circuit that predictions are made with.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// Its switch table, with what the trials tell.
    pub fn table(&self) -> &SwitchTable {
        self.table.get_or_init(|| SwitchTable::of(&self.circuit).with_trials(&self.trials))
    }

    /// What a meter should read; `None` where nothing can be said.
    pub fn reading(
        &self,
        notes: &Notes,
        pair: &Pair,
        at: &[At],
        (instrument, mode): (Option<ThingId>, Mode),
    ) -> Option<Expected> {
        kept(&self.prediction(notes, pair, at, (instrument, mode))?, self.basis)
    }

    /// The same before it is rounded to be kept: whether it is a ghost, and what it rests on.
    pub fn prediction(
        &self,
        notes: &Notes,
        pair: &Pair,
        at: &[At],
        (instrument, mode): (Option<ThingId>, Mode),
    ) -> Option<Prediction> {
        let burden_ohms = instrument.and_then(|id| burden(notes, id, mode));
        expect(&self.circuit, &self.sources, &Ask { pair, at, mode, burden_ohms }).ok()
    }

    /// The handles of sources that are OFF in that position, for what is predicted of a dead circuit.
    pub fn off(&self, is_off: impl Fn(ThingId) -> bool) -> Vec<At> {
        let of = self.circuit.handles.iter().filter(|(handle, _)| is_off(handle.device));
        let each = of.filter_map(|(handle, node)| {
            let position = node.positions.iter().find(|position| OFF.contains(&position.as_str()))?;
            Some(At { handle: handle.clone(), position: position.clone() })
        });
        each.collect()
    }

    /// What an ohmmeter should show with handles in these positions.
    ///
    /// # Errors
    /// See [`NoOhms`].
    pub fn ohms(&self, pair: &Pair, at: &[At]) -> Result<Ohms, NoOhms> {
        expect_ohms(&self.circuit, pair, at)
    }

    /// What a clamp round one conductor of a run should show.
    ///
    /// # Errors
    /// See [`NoOhms`].
    pub fn amperes(&self, run: ThingId, wire: u8, at: &[At]) -> Result<Amperes, NoOhms> {
        expect_amperes(&self.circuit, &self.sources, &[(run, wire)], at)
    }

    /// Whether a load point should have power with handles in these positions. Handles that the device does not mark
    /// count either way round, as far as this visit's trials leave it open; `None` where that makes a difference.
    pub fn trial(&self, load: &LoadPoint, at: &[At]) -> Option<bool> {
        self.table().trial(load, at)
    }
}

/// What happened in a visit; without one, ever.
fn of_visit<'n>(notes: &'n Notes, visit: Option<&Visit>) -> impl Iterator<Item = &'n Happened> {
    let began = visit.map(|visit| visit.began);
    notes.happened().filter(move |happened| began.is_none_or(|began| happened.stamp > began))
}

/// The switch trials of a visit that speak of the wiring as it stands: those since a breaker last went off. What a
/// load point did before that was done by other wiring, perhaps.
pub fn trials(notes: &Notes, visit: Option<&Visit>) -> Vec<Trial> {
    let mut trials: Vec<Trial> = Vec::new();
    for happened in of_visit(notes, visit) {
        match &happened.what {
            Happening::Switched { on: false } => trials.clear(),
            Happening::Tried(trial) => trials.push(trial.clone()),
            _ => {}
        }
    }
    trials
}

/// The switch table of a wiring's circuit, with what this visit's trials tell of unmarked handles. Trials are made on
/// the wiring as it stands: they say nothing of a plan, nor of what was found, once something is noted as left.
pub fn switch_table(circuit: &Circuit, notes: &Notes, wiring: &Wiring, visit: Option<&Visit>) -> SwitchTable {
    let (table, trials) = (SwitchTable::of(circuit), trials(notes, visit));
    let stands = match wiring.layer {
        _ if trials.is_empty() => false,
        Layer::Left(_) | Layer::Site => true,
        Layer::Planned(_) => false,
        Layer::Found(job) => !is_noted(notes, Layer::Left(job)),
    };
    if stands { table.with_trials(&trials) } else { table }
}

/// Whether anything is noted in a layer.
fn is_noted(notes: &Notes, layer: Layer) -> bool {
    let said = |of| notes.all_fields(of).iter().any(|field| !notes.current(of, field, layer).is_empty());
    notes.subjects().any(said)
}

/// An instrument's own input impedance in ohms, where it is noted.
fn burden(notes: &Notes, instrument: ThingId, mode: Mode) -> Option<f64> {
    let note = InstrumentNote::read(notes, instrument);
    let low = mode == Mode::AcLow;
    let burden = note.burdens.iter().filter_map(|burden| burden.get()).find(|burden| burden.low == low)?;
    Some(burden.kilohms.to_f64() * 1_000.0)
}
