//! A proposal for making up a box: what it would do first, then its parts, to be agreed to in one act.
//!
//! What is agreed to was not looked at. In the layer as found commons and travelers are confirmed one by one.

use std::collections::BTreeSet;

use crate::catalogue::{colour_name, connector_name, point_name};
use crate::circuit::{Boundary, Circuit, NotCovered, SwitchTable, Unknown, hazards};
use crate::job::{LoadPoint, Place, Side, ThingId, Tip, Wiring};
use crate::name::Called;
use crate::plan::Roles;
use crate::plan::makeup::{Change, Difference, FORMS, Joined, Part, Target, Way, What, Why, form_of, ways, ways_with};
use crate::refusal::Refusal;
use crate::tell::{in_order, outcome_words, uncovered};
use crate::token::Line;
use crate::token::path::{load_text, word_of};
use crate::words::count;

use super::checks::table::hazard_rows;
use super::parts::{
    box_words, choice, conductor, deeds, device_words, headline, sentence, strand, tip_full, valued, w, wf,
    words_of_place,
};
use super::row::{Body, Edge, Pick, Row, Screen, Strand};
use super::view::View;

/// How many parts a proposal for this box would note in one act, in the layer that is looked at; nothing where there
/// is none.
pub(super) fn offers(view: &View<'_>, at: ThingId) -> Option<usize> {
    let all = ways(view.asked(), view.catalogue, at);
    let way = all.first()?;
    Some(way.parts.len())
}

/// The page `make-up <box> layer=… way=… parts=… connect=…`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let wiring = view.asked();
    let mut screen = view.screen(&box_words(wiring, at), &w("makeup.title"));
    screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
    let connect = view.address.field("connect").filter(|word| !word.is_empty());
    let all = ways_with(wiring, view.catalogue, at, form_of(connect));
    let n: usize = view.address.field("way").and_then(|way| way.parse().ok()).unwrap_or(0);
    let Some((n, way)) = all.get(n).map(|way| (n, way)).or(all.first().map(|way| (0, way))) else {
        screen.rows.push(sentence("nothing", &w("makeup.nothing")));
        screen.rows.push(deeds(None, vec![by_hand(view, at)]));
        return Ok(screen);
    };
    let asked = view.address.field("parts").filter(|parts| !parts.is_empty());
    let in_it = |part: &Part| asked.is_none_or(|asked| asked.split(',').any(|key| key == part.key));
    screen.rows.push(sentence("what", &w("makeup.what")));
    screen.rows.extend(worked_out(view, &way.applied_of(wiring, view.catalogue, in_it), at));
    if all.len() > 1 {
        let picks = (0..).zip(&all).map(|(m, other)| way_pick(view, other, m, m == n));
        screen.rows.push(choice("way", &w("makeup.way"), picks.collect()));
    }
    screen.rows.extend(connects(view, way, connect));
    if !way.open.is_empty() {
        let strands = way.open.iter().map(|tip| strand(view, wiring, tip)).collect();
        let (title, second) = (count("screen.makeup.open", way.open.len(), &[]), String::new());
        screen.rows.push(Row::new("open", Body::Strands { title, second, strands }).edge(Edge::Unknown));
    }
    let found = view.asked_word() == "found";
    let (single, bulk): (Vec<&Part>, Vec<&Part>) = way.parts.iter().partition(|part| found && part.is_single());
    screen.rows.push(headline("parts", &w("makeup.parts"), ""));
    let keys: Vec<&str> = bulk.iter().filter(|part| in_it(part)).map(|part| part.key.as_str()).collect();
    screen.rows.extend(bulk.iter().map(|part| part_row(view, wiring, part, &bulk, &keys)));
    if !single.is_empty() {
        // After the last one nothing is left here: the box is next.
        let last = bulk.is_empty() && single.len() == 1;
        let picks = single.iter().filter_map(|part| single_pick(view, wiring, part, at, last));
        screen.rows.push(choice("singly", &w("makeup.singly"), picks.collect()));
    }
    let main = (!keys.is_empty()).then(|| {
        let event = Line::new("make-up").word(at).with("way", n).with("parts", keys.join(","));
        let event = event.with_some("connect", connect).with_some("layer", view.layer_field());
        // As found commons and travelers wait for a look; else the box is next.
        let waits = |part: &Part| match &part.change {
            Change::Splice(joined) if !joined.singly.is_empty() => true,
            _ => part.is_single(),
        };
        let then = if found && way.parts.iter().any(waits) {
            view.page_here("make-up").word(at)
        } else {
            view.page_here("box").word(at)
        };
        Pick::new(&count("screen.makeup.confirm", keys.len(), &[]), view.event_then(event, &then))
    });
    screen.rows.push(deeds(main, vec![by_hand(view, at)]));
    Ok(screen)
}

