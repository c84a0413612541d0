//! Plays a script of events through the notebook, as a shell would send them. The demo job is such a script.
//!
//! A line is an event as in [`super::line`], with a clock time before it: `08:52 off P:7 held=lock`. Lines that
//! begin with one of these words steer the playing instead:
//!
//! ```text
//! day 2026-05-12 -05:00     the date of the following clock times, and the offset from UTC
//! hand tolliver             whose notebook the following events are sent from
//! layer planned             the layer of the following events that name none
//! stop morning              where a playing may end
//! ```
//!
//! Everything is a function of the script: its clock and its random bytes too, so that two playings make the same
//! bytes.

use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use sha2::{Digest, Sha256};

use crate::job::{ThingId, Wall};

use super::line::Line;
use super::{Notebook, Outside, Refusal, Sent};

/// Why a script did not play to its end.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {text}: {why}")]
pub struct ScriptFault {
    /// The line, from 1.
    pub line: usize,
    /// The line's text.
    pub text: String,
    /// What was wrong.
    pub why: String,
}

/// What a playing came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Played {
    /// The site.
    pub site: ThingId,
    /// Events sent.
    pub events: usize,
    /// Whose hand sent the last ones.
    pub hand: String,
}

/// A clock and a source of bytes that follow the script.
struct Pace {
    now: Mutex<Wall>,
    drawn: Mutex<u64>,
}

impl Outside for Pace {
    fn now(&self) -> Wall {
        *self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn random(&self) -> [u8; 16] {
        let mut drawn = self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
        *drawn += 1;
        let hash: [u8; 32] = Sha256::digest(drawn.to_be_bytes()).into();
        std::array::from_fn(|n| hash.get(n).copied().unwrap_or_default())
    }
}

/// The 32 secret bytes of a script's hand. Anybody can work them out: they sign invented jobs alone.
pub fn seed(hand: &str) -> [u8; 32] {
    Sha256::digest(format!("a hand in a script: {hand}")).into()
}

struct Player<'a> {
    folder: &'a Path,
    pace: Arc<Pace>,
    book: Option<Notebook>,
    layer: String,
    day: String,
    offset: String,
    site: Option<ThingId>,
    events: usize,
    hand: String,
}

/// Plays `script` into the notebook in `folder`, up to the line `stop` with the given name, or to its end.
pub fn play(script: &str, folder: &Path, until: Option<&str>) -> Result<Played, ScriptFault> {
    play_seen(script, folder, until, &mut |_, _| {})
}

/// The same; `seen` is told before each line how many lines are behind it, and how many there are in all.
pub fn play_seen(
    script: &str,
    folder: &Path,
    until: Option<&str>,
    seen: &mut dyn FnMut(usize, usize),
) -> Result<Played, ScriptFault> {
    let start = Wall { utc_ms: 0, offset_min: 0 };
    let pace = Arc::new(Pace { now: Mutex::new(start), drawn: Mutex::new(0) });
    let mut player = Player {
        folder,
        pace,
        book: None,
        layer: String::new(),
        day: String::new(),
        offset: "Z".to_owned(),
        site: None,
        events: 0,
        hand: String::new(),
    };
    let lines = script.lines().count();
    for (n, text) in script.lines().enumerate() {
        seen(n, lines);
        let text = text.trim();
        if text.is_empty() || text.starts_with('#') {
            continue;
        }
        let fault = |why: String| ScriptFault { line: n + 1, text: text.to_owned(), why };
        let line: Line = text.parse().map_err(|error: super::line::NotALine| fault(error.to_string()))?;
        if line.verb == "stop" && line.words.first().map(String::as_str) == until {
            break;
        }
        player.step(line).map_err(|refusal| fault(refusal.to_string()))?;
    }
    match player.site {
        Some(site) => Ok(Played { site, events: player.events, hand: player.hand }),
        None => Err(ScriptFault { line: 0, text: String::new(), why: "no site was noted".to_owned() }),
    }
}

impl Player<'_> {
    fn step(&mut self, mut line: Line) -> Result<(), Refusal> {
        let first = line.words.first().cloned().unwrap_or_default();
        match line.verb.as_str() {
            "day" => {
                self.day = first;
                self.offset = line.words.get(1).cloned().unwrap_or_else(|| "Z".to_owned());
                return self.clock("00:00");
            }
            "hand" => {
                self.book = Some(Notebook::open(self.folder, seed(&first), self.pace.clone())?);
                self.hand = first;
                return Ok(());
            }
            "layer" => {
                self.layer = first;
                return Ok(());
            }
            "stop" => return Ok(()),
            time if time.len() == 5 && time.as_bytes().get(2) == Some(&b':') => {
                self.clock(time)?;
                if line.words.is_empty() {
                    return Ok(());
                }
                line.verb = line.words.remove(0);
            }
            _ => {}
        }
        if line.verb == "answers" { self.answers(&line) } else { self.send(line) }
    }

    fn clock(&mut self, time: &str) -> Result<(), Refusal> {
        let text = format!("{}T{time}:00{}", self.day, self.offset);
        let at: Wall = text.parse().map_err(|error: crate::job::NotRead| Refusal::Input(error.to_string()))?;
        *self.pace.now.lock().unwrap_or_else(PoisonError::into_inner) = at;
        Ok(())
    }

    fn book(&self) -> Result<&Notebook, Refusal> {
        self.book.as_ref().ok_or_else(|| Refusal::Input("no hand is named before this line".to_owned()))
    }

    fn send(&mut self, line: Line) -> Result<(), Refusal> {
        let fills_a_layer = !self.layer.is_empty() && line.field("layer").is_none() && line.verb != "site";
        let line = if fills_a_layer { line.with("layer", &self.layer) } else { line };
        let line = match self.site {
            Some(site) => line.with("site", site).with("then", Line::new("job").with("site", site)),
            None => line,
        };
        let book = self.book()?;
        let drawn = match self.site {
            Some(site) => book.revision(site)?,
            None => book.sites()?.len() as u64,
        };
        let screen = book.send(&Sent { token: line.to_string(), input: None, drawn })?;
        if line.verb == "site" {
            let address: Line = screen.address.parse().unwrap_or_default();
            self.site = address.field("site").and_then(|site| site.parse().ok());
        }
        self.events += 1;
        Ok(())
    }

    /// `answers B3 with=M2 mode=ac_low 0.0 0.1`: answers every pair of the check that was asked last in that box,
    /// with these figures in turn, one event each, until nothing is left to answer.
    fn answers(&mut self, line: &Line) -> Result<(), Refusal> {
        let Some((place, figures)) = line.words.split_first() else {
            return Err(Refusal::Input("which box, and which figures?".to_owned()));
        };
        for figure in figures.iter().cycle() {
            let left = self.book()?.left_to_answer(self.site, place)?;
            if left == 0 {
                break;
            }
            let mut next = Line { verb: "answer".to_owned(), words: vec![place.clone()], fields: line.fields.clone() };
            next = next.with("value", figure);
            self.send(next)?;
            if self.book()?.left_to_answer(self.site, place)? >= left {
                return Err(Refusal::Input("an answer left as many pairs open as before".to_owned()));
            }
        }
        Ok(())
    }
}
