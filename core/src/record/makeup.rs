//! The make-up of a box in one wiring: its runs, splices, devices, and what is written on the conductors.

use std::collections::BTreeMap;

use crate::catalogue::{PointForm, run_name};
use crate::job::{Landing, Place, Side, ThingId, Tip, TipNote, Wiring};
use crate::words::{count, say};

use super::day::{Day, known};
use super::document::{Cell, Mark, Table};
use super::name::{Names, listed, words_of};
use super::said::length;

/// The make-up of a box in one wiring.
pub(super) struct MakeUp<'d> {
    day: &'d Day<'d>,
    wiring: &'d Wiring,
    names: Names<'d>,
    id: ThingId,
}

/// The class of a splice, for the order in which a box is folded in: grounds, neutrals, the rest.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Class {
    Ground,
    Neutral,
    Other,
}

impl<'d> MakeUp<'d> {
    pub(super) fn new(day: &'d Day<'d>, wiring: &'d Wiring, id: ThingId) -> Self {
        Self { day, wiring, names: day.names_in(wiring), id }
    }

    /// Nothing is known of what is in the box beyond the runs that lead to it.
    pub(super) fn is_bare(&self) -> bool {
        let placed = |tip: &Tip| self.wiring.place(tip).is_some();
        self.wiring.devices_in(self.id).is_empty()
            && self.wiring.splices_in(self.id).is_empty()
            && !self.ends().iter().any(placed)
    }

    /// The runs that come into the box.
    pub(super) fn runs(&self, caption: String) -> Table {
        let mut table = Table::new(caption, "record.runs", &["letter", "kind", "to", "length", "how"]);
        for (run, side) in self.wiring.runs_in(self.id) {
            let Some(note) = self.wiring.runs.get(&run) else { continue };
            let (here, there) = (note.side(side), note.side(side.other()));
            let to =
                known(&there.in_box, |at| at.map_or_else(|| say("record.known.not", &[]), |at| self.names.r#box(at)));
            let source = here.feed.get().map(|source| self.names.device(*source));
            let to = match source {
                Some(source) => say("record.runs.from", &[("to", &to), ("source", &source)]),
                None => to,
            };
            let kind = known(&note.kind, |kind| run_name(kind));
            let (method, insulation) = (note.method.or(String::new()), note.insulation.or(String::new()));
            table.row(vec![
                known(&here.letter, String::clone).into(),
                listed([kind, method, insulation]).into(),
                to.into(),
                known(&note.length, length).into(),
                Cell::marked("", self.run_mark(note, side)),
            ]);
        }
        table
    }

    /// Splices, terminals and free ends, with the conductors in each.
    pub(super) fn table(&self, caption: String) -> Table {
        let mut table = Table::new(caption, "record.makeup", &["where", "ends", "with", "how"]);
        let mut splices = self.wiring.splices_in(self.id);
        splices.sort_by_key(|id| self.splice_order(*id));
        for id in splices {
            self.splice(&mut table, id);
        }
        for device in self.wiring.devices_in(self.id) {
            self.device(&mut table, device);
        }
        self.others(&mut table);
        self.not_known(&mut table);
        table
    }

    /// Every end in the box: conductors of its runs, pigtails, leads of its devices.
    pub(super) fn ends(&self) -> Vec<Tip> {
        let mut ends = Vec::new();
        let mut push = |run: ThingId, side: Side| {
            let note = self.wiring.runs.get(&run);
            let wires = note.map(|note| self.day.catalogue.conductors(note)).unwrap_or_default();
            ends.extend(wires.into_iter().map(|(wire, _)| Tip::Wire { run, wire, side }));
        };
        for (run, side) in self.wiring.runs_in(self.id) {
            push(run, side);
        }
        for run in self.wiring.pigtails_in(self.id) {
            for side in Side::BOTH {
                push(run, side);
            }
        }
        for device in self.wiring.devices_in(self.id) {
            let kind = self.wiring.devices.get(&device).and_then(|note| note.kind.get());
            let points = kind.and_then(|kind| self.day.catalogue.device(kind)).map(|kind| kind.points.iter());
            let leads = points.into_iter().flatten().filter(|point| point.form == PointForm::Lead);
            ends.extend(leads.map(|point| Tip::Lead { device, lead: point.id.clone() }));
        }
        ends
    }

    /// How a run is known: its kind, and where it leads.
    fn run_mark(&self, note: &crate::job::RunNote, side: Side) -> Option<Mark> {
        let there = &note.side(side.other()).in_box;
        let nowhere = (there.get() == Some(&None)).then_some(Mark::Unknown);
        [self.day.mark(&note.kind), self.day.mark(there), nowhere].into_iter().flatten().min()
    }

    fn note(&self, tip: &Tip) -> Option<&'d TipNote> {
        self.wiring.tips.get(tip)
    }

    /// How the places of some ends are known, the least sure of them.
    fn mark<'t>(&self, tips: impl IntoIterator<Item = &'t Tip>) -> Option<Mark> {
        let marks = tips.into_iter().filter_map(|tip| self.note(tip).and_then(|note| self.day.mark(&note.place)));
        marks.min()
    }

