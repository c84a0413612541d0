//! `boxproof findings`: what is not as the code asks, what disagrees, hazards, and what was noted twice.

use std::path::PathBuf;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::circuit::{Circuit, hazards};
use boxproof_core::job::{JobNote, ThingId, Wiring};
use boxproof_core::name::Called;
use boxproof_core::rules::{Edition, Finding, Severity, check};
use boxproof_core::tell::{hazard_words, twice_words};
use boxproof_core::words::{count, say};
use clap::Args;
use serde::Serialize;

use super::site::{Site, layer_words};
use super::table::{Danger, LayerWord, not_made};
use super::text::Text;
use super::{Fault, Status, examples_of, json, watched};
use crate::out;

#[derive(Args)]
pub(crate) struct Findings {
    #[arg(help = say("desk.site", &[]))]
    site: PathBuf,
    #[arg(long, value_name = "YEAR", help = say("desk.findings.edition", &[]))]
    edition: Option<u16>,
    #[arg(long, value_enum, help = say("desk.table.layer", &[]))]
    layer: Option<LayerWord>,
    #[arg(long, value_name = "NAME", help = say("desk.job", &[]))]
    job: Option<String>,
    #[arg(long, help = say("desk.json", &[]))]
    json: bool,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof findings lane", "desk.findings.example.job"),
        ("boxproof findings lane --edition 2023", "desk.findings.example.other"),
    ])
}

/// The findings in words.
#[derive(Serialize)]
struct Report {
    title: String,
    layer: String,
    newer: usize,
    edition: Option<String>,
    code: Vec<Code>,
    disagreements: Vec<String>,
    disagreements_ended: Vec<String>,
    hazards: Vec<Danger>,
    noted_twice: Vec<String>,
}

/// One finding of the code.
#[derive(Serialize)]
struct Code {
    rule: String,
    in_box: Option<String>,
    /// Beyond the limit; else something that decides it is not known.
    over: bool,
    what: String,
    amount: Option<String>,
    limit: Option<String>,
    by: Option<String>,
    section: String,
    edition: String,
    decides: String,
}

impl Findings {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let site = Site::read(&self.site)?;
        let job = site.job(self.job.as_deref())?;
        let report = self.report(&site, job)?;
        let any = report.code.iter().any(|code| code.over)
            || !(report.disagreements.is_empty() && report.hazards.is_empty() && report.noted_twice.is_empty());
        let text = if self.json { json(&report)? } else { report.text(&site) };
        out::print(text)?;
        Ok(Status::findings(any))
    }

    /// The edition that was asked for, or that is set for the job. None is ever assumed.
    fn edition(&self, site: &Site, job: Option<ThingId>) -> Result<Option<Edition>, Fault> {
        let set = job.and_then(|job| JobNote::read(&site.notes, job).edition.get().copied());
        let Some(year) = self.edition.or(set) else { return Ok(None) };
        let unknown =
            || Fault(say("desk.findings.unknown_edition", &[("year", &year.to_string()), ("years", &years())]));
        Edition::of(year).map(Some).ok_or_else(unknown)
    }

    fn report(&self, site: &Site, job: Option<ThingId>) -> Result<Report, Fault> {
        let catalogue = Catalogue::shared();
        let layer = site.layer(job, self.layer.map(LayerWord::word));
        let wiring = Wiring::of(&site.notes, layer);
        let called = Called::new(&wiring, catalogue);
        let circuit = Circuit::of(&wiring, catalogue).map_err(|error| not_made(&error))?;
        let edition = self.edition(site, job)?;
        let code = edition.map(|edition| check(&wiring, catalogue, edition)).unwrap_or_default();
        let disagree = watched::disagreements(&site.notes, layer, job, "desk.observed");
        Ok(Report {
            title: site.title(job),
            layer: layer_words(layer),
            newer: site.newer,
            edition: edition.map(|edition| edition.name().to_owned()),
            code: code.iter().map(|finding| one(finding, &called)).collect(),
            disagreements: disagree.stand,
            disagreements_ended: disagree.ended,
            hazards: hazards(&circuit).iter().map(|hazard| hazard_words(&called, hazard)).map(Danger::from).collect(),
            noted_twice: twice_words(&site.notes, layer, &called),
        })
    }
}

fn years() -> String {
    Edition::all().map(|edition| edition.year().to_string()).collect::<Vec<_>>().join(", ")
}

fn one(finding: &Finding, called: &Called<'_>) -> Code {
    Code {
        rule: finding.rule.to_owned(),
        in_box: finding.in_box.map(|id| called.r#box(id)),
        over: finding.severity == Severity::Over,
        what: finding.what(),
        amount: finding.amount.map(|amount| amount.to_string()),
        limit: finding.limit.map(|limit| limit.to_string()),
        by: finding.by().map(|by| by.to_string()),
        section: finding.citation.section.clone(),
        edition: finding.citation.edition.clone(),
        decides: say("desk.findings.decides", &[]),
    }
}

impl Report {
    fn text(&self, site: &Site) -> String {
        let mut text = Text::default();
        text.line(&say("desk.findings.head", &[("layer", &self.layer), ("title", &self.title)]));
        text.line(&say("desk.findings.limits", &[]));
        text.lines(site.newer_words());
        match &self.edition {
            None => text.section(&say("desk.findings.no_edition", &[("years", &years())]), &[]),
            Some(edition) => {
                self.code(&mut text, "desk.findings.over", edition, true);
                self.code(&mut text, "desk.findings.not_known", edition, false);
            }
        }
        let counted = |key: &str, list: &[String]| count(key, list.len(), &[]);
        text.section(&counted("desk.findings.disagreements", &self.disagreements), &self.disagreements);
        if !self.disagreements_ended.is_empty() {
            text.section(&counted("desk.findings.ended", &self.disagreements_ended), &self.disagreements_ended);
        }
        text.section(&count("desk.findings.hazards", self.hazards.len(), &[]), &[]);
        self.hazards.iter().for_each(|hazard| hazard.text(&mut text));
        text.section(&counted("desk.findings.twice", &self.noted_twice), &self.noted_twice);
        text.end()
    }

    /// The findings over a limit, or those that cannot be decided; each says who decides.
    fn code(&self, text: &mut Text, key: &str, edition: &str, over: bool) {
        let these: Vec<&Code> = self.code.iter().filter(|code| code.over == over).collect();
        text.section(&count(key, these.len(), &[("edition", edition)]), &[]);
        for code in these {
            let fill = [("what", code.what.as_str()), ("section", &code.section), ("edition", &code.edition)];
            text.line(&format!("  {}", say("rule.sentence", &fill)));
        }
    }
}
