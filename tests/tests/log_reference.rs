//! Exchange lines held against other people's programs: the schema with python3-jsonschema, the signatures with
//! python3-cryptography.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use boxproof_core::job::value::{EntryPoint, LengthUnit, SupplyKind, System};
use boxproof_core::job::{
    Bus, Colour, Fact, Figure, Happening, Held, How, Kind, Landing, Layer, Metal, Mode, Place, Promised, Purpose, Side,
    Signed, Spot, Subject, Target, Tip, Value, sign,
};
use boxproof_core::log::line;
use boxproof_tests::every::{self, Pen, names};
use serde_json::{Value as Json, json};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn schema() -> Json {
    serde_json::from_str(&fs::read_to_string(root().join("shared/schema/entry-1.schema.json")).unwrap()).unwrap()
}

/// Runs a reference script; a missing interpreter or package is a failure with a sentence.
fn python(script: &str, arguments: &[&Path]) -> Output {
    let done = Command::new(boxproof_tests::tool::python())
        .arg(root().join("tests/reference").join(script))
        .args(arguments)
        .output();
    let done = done.unwrap_or_else(|error| panic!("no reference check: install the Debian package python3 ({error})"));
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(said.is_empty(), "{script}: {said}");
    done
}

fn lines(entries: &[Signed]) -> Vec<u8> {
    let mut text = Vec::new();
    for signed in entries {
        line::write(signed, &mut text).unwrap();
    }
    text
}

/// Every kind once more than the lists hold it, as facts that a newer program could write.
fn newer_facts() -> Vec<Json> {
    let set = |value: Json| json!({"set": {"of": {"thing": every::thing(1)}, "layer": "site", "value": value, "how": "seen"}});
    let add = |what: Json| json!({"add": {"of": {"thing": every::thing(1)}, "what": what}});
    vec![
        json!({"weigh": [1, 2, {"x": null}]}),
        set(json!({"smell": "burnt"})),
        add(json!("rained")),
        add(json!({"struck_by_lightning": {"twice": true}})),
    ]
}

/// One line for each fact, so that a bad one cannot hide behind another.
fn one_fact_each() -> Vec<Json> {
    let mut pen = Pen::new(1, every::site());
    pen.remark("first").unwrap();
    let facts = every::facts(pen.last());
    let bodies = facts.iter().map(|fact| pen.write(vec![fact.clone()]).unwrap());
    bodies.map(|signed| serde_json::from_slice(&lines(&[signed])).unwrap()).collect()
}

fn with_fact(line: &Json, fact: Json) -> Json {
    let mut line = line.clone();
    line["entry"]["facts"][0] = fact;
    line
}

/// The line with each of its fact's leaves in turn replaced by what fits nowhere.
fn spoilt(line: &Json) -> Vec<Json> {
    let mut paths = Vec::new();
    leaves(&line["entry"]["facts"][0], String::new(), &mut paths);
    let spoil = |path: String| {
        let mut line = line.clone();
        *line.pointer_mut(&format!("/entry/facts/0{path}")).unwrap() = json!({"x": [[]], "y": 0.5});
        line
    };
    paths.into_iter().map(spoil).collect()
}

fn leaves(json: &Json, path: String, found: &mut Vec<String>) {
    match json {
        Json::Object(map) => map.iter().for_each(|(key, inner)| leaves(inner, format!("{path}/{key}"), found)),
        Json::Array(list) => list.iter().enumerate().for_each(|(n, inner)| leaves(inner, format!("{path}/{n}"), found)),
        _ => found.push(path),
    }
}

#[test]
fn every_fact_fits_the_schema_and_no_spoilt_one_does() {
    let mut good = one_fact_each();
    let mut bad: Vec<Json> = good.iter().flat_map(spoilt).collect();
    let first = good[0].clone();
    good.extend(newer_facts().into_iter().map(|fact| with_fact(&first, fact)));
    for (pointer, wrong) in [
        ("/sig", json!("00")),
        ("/entry/v", json!(2)),
        ("/entry/seq", json!(0)),
        ("/entry/tick", json!(9_007_199_254_740_992_u64)),
        ("/entry/prev", json!("AB")),
        ("/entry/site", json!("not a name")),
        ("/entry/wall", json!("yesterday")),
        ("/entry/facts/0", json!({})),
        ("/entry/facts/0", json!({"weigh": 1, "set": 1})),
        ("/entry/facts/0", json!({"add": {"of": {"thing": every::thing(1)}, "what": "remark"}})),
        ("/entry/facts/0", json!({"add": {"of": {"thing": every::thing(1)}, "what": {"back": null}}})),
    ] {
        let mut line = first.clone();
        *line.pointer_mut(pointer).unwrap() = wrong;
        bad.push(line);
    }
    assert!(good.len() > 200 && bad.len() > good.len(), "{} good, {} bad", good.len(), bad.len());
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, lines: &[Json]| {
        let path = folder.path().join(name);
        fs::write(&path, lines.iter().flat_map(|line| [line.to_string(), "\n".to_owned()]).collect::<String>())
            .unwrap();
        path
    };
    let (good, bad) = (write("good.jsonl", &good), write("bad.jsonl", &bad));
    let done = python("validate_schema.py", &[&root().join("shared/schema/entry-1.schema.json"), &good, &bad]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stdout));
}

