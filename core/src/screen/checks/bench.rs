//! What every check screen has at hand: the checks of the wiring as it stands, names, the person and the meter.

use crate::check::{Checks, Class, Policy};
use crate::job::{Mode, Pair, Purpose, Spot, ThingId};
use crate::name::Called;
use crate::predict::Predictor;
use crate::refusal::Refusal;
use crate::screen::row::Screen;
use crate::screen::view::View;
use crate::token::Line;
use crate::token::path::{Names, spot_text, word_of};
use crate::words::say;

use super::meter::Meter;
use super::parts::place;

/// What a check screen has at hand.
pub(super) struct Bench<'v> {
    /// The notes and who looks.
    pub(super) view: &'v View<'v>,
    /// The checks of the wiring as it stands.
    pub(super) checks: Checks<'v>,
    /// What people call things.
    pub(super) called: Called<'v>,
    /// Whom a check shall count for: whoever is here, else whoever was here last.
    pub(super) person: Option<ThingId>,
    /// What is read with.
    pub(super) meter: Meter,
}

impl<'v> Bench<'v> {
    /// Makes ready for a view.
    pub(super) fn new(view: &'v View<'v>) -> Self {
        let wiring = view.left();
        let policy = view.job_note().map_or_else(Policy::shared, |job| Policy::of(&job));
        let last = || view.notes.visits().last().map(|visit| visit.person);
        Self {
            view,
            checks: Checks::new(view.notes, wiring, view.catalogue, policy).on(view.now.day()),
            called: Called::new(wiring, view.catalogue),
            person: view.visit.map(|visit| visit.person).or_else(last),
            meter: Meter::of(view),
        }
    }

    /// The box that the address names first.
    pub(super) fn box_asked(&self) -> Result<ThingId, Refusal> {
        let name = self.view.address.words.first().map(String::as_str);
        let name = name.ok_or_else(|| Refusal::Input(say("refuse.missing_field", &[("name", "box")])))?;
        Names::new(self.view.notes, self.view.catalogue, self.view.left().layer).box_named(name)
    }

    /// A screen of a box.
    pub(super) fn screen_of(&self, at: ThingId, title: &str) -> Screen {
        let wiring = self.view.left();
        let mut screen = self.view.screen(&place(wiring, at), title);
        screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
        screen
    }

    /// What the wiring as left should read; `None` where no network can be made of it.
    pub(super) fn predictor(&self) -> Option<Predictor> {
        Predictor::new(self.view.notes, self.view.left(), self.view.catalogue, self.view.visit.as_ref())
    }

    /// An event that notes a reading of a pair in a box; the figure is still to be added.
    pub(super) fn read(&self, at: ThingId, pair: &Pair, purpose: Purpose, mode: Mode) -> Line {
        Line::new("read")
            .word(at)
            .with("from", spot_text(&pair.from))
            .with("to", spot_text(&pair.to))
            .with_some("with", self.meter.id)
            .with("mode", word_of(&mode))
            .with("purpose", word_of(&purpose))
    }

    /// What should be live in a box while its source is ON: what no handle switches, else the first that may be.
    pub(super) fn live_spot(&self, at: ThingId) -> Option<Spot> {
        let first = || {
            let mut joints = self.checks.joints(at).into_iter();
            joints.find(|joint| joint.class == Class::Ungrounded).map(|joint| joint.spot)
        };
        self.checks.constant_hots(at).into_iter().next().or_else(first)
    }
}
