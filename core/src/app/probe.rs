//! Readings and switch trials: noted with what was worked out for them when they were shown.

use crate::job::Happening;

use super::Refusal;
use super::act::Act;

impl Act<'_> {
    /// Notes a reading.
    pub(crate) fn read(&mut self, input: Option<&str>) -> Result<(), Refusal> {
        let (at, reading) = self.reading(input)?;
        self.draft.add(at, Happening::Read(reading));
        Ok(())
    }

    /// Notes a switch trial.
    pub(crate) fn tried(&mut self) -> Result<(), Refusal> {
        let trial = self.trial()?;
        self.draft.add(trial.load.device, Happening::Tried(trial));
        Ok(())
    }
}
