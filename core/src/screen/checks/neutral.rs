//! Neutrals of a box: what is read before a splice of neutrals is parted, and each end again after.

use crate::check::{Class, DeadCheck, NeutralEnd, NeutralRule, Taken, Verdict};
use crate::job::{Mode, Pair, Purpose, Spot, ThingId, Tip};
use crate::screen::row::{Edge, Pick, Row};
use crate::tell::figure_words;
use crate::token::Line;
use crate::words::say;

use super::bench::Bench;
use super::dead_list::quick_choice;
use super::parts::{choice, edged, headline, here, item, moment, number, sentence};

/// The rows of the box's neutrals; one row that leads to them until they matter. While pairs of the dead check are
/// being read, no other value is asked for.
pub(super) fn rows(bench: &Bench<'_>, check: &DeadCheck, is_reading: bool) -> Vec<Row> {
    let view = bench.view;
    let rules = bench.checks.neutrals(check.r#box);
    if rules.is_empty() {
        return Vec::new();
    }
    let parted = rules.iter().any(|rule| matches!(rule, NeutralRule::Parted { .. }));
    let title = say("checks.neutral.title", &[]);
    if !parted && !check.counts() && view.address.field("neutral").is_none() {
        let to = view.go(&here(view, &[("neutral", "yes")]));
        return vec![item("neutral", &title, &say("checks.neutral.second", &[])).leads(to)];
    }
    let mut rows = vec![headline("neutral", &title, ""), sentence("neutral why", &say("checks.neutral.why", &[]))];
    let ground = ground(bench, check);
    for rule in &rules {
        match rule {
            NeutralRule::Whole { spot, taken } => {
                rows.extend(whole(bench, check.r#box, spot, ground.as_ref(), taken.as_ref()));
            }
            NeutralRule::Parted { splice, before, ends } => {
                rows.push(parted_row(bench, *splice, before.as_ref()));
                let asked = ground.as_ref().filter(|_| !is_reading);
                rows.extend(end_rows(bench, check.r#box, asked, ends));
            }
        }
    }
    rows
}

/// Ground of the box, else the independent one that the check goes by.
fn ground(bench: &Bench<'_>, check: &DeadCheck) -> Option<Spot> {
    let joints = bench.checks.joints(check.r#box);
    let own = joints.into_iter().find(|joint| joint.class == Class::Ground).map(|joint| joint.spot);
    let other = || check.references.iter().map(|reference| &reference.spot).find(|s| matches!(s, Spot::Other(_)));
    own.or_else(|| other().cloned())
}

fn taken_words(bench: &Bench<'_>, taken: &Taken) -> (String, String) {
    let reading = &taken.reading;
    let key = if reading.mode == Mode::Clamp { "checks.neutral.clamped" } else { "checks.neutral.grounded" };
    (say(key, &[("when", &moment(bench.view, taken.when.wall))]), figure_words(&reading.figure, reading.mode))
}

fn whole(bench: &Bench<'_>, at: ThingId, spot: &Spot, ground: Option<&Spot>, taken: Option<&Taken>) -> Vec<Row> {
    let view = bench.view;
    let key = crate::token::path::spot_text(spot);
    let name = bench.called.spot(spot);
    let mut rows = Vec::new();
    match taken {
        Some(taken) => {
            let (second, value) = taken_words(bench, taken);
            let over = bench.checks.verdict(&taken.reading.figure, taken.reading.mode) > Some(Verdict::Under);
            let edge = if over { Edge::Disagrees } else { Edge::Left };
            rows.push(edged(&format!("whole {key}"), edge, &name, &second, &value));
        }
        None => rows.push(edged(&format!("whole {key}"), Edge::Unknown, &name, &say("checks.neutral.before", &[]), "")),
    }
    if taken.is_none() {
        rows.extend(amperes(bench, at, spot).map(|words| sentence(&format!("amps {key}"), &words)));
    }
    if let Some(ground) = ground {
        let pair = Pair { from: ground.clone(), to: spot.clone() };
        for (mode, unit, words) in
            [(Mode::Clamp, "A", "checks.neutral.amps"), (bench.meter.mode, "V", "checks.neutral.volts")]
        {
            let event = bench.read(at, &pair, Purpose::Neutral, mode).with("value", "?");
            let label = say(words, &[("neutral", &name)]);
            rows.push(number(&format!("before {unit} {key}"), &label, unit, view.event(event)));
        }
    }
    if taken.is_some() {
        let pick = Pick::new(
            &say("checks.neutral.part", &[("neutral", &name)]),
            view.event(Line::new("part").word(key.clone())),
        );
        rows.push(choice(&format!("part {key}"), "", vec![pick]));
    }
    rows
}

/// What a clamp should show round the conductors of a splice, with what is noted as OFF. Another circuit's current is
/// what the clamp is for: it is in no map that does not have it.
fn amperes(bench: &Bench<'_>, at: ThingId, spot: &Spot) -> Option<String> {
    let predictor = bench.predictor()?;
    let off = predictor.off(|id| bench.checks.hold(id).off_since.is_some());
    let joint = bench.checks.joints(at).into_iter().find(|joint| joint.spot == *spot)?;
    let most = joint.tips.iter().filter_map(|tip| match tip {
        Tip::Wire { run, wire, .. } => predictor.amperes(*run, *wire, &off).ok(),
        Tip::Lead { .. } => None,
    });
    let most = most.map(|amperes| amperes.high_amperes).max_by(f64::total_cmp)?;
    Some(say("checks.neutral.worked_out", &[("amps", &format!("{:.1}", (most * 10.0).ceil() / 10.0))]))
}

fn parted_row(bench: &Bench<'_>, splice: ThingId, before: Option<&Taken>) -> Row {
    let title = say("checks.neutral.parted", &[("neutral", &bench.called.splice(splice))]);
    let key = format!("parted {splice}");
    match before {
        Some(before) => {
            let (second, value) = taken_words(bench, before);
            edged(&key, Edge::Left, &title, &second, &value)
        }
        None => edged(&key, Edge::Disagrees, &title, &say("checks.neutral.unread", &[]), ""),
    }
}

fn end_rows(bench: &Bench<'_>, at: ThingId, ground: Option<&Spot>, ends: &[NeutralEnd]) -> Vec<Row> {
    let mut rows = Vec::new();
    let next = ends.iter().position(|end| end.taken.is_none());
    for (n, end) in ends.iter().enumerate() {
        let name = bench.called.tip_with_label(&end.tip);
        let key = crate::token::path::tip_text(&end.tip);
        let (second, value) = end.taken.as_ref().map(|taken| taken_words(bench, taken)).unwrap_or_default();
        let edge = match end.verdict {
            Some(Verdict::Under) => Edge::Left,
            Some(_) => Edge::Disagrees,
            None => Edge::Unknown,
        };
        let second = if second.is_empty() { say("checks.neutral.after", &[]) } else { second };
        let row = edged(&format!("end {key}"), edge, &name, &second, &value);
        rows.push(if next == Some(n) && ground.is_some() { row.now() } else { row });
        if let (true, Some(ground)) = (next == Some(n), ground) {
            let pair = Pair { from: ground.clone(), to: Spot::Tip(end.tip.clone()) };
            let event = bench.read(at, &pair, Purpose::Neutral, bench.meter.mode);
            let label = say("checks.pairs.reads", &[("meter", &bench.meter.words(bench.meter.mode))]);
            rows.push(quick_choice(bench, &format!("end quick {key}"), &label, &event));
        }
    }
    rows
}