/// The names that stand anywhere in a definition of the schema: of properties and of listed texts.
fn named_in(schema: &Json, found: &mut BTreeSet<String>) {
    match schema {
        Json::Object(map) => {
            for (key, inner) in map {
                match (key.as_str(), inner) {
                    ("properties", Json::Object(properties)) => found.extend(properties.keys().cloned()),
                    ("enum" | "examples", Json::Array(list)) => {
                        found.extend(list.iter().filter_map(Json::as_str).map(str::to_owned));
                    }
                    _ => {}
                }
                named_in(inner, found);
            }
        }
        Json::Array(list) => list.iter().for_each(|inner| named_in(inner, found)),
        _ => {}
    }
}

#[test]
fn the_schema_and_the_samples_name_every_kind_there_is() {
    let schema = schema();
    // Written form of all samples, in which every name must occur as a key or a text.
    let samples = serde_json::to_string(&every::facts(boxproof_core::job::Hash::NONE)).unwrap();
    let kinds = [
        ("fact", ["set", "add", "same", "strike"].map(str::to_owned).into()),
        ("value", names::<Value>()),
        ("happening", names::<Happening>()),
        ("target", names::<Target>()),
        ("layer", names::<Layer>()),
        ("how", names::<How>()),
        ("side", names::<Side>()),
        ("tip", names::<Tip>()),
        ("subject", names::<Subject>()),
        ("landing", names::<Landing>()),
        ("bus", names::<Bus>()),
        ("place", names::<Place>()),
        ("spot", names::<Spot>()),
        ("colour", names::<Colour>()),
        ("conductor", names::<Metal>()),
        ("promised", names::<Promised>()),
        ("figure", names::<Figure>()),
        ("mode", names::<Mode>()),
        ("held", names::<Held>()),
        ("happening", names::<Purpose>()),
        ("value", names::<Kind>()),
        ("value", names::<System>()),
        ("value", names::<LengthUnit>()),
        ("value", names::<EntryPoint>()),
        ("value", names::<SupplyKind>()),
    ];
    for (definition, kinds) in kinds {
        let mut named = BTreeSet::new();
        named_in(&schema["$defs"][definition], &mut named);
        assert!(!kinds.is_empty(), "no names for {definition}");
        for kind in kinds {
            assert!(named.contains(&kind), "the schema's {definition} does not name {kind:?}");
            assert!(samples.contains(&format!("{kind:?}")), "no sample in tests/src/every.rs has {kind:?}");
        }
    }
}

#[test]
fn what_the_schema_calls_newer_is_kept_unread() {
    for fact in newer_facts() {
        let read: Fact = serde_json::from_value::<Box<serde_json::value::RawValue>>(fact.clone())
            .and_then(|raw| serde_json::from_str(raw.get()))
            .unwrap();
        assert!(matches!(read, Fact::Newer(_)), "{fact}");
        assert_eq!(serde_json::to_value(&read).unwrap(), fact);
    }
}

#[test]
fn signatures_and_identities_fit_in_another_language() {
    let entries = every::log().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lines.jsonl");
    let text = lines(&entries);
    fs::write(&path, &text).unwrap();
    let done = python("verify_signature.py", &[&path]);
    let theirs = String::from_utf8(done.stdout).unwrap();
    assert!(done.status.success(), "{theirs}");
    let ours: Vec<String> = entries.iter().map(|signed| sign::read(signed).unwrap().hash().to_string()).collect();
    assert_eq!(theirs.lines().collect::<Vec<_>>(), ours);

    // The check itself must be able to fail: one letter of one remark.
    let changed = String::from_utf8(text).unwrap().replacen("wrong box", "wrong bax", 1);
    fs::write(&path, changed).unwrap();
    let done = python("verify_signature.py", &[&path]);
    assert_eq!(done.status.code(), Some(1));
}
