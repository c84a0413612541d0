//! What is read with: the instrument and its setting, from the address, else as it was used last.

use std::collections::BTreeSet;

use crate::check::Checks;
use crate::job::{Figure, Happening, InstrumentNote, Kind, Layer, Mode, Subject, ThingId};
use crate::screen::row::{Edge, Pick, Row};
use crate::screen::view::View;
use crate::tell::{figure_words, mode_words, unit};
use crate::token::Line;
use crate::token::path::{one_of, word_of};
use crate::words::say;

use super::bench::Bench;
use super::parts::{choice, edged, here, moment, place};

/// Most known sources that are offered.
const MOST_SOURCES: usize = 4;

/// Settings that a dead or a live check is read in.
const VOLTS: [Mode; 3] = [Mode::AcLow, Mode::AcHigh, Mode::Dc];

/// The instrument and its setting.
pub(super) struct Meter {
    /// The instrument, if the site knows one.
    pub(super) id: Option<ThingId>,
    /// What it is called.
    pub(super) name: String,
    /// The setting for volts.
    pub(super) mode: Mode,
}

/// A proximity indicator and a proving unit read no volts.
fn reads(view: &View<'_>, id: ThingId) -> bool {
    let kind = InstrumentNote::read(view.notes, id).kind;
    !matches!(kind.get().map(String::as_str), Some("proximity" | "proving-unit"))
}

fn meters(view: &View<'_>) -> Vec<ThingId> {
    let all = view.notes.things(Kind::Instrument, Layer::Site).into_iter();
    all.filter(|id| reads(view, *id)).collect()
}

fn name(view: &View<'_>, id: ThingId) -> String {
    InstrumentNote::read(view.notes, id).name.or(say("checks.meter.nameless", &[]))
}

impl Meter {
    /// The meter that the address names, else the one that was used last, else the first.
    pub(super) fn of(view: &View<'_>) -> Self {
        let known = meters(view);
        let asked = view.address.field("with").and_then(|with| with.parse().ok()).filter(|id| known.contains(id));
        let used = view.notes.happened().rev().find_map(|happened| match &happened.what {
            Happening::Proved(proof) if VOLTS.contains(&proof.mode) => Some((proof.instrument, proof.mode)),
            Happening::Read(reading) if VOLTS.contains(&reading.mode) => Some((reading.instrument, reading.mode)),
            _ => None,
        });
        let used = used.filter(|(id, _)| known.contains(id));
        let id = asked.or(used.map(|(id, _)| id)).or_else(|| known.first().copied());
        let mode = view.address.field("mode").and_then(|mode| one_of(mode).ok()).filter(|mode| VOLTS.contains(mode));
        let mode = mode.or(used.map(|(_, mode)| mode)).unwrap_or(Mode::AcLow);
        let name = id.map_or_else(|| say("checks.meter.none", &[]), |id| name(view, id));
        Self { id, name, mode }
    }

    /// The instrument with its setting in words.
    pub(super) fn words(&self, mode: Mode) -> String {
        say("checks.meter", &[("meter", &self.name), ("mode", &mode_words(mode))])
    }

    /// Is it shown to work, so that what is read next lies after a proof?
    pub(super) fn is_proved(&self, checks: &Checks<'_>, mode: Mode) -> bool {
        self.id.is_some_and(|id| checks.proved(id, mode == Mode::Dc).is_some())
    }

    /// The proof that stands, in words: on what, when and in which setting, and what it showed.
    pub(super) fn proof_words(&self, bench: &Bench<'_>, mode: Mode) -> Option<(String, String, String)> {
        let (when, proof) = bench.checks.proved(self.id?, mode == Mode::Dc)?;
        let title = say("checks.prove.done", &[("meter", &self.name), ("on", &proof.on)]);
        let clock = moment(bench.view, when.wall);
        let second = say("checks.prove.when", &[("when", &clock), ("mode", &mode_words(proof.mode))]);
        Some((title, second, figure_words(&proof.figure, proof.mode)))
    }
}

