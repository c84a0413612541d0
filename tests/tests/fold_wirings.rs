//! A wiring that is brought up to date after each entry is the one that is made from all of them.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "helpers of these tests stop at what they do not expect, as the tests do"
)]

use boxproof_core::job::value::{LoadWatts, Range};
use boxproof_core::job::{
    Fact, Happening, Kind, Layer, LoadPoint, Noted, Notes, Place, Promise, Promised, Side, Subject, ThingId, Tip,
    Value, Wiring,
};
use boxproof_tests::hand::{Book, add, id, set};
use boxproof_tests::played::notes_of;
use proptest::prelude::*;

const JOB: u32 = 2;
const BEFORE: u32 = 3;

fn layers(notes: &Notes) -> Vec<Layer> {
    let jobs = notes.things(Kind::Job, Layer::Site).into_iter();
    let mut layers: Vec<Layer> =
        jobs.flat_map(|job| [Layer::Found(job), Layer::Planned(job), Layer::Left(job)]).collect();
    layers.push(Layer::Site);
    layers
}

/// Adds the entries one by one to notes that were asked for every wiring before, and compares after each.
fn compare(entries: &[Noted]) {
    let mut notes = Notes::default();
    for noted in entries {
        // What is asked for now is what the next entry brings up to date.
        for layer in layers(&notes) {
            let _ = notes.wiring(layer);
        }
        notes.add(noted.clone());
        for layer in layers(&notes) {
            let (kept, made) = (notes.wiring(layer), Wiring::of(&notes, layer));
            // A copy has no seal; what is where is compared below.
            assert_eq!(format!("{:#?}", (*kept).clone()), format!("{made:#?}"), "{layer:?} after {noted:?}");
            for at in made.boxes.keys() {
                assert_eq!(kept.runs_in(*at), made.runs_in(*at));
                assert_eq!(kept.pigtails_in(*at), made.pigtails_in(*at));
                assert_eq!(kept.devices_in(*at), made.devices_in(*at));
                assert_eq!(kept.splices_in(*at), made.splices_in(*at));
            }
            for splice in made.splices.keys() {
                assert_eq!(kept.ends_in(*splice), made.ends_in(*splice));
            }
            for device in made.devices.keys() {
                assert_eq!(kept.ends_on(*device, "common"), made.ends_on(*device, "common"));
            }
        }
    }
}

#[test]
fn after_every_entry_of_the_demo() {
    let script = std::fs::read_to_string("../shared/demo/lantern-lane.txt").unwrap();
    let notes = notes_of(&script, None).unwrap();
    let entries: Vec<Noted> = notes.entries().map(|(_, kept)| kept.noted.as_ref().clone()).collect();
    assert!(entries.len() > 100);
    compare(&entries);
}

const KINDS: [Kind; 8] =
    [Kind::Run, Kind::Run, Kind::Device, Kind::Box, Kind::Box, Kind::Splice, Kind::Supply, Kind::Job];

fn thing(n: u8) -> ThingId {
    id(10 + u32::from(n % 8))
}

fn side(n: u8) -> Side {
    Side::BOTH[usize::from(n % 2)]
}

fn tip(n: u8) -> Tip {
    if n.is_multiple_of(5) {
        return Tip::Lead { device: id(12), lead: "hot".to_owned() };
    }
    Tip::Wire { run: thing(n % 2), wire: n / 4 % 3, side: side(n / 12) }
}

fn a_value((what, n): (u8, u8)) -> (Subject, Value) {
    let load = LoadPoint { device: id(12), load: "lamp".to_owned() };
    match what % 12 {
        0 | 1 => (thing(n).into(), Value::Present(n / 8 % 3 > 0)),
        2 => (thing(n).into(), Value::Tag(format!("B{}", n % 3))),
        3 => (Subject::Side(thing(n % 2), side(n / 6)), Value::InBox(Some(thing(3 + n / 3 % 2)))),
        4 => (Subject::Side(thing(n % 2), side(n / 6)), Value::Letter(format!("{}", n % 3))),
        5 => (tip(n).into(), Value::Place(Place::Splice(id(15)))),
        6 => (tip(n).into(), Value::Label(Some(format!("{n}")))),
        7 => (id(12).into(), Value::InBox(Some(thing(3 + n % 2)))),
        8 => (id(JOB).into(), Value::Promise(Promise { load, rule: Promised::Always })),
        9 => {
            (id(1).into(), Value::Range(Range { connector: "c".to_owned(), size: "14".to_owned(), least: 2, most: n }))
        }
        10 => {
            (id(12).into(), Value::Watts(LoadWatts { load: "lamp".to_owned(), watts: n.to_string().parse().unwrap() }))
        }
        _ => (id(JOB).into(), Value::After((n % 2 == 0).then(|| id(BEFORE)))),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn after_every_entry_of_any_job(acts in prop::collection::vec((any::<(u8, u8)>(), any::<(u8, u8)>(), 0_u8..6), 0..40)) {
        let mut book = Book::default();
        let known = |n: u32, kind| [set(id(n), Layer::Site, Value::Is(kind)), set(id(n), Layer::Site, Value::Present(true))];
        let begun = [known(1, Kind::Site), known(JOB, Kind::Job), known(BEFORE, Kind::Job)].concat();
        book.write(0, begun);
        let kinds = (0_u8..).zip(KINDS).map(|(n, kind)| set(thing(n), Layer::Site, Value::Is(kind)));
        let kinds: Vec<Fact> = kinds.collect();
        book.write(0, kinds);
        let mut entries_of_one = 0_usize;
        for (one, other, layer) in acts {
            let layer = match layer {
                0 => Layer::Site,
                1 => Layer::Planned(id(JOB)),
                2 => Layer::Left(id(JOB)),
                3 => Layer::Left(id(BEFORE)),
                _ => Layer::Found(id(JOB)),
            };
            let mut facts: Vec<Fact> = [one, other].map(|pick| {
                let (of, value) = a_value(pick);
                // What is true of a job or a site is said of the site as a whole.
                let whole = matches!(value, Value::Promise(_) | Value::Range(_) | Value::After(_));
                set(of, if whole { Layer::Site } else { layer }, value)
            }).into();
            facts.push(add(id(13), Happening::CoverOff));
            book.write(0, facts);
            entries_of_one += 1;
        }
        prop_assert!(book.entries.len() >= entries_of_one);
        compare(&book.entries);
    }
}
