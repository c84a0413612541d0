//! Small invented wirings for the checks of this room.

use std::collections::BTreeMap;

use crate::catalogue::Catalogue;
use crate::job::value::{Length, LengthUnit, SupplyKind, System};
use crate::job::{
    At, Basis, BoxNote, Bus, Colour, Conductor, Decimal, DeviceNote, FactRef, Handle, Hash, How, Landing, Layer,
    LoadPoint, Metal, Note, Place, RunNote, Side, SideNote, SpliceNote, SupplyNote, ThingId, Tip, TipNote, Wiring,
};

use super::build::Circuit;
use super::hazard::{Hazard, HazardKind, hazards};
use super::promise::{Power, SwitchTable};

pub(super) const BLACK: u8 = 0;
pub(super) const WHITE: u8 = 1;
/// The red of a cable with three insulated conductors.
pub(super) const RED: u8 = 2;
pub(super) const BARE_2: u8 = 2;
pub(super) const BARE_3: u8 = 3;

fn said<T>(value: T) -> Note<T> {
    let fact = FactRef { entry: Hash::NONE, n: 0 };
    Note::Said(value, Basis { layer: Layer::Site, how: How::Seen, fact })
}

pub(super) fn noted<T>(value: T) -> Note<T> {
    said(value)
}

pub(super) fn twice<T>(a: T, b: T) -> Note<T> {
    let basis = Basis { layer: Layer::Site, how: How::Seen, fact: FactRef { entry: Hash::NONE, n: 0 } };
    Note::Twice(vec![(a, basis), (b, basis)])
}

/// A wiring under construction, with a split-phase panel.
pub(super) struct Invented {
    pub(super) wiring: Wiring,
    pub(super) panel: ThingId,
    next: u16,
}

impl Invented {
    pub(super) fn new() -> Self {
        let wiring = Wiring {
            layer: Layer::Site,
            through: vec![Layer::Site],
            boxes: BTreeMap::new(),
            runs: BTreeMap::new(),
            splices: BTreeMap::new(),
            devices: BTreeMap::new(),
            supplies: BTreeMap::new(),
            tips: BTreeMap::new(),
            promises: BTreeMap::new(),
            ranges: BTreeMap::new(),
        };
        let mut invented = Self { wiring, panel: ThingId::new(0, [0; 16]), next: 0 };
        invented.panel = invented.a_box("panel");
        if let Some(panel) = invented.wiring.boxes.get_mut(&invented.panel) {
            panel.system = said(System::SplitPhase);
        }
        invented
    }

    fn id(&mut self) -> ThingId {
        self.next += 1;
        let [high, low] = self.next.to_be_bytes();
        ThingId::new(1_000, std::array::from_fn(|n| if n % 2 == 0 { high } else { low }))
    }

    pub(super) fn a_box(&mut self, kind: &str) -> ThingId {
        let id = self.id();
        let note = BoxNote {
            id,
            tag: Note::NotSaid,
            location: Note::NotSaid,
            kind: said(kind.to_owned()),
            volume: Note::NotSaid,
            additions: Vec::new(),
            clamps: Note::NotSaid,
            studs: Note::NotSaid,
            gangs: Note::NotSaid,
            canopy: Note::NotSaid,
            accessible: Note::NotSaid,
            small_opening: Note::NotSaid,
            low_voltage: Note::NotSaid,
            other_circuits: Note::NotSaid,
            system: Note::NotSaid,
            fed_by: Vec::new(),
        };
        self.wiring.boxes.insert(id, note);
        id
    }

    /// Another panel, with what feeds it.
    pub(super) fn a_panel(&mut self, system: System) -> ThingId {
        let id = self.a_box("panel");
        self.wiring.boxes.get_mut(&id).unwrap().system = said(system);
        id
    }

