//! The switch table of many switches from the command line: classes instead of rows, and what is beyond the limit.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

mod support;

use support::{book, run_on};

/// A hall with switches in turn, the first fed from the panel, the last feeding a light.
fn hall(switches: usize) -> Vec<String> {
    let mut events: Vec<String> = [
        r#"site name="Tern Row""#,
        r#"person name="O. Reed""#,
        r#"job name="Hall""#,
        r#"arrive "O. Reed" job="Hall""#,
        "box tag=P location=cellar kind=panel system=split_phase",
        "device P:7 kind=breaker-1p-15 number=7 leg=a",
        "box tag=L location=ceiling kind=octagon-4-1.5",
    ]
    .map(str::to_owned)
    .to_vec();
    let mut add = |event: String| events.push(event);
    for n in 1..=switches {
        add(format!("box tag=B{n} location=\"hall {n}\" kind=nonmetallic-1g"));
    }
    add("run B1/A to=P kind=nm-14-2 length=\"30 ft\" feed=P:7".to_owned());
    for n in 1..switches {
        add(format!("run B{}/A to=B{n}/B kind=nm-14-3 length=\"12 ft\"", n + 1));
    }
    add(format!("run L/A to=B{switches}/B kind=nm-14-2 length=\"12 ft\""));
    for n in 1..=switches {
        let (is_first, is_last) = (n == 1, n == switches);
        let kind = if is_first || is_last { "switch-3way" } else { "switch-4way" };
        add(format!("device B{n}:switch kind={kind} gang=1"));
        add(format!("join B{n}+neutrals connector=wire-connector-small B{n}/A/white B{n}/B/white"));
        add(format!("join B{n}+grounds connector=wire-connector-small B{n}/A/bare B{n}/B/bare >B{n}:switch.ground"));
        let mut land = |end: &str, terminal: &str| add(format!("land B{n}/{end} B{n}:switch.{terminal} screw"));
        if is_first {
            land("A/black", "common");
        } else {
            land("A/black", "traveler_1");
            land("A/red", "traveler_2");
        }
        if is_last {
            land("B/black", "common");
        } else {
            land("B/black", if is_first { "traveler_1" } else { "traveler_3" });
            land("B/red", if is_first { "traveler_2" } else { "traveler_4" });
        }
    }
    add("device L:light kind=luminaire watts=\"lamp 34\"".to_owned());
    add("join L+hot connector=wire-connector-small L/A/black L:light.hot".to_owned());
    add("join L+neutrals connector=wire-connector-small L/A/white L:light.neutral".to_owned());
    add("join L+grounds connector=wire-connector-small L/A/bare L:light.ground >L~".to_owned());
    let handles: Vec<String> = (1..=switches).map(|n| format!("B{n}:switch.handle")).collect();
    add(format!("promise L:light.lamp toggled {}", handles.join(" ")));
    events
}

fn table_of(events: &[String]) -> support::Ran {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("hall");
    let noted = run_on(&["note"], &book, &events.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(noted.code, 0, "{}", noted.err);
    run_on(&["table"], &book, &[])
}

/// Five switches in turn have 32 positions; the parity law says them in one line, and a trial says which half.
#[test]
fn many_positions_are_told_in_classes() {
    let mut events = hall(5);
    let ran = table_of(&events);
    assert!(ran.out.contains("Not covered: 0 places"), "{}", ran.out);
    assert!(ran.out.contains("Each flip of one of these turns it over: B1 switch,"), "{}", ran.out);
    assert!(ran.out.contains("It is on in 16 of 32 positions") && ran.out.contains("as promised"), "{}", ran.out);
    assert!(ran.out.lines().count() < 40, "{}", ran.out);
    let at: Vec<String> = (1..=5).map(|n| format!("B{n}:switch.handle=up")).collect();
    events.push(format!("try L:light.lamp at={} seen=off", at.join(",")));
    let ran = table_of(&events);
    let on =
        ran.out.lines().find(|line| line.trim_start().starts_with("on: an odd number of these down")).unwrap_or("");
    assert!(on.contains("B5 switch") && on.ends_with("(16 of 32 positions)"), "{}", ran.out);
    assert!(ran.out.contains("follows from 1 trial."), "{}", ran.out);
}

/// Twelve switches in turn are beyond the limit: it is said, with what to do, and nothing hangs.
#[test]
fn too_many_positions_are_said_first() {
    let ran = table_of(&hall(12));
    let at = |words: &str| ran.out.find(words).unwrap_or_else(|| panic!("no {words:?} in {}", ran.out));
    assert!(at("12 handles have 4096 combinations; no more than 512") < at("Position by position"));
    assert!(ran.out.contains("L light: worked from") && ran.out.contains("not covered"), "{}", ran.out);
}

/// The way of power is told box by box, and each end of the map with what to look at and what it could change.
#[test]
fn the_demo_shows_paths_and_what_to_look_at() {
    let book = book("morning");
    let out = run_on(&["table"], &book.file, &[]).out;
    for words in [
        "Look in B8: where does each of the 3 go?",
        "It could change B7 light.",
        "Follow the run from B2",
        "fed by P: leg A – circuit 7, load",
        "→ B6: A black “TRAV 1” – switch, traveler 1 – switch, common – B black “SW LEG”",
    ] {
        assert!(out.contains(words), "no {words:?} in {out}");
    }
}
