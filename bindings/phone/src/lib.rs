//! The phone border: one object with three calls, and the rows as plain records.
//!
//! Every call answers with a result, and a panic inside arrives as a refusal like any other, so that a shell has one
//! way to tell a person what happened. Nothing is decided here.

#![allow(unsafe_code, reason = "UniFFI's macros make the C functions that Kotlin, Swift and Python call")]
#![allow(clippy::needless_pass_by_value, reason = "what crosses the border is handed over whole")]

mod outside;
mod row;
mod shape;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;

use boxproof_core::app;
use boxproof_core::words::say;

pub use outside::{NoAnswer, Outside, Wall};
pub use row::{Ask, Body, Edge, FileOut, HandleAt, Pick, Row, Screen, Strand};
pub use shape::{Anchor, Coat, Line, Sketch, Touch};

uniffi::setup_scaffolding!();

/// Why nothing was done: one variant for each thing that the person can do about it, with the sentence to show.
#[derive(Debug, thiserror::Error, uniffi::Error)]
#[uniffi(flat_error)]
pub enum Refusal {
    /// The input is wrong: change it and send again.
    #[error("{0}")]
    Input(String),
    /// The storage failed, or the program broke: free space, check the disk, open again.
    #[error("{0}")]
    Storage(String),
    /// The file is not one of ours, damaged or newer: it was left as it is.
    #[error("{0}")]
    NotOurs(String),
}

impl From<app::Refusal> for Refusal {
    fn from(refusal: app::Refusal) -> Self {
        match refusal {
            app::Refusal::Input(sentence) => Self::Input(sentence),
            app::Refusal::Storage(sentence) => Self::Storage(sentence),
            app::Refusal::NotOurs(sentence) => Self::NotOurs(sentence),
        }
    }
}

impl Refusal {
    /// Without the way to the notebook's folder: on a phone it is long, and nobody can go there.
    fn near(self, folder: &str) -> Self {
        let near = |sentence: String| match folder.trim_end_matches('/') {
            "" => sentence,
            folder => sentence.replace(&format!("{folder}/"), ""),
        };
        match self {
            Self::Input(sentence) => Self::Input(near(sentence)),
            Self::Storage(sentence) => Self::Storage(near(sentence)),
            Self::NotOurs(sentence) => Self::NotOurs(near(sentence)),
        }
    }
}

/// One event: the token of what was pressed, what was typed with it, and the revision that the person saw.
#[derive(Debug, uniffi::Record)]
pub struct Sent {
    /// The token, as the core made it.
    pub token: String,
    /// Typed text, or the path of a chosen file.
    pub input: Option<String>,
    /// The revision that the person saw.
    pub drawn: u64,
}

/// A notebook: a folder with a log for each site.
#[derive(uniffi::Object)]
pub struct Notebook {
    core: app::Notebook,
    folder: String,
}

#[uniffi::export]
impl Notebook {
    /// Opens the notebook in `folder`, making it if there is none. `seed` is 32 secret bytes of the phone's keystore,
    /// the same at each open.
    #[uniffi::constructor]
    pub fn open(folder: String, seed: Vec<u8>, outside: Arc<dyn Outside>) -> Result<Arc<Self>, Refusal> {
        guarded(&folder, || {
            let seed = <[u8; 32]>::try_from(seed)
                .map_err(|seed| Refusal::Storage(say("phone.seed", &[("n", &seed.len().to_string())])))?;
            let outside = outside::Asked::new(outside)?;
            let core = app::Notebook::open(Path::new(&folder), seed, Arc::new(outside))?;
            Ok(Arc::new(Self { core, folder: folder.clone() }))
        })
    }

    /// The screen at `address`; an empty address is the first screen.
    pub fn screen(&self, address: String) -> Result<Screen, Refusal> {
        guarded(&self.folder, || Ok(self.core.screen(&address)?.into()))
    }

    /// Sends an event; answers with the screen to show next.
    pub fn send(&self, sent: Sent) -> Result<Screen, Refusal> {
        let Sent { token, input, drawn } = sent;
        guarded(&self.folder, || Ok(self.core.send(&app::Sent { token, input, drawn })?.into()))
    }
}

/// Runs a call; a panic in it becomes a refusal. What is on disk is whole, and the core's locks outlive a panic.
fn guarded<T>(folder: &str, call: impl FnOnce() -> Result<T, Refusal>) -> Result<T, Refusal> {
    let answer = catch_unwind(AssertUnwindSafe(call));
    answer.unwrap_or_else(|_| Err(Refusal::Storage(say("phone.broke", &[])))).map_err(|refusal| refusal.near(folder))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_a_refusal() {
        let told = guarded::<()>("", || std::panic::resume_unwind(Box::new("broke on purpose")));
        assert!(matches!(told, Err(Refusal::Storage(sentence)) if sentence.contains("kept")));
    }

    #[test]
    fn a_refusal_names_files_from_the_notebook_on() {
        for folder in ["/data/notebook", "/data/notebook/"] {
            let told = Refusal::Storage("No room in /data/notebook/sites/a.boxproof.".to_owned()).near(folder);
            assert_eq!(told.to_string(), "No room in sites/a.boxproof.");
        }
    }
}
