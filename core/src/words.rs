//! Words for people. They live in one flat file per language under `shared/words/`, a line each, so that a second
//! language is a file: `key = text`, with `{name}` for what is filled in.

use std::collections::BTreeMap;
use std::sync::OnceLock;

const ENGLISH: &str = include_str!("../../shared/words/en.txt");

/// The words of one language.
pub struct Words {
    lines: BTreeMap<&'static str, &'static str>,
}

impl Words {
    fn read(text: &'static str) -> Self {
        let lines = text
            .lines()
            .filter(|line| !line.starts_with('#'))
            .filter_map(|line| line.split_once(" = "))
            .map(|(key, words)| (key.trim(), words.trim()))
            .collect();
        Self { lines }
    }

    /// The words under `key`, if there are any.
    pub fn find(&self, key: &str) -> Option<&'static str> {
        self.lines.get(key).copied()
    }

    /// All keys in order, for the tests of the words file.
    pub fn keys(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.lines.keys().copied()
    }
}

/// English, the first language.
pub fn english() -> &'static Words {
    static WORDS: OnceLock<Words> = OnceLock::new();
    WORDS.get_or_init(|| Words::read(ENGLISH))
}

/// The words under `key` with `{name}` filled in. A missing key shows itself, so that it is seen and mended;
/// the tests refuse it before that.
pub fn say(key: &str, fill: &[(&str, &str)]) -> String {
    let Some(text) = english().find(key) else {
        return key.to_owned();
    };
    let mut out = String::with_capacity(text.len() + 16);
    let mut rest = text;
    while let Some(start) = rest.find('{') {
        let (before, after) = rest.split_at(start);
        out.push_str(before);
        let Some(end) = after.find('}') else {
            rest = after;
            break;
        };
        let name = after.get(1..end).unwrap_or_default();
        match fill.iter().find(|(slot, _)| *slot == name) {
            Some((_, value)) => out.push_str(value),
            None => out.push_str(after.get(..=end).unwrap_or_default()),
        }
        rest = after.get(end + 1..).unwrap_or_default();
    }
    out.push_str(rest);
    out
}

/// The words for a count: `key.one` for one, `key.many` otherwise, with `{n}` filled in beside `fill`.
pub fn count(key: &str, n: usize, fill: &[(&str, &str)]) -> String {
    let form = if n == 1 { "one" } else { "many" };
    let number = n.to_string();
    let mut all = vec![("n", number.as_str())];
    all.extend_from_slice(fill);
    say(&format!("{key}.{form}"), &all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slots_are_filled_and_text_is_never_read_as_slots() {
        assert_eq!(say("no such key", &[]), "no such key");
        assert_eq!(say("state.found", &[]), "as found");
        assert_eq!(count("words.boxes", 1, &[]), "1 box");
        assert_eq!(count("words.boxes", 3, &[]), "3 boxes");
    }

    #[test]
    fn every_line_is_a_key_and_words_and_no_key_stands_twice() {
        let mut seen = std::collections::BTreeSet::new();
        for line in ENGLISH.lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
            let (key, _) = line.split_once(" = ").unwrap_or_else(|| panic!("not a line of words: {line}"));
            assert!(seen.insert(key), "twice: {key}");
        }
    }

    #[test]
    fn words_are_spelt_as_readers_of_the_nec_spell_them() {
        let elsewhere = [
            "colour",
            "licence",
            "alumini",
            "metre",
            "grey",
            "labelled",
            "centre",
            "catalogue",
            "neighbour",
            "energise",
        ];
        for (key, text) in &english().lines {
            // A slot's name is code.
            let words = text.split(['{', '}']).step_by(2).collect::<String>().to_lowercase();
            assert!(!elsewhere.iter().any(|word| words.contains(word)), "{key} = {text}");
        }
    }

    #[test]
    fn nothing_promises_what_nobody_can() {
        for text in english().lines.values() {
            let lower = text.to_lowercase();
            assert!(!lower.split(|c: char| !c.is_alphabetic()).any(|word| word == "safe"), "{text}");
        }
    }
}