    /// Ends in the order of the box: its runs by letter, pigtails, leads.
    fn in_order<'t>(&self, mut tips: Vec<&'t Tip>) -> Vec<&'t Tip> {
        let order = self.ends();
        tips.sort_by_key(|tip| order.iter().position(|other| other == *tip).unwrap_or(usize::MAX));
        tips
    }

    fn splice_order(&self, id: ThingId) -> (Class, Option<Tip>, ThingId) {
        let ends = self.wiring.ends_in(id);
        let conductor = |tip: &&Tip| match tip {
            Tip::Wire { run, wire, .. } => self.day.catalogue.conductor(self.wiring.runs.get(run)?, *wire),
            Tip::Lead { .. } => None,
        };
        let wires: Vec<_> = ends.iter().filter_map(conductor).collect();
        let class = if wires.is_empty() {
            Class::Other
        } else if wires.iter().all(|wire| wire.ground) {
            Class::Ground
        } else if wires.iter().all(|wire| matches!(wire.colour, crate::job::Colour::White | crate::job::Colour::Gray)) {
            Class::Neutral
        } else {
            Class::Other
        };
        (class, ends.first().map(|tip| (*tip).clone()), id)
    }

    fn splice(&self, table: &mut Table, id: ThingId) {
        let Some(note) = self.wiring.splices.get(&id) else { return };
        let ends = self.in_order(self.wiring.ends_in(id));
        let with = known(&note.connector, |kind| self.names.connector(kind, ends.len()));
        let mark = self.mark(ends.iter().copied());
        let made = self.day.mark(&note.connector).filter(|_| note.connector.is_said());
        table.row(vec![
            self.names.splice(id).into(),
            listed(ends.iter().map(|tip| self.names.tip_in_full(tip))).into(),
            with.into(),
            Cell::marked("", [mark, made].into_iter().flatten().min()),
        ]);
    }

    fn device(&self, table: &mut Table, id: ThingId) {
        let Some(note) = self.wiring.devices.get(&id) else { return };
        let name = self.names.device_and_kind(id);
        let gang = note.gang.get().map(|gang| say("record.makeup.gang", &[("n", &gang.to_string())]));
        let links = note.links.iter().filter_map(|(link, whole)| {
            let key = if *whole.get()? { "record.link.whole" } else { "record.link.broken" };
            Some(say(key, &[("link", &crate::catalogue::link_name(link))]))
        });
        let watts = note.watts.iter().filter_map(|(load, watts)| {
            let watts = watts.get()?.to_string();
            Some(say("record.amount.watts", &[("load", &crate::catalogue::load_name(load)), ("n", &watts)]))
        });
        let plugged = note.plugged_into.get().cloned().flatten();
        let plugged = plugged.map(|load| say("record.makeup.plugged", &[("load", &self.names.load(&load))]));
        let about = listed(gang.into_iter().chain(links).chain(watts).chain(plugged));
        let mark = self.day.mark(&note.kind);
        table.row(vec![name.into(), about.into(), Cell::default(), Cell::marked("", mark)]);
        let mut by_terminal: BTreeMap<&str, Vec<&Tip>> = BTreeMap::new();
        for (tip, tip_note) in &self.wiring.tips {
            match tip_note.place.get() {
                Some(Place::Terminal { device, terminal, .. }) if *device == id => {
                    by_terminal.entry(terminal).or_default().push(tip);
                }
                _ => {}
            }
        }
        let kind = note.kind.get().and_then(|kind| self.day.catalogue.device(kind));
        let order = |terminal: &str| kind.and_then(|kind| kind.points.iter().position(|point| point.id == terminal));
        let mut rows: Vec<_> = by_terminal.into_iter().collect();
        rows.sort_by_key(|(terminal, _)| (order(terminal).unwrap_or(usize::MAX), *terminal));
        for (terminal, tips) in rows {
            table.row(vec![
                self.names.terminal(id, terminal).into(),
                listed(tips.iter().map(|tip| self.names.tip_in_full(tip))).into(),
                listed(tips.iter().map(|tip| self.held(tip))).into(),
                Cell::marked("", self.mark(tips.iter().copied())),
            ]);
        }
    }

    /// How an end is held by its terminal, with its torque.
    fn held(&self, tip: &Tip) -> String {
        let Some(note) = self.note(tip) else { return String::new() };
        let held = match note.place.get() {
            Some(Place::Terminal { landing, .. }) if *landing != Landing::NotSaid => {
                words_of("record.landing", landing)
            }
            _ => String::new(),
        };
        let torque = note.torque.get().map(|torque| say("record.amount.torque", &[("n", &torque.to_string())]));
        listed([held, torque.unwrap_or_default()])
    }

    /// Ends that are neither in a splice nor on a terminal.
    fn others(&self, table: &mut Table) {
        let mut through = Vec::new();
        let mut by_place: BTreeMap<String, Vec<Tip>> = BTreeMap::new();
        for tip in self.ends() {
            match self.wiring.place(&tip) {
                Some(Place::Through(other)) => {
                    if !through.contains(&tip) {
                        through.push(other.clone());
                        by_place.entry(self.names.place(&Place::Through(other.clone()))).or_default().push(tip);
                    }
                }
                Some(Place::Splice(_) | Place::Terminal { .. }) | None => {}
                Some(place) => by_place.entry(self.names.place(place)).or_default().push(tip),
            }
        }
        for (place, tips) in by_place {
            let ends = listed(tips.iter().map(|tip| self.names.tip_in_full(tip)));
            let mark = self.mark(&tips);
            table.row(vec![place.into(), ends.into(), Cell::default(), Cell::marked("", mark)]);
        }
    }

    /// Ends whose place nobody noted, or noted twice; and runs whose conductors are not known.
    fn not_known(&self, table: &mut Table) {
        let ends = self.ends();
        let unsaid: Vec<&Tip> =
            ends.iter().filter(|tip| !self.note(tip).is_some_and(|note| note.place.is_said())).collect();
        if !unsaid.is_empty() {
            let ends = listed(unsaid.into_iter().map(|tip| self.names.tip_in_full(tip)));
            let place = say("record.makeup.unsaid", &[]);
            table.row(vec![place.into(), ends.into(), Cell::default(), Cell::marked("", Some(Mark::Unknown))]);
        }
        for tip in &ends {
            let Some(note) = self.note(tip).filter(|note| note.place.is_twice()) else { continue };
            let places = known(&note.place, |place| self.names.place(place));
            let mark = Cell::marked("", Some(Mark::Disagrees));
            table.row(vec![places.into(), self.names.tip_in_full(tip).into(), Cell::default(), mark]);
        }
        let bare = self.wiring.runs_in(self.id).into_iter().filter(|(run, _)| {
            let note = self.wiring.runs.get(run);
            note.is_none_or(|note| self.day.catalogue.conductors(note).is_empty())
        });
        for (run, _) in bare {
            let (run, mark) = (self.names.run(run), Cell::marked("", Some(Mark::Unknown)));
            let place = say("record.makeup.unsaid", &[]);
            let ends = say("record.makeup.wires_unsaid", &[("run", &run)]);
            table.row(vec![place.into(), ends.into(), Cell::default(), mark]);
        }
    }

    /// What is written on the conductors, by how it is known; and how many have nothing noted.
    pub(super) fn labels(&self) -> Vec<Cell> {
        let mut written: BTreeMap<Option<Mark>, Vec<String>> = BTreeMap::new();
        let mut unsaid = 0;
        for tip in self.ends() {
            let inside = matches!(&tip, Tip::Wire { run, .. } if self.wiring.runs.get(run).is_some_and(crate::job::RunNote::is_inside));
            if inside || matches!(tip, Tip::Lead { .. }) {
                continue; // pigtails and leads are not labelled; nobody misses a tape there
            }
            match self.note(&tip).map(|note| &note.label).filter(|label| label.is_said()) {
                None => unsaid += 1,
                Some(label) => {
                    let text = known(label, |label| {
                        label.clone().map_or_else(|| say("record.label.none", &[]), |label| format!("“{label}”"))
                    });
                    let line = format!("{} {text}", self.names.tip(&tip));
                    written.entry(self.day.mark(label)).or_default().push(line);
                }
            }
        }
        let mut cells: Vec<Cell> =
            written.into_iter().map(|(mark, lines)| Cell::marked(lines.join("; "), mark)).collect();
        if unsaid > 0 {
            cells.push(Cell::new(count("record.label.unsaid", unsaid, &[])));
        }
        cells
    }
}
