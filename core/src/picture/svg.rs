//! A picture as SVG: every shape drawn by its role and its state, with the text of what it shows.
//!
//! How a shape is read: a line, or a path that is not filled, is drawn in its role's colour, broken as its state says.
//! A rectangle, circle or filled path is filled with its role's colour, and outlined by its state's stroke if it has a
//! state. Words without a state are plain. A shape with a role that nobody knows is drawn as paper with an ink outline,
//! so that nothing vanishes.
//!
//! The geometry is the same wherever it is shown. How a role becomes paint is asked of whoever shows it ([`Paint`]):
//! a page names classes and follows the person's theme, paper has the colours of noon.

use std::fmt::Write as _;

use super::palette::{Palette, palette};
use super::shape::{Anchor, Edge, Form, Picture, Shape};

/// How roles become paint.
pub trait Paint {
    /// Attributes that fill an element with one role and draw its outline with another, each beginning with a space.
    /// What is `None` is neither filled nor drawn.
    fn attributes(&self, fill: Option<&str>, stroke: Option<&str>) -> String;
}

/// The colours of white paper, written out, so that a file needs nothing beside it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Noon;

impl Paint for Noon {
    fn attributes(&self, fill: Option<&str>, stroke: Option<&str>) -> String {
        let colours = palette();
        let mut text = format!(" fill=\"{}\"", fill.map_or("none", |role| colours.on_paper(role)));
        if let Some(role) = stroke {
            put(&mut text, format_args!(" stroke=\"{}\"", colours.on_paper(role)));
        }
        text
    }
}

/// How large a picture is shown, as the root's `width` and `height`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unit {
    /// A dp of the picture is a pixel of the page.
    Pixel,
    /// A dp of the picture is a point, a seventy-second of an inch, of the paper.
    Point,
}

/// A picture as one SVG file in the colours of white paper: well-formed XML that needs nothing beside it.
pub fn svg(picture: &Picture, unit: Unit) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n", element(picture, unit, &Noon))
}

/// A picture as one `svg` element, to stand in a page or in a file of its own.
pub fn element(picture: &Picture, unit: Unit, paint: &dyn Paint) -> String {
    let (width, height) = (number(picture.width.max(1.0)), number(picture.height.max(1.0)));
    let unit = match unit {
        Unit::Pixel => "",
        Unit::Point => "pt",
    };
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{width}{unit}\" height=\"{height}{unit}\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"system-ui, sans-serif\"><title>{}</title>",
        escaped(&picture.spoken)
    );
    for shape in &picture.shapes {
        text.push_str(&drawn(shape, paint));
    }
    text.push_str("</svg>");
    text
}

/// One shape as elements.
pub fn drawn(shape: &Shape, paint: &dyn Paint) -> String {
    let palette = palette();
    let known = palette.knows(&shape.role);
    let role = if known { shape.role.as_str() } else { "paper" };
    let edge = if known { shape.edge } else { shape.edge.or(Some(Edge::Found)) };
    let brush = Brush { paint, palette, role };
    match &shape.form {
        Form::Line { points, width } => brush.stroked(&polyline(points), *width, edge),
        Form::Path { d, width, filled: false } => brush.stroked(d, *width, edge),
        Form::Path { d, filled: true, .. } => brush.filled(&Outline::Path(d.clone()), edge),
        Form::Rect { x, y, width, height, round } => match edge {
            Some(Edge::Disagrees) => brush.halves((*x, *y), (*width, *height), *round),
            Some(Edge::Stale) => brush.filled(&Outline::Path(toothed(*x, *y, *width, *height)), edge),
            _ => brush.filled(&Outline::Rect(*x, *y, *width, *height, *round), edge),
        },
        Form::Circle { x, y, radius } => match edge {
            Some(Edge::Disagrees) => brush.halves((x - radius, y - radius), (2.0 * radius, 2.0 * radius), *radius),
            _ => brush.filled(&Outline::Circle(*x, *y, *radius), edge),
        },
        Form::Words { x, y, text, size, anchor, bold } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            let weight = if *bold { 700 } else { 500 };
            format!(
                "<text{} x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" font-weight=\"{weight}\">{}</text>",
                paint.attributes(Some(role), None),
                number(*x),
                number(*y),
                number(*size),
                escaped(text)
            )
        }
    }
}

