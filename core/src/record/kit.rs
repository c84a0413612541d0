//! Instruments, and how each was shown to work.

use std::collections::BTreeSet;

use crate::job::value::Burden;
use crate::job::{Happening, InstrumentNote, Kind, Layer, ThingId};
use crate::tell::{figure_words, mode_words};
use crate::words::{english, say};

use super::day::{Day, known};
use super::document::{Section, Table};
use super::name::listed;

/// Instruments and their proofs.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("instruments", say("record.kit", &[]));
    let columns = ["name", "kind", "serial", "category", "input"];
    let mut table = Table::new("", "record.kit", &columns);
    let used = used(day);
    for id in day.notes.things(Kind::Instrument, Layer::Site) {
        let note = InstrumentNote::read(day.notes, id);
        let name = day.names().instrument(id);
        let name = if used.contains(&id) { name } else { say("record.kit.not_used", &[("name", &name)]) };
        let burdens = note.burdens.iter().filter_map(crate::job::Note::get).map(burden);
        table.row(vec![
            name.into(),
            known(&note.kind, kind).into(),
            known(&note.serial, String::clone).into(),
            known(&note.category, String::clone).into(),
            listed(burdens).into(),
        ]);
    }
    if table.rows.is_empty() {
        part.text(say("record.kit.none", &[]));
    }
    part.table(table);
    part.table(proofs(day));
    part
}

fn kind(kind: &String) -> String {
    english().find(&format!("record.instrument.{kind}")).map_or_else(|| kind.clone(), str::to_owned)
}

fn burden(burden: &Burden) -> String {
    let key = if burden.low { "record.kit.low" } else { "record.kit.high" };
    say(key, &[("n", &burden.kilohms.to_string())])
}

/// Instruments that something was read or shown with in the span.
fn used(day: &Day<'_>) -> BTreeSet<ThingId> {
    let each = day.happened.iter().filter_map(|happened| match &happened.what {
        Happening::Proved(proof) => Some(proof.instrument),
        Happening::Read(reading) => Some(reading.instrument),
        _ => None,
    });
    each.collect()
}

/// When each instrument was shown to work, on what, and what it showed.
fn proofs(day: &Day<'_>) -> Table {
    let columns = ["time", "instrument", "mode", "on", "figure#", "by"];
    let mut table = Table::new(say("record.proofs", &[]), "record.proofs", &columns);
    for happened in &day.happened {
        let Happening::Proved(proof) = &happened.what else { continue };
        table.row(vec![
            day.time(happened.wall).into(),
            day.names().instrument(proof.instrument).into(),
            mode_words(proof.mode).into(),
            proof.on.clone().into(),
            figure_words(&proof.figure, proof.mode).into(),
            day.who(&happened.fact.entry).into(),
        ]);
    }
    table
}
