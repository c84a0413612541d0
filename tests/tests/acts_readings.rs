//! How many acts a reading takes: a thumb goes through a round of dead checks and through a live check by pressing what
//! the screens show. Every token counts that is sent from the first list that is asked to the last number, pages too.
//! The aim, 1.1 acts for each reading, is the project's own; no source is claimed for it. The job is the demo's.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may fail loudly"
)]

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

use boxproof_core::app::script::{play, seed};
use boxproof_core::app::{Notebook, Outside, Sent};
use boxproof_core::job::{Happening, Purpose, ThingId, Wall};
use boxproof_core::screen::{Body, Pick, Row, Screen};
use boxproof_tests::number;
use tempfile::TempDir;

const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");
/// 2026-05-12 at 11:00, five hours behind UTC.
const ELEVEN_MS: i64 = 1_778_601_600_000;
/// The most acts that a reading may take.
const MOST_ACTS: f64 = 1.1;

struct Clock {
    now_ms: AtomicI64,
    drawn: AtomicU64,
}

impl Outside for Clock {
    fn now(&self) -> Wall {
        Wall { utc_ms: self.now_ms.fetch_add(10_000, Ordering::Relaxed), offset_min: -300 }
    }

    fn random(&self) -> [u8; 16] {
        let n = self.drawn.fetch_add(1, Ordering::Relaxed);
        (u128::from(n) << 64 | 0xAC75).to_be_bytes()
    }
}

struct Thumb {
    book: Notebook,
    site: ThingId,
    screen: Screen,
    sent: usize,
    _folder: TempDir,
}

impl Thumb {
    fn at(script: &str, minutes_after_eleven: i64, page: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let played = play(script, folder.path(), None).unwrap_or_else(|fault| panic!("{fault}"));
        let now_ms = AtomicI64::new(ELEVEN_MS + 60_000 * minutes_after_eleven);
        let clock = Clock { now_ms, drawn: AtomicU64::new(1) };
        let book = Notebook::open(folder.path(), seed("tolliver"), Arc::new(clock)).unwrap();
        let screen = book.screen(&format!("{page} site={}", played.site)).unwrap();
        Self { book, site: played.site, screen, sent: 0, _folder: folder }
    }

    fn send(&mut self, token: &str, input: Option<&str>) {
        let sent = Sent { token: token.to_owned(), input: input.map(str::to_owned), drawn: self.screen.drawn };
        self.screen = self.book.send(&sent).unwrap_or_else(|refusal| panic!("{refusal}\n{token}"));
        self.sent += 1;
    }

    fn find(&self, text: &str) -> Option<Pick> {
        picks(&self.screen).into_iter().find(|pick| pick.text == text)
    }

    fn press(&mut self, text: &str, input: Option<&str>) {
        let pick = self.find(text).unwrap_or_else(|| panic!("no “{text}” on:\n{}", seen(&self.screen)));
        self.send(&pick.token, input);
    }

    fn touch(&mut self, words: &str) {
        let row = self.screen.rows.iter().find(|row| row.go.is_some() && row.spoken.contains(words));
        let go = row.and_then(|row| row.go.clone());
        self.send(&go.unwrap_or_else(|| panic!("no row “{words}” on:\n{}", seen(&self.screen))), None);
    }

    fn has(&self, words: &str) -> bool {
        seen(&self.screen).contains(words)
    }

    /// What the row with these words says.
    fn words_of(&self, words: &str) -> String {
        let row = self.screen.rows.iter().find(|row| row.spoken.contains(words));
        row.map(|row| row.spoken.clone()).unwrap_or_default()
    }

    /// Answers every pair of the box with the quick values in turn; gives how many.
    fn answer_all(&mut self) -> usize {
        let mut answered = 0;
        while self.find("0.0 V").is_some() {
            assert!(main_deed(&self.screen).is_none(), "no main deed while pairs remain");
            assert!(picks(&self.screen).iter().all(|pick| !pick.on), "nothing is chosen beforehand");
            self.press(["0.0 V", "0.1 V", "0.2 V", "0.3 V"][answered % 4], None);
            answered += 1;
            assert!(answered < 100, "the pairs never end");
        }
        answered
    }

