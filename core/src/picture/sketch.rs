//! Small drawings that stand in rows: the mark of a state, a handle, a conductor. One for every shell.

use super::coat::polyline;
use super::palette::palette;
use super::shape::{Edge, Form, Shape};

/// A small drawing; the text size may enlarge it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sketch {
    /// Width in dp.
    pub width: f64,
    /// Height in dp.
    pub height: f64,
    /// Its shapes, back to front.
    pub shapes: Vec<Shape>,
}

fn shape(role: &str, form: Form) -> Shape {
    Shape { role: role.to_owned(), edge: None, form }
}

fn rect(x: f64, y: f64, width: f64, height: f64) -> Form {
    Form::Rect { x, y, width, height, round: 0.0 }
}

/// The outline of a rectangle.
fn casing(x: f64, y: f64, width: f64, height: f64, line: f64) -> Shape {
    let (end, foot) = (x + width, y + height);
    let points = vec![(x, y), (end, y), (end, foot), (x, foot), (x, y)];
    let d = polyline(&points) + "Z";
    shape("ink", Form::Path { d, width: line, filled: false })
}

/// The casing of a conductor in pieces of 2.
fn pieces() -> Shape {
    let d: String = (0..6)
        .map(|n| 2 + 4 * n)
        .map(|x| format!("M{x} 2L{} 2M{x} 12L{} 12", x + 2, x + 2))
        .chain(["M1 4L1 6M1 8L1 10M25 4L25 6M25 8L25 10".to_owned()])
        .collect();
    shape("ink", Form::Path { d, width: 1.6, filled: false })
}

/// The mark of a state beside a row: a square, outlined as the state is everywhere.
pub fn mark(edge: Edge) -> Sketch {
    let role = if edge == Edge::Left { "ink" } else { "paper" };
    // Room for the teeth of what is stale.
    let high = if edge == Edge::Stale { 15.0 } else { 20.0 };
    let square = Shape { role: role.to_owned(), edge: Some(edge), form: rect(4.0, 4.0, 20.0, high) };
    Sketch { width: 28.0, height: 28.0, shapes: vec![square] }
}

/// A handle with its filled half.
pub fn handle(up: bool) -> Sketch {
    let half = shape("ink", rect(4.0, if up { 4.0 } else { 18.0 }, 14.0, 12.0));
    Sketch { width: 22.0, height: 34.0, shapes: vec![casing(1.0, 1.0, 20.0, 32.0, 2.0), half] }
}

/// A conductor by the role of its colour: the colour in an ink casing.
pub fn chip(colour: &str) -> Sketch {
    let full = |role: &str| vec![shape(role, rect(1.0, 2.0, 24.0, 10.0)), casing(1.0, 2.0, 24.0, 10.0, 1.6)];
    let shapes = match colour {
        // Bare copper is not insulated, so it is thinner.
        "bare" => vec![shape(colour, rect(1.0, 4.5, 24.0, 5.0)), casing(1.0, 4.5, 24.0, 5.0, 1.2)],
        // The colour is not told: a broken casing, in shorter pieces than any state has.
        "cloth" | "painted" | "cannot_tell" => vec![shape(colour, rect(1.0, 2.0, 24.0, 10.0)), pieces()],
        "green_yellow" => {
            let stripes = Form::Path { d: "M6 11L10 3M16 11L20 3".to_owned(), width: 3.0, filled: false };
            full("green").into_iter().chain([shape("yellow", stripes)]).collect()
        }
        _ => full(if palette().knows(colour) { colour } else { "paper" }),
    };
    Sketch { width: 26.0, height: 14.0, shapes }
}
