//! Sheets of paper: their sizes, words that are made to fit, and blocks that flow from sheet to sheet under a head that
//! says how to print them. Units are points, 72 to the inch.

use crate::words::say;

use super::pen::{Pen, Way};
use super::shape::{Anchor, Form, Picture, Shape};
use super::text;

/// Points in a millimetre.
pub(super) const MM: f64 = 72.0 / 25.4;
/// Paper's edge to what is printed: printers leave about 6 mm, common practice without a source.
pub(super) const MARGIN: f64 = 12.0 * MM;
/// From line to line, of the size of the type.
pub(super) const LEADING: f64 = 1.2;
/// Height of the head of a sheet.
const HEAD: f64 = 68.0;
/// Words are taken this much wider than the widths of the pictures, because a printer's letters are not known: the
/// widest common sans serif is a tenth wider.
const SPARE: f64 = 1.12;
/// Letters that the widths of the pictures do not know are taken as wide as they come.
const BROAD: f64 = 1.1;
const BROADEST: f64 = 1.4;

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Paper {
    /// 8.5 by 11 inches: size A of ANSI/ASME Y14.1.
    Letter,
    /// 210 by 297 millimetres: A4 of ISO 216.
    A4,
}

impl Paper {
    /// Both, as they are offered.
    pub const ALL: [Self; 2] = [Self::Letter, Self::A4];

    /// Width and height in points.
    pub fn size(self) -> (f64, f64) {
        match self {
            Self::Letter => (612.0, 792.0),
            Self::A4 => (210.0 * MM, 297.0 * MM),
        }
    }

    /// Width and height as a style sheet writes them.
    pub fn lengths(self) -> (&'static str, &'static str) {
        match self {
            Self::Letter => ("8.5in", "11in"),
            Self::A4 => ("210mm", "297mm"),
        }
    }

    /// Its name in addresses and commands.
    pub fn name(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "a4",
        }
    }

    /// The paper of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|paper| paper.name() == name)
    }
}

/// Width of words as a printer may set them.
pub(super) fn wide(text: &str, size: f64, bold: bool) -> f64 {
    text.chars().map(|letter| letter_wide(letter, size, bold)).sum()
}

fn letter_wide(letter: char, size: f64, bold: bool) -> f64 {
    match letter {
        _ if letter.is_ascii() => text::width(letter.encode_utf8(&mut [0; 4]), size, bold) * SPARE,
        _ if u32::from(letter) >= 0x1_0000 => size * BROADEST,
        _ => size * BROAD,
    }
}

