//! Events that amend: take back, bring back, strike, join two notes of one thing, confirm one of two.

use crate::job::entry::Fact;
use crate::job::notes::Kept;
use crate::job::{
    Author, FactRef, FieldKind, Happening, How, Kind, Layer, Notes, Side, Stamp, Subject, Target, ThingId, Value,
};

use crate::name::Called;
use crate::words::say;

use super::Refusal;
use super::act::{Act, refuse, text};

/// What an entry is to taking back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    /// Notes something.
    Noting,
    /// Strikes something, nothing else.
    Striking,
    /// Begins a visit or signs: not taken back by the way.
    Standing,
}

fn sort(kept: &Kept) -> Sort {
    let facts = &kept.noted.entry.facts;
    let standing = |fact: &Fact| match fact {
        Fact::Add(add) => matches!(add.what, Happening::Arrived { .. } | Happening::Signed { .. }),
        _ => false,
    };
    if facts.iter().all(|fact| matches!(fact, Fact::Strike(_))) {
        Sort::Striking
    } else if facts.iter().any(standing) {
        Sort::Standing
    } else {
        Sort::Noting
    }
}

/// The author's entries of the visit that nothing strikes, newest first.
fn own(notes: &Notes, author: Author, since: Option<Stamp>) -> impl Iterator<Item = (&Stamp, &Kept)> {
    notes.entries().rev().filter(move |(stamp, kept)| {
        stamp.author == author && !kept.struck && since.is_none_or(|since| **stamp > since)
    })
}

/// Has the author signed on this visit?
fn has_signed(notes: &Notes, author: Author, since: Option<Stamp>) -> bool {
    notes.happened().any(|happened| {
        matches!(happened.what, Happening::Signed { .. })
            && happened.stamp.author == author
            && since.is_none_or(|since| happened.stamp > since)
    })
}

