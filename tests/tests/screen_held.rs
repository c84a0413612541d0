//! Who holds what, on the screens: each worker's own lock by its owner, what another phone noted with the time of the
//! last exchange, and that a box has more than one source before its cover comes off.
//!
//! A lock is removed by the employee who applied it: 29 CFR 1910.147(e)(3) and 1910.333(b)(2)(v)(C).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod screen_support;

use boxproof_core::screen::{Body, Screen};
use screen_support::{Thumb, picks};

/// Two circuits in one panel; B1 is fed by one of them, B2 by both.
const HOUSE: &[&str] = &[
    "person name=\"W. Tolliver\"",
    "person name=\"J. Ferrow\"",
    "job name=\"Back stair\" edition=2020",
    "arrive \"W. Tolliver\" job=\"Back stair\"",
    "box tag=P location=cellar kind=panel system=split_phase",
    "device P:7 kind=breaker-1p-15 number=7 leg=a",
    "device P:9 kind=breaker-1p-15 number=9 leg=b",
    "box tag=B1 location=\"foot of stair\" kind=nonmetallic-1g volume=20.3",
    "box tag=B2 location=\"top of stair\" kind=nonmetallic-1g volume=20.3",
    "run B1/A to=P kind=nm-14-2 feed=P:7",
    "run B1/B to=B2/A kind=nm-14-2",
    "join B1+hot connector=lever-2 B1/A/black B1/B/black",
    "run B2/B to=P kind=nm-14-2 feed=P:9",
];

fn house() -> Thumb {
    let mut thumb = Thumb::new();
    thumb.press_and_type("New site", "Lantern Lane");
    for line in HOUSE {
        note(&mut thumb, line);
    }
    front(&mut thumb);
    thumb
}

fn note(thumb: &mut Thumb, line: &str) {
    let token = token(thumb, line);
    thumb.try_send(&token, None).unwrap_or_else(|why| panic!("{line}: {why}"));
}

fn refused(thumb: &mut Thumb, line: &str) -> String {
    let token = token(thumb, line);
    thumb.try_send(&token, None).unwrap_err().to_string()
}

fn token(thumb: &mut Thumb, line: &str) -> String {
    let site = thumb.notebook.sites().unwrap()[0];
    thumb.screen.drawn = thumb.notebook.revision(site).unwrap();
    format!("{line} site={site}")
}

fn front(thumb: &mut Thumb) -> &mut Thumb {
    let site = thumb.notebook.sites().unwrap()[0];
    thumb.screen = thumb.notebook.screen(&format!("job site={site}")).unwrap();
    thumb
}

fn offers(screen: &Screen, text: &str) -> bool {
    picks(screen).iter().any(|pick| pick.text == text)
}

/// The second line of the row with this title.
fn second_of(thumb: &Thumb, of: &str) -> String {
    let seconds = thumb.screen.rows.iter().find_map(|row| match &row.body {
        Body::Item { title, second, .. } if title == of => Some(second.clone()),
        _ => None,
    });
    seconds.unwrap_or_else(|| panic!("no “{of}” on {}", thumb.seen()))
}

#[test]
fn locks_stand_by_their_owners_and_each_comes_off_by_its_owners_word() {
    let mut thumb = house();
    thumb.press("Sources").enter("Circuit 7").press("OFF, my lock and tag on");
    assert_eq!(second_of(&thumb, "lock and tag: W. Tolliver, 08:41"), "your own");
    assert!(!offers(&thumb.screen, "ON"), "a locked source is not switched ON");
    thumb.wait(5);
    thumb.press("Lock of J. Ferrow is on");
    assert_eq!(second_of(&thumb, "lock and tag: W. Tolliver, 08:41"), "your own");
    assert_eq!(second_of(&thumb, "lock and tag: J. Ferrow, 08:46"), "", "a lock of another is not called one's own");

    // On the list of sources too, one row for each lock.
    front(&mut thumb).press("Sources");
    let locks: Vec<String> =
        thumb.screen.rows.iter().filter(|row| row.key.starts_with("lock ")).map(|row| row.spoken.clone()).collect();
    assert_eq!(locks.len(), 2, "{locks:?}");

    thumb.enter("Circuit 7").press("My lock off");
    assert!(thumb.shows("OFF since 08:41") && !thumb.shows("lock and tag: W. Tolliver"), "{}", thumb.seen());
    assert!(!offers(&thumb.screen, "My lock off") && !offers(&thumb.screen, "ON"), "{}", thumb.seen());
    // Neither by going on as if nobody's lock were there, nor by taking off what is not one's own.
    let why = refused(&mut thumb, "on P:7");
    assert!(why.contains("J. Ferrow"), "whoever switches on sees whose lock it is: {why}");
    refused(&mut thumb, "unlock P:7");
    assert!(thumb.notebook.screen(&thumb.screen.address).unwrap().ongoing.is_some_and(|line| line.contains("Ferrow")));

    // It is never the main deed: it says what its owner did.
    front(&mut thumb).press("Sources").enter("Circuit 7");
    assert_eq!(thumb.main().as_deref(), Some("My lock and tag on"));
    thumb.press("J. Ferrow took their lock off").press("ON");
    assert!(thumb.screen.ongoing.is_none(), "{}", thumb.seen());
}

