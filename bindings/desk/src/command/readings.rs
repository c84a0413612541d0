//! `boxproof readings`: predicted beside read, what is called for and not read yet, and the dead checks.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::check::{Checks, LiveReading, LiveTrial, Observed, Policy, Taken, Tried, When, say_between};
use boxproof_core::job::{
    Figure, Happened, Happening, InstrumentNote, JobNote, Layer, Mode, Notes, PersonNote, Purpose, Stamp, Subject,
    ThingId, Visit, Wiring,
};
use boxproof_core::name::Called;
use boxproof_core::predict::Predictor;
use boxproof_core::tell::{asked_trial_words, expected_words, mode_words, on_off, purpose_words};
use boxproof_core::words::{count, say};
use clap::Args;
use serde::Serialize;

use super::site::{Site, layer_words};
use super::table::LayerWord;
use super::text::Text;
use super::watched::Wirings;
use super::{Fault, Status, examples_of, grid, json};
use crate::out;

#[derive(Args)]
pub(crate) struct Readings {
    #[arg(help = say("desk.site", &[]))]
    site: PathBuf,
    #[arg(long, value_enum, help = say("desk.table.layer", &[]))]
    layer: Option<LayerWord>,
    #[arg(long, value_name = "NAME", help = say("desk.job", &[]))]
    job: Option<String>,
    #[arg(long, help = say("desk.json", &[]))]
    json: bool,
}

pub(crate) fn examples() -> String {
    examples_of(&[("boxproof readings lane", "desk.readings.example")])
}

/// Everything read, tried and called for, in words.
#[derive(Serialize)]
struct Report {
    title: String,
    layer: String,
    newer: usize,
    taken: Vec<Line>,
    missing: Vec<Wanted>,
    again: Vec<Wanted>,
    person: Option<String>,
    dead: Vec<BoxChecks>,
}

/// One reading or trial.
#[derive(Serialize)]
struct Line {
    day: String,
    time: String,
    what: String,
    read: String,
    worked_out: String,
    verdict: String,
    agrees: Option<bool>,
    with: String,
    who: String,
}

/// Something that the wiring calls for, with what is worked out for it now.
#[derive(Serialize)]
struct Wanted {
    what: String,
    worked_out: String,
}

/// The dead checks of a box.
#[derive(Serialize)]
struct BoxChecks {
    name: String,
    checks: Vec<String>,
}

impl Readings {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let site = Site::read(&self.site)?;
        let job = site.job(self.job.as_deref())?;
        let layer = site.layer(job, self.layer.map(LayerWord::word));
        let look = Look::new(&site.notes, job, layer);
        let report = look.report(&site);
        // One that was tried again and agreed no longer stands.
        let stand = look.checks(&look.wiring).disagreements().iter().any(|one| one.ended.is_none());
        let text = if self.json { json(&report)? } else { report.text(&site) };
        out::print(text)?;
        Ok(Status::findings(stand))
    }
}

/// What the report is made from.
struct Look<'a> {
    notes: &'a Notes,
    job: Option<ThingId>,
    layer: Layer,
    wiring: Wiring,
    visits: Vec<Visit>,
}

impl<'a> Look<'a> {
    fn new(notes: &'a Notes, job: Option<ThingId>, layer: Layer) -> Self {
        let visits = notes.visits().into_iter().filter(|visit| job.is_none_or(|job| visit.job == job)).collect();
        Self { notes, job, layer, wiring: Wiring::of(notes, layer), visits }
    }

    fn checks<'w>(&'w self, wiring: &'w Wiring) -> Checks<'w> {
        let policy = self.job.map_or_else(Policy::shared, |job| Policy::of(&JobNote::read(self.notes, job)));
        Checks::new(self.notes, wiring, Catalogue::shared(), policy)
    }

    fn report(&self, site: &Site) -> Report {
        let checks = self.checks(&self.wiring);
        let (missing, again) = self.called_for(&checks);
        let person = self.visits.last().map(|visit| visit.person);
        Report {
            title: site.title(self.job),
            layer: layer_words(self.layer),
            newer: site.newer,
            taken: self.taken(),
            missing,
            again,
            person: person.map(|person| self.person(person)),
            dead: person.map(|person| self.dead(&checks, person)).unwrap_or_default(),
        }
    }

    fn person(&self, person: ThingId) -> String {
        PersonNote::read(self.notes, person).name.or(say("check.somebody", &[]))
    }

    /// Every live reading and trial in order.
    fn taken(&self) -> Vec<Line> {
        let wirings = Wirings::of(self.notes, self.layer, self.job);
        let each = self.notes.happened().filter_map(|happened| {
            let (observed, with) = self.observed(happened)?;
            let words = wirings.words(&observed);
            Some(Line {
                day: happened.wall.day(),
                time: happened.wall.clock(),
                what: words.what,
                read: words.seen,
                worked_out: words.shown,
                agrees: agrees(&observed),
                verdict: words.verdict,
                with,
                who: self.who(happened),
            })
        });
        each.collect()
    }

