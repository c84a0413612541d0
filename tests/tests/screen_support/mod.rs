//! A thumb: it presses only what a screen shows, by the words that a person reads.

#![allow(dead_code, reason = "each test that shares this file uses a part of it")]

use std::fmt::Write as _;
use std::sync::{Arc, Mutex};

use boxproof_core::app::script::{play, seed};
use boxproof_core::app::{Notebook, Outside, Refusal, Sent};
use boxproof_core::job::Wall;
use boxproof_core::screen::{Body, Pick, Row, Screen};
use tempfile::TempDir;

/// Minutes of a day.
const DAY: i64 = 24 * 60;
/// The clock begins at 08:41.
const FIRST_CLOCK: i64 = 8 * 60 + 41;

/// A clock that a test moves on and bytes that are never twice the same.
#[derive(Default)]
pub(crate) struct Clockwork {
    minutes: Mutex<i64>,
    drawn: Mutex<u64>,
    /// Tells the bytes of one phone from those of another.
    phone: u8,
}

impl Outside for Clockwork {
    fn now(&self) -> Wall {
        // 2026-05-12 08:41 at five hours behind UTC.
        Wall { utc_ms: 1_778_593_260_000 + 60_000 * *self.minutes.lock().unwrap(), offset_min: -300 }
    }

    fn random(&self) -> [u8; 16] {
        let mut drawn = self.drawn.lock().unwrap();
        *drawn += 1;
        let mut bytes = [7 + self.phone; 16];
        bytes[..8].copy_from_slice(&drawn.to_be_bytes());
        bytes
    }
}

/// A notebook in an empty folder, with the screen that is shown.
pub(crate) struct Thumb {
    pub(crate) notebook: Notebook,
    pub(crate) screen: Screen,
    /// Every screen that an act has led to: one for each act.
    pub(crate) reached: Vec<Screen>,
    /// The first word of every token that was sent: `go`, or the verb of an event.
    pub(crate) sent: Vec<String>,
    clock: Arc<Clockwork>,
    _folder: Option<TempDir>,
}

impl Thumb {
    /// An empty notebook, at the list of sites.
    pub(crate) fn new() -> Self {
        Self::of_phone(0)
    }

    /// An empty notebook on one of several phones: another key, other random bytes.
    pub(crate) fn of_phone(phone: u8) -> Self {
        Self::open(tempfile::tempdir().unwrap(), [3 + phone; 32], phone)
    }

    /// The demo job as its person holds it at one of its moments, at the front page.
    pub(crate) fn of_demo(moment: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let script = include_str!("../../../shared/demo/lantern-lane.txt");
        let played = play(script, folder.path(), Some(moment)).unwrap_or_else(|fault| panic!("{fault}"));
        let mut thumb = Self::open(folder, seed("tolliver"), 0);
        thumb.screen = thumb.notebook.screen(&format!("job site={}", played.site)).unwrap();
        thumb
    }

    fn open(folder: TempDir, key: [u8; 32], phone: u8) -> Self {
        let clock = Arc::new(Clockwork { phone, ..Clockwork::default() });
        let notebook = Notebook::open(folder.path(), key, clock.clone()).unwrap();
        let screen = notebook.screen("").unwrap();
        Self { notebook, screen, reached: Vec::new(), sent: Vec::new(), clock, _folder: Some(folder) }
    }

    /// Takes in the entries of a file, from the list of sites.
    pub(crate) fn take_in(&mut self, path: &str) {
        self.screen = self.notebook.screen("").unwrap();
        self.press_and_type("Take a job file in", path);
    }

    /// Lets minutes go by.
    pub(crate) fn wait(&self, minutes: i64) {
        *self.clock.minutes.lock().unwrap() += minutes;
    }