/// One row that leads to choosing another instrument or setting; the choice itself if the address asks for it.
pub(super) fn rows(bench: &Bench<'_>) -> Vec<Row> {
    let view = bench.view;
    let known = meters(view);
    if known.is_empty() {
        let row = edged("meter", Edge::Unknown, &say("checks.meter.none", &[]), &say("checks.meter.note", &[]), "");
        return vec![row.leads(view.go(&view.page("instrument")))];
    }
    if view.address.field("pick") != Some("meter") {
        let words = bench.meter.words(bench.meter.mode);
        let row = edged("meter", Edge::Found, &words, &say("checks.meter.other", &[]), "");
        return vec![row.leads(view.go(&here(view, &[("pick", "meter")])))];
    }
    let to = |field: &str, value: &str| view.go(&here(view, &[(field, value), ("pick", "")]));
    let which = known.into_iter().map(|id| {
        let second = InstrumentNote::read(view.notes, id).category.or(String::new());
        Pick::new(&name(view, id), to("with", &id.to_string())).second(&second).on(bench.meter.id == Some(id))
    });
    let modes =
        VOLTS.map(|mode| Pick::new(&mode_words(mode), to("mode", &word_of(&mode))).on(bench.meter.mode == mode));
    vec![
        choice("which meter", &say("checks.meter.which", &[]), which.collect()),
        choice("which mode", &say("checks.meter.mode", &[]), modes.to_vec()),
    ]
}

/// Known sources that a meter can be shown on: the one that was used last, a proving unit, outlets of another circuit
/// that is not OFF, those near this box first, then the other circuits at the panel.
fn known_sources(bench: &Bench<'_>, at: ThingId, held: &[ThingId]) -> Vec<String> {
    let view = bench.view;
    let mut all: Vec<String> = Vec::new();
    let mut add = |words: String| {
        if !words.is_empty() && !all.contains(&words) && all.len() < MOST_SOURCES {
            all.push(words);
        }
    };
    add(view.address.field("on").unwrap_or_default().to_owned());
    let shown = view.notes.happened().rev().filter_map(|happened| match &happened.what {
        Happening::Proved(proof) => Some(proof.on.clone()),
        _ => None,
    });
    let shown: Vec<String> = shown.collect();
    shown.first().into_iter().for_each(|on| add(on.clone()));
    for id in view.notes.things(Kind::Instrument, Layer::Site) {
        let note = InstrumentNote::read(view.notes, id);
        if note.kind.get().map(String::as_str) == Some("proving-unit") {
            add(say("checks.prove.unit", &[("name", &name(view, id))]));
        }
    }
    near(bench, at, held).into_iter().for_each(&mut add);
    shown.into_iter().for_each(&mut add);
    let known = all.clone();
    let mut add = |words: String| {
        if !all.contains(&words) && all.len() < MOST_SOURCES {
            all.push(words);
        }
    };
    for (id, note) in &view.left().devices {
        let Some(number) = note.number.get() else { continue };
        let off = bench.checks.hold(*id).off_since.is_some();
        // The circuit that was used is not offered a second time by its directory line.
        let circuit = say("checks.prove.circuit", &[("number", number), ("directory", "")]);
        let used = known.iter().any(|words| words.starts_with(&format!("{},", circuit.trim())));
        if !off && !used && !held.contains(id) {
            let directory = note.directory.or(String::new());
            add(say("checks.prove.circuit", &[("number", number), ("directory", &directory)]).trim().to_owned());
        }
    }
    all
}

