//! Box by box, in the order in which boxes are listed: found, done, left, checked, read, tried.

use crate::catalogue::box_name;
use crate::job::{BoxNote, Happened, Happening, Note, Subject, ThingId, Tip, Wiring};
use crate::rules::{Edition, box_fill};
use crate::words::{count, say};

use super::change::changes;
use super::day::{Day, known};
use super::document::{Block, Cell, Entry, Mark, Section, Table};
use super::front::entry;
use super::makeup::MakeUp;
use super::name::listed;
use super::{dead, done, reading};

/// Every box that any layer of the job has, in order; those that are no longer or not yet there come last.
pub(super) fn all(day: &Day<'_>) -> Vec<ThingId> {
    let mut ids = day.left.boxes_in_order();
    for wiring in [&day.found, &day.planned] {
        let more: Vec<_> = wiring.boxes_in_order().into_iter().filter(|id| !ids.contains(id)).collect();
        ids.extend(more);
    }
    ids
}

/// The wiring that has a box: as left, else as planned, else as found.
fn wiring_of<'d>(day: &'d Day<'_>, id: ThingId) -> &'d Wiring {
    let all = [&day.left, &day.planned, &day.found];
    all.into_iter().find(|wiring| wiring.boxes.contains_key(&id)).unwrap_or(&day.left)
}

/// How a box is known as a whole: as its least sure part.
pub(super) fn mark(day: &Day<'_>, id: ThingId) -> Option<Mark> {
    let make_up = MakeUp::new(day, wiring_of(day, id), id);
    if make_up.is_bare() {
        return Some(Mark::Unknown);
    }
    let table = make_up.table(String::new());
    table.rows.iter().filter_map(|row| row.last()?.mark).min()
}