    fn observed(&self, happened: &Happened) -> Option<(Observed, String)> {
        let when = When::from(happened);
        match (&happened.what, &happened.of) {
            (Happening::Read(reading), Subject::Thing(at))
                if matches!(reading.purpose, Purpose::Reference | Purpose::Live | Purpose::Search) =>
            {
                let taken = Taken { when, fact: happened.fact, by: None, reading: reading.clone() };
                let instrument = InstrumentNote::read(self.notes, reading.instrument).name.or(String::new());
                // Live is what this list is of; what is not is said.
                let purpose = Some(reading.purpose).filter(|purpose| *purpose != Purpose::Live).map(purpose_words);
                let with = [Some(instrument), Some(mode_words(reading.mode)), purpose].into_iter().flatten();
                let with: Vec<String> = with.filter(|part| !part.is_empty()).collect();
                Some((Observed::Reading(*at, taken), with.join(", ")))
            }
            (Happening::Tried(trial), _) => {
                let tried = Tried { when, fact: happened.fact, by: None, trial: trial.clone() };
                Some((Observed::Trial(tried), String::new()))
            }
            _ => None,
        }
    }

    fn who(&self, happened: &Happened) -> String {
        let visit = self.notes.visits().into_iter().find(|visit| Some(visit.id) == happened.visit);
        visit.map_or_else(|| say("check.somebody", &[]), |visit| self.person(visit.person))
    }

    /// Boxes that were opened or are new.
    fn boxes(&self) -> BTreeSet<ThingId> {
        let opened = self.opened().into_keys();
        let before = self.job.map(|job| Wiring::of(self.notes, Layer::Found(job)));
        let new = self.wiring.boxes.keys().copied();
        let new = new.filter(|id| before.as_ref().is_some_and(|before| !before.boxes.contains_key(id)));
        opened.chain(new).collect()
    }

    /// When each box was last opened on this job.
    fn opened(&self) -> BTreeMap<ThingId, Stamp> {
        let ours: BTreeSet<_> = self.visits.iter().map(|visit| visit.id).collect();
        let off = self.notes.happened().filter_map(|happened| match (&happened.what, &happened.of) {
            (Happening::CoverOff, Subject::Thing(id)) if happened.visit.is_some_and(|visit| ours.contains(&visit)) => {
                Some((*id, happened.stamp))
            }
            _ => None,
        });
        off.collect()
    }

    /// What is called for and not read yet; and what was read before a box that it goes by was open again.
    fn called_for(&self, checks: &Checks<'_>) -> (Vec<Wanted>, Vec<Wanted>) {
        let catalogue = Catalogue::shared();
        let called = Called::new(&self.wiring, catalogue);
        let began = self.visits.first().map(|visit| visit.began);
        let live = checks.live(&self.boxes(), began);
        let predictor = Predictor::new(self.notes, &self.wiring, catalogue, self.visits.last());
        let opened = self.opened();
        let stale = |devices: Vec<ThingId>, when: When| {
            let boxes = devices.into_iter().filter_map(|id| *self.wiring.devices.get(&id)?.in_box.get()?);
            boxes.into_iter().filter_map(|id| opened.get(&id)).any(|off| *off > when.stamp)
        };
        let (mut missing, mut again) = (Vec::new(), Vec::new());
        for LiveReading { load, between, pair, taken, trips, .. } in live.readings {
            let mut what = format!("{}, {}", called.load(&load), say_between(between));
            if let Some(device) = trips {
                what = say("desk.readings.trips", &[("what", &what), ("device", &called.device_in_box(device))]);
            }
            let expected = predictor.as_ref().and_then(|p| p.reading(self.notes, &pair, &[], (None, Mode::AcHigh)));
            let entry = Wanted { what, worked_out: expected_words(expected.as_ref()) };
            match taken {
                None => missing.push(entry),
                Some(taken) if stale(vec![load.device], taken.when) => again.push(entry),
                Some(_) => {}
            }
        }
        for LiveTrial { load, at, tried, .. } in live.trials {
            let expected = predictor.as_ref().and_then(|predictor| predictor.trial(&load, &at));
            let entry = Wanted { what: asked_trial_words(&called, &load, &at), worked_out: on_off(expected) };
            let devices = at.iter().map(|at| at.handle.device).chain([load.device]).collect();
            match tried {
                None => missing.push(entry),
                Some(tried) if stale(devices, tried.when) => again.push(entry),
                Some(_) => {}
            }
        }
        (missing, again)
    }

