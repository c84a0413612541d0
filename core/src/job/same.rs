//! Two notes of one thing, joined. Joined things are spoken of by the least of their names; for a run whose notes
//! look from opposite ends, its sides change place too.

use std::collections::BTreeMap;

use super::happening::{Asked, Happening, Held, Question, Reading, Trial};
use super::id::ThingId;
use super::subject::{At, Handle, LoadPoint, Pair, Place, Side, Spot, Subject, Tip};
use super::value::{Promised, Value};

/// Which notes are of one thing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sames {
    /// From a name to the least name of its group, and whether its sides change place.
    least: BTreeMap<ThingId, (ThingId, bool)>,
}

impl Sames {
    /// Nothing is joined.
    pub fn is_empty(&self) -> bool {
        self.least.is_empty()
    }

    /// The name that `id` is spoken of by, and whether its sides change place.
    pub fn find(&self, id: ThingId) -> (ThingId, bool) {
        self.least.get(&id).copied().unwrap_or((id, false))
    }

    /// Joins two names. Of two joins that contradict each other about sides the earlier stays.
    pub fn join(&mut self, a: ThingId, b: ThingId, swapped: bool) {
        let ((a, turned_a), (b, turned_b)) = (self.find(a), self.find(b));
        if a == b {
            return;
        }
        let (least, other) = if a < b { (a, b) } else { (b, a) };
        let turned = swapped ^ turned_a ^ turned_b;
        for entry in self.least.values_mut().filter(|entry| entry.0 == other) {
            *entry = (least, entry.1 ^ turned);
        }
        self.least.insert(other, (least, turned));
    }

    /// Every name that stands for the same thing as `id`, itself among them.
    pub fn names(&self, id: ThingId) -> Vec<ThingId> {
        let least = self.id(id);
        let others = self.least.iter().filter(|(_, (of, _))| *of == least).map(|(name, _)| *name);
        std::iter::once(least).chain(others).collect()
    }

    fn id(&self, id: ThingId) -> ThingId {
        self.find(id).0
    }

    fn side(&self, run: ThingId, side: Side) -> (ThingId, Side) {
        let (run, turned) = self.find(run);
        (run, if turned { side.other() } else { side })
    }

    fn tip(&self, tip: &Tip) -> Tip {
        match tip {
            Tip::Wire { run, wire, side } => {
                let (run, side) = self.side(*run, *side);
                Tip::Wire { run, wire: *wire, side }
            }
            Tip::Lead { device, lead } => Tip::Lead { device: self.id(*device), lead: lead.clone() },
        }
    }

    /// A subject under its joined name.
    pub fn subject(&self, of: &Subject) -> Subject {
        match of {
            Subject::Thing(id) => Subject::Thing(self.id(*id)),
            Subject::Side(run, side) => {
                let (run, side) = self.side(*run, *side);
                Subject::Side(run, side)
            }
            Subject::Tip(tip) => Subject::Tip(self.tip(tip)),
        }
    }

    fn place(&self, place: &Place) -> Place {
        match place {
            Place::Splice(id) => Place::Splice(self.id(*id)),
            Place::Terminal { device, terminal, landing } => {
                Place::Terminal { device: self.id(*device), terminal: terminal.clone(), landing: *landing }
            }
            Place::SomewhereOn(id) => Place::SomewhereOn(self.id(*id)),
            Place::Shell(id) => Place::Shell(self.id(*id)),
            Place::Bus { panel, bus } => Place::Bus { panel: self.id(*panel), bus: *bus },
            Place::Through(tip) => Place::Through(self.tip(tip)),
            Place::Capped | Place::Loose | Place::Absent => place.clone(),
        }
    }

    fn spot(&self, spot: &Spot) -> Spot {
        match spot {
            Spot::Tip(tip) => Spot::Tip(self.tip(tip)),
            Spot::Splice(id) => Spot::Splice(self.id(*id)),
            Spot::Terminal { device, terminal } => {
                Spot::Terminal { device: self.id(*device), terminal: terminal.clone() }
            }
            Spot::Shell(id) => Spot::Shell(self.id(*id)),
            Spot::Bus { panel, bus } => Spot::Bus { panel: self.id(*panel), bus: *bus },
            Spot::Other(words) => Spot::Other(words.clone()),
        }
    }

    fn pair(&self, pair: &Pair) -> Pair {
        Pair { from: self.spot(&pair.from), to: self.spot(&pair.to) }
    }

    fn load(&self, load: &LoadPoint) -> LoadPoint {
        LoadPoint { device: self.id(load.device), load: load.load.clone() }
    }

    fn handle(&self, handle: &Handle) -> Handle {
        Handle { device: self.id(handle.device), switch: handle.switch.clone() }
    }

    fn at(&self, at: &[At]) -> Vec<At> {
        at.iter().map(|at| At { handle: self.handle(&at.handle), position: at.position.clone() }).collect()
    }

    /// A value with joined names inside.
    pub fn value(&self, value: &Value) -> Value {
        let mut value = value.clone();
        match &mut value {
            Value::InBox(Some(id)) | Value::After(Some(id)) | Value::Feed(id) => *id = self.id(*id),
            Value::Promise(promise) => {
                promise.load = self.load(&promise.load);
                if let Promised::Toggled(handles) = &promise.rule {
                    promise.rule = Promised::Toggled(handles.iter().map(|handle| self.handle(handle)).collect());
                }
            }
            Value::Open(open) => open.r#box = self.id(open.r#box),
            Value::Place(place) => *place = self.place(place),
            Value::PluggedInto(Some(load)) => *load = self.load(load),
            Value::FedBy(fed) => fed.source = self.id(fed.source),
            _ => {}
        }
        value
    }

    /// A happening with joined names inside.
    pub fn happening(&self, what: &Happening) -> Happening {
        let mut what = what.clone();
        match &mut what {
            Happening::Arrived { job: id } | Happening::Unlocked(id) | Happening::Isolated(Held::Lock(id)) => {
                *id = self.id(*id);
            }
            Happening::Asked(Asked { check, pairs }) => {
                *check = self.id(*check);
                for Question { pair, at } in pairs {
                    *pair = self.pair(pair);
                    *at = self.at(at);
                }
            }
            Happening::Proved(proof) => proof.instrument = self.id(proof.instrument),
            Happening::Read(Reading { check, pair, at, instrument, .. }) => {
                *check = check.map(|id| self.id(id));
                *pair = self.pair(pair);
                *at = self.at(at);
                *instrument = self.id(*instrument);
            }
            Happening::Tried(Trial { load, at, .. }) => {
                *load = self.load(load);
                *at = self.at(at);
            }
            Happening::Looked { tip, seen } => {
                *tip = self.tip(tip);
                *seen = self.place(seen);
            }
            Happening::FirstLook { spot, .. } => *spot = self.spot(spot),
            _ => {}
        }
        what
    }
}
