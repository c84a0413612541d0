//! The colours of paper, from the tokens of the look. No colour stands anywhere else in the record.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Deserialize;

const TOKENS: &str = include_str!("../../../shared/look/tokens.json");

#[derive(Default, Deserialize)]
struct Tokens {
    themes: BTreeMap<String, BTreeMap<String, String>>,
}

/// The colours of the light theme as variables: paper is white and ink is dark, whatever the person's screen is set to.
pub(super) fn variables() -> String {
    let tokens: Tokens = serde_json::from_str(TOKENS).unwrap_or_default();
    let mut sheet = String::from(":root{color-scheme:light;");
    for (role, colour) in tokens.themes.get("noon").into_iter().flatten() {
        // Writing to a String cannot fail.
        let _ = write!(sheet, "--{role}:{colour};");
    }
    sheet.push('}');
    sheet
}