#[test]
fn what_another_phone_noted_says_until_when_its_notes_are_here() {
    let mut mine = house();
    mine.press("Day record").press("Give out the entries");
    let file = mine.screen.file.clone().unwrap();
    let mut other = Thumb::of_phone(1);
    other.take_in(&file.path);
    assert!(other.shows("entries are new here"), "{}", other.seen());
    other.at("09:10");
    note(&mut other, "arrive \"J. Ferrow\" job=\"Back stair\"");
    front(&mut other).press("Sources").enter("Circuit 7").press("OFF, my lock and tag on");
    other.at("09:30");
    note(&mut other, "remark B1 \"plaster is loose\"");
    front(&mut other).press("Day record").press("Give out the entries");
    let file = other.screen.file.clone().unwrap();
    // Written after the last exchange: nothing of it can be known here.
    other.at("09:50");
    note(&mut other, "remark B1 \"the ladder is mine\"");

    mine.at("10:00");
    mine.take_in(&file.path);
    assert!(mine.screen.ongoing.as_deref().is_some_and(|line| line.contains("J. Ferrow")), "{}", mine.seen());
    mine.press("Sources");
    let told = "noted by J. Ferrow on another phone, last exchange 09:30 or later";
    assert_eq!(second_of(&mine, "lock and tag: J. Ferrow, 09:10"), told);
    mine.enter("Circuit 7");
    assert_eq!(second_of(&mine, "OFF since 09:10"), told);
    assert_eq!(mine.main().as_deref(), Some("My lock and tag on"), "their lock is not mine");
    mine.press("My lock and tag on");
    assert_eq!(second_of(&mine, "lock and tag: W. Tolliver, 10:00"), "your own");
    assert_eq!(second_of(&mine, "lock and tag: J. Ferrow, 09:10"), told);
    // What was noted here alone says nothing of another phone.
    front(&mut mine).press("Sources").enter("Circuit 9").press("OFF, my lock and tag on");
    assert!(!mine.shows("another phone"), "{}", mine.seen());
}

#[test]
fn more_than_one_source_is_said_before_the_cover_comes_off() {
    let mut thumb = house();
    thumb.enter("top of stair");
    let caution = thumb.row("More than one source in this box");
    assert!(matches!(caution.body, Body::Notice { hazard: false, .. }), "{caution:?}");
    assert!(caution.spoken.contains("Circuit 7") && caution.spoken.contains("Circuit 9"), "{}", caution.spoken);
    let at = |thumb: &Thumb, is: &dyn Fn(&str) -> bool| thumb.screen.rows.iter().position(|row| is(&row.key));
    assert!(at(&thumb, &|key| key == "shared") < at(&thumb, &|key| key == "also"), "it stands above what takes it off");
    thumb.press("Cover off");
    assert!(!thumb.shows("More than one source"), "{}", thumb.seen());
    thumb.press("Cover on");
    assert!(thumb.shows("More than one source"), "{}", thumb.seen());

    // One circuit alone: nothing to say, until somebody notes in words that there is another.
    front(&mut thumb).enter("foot of stair");
    assert!(!thumb.shows("More than one source"), "{}", thumb.seen());
    note(&mut thumb, "set B1 other_circuits=\"the neighbor's bell\"");
    front(&mut thumb).enter("foot of stair");
    assert!(thumb.row("More than one source").spoken.contains("the neighbor's bell"), "{}", thumb.seen());
}
