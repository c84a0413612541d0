//! How a shape is read, in one place for every shell: as coats of paint, one over another.
//!
//! A line, or a path that is not filled, is drawn in its role's colour, broken as its state says. What has an inside is
//! filled with its role's colour, and outlined by its state's stroke if it has a state. Two facts that differ are two
//! halves, shifted; what is stale has a toothed foot; what nobody looked at has two thin lines. A role that nobody knows
//! is paper with an ink outline, so that nothing vanishes.

use std::borrow::Cow;
use std::fmt::Write as _;

use super::palette::{Palette, palette};
use super::shape::{Anchor, Edge, Form, Shape};

/// One coat: a form that is filled, drawn, or both, or words.
#[derive(Debug, Clone, PartialEq)]
pub enum Coat<'a> {
    /// A form.
    Form {
        /// Its outline.
        outline: Outline<'a>,
        /// The role that fills it.
        fill: Option<&'a str>,
        /// What its outline is drawn with.
        line: Option<Line<'a>>,
    },
    /// Words.
    Words {
        /// The role of their colour.
        role: &'a str,
        /// Where they are held, dp: the foot of the letters.
        at: (f64, f64),
        /// The words.
        text: &'a str,
        /// Size of the letters, dp.
        size: f64,
        /// Which end of them is held.
        anchor: Anchor,
        /// Bold.
        bold: bool,
    },
}

/// What a line is drawn with.
#[derive(Debug, Clone, PartialEq)]
pub struct Line<'a> {
    /// The role of its colour.
    pub role: &'a str,
    /// Width, dp.
    pub width: f64,
    /// Lengths on and off, dp; empty: unbroken.
    pub dash: &'a [f64],
    /// Round ends; else cut off.
    pub round: bool,
}

/// A form without paint; units dp.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs, reason = "the names are those of plane geometry")]
pub enum Outline<'a> {
    Rect { x: f64, y: f64, width: f64, height: f64, round: f64 },
    Circle { x: f64, y: f64, radius: f64 },
    Path(Cow<'a, str>),
}

/// How far from an end of a quarter circle a bend's handle stands, in radii: 4/3 (√2 − 1), which puts the middle of the
/// bend on the circle; between, it strays by less than 0.03 %.
const KAPPA: f64 = 0.5523;

impl Outline<'_> {
    /// As a path of `M`, `L`, `C` and `Z` with absolute numbers, for who draws nothing else.
    pub fn path(&self) -> String {
        match self {
            Self::Rect { x, y, width, height, round } => rounded((*x, *y), (*width, *height), [*round; 2]),
            Self::Circle { x, y, radius } => {
                rounded((x - radius, y - radius), (2.0 * radius, 2.0 * radius), [*radius; 2])
            }
            Self::Path(d) => d.clone().into_owned(),
        }
    }
}

/// The coats of a shape, the lowest first.
pub fn coats(shape: &Shape) -> Vec<Coat<'_>> {
    let palette = palette();
    let known = palette.knows(&shape.role);
    let role = if known { shape.role.as_str() } else { "paper" };
    let edge = if known { shape.edge } else { shape.edge.or(Some(Edge::Found)) };
    let brush = Brush { palette, role };
    match &shape.form {
        Form::Line { points, width } => brush.drawn(&Outline::Path(polyline(points).into()), *width, edge),
        Form::Path { d, width, filled: false } => brush.drawn(&Outline::Path(d.into()), *width, edge),
        Form::Path { d, filled: true, .. } => brush.filled(&Outline::Path(d.into()), edge),
        Form::Rect { x, y, width, height, round } => match edge {
            Some(Edge::Disagrees) => brush.halves((*x, *y), (*width, *height), *round),
            Some(Edge::Stale) => brush.filled(&Outline::Path(toothed(*x, *y, *width, *height).into()), edge),
            _ => brush.filled(&Outline::Rect { x: *x, y: *y, width: *width, height: *height, round: *round }, edge),
        },
        Form::Circle { x, y, radius } => match edge {
            Some(Edge::Disagrees) => brush.halves((x - radius, y - radius), (2.0 * radius, 2.0 * radius), *radius),
            _ => brush.filled(&Outline::Circle { x: *x, y: *y, radius: *radius }, edge),
        },
        Form::Words { x, y, text, size, anchor, bold } => {
            vec![Coat::Words { role, at: (*x, *y), text, size: *size, anchor: *anchor, bold: *bold }]
        }
    }
}

