//! Who was there, and when.

use crate::job::{Happening, PersonNote, Subject, Visit};
use crate::words::say;

use super::day::{Day, known};
use super::document::{Section, Table};
use super::name::listed;

/// Who was there, when they came, were away and left.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("people", say("record.people", &[]));
    let columns = ["person", "licence", "arrived", "away", "left"];
    let mut table = Table::new("", "record.people", &columns);
    for visit in &day.visits {
        let person = PersonNote::read(day.notes, visit.person);
        let (away, left) = moves(day, visit);
        table.row(vec![
            day.names().person(visit.person).into(),
            known(&person.licence, String::clone).into(),
            day.time(visit.arrived).into(),
            listed(away).into(),
            left.unwrap_or_else(|| say("record.people.here", &[])).into(),
        ]);
    }
    if table.rows.is_empty() {
        part.text(say("record.people.none", &[]));
    }
    part.table(table);
    part
}

/// The times when a person was away on a visit, and when they left for good.
fn moves(day: &Day<'_>, visit: &Visit) -> (Vec<String>, Option<String>) {
    let (mut away, mut since, mut left) = (Vec::new(), None, None);
    for happened in day.notes.happened().filter(|happened| happened.stamp > visit.began) {
        if happened.of != Subject::Thing(visit.person) {
            continue;
        }
        match happened.what {
            Happening::Arrived { .. } => break,
            Happening::Gone { ended: true } => {
                left = Some(day.time(happened.wall));
                break;
            }
            Happening::Gone { ended: false } => since = Some(happened.wall),
            Happening::Back => {
                if let Some(from) = since.take() {
                    let (from, to) = (day.time(from), day.time(happened.wall));
                    away.push(say("record.people.from_to", &[("from", &from), ("to", &to)]));
                }
            }
            _ => {}
        }
    }
    if let Some(from) = since {
        away.push(say("record.people.since", &[("from", &day.time(from))]));
    }
    (away, left)
}
