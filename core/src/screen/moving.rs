//! An end on its way to another place: the picture of its box, in which every place that it can go to is touched.
//!
//! Touching an end means "join with this one", a terminal takes it, a device offers its terminals. So changing one
//! conductor is one touch of the conductor and one of its new place. A list below offers the same again, for large
//! text and for terminals that are far to the right.

use crate::job::{Place, ThingId, Tip, Wiring};
use crate::picture::{Eye, Seen, Shown};
use crate::token::Line;
use crate::token::path::tip_text;

use super::drawing::Looking;
use super::splice::name_for;
use super::view::View;

/// Looks at a box while one of its ends is held.
pub(super) struct Moving<'v> {
    pub(super) looking: Looking<'v>,
    pub(super) at: ThingId,
    pub(super) held: &'v Tip,
}

/// A token that notes where an end is and leads back to its box.
pub(super) fn noting(view: &View<'_>, at: ThingId, event: Line) -> String {
    view.event_then(event.with_some("layer", view.layer_field()), &view.page_here("box").word(at))
}

/// A token that lands the end on a terminal, held in the way that the address says.
pub(super) fn land(view: &View<'_>, at: ThingId, held: &Tip, terminal: &str) -> String {
    let event = Line::new("land").word(tip_text(held)).word(terminal);
    match view.address.field("landing") {
        Some(landing) => noting(view, at, event.word(landing)),
        None => noting(view, at, event),
    }
}

/// A token that puts the end into a splice.
pub(super) fn join(view: &View<'_>, at: ThingId, held: &Tip, splice: ThingId) -> String {
    noting(view, at, Line::new("join").word(splice).word(tip_text(held)))
}

/// A token that joins two ends in a new splice, named after what they are.
pub(super) fn join_both(view: &View<'_>, wiring: &Wiring, at: ThingId, both: [&Tip; 2]) -> String {
    let name = name_for(view, wiring, at, &both.map(Clone::clone));
    let event = Line::new("join").word(format!("{at}+{name}"));
    noting(view, at, both.into_iter().fold(event, |event, tip| event.word(tip_text(tip))))
}

impl Moving<'_> {
    /// What touching another end does: the held one goes where that one is.
    fn onto(&self, other: &Tip) -> String {
        let (view, wiring, at) = (self.looking.view, self.looking.wiring, self.at);
        match wiring.place(other) {
            Some(Place::Splice(splice)) => join(view, at, self.held, *splice),
            Some(Place::Terminal { device, terminal, .. }) if matches!(self.held, Tip::Wire { .. }) => {
                land(view, at, self.held, &format!("{device}.{terminal}"))
            }
            // A lead lands on nothing: what was touched is taken in hand instead.
            Some(Place::Terminal { .. }) => view.go(&view.page_here("end").with("tip", tip_text(other))),
            Some(Place::Shell(_)) => noting(view, at, Line::new("place").word(tip_text(self.held)).word("shell")),
            Some(Place::SomewhereOn(device)) if matches!(self.held, Tip::Wire { .. }) => {
                noting(view, at, Line::new("land").word(tip_text(self.held)).word(device))
            }
            _ => join_both(view, wiring, at, [self.held, other]),
        }
    }
}

impl Eye for Moving<'_> {
    fn see(&self, shown: Shown<'_>) -> Seen {
        let (view, at) = (self.looking.view, self.at);
        let seen = self.looking.see(shown);
        let token = match shown {
            Shown::Tip(tip) if tip == self.held => {
                return Seen { held: true, token: view.go(&view.page_here("box").word(at)), ..seen };
            }
            Shown::Tip(tip) => self.onto(tip),
            Shown::Splice(splice) => join(view, at, self.held, splice),
            Shown::Device(device) => view.here("on", &device.to_string()),
            Shown::Terminal(device, terminal) if matches!(self.held, Tip::Wire { .. }) => {
                land(view, at, self.held, &format!("{device}.{terminal}"))
            }
            Shown::Label(_) | Shown::Run(..) | Shown::Terminal(..) | Shown::Shell(_) => return seen,
        };
        Seen { token, ..seen }
    }
}
