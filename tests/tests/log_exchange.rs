//! Entries that go from one log to another as lines.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::fmt::Write as _;
use std::io::{self, BufReader, Read};

use boxproof_core::job::{Signed, sign};
use boxproof_core::log::{About, Bad, Log, line};
use boxproof_tests::every::{self, Pen};
use proptest::prelude::*;

fn text(entries: &[Signed]) -> Vec<String> {
    let one = |signed: &Signed| {
        let mut line = Vec::new();
        line::write(signed, &mut line).unwrap();
        String::from_utf8(line).unwrap()
    };
    entries.iter().map(one).collect()
}

fn fresh(folder: &tempfile::TempDir, name: &str) -> Log {
    Log::create(&folder.path().join(name), About::Site(every::site())).unwrap()
}

fn given_out(log: &mut Log) -> String {
    let mut lines = Vec::new();
    log.give_out(&mut lines).unwrap();
    String::from_utf8(lines).unwrap()
}

#[test]
fn each_line_is_told_what_became_of_it() {
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let mut log = fresh(&folder, "a");
    let mut pen = Pen::new(1, every::site());
    let ours = text(&[pen.remark("one").unwrap(), pen.remark("two").unwrap(), pen.remark("three").unwrap()]);
    let other = text(&[Pen::new(1, every::thing(77)).remark("elsewhere").unwrap()]);
    let mut lines = String::from("\u{feff}");
    for line in [
        &ours[2],                                        // 1: taken, before its predecessors
        "\n",                                            // 2: nothing
        &ours[0].replace('\n', "\r\n"),                  // 3: taken
        &ours[0],                                        // 4: known
        &ours[1].replace("two", "tvo"),                  // 5: altered
        &other[0],                                       // 6: other site
        "box,breaker,volts\n",                           // 7: not ours
        &format!("{}\n", &ours[1][..ours[1].len() / 2]), // 8: cut
        &ours[1][..ours[1].len() - 1],                   // 9: taken, without its line feed
    ] {
        lines.push_str(line);
    }
    let report = log.take_in(&mut lines.as_bytes()).unwrap();
    assert_eq!((report.taken, report.known, report.newer), (3, 1, 0), "{report:?}");
    assert_eq!(report.other_sites.iter().collect::<Vec<_>>(), [(&every::thing(77), &1)]);
    let named = [(5, Bad::Unread(sign::Unread::Signature)), (7, Bad::NotOurs), (8, Bad::Damaged)];
    assert_eq!((report.bad, &report.named[..]), (3, &named[..]));
    assert_eq!(given_out(&mut log), ours.concat());
    assert!(log.verify().unwrap().is_whole());
}

#[test]
fn what_is_missing_from_a_chain_is_seen() {
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let mut pen = Pen::new(1, every::site());
    let lines = text(&(0..6).map(|n| pen.remark(&format!("{n}")).unwrap()).collect::<Vec<_>>());
    let mut log = fresh(&folder, "a");
    // The second and the fifth were taken out.
    log.take_in(&mut [&lines[0], &lines[2], &lines[3], &lines[5]].map(String::as_str).concat().as_bytes()).unwrap();
    let verified = log.verify().unwrap();
    let chain = &verified.chains[&pen.author()];
    assert_eq!((chain.entries, chain.last, &chain.gaps[..]), (4, 6, &[(2, 2), (5, 5)][..]));
    assert_eq!((chain.missing.len(), chain.heads.len(), chain.is_whole()), (2, 3, false));
    // A second phone with the same key: the number that it claims is there already.
    let mut fork = Pen::new(1, every::site());
    let forked = text(&[fork.remark("another first").unwrap()]);
    log.take_in(&mut [&lines.concat(), &forked[0]].map(String::as_str).concat().as_bytes()).unwrap();
    let verified = log.verify().unwrap();
    let chain = &verified.chains[&pen.author()];
    assert!(chain.gaps.is_empty() && chain.missing.is_empty() && !chain.is_whole());
    assert_eq!(chain.repeated.keys().collect::<Vec<_>>(), [&1]);
}

#[test]
fn many_bad_lines_are_counted_and_the_good_one_among_them_is_taken() {
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let mut log = fresh(&folder, "a");
    let mut lines = "no line of ours\n".repeat(1_000);
    lines.push_str(&text(&[Pen::new(1, every::site()).remark("x").unwrap()])[0]);
    lines.push_str(&"{\"sig\":\"zz\n".repeat(1_000));
    let report = log.take_in(&mut lines.as_bytes()).unwrap();
    assert_eq!((report.taken, report.bad, report.named.len()), (1, 2_000, boxproof_core::log::MOST_NAMED));
}

#[test]
fn a_source_that_breaks_off_leaves_what_came_before() {
    struct Broken;
    impl Read for Broken {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            Err(io::Error::other("cable pulled"))
        }
    }
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let mut log = fresh(&folder, "a");
    let line = &text(&[Pen::new(1, every::site()).remark("x").unwrap()])[0];
    let report = log.take_in(&mut BufReader::new(line.as_bytes().chain(Broken))).unwrap();
    assert_eq!((report.taken, report.ended.as_deref()), (1, Some("cable pulled")));
    assert_eq!(log.entries().unwrap().len(), 1);
}

#[test]
fn a_copy_that_cannot_be_written_is_no_fault_of_the_log() {
    struct Full;
    impl io::Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::StorageFull.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let mut log = fresh(&folder, "a");
    let mut pen = Pen::new(1, every::site());
    log.append(&pen.remark("x").unwrap()).unwrap();
    let mut sentence = String::new();
    write!(sentence, "{}", log.give_out(&mut Full).unwrap_err()).unwrap();
    assert!(sentence.contains("could not be written"), "{sentence}");
    log.append(&pen.remark("y").unwrap()).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_order_gives_the_same_bytes(
        order in Just((0..200).collect::<Vec<usize>>()).prop_shuffle(),
        cut in 0..200_usize,
        junk in prop::collection::vec("[^\n]{0,40}", 0..6),
    ) {
        let entries = every::log().unwrap();
        let lines = text(&entries);
        let pick = |order: &[usize]| order.iter().filter_map(|n| lines.get(*n)).map(String::as_str).collect::<String>();
        let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
        let mut one = fresh(&folder, "one");
        one.take_in(&mut lines.concat().as_bytes()).unwrap();

        let (first, second) = order.split_at(cut);
        let mut two = fresh(&folder, "two");
        let noise = junk.iter().flat_map(|junk| [junk.as_str(), "\n"]).collect::<String>();
        two.take_in(&mut [pick(second), noise].concat().as_bytes()).unwrap();
        two.take_in(&mut pick(first).as_bytes()).unwrap();
        let again = two.take_in(&mut pick(&order).as_bytes()).unwrap();
        prop_assert_eq!((again.taken, again.known), (0, lines.len()));
        prop_assert_eq!(given_out(&mut one), given_out(&mut two));
        prop_assert_eq!(one.heads().unwrap(), two.heads().unwrap());
        prop_assert_eq!(one.verify().unwrap(), two.verify().unwrap());
    }
}
