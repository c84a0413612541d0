//! Screens: what is known of a site, as rows.

pub mod row;
mod sites;
mod view;

pub use row::{Anchor, Ask, Body, Edge, FileOut, Form, HandleAt, Pick, Row, Screen, Shape, Strand, Touch};
pub use sites::{SiteLine, sites};
pub use view::{View, edge_word};

use crate::refusal::Refusal;
use crate::words::say;

/// The screen at the view's address.
pub fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    match view.address.verb.as_str() {
        "job" => Ok(view.screen("", &say("screen.job", &[]))),
        other => Err(Refusal::Input(say("refuse.no_page", &[("name", other)]))),
    }
}
