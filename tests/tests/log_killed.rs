//! A program that is killed while it notes loses nothing that it said was noted.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

use boxproof_core::log::Log;
use boxproof_tests::every;

#[test]
fn no_acknowledged_entry_is_lost_when_the_program_is_killed() {
    let folder = tempfile::tempdir_in(every::quick_place()).unwrap();
    let path = folder.path().join("site.boxproof");
    let mut acknowledged = BTreeSet::new();
    for round in 0..12 {
        let mut child =
            Command::new(env!("CARGO_BIN_EXE_note-until-killed")).arg(&path).stdout(Stdio::piped()).spawn().unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap()).lines();
        // Killed at another moment each time: while it begins, and after so many entries.
        for _ in 0..round * 3 {
            acknowledged.insert(said.next().unwrap().unwrap());
        }
        child.kill().unwrap();
        let status = child.wait().unwrap();
        assert!(!status.success(), "it ended by itself");
        // What it had said before it died counts too. A line cut short was not said.
        acknowledged.extend(said.map_while(Result::ok).filter(|line| line.len() == 64));
        if acknowledged.is_empty() {
            continue;
        }
        let mut log = Log::open(&path).unwrap();
        assert_eq!(log.read_only(), None);
        let verified = log.verify().unwrap();
        assert!(verified.is_whole(), "round {round}: {verified:?}");
        let there: BTreeSet<String> = log.entries().unwrap().iter().map(|(hash, _)| hash.to_string()).collect();
        assert!(there.is_superset(&acknowledged), "round {round}: an acknowledged entry is lost");
    }
    assert!(acknowledged.len() > 150, "too few to tell: {}", acknowledged.len());
}