/// Words in lines, none wider than `room`. A word that is wider than a line is broken; nothing is left out.
pub(super) fn wrapped(text: &str, room: f64, size: f64, bold: bool) -> Vec<String> {
    let (mut lines, mut line, mut used) = (Vec::new(), String::new(), 0.0);
    let space = letter_wide(' ', size, bold);
    for word in text.split_whitespace() {
        let more = wide(word, size, bold);
        if !line.is_empty() && used + space + more <= room {
            line.push(' ');
            line.push_str(word);
            used += space + more;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        used = 0.0;
        for letter in word.chars() {
            let more = letter_wide(letter, size, bold);
            if used + more > room && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                used = 0.0;
            }
            line.push(letter);
            used += more;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Words with the size that they are set in.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Fitted {
    pub(super) size: f64,
    pub(super) lines: Vec<String>,
    pub(super) bold: bool,
}

impl Fitted {
    /// Height of all lines.
    pub(super) fn height(&self) -> f64 {
        self.size * LEADING * lines_of(self.lines.len())
    }

    /// Draws the lines from the top `y` down, and says where they end.
    pub(super) fn draw(&self, pen: &mut Pen, x: f64, y: f64, anchor: Anchor) -> f64 {
        let mut at = y;
        for line in &self.lines {
            pen.words_in("ink", (x, at + self.size), line, self.size, anchor, self.bold);
            at += self.size * LEADING;
        }
        at
    }
}

fn lines_of(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// Words as large as they can be in `room` by `height`: in one line down to three quarters of the size, then in more
/// lines, ever smaller. What does not fit at `least` is set at `least` and is higher.
pub(super) fn fitted(text: &str, room: (f64, f64), (most, least): (f64, f64), bold: bool) -> Fitted {
    let mut size = most;
    while size >= (most * 0.75).max(least) {
        if wide(text, size, bold) <= room.0 {
            return Fitted { size, lines: wrapped(text, room.0, size, bold), bold };
        }
        size *= 0.95;
    }
    filled(text, room, (most, least), bold)
}

/// Words in as many lines as there is height for, and smaller only where those are not enough.
pub(super) fn filled(text: &str, room: (f64, f64), (most, least): (f64, f64), bold: bool) -> Fitted {
    let mut size = most;
    loop {
        let found = Fitted { size, lines: wrapped(text, room.0, size, bold), bold };
        if found.height() <= room.1 || size <= least {
            return found;
        }
        size = (size * 0.95).max(least);
    }
}

/// Something on a sheet that is not divided.
#[derive(Debug, Clone, Default)]
pub(super) struct Block {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) shapes: Vec<Shape>,
    /// What stands on it, for whoever listens.
    pub(super) spoken: String,
}

impl Block {
    /// A block with a line round it to cut along, over what was drawn in its frame from 0, 0.
    pub(super) fn framed(width: f64, height: f64, mut pen: Pen, spoken: String) -> Self {
        let way = Way::from(0.0, 0.0).to(width, 0.0).to(width, height).to(0.0, height).closed();
        pen.stroke("ink", None, &way, 0.8);
        Self { width, height, shapes: pen.shapes, spoken }
    }
}

/// Blocks that belong together, under a title of their own if there is one.
#[derive(Debug, Clone, Default)]
pub(super) struct Group {
    pub(super) title: String,
    pub(super) gap: f64,
    pub(super) blocks: Vec<Block>,
}

/// The head of all sheets.
#[derive(Debug, Clone, Copy)]
pub(super) struct Head<'a> {
    pub(super) title: &'a str,
    /// How they are used.
    pub(super) hint: &'a str,
}

/// Where something stands on which sheet.
struct Placed<'a> {
    sheet: usize,
    at: (f64, f64),
    what: What<'a>,
}

enum What<'a> {
    Block(&'a Block),
    Title(&'a str),
}

/// Lays blocks out in rows, from sheet to sheet; none if there is nothing to lay out.
pub(super) fn flow(paper: Paper, head: Head<'_>, groups: &[Group]) -> Vec<Picture> {
    let (width, height) = paper.size();
    let (right, foot) = (width - MARGIN, height - MARGIN);
    let top = MARGIN + HEAD;
    let (mut sheet, mut y) = (0, top);
    let mut placed = Vec::new();
    for group in groups.iter().filter(|group| !group.blocks.is_empty()) {
        let mut title = Some(group.title.as_str()).filter(|title| !title.is_empty());
        let each = group.blocks.iter().map(|block| block.width).fold(1.0, f64::max);
        let across = ((right - MARGIN + group.gap) / (each + group.gap)).floor().max(1.0);
        for row in group.blocks.chunks(whole(across)) {
            let high = row.iter().map(|block| block.height).fold(0.0, f64::max);
            let over = if title.is_some() { 24.0 } else { 0.0 };
            if y + over + high > foot + 0.01 && y > top {
                sheet += 1;
                y = top;
            }
            if let Some(words) = title.take() {
                placed.push(Placed { sheet, at: (MARGIN, y), what: What::Title(words) });
                y += 24.0;
            }
            let mut x = MARGIN;
            for block in row {
                placed.push(Placed { sheet, at: (x, y), what: What::Block(block) });
                x += each + group.gap;
            }
            y += high + group.gap;
        }
    }
    if placed.is_empty() {
        return Vec::new();
    }
    (0..=sheet).map(|n| one(paper, head, (n, sheet + 1), placed.iter().filter(|placed| placed.sheet == n))).collect()
}

/// A small whole number of columns.
fn whole(columns: f64) -> usize {
    (1..64).rev().find(|n| f64::from(*n) <= columns + 1e-9).map_or(1, |n| usize::try_from(n).unwrap_or(1))
}

fn one<'p>(
    paper: Paper,
    head: Head<'_>,
    (n, of): (usize, usize),
    placed: impl Iterator<Item = &'p Placed<'p>>,
) -> Picture {
    let (width, height) = paper.size();
    let mut pen = Pen::default();
    pen.rect("paper", None, (0.0, 0.0), (width + 0.1, height + 0.1));
    let (number, count) = ((n + 1).to_string(), of.to_string());
    let title = say("sheet.numbered", &[("title", head.title), ("n", &number), ("of", &count)]);
    head_of(&mut pen, width, &title, head.hint);
    let mut spoken = vec![title];
    for placed in placed {
        match placed.what {
            What::Title(words) => {
                pen.words_in("ink", (placed.at.0, placed.at.1 + 14.0), words, 11.0, Anchor::Start, true);
                let line = Way::from(MARGIN, placed.at.1 + 19.0).across_to(width - MARGIN);
                pen.stroke("ink", None, &line, 1.0);
            }
            What::Block(block) => {
                pen.shapes.extend(block.shapes.iter().map(|shape| moved(shape, 1.0, placed.at)));
                spoken.push(block.spoken.clone());
            }
        }
    }
    Picture { width, height, shapes: pen.shapes, places: Vec::new(), spoken: spoken.join(". ") }
}

/// Title, how to print and use it, and two bars that a ruler is laid on.
fn head_of(pen: &mut Pen, width: f64, title: &str, hint: &str) {
    let room = width - 2.0 * MARGIN;
    let title = fitted(title, (room, 18.0), (15.0, 6.0), true);
    title.draw(pen, MARGIN, MARGIN - 3.0, Anchor::Start);
    let hint = filled(hint, (room, 22.0), (9.0, 4.0), false);
    hint.draw(pen, MARGIN, MARGIN + 17.0, Anchor::Start);
    let y = MARGIN + 52.0;
    let half = room / 2.0;
    for (x, length, words) in
        [(MARGIN, 50.0 * MM, say("sheet.bar_mm", &[])), (MARGIN + half, 144.0, say("sheet.bar_in", &[]))]
    {
        let way = Way::from(x, y - 3.5).down_to(y).across_to(x + length).to(x + length, y - 3.5);
        pen.stroke("ink", None, &way, 0.7);
        pen.words_in("ink", (x + length + 5.0, y), &words, 7.5, Anchor::Start, false);
    }
}

/// A shape at another scale and place.
pub fn moved(shape: &Shape, scale: f64, (x, y): (f64, f64)) -> Shape {
    let across = |at: f64| round(x + at * scale);
    let down = |at: f64| round(y + at * scale);
    let form = match &shape.form {
        Form::Line { points, width } => {
            let points = points.iter().map(|(x, y)| (across(*x), down(*y))).collect();
            Form::Line { points, width: width * scale }
        }
        Form::Path { d, width, filled } => {
            Form::Path { d: moved_path(d, across, down), width: width * scale, filled: *filled }
        }
        Form::Rect { x, y, width, height, round: bend } => Form::Rect {
            x: across(*x),
            y: down(*y),
            width: round(width * scale),
            height: round(height * scale),
            round: bend * scale,
        },
        Form::Circle { x, y, radius } => Form::Circle { x: across(*x), y: down(*y), radius: radius * scale },
        Form::Words { x, y, text, size, anchor, bold } => Form::Words {
            x: across(*x),
            y: down(*y),
            text: text.clone(),
            size: size * scale,
            anchor: *anchor,
            bold: *bold,
        },
    };
    Shape { role: shape.role.clone(), edge: shape.edge, form }
}

/// To a hundredth of a point, so that the same sheet is the same bytes everywhere.
fn round(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// A path of the four commands with absolute numbers: numbers come in pairs, across and down.
fn moved_path(d: &str, across: impl Fn(f64) -> f64, down: impl Fn(f64) -> f64) -> String {
    let (mut out, mut digits, mut is_down) = (String::with_capacity(d.len() + 16), String::new(), false);
    let end = |digits: &mut String, out: &mut String, is_down: &mut bool| {
        let Ok(at) = std::mem::take(digits).parse::<f64>() else { return };
        if out.ends_with(|c: char| c.is_ascii_digit()) {
            out.push(' ');
        }
        out.push_str(&super::coat::number(if *is_down { down(at) } else { across(at) }));
        *is_down = !*is_down;
    };
    for letter in d.chars() {
        match letter {
            '0'..='9' | '.' | '-' => digits.push(letter),
            _ => {
                end(&mut digits, &mut out, &mut is_down);
                if letter.is_ascii_alphabetic() {
                    out.push(letter);
                    is_down = false;
                }
            }
        }
    }
    end(&mut digits, &mut out, &mut is_down);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn papers_have_their_standard_sizes() {
        assert_eq!(Paper::Letter.size(), (612.0, 792.0));
        let (width, height) = Paper::A4.size();
        assert!((width - 595.276).abs() < 0.001 && (height - 841.890).abs() < 0.001);
        for paper in Paper::ALL {
            assert_eq!(Paper::named(paper.name()), Some(paper));
        }
        assert_eq!(Paper::named("tabloid"), None);
    }

    #[test]
    fn a_path_moves_point_by_point() {
        let moved = moved_path("M1 2L3 -4C5 6 7 8 9 10.5Z", |x| x * 2.0 + 1.0, |y| y * 2.0 - 1.0);
        assert_eq!(moved, "M3 3L7 -9C11 11 15 15 19 20Z");
    }

    #[test]
    fn nothing_that_is_wrapped_is_lost() {
        for text in ["TRAV 1", "to the lamp over the stair", "supercalifragilisticexpialidocious", "漢字 漢字漢字", ""]
        {
            for room in [20.0, 60.0, 200.0] {
                let fit = fitted(text, (room, 12.0), (10.0, 5.0), true);
                let kept: String = fit.lines.concat().split_whitespace().collect();
                assert_eq!(kept, text.split_whitespace().collect::<String>());
                assert!(fit.lines.iter().all(|line| wide(line, fit.size, true) <= room), "{fit:?} in {room}");
            }
        }
    }
}
