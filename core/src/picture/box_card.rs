//! The card of a box: everything of one box on one sheet, its picture at the left, what is noted of it at the right.

use crate::words::say;

use super::paper::{Fitted, MARGIN, Paper, filled, fitted, moved, wrapped};
use super::pen::{Pen, Way};
use super::shape::{Anchor, Picture};

/// Sizes of what stands at the right.
const MOST: f64 = 8.5;
/// Of the width, what the picture gets at most.
const PICTURE: f64 = 0.47;
const GAP: f64 = 14.0;
/// Columns of the ends, as shares of the room.
const COLUMNS: [f64; 3] = [0.26, 0.28, 0.46];

/// One end of a conductor.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Row {
    /// The end: `A black`.
    pub end: String,
    /// What is written on it, or what is proposed.
    pub written: String,
    /// It is written; else it is proposed or planned.
    pub on_tape: bool,
    /// Where it is.
    pub place: String,
}

/// What one card says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BoxCard {
    /// The box's tag.
    pub tag: String,
    /// Its place.
    pub place: String,
    /// Site, job and day.
    pub under: String,
    /// The box, unfolded.
    pub picture: Picture,
    /// What to beware of, a line each.
    pub cautions: Vec<String>,
    /// Parts with a title and lines: what it is, what feeds it, devices.
    pub parts: Vec<(String, Vec<String>)>,
    /// Its ends.
    pub ends: Vec<Row>,
    /// What the card is, and is not.
    pub foot: String,
}

/// One sheet for each card.
pub fn box_cards(paper: Paper, cards: &[BoxCard]) -> Vec<Picture> {
    let count = cards.len().to_string();
    let sheets = cards.iter().enumerate();
    sheets
        .map(|(n, card)| sheet(paper, card, &say("sheet.n_of", &[("n", &(n + 1).to_string()), ("of", &count)])))
        .collect()
}

fn sheet(paper: Paper, card: &BoxCard, number: &str) -> Picture {
    let (width, height) = paper.size();
    let (right, foot) = (width - MARGIN, height - MARGIN);
    let room = right - MARGIN;
    let mut pen = Pen::default();
    pen.rect("paper", None, (0.0, 0.0), (width + 0.1, height + 0.1));
    let tag = fitted(&card.tag, (room * 0.25, 34.0), (28.0, 6.0), true);
    let place = fitted(&card.place, (room * 0.70, 18.0), (15.0, 5.0), true);
    let under = fitted(&card.under, (room * 0.70, 12.0), (9.0, 4.0), false);
    let first = tag.draw(&mut pen, MARGIN, MARGIN - 5.0, Anchor::Start);
    let second = place.draw(&mut pen, right, MARGIN - 3.0, Anchor::End);
    let second = under.draw(&mut pen, right, second, Anchor::End);
    let top = first.max(second) + 3.0;
    pen.stroke("ink", None, &Way::from(MARGIN, top).across_to(right), 1.0);
    let top = top + 10.0;
    let note = filled(&format!("{} {number}", card.foot), (room, 24.0), (8.0, 3.0), false);
    let foot = foot - note.height() - 6.0;
    note.draw(&mut pen, MARGIN, foot + 6.0, Anchor::Start);
    let across = picture(&mut pen, card, (MARGIN, top), (room * PICTURE, foot - top));
    let left = if across > 0.0 { MARGIN + across + GAP } else { MARGIN };
    let mut size = MOST;
    // Ever smaller until everything stands on the one sheet.
    let lines = loop {
        let lines = column(card, right - left, size);
        let needed: f64 = lines.iter().map(Line::height).sum();
        if needed <= foot - top || size < 0.5 {
            break lines;
        }
        size *= 0.9;
    };
    let mut y = top;
    for line in &lines {
        line.draw(&mut pen, (left, y), right - left);
        y += line.height();
    }
    Picture { width, height, shapes: pen.shapes, places: Vec::new(), spoken: spoken(card, number) }
}

