//! A sheet on which a test notes boxes, runs, splices and devices by short names, as an electrician would.

#![allow(dead_code, reason = "each test file takes what it needs")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

use std::collections::BTreeMap;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{Decimal, Fact, Kind, Landing, Layer, Place, Set, Side, Subject, ThingId, Tip, Value, Wiring};
use boxproof_core::rules::{self, BoxFill, Edition, Finding};
use boxproof_tests::hand::{Book, id, set};

pub(crate) fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// What is noted so far, in one layer at a time.
pub(crate) struct Sheet {
    facts: Vec<Fact>,
    beside: Vec<Fact>,
    things: BTreeMap<String, ThingId>,
    pub(crate) layer: Layer,
}

impl Default for Sheet {
    fn default() -> Self {
        Self { facts: Vec::new(), beside: Vec::new(), things: BTreeMap::new(), layer: Layer::Found(id(2)) }
    }
}

impl Sheet {
    /// The thing of this name, a new one when it is named first.
    pub(crate) fn thing(&mut self, name: &str) -> ThingId {
        let next = id(10 + u32::try_from(self.things.len()).unwrap());
        *self.things.entry(name.to_owned()).or_insert(next)
    }

    pub(crate) fn set(&mut self, of: impl Into<Subject>, value: Value) -> &mut Self {
        self.facts.push(set(of, self.layer, value));
        self
    }

    fn there(&mut self, name: &str, kind: Kind) -> ThingId {
        let thing = self.thing(name);
        self.facts.push(set(thing, Layer::Site, Value::Is(kind)));
        self.set(thing, Value::Present(true));
        thing
    }

    pub(crate) fn gone(&mut self, name: &str) -> &mut Self {
        let thing = self.thing(name);
        self.set(thing, Value::Present(false))
    }

