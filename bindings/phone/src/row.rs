//! Screens and rows as plain records. The words of each are those of the core's row vocabulary.

use boxproof_core::picture::sketch;
use boxproof_core::screen as core;

use crate::shape::{Coat, Sketch, Touch, coats};

fn all<A, B: From<A>>(list: Vec<A>) -> Vec<B> {
    list.into_iter().map(B::from).collect()
}

/// How sure we are of what a row speaks of. Drawn as the row's left edge; where several hold, the first of
/// disagrees, stale, unknown wins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
pub enum Edge {
    /// Two facts differ.
    Disagrees,
    /// Was read, no longer counts.
    Stale,
    /// Nobody has seen it.
    Unknown,
    /// Intended.
    Planned,
    /// Seen before we touched it.
    Found,
    /// As planned, nobody looked.
    Unchecked,
    /// As we left it, looked at or agreed.
    Left,
}

impl From<core::Edge> for Edge {
    fn from(edge: core::Edge) -> Self {
        match edge {
            core::Edge::Disagrees => Self::Disagrees,
            core::Edge::Stale => Self::Stale,
            core::Edge::Unknown => Self::Unknown,
            core::Edge::Planned => Self::Planned,
            core::Edge::Found => Self::Found,
            core::Edge::Unchecked => Self::Unchecked,
            core::Edge::Left => Self::Left,
        }
    }
}

/// One screen.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Screen {
    /// Where it is; the shell keeps a list of these as the way back.
    pub address: String,
    /// A small line above the title.
    pub over: String,
    /// The title.
    pub title: String,
    /// A tag drawn as tape beside the title.
    pub tag: Option<String>,
    /// The revision of the notes that it was drawn from; goes back with each event.
    pub drawn: u64,
    /// Its rows, top to bottom.
    pub rows: Vec<Row>,
    /// A line for a lasting notification: "Circuit 7 OFF since 08:52, lock of W. Tolliver".
    pub ongoing: Option<String>,
    /// A file to hand out.
    pub file: Option<FileOut>,
    /// Sent with a file that another app gave: what first asks for one here.
    pub takes: Option<String>,
}

impl From<core::Screen> for Screen {
    // A phone is never wide enough for what stands beside a screen.
    fn from(screen: core::Screen) -> Self {
        let takes = screen.takes().map(str::to_owned);
        let core::Screen { address, over, title, tag, drawn, rows, ongoing, file, beside: _ } = screen;
        Self { address, over, title, tag, drawn, rows: all(rows), ongoing, file: file.map(Into::into), takes }
    }
}

/// A file that the person may share, save or print.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct FileOut {
    /// A name for it.
    pub name: String,
    /// Its media type.
    pub media: String,
    /// Where it lies.
    pub path: String,
}

impl From<core::FileOut> for FileOut {
    fn from(core::FileOut { name, media, path }: core::FileOut) -> Self {
        Self { name, media, path }
    }
}

/// One row.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Row {
    /// Stays the same from one drawing of the screen to the next, so that focus and scroll can stay.
    pub key: String,
    /// How sure we are.
    pub edge: Option<Edge>,
    /// The one to be done now.
    pub now: bool,
    /// The whole row in words, for a screen reader.
    pub spoken: String,
    /// The mark of its edge, where it is to stand beside the words as well.
    pub mark: Option<Sketch>,
    /// Sent when the row is pressed; it then has a bar on its right edge.
    pub go: Option<String>,
    /// What it shows.
    pub body: Body,
}

impl From<core::Row> for Row {
    fn from(core::Row { key, edge, now, spoken, go, body }: core::Row) -> Self {
        let marked = matches!(body, core::Body::Item { mark: true, .. });
        let mark = edge.filter(|_| marked).map(|edge| sketch::mark(edge).into());
        Self { key, edge: edge.map(Into::into), now, spoken, mark, go, body: body.into() }
    }
}

/// Something that can be picked.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Pick {
    /// Its words.
    pub text: String,
    /// Second line.
    pub second: String,
    /// Picked now.
    pub on: bool,
    /// Sent when it is picked.
    pub token: String,
    /// Ask for a text or number first and send it along.
    pub asks: Option<Ask>,
}

impl From<core::Pick> for Pick {
    fn from(core::Pick { text, second, on, token, asks }: core::Pick) -> Self {
        Self { text, second, on, token, asks: asks.map(Into::into) }
    }
}

/// What to ask for before a token is sent.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Ask {
    /// The question.
    pub label: String,
    /// Bring the number pad.
    pub numeric: bool,
    /// The unit beside the number; may be empty.
    pub unit: String,
    /// A file instead of a text.
    pub file: bool,
}

impl From<core::Ask> for Ask {
    fn from(core::Ask { label, numeric, unit, file }: core::Ask) -> Self {
        Self { label, numeric, unit, file }
    }
}

/// A handle in one position.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct HandleAt {
    /// Whose handle: "B3".
    pub name: String,
    /// The position in words: "up".
    pub position: String,
    /// The handle as it stands.
    pub sketch: Sketch,
}

impl From<core::HandleAt> for HandleAt {
    fn from(core::HandleAt { name, position, up }: core::HandleAt) -> Self {
        Self { name, position, sketch: sketch::handle(up).into() }
    }
}

