//! What can make a box live, and how each is held.

use crate::check::{Hold, Reach as CheckReach, SourceState, When};
use crate::job::value::SupplyKind;
use crate::job::{Kind, Layer, PersonNote, ThingId};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::word_of;
use crate::words::say;

use super::front::site_name;
use super::held::{Held, source_place, source_words, sources};
use super::parts::{blank, box_words, caution, choice, deeds, headline, item, sentence, valued, w, wf, wiring_of};
use super::row::{Edge, Pick, Row, Screen};
use super::state::moment;
use super::view::View;

/// What leads to a box: each source with why it counts, and what is not known.
pub(super) struct Reach {
    /// Sources that can make it live, each with why it counts in words; disconnects on the way come after them.
    pub(super) sources: Vec<(ThingId, String)>,
    /// What is not known of where power may come from, in words.
    pub(super) unknown: Vec<String>,
}

/// The sources of a box: one place where the checks are asked.
pub(super) fn reach(view: &View<'_>, at: ThingId) -> Reach {
    let checks = super::dead::checks(view);
    let isolation = checks.isolation(at);
    let why = |reach: CheckReach| match reach {
        CheckReach::Wired => String::new(),
        CheckReach::Noted => w("reach.noted"),
        CheckReach::SharedNeutral => w("reach.shared_neutral"),
        CheckReach::NotKnown => w("reach.not_known"),
    };
    let mut sources: Vec<(ThingId, String)> =
        isolation.sources.iter().map(|source| (source.id, why(source.reach))).collect();
    for (id, _) in isolation.sources.iter().flat_map(|source| &source.behind) {
        if !sources.iter().any(|(known, _)| known == id) {
            sources.push((*id, w("reach.behind")));
        }
    }
    let mut unknown: Vec<String> = isolation.unknown.iter().map(|unknown| checks.say_unknown(unknown)).collect();
    if isolation.panel {
        unknown.insert(0, w("reach.panel"));
    }
    Reach { sources, unknown }
}

