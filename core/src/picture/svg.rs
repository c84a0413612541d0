//! A picture as SVG: every shape drawn by its role and its state, with the text of what it shows.
//!
//! The geometry is the same wherever it is shown ([`coats`]). How a role becomes paint is asked of whoever shows it ([`Paint`]):
//! a page names classes and follows the person's theme, paper has the colours of noon.

use super::coat::{Coat, Line, Outline, coats, number, write};
use super::palette::palette;
use super::shape::{Anchor, Picture, Shape};

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
            write(&mut text, format_args!(" stroke=\"{}\"", colours.on_paper(role)));
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
    coats(shape).iter().map(|coat| put_on(coat, paint)).collect()
}

fn put_on(coat: &Coat<'_>, paint: &dyn Paint) -> String {
    match coat {
        Coat::Form { outline, fill, line } => {
            let mut attributes = paint.attributes(*fill, line.as_ref().map(|line| line.role));
            if let Some(line) = line {
                attributes += &pen(line);
            }
            formed(outline, &attributes)
        }
        Coat::Words { role, at: (x, y), text, size, anchor, bold } => {
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

/// The element of a form with its paint.
fn formed(outline: &Outline<'_>, paint: &str) -> String {
    match outline {
        Outline::Rect { x, y, width, height, round } => {
            let [x, y, width, height] = [*x, *y, *width, *height].map(number);
            let round = if *round > 0.0 { format!(" rx=\"{}\"", number(*round)) } else { String::new() };
            format!("<rect{paint} x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"{round}/>")
        }
        Outline::Circle { x, y, radius } => {
            format!("<circle{paint} cx=\"{}\" cy=\"{}\" r=\"{}\"/>", number(*x), number(*y), number(*radius))
        }
        Outline::Path(d) => format!("<path{paint} d=\"{}\"/>", escaped(d)),
    }
}

/// Width, breaks and ends of a line.
fn pen(line: &Line<'_>) -> String {
    let mut text = format!(" stroke-width=\"{}\"", number(line.width));
    if !line.dash.is_empty() {
        let parts: Vec<String> = line.dash.iter().map(|part| number(*part)).collect();
        write(&mut text, format_args!(" stroke-dasharray=\"{}\"", parts.join(" ")));
    }
    if line.round {
        text.push_str(" stroke-linecap=\"round\"");
    }
    text
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
    use crate::picture::Form;

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
