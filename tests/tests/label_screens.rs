//! Labels on the screens: proposed, dashed, noted in one act and never over what is written; in a person's own words;
//! printed to one file.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::io::Write as _;
use std::process::{Command, Stdio};

use boxproof_core::app::Sent;
use boxproof_core::job::{Fact, How, Layer, Value};
use boxproof_core::screen::{Body, Edge, Pick, Screen};
use boxproof_tests::book::Book;
use boxproof_tests::tool::python;

/// A switch box between a panel and a lamp; nothing is labelled.
const BOXES: &[&str] = &[
    "box tag=P location=cellar kind=panel system=split_phase",
    "device P:7 kind=breaker-1p-15 number=7 leg=a",
    "box tag=B1 location=hall kind=nonmetallic-1g volume=20.3",
    "box tag=B2 location=porch kind=octagon-4-1.5",
    "run B1/A to=P kind=nm-14-2 feed=P:7",
    "run B1/B to=B2/A kind=nm-14-2 length=\"12 ft\"",
    "device B1:switch kind=switch-1p gang=1",
    "device B2:light kind=luminaire watts=\"lamp 12\"",
    "land B1/A/black B1:switch.line screw",
    "land B1/B/black B1:switch.switched screw",
    "join B1+neutrals connector=wire-connector-small B1/A/white B1/B/white",
    "join B2+hot connector=lever-2 B2/A/black B2:light.hot",
    "join B2+neutrals connector=lever-2 B2/A/white B2:light.neutral",
];

fn ready() -> (tempfile::TempDir, Book) {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::begin(folder.path()).unwrap();
    for line in BOXES {
        book.send(line).unwrap_or_else(|why| panic!("{line}: {why}"));
    }
    (folder, book)
}

fn page(book: &Book, address: &str) -> Screen {
    book.notebook.screen(&format!("{address} site={}", book.site)).unwrap()
}

fn deeds(screen: &Screen) -> Vec<Pick> {
    let deeds = screen.rows.iter().find_map(|row| match &row.body {
        Body::Deeds { main, others, .. } => Some(main.iter().chain(others).cloned().collect()),
        _ => None,
    });
    deeds.unwrap_or_default()
}

fn press(book: &Book, screen: &Screen, pick: &Pick) -> Screen {
    book.notebook.send(&Sent { token: pick.token.clone(), input: None, drawn: screen.drawn }).unwrap()
}

/// Labels of the last entry: what is written, in which layer, how known.
fn last_labels(book: &Book) -> Vec<(Option<String>, Layer, How)> {
    let notes = book.notebook.notes(book.site).unwrap();
    let (_, kept) = notes.entries().next_back().unwrap();
    let sets = kept.noted.entry.facts.iter().filter_map(|fact| match fact {
        Fact::Set(set) => Some(set),
        _ => None,
    });
    sets.filter_map(|set| match &set.value {
        Value::Label(text) => Some((text.clone(), set.layer, set.how)),
        _ => None,
    })
    .collect()
}

fn spoken(screen: &Screen) -> String {
    screen.rows.iter().map(|row| row.spoken.as_str()).collect::<Vec<_>>().join("\n")
}

#[test]
fn all_proposals_are_noted_in_one_act_and_what_is_written_is_kept() {
    let (_folder, book) = ready();
    book.send("label B1/A/white \"blue tape\"").unwrap();
    let screen = page(&book, "label box=B1");
    let proposed: Vec<_> = screen.rows.iter().filter(|row| row.spoken.contains("proposed ")).collect();
    assert_eq!(proposed.len(), 3, "{}", spoken(&screen));
    assert!(proposed.iter().all(|row| row.edge == Some(Edge::Planned) && row.go.is_some()));
    let before = book.notebook.notes(book.site).unwrap().entries().count();
    let after =
        press(&book, &screen, deeds(&screen).iter().find(|pick| pick.text.contains("are written now")).unwrap());
    assert_eq!(book.notebook.notes(book.site).unwrap().entries().count(), before + 1, "one act is one entry");
    let job = book.notebook.notes(book.site).unwrap().job_now().unwrap();
    let labels = last_labels(&book);
    assert_eq!(labels.len(), 3);
    // A label that many were confirmed with is not one that somebody looked at.
    assert!(labels.iter().all(|(_, layer, how)| *layer == Layer::Found(job) && *how == How::Confirmed), "{labels:?}");
    let texts: Vec<_> = labels.into_iter().filter_map(|(text, ..)| text).collect();
    assert_eq!(texts, ["HOT IN", "SW LEG", "NEUT B2"]);
    assert!(!spoken(&after).contains("proposed ") && spoken(&after).contains("blue tape"), "{}", spoken(&after));
    assert!(!deeds(&after).iter().any(|pick| pick.text.contains("written now")));
}

