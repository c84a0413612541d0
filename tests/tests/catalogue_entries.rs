//! A new kind of device is data; a broken entry is refused with a sentence and harms nothing.

use boxproof_core::catalogue::Catalogue;
use proptest::prelude::*;

const DOUBLE_DIMMER: &str = r#"{
  "id": "dimmer-double", "group": "control", "yokes": 1, "gangs": 1, "amperes": 5, "name": "two dimmers on one yoke",
  "points": [
    {"id": "line", "form": "lead", "role": "line", "colour": "black", "size": "14"},
    {"id": "red_1", "form": "lead", "role": "switched", "colour": "red", "size": "14"},
    {"id": "ground", "form": "terminal", "role": "ground", "metalwork": "green", "landings": ["screw"]}
  ],
  "switches": [{"id": "left", "marked": true, "positions": [
    {"id": "on", "connects": [["line", "red_1"]]}, {"id": "off", "connects": []}]}]
}"#;

#[test]
fn a_new_kind_is_added_without_code() {
    let shared = Catalogue::shared();
    let more = shared.with(DOUBLE_DIMMER).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!(more.device("dimmer-double").map(|kind| kind.points.len()), Some(3));
    assert_eq!(more.device_name("dimmer-double"), "two dimmers on one yoke");
    assert_eq!(more.devices().count(), shared.devices().count() + 1);
    assert!(shared.device("dimmer-double").is_none(), "the shared catalogue was changed");
    assert!(more.with(&format!("[{DOUBLE_DIMMER}]")).is_err(), "a name was taken twice");
    assert_eq!(more.with("[]").unwrap().devices().count(), more.devices().count());
}

#[test]
fn a_broken_entry_is_refused_with_a_sentence_that_says_what_to_do() {
    let wrong = |from: &str, to: &str| {
        let text = DOUBLE_DIMMER.replacen(from, to, 1);
        assert_ne!(text, DOUBLE_DIMMER, "{from} is not in the entry");
        Catalogue::shared().with(&text).expect_err(to).to_string()
    };
    for (from, to, says) in [
        (r#"["line", "red_1"]"#, r#"["line", "blue"]"#, "“blue”"),
        (r#""id": "red_1""#, r#""id": "line""#, "“line” comes twice"),
        (r#""id": "dimmer-double""#, r#""id": "switch-1p""#, "“switch-1p” comes twice"),
        (r#""id": "dimmer-double""#, r#""id": """#, "empty"),
        (r#", {"id": "off", "connects": []}"#, "", "fewer than two positions"),
        (r#""size": "14""#, r#""size": "13""#, "“13” is in no table"),
        (r#""colour": "black", "#, "", "no color"),
        (r#""landings": ["screw"]"#, r#""landings": []"#, "takes no conductor"),
        (r#""gangs": 1"#, r#""gangs": 1, "colour": "loud""#, "cannot be read"),
        (r#""gangs": 1"#, r#""gangs": -1"#, "cannot be read"),
    ] {
        let text = wrong(from, to);
        assert!(text.contains(says), "{text}");
        assert!(text.ends_with("Nothing was changed. Mend the entry and take it in again."), "{text}");
    }
    let long = "x".repeat(100_000);
    assert!(Catalogue::shared().with(&long).expect_err("long").to_string().len() < 400);
}

#[test]
fn an_outlet_has_no_watts_and_a_load_has() {
    let lamp = |rest: &str| {
        let text = format!(
            r#"{{"id": "x", "group": "load", "yokes": 0, "gangs": 0, "points": [
              {{"id": "hot", "form": "lead", "role": "hot", "colour": "black"}},
              {{"id": "neutral", "form": "lead", "role": "neutral", "colour": "white"}}],
              "loads": [{{"id": "lamp", "from": "hot", "to": "neutral"{rest}}}]}}"#
        );
        Catalogue::shared().with(&text).is_ok()
    };
    assert!(lamp(r#", "watts": 60"#));
    assert!(lamp(r#", "outlet": true"#));
    for rest in ["", r#", "watts": -1"#, r#", "watts": 60, "volts": 0"#, r#", "watts": 60, "power_factor": 1.1"#] {
        assert!(!lamp(rest), "{rest}");
    }
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(at in 0usize..DOUBLE_DIMMER.len(), junk in "\\PC{0,6}") {
        let mut text = DOUBLE_DIMMER.to_owned();
        text.replace_range(at..=at, &junk);
        if let Err(fault) = Catalogue::shared().with(&text) {
            prop_assert!(fault.to_string().contains("Nothing was changed"));
        }
    }
}