    fn noted(&self, is: impl Fn(&Happening) -> bool) -> usize {
        self.book.notes(self.site).unwrap().happened().filter(|happened| is(&happened.what)).count()
    }

    /// Everything that was read, proved or tried so far.
    fn read(&self) -> usize {
        self.noted(|what| matches!(what, Happening::Read(_) | Happening::Proved(_) | Happening::Tried(_)))
    }
}

fn picks_of(row: &Row) -> Vec<Pick> {
    match &row.body {
        Body::Choice { options, .. } => options.clone(),
        Body::Trial { answers, .. } => answers.clone(),
        Body::Deeds { main, others, .. } => main.iter().chain(others).cloned().collect(),
        _ => Vec::new(),
    }
}

fn picks(screen: &Screen) -> Vec<Pick> {
    screen.rows.iter().flat_map(picks_of).collect()
}

fn main_deed(screen: &Screen) -> Option<Pick> {
    screen.rows.iter().find_map(|row| match &row.body {
        Body::Deeds { main, .. } => main.clone(),
        _ => None,
    })
}

fn seen(screen: &Screen) -> String {
    let rows = screen.rows.iter().map(|row| row.spoken.clone());
    let picks = picks(screen).into_iter().map(|pick| format!("[{} {}]", pick.text, pick.second));
    std::iter::once(screen.title.clone()).chain(rows).chain(picks).collect::<Vec<_>>().join("\n")
}

/// From the first list that is asked to the meter shown again, by the words of the way from box to box: acts sent,
/// readings noted.
fn go_round(thumb: &mut Thumb, first: &str, on: &str) -> (usize, usize) {
    let before = (thumb.sent, thumb.read());
    thumb.press(first, None);
    let mut boxes = vec![(thumb.screen.tag.clone(), thumb.answer_all())];
    while thumb.has("Next in this round") {
        assert!(thumb.has("once, after the last box"), "{}", seen(&thumb.screen));
        // A box of which nothing was read live: a ground that was shown real stands in, read against a known hot.
        if thumb.words_of("Next in this round").contains("references are still") {
            thumb.press("ground of B4, long lead", Some("121.3"));
            let ask = main_deed(&thumb.screen).expect("its list is asked");
            thumb.send(&ask.token, None);
        } else {
            // Who stands nearer to another box goes there first, by one touch too.
            let way = if thumb.has(on) { on } else { "Next in this round" };
            let told = thumb.words_of(way);
            thumb.touch(way);
            assert!(thumb.screen.tag.as_ref().is_some_and(|tag| told.contains(tag.as_str())), "{told}");
        }
        boxes.push((thumb.screen.tag.clone(), thumb.answer_all()));
    }
    thumb.press("circuit 5, by the cellar lamp", Some("121.2"));
    assert!(thumb.has("read dead, the meter shown to work before and after"), "{}", seen(&thumb.screen));
    boxes.sort();
    // Seventeen pairs in B3 and six in B4: counted by hand, see the tests of the pairs. B6 with a ground from
    // elsewhere has four spots: to that ground 4, own ground to the three conductors is read no more, across 3, and
    // again with its handle turned: 3 + 3.
    let tagged = |tag: &str, pairs: usize| (Some(tag.to_owned()), pairs);
    assert_eq!(boxes, [tagged("B3", 17), tagged("B4", 6), tagged("B6", 13)]);
    (thumb.sent - before.0, thumb.read() - before.1)
}

fn assert_few(what: &str, (acts, readings): (usize, usize)) {
    let each = number(acts) / number(readings);
    assert!(each <= MOST_ACTS, "{what}: {acts} acts for {readings} readings");
}

