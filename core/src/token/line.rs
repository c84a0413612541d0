//! The text form of addresses and events: a verb, words, and `name=value` fields; texts with spaces in quotes.
//! It is what tokens are made of, and what the demo script is written in.
//!
//! ```text
//! run kind=nm-14-2 at=B3/D to=B5/A length="14 ft" layer=planned
//! ```

use std::collections::BTreeMap;
use std::fmt::{self, Write as _};
use std::str::FromStr;

/// Longest text that is read: far more than any event needs.
const MOST_BYTES: usize = 64 * 1024;

/// A verb with its words and fields.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Line {
    /// The first word.
    pub verb: String,
    /// The other words, in order.
    pub words: Vec<String>,
    /// The named values.
    pub fields: BTreeMap<String, String>,
}

/// Why a text is not a line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotALine {
    /// Nothing is there.
    #[error("nothing is written there")]
    Empty,
    /// A quote is not closed.
    #[error("a quotation mark is missing")]
    OpenQuote,
    /// A name stands twice.
    #[error("{0} is given twice")]
    Twice(String),
    /// Too long to be meant.
    #[error("it is too long")]
    TooLong,
}

impl Line {
    /// A line with a verb alone.
    pub fn new(verb: &str) -> Self {
        Self { verb: verb.to_owned(), ..Self::default() }
    }

    /// The line with one more word.
    #[allow(clippy::needless_pass_by_value, reason = "reads better where a line is built from literals and names")]
    pub fn word(mut self, word: impl ToString) -> Self {
        self.words.push(word.to_string());
        self
    }

    /// The line with one more field.
    #[allow(clippy::needless_pass_by_value, reason = "reads better where a line is built from literals and names")]
    pub fn with(mut self, name: &str, value: impl ToString) -> Self {
        self.fields.insert(name.to_owned(), value.to_string());
        self
    }

    /// The line with a field if there is a value for it.
    pub fn with_some(self, name: &str, value: Option<impl ToString>) -> Self {
        match value {
            Some(value) => self.with(name, value),
            None => self,
        }
    }

    /// A field's value.
    pub fn field(&self, name: &str) -> Option<&str> {
        self.fields.get(name).map(String::as_str)
    }
}

/// One token of the text: a bare word, or a field.
enum Piece {
    Word(String),
    Field(String, String),
}

struct Reader<'a> {
    rest: std::iter::Peekable<std::str::Chars<'a>>,
}

impl Reader<'_> {
    fn quoted(&mut self) -> Result<String, NotALine> {
        let mut text = String::new();
        loop {
            match self.rest.next().ok_or(NotALine::OpenQuote)? {
                '"' => return Ok(text),
                '\\' => match self.rest.next().ok_or(NotALine::OpenQuote)? {
                    'n' => text.push('\n'),
                    other => text.push(other),
                },
                other => text.push(other),
            }
        }
    }

    fn piece(&mut self) -> Result<Option<Piece>, NotALine> {
        while self.rest.next_if(|c| c.is_whitespace()).is_some() {}
        match self.rest.peek() {
            None => return Ok(None),
            Some('"') => {
                self.rest.next();
                return Ok(Some(Piece::Word(self.quoted()?)));
            }
            Some(_) => {}
        }
        let mut name = String::new();
        while let Some(c) = self.rest.next_if(|c| !c.is_whitespace()) {
            // Only a plain name makes a field, so that paths with signs in them stay words.
            let plain = !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c == '_');
            if c == '=' && plain {
                let value = if self.rest.next_if_eq(&'"').is_some() {
                    self.quoted()?
                } else {
                    std::iter::from_fn(|| self.rest.next_if(|c| !c.is_whitespace())).collect()
                };
                return Ok(Some(Piece::Field(name, value)));
            }
            name.push(c);
        }
        Ok(Some(Piece::Word(name)))
    }
}

impl FromStr for Line {
    type Err = NotALine;
    fn from_str(text: &str) -> Result<Self, NotALine> {
        if text.len() > MOST_BYTES {
            return Err(NotALine::TooLong);
        }
        let mut reader = Reader { rest: text.chars().peekable() };
        let mut line = Self::default();
        while let Some(piece) = reader.piece()? {
            match piece {
                Piece::Word(word) if line.verb.is_empty() => line.verb = word,
                Piece::Word(word) => line.words.push(word),
                Piece::Field(name, value) => {
                    if line.fields.insert(name.clone(), value).is_some() {
                        return Err(NotALine::Twice(name));
                    }
                }
            }
        }
        if line.verb.is_empty() { Err(NotALine::Empty) } else { Ok(line) }
    }
}

/// Writes a value bare if it reads back the same, else in quotes.
fn write_value(f: &mut fmt::Formatter<'_>, value: &str, is_word: bool) -> fmt::Result {
    let quoted = value.is_empty()
        || value.contains(|c: char| c.is_whitespace() || c == '"' || c == '\\')
        || (is_word && value.contains('='));
    if !quoted {
        return f.write_str(value);
    }
    f.write_char('"')?;
    for c in value.chars() {
        match c {
            '"' | '\\' => write!(f, "\\{c}")?,
            '\n' => f.write_str("\\n")?,
            other => f.write_char(other)?,
        }
    }
    f.write_char('"')
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_value(f, &self.verb, true)?;
        for word in &self.words {
            f.write_char(' ')?;
            write_value(f, word, true)?;
        }
        for (name, value) in &self.fields {
            write!(f, " {name}=")?;
            write_value(f, value, false)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_line_reads_as_it_is_meant() {
        let line: Line = r#"run "two words" B3/A length="14 ft" note="a \"b\" \\" at=B3/A"#.parse().unwrap();
        assert_eq!((line.verb.as_str(), line.words.len()), ("run", 2));
        assert_eq!(line.field("length"), Some("14 ft"));
        assert_eq!(line.field("note"), Some(r#"a "b" \"#));
        assert_eq!("".parse::<Line>(), Err(NotALine::Empty));
        assert_eq!("a b=\"c".parse::<Line>(), Err(NotALine::OpenQuote));
        assert_eq!("a b=1 b=2".parse::<Line>(), Err(NotALine::Twice("b".into())));
        assert_eq!("x".repeat(70_000).parse::<Line>(), Err(NotALine::TooLong));
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(
            verb in "[a-z]{1,8}",
            words in proptest::collection::vec(".{0,12}", 0..4),
            fields in proptest::collection::btree_map("[a-z_]{1,6}", ".{0,12}", 0..4),
        ) {
            let line = Line { verb, words, fields };
            prop_assert_eq!(line.to_string().parse::<Line>(), Ok(line));
        }

        #[test]
        fn no_text_makes_it_panic(text in ".{0,200}") {
            let _ = text.parse::<Line>();
        }
    }
}
