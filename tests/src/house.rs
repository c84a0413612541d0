//! A small invented house for tests of the checks: panel P, circuit 7 to a switch box B3 at the foot of a stair, from
//! there a three-way pair to B6 and a light in B7, and a receptacle in B4. Noted by hand, as entries.

use boxproof_core::catalogue::Catalogue;
use boxproof_core::check::{Checks, DeadCheck, Policy};
use boxproof_core::job::happening::{Asked, Expected, Proof, Question, Trial};
use boxproof_core::job::value::FedBy;
use boxproof_core::job::{
    At, Decimal, Fact, FieldKind, Figure, Handle, Happening, Hash, Held, Kind, Landing, Layer, LoadPoint, Mode, Notes,
    Pair, Place, Purpose, Reading, Side, Spot, Subject, Tip, Value, Wiring,
};

use crate::hand::{Book, add, author, id, instead, set};

/// The job.
pub const JOB: u32 = 2;
/// First worker, who writes with hand 0.
pub const TOLLIVER: u32 = 11;
/// Second worker, who writes with hand 1.
pub const FERROW: u32 = 12;
/// The meter.
pub const METER: u32 = 21;
/// The panel, the breakers of circuits 5, 7 and 9.
pub const PANEL: u32 = 100;
/// Breaker of circuit 5.
pub const FIVE: u32 = 105;
/// Breaker of circuit 7.
pub const SEVEN: u32 = 107;
/// Breaker of circuit 9.
pub const NINE: u32 = 109;
/// Boxes by their tags.
pub const B3: u32 = 203;
/// Glue bench receptacle.
pub const B4: u32 = 204;
/// Top of the stair.
pub const B6: u32 = 206;
/// Landing ceiling.
pub const B7: u32 = 207;
/// Three-way switch in B3.
pub const S3: u32 = 303;
/// Receptacle in B4.
pub const R4: u32 = 304;
/// Three-way switch in B6.
pub const S6: u32 = 306;
/// Luminaire in B7.
pub const L7: u32 = 307;
/// From P to B3.
pub const RUN_A: u32 = 401;
/// From B3 to B6, 14-3.
pub const RUN_B: u32 = 402;
/// From B3 to B4.
pub const RUN_C: u32 = 403;
/// From B6 to B7.
pub const RUN_E: u32 = 405;
/// Splices of B3: constant hot, neutrals, grounds.
pub const HOT3: u32 = 501;
/// Neutrals of B3.
pub const NEUTRAL3: u32 = 502;
/// Grounds of B3.
pub const GROUND3: u32 = 503;
/// Conductors of nm-14-2 and nm-14-3.
pub const BLACK: u8 = 0;
/// White.
pub const WHITE: u8 = 1;
/// Bare of 14-2.
pub const BARE: u8 = 2;
/// Red of 14-3.
pub const RED: u8 = 2;
/// Bare of 14-3.
pub const BARE_OF_3: u8 = 3;

/// An end of a run.
pub fn tip(run: u32, wire: u8, side: Side) -> Tip {
    Tip::Wire { run: id(run), wire, side }
}

/// A spot on an end.
pub fn end(run: u32, wire: u8, side: Side) -> Spot {
    Spot::Tip(tip(run, wire, side))
}

/// A splice as a spot.
pub fn splice(n: u32) -> Spot {
    Spot::Splice(id(n))
}

/// A terminal as a spot.
pub fn terminal(device: u32, name: &str) -> Spot {
    Spot::Terminal { device: id(device), terminal: name.to_owned() }
}

/// One handle in a position.
pub fn at(device: u32, position: &str) -> At {
    At { handle: Handle { device: id(device), switch: "handle".to_owned() }, position: position.to_owned() }
}

/// A number as a meter shows it.
///
/// # Panics
/// If the text is not a number: a mistake in a test.
pub fn figure(text: &str) -> Figure {
    Figure::Number(number(text))
}

#[allow(clippy::expect_used, reason = "a mistake in a test should stop it")]
fn number(text: &str) -> Decimal {
    text.parse().expect("a number")
}

/// The house with its notes.
#[derive(Debug, Clone)]
pub struct House {
    /// The entries.
    pub book: Book,
    /// Layer of the facts that are noted next.
    pub layer: Layer,
}

impl Default for House {
    fn default() -> Self {
        Self { book: Book::default(), layer: Layer::Found(id(JOB)) }
    }
}