#[test]
fn a_round_of_three_boxes_after_lunch() {
    let (before, _) = DEMO.split_once("12:58 prove").unwrap();
    let mut thumb = Thumb::at(before, 118, "coming-back");
    thumb.touch("B3, foot of stair");
    thumb.press("circuit 5, by the cellar lamp", Some("121.2"));
    let round = go_round(&mut thumb, "Ask again: 17 pairs", "Or first");
    assert_few("dead checks of B3, B4, B6 after lunch, not in the order of the walk", round);
    assert_eq!(round, (3 + 36 + 1, 36 + 1), "an act for each list, each pair and the proof");
    assert!(thumb.has("Between the same two showings of the meter: B3, B4"), "{}", seen(&thumb.screen));
}

#[test]
fn a_round_of_three_boxes_in_the_morning_with_a_ground_from_elsewhere() {
    let (before, rest) = DEMO.split_once("09:00 ask B3").unwrap();
    let (_, open) = rest.split_once("10:05 cover B6 off").unwrap();
    let (b6, _) = open.split_once("10:12 read B6").unwrap();
    let script = format!("{before}09:30 cover B4 off\n10:05 cover B6 off{b6}");
    let mut thumb = Thumb::at(&script, -48, "dead B3");
    let round = go_round(&mut thumb, "Ask for 17 pairs", "Next in this round");
    assert_few("dead checks of B3, B4, B6 in the morning", round);
}

/// Answers the trial or types the reading that is asked next; gives whether there was one.
fn answer_next(thumb: &mut Thumb) -> bool {
    let is_now = |row: &&Row| row.now && matches!(&row.body, Body::Trial { answers, .. } if !answers.is_empty());
    if let Some(trial) = thumb.screen.rows.iter().find(is_now) {
        let Body::Trial { handles, answers, .. } = &trial.body else { unreachable!() };
        let up = |name: &str| handles.iter().any(|at| at.name.contains(name) && at.up);
        // The wall light follows its own switch; the stair light is on where both handles stand alike.
        let lit = if handles.len() == 1 { up("combo") } else { up("B3") == up("B6") };
        let token = answers.iter().find(|answer| answer.text == if lit { "on" } else { "off" }).unwrap().token.clone();
        thumb.send(&token, None);
        return true;
    }
    let Some(number) = thumb.find("what it reads") else { return false };
    let at = thumb.screen.rows.iter().position(|row| picks_of(row).iter().any(|pick| pick.token == number.token));
    let asked = &thumb.screen.rows[at.unwrap() - 1];
    let volts = if asked.spoken.contains("neutral to ground") { "0.3" } else { "119.6" };
    thumb.send(&number.token, Some(volts));
    true
}

#[test]
fn a_live_check_with_its_trials_and_readings() {
    let (before, _) = DEMO.split_once("16:02 try").unwrap();
    let mut thumb = Thumb::at(before, 302, "live");
    let begun = (thumb.sent, thumb.read());
    // The first is put off: nothing is noted, and it comes again after the rest.
    let first = thumb.screen.rows.iter().find(|row| row.now).unwrap().key.clone();
    thumb.press("later", None);
    assert_eq!(thumb.read(), begun.1, "putting it off notes nothing");
    assert_ne!(thumb.screen.rows.iter().find(|row| row.now).unwrap().key, first);
    assert!(thumb.has("waits"));
    let mut guard = 0;
    while answer_next(&mut thumb) {
        guard += 1;
        assert!(guard < 60, "the live check never ends");
    }
    let live = (thumb.sent - begun.0, thumb.read() - begun.1);
    let trials = thumb.noted(|what| matches!(what, Happening::Tried(_)));
    let readings = thumb.noted(|what| matches!(what, Happening::Read(reading) if reading.purpose == Purpose::Live));
    assert_eq!(trials, 6, "two of the wall light, four of the stair light");
    assert!(readings > 6, "the panel's, and three at each of two receptacles: {readings}");
    assert_few("live check", live);
    assert_eq!(
        main_deed(&thumb.screen).map(|main| main.text).as_deref(),
        Some("Day record"),
        "{}",
        seen(&thumb.screen)
    );
}