/// The picture as large as it may be; says how wide it became.
fn picture(pen: &mut Pen, card: &BoxCard, at: (f64, f64), room: (f64, f64)) -> f64 {
    let (width, height) = (card.picture.width, card.picture.height);
    if card.picture.shapes.is_empty() || width <= 0.0 || height <= 0.0 {
        return 0.0;
    }
    let scale = (room.0 / width).min(room.1 / height).min(0.75);
    pen.shapes.extend(card.picture.shapes.iter().map(|shape| moved(shape, scale, at)));
    width * scale
}

/// A line of the right column.
enum Line {
    Title(Fitted),
    Words(Fitted, bool),
    Ends([Fitted; 3]),
}

impl Line {
    fn height(&self) -> f64 {
        match self {
            Self::Title(words) => words.height() + words.size * 1.1,
            Self::Words(words, caution) => words.height() + if *caution { words.size * 0.4 } else { 0.0 },
            Self::Ends(cells) => cells.iter().map(Fitted::height).fold(0.0, f64::max) + 1.5,
        }
    }

    fn draw(&self, pen: &mut Pen, (x, y): (f64, f64), room: f64) {
        match self {
            Self::Title(words) => {
                let foot = words.draw(pen, x, y + words.size * 0.7, Anchor::Start);
                pen.stroke("ink", None, &Way::from(x, foot).across_to(x + room), 0.7);
            }
            Self::Words(words, caution) => {
                let left = if *caution { x + 7.0 } else { x };
                let foot = words.draw(pen, left, y, Anchor::Start);
                if *caution {
                    pen.rect("ink", None, (x, y + 1.0), (3.0, (foot - y - 1.0).max(1.0)));
                }
            }
            Self::Ends(cells) => {
                let mut at = x;
                for (cell, share) in cells.iter().zip(COLUMNS) {
                    cell.draw(pen, at, y, Anchor::Start);
                    at += share * room;
                }
            }
        }
    }
}

fn column(card: &BoxCard, room: f64, size: f64) -> Vec<Line> {
    let set =
        |text: &str, room: f64, size: f64, bold: bool| Fitted { size, lines: wrapped(text, room, size, bold), bold };
    let title = |text: &str| Line::Title(set(text, room, size * 1.15, true));
    let mut lines: Vec<Line> =
        card.cautions.iter().map(|text| Line::Words(set(text, room - 7.0, size, true), true)).collect();
    for (words, texts) in card.parts.iter().filter(|(_, texts)| !texts.is_empty()) {
        lines.push(title(words));
        lines.extend(texts.iter().map(|text| Line::Words(set(text, room, size, false), false)));
    }
    if !card.ends.is_empty() {
        let cells = |texts: [&str; 3], bold: [bool; 3]| {
            let mut cells = texts.into_iter().zip(COLUMNS).zip(bold);
            let mut next = || {
                let ((text, share), bold) = cells.next().unwrap_or((("", 0.0), false));
                set(text, (share * room - 4.0).max(4.0), size, bold)
            };
            Line::Ends([next(), next(), next()])
        };
        lines.push(title(&say("sheet.ends", &[])));
        let heads = ["end", "written", "place"].map(|key| say(&format!("sheet.ends.{key}"), &[]));
        lines.push(cells([&heads[0], &heads[1], &heads[2]], [true; 3]));
        lines.extend(
            card.ends.iter().map(|row| cells([&row.end, &row.written, &row.place], [false, row.on_tape, false])),
        );
    }
    lines
}

fn spoken(card: &BoxCard, number: &str) -> String {
    let mut words = vec![card.tag.clone(), card.place.clone(), card.under.clone(), card.picture.spoken.clone()];
    words.extend(card.cautions.iter().cloned());
    words.extend(card.parts.iter().flat_map(|(title, lines)| std::iter::once(title).chain(lines)).cloned());
    words.extend(card.ends.iter().map(|row| format!("{}, {}, {}", row.end, row.written, row.place)));
    words.extend([card.foot.clone(), number.to_owned()]);
    words.retain(|text| !text.is_empty());
    words.join(". ")
}
