//! What the card of a box says: its picture, what it is, what feeds it, every end with what is written on it. A dead
//! check is not on it: it counts for one moment and one person.

use crate::catalogue::{box_name, connector_name, run_name};
use crate::job::{JobNote, Layer, Note, ThingId, Tip, Wiring};
use crate::picture::{BoxCard, CardRow, Edge, Eye, PHONE_WIDTH, Seen, Shown, box_picture, unfold};
use crate::rules::{Edition, box_fill};
use crate::words::{count, say};

use super::super::name::listed;
use super::super::said::length;
use super::{Print, plate};

/// The card of one box.
pub(super) fn card(print: &Print<'_>, at: ThingId) -> BoxCard {
    let wiring = print.wiring(at);
    let power = print.power(at);
    let looking = Looking { wiring, job: print.source.job };
    let picture = box_picture(&unfold(print.called(wiring), at, &print.found, &looking), PHONE_WIDTH);
    let cautions = plate::cautions(print, &power, at);
    let mut feeds = plate::circuits(&power);
    let others = wiring.boxes.get(&at).and_then(|note| note.other_circuits.get());
    feeds.extend(others.map(|text| say("sheet.other_circuits", &[("text", text)])));
    BoxCard {
        tag: print.called(wiring).r#box(at),
        place: print.place(at),
        under: listed([print.site_name(), job_words(print.job.as_ref()), print.as_of()]),
        picture,
        cautions,
        parts: vec![
            (say("sheet.card.box", &[]), about(print, wiring, at)),
            (say("sheet.card.feeds", &[]), feeds),
            (say("sheet.card.runs", &[]), runs(print, wiring, at)),
            (say("sheet.card.devices", &[]), devices(print, wiring, at)),
            (say("sheet.card.splices", &[]), splices(print, wiring, at)),
        ],
        ends: ends(print, wiring, at),
        foot: say("sheet.card.foot", &[("day", &print.as_of())]),
    }
}

fn job_words(job: Option<&JobNote>) -> String {
    job.and_then(|job| job.name.get().cloned()).unwrap_or_default()
}

/// Construction, marked volume, fill, when it was last opened.
fn about(print: &Print<'_>, wiring: &Wiring, at: ThingId) -> Vec<String> {
    let note = wiring.boxes.get(&at);
    let kind = note.and_then(|note| note.kind.get()).map(|kind| box_name(kind));
    let volume = note.and_then(|note| note.volume.get());
    let volume = volume.map(|volume| say("record.box.marked", &[("n", &volume.to_string())])).unwrap_or_default();
    let mut lines = vec![listed([kind.unwrap_or_else(|| say("sheet.card.kind_unknown", &[])), volume])];
    lines.extend(fill(print, wiring, at));
    lines.push(plate::opened(print, at));
    lines
}

fn fill(print: &Print<'_>, wiring: &Wiring, at: ThingId) -> Option<String> {
    let edition = Edition::of(*print.job.as_ref()?.edition.get()?)?;
    let fill = box_fill(wiring, print.source.catalogue, at, edition)?;
    let needed = fill.needed().to_string();
    let there = fill.there().map_or_else(|| say("record.known.not", &[]), |there| there.to_string());
    let key = if fill.needed.gaps.is_empty() { "record.box.fill.of" } else { "record.box.fill.at_least" };
    let words = say(key, &[("needed", &needed), ("there", &there)]);
    Some(say("sheet.card.fill", &[("fill", &words), ("edition", edition.name())]))
}

