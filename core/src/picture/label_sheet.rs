//! Sheets of labels: flags that are wrapped round conductors, and tags for the inside of plates.
//!
//! A flag is cut along its frame, its middle band goes round the conductor, and its two halves, which are alike, are
//! pressed together: so it reads from either side. Words that do not fit are set smaller or in more lines; a flag with
//! very many is higher. No word is left out.

use crate::words::say;

use super::paper::{Block, Fitted, Group, Head, MM, Paper, filled, fitted, flow};
use super::pen::{Pen, Way};
use super::shape::{Anchor, Picture};

/// A half of a flag, and the band between the halves: enough to go round a 10 AWG conductor, from memory about 4 mm
/// thick with its insulation.
const HALF: f64 = 24.0 * MM;
const BAND: f64 = 12.0 * MM;
const FLAG_HIGH: f64 = 15.0 * MM;
const PAD: f64 = 3.5;
/// No flag is higher than this, however much stands on it: it is set smaller instead.
const TALLEST: f64 = 400.0;
const TAG_WIDE: f64 = 44.0 * MM;
const TAG_HIGH: f64 = 22.0 * MM;
const GAP: f64 = 3.0 * MM;

/// What one flag says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Flag {
    /// The box's tag and the conductor: `B3  A black`.
    pub of: String,
    /// The words of the tape.
    pub words: String,
    /// Where it leads, and its circuit: `to B1, circuit 7`.
    pub to: String,
}

/// What one tag says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct BoxTag {
    /// The box's tag.
    pub tag: String,
    /// Its circuits: `circuit 7`.
    pub circuits: String,
    /// Its place.
    pub place: String,
    /// What it is: `two-gang, 32.0 in³, 4 cables`.
    pub about: String,
}

/// Flags and tags on as many sheets as they need.
pub fn label_sheets(paper: Paper, title: &str, flags: &[Flag], tags: &[BoxTag]) -> Vec<Picture> {
    let hint = say("sheet.flags.hint", &[]);
    let groups = [
        Group { title: String::new(), gap: GAP, blocks: flags.iter().map(flag).collect() },
        Group { title: say("sheet.tags", &[]), gap: GAP, blocks: tags.iter().map(tag).collect() },
    ];
    flow(paper, Head { title, hint: &hint }, &groups)
}

fn flag(flag: &Flag) -> Block {
    let room = HALF - 2.0 * PAD;
    let of = fitted(&flag.of, (room, 9.0), (7.5, 5.0), true);
    let to = filled(&flag.to, (room, 14.4), (6.5, 4.5), false);
    let words = tall(&flag.words, room, TALLEST - of.height() - to.height());
    let parts = [&of, &words, &to];
    let height = parts.iter().map(|part| part.height()).sum::<f64>() + 2.0 * PAD;
    let (width, height) = (2.0 * HALF + BAND, height.max(FLAG_HIGH));
    let mut pen = Pen::default();
    for left in [0.0, HALF + BAND] {
        let mut y = PAD - 1.0;
        for part in parts {
            y = part.draw(&mut pen, left + PAD, y, Anchor::Start);
        }
    }
    for x in [HALF, HALF + BAND] {
        pen.fold("ink", (x, 0.0), (x, height), 0.7);
    }
    pen.stroke("rule", None, &Way::from(width / 2.0, PAD).down_to(height - PAD), 0.5);
    let spoken = say("sheet.flag.spoken", &[("of", &flag.of), ("words", &flag.words), ("to", &flag.to)]);
    Block::framed(width, height, pen, spoken)
}

/// The words of the tape: large; then in two lines; then small; and at last smaller than anybody likes, but there.
fn tall(text: &str, room: f64, most: f64) -> Fitted {
    let mut least = 5.0;
    loop {
        let found = fitted(text, (room, 16.0), (10.5, least), true);
        if found.height() <= most || least < 0.2 {
            return found;
        }
        least *= 0.9;
    }
}

fn tag(tag: &BoxTag) -> Block {
    let room = TAG_WIDE - 2.0 * PAD - 2.0;
    let mut pen = Pen::default();
    let left = PAD + 1.0;
    let large = fitted(&tag.tag, (room * 0.5, 24.0), (21.0, 5.0), true);
    let circuits = fitted(&tag.circuits, (room * 0.46, 24.0), (9.5, 4.5), true);
    let (first, second) = (PAD - 2.0, PAD + 8.0);
    let mut y = large.draw(&mut pen, left, first, Anchor::Start);
    y = y.max(circuits.draw(&mut pen, left + room, second, Anchor::End));
    let place = fitted(&tag.place, (room, 11.0), (9.0, 5.0), true);
    y = place.draw(&mut pen, left, y.max(26.0), Anchor::Start);
    let about = filled(&tag.about, (room, 17.0), (7.0, 4.5), false);
    y = about.draw(&mut pen, left, y, Anchor::Start);
    let spoken = [&tag.tag, &tag.circuits, &tag.place, &tag.about].map(String::as_str).join(", ");
    Block::framed(TAG_WIDE, (y + PAD).max(TAG_HIGH), pen, spoken)
}