/// What has an inside.
enum Outline {
    Rect(f64, f64, f64, f64, f64),
    Circle(f64, f64, f64),
    Path(String),
}

impl Outline {
    /// The element with its form, up to where its paint begins, and how it ends.
    fn element(&self, paint: &str) -> String {
        match self {
            Self::Rect(x, y, width, height, round) => {
                let [x, y, width, height] = [*x, *y, *width, *height].map(number);
                let round = if *round > 0.0 { format!(" rx=\"{}\"", number(*round)) } else { String::new() };
                format!("<rect{paint} x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"{round}/>")
            }
            Self::Circle(x, y, radius) => {
                format!("<circle{paint} cx=\"{}\" cy=\"{}\" r=\"{}\"/>", number(*x), number(*y), number(*radius))
            }
            Self::Path(d) => format!("<path{paint} d=\"{}\"/>", escaped(d)),
        }
    }
}

/// One role, ready to be put on.
struct Brush<'a> {
    paint: &'a dyn Paint,
    palette: &'a Palette,
    role: &'a str,
}

impl Brush<'_> {
    fn filled(&self, form: &Outline, edge: Option<Edge>) -> String {
        let Some((edge, stroke)) = edge.and_then(|edge| Some((edge, self.palette.stroke(edge)?))) else {
            return form.element(&self.paint.attributes(Some(self.role), None));
        };
        // A toothed foot already tells; breaking its line as well would hide it.
        let dash = if edge == Edge::Stale { &[] } else { stroke.dash.as_slice() };
        let ink = ink_for(self.role);
        let outline = self.paint.attributes(Some(self.role), Some(ink)) + &pen(stroke.width, dash, true);
        let mut text = form.element(&outline);
        if edge == Edge::Unchecked {
            text += &form.element(&(self.paint.attributes(None, Some(self.role)) + &pen(1.6, &[], true)));
        }
        text
    }

    fn stroked(&self, d: &str, width: f64, edge: Option<Edge>) -> String {
        let dash = edge.and_then(|edge| self.palette.line_dash.get(edge.name())).map_or(&[][..], Vec::as_slice);
        let form = Outline::Path(d.to_owned());
        let line = self.paint.attributes(None, Some(self.role)) + &pen(width, dash, edge == Some(Edge::Unknown));
        let mut text = form.element(&line);
        if edge == Some(Edge::Unchecked) {
            text += &form.element(&(self.paint.attributes(None, Some("strip")) + &pen(width * 0.35, &[], false)));
        }
        text
    }

    /// Two halves, shifted, the first filled.
    fn halves(&self, (x, y): (f64, f64), (width, height): (f64, f64), round: f64) -> String {
        let ink = ink_for(self.role);
        let (half, shift) = (width / 2.0 - 1.5, height * 0.15);
        let bend = round.min(half).min(height / 2.0);
        let (left, right) = (x + half, x + width - half);
        let (top, foot) = (y - shift, y + height - shift);
        let first = format!(
            "M{l} {t}V{f}H{lb}A{b} {b} 0 0 1 {x} {fb}V{tb}A{b} {b} 0 0 1 {lb} {t}z",
            l = number(left),
            t = number(top),
            f = number(foot),
            lb = number(x + bend),
            b = number(bend),
            x = number(x),
            fb = number(foot - bend),
            tb = number(top + bend),
        );
        let (top, foot, end) = (y + shift, y + height + shift, x + width);
        let second = format!(
            "M{r} {t}H{eb}A{b} {b} 0 0 1 {e} {tb}V{fb}A{b} {b} 0 0 1 {eb} {f}H{r}z",
            r = number(right),
            t = number(top),
            eb = number(end - bend),
            b = number(bend),
            e = number(end),
            tb = number(top + bend),
            fb = number(foot - bend),
            f = number(foot),
        );
        Outline::Path(first).element(&self.paint.attributes(Some(ink), None))
            + &Outline::Path(second)
                .element(&(self.paint.attributes(Some(self.role), Some(ink)) + &pen(2.4, &[], false)))
    }
}

