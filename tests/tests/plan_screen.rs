//! The page that proposes a make-up, pressed by a thumb; and what the act that it sends leaves noted.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

mod screen_support;

use boxproof_core::app::path::Names;
use boxproof_core::app::{Notebook, Sent};
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{How, Layer, Place, ThingId};
use boxproof_core::screen::{Body, Screen};
use boxproof_tests::book::Book;
use screen_support::texts;

/// A lamp worked by a switch beside the feed, run by run: nothing is made up yet.
const WIRED: &[&str] = &[
    "box tag=P kind=panel system=split_phase layer=found",
    "device P:3 kind=breaker-1p-15 number=3 leg=a layer=found",
    "box tag=A kind=nonmetallic-1g layer=found",
    "box tag=C kind=octagon-4-1.5 layer=found",
    "run A/A to=P kind=nm-14-2 feed=P:3 layer=found",
    "run A/B to=C/A kind=nm-14-2 layer=found",
    "device A:switch kind=switch-1p layer=planned",
    "device C:light kind=luminaire watts=\"lamp 40\" layer=planned",
    "promise C:light.lamp toggled A:switch.handle",
];

fn wired(folder: &std::path::Path, lines: &[&str]) -> Book {
    let book = Book::begin(folder).unwrap();
    for line in lines {
        book.send(line).unwrap_or_else(|why| panic!("{line}: {why}"));
    }
    book
}

fn page(book: &Book, address: &str) -> Screen {
    book.notebook.screen(&format!("{address} site={}", book.site)).unwrap()
}

fn main_deed(screen: &Screen) -> Option<(String, String)> {
    screen.rows.iter().find_map(|row| match &row.body {
        Body::Deeds { main: Some(main), .. } => Some((main.text.clone(), main.token.clone())),
        _ => None,
    })
}

fn press(notebook: &Notebook, screen: &Screen, token: &str) -> Screen {
    let sent = Sent { token: token.to_owned(), input: None, drawn: screen.drawn };
    notebook.send(&sent).unwrap_or_else(|why| panic!("{token}: {why}"))
}

fn value_of(screen: &Screen, title: &str) -> Option<String> {
    screen.rows.iter().find_map(|row| match &row.body {
        Body::Item { title: known, value, .. } if known == title => Some(value.clone()),
        _ => None,
    })
}

fn layer_of(book: &Book) -> (boxproof_core::job::Notes, Layer, ThingId) {
    let notes = book.notebook.notes(book.site).unwrap();
    let layer = Layer::Planned(notes.job_now().unwrap());
    let at = Names::new(&notes, Catalogue::shared(), layer).box_named("A").unwrap();
    (notes, layer, at)
}

/// Both boxes in one press each; the promise stands as worked out before the second is noted; all is confirmed and
/// nothing seen; and then nothing is left to propose.
#[test]
fn two_boxes_are_made_up_in_two_presses() {
    let folder = tempfile::tempdir().unwrap();
    let book = wired(folder.path(), WIRED);
    let first = page(&book, "make-up C layer=planned");
    let (words, token) = main_deed(&first).unwrap();
    assert_eq!(words, "All 3 as listed", "{:#?}", texts(&first));
    press(&book.notebook, &first, &token);
    let second = page(&book, "make-up A layer=planned");
    // The neutral that no switch needs is spliced on; through is the other way.
    assert!(texts(&second).iter().any(|text| text == "neutrals uncut"), "{:#?}", texts(&second));
    assert_eq!(value_of(&second, "C light").as_deref(), Some("as promised"), "{:#?}", texts(&second));
    let (words, token) = main_deed(&second).unwrap();
    assert_eq!(words, "All 4 as listed", "{:#?}", texts(&second));
    press(&book.notebook, &second, &token);
    let (notes, layer, at) = layer_of(&book);
    let wiring = boxproof_core::job::Wiring::of(&notes, layer);
    let names = Names::new(&notes, Catalogue::shared(), layer);
    let on = |end: &str| wiring.place(&names.tip(end).unwrap()).cloned();
    let switch = names.device("A:switch").unwrap();
    assert!(
        matches!(on("A/A/black"), Some(Place::Terminal { device, terminal, .. }) if device == switch && terminal == "line")
    );
    assert!(matches!(on("A/B/black"), Some(Place::Terminal { terminal, .. }) if terminal == "switched"));
    assert_eq!(on("A/A/white"), on("A/B/white"));
    let placed = wiring.tips.iter().filter(|(tip, _)| wiring.box_of(tip) == Some(at));
    for (tip, note) in placed {
        assert_eq!(note.place.basis().unwrap().how, How::Confirmed, "{tip:?}");
    }
    for tag in ["A", "C"] {
        let screen = page(&book, &format!("make-up {tag} layer=planned"));
        assert_eq!(main_deed(&screen), None);
        assert!(texts(&screen).iter().any(|text| text == "Nothing is left to propose for this box."));
    }
}

