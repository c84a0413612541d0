//! What was found so far, and in how many of the positions.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Bus, Handle, LoadPoint, ThingId, Tip};

use super::super::network::NodeId;
use super::super::point::{Positions, Step};
use super::scene::Look;
use super::{Hazard, HazardKind};

/// One hazard as far as it was seen.
pub(super) struct Seen {
    at: Positions,
    path: Vec<Step>,
    place: Option<ThingId>,
    /// The group that it was last seen in.
    group: usize,
    /// In how many of that group's combinations it shows.
    in_group: usize,
    /// It shows in every combination of some group.
    in_whole_group: bool,
    /// In how many combinations of all groups it shows.
    in_all: usize,
    /// The combination that it was last seen in.
    last: usize,
    loads: BTreeSet<LoadPoint>,
    /// Breakers that take part.
    pub(super) breakers: BTreeSet<Handle>,
}

/// Everything found, and what is gathered over several positions.
#[derive(Default)]
pub(super) struct Notes {
    seen: BTreeMap<HazardKind, Seen>,
    group: usize,
    of: usize,
    looked: usize,
    /// Poles whose loads return by one end in the panel, for each leg.
    pub(super) returns: BTreeMap<(Tip, Bus), BTreeSet<NodeId>>,
    /// Breakers whose loads return through a joint.
    pub(super) through: BTreeMap<NodeId, BTreeSet<Handle>>,
}

impl Notes {
    /// Another group, with so many combinations.
    pub(super) fn begin(&mut self, group: usize, of: usize) {
        self.group = group;
        self.of = of;
    }

    /// Another combination.
    pub(super) fn look(&mut self) {
        self.looked += 1;
    }

    /// Notes a hazard in the combination that is being looked at. `first` gives path and place; it is asked only when
    /// the hazard is new, because a path costs more than everything else.
    pub(super) fn note(
        &mut self,
        look: &Look<'_, '_>,
        kind: HazardKind,
        loads: impl IntoIterator<Item = LoadPoint>,
        first: impl FnOnce() -> (Vec<Step>, Option<ThingId>),
    ) -> &mut Seen {
        let (group, of, looked) = (self.group, self.of, self.looked);
        // What no handle changes is looked at last, in one combination: then it is told without a position.
        let stands = of == 1
            && of_a_group(&kind)
            && self.seen.get(&kind).is_some_and(|seen| seen.group != group && !seen.in_whole_group);
        let seen = match self.seen.entry(kind) {
            Entry::Occupied(seen) => {
                let seen = seen.into_mut();
                if stands {
                    seen.at.clone_from(&look.at);
                    (seen.path, seen.place) = first();
                }
                seen
            }
            Entry::Vacant(new) => {
                let (path, place) = first();
                new.insert(Seen {
                    at: look.at.clone(),
                    path,
                    place,
                    group,
                    in_group: 0,
                    in_whole_group: false,
                    in_all: 0,
                    last: 0,
                    loads: BTreeSet::new(),
                    breakers: BTreeSet::new(),
                })
            }
        };
        seen.loads.extend(loads);
        if seen.last != looked {
            seen.in_group = if seen.group == group { seen.in_group + 1 } else { 1 };
            (seen.group, seen.last) = (group, looked);
            seen.in_all += 1;
            seen.in_whole_group |= seen.in_group == of;
        }
        seen
    }

    /// The hazards, worst first. A live loose end is not told a second time as merely loose.
    pub(super) fn finish(self) -> Vec<Hazard> {
        let live = |kind: &HazardKind| match kind {
            HazardKind::LiveLoose(tip) => Some(tip.clone()),
            _ => None,
        };
        let live: BTreeSet<Tip> = self.seen.keys().filter_map(live).collect();
        let looked = self.looked;
        let told =
            self.seen.into_iter().filter(|(kind, _)| !matches!(kind, HazardKind::Loose(tip) if live.contains(tip)));
        told.map(|(kind, seen)| Hazard {
            always: if of_a_group(&kind) { seen.in_whole_group } else { seen.in_all == looked },
            at: seen.at,
            path: seen.path,
            place: seen.place,
            loads: seen.loads,
            breakers: seen.breakers,
            kind,
        })
        .collect()
    }
}

/// It was looked for in the combinations of one group only.
fn of_a_group(kind: &HazardKind) -> bool {
    matches!(
        kind,
        HazardKind::SwitchedNeutral { .. }
            | HazardKind::ReversedPolarity(_)
            | HazardKind::AcrossLegs(_)
            | HazardKind::BorrowedNeutral { .. }
            | HazardKind::SharedNeutralOverload { .. }
            | HazardKind::NeutralRises(_)
            | HazardKind::StaysLive { .. }
            | HazardKind::ConductorsApart { .. }
            | HazardKind::NotEveryPosition { .. }
            | HazardKind::GfciAlwaysTrips { load: Some(_), .. }
    )
}
