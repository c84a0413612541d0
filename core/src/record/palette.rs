//! The colours of paper, from the tokens of the look. No colour stands anywhere else in the record.

use std::fmt::Write as _;

use crate::picture::palette::{NOON, palette};

/// The colours of the light theme as variables: paper is white and ink is dark, whatever the person's screen is set to.
pub(super) fn variables() -> String {
    let mut sheet = String::from(":root{color-scheme:light;");
    for (role, colour) in palette().themes.get(NOON).into_iter().flatten() {
        // Writing to a String cannot fail.
        let _ = write!(sheet, "--{role}:{colour};");
    }
    sheet.push('}');
    sheet
}
