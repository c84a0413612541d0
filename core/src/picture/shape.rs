//! What a picture is made of: plain shapes with roles and states, and places to touch.

use serde::Serialize;

use crate::job::{Basis, How, Layer, ThingId};

/// How sure we are of what is shown. Drawn as an outline, or as a row's left edge; where several hold, the first of
/// disagrees, stale, unknown wins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    /// Two facts differ.
    Disagrees,
    /// Was read, no longer counts.
    Stale,
    /// Nobody has seen it.
    Unknown,
    /// Intended.
    Planned,
    /// Seen before we touched it.
    Found,
    /// As planned, nobody looked.
    Unchecked,
    /// As we left it, looked at or agreed.
    Left,
}

impl Edge {
    /// Every state.
    pub const ALL: [Self; 7] =
        [Self::Disagrees, Self::Stale, Self::Unknown, Self::Planned, Self::Found, Self::Unchecked, Self::Left];

    /// How sure we are of a value for a job, from where it comes.
    pub fn of(basis: &Basis, job: Option<ThingId>) -> Self {
        match basis.layer {
            Layer::Planned(_) => Self::Planned,
            Layer::Left(of) if Some(of) == job => match basis.how {
                How::Seen => Self::Left,
                How::Confirmed | How::Carried | How::Told => Self::Unchecked,
            },
            Layer::Left(_) | Layer::Found(_) | Layer::Site => Self::Found,
        }
    }

    /// Its name in the tokens of the look and in the words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Disagrees => "disagrees",
            Self::Stale => "stale",
            Self::Unknown => "unknown",
            Self::Planned => "planned",
            Self::Found => "found",
            Self::Unchecked => "unchecked",
            Self::Left => "left",
        }
    }
}

/// A shape of a picture, with the role that gives its colour and the state that gives its stroke.
///
/// A line, or a path that is not filled, is drawn in its role's colour, broken as its state says. A rectangle, circle
/// or filled path is filled with its role's colour, and outlined by its state's stroke if it has a state.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shape {
    /// Role name in the palette.
    pub role: String,
    /// State of its stroke.
    pub edge: Option<Edge>,
    /// Its form.
    pub form: Form,
}

/// The form of a shape; units dp. A path's text has only `M`, `L`, `C` and `Z` with absolute numbers, so that every
/// shell can draw it in a few lines.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names are those of plane geometry")]
pub enum Form {
    Line { points: Vec<(f64, f64)>, width: f64 },
    Path { d: String, width: f64, filled: bool },
    Rect { x: f64, y: f64, width: f64, height: f64, round: f64 },
    Circle { x: f64, y: f64, radius: f64 },
    Words { x: f64, y: f64, text: String, size: f64, anchor: Anchor, bold: bool },
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// A place in a picture that can be touched.
#[derive(Debug, Clone, PartialEq, Serialize)]
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

/// A picture: shapes back to front, and what can be touched.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// Width in dp.
    pub width: f64,
    /// Height in dp.
    pub height: f64,
    /// Its shapes, back to front.
    pub shapes: Vec<Shape>,
    /// Places to touch.
    pub places: Vec<Touch>,
    /// The whole picture in words.
    pub spoken: String,
}