/// With what the splices shall be made: as it is proposed, or with a form that the person has at hand.
fn connects(view: &View<'_>, way: &Way, connect: Option<&str>) -> Option<Row> {
    let spliced = way.parts.iter().any(|part| matches!(part.change, Change::Splice(_)));
    let proposed = Pick::new(&w("makeup.connect.proposed"), view.here("connect", "")).on(connect.is_none());
    let forms = FORMS.iter().map(|(word, _)| {
        let words = w(&format!("makeup.connect.{}", word.replace('-', "_")));
        Pick::new(&words, view.here("connect", word)).on(connect == Some(*word))
    });
    spliced.then(|| choice("connect", &w("makeup.connect"), std::iter::once(proposed).chain(forms).collect()))
}

fn by_hand(view: &View<'_>, at: ThingId) -> Pick {
    Pick::new(&w("makeup.by_hand"), view.go(&view.page_here("splice").with("box", at)))
}

fn way_pick(view: &View<'_>, way: &Way, n: usize, on: bool) -> Pick {
    let key = match way.difference {
        Difference::None => "none",
        Difference::NeutralsSpliced => "neutrals_spliced",
        Difference::NeutralsThrough => "neutrals_through",
        Difference::OnwardFromLine => "onward_line",
        Difference::OnwardProtected => "onward_protected",
    };
    let second = if key == "none" { String::new() } else { w(&format!("makeup.way.{key}.why")) };
    // Parts of one way are not those of another.
    let mut to = view.address.clone().with("way", n);
    to.fields.remove("parts");
    Pick::new(&w(&format!("makeup.way.{key}")), view.go(&to)).second(&second).on(on)
}

/// What the proposal would do: what it does not cover, hazards, promises of this box's circuits.
fn worked_out(view: &View<'_>, applied: &Wiring, at: ThingId) -> Vec<Row> {
    let Ok(circuit) = Circuit::of(applied, view.catalogue) else {
        return vec![sentence("no circuit", &w("makeup.no_circuit"))];
    };
    let called = Called::new(applied, view.catalogue);
    let table = SwitchTable::of(&circuit);
    let mut rows = not_covered(&called, &table, applied, at);
    let hazards = hazards(&circuit);
    rows.extend(hazard_rows(view, &called, &hazards));
    let loads = loads_of(view, applied, at);
    let promises = applied.promises.iter().filter(|(load, _)| loads.contains(load));
    let promises = promises.map(|(load, rule)| (load.clone(), rule.clone())).collect();
    let before = (view.asked_word() != "found").then(|| Circuit::of(view.found(), view.catalogue).ok()).flatten();
    let before = before.map(|circuit| SwitchTable::of(&circuit));
    let verdicts = table.verdicts(&circuit, &promises, before.as_ref(), &hazards);
    let asked: Vec<&LoadPoint> = in_order(&called, promises.keys());
    if !asked.is_empty() {
        rows.push(headline("asked", &w("makeup.asked"), ""));
    }
    for load in asked {
        let Some(verdict) = verdicts.get(load) else { continue };
        let told = outcome_words(&called, verdict, &hazards);
        let second = std::iter::once(told.asked).chain(told.lines).collect::<Vec<_>>().join("; ");
        let edge = match &verdict.outcome {
            crate::circuit::Outcome::NotCovered => Edge::Unknown,
            crate::circuit::Outcome::Broken(_) => Edge::Disagrees,
            _ => Edge::Planned,
        };
        rows.push(valued(&format!("load {}", load_text(load)), &called.load(load), &second, &told.stands).edge(edge));
    }
    rows
}

/// What is not covered: in this box one by one, elsewhere by number.
fn not_covered(called: &Called<'_>, table: &SwitchTable, applied: &Wiring, at: ThingId) -> Vec<Row> {
    let here = |one: &NotCovered| match one {
        NotCovered::Boundary(Boundary { of, .. }) => match of {
            Unknown::Tip(tip) => applied.box_of(tip) == Some(at),
            Unknown::Device(id) | Unknown::Plug(id) | Unknown::Link { device: id, .. } => {
                applied.devices.get(id).and_then(|note| note.in_box.get().copied().flatten()) == Some(at)
            }
            Unknown::Run(run) => applied.runs_in(at).iter().any(|(id, _)| id == run),
            Unknown::Source | Unknown::Supply(_) => false,
        },
        NotCovered::TooMany { .. } => true,
    };
    let mut near = table.clone();
    near.not_covered.retain(here);
    let (all, near) = (uncovered(called, table).len(), uncovered(called, &near));
    let rest = all.saturating_sub(near.len());
    let mut rows = Vec::new();
    for (n, one) in near.iter().enumerate() {
        rows.push(valued(&format!("not covered {n}"), &one.what, &one.more().join(" "), "").edge(Edge::Unknown));
    }
    if rest > 0 {
        let words = count("screen.makeup.elsewhere", rest, &[]);
        rows.push(valued("not covered", &words, "", "").edge(Edge::Unknown));
    }
    rows
}

