//! Small drawings that stand in rows: the mark of a state, a handle, a conductor, a bar. One for every shell.

use super::coat::polyline;
use super::palette::palette;
use super::shape::{Edge, Form, Shape};

/// A small drawing; the text size may enlarge it, and where there is less room than its width it is drawn smaller.
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

/// Width of a bar, dp: what a phone has beside the number.
const BAR: f64 = 200.0;

/// A used share of a limit, in thousandths. Over the limit the limit's line stands inside, and what is beyond it is
/// hatched.
pub fn bar(share: u32) -> Sketch {
    // Air over it, then the bar.
    const TOP: f64 = 4.0;
    const FOOT: f64 = 20.0;
    let used = BAR * if share <= 1000 { f64::from(share) / 1000.0 } else { 1000.0 / f64::from(share) };
    let mut shapes = vec![shape("ink", rect(0.0, TOP, used, FOOT - TOP))];
    if share > 1000 {
        let hatch = Form::Path { d: hatch((used, BAR), (TOP, FOOT)), width: 2.4, filled: false };
        let limit = Form::Line { points: vec![(used, TOP), (used, FOOT)], width: 4.0 };
        shapes.extend([shape("ink", hatch), shape("ink", limit)]);
    }
    shapes.push(casing(1.0, TOP + 1.0, BAR - 2.0, FOOT - TOP - 2.0, 2.0));
    Sketch { width: BAR, height: FOOT, shapes }
}

/// Strokes that rise to the right, 8 apart, from one side to the other and no further.
fn hatch((from, to): (f64, f64), (top, foot): (f64, f64)) -> String {
    let high = foot - top;
    let strokes = (1..64).map(|n| from - high + 8.0 * f64::from(n)).take_while(|x| *x < to);
    strokes.fold(String::new(), |d, x| {
        let (left, right) = (x.max(from), (x + high).min(to));
        d + &polyline(&[(left, foot - (left - x)), (right, foot - (right - x))])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Corners of everything in it; paths of these drawings have straight lines alone.
    fn corners(sketch: &Sketch) -> Vec<(f64, f64)> {
        let forms = sketch.shapes.iter().flat_map(crate::picture::coat::coats);
        let paths = forms.filter_map(|coat| match coat {
            crate::picture::coat::Coat::Form { outline, .. } => Some(outline.path()),
            crate::picture::coat::Coat::Words { .. } => None,
        });
        let points = paths.flat_map(|d| {
            let points = d.split(['M', 'L', 'Z']).filter(|point| !point.is_empty()).map(str::to_owned);
            points.collect::<Vec<_>>()
        });
        points
            .map(|point| {
                let (x, y) = point.split_once(' ').expect("two numbers");
                (x.parse().expect("a number"), y.parse().expect("a number"))
            })
            .collect()
    }

    #[test]
    fn nothing_reaches_out_of_its_frame() {
        let bars = [0, 1, 500, 1000, 1001, 1500, 4000, u32::MAX].map(bar);
        let chips = ["black", "bare", "cloth", "green_yellow", "heliotrope"].map(chip);
        for sketch in bars.into_iter().chain(chips).chain(Edge::ALL.map(mark)).chain([handle(true), handle(false)]) {
            for (x, y) in corners(&sketch) {
                assert!(x >= 0.0 && x <= sketch.width && y >= 0.0 && y <= sketch.height, "{x} {y} of {sketch:?}");
            }
        }
    }

    #[test]
    fn over_the_limit_the_limit_stands_inside_and_what_is_beyond_is_hatched() {
        assert_eq!(bar(750).shapes.len(), 2);
        let Form::Rect { width, .. } = bar(2000).shapes[0].form else { panic!("the used share is a rectangle") };
        assert!((width - BAR / 2.0).abs() < 1e-9);
        assert_eq!(bar(2000).shapes.len(), 4);
        assert_eq!(hatch((0.0, 8.0), (0.0, 8.0)), "M0 8L8 0", "the stroke before begins and ends outside");
    }

    #[test]
    fn a_handle_is_filled_where_it_stands_and_every_kind_of_conductor_is_drawn_otherwise() {
        assert_ne!(handle(true), handle(false));
        let chips = ["black", "white", "bare", "cloth", "painted", "green_yellow"].map(chip);
        for (n, one) in chips.iter().enumerate() {
            assert!(chips.iter().skip(n + 1).all(|other| other != one), "{one:?}");
        }
        assert_eq!(chip("heliotrope"), chip("paper"));
    }
}
