//! What has to be known before the rest is read: what still stands wrong, is held, unfinished, not known or unsigned.

use crate::job::Happening;
use crate::words::{count, say};

use super::amend::noted_twice;
use super::day::Day;
use super::document::{Section, Weight};
use super::goods::{holds, undone};
use super::isolation::{sources, stand, stand_words};
use super::table::open_findings;

/// The notices that stand before everything else.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("first", say("record.first", &[]));
    let standing = day.checked.disagreements.iter().filter(|one| one.ended.is_none()).count();
    if standing > 0 {
        let title = count("record.first.disagrees", standing, &[]);
        part.notice(Weight::Hazard, title, say("record.first.disagrees.see", &[]));
    }
    for source in sources(day) {
        let stand = stand(day, source);
        if !stand.locks.is_empty() || stand.guarded || stand.on == Some(false) {
            let (name, at) = (day.names().source(source), stand_words(day, &stand));
            part.notice(Weight::Caution, say("record.first.source", &[("source", &name), ("at", &at)]), "");
        }
    }
    for hold in holds(day).into_iter().filter(|hold| hold.ended.is_none()) {
        let title = say("record.first.hold", &[("about", &day.names().subject(&hold.noted.of))]);
        part.notice(Weight::Caution, title, hold.words);
    }
    for (of, words, _) in undone(day) {
        let title = say("record.first.unfinished", &[("about", &day.names().subject(of))]);
        part.notice(Weight::Caution, title, words);
    }
    let not_counting = super::dead::not_counting(day);
    if !not_counting.is_empty() {
        let title = count("record.first.dead", not_counting.len(), &[]);
        part.notice(Weight::Caution, title, not_counting.join(", "));
    }
    counts(day, &mut part);
    part
}

/// What is counted here and listed further on.
fn counts(day: &Day<'_>, part: &mut Section) {
    let mut caution = |key: &str, n: usize| {
        if n > 0 {
            part.notice(Weight::Caution, count(key, n, &[]), "");
        }
    };
    caution("record.first.findings", open_findings(day).unwrap_or(0));
    caution("record.first.twice", noted_twice(day).len());
    caution("record.first.newer", day.notes.newer());
    let signed = day.happened.iter().any(|happened| matches!(happened.what, Happening::Signed { .. }));
    if !signed {
        part.notice(Weight::Caution, say("record.first.unsigned", &[]), "");
    }
}
