//! Cards for the inside of plates, the size of a calling card: what the next person should know before touching.

use crate::words::say;

use super::paper::{Block, Fitted, Group, Head, LEADING, MM, Paper, fitted, flow, wrapped};
use super::pen::{Pen, Way};
use super::shape::{Anchor, Picture};

const WIDE: f64 = 90.0 * MM;
const HIGH: f64 = 55.0 * MM;
const GAP: f64 = 3.0 * MM;
const PAD: f64 = 7.0;
/// Sizes of what the card says.
const MOST: f64 = 10.0;
const LEAST: f64 = 5.0;

/// What one card says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct PlateCard {
    /// The box's tag.
    pub tag: String,
    /// Its place.
    pub place: String,
    /// What is noted of it, a line each.
    pub lines: Vec<String>,
    /// What to beware of, a line each.
    pub cautions: Vec<String>,
    /// What the card is, and is not.
    pub foot: String,
}

/// Cards on as many sheets as they need.
pub fn plate_cards(paper: Paper, title: &str, cards: &[PlateCard]) -> Vec<Picture> {
    let hint = say("sheet.plates.hint", &[]);
    let groups = [Group { title: String::new(), gap: GAP, blocks: cards.iter().map(block).collect() }];
    flow(paper, Head { title, hint: &hint }, &groups)
}

fn block(card: &PlateCard) -> Block {
    let room = WIDE - 2.0 * PAD;
    let mut pen = Pen::default();
    let tag = fitted(&card.tag, (room * 0.4, 26.0), (21.0, 6.0), true);
    let place = fitted(&card.place, (room * 0.56, 24.0), (10.5, 5.0), true);
    let top = tag.draw(&mut pen, PAD, PAD - 4.0, Anchor::Start);
    let top = top.max(place.draw(&mut pen, PAD + room, PAD, Anchor::End)) + 1.0;
    pen.stroke("ink", None, &Way::from(PAD, top).across_to(PAD + room), 0.7);
    let top = top + 4.0;
    let (body, foot) = body(card, room, HIGH - top - PAD);
    let y = draw_body(&mut pen, &body, top);
    // What the card is stands at its foot, or below what it says where that needs all the room.
    let height = (y + foot.height() + PAD).max(HIGH);
    foot.draw(&mut pen, PAD, height - PAD - foot.height() + 2.0, Anchor::Start);
    let mut words = vec![card.tag.as_str(), card.place.as_str()];
    words.extend(card.cautions.iter().chain(&card.lines).map(String::as_str));
    words.push(&card.foot);
    Block::framed(WIDE, height, pen, words.join(". "))
}

/// A paragraph of the card; a caution has a bar beside it.
struct Paragraph {
    words: Fitted,
    caution: bool,
    air: f64,
}

/// Everything in the largest size in which all of it fits; at the least size the card is higher.
fn body(card: &PlateCard, room: f64, height: f64) -> (Vec<Paragraph>, Fitted) {
    let mut size = MOST;
    loop {
        let set = |text: &String, bold: bool, size: f64, room: f64| Fitted {
            size,
            lines: wrapped(text, room, size, bold),
            bold,
        };
        let mut parts: Vec<Paragraph> = Vec::new();
        for text in &card.cautions {
            parts.push(Paragraph { words: set(text, true, size, room - 7.0), caution: true, air: size * 0.35 });
        }
        for text in &card.lines {
            parts.push(Paragraph { words: set(text, false, size, room), caution: false, air: size * 0.25 });
        }
        let foot = set(&card.foot, false, (size * 0.8).max(LEAST), room);
        let needed: f64 = parts.iter().map(|part| part.words.height() + part.air).sum();
        if needed + foot.height() <= height || size <= LEAST {
            return (parts, foot);
        }
        size = (size * 0.9).max(LEAST);
    }
}

fn draw_body(pen: &mut Pen, body: &[Paragraph], top: f64) -> f64 {
    let mut y = top;
    for part in body {
        let left = if part.caution { PAD + 7.0 } else { PAD };
        let foot = part.words.draw(pen, left, y, Anchor::Start);
        if part.caution {
            let down = foot - part.words.size * (LEADING - 1.0);
            pen.rect("ink", None, (PAD, y + 1.0), (3.0, (down - y).max(1.0)));
        }
        y = foot + part.air;
    }
    y
}
