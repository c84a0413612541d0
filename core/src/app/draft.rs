//! An act being put together: facts that name what they replace, ready to become one entry.

use crate::job::{
    Add, Fact, Field, Happening, How, Kind, Layer, Notes, Same, Set, Strike, Subject, Target, ThingId, Value, Wall,
};

use super::Outside;

/// The facts of one act.
pub(crate) struct Draft<'a> {
    notes: &'a Notes,
    outside: &'a dyn Outside,
    now: Wall,
    facts: Vec<Fact>,
}

impl<'a> Draft<'a> {
    /// Nothing stated yet.
    pub(crate) fn new(notes: &'a Notes, outside: &'a dyn Outside) -> Self {
        Self { notes, outside, now: outside.now(), facts: Vec::new() }
    }

    /// A new thing of a kind, there from `layer` on.
    pub(crate) fn thing(&mut self, kind: Kind, layer: Layer) -> ThingId {
        let id = ThingId::new(self.now.utc_ms, self.outside.random());
        self.set(id, Layer::Site, Value::Is(kind), How::Seen);
        self.set(id, layer, Value::Present(true), How::Seen);
        id
    }

    /// States a value. It replaces what stands in that layer; one that stands just so is not stated again.
    pub(crate) fn set(&mut self, of: impl Into<Subject>, layer: Layer, value: Value, how: How) {
        let of = of.into();
        let field = value.field();
        // A later statement of the same act about the same field takes the place of the earlier one.
        self.facts.retain(|fact| !is_same_field(fact, &of, layer, &field));
        let current = self.notes.current(&of, &field, layer);
        if let [only] = current.as_slice()
            && only.value == value
            && only.how <= how
        {
            return;
        }
        let replaces = self.notes.replacing(&of, &field, layer);
        self.facts.push(Fact::Set(Set { of, layer, value, how, replaces }));
    }

    /// States a value even if it stands just so: a splice that was parted is made up again with the same ends.
    pub(crate) fn set_anew(&mut self, of: impl Into<Subject>, layer: Layer, value: Value, how: How) {
        let of = of.into();
        let replaces = self.notes.replacing(&of, &value.field(), layer);
        self.facts.push(Fact::Set(Set { of, layer, value, how, replaces }));
    }

    /// States that something happened.
    pub(crate) fn add(&mut self, of: impl Into<Subject>, what: Happening) {
        self.facts.push(Fact::Add(Add { of: of.into(), what }));
    }

    /// States that two notes are of one thing.
    pub(crate) fn same(&mut self, a: ThingId, b: ThingId, swapped: bool) {
        self.facts.push(Fact::Same(Same { a, b, swapped }));
    }

    /// Strikes something out.
    pub(crate) fn strike(&mut self, what: Target, reason: &str) {
        self.facts.push(Fact::Strike(Strike { what, reason: reason.to_owned() }));
    }

    /// The facts stated.
    pub(crate) fn into_facts(self) -> Vec<Fact> {
        self.facts
    }
}

fn is_same_field(fact: &Fact, of: &Subject, layer: Layer, field: &Field) -> bool {
    matches!(fact, Fact::Set(set) if set.of == *of && set.layer == layer && set.value.field() == *field)
}
