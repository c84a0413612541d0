//! A plain document: what is said, in which order, and how sure it is. It knows nothing of paper, screens or HTML, so
//! that every output is made from the same one.

/// How a value or a row is known. Of several, the first counts for the whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// Two facts differ, or what was seen is not what was worked out.
    Disagrees,
    /// It was read, but no longer counts.
    Stale,
    /// Nobody has seen it.
    Unknown,
    /// It is intended.
    Planned,
    /// It was carried over or confirmed in bulk: nobody looked at it.
    Unchecked,
    /// Somebody said so, nobody looked.
    Told,
    /// It stands from an earlier job and was not seen on this one.
    Earlier,
    /// It was left so, and looked at.
    Left,
    /// It was seen before anything was touched.
    Found,
}

impl Mark {
    /// All marks, in order.
    pub const ALL: [Self; 9] = [
        Self::Disagrees,
        Self::Stale,
        Self::Unknown,
        Self::Planned,
        Self::Unchecked,
        Self::Told,
        Self::Earlier,
        Self::Left,
        Self::Found,
    ];

    /// The key of its words.
    pub fn key(self) -> &'static str {
        match self {
            Self::Disagrees => "state.disagrees",
            Self::Stale => "state.stale",
            Self::Unknown => "state.unknown",
            Self::Planned => "state.planned",
            Self::Unchecked => "state.unchecked",
            Self::Told => "record.state.told",
            Self::Earlier => "record.state.earlier",
            Self::Found => "state.found",
            Self::Left => "state.left",
        }
    }

    /// Its words.
    pub fn words(self) -> String {
        crate::words::say(self.key(), &[])
    }
}

/// A piece of text with how it is known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Cell {
    /// The text.
    pub text: String,
    /// How it is known; its words follow the text.
    pub mark: Option<Mark>,
    /// Struck out: still readable, counts for nothing.
    pub struck: bool,
}

impl Cell {
    /// Plain text.
    pub fn new(text: impl Into<String>) -> Self {
        Self { text: text.into(), mark: None, struck: false }
    }

    /// Text with how it is known.
    pub fn marked(text: impl Into<String>, mark: Option<Mark>) -> Self {
        Self { text: text.into(), mark, struck: false }
    }

    /// Text that was struck out.
    pub fn struck(text: impl Into<String>) -> Self {
        Self { text: text.into(), mark: None, struck: true }
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::new(text)
    }
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its title.
    pub title: String,
    /// It holds figures, which stand right.
    pub figures: bool,
}

/// A table. The first cell of a row is its heading.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, each with one cell for each column.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// An empty table with columns titled by words under `key.<name>`; a name that ends in `#` holds figures.
    pub fn new(caption: impl Into<String>, key: &str, columns: &[&str]) -> Self {
        let columns = columns.iter().map(|name| {
            let figures = name.ends_with('#');
            let name = name.trim_end_matches('#');
            Column { title: crate::words::say(&format!("{key}.{name}"), &[]), figures }
        });
        Self { caption: caption.into(), columns: columns.collect(), rows: Vec::new() }
    }

    /// Adds a row; missing cells are filled with empty ones, so that a row never runs out of its columns.
    pub fn row(&mut self, mut cells: Vec<Cell>) {
        cells.resize(self.columns.len(), Cell::default());
        self.rows.push(cells);
    }

    /// Leaves out columns in which nothing stands; the first one, which heads the rows, stays.
    fn drop_empty_columns(&mut self) {
        let is_empty = |n: usize| self.rows.iter().all(|row| row.get(n).is_none_or(|cell| *cell == Cell::default()));
        let kept: Vec<bool> = (0..self.columns.len()).map(|n| n == 0 || !is_empty(n)).collect();
        let mut flags = kept.iter().copied();
        self.columns.retain(|_| flags.next().unwrap_or(true));
        for row in &mut self.rows {
            let mut flags = kept.iter().copied();
            row.retain(|_| flags.next().unwrap_or(true));
        }
    }
}

/// How loud a notice is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// A hazard, or something that still stands wrong.
    Hazard,
    /// To be known.
    Caution,
}

/// A notice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// How loud.
    pub weight: Weight,
    /// Its title.
    pub title: String,
    /// Its text.
    pub text: String,
}

/// A label and what stands beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The label.
    pub label: String,
    /// The value.
    pub value: Cell,
}

/// A part of a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// A paragraph.
    Text(Cell),
    /// A list of sentences.
    List(Vec<Cell>),
    /// A list of sentences under a title.
    Titled(String, Vec<Cell>),
    /// Labels with values.
    Entries(Vec<Entry>),
    /// A table.
    Table(Table),
    /// A notice.
    Notice(Notice),
    /// Lines to sign on paper, each with what stands under it.
    Lines(Vec<String>),
}

/// A section, with sections inside.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Section {
    /// Names it within the document; letters, digits and hyphens.
    pub id: String,
    /// Its title.
    pub title: String,
    /// How what it speaks of is known as a whole.
    pub mark: Option<Mark>,
    /// Its parts.
    pub blocks: Vec<Block>,
    /// Sections inside it.
    pub sections: Vec<Section>,
}

impl Section {
    /// An empty section.
    pub fn new(id: impl Into<String>, title: impl Into<String>) -> Self {
        Self { id: id.into(), title: title.into(), ..Self::default() }
    }

    /// Adds a paragraph; an empty one is left out.
    pub fn text(&mut self, text: impl Into<Cell>) {
        let cell = text.into();
        if !cell.text.is_empty() {
            self.blocks.push(Block::Text(cell));
        }
    }

    /// Adds a list; an empty one is left out.
    pub fn list(&mut self, items: Vec<Cell>) {
        if !items.is_empty() {
            self.blocks.push(Block::List(items));
        }
    }

    /// Adds labels with values; none are left out.
    pub fn entries(&mut self, entries: Vec<Entry>) {
        if !entries.is_empty() {
            self.blocks.push(Block::Entries(entries));
        }
    }

    /// Adds a table; one without rows is left out.
    pub fn table(&mut self, mut table: Table) {
        if !table.rows.is_empty() {
            table.drop_empty_columns();
            self.blocks.push(Block::Table(table));
        }
    }

    /// Adds a notice.
    pub fn notice(&mut self, weight: Weight, title: impl Into<String>, text: impl Into<String>) {
        self.blocks.push(Block::Notice(Notice { weight, title: title.into(), text: text.into() }));
    }

    /// Nothing stands in it.
    pub fn is_empty(&self) -> bool {
        self.blocks.is_empty() && self.sections.is_empty()
    }
}

/// A document.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Document {
    /// Its language as a BCP 47 tag.
    pub language: String,
    /// Its title.
    pub title: String,
    /// The line under the title.
    pub subtitle: String,
    /// What stands at the foot of every page.
    pub foot: String,
    /// Its sections.
    pub sections: Vec<Section>,
}