    /// A box with its tag and kind; without clamps, studs and canopy until noted otherwise.
    pub(crate) fn r#box(&mut self, tag: &str, kind: &str) -> &mut Self {
        let thing = self.there(tag, Kind::Box);
        self.set(thing, Value::Tag(tag.to_owned()));
        self.set(thing, Value::Type(kind.to_owned()));
        self.set(thing, Value::Clamps(0)).set(thing, Value::Studs(0)).set(thing, Value::Canopy(false))
    }

    /// A box of which only the tag is noted.
    pub(crate) fn bare_box(&mut self, tag: &str) -> &mut Self {
        let thing = self.there(tag, Kind::Box);
        self.set(thing, Value::Tag(tag.to_owned()))
    }

    pub(crate) fn of(&mut self, name: &str, value: Value) -> &mut Self {
        let thing = self.thing(name);
        self.set(thing, value)
    }

    /// A run between two boxes with its letter in each; `_` for a side that is not known yet.
    pub(crate) fn run(&mut self, name: &str, kind: &str, near: (&str, &str), far: (&str, &str)) -> &mut Self {
        let run = self.there(name, Kind::Run);
        self.set(run, Value::Type(kind.to_owned()));
        for (side, (tag, letter)) in [(Side::Near, near), (Side::Far, far)] {
            let place = (tag != "_").then(|| self.thing(tag));
            self.set(Subject::Side(run, side), Value::InBox(place));
            if !letter.is_empty() {
                self.set(Subject::Side(run, side), Value::Letter(letter.to_owned()));
            }
        }
        self
    }

    pub(crate) fn pigtail(&mut self, name: &str, kind: &str, tag: &str) -> &mut Self {
        self.run(name, kind, (tag, ""), (tag, ""))
    }

    pub(crate) fn device(&mut self, name: &str, kind: &str, tag: &str) -> &mut Self {
        let device = self.there(name, Kind::Device);
        let place = self.thing(tag);
        self.set(device, Value::Type(kind.to_owned())).set(device, Value::InBox(Some(place)))
    }

    /// `run.wire`, at its near side; `run.wire'` at its far side; `device:lead` for a lead.
    pub(crate) fn tip(&mut self, text: &str) -> Tip {
        if let Some((device, lead)) = text.split_once(':') {
            return Tip::Lead { device: self.thing(device), lead: lead.to_owned() };
        }
        let (text, side) = text.strip_suffix('\'').map_or((text, Side::Near), |text| (text, Side::Far));
        let (run, wire) = text.split_once('.').unwrap();
        Tip::Wire { run: self.thing(run), wire: wire.parse().unwrap(), side }
    }

    pub(crate) fn place(&mut self, tip: &str, place: Place) -> &mut Self {
        let tip = self.tip(tip);
        self.set(tip, Value::Place(place))
    }

    /// A splice in a box with its connector (empty: not noted) and its ends.
    pub(crate) fn splice(&mut self, name: &str, tag: &str, connector: &str, ends: &str) -> &mut Self {
        let splice = self.there(name, Kind::Splice);
        let place = self.thing(tag);
        self.set(splice, Value::InBox(Some(place))).set(splice, Value::Name(name.to_owned()));
        if !connector.is_empty() {
            self.set(splice, Value::Type(connector.to_owned()));
        }
        for end in ends.split_whitespace() {
            self.place(end, Place::Splice(splice));
        }
        self
    }

    /// Ends on terminals under screws: `tip terminal, tip terminal`.
    pub(crate) fn land(&mut self, device: &str, ends: &str) -> &mut Self {
        self.land_by(device, Landing::Screw, ends)
    }

    pub(crate) fn land_by(&mut self, device: &str, landing: Landing, ends: &str) -> &mut Self {
        let device = self.thing(device);
        for pair in ends.split(',') {
            let (tip, terminal) = pair.trim().split_once(' ').unwrap();
            self.place(tip, Place::Terminal { device, terminal: terminal.to_owned(), landing });
        }
        self
    }

    pub(crate) fn free(&mut self, tip: &str, inches: &str) -> &mut Self {
        let tip = self.tip(tip);
        self.set(tip, Value::FreeLength(decimal(inches)))
    }

    /// A second, unlike note beside the first, as two phones may leave it.
    pub(crate) fn twice(&mut self, of: impl Into<Subject>, value: Value) -> &mut Self {
        self.beside.push(set(of, self.layer, value));
        self
    }

    /// Takes notes away, as if nobody had said them.
    pub(crate) fn strip(&mut self, gone: impl Fn(&Set) -> bool) -> &mut Self {
        self.facts.retain(|fact| !matches!(fact, Fact::Set(set) if gone(set)));
        self
    }

    /// The wiring; a later note of a field in a layer stands instead of the earlier one.
    pub(crate) fn wiring(&self) -> Wiring {
        let mut book = Book::default();
        let mut standing: Vec<Fact> = Vec::new();
        for fact in &self.facts {
            standing.retain(|other| !overwrites(fact, other));
            standing.push(fact.clone());
        }
        book.write(0, standing);
        book.write(1, self.beside.clone());
        Wiring::of(&book.notes(), self.layer)
    }

    pub(crate) fn findings(&self, year: u16) -> Vec<Finding> {
        rules::check(&self.wiring(), Catalogue::shared(), Edition::of(year).unwrap())
    }

    /// Findings of one rule.
    pub(crate) fn of_rule(&self, year: u16, rule: &str) -> Vec<Finding> {
        self.findings(year).into_iter().filter(|finding| finding.rule.starts_with(rule)).collect()
    }

    pub(crate) fn fill(&mut self, tag: &str, year: u16) -> Option<BoxFill> {
        let place = self.thing(tag);
        rules::box_fill(&self.wiring(), Catalogue::shared(), place, Edition::of(year).unwrap())
    }
}

fn overwrites(new: &Fact, old: &Fact) -> bool {
    match (new, old) {
        (Fact::Set(new), Fact::Set(old)) => {
            new.of == old.of && new.layer == old.layer && new.value.field() == old.value.field()
        }
        _ => false,
    }
}
