//! Before power: the list of what has to be so before the last lock comes off, then ON.

use crate::check::readied::{COVERS_GUARDED, ENDS_CAPPED, LOADS_OFF, TOLD};
use crate::check::{Between, Class, Left, ReadyItem, ReadyWhat, SourceState, say_between, say_ready};
use crate::job::{Mode, Pair, Purpose, Spot, ThingId};
use crate::refusal::Refusal;
use crate::screen::front::site_name;
use crate::screen::row::{Edge, Pick, Row, Screen};
use crate::screen::view::View;
use crate::tell::{figure_words, unit};
use crate::token::Line;
use crate::token::path::tip_text;
use crate::words::{count, say};

use super::bench::Bench;
use super::ohms::Resistances;
use super::parts::{choice, deeds, edged, figure, moment, notice, sentence, step, take_back};
use super::work;

/// The page `ready`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let mut screen = view.screen(&site_name(view), &say("checks.ready.title", &[]));
    screen.rows.push(notice(
        "caution",
        false,
        &say("checks.ready.caution", &[]),
        &say("checks.ready.caution.text", &[]),
    ));
    let boxes = work::boxes(view);
    let Some(job) = view.job.filter(|_| !boxes.is_empty()) else {
        screen.rows.push(sentence("none", &say("checks.ready.no_box", &[])));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    };
    let names: Vec<String> = boxes.iter().map(|id| bench.called.r#box(*id)).collect();
    screen.rows.push(sentence("boxes", &say("checks.ready.boxes", &[("boxes", &names.join(", "))])));
    let list = bench.checks.before_power(job, &boxes);
    let next = list.iter().position(|item| !item.done);
    let expected = Resistances::of(&bench);
    for (n, (item, number)) in list.iter().zip(1u32..).enumerate() {
        screen.rows.extend(item_rows(&bench, &expected, &boxes, item, number, next == Some(n)));
        // Everything that is said in words stands above this row, each point with what is left of it.
        if item.what == ReadyWhat::LoadsOff {
            screen.rows.extend(all_at_once(&bench, &list));
        }
    }
    let left = list.iter().filter(|item| !item.done).count();
    let sources: Vec<ThingId> = bench.checks.holders(&boxes).into_iter().collect();
    screen.rows.extend(source_rows(&bench, &sources));
    if left > 0 {
        screen.rows.push(sentence("left", &count("checks.ready.left", left, &[])));
    }
    screen.rows.push(deed_row(&bench, &sources, left));
    Ok(screen)
}

fn item_rows(
    bench: &Bench<'_>,
    expected: &Resistances<'_, '_>,
    boxes: &[ThingId],
    item: &ReadyItem,
    number: u32,
    is_next: bool,
) -> Vec<Row> {
    let view = bench.view;
    let when = item.evidence.last().and_then(|fact| view.notes.stamp_of(&fact.entry));
    let when = when.and_then(|stamp| view.notes.entry(stamp)).map(|kept| moment(view, kept.noted.entry.wall));
    let second = match (item.done, &when) {
        (true, Some(when)) => say("checks.ready.noted", &[("when", when)]),
        (true, None) => say("checks.ready.nothing_left", &[]),
        (false, _) if item.left.is_empty() => say("checks.ready.not_noted", &[]),
        (false, _) => count("checks.ready.open", item.left.len(), &[]),
    };
    let row = step(number, item.done, &say_ready(item.what), &second, "");
    let mut rows = vec![if is_next { row.now() } else { row }];
    rows.extend(item.left.iter().enumerate().map(|(n, left)| left_row(bench, &format!("left {number} {n}"), left)));
    match item.what {
        ReadyWhat::Resistance(between) => rows.extend(resistance(bench, expected, boxes, item, between)),
        ReadyWhat::LocksOff => rows.extend(own_locks(bench, item)),
        what => rows.extend(said_pick(bench, what, item)),
    }
    rows
}

