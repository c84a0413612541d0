//! What can make a box live, and how each is held.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::job::value::SupplyKind;
use crate::job::{Side, ThingId, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::word_of;
use crate::words::say;

use super::front::site_name;
use super::held::{Hold, holds, source_place, source_words, sources};
use super::order::is_panel;
use super::parts::{blank, box_words, caution, choice, deeds, headline, item, sentence, valued, w, wf, wiring_of};
use super::row::{Edge, Pick, Row, Screen};
use super::view::View;

/// What leads to a box, as far as the runs are known.
pub(super) struct Reach {
    /// Sources that may make it live.
    pub(super) sources: Vec<ThingId>,
    /// What is not known of where power may come from, in words.
    pub(super) unknown: Vec<String>,
}

/// The sources that may reach a box: every breaker whose circuit comes to a box that runs lead to from here, and
/// what people noted. Switches count as ON: this errs towards more sources.
pub(super) fn reach(view: &View<'_>, at: ThingId) -> Reach {
    let mut sources = BTreeSet::new();
    let mut never = BTreeSet::new();
    let mut unknown = Vec::new();
    let mut seen = BTreeSet::new();
    let layers = [view.found(), view.planned(), view.left()];
    let mut queue = VecDeque::from([at]);
    while let Some(id) = queue.pop_front() {
        if !seen.insert(id) {
            continue;
        }
        for wiring in layers {
            fed_by(wiring, id, id == at, &mut sources, &mut never);
            for (run, side) in wiring.runs_in(id) {
                let Some(note) = wiring.runs.get(&run) else { continue };
                match note.side(side.other()).in_box.get() {
                    Some(Some(other)) if is_panel(view, wiring, *other) => {
                        feed(wiring, (run, side.other()), *other, &mut sources, &mut unknown);
                    }
                    Some(Some(other)) => queue.push_back(*other),
                    _ => unknown.push(run_unknown(wiring, id, run, side)),
                }
            }
        }
    }
    unknown.sort();
    unknown.dedup();
    let sources = sources.into_iter().filter(|source| !never.contains(source)).collect();
    Reach { sources, unknown }
}

fn run_unknown(wiring: &Wiring, id: ThingId, run: ThingId, side: Side) -> String {
    let letter = super::parts::letter(wiring, run, side);
    wf("reach.run", &[("box", &wiring.tag(id)), ("letter", &letter)])
}

/// The breaker that a run's side at a panel comes from.
fn feed(
    wiring: &Wiring,
    (run, side): (ThingId, Side),
    panel: ThingId,
    sources: &mut BTreeSet<ThingId>,
    unknown: &mut Vec<String>,
) {
    let said = wiring.runs.get(&run).and_then(|note| note.side(side).feed.get().copied());
    let landed = wiring.tips.iter().filter_map(|(tip, note)| match (tip, note.place.get()) {
        (
            crate::job::Tip::Wire { run: of, side: at, .. },
            Some(crate::job::Place::Terminal { device, .. } | crate::job::Place::SomewhereOn(device)),
        ) if *of == run && *at == side => Some(*device),
        _ => None,
    });
    let all: Vec<ThingId> = said.into_iter().chain(landed).collect();
    if all.is_empty() {
        let letter = super::parts::letter(wiring, run, side);
        unknown.push(wf("reach.breaker", &[("panel", &box_words(wiring, panel)), ("letter", &letter)]));
    }
    sources.extend(all);
}

/// What was noted to reach a box or not to; that it does not counts for that box alone.
fn fed_by(wiring: &Wiring, id: ThingId, own: bool, sources: &mut BTreeSet<ThingId>, never: &mut BTreeSet<ThingId>) {
    for fed in wiring.boxes.get(&id).into_iter().flat_map(|note| &note.fed_by).filter_map(|note| note.get()) {
        if fed.reaches {
            sources.insert(fed.source);
        } else if own {
            never.insert(fed.source);
        }
    }
}

/// The page `sources`, or `sources <box>`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let of_box = if view.address.words.is_empty() { None } else { Some(view.box_asked()?) };
    let holds = holds(view);
    let (mut screen, listed, unknown) = match of_box {
        Some(at) => {
            let wiring = wiring_of(view, at);
            let mut screen = view.screen(&box_words(wiring, at), &w("sources.of_box"));
            screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
            let reach = reach(view, at);
            (screen, reach.sources, reach.unknown)
        }
        None => (view.screen(&site_name(view), &w("sources.title")), sources(view), Vec::new()),
    };
    if listed.is_empty() {
        screen.rows.push(sentence("none", &w("sources.none")).edge(Edge::Unknown));
    }
    screen.rows.extend(listed.iter().map(|id| source_row(view, *id, &holds)));
    if !unknown.is_empty() {
        screen.rows.push(headline("unknown", &w("sources.unknown"), ""));
        let rows = unknown.iter().enumerate();
        screen.rows.extend(rows.map(|(n, words)| item(&format!("unknown {n}"), words, "").edge(Edge::Unknown)));
    }
    if let Some(at) = of_box {
        screen.rows.extend(noted_to_reach(view, at, &listed));
    }
    screen.rows.push(caution("own-lock", &w("sources.own_lock"), &w("sources.own_lock_text")));
    screen.rows.push(caution("decides", &w("sources.decides"), &w("sources.decides_text")));
    let mut others = vec![Pick::new(&w("deed.new_supply"), view.go(&view.page("new-supply")))];
    if of_box.is_some() {
        others.push(Pick::new(&w("deed.all_sources"), view.go(&view.page("sources"))));
    }
    screen.rows.push(deeds(None, others));
    Ok(screen)
}

