//! What is not as a section of the code asks, or would have to be known; box fill; hazards; what disagrees.

use crate::circuit::{Circuit, hazards};
use crate::job::ThingId;
use crate::name::Called;
use crate::refusal::Refusal;
use crate::rules::nec::Verdict;
use crate::rules::{BoxFill, Edition, Finding, Severity, box_fills, check};
use crate::screen::front::site_name;
use crate::screen::row::{Body, Edge, Pick, Row, Screen};
use crate::screen::twice::all_twice;
use crate::screen::view::View;
use crate::words::{count, say};

use super::bench::Bench;
use super::disagree::standing_rows;
use super::parts::{deeds, edged, headline, place, sentence};
use super::table::{hazard_rows, layers};

/// The page `findings layer=left`.
pub(in crate::screen) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let bench = Bench::new(view);
    let wiring = view.asked();
    let called = Called::new(wiring, view.catalogue);
    let mut screen = view.screen(&site_name(view), &say("checks.findings.title", &[]));
    let rows = &mut screen.rows;
    rows.push(layers(view));
    if let Ok(circuit) = Circuit::of(wiring, view.catalogue) {
        rows.extend(hazard_rows(view, &called, &hazards(&circuit)));
    }
    rows.extend(standing_rows(&bench));
    let twice = all_twice(view).len();
    if twice > 0 {
        let row = edged("twice", Edge::Disagrees, &count("checks.findings.twice", twice, &[]), "", "");
        rows.push(row.leads(view.go(&view.page("twice"))));
    }
    let edition = view.job_note().and_then(|job| job.edition.get().copied()).and_then(Edition::of);
    if let Some(edition) = edition {
        rows.extend(finding_rows(view, edition));
        rows.extend(fill_rows(view, edition));
    } else {
        let row = edged("edition", Edge::Unknown, &say("checks.findings.no_edition", &[]), "", "");
        rows.push(row.leads(view.go(&view.page("job-setup").with_some("job", view.job))));
    }
    let go = |page: &str, key: &str| Pick::new(&say(key, &[]), view.go(&view.page(page)));
    rows.push(deeds(None, vec![go("live", "checks.to_live"), go("record", "checks.to_record")]));
    Ok(screen)
}

/// One notice for each finding, with its section and edition.
fn finding_rows(view: &View<'_>, edition: Edition) -> Vec<Row> {
    let findings = check(view.asked(), view.catalogue, edition);
    let (over, open): (Vec<_>, Vec<_>) = findings.iter().partition(|one| one.severity == Severity::Over);
    let head = count("checks.findings.over", over.len(), &[("edition", edition.name())]);
    let mut rows = vec![headline("over", &head, "")];
    if over.is_empty() {
        rows.push(sentence("none", &say("checks.findings.none", &[])));
    }
    rows.extend(over.iter().enumerate().map(|(n, one)| finding_row(view, &format!("over {n}"), one)));
    if !open.is_empty() {
        rows.push(headline("open", &count("checks.findings.open", open.len(), &[]), ""));
    }
    rows.extend(
        open.iter().enumerate().map(|(n, one)| finding_row(view, &format!("open {n}"), one).edge(Edge::Unknown)),
    );
    rows
}

fn finding_row(view: &View<'_>, key: &str, finding: &Finding) -> Row {
    let fill = [("section", finding.citation.section.as_str()), ("edition", &finding.citation.edition)];
    let citation = say("checks.findings.citation", &fill);
    let body =
        Body::Notice { hazard: false, title: finding.rule_name(), text: finding.what(), citation: Some(citation) };
    let row = Row::new(key, body);
    match finding.in_box {
        Some(id) => row.leads(view.go(&view.page_here("box").word(id))),
        None => row,
    }
}

/// Box fill of every box that the section speaks of, as a bar.
fn fill_rows(view: &View<'_>, edition: Edition) -> Vec<Row> {
    let wiring = view.asked();
    let fills = box_fills(wiring, view.catalogue, edition);
    if fills.is_empty() {
        return Vec::new();
    }
    let mut rows = vec![headline("fill", &say("rule.fill", &[]), edition.name())];
    let order = wiring.boxes_in_order();
    rows.extend(order.into_iter().filter_map(|id| Some(fill_row(view, id, fills.get(&id)?))));
    rows
}

/// One box's fill: what is in it against what it has.
pub(super) fn fill_row(view: &View<'_>, id: ThingId, fill: &BoxFill) -> Row {
    let there = fill.there();
    let (key, edge) = match fill.verdict() {
        Verdict::Fits => ("checks.findings.fits", Edge::Found),
        Verdict::Over => ("checks.findings.over_full", Edge::Disagrees),
        Verdict::NotKnown => ("checks.findings.fill_open", Edge::Unknown),
    };
    let room = there.map_or_else(|| say("state.unknown", &[]), |room| room.to_string());
    let body = Body::Figure {
        title: place(view.asked(), id),
        second: say(key, &[]),
        value: fill.needed().number(),
        unit: "in³".to_owned(),
        computed: say("checks.findings.room", &[("room", &room)]),
        share: fill.share_thousandths().and_then(|share| u32::try_from(share).ok()),
    };
    let row = Row::new(&format!("fill {id}"), body).edge(edge);
    row.leads(view.go(&view.page_here("box").word(id)))
}