/// Boxes with an outlet whose sources are known, none of them OFF and none of them this box's, nearest first: those
/// whose place is called by the same words, then those that were read live today, then the rest.
fn near(bench: &Bench<'_>, at: ThingId, held: &[ThingId]) -> Vec<String> {
    let (view, wiring) = (bench.view, bench.view.left());
    let words = |id: ThingId| -> BTreeSet<String> {
        let location = wiring.boxes.get(&id).and_then(|note| note.location.get().cloned()).unwrap_or_default();
        let each = location.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase);
        each.filter(|word| word.chars().count() > 3).collect()
    };
    let here = words(at);
    let read_live = |id: ThingId| {
        let mut today = view.notes.happened().rev().take_while(|happened| happened.wall.day() == view.now.day());
        let limit = bench.checks.policy().reference_live.to_f64();
        today.any(|happened| match &happened.what {
            Happening::Read(reading) if happened.of == Subject::Thing(id) => {
                matches!(&reading.figure, Figure::Number(volts) if volts.to_f64() >= limit)
            }
            _ => false,
        })
    };
    let outlet = |id: &ThingId| {
        let kinds = wiring.devices_in(*id).into_iter();
        let kinds = kinds.filter_map(|device| wiring.devices.get(&device).and_then(|note| note.kind.get()));
        kinds.filter_map(|kind| view.catalogue.device(kind)).any(|kind| kind.loads.iter().any(|load| load.outlet))
    };
    let mut all: Vec<(usize, bool, String)> = Vec::new();
    for id in wiring.boxes_in_order().into_iter().filter(|id| *id != at).filter(outlet) {
        let isolation = bench.checks.isolation(id);
        let live = isolation.unknown.is_empty() && !isolation.panel && !isolation.sources.is_empty();
        let apart = |source: &crate::check::Source| !held.contains(&source.id) && source.hold.off_since.is_none();
        if !live || !isolation.sources.iter().all(apart) {
            continue;
        }
        let number = isolation.sources.iter().find_map(|source| wiring.devices.get(&source.id)?.number.get().cloned());
        let fill = [("box", place(wiring, id)), ("number", number.unwrap_or_default())];
        let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
        let far = usize::MAX - here.intersection(&words(id)).count();
        all.push((far, !read_live(id), say("checks.prove.outlet", &fill)));
    }
    all.sort();
    all.into_iter().map(|(_, _, words)| words).collect()
}

/// The ways to show the meter on a known source: one touch and the number each.
fn prove_picks(bench: &Bench<'_>, mode: Mode, known: &[String]) -> Vec<Pick> {
    let view = bench.view;
    let then = here(view, &[("on", ""), ("pick", "")]);
    let each = known.iter().map(|on| {
        let ask = say("checks.prove.ask", &[("meter", &bench.meter.name), ("on", on)]);
        Pick::new(on, view.event_then(prove(bench, mode, on).with("value", "?"), &then))
            .asks(&ask, true)
            .unit(unit(mode))
    });
    each.collect()
}

fn prove(bench: &Bench<'_>, mode: Mode, on: &str) -> Line {
    let instrument = bench.meter.id.map(|id| id.to_string()).unwrap_or_default();
    Line::new("prove").word(instrument).with("mode", word_of(&mode)).with("on", on)
}

/// The row under a step that asks for a proof: each known source, one that is named first, a tester without digits.
pub(super) fn prove_row(bench: &Bench<'_>, key: &str, mode: Mode, at: ThingId, held: &[ThingId]) -> Row {
    let view = bench.view;
    let known = known_sources(bench, at, held);
    let mut picks = prove_picks(bench, mode, &known);
    let elsewhere = view.go(&here(view, &[("on", "?")]));
    picks.push(Pick::new(&say("checks.prove.elsewhere", &[]), elsewhere).asks(&say("checks.prove.name", &[]), false));
    if let Some(on) = known.first() {
        let then = here(view, &[("on", ""), ("pick", "")]);
        let event = prove(bench, mode, on).with("indication", "?");
        let pick = Pick::new(&say("checks.no_digits", &[]), view.event_then(event, &then)).second(on);
        picks.push(pick.asks(&say("checks.ask_lit", &[]), false));
    }
    choice(key, &say("checks.prove.where", &[]), picks)
}
