//! What the fold means, case by case: values, layers, strikes, joins, facts of newer versions.

use boxproof_core::job::{
    BoxNote, Colour, Fact, FactRef, Field, FieldKind, Happening, Hash, How, Kind, Layer, Note, Notes, Place, Set, Side,
    Subject, Target, ThingId, Tip, Value, Wiring, entry::Entry,
};
use boxproof_tests::hand::{Book, add, fact, id, instead, same, set, strike};

fn job(n: u32) -> ThingId {
    id(n)
}

fn tag(notes: &Notes, of: ThingId, layer: Layer) -> Note<String> {
    let take = |value: &Value| if let Value::Tag(tag) = value { Some(tag.clone()) } else { None };
    notes.note(&of.into(), &FieldKind::Tag.into(), layer, take)
}

fn said(notes: &Notes, of: ThingId, layer: Layer) -> Option<String> {
    tag(notes, of, layer).get().cloned()
}

fn there(of: ThingId, kind: Kind, layer: Layer) -> Vec<Fact> {
    vec![set(of, Layer::Site, Value::Is(kind)), set(of, layer, Value::Present(true))]
}

fn b3(text: &str) -> Value {
    Value::Tag(text.to_owned())
}

#[test]
fn a_value_is_replaced_noted_twice_and_confirmed() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    let first = book.write(0, vec![set(id(10), found, b3("B3"))]);
    assert_eq!(said(&book.notes(), id(10), found).as_deref(), Some("B3"));
    let second = book.write(0, vec![instead(id(10), found, b3("B4"), &[fact(first, 0)])]);
    assert_eq!(said(&book.notes(), id(10), found).as_deref(), Some("B4"));
    // Another phone, which has not seen the correction.
    let apart = book.write_apart(1, vec![set(id(10), found, b3("B9"))]);
    let twice = tag(&book.notes(), id(10), found);
    assert!(twice.is_twice() && twice.get().is_none(), "no table may claim anything across it");
    // Somebody confirms one: the new value names both.
    book.write(0, vec![instead(id(10), found, b3("B4"), &[fact(second, 0), fact(apart, 0)])]);
    assert_eq!(said(&book.notes(), id(10), found).as_deref(), Some("B4"));
    assert_eq!(book.notes().statements(&id(10).into(), &FieldKind::Tag.into(), found).len(), 4, "nothing is lost");
}

#[test]
fn alike_notes_are_one_and_the_surest_counts() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    for how in [How::Told, How::Seen, How::Confirmed] {
        book.write(0, vec![Fact::Set(Set { of: id(10).into(), layer: found, value: b3("B3"), how, replaces: vec![] })]);
    }
    assert_eq!(tag(&book.notes(), id(10), found).basis().map(|basis| basis.how), Some(How::Seen));
}

#[test]
fn layers_look_through_to_what_the_job_before_left() {
    let mut book = Book::default();
    let (old, new) = (job(2), job(3));
    book.write(0, vec![set(id(10), Layer::Left(old), b3("old, left"))]);
    book.write(0, vec![set(id(10), Layer::Found(old), b3("old, found"))]);
    let (found, planned, left) = (Layer::Found(new), Layer::Planned(new), Layer::Left(new));
    assert_eq!(tag(&book.notes(), id(10), found), Note::NotSaid, "not said to come after any job");
    let after = book.write(0, vec![set(new, Layer::Site, Value::After(Some(old)))]);
    for layer in [found, planned, left] {
        let note = tag(&book.notes(), id(10), layer);
        assert_eq!(note.get().map(String::as_str), Some("old, left"));
        assert_eq!(note.basis().map(|basis| basis.layer), Some(Layer::Left(old)), "shown as from an earlier visit");
    }
    book.write(0, vec![set(id(10), found, b3("found"))]);
    book.write(0, vec![set(id(10), planned, b3("planned"))]);
    let notes = book.notes();
    let seen = [found, planned, left].map(|layer| said(&notes, id(10), layer).unwrap());
    assert_eq!(seen, ["found", "planned", "found"], "what is planned is not thereby left");
    // Two jobs that claim to come after each other end the look instead of going round.
    book.write(0, vec![set(old, Layer::Site, Value::After(Some(new)))]);
    assert_eq!(book.notes().through(left), [left, found, Layer::Left(old), Layer::Found(old), Layer::Site]);
    book.write(0, vec![strike(Target::Entry(after))]);
    assert_eq!(book.notes().through(found), [found, Layer::Site]);
}

#[test]
fn a_planned_box_is_not_found_and_a_removed_one_is_not_left() {
    let mut book = Book::default();
    let (found, planned, left) = (Layer::Found(job(2)), Layer::Planned(job(2)), Layer::Left(job(2)));
    book.write(0, there(id(10), Kind::Box, planned));
    book.write(0, there(id(11), Kind::Box, found));
    book.write(0, vec![set(id(11), left, Value::Present(false))]);
    let notes = book.notes();
    assert_eq!(notes.things(Kind::Box, found), [id(11)]);
    assert_eq!(notes.things(Kind::Box, planned), [id(10), id(11)]);
    assert_eq!(notes.things(Kind::Box, left), []);
    assert_eq!(Wiring::of(&notes, planned).boxes.keys().copied().collect::<Vec<_>>(), [id(10), id(11)]);
}

