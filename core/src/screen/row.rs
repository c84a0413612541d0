//! What a shell can show: a small closed vocabulary of rows. Adding a field is harmless; adding a kind of row is a
//! decision (see DEVELOPERS.md). Every text here is ready to be shown; every token is opaque to the shell.

use serde::Serialize;

pub use crate::picture::{Anchor, Edge, Form, Shape, Touch};

/// One screen.
#[derive(Debug, Clone, PartialEq, Serialize)]
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
    /// What a wide display shows beside it. A shell without the room leaves it out: nothing stands there alone.
    pub beside: Option<Beside>,
}

impl Screen {
    /// The token of what first asks for a file here: sent with a file that another program gave.
    pub fn takes(&self) -> Option<&str> {
        let picks = self.rows.iter().flat_map(|row| match &row.body {
            Body::Choice { options, .. } => options.iter().collect(),
            Body::Deeds { main, others, .. } => main.iter().chain(others).collect(),
            _ => Vec::new(),
        });
        let mut asking = picks.filter(|pick| pick.asks.as_ref().is_some_and(|ask| ask.file));
        asking.next().map(|pick| pick.token.as_str())
    }
}

/// Addresses of the screens that stand beside one on a wide display; their deeds are left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Beside {
    /// Pictures, on the left.
    pub left: String,
    /// What was found, on the right.
    pub right: String,
}

/// A file that the person may share, save or print.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FileOut {
    /// A name for it.
    pub name: String,
    /// Its media type.
    pub media: String,
    /// Where it lies.
    pub path: String,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Stays the same from one drawing of the screen to the next, so that focus and scroll can stay.
    pub key: String,
    /// How sure we are.
    pub edge: Option<Edge>,
    /// The one to be done now.
    pub now: bool,
    /// The whole row in words, for a screen reader.
    pub spoken: String,
    /// Sent when the row is pressed; it then has a bar on its right edge.
    pub go: Option<String>,
    /// What it shows.
    pub body: Body,
}

/// What a row shows. Thirteen kinds.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
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
        /// Draw the edge's mark beside it.
        mark: bool,
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
        /// Used share of the limit in thousandths; more than 1000 is over it.
        share: Option<u32>,
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
        /// Its shapes, back to front.
        shapes: Vec<Shape>,
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

/// Something that can be picked.
#[derive(Debug, Clone, PartialEq, Serialize)]
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

/// What to ask for before a token is sent.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
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

/// A handle in one position.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HandleAt {
    /// Whose handle: "B3".
    pub name: String,
    /// The position in words: "up".
    pub position: String,
    /// Fill the upper half.
    pub up: bool,
}

/// One conductor with its words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Strand {
    /// Role name in the palette: `black`, `bare`.
    pub colour: String,
    /// Its words.
    pub text: String,
    /// Written on tape.
    pub tape: bool,
}
