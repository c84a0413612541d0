//! Pictures on screens: who looks at them, and what a touch sends.

use crate::job::{Note, Spot, ThingId, Tip, Wiring};
use crate::name::Called;
use crate::picture::{Eye, PHONE_WIDTH, Picture, Seen, Shown, box_picture, unfold};
use crate::token::path::{tip_text, word_of};

use super::moving::Moving;
use super::parts::{edge_of, edge_of_thing, edge_of_tip};
use super::row::{Body, Edge, Row};
use super::view::View;

/// A picture as a row.
pub(super) fn row(key: &str, picture: Picture) -> Row {
    let Picture { width, height, shapes, places, spoken } = picture;
    let mut row = Row::new(key, Body::Drawing { width, height, shapes, places });
    row.spoken = spoken;
    row
}

/// The box as the asked layer has it.
pub(super) fn box_row(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Row {
    let looking = Looking { view, wiring };
    let inside = unfold(Called::new(wiring, view.catalogue), at, view.found(), &looking);
    row("picture", box_picture(&inside, PHONE_WIDTH))
}

/// The box as the asked layer has it, with one of its ends being moved.
pub(super) fn moving_row(view: &View<'_>, wiring: &Wiring, at: ThingId, held: &Tip) -> Row {
    let moving = Moving { looking: Looking { view, wiring }, at, held };
    let inside = unfold(Called::new(wiring, view.catalogue), at, view.found(), &moving);
    row("picture", box_picture(&inside, PHONE_WIDTH))
}

/// Looks at one layer.
pub(super) struct Looking<'v> {
    pub(super) view: &'v View<'v>,
    pub(super) wiring: &'v Wiring,
}

impl Looking<'_> {
    /// The asked layer is another one than what was found, and they differ in this.
    fn differs<T: PartialEq>(&self, read: impl Fn(&Wiring) -> T) -> bool {
        self.wiring.layer != self.view.found().layer && read(self.wiring) != read(self.view.found())
    }

    fn tip(&self, tip: &Tip) -> Seen {
        let edge = edge_of_tip(self.view, self.wiring, tip);
        let changed = self.differs(|wiring| wiring.place(tip).cloned());
        let to = self.view.page_here("end").with("tip", tip_text(tip));
        Seen { edge: Some(edge), changed, token: self.view.go(&to), ..Seen::default() }
    }

    fn label(&self, tip: &Tip) -> Seen {
        let edge = match self.wiring.tips.get(tip).map(|note| &note.label) {
            Some(Note::Said(_, basis)) => edge_of(basis, self.view.job),
            _ => Edge::Found,
        };
        Seen { edge: Some(edge), ..Seen::default() }
    }

    /// A hazard of the switch table is at this very place.
    fn hazard(&self, shown: Shown<'_>) -> bool {
        let spot = match shown {
            Shown::Tip(tip) => Spot::Tip(tip.clone()),
            Shown::Splice(splice) => Spot::Splice(splice),
            Shown::Terminal(device, name) => Spot::Terminal { device, terminal: name.to_owned() },
            Shown::Shell(at) => Spot::Shell(at),
            Shown::Device(device) => {
                return self.view.hazards().iter().any(|hazard| hazard.devices().contains(&device));
            }
            Shown::Label(_) | Shown::Run(..) => return false,
        };
        self.view.hazards().iter().any(|hazard| hazard.spots().contains(&spot))
    }

    /// How sure we are of it, whether it differs, and what a touch sends.
    fn seen(&self, shown: Shown<'_>) -> Seen {
        let view = self.view;
        let (edge, changed, to) = match shown {
            Shown::Tip(tip) => return self.tip(tip),
            Shown::Label(tip) => return self.label(tip),
            Shown::Run(run, side) => {
                let to = view.page_here("cable").word(format!("{run}/{}", word_of(&side)));
                (edge_of_thing(view, self.wiring, run), self.differs(|wiring| wiring.runs.contains_key(&run)), to)
            }
            Shown::Splice(splice) => {
                let tips: Vec<Tip> = self.wiring.ends_in(splice).into_iter().cloned().collect();
                let edge = super::parts::edge_of_tips(view, self.wiring, &tips).unwrap_or(Edge::Unknown);
                let held = |wiring: &Wiring| wiring.splices.get(&splice).and_then(|note| note.connector.get().cloned());
                (edge, self.differs(held), view.page_here("splice").with("splice", splice))
            }
            Shown::Device(device) => {
                let to = view.page_here("one-device").with("device", device);
                let edge = edge_of_thing(view, self.wiring, device);
                (edge, self.differs(|wiring| wiring.devices.contains_key(&device)), to)
            }
            // Nothing is on it: there is nothing to look at.
            Shown::Terminal(..) | Shown::Shell(_) => return Seen::default(),
        };
        Seen { edge: Some(edge), changed, token: view.go(&to), ..Seen::default() }
    }
}

impl Eye for Looking<'_> {
    fn see(&self, shown: Shown<'_>) -> Seen {
        Seen { hazard: self.hazard(shown), ..self.seen(shown) }
    }
}