#[test]
fn not_said_said_to_be_none_and_struck_out_differ() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    let tip = |wire| Tip::Wire { run: id(20), wire, side: Side::Near };
    book.write(0, there(id(20), Kind::Run, found));
    book.write(0, vec![set(tip(0), found, Value::Remarked(None))]);
    let struck = book.write(0, vec![set(tip(1), found, Value::Remarked(Some(Colour::Black)))]);
    book.write(0, vec![set(tip(2), found, Value::Place(Place::Absent))]);
    book.write(0, vec![strike(Target::Fact(fact(struck, 0)))]);
    let notes = book.notes();
    let wiring = Wiring::of(&notes, found);
    let remarked = |wire| &wiring.tips[&tip(wire)].remarked;
    assert_eq!(remarked(0).get(), Some(&None), "looked at, not re-marked");
    assert_eq!(remarked(1), &Note::NotSaid, "struck: counts for nothing");
    assert_eq!(remarked(2), &Note::NotSaid);
    assert_eq!(wiring.place(&tip(2)), Some(&Place::Absent), "looked at, not there");
    let kept = notes.statements(&Subject::Tip(tip(1)), &FieldKind::Remarked.into(), found);
    assert!(kept.len() == 1 && kept[0].struck, "still readable, as on paper");
}

#[test]
fn a_struck_correction_gives_back_what_it_replaced() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    let first = book.write(0, vec![set(id(10), found, b3("B3"))]);
    let second = book.write(0, vec![instead(id(10), found, b3("B4"), &[fact(first, 0)])]);
    let before = book.notes().image();
    let back = book.write(0, vec![strike(Target::Entry(second))]);
    assert_eq!(said(&book.notes(), id(10), found).as_deref(), Some("B3"));
    let again = book.write(0, vec![strike(Target::Entry(back))]);
    assert_eq!(book.notes().image(), before, "taken back and brought back is nothing");
    book.write(0, vec![strike(Target::Entry(again))]);
    assert_eq!(said(&book.notes(), id(10), found).as_deref(), Some("B3"));
}

#[test]
fn a_strike_of_a_thing_reaches_only_what_was_said_before() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    book.write(0, there(id(10), Kind::Box, found));
    book.write(0, vec![set(id(10), found, b3("B3")), add(id(10), Happening::CoverOff)]);
    book.write(0, vec![strike(Target::Thing(id(10)))]);
    let notes = book.notes();
    assert!(notes.things(Kind::Box, found).is_empty() && notes.happened().next().is_none());
    book.write(0, there(id(10), Kind::Box, found));
    let notes = book.notes();
    assert_eq!(notes.things(Kind::Box, found), [id(10)]);
    assert_eq!(tag(&notes, id(10), found), Note::NotSaid, "what was said before stays struck");
}

#[test]
fn a_strike_of_a_joined_thing_leaves_no_half_behind() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    book.write(0, there(id(10), Kind::Box, found));
    book.write(1, there(id(11), Kind::Box, found));
    book.write(0, vec![same(id(11), id(10), false)]);
    assert_eq!(book.notes().things(Kind::Box, found), [id(10)], "spoken of by the least name");
    let mut joined_later = book.clone();
    book.write(0, vec![strike(Target::Thing(id(10)))]);
    assert_eq!(book.notes().things(Kind::Box, found), []);
    // Somebody who struck 10 before anybody said that 12 is the same did not speak of 12.
    joined_later.write(1, there(id(12), Kind::Box, found));
    joined_later.write(0, vec![strike(Target::Thing(id(10)))]);
    joined_later.write(1, vec![same(id(10), id(12), false)]);
    assert_eq!(joined_later.notes().things(Kind::Box, found), [id(10)]);
}

#[test]
fn a_strike_of_something_later_is_no_strike() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    let later = book.clone().write_apart(1, vec![]);
    book.write_apart(0, vec![strike(Target::Entry(later)), set(id(11), found, b3("B1"))]);
    assert_eq!(book.write_apart(1, vec![set(id(10), found, b3("B3"))]), later);
    assert_eq!(said(&book.notes(), id(10), found).as_deref(), Some("B3"));
}

/// A cable noted from both boxes: each phone calls its own side near.
fn cable_noted_twice(swapped: bool) -> (Book, Hash) {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    for (by, run, at) in [(0, 20, 10), (1, 21, 11)] {
        book.write(by, there(id(run), Kind::Run, found));
        let near = Tip::Wire { run: id(run), wire: 0, side: Side::Near };
        book.write(
            by,
            vec![
                set(Subject::Side(id(run), Side::Near), found, Value::InBox(Some(id(at)))),
                set(near, found, Value::Place(Place::Splice(id(at + 20)))),
            ],
        );
    }
    let joined = book.write(0, vec![same(id(21), id(20), swapped)]);
    (book, joined)
}

