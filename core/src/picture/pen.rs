//! Draws shapes: numbers to a tenth, paths in four commands, conductors with halo and casing.

use std::fmt::Write as _;

use super::shape::{Anchor, Edge, Form, Shape};

/// Ink inside pictures: the same in every theme.
pub(super) const INK: &str = "picture_ink";
/// What conductors lie on.
pub(super) const TRAY: &str = "tray";
/// What is written in the building.
pub(super) const TAPE: &str = "tape";
/// A connector's body.
pub(super) const STRIP: &str = "strip";
/// A device's body.
pub(super) const BODY: &str = "body";

/// To a tenth, so that the same picture has the same bytes everywhere; never minus zero.
pub(super) fn tenth(value: f64) -> f64 {
    let rounded = (value * 10.0).round() / 10.0;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A way of straight lines and bends. It keeps where it is.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    d: String,
    at: (f64, f64),
}

impl Way {
    pub(super) fn from(x: f64, y: f64) -> Self {
        let mut way = Self { d: String::new(), at: (x, y) };
        way.put('M', &[(x, y)]);
        way
    }

    fn put(&mut self, command: char, points: &[(f64, f64)]) {
        self.d.push(command);
        for (n, (x, y)) in points.iter().enumerate() {
            let gap = if n == 0 { "" } else { " " };
            // Writing to a String cannot fail.
            let _ = write!(self.d, "{gap}{} {}", tenth(*x), tenth(*y));
        }
        if let Some(last) = points.last() {
            self.at = *last;
        }
    }

    pub(super) fn to(mut self, x: f64, y: f64) -> Self {
        self.put('L', &[(x, y)]);
        self
    }

    pub(super) fn down_to(self, y: f64) -> Self {
        let x = self.at.0;
        self.to(x, y)
    }

    pub(super) fn across_to(self, x: f64) -> Self {
        let y = self.at.1;
        self.to(x, y)
    }

    pub(super) fn curve(mut self, first: (f64, f64), second: (f64, f64), to: (f64, f64)) -> Self {
        self.put('C', &[first, second, to]);
        self
    }

    /// A round corner through `corner` to `to`.
    pub(super) fn corner(self, corner: (f64, f64), to: (f64, f64)) -> Self {
        // A quadratic bend written as a cubic one.
        let third = |from: f64, through: f64| from + (through - from) * 2.0 / 3.0;
        let at = self.at;
        let first = (third(at.0, corner.0), third(at.1, corner.1));
        let second = (third(to.0, corner.0), third(to.1, corner.1));
        self.curve(first, second, to)
    }

    pub(super) fn closed(mut self) -> Self {
        self.d.push('Z');
        self
    }
}

/// How a conductor looks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Copper<'a> {
    /// Role of its colour.
    pub(super) colour: &'a str,
    /// Planned or not known: broken.
    pub(super) edge: Option<Edge>,
}

/// Collects shapes back to front.
#[derive(Debug, Default)]
pub(super) struct Pen {
    pub(super) shapes: Vec<Shape>,
}

impl Pen {
    fn add(&mut self, role: &str, edge: Option<Edge>, form: Form) {
        self.shapes.push(Shape { role: role.to_owned(), edge, form });
    }

    pub(super) fn rect(&mut self, role: &str, edge: Option<Edge>, (x, y): (f64, f64), (width, height): (f64, f64)) {
        self.round_rect(role, edge, (x, y), (width, height), 0.0);
    }

    pub(super) fn round_rect(
        &mut self,
        role: &str,
        edge: Option<Edge>,
        (x, y): (f64, f64),
        (width, height): (f64, f64),
        round: f64,
    ) {
        let form = Form::Rect { x: tenth(x), y: tenth(y), width: tenth(width), height: tenth(height), round };
        self.add(role, edge, form);
    }

    pub(super) fn circle(&mut self, role: &str, edge: Option<Edge>, (x, y): (f64, f64), radius: f64) {
        self.add(role, edge, Form::Circle { x: tenth(x), y: tenth(y), radius });
    }

    pub(super) fn stroke(&mut self, role: &str, edge: Option<Edge>, way: &Way, width: f64) {
        self.add(role, edge, Form::Path { d: way.d.clone(), width, filled: false });
    }

    /// A straight line of short strokes, level or upright: where paper is folded.
    pub(super) fn fold(&mut self, role: &str, from: (f64, f64), to: (f64, f64), width: f64) {
        const ON: f64 = 2.5;
        const OFF: f64 = 2.0;
        let (across, down) = (to.0 - from.0, to.1 - from.1);
        let length = across.abs().max(down.abs());
        let (mut d, mut at) = (String::new(), 0.0);
        while at < length {
            let end = (at + ON).min(length);
            let point = |at: f64| (tenth(from.0 + across * at / length), tenth(from.1 + down * at / length));
            let (first, last) = (point(at), point(end));
            // Writing to a String cannot fail.
            let _ = write!(d, "M{} {}L{} {}", first.0, first.1, last.0, last.1);
            at = end + OFF;
        }
        self.add(role, None, Form::Path { d, width, filled: false });
    }

    pub(super) fn fill(&mut self, role: &str, edge: Option<Edge>, way: &Way) {
        self.add(role, edge, Form::Path { d: way.d.clone(), width: 0.0, filled: true });
    }

    pub(super) fn words(&mut self, (x, y): (f64, f64), text: &str, size: f64, anchor: Anchor, bold: bool) {
        self.words_in(INK, (x, y), text, size, anchor, bold);
    }

    pub(super) fn words_in(
        &mut self,
        role: &str,
        (x, y): (f64, f64),
        text: &str,
        size: f64,
        anchor: Anchor,
        bold: bool,
    ) {
        if !text.is_empty() {
            let form = Form::Words { x: tenth(x), y: tenth(y), text: text.to_owned(), size, anchor, bold };
            self.add(role, None, form);
        }
    }

    /// A conductor: halo, casing, colour, in this order, so that crossings read as over and under. Bare copper has no
    /// insulation and is thinner; black needs no colour inside its casing.
    pub(super) fn conductor(&mut self, copper: Copper<'_>, way: &Way) {
        let core = if copper.colour == "bare" { 2.6 } else { 4.6 };
        let broken = copper.edge.filter(|edge| matches!(edge, Edge::Planned | Edge::Unknown));
        self.stroke(TRAY, None, way, core + 4.8);
        self.stroke(INK, broken, way, core + 2.2);
        match copper.colour {
            "black" => {}
            "green_yellow" => {
                self.stroke("green", broken, way, core);
                self.stroke("yellow", broken, way, core / 3.0);
            }
            colour => self.stroke(colour, broken, way, core),
        }
    }

    /// A small filled corner: this differs from what was found.
    pub(super) fn changed(&mut self, x: f64, y: f64) {
        let way = Way::from(x, y).to(x + 12.0, y).to(x, y + 12.0).closed();
        self.fill(INK, None, &way);
    }
}
