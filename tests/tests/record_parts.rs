//! Parts of the record that the demo job does not need: nothing noted, noted twice, struck, newer, other people,
//! entries that are missing or came later.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

mod record_support;

use std::collections::BTreeMap;

use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::happening::{Expected, Trial};
use boxproof_core::job::sign;
use boxproof_core::job::{
    Fact, Figure, Happening, Hash, Kind, Layer, LoadPoint, Mode, Notes, Pair, Purpose, Reading, Spot, Strike, Subject,
    Target, ThingId, Value,
};
use boxproof_core::record::document::Weight;
use boxproof_core::record::{Document, Span, day, html};
use boxproof_tests::every;
use boxproof_tests::hand::{Book, add, fact, id, set};
use record_support::{all_lines, has, lines, part, shows_a_key, titled};

const SITE: u32 = 1;
const JOB: u32 = 2;
const TOLLIVER: u32 = 4;
const MOSS: u32 = 5;
const B3: u32 = 10;

fn record(notes: &Notes, span: &Span) -> Document {
    day(notes, Catalogue::shared(), id(SITE), id(JOB), span)
}

fn there(of: ThingId, kind: Kind, layer: Layer, name: Value) -> Vec<Fact> {
    vec![set(of, Layer::Site, Value::Is(kind)), set(of, layer, Value::Present(true)), set(of, Layer::Site, name)]
}

fn words(text: &str) -> String {
    text.to_owned()
}

/// A site with a job, two people and a box; nobody has come yet.
fn site() -> Book {
    let mut book = Book::default();
    let mut facts = there(id(SITE), Kind::Site, Layer::Site, Value::Name(words("Lantern Lane")));
    facts.extend(there(id(JOB), Kind::Job, Layer::Site, Value::Name(words("Back stair"))));
    facts.extend(there(id(TOLLIVER), Kind::Person, Layer::Site, Value::Name(words("W. Tolliver"))));
    facts.extend(there(id(MOSS), Kind::Person, Layer::Site, Value::Name(words("R. Moss"))));
    facts.extend(there(id(B3), Kind::Box, Layer::Found(id(JOB)), Value::Tag(words("B3"))));
    book.at(8, 0).write(0, facts);
    book
}

/// A person arrives; what is written next belongs to the visit.
fn arrive(book: &mut Book, by: u8, person: u32) -> Hash {
    book.visit = None;
    let visit = book.write(by, vec![add(id(person), Happening::Arrived { job: id(JOB) })]);
    book.visit = Some(visit);
    visit
}

#[test]
fn an_empty_job_gives_a_short_true_record() {
    let document = record(&Notes::default(), &Span::Job);
    has(part(&document, "people"), &["No visit is noted."]);
    has(part(&document, "boxes"), &["No box is noted."]);
    has(part(&document, "isolation"), &["Nothing is noted as switched or held."]);
    has(part(&document, "instruments"), &["No instrument is noted."]);
    has(part(&document, "findings"), &["nothing was worked out"]);
    has(part(&document, "scope"), &["Site: not known", "Edition set: not known"]);
    has(part(&document, "signatures"), &["Nobody has signed over these entries."]);
    has(part(&document, "what-this-is"), &["licensed person decide"]);
    assert!(all_lines(&document).len() < 60, "{:#?}", all_lines(&document));
    assert!(!html(&document).contains("W. Tolliver"));
}

#[test]
fn values_noted_twice_stand_beside_each_other_with_who_and_when() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    let volume = |n| set(id(B3), Layer::Found(id(JOB)), Value::Volume(boxproof_core::job::Decimal::new(n, 1)));
    book.exchange();
    book.at(9, 5).write_apart(0, vec![volume(320)]);
    book.at(9, 7).write_apart(1, vec![volume(203)]);
    let document = record(&book.notes(), &Span::Job);
    has(part(&document, "amended"), &["B3 | volume | 32.0 in³ (09:05, W. Tolliver); 20.3 in³ (09:07"]);
    has(part(&document, "first"), &["1 value is noted twice with unlike values."]);
}

