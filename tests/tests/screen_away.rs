//! Leaving and coming back on the demo's day, pressed by a thumb: what is held and open is gathered before anybody goes,
//! and what was read dead before counts no more afterwards.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod screen_support;

use boxproof_core::screen::{Body, Edge, Row};
use screen_support::{Thumb, picks};

fn front(thumb: &mut Thumb) -> &mut Thumb {
    let site = thumb.notebook.sites().unwrap()[0];
    thumb.screen = thumb.notebook.screen(&format!("job site={site}")).unwrap();
    thumb
}

fn is_done(row: &Row) -> bool {
    match row.body {
        Body::Step { done, .. } => done,
        _ => panic!("no step: {row:?}"),
    }
}

/// The demo at eleven: circuit 7 locked, three boxes without a cover, all three read dead.
fn eleven() -> Thumb {
    let mut thumb = Thumb::of_demo("morning");
    thumb.at("11:00");
    front(&mut thumb);
    thumb
}

#[test]
fn before_anybody_goes_it_is_gathered_what_is_held_open_and_told() {
    let mut thumb = eleven();
    thumb.press("Visit").press("Leaving");
    assert!(is_done(&thumb.row("Held OFF, by whose lock")), "{}", thumb.seen());
    assert!(thumb.shows("OFF, lock of W. Tolliver since 08:52"), "{}", thumb.seen());
    let covers = thumb.row("Covers on, or open boxes guarded");
    assert!(!is_done(&covers) && covers.spoken.contains("3 covers are off"), "{}", covers.spoken);
    assert_eq!(thumb.row("B6, top of stair, its cover is off").edge, Some(Edge::Unknown));
    thumb.press("The cover of B6 is on");
    assert!(thumb.row("Covers on").spoken.contains("2 covers are off"), "{}", thumb.seen());
    thumb.press("Boxes without a cover are guarded");
    assert!(is_done(&thumb.row("Covers on")) && thumb.row("Covers on").spoken.contains("noted as guarded"));
    // One more cover comes off: what was guarded before does not speak of it.
    let site = thumb.notebook.sites().unwrap()[0];
    thumb.try_send(&format!("cover B6 off site={site} then={:?}", thumb.screen.address), None).unwrap();
    assert!(!is_done(&thumb.row("Covers on")), "{}", thumb.seen());

    let told = thumb.row("What the customer was told");
    let before = is_done(&told);
    thumb.choose("Say it like this", "circuit 7 stays OFF: stair, cellar receptacle, glue bench");
    assert!(is_done(&thumb.row("What the customer was told")), "told before: {before}");
    assert!(!picks(&thumb.screen).iter().any(|pick| pick.text.starts_with("circuit 7 stays OFF")), "said once");
    thumb.fill("What else went off", "the bell");
    assert!(thumb.shows("the bell"), "{}", thumb.seen());
    assert!(thumb.row("B3, foot of stair, circuit 7: OFF").spoken.ends_with("OFF"), "{}", thumb.seen());
    thumb.press_and_type("B4", "white to be made longer");
    assert_eq!(thumb.row("white to be made longer").edge, Some(Edge::Found));
    assert_eq!(thumb.main().as_deref(), Some("Leave for a while"));
    // Nothing on the page says that anything may be left so.
    assert!(thumb.row("Before you go").spoken.contains("does not say that anything may be left so"));
}

#[test]
fn whoever_comes_back_looks_at_the_locks_and_reads_every_pair_again() {
    let mut thumb = eleven();
    thumb.press("Visit").press("Leaving");
    thumb.at("12:10");
    thumb.press("Leave for a while");
    thumb.at("12:55");
    front(&mut thumb);
    assert_eq!(thumb.box_row("foot of stair").edge, Some(Edge::Stale), "{}", thumb.seen());
    thumb.press("Visit").press("Back on site");
    assert_eq!(thumb.screen.title, "Coming back");
    assert!(thumb.row("What was read before does not count").spoken.contains("Look at every lock"));
    assert!(thumb.row("circuit 7").spoken.contains("lock of W. Tolliver since 08:52"), "{}", thumb.seen());
    assert_eq!(thumb.row("Show M2 on a known source").edge, Some(Edge::Stale), "{}", thumb.seen());
    let again: Vec<Row> = thumb.screen.rows.iter().filter(|row| row.key.starts_with("box ")).cloned().collect();
    assert_eq!(again.len(), 3, "B3, B6 and B4 are open: {}", thumb.seen());
    for row in &again {
        assert_eq!(row.edge, Some(Edge::Stale), "{}", row.spoken);
        assert!(row.spoken.contains("W. Tolliver left at 12:10"), "{}", row.spoken);
    }
    assert!(again[0].now && again[0].spoken.contains("B3"), "the walk begins where the power comes from");
    assert_eq!(again.iter().filter(|row| row.now).count(), 1);
    // The way on is the first of them, and its old readings answer nothing.
    let main = thumb.main().unwrap();
    assert!(main.contains("B3"), "{main}");
    thumb.press(&main);
    assert!(thumb.shows("stale") || thumb.row("left at 12:10").edge == Some(Edge::Stale), "{}", thumb.seen());
    assert!(!thumb.shows("17 pairs, 17 read"), "{}", thumb.seen());
}

#[test]
fn on_another_day_a_lock_is_said_with_its_day() {
    let mut thumb = eleven();
    thumb.on_day("1");
    thumb.at("08:00");
    front(&mut thumb).press("Visit").press("What to check again");
    assert!(thumb.row("circuit 7").spoken.contains("since 2026-05-12 08:52"), "{}", thumb.seen());
}
