//! What changed in a box: the difference of two wirings.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::{colour_name, link_name, run_name};
use crate::job::{Landing, Place, ThingId, Tip, TipNote, Wiring};
use crate::words::say;

use super::day::{Day, known};
use super::document::{Cell, Mark};
use super::makeup::MakeUp;
use super::name::{Names, listed};
use super::said::length;

/// Compares a box in two wirings.
struct Difference<'d> {
    day: &'d Day<'d>,
    before: &'d Wiring,
    after: &'d Wiring,
    old: Names<'d>,
    new: Names<'d>,
    id: ThingId,
    lines: Vec<Cell>,
}

/// What changed in a box from one wiring to another, a line for each change.
pub(super) fn changes(day: &Day<'_>, before: &Wiring, after: &Wiring, id: ThingId) -> Vec<Cell> {
    let mut difference =
        Difference { day, before, after, old: day.names_in(before), new: day.names_in(after), id, lines: Vec::new() };
    difference.the_box();
    difference.runs();
    difference.pigtails();
    difference.devices();
    difference.splices();
    difference.ends();
    difference.lines
}

impl Difference<'_> {
    fn line(&mut self, key: &str, fill: &[(&str, &str)], mark: Option<Mark>) {
        self.lines.push(Cell::marked(say(key, fill), mark));
    }

    fn the_box(&mut self) {
        match (self.before.boxes.get(&self.id), self.after.boxes.get(&self.id)) {
            (None, Some(note)) => {
                let kind = known(&note.kind, |kind| crate::catalogue::box_name(kind));
                let mark = self.day.mark(&note.kind);
                self.line("record.change.box.new", &[("kind", &kind)], mark);
            }
            (Some(_), None) => self.line("record.change.box.gone", &[], None),
            _ => {}
        }
    }

    fn runs(&mut self) {
        let (before, after) = (self.before.runs_in(self.id), self.after.runs_in(self.id));
        for (run, side) in after.iter().filter(|here| !before.contains(here)) {
            let Some(note) = self.after.runs.get(run) else { continue };
            let letter = note.side(*side).letter.or(String::new());
            let kind = known(&note.kind, |kind| run_name(kind));
            let to = known(&note.side(side.other()).in_box, |at| {
                at.map_or_else(|| say("record.known.not", &[]), |at| self.new.r#box(at))
            });
            let length = known(&note.length, length);
            let fill = [("letter", &letter), ("kind", &kind), ("to", &to), ("length", &length)];
            let mark = self.day.mark(&note.kind);
            self.line("record.change.run.new", &fill.map(|(slot, text)| (slot, text.as_str())), mark);
        }
        for (run, side) in before.iter().filter(|here| !after.contains(here)) {
            let letter = self.before.runs.get(run).map(|note| note.side(*side).letter.or(String::new()));
            self.line("record.change.run.gone", &[("letter", &letter.unwrap_or_default())], None);
        }
    }

    fn pigtails(&mut self) {
        let (before, after) = (self.before.pigtails_in(self.id), self.after.pigtails_in(self.id));
        for run in after.iter().filter(|run| !before.contains(run)) {
            let Some(note) = self.after.runs.get(run) else { continue };
            let ends = crate::job::Side::BOTH.map(|side| Tip::Wire { run: *run, wire: 0, side });
            let to = self.new.tip_in_full(&ends[0]);
            let from = self.after.place(&ends[0]).map(|place| self.new.place_name(place)).unwrap_or_default();
            let mark = self.day.mark(&note.kind);
            self.line("record.change.pigtail.new", &[("pigtail", &to), ("from", &from)], mark);
        }
        for run in before.iter().filter(|run| !after.contains(run)) {
            let pigtail = self.old.tip_in_full(&Tip::Wire { run: *run, wire: 0, side: crate::job::Side::Near });
            self.line("record.change.pigtail.gone", &[("pigtail", &pigtail)], None);
        }
    }

    fn devices(&mut self) {
        let (before, after) = (self.before.devices_in(self.id), self.after.devices_in(self.id));
        for device in after.iter().filter(|device| !before.contains(device)) {
            let mark = self.after.devices.get(device).and_then(|note| self.day.mark(&note.kind));
            let device = self.new.device_and_kind(*device);
            self.line("record.change.device.new", &[("device", &device)], mark);
        }
        for device in before.iter().filter(|device| !after.contains(device)) {
            let device = self.old.device_and_kind(*device);
            self.line("record.change.device.gone", &[("device", &device)], None);
        }
        for device in after.iter().filter(|device| before.contains(device)) {
            self.links(*device);
        }
    }

    fn links(&mut self, device: ThingId) {
        let (Some(before), Some(after)) = (self.before.devices.get(&device), self.after.devices.get(&device)) else {
            return;
        };
        let name = self.new.device(device);
        let changed = after.links.iter().filter_map(|(link, whole)| {
            let now = *whole.get()?;
            let was = before.links.get(link).and_then(|whole| whole.get().copied());
            let key = if now { "record.link.whole" } else { "record.link.broken" };
            (was != Some(now)).then(|| (say(key, &[("link", &link_name(link))]), self.day.mark(whole)))
        });
        let changed: Vec<_> = changed.collect();
        for (link, mark) in changed {
            self.line("record.change.link", &[("device", &name), ("link", &link)], mark);
        }
    }

    fn splices(&mut self) {
        let (before, after) = (self.before.splices_in(self.id), self.after.splices_in(self.id));
        for id in &after {
            let Some(note) = self.after.splices.get(id) else { continue };
            let (name, used) = (self.new.splice(*id), self.after.ends_in(*id).len());
            let with = known(&note.connector, |kind| self.new.connector(kind, used));
            let mark = self.day.mark(&note.connector);
            match self.before.splices.get(id).filter(|_| before.contains(id)) {
                None => self.line("record.change.splice.new", &[("splice", &name), ("with", &with)], mark),
                Some(was) if was.connector.get() != note.connector.get() => {
                    let used = self.before.ends_in(*id).len();
                    let was = known(&was.connector, |kind| self.old.connector(kind, used));
                    self.line("record.change.splice.with", &[("splice", &name), ("was", &was), ("with", &with)], mark);
                }
                Some(_) => {}
            }
        }
        for id in before.iter().filter(|id| !after.contains(id)) {
            let name = self.old.splice(*id);
            self.line("record.change.splice.gone", &[("splice", &name)], None);
        }
    }

    /// Ends that moved, and what was written, re-marked, measured or tightened on any.
    fn ends(&mut self) {
        let old: BTreeSet<Tip> = MakeUp::new(self.day, self.before, self.id).ends().into_iter().collect();
        let mut joined: BTreeMap<String, (Vec<String>, Option<Mark>)> = BTreeMap::new();
        for tip in MakeUp::new(self.day, self.after, self.id).ends() {
            let (was, now) = (self.before.tips.get(&tip), self.after.tips.get(&tip));
            let Some(now) = now else { continue };
            if old.contains(&tip) {
                self.moved(&tip, was, now);
            } else if let Some(Place::Splice(splice)) = now.place.get()
                && self.before.splices.contains_key(splice)
                && !is_pigtail(self.after, &tip)
            {
                // A new end in a splice that was there before changes that splice; new pigtails say so themselves.
                let entry = joined.entry(self.new.splice(*splice)).or_default();
                entry.0.push(self.new.tip(&tip));
                entry.1 = [entry.1, self.day.mark(&now.place)].into_iter().flatten().min();
            }
            self.written(&tip, was, now);
        }
        for (splice, (ends, mark)) in joined {
            self.line("record.change.splice.more", &[("splice", &splice), ("ends", &listed(ends))], mark);
        }
    }

    fn moved(&mut self, tip: &Tip, was: Option<&TipNote>, now: &TipNote) {
        let before = was.and_then(|note| note.place.get());
        let after = now.place.get();
        if is_alike(before, after) {
            return;
        }
        let was = before.map_or_else(|| say("record.known.not", &[]), |place| self.old.place(place));
        let now_at = known(&now.place, |place| self.new.place(place));
        let (name, mark) = (self.new.tip(tip), self.day.mark(&now.place));
        self.line("record.change.end", &[("end", &name), ("was", &was), ("now", &now_at)], mark);
    }

    fn written(&mut self, tip: &Tip, was: Option<&TipNote>, now: &TipNote) {
        let name = self.new.tip(tip);
        let before = was.and_then(|note| note.label.get());
        if let Some(label) = now.label.get().filter(|label| before != Some(*label)) {
            let text = label.clone().unwrap_or_else(|| say("record.label.none", &[]));
            let mark = self.day.mark(&now.label);
            self.line("record.change.label", &[("end", &name), ("label", &text)], mark);
        }
        let before = was.and_then(|note| note.remarked.get());
        if let Some(colour) = now.remarked.get().filter(|colour| before != Some(*colour)) {
            let text = colour.map_or_else(|| say("record.remarked.none", &[]), colour_name);
            let mark = self.day.mark(&now.remarked);
            self.line("record.change.remarked", &[("end", &name), ("colour", &text)], mark);
        }
        let before = was.and_then(|note| note.free_length.get());
        if let Some(inches) = now.free_length.get().filter(|inches| before != Some(*inches)) {
            let (text, mark) = (inches.to_string(), self.day.mark(&now.free_length));
            self.line("record.change.free", &[("end", &name), ("n", &text)], mark);
        }
        let before = was.and_then(|note| note.torque.get());
        if let Some(torque) = now.torque.get().filter(|torque| before != Some(*torque)) {
            let torque = say("record.amount.torque", &[("n", &torque.to_string())]);
            let mark = self.day.mark(&now.torque);
            self.line("record.change.torque", &[("end", &name), ("torque", &torque)], mark);
        }
    }
}

fn is_pigtail(wiring: &Wiring, tip: &Tip) -> bool {
    matches!(tip, Tip::Wire { run, .. } if wiring.runs.get(run).is_some_and(crate::job::RunNote::is_inside))
}

/// The same place. How it is held there counts only where both notes say it.
fn is_alike(before: Option<&Place>, after: Option<&Place>) -> bool {
    match (before, after) {
        (
            Some(Place::Terminal { device, terminal, landing }),
            Some(Place::Terminal { device: now, terminal: on, landing: held }),
        ) => {
            let said = |landing: &Landing| *landing != Landing::NotSaid;
            device == now && terminal == on && (landing == held || !said(landing) || !said(held))
        }
        _ => before == after,
    }
}
