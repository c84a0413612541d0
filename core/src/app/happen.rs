//! Events that note what happened: visits, covers, isolation, readings, trials, remarks, the signature.

use std::collections::BTreeMap;

use crate::check::readied;
use crate::job::happening::{Proof, Trial, Used};
use crate::job::{At, Figure, Happening, Held, Kind, Mode, Pair, PersonNote, Place, Reading, Subject, ThingId};
use crate::name::Called;

use super::Refusal;
use super::act::{Act, number, refuse, text};
use super::line::Line;
use super::path::one_of;

impl Act<'_> {
    /// `arrive "W. Tolliver" job="Back stair"`
    pub(crate) fn arrive(&mut self) -> Result<(), Refusal> {
        let person = self.names.thing_named(self.word(0)?, Kind::Person)?;
        let job = self.the_job()?;
        if self.visit.is_some_and(|visit| visit.person == person && visit.job == job) {
            return Err(refuse("refuse.here_already", &[]));
        }
        self.draft.add(person, Happening::Arrived { job });
        Ok(())
    }

    /// `leave`, `leave end`, `back`
    pub(crate) fn move_person(&mut self, back: bool) -> Result<(), Refusal> {
        let visit = self.visit.ok_or_else(|| refuse("refuse.nobody_here", &[]))?;
        let ended = self.line.words.first().is_some_and(|word| word == "end");
        match (back, visit.away.is_some()) {
            (true, false) => Err(refuse("refuse.here_already", &[])),
            (false, true) if !ended => Err(refuse("refuse.away_already", &[])),
            _ => {
                let what = if back { Happening::Back } else { Happening::Gone { ended } };
                self.draft.add(visit.person, what);
                Ok(())
            }
        }
    }

    /// `cover B3 off`, `cover B4 B6 on`
    pub(crate) fn cover(&mut self) -> Result<(), Refusal> {
        let (last, boxes) = self.line.words.split_last().ok_or_else(|| refuse("refuse.missing", &[]))?;
        let what = match last.as_str() {
            "off" => Happening::CoverOff,
            "on" => Happening::CoverOn,
            other => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
        };
        if boxes.is_empty() {
            return Err(refuse("refuse.missing", &[]));
        }
        for name in boxes {
            let id = self.names.box_named(name)?;
            self.draft.add(id, what.clone());
        }
        Ok(())
    }

    /// `off P:7 held=lock`, `off P:7 held=guarded`: switched off, or held where it is.
    pub(crate) fn off(&mut self) -> Result<(), Refusal> {
        let source = self.names.source(self.word(0)?)?;
        let held = match self.line.field("held").unwrap_or("none") {
            "lock" => Some(Held::Lock(self.person("by")?)),
            "guarded" => Some(Held::Guarded),
            "not-known" => Some(Held::NotKnown),
            "none" => None,
            other => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
        };
        if !matches!(held, Some(Held::Guarded | Held::NotKnown)) {
            self.draft.add(source, Happening::Switched { on: false });
        }
        if let Some(held) = held {
            self.draft.add(source, Happening::Isolated(held));
        }
        Ok(())
    }

    /// `lock P:7`: one more lock on a source that is off already.
    pub(crate) fn lock(&mut self) -> Result<(), Refusal> {
        let source = self.names.source(self.word(0)?)?;
        let person = self.person("by")?;
        self.draft.add(source, Happening::Isolated(Held::Lock(person)));
        Ok(())
    }

    /// `unlock P:7`: a lock comes off, by its owner.
    pub(crate) fn unlock(&mut self) -> Result<(), Refusal> {
        let source = self.names.source(self.word(0)?)?;
        let person = self.person("by")?;
        let locks = self.locks_on(source);
        if !locks.contains(&person) {
            return Err(refuse("refuse.no_lock", &[]));
        }
        self.draft.add(source, Happening::Unlocked(person));
        Ok(())
    }

    /// People whose locks are noted on a source.
    fn locks_on(&self, source: ThingId) -> Vec<ThingId> {
        let mut locks = Vec::new();
        for happened in self.names.notes.happened().filter(|happened| happened.of == Subject::Thing(source)) {
            match &happened.what {
                Happening::Isolated(Held::Lock(person)) if !locks.contains(person) => locks.push(*person),
                Happening::Unlocked(person) => locks.retain(|other| other != person),
                _ => {}
            }
        }
        locks
    }

    /// `on P:7`: refused while a lock is noted on it.
    pub(crate) fn on(&mut self) -> Result<(), Refusal> {
        let source = self.names.source(self.word(0)?)?;
        let locks = self.locks_on(source);
        if !locks.is_empty() {
            let notes = self.names.notes;
            let named = |person: &ThingId| PersonNote::read(notes, *person).name.get().cloned();
            let people: Vec<String> = locks.iter().filter_map(named).collect();
            let wiring = self.names.wiring();
            let name = if wiring.devices.contains_key(&source) {
                Called::new(wiring, self.names.catalogue).device(source)
            } else {
                self.word(0)?.to_owned()
            };
            return Err(refuse("refuse.locked", &[("name", &name), ("people", &people.join(", "))]));
        }
        self.draft.add(source, Happening::Switched { on: true });
        Ok(())
    }

    /// `told "stair and glue bench go off"`, and other words about a thing: `remark B8 "not opened"`.
    pub(crate) fn words_about(&mut self, make: fn(String) -> Happening) -> Result<(), Refusal> {
        let (of, words): (Subject, &str) = match self.line.words.as_slice() {
            [words] => (self.the_job()?.into(), words),
            [_, words, ..] => (self.subject()?, words),
            [] => return Err(refuse("refuse.missing", &[])),
        };
        self.draft.add(of, make(text(words)?));
        Ok(())
    }

    /// `ready capped people_told loads_off`: points of the list before power, one entry for all that a person confirms
    /// at once; `ready "the gate is shut"`, any other point in words.
    pub(crate) fn ready(&mut self) -> Result<(), Refusal> {
        let known = [readied::TOLD, readied::LOADS_OFF, readied::COVERS_GUARDED, readied::ENDS_CAPPED];
        let words = &self.line.words;
        if words.len() < 2 || !words.iter().all(|word| known.contains(&word.as_str())) {
            return self.words_about(Happening::Readied);
        }
        let job = self.the_job()?;
        for word in words {
            self.draft.add(job, Happening::Readied(word.clone()));
        }
        Ok(())
    }

    /// `prove M2 mode=ac_low on="circuit 5, cellar lamp" value=121.4`
    pub(crate) fn prove(&mut self, input: Option<&str>) -> Result<(), Refusal> {
        let instrument = self.names.thing_named(self.word(0)?, Kind::Instrument)?;
        let mode = one_of(self.line.field("mode").unwrap_or("ac_low"))?;
        if mode == Mode::Proximity {
            return Err(refuse("refuse.proximity", &[]));
        }
        let on = text(self.field("on")?)?;
        let figure = figure(self.line, input, mode)?;
        self.draft.add(instrument, Happening::Proved(Proof { instrument, mode, on, figure }));
        Ok(())
    }

    /// `read B3 from=B3~ to=B3+hot with=M2 mode=ac_low purpose=dead check=<check> value=0.1`
    pub(crate) fn reading(&self, input: Option<&str>) -> Result<(ThingId, Reading), Refusal> {
        let at_box = self.names.box_named(self.word(0)?)?;
        let pair = Pair { from: self.names.spot(self.field("from")?)?, to: self.names.spot(self.field("to")?)? };
        if pair.from == pair.to {
            return Err(refuse("refuse.one_point", &[]));
        }
        let mode = one_of(self.line.field("mode").unwrap_or("ac_low"))?;
        let purpose = one_of(self.line.field("purpose").unwrap_or("search"))?;
        if mode == Mode::Proximity {
            return Err(refuse("refuse.proximity", &[]));
        }
        let check = self.line.field("check").map(|id| self.names.thing_named(id, Kind::Check)).transpose()?;
        let instrument = self.names.thing_named(self.field("with")?, Kind::Instrument)?;
        let figure = figure(self.line, input, mode)?;
        let at = self.positions(self.line.field("at"))?;
        Ok((at_box, Reading { purpose, check, pair, at, instrument, mode, figure, shown: None }))
    }

    /// `B3:switch.handle=up,B6:switch.handle=down`
    pub(crate) fn positions(&self, given: Option<&str>) -> Result<Vec<At>, Refusal> {
        let each = given.unwrap_or_default().split(',').filter(|part| !part.is_empty());
        let mut at = each
            .map(|part| {
                let (handle, position) = part.split_once('=').ok_or_else(|| refuse("refuse.missing", &[]))?;
                let handle = self.names.handle(handle)?;
                let kind = self.names.device_type(handle.device).and_then(|kind| kind.switch(&handle.switch));
                let known = kind.is_some_and(|switch| switch.positions.iter().any(|known| known.id == position));
                if known {
                    Ok(At { handle, position: position.to_owned() })
                } else {
                    Err(refuse("refuse.no_position", &[("name", position)]))
                }
            })
            .collect::<Result<Vec<_>, _>>()?;
        at.sort();
        Ok(at)
    }

    /// `try B7:light.lamp at=B3:switch.handle=up,B6:switch.handle=down seen=on`
    pub(crate) fn trial(&self) -> Result<Trial, Refusal> {
        let load = self.names.load(self.word(0)?)?;
        let at = self.positions(self.line.field("at"))?;
        let on = match self.field("seen")? {
            "on" => true,
            "off" => false,
            other => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
        };
        Ok(Trial { load, at, on, shown: None })
    }

    /// `part B3+neutrals`
    pub(crate) fn part(&mut self) -> Result<(), Refusal> {
        let splice = self.names.splice(self.word(0)?)?;
        self.draft.add(splice, Happening::Parted);
        Ok(())
    }

    /// `look B3/B/red B3:switch.common`: where an end was seen to be, which may differ from what is noted.
    pub(crate) fn look(&mut self) -> Result<(), Refusal> {
        let tip = self.names.tip(self.word(0)?)?;
        let at = self.names.wiring().box_of(&tip);
        let at = at.ok_or_else(|| super::wire::not_in_box(self.line))?;
        let seen = match self.word(1)? {
            "capped" => Place::Capped,
            "loose" => Place::Loose,
            "absent" => Place::Absent,
            name if name.contains('+') => Place::Splice(self.names.splice(name)?),
            name => {
                let (device, terminal) = self.names.terminal(name)?;
                Place::Terminal { device, terminal, landing: crate::job::Landing::NotSaid }
            }
        };
        self.draft.add(at, Happening::Looked { tip, seen });
        Ok(())
    }

    /// `first-look B3+hot indicated=no`: a proximity indicator is a first look, never a proof.
    pub(crate) fn first_look(&mut self) -> Result<(), Refusal> {
        let at = self.names.box_named(self.word(0)?)?;
        let spot = self.names.spot(self.word(1)?)?;
        let indicated = super::act::yes(self.field("indicated")?)?;
        self.draft.add(at, Happening::FirstLook { spot, indicated });
        Ok(())
    }

    /// `used nm-14-2 16 ft`, `used "wall light" 1 pc customers lever-5 2 pc`, or as a person types it:
    /// `used "6 staples"`.
    pub(crate) fn used(&mut self) -> Result<(), Refusal> {
        let job = self.the_job()?;
        if let [typed] = self.line.words.as_slice() {
            let (amount, item) = match typed.trim().split_once(' ') {
                Some((first, rest)) if first.parse::<crate::job::Decimal>().is_ok() => (first, rest),
                _ => ("1", typed.as_str()),
            };
            let unit = "pc".to_owned();
            let amount = number(amount, 0.01, 100_000.0, &unit)?;
            let used = Used { item: text(item.trim())?, amount, unit, customers: false };
            self.draft.add(job, Happening::Used(used));
            return Ok(());
        }
        self.word(2)?;
        let mut words = self.line.words.iter().peekable();
        while let Some(item) = words.next() {
            let (Some(amount), Some(unit)) = (words.next(), words.next()) else {
                return Err(refuse("refuse.missing", &[]));
            };
            let unit = text(unit)?;
            let amount = number(amount, 0.01, 100_000.0, &unit)?;
            let customers = words.next_if(|word| *word == "customers").is_some();
            self.draft.add(job, Happening::Used(Used { item: text(item)?, amount, unit, customers }));
        }
        Ok(())
    }

    /// `hours 7.5`
    pub(crate) fn hours(&mut self) -> Result<(), Refusal> {
        let job = self.the_job()?;
        let hours = number(self.word(0)?, 0.1, 48.0, "h")?;
        self.draft.add(job, Happening::Hours(hours));
        Ok(())
    }

    /// `sign`: over everything noted so far, by each author's last entry.
    pub(crate) fn sign(&mut self) -> Result<(), Refusal> {
        let job = self.the_job()?;
        let mut heads = BTreeMap::new();
        for (stamp, kept) in self.names.notes.entries() {
            heads.insert(stamp.author, kept.noted.hash);
        }
        self.draft.add(job, Happening::Signed { heads });
        Ok(())
    }
}

/// What an instrument showed: a number in a range that the mode can show, `OL`, or an indication without digits.
pub(crate) fn figure(line: &Line, input: Option<&str>, mode: Mode) -> Result<Figure, Refusal> {
    let given = match line.field("value") {
        Some("?") => input,
        other => other,
    };
    if let Some(indication) = line.field("indication") {
        let words = if indication == "?" { input.unwrap_or_default() } else { indication };
        return Ok(Figure::NoDigits(text(words)?));
    }
    let given = given.map(str::trim).filter(|given| !given.is_empty());
    let given = given.ok_or_else(|| refuse("refuse.no_number", &[]))?;
    if given.eq_ignore_ascii_case("ol") {
        return Ok(Figure::OverRange);
    }
    let (most, unit) = match mode {
        Mode::AcHigh | Mode::AcLow | Mode::Dc | Mode::Proximity => (1_000.0, "V"),
        Mode::Ohms => (1e12, "Ω"),
        Mode::Clamp => (2_000.0, "A"),
    };
    let least = if mode == Mode::Dc { -most } else { 0.0 };
    Ok(Figure::Number(number(given, least, most, unit)?))
}