#[test]
fn what_was_struck_is_still_readable_with_its_reason() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    let remark = |text: &str| vec![add(id(B3), Happening::Remark(words(text)))];
    let strike = |what, reason: &str| vec![Fact::Strike(Strike { what, reason: words(reason) })];
    let wrong = book.at(9, 0).write(0, remark("two hots"));
    book.at(9, 30).write(0, strike(Target::Entry(wrong), "read in the box beside it"));
    let again = book.at(10, 0).write(0, remark("one hot"));
    let taken = book.at(10, 1).write(0, strike(Target::Entry(again), ""));
    book.at(10, 2).write(0, strike(Target::Entry(taken), ""));
    let third = book.at(10, 3).write(0, remark("a third"));
    book.at(10, 4).write(0, strike(Target::Fact(fact(third, 0)), "not so"));
    let document = record(&book.notes(), &Span::Job);
    let amended = part(&document, "amended");
    has(
        amended,
        &[
            "09:00 | ~B3: two hots~ | W. Tolliver | 09:30, W. Tolliver | read in the box beside it",
            // A strike that was struck itself: what it reached stands again, and is not shown as struck.
            "10:00 | B3: one hot | W. Tolliver | 10:01, W. Tolliver, and brought back later | taken back before signing",
            "10:03 | ~B3: a third~ | W. Tolliver | 10:04, W. Tolliver | not so",
        ],
    );
    let b3 = lines(titled(&document, "B3"));
    assert!(!b3.iter().any(|line| line.contains("two hots") || line.contains("a third")), "{b3:#?}");
    assert!(b3.iter().any(|line| line.contains("one hot")), "{b3:#?}");
    assert!(html(&document).contains("<s>B3: two hots</s>"));
}

#[test]
fn facts_of_a_newer_version_are_counted_and_never_guessed() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    let newer: Fact = serde_json::from_str(r#"{"hover":{"of":"the ladder"}}"#).unwrap();
    assert!(matches!(newer, Fact::Newer(_)));
    book.write(0, vec![newer.clone(), newer]);
    let document = record(&book.notes(), &Span::Job);
    has(part(&document, "amended"), &["2 facts were written by a newer version of this program."]);
    has(part(&document, "first"), &["2 facts were written by a newer version and are not shown."]);
    assert!(!all_lines(&document).iter().any(|line| line.contains("ladder")));
}

#[test]
fn two_people_each_say_who() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    book.at(9, 0).write(0, vec![add(id(B3), Happening::Remark(words("plaster behind it")))]);
    arrive(&mut book, 1, MOSS);
    book.at(9, 10).write(
        1,
        vec![
            add(id(B3), Happening::FoundNotOurs(words("The plate was cracked; the occupant knows."))),
            add(id(JOB), Happening::Extra(words("a new plate"))),
            add(id(JOB), Happening::Hours(boxproof_core::job::Decimal::new(25, 1))),
            add(id(B3), Happening::DoNotCover(words("inspection first"))),
        ],
    );
    book.at(11, 0).write(1, vec![add(id(B3), Happening::MayCover(words("the inspector has seen it")))]);
    let document = record(&book.notes(), &Span::Job);
    assert!(document.subtitle.ends_with("W. Tolliver, R. Moss"), "{}", document.subtitle);
    has(titled(&document, "B3"), &["09:00, W. Tolliver: plaster behind it"]);
    has(
        part(&document, "unfinished"),
        &[
            "B3 | The plate was cracked; the occupant knows. | 09:10 | R. Moss",
            "B3 | inspection first | 09:10 | R. Moss | 11:00: the inspector has seen it",
            "Nothing is noted as unfinished.",
        ],
    );
    has(part(&document, "materials"), &["R. Moss | 2.5", "09:10 | a new plate | R. Moss"]);
    assert!(!lines(part(&document, "first")).iter().any(|line| line.contains("Do not cover")), "the hold is over");
}

