//! `boxproof verify`: signatures and chains of entries.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use boxproof_core::job::{Author, PersonNote, ThingId, sign::Read};
use boxproof_core::job::{Noted, Notes};
use boxproof_core::log::{Chain, LogError, Salvage, Verified, verify};
use boxproof_core::words::{count, say};
use clap::Args;
use serde::Serialize;

use super::lines::{Sorted, sorted};
use super::{Fault, Status, examples_of, json, lines, site};
use crate::out;

#[derive(Args)]
pub(crate) struct Verify {
    #[arg(help = say("desk.verify.site", &[]))]
    site: PathBuf,
    #[arg(long, help = say("desk.json", &[]))]
    json: bool,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof verify lane", "desk.verify.example.site"),
        ("boxproof verify day.jsonl", "desk.verify.example.lines"),
    ])
}

/// What was found of one site.
#[derive(Serialize)]
struct Found {
    site: Option<ThingId>,
    sound: usize,
    newer: usize,
    /// Numbers of arrival, or of lines, of entries that are not what their author signed.
    wrong: Vec<i64>,
    /// Entries that a signed record stands on and that are not here.
    signed_missing: Vec<String>,
    authors: Vec<Hand>,
    whole: bool,
}

/// One author's chain.
#[derive(Serialize)]
struct Hand {
    author: String,
    person: Option<String>,
    entries: usize,
    last: u32,
    heads: Vec<String>,
    gaps: Vec<(u32, u32)>,
    missing: Vec<String>,
    repeated: Vec<u32>,
    unfit: Vec<String>,
    whole: bool,
}

impl Verify {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let path = site::file(&self.site)?;
        let mut all = Vec::new();
        let mut foreign = 0;
        match site::open(&path).and_then(|mut log| Ok((log.about().id(), log.verify()?, log))) {
            Ok((id, verified, mut log)) => {
                let notes = log.notes(0).map(|read| read.noted).unwrap_or_default();
                all.push(found(Some(id), &verified, notes));
            }
            Err(LogError::Damaged { file, moved_to }) => return self.damaged(&moved_to.unwrap_or(file)),
            Err(LogError::NotOurs { .. }) => {
                let lines = sorted(&mut *lines::of(&path)?);
                if lines.sites.is_empty() && lines.wrong.is_empty() {
                    return Err(LogError::NotOurs { file: path }.into());
                }
                if let Some(why) = &lines.ended {
                    return Err(site::not_read(&path, &std::io::Error::other(why.clone())));
                }
                foreign = lines.foreign;
                all = of_lines(lines);
            }
            Err(error) => return Err(error.into()),
        }
        let whole = foreign == 0 && all.iter().all(|found| found.whole);
        let text = if self.json { json(&all)? } else { words(&path, &all, foreign, whole) };
        out::print(text)?;
        Ok(Status::findings(!whole))
    }

    /// A damaged file is a finding too: it says how much of it can be read.
    fn damaged(&self, path: &Path) -> Result<Status, Fault> {
        let error = LogError::Damaged { file: path.to_owned(), moved_to: None };
        let salvage = Salvage::read(path).map_err(|error| site::not_read(path, &error))?;
        let text = if self.json {
            json(&serde_json::json!({ "damaged": true, "readable": salvage.len() }))?
        } else {
            let readable = count("desk.verify.readable", salvage.len(), &[]);
            format!("{} {readable}\n", Fault::from(error))
        };
        out::print(text)?;
        Ok(Status::Findings)
    }
}

fn of_lines(lines: Sorted) -> Vec<Found> {
    let mut wrong: Vec<i64> = lines.wrong.into_iter().filter_map(|n| i64::try_from(n).ok()).collect();
    let mut all = Vec::new();
    for (site, reads) in lines.sites {
        // Which site a spoilt line is of nobody can say: they are told with the first.
        let verified = Verified { wrong: std::mem::take(&mut wrong), ..verify(&reads) };
        let noted = reads.into_iter().filter_map(|read| match read {
            Read::Known(noted) => Some(noted),
            Read::Newer(_) => None,
        });
        all.push(found(Some(site), &verified, noted.collect()));
    }
    if !wrong.is_empty() {
        all.push(found(None, &Verified { wrong, ..Verified::default() }, Vec::new()));
    }
    all
}

