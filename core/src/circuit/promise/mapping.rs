//! Which way round an unmarked handle stands: what up does on it nobody knows until trials tell.
//!
//! Each unmarked handle has a hidden bit: as the catalogue lists it, or turned, so that the last position has the first
//! contacts. A way is one choice of all these bits of a group. A trial that was seen rules out the ways in which it
//! would have come out otherwise. Often several ways remain and say the same: a pair of three-ways turned together
//! does what it did. So what counts is not whether one way is left, but whether all that are left agree.

#![allow(clippy::indexing_slicing, reason = "places come from the group's own handles, positions and rows")]

use std::collections::BTreeSet;

use crate::job::happening::Trial;
use crate::job::{At, LoadPoint};

use super::{Gets, Power, SwitchTable, TableGroup};

/// Ways round of the unmarked handles of one group.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Ways {
    /// A bit for each of the group's handles, set where it is turned. The first is the one that rows are named by.
    pub left: Vec<u32>,
    /// How many trials spoke of this group.
    pub trials: usize,
    /// No way fits what was tried: the wiring is not as noted, or a trial was mistyped. All ways are kept then.
    pub fits_none: bool,
}

/// What a load point gets by named positions, as far as the ways that are left agree.
#[derive(Debug, Clone, PartialEq)]
pub enum Named {
    /// All agree: what it gets, row by row.
    Known(Vec<Gets>),
    /// There are two answers.
    Either(Vec<Gets>, Vec<Gets>),
    /// There are more. The rows as the catalogue lists the handles.
    Open(Vec<Gets>),
}

impl Named {
    /// What it gets by the first way that is left.
    pub fn first(&self) -> &[Gets] {
        match self {
            Self::Known(gets) | Self::Either(gets, _) | Self::Open(gets) => gets,
        }
    }
}

impl SwitchTable {
    /// The table with what trials tell of unmarked handles. The trials are those that were made on this wiring.
    #[must_use]
    pub fn with_trials(mut self, trials: &[Trial]) -> Self {
        for group in &mut self.groups {
            let ours: Vec<&Trial> = trials.iter().filter(|trial| group.loads.contains(&trial.load)).collect();
            let fits = |way: &u32| ours.iter().all(|trial| group.power(&trial.load, &trial.at, *way) == Some(trial.on));
            let left: Vec<u32> = group.all_ways().into_iter().filter(fits).collect();
            let (fits_none, trials) = (left.is_empty(), ours.len());
            let left = if fits_none { group.all_ways() } else { left };
            group.ways = Ways { left, trials, fits_none };
        }
        self
    }

    /// Whether a load point should have power with handles in these positions. Handles that the device does not mark
    /// count either way round, as far as the trials leave it open; `None` where that makes a difference, where a
    /// handle that is not stated does, or where no way fits what was tried.
    pub fn trial(&self, load: &LoadPoint, at: &[At]) -> Option<bool> {
        let group = self.group_of(load).filter(|group| !group.ways.fits_none)?;
        let mut answers = group.ways.left.iter().map(|way| group.power(load, at, *way));
        let first = answers.next()??;
        answers.all(|answer| answer == Some(first)).then_some(first)
    }
}

impl TableGroup {
    /// Every way round of the unmarked handles.
    pub(super) fn all_ways(&self) -> Vec<u32> {
        let mut ways = vec![0u32];
        for (n, handle) in self.handles.iter().enumerate() {
            if self.unmapped.contains(handle) && self.positions[n].len() > 1 {
                let turned: Vec<u32> = ways.iter().map(|way| way | 1 << n).collect();
                ways.extend(turned);
            }
        }
        ways
    }

    /// The row that a row of named positions means, in one way; and the other way about.
    pub(super) fn turned(&self, row: usize, way: u32) -> usize {
        if way == 0 {
            return row;
        }
        let (mut left, mut stride, mut is) = (row, 1, 0);
        for (n, positions) in self.positions.iter().enumerate().rev() {
            let count = positions.len();
            let digit = left % count;
            left /= count;
            is += stride * if way >> n & 1 == 1 { count - 1 - digit } else { digit };
            stride *= count;
        }
        is
    }

    /// What a load point gets by named positions.
    pub fn named(&self, load: &LoadPoint) -> Option<Named> {
        let listed = self.column(load)?;
        let in_way = |way: u32| -> Vec<Gets> { (0..listed.len()).map(|row| listed[self.turned(row, way)]).collect() };
        let same = |a: &[Gets], b: &[Gets]| a.iter().zip(b).all(|(a, b)| (a.power, a.seen) == (b.power, b.seen));
        let mut unlike: Vec<Vec<Gets>> = Vec::new();
        for way in &self.ways.left {
            let column = in_way(*way);
            if !unlike.iter().any(|before| same(before, &column)) {
                unlike.push(column);
            }
            if unlike.len() > 2 {
                break;
            }
        }
        let mut unlike = unlike.into_iter();
        Some(match (unlike.next(), unlike.next(), unlike.next()) {
            (Some(one), None, _) => Named::Known(one),
            (Some(one), Some(other), None) => Named::Either(one, other),
            (Some(first), ..) => Named::Open(first),
            (None, ..) => Named::Open(listed),
        })
    }

    /// Whether a load point has power in the rows that fit some named positions, in one way; `None` if the rows
    /// differ, or if it has neither full power nor none. As far as the map goes: what a screen says beside it.
    fn power(&self, load: &LoadPoint, at: &[At], way: u32) -> Option<bool> {
        let place = self.loads.iter().position(|other| other == load)?;
        let mut rows: Vec<usize> = vec![0];
        for (n, handle) in self.handles.iter().enumerate() {
            let (positions, stated) = (&self.positions[n], at.iter().find(|at| at.handle == *handle));
            let digits: Vec<usize> = match stated {
                Some(at) => vec![positions.iter().position(|name| *name == at.position)?],
                None => (0..positions.len()).collect(),
            };
            rows = rows.iter().flat_map(|row| digits.iter().map(move |d| row * positions.len() + d)).collect();
        }
        let mut answers: BTreeSet<Option<bool>> = BTreeSet::new();
        for row in rows {
            answers.insert(match self.rows.get(self.turned(row, way))?.gets.get(place)?.power {
                Power::On => Some(true),
                Power::Off | Power::Tripped => Some(false),
                Power::Weak | Power::Over | Power::Unsettled => None,
            });
        }
        if answers.len() == 1 { answers.into_iter().next().flatten() } else { None }
    }
}