#[test]
fn in_the_plan_they_are_planned_and_an_end_offers_its_proposal_first() {
    let (_folder, book) = ready();
    let screen = page(&book, "label box=B2 layer=planned");
    let all = deeds(&screen).into_iter().find(|pick| pick.text.starts_with("Plan all 2")).unwrap();
    press(&book, &screen, &all);
    let job = book.notebook.notes(book.site).unwrap().job_now().unwrap();
    let labels = last_labels(&book);
    assert!(labels.iter().all(|(_, layer, _)| *layer == Layer::Planned(job)) && labels.len() == 2, "{labels:?}");
    // What was agreed to in bulk was not looked at, in the plan no more than elsewhere.
    assert!(labels.iter().all(|(_, _, how)| *how == How::Confirmed), "{labels:?}");
    // As found nothing is on tape, so that the proposals stand there still.
    let screen = page(&book, "label box=B1");
    let row = screen.rows.iter().find(|row| row.spoken.contains("B black") && row.go.is_some()).unwrap();
    let end = book.notebook.send(&Sent { token: row.go.clone().unwrap(), input: None, drawn: screen.drawn }).unwrap();
    let quick = end.rows.iter().find_map(|row| match &row.body {
        Body::Choice { options, .. } if row.key == "quick" => options.first().cloned(),
        _ => None,
    });
    assert_eq!(quick.map(|pick| (pick.text, pick.second)), Some(("SW LEG".to_owned(), "proposed".to_owned())));
}

#[test]
fn own_words_are_noted_in_the_kit_page_and_come_along_from_the_persons_kit() {
    let (_folder, book) = ready();
    let kit = page(&book, "kit");
    let field = kit.rows.iter().find_map(|row| match &row.body {
        Body::Blank { label, value, enter, .. } if label == "Instead of SW LEG" => Some((value.clone(), enter.clone())),
        _ => None,
    });
    let (value, token) = field.unwrap_or_else(|| panic!("{}", spoken(&kit)));
    assert_eq!(value, "SW LEG");
    book.notebook.send(&Sent { token, input: Some("S.L.".to_owned()), drawn: kit.drawn }).unwrap();
    assert!(spoken(&page(&book, "label box=B1")).contains("proposed S.L."));
    // Noted once in the person's own kit, they are there at the next site from the first arrival on.
    let kit = |line: &str| {
        let token = boxproof_core::app::line::Line::new("kit").word(line).to_string();
        book.notebook.send(&Sent { token, input: None, drawn: 0 })
    };
    kit("person name=\"A. Rowe\"").unwrap();
    kit("set \"A. Rowe\" abbreviation=NEUT as=N").unwrap();
    let sites = book.notebook.sites().unwrap().len() as u64;
    book.notebook.send(&Sent { token: "site name=Second".to_owned(), input: None, drawn: sites }).unwrap();
    let second = book.notebook.sites().unwrap().into_iter().find(|site| *site != book.site).unwrap();
    let send = |line: &str| {
        let drawn = book.notebook.revision(second).unwrap();
        book.notebook.send(&Sent { token: format!("{line} site={second}"), input: None, drawn }).unwrap();
    };
    send("job name=Attic edition=2020");
    send("arrive \"A. Rowe\" job=Attic");
    let notes = book.notebook.notes(second).unwrap();
    let short = boxproof_core::plan::label::abbreviations(&notes, book.notebook.author());
    assert_eq!(short.get("NEUT").map(String::as_str), Some("N"), "{short:?}");
}