fn found(site: Option<ThingId>, verified: &Verified, noted: Vec<Noted>) -> Found {
    let people = people(&Notes::fold(noted));
    let hand = |(author, chain): (&Author, &Chain)| Hand {
        author: author.to_string(),
        person: people.get(author).cloned(),
        entries: chain.entries,
        last: chain.last,
        heads: chain.heads.iter().map(ToString::to_string).collect(),
        gaps: chain.gaps.clone(),
        missing: chain.missing.iter().map(ToString::to_string).collect(),
        repeated: chain.repeated.keys().copied().collect(),
        unfit: chain.unfit.iter().map(ToString::to_string).collect(),
        whole: chain.is_whole(),
    };
    Found {
        site,
        sound: verified.sound,
        newer: verified.newer,
        wrong: verified.wrong.clone(),
        signed_missing: verified.signed_missing.iter().map(ToString::to_string).collect(),
        authors: verified.chains.iter().map(hand).collect(),
        whole: verified.is_whole(),
    }
}

/// Who an author is, as the entries themselves say: the person of the author's visits.
fn people(notes: &Notes) -> BTreeMap<Author, String> {
    let visits = notes.visits().into_iter();
    visits.filter_map(|visit| Some((visit.author, PersonNote::read(notes, visit.person).name.get()?.clone()))).collect()
}

fn words(path: &Path, all: &[Found], foreign: usize, whole: bool) -> String {
    let key = if whole { "desk.verify.whole" } else { "desk.verify.not_whole" };
    let mut lines = vec![say(key, &[("path", &path.display().to_string())])];
    if foreign > 0 {
        lines.push(count("desk.verify.foreign", foreign, &[]));
    }
    for found in all {
        lines.extend(found.site.map(|site| say("desk.verify.of_site", &[("site", &site.to_string())])));
        lines.push(count("desk.verify.sound", found.sound, &[]));
        if found.newer > 0 {
            lines.push(count("desk.newer", found.newer, &[]));
        }
        for n in &found.wrong {
            lines.push(say("desk.verify.wrong", &[("n", &n.to_string())]));
        }
        for hash in &found.signed_missing {
            lines.push(say("desk.verify.signed_missing", &[("hash", hash)]));
        }
        for hand in &found.authors {
            hand_words(hand, &mut lines);
        }
    }
    lines.push(say("desk.verify.limit", &[]));
    lines.push(String::new());
    lines.join("\n")
}

fn hand_words(hand: &Hand, lines: &mut Vec<String>) {
    let person = hand.person.clone().unwrap_or_else(|| say("desk.verify.nobody", &[]));
    lines.push(say("desk.verify.author", &[("author", &hand.author), ("person", &person)]));
    let last = hand.last.to_string();
    lines.push(format!("  {}", count("desk.verify.entries", hand.entries, &[("last", &last)])));
    let mut add = |key: &str, slot: &str, value: &str| lines.push(format!("  {}", say(key, &[(slot, value)])));
    for (first, last) in &hand.gaps {
        let stretch = if first == last { first.to_string() } else { format!("{first} – {last}") };
        add("desk.verify.gap", "numbers", &stretch);
    }
    for number in &hand.repeated {
        add("desk.verify.repeated", "n", &number.to_string());
    }
    for hash in &hand.missing {
        add("desk.verify.missing", "hash", hash);
    }
    for hash in &hand.unfit {
        add("desk.verify.unfit", "hash", hash);
    }
    for hash in &hand.heads {
        add("desk.verify.head", "hash", hash);
    }
}
