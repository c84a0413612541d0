//! One line of an exchange file, exactly
//!
//! ```text
//! {"sig":"<128 lower-case hexadecimal digits>","entry":<the body's bytes as signed>}
//! ```
//!
//! The body stands verbatim, so that any language can cut it out by position: it begins at byte 146, counted from 0,
//! and ends before the last brace. A line ends with one line feed; a carriage return before it is overlooked.

use std::io::{self, BufRead, Write};

use crate::job::Signed;
use crate::job::id::from_hex;
use crate::job::sign::MOST_BYTES;

const BEFORE_SIG: &str = r#"{"sig":""#;
const BEFORE_BODY: &str = r#"","entry":"#;
const SIG_DIGITS: usize = 128;

/// Where the body begins in a line.
pub const BODY_AT: usize = BEFORE_SIG.len() + SIG_DIGITS + BEFORE_BODY.len();

/// Most bytes of a line without its line feed.
pub const MOST_LINE: usize = BODY_AT + MOST_BYTES + 1;

/// What a line was found to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Line {
    /// Nothing.
    Empty,
    /// The form of an entry; the signature is not looked at here.
    Entry(Signed),
    /// It begins like one of our lines and is not whole.
    Damaged,
    /// Longer than any line of ours.
    TooLong,
    /// Something else.
    NotOurs,
}

/// Writes one line with its line feed.
pub fn write(signed: &Signed, to: &mut impl Write) -> io::Result<()> {
    to.write_all(BEFORE_SIG.as_bytes())?;
    for byte in signed.signature {
        write!(to, "{byte:02x}")?;
    }
    to.write_all(BEFORE_BODY.as_bytes())?;
    to.write_all(signed.body.as_bytes())?;
    to.write_all(b"}\n")
}

/// Reads one line without its line feed.
pub fn parse(bytes: &[u8]) -> Line {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let bytes = bytes.strip_suffix(b"\r").unwrap_or(bytes);
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Line::Empty;
    }
    if bytes.len() > MOST_LINE {
        return Line::TooLong;
    }
    if !bytes.starts_with(BEFORE_SIG.as_bytes()) {
        return Line::NotOurs;
    }
    std::str::from_utf8(bytes).ok().and_then(cut).map_or(Line::Damaged, Line::Entry)
}

/// Cuts a line into signature and body.
fn cut(line: &str) -> Option<Signed> {
    let rest = line.strip_prefix(BEFORE_SIG)?;
    let signature = from_hex(rest.get(..SIG_DIGITS)?)?;
    let body = rest.get(SIG_DIGITS..)?.strip_prefix(BEFORE_BODY)?.strip_suffix('}')?;
    Some(Signed { body: body.into(), signature })
}

/// Reads the next line into `line`, without its line feed, keeping at most a little more than [`MOST_LINE`] bytes of
/// it. `false` at the end of the input.
pub fn next(from: &mut impl BufRead, line: &mut Vec<u8>) -> io::Result<bool> {
    line.clear();
    let mut any = false;
    loop {
        let chunk = match from.fill_buf() {
            Ok(chunk) => chunk,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        if chunk.is_empty() {
            return Ok(any);
        }
        any = true;
        let end = chunk.iter().position(|byte| *byte == b'\n');
        let part = chunk.get(..end.unwrap_or(chunk.len())).unwrap_or_default();
        // A file without line feeds must not fill the memory; what is left out makes the line too long anyway.
        let room = (MOST_LINE + 8).saturating_sub(line.len());
        line.extend_from_slice(part.get(..room.min(part.len())).unwrap_or_default());
        let used = part.len() + usize::from(end.is_some());
        from.consume(used);
        if end.is_some() {
            return Ok(true);
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_line_is_what_the_page_says() {
        let signed = Signed { body: r#"{"v":1,"e":"é"}"#.into(), signature: [0xa5; 64] };
        let mut line = Vec::new();
        write(&signed, &mut line).unwrap();
        let expected = format!("{{\"sig\":\"{}\",\"entry\":{{\"v\":1,\"e\":\"é\"}}}}\n", "a5".repeat(64));
        assert_eq!(String::from_utf8(line.clone()).unwrap(), expected);
        assert_eq!(BODY_AT, 146);
        assert_eq!(&line[BODY_AT..line.len() - 2], signed.body.as_bytes());
        line.pop();
        assert_eq!(parse(&line), Line::Entry(signed.clone()));
        assert_eq!(parse(&[&line[..], b"\r"].concat()), Line::Entry(signed));
        for cut in 1..line.len() - 1 {
            let half = parse(&line[..cut]);
            let wanted = if cut < BEFORE_SIG.len() { Line::NotOurs } else { Line::Damaged };
            // A body cut just after an inner brace has the form of a whole line; its signature will not fit.
            assert!(half == wanted || matches!(half, Line::Entry(_)), "{cut}");
        }
    }

    #[test]
    fn what_is_no_line_of_ours_is_told_apart() {
        let cases: [(&[u8], Line); 6] = [
            (b"", Line::Empty),
            (b" \t\r", Line::Empty),
            (b"SQLite format 3\0", Line::NotOurs),
            (b"{\"sig\":\"00\",\"entry\":{}}", Line::Damaged),
            (b"{\"sig\":\"\xff\xfe", Line::Damaged),
            (&vec![b'x'; MOST_LINE + 1], Line::TooLong),
        ];
        for (bytes, wanted) in cases {
            assert_eq!(parse(bytes), wanted);
        }
    }

    #[test]
    fn a_line_without_end_is_skipped_and_the_next_one_read() {
        let long = [vec![b'{'; 3 * MOST_LINE], b"\nnext".to_vec()].concat();
        let mut from = io::BufReader::new(&long[..]);
        let mut line = Vec::new();
        assert!(next(&mut from, &mut line).unwrap());
        assert!(line.len() <= MOST_LINE + 8);
        assert_eq!(parse(&line), Line::TooLong);
        assert!(next(&mut from, &mut line).unwrap());
        assert_eq!(line, b"next");
        assert!(!next(&mut from, &mut line).unwrap());
    }

    proptest! {
        #[test]
        fn any_bytes_are_read_as_something(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
            let line = parse(&bytes);
            let looks_like_text = bytes.starts_with(b"{\"sig\":\"");
            prop_assert!(looks_like_text || !matches!(line, Line::Entry(_)));
        }
    }
}
