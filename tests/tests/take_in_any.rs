//! A file of entries from another phone: each entry goes to the site that it is of, and a site that is new here begins.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

mod screen_support;

use std::sync::Arc;

use boxproof_core::app::{Notebook, Refusal, Sent};
use boxproof_core::screen::{Body, Pick, Screen};
use screen_support::{Clockwork, Thumb};

/// The deed of the first screen that asks for a file, as any shell would find it.
fn taker(screen: &Screen) -> Pick {
    let picks = screen.rows.iter().filter_map(|row| match &row.body {
        Body::Deeds { main, others, .. } => Some(main.iter().chain(others).cloned().collect::<Vec<_>>()),
        _ => None,
    });
    picks.flatten().find(|pick| pick.asks.as_ref().is_some_and(|ask| ask.file)).unwrap()
}

/// A notebook with one site, and a file that holds everything in it.
fn given_out() -> (Thumb, std::path::PathBuf) {
    let mut thumb = Thumb::new();
    thumb.press_and_type("New site", "Lantern Lane");
    let site = thumb.notebook.sites().unwrap()[0];
    let sent = Sent { token: format!("give-out site={site}"), input: None, drawn: thumb.screen.drawn };
    let file = thumb.notebook.send(&sent).unwrap().file.unwrap();
    (thumb, file.path.into())
}

fn take(thumb: &Thumb, path: &std::path::Path) -> Result<Screen, Refusal> {
    let first = thumb.notebook.screen("").unwrap();
    let input = Some(path.display().to_string());
    thumb.notebook.send(&Sent { token: taker(&first).token, input, drawn: first.drawn })
}

#[test]
fn a_site_that_is_new_here_begins_and_twice_is_once() {
    let (from, path) = given_out();
    let to = Thumb::new();
    let screen = take(&to, &path).unwrap();
    assert!(screen.address.starts_with("job "), "{}", screen.address);
    assert_eq!(to.notebook.sites().unwrap(), from.notebook.sites().unwrap());
    let site = to.notebook.sites().unwrap()[0];
    assert_eq!(to.notebook.notes(site).unwrap().revision(), from.notebook.notes(site).unwrap().revision());
    take(&to, &path).unwrap();
    assert_eq!(to.notebook.sites().unwrap().len(), 1);
    assert_eq!(to.notebook.notes(site).unwrap().revision(), from.notebook.notes(site).unwrap().revision());
}

#[test]
fn a_file_without_an_entry_makes_nothing() {
    let to = Thumb::new();
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("empty", &b""[..]), ("noise", &b"\x00\xff no job\n{}\n"[..]), ("cut", &br#"{"sig":"00"#[..])]
    {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        let told = take(&to, &path).unwrap_err().to_string();
        assert!(told.contains("Nothing was taken in"), "{told}");
        assert_eq!(std::fs::read(&path).unwrap(), text);
    }
    assert!(take(&to, &folder.path().join("none")).unwrap_err().to_string().contains("Nothing was taken in"));
    assert!(to.notebook.sites().unwrap().is_empty());
}

#[test]
fn the_first_screen_tells_what_is_held_at_any_site() {
    const DEMO: &str = include_str!("../../shared/demo/lantern-lane.txt");
    for (moment, held) in [("morning", true), ("evening", false)] {
        let folder = tempfile::tempdir().unwrap();
        boxproof_core::app::script::play(DEMO, folder.path(), Some(moment)).unwrap();
        let notebook = Notebook::open(folder.path(), [3; 32], Arc::new(Clockwork::default())).unwrap();
        let line = notebook.screen("").unwrap().ongoing;
        assert_eq!(line.is_some_and(|line| line.starts_with("Circuit 7 OFF since")), held, "{moment}");
    }
}