/// The page `sources`, or `sources <box>`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let of_box = if view.address.words.is_empty() { None } else { Some(view.box_asked()?) };
    let (over, title, reach) = if let Some(at) = of_box {
        (box_words(wiring_of(view, at), at), "sources.of_box", reach(view, at))
    } else {
        let all = sources(view).into_iter().map(|id| (id, String::new())).collect();
        (site_name(view), "sources.title", Reach { sources: all, unknown: Vec::new() })
    };
    let Reach { sources: listed, unknown } = reach;
    let mut screen = view.screen(&over, &w(title));
    if listed.is_empty() {
        screen.rows.push(sentence("none", &w("sources.none")).edge(Edge::Unknown));
    }
    for (id, why) in &listed {
        screen.rows.push(source_row(view, *id, why));
        // One lock of one's own stands in the row; several, or another phone's, stand by their owners.
        let hold = Held::of(view, *id).0;
        if hold.locks.len() > 1 || other_phone(view, &hold) {
            screen.rows.extend(lock_rows(view, *id));
        }
    }
    if !unknown.is_empty() {
        screen.rows.push(headline("unknown", &w("sources.unknown"), ""));
        let rows = unknown.iter().enumerate();
        screen.rows.extend(rows.map(|(n, words)| item(&format!("unknown {n}"), words, "").edge(Edge::Unknown)));
    }
    if let Some(at) = of_box {
        screen.rows.extend(counts_for(view, at));
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

fn source_row(view: &View<'_>, id: ThingId, why: &str) -> Row {
    let hold = Held::of(view, id);
    let place = source_place(view, id);
    let source = source_words(view, id);
    let title = if place.is_empty() { source } else { wf("source_at", &[("source", &source), ("panel", &place)]) };
    let lock = hold.lock_words(view);
    let second = if why.is_empty() { lock } else { wf("state_and", &[("state", &lock), ("more", why)]) };
    let to = view.go(&view.page("source").word(id));
    valued(&format!("source {id}"), &title, &second, &hold.words(view)).edge(hold.edge()).leads(to)
}

/// Each lock on a source, by its owner; of those that another phone noted, until when that phone's notes are here.
pub(super) fn lock_rows(view: &View<'_>, id: ThingId) -> Vec<Row> {
    let hold = Held::of(view, id).0;
    let each = hold.locks.iter().map(|(person, when)| {
        let title = wf("hold.lock", &[("person", &view.person_name(*person)), ("when", &moment(view, when.wall))]);
        let mine = view.visit.is_some_and(|visit| visit.person == *person);
        let second =
            noted_elsewhere(view, *when).unwrap_or_else(|| if mine { w("sources.yours") } else { String::new() });
        item(&format!("lock {id} {person}"), &title, &second).edge(Edge::Found)
    });
    each.collect()
}

/// Something of how a source is held was noted on another phone.
pub(super) fn other_phone(view: &View<'_>, hold: &Hold) -> bool {
    hold.locks.values().chain(&hold.since).any(|when| when.stamp.author != view.author)
}

/// "noted by J. Ferrow on another phone, last exchange at 14:02 or later". No clock says when the phones exchanged their
/// notes; the newest note of the other phone that is here was made before that.
pub(super) fn noted_elsewhere(view: &View<'_>, when: When) -> Option<String> {
    let author = when.stamp.author;
    if author == view.author {
        return None;
    }
    let newest = view.notes.entries().filter(|(stamp, _)| stamp.author == author).map(|(_, kept)| kept);
    let newest = newest.map(|kept| kept.noted.entry.wall).max_by_key(|wall| wall.utc_ms).unwrap_or(when.wall);
    let people = view.notes.things(Kind::Person, Layer::Site).into_iter();
    let keyed = people.into_iter().find(|id| PersonNote::read(view.notes, *id).key.get() == Some(&author));
    let visited = || view.notes.visits().iter().rev().find(|visit| visit.author == author).map(|visit| visit.person);
    let name = keyed.or_else(visited).map(|id| view.person_name(id)).filter(|name| !name.is_empty());
    let name = name.unwrap_or_else(|| say("check.somebody", &[]));
    Some(wf("sources.elsewhere", &[("person", &name), ("when", &moment(view, newest))]))
}

/// Whom a dead check of a box can count for: each person with a lock on any of its sources, and where one is missing.
fn counts_for(view: &View<'_>, at: ThingId) -> Vec<Row> {
    let checks = super::dead::checks(view);
    let isolation = checks.isolation(at);
    let mut people: Vec<ThingId> = view.visit.map(|visit| visit.person).into_iter().collect();
    for source in &isolation.sources {
        let gates = source.behind.iter().map(|(_, hold)| hold);
        for person in std::iter::once(&source.hold).chain(gates).flat_map(|hold| hold.locks.keys()) {
            if !people.contains(person) {
                people.push(*person);
            }
        }
    }
    if isolation.panel || people.is_empty() || isolation.sources.is_empty() {
        return Vec::new();
    }
    let mut rows = vec![headline("counts", &w("sources.counts"), "")];
    rows.extend(people.into_iter().map(|person| {
        let missing = isolation.not_held_by(person);
        let names: Vec<String> = missing.iter().map(|id| source_words(view, *id)).collect();
        let (second, edge) = match (names.is_empty(), isolation.unknown.is_empty()) {
            (true, true) => (w("sources.on_all"), Edge::Found),
            (true, false) => (w("sources.some_unknown"), Edge::Unknown),
            (false, _) => (wf("sources.missing", &[("sources", &names.join(", "))]), Edge::Unknown),
        };
        item(&format!("counts {person}"), &view.person_name(person), &second).edge(edge)
    }));
    rows
}

/// A box that something else may make live as well says so before its cover comes off.
pub(super) fn shared_caution(view: &View<'_>, at: ThingId) -> Option<Row> {
    if super::state::is_cover_off(view, at) || super::order::is_panel(view, wiring_of(view, at), at) {
        return None;
    }
    let layers = [view.left(), view.planned(), view.found()];
    let noted = layers.iter().find_map(|wiring| wiring.boxes.get(&at)?.other_circuits.get().cloned());
    // Where one source is noted at all, no two can meet in a box.
    let sources = if sources(view).len() < 2 { Vec::new() } else { reach(view, at).sources };
    let noted = noted.filter(|words| !words.trim().is_empty());
    if noted.is_none() && sources.len() < 2 {
        return None;
    }
    let names: Vec<String> = sources.iter().map(|(id, _)| source_words(view, *id)).chain(noted).collect();
    Some(caution("shared", &w("sources.shared"), &wf("sources.shared_text", &[("sources", &names.join(", "))])))
}

/// What a person may note of a box's sources: that another one reaches it, or that one does not.
fn noted_to_reach(view: &View<'_>, at: ThingId, listed: &[(ThingId, String)]) -> Option<Row> {
    let set = |field: &str, id: ThingId| view.event(Line::new("set").word(at).with(field, id));
    let more = sources(view).into_iter().filter(|id| !listed.iter().any(|(known, _)| known == id));
    let more = more.map(|id| Pick::new(&wf("reaches", &[("source", &source_words(view, id))]), set("fed_by", id)));
    let fewer = listed.iter();
    let fewer = fewer
        .map(|(id, _)| Pick::new(&wf("reaches_not", &[("source", &source_words(view, *id))]), set("not_fed_by", *id)));
    let options: Vec<Pick> = more.chain(fewer).collect();
    (!options.is_empty()).then(|| choice("fed", &w("sources.seen"), options))
}

/// The page `source <source>`: how it is held, and what can be done with it.
pub(super) fn show_one(view: &View<'_>) -> Result<Screen, Refusal> {
    let name = view.address.words.first().map(String::as_str).unwrap_or_default();
    let id = view.names().source(name)?;
    let hold = Held::of(view, id);
    let mut screen = view.screen(&source_place(view, id), &source_words(view, id));
    let elsewhere = hold.0.since.and_then(|when| noted_elsewhere(view, when));
    screen
        .rows
        .push(item("state", &hold.words(view), &elsewhere.unwrap_or_else(|| hold.lock_words(view))).edge(hold.edge()));
    screen.rows.extend(lock_rows(view, id));
    let me = view.visit.map(|visit| visit.person);
    let mine = me.is_some_and(|me| hold.has_lock_of(me));
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
    if hold.is_off() && hold.0.locks.is_empty() {
        others.push(pick("deed.on", event("on")));
    } else if !hold.is_off() {
        others.push(pick("deed.off", event("off")));
        if hold.0.state != SourceState::On {
            others.push(pick("deed.on", event("on")));
        }
        others.push(pick("deed.guarded", event("off").with("held", "guarded")));
    }
    others.push(pick("deed.hold_unknown", event("off").with("held", "not-known")));
    // A lock that another person says to have put there: each by its own owner, noted under their name.
    for person in view.notes.things(crate::job::Kind::Person, crate::job::Layer::Site) {
        if hold.is_off() && Some(person) != me && !hold.has_lock_of(person) {
            let words = say("screen.deed.lock_of", &[("person", &view.person_name(person))]);
            others.push(Pick::new(&words, view.event(event("lock").with("by", person))));
        }
    }
    for person in hold.0.locks.keys().filter(|person| Some(**person) != me) {
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