/// Load points that are on a circuit of this box, or in it.
fn loads_of(view: &View<'_>, applied: &Wiring, at: ThingId) -> BTreeSet<LoadPoint> {
    let roles = Roles::of(applied, view.catalogue);
    let mut ends: Vec<(Tip, Option<ThingId>)> = Vec::new();
    for tip in applied.tips.keys() {
        ends.push((tip.clone(), roles.of_end(tip).and_then(|role| role.breaker)));
    }
    let here: BTreeSet<ThingId> =
        ends.iter().filter(|(tip, _)| applied.box_of(tip) == Some(at)).filter_map(|(_, breaker)| *breaker).collect();
    let on = |tip: &Tip, device: ThingId| match tip {
        Tip::Lead { device: of, .. } => *of == device,
        Tip::Wire { .. } => matches!(applied.place(tip), Some(Place::Terminal { device: of, .. }) if *of == device),
    };
    let counts = |load: &LoadPoint| {
        let note = applied.devices.get(&load.device);
        let inside = note.is_some_and(|note| note.in_box.get() == Some(&Some(at)));
        let mut own = ends.iter().filter(|(tip, _)| on(tip, load.device)).filter_map(|(_, breaker)| *breaker);
        inside || own.any(|breaker| here.contains(&breaker))
    };
    applied.promises.keys().filter(|load| counts(load)).cloned().collect()
}

fn what_words(what: What) -> String {
    let key = match what {
        What::Grounds => "grounds",
        What::Neutrals => "neutrals",
        What::ConstantHot => "hot",
        What::SwitchedLeg => "leg",
        What::Traveler => "traveler",
        What::Common => "common",
        What::ProtectedHot => "protected_hot",
        What::ProtectedNeutrals => "protected_neutrals",
        What::Cap => "cap",
        What::Remark => "remark",
    };
    w(&format!("makeup.what.{key}"))
}

fn why_words(wiring: &Wiring, why: Why) -> String {
    let key = match why {
        Why::Noted(id) => return wf("makeup.why.noted", &[("box", &wiring.tag(id))]),
        Why::Here => "here",
        Why::Scope => "scope",
        Why::Labels => "labels",
        Why::Loop => "loop",
        Why::Shares => "shares",
        Why::Remaining => "remaining",
        Why::OnlyHot => "only_hot",
        Why::Grounds => "grounds",
        Why::Unused => "unused",
        Why::Colour => "colour",
    };
    w(&format!("makeup.why.{key}"))
}

/// A part: what it is, its connector with the count, why, its conductors. Pressed, it is left out or taken in again.
fn part_row(view: &View<'_>, wiring: &Wiring, part: &Part, all: &[&Part], chosen: &[&str]) -> Row {
    let on = chosen.contains(&part.key.as_str());
    let words = change_words(view, wiring, part);
    let title = wf("makeup.part", &[("what", &what_words(part.what)), ("words", &words)]);
    let why: Vec<String> = part.why.iter().map(|why| why_words(wiring, *why)).collect();
    let why = wf("makeup.why", &[("why", &why.join(", "))]);
    let second = if on { why } else { w("makeup.left_out") };
    let body = Body::Strands { title, second, strands: strands(view, wiring, part) };
    let keys = all.iter().map(|part| part.key.as_str());
    let keys: Vec<&str> = keys.filter(|key| if *key == part.key { !on } else { chosen.contains(key) }).collect();
    // With nothing left the list says so, because without a list all are meant.
    let list = if keys.is_empty() { "none".to_owned() } else { keys.join(",") };
    let edge = if on { Edge::Planned } else { Edge::Unknown };
    Row::new(&format!("part {}", part.key), body).edge(edge).leads(view.here("parts", &list))
}