#[test]
fn a_cable_noted_from_both_boxes_is_one_with_its_sides_turned() {
    let (mut book, joined) = cable_noted_twice(true);
    let found = Layer::Found(job(2));
    let wiring = Wiring::of(&book.notes(), found);
    assert_eq!(wiring.runs.keys().copied().collect::<Vec<_>>(), [id(20)]);
    let tip = |side| Tip::Wire { run: id(20), wire: 0, side };
    assert_eq!(wiring.box_of(&tip(Side::Near)), Some(id(10)));
    assert_eq!(wiring.box_of(&tip(Side::Far)), Some(id(11)));
    assert_eq!(wiring.ends_in(id(31)), [&tip(Side::Far)]);
    // The join was wrong: struck, the two come apart again.
    book.write(1, vec![strike(Target::Entry(joined))]);
    let wiring = Wiring::of(&book.notes(), found);
    assert_eq!(wiring.runs.keys().copied().collect::<Vec<_>>(), [id(20), id(21)]);
    assert_eq!(wiring.box_of(&Tip::Wire { run: id(21), wire: 0, side: Side::Near }), Some(id(11)));
}

#[test]
fn joined_without_turning_the_two_notes_stand_against_each_other() {
    let (book, _) = cable_noted_twice(false);
    let wiring = Wiring::of(&book.notes(), Layer::Found(job(2)));
    assert!(wiring.runs[&id(20)].near.in_box.is_twice());
}

#[test]
fn chains_of_joins_turn_as_often_as_they_say() {
    let mut book = Book::default();
    for (a, b, swapped) in [(22, 21, true), (21, 20, true), (23, 22, true)] {
        book.write(0, vec![same(id(a), id(b), swapped)]);
    }
    let notes = book.notes();
    let found: Vec<_> = (20..24).map(|n| notes.sames().find(id(n))).collect();
    assert_eq!(found, [(id(20), false), (id(20), true), (id(20), false), (id(20), true)]);
    let mut names = notes.sames().names(id(22));
    names.sort();
    assert_eq!(names, [id(20), id(21), id(22), id(23)]);
}

#[test]
fn a_joined_box_takes_values_of_both_names() {
    let (mut book, found) = (Book::default(), Layer::Found(job(2)));
    book.write(0, there(id(10), Kind::Box, found));
    book.write(1, [there(id(11), Kind::Box, found), vec![set(id(11), found, b3("B3"))]].concat());
    book.write(0, vec![same(id(10), id(11), false)]);
    let wiring = Wiring::of(&book.notes(), found);
    let boxes: Vec<&BoxNote> = wiring.boxes.values().collect();
    assert_eq!(boxes.len(), 1);
    assert_eq!(boxes[0].tag.get().map(String::as_str), Some("B3"));
}

/// Facts that a version after this one may write. The words are invented; the rule is only that whoever does not
/// know a fact keeps it as it stood.
const NEWER: [&str; 4] = [
    r#"{"photo_hash":{"of":"x" , "sha":"00"}}"#,
    r#"{"set":{"of":{"thing":"00000000-0000-7000-8000-00000000000a"},"layer":"site","value":{"mood":1},"how":"seen"}}"#,
    r#"{"add":{"of":{"thing":"00000000-0000-7000-8000-00000000000a"},"what":{"gone":{"ended":true,"by_boat":true}}}}"#,
    r#"{"strike":{"what":{"weather":3},"reason":"","weight":2.50}}"#,
];

#[test]
fn facts_of_newer_kinds_are_counted_and_kept_byte_for_byte() {
    let body = |facts: &str| {
        format!(
            r#"{{"v":1,"site":"{}","author":"{}","seq":1,"prev":"{}","tick":1,"wall":"2026-05-12T08:41:00.000-05:00","facts":[{facts}]}}"#,
            id(1),
            boxproof_tests::hand::author(0),
            Hash::NONE
        )
    };
    let text = body(&NEWER.join(","));
    let entry: Entry = serde_json::from_str(&text).unwrap();
    assert!(entry.facts.iter().all(|fact| matches!(fact, Fact::Newer(_))), "{:?}", entry.facts);
    assert_eq!(serde_json::to_string(&entry).unwrap(), text, "passed on as they stood");
    let mut book = Book::default();
    book.write(0, entry.facts);
    let known = book.write(0, vec![set(id(10), Layer::Site, b3("B3"))]);
    let notes = book.notes();
    assert_eq!(notes.newer(), NEWER.len());
    assert_eq!(notes.current(&id(10).into(), &Field::from(FieldKind::Tag), Layer::Site)[0].fact, fact(known, 0));
    let refused = serde_json::from_str::<Entry>(&body(r#""not an object""#));
    assert!(refused.is_err(), "what is no fact of any version is refused");
}

#[test]
fn a_fact_is_named_by_its_entry_and_number() {
    let at = FactRef { entry: Hash([7; 32]), n: 3 };
    assert_eq!(at.to_string().parse(), Ok(at));
}