impl House {
    /// Notes facts as hand 0.
    pub fn note(&mut self, facts: Vec<Fact>) -> Hash {
        self.book.write(0, facts)
    }

    /// Something happens, noted by a hand.
    pub fn happens(&mut self, by: u8, of: u32, what: Happening) -> Hash {
        self.book.write(by, vec![add(id(of), what)])
    }

    /// A thing that is there.
    pub fn thing(&mut self, n: u32, kind: Kind, values: Vec<Value>) {
        let layer = self.layer;
        let mut facts = vec![set(id(n), Layer::Site, Value::Is(kind)), set(id(n), layer, Value::Present(true))];
        facts.extend(values.into_iter().map(|value| set(id(n), layer, value)));
        self.note(facts);
    }

    /// A box.
    pub fn a_box(&mut self, n: u32, tag: &str, kind: &str) {
        self.thing(n, Kind::Box, vec![Value::Tag(tag.to_owned()), Value::Type(kind.to_owned())]);
    }

    /// A run between two boxes, each with its letter; 0 stands for "not known yet".
    pub fn run(&mut self, n: u32, kind: &str, sides: [(u32, &str); 2]) {
        self.thing(n, Kind::Run, vec![Value::Type(kind.to_owned())]);
        for (side, (at, letter)) in Side::BOTH.into_iter().zip(sides) {
            let of = Subject::Side(id(n), side);
            let in_box = Value::InBox((at != 0).then(|| id(at)));
            let letter = Value::Letter(letter.to_owned());
            self.note(vec![set(of.clone(), self.layer, in_box), set(of, self.layer, letter)]);
        }
    }

    /// A device in a box.
    pub fn device(&mut self, n: u32, kind: &str, at: u32) {
        self.thing(n, Kind::Device, vec![Value::Type(kind.to_owned()), Value::InBox(Some(id(at)))]);
    }

    /// A splice of some ends.
    pub fn join(&mut self, n: u32, at: u32, ends: &[Tip]) {
        self.thing(n, Kind::Splice, vec![Value::InBox(Some(id(at)))]);
        for end in ends {
            self.place(end, Place::Splice(id(n)));
        }
    }

    /// Where an end is, instead of where this layer had it.
    pub fn place(&mut self, end: &Tip, place: Place) -> Hash {
        let of = Subject::Tip(end.clone());
        let replaces = self.notes().replacing(&of, &FieldKind::Place.into(), self.layer);
        let fact = instead(of, self.layer, Value::Place(place), &replaces);
        self.note(vec![fact])
    }

    /// An end on a terminal.
    pub fn land(&mut self, end: &Tip, device: u32, terminal: &str) -> Hash {
        let place = Place::Terminal { device: id(device), terminal: terminal.to_owned(), landing: Landing::Screw };
        self.place(end, place)
    }

    /// A pigtail from a splice to a terminal of one box. Its run is numbered `n`, its only conductor 0.
    pub fn pigtail(&mut self, n: u32, kind: &str, at: u32, from: u32, to: (u32, &str)) {
        self.run(n, kind, [(at, "p"), (at, "p")]);
        self.place(&tip(n, 0, Side::Near), Place::Splice(id(from)));
        self.land(&tip(n, 0, Side::Far), to.0, to.1);
    }

    /// A source is noted to reach a box, or not to.
    pub fn fed_by(&mut self, at: u32, source: u32, reaches: bool) {
        let value = Value::FedBy(FedBy { source: id(source), reaches });
        self.note(vec![set(id(at), self.layer, value)]);
    }

    /// A breaker goes OFF and a person's lock on it.
    pub fn lock(&mut self, by: u8, source: u32, person: u32) {
        let off = add(id(source), Happening::Switched { on: false });
        self.book.write(by, vec![off, add(id(source), Happening::Isolated(Held::Lock(id(person))))]);
    }

    /// The meter is shown to work, or not, on circuit 5.
    pub fn prove(&mut self, by: u8, mode: Mode, shown: Figure) {
        let on = "circuit 5, by the cellar lamp".to_owned();
        self.happens(by, METER, Happening::Proved(Proof { instrument: id(METER), mode, on, figure: shown }));
    }

    /// A reading of a box.
    pub fn read(&mut self, by: u8, of: u32, reading: Reading) -> Hash {
        self.happens(by, of, Happening::Read(reading))
    }

