//! One of every kind of fact, value and happening, and a signed log made of them; and the list of all kinds that the
//! types themselves give, so that a kind that is forgotten here is noticed.

use std::collections::{BTreeMap, BTreeSet};

use boxproof_core::job::happening::{Asked, Expected, Proof, Question, Trial, Used};
use boxproof_core::job::sign::{Signer, Unread};
use boxproof_core::job::value::{
    Abbreviation, Addition, Burden, EntryPoint, FedBy, Length, LengthUnit, Link, LoadWatts, Mapping, NumberedWire,
    OpenOrNot, Range, SupplyKind, System,
};
use boxproof_core::job::{
    Add, At, Author, Bus, Colour, Conductor, Decimal, Entry, Fact, FactRef, Figure, Handle, Happening, Hash, Held, How,
    Kind, Landing, Layer, LoadPoint, Metal, Mode, Pair, Place, Promise, Promised, Purpose, Reading, Same, Set, Side,
    Signed, Spot, Strike, Subject, Target, ThingId, Tip, Value, Wall,
};
use serde::de::DeserializeOwned;

/// The names of all variants of an enumeration as they are written, as its reader lists them when it meets another.
pub fn names<T: DeserializeOwned>() -> BTreeSet<String> {
    let said = match serde_json::from_str::<T>(r#"{"no such kind":null}"#) {
        Ok(_) => String::new(),
        Err(error) => error.to_string(),
    };
    let list = said.split_once("expected").map_or("", |(_, list)| list);
    list.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// Every variant of an enumeration whose variants hold nothing.
pub fn all<T: DeserializeOwned>() -> Vec<T> {
    let read = |name: String| serde_json::from_value(serde_json::Value::String(name)).ok();
    names::<T>().into_iter().filter_map(read).collect()
}

/// A thing of the invented house: the same number gives the same thing.
pub fn thing(n: u8) -> ThingId {
    ThingId::new(1_778_593_260_000 + i64::from(n), [n; 16])
}

/// The site of these entries.
pub fn site() -> ThingId {
    thing(1)
}

fn words(text: &str) -> String {
    text.to_owned()
}

fn tips() -> [Tip; 3] {
    let wire = |wire, side| Tip::Wire { run: thing(20), wire, side };
    [wire(0, Side::Near), wire(255, Side::Far), Tip::Lead { device: thing(30), lead: words("black") }]
}

fn load() -> LoadPoint {
    LoadPoint { device: thing(31), load: words("lamp") }
}

fn at() -> At {
    At { handle: Handle { device: thing(30), switch: words("a") }, position: words("up") }
}

/// Every place.
pub fn places() -> Vec<Place> {
    let [tip, ..] = tips();
    let mut all_of_them = vec![
        Place::Splice(thing(40)),
        Place::SomewhereOn(thing(30)),
        Place::Shell(thing(10)),
        Place::Through(tip),
        Place::Capped,
        Place::Loose,
        Place::Absent,
    ];
    let terminal = |landing: Landing| Place::Terminal { device: thing(30), terminal: words("common"), landing };
    all_of_them.extend(all().into_iter().map(terminal));
    all_of_them.extend(all::<Bus>().into_iter().map(|bus| Place::Bus { panel: thing(11), bus }));
    all_of_them
}

/// Every spot.
pub fn spots() -> Vec<Spot> {
    let mut all_of_them: Vec<Spot> = tips().into_iter().map(Spot::Tip).collect();
    all_of_them.extend([
        Spot::Splice(thing(40)),
        Spot::Terminal { device: thing(30), terminal: words("common") },
        Spot::Shell(thing(10)),
        Spot::Other(words("water pipe")),
    ]);
    all_of_them.extend(all::<Bus>().into_iter().map(|bus| Spot::Bus { panel: thing(11), bus }));
    all_of_them
}

fn conductors() -> Vec<NumberedWire> {
    let of =
        |colour: Colour, metal: Metal| Conductor { colour, size: words("14"), metal, stranded: false, ground: false };
    let mut all_of_them: Vec<Conductor> = all().into_iter().map(|colour| of(colour, Metal::Copper)).collect();
    all_of_them.extend(all().into_iter().map(|metal| of(Colour::Bare, metal)));
    all_of_them.push(Conductor {
        stranded: true,
        ground: true,
        size: words("2.5mm2"),
        ..of(Colour::Green, Metal::Copper)
    });
    (0..).zip(all_of_them).map(|(n, conductor)| NumberedWire { n, conductor }).collect()
}

fn promises() -> impl Iterator<Item = Promise> {
    let toggled = Promised::Toggled(BTreeSet::from([at().handle, Handle { device: thing(32), switch: words("b") }]));
    [Promised::Always, Promised::Never, Promised::AsFound, toggled]
        .map(|rule| Promise { load: load(), rule })
        .into_iter()
}

/// Values that are words, a number or one of a closed list.
fn plain_values() -> Vec<Value> {
    let mut all_of_them = vec![
        Value::Present(true),
        Value::Name(words("Upper hall, \u{201c}wall light\u{201d} \u{2192} caf\u{e9}\n\t\\ \u{1f4a1}")),
        Value::Tag(words("B3")),
        Value::Location(words("north wall")),
        Value::Type(words("box.device.1g.18")),
        Value::InBox(None),
        Value::InBox(Some(thing(10))),
        Value::Address(words("14 Lantern Lane")),
        Value::Customer(words("the owner")),
        Value::JobNumber(words("J-0042")),
        Value::Permit(words("P-7")),
        Value::Edition(2023),
        Value::After(None),
        Value::After(Some(thing(3))),
        Value::Scope(words("add a wall light")),
        Value::DeadLimit(Decimal::new(30, 1)),
        Value::Licence(words("L-1")),
        Value::Key(Author([0xab; 32])),
        Value::Serial(words("S 100")),
        Value::Category(words("CAT III 600 V")),
        Value::Volume(Decimal::new(1800, 2)),
        Value::Clamps(2),
        Value::Studs(0),
        Value::Gangs(1),
        Value::Canopy(false),
        Value::Accessible(true),
        Value::SmallOpening(false),
        Value::LowVoltage(false),
        Value::OtherCircuits(words("circuit 7 passes through")),
        Value::Method(words("cable in the wall")),
        Value::Insulation(words("brittle, do not disturb")),
        Value::GroundPath(false),
        Value::Letter(words("A")),
        Value::Feed(thing(33)),
        Value::Label(None),
        Value::Label(Some(words("B3-A white"))),
        Value::Remarked(None),
        Value::FreeLength(Decimal::new(65, 1)),
        Value::Torque(Decimal::new(12, 0)),
        Value::Gang(1),
        Value::Rating(Decimal::new(15, 0)),
        Value::Number(words("12")),
        Value::Directory(words("upper hall")),
        Value::PluggedInto(None),
        Value::PluggedInto(Some(load())),
    ];
    all_of_them.extend(all::<Kind>().into_iter().map(Value::Is));
    all_of_them.extend(all::<System>().into_iter().map(Value::System));
    all_of_them.extend(all::<EntryPoint>().into_iter().map(Value::EntersAt));
    all_of_them.extend(all::<Bus>().into_iter().map(Value::Leg));
    all_of_them.extend(all::<SupplyKind>().into_iter().map(Value::Supply));
    all_of_them.extend(all::<Colour>().into_iter().map(Value::Colour));
    all_of_them.extend(all::<Colour>().into_iter().map(|colour| Value::Remarked(Some(colour))));
    all_of_them
}

/// Every value.
pub fn values() -> Vec<Value> {
    let mut all_of_them = plain_values();
    all_of_them.extend([
        Value::Open(OpenOrNot { r#box: thing(10), open: true, why: words("the feed is there") }),
        Value::Burden(Burden { low: true, kilohms: Decimal::new(3, 0) }),
        Value::Addition(Addition { n: 0, what: words("ring"), volume: Some(Decimal::new(35, 1)) }),
        Value::Addition(Addition { n: 1, what: words("flat cover"), volume: None }),
        Value::Link(Link { link: words("hot"), whole: false }),
        Value::Watts(LoadWatts { load: words("lamp"), watts: Decimal::new(95, 1) }),
        Value::Mapping(Mapping { switch: words("a"), listed: true }),
        Value::FedBy(FedBy { source: thing(33), reaches: true }),
        Value::Range(Range { connector: words("wire connector, red"), size: words("14"), least: 2, most: 5 }),
        Value::Abbreviation(Abbreviation { of: words("SW LEG"), text: words("S.L.") }),
    ]);
    let length = |unit| Value::Length(Length { value: Decimal::new(125, 1), unit, measured: false });
    all_of_them.extend(all::<LengthUnit>().into_iter().map(length));
    all_of_them.extend(conductors().into_iter().map(Value::Wire));
    all_of_them.extend(places().into_iter().map(Value::Place));
    all_of_them.extend(promises().map(Value::Promise));
    all_of_them
}

fn readings() -> Vec<Reading> {
    let expected = Expected { low: Decimal::new(-1, 1), high: Decimal::new(1260, 1), basis: Hash([9; 32]) };
    let plain = Reading {
        purpose: Purpose::Dead,
        check: Some(thing(50)),
        pair: Pair { from: Spot::Shell(thing(10)), to: Spot::Splice(thing(40)) },
        at: vec![at()],
        instrument: thing(60),
        mode: Mode::AcLow,
        figure: Figure::Number(Decimal::new(2, 1)),
        shown: Some(expected),
    };
    let mut all_of_them: Vec<Reading> = Vec::new();
    all_of_them.extend(all().into_iter().map(|purpose| Reading { purpose, ..plain.clone() }));
    all_of_them.extend(all().into_iter().map(|mode| Reading { mode, check: None, ..plain.clone() }));
    all_of_them.extend(figures().into_iter().map(|figure| Reading { figure, shown: None, ..plain.clone() }));
    all_of_them.extend(spots().into_iter().map(|to| Reading {
        pair: Pair { from: Spot::Shell(thing(10)), to },
        at: Vec::new(),
        ..plain.clone()
    }));
    all_of_them
}

fn figures() -> Vec<Figure> {
    vec![Figure::Number(Decimal::new(11960, 2)), Figure::NoDigits(words("lamp lit")), Figure::OverRange]
}

/// Every happening.
pub fn happenings() -> Vec<Happening> {
    let [tip, ..] = tips();
    let pair = Pair { from: Spot::Shell(thing(10)), to: Spot::Tip(tip.clone()) };
    let asked = |at| Asked { check: thing(50), pairs: vec![Question { pair: pair.clone(), at }] };
    let proof =
        |figure| Proof { instrument: thing(60), mode: Mode::AcLow, on: words("receptacle by the door"), figure };
    let tried = |shown| Trial { load: load(), at: vec![at()], on: true, shown };
    let mut all_of_them = vec![
        Happening::Arrived { job: thing(2) },
        Happening::Gone { ended: true },
        Happening::Back,
        Happening::Told(words("the bedroom goes dark for an hour")),
        Happening::CoverOff,
        Happening::CoverOn,
        Happening::Isolated(Held::Lock(thing(4))),
        Happening::Isolated(Held::Guarded),
        Happening::Isolated(Held::NotKnown),
        Happening::Unlocked(thing(4)),
        Happening::Switched { on: false },
        Happening::Asked(asked(vec![at()])),
        Happening::Asked(asked(Vec::new())),
        Happening::Tried(tried(Some(true))),
        Happening::Tried(tried(None)),
        Happening::Parted,
        Happening::FirstLook { spot: Spot::Tip(tip.clone()), indicated: false },
        Happening::Readied(words("covers on")),
        Happening::Concluded(words("white loose in B3")),
        Happening::Remark(words("paint on the screws")),
        Happening::FoundNotOurs(words("cracked plate")),
        Happening::DoNotCover(words("for the inspection")),
        Happening::MayCover(words("looked at")),
        Happening::Unfinished(words("plate missing")),
        Happening::Extra(words("new plate")),
        Happening::Used(Used { item: words("14/2"), amount: Decimal::new(15, 0), unit: words("ft"), customers: false }),
        Happening::Hours(Decimal::new(25, 1)),
        Happening::Signed { heads: BTreeMap::from([(Author([0xab; 32]), Hash([7; 32]))]) },
        Happening::Signed { heads: BTreeMap::new() },
    ];
    all_of_them.extend(figures().into_iter().map(|figure| Happening::Proved(proof(figure))));
    all_of_them.extend(places().into_iter().map(|seen| Happening::Looked { tip: tip.clone(), seen }));
    all_of_them.extend(readings().into_iter().map(Happening::Read));
    all_of_them
}

/// Every fact, each value and happening among them. The references name what `known` is.
pub fn facts(known: Hash) -> Vec<Fact> {
    let fact = FactRef { entry: known, n: 0 };
    let set = |of: Subject, layer, value, how, replaces| Fact::Set(Set { of, layer, value, how, replaces });
    let mut all_of_them: Vec<Fact> = Vec::new();
    for value in values() {
        all_of_them.push(set(thing(10).into(), Layer::Found(thing(2)), value, How::Seen, Vec::new()));
    }
    for what in happenings() {
        all_of_them.push(Fact::Add(Add { of: thing(10).into(), what }));
    }
    let tag = || Value::Tag(words("B4"));
    for layer in [Layer::Site, Layer::Found(thing(2)), Layer::Planned(thing(2)), Layer::Left(thing(2))] {
        all_of_them.push(set(thing(10).into(), layer, tag(), How::Seen, vec![fact]));
    }
    for how in all() {
        all_of_them.push(set(thing(10).into(), Layer::Site, tag(), how, Vec::new()));
    }
    let mut subjects = vec![Subject::Side(thing(20), Side::Near), Subject::Side(thing(20), Side::Far)];
    subjects.extend(tips().map(Subject::Tip));
    for of in subjects {
        all_of_them.push(set(of, Layer::Site, tag(), How::Told, Vec::new()));
    }
    for swapped in [false, true] {
        all_of_them.push(Fact::Same(Same { a: thing(20), b: thing(21), swapped }));
    }
    for what in [Target::Entry(known), Target::Fact(fact), Target::Thing(thing(21))] {
        all_of_them.push(Fact::Strike(Strike { what, reason: words("wrong box") }));
    }
    all_of_them
}

/// Signs entries one after the other for one author at one site.
pub struct Pen {
    signer: Signer,
    site: ThingId,
    seq: u32,
    prev: Hash,
    tick: u64,
}

impl Pen {
    /// A pen of the author whose 32 secret bytes are all `seed`.
    pub fn new(seed: u8, site: ThingId) -> Self {
        Self { signer: Signer::from_seed([seed; 32]), site, seq: 0, prev: Hash::NONE, tick: 0 }
    }

    /// The author's public key.
    pub fn author(&self) -> Author {
        self.signer.author()
    }

    /// The identity of the entry written last.
    pub fn last(&self) -> Hash {
        self.prev
    }

    /// Raises the tick to one that was seen elsewhere.
    pub fn seen(&mut self, tick: u64) {
        self.tick = self.tick.max(tick);
    }

    /// Goes on where a log says that the next entry stands.
    pub fn follow(&mut self, seq: u32, prev: Hash, tick: u64) {
        (self.seq, self.prev, self.tick) = (seq.saturating_sub(1), prev, tick.saturating_sub(1));
    }

    /// Writes the next entry.
    pub fn write(&mut self, facts: Vec<Fact>) -> Result<Signed, Unread> {
        let entry = Entry {
            v: boxproof_core::job::entry::VERSION,
            site: self.site,
            author: self.author(),
            seq: self.seq + 1,
            prev: self.prev,
            tick: self.tick + 1,
            wall: Wall { utc_ms: 1_778_593_260_000 + i64::from(self.seq) * 60_000, offset_min: -300 },
            visit: (self.seq > 0).then_some(self.prev),
            facts,
        };
        let (signed, hash) = self.signer.sign(&entry)?;
        (self.seq, self.prev, self.tick) = (entry.seq, hash, entry.tick);
        Ok(signed)
    }

    /// Writes a remark about a box.
    pub fn remark(&mut self, text: &str) -> Result<Signed, Unread> {
        self.write(vec![Fact::Add(Add { of: thing(10).into(), what: Happening::Remark(words(text)) })])
    }
}

/// A log in which every kind of fact stands, by two authors, in the order of writing.
pub fn log() -> Result<Vec<Signed>, Unread> {
    let (mut one, mut two) = (Pen::new(1, site()), Pen::new(2, site()));
    let mut entries =
        vec![one.write(vec![Fact::Add(Add { of: thing(4).into(), what: Happening::Arrived { job: thing(2) } })])?];
    let known = one.last();
    for facts in facts(known).chunks(8) {
        let pen = if entries.len() % 3 == 0 { &mut two } else { &mut one };
        pen.seen(u64::try_from(entries.len()).unwrap_or(u64::MAX));
        entries.push(pen.write(facts.to_vec())?);
    }
    Ok(entries)
}

/// Where files of tests go that sync a lot and do not ask whether the real disk does: memory, where the system has
/// such a folder.
pub fn quick_place() -> std::path::PathBuf {
    let memory = std::path::Path::new("/dev/shm");
    if memory.is_dir() { memory.to_owned() } else { std::env::temp_dir() }
}
