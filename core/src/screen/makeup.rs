//! The proposed make-up of a box: what it would give in every switch position, then part by part, each with its reason.

use std::collections::BTreeSet;

use crate::catalogue::{colour_name, connector_name, point_name};
use crate::circuit::{Circuit, SwitchTable, hazards};
use crate::job::{ThingId, Wiring};
use crate::name::Called;
use crate::plan::makeup::{Change, Difference, Joined, Part, Target, Way, Why, is_found, ways};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::words::count;

use super::parts::{
    box_words, choice, deeds, device_words, headline, listed, sentence, splice_words, strand, tip_full, tip_words,
    toggled, w, wf,
};
use super::row::{Body, Edge, Pick, Row, Screen, Strand};
use super::view::View;

/// How many parts the first way proposes for a box in the asked layer; nothing where there is nothing to propose.
pub(super) fn offers(view: &View<'_>, at: ThingId) -> Option<usize> {
    let way = ways(view.asked(), view.catalogue, at).into_iter().next()?;
    Some(way.parts.len())
}

/// The page `make-up <box> layer=… way=… without=…`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let wiring = view.asked();
    let mut screen = view.screen(&box_words(wiring, at), &w("makeup.title"));
    screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
    let ways = ways(wiring, view.catalogue, at);
    let asked = view.address.field("way").and_then(|way| way.parse().ok()).unwrap_or(0_usize);
    let Some(way) = ways.get(asked).or(ways.first()) else {
        screen.rows.push(sentence("none", &w("makeup.none")));
        let by_hand = Pick::new(&w("deed.to_box"), view.go(&view.page_here("box").word(at)));
        screen.rows.push(deeds(Some(by_hand), Vec::new()));
        return Ok(screen);
    };
    let without: BTreeSet<&str> = listed(view, "without").into_iter().collect();
    screen.rows.push(sentence("about", &w("makeup.about")));
    screen.rows.extend(outcome(view, wiring, way, &without));
    if ways.len() > 1 {
        let options = ways.iter().enumerate().map(|(n, way)| {
            let words = w(&format!("makeup.way.{}", difference(way.difference)));
            Pick::new(&words, view.here("way", &n.to_string())).on(n == asked)
        });
        screen.rows.push(choice("way", &w("makeup.ways"), options.collect()));
    }
    let (single, bulk): (Vec<&Part>, Vec<&Part>) = way.parts.iter().partition(|part| is_found(wiring) && part.is_single());
    screen.rows.push(headline("parts", &w("makeup.parts"), ""));
    screen.rows.extend(bulk.iter().map(|part| part_row(view, wiring, part, without.contains(part.key.as_str()))));
    screen.rows.extend(singles(view, wiring, &single, way));
    if !way.open.is_empty() {
        let strands = way.open.iter().map(|tip| strand(view, wiring, tip)).collect();
        let title = count("screen.makeup.open", way.open.len(), &[]);
        let body = Body::Strands { title, second: w("makeup.open_why"), strands };
        screen.rows.push(Row::new("open", body).edge(Edge::Unknown));
    }
    let wanted: Vec<&str> = bulk.iter().map(|part| part.key.as_str()).filter(|key| !without.contains(key)).collect();
    screen.rows.push(deeds(confirm(view, at, asked, &wanted), by_hand(view, at)));
    Ok(screen)
}

fn difference(difference: Difference) -> &'static str {
    match difference {
        Difference::None => "only",
        Difference::NeutralsSpliced => "neutrals_spliced",
        Difference::NeutralsThrough => "neutrals_through",
        Difference::OnwardFromLine => "onward_from_line",
        Difference::OnwardProtected => "onward_protected",
    }
}

/// All that is listed and not left out, in one act: a bulk confirmation, never an observation.
fn confirm(view: &View<'_>, at: ThingId, way: usize, wanted: &[&str]) -> Option<Pick> {
    if wanted.is_empty() {
        return None;
    }
    let event = Line::new("make-up").word(at).with("way", way).with("parts", wanted.join(","));
    let event = event.with_some("layer", view.layer_field());
    let then = view.page_here("box").word(at);
    let words = count("screen.makeup.all", wanted.len(), &[]);
    Some(Pick::new(&words, view.event_then(event, &then)))
}

