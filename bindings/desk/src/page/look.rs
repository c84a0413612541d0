//! The look: values from `shared/look/tokens.json` become the variables and colour classes at the top of the style
//! sheet. No colour stands anywhere else.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::OnceLock;

use boxproof_core::screen::Edge;
use serde::Deserialize;

const TOKENS: &str = include_str!("../../../../shared/look/tokens.json");
const RULES: &str = include_str!("page.css");

/// The values of the look.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub(super) struct Look {
    /// Colours by theme and role.
    pub(super) themes: BTreeMap<String, BTreeMap<String, String>>,
    /// Colours that are the same in every theme: copper, jackets, screws.
    pub(super) fixed: BTreeMap<String, String>,
    /// Sizes of type, sp.
    pub(super) type_sp: BTreeMap<String, f64>,
    /// Spaces, dp.
    pub(super) space_dp: BTreeMap<String, f64>,
    /// Sizes of what is touched, dp.
    pub(super) touch_dp: BTreeMap<String, f64>,
    /// Widths of lines, dp.
    pub(super) line_dp: BTreeMap<String, f64>,
}

/// A state's name in the tokens, the style sheet and the words.
pub(super) fn state(edge: Edge) -> &'static str {
    edge.name()
}

/// The look of this build. The tests see to it that the built-in file reads.
pub(super) fn look() -> &'static Look {
    static LOOK: OnceLock<Look> = OnceLock::new();
    LOOK.get_or_init(|| serde_json::from_str(TOKENS).unwrap_or_else(|_| empty()))
}

fn empty() -> Look {
    Look {
        themes: BTreeMap::new(),
        fixed: BTreeMap::new(),
        type_sp: BTreeMap::new(),
        space_dp: BTreeMap::new(),
        touch_dp: BTreeMap::new(),
        line_dp: BTreeMap::new(),
    }
}

/// The whole style sheet.
pub(super) fn style_sheet() -> &'static str {
    static SHEET: OnceLock<String> = OnceLock::new();
    SHEET.get_or_init(|| {
        let look = look();
        let mut sheet = String::with_capacity(32_768);
        sizes(look, &mut sheet);
        themes(look, &mut sheet);
        roles(look, &mut sheet);
        sheet.push_str(RULES);
        sheet
    })
}

/// Type in rem, so that it follows the text size that the person has set; lines and spaces in px.
fn sizes(look: &Look, sheet: &mut String) {
    sheet.push_str(":root{");
    for (name, size) in &look.type_sp {
        put(sheet, format_args!("--type_{name}:{}rem;", size / 16.0));
    }
    for (prefix, values) in [("space", &look.space_dp), ("touch", &look.touch_dp), ("line", &look.line_dp)] {
        for (name, size) in values {
            put(sheet, format_args!("--{prefix}_{name}:{size}px;"));
        }
    }
    for (role, colour) in &look.fixed {
        put(sheet, format_args!("--{role}:{colour};"));
    }
    sheet.push_str("}\n");
}

/// The system decides between the themes, unless the person has chosen.
fn themes(look: &Look, sheet: &mut String) {
    let blocks = [
        ("noon", ":root{color-scheme:light;", "}\n"),
        ("cellar", "@media (prefers-color-scheme:dark){:root:not([data-theme=noon]){color-scheme:dark;", "}}\n"),
        ("cellar", ":root[data-theme=cellar]{color-scheme:dark;", "}\n"),
    ];
    for (theme, before, after) in blocks {
        sheet.push_str(before);
        for (role, colour) in look.themes.get(theme).into_iter().flatten() {
            put(sheet, format_args!("--{role}:{colour};"));
        }
        sheet.push_str(after);
    }
}

/// One class to fill with a role and one to draw with it.
fn roles(look: &Look, sheet: &mut String) {
    let themed = look.themes.values().flat_map(BTreeMap::keys);
    let all: std::collections::BTreeSet<&String> = look.fixed.keys().chain(themed).collect();
    for role in all {
        put(sheet, format_args!(".f-{role}{{fill:var(--{role})}}.s-{role}{{stroke:var(--{role})}}\n"));
    }
}

fn put(sheet: &mut String, text: std::fmt::Arguments<'_>) {
    // Writing to a String cannot fail.
    let _ = sheet.write_fmt(text);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tokens_read_and_both_themes_name_the_same_roles() {
        let look: Look = serde_json::from_str(TOKENS).unwrap();
        assert_eq!(look.themes["noon"].keys().collect::<Vec<_>>(), look.themes["cellar"].keys().collect::<Vec<_>>());
    }

    #[test]
    fn no_colour_stands_outside_the_tokens() {
        let sources = [
            ("page.css", RULES),
            ("page.js", include_str!("page.js")),
            ("row.rs", include_str!("row.rs")),
            ("shape.rs", include_str!("shape.rs")),
            ("shell.rs", include_str!("shell.rs")),
        ];
        for (name, text) in sources {
            for (number, line) in text.lines().enumerate() {
                for (at, _) in line.match_indices('#') {
                    let digits = line[at + 1..].chars().take_while(char::is_ascii_hexdigit).count();
                    assert!(![3, 4, 6, 8].contains(&digits), "{name}:{}: {line}", number + 1);
                }
                for word in ["rgb(", "rgba(", "hsl(", "oklch(", ":white", ":black", "\"white\"", "\"black\""] {
                    assert!(!line.contains(word), "{name}:{}: {line}", number + 1);
                }
            }
        }
    }

    #[test]
    fn every_variable_that_is_used_has_a_value_and_every_value_is_used() {
        let sheet = style_sheet();
        for (at, _) in sheet.match_indices("var(--") {
            let name: String = sheet[at + 6..].chars().take_while(|c| *c != ')' && *c != ',').collect();
            assert!(sheet.contains(&format!("--{name}:")), "{name} has no value");
        }
        for (prefix, values) in [
            ("type", &look().type_sp),
            ("space", &look().space_dp),
            ("touch", &look().touch_dp),
            ("line", &look().line_dp),
        ] {
            for name in values.keys() {
                assert!(RULES.contains(&format!("var(--{prefix}_{name})")), "{prefix} {name} is not used");
            }
        }
    }

    /// Relative luminance and contrast: WCAG 2.2, "relative luminance" and "contrast ratio"; AAA (1.4.6) asks 7:1.
    #[test]
    fn text_has_aaa_contrast_in_both_themes() {
        for (theme, colours) in &look().themes {
            let fixed = &look().fixed;
            let pick = |role: &str| colours.get(role).or_else(|| fixed.get(role)).unwrap().as_str();
            for (text, ground) in [
                ("ink", "paper"),
                ("soft", "paper"),
                ("act", "paper"),
                ("on_act", "act"),
                ("ink", "pale"),
                ("soft", "pale"),
                ("act", "pale"),
                ("on_block", "block"),
                ("picture_ink", "tray"),
                ("picture_ink", "tape"),
                ("picture_ink", "strip"),
                ("picture_ink", "body"),
            ] {
                let ratio = contrast(pick(text), pick(ground));
                assert!(ratio >= 7.0, "{theme}: {text} on {ground} is {ratio:.2}");
            }
        }
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    fn luminance(colour: &str) -> f64 {
        let part = |at: usize| {
            let share = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }
}