fn source_row(view: &View<'_>, id: ThingId, holds: &BTreeMap<ThingId, Hold>) -> Row {
    let hold = holds.get(&id).cloned().unwrap_or_default();
    let place = source_place(view, id);
    let source = source_words(view, id);
    let title = if place.is_empty() { source } else { wf("source_at", &[("source", &source), ("panel", &place)]) };
    let second = hold.lock_words(view);
    let to = view.go(&view.page("source").word(id));
    valued(&format!("source {id}"), &title, &second, &hold.words(view)).edge(hold.edge()).leads(to)
}

/// What a person may note of a box's sources: that another one reaches it, or that one does not.
fn noted_to_reach(view: &View<'_>, at: ThingId, listed: &[ThingId]) -> Option<Row> {
    let set = |field: &str, id: ThingId| view.event(Line::new("set").word(at).with(field, id));
    let more = sources(view).into_iter().filter(|id| !listed.contains(id));
    let more = more.map(|id| Pick::new(&wf("reaches", &[("source", &source_words(view, id))]), set("fed_by", id)));
    let fewer = listed.iter();
    let fewer =
        fewer.map(|id| Pick::new(&wf("reaches_not", &[("source", &source_words(view, *id))]), set("not_fed_by", *id)));
    let options: Vec<Pick> = more.chain(fewer).collect();
    (!options.is_empty()).then(|| choice("fed", &w("sources.seen"), options))
}

/// The page `source <source>`: how it is held, and what can be done with it.
pub(super) fn show_one(view: &View<'_>) -> Result<Screen, Refusal> {
    let name = view.address.words.first().map(String::as_str).unwrap_or_default();
    let id = view.names().source(name)?;
    let hold = holds(view).get(&id).cloned().unwrap_or_default();
    let mut screen = view.screen(&source_place(view, id), &source_words(view, id));
    screen.rows.push(item("state", &hold.words(view), &hold.lock_words(view)).edge(hold.edge()));
    let me = view.visit.map(|visit| visit.person);
    let mine = me.is_some_and(|me| hold.locks.iter().any(|(person, _)| *person == me));
    screen.rows.push(caution("own-lock", &w("sources.own_lock"), &w("sources.own_lock_text")));
    screen.rows.push(caution("decides", &w("sources.decides"), &w("sources.decides_text")));
    let event = |verb: &str| Line::new(verb).word(id);
    let pick = |key: &str, event: Line| Pick::new(&w(key), view.event(event));
    let locking = pick("deed.off_lock", event("off").with("held", "lock"));
    let mut others = Vec::new();
    let main = match (hold.is_off(), mine) {
        (_, true) => Some(pick("deed.unlock", event("unlock"))),
        (true, false) => Some(pick("deed.lock", event("lock"))),
        (false, false) => Some(locking),
    };
    if hold.is_off() && hold.locks.is_empty() {
        others.push(pick("deed.on", event("on")));
    } else if !hold.is_off() {
        others.push(pick("deed.off", event("off")));
        if hold.switched.is_none() {
            others.push(pick("deed.on", event("on")));
        }
        others.push(pick("deed.guarded", event("off").with("held", "guarded")));
    }
    others.push(pick("deed.hold_unknown", event("off").with("held", "not-known")));
    // A lock that another person says to have put there: each by its own owner, noted under their name.
    for person in view.notes.things(crate::job::Kind::Person, crate::job::Layer::Site) {
        if Some(person) != me && !hold.locks.iter().any(|(known, _)| *known == person) {
            let words = say("screen.deed.lock_of", &[("person", &view.person_name(person))]);
            others.push(Pick::new(&words, view.event(event("lock").with("by", person))));
        }
    }
    for (person, _) in hold.locks.iter().filter(|(person, _)| Some(*person) != me) {
        let words = say("screen.deed.unlock_of", &[("person", &view.person_name(*person))]);
        others.push(Pick::new(&words, view.event(event("unlock").with("by", person))));
    }
    screen.rows.push(deeds(main, others));
    Ok(screen)
}

/// The page `new-supply`: another thing that can make a box live.
pub(super) fn new_supply(view: &View<'_>) -> Result<Screen, Refusal> {
    const KINDS: [SupplyKind; 7] = [
        SupplyKind::Generator,
        SupplyKind::Solar,
        SupplyKind::Battery,
        SupplyKind::Inverter,
        SupplyKind::Cord,
        SupplyKind::OtherLeg,
        SupplyKind::FedElsewhere,
    ];
    let mut screen = view.screen(&site_name(view), &w("supply.title"));
    let kind = view.address.field("kind").unwrap_or_default();
    let options = KINDS.iter().map(|known| {
        let word = word_of(known);
        Pick::new(&w(&format!("supply.{word}")), view.here("kind", &word)).on(word == kind)
    });
    screen.rows.push(choice("kind", &w("supply.kind"), options.collect()));
    let name = view.address.field("name").unwrap_or_default();
    screen.rows.push(blank("name", &w("supply.name"), name, view.here("name", "?")));
    let ready = !kind.is_empty() && !name.trim().is_empty();
    let main = ready.then(|| {
        let event = Line::new("supply").with("name", name).with("supply", kind);
        Pick::new(&w("deed.note_supply"), view.event_then(event, &view.page("sources")))
    });
    screen.rows.push(deeds(main, Vec::new()));
    Ok(screen)
}
