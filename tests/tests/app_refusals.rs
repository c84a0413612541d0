//! What bad input gets: one clear sentence each, and nothing noted before is lost.

use boxproof_core::app::{Refusal, Sent};
use boxproof_tests::book::Book;

/// Two boxes, a run between them, a switch and a splice.
const READY: &[&str] = &[
    "box tag=B1 location=hall kind=nonmetallic-1g volume=20.3",
    "box tag=B2 location=porch kind=nonmetallic-1g volume=20.3",
    "run B1/A to=B2/A kind=nm-14-2 length=\"12 ft\"",
    "run B1/B to=? kind=nm-14-2",
    "device B1:switch kind=switch-1p gang=1",
    "join B1+neutrals connector=wire-connector-small B1/A/white B1/B/white",
    "box tag=P location=cellar kind=panel system=split_phase",
    "device P:7 kind=breaker-1p-15 number=7 leg=a",
];

const WRONG: &[(&str, &str)] = &[
    ("an event that does not exist", "frobnicate B1"),
    ("an event that cannot be read", "label B1/A/black \"HOT"),
    ("an event cut short", "label B1/A/black"),
    ("a field twice", "box tag=B9 tag=B10"),
    ("an unknown box", "cover B9 off"),
    ("an unknown conductor", "label B1/A/red HOT"),
    ("an unknown thing by its name", "remark 01890000-0000-7000-8000-000000000000 hello"),
    ("an end placed in a box it is not in", "land B2/A/black B1:switch.line"),
    ("an end joined in a box it is not in", "join B1+hot B2/A/black B1/B/black"),
    ("a pigtail to a device of another box", "join B2+hot B2/A/black >B1:switch.line"),
    ("a run to itself", "run B1/C to=B1/D kind=nm-14-2"),
    ("a letter that is taken", "run B1/A to=B2/C kind=nm-14-2"),
    ("a device with too few terminals", "land B1/A/black B1:switch.traveler_1"),
    ("a kind that is not in the catalogue", "device B1:lamp kind=chandelier"),
    ("a part that the kind has not", "device B1:lamp kind=luminaire watts=\"fan 60\""),
    ("a reading without a number", "read B1 from=B1+neutrals to=B1:switch.line with=M2 mode=ac_low value=\"\""),
    ("a reading of letters", "read B1 from=B1+neutrals to=B1:switch.line with=M2 mode=ac_low value=dead"),
    ("a 4000 V reading", "read B1 from=B1+neutrals to=B1:switch.line with=M2 mode=ac_low value=4000"),
    ("a negative AC reading", "read B1 from=B1+neutrals to=B1:switch.line with=M2 mode=ac_low value=-3"),
    ("both probes on one point", "read B1 from=B1+neutrals to=B1+neutrals with=M2 mode=ac_low value=0"),
    ("a reading by a proximity indicator", "read B1 from=B1+neutrals to=B1:switch.line with=M2 mode=proximity value=0"),
    ("a reading with an unknown instrument", "read B1 from=B1+neutrals to=B1:switch.line with=M9 value=0"),
    ("an answer before a question", "answer B1 with=M2 value=0"),
    ("an empty name", "person name=\"  \""),
    ("an abbreviation without its text", "set \"A. Marsh\" abbreviation=\"SW LEG\""),
    ("an abbreviation of a box", "set B1 abbreviation=\"SW LEG\" as=SL"),
    ("an empty label", "label B1/A/black \"\""),
    ("a name that is taken", "person name=\"A. Marsh\""),
    ("a tag that is taken", "box tag=B1 location=attic"),
    ("a box where a run leads elsewhere", "box tag=B9 location=attic joins=B2/A"),
    ("a 3 km cable", "run B1/C to=B2/C kind=nm-14-2 length=\"3000 m\""),
    ("a cable of no length", "run B1/C to=B2/C kind=nm-14-2 length=0"),
    ("a volume that is no number", "set B1 volume=NaN"),
    ("an enormous number", "set B1 volume=99999999999999999999999999"),
    ("a clamp count below zero", "set B1 clamps=-1"),
    ("an unknown field", "set B1 colourfulness=3"),
    ("an unknown layer", "set B1 gangs=2 layer=dreamed"),
    ("an unknown edition", "job name=Attic edition=1066"),
    ("a dead limit above the policy's", "job name=Attic limit=50"),
    ("arriving twice", "arrive \"A. Marsh\" job=Porch"),
    ("coming back without having left", "back"),
    ("taking off a lock that is not there", "unlock P:7"),
    ("confirming a fact that does not exist", "confirm 00"),
    ("striking without a reason", "strike B1"),
    ("a thing the same as itself", "same B1 B1"),
    ("two things that are not alike", "same B1 B1:switch"),
    ("as planned where nothing is planned", "as-planned B1"),
    ("a trial in a position that the handle has not", "try P:7.load at=P:7.handle=sideways seen=on"),
    ("an end through a conductor of another box", "place B1/A/black through B2/A/white"),
    ("a splice of nothing", "join B1+grounds"),
];

