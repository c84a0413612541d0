//! Visits: who is at the site, for which job, since when.

use super::entry::Layer;
use super::happening::Happening;
use super::id::{Author, Hash, Stamp, ThingId};
use super::measure::Wall;
use super::notes::{Happened, Notes};
use super::subject::Subject;
use super::value::Kind;

/// One person's day, or part of one, at the site. Named by the entry of the arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Visit {
    /// The entry of the arrival.
    pub id: Hash,
    /// Who signed it.
    pub author: Author,
    /// The person.
    pub person: ThingId,
    /// The job.
    pub job: ThingId,
    /// When it began, in the order of entries.
    pub began: Stamp,
    /// When it began, on the wall clock.
    pub arrived: Wall,
    /// When the person last left the site, if nothing says that they came back.
    pub away: Option<(Stamp, Wall)>,
    /// The visit is over.
    pub ended: bool,
}

/// A person leaving the site or coming back to it.
fn is_moving(happened: &Happened, person: ThingId) -> bool {
    happened.of == Subject::Thing(person) && matches!(happened.what, Happening::Gone { .. } | Happening::Back)
}

impl Notes {
    /// Every visit, in order of arrival.
    pub fn visits(&self) -> Vec<Visit> {
        let mut visits: Vec<Visit> = Vec::new();
        for happened in self.happened() {
            match (&happened.what, &happened.of) {
                (Happening::Arrived { job }, Subject::Thing(person)) => visits.push(Visit {
                    id: happened.fact.entry,
                    author: happened.stamp.author,
                    person: *person,
                    job: *job,
                    began: happened.stamp,
                    arrived: happened.wall,
                    away: None,
                    ended: false,
                }),
                (what, Subject::Thing(person)) if is_moving(happened, *person) => {
                    let Some(visit) = visits.iter_mut().rev().find(|visit| visit.person == *person) else { continue };
                    visit.away = (*what != Happening::Back).then_some((happened.stamp, happened.wall));
                    visit.ended = *what == Happening::Gone { ended: true };
                }
                _ => {}
            }
        }
        visits
    }

    /// The author's visit that has not ended.
    pub fn visit_of(&self, author: Author) -> Option<Visit> {
        self.visits().into_iter().rev().find(|visit| visit.author == author).filter(|visit| !visit.ended)
    }

    /// The job that work is noted for: that of the latest visit, else the one noted last.
    pub fn job_now(&self) -> Option<ThingId> {
        let visited = self.visits().last().map(|visit| visit.job);
        visited.or_else(|| self.things(Kind::Job, Layer::Site).last().copied())
    }
}