fn by_hand(view: &View<'_>, at: ThingId) -> Vec<Pick> {
    vec![Pick::new(&w("makeup.by_hand"), view.go(&view.page_here("splice").with("box", at)))]
}

/// What the whole proposal would give: what is not covered first, hazards, then each thing that was asked for.
fn outcome(view: &View<'_>, wiring: &Wiring, way: &Way, without: &BTreeSet<&str>) -> Vec<Row> {
    let applied = way.applied_of(wiring, view.catalogue, |part| !without.contains(part.key.as_str()));
    let Ok(circuit) = Circuit::of(&applied, view.catalogue) else { return Vec::new() };
    let called = Called::new(&applied, view.catalogue);
    let (table, dangers) = (SwitchTable::of(&circuit), hazards(&circuit));
    let mut rows = vec![headline("gives", &w("makeup.gives"), "")];
    rows.extend(super::checks::table::not_covered_in_short(&called, &table));
    let here = dangers.iter().filter(|hazard| hazard.place == Some(way.at)).cloned().collect::<Vec<_>>();
    rows.extend(super::checks::table::hazard_notices(&called, &here));
    let found = (view.asked_word() != "found").then(|| Circuit::of(view.found(), view.catalogue).ok()).flatten();
    let found = found.map(|circuit| SwitchTable::of(&circuit));
    let verdicts = table.verdicts(&circuit, &applied.promises, found.as_ref(), &dangers);
    let (asked, _) = super::checks::table::verdict_rows(view, &called, &verdicts, &dangers);
    if asked.is_empty() {
        rows.push(sentence("nothing asked", &w("makeup.nothing_asked")));
    }
    rows.extend(asked);
    rows
}

/// One part: what is done, why, with its conductors. Touched, it is left out, or taken in again.
fn part_row(view: &View<'_>, wiring: &Wiring, part: &Part, is_out: bool) -> Row {
    let title = title(view, wiring, part);
    let title = if is_out { wf("makeup.left_out", &[("part", &title)]) } else { title };
    let body = Body::Strands { title, second: reasons(view, wiring, part), strands: strands(view, wiring, part) };
    let list = toggled(view.address.field("without").unwrap_or_default(), &part.key);
    let row = Row::new(&format!("part {}", part.key), body).edge(if is_out { Edge::Unknown } else { Edge::Planned });
    row.leads(view.here("without", &list))
}

fn title(view: &View<'_>, wiring: &Wiring, part: &Part) -> String {
    match &part.change {
        Change::Splice(joined) => splice_title(view, wiring, part, joined),
        Change::Land { tip, to } => wf(
            "makeup.lands",
            &[("tip", &tip_full(view, wiring, tip)), ("place", &target_words(view, wiring, to))],
        ),
        Change::Through(a, b) => {
            wf("makeup.through", &[("tip", &tip_words(view, wiring, a)), ("other", &tip_words(view, wiring, b))])
        }
        Change::Cap(tip) => wf("makeup.cap", &[("tip", &tip_words(view, wiring, tip))]),
        Change::Remark(tip, colour) => {
            wf("makeup.remark", &[("tip", &tip_words(view, wiring, tip)), ("colour", &colour_name(*colour))])
        }
    }
}

/// A splice with its connector and how many conductors are in it.
fn splice_title(view: &View<'_>, wiring: &Wiring, part: &Part, joined: &Joined) -> String {
    let name = joined.splice.map_or_else(|| part.name(), |splice| splice_words(view, wiring, splice));
    let noted = joined.splice.and_then(|splice| wiring.splices.get(&splice)?.connector.get().cloned());
    let connector = joined.connector.clone().or(noted);
    let connector = connector.map_or_else(|| w("connector_unknown"), |kind| connector_name(&kind));
    let ends = count("screen.ends_n", joined.count(), &[]);
    wf("makeup.splice", &[("name", &name), ("connector", &connector), ("ends", &ends)])
}

