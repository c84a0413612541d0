//! The Android shell's colours and sizes are those of `shared/look/tokens.json`, as resource files. Who changes
//! the tokens writes them anew with `BOXPROOF_LOOK=write cargo test -p boxproof-tests --test android_look`.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use serde_json::{Map, Value};

const TOKENS: &str = include_str!("../../shared/look/tokens.json");

/// A resource file; `lines` makes what stands in it.
fn resources(lines: impl FnOnce(&mut String)) -> String {
    let mut text =
        String::from("<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<!-- Made from shared/look/tokens.json. -->\n");
    text.push_str("<resources>\n");
    lines(&mut text);
    text.push_str("</resources>\n");
    text
}

fn colours(text: &mut String, roles: &Map<String, Value>) {
    for (role, colour) in roles {
        writeln!(text, "    <color name=\"{role}\">{}</color>", colour.as_str().unwrap()).unwrap();
    }
}

fn array(text: &mut String, kind: &str, name: &str, items: impl Iterator<Item = String>) {
    writeln!(text, "    <{kind} name=\"{name}\">").unwrap();
    for item in items {
        writeln!(text, "        <item>{item}</item>").unwrap();
    }
    writeln!(text, "    </{kind}>").unwrap();
}

fn look(tokens: &Value) -> String {
    resources(|text| {
        colours(text, tokens["themes"]["noon"].as_object().unwrap());
        colours(text, tokens["fixed"].as_object().unwrap());
        let roles = || {
            let themed = tokens["themes"]["noon"].as_object().unwrap().keys();
            themed.chain(tokens["fixed"].as_object().unwrap().keys())
        };
        array(text, "string-array", "roles", roles().cloned());
        array(text, "array", "role_colours", roles().map(|role| format!("@color/{role}")));
        for (group, prefix, unit) in [
            ("type_sp", "type", "sp"),
            ("space_dp", "space", "dp"),
            ("touch_dp", "touch", "dp"),
            ("line_dp", "line", "dp"),
        ] {
            for (name, size) in tokens[group].as_object().unwrap() {
                writeln!(text, "    <dimen name=\"{prefix}_{name}\">{size}{unit}</dimen>").unwrap();
            }
        }
    })
}

#[test]
fn the_android_resources_are_those_of_the_tokens() {
    let tokens: Value = serde_json::from_str(TOKENS).unwrap();
    let night = resources(|text| colours(text, tokens["themes"]["cellar"].as_object().unwrap()));
    let res = Path::new(env!("CARGO_MANIFEST_DIR")).join("../android/app/src/main/res");
    for (file, text) in [("values/look.xml", look(&tokens)), ("values-night/look.xml", night)] {
        let path = res.join(file);
        if std::env::var_os("BOXPROOF_LOOK").is_some_and(|way| way == "write") {
            fs::write(&path, &text).unwrap();
        }
        assert_eq!(fs::read_to_string(&path).unwrap(), text, "{file} is not made from these tokens");
    }
}