    pub(super) fn device(&mut self, kind: &str, place: ThingId) -> ThingId {
        let id = self.id();
        let note = DeviceNote {
            id,
            name: Note::NotSaid,
            kind: said(kind.to_owned()),
            in_box: said(Some(place)),
            gang: Note::NotSaid,
            rating: Note::NotSaid,
            links: BTreeMap::new(),
            watts: BTreeMap::new(),
            mapping: BTreeMap::new(),
            number: Note::NotSaid,
            leg: Note::NotSaid,
            directory: Note::NotSaid,
            plugged_into: Note::NotSaid,
        };
        self.wiring.devices.insert(id, note);
        id
    }

    pub(super) fn note(&mut self, device: ThingId) -> &mut DeviceNote {
        self.wiring.devices.get_mut(&device).unwrap()
    }

    pub(super) fn change(&mut self, device: ThingId, kind: &str) {
        self.note(device).kind = said(kind.to_owned());
    }

    pub(super) fn breaker(&mut self, kind: &str, leg: Bus) -> ThingId {
        let id = self.device(kind, self.panel);
        self.note(id).leg = said(leg);
        id
    }

    pub(super) fn break_link(&mut self, device: ThingId, link: &str) {
        self.note(device).links.insert(link.to_owned(), said(false));
    }

    pub(super) fn run_kind(kind: &str) -> Note<String> {
        said(kind.to_owned())
    }

    pub(super) fn leg(leg: Bus) -> Note<Bus> {
        said(leg)
    }

    pub(super) fn watts(&mut self, device: ThingId, load: &str, watts: i64) {
        self.note(device).watts.insert(load.to_owned(), said(Decimal::new(watts, 0)));
    }

    pub(super) fn map(&mut self, device: ThingId, switch: &str, listed: bool) {
        self.note(device).mapping.insert(switch.to_owned(), said(listed));
    }

    pub(super) fn plug(&mut self, kind: &str, into: &LoadPoint) -> ThingId {
        let id = self.device(kind, into.device);
        let note = self.note(id);
        note.in_box = Note::NotSaid;
        note.plugged_into = said(Some(into.clone()));
        id
    }

    pub(super) fn run(&mut self, kind: &str, near: ThingId, far: Option<ThingId>, feet: i64) -> ThingId {
        let id = self.id();
        let side = |place: Option<ThingId>| SideNote {
            in_box: said(place),
            letter: Note::NotSaid,
            enters_at: Note::NotSaid,
            feed: Note::NotSaid,
        };
        let note = RunNote {
            id,
            kind: said(kind.to_owned()),
            length: said(Length { value: Decimal::new(feet, 0), unit: LengthUnit::Feet, measured: true }),
            wires: BTreeMap::new(),
            method: Note::NotSaid,
            insulation: Note::NotSaid,
            ground_path: Note::NotSaid,
            near: side(Some(near)),
            far: side(far),
        };
        self.wiring.runs.insert(id, note);
        id
    }

    /// A run from the panel whose landings follow from its breaker.
    pub(super) fn home_run(&mut self, kind: &str, breaker: ThingId, far: ThingId, feet: i64) -> ThingId {
        let id = self.run(kind, self.panel, Some(far), feet);
        self.wiring.runs.get_mut(&id).unwrap().near.feed = said(breaker);
        id
    }

    pub(super) fn place(&mut self, tip: Tip, place: Note<Place>) {
        let note = TipNote {
            place,
            label: Note::NotSaid,
            remarked: Note::NotSaid,
            colour: Note::NotSaid,
            free_length: Note::NotSaid,
            torque: Note::NotSaid,
        };
        self.wiring.tips.insert(tip, note);
    }

    pub(super) fn put(&mut self, tip: Tip, place: Place) {
        self.place(tip, said(place));
    }

    pub(super) fn land(&mut self, tip: Tip, device: ThingId, terminal: &str) {
        self.put(tip, Place::Terminal { device, terminal: terminal.to_owned(), landing: Landing::Screw });
    }

