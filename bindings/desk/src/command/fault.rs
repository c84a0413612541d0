//! Why a command could not do what was asked.

use std::path::Path;

use boxproof_core::app::Refusal;
use boxproof_core::log::LogError;
use boxproof_core::words::say;
use boxproof_desk::page::ServeError;

/// One or two sentences: what happened, what was kept, what to do.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub(crate) struct Fault(pub(crate) String);

impl Fault {
    /// Words with a path filled in.
    pub(crate) fn of(key: &str, path: &Path) -> Self {
        Self(say(key, &[("path", &path.display().to_string())]))
    }
}

impl From<LogError> for Fault {
    fn from(error: LogError) -> Self {
        let LogError::Damaged { file, moved_to } = &error else { return Self(error.to_string()) };
        let now = moved_to.as_ref().unwrap_or(file).display().to_string();
        Self(format!("{error} {}", say("desk.damaged.how", &[("path", &now)])))
    }
}

impl From<Refusal> for Fault {
    fn from(refusal: Refusal) -> Self {
        Self(refusal.to_string())
    }
}

impl From<ServeError> for Fault {
    fn from(error: ServeError) -> Self {
        Self(error.to_string())
    }
}
