//! What people call the things of a wiring: boxes by their tags, conductors by letter and colour, splices and
//! devices by their names. One place, so that a finding, a screen and a record call one thing by one name.

use crate::catalogue::{
    Catalogue, bus_name, colour_name, conductors, load_name, point_name, position_name, run_name, switch_name,
};
use crate::job::{At, Colour, Handle, LoadPoint, Pair, Side, SideNote, Spot, ThingId, Tip, Wiring};
use crate::words::say;

/// Names as one wiring has them.
#[derive(Clone, Copy)]
pub struct Called<'a> {
    /// The wiring.
    pub wiring: &'a Wiring,
    /// What can be bought.
    pub catalogue: &'a Catalogue,
}

impl<'a> Called<'a> {
    /// Names as `wiring` has them.
    pub fn new(wiring: &'a Wiring, catalogue: &'a Catalogue) -> Self {
        Self { wiring, catalogue }
    }

    /// A box by its tag, or its place in words.
    pub fn r#box(&self, id: ThingId) -> String {
        let tag = self.wiring.tag(id);
        if tag.is_empty() { say("name.box", &[]) } else { tag }
    }

    /// The box that something is in, by name; empty if that is not known.
    fn home(&self, id: Option<ThingId>) -> String {
        id.map(|id| self.wiring.tag(id)).unwrap_or_default()
    }

    /// A run by its kind and where it leads: "14-2 from P to B1".
    pub fn run(&self, id: ThingId) -> String {
        let Some(run) = self.wiring.runs.get(&id) else { return say("name.run", &[]) };
        let kind = run.kind.get().map_or_else(|| say("name.run", &[]), |kind| run_name(kind));
        let end = |note: &SideNote| match note.in_box.get() {
            Some(Some(id)) => self.r#box(*id),
            Some(None) | None => say("name.nowhere", &[]),
        };
        if run.is_inside() {
            return say("name.run.inside", &[("kind", &kind), ("box", &end(&run.near))]);
        }
        say("name.run.between", &[("kind", &kind), ("near", &end(&run.near)), ("far", &end(&run.far))])
    }

    /// A side of a run by its box and its letter there, "B3 run A"; without them the run.
    pub fn side(&self, run: ThingId, side: Side) -> String {
        let note = self.wiring.runs.get(&run).map(|note| note.side(side));
        let home = self.home(note.and_then(|note| note.in_box.get().copied().flatten()));
        match note.and_then(|note| note.letter.get()) {
            Some(letter) if !home.is_empty() => say("name.side", &[("box", &home), ("letter", letter)]),
            _ => self.run(run),
        }
    }

    /// A conductor's colour, as seen at this end or as its run brings it.
    pub fn colour(&self, tip: &Tip) -> Option<Colour> {
        let seen = self.wiring.tips.get(tip).and_then(|note| note.colour.get().copied());
        let of_make = || match tip {
            Tip::Wire { run, wire, .. } => {
                let note = self.wiring.runs.get(run)?;
                let kind = note.kind.get().and_then(|kind| self.catalogue.run(kind));
                Some(conductors(note, kind).get(wire)?.colour)
            }
            Tip::Lead { device, lead } => {
                let kind = self.wiring.devices.get(device)?.kind.get()?;
                self.catalogue.device(kind)?.point(lead)?.colour
            }
        };
        seen.or_else(of_make)
    }

    /// An end within its box: "A black", "black pigtail", "light hot lead".
    pub fn tip(&self, tip: &Tip) -> String {
        let colour = self.colour(tip).map_or_else(|| say("name.conductor", &[]), colour_name);
        match tip {
            Tip::Wire { run, side, .. } => {
                let note = self.wiring.runs.get(run);
                if note.is_some_and(crate::job::RunNote::is_inside) {
                    return say("name.pigtail", &[("colour", &colour)]);
                }
                match note.and_then(|run| run.side(*side).letter.get()) {
                    Some(letter) => say("name.tip", &[("letter", letter), ("colour", &colour)]),
                    None => colour,
                }
            }
            Tip::Lead { device, lead } => {
                say("name.lead", &[("lead", &point_name(lead)), ("device", &self.device(*device))])
            }
        }
    }

    /// An end with the tape on it: "B black TRAV 1".
    pub fn tip_with_label(&self, tip: &Tip) -> String {
        let name = self.tip(tip);
        match self.wiring.tips.get(tip).and_then(|note| note.label.get()) {
            Some(Some(label)) => say("name.labelled", &[("name", &name), ("label", label)]),
            _ => name,
        }
    }

    /// An end with its box: "B3 A black"; one whose box is not known by its other side: "B2 B black, far end".
    pub fn tip_in_box(&self, tip: &Tip) -> String {
        if let (None, Tip::Wire { run, wire, side }) = (self.wiring.box_of(tip), tip) {
            let other = Tip::Wire { run: *run, wire: *wire, side: side.other() };
            if self.wiring.box_of(&other).is_some() {
                return say("name.far_end", &[("name", &self.tip_in_box(&other))]);
            }
        }
        self.with_box(self.wiring.box_of(tip), &self.tip_with_label(tip))
    }

    fn with_box(&self, id: Option<ThingId>, name: &str) -> String {
        let home = self.home(id);
        if home.is_empty() { name.to_owned() } else { say("name.in_box", &[("box", &home), ("name", name)]) }
    }

    /// A device by its name, or its kind; a breaker by its circuit.
    pub fn device(&self, id: ThingId) -> String {
        let note = self.wiring.devices.get(&id);
        if let Some(number) = note.and_then(|note| note.number.get()) {
            return say("name.circuit", &[("number", number)]);
        }
        let kind = || note.and_then(|note| note.kind.get()).map(|kind| self.catalogue.device_name(kind));
        let supply = || self.wiring.supplies.get(&id)?.name.get().cloned();
        let named = note.and_then(|note| note.name.get().cloned()).or_else(kind).or_else(supply);
        named.unwrap_or_else(|| say("name.device", &[]))
    }

    /// A device with its box: "B7 light".
    pub fn device_in_box(&self, id: ThingId) -> String {
        let note = self.wiring.devices.get(&id);
        self.with_box(note.and_then(|note| note.in_box.get().copied().flatten()), &self.device(id))
    }

    /// A splice by its name, else by one of its ends.
    pub fn splice(&self, id: ThingId) -> String {
        let named = self.wiring.splices.get(&id).and_then(|note| note.name.get().cloned());
        let by_end = || {
            let first = self.wiring.ends_in(id).into_iter().next()?;
            Some(say("name.splice.of", &[("tip", &self.tip(first))]))
        };
        named.or_else(by_end).unwrap_or_else(|| say("name.splice", &[]))
    }

    /// Where a probe touches, within its box: "neutrals", "switch, common".
    pub fn spot(&self, spot: &Spot) -> String {
        match spot {
            Spot::Tip(tip) => self.tip_with_label(tip),
            Spot::Splice(id) => self.splice(*id),
            Spot::Terminal { device, terminal } => {
                say("name.terminal", &[("device", &self.device(*device)), ("terminal", &point_name(terminal))])
            }
            Spot::Shell(_) => say("name.shell", &[]),
            Spot::Bus { bus, .. } => bus_name(*bus),
            Spot::Other(words) => words.clone(),
        }
    }

    /// The box in which a probe touches.
    pub fn box_of(&self, spot: &Spot) -> Option<ThingId> {
        match spot {
            Spot::Tip(tip) => self.wiring.box_of(tip),
            Spot::Splice(id) => self.wiring.splices.get(id).and_then(|note| note.in_box.get().copied().flatten()),
            Spot::Terminal { device, .. } => {
                self.wiring.devices.get(device).and_then(|note| note.in_box.get().copied().flatten())
            }
            Spot::Shell(id) | Spot::Bus { panel: id, .. } => Some(*id),
            Spot::Other(_) => None,
        }
    }

    /// Where a probe touches, with its box.
    pub fn spot_in_box(&self, spot: &Spot) -> String {
        self.with_box(self.box_of(spot), &self.spot(spot))
    }

    /// Two points: "hot to neutrals".
    pub fn pair(&self, pair: &Pair) -> String {
        say("name.pair", &[("to", &self.spot(&pair.to)), ("from", &self.spot(&pair.from))])
    }

    /// A load point: "B7 light", with its part where the device has several: "B4 receptacle, upper".
    pub fn load(&self, load: &LoadPoint) -> String {
        let name = self.device_in_box(load.device);
        let kind = self.wiring.devices.get(&load.device).and_then(|note| note.kind.get());
        let several = kind.and_then(|kind| self.catalogue.device(kind));
        if several.is_some_and(|kind| kind.loads.iter().filter(|load| !load.auxiliary).count() > 1) {
            return say("name.part", &[("name", &name), ("part", &load_name(&load.load))]);
        }
        name
    }

    /// A handle: "B3 switch", with its part where the device has several.
    pub fn handle(&self, handle: &Handle) -> String {
        let name = self.device_in_box(handle.device);
        let kind = self.wiring.devices.get(&handle.device).and_then(|note| note.kind.get());
        let several = kind.and_then(|kind| self.catalogue.device(kind));
        if several.is_some_and(|kind| kind.switches.len() > 1) {
            return say("name.part", &[("name", &name), ("part", &switch_name(&handle.switch))]);
        }
        name
    }

    /// Positions: "B3 switch up, B6 switch down".
    pub fn positions(&self, at: &[At]) -> String {
        let each = at.iter().map(|at| {
            say("name.at", &[("handle", &self.handle(&at.handle)), ("position", &position_name(&at.position))])
        });
        each.collect::<Vec<_>>().join(", ")
    }
}