/// One role, ready to be put on.
struct Brush<'a> {
    palette: &'a Palette,
    role: &'a str,
}

impl<'a> Brush<'a> {
    fn filled(&self, outline: &Outline<'a>, edge: Option<Edge>) -> Vec<Coat<'a>> {
        let coat = |fill, line| Coat::Form { outline: outline.clone(), fill, line };
        let Some((edge, stroke)) = edge.and_then(|edge| Some((edge, self.palette.stroke(edge)?))) else {
            return vec![coat(Some(self.role), None)];
        };
        // A toothed foot already tells; breaking its line as well would hide it.
        let dash = if edge == Edge::Stale { &[] } else { stroke.dash.as_slice() };
        let line = Line { role: self.ink(), width: stroke.width, dash, round: true };
        let mut coats = vec![coat(Some(self.role), Some(line))];
        if edge == Edge::Unchecked {
            coats.push(coat(None, Some(Line { role: self.role, width: 1.6, dash: &[], round: true })));
        }
        coats
    }

    fn drawn(&self, outline: &Outline<'a>, width: f64, edge: Option<Edge>) -> Vec<Coat<'a>> {
        let dash = edge.and_then(|edge| self.palette.line_dash.get(edge.name())).map_or(&[][..], Vec::as_slice);
        let coat = |line| Coat::Form { outline: outline.clone(), fill: None, line: Some(line) };
        let mut coats = vec![coat(Line { role: self.role, width, dash, round: edge == Some(Edge::Unknown) })];
        if edge == Some(Edge::Unchecked) {
            coats.push(coat(Line { role: "strip", width: width * 0.35, dash: &[], round: false }));
        }
        coats
    }

    /// Two halves, shifted, the first filled.
    fn halves(&self, (x, y): (f64, f64), (width, height): (f64, f64), round: f64) -> Vec<Coat<'a>> {
        let (half, shift) = (width / 2.0 - 1.5, height * 0.15);
        let first = rounded((x, y - shift), (half, height), [round, 0.0]);
        let second = rounded((x + width - half, y + shift), (half, height), [0.0, round]);
        let line = Line { role: self.ink(), width: 2.4, dash: &[], round: false };
        vec![
            Coat::Form { outline: Outline::Path(first.into()), fill: Some(self.ink()), line: None },
            Coat::Form { outline: Outline::Path(second.into()), fill: Some(self.role), line: Some(line) },
        ]
    }

    /// Outlines of what borders on paper follow the theme; inside a picture ink is ink.
    fn ink(&self) -> &'static str {
        if matches!(self.role, "paper" | "pale" | "block" | "tray") { "ink" } else { "picture_ink" }
    }
}

/// A rectangle whose two left and two right corners are rounded, as a path. It begins and turns as SVG 2, section 10.2,
/// says, so that breaks in its line fall where a `rect` has them.
fn rounded((x, y): (f64, f64), (width, height): (f64, f64), round: [f64; 2]) -> String {
    let [left, right] = round.map(|round| round.min(width).min(height / 2.0).max(0.0));
    let (end, foot) = (x + width, y + height);
    let mut d = String::with_capacity(120);
    let mut put = |letter: char, points: &[(f64, f64)]| {
        d.push(letter);
        for (n, (x, y)) in points.iter().enumerate() {
            write(&mut d, format_args!("{}{} {}", if n == 0 { "" } else { " " }, number(*x), number(*y)));
        }
    };
    put('M', &[(x + left, y)]);
    // A corner from one point to the next, bent by its radius; a radius of nothing is the point itself.
    let mut corner = |radius: f64, from: (f64, f64), bend: (f64, f64), to: (f64, f64)| {
        put('L', &[from]);
        if radius > 0.0 {
            let toward = |at: (f64, f64)| (at.0 + (bend.0 - at.0) * KAPPA, at.1 + (bend.1 - at.1) * KAPPA);
            put('C', &[toward(from), toward(to), to]);
        }
    };
    corner(right, (end - right, y), (end, y), (end, y + right));
    corner(right, (end, foot - right), (end, foot), (end - right, foot));
    corner(left, (x + left, foot), (x, foot), (x, foot - left));
    corner(left, (x, y + left), (x, y), (x + left, y));
    d.push('Z');
    d
}

