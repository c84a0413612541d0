//! Pictures, worked out from data: plain shapes with roles and states, and places to touch. No shell draws anything
//! of its own, and nothing here knows a colour value: roles are looked up in the palette.
//!
//! # The box picture
//! Unfold the box. Cables hang from the top edge as they enter; their conductors fall straight down; each stops at its
//! own joint, and what is written on it sticks out to the left like a flag of tape. Rows are joints in the order in
//! which they are folded in; devices lie at the bottom, nearest to the person. So a splice is a strip from left to
//! right, a cable a column, and each end sits alone where its column meets its joint's row. That is the place to touch.
//!
//! Rules, all in dp, without randomness and without asking a font (`text.rs` has three widths of characters); numbers
//! are rounded to a tenth, so that the same box is the same bytes everywhere:
//!
//! 1. **Columns**, one for each cable, in the order in which they enter. None is narrower than 57 or than
//!    its conductors with the letters of their colours, or their tapes in two lines, beside them; what room is left is shared equally.
//! 2. **Rows**, one for each joint. A flag, a strip, air. If one cable has several ends in a joint, their flags and
//!    places are stacked, 56 each.
//! 3. **Rail** at the right: one lane for each pigtail, or for each line bound for a device after the first.
//! 4. **Width** is at least 360; a box that needs more is wider and is moved sideways, never squeezed.
//! 5. **Lanes in a column**: what ends first falls leftmost, 8.5 apart, so that nothing in a column crosses.
//! 6. **Conductors**: halo, casing, colour. Planned: long dashes; not known: dots. White used as hot has two bands.
//! 7. **Flags**: tape only where something is written; else the colour's word, or its letters where that does not fit.
//!    A filled corner: it differs from what was found.
//! 8. **Strips** say by their shape what holds the joint: tapered, round, square; free ends stand on a dotted strip
//!    with their caps or bare tips, ends of which nobody knows the place as hollow dots.
//! 9. **Devices** in yoke order: a channel in which lines find their terminals, flags, the body with its screws, links
//!    drawn whole or broken, its name. Used terminals never get less than 57; empty ones give way down to 34.
//! 10. **Channel**: every line that moves sideways has a track, 11 apart, in an order that keeps lines off one another
//!     and then crosses least (`channel.rs`).
//! 11. **Frame**: metal heavier than nonmetallic; an octagon has cut corners.
//! 12. **Touch**: one place for each end, cable, device, pigtail's terminal and cable-less joint. None is under 56, no
//!     two overlap, none reaches out of the frame.
//! 13. **Hazard**: the hatch of a hazard's notice round the very terminal, strip, flag or frame, and in its words.
//!
//! # The circuit picture
//! Rows of boxes in the order that the power takes, each a place to touch from side to side.
//!
//! 1. **Power** falls on the left: depth first from the panel; the branch with the most boxes behind it comes last and
//!    keeps its lane, the others step one lane of 46 to the right.
//! 2. **Words** stand in the middle: place, state, run with its length; a place may take two lines and a state three,
//!    and the row then grows. What disagrees stands instead of the state, in bold.
//! 3. **Control** hangs on the right: one thread for each switched outlet, from its switches to a circle with its
//!    letter. Threads that do not pass each other share a column.
//! 4. **Folding**: over 40 boxes, a branch in which nothing asks for a look is one row, drawn as a pile (`branch.rs`).

mod box_card;
mod box_picture;
pub mod branch;
mod channel;
mod circuit_picture;
pub mod coat;
pub mod course;
mod label_sheet;
mod layout;
mod of_box;
pub mod palette;
pub mod paper;
mod pen;
mod plate_card;
mod shape;
pub mod sketch;
pub mod svg;
mod text;
pub mod unfolded;

pub use box_card::{BoxCard, Row as CardRow, box_cards};
pub use box_picture::{PHONE_WIDTH, box_picture};
pub use circuit_picture::circuit_picture;
pub use course::Course;
pub use label_sheet::{BoxTag, Flag, label_sheets};
pub use of_box::{Eye, Seen, Shown, unfold};
pub use paper::Paper;
pub use plate_card::{PlateCard, plate_cards};
pub use shape::{Anchor, Edge, Form, Picture, Shape, Touch};
pub use unfolded::Unfolded;

#[cfg(test)]
mod sheet_tests;
#[cfg(test)]
mod tests;
