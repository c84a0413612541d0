//! What is written on a tape, as far as it says what a conductor does.

use std::collections::BTreeMap;

use super::role::{Duty, Flow};
use crate::words::say;

/// What the words on a tape say, `own` being what people of the site write for the words of the trade. What names a
/// box alone says where a conductor goes, not what it does. What the trade reads one way and somebody's own words
/// another says nothing.
pub(super) fn read(label: &str, own: &BTreeMap<String, String>) -> Option<(Duty, Option<Flow>)> {
    match (read_plain(label), read_plain(&plain(label, own))) {
        (Some((trade, _)), Some((meant, _))) if trade != meant => None,
        (trade, meant) => meant.or(trade),
    }
}

/// A tape with the words of the trade in place of somebody's own; the longest of them counts where several begin alike.
pub(super) fn plain(label: &str, own: &BTreeMap<String, String>) -> String {
    let label = label.to_uppercase();
    let mut rest: Vec<&str> = label.split_whitespace().collect();
    let mut words: Vec<&str> = Vec::new();
    while let Some(first) = rest.first().copied() {
        let fits = own.iter().map(|(own, of)| (own.split_whitespace().collect::<Vec<_>>(), of));
        let longest = fits.filter(|(own, _)| rest.starts_with(own)).max_by_key(|(own, _)| own.len());
        let (word, taken) = longest.map_or((first, 1), |(own, of)| (of.as_str(), own.len().max(1)));
        words.push(word);
        rest.drain(..taken.min(rest.len()));
    }
    words.join(" ")
}

fn read_plain(label: &str) -> Option<(Duty, Option<Flow>)> {
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
        let none = BTreeMap::new();
        assert_eq!(read("HOT IN", &none), Some((Duty::ConstantHot, Some(Flow::In))));
        assert_eq!(read("Hot out B2", &none), Some((Duty::ConstantHot, Some(Flow::Out))));
        assert_eq!(read("NEUT B5", &none), Some((Duty::Neutral, None)));
        assert_eq!(read("NEUT IN", &none), Some((Duty::Neutral, Some(Flow::In))));
        assert_eq!(read("TRAV 1", &none), Some((Duty::Traveler, None)));
        assert_eq!(read("SW  LEG IN", &none), Some((Duty::SwitchedLeg, Some(Flow::In))));
        assert_eq!(read("GND", &none), Some((Duty::Ground, None)));
        assert_eq!(read("TO B4", &none), None);
        assert_eq!(read("", &none), None);
    }

    #[test]
    fn what_people_write_of_their_own_is_read_as_what_it_stands_for() {
        let own = [("S.L.", "SW LEG"), ("S.L. <", "SW LEG IN"), ("T", "TRAV"), ("FEED", "HOT IN"), ("NEUT", "HOT")];
        let own: BTreeMap<String, String> = own.into_iter().map(|(own, of)| (own.to_owned(), of.to_owned())).collect();
        assert_eq!(read("s.l. B5", &own), Some((Duty::SwitchedLeg, None)));
        assert_eq!(read("S.L.  <", &own), Some((Duty::SwitchedLeg, Some(Flow::In))), "the longest counts");
        assert_eq!(read("T 2", &own), Some((Duty::Traveler, None)));
        assert_eq!(read("feed", &own), Some((Duty::ConstantHot, Some(Flow::In))));
        assert_eq!(read("T-2", &own), None, "a part of a word is no word");
        assert_eq!(read("HOT OUT", &own), Some((Duty::ConstantHot, Some(Flow::Out))), "the trade's words stay");
        assert_eq!(read("NEUT", &own), None, "the trade and somebody here mean two things by it");
        assert_eq!(plain("t 1 to b4", &own), "TRAV 1 TO B4");
    }
}
