//! How wide words are, without asking a font: four widths of characters, those of the widest common system font.
//! So a picture is the same on every machine, and a label that fits here fits there.

/// Size that the widths are for.
const SIZE: f64 = 13.0;
/// Capitals, digits, and whatever is not thin.
const WIDE: f64 = 9.2;
const USUAL: f64 = 7.9;
const THIN: f64 = 4.9;
const WIDEST: f64 = 12.6;
/// Bold letters are a little wider.
const BOLD: f64 = 1.08;
/// What stands where words were cut.
const CUT: char = '…';

/// Width of a text in dp.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let plain: f64 = text
        .chars()
        .map(|letter| match letter {
            ' ' | 'i' | 'l' | 'r' | 't' | 'j' | 'f' | '.' | ',' | '\'' | '(' | ')' | ':' => THIN,
            'm' | 'w' | 'M' | 'W' | '…' => WIDEST,
            'a'..='z' | '?' | '-' | '/' => USUAL,
            _ => WIDE,
        })
        .sum();
    plain * size / SIZE * if bold { BOLD } else { 1.0 }
}

/// Cuts a text so that it is no wider than `most`.
pub(super) fn cut(text: &str, most: f64, size: f64, bold: bool) -> String {
    if width(text, size, bold) <= most {
        return text.to_owned();
    }
    let mut kept: String = text.to_owned();
    while kept.pop().is_some() {
        let short = format!("{}{CUT}", kept.trim_end());
        if width(&short, size, bold) <= most || kept.is_empty() {
            return short;
        }
    }
    String::new()
}

/// A text in one or two lines, none wider than `most`, as even as they can be; what does not fit is cut.
pub(super) fn lines(text: &str, most: f64, size: f64, bold: bool) -> Vec<String> {
    if width(text, size, bold) <= most {
        return vec![text.to_owned()];
    }
    match parted(text, size, bold) {
        Some((first, rest)) => vec![cut(first, most, size, bold), cut(rest, most, size, bold)],
        None => vec![cut(text, most, size, bold)],
    }
}

/// A text in up to `most_lines` lines, none wider than `most`, each as full as it can be; what does not fit is cut.
pub(super) fn wrapped(text: &str, most: f64, size: f64, bold: bool, most_lines: usize) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let is_last = out.len() >= most_lines;
        match out.last_mut() {
            // The last line takes all that is left, and is cut.
            Some(line) if is_last || width(&format!("{line} {word}"), size, bold) <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out.into_iter().map(|line| cut(&line, most, size, bold)).collect()
}

/// How wide a text is in the two lines that suit it best.
pub(super) fn two_lines(text: &str, size: f64, bold: bool) -> f64 {
    let wider = |(first, rest): (&str, &str)| width(first, size, bold).max(width(rest, size, bold));
    parted(text, size, bold).map_or_else(|| width(text, size, bold), wider)
}

/// Broken where the wider part is narrowest.
fn parted(text: &str, size: f64, bold: bool) -> Option<(&str, &str)> {
    let each = text.match_indices(' ').map(|(at, _)| {
        let (first, rest) = text.split_at(at);
        (first, rest.trim_start())
    });
    let wider = |(first, rest): &(&str, &str)| width(first, size, bold).max(width(rest, size, bold));
    each.min_by(|a, b| wider(a).total_cmp(&wider(b)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_break_where_they_can_and_are_cut_where_they_must() {
        assert_eq!(lines("SW LEG", 60.0, 13.0, true), ["SW LEG"]);
        assert_eq!(lines("black pigtail", 60.0, 13.0, false), ["black", "pigtail"]);
        assert_eq!(lines("TO ATTIC FAN", 80.0, 13.0, true), ["TO ATTIC", "FAN"]);
        assert!(two_lines("TO ATTIC FAN", 13.0, true) < width("ATTIC FAN", 13.0, true));
        assert_eq!(lines("to the lamp over the stair", 60.0, 13.0, false).len(), 2);
        let state = "read 2026-05-12; stale: the hand left at 12:10";
        assert_eq!(wrapped(state, 165.0, 14.0, false, 3).len(), 3);
        assert_eq!(wrapped(state, 165.0, 14.0, false, 3).join(" "), state);
        assert!(wrapped(state, 60.0, 14.0, false, 3).iter().all(|line| width(line, 14.0, false) <= 60.0));
        assert!(wrapped("", 60.0, 14.0, false, 3).is_empty());
        for text in ["supercalifragilistic", "a b c d e f g h i j k l m", "", "Ω", "… …"] {
            for most in [10.0, 30.0, 57.0] {
                for line in lines(text, most, 13.0, true) {
                    assert!(width(&line, 13.0, true) <= most || line == "…", "{line} in {most}");
                }
            }
        }
    }
}
