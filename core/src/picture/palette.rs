//! Colours by role and strokes by state, from the tokens of the look. No colour stands anywhere else in the core.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use super::shape::Edge;

const TOKENS: &str = include_str!("../../../shared/look/tokens.json");

/// The theme of white paper.
pub const NOON: &str = "noon";

/// The stroke that a state has round a shape.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Stroke {
    /// Width in dp.
    pub width: f64,
    /// Lengths on and off, dp; empty: unbroken.
    pub dash: Vec<f64>,
}

/// What pictures are painted with.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
pub struct Palette {
    /// Colours by theme and role.
    pub themes: BTreeMap<String, BTreeMap<String, String>>,
    /// Colours that are the same in every theme: copper, jackets, screws.
    pub fixed: BTreeMap<String, String>,
    /// Strokes by state.
    pub strokes: BTreeMap<String, Stroke>,
    /// Dashes of lines, by state; a state without one is drawn unbroken.
    pub line_dash: BTreeMap<String, Vec<f64>>,
}

impl Palette {
    /// Whether a role has a colour.
    pub fn knows(&self, role: &str) -> bool {
        self.fixed.contains_key(role) || self.themes.values().all(|theme| theme.contains_key(role))
    }

    /// The colour of a role on white paper; that of ink for a role that nobody knows.
    pub fn on_paper(&self, role: &str) -> &str {
        let noon = self.themes.get(NOON);
        let find = |role: &str| self.fixed.get(role).or_else(|| noon?.get(role));
        find(role).or_else(|| find("ink")).map_or("", String::as_str)
    }

    /// The stroke of a state.
    pub fn stroke(&self, edge: Edge) -> Option<&Stroke> {
        self.strokes.get(edge.name())
    }
}

/// The palette of this build. The tests see to it that the built-in file reads.
pub fn palette() -> &'static Palette {
    static PALETTE: OnceLock<Palette> = OnceLock::new();
    PALETTE.get_or_init(|| serde_json::from_str(TOKENS).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tokens_read_and_every_state_has_a_stroke() {
        let read: Palette = serde_json::from_str(TOKENS).unwrap();
        assert_eq!(*palette(), read);
        for edge in Edge::ALL {
            assert!(read.stroke(edge).is_some(), "{edge:?}");
        }
        assert!(read.on_paper("ink").starts_with('#') && read.on_paper("brass").starts_with('#'));
        assert_eq!(read.on_paper("heliotrope"), read.on_paper("ink"));
    }
}