#[test]
fn each_span_takes_its_own_and_counts_what_came_later() {
    let mut book = site();
    let first = arrive(&mut book, 0, TOLLIVER);
    let morning = book.at(9, 0).write(0, vec![add(id(B3), Happening::Remark(words("in the morning")))]);
    book.at(10, 0).write(0, vec![add(id(TOLLIVER), Happening::Gone { ended: true })]);
    arrive(&mut book, 0, TOLLIVER);
    book.at(14, 0).write(0, vec![add(id(B3), Happening::Remark(words("in the afternoon")))]);
    let reason = words("seen wrong");
    book.at(32, 0).write(0, vec![Fact::Strike(Strike { what: Target::Entry(morning), reason })]);
    let notes = book.notes();
    let said = |span: &Span| {
        let document = record(&notes, span);
        let b3 = lines(titled(&document, "B3"));
        ["in the morning", "in the afternoon"].map(|text| b3.iter().any(|line| line.contains(text)))
    };
    assert_eq!(said(&Span::Visit(first)), [true, false], "as it stood when the visit ended");
    assert_eq!(said(&Span::Day(words("2026-05-12"))), [true, true]);
    assert_eq!(said(&Span::Job), [false, true], "the strike of the next day is part of the job");
    let signatures = lines(part(&record(&notes, &Span::Day(words("2026-05-12"))), "signatures"));
    let later = "1 entry was noted after this record ends; it is not shown. 1 of them strikes out";
    assert!(signatures.iter().any(|line| line.contains(later)), "{signatures:#?}");
    assert_eq!(Span::last(&notes, id(JOB)), Span::Day(words("2026-05-12")));
}

#[test]
fn an_entry_that_was_taken_out_is_missed() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    book.write(0, vec![add(id(B3), Happening::Remark(words("one")))]);
    book.write(0, vec![add(id(B3), Happening::Remark(words("two")))]);
    let whole = record(&book.notes(), &Span::Job);
    has(part(&whole, "signatures"), &["W. Tolliver | 4 | 1 to 4 |"]);
    let less: Vec<_> = book.entries.iter().enumerate().filter(|(n, _)| *n != 2).map(|(_, e)| e.clone()).collect();
    let document = record(&Notes::fold(less), &Span::Job);
    has(part(&document, "signatures"), &["W. Tolliver | 3 | 1 to 4, 1 entry is not here |"]);
}

#[test]
fn a_signature_names_the_heads_and_counts_what_came_after() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    let head = book.write(0, vec![add(id(B3), Happening::Remark(words("last before")))]);
    let heads = BTreeMap::from([(boxproof_tests::hand::author(0), head)]);
    book.at(16, 50).write(0, vec![add(id(JOB), Happening::Signed { heads })]);
    book.at(16, 52).write(0, vec![add(id(TOLLIVER), Happening::Gone { ended: true })]);
    let document = record(&book.notes(), &Span::Job);
    let digits: String = head.to_string().chars().take(12).collect();
    has(part(&document, "signatures"), &[&format!("W. Tolliver | 16:50 | W. Tolliver {digits} | 1")]);
    assert!(document.sections.iter().all(|part| part.id != "first"), "nothing has to be known first");
}

fn live(volts: i64, low: i64, high: i64) -> Happening {
    let tenth = |n| boxproof_core::job::Decimal::new(n, 1);
    let pair = Pair { from: Spot::Shell(id(B3)), to: Spot::Other(words("the hot")) };
    let shown = Some(Expected { low: tenth(low), high: tenth(high), basis: Hash::NONE });
    Happening::Read(Reading {
        purpose: Purpose::Live,
        check: None,
        pair,
        at: Vec::new(),
        instrument: id(60),
        mode: Mode::AcLow,
        figure: Figure::Number(tenth(volts)),
        shown,
    })
}

