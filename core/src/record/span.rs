//! What a record covers, and which entries belong to it.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::notes::Kept;
use crate::job::{Hash, Notes, Stamp, ThingId, Visit};

/// What a record covers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Span {
    /// One visit, named by the entry of its arrival.
    Visit(Hash),
    /// One day on the wall clock of whoever wrote, as `2026-05-12`: every visit of the job on it.
    Day(String),
    /// The whole job.
    Job,
}

impl Span {
    /// The span in which a job was last visited, as a day; the whole job if nobody came yet.
    pub fn last(notes: &Notes, job: ThingId) -> Self {
        let last = notes.visits().into_iter().rev().find(|visit| visit.job == job);
        last.map_or(Self::Job, |visit| Self::Day(visit.arrived.day()))
    }
}

/// Tells which entries belong to a span of a job.
pub(super) struct Reach {
    span: Span,
    job: ThingId,
    /// The job of every visit.
    jobs: BTreeMap<Hash, ThingId>,
    /// The days on which the job was visited.
    days: BTreeSet<String>,
}

impl Reach {
    pub(super) fn new(notes: &Notes, job: ThingId, span: &Span) -> Self {
        let visits = notes.visits();
        let days = visits.iter().filter(|visit| visit.job == job).map(|visit| visit.arrived.day());
        Self {
            span: span.clone(),
            job,
            days: days.collect(),
            jobs: visits.iter().map(|visit| (visit.id, visit.job)).collect(),
        }
    }

    /// Does an entry belong to the span? One without a visit belongs to the day on which it was written.
    pub(super) fn has(&self, kept: &Kept) -> bool {
        let noted = &kept.noted;
        let visit = noted.entry.visit.or_else(|| self.jobs.contains_key(&noted.hash).then_some(noted.hash));
        let job = visit.and_then(|visit| self.jobs.get(&visit));
        let day = noted.entry.wall.day();
        let of_job = job.map_or_else(|| self.days.contains(&day), |job| *job == self.job);
        match &self.span {
            Span::Visit(id) => visit == Some(*id),
            Span::Day(only) => of_job && day == *only,
            Span::Job => of_job,
        }
    }

    /// Does a visit belong to the span?
    pub(super) fn has_visit(&self, visit: &Visit) -> bool {
        match &self.span {
            Span::Visit(id) => visit.id == *id,
            Span::Day(only) => visit.job == self.job && visit.arrived.day() == *only,
            Span::Job => visit.job == self.job,
        }
    }

    /// The last entry of the span.
    pub(super) fn last(&self, notes: &Notes) -> Option<Stamp> {
        notes.entries().rev().find(|(_, kept)| self.has(kept)).map(|(stamp, _)| *stamp)
    }
}