/// A rectangle with a toothed foot.
fn toothed(x: f64, y: f64, width: f64, height: f64) -> String {
    let (end, foot, tooth) = (x + width, y + height, width / 8.0);
    let teeth = (1..=8).map(|n| (end - tooth * f64::from(n), foot + if n % 2 == 1 { 6.0 } else { 0.0 }));
    let mut d = polyline(&[&[(x, foot), (x, y), (end, y), (end, foot)][..], &teeth.collect::<Vec<_>>()].concat());
    d.push('Z');
    d
}

/// Straight from point to point.
pub(super) fn polyline(points: &[(f64, f64)]) -> String {
    let mut d = String::with_capacity(points.len() * 12);
    for (n, (x, y)) in points.iter().enumerate() {
        write(&mut d, format_args!("{}{} {}", if n == 0 { "M" } else { "L" }, number(*x), number(*y)));
    }
    d
}

/// Appends to a text.
pub(super) fn write(text: &mut String, more: std::fmt::Arguments<'_>) {
    // Writing to a String cannot fail.
    let _ = text.write_fmt(more);
}

/// A number to a hundredth, without needless noughts; what is not a number is nothing.
pub fn number(value: f64) -> String {
    let value = if value.is_finite() { value } else { 0.0 };
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(role: &str, edge: Option<Edge>, form: Form) -> Shape {
        Shape { role: role.to_owned(), edge, form }
    }

    #[test]
    fn numbers_are_short_and_never_nan() {
        assert_eq!(number(12.0), "12");
        assert_eq!(number(100.0), "100");
        assert_eq!(number(12.34), "12.34");
        assert_eq!(number(12.3), "12.3");
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(f64::NAN), "0");
    }

    #[test]
    fn a_role_that_nobody_knows_is_still_drawn() {
        let shape = shape("heliotrope", None, Form::Circle { x: 1.0, y: 2.0, radius: 3.0 });
        let coats = coats(&shape);
        let [Coat::Form { fill: Some("paper"), line: Some(line), .. }] = coats.as_slice() else { panic!("{coats:?}") };
        assert_eq!(line.role, "ink");
    }

    #[test]
    fn every_state_of_every_form_is_drawn_differently() {
        for form in [
            Form::Rect { x: 0.0, y: 0.0, width: 40.0, height: 34.0, round: 0.0 },
            Form::Circle { x: 20.0, y: 20.0, radius: 13.0 },
        ] {
            let shapes = Edge::ALL.map(|edge| shape("paper", Some(edge), form.clone()));
            let mut all = shapes.iter().map(|shape| format!("{:?}", coats(shape))).collect::<Vec<_>>();
            all.sort();
            all.dedup();
            assert_eq!(all.len(), Edge::ALL.len());
        }
    }

    #[test]
    fn paths_have_four_commands_and_a_circle_is_round() {
        let circle = Outline::Circle { x: 20.0, y: 20.0, radius: 10.0 }.path();
        assert_eq!(
            circle,
            "M20 10L20 10C25.52 10 30 14.48 30 20L30 20C30 25.52 25.52 30 20 30L20 30C14.48 30 10 25.52 10 20L10 20C10 \
             14.48 14.48 10 20 10Z"
        );
        assert_eq!(rounded((0.0, 0.0), (4.0, 2.0), [0.0; 2]), "M0 0L4 0L4 2L0 2L0 0Z");
        for d in [toothed(0.0, 0.0, 20.0, 15.0), rounded((0.0, 0.0), (9.0, 9.0), [3.0, 0.0]), circle] {
            assert!(d.chars().all(|letter| "MLCZ0123456789. -".contains(letter)), "{d}");
        }
    }
}