/// One line for each box.
pub(super) fn overview(day: &Day<'_>) -> Section {
    let mut part = Section::new("boxes", say("record.boxes", &[]));
    let columns = ["box", "place", "kind", "runs#", "dead", "live"];
    let mut table = Table::new("", "record.boxes", &columns);
    for id in all(day) {
        let wiring = wiring_of(day, id);
        let Some(note) = wiring.boxes.get(&id) else { continue };
        table.row(vec![
            Cell::marked(day.names().r#box(id), mark(day, id)),
            known(&note.location, String::clone).into(),
            known(&note.kind, |kind| box_name(kind)).into(),
            wiring.runs_in(id).len().to_string().into(),
            dead::last_words(day, id).into(),
            reading::live_words(day, id).into(),
        ]);
    }
    if table.rows.is_empty() {
        part.text(say("record.boxes.none", &[]));
    }
    part.table(table);
    part
}

/// A section for each box.
pub(super) fn section(day: &Day<'_>) -> Section {
    let mut part = Section::new("box-by-box", say("record.box_by_box", &[]));
    part.sections = all(day).into_iter().map(|id| one(day, id)).collect();
    part
}

fn one(day: &Day<'_>, id: ThingId) -> Section {
    let wiring = wiring_of(day, id);
    let place = wiring.boxes.get(&id).and_then(|note| note.location.get().cloned());
    let title = listed([day.names().r#box(id), place.unwrap_or_default()]);
    let mut part = Section::new(format!("box-{id}"), title);
    part.mark = mark(day, id);
    part.entries(entries(day, wiring, id));
    make_up(day, wiring, id, &mut part);
    part.table(reading::table(day, id));
    part.table(reading::trials(day, id));
    titled(&mut part, "record.notes", notes(day, id));
    part.sections.extend(dead::sections(day, id));
    part
}

/// Construction, covers, room.
fn entries(day: &Day<'_>, wiring: &Wiring, id: ThingId) -> Vec<Entry> {
    let Some(note) = wiring.boxes.get(&id) else { return Vec::new() };
    let mut entries = vec![
        Entry { label: say("record.box.kind", &[]), value: Cell::marked(construction(note), day.mark(&note.kind)) },
        entry("record.box.covers", covers(day, id)),
    ];
    if let Some(fed) = dead::fed_by(day, id) {
        entries.push(entry("record.box.fed", fed));
    }
    if let Some(fill) = fill(day, wiring, id) {
        entries.push(entry("record.box.fill", fill));
    }
    let yes = |key: &str, said: &Note<bool>| said.get().filter(|yes| **yes).map(|_| say(key, &[]));
    let about = listed(
        [
            yes("record.box.low_voltage", &note.low_voltage),
            yes("record.box.small_opening", &note.small_opening),
            yes("record.box.canopy", &note.canopy),
            note.accessible.get().filter(|yes| !**yes).map(|_| say("record.box.not_accessible", &[])),
            note.other_circuits.get().cloned(),
        ]
        .into_iter()
        .flatten(),
    );
    if !about.is_empty() {
        entries.push(entry("record.box.about", about));
    }
    entries
}

fn construction(note: &BoxNote) -> String {
    let number = |key: &str, said: &Note<u8>| {
        said.get().map(|n| match n {
            0 => say(&format!("{key}.none"), &[]),
            n => count(key, usize::from(*n), &[]),
        })
    };
    let volume = note.volume.get().map(|volume| say("record.box.marked", &[("n", &volume.to_string())]));
    let additions = note.additions.iter().filter_map(Note::get).map(|addition| match &addition.volume {
        Some(volume) => format!("{} {}", addition.what, say("rule.unit.in3", &[("n", &volume.to_string())])),
        None => addition.what.clone(),
    });
    let parts = [
        Some(known(&note.kind, |kind| box_name(kind))),
        volume,
        number("record.box.clamps", &note.clamps),
        number("record.box.studs", &note.studs),
    ];
    listed(parts.into_iter().flatten().chain(additions))
}

/// When the cover came off and went on.
fn covers(day: &Day<'_>, id: ThingId) -> String {
    let moves = day.happened_to(id).filter_map(|happened| {
        let key = match happened.what {
            Happening::CoverOff => "record.box.cover_off",
            Happening::CoverOn => "record.box.cover_on",
            _ => return None,
        };
        Some(say(key, &[("time", &day.time(happened.wall))]))
    });
    let moves = listed(moves);
    if moves.is_empty() { say("record.box.not_opened", &[]) } else { moves }
}

/// Box fill as left, and as found where that was another.
fn fill(day: &Day<'_>, wiring: &Wiring, id: ThingId) -> Option<String> {
    let edition = Edition::of(*day.job.edition.get()?)?;
    let words = |wiring: &Wiring| {
        let fill = box_fill(wiring, day.catalogue, id, edition)?;
        let needed = fill.needed().to_string();
        let there = fill.there().map_or_else(|| say("record.known.not", &[]), |there| there.to_string());
        let key = if fill.needed.gaps.is_empty() { "record.box.fill.of" } else { "record.box.fill.at_least" };
        Some(say(key, &[("needed", &needed), ("there", &there)]))
    };
    let now = words(wiring)?;
    let before = day.found.boxes.contains_key(&id).then(|| words(&day.found)).flatten();
    let text = match before.filter(|before| *before != now) {
        Some(before) => say("record.box.fill.found", &[("now", &now), ("before", &before)]),
        None => now,
    };
    Some(say("record.box.fill.by", &[("fill", &text), ("edition", edition.name())]))
}

/// What is in the box: once where nothing changed, else as found, what was done, and as left.
fn make_up(day: &Day<'_>, wiring: &Wiring, id: ThingId, part: &mut Section) {
    let now = MakeUp::new(day, wiring, id);
    part.table(now.runs(say("record.runs", &[])));
    if now.is_bare() {
        part.text(say("record.makeup.bare", &[]));
        return;
    }
    let done = if wiring.layer == day.planned.layer { Vec::new() } else { changes(day, &day.found, wiring, id) };
    if done.is_empty() {
        part.table(now.table(say("record.makeup.unchanged", &[])));
    } else {
        let before = MakeUp::new(day, &day.found, id);
        if day.found.boxes.contains_key(&id) && !before.is_bare() {
            part.table(before.table(say("record.makeup.found", &[])));
            titled(part, "record.labels.found", before.labels());
        }
        titled(part, "record.done", done);
        part.table(now.table(say("record.makeup.left", &[])));
    }
    let labels = if changed_labels(day, wiring, id) { "record.labels.left" } else { "record.labels" };
    titled(part, labels, now.labels());
    titled(part, "record.not_done", not_done(day, wiring, id));
}

/// Whether any label differs from what was found.
fn changed_labels(day: &Day<'_>, wiring: &Wiring, id: ThingId) -> bool {
    let label = |wiring: &Wiring, tip: &Tip| wiring.tips.get(tip).and_then(|note| note.label.get().cloned());
    MakeUp::new(day, wiring, id).ends().iter().any(|tip| label(wiring, tip) != label(&day.found, tip))
}

/// Changes that are planned and not noted as made.
fn not_done(day: &Day<'_>, wiring: &Wiring, id: ThingId) -> Vec<Cell> {
    if wiring.layer == day.planned.layer {
        return vec![Cell::marked(say("record.not_done.box", &[]), Some(Mark::Planned))];
    }
    let made: Vec<String> = changes(day, &day.found, wiring, id).into_iter().map(|cell| cell.text).collect();
    let planned = changes(day, &day.found, &day.planned, id);
    let mut open: Vec<Cell> = planned.into_iter().filter(|cell| !made.contains(&cell.text)).collect();
    for cell in &mut open {
        cell.mark = Some(Mark::Planned);
    }
    open
}

/// A list under a title of its own, left out where it is empty.
fn titled(part: &mut Section, key: &str, items: Vec<Cell>) {
    if !items.is_empty() {
        part.blocks.push(Block::Titled(say(key, &[]), items));
    }
}

/// What was parted, looked at, remarked and concluded at a box, with its moment.
fn notes(day: &Day<'_>, id: ThingId) -> Vec<Cell> {
    let here = |happened: &&&Happened| match &happened.of {
        Subject::Thing(thing) => *thing == id || home(day, *thing) == Some(id),
        side @ Subject::Side(..) => {
            [&day.left, &day.found].into_iter().any(|wiring| wiring.boxes_of(side).contains(&id))
        }
        Subject::Tip(tip) => day.left.box_of(tip).or_else(|| day.found.box_of(tip)) == Some(id),
    };
    let said = |happened: &&&Happened| {
        matches!(
            happened.what,
            Happening::Parted
                | Happening::Looked { .. }
                | Happening::FirstLook { .. }
                | Happening::Remark(_)
                | Happening::Concluded(_)
        )
    };
    let lines = day.happened.iter().filter(said).filter(here).map(|happened| {
        let names = day.names();
        let what = done::words(&names, &happened.what);
        let what = match &happened.of {
            Subject::Thing(thing) if *thing == id => what,
            of => say("record.note.of", &[("of", &names.subject(of)), ("what", &what)]),
        };
        let by = if day.has_several_people() { day.who(&happened.fact.entry) } else { String::new() };
        let key = if by.is_empty() { "record.note" } else { "record.note.by" };
        Cell::new(say(key, &[("time", &day.time(happened.wall)), ("what", &what), ("by", &by)]))
    });
    lines.collect()
}

/// The box that a splice or a device is in.
fn home(day: &Day<'_>, thing: ThingId) -> Option<ThingId> {
    [&day.left, &day.found, &day.planned].into_iter().find_map(|wiring| {
        let splice = wiring.splices.get(&thing).and_then(|note| note.in_box.get().copied().flatten());
        splice.or_else(|| wiring.devices.get(&thing).and_then(|note| note.in_box.get().copied().flatten()))
    })
}