    /// A check's list is asked.
    pub fn ask(&mut self, by: u8, of: u32, check: u32, pairs: Vec<Question>) {
        self.happens(by, of, Happening::Asked(Asked { check: id(check), pairs }));
    }

    /// Answers one question of a dead check.
    pub fn answer(&mut self, by: u8, of: u32, check: u32, question: &Question, shown: Figure) -> Hash {
        self.read(by, of, dead_reading(check, question, Mode::AcLow, shown))
    }

    /// Asks today's list and answers all of it with 0.1 V; gives the list.
    pub fn ask_and_answer(&mut self, by: u8, of: u32, check: u32) -> Vec<Question> {
        let pairs = self.with_checks(|checks| checks.pairs(id(of), None));
        self.ask(by, of, check, pairs.clone());
        for question in &pairs {
            self.answer(by, of, check, question, figure("0.1"));
        }
        pairs
    }

    /// A trial of a lamp.
    pub fn tries(&mut self, lamp: (u32, &str), positions: Vec<At>, (on, shown): (bool, Option<bool>)) {
        let load = LoadPoint { device: id(lamp.0), load: lamp.1.to_owned() };
        self.happens(0, lamp.0, Happening::Tried(Trial { load, at: positions, on, shown }));
    }

    /// The notes.
    pub fn notes(&self) -> Notes {
        self.book.notes()
    }

