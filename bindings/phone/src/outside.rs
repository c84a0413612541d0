//! The clock and randomness that the phone gives.

use std::sync::Arc;

use boxproof_core::words::say;
use boxproof_core::{app, job};

use crate::Refusal;

/// A time on the wall clock.
#[derive(Debug, Clone, Copy, uniffi::Record)]
pub struct Wall {
    /// Milliseconds since 1970, UTC.
    pub utc_ms: i64,
    /// Minutes that the wall clock is ahead of UTC.
    pub offset_min: i16,
}

/// The phone did not answer.
#[derive(Debug, thiserror::Error, uniffi::Error)]
pub enum NoAnswer {
    /// It broke while it answered.
    #[error("{why}")]
    Broke {
        /// What it said.
        why: String,
    },
}

impl From<uniffi::UnexpectedUniFFICallbackError> for NoAnswer {
    fn from(error: uniffi::UnexpectedUniFFICallbackError) -> Self {
        Self::Broke { why: error.reason }
    }
}

/// What the core cannot make itself; the phone's shell gives it.
#[uniffi::export(with_foreign)]
pub trait Outside: Send + Sync {
    /// The wall clock now.
    fn now(&self) -> Result<Wall, NoAnswer>;
    /// Sixteen random bytes from a cryptographic source.
    fn random(&self) -> Result<Vec<u8>, NoAnswer>;
}

/// The phone's outside as the core asks it.
pub(crate) struct Asked {
    phone: Arc<dyn Outside>,
}

impl Asked {
    /// Asks once for each thing, so that a shell that cannot answer is known before anything is noted.
    pub(crate) fn new(phone: Arc<dyn Outside>) -> Result<Self, Refusal> {
        let asked = Self { phone };
        match (asked.phone.now(), asked.bytes()) {
            (Ok(_), Some(_)) => Ok(asked),
            _ => Err(Refusal::Storage(say("phone.outside", &[]))),
        }
    }

    fn bytes(&self) -> Option<[u8; 16]> {
        self.phone.random().ok()?.try_into().ok()
    }
}

/// Leaves the call for the border, where this becomes a refusal: an id without randomness, or a time that is made up,
/// would be wrong for ever.
fn give_up() -> ! {
    std::panic::resume_unwind(Box::new("the phone gave no time or no random bytes"))
}

impl app::Outside for Asked {
    fn now(&self) -> job::Wall {
        let Ok(Wall { utc_ms, offset_min }) = self.phone.now() else { give_up() };
        job::Wall { utc_ms, offset_min }
    }

    fn random(&self) -> [u8; 16] {
        self.bytes().unwrap_or_else(|| give_up())
    }
}
