//! Readings, switch trials and the questions of a check: noted with what was worked out when they were shown.

use crate::check::{Checks, Policy};
use crate::job::happening::{Asked, Question};
use crate::job::{Happening, JobNote, Kind, Layer, Notes, Pair, Purpose, Reading, Subject, ThingId, Value};
use crate::predict::Predictor;

use super::Refusal;
use super::act::{Act, refuse};
use super::happen::figure;
use super::path::one_of;

/// The list of a box's dead check that was asked last, and what of it is not answered yet.
pub(crate) struct Open {
    /// The check.
    pub(crate) check: ThingId,
    /// Questions without a reading, in the order in which they were asked.
    pub(crate) left: Vec<Question>,
}

/// The dead check of a box that was asked last.
pub(crate) fn last_asked(notes: &Notes, at: ThingId) -> Option<Open> {
    let of = Subject::Thing(at);
    let mut asked: Option<&Asked> = None;
    let mut read: Vec<&Reading> = Vec::new();
    for happened in notes.happened().filter(|happened| happened.of == of) {
        match &happened.what {
            Happening::Asked(list) => (asked, read) = (Some(list), Vec::new()),
            Happening::Read(reading) if reading.purpose == Purpose::Dead => read.push(reading),
            _ => {}
        }
    }
    let asked = asked?;
    read.retain(|reading| reading.check == Some(asked.check));
    let answered = |question: &Question| {
        read.iter().any(|reading| reading.pair == question.pair && question.at.iter().all(|at| reading.at.contains(at)))
    };
    let left = asked.pairs.iter().filter(|question| !answered(question)).cloned().collect();
    Some(Open { check: asked.check, left })
}

impl Act<'_> {
    /// Notes a reading.
    pub(crate) fn read(&mut self, input: Option<&str>) -> Result<(), Refusal> {
        let (at, mut reading) = self.reading(input)?;
        if matches!(reading.purpose, Purpose::Reference | Purpose::Live | Purpose::Search) {
            let with = (Some(reading.instrument), reading.mode);
            let predictor = self.predictor(reading.purpose == Purpose::Reference);
            reading.shown = predictor.and_then(|p| p.reading(self.names.notes, &reading.pair, &reading.at, with));
        }
        self.draft.add(at, Happening::Read(reading));
        Ok(())
    }

    /// `ask B3`: the pairs that a dead check of the box calls for now; `ground="water pipe"` where an independent
    /// ground stands in for the box's own.
    pub(crate) fn ask_dead(&mut self) -> Result<(), Refusal> {
        let at = self.names.box_named(self.word(0)?)?;
        let notes = self.names.notes;
        let layer = self.job.map_or(Layer::Site, Layer::Left);
        let wiring = notes.wiring(layer);
        let policy = self.job.map_or_else(Policy::shared, |job| Policy::of(&JobNote::read(notes, job)));
        let checks = Checks::new(notes, &wiring, self.names.catalogue, policy);
        let pairs = checks.pairs(at, self.line.field("ground"));
        if pairs.is_empty() {
            return Err(refuse("refuse.nothing_to_ask", &[]));
        }
        let check = self.draft.thing(Kind::Check, Layer::Site);
        self.draft.set(check, Layer::Site, Value::InBox(Some(at)), self.how);
        self.draft.add(at, Happening::Asked(Asked { check, pairs }));
        Ok(())
    }

    /// `answer B3 with=M2 mode=ac_low value=0.1`: the next question of the dead check that was asked last.
    pub(crate) fn answer(&mut self, input: Option<&str>) -> Result<(), Refusal> {
        let at = self.names.box_named(self.word(0)?)?;
        let open = last_asked(self.names.notes, at).ok_or_else(|| refuse("refuse.nothing_asked", &[]))?;
        let question = open.left.into_iter().next().ok_or_else(|| refuse("refuse.all_answered", &[]))?;
        let Question { pair: Pair { from, to }, at: positions } = question;
        let mode = one_of(self.line.field("mode").unwrap_or("ac_low"))?;
        let reading = Reading {
            purpose: Purpose::Dead,
            check: Some(open.check),
            pair: Pair { from, to },
            at: positions,
            instrument: self.names.thing_named(self.field("with")?, Kind::Instrument)?,
            mode,
            figure: figure(self.line, input, mode)?,
            shown: None,
        };
        self.draft.add(at, Happening::Read(reading));
        Ok(())
    }

    /// What is worked out for the job's wiring: as found before anything was done, as left after.
    fn predictor(&self, found: bool) -> Option<Predictor> {
        let layer = match self.job {
            Some(job) if found => Layer::Found(job),
            Some(job) => Layer::Left(job),
            None => Layer::Site,
        };
        let wiring = self.names.notes.wiring(layer);
        Predictor::new(self.names.notes, &wiring, self.names.catalogue, self.visit.as_ref())
    }

    /// Notes a switch trial.
    pub(crate) fn tried(&mut self) -> Result<(), Refusal> {
        let mut trial = self.trial()?;
        trial.shown = self.predictor(false).and_then(|predictor| predictor.trial(&trial.load, &trial.at));
        self.draft.add(trial.load.device, Happening::Tried(trial));
        Ok(())
    }
}