    /// Sets the clock: `08:41`, on the day that it is.
    pub(crate) fn at(&mut self, clock: &str) {
        let (hours, minutes) = clock.split_once(':').unwrap();
        let now: i64 = hours.parse::<i64>().unwrap() * 60 + minutes.parse::<i64>().unwrap();
        let day = (*self.clock.minutes.lock().unwrap() + FIRST_CLOCK).div_euclid(DAY);
        *self.clock.minutes.lock().unwrap() = day * DAY + now - FIRST_CLOCK;
    }

    /// Sets the day: `-755`, so many days from the first one; its clock stands at midnight.
    pub(crate) fn on_day(&mut self, days: &str) {
        *self.clock.minutes.lock().unwrap() = days.parse::<i64>().unwrap() * DAY - FIRST_CLOCK;
    }

    /// Sends a token as the shell would, from the screen that is shown.
    pub(crate) fn try_send(&mut self, token: &str, input: Option<&str>) -> Result<(), Refusal> {
        let sent = Sent { token: token.to_owned(), input: input.map(str::to_owned), drawn: self.screen.drawn };
        self.screen = self.notebook.send(&sent)?;
        self.sent.push(token.split(' ').next().unwrap_or_default().to_owned());
        self.reached.push(self.screen.clone());
        Ok(())
    }

    fn send(&mut self, what: &str, token: &str, input: Option<&str>) {
        if let Err(refusal) = self.try_send(token, input) {
            panic!("{what}: {refusal}\n{token}");
        }
    }

    /// Presses a pick of the screen whose words are `text`.
    pub(crate) fn press(&mut self, text: &str) -> &mut Self {
        let token = self.pick(|pick| pick.text == text).unwrap_or_else(|| panic!("no “{text}” on {}", self.seen()));
        assert!(token.asks.is_none(), "“{text}” asks for a text");
        self.send(text, &token.token, None);
        self
    }

    /// Presses a pick of the choice named `label`.
    pub(crate) fn choose(&mut self, label: &str, text: &str) -> &mut Self {
        let options = self.screen.rows.iter().filter_map(|row| match &row.body {
            Body::Choice { label: known, options } if known == label => Some(options.clone()),
            _ => None,
        });
        let picks: Vec<Pick> = options.flatten().filter(|pick| pick.text == text).collect();
        let pick = picks.first().unwrap_or_else(|| panic!("no “{text}” under “{label}” on {}", self.seen())).clone();
        self.send(text, &pick.token, None);
        self
    }

    /// Presses a pick that asks for a text, and types it.
    pub(crate) fn press_and_type(&mut self, text: &str, typed: &str) -> &mut Self {
        let pick = self.pick(|pick| pick.text == text).unwrap_or_else(|| panic!("no “{text}” on {}", self.seen()));
        assert!(pick.asks.is_some(), "“{text}” asks for nothing");
        self.send(text, &pick.token, Some(typed));
        self
    }

    /// Types into the field named `label`.
    pub(crate) fn fill(&mut self, label: &str, typed: &str) -> &mut Self {
        let enter = self.screen.rows.iter().find_map(|row| match &row.body {
            Body::Blank { label: known, enter, .. } if known == label => Some(enter.clone()),
            _ => None,
        });
        let enter = enter.unwrap_or_else(|| panic!("no field “{label}” on {}", self.seen()));
        self.send(label, &enter, Some(typed));
        self
    }

    /// Presses a row that leads on and in whose spoken words `text` stands.
    pub(crate) fn enter(&mut self, text: &str) -> &mut Self {
        let row =
            self.screen.rows.iter().find(|row| row.key != "next" && row.go.is_some() && row.spoken.contains(text));
        let token = row.and_then(|row| row.go.clone());
        let token = token.unwrap_or_else(|| panic!("no row with “{text}” leads on at {}", self.seen()));
        self.send(text, &token, None);
        self
    }

    /// Touches the place of the picture whose spoken words hold `text`.
    pub(crate) fn touch(&mut self, text: &str) -> &mut Self {
        let places = self.screen.rows.iter().find_map(|row| match &row.body {
            Body::Drawing { places, .. } => Some(places.clone()),
            _ => None,
        });
        let place = places.iter().flatten().find(|place| place.spoken.contains(text));
        let place = place.unwrap_or_else(|| panic!("no place with “{text}” on {}: {places:#?}", self.seen())).clone();
        self.send(text, &place.token, None);
        self
    }