    /// Dead checks box by box.
    fn dead(&self, checks: &Checks<'_>, person: ThingId) -> Vec<BoxChecks> {
        let mut boxes = Vec::new();
        for id in self.wiring.boxes_in_order() {
            let all = checks.dead_all(id, person);
            let lines: Vec<String> = all
                .iter()
                .filter(|check| check.check.is_some())
                .map(|check| {
                    let read: Vec<&Taken> = check.answers.iter().filter_map(|answer| answer.taken.as_ref()).collect();
                    let asked = check.asked.map(|when| when.wall.clock()).unwrap_or_default();
                    let fill = [
                        ("asked", asked),
                        ("read", read.len().to_string()),
                        ("all", check.answers.len().to_string()),
                        ("highest", highest(&read)),
                        ("state", checks.say_state(&check.state)),
                    ];
                    let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
                    say("desk.readings.dead.check", &fill)
                })
                .collect();
            if !lines.is_empty() {
                boxes.push(BoxChecks { name: self.wiring.tag(id), checks: lines });
            }
        }
        boxes
    }
}

fn agrees(observed: &Observed) -> Option<bool> {
    match observed {
        Observed::Reading(_, taken) => {
            boxproof_core::tell::within(&taken.reading.figure, taken.reading.shown.as_ref()?)
        }
        Observed::Trial(tried) => tried.trial.shown.map(|shown| shown == tried.trial.on),
    }
}

/// The highest figure of some readings, in words; nothing where none has digits.
fn highest(taken: &[&Taken]) -> String {
    let figures = taken.iter().filter_map(|taken| match &taken.reading.figure {
        Figure::Number(value) => Some(*value),
        Figure::NoDigits(_) | Figure::OverRange => None,
    });
    let highest = figures.max_by(|one, other| one.to_f64().abs().total_cmp(&other.to_f64().abs()));
    highest.map_or_else(String::new, |volts| say("desk.readings.dead.highest", &[("volts", &volts.to_string())]))
}

impl Report {
    fn text(&self, site: &Site) -> String {
        let mut text = Text::default();
        text.line(&say("desk.readings.head", &[("layer", &self.layer), ("title", &self.title)]));
        text.line(&say("desk.readings.limit", &[]));
        text.lines(site.newer_words());
        self.taken_text(&mut text);
        called_text(&mut text, &count("desk.readings.missing", self.missing.len(), &[]), &self.missing);
        if !self.again.is_empty() {
            called_text(&mut text, &count("desk.readings.again", self.again.len(), &[]), &self.again);
        }
        match &self.person {
            Some(person) => text.section(&say("desk.readings.dead", &[("person", person)]), &[]),
            None => text.section(&say("desk.readings.dead.nobody", &[]), &[]),
        }
        for one in &self.dead {
            text.line(&format!("  {}", one.name));
            text.indent(6, &one.checks);
        }
        text.end()
    }

    fn taken_text(&self, text: &mut Text) {
        text.section(&say("desk.readings.taken", &[]), &[]);
        if self.taken.is_empty() {
            text.line(&format!("  {}", say("desk.readings.none", &[])));
        }
        let people: BTreeSet<&str> = self.taken.iter().map(|line| line.who.as_str()).collect();
        // One person's day needs no column for the person.
        let alone = people.len() == 1;
        let mut names = vec!["time", "what", "shown", "read", "verdict", "with"];
        if !alone {
            names.push("who");
        }
        let columns: Vec<String> = names.iter().map(|name| say(&format!("desk.readings.column.{name}"), &[])).collect();
        let days: BTreeSet<&str> = self.taken.iter().map(|line| line.day.as_str()).collect();
        for day in days {
            let of_day = self.taken.iter().filter(|line| line.day == day);
            let row = |line: &Line| {
                let all = [&line.time, &line.what, &line.worked_out, &line.read, &line.verdict, &line.with, &line.who];
                all.into_iter().take(columns.len()).cloned().collect()
            };
            let cells: Vec<Vec<String>> = of_day.map(row).collect();
            let who = people.first().filter(|_| alone).map(|who| format!(", {who}")).unwrap_or_default();
            text.line(&format!("  {day}{who}"));
            text.indent(2, &grid::lines(&columns, &cells));
        }
    }
}

fn called_text(text: &mut Text, heading: &str, list: &[Wanted]) {
    text.section(heading, &[]);
    if list.is_empty() {
        return;
    }
    let columns = ["what", "now"].map(|name| say(&format!("desk.readings.column.{name}"), &[])).to_vec();
    let cells: Vec<Vec<String>> = list.iter().map(|one| vec![one.what.clone(), one.worked_out.clone()]).collect();
    text.indent(2, &grid::lines(&columns, &cells));
}