#[test]
fn each_gets_one_sentence_and_nothing_noted_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::begin(folder.path()).unwrap();
    for line in READY {
        book.send(line).unwrap_or_else(|refusal| panic!("{line}: {refusal}"));
    }
    let before = book.notebook.notes(book.site).unwrap().image();
    for (what, line) in WRONG {
        let Err(refusal) = book.send(line) else { panic!("{what} was taken: {line}") };
        let sentence = refusal.to_string();
        assert!(matches!(refusal, Refusal::Input(_)), "{what}: {refusal:?}");
        assert!(sentence.ends_with('.') && sentence.len() < 200, "{what}: {sentence}");
        assert!(!sentence.contains("refuse.") && !sentence.contains('{'), "{what} has no words: {sentence}");
        assert_eq!(book.notebook.notes(book.site).unwrap().image(), before, "{what} changed what was noted");
    }
}

#[test]
fn a_second_tap_notes_nothing_and_a_stale_one_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::begin(folder.path()).unwrap();
    let drawn = book.notebook.revision(book.site).unwrap();
    let tap = |line: &str| {
        let token = format!("{line} site={}", book.site);
        book.notebook.send(&Sent { token, input: None, drawn })
    };
    tap("box tag=B1 location=hall").unwrap();
    let once = book.notebook.notes(book.site).unwrap().image();
    tap("box tag=B1 location=hall").unwrap();
    assert_eq!(book.notebook.notes(book.site).unwrap().image(), once);
    let refusal = tap("box tag=B2 location=porch").unwrap_err();
    assert!(refusal.to_string().contains("Nothing was noted"), "{refusal}");
    assert_eq!(book.notebook.notes(book.site).unwrap().image(), once);
}

#[test]
fn a_token_that_waits_for_typing_takes_the_input() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::begin(folder.path()).unwrap();
    let line = "prove M2 mode=ac_low on=\"circuit 5\" value=?";
    assert!(book.type_in(line, None).is_err());
    assert!(book.type_in(line, Some("one hundred")).is_err());
    book.type_in(line, Some("121,4")).unwrap();
    assert!(book.notebook.notes(book.site).unwrap().image().contains("121.4"));
}

#[test]
fn what_is_taken_back_comes_back_and_further_goes_further() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::begin(folder.path()).unwrap();
    let tags = || {
        let notes = book.notebook.notes(book.site).unwrap();
        let layer = boxproof_core::job::Layer::Found(notes.job_now().unwrap());
        let wiring = boxproof_core::job::Wiring::of(&notes, layer);
        wiring.boxes_in_order().into_iter().map(|id| wiring.tag(id)).collect::<Vec<_>>()
    };
    book.send("box tag=B1 location=hall").unwrap();
    book.send("box tag=B2 location=porch").unwrap();
    book.send("take-back").unwrap();
    assert_eq!(tags(), ["B1"]);
    book.send("take-back").unwrap();
    assert!(tags().is_empty());
    book.send("bring-back").unwrap();
    assert_eq!(tags(), ["B1"]);
    book.send("bring-back").unwrap();
    assert_eq!(tags(), ["B1", "B2"]);
    assert!(book.send("bring-back").is_err());
    book.send("sign").unwrap();
    assert!(book.send("take-back").unwrap_err().to_string().contains("Say why"));
    book.send("take-back why=\"wrong house\"").unwrap();
    assert_eq!(tags(), ["B1"]);
}