/// Outlines of what borders on paper follow the theme; inside a picture ink is ink.
fn ink_for(role: &str) -> &'static str {
    if matches!(role, "paper" | "pale" | "block" | "tray") { "ink" } else { "picture_ink" }
}

/// Width, breaks and ends of a line.
fn pen(width: f64, dash: &[f64], round: bool) -> String {
    let mut text = format!(" stroke-width=\"{}\"", number(width));
    if !dash.is_empty() {
        let parts: Vec<String> = dash.iter().map(|part| number(*part)).collect();
        put(&mut text, format_args!(" stroke-dasharray=\"{}\"", parts.join(" ")));
    }
    if round {
        text.push_str(" stroke-linecap=\"round\"");
    }
    text
}

/// A rectangle with a toothed foot.
fn toothed(x: f64, y: f64, width: f64, height: f64) -> String {
    let foot = y + height;
    let mut d = format!("M{} {}V{}H{}V{}", number(x), number(foot), number(y), number(x + width), number(foot));
    let tooth = width / 8.0;
    for n in 1..=8 {
        let depth = if n % 2 == 1 { 6.0 } else { 0.0 };
        put(&mut d, format_args!("L{} {}", number(x + width - tooth * f64::from(n)), number(foot + depth)));
    }
    d.push('z');
    d
}

fn polyline(points: &[(f64, f64)]) -> String {
    let mut d = String::with_capacity(points.len() * 12);
    for (n, (x, y)) in points.iter().enumerate() {
        put(&mut d, format_args!("{}{} {}", if n == 0 { "M" } else { "L" }, number(*x), number(*y)));
    }
    d
}

fn put(text: &mut String, more: std::fmt::Arguments<'_>) {
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

/// A text for an element or a quoted attribute. What XML 1.0 does not allow is shown as one that could not be read.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' => out.push(letter),
            '\u{fffe}' | '\u{ffff}' => out.push(char::REPLACEMENT_CHARACTER),
            _ if letter.is_control() => out.push(char::REPLACEMENT_CHARACTER),
            _ => out.push(letter),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Names its roles, so that a test can read them.
    struct Named;

    impl Paint for Named {
        fn attributes(&self, fill: Option<&str>, stroke: Option<&str>) -> String {
            format!(" class=\"f-{} s-{}\"", fill.unwrap_or("none"), stroke.unwrap_or("none"))
        }
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
        let form = Form::Circle { x: 1.0, y: 2.0, radius: 3.0 };
        let text = drawn(&Shape { role: "heliotrope".to_owned(), edge: None, form }, &Named);
        assert!(text.contains("f-paper s-ink"), "{text}");
    }

    #[test]
    fn every_state_of_every_form_is_drawn_differently() {
        for form in [
            Form::Rect { x: 0.0, y: 0.0, width: 40.0, height: 34.0, round: 0.0 },
            Form::Circle { x: 20.0, y: 20.0, radius: 13.0 },
        ] {
            for paint in [&Named as &dyn Paint, &Noon] {
                let draw = |edge| drawn(&Shape { role: "paper".into(), edge: Some(edge), form: form.clone() }, paint);
                let all: std::collections::BTreeSet<String> = Edge::ALL.into_iter().map(draw).collect();
                assert_eq!(all.len(), Edge::ALL.len());
            }
        }
    }

    #[test]
    fn what_was_written_stays_text_and_the_same_picture_is_the_same_bytes() {
        let words = "</text><script>\u{0}\"&' 3 < 4";
        let form = Form::Words { x: 0.0, y: 0.0, text: words.to_owned(), size: 9.0, anchor: Anchor::Start, bold: true };
        let shapes = vec![Shape { role: "ink".to_owned(), edge: None, form }];
        let picture = Picture { width: 10.0, height: 10.0, shapes, places: Vec::new(), spoken: words.to_owned() };
        let text = svg(&picture, Unit::Point);
        assert_eq!(text, svg(&picture, Unit::Point));
        assert_eq!(text.matches("<script").count(), 0);
        assert_eq!(text.matches("&lt;/text&gt;&lt;script&gt;\u{fffd}&quot;&amp;' 3 &lt; 4").count(), 2);
        assert!(text.contains("width=\"10pt\"") && text.contains("role=\"img\""));
    }
}
