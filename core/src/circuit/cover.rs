//! Positions that one prediction has to cover: those that were stated, either way round of handles of which nobody
//! knows what up does, and every position of handles that matter and were not stated.

use std::collections::BTreeSet;

use crate::job::{At, Handle};

use super::build::{Circuit, HandleNode};
use super::network::State;

/// Most combinations of positions that one prediction covers.
pub(super) const MOST_STATES: usize = 64;

/// Positions to cover, the stated ones first.
pub(super) struct Cover {
    pub(super) states: Vec<State>,
    /// Handles that are covered rather than known.
    pub(super) handles: BTreeSet<Handle>,
    /// They were too many: only the stated positions are there, the other handles at rest.
    pub(super) partial: bool,
}

impl Cover {
    /// `matters` says which handles can make a difference.
    pub(super) fn of(circuit: &Circuit, at: &[At], matters: impl Fn(&Handle, &HandleNode) -> bool) -> Self {
        let mut cover =
            Self { states: vec![circuit.state(at, circuit.rest())], handles: BTreeSet::new(), partial: false };
        for (handle, node) in circuit.handles.iter().filter(|(_, node)| !node.automatic) {
            if !matters(handle, node) {
                continue;
            }
            let is_stated = at.iter().any(|at| at.handle == *handle);
            let count = u8::try_from(node.positions.len()).unwrap_or(u8::MAX);
            let is_open = |now: u8, position: u8| match (is_stated, node.mapped) {
                (true, true) => false,
                (true, false) => position == count.saturating_sub(1).saturating_sub(now),
                (false, _) => true,
            };
            let more: Vec<State> = cover
                .states
                .iter()
                .flat_map(|state| {
                    let now = state.position(node.switch);
                    let others = (0..count).filter(move |position| *position != now && is_open(now, *position));
                    others.map(|position| state.clone().with(node.switch, position))
                })
                .collect();
            if !more.is_empty() {
                cover.handles.insert(handle.clone());
                cover.states.extend(more);
            }
            if cover.states.len() > MOST_STATES {
                cover.states.truncate(1);
                cover.partial = true;
                break;
            }
        }
        cover
    }
}