fn target_words(view: &View<'_>, wiring: &Wiring, target: &Target) -> String {
    match target {
        Target::Terminal { device, terminal } => {
            let fill = [("device", device_words(view, wiring, *device)), ("terminal", point_name(terminal))];
            let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
            wf("place.terminal", &fill)
        }
        Target::Shell(_) => w("place.shell"),
    }
}

/// The reasons of a part, the strongest first, in a few words; where its pigtails go.
fn reasons(view: &View<'_>, wiring: &Wiring, part: &Part) -> String {
    let mut words: Vec<String> = part.why.iter().map(|why| why_words(wiring, *why)).collect();
    if let Change::Splice(joined) = &part.change {
        let to = joined.pigtails.iter().map(|target| target_words(view, wiring, target)).collect::<Vec<_>>();
        if !to.is_empty() {
            words.push(wf("makeup.pigtails", &[("places", &to.join(", "))]));
        }
        if !joined.moved.is_empty() {
            let moved: Vec<String> = joined.moved.iter().map(|tip| tip_words(view, wiring, tip)).collect();
            words.push(wf("makeup.moved", &[("ends", &moved.join(", "))]));
        }
    }
    words.dedup();
    words.join("; ")
}

fn why_words(wiring: &Wiring, why: Why) -> String {
    match why {
        Why::Noted(at) => wf("makeup.why.noted", &[("box", &wiring.tag(at))]),
        Why::Here => w("makeup.why.here"),
        Why::Scope => w("makeup.why.scope"),
        Why::Labels => w("makeup.why.labels"),
        Why::Loop => w("makeup.why.loop"),
        Why::Shares => w("makeup.why.shares"),
        Why::Remaining => w("makeup.why.remaining"),
        Why::OnlyHot => w("makeup.why.only_hot"),
        Why::Grounds => w("makeup.why.grounds"),
        Why::Unused => w("makeup.why.unused"),
        Why::Colour => w("makeup.why.colour"),
    }
}

fn strands(view: &View<'_>, wiring: &Wiring, part: &Part) -> Vec<Strand> {
    let mut strands: Vec<Strand> = part.ends().into_iter().map(|tip| strand(view, wiring, tip)).collect();
    if let Change::Remark(tip, _) = &part.change {
        strands.push(strand(view, wiring, tip));
    }
    if let Change::Splice(joined) = &part.change
        && !joined.pigtails.is_empty()
    {
        let colour = strands.first().map_or_else(|| "black".to_owned(), |first| first.colour.clone());
        strands.push(Strand { colour, text: count("screen.makeup.pigtail", joined.pigtails.len(), &[]), tape: false });
    }
    strands
}

/// As found, commons and travelers are looked at one by one: each has an act of its own.
fn singles(view: &View<'_>, wiring: &Wiring, single: &[&Part], way: &Way) -> Vec<Row> {
    if !is_found(wiring) {
        return Vec::new();
    }
    let layer = view.layer_field();
    let seen = |key: &str, words: &str, event: Line| {
        let event = event.with_some("layer", layer).with("how", "seen");
        choice(key, words, vec![Pick::new(&w("makeup.seen_so"), view.event(event))])
    };
    let mut rows = Vec::new();
    for part in single {
        let mut free = |wanted: &str| wanted.to_owned();
        for (n, line) in part.lines(wiring, view.catalogue, way.at, &mut free).into_iter().enumerate() {
            rows.push(seen(&format!("single {} {n}", part.key), &title(view, wiring, part), line));
        }
    }
    for part in &way.parts {
        let Change::Splice(Joined { splice: Some(splice), singly, .. }) = &part.change else { continue };
        for target in singly {
            let Target::Terminal { device, terminal } = target else { continue };
            let fill = [("name", splice_words(view, wiring, *splice)), ("place", target_words(view, wiring, target))];
            let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
            let event = Line::new("join").word(splice).word(format!(">{device}.{terminal}"));
            rows.push(seen(&format!("single {device}.{terminal}"), &wf("makeup.pigtail_to", &fill), event));
        }
    }
    if !rows.is_empty() {
        rows.insert(0, sentence("one by one", &w("makeup.one_by_one")));
        rows.insert(0, headline("singles", &w("makeup.singles"), ""));
    }
    rows
}