fn left_row(bench: &Bench<'_>, key: &str, left: &Left) -> Row {
    let view = bench.view;
    match left {
        Left::End(tip) => {
            let to = view.page("end").with("tip", tip_text(tip)).with("layer", "left");
            edged(key, Edge::Unknown, &bench.called.tip_in_box(tip), &say("checks.ready.end", &[]), "")
                .leads(view.go(&to))
        }
        Left::Cover(id) => edged(key, Edge::Unknown, &bench.called.r#box(*id), &say("checks.ready.cover", &[]), ""),
        Left::Lock { source, person, since } => {
            let title = bench.checks.say_thing(*source);
            let person = bench.checks.say_person(*person);
            let fill = [("person", person.as_str()), ("since", &moment(view, since.wall))];
            edged(key, Edge::Found, &title, &say("check.source.lock", &fill), "")
        }
    }
}

/// What a person says of a point in so many words: one touch.
fn said_pick(bench: &Bench<'_>, what: ReadyWhat, item: &ReadyItem) -> Option<Row> {
    let view = bench.view;
    let note = |words: &str, key: &str| Pick::new(&say(key, &[]), view.event(Line::new("ready").word(words)));
    let picks = match what {
        ReadyWhat::Told => vec![note(TOLD, "checks.ready.say_told")],
        ReadyWhat::LoadsOff => vec![note(LOADS_OFF, "checks.ready.say_loads")],
        ReadyWhat::EndsCapped => vec![note(ENDS_CAPPED, "checks.ready.say_capped")],
        ReadyWhat::Covers => {
            let covers = item.left.iter().filter_map(|left| match left {
                Left::Cover(id) => {
                    let words = say("checks.ready.say_cover", &[("box", &bench.called.r#box(*id))]);
                    Some(Pick::new(&words, view.event(Line::new("cover").word(id).word("on"))))
                }
                _ => None,
            });
            covers.chain([note(COVERS_GUARDED, "checks.ready.say_guarded")]).collect()
        }
        ReadyWhat::Resistance(_) | ReadyWhat::LocksOff => return None,
    };
    let key = format!("say {}", say_ready(what));
    (!item.done).then(|| choice(&key, "", picks))
}

/// The points that a person may note in so many words: each stands above with what is left of it, and one touch
/// notes them all. What is noted as bare or off is none of them.
fn all_at_once(bench: &Bench<'_>, list: &[ReadyItem]) -> Option<Row> {
    let said: Vec<(&str, String)> = list
        .iter()
        .filter(|item| !item.done)
        .filter_map(|item| {
            let words = match item.what {
                ReadyWhat::Told => TOLD,
                ReadyWhat::LoadsOff => LOADS_OFF,
                ReadyWhat::EndsCapped if !bench.checks.is_any_bare(&item.left) => ENDS_CAPPED,
                _ => return None,
            };
            Some((words, say_ready(item.what)))
        })
        .collect();
    if said.len() < 2 {
        return None;
    }
    let event = said.iter().fold(Line::new("ready"), |line, (words, _)| line.word(words));
    let names: Vec<String> = said.into_iter().map(|(_, words)| words).collect();
    let pick = Pick::new(&say("checks.ready.all", &[]), bench.view.event(event)).second(&names.join(", "));
    Some(choice("all at once", "", vec![pick]))
}

/// Ohms as read beside what was worked out, and the pair that they are read at.
fn resistance(
    bench: &Bench<'_>,
    expected: &Resistances<'_, '_>,
    boxes: &[ThingId],
    item: &ReadyItem,
    between: Between,
) -> Vec<Row> {
    let view = bench.view;
    let mut rows: Vec<Row> = Vec::new();
    for (n, taken) in item.taken.iter().enumerate() {
        let second = moment(view, taken.when.wall);
        let value = figure_words(&taken.reading.figure, taken.reading.mode);
        let title = bench.checks.say_pair(&taken.reading.pair);
        let is_last = n + 1 == item.taken.len();
        let edge = if item.looks_short && is_last { Edge::Disagrees } else { Edge::Left };
        let key = format!("ohms {between:?} {n}");
        rows.push(figure(&key, &title, &second, &value, "", &expected.words(&taken.reading.pair)).edge(edge));
    }
    if item.looks_short {
        let limit = bench.checks.policy().looks_short.to_string();
        let text = say("checks.ready.short.text", &[("limit", &limit)]);
        rows.push(notice(&format!("short {between:?}"), false, &say("checks.ready.short", &[]), &text));
    }
    if between == Between::NeutralGround && !item.done {
        rows.push(sentence("meet", &say("checks.ready.meet", &[])));
    }
    let Some((at, pair)) = ohms_pair(bench, boxes, between) else { return rows };
    if item.taken.is_empty() {
        let key = format!("expect {between:?}");
        let title = bench.checks.say_pair(&pair);
        rows.push(figure(&key, &title, &expected.second(&pair), "", "Ω", &expected.words(&pair)).edge(Edge::Unknown));
    }
    let loads = expected.loads(&pair);
    rows.extend(loads.map(|words| sentence(&format!("loads {between:?}"), &words)));
    let event = bench.read(at, &pair, Purpose::BeforePower, Mode::Ohms);
    let pair_words = say("name.in_box", &[("box", &bench.called.r#box(at)), ("name", &bench.checks.say_pair(&pair))]);
    let picks = vec![
        Pick::new(&say("tell.over_range", &[]), view.event(event.clone().with("value", "OL"))),
        Pick::new(&say("checks.ready.ohms", &[]), view.event(event.with("value", "?")))
            .asks(&say("checks.ready.ask_ohms", &[("between", &say_between(between))]), true)
            .unit(unit(Mode::Ohms)),
    ];
    rows.push(choice(&format!("read {between:?}"), &pair_words, picks));
    rows
}

/// A pair of some box to read ohms at: the first box that has both sorts of joints.
fn ohms_pair(bench: &Bench<'_>, boxes: &[ThingId], between: Between) -> Option<(ThingId, Pair)> {
    let (from, to) = match between {
        Between::HotNeutral => (Class::Neutral, Class::Ungrounded),
        Between::HotGround => (Class::Ground, Class::Ungrounded),
        Between::NeutralGround => (Class::Ground, Class::Neutral),
        Between::HotHot => (Class::Ungrounded, Class::Ungrounded),
    };
    boxes.iter().find_map(|id| {
        let joints = bench.checks.joints(*id);
        let spots = |class: Class| {
            let of = joints.iter().filter(move |joint| joint.class == class);
            of.map(|joint| joint.spot.clone()).collect::<Vec<Spot>>()
        };
        let from = spots(from).into_iter().next()?;
        let to =
            if between == Between::NeutralGround { spots(to).into_iter().next()? } else { bench.live_spot(*id)? };
        (from != to).then_some((*id, Pair { from, to }))
    })
}

/// The person's own locks, one touch each; another's comes off by its owner.
fn own_locks(bench: &Bench<'_>, item: &ReadyItem) -> Option<Row> {
    let view = bench.view;
    let own = item.left.iter().filter_map(|left| match left {
        Left::Lock { source, person, .. } if view.visit.is_some_and(|visit| visit.person == *person) => {
            let words = say("checks.ready.unlock", &[("source", &bench.checks.say_thing(*source))]);
            Some(Pick::new(&words, view.event(Line::new("unlock").word(source))))
        }
        _ => None,
    });
    let own: Vec<Pick> = own.collect();
    (!own.is_empty()).then(|| choice("unlock", "", own))
}

fn source_rows(bench: &Bench<'_>, sources: &[ThingId]) -> Vec<Row> {
    let each = sources.iter().map(|source| {
        let hold = bench.checks.hold(*source);
        let edge = if hold.state == SourceState::NotKnown { Edge::Unknown } else { Edge::Found };
        let name = bench.checks.say_thing(*source);
        let owners: Vec<String> = hold.locks.keys().map(|person| bench.checks.say_person(*person)).collect();
        let (title, value) = if owners.is_empty() {
            (name, String::new())
        } else {
            let fill = [("source", name.as_str()), ("owners", &owners.join(", "))];
            (say("checks.ready.stays_off", &fill), count("checks.ready.locks", owners.len(), &[]))
        };
        edged(&format!("source {source}"), edge, &title, &bench.checks.say_hold(&hold), &value)
    });
    each.collect()
}

/// ON is offered for what no lock is noted on, and the main act only once nothing of the list is left.
fn deed_row(bench: &Bench<'_>, sources: &[ThingId], left: usize) -> Row {
    let view = bench.view;
    let off = |source: &&ThingId| {
        let hold = bench.checks.hold(**source);
        hold.locks.is_empty() && hold.state == SourceState::Off
    };
    let locked = sources.iter().any(|source| !bench.checks.hold(*source).locks.is_empty());
    let mut on: Vec<Pick> = sources
        .iter()
        .filter(off)
        .map(|source| {
            let words = say("checks.ready.on", &[("source", &bench.checks.say_thing(*source))]);
            Pick::new(&words, view.event_then(Line::new("on").word(source), &view.page("live")))
        })
        .collect();
    let mut main = (left == 0 && on.len() == 1).then(|| on.pop()).flatten();
    if main.is_none() && on.is_empty() && !locked {
        main = Some(Pick::new(&say("checks.live.title", &[]), view.go(&view.page("live"))));
    }
    on.push(take_back(view));
    deeds(main, on)
}