/// Reads a text with Python's own XML reader (expat, the XML 1.0 specification), and says how many sheets are in it.
fn sheets_by_python(text: &str) -> usize {
    let program = "import sys, xml.etree.ElementTree as e\n\
                   print(len(list(e.fromstring(sys.stdin.buffer.read()).iter('{http://www.w3.org/2000/svg}svg'))))";
    let mut child = Command::new(python())
        .args(["-c", program])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("Debian's python3 is missing: apt install python3");
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let out = child.wait_with_output().unwrap();
    assert!(out.status.success(), "not well-formed");
    String::from_utf8(out.stdout).unwrap().trim().parse().unwrap()
}

#[test]
fn the_page_to_print_makes_one_file_that_any_xml_reader_takes() {
    let (_folder, book) = ready();
    // What somebody typed stays text, whatever it looks like.
    book.send("label B1/A/black \"</svg><script>x()</script>&\"").unwrap();
    for (what, sheets) in [("open", 1), ("flags", 1), ("cards", 2), ("plates", 1)] {
        for paper in ["letter", "a4"] {
            let screen = page(&book, &format!("print what={what} paper={paper} which=all"));
            assert!(screen.rows.iter().any(|row| matches!(row.body, Body::Drawing { .. })), "{}", spoken(&screen));
            let make = deeds(&screen).into_iter().find(|pick| pick.text == "Make the file").unwrap();
            let file = press(&book, &screen, &make).file.expect("no file was handed out");
            let text = std::fs::read_to_string(&file.path).unwrap();
            assert_eq!(sheets_by_python(&text), sheets, "{what} on {paper}");
            assert!(!text.contains("<script") && !text.contains("src=") && !text.contains("href="));
            let again = std::fs::read_to_string(press(&book, &screen, &make).file.unwrap().path).unwrap();
            assert_eq!(text, again, "the same notes are the same bytes");
        }
    }
    let split_phase = page(&book, "print");
    assert!(spoken(&split_phase).contains("Paper, Letter"), "{}", spoken(&split_phase));
}

#[test]
fn a_shared_neutral_stands_on_the_card_inside_the_plate() {
    let (_folder, book) = ready();
    for line in [
        "device P:9 kind=breaker-1p-15 number=9 leg=b",
        "box tag=B3 location=attic kind=octagon-4-1.5",
        "run B1/C to=P kind=nm-14-2 feed=P:9",
        "run B1/D to=B3/A kind=nm-14-2",
        "join B1+second connector=wire-connector-small B1/C/black B1/D/black",
        "join B1+neutrals B1/D/white",
        "device B3:light kind=luminaire watts=\"lamp 12\"",
        "join B3+hot connector=lever-2 B3/A/black B3:light.hot",
        "join B3+neutrals connector=lever-2 B3/A/white B3:light.neutral",
        "set B1 low_voltage=yes other_circuits=\"door bell\"",
        "cover B1 off",
    ] {
        book.send(line).unwrap_or_else(|why| panic!("{line}: {why}"));
    }
    let screen = page(&book, "print what=plates box=B1");
    let card = screen.rows.iter().find(|row| row.key == "sheet").unwrap().spoken.clone();
    assert!(card.contains("one neutral here is shared by"), "{card}");
    for words in ["circuit 7", "circuit 9", "by A. Marsh", "low voltage", "door bell", "local code"] {
        assert!(card.contains(words), "{words} is not on the card: {card}");
    }
    let other = page(&book, "print what=plates box=B2");
    let card = other.rows.iter().find(|row| row.key == "sheet").unwrap().spoken.clone();
    assert!(card.contains("No opening is noted"), "{card}");
}