#[test]
fn a_reading_that_disagrees_stands_until_the_same_point_agrees() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    book.at(16, 0).write(0, vec![add(id(B3), live(0, 1160, 1230))]);
    let document = record(&book.notes(), &Span::Job);
    assert!(matches!(&part(&document, "first").blocks[0],
        boxproof_core::record::document::Block::Notice(notice) if notice.weight == Weight::Hazard));
    has(part(&document, "disagreements"), &["16:00 | ", "116.0 to 123.0 V | 0.0 V | still stands [disagrees]"]);
    has(titled(&document, "B3"), &["0.0 V |  [disagrees]"]);
    // Equal to the limit agrees.
    book.at(16, 20).write(0, vec![add(id(B3), live(1230, 1160, 1230))]);
    let document = record(&book.notes(), &Span::Job);
    has(part(&document, "disagreements"), &["at 16:20: taken again, agrees"]);
    has(titled(&document, "B3"), &["0.0 V |  [disagrees]", "123.0 V | agrees"]);
    // A trial of which nothing was worked out is neither.
    let load = LoadPoint { device: id(70), load: words("lamp") };
    book.write(0, vec![add(id(70), Happening::Tried(Trial { load, at: Vec::new(), on: true, shown: None }))]);
    assert_eq!(lines(part(&record(&book.notes(), &Span::Job), "disagreements")).len(), 4);
}

/// A log in which every kind of fact stands, each entry but the first arrival struck afterwards, so that every fact is
/// set down in words.
#[test]
fn every_kind_of_fact_has_words() {
    let signed = every::log().unwrap();
    let mut pen = every::Pen::new(9, every::site());
    pen.seen(10_000);
    let entries: Vec<_> = signed
        .iter()
        .map(|signed| match sign::read(signed).unwrap() {
            sign::Read::Known(noted) => noted,
            sign::Read::Newer(newer) => panic!("{newer:?}"),
        })
        .collect();
    let reason = || words("to see it in words");
    let later = entries.get(1..).unwrap();
    let strikes = later.iter().map(|noted| Fact::Strike(Strike { what: Target::Entry(noted.hash), reason: reason() }));
    let facts: usize = later.iter().map(|noted| noted.entry.facts.len()).sum();
    let striking = pen.write(strikes.collect()).unwrap();
    let sign::Read::Known(striking) = sign::read(&striking).unwrap() else { panic!("not read") };
    for with_strikes in [false, true] {
        let all = entries.iter().cloned().chain(with_strikes.then(|| striking.clone()));
        let notes = Notes::fold(all);
        let document = day(&notes, Catalogue::shared(), every::site(), every::thing(2), &Span::Job);
        let page = html(&document);
        for line in all_lines(&document) {
            assert!(!shows_a_key(&line), "{line}");
            assert!(!line.contains('{'), "a slot is not filled: {line}");
        }
        assert!(!page.contains("<script"));
        if with_strikes {
            let struck: Vec<_> = all_lines(&document).into_iter().filter(|line| line.contains("to see it")).collect();
            assert_eq!(struck.len(), later.len());
            let pieces: usize = struck.iter().map(|line| line.split("; ").count()).sum();
            assert!(pieces >= facts, "{pieces} pieces for {facts} facts");
        }
    }
}

#[test]
fn a_subject_that_nothing_is_known_of_has_words_too() {
    let mut book = site();
    arrive(&mut book, 0, TOLLIVER);
    let nobody = id(999);
    book.write(
        0,
        vec![
            add(nobody, Happening::Unfinished(words("something"))),
            add(Subject::Side(nobody, boxproof_core::job::Side::Far), Happening::DoNotCover(words("it"))),
            add(nobody, Happening::Switched { on: false }),
        ],
    );
    let document = record(&book.notes(), &Span::Job);
    assert!(!all_lines(&document).iter().any(|line| shows_a_key(line)));
    has(part(&document, "unfinished"), &["a thing not known here | something"]);
}