impl Act<'_> {
    /// Strikes the author's latest noting act of the visit; again goes further back. After signing a reason is asked.
    pub(crate) fn take_back(&mut self, author: Author) -> Result<(), Refusal> {
        let notes = self.names.notes;
        let since = self.visit.map(|visit| visit.began);
        let reason = self.line.field("why").unwrap_or_default();
        if has_signed(notes, author, since) && reason.trim().is_empty() {
            return Err(refuse("refuse.signed", &[]));
        }
        let latest = own(notes, author, since).find(|(_, kept)| sort(kept) == Sort::Noting);
        let (_, kept) = latest.ok_or_else(|| refuse("refuse.nothing_to_take_back", &[]))?;
        self.draft.strike(Target::Entry(kept.noted.hash), reason.trim());
        Ok(())
    }

    /// Strikes the author's latest strike of the visit, unless something was noted after it.
    pub(crate) fn bring_back(&mut self, author: Author) -> Result<(), Refusal> {
        let since = self.visit.map(|visit| visit.began);
        let latest = own(self.names.notes, author, since).find(|(_, kept)| !restores(self.names.notes, kept));
        match latest {
            Some((_, kept)) if sort(kept) == Sort::Striking => {
                self.draft.strike(Target::Entry(kept.noted.hash), "");
                Ok(())
            }
            _ => Err(refuse("refuse.nothing_to_bring_back", &[])),
        }
    }

    /// `strike <entry or fact or thing> why="read on the wrong terminal"`
    pub(crate) fn strike(&mut self) -> Result<(), Refusal> {
        let why = text(self.field("why")?)?;
        let name = self.word(0)?;
        let target = if let Ok(fact) = name.parse::<FactRef>() {
            Target::Fact(fact)
        } else if let Ok(hash) = name.parse() {
            Target::Entry(hash)
        } else {
            match self.names.subject(name)? {
                Subject::Thing(id) => Target::Thing(id),
                _ => return Err(refuse("refuse.not_a_thing", &[("name", name)])),
            }
        };
        let known = match target {
            Target::Entry(hash) | Target::Fact(FactRef { entry: hash, .. }) => {
                self.names.notes.stamp_of(&hash).is_some()
            }
            Target::Thing(_) => true,
        };
        if !known {
            return Err(refuse("refuse.no_such", &[("name", name)]));
        }
        self.draft.strike(target, &why);
        Ok(())
    }

    /// `same B3 B3x`, or two sides of what is one run: `same B3/B B6/A` when it was noted from both ends.
    pub(crate) fn same(&mut self) -> Result<(), Refusal> {
        let (a, b) = (self.word(0)?, self.word(1)?);
        if let (Ok((first, near)), Ok((second, far))) = (self.names.side(a), self.names.side(b)) {
            if first == second {
                return Err(refuse("refuse.same_already", &[]));
            }
            // Two notes of one run, each from its own box: what is near to one is far to the other.
            self.draft.same(first, second, near == far);
            self.meet((first, near), (second, far));
            return Ok(());
        }
        let (Subject::Thing(first), Subject::Thing(second)) = (self.names.subject(a)?, self.names.subject(b)?) else {
            return Err(refuse("refuse.not_a_thing", &[("name", a)]));
        };
        let kinds = (self.names.notes.kind(first), self.names.notes.kind(second));
        if first == second {
            return Err(refuse("refuse.same_already", &[]));
        }
        if kinds.0 != kinds.1 || kinds.0 == Some(Kind::Run) {
            return Err(refuse("refuse.not_alike", &[]));
        }
        self.draft.same(first, second, false);
        Ok(())
    }

    /// `apart B2/B B8/A`: these are two runs, however alike their notes are. Kept as [`told_apart`] reads it.
    ///
    /// [`told_apart`]: crate::job::alike::told_apart
    pub(crate) fn apart(&mut self) -> Result<(), Refusal> {
        let (a, b) = (self.names.side(self.word(0)?)?, self.names.side(self.word(1)?)?);
        if a.0 == b.0 {
            return Err(refuse("refuse.same_already", &[]));
        }
        let called = Called::new(self.names.wiring(), self.names.catalogue);
        let called = |(run, side): (ThingId, Side)| called.side(run, side);
        let words = say("remark.two_runs", &[("a", &called(a)), ("b", &called(b))]);
        for (run, side) in [a, b] {
            self.draft.add(Subject::Side(run, side), Happening::Remark(words.clone()));
        }
        Ok(())
    }

    /// Where one note said that its run's other side is not known, the other note knows it: said anew, so that the two
    /// do not stand beside each other as unlike values.
    fn meet(&mut self, a: (ThingId, Side), b: (ThingId, Side)) {
        let notes = self.names.notes;
        let look = |(run, side): (ThingId, Side), layer: Layer| {
            let of = Subject::Side(run, side);
            notes.note(&of, &FieldKind::InBox.into(), layer, crate::job::wiring::pick!(InBox))
        };
        for ((run, side), other) in [(a, b), (b, a)] {
            let open = look((run, side.other()), self.layer);
            let Some(basis) = open.basis().filter(|_| open.get() == Some(&None)) else { continue };
            if let Some(Some(known)) = look(other, self.layer).get() {
                let of = Subject::Side(run, side.other());
                self.draft.set(of, basis.layer, Value::InBox(Some(*known)), self.how);
            }
        }
    }

    /// `confirm <fact>`: of a value noted twice, this one stands.
    pub(crate) fn confirm(&mut self) -> Result<(), Refusal> {
        let name = self.word(0)?;
        let chosen: FactRef = name.parse().map_err(|_| refuse("refuse.no_such", &[("name", name)]))?;
        let notes = self.names.notes;
        for of in notes.subjects() {
            for field in notes.all_fields(of) {
                for layer in notes.through(self.layer) {
                    let found = notes.current(of, &field, layer).into_iter().find(|said| said.fact == chosen);
                    if let Some(said) = found {
                        self.draft.set(of.clone(), layer, said.value.clone(), How::Seen);
                        return Ok(());
                    }
                }
            }
        }
        Err(refuse("refuse.no_such", &[("name", name)]))
    }
}

/// Is this entry a strike of a strike: a bringing back?
fn restores(notes: &Notes, kept: &Kept) -> bool {
    sort(kept) == Sort::Striking
        && kept.noted.entry.facts.iter().any(|fact| {
            let Fact::Strike(strike) = fact else { return false };
            let Target::Entry(hash) = strike.what else { return false };
            notes.entries().any(|(_, other)| other.noted.hash == hash && sort(other) == Sort::Striking)
        })
}
