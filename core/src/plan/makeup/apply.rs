//! A way put into a wiring, so that what it does can be worked out before anybody notes it.

use super::{Change, Joined, Part, Target, Way};
use crate::catalogue::Catalogue;
use crate::job::{
    Basis, Colour, Conductor, FactRef, Hash, How, Landing, Metal, Note, Place, RunNote, Side, SideNote, SpliceNote,
    ThingId, Tip, TipNote, Wiring,
};

impl Way {
    /// The wiring as it would be with all parts of this way.
    pub fn applied(&self, wiring: &Wiring, catalogue: &Catalogue) -> Wiring {
        self.applied_of(wiring, catalogue, |_| true)
    }

    /// The wiring as it would be with those parts for which `with` holds.
    pub fn applied_of(&self, wiring: &Wiring, catalogue: &Catalogue, with: impl Fn(&Part) -> bool) -> Wiring {
        let mut maker = Maker { at: self.at, wiring: wiring.clone(), catalogue, next: 0 };
        for part in self.parts.iter().filter(|part| with(part)) {
            maker.part(part);
        }
        maker.wiring
    }
}

struct Maker<'a> {
    at: ThingId,
    wiring: Wiring,
    catalogue: &'a Catalogue,
    next: u64,
}

impl Maker<'_> {
    fn said<T>(&self, value: T) -> Note<T> {
        let fact = FactRef { entry: Hash::NONE, n: 0 };
        Note::Said(value, Basis { layer: self.wiring.layer, how: How::Confirmed, fact })
    }

    /// A name that nothing in the wiring has.
    fn id(&mut self) -> ThingId {
        loop {
            self.next += 1;
            let id = ThingId::new(0, (u128::from(self.next) << 64 | 0xB0B0).to_be_bytes());
            if !self.wiring.splices.contains_key(&id) && !self.wiring.runs.contains_key(&id) {
                return id;
            }
        }
    }

    fn part(&mut self, part: &Part) {
        match &part.change {
            Change::Splice(joined) => self.splice(joined),
            Change::Land { tip, to } => {
                let place = place_of(to);
                self.put(tip, place);
            }
            Change::Through(a, b) => {
                self.put(a, Place::Through(b.clone()));
                self.put(b, Place::Through(a.clone()));
            }
            Change::Cap(tip) => self.put(tip, Place::Capped),
            Change::Remark(tip, colour) => {
                let remarked = self.said(Some(*colour));
                self.tip(tip).remarked = remarked;
            }
        }
    }

    fn tip(&mut self, tip: &Tip) -> &mut TipNote {
        self.wiring.tips.entry(tip.clone()).or_insert_with(|| TipNote {
            place: Note::NotSaid,
            label: Note::NotSaid,
            remarked: Note::NotSaid,
            colour: Note::NotSaid,
            free_length: Note::NotSaid,
            torque: Note::NotSaid,
        })
    }

    fn put(&mut self, tip: &Tip, place: Place) {
        let place = self.said(place);
        self.tip(tip).place = place;
    }

    fn splice(&mut self, joined: &Joined) {
        let id = joined.splice.unwrap_or_else(|| {
            let id = self.id();
            let in_box = self.said(Some(self.at));
            let note = SpliceNote { id, in_box, name: Note::NotSaid, connector: Note::NotSaid };
            self.wiring.splices.insert(id, note);
            id
        });
        if let Some(kind) = &joined.connector {
            let connector = self.said(kind.clone());
            if let Some(note) = self.wiring.splices.get_mut(&id) {
                note.connector = connector;
            }
        }
        let like = self.like(joined, id);
        for tip in joined.ends.iter().chain(&joined.moved) {
            self.put(tip, Place::Splice(id));
        }
        for target in joined.pigtails.iter().chain(&joined.singly) {
            self.pigtail(id, target, &like);
        }
    }

    /// What a pigtail from a splice is made like: the first conductor of a run in it.
    fn like(&self, joined: &Joined, splice: ThingId) -> Conductor {
        let noted = self.wiring.ends_in(splice).into_iter();
        let mut ends = joined.ends.iter().chain(&joined.moved).chain(noted);
        let conductor = ends.find_map(|tip| match tip {
            Tip::Wire { run, wire, .. } => self.catalogue.conductor(self.wiring.runs.get(run)?, *wire),
            Tip::Lead { .. } => None,
        });
        conductor.unwrap_or(Conductor {
            colour: Colour::CannotTell,
            size: "14".to_owned(),
            metal: Metal::Copper,
            stranded: false,
            ground: false,
        })
    }

    fn pigtail(&mut self, splice: ThingId, target: &Target, like: &Conductor) {
        let id = self.id();
        let side = SideNote {
            in_box: self.said(Some(self.at)),
            letter: Note::NotSaid,
            enters_at: Note::NotSaid,
            feed: Note::NotSaid,
        };
        let note = RunNote {
            id,
            kind: self.said("pigtail".to_owned()),
            length: Note::NotSaid,
            wires: [(0, self.said(like.clone()))].into_iter().collect(),
            method: Note::NotSaid,
            insulation: Note::NotSaid,
            ground_path: Note::NotSaid,
            near: side.clone(),
            far: side,
        };
        self.wiring.runs.insert(id, note);
        let tip = |side| Tip::Wire { run: id, wire: 0, side };
        self.put(&tip(Side::Near), Place::Splice(splice));
        let place = place_of(target);
        self.put(&tip(Side::Far), place);
    }
}

fn place_of(target: &Target) -> Place {
    match target {
        Target::Terminal { device, terminal } => {
            Place::Terminal { device: *device, terminal: terminal.clone(), landing: Landing::Screw }
        }
        Target::Shell(id) => Place::Shell(*id),
    }
}
