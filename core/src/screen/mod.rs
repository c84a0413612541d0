//! Screens: what is known of a site, as rows.
//!
//! Every page is a function from the view to a screen, found here by the first word of the address. The state of a
//! half-made choice lives in the address; options lead to the same page with one field changed.

#![allow(clippy::unnecessary_wraps, reason = "every page has one signature, because a page may refuse")]

mod about;
mod cable;
mod changes;
mod checks;
mod circuit;
mod dead;
mod device;
mod drawing;
mod end;
mod front;
mod held;
mod history;
mod inside;
mod kit;
mod label;
mod makeup;
mod moving;
mod next;
mod next_here;
mod note_box;
mod one_box;
mod opens;
mod order;
mod panel;
mod parts;
mod places;
mod print;
mod promise;
pub mod row;
mod run;
mod said;
mod setup;
mod sites;
mod sources;
mod splice;
mod state;
pub mod twice;
mod view;
mod visit;
mod wires;

pub(crate) use print::ordered;
pub use row::{Anchor, Ask, Beside, Body, Edge, FileOut, Form, HandleAt, Pick, Row, Screen, Shape, Strand, Touch};
pub use sites::{SiteLine, sites};
pub use view::{View, edge_word};

use crate::refusal::Refusal;
use crate::words::say;

/// One page: from the view to its screen.
type Page = fn(&View<'_>) -> Result<Screen, Refusal>;

/// The pages by the first word of their address. A row leads only to a page that stands here.
const PAGES: &[(&str, Page)] = &[
    ("job", front::show),
    ("box", one_box::show),
    ("inside", inside::show),
    ("about", about::show),
    ("changes", inside::show_changes),
    ("note-box", note_box::show),
    ("run", run::show),
    ("cable", cable::show),
    ("device", device::show),
    ("one-device", device::show_one),
    ("splice", splice::show),
    ("make-up", makeup::show),
    ("end", end::show),
    ("label", label::show),
    ("print", print::show),
    ("setup", setup::show),
    ("person", setup::person),
    ("instrument", setup::instrument),
    ("new-job", setup::new_job),
    ("job-setup", setup::job),
    ("kit", kit::show),
    ("promises", promise::list),
    ("promise", promise::show),
    ("opens", opens::list),
    ("open", opens::show),
    ("sources", sources::show),
    ("source", sources::show_one),
    ("new-supply", sources::new_supply),
    ("visit", visit::show),
    ("twice", twice::show),
    ("history", history::show),
    ("dead", checks::dead::show),
    ("ready", checks::ready::show),
    ("leaving", checks::leaving::show),
    ("coming-back", checks::coming_back::show),
    ("live", checks::live::show),
    ("disagree", checks::disagree::show),
    ("circuit", circuit::show),
    ("table", checks::table::show),
    ("findings", checks::findings::show),
    ("record", checks::record::show),
    ("used", checks::used::show),
];

/// Is there a page of this name?
pub(crate) fn has_page(name: &str) -> bool {
    PAGES.iter().any(|(known, _)| *known == name)
}

/// The screen at the view's address.
pub fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let page = PAGES.iter().find(|(name, _)| *name == view.address.verb);
    let Some((_, page)) = page else {
        return Err(Refusal::Input(say("refuse.no_page", &[("name", &view.address.verb)])));
    };
    let mut screen = page(view)?;
    if screen.ongoing.is_none() {
        screen.ongoing = held::ongoing(view);
    }
    keep_the_bar_short(&mut screen.rows);
    Ok(screen)
}

/// A line for a lasting notification about what is held at a site.
pub(crate) fn ongoing(view: &View<'_>) -> Option<String> {
    held::ongoing(view)
}

/// At the bottom stand the way back, the main deed and one more, in one row that a thumb reaches; what else can be
/// done is offered at the end of the rows.
fn keep_the_bar_short(rows: &mut Vec<Row>) {
    let Some(place) = rows.iter().position(|row| matches!(row.body, Body::Deeds { .. })) else { return };
    let Some(Body::Deeds { main, others, .. }) = rows.get_mut(place).map(|row| &mut row.body) else { return };
    let stay = if main.is_some() { 1 } else { 2 };
    if others.len() <= stay {
        return;
    }
    let options = others.split_off(stay);
    rows.insert(place, Row::new("also", Body::Choice { label: say("screen.also", &[]), options }));
}