/// One conductor with its words.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
pub struct Strand {
    /// Its colour.
    pub sketch: Sketch,
    /// Its words.
    pub text: String,
    /// Written on tape.
    pub tape: bool,
}

impl From<core::Strand> for Strand {
    fn from(core::Strand { colour, text, tape }: core::Strand) -> Self {
        Self { sketch: sketch::chip(&colour).into(), text, tape }
    }
}

/// What a row shows. Thirteen kinds.
#[derive(Debug, Clone, PartialEq, uniffi::Enum)]
pub enum Body {
    /// A heading over rows, with words at the right or over columns.
    Headline {
        /// The heading.
        text: String,
        /// Words at the right; two for trials: over "worked out" and "seen".
        right: Vec<String>,
    },
    /// One sentence.
    Sentence {
        /// The sentence.
        text: String,
    },
    /// A hazard (filled, hatched) or a caution (framed).
    Notice {
        /// A hazard.
        hazard: bool,
        /// Its title.
        title: String,
        /// What it says.
        text: String,
        /// Section and edition, and who decides.
        citation: Option<String>,
    },
    /// The everyday row.
    Item {
        /// Drawn as tape.
        tag: Option<String>,
        /// First line.
        title: String,
        /// Second line.
        second: String,
        /// At the right.
        value: String,
    },
    /// Something typed. Typing belongs to the shell; `enter` is sent with the text.
    Blank {
        /// What it is.
        label: String,
        /// What is there.
        value: String,
        /// Unit at the right.
        unit: String,
        /// Bring the number pad.
        numeric: bool,
        /// Sent with the typed text.
        enter: String,
    },
    /// One of several; also for quick values.
    Choice {
        /// What is chosen.
        label: String,
        /// The options, of equal weight.
        options: Vec<Pick>,
    },
    /// A reading beside what was worked out, or an amount with its limit, which is drawn as a bar.
    Figure {
        /// What is read.
        title: String,
        /// Second line.
        second: String,
        /// As read; empty: still to be read.
        value: String,
        /// Unit.
        unit: String,
        /// What was worked out: "worked out 118.9 to 120.3".
        computed: String,
        /// The used share of the limit.
        bar: Option<Sketch>,
    },
    /// A switch trial.
    Trial {
        /// Handles with their positions.
        handles: Vec<HandleAt>,
        /// Worked out: "on".
        computed: String,
        /// Seen: "off", or empty.
        seen: String,
        /// "agrees", "disagrees" or empty.
        verdict: String,
        /// What can be answered.
        answers: Vec<Pick>,
    },
    /// Conductors that belong together.
    Strands {
        /// First line.
        title: String,
        /// Second line.
        second: String,
        /// The conductors.
        strands: Vec<Strand>,
    },
    /// A picture.
    Drawing {
        /// Width in dp.
        width: f64,
        /// Height in dp.
        height: f64,
        /// Its paint, the lowest first.
        coats: Vec<Coat>,
        /// Places to touch.
        places: Vec<Touch>,
    },
    /// A table, for records and wide screens.
    Grid {
        /// Column words.
        columns: Vec<String>,
        /// Cells, row by row.
        cells: Vec<Vec<String>>,
    },
    /// A numbered step.
    Step {
        /// Its number.
        number: u32,
        /// First line.
        title: String,
        /// Second line.
        second: String,
        /// At the right.
        value: String,
        /// Done.
        done: bool,
    },
    /// What can be done, at the bottom of the screen.
    Deeds {
        /// The way back has a word; the shell keeps where it leads.
        back: bool,
        /// The main one; may be missing on purpose.
        main: Option<Pick>,
        /// The others.
        others: Vec<Pick>,
    },
}

impl From<core::Body> for Body {
    fn from(body: core::Body) -> Self {
        match body {
            core::Body::Headline { text, right } => Self::Headline { text, right },
            core::Body::Sentence { text } => Self::Sentence { text },
            core::Body::Notice { hazard, title, text, citation } => Self::Notice { hazard, title, text, citation },
            core::Body::Item { tag, title, second, value, mark: _ } => Self::Item { tag, title, second, value },
            core::Body::Blank { label, value, unit, numeric, enter } => {
                Self::Blank { label, value, unit, numeric, enter }
            }
            core::Body::Choice { label, options } => Self::Choice { label, options: all(options) },
            core::Body::Figure { title, second, value, unit, computed, share } => {
                Self::Figure { title, second, value, unit, computed, bar: share.map(|share| sketch::bar(share).into()) }
            }
            core::Body::Trial { handles, computed, seen, verdict, answers } => {
                Self::Trial { handles: all(handles), computed, seen, verdict, answers: all(answers) }
            }
            core::Body::Strands { title, second, strands } => Self::Strands { title, second, strands: all(strands) },
            core::Body::Drawing { width, height, shapes, places } => {
                Self::Drawing { width, height, coats: coats(&shapes), places: all(places) }
            }
            core::Body::Grid { columns, cells } => Self::Grid { columns, cells },
            core::Body::Step { number, title, second, value, done } => {
                Self::Step { number, title, second, value, done }
            }
            core::Body::Deeds { back, main, others } => {
                Self::Deeds { back, main: main.map(Into::into), others: all(others) }
            }
        }
    }
}