    pub(super) fn splice(&mut self, place: ThingId, tips: &[Tip]) -> ThingId {
        let id = self.id();
        let note = SpliceNote { id, in_box: said(Some(place)), name: Note::NotSaid, connector: Note::NotSaid };
        self.wiring.splices.insert(id, note);
        for tip in tips {
            self.put(tip.clone(), Place::Splice(id));
        }
        id
    }

    pub(super) fn system(&mut self, system: System) {
        self.wiring.boxes.get_mut(&self.panel).unwrap().system = said(system);
    }

    /// One conductor of a run of which each is noted by itself.
    pub(super) fn wire(&mut self, run: ThingId, n: u8, colour: Colour, size: &str) {
        let ground = matches!(colour, Colour::Bare | Colour::Green);
        let conductor = Conductor { colour, size: size.to_owned(), metal: Metal::Copper, stranded: false, ground };
        self.wiring.runs.get_mut(&run).unwrap().wires.insert(n, said(conductor));
    }

    pub(super) fn supply(&mut self, kind: SupplyKind) -> ThingId {
        let id = self.id();
        self.wiring.supplies.insert(id, SupplyNote { id, name: Note::NotSaid, kind: said(kind) });
        id
    }

    /// A pigtail from a splice to a terminal.
    pub(super) fn pigtail(&mut self, place: ThingId, splice: ThingId, device: ThingId, terminal: &str) -> ThingId {
        let id = self.run("pigtail-14-black", place, Some(place), 1);
        self.put(near(id, 0), Place::Splice(splice));
        self.land(far(id, 0), device, terminal);
        id
    }

    /// A pigtail from the grounds to the shell of a metal box.
    pub(super) fn bond(&mut self, place: ThingId, grounds: ThingId) {
        let id = self.run("pigtail-14-bare", place, Some(place), 1);
        self.put(near(id, 0), Place::Splice(grounds));
        self.put(far(id, 0), Place::Shell(place));
    }

    /// A luminaire at the far side of a two-conductor run, its box bonded.
    pub(super) fn fixture(&mut self, place: ThingId, run: ThingId, watts: i64) -> LoadPoint {
        let fixture = self.device("luminaire", place);
        self.watts(fixture, "lamp", watts);
        self.splice(place, &[far(run, BLACK), lead(fixture, "hot")]);
        self.splice(place, &[far(run, WHITE), lead(fixture, "neutral")]);
        let grounds = self.splice(place, &[far(run, BARE_2), lead(fixture, "ground")]);
        self.bond(place, grounds);
        lamp(fixture)
    }

    pub(super) fn circuit(&self) -> Circuit {
        Circuit::of(&self.wiring, Catalogue::shared()).unwrap()
    }

    pub(super) fn hazards(&self) -> Vec<Hazard> {
        hazards(&self.circuit())
    }

    pub(super) fn kinds(&self) -> Vec<HazardKind> {
        self.hazards().into_iter().map(|hazard| hazard.kind).collect()
    }
}

pub(super) fn near(run: ThingId, wire: u8) -> Tip {
    Tip::Wire { run, wire, side: Side::Near }
}

pub(super) fn far(run: ThingId, wire: u8) -> Tip {
    Tip::Wire { run, wire, side: Side::Far }
}

pub(super) fn lead(device: ThingId, lead: &str) -> Tip {
    Tip::Lead { device, lead: lead.to_owned() }
}

pub(super) fn lamp(device: ThingId) -> LoadPoint {
    LoadPoint { device, load: "lamp".to_owned() }
}

pub(super) fn outlet(device: ThingId, load: &str) -> LoadPoint {
    LoadPoint { device, load: load.to_owned() }
}

pub(super) fn handle(device: ThingId) -> Handle {
    Handle { device, switch: "handle".to_owned() }
}

pub(super) fn at(device: ThingId, position: &str) -> At {
    At { handle: handle(device), position: position.to_owned() }
}