    /// The main deed's words.
    pub(crate) fn main(&self) -> Option<String> {
        self.screen.rows.iter().find_map(|row| match &row.body {
            Body::Deeds { main, .. } => main.as_ref().map(|pick| pick.text.clone()),
            _ => None,
        })
    }

    /// Is there a row in whose spoken words `text` stands?
    pub(crate) fn shows(&self, text: &str) -> bool {
        self.screen.title.contains(text) || self.screen.rows.iter().any(|row| row.spoken.contains(text))
    }

    /// The row in whose spoken words `text` stands.
    pub(crate) fn row(&self, text: &str) -> Row {
        let row = self.screen.rows.iter().find(|row| row.spoken.contains(text));
        row.cloned().unwrap_or_else(|| panic!("no row with “{text}” on {}", self.seen()))
    }

    /// The row of a box in whose spoken words `text` stands.
    pub(crate) fn box_row(&self, text: &str) -> Row {
        let row = self.screen.rows.iter().find(|row| row.key.starts_with("box ") && row.spoken.contains(text));
        row.cloned().unwrap_or_else(|| panic!("no box with “{text}” on {}", self.seen()))
    }

    fn pick(&self, is: impl Fn(&Pick) -> bool) -> Option<Pick> {
        picks(&self.screen).into_iter().find(is)
    }

    /// The screen in words, for a test that fails.
    pub(crate) fn seen(&self) -> String {
        let mut out = format!("{} / {}\n", self.screen.over, self.screen.title);
        for row in &self.screen.rows {
            let options: Vec<String> = picks_of(row).into_iter().map(|pick| pick.text).collect();
            let _ = writeln!(out, "  {:?} {} {options:?}", row.edge, row.spoken);
        }
        out
    }
}

/// Every pick of a row.
pub(crate) fn picks_of(row: &Row) -> Vec<Pick> {
    match &row.body {
        Body::Choice { options, .. } => options.clone(),
        Body::Trial { answers, .. } => answers.clone(),
        Body::Deeds { main, others, .. } => main.iter().chain(others).cloned().collect(),
        _ => Vec::new(),
    }
}

/// Every pick of a screen.
pub(crate) fn picks(screen: &Screen) -> Vec<Pick> {
    screen.rows.iter().flat_map(picks_of).collect()
}

/// Every text that a person sees or hears on a screen.
pub(crate) fn texts(screen: &Screen) -> Vec<String> {
    let mut out = vec![screen.over.clone(), screen.title.clone()];
    out.extend(screen.ongoing.clone());
    out.extend(screen.tag.clone());
    for row in &screen.rows {
        out.push(row.spoken.clone());
        for pick in picks_of(row) {
            out.extend([pick.text, pick.second]);
            out.extend(pick.asks.map(|ask| ask.label));
        }
        match &row.body {
            Body::Blank { label, unit, .. } => out.extend([label.clone(), unit.clone()]),
            Body::Choice { label, .. } => out.push(label.clone()),
            Body::Strands { strands, .. } => out.extend(strands.iter().map(|strand| strand.text.clone())),
            _ => {}
        }
    }
    out
}

/// Every token of a screen, and whether it wants a text.
pub(crate) fn tokens(screen: &Screen) -> Vec<(String, bool)> {
    let mut out = Vec::new();
    for row in &screen.rows {
        out.extend(row.go.clone().map(|token| (token, false)));
        out.extend(picks_of(row).into_iter().map(|pick| (pick.token, pick.asks.is_some())));
        match &row.body {
            Body::Blank { enter, .. } => out.push((enter.clone(), true)),
            Body::Drawing { places, .. } => out.extend(places.iter().map(|place| (place.token.clone(), false))),
            _ => {}
        }
    }
    out
}
