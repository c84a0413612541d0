//! Pictures as plain records.

use boxproof_core::screen as core;

use crate::row::Edge;

/// A point, dp.
#[derive(Debug, Clone, Copy, PartialEq, uniffi::Record)]
pub struct Point {
    /// From the left.
    pub x: f64,
    /// From the top.
    pub y: f64,
}

/// A shape of a picture, with the role that gives its colour and the state that gives its stroke.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Shape {
    /// Role name in the palette.
    pub role: String,
    /// State of its stroke.
    pub edge: Option<Edge>,
    /// Its form.
    pub form: Form,
}

impl From<core::Shape> for Shape {
    fn from(core::Shape { role, edge, form }: core::Shape) -> Self {
        Self { role, edge: edge.map(Into::into), form: form.into() }
    }
}

/// The form of a shape; units dp.
#[derive(Debug, Clone, PartialEq, uniffi::Enum)]
#[allow(missing_docs, reason = "the names are those of plane geometry")]
pub enum Form {
    Line { points: Vec<Point>, width: f64 },
    Path { d: String, width: f64, filled: bool },
    Rect { x: f64, y: f64, width: f64, height: f64, round: f64 },
    Circle { x: f64, y: f64, radius: f64 },
    Words { x: f64, y: f64, text: String, size: f64, anchor: Anchor, bold: bool },
}

impl From<core::Form> for Form {
    fn from(form: core::Form) -> Self {
        match form {
            core::Form::Line { points, width } => {
                Self::Line { points: points.into_iter().map(|(x, y)| Point { x, y }).collect(), width }
            }
            core::Form::Path { d, width, filled } => Self::Path { d, width, filled },
            core::Form::Rect { x, y, width, height, round } => Self::Rect { x, y, width, height, round },
            core::Form::Circle { x, y, radius } => Self::Circle { x, y, radius },
            core::Form::Words { x, y, text, size, anchor, bold } => {
                Self::Words { x, y, text, size, anchor: anchor.into(), bold }
            }
        }
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
