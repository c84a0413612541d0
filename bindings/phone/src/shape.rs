//! Pictures as plain records.

use boxproof_core::picture::{coat, sketch};
use boxproof_core::screen as core;

/// One coat of paint. A picture is its coats, one over another; a shell has nothing to decide.
#[derive(Debug, Clone, PartialEq, uniffi::Enum)]
pub enum Coat {
    /// A form that is filled, drawn round, or both.
    Form {
        /// A path of `M`, `L`, `C` and `Z` with absolute numbers, dp.
        d: String,
        /// Role name of what fills it.
        fill: Option<String>,
        /// What it is drawn round with.
        line: Option<Line>,
    },
    /// Words.
    Words {
        /// Role name of their colour.
        role: String,
        /// Where they are held, dp.
        x: f64,
        /// The foot of the letters, dp.
        y: f64,
        /// The words.
        text: String,
        /// Size of the letters, dp.
        size: f64,
        /// Which end of them is held.
        anchor: Anchor,
        /// Bold.
        bold: bool,
    },
}

/// What a form is drawn round with.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Line {
    /// Role name of its colour.
    pub role: String,
    /// Width, dp.
    pub width: f64,
    /// Lengths on and off, dp; empty: unbroken.
    pub dash: Vec<f64>,
    /// Round ends; else cut off.
    pub round: bool,
}

impl From<coat::Coat<'_>> for Coat {
    fn from(coat: coat::Coat<'_>) -> Self {
        match coat {
            coat::Coat::Form { outline, fill, line } => {
                Self::Form { d: outline.path(), fill: fill.map(str::to_owned), line: line.map(Into::into) }
            }
            coat::Coat::Words { role, at: (x, y), text, size, anchor, bold } => {
                Self::Words { role: role.to_owned(), x, y, text: text.to_owned(), size, anchor: anchor.into(), bold }
            }
        }
    }
}

impl From<coat::Line<'_>> for Line {
    fn from(coat::Line { role, width, dash, round }: coat::Line<'_>) -> Self {
        Self { role: role.to_owned(), width, dash: dash.to_vec(), round }
    }
}

/// Everything that is put on for these shapes, the lowest first.
pub(crate) fn coats(shapes: &[core::Shape]) -> Vec<Coat> {
    shapes.iter().flat_map(coat::coats).map(Coat::from).collect()
}

/// A small drawing that stands in a row; it grows with the text.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Sketch {
    /// Width in dp.
    pub width: f64,
    /// Height in dp.
    pub height: f64,
    /// Its paint.
    pub coats: Vec<Coat>,
}

impl From<sketch::Sketch> for Sketch {
    fn from(sketch::Sketch { width, height, shapes }: sketch::Sketch) -> Self {
        Self { width, height, coats: coats(&shapes) }
    }
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Anchor {
    Start,
    Middle,
    End,
}

impl From<core::Anchor> for Anchor {
    fn from(anchor: core::Anchor) -> Self {
        match anchor {
            core::Anchor::Start => Self::Start,
            core::Anchor::Middle => Self::Middle,
            core::Anchor::End => Self::End,
        }
    }
}

/// A place in a picture that can be touched.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Touch {
    /// Left.
    pub x: f64,
    /// Top.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Spoken.
    pub spoken: String,
    /// Sent when it is touched.
    pub token: String,
}

impl From<core::Touch> for Touch {
    fn from(core::Touch { x, y, width, height, spoken, token }: core::Touch) -> Self {
        Self { x, y, width, height, spoken, token }
    }
}
