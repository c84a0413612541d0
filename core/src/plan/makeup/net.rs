//! What belongs together in a box: one splice to be, or what is there of it.

use std::collections::BTreeSet;

use super::scene::Empty;
use super::{Target, What, Why};
use crate::catalogue::Role as Made;
use crate::job::{Handle, ThingId, Tip};

/// What belongs together, as far as it is not noted to be together.
#[derive(Debug, Clone)]
pub(super) struct Net {
    pub(super) what: What,
    /// Ends of runs without a place, then leads.
    pub(super) ends: Vec<Tip>,
    /// Terminals with nothing on them, commons left out.
    pub(super) targets: Vec<Target>,
    /// Commons with nothing on them.
    pub(super) commons: Vec<Target>,
    /// The splice that is there.
    pub(super) splice: Option<ThingId>,
    /// Ends that are under a terminal, each with it; without one: they go through.
    pub(super) direct: Vec<(Tip, Option<Target>)>,
    pub(super) why: BTreeSet<Why>,
    /// Handles that work it, for a leg.
    pub(super) handles: BTreeSet<Handle>,
    /// Its circuit, where a box has several.
    pub(super) circuit: Option<ThingId>,
}

impl Net {
    pub(super) fn new(what: What) -> Self {
        Self {
            what,
            ends: Vec::new(),
            targets: Vec::new(),
            commons: Vec::new(),
            splice: None,
            direct: Vec::new(),
            why: BTreeSet::new(),
            handles: BTreeSet::new(),
            circuit: None,
        }
    }

    pub(super) fn add(&mut self, tip: Tip, why: Option<Why>) {
        self.ends.push(tip);
        self.why.extend(why);
    }

    /// Takes an empty point: a lead as an end, a terminal as a place for a pigtail.
    pub(super) fn take(&mut self, empty: &Empty) {
        if let Some(tip) = empty.tip() {
            self.ends.push(tip);
            return;
        }
        let target = Target::Terminal { device: empty.device, terminal: empty.point.clone() };
        if empty.made == Made::Common { self.commons.push(target) } else { self.targets.push(target) }
    }

    pub(super) fn is_there(&self) -> bool {
        self.splice.is_some() || !self.direct.is_empty()
    }

    pub(super) fn has_run(&self) -> bool {
        self.is_there() || self.ends.iter().any(|tip| matches!(tip, Tip::Wire { .. }))
    }
}