fn change_words(view: &View<'_>, wiring: &Wiring, part: &Part) -> String {
    match &part.change {
        Change::Splice(joined) => {
            let there = joined.splice.and_then(|id| wiring.splices.get(&id)?.connector.get());
            let connector = match (&joined.connector, there) {
                (Some(kind), _) => connector_name(kind),
                (None, Some(_)) => w("makeup.kept"),
                (None, None) => w("connector_unknown"),
            };
            let kind = joined.connector.as_ref().or(there).and_then(|kind| view.catalogue.connector(kind));
            let used = joined.count();
            let conductors = || count("screen.makeup.conductors", used, &[]);
            let size = joined.ends.iter().find_map(|tip| conductor(view, wiring, tip)).map(|wire| wire.size);
            let pack = kind.zip(size).and_then(|(kind, size)| wiring.ranges.get(&(kind.id.clone(), size)));
            let counted = match (kind.and_then(|kind| kind.ports), pack) {
                (Some(ports), _) => wf("ports", &[("used", &used.to_string()), ("ports", &ports.to_string())]),
                (None, Some((least, most))) => {
                    let pack = wf("kit.range", &[("least", &least.to_string()), ("most", &most.to_string())]);
                    wf("pack", &[("ends", &conductors()), ("pack", &pack)])
                }
                (None, None) => conductors(),
            };
            wf("makeup.count", &[("connector", &connector), ("count", &counted)])
        }
        Change::Land { to, .. } => target_words(view, wiring, to),
        Change::Through(..) => w("makeup.through"),
        Change::Cap(_) => w("makeup.cap"),
        Change::Remark(_, colour) => wf("makeup.remark", &[("colour", &colour_name(*colour))]),
    }
}

fn target_words(view: &View<'_>, wiring: &Wiring, target: &Target) -> String {
    match target {
        Target::Terminal { device, terminal } => {
            let (device, terminal) = (device_words(view, wiring, *device), point_name(terminal));
            wf("splice.to_terminal", &[("device", &device), ("terminal", &terminal)])
        }
        Target::Shell(_) => w("splice.to_shell"),
    }
}

fn strands(view: &View<'_>, wiring: &Wiring, part: &Part) -> Vec<Strand> {
    let mut strands: Vec<Strand> = part.ends().into_iter().map(|tip| strand(view, wiring, tip)).collect();
    match &part.change {
        Change::Splice(joined) => {
            let colour = pigtail_colour(view, wiring, joined);
            let pigtails = joined.pigtails.iter();
            strands.extend(pigtails.map(|to| {
                let text = target_words(view, wiring, to);
                Strand { colour: colour.clone(), text, tape: false }
            }));
        }
        Change::Remark(tip, _) => strands.push(strand(view, wiring, tip)),
        _ => {}
    }
    strands
}

/// A pigtail is made like the first conductor of its splice.
fn pigtail_colour(view: &View<'_>, wiring: &Wiring, joined: &Joined) -> String {
    let there: Vec<Tip> = joined.splice.map(|id| wiring.ends_in(id)).into_iter().flatten().cloned().collect();
    let mut all = joined.ends.iter().chain(&joined.moved).chain(&there);
    let wire = all.find(|tip| matches!(tip, Tip::Wire { side: Side::Near | Side::Far, .. }));
    let colour = wire.and_then(|tip| conductor(view, wiring, tip)).map(|wire| wire.colour);
    word_of(&colour.unwrap_or(crate::job::Colour::CannotTell))
}

/// A common or a traveler as found: looked at, then pressed.
fn single_pick(view: &View<'_>, wiring: &Wiring, part: &Part, at: ThingId, last: bool) -> Option<Pick> {
    let names = view.names();
    let mut free = |name: &str| {
        let all = std::iter::once(name.to_owned()).chain((2..100).map(|n| format!("{name} {n}")));
        let mut free = all.filter(|name| names.splice(&format!("{at}+{name}")).is_err());
        free.next().unwrap_or_else(|| name.to_owned())
    };
    let line = part.lines(wiring, view.catalogue, at, &mut free).into_iter().next()?;
    let event = line.with("how", "seen").with_some("layer", view.layer_field());
    let words = match &part.change {
        Change::Land { tip, to: Target::Terminal { device, terminal } } => {
            let landing = crate::job::Landing::NotSaid;
            let place = Place::Terminal { device: *device, terminal: terminal.clone(), landing };
            let place = words_of_place(view, wiring, &place);
            wf("makeup.singly.pick", &[("tip", &tip_full(view, wiring, tip)), ("place", &place)])
        }
        Change::Splice(joined) if joined.ends.is_empty() => {
            let to = joined.pigtails.first().map(|to| target_words(view, wiring, to)).unwrap_or_default();
            wf("makeup.singly.pigtail", &[("place", &to)])
        }
        _ => part.ends().into_iter().map(|tip| tip_full(view, wiring, tip)).collect::<Vec<_>>().join(", "),
    };
    let why: Vec<String> = part.why.iter().map(|why| why_words(wiring, *why)).collect();
    let second = wf("makeup.why", &[("why", &why.join(", "))]);
    let token = if last { view.event_then(event, &view.page_here("box").word(at)) } else { view.event(event) };
    Some(Pick::new(&words, token).second(&second))
}
