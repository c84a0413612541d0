//! Two notes that may be of one run: somebody who followed them says that they are one, or that they are two; either
//! answer lasts, and either can be taken back.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails says so by stopping"
)]

use boxproof_core::app::Sent;
use boxproof_core::job::alike::told_apart;
use boxproof_core::screen::{Body, Pick, Screen};
use boxproof_tests::book::Book;

/// Three boxes with a run each of which nobody knows where it leads, all of one type.
const BOXES: &[&str] = &[
    "box tag=B1 location=hall kind=nonmetallic-1g volume=20.3",
    "box tag=B2 location=porch kind=octagon-4-1.5",
    "box tag=B3 location=attic kind=octagon-4-1.5",
    "run B1/A to=? kind=nm-12-2",
    "run B2/A to=? kind=nm-12-2",
    "run B3/A to=? kind=nm-12-2",
];

fn page(book: &Book, address: &str) -> Screen {
    book.notebook.screen(&format!("{address} site={}", book.site)).unwrap()
}

/// What the page offers: of which two runs, with what can be answered.
fn offers(screen: &Screen) -> Vec<(String, Vec<Pick>)> {
    let choices = screen.rows.iter().filter_map(|row| match &row.body {
        Body::Choice { label, options } if row.key.starts_with("alike") => Some((label.clone(), options.clone())),
        _ => None,
    });
    choices.collect()
}

fn answer(book: &Book, of: &str, with: &str) {
    let screen = page(book, "twice");
    let offers = offers(&screen);
    let (_, options) = offers.iter().find(|(label, _)| label == of).unwrap_or_else(|| panic!("{of}: {offers:#?}"));
    let pick = options.iter().find(|pick| pick.text == with).unwrap();
    book.notebook.send(&Sent { token: pick.token.clone(), input: None, drawn: screen.drawn }).unwrap();
}

fn labels(book: &Book) -> Vec<String> {
    offers(&page(book, "twice")).into_iter().map(|(label, _)| label).collect()
}

fn ready() -> (tempfile::TempDir, Book) {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::begin(folder.path()).unwrap();
    for line in BOXES {
        book.send(line).unwrap_or_else(|why| panic!("{line}: {why}"));
    }
    (folder, book)
}

#[test]
fn two_runs_stay_two_and_are_not_asked_about_again() {
    let (_folder, book) = ready();
    let (one, two, three) = ("B1 run A and B2 run A", "B1 run A and B3 run A", "B2 run A and B3 run A");
    assert_eq!(labels(&book), [one, two, three]);
    answer(&book, one, "They are two runs");
    assert_eq!(labels(&book), [two, three], "the others are open still");
    let notes = book.notebook.notes(book.site).unwrap();
    assert_eq!((told_apart(&notes).count(), notes.sames().is_empty(), notes.newer()), (1, true, 0));
    // One act, readable by whoever reads only remarks, in the history of both boxes.
    for at in ["B1", "B2"] {
        let history = page(&book, &format!("history {at}"));
        assert!(history.rows[1].spoken.contains("two runs, not one: B1 run A and B2 run A"), "{:#?}", history.rows[1]);
    }
    // It is taken back like any other act, and then it is asked again.
    book.send("take-back").unwrap();
    assert_eq!(labels(&book), [one, two, three]);
    book.send("bring-back").unwrap();
    assert_eq!(labels(&book), [two, three]);
    // The run's own page asks no more either.
    let cable = page(&book, "cable B1/A");
    let same = cable.rows.iter().find_map(|row| match &row.body {
        Body::Choice { options, .. } if row.key == "same" => Some(options.len()),
        _ => None,
    });
    assert_eq!(same, Some(1), "only the attic's run may be this one");
}

#[test]
fn a_remark_by_itself_tells_nothing_apart() {
    let (_folder, book) = ready();
    book.send("remark B1/A \"two runs, not one: B1 run A and B2 run A\"").unwrap();
    book.send("remark B2/A \"two runs, not one: B1 run A and B2 run A\"").unwrap();
    assert_eq!(labels(&book).len(), 3);
    assert!(book.send("apart B1/A B1/A").is_err(), "a run is not two");
    assert!(book.send("apart B1/A B9/A").is_err(), "there is no such run");
}

#[test]
fn the_day_record_says_it_at_both_boxes() {
    let (_folder, book) = ready();
    book.send("apart B1/A B3/A").unwrap();
    let notes = book.notebook.notes(book.site).unwrap();
    let job = notes.job_now().unwrap();
    let catalogue = boxproof_core::catalogue::Catalogue::shared();
    let span = boxproof_core::record::Span::last(&notes, job);
    let document = boxproof_core::record::day(&notes, catalogue, book.site, job, &span);
    let text = boxproof_core::record::html(&document);
    assert_eq!(text.matches("two runs, not one: B1 run A and B3 run A").count(), 2, "once for each of the two boxes");
}
