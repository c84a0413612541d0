//! Why nothing was done: what a border gets instead of a screen.

use crate::log::LogError;

/// Why nothing was done. One clear sentence each; nothing noted before is harmed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The input is wrong: change it and send again.
    #[error("{0}")]
    Input(String),
    /// The storage failed: free space, check the disk, open again.
    #[error("{0}")]
    Storage(String),
    /// The file is not one of ours, damaged or newer: it was left as it is.
    #[error("{0}")]
    NotOurs(String),
}

impl From<LogError> for Refusal {
    fn from(error: LogError) -> Self {
        match &error {
            LogError::NotOurs { .. } | LogError::Newer { .. } | LogError::Damaged { .. } => {
                Self::NotOurs(error.to_string())
            }
            _ => Self::Storage(error.to_string()),
        }
    }
}
