//! Everything that is drawn, as SVG: row edges, which are as high as their row, and the core's pictures and small
//! drawings. Colours come by class from the tokens, never as values. How shapes are read is the core's
//! (`picture::coat`); here a role is a class.

use boxproof_core::picture::coat::number;
use boxproof_core::picture::sketch::{self, Sketch};
use boxproof_core::picture::svg::{self, Paint};
use boxproof_core::screen::{Edge, HandleAt, Shape, Strand, Touch};
use boxproof_core::words::say;
use maud::{Markup, PreEscaped, html};

use super::look::state;

/// Patterns that the style sheet and the edges refer to; once in a page.
pub(super) fn patterns() -> Markup {
    html! {
        svg.patterns width="0" height="0" aria-hidden="true" {
            defs {
                pattern id="saw" width="12" height="10" patternUnits="userSpaceOnUse" {
                    path.s-ink d="M1 0L11 5L1 10" fill="none" stroke-width="2.6" {}
                }
                pattern id="hatch" width="24" height="20" patternUnits="userSpaceOnUse" {
                    path.s-on_block d="M0 20L24 0M-12 10L12 -10M12 30L36 10" fill="none" stroke-width="6" {}
                }
            }
        }
    }
}

/// The left edge of a row.
pub(super) fn edge(edge: Option<Edge>) -> Markup {
    let Some(edge) = edge else { return html! {} };
    let line = |x: &str, width: &str| html! { line.s-ink x1=(x) x2=(x) y1="0" y2="100%" stroke-width=(width) {} };
    html! {
        svg.edge aria-hidden="true" data-state=(state(edge)) {
            @match edge {
                Edge::Unknown => {
                    line.s-ink x1="6" x2="6" y1="3" y2="100%" stroke-width="4.5" stroke-linecap="round"
                        stroke-dasharray="0.1 7" {}
                }
                Edge::Planned => { line.s-ink x1="6" x2="6" y1="0" y2="100%" stroke-width="4" stroke-dasharray="11 7" {} }
                Edge::Found => { (line("6", "3")) }
                Edge::Unchecked => { (line("3.5", "2.5")) (line("8.5", "2.5")) }
                Edge::Left => { (line("6", "11")) }
                Edge::Stale => { rect width="12" height="100%" fill="url(#saw)" {} }
                Edge::Disagrees => {
                    rect.f-ink x="0" width="5" height="50%" {}
                    rect.f-ink x="7" y="50%" width="5" height="50%" {}
                }
            }
        }
    }
}

/// A small drawing of the core's; `name` is its class.
fn sketch(name: &str, sketch: &Sketch, title: &str) -> Markup {
    let (width, height) = (number(sketch.width), number(sketch.height));
    html! {
        svg class=(name) viewBox={ "0 0 " (width) " " (height) } width=(width) height=(height) aria-hidden="true" {
            @if !title.is_empty() { title { (title) } }
            @for shape in &sketch.shapes { (PreEscaped(svg::drawn(shape, &Classes))) }
        }
    }
}

/// The mark of a state beside a row, with its word for a pointer that rests on it.
pub(super) fn mark(edge: Edge) -> Markup {
    sketch("mark", &sketch::mark(edge), &say(&format!("state.{}", state(edge)), &[]))
}

/// A handle with its filled half.
pub(super) fn handle(handle: &HandleAt) -> Markup {
    html! {
        span.sw {
            (sketch("handle", &sketch::handle(handle.up), ""))
            span { b { (handle.name) } small { (handle.position) } }
        }
    }
}

/// A conductor: its colour in an ink casing, and its words.
pub(super) fn chip(strand: &Strand) -> Markup {
    html! {
        span.chip {
            (sketch("strand", &sketch::chip(&strand.colour), ""))
            @if strand.tape { span.tape.word { (strand.text) } } @else { span { (strand.text) } }
        }
    }
}

/// A used share with its limit.
pub(super) fn bar(share: u32) -> Markup {
    sketch("bar", &sketch::bar(share), "")
}

/// Roles as classes of the style sheet, so that a picture follows the theme.
struct Classes;

impl Paint for Classes {
    fn attributes(&self, fill: Option<&str>, stroke: Option<&str>) -> String {
        match stroke {
            Some(stroke) => format!(" class=\"f-{} s-{stroke}\"", fill.unwrap_or("none")),
            None => format!(" class=\"f-{}\"", fill.unwrap_or("none")),
        }
    }
}

/// A picture with its places to touch; real links inside the picture, so that the keyboard reaches them in order.
pub(super) fn picture(key: &str, size: (f64, f64), shapes: &[Shape], places: &[Touch]) -> Markup {
    let (width, height) = (number(size.0.max(1.0)), number(size.1.max(1.0)));
    html! {
        svg.picture viewBox={ "0 0 " (width) " " (height) } width=(width) height=(height) {
            g aria-hidden="true" { @for shape in shapes { (PreEscaped(svg::drawn(shape, &Classes))) } }
            @for (n, place) in places.iter().enumerate() {
                a.place role="button" href="#" aria-label=(place.spoken) data-t=(place.token) data-f={ (key) "/" (n) } {
                    rect x=(number(place.x)) y=(number(place.y)) width=(number(place.width)) height=(number(place.height)) {}
                }
            }
        }
    }
}
