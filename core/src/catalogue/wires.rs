//! The conductors of a noted run: what its type brings, and what was noted one by one.

use std::collections::BTreeMap;

use super::RunType;
use crate::job::{Conductor, RunNote};

/// The conductors of `run` by number. One noted by itself counts before the type's; one noted twice is left out,
/// so that nobody builds on it.
pub fn conductors(run: &RunNote, kind: Option<&RunType>) -> BTreeMap<u8, Conductor> {
    let typical = kind.into_iter().flat_map(|kind| (0u8..).zip(kind.wires.iter().cloned()));
    let mut wires: BTreeMap<u8, Conductor> = typical.collect();
    for (n, note) in &run.wires {
        match note.get() {
            Some(conductor) => drop(wires.insert(*n, conductor.clone())),
            None => drop(wires.remove(n)),
        }
    }
    wires
}
