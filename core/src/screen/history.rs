//! What was noted of a box, newest first; what was struck out stays readable, with its reason.

use crate::job::{Fact, FactRef, Hash, Subject, Target, ThingId};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::words::count;

use super::front::site_name;
use super::parts::{box_of_subject, box_words, deeds, headline, item, sentence, w, wf, wiring_of};
use super::row::{Edge, Pick, Row, Screen};
use super::said::fact_words;
use super::twice::who;
use super::view::View;

/// Acts on one page.
const PAGE: usize = 25;

/// The page `history <box>`, or `history` for the whole site; `from=…` pages on.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let only = if view.address.words.is_empty() { None } else { Some(view.box_asked()?) };
    let over = only.map_or_else(|| site_name(view), |at| box_words(wiring_of(view, at), at));
    let mut screen = view.screen(&over, &w("history.title"));
    let from: usize = view.address.field("from").and_then(|from| from.parse().ok()).unwrap_or(0);
    let acts: Vec<_> =
        view.notes.entries().rev().filter(|(_, kept)| speaks(view, only, &kept.noted.entry.facts)).collect();
    if acts.is_empty() {
        screen.rows.push(sentence("none", &w("history.none")));
    }
    let mut day = String::new();
    for (stamp, kept) in acts.iter().skip(from).take(PAGE) {
        let entry = &kept.noted.entry;
        if entry.wall.day() != day {
            day = entry.wall.day();
            screen.rows.push(headline(&format!("day {day}"), &day, ""));
        }
        let who = who(view, **stamp, entry.visit.as_ref());
        let mut second = wf("noted_by", &[("when", &entry.wall.clock()), ("who", &who)]);
        let struck = kept.struck || all_struck(view, kept.noted.hash, entry.facts.len());
        if struck {
            let why = reason(view, kept.noted.hash);
            second = wf("state_and", &[("state", &w("history.struck")), ("more", &format!("{why}{second}"))]);
        }
        screen.rows.push(act(view, only, kept.noted.hash, &entry.facts, &second, struck));
    }
    let mut others = vec![
        Pick::new(&w("deed.take_back"), view.event(Line::new("take-back"))),
        Pick::new(&w("deed.take_back_why"), view.event(Line::new("take-back").with("why", "?")))
            .asks(&w("ask.why"), false),
        Pick::new(&w("deed.bring_back"), view.event(Line::new("bring-back"))),
    ];
    if acts.len() > from + PAGE {
        others.insert(0, Pick::new(&w("history.older"), view.here("from", &(from + PAGE).to_string())));
    }
    screen.rows.push(deeds(None, others));
    Ok(screen)
}

/// Does an act speak of the box?
fn speaks(view: &View<'_>, only: Option<ThingId>, facts: &[Fact]) -> bool {
    let Some(at) = only else { return true };
    facts.iter().any(|fact| of_box(view, at, fact))
}

fn of_box(view: &View<'_>, at: ThingId, fact: &Fact) -> bool {
    let layers = [view.found(), view.planned(), view.left()];
    let here = |of: &Subject| {
        let of = view.notes.sames().subject(of);
        of == Subject::Thing(at) || layers.iter().any(|wiring| box_of_subject(wiring, &of).contains(&at))
    };
    match fact {
        Fact::Set(set) => here(&set.of),
        Fact::Add(add) => here(&add.of),
        Fact::Same(same) => here(&same.a.into()) || here(&same.b.into()),
        Fact::Strike(strike) => match &strike.what {
            Target::Thing(id) => here(&(*id).into()),
            Target::Entry(hash) => struck_facts(view, hash).iter().any(|fact| of_box(view, at, fact)),
            Target::Fact(fact) => {
                let facts = struck_facts(view, &fact.entry);
                facts.get(usize::from(fact.n)).is_some_and(|fact| of_box(view, at, fact))
            }
        },
        Fact::Newer(_) => false,
    }
}

/// The facts of an entry that a strike reaches. A strike of a strike leads on to what that one had struck; an entry
/// names only earlier ones, so this ends.
fn struck_facts(view: &View<'_>, hash: &Hash) -> Vec<Fact> {
    let stamp = view.notes.stamp_of(hash);
    let kept = stamp.and_then(|stamp| view.notes.entries().find(|(known, _)| **known == stamp));
    kept.map(|(_, kept)| kept.noted.entry.facts.clone()).unwrap_or_default()
}

/// Is every fact of an entry struck by itself?
fn all_struck(view: &View<'_>, entry: Hash, facts: usize) -> bool {
    let targets: Vec<FactRef> = strikes(view)
        .into_iter()
        .filter_map(|(what, _)| match what {
            Target::Fact(fact) if fact.entry == entry => Some(fact),
            _ => None,
        })
        .collect();
    facts > 0 && (0u16..).take(facts).all(|n| targets.contains(&FactRef { entry, n }))
}

/// Every standing strike with its reason.
fn strikes(view: &View<'_>) -> Vec<(Target, String)> {
    let standing = view.notes.entries().filter(|(_, kept)| !kept.struck);
    standing
        .flat_map(|(_, kept)| &kept.noted.entry.facts)
        .filter_map(|fact| match fact {
            Fact::Strike(strike) => Some((strike.what, strike.reason.clone())),
            _ => None,
        })
        .collect()
}

/// Why an entry was struck, with a stop after it; nothing where no reason was given.
fn reason(view: &View<'_>, entry: Hash) -> String {
    let found = strikes(view).into_iter().find(|(what, _)| *what == Target::Entry(entry)).map(|(_, reason)| reason);
    found.filter(|reason| !reason.is_empty()).map(|reason| format!("{reason}; ")).unwrap_or_default()
}

/// One act: what it said of the box, in words.
fn act(view: &View<'_>, only: Option<ThingId>, entry: Hash, facts: &[Fact], second: &str, struck: bool) -> Row {
    const SHOWN: usize = 6;
    let speaking: Vec<&Fact> = facts
        .iter()
        .filter(|fact| only.is_none_or(|at| of_box(view, at, fact)))
        .filter(|fact| !is_bookkeeping(fact))
        .collect();
    let mut words: Vec<String> = speaking
        .iter()
        .take(SHOWN)
        .map(|fact| {
            let wiring = match fact {
                Fact::Set(set) if set.layer == view.planned().layer => view.planned(),
                Fact::Set(set) if set.layer == view.left().layer => view.left(),
                _ => view.found(),
            };
            fact_words(view, wiring, fact)
        })
        .collect();
    if speaking.len() > SHOWN {
        words.push(count("screen.history.more", speaking.len() - SHOWN, &[]));
    }
    let row = item(&format!("act {entry}"), &words.join("; "), second);
    if struck { row } else { row.edge(Edge::Found) }
}

/// What sort of thing a thing is says nothing to a person.
fn is_bookkeeping(fact: &Fact) -> bool {
    matches!(fact, Fact::Set(set) if matches!(set.value, crate::job::Value::Is(_)))
}