    /// Something worked out over the wiring as it stands.
    pub fn with_checks<T>(&self, work: impl FnOnce(&Checks<'_>) -> T) -> T {
        let notes = self.notes();
        let wiring = Wiring::of(&notes, Layer::Left(id(JOB)));
        work(&Checks::new(&notes, &wiring, Catalogue::shared(), Policy::shared()))
    }

    /// The last dead check of a box for a person.
    pub fn dead(&self, of: u32, person: u32) -> DeadCheck {
        self.with_checks(|checks| checks.dead(id(of), id(person)))
    }

    /// The house as it was found, at 08:45, nobody there yet.
    pub fn found() -> Self {
        let mut house = Self::default();
        house.book.at(8, 0);
        for (person, name, hand) in [(TOLLIVER, "W. Tolliver", 0), (FERROW, "J. Ferrow", 1)] {
            let values = [Value::Is(Kind::Person), Value::Present(true), Value::Name(name.to_owned())];
            let key = Value::Key(author(hand));
            let facts = values.into_iter().chain([key]).map(|value| set(id(person), Layer::Site, value));
            house.note(facts.collect());
        }
        house.a_box(PANEL, "P", "panel");
        for (breaker, number) in [(FIVE, "5"), (SEVEN, "7"), (NINE, "9")] {
            house.device(breaker, "breaker-1p-15", PANEL);
            house.note(vec![set(id(breaker), house.layer, Value::Number(number.to_owned()))]);
        }
        house.a_box(B3, "B3", "nonmetallic-2g");
        house.a_box(B4, "B4", "nonmetallic-1g");
        house.a_box(B6, "B6", "nonmetallic-1g");
        house.a_box(B7, "B7", "octagon-4-1.5");
        house.run(RUN_A, "nm-14-2", [(PANEL, "A"), (B3, "A")]);
        house.note(vec![set(Subject::Side(id(RUN_A), Side::Near), house.layer, Value::Feed(id(SEVEN)))]);
        house.run(RUN_B, "nm-14-3", [(B3, "B"), (B6, "A")]);
        house.run(RUN_C, "nm-14-2", [(B3, "C"), (B4, "A")]);
        house.run(RUN_E, "nm-14-2", [(B6, "B"), (B7, "A")]);
        house.wire_b3();
        house.wire_rest();
        house.book.at(8, 45);
        house
    }

    fn wire_b3(&mut self) {
        let (near, far) = (Side::Near, Side::Far);
        self.device(S3, "switch-3way", B3);
        self.join(HOT3, B3, &[tip(RUN_A, BLACK, far), tip(RUN_C, BLACK, near)]);
        self.join(NEUTRAL3, B3, &[tip(RUN_A, WHITE, far), tip(RUN_B, WHITE, near), tip(RUN_C, WHITE, near)]);
        self.join(GROUND3, B3, &[tip(RUN_A, BARE, far), tip(RUN_B, BARE_OF_3, near), tip(RUN_C, BARE, near)]);
        self.pigtail(601, "pigtail-14-black", B3, HOT3, (S3, "common"));
        self.pigtail(602, "pigtail-14-bare", B3, GROUND3, (S3, "ground"));
        self.land(&tip(RUN_B, BLACK, near), S3, "traveler_1");
        self.land(&tip(RUN_B, RED, near), S3, "traveler_2");
    }

    fn wire_rest(&mut self) {
        let (near, far) = (Side::Near, Side::Far);
        self.device(R4, "receptacle-15-duplex", B4);
        self.land(&tip(RUN_C, BLACK, far), R4, "hot_1");
        self.land(&tip(RUN_C, WHITE, far), R4, "neutral_1");
        self.land(&tip(RUN_C, BARE, far), R4, "ground");
        self.device(S6, "switch-3way", B6);
        self.land(&tip(RUN_B, BLACK, far), S6, "traveler_1");
        self.land(&tip(RUN_B, RED, far), S6, "traveler_2");
        self.land(&tip(RUN_E, BLACK, near), S6, "common");
        self.join(511, B6, &[tip(RUN_B, WHITE, far), tip(RUN_E, WHITE, near)]);
        self.join(512, B6, &[tip(RUN_B, BARE_OF_3, far), tip(RUN_E, BARE, near)]);
        self.device(L7, "luminaire", B7);
        let lead = |name: &str| Tip::Lead { device: id(L7), lead: name.to_owned() };
        self.join(521, B7, &[tip(RUN_E, BLACK, far), lead("hot")]);
        self.join(522, B7, &[tip(RUN_E, WHITE, far), lead("neutral")]);
        self.join(523, B7, &[tip(RUN_E, BARE, far), lead("ground")]);
        self.run(603, "pigtail-14-bare", [(B7, "p"), (B7, "p")]);
        self.place(&tip(603, 0, near), Place::Splice(id(523)));
        self.place(&tip(603, 0, far), Place::Shell(id(B7)));
    }

    /// The house with W. Tolliver there since 08:45 and the hots of B3 and B4 read live at 08:47.
    pub fn read_live() -> Self {
        let mut house = Self::found();
        house.arrive(0, TOLLIVER);
        house.book.at(8, 47);
        let live = |from: Spot, to: Spot| reading(Purpose::Reference, from, to, Mode::AcLow, figure("120.6"));
        house.read(0, B3, live(splice(GROUND3), splice(HOT3)));
        house.read(0, B4, live(terminal(R4, "neutral_1"), terminal(R4, "hot_1")));
        house
    }

    /// The same, circuit 7 OFF with Tolliver's lock at 08:52, the meter proved at 08:55.
    pub fn locked() -> Self {
        let mut house = Self::read_live();
        house.book.at(8, 52);
        house.lock(0, SEVEN, TOLLIVER);
        house.book.at(8, 55);
        house.prove(0, Mode::AcLow, figure("121.4"));
        house.book.at(9, 0);
        house
    }

    /// The same, B3 checked and the meter proved again at 09:10.
    pub fn checked() -> Self {
        let mut house = Self::locked();
        house.ask_and_answer(0, B3, 901);
        house.book.at(9, 10);
        house.prove(0, Mode::AcLow, figure("121.3"));
        house.book.at(9, 30);
        house
    }

    /// A person arrives; what a hand notes from now on belongs to that visit.
    pub fn arrive(&mut self, by: u8, person: u32) {
        let visit = self.happens(by, person, Happening::Arrived { job: id(JOB) });
        self.book.visit = Some(visit);
    }
}

/// A reading between two spots that belongs to no check.
pub fn reading(purpose: Purpose, from: Spot, to: Spot, mode: Mode, shown: Figure) -> Reading {
    let pair = Pair { from, to };
    Reading { purpose, check: None, pair, at: Vec::new(), instrument: id(METER), mode, figure: shown, shown: None }
}

/// A reading that answers a question of a dead check.
pub fn dead_reading(check: u32, question: &Question, mode: Mode, shown: Figure) -> Reading {
    let Question { pair, at } = question.clone();
    let check = Some(id(check));
    Reading { purpose: Purpose::Dead, check, pair, at, instrument: id(METER), mode, figure: shown, shown: None }
}

/// What was shown beside a reading.
pub fn expected(low: &str, high: &str) -> Option<Expected> {
    Some(Expected { low: number(low), high: number(high), basis: Hash([9; 32]) })
}