/// A row that is touched is left out and comes back; `parts=grounds` notes the grounds alone.
#[test]
fn parts_can_be_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let book = wired(folder.path(), WIRED);
    let screen = page(&book, "make-up A layer=planned");
    let row = screen.rows.iter().find(|row| row.key == "part grounds").unwrap();
    let without = press(&book.notebook, &screen, row.go.as_ref().unwrap());
    assert_eq!(main_deed(&without).unwrap().0, "All 3 as listed");
    let row = without.rows.iter().find(|row| row.key == "part grounds").unwrap();
    let again = press(&book.notebook, &without, row.go.as_ref().unwrap());
    assert_eq!(main_deed(&again).unwrap().0, "All 4 as listed");
    book.send("make-up A layer=planned parts=grounds").unwrap();
    let left = page(&book, "make-up A layer=planned");
    assert!(left.rows.iter().all(|row| row.key != "part grounds"), "{:#?}", texts(&left));
    assert_eq!(main_deed(&left).unwrap().0, "All 3 as listed");
    for (line, why) in [
        ("make-up A layer=planned parts=grounds", "has no part grounds"),
        ("make-up A layer=planned way=7", "Nothing is proposed there any more"),
        ("make-up A layer=planned way=x", "not a number"),
        ("make-up Z layer=planned", "Z"),
    ] {
        let refused = book.send(line).unwrap_err().to_string();
        assert!(refused.contains(why), "{refused}");
    }
}

/// As found, the bulk leaves commons and travelers out; each is pressed by itself, and is seen.
#[test]
fn as_found_commons_and_travelers_are_pressed_one_by_one() {
    let folder = tempfile::tempdir().unwrap();
    let book = wired(
        folder.path(),
        &[
            "box tag=A kind=nonmetallic-1g",
            "box tag=D kind=nonmetallic-1g",
            "run A/A to=? kind=nm-14-2",
            "run A/B to=D/A kind=nm-14-3",
            "run A/C to=? kind=nm-14-2",
            "device A:switch kind=switch-3way",
            "label A/A/black \"HOT IN\" A/B/black \"TRAV 1\" A/B/red \"TRAV 2\" A/C/black \"HOT OUT\"",
        ],
    );
    let refused = book.send("make-up A layer=found parts=traveler").unwrap_err().to_string();
    assert!(refused.contains("one at a time"), "{refused}");
    let screen = page(&book, "make-up A layer=found");
    let singles = |screen: &Screen| {
        screen.rows.iter().find_map(|row| match &row.body {
            Body::Choice { options, .. } if row.key == "singly" => Some(options.clone()),
            _ => None,
        })
    };
    assert_eq!(singles(&screen).unwrap().len(), 2);
    let (words, token) = main_deed(&screen).unwrap();
    assert_eq!(words, "All 3 as listed", "{:#?}", texts(&screen));
    // Then the common is offered too: its pigtail comes from the splice that is noted now.
    let mut screen = press(&book.notebook, &screen, &token);
    assert_eq!(main_deed(&screen), None);
    for left in [3, 2, 1] {
        let options = singles(&screen).unwrap();
        assert_eq!(options.len(), left);
        screen = press(&book.notebook, &screen, &options[0].token);
    }
    assert!(singles(&screen).is_none());
    let notes = book.notebook.notes(book.site).unwrap();
    let layer = Layer::Found(notes.job_now().unwrap());
    let wiring = boxproof_core::job::Wiring::of(&notes, layer);
    let names = Names::new(&notes, Catalogue::shared(), layer);
    let how = |end: &str| wiring.tips[&names.tip(end).unwrap()].place.basis().unwrap().how;
    assert_eq!((how("A/B/red"), how("A/A/black")), (How::Seen, How::Confirmed));
}
