//! What the record is and is not, and who signed: each author's key, how many entries it wrote and the hash of its
//! last one, so that the office can see that nothing was taken out.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::notes::Kept;
use crate::job::{Author, Fact, Happening, Hash, Notes, Stamp, Target};
use crate::words::{count, say};

use super::day::{Day, short};
use super::document::{Block, Section, Table, Weight};
use super::name::listed;

/// What this record is, and who decides.
pub(super) fn what_this_is() -> Section {
    let mut part = Section::new("what-this-is", say("record.what", &[]));
    part.notice(Weight::Caution, say("record.what.is", &[]), say("record.what.decides", &[]));
    part.text(say("record.what.worked_out", &[]));
    part.text(say("record.what.marks", &[]));
    part
}

/// One author's chain of entries.
struct Chain {
    entries: usize,
    numbers: BTreeSet<u32>,
    last: (u32, Hash),
}

fn chains(notes: &Notes) -> BTreeMap<Author, Chain> {
    let mut chains: BTreeMap<Author, Chain> = BTreeMap::new();
    for (stamp, kept) in notes.entries() {
        let hash = kept.noted.hash;
        let chain = chains.entry(stamp.author).or_insert_with(|| Chain {
            entries: 0,
            numbers: BTreeSet::new(),
            last: (stamp.seq, hash),
        });
        chain.entries += 1;
        chain.numbers.insert(stamp.seq);
        chain.last = chain.last.max((stamp.seq, hash));
    }
    chains
}

impl Chain {
    /// Numbers up to the last that are not here.
    fn missing(&self) -> usize {
        usize::try_from(self.last.0).unwrap_or(usize::MAX).saturating_sub(self.numbers.len())
    }

    /// Two entries claim one number: the chain was continued twice.
    fn forked(&self) -> bool {
        self.numbers.len() < self.entries
    }
}

/// Signatures.
pub(super) fn section(day: &Day<'_>, later: Option<(&Notes, Stamp)>) -> Section {
    let mut part = Section::new("signatures", say("record.hands", &[]));
    part.table(signatures(day));
    if part.is_empty() {
        part.text(say("record.hands.unsigned", &[]));
    }
    let columns = ["person", "entries#", "numbers", "key", "head"];
    let mut table = Table::new(say("record.hands.chains", &[]), "record.hands", &columns);
    for (author, chain) in chains(day.notes) {
        let (missing, last) = (chain.missing(), chain.last.0.to_string());
        let run = say("record.hands.run", &[("last", &last)]);
        let missing = if missing == 0 { String::new() } else { count("record.hands.missing", missing, &[]) };
        let forked = if chain.forked() { say("record.hands.forked", &[]) } else { String::new() };
        table.row(vec![
            day.who_has(author).into(),
            chain.entries.to_string().into(),
            listed([run, missing, forked]).into(),
            grouped(&author.to_string()).into(),
            grouped(&chain.last.1.to_string()).into(),
        ]);
    }
    part.table(table);
    part.text(say("record.hands.how", &[]));
    if let Some((notes, end)) = later {
        part.text(since(day, notes, end));
    }
    let people = day.people().into_iter().map(|person| say("record.hands.line", &[("person", &person)]));
    let mut lines: Vec<String> = people.collect();
    lines.push(say("record.hands.received", &[]));
    part.blocks.push(Block::Lines(lines));
    part
}

/// What was noted after the span, and how much of it strikes something that is shown here.
fn since(day: &Day<'_>, notes: &Notes, end: Stamp) -> String {
    let after: Vec<&Kept> = notes.entries().filter(|(stamp, _)| **stamp > end).map(|(_, kept)| kept).collect();
    let strikes = |kept: &&&Kept| {
        kept.noted.entry.facts.iter().any(|fact| match fact {
            Fact::Strike(strike) => match &strike.what {
                Target::Entry(hash) => day.has(hash),
                Target::Fact(fact) => day.has(&fact.entry),
                Target::Thing(_) => true,
            },
            Fact::Set(_) | Fact::Add(_) | Fact::Same(_) | Fact::Newer(_) => false,
        })
    };
    let striking = after.iter().filter(strikes).count();
    let later = count("record.hands.later", after.len(), &[]);
    if striking == 0 { later } else { format!("{later} {}", count("record.hands.later_strikes", striking, &[])) }
}

/// Each signing with the heads that it was over.
fn signatures(day: &Day<'_>) -> Table {
    let columns = ["person", "time", "over", "after#"];
    let mut table = Table::new(say("record.signed", &[]), "record.signed", &columns);
    for happened in &day.happened {
        let Happening::Signed { heads } = &happened.what else { continue };
        let over = heads.iter().map(|(author, hash)| {
            let (by, hash) = (day.who_has(*author), short(&hash.to_string()));
            say("record.signed.head", &[("by", &by), ("hash", &hash)])
        });
        let after = day.notes.entries().filter(|(stamp, _)| **stamp > happened.stamp).count();
        table.row(vec![
            day.who(&happened.fact.entry).into(),
            day.time(happened.wall).into(),
            listed(over).into(),
            after.to_string().into(),
        ]);
    }
    table
}

/// A key or hash in groups that can be compared by eye and broken at the end of a line.
fn grouped(digits: &str) -> String {
    let letters: Vec<char> = digits.chars().collect();
    letters.chunks(8).map(|chunk| chunk.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

/// The foot of every page: what it is of, how many entries it stands on, and the hash of the last.
pub(super) fn foot(day: &Day<'_>) -> String {
    let last = day.notes.entries().next_back().map(|(_, kept)| short(&kept.noted.hash.to_string()));
    let entries = count("record.foot.entries", day.kept.len(), &[]);
    say("record.foot", &[("span", &day.span_words()), ("entries", &entries), ("hash", &last.unwrap_or_default())])
}
