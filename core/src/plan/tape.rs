//! What is written on a tape, as far as it says what a conductor does.

use super::role::{Duty, Flow};
use crate::words::say;

/// What the words on a tape say. What names a box alone says where a conductor goes, not what it does.
pub(super) fn read(label: &str) -> Option<(Duty, Option<Flow>)> {
    let label = label.to_uppercase();
    let has = |key: &str| {
        let words = say(key, &[]);
        label.split_whitespace().collect::<Vec<_>>().join(" ").contains(&words)
    };
    // "SW LEG HOT" is a switched leg: what tells more stands first.
    let duty = if has("plan.tape.traveler") {
        Duty::Traveler
    } else if has("plan.tape.switched") {
        Duty::SwitchedLeg
    } else if has("plan.tape.neutral") {
        Duty::Neutral
    } else if has("plan.tape.ground") {
        Duty::Ground
    } else if has("plan.tape.hot") {
        Duty::ConstantHot
    } else {
        return None;
    };
    let word = |key: &str| label.split_whitespace().any(|word| word == say(key, &[]));
    let flow = match (word("plan.tape.in"), word("plan.tape.out")) {
        (true, false) => Some(Flow::In),
        (false, true) => Some(Flow::Out),
        _ => None,
    };
    Some((duty, flow))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_of_the_trade_are_read_and_a_box_alone_says_nothing() {
        assert_eq!(read("HOT IN"), Some((Duty::ConstantHot, Some(Flow::In))));
        assert_eq!(read("Hot out B2"), Some((Duty::ConstantHot, Some(Flow::Out))));
        assert_eq!(read("NEUT B5"), Some((Duty::Neutral, None)));
        assert_eq!(read("NEUT IN"), Some((Duty::Neutral, Some(Flow::In))));
        assert_eq!(read("TRAV 1"), Some((Duty::Traveler, None)));
        assert_eq!(read("SW  LEG IN"), Some((Duty::SwitchedLeg, Some(Flow::In))));
        assert_eq!(read("GND"), Some((Duty::Ground, None)));
        assert_eq!(read("TO B4"), None);
        assert_eq!(read(""), None);
    }
}