pub(super) fn column(table: &SwitchTable, load: &LoadPoint) -> Vec<Power> {
    table.group_of(load).unwrap().column(load).unwrap().iter().map(|gets| gets.power).collect()
}

/// A chain of switches in boxes of their own, the first fed from the panel, the last feeding a lamp.
pub(super) struct Chain {
    pub(super) invented: Invented,
    pub(super) breaker: ThingId,
    pub(super) boxes: Vec<ThingId>,
    pub(super) switches: Vec<ThingId>,
    pub(super) lamp: ThingId,
    pub(super) feed: ThingId,
    pub(super) travelers: Vec<ThingId>,
    pub(super) leg: ThingId,
}

pub(super) fn chain(count: usize) -> Chain {
    chain_in(Invented::new(), count)
}

/// The same beside what is there already.
pub(super) fn chain_in(mut invented: Invented, count: usize) -> Chain {
    let breaker = invented.breaker("breaker-1p-15", Bus::A);
    let boxes: Vec<_> = (0..count).map(|_| invented.a_box("nonmetallic-1g")).collect();
    let ceiling = invented.a_box("octagon-4-1.5");
    let feed = invented.home_run("nm-14-2", breaker, boxes[0], 30);
    let switches: Vec<_> = (0..count)
        .map(|n| invented.device(if n == 0 || n + 1 == count { "switch-3way" } else { "switch-4way" }, boxes[n]))
        .collect();
    let travelers: Vec<_> = boxes.windows(2).map(|pair| invented.run("nm-14-3", pair[0], Some(pair[1]), 20)).collect();
    let leg = invented.run("nm-14-2", boxes[count - 1], Some(ceiling), 12);
    let fixture = invented.device("luminaire", ceiling);
    for n in 0..count {
        let (last, first) = (n + 1 == count, n == 0);
        let (came, went) = (n.checked_sub(1).map(|before| travelers[before]), travelers.get(n).copied());
        if first {
            invented.land(far(feed, BLACK), switches[n], "common");
        }
        if last {
            invented.land(near(leg, BLACK), switches[n], "common");
        }
        let mid = !first && !last;
        if let Some(run) = came {
            invented.land(far(run, BLACK), switches[n], "traveler_1");
            invented.land(far(run, RED), switches[n], "traveler_2");
        }
        if let Some(run) = went {
            invented.land(near(run, BLACK), switches[n], if mid { "traveler_3" } else { "traveler_1" });
            invented.land(near(run, RED), switches[n], if mid { "traveler_4" } else { "traveler_2" });
        }
        let white = [came.map(|run| far(run, WHITE)), went.map(|run| near(run, WHITE))].into_iter().flatten();
        let bare = [came.map(|run| far(run, BARE_3)), went.map(|run| near(run, BARE_3))].into_iter().flatten();
        let mut whites: Vec<_> = white.collect();
        let mut bares: Vec<_> = bare.collect();
        if first {
            whites.push(far(feed, WHITE));
            bares.push(far(feed, BARE_2));
        }
        if last {
            whites.push(near(leg, WHITE));
            bares.push(near(leg, BARE_2));
        }
        invented.splice(boxes[n], &whites);
        let grounds = invented.splice(boxes[n], &bares);
        invented.pigtail(boxes[n], grounds, switches[n], "ground");
    }
    invented.splice(ceiling, &[far(leg, BLACK), lead(fixture, "hot")]);
    invented.splice(ceiling, &[far(leg, WHITE), lead(fixture, "neutral")]);
    let grounds = invented.splice(ceiling, &[far(leg, BARE_2), lead(fixture, "ground")]);
    let bond = invented.run("pigtail-14-bare", ceiling, Some(ceiling), 1);
    invented.put(near(bond, 0), Place::Splice(grounds));
    invented.put(far(bond, 0), Place::Shell(ceiling));
    Chain { invented, breaker, boxes, switches, lamp: fixture, feed, travelers, leg }
}