fn runs(print: &Print<'_>, wiring: &Wiring, at: ThingId) -> Vec<String> {
    let called = print.called(wiring);
    let runs = wiring.runs_in(at).into_iter();
    let lines = runs.filter_map(|(run, side)| {
        let note = wiring.runs.get(&run)?;
        let letter = note.side(side).letter.or("?".to_owned());
        let kind = note.kind.get().map_or_else(|| say("name.run", &[]), |kind| run_name(kind));
        let far = note.side(side.other()).in_box.get().copied().flatten();
        let far = far.map_or_else(
            || say("sheet.flag.far_unknown", &[]),
            |far| say("sheet.flag.to", &[("far", &called.r#box(far))]),
        );
        let long = note.length.get().map(length).unwrap_or_default();
        Some(say("sheet.card.run", &[("letter", &letter), ("rest", &listed([kind, far, long]))]))
    });
    lines.collect()
}

fn devices(print: &Print<'_>, wiring: &Wiring, at: ThingId) -> Vec<String> {
    let names = print.names(wiring);
    wiring.devices_in(at).into_iter().map(|device| names.device_and_kind(device)).collect()
}

fn splices(print: &Print<'_>, wiring: &Wiring, at: ThingId) -> Vec<String> {
    let names = print.names(wiring);
    let here = wiring.splices_in(at).into_iter().filter(|splice| !wiring.ends_in(*splice).is_empty());
    let lines = here.map(|splice| {
        let kind = wiring.splices.get(&splice).and_then(|note| note.connector.get());
        let held = kind.map_or_else(|| say("sheet.card.connector_unknown", &[]), |kind| connector_name(kind));
        listed([names.splice(splice), held, count("sheet.card.ends", wiring.ends_in(splice).len(), &[])])
    });
    lines.collect()
}

/// Every end of a run with what is written on it, or what is proposed, and where it is.
fn ends(print: &Print<'_>, wiring: &Wiring, at: ThingId) -> Vec<CardRow> {
    let tape = print.tape(print.is_left(at));
    let proposed = tape.proposals(at);
    let (called, names) = (print.called(wiring), print.names(wiring));
    let ends = tape.ends(at).into_iter();
    let rows = ends.map(|tip| {
        let note = wiring.tips.get(&tip);
        let mut on_tape = false;
        let written = match note.map(|note| &note.label) {
            Some(Note::Said(Some(text), basis)) if matches!(basis.layer, Layer::Planned(_)) => {
                say("sheet.card.planned", &[("words", text)])
            }
            Some(Note::Said(Some(text), _)) => {
                on_tape = true;
                text.clone()
            }
            Some(Note::Twice(values)) => {
                let both: Vec<&str> = values.iter().filter_map(|(text, _)| text.as_deref()).collect();
                say("record.known.twice", &[("values", &both.join(" / "))])
            }
            _ => proposed
                .iter()
                .find(|(of, _)| *of == tip)
                .map(|(_, words)| say("sheet.card.proposed", &[("words", words)]))
                .unwrap_or_default(),
        };
        let place = match note.map(|note| &note.place) {
            Some(Note::Said(place, _)) => names.place(place),
            Some(Note::Twice(_)) => say("state.disagrees", &[]),
            Some(Note::NotSaid) | None => say("record.known.not", &[]),
        };
        CardRow { end: called.tip(&tip), written, on_tape, place }
    });
    rows.collect()
}

/// Looks at one layer; nothing can be touched on paper.
struct Looking<'w> {
    wiring: &'w Wiring,
    job: Option<ThingId>,
}

impl Looking<'_> {
    fn of_note<T>(&self, note: Option<&Note<T>>, unsaid: Edge) -> Edge {
        match note {
            Some(Note::Said(_, basis)) => Edge::of(basis, self.job),
            Some(Note::Twice(_)) => Edge::Disagrees,
            Some(Note::NotSaid) | None => unsaid,
        }
    }

    fn tip(&self, tip: &Tip) -> Edge {
        self.of_note(self.wiring.tips.get(tip).map(|note| &note.place), Edge::Unknown)
    }
}

impl Eye for Looking<'_> {
    fn see(&self, shown: Shown<'_>) -> Seen {
        let edge = match shown {
            Shown::Tip(tip) => self.tip(tip),
            Shown::Label(tip) => self.of_note(self.wiring.tips.get(tip).map(|note| &note.label), Edge::Found),
            Shown::Run(run, _) => self.of_note(self.wiring.runs.get(&run).map(|note| &note.kind), Edge::Found),
            Shown::Splice(splice) => {
                let ends = self.wiring.ends_in(splice).into_iter();
                ends.map(|tip| self.tip(tip)).min().unwrap_or(Edge::Unknown)
            }
            // What has no end on it is known as its device is.
            Shown::Terminal(device, _) | Shown::Device(device) => {
                self.of_note(self.wiring.devices.get(&device).map(|note| &note.kind), Edge::Found)
            }
            // Only a screen hatches hazards.
            Shown::Shell(_) => Edge::Found,
        };
        Seen { edge: Some(edge), ..Seen::default() }
    }
}
