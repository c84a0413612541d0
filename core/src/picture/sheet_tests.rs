//! Sheets of labels and cards: nothing lies over anything, nothing leaves its paper, no word is lost, whatever is
//! written.

use proptest::prelude::*;
use proptest::test_runner::TestCaseError;

use super::paper::{MARGIN, Paper, wide};
use super::{
    Anchor, BoxCard, BoxTag, CardRow, Flag, Form, Picture, PlateCard, Shape, box_cards, label_sheets, plate_cards,
};

/// Left, top, right, foot.
type Frame = (f64, f64, f64, f64);

fn overlap(a: Frame, b: Frame) -> bool {
    const HAIR: f64 = 0.2;
    a.0 + HAIR < b.2 && b.0 + HAIR < a.2 && a.1 + HAIR < b.3 && b.1 + HAIR < a.3
}

/// Where words lie. Lower lines of letters reach a fifth of their size under the line.
fn words(picture: &Picture) -> Vec<(Frame, String)> {
    let each = picture.shapes.iter().filter_map(|shape| match &shape.form {
        Form::Words { x, y, text, size, anchor, bold } => {
            let width = wide(text, *size, *bold);
            let left = match anchor {
                Anchor::Start => *x,
                Anchor::Middle => x - width / 2.0,
                Anchor::End => x - width,
            };
            Some(((left, y - size * 0.8, left + width, y + size * 0.18), text.clone()))
        }
        _ => None,
    });
    each.collect()
}

/// All that is written on some sheets, without spaces.
fn written(sheets: &[Picture]) -> String {
    sheets.iter().flat_map(words).map(|(_, text)| text.split_whitespace().collect::<String>()).collect()
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

fn check(paper: Paper, sheets: &[Picture]) -> Result<(), TestCaseError> {
    let (width, height) = paper.size();
    for (n, sheet) in sheets.iter().enumerate() {
        prop_assert_eq!((sheet.width, sheet.height), (width, height));
        let words = words(sheet);
        for (m, (one, text)) in words.iter().enumerate() {
            let inside = one.0 >= MARGIN - 0.1 && one.2 <= width - MARGIN + 0.1 && one.1 >= 0.0 && one.3 <= height;
            prop_assert!(inside, "sheet {}: {} leaves the paper: {:?}", n, text, one);
            for (other, more) in &words[m + 1..] {
                prop_assert!(!overlap(*one, *other), "sheet {}: {} {:?} over {} {:?}", n, text, one, more, other);
            }
        }
    }
    Ok(())
}

/// Words that people write, and some that nobody should.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[A-Z]{1,6}( [A-Z0-9]{1,5}){0,2}",
        2 => "[a-z,.]{1,12}( [a-z0-9]{1,12}){0,6}",
        1 => "[A-Za-z0-9]{1,90}",
        1 => "[WM]{20,40}( [WM]{1,30}){0,9}",
        1 => "\\PC{0,40}",
        1 => Just(String::new()),
        1 => Just("a very long remark in place of a label ".repeat(95)),
    ]
}

fn a_flag() -> impl Strategy<Value = Flag> {
    ("B[0-9]{1,2} [A-H] [a-z]{3,12}", text(), "to B[0-9]{1,2}, circuit [0-9]{1,2}").prop_map(|(of, words, to)| Flag {
        of,
        words,
        to,
    })
}

fn short() -> impl Strategy<Value = String> {
    prop_oneof![4 => "[A-Za-z0-9]{1,8}( [a-z]{1,10}){0,4}", 1 => "[A-Z]{30,60}", 1 => "\\PC{0,30}"]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn flags_and_tags_keep_apart_and_lose_nothing(
        flags in prop::collection::vec(a_flag(), 0..40),
        tags in prop::collection::vec((short(), short(), short(), short()), 0..12),
        letter in any::<bool>(),
    ) {
        let paper = if letter { Paper::Letter } else { Paper::A4 };
        let tags: Vec<BoxTag> = tags
            .into_iter()
            .map(|(tag, circuits, place, about)| BoxTag { tag, circuits, place, about })
            .collect();
        let sheets = label_sheets(paper, "Labels, Lantern Lane", &flags, &tags);
        prop_assert_eq!(&sheets, &label_sheets(paper, "Labels, Lantern Lane", &flags, &tags));
        prop_assert_eq!(sheets.is_empty(), flags.is_empty() && tags.is_empty());
        check(paper, &sheets)?;
        let all = written(&sheets);
        for flag in &flags {
            // Both halves are alike.
            let whole = squeezed(&format!("{}{}{}", flag.of, flag.words, flag.to));
            prop_assert!(all.matches(&whole).count() >= 2, "{} is not twice on the sheets", whole);
        }
        for tag in &tags {
            prop_assert!(all.contains(&squeezed(&tag.place)));
        }
    }

    #[test]
    fn cards_keep_apart_and_lose_nothing(
        cards in prop::collection::vec((short(), text(), prop::collection::vec(text(), 0..5), prop::collection::vec(short(), 0..3)), 0..9),
    ) {
        let cards: Vec<PlateCard> = cards
            .into_iter()
            .map(|(tag, place, mut lines, cautions)| {
                lines.retain(|line| line.len() < 400);
                let place = place.chars().take(80).collect();
                PlateCard { tag, place, lines, cautions, foot: "As noted.".to_owned() }
            })
            .collect();
        for paper in Paper::ALL {
            let sheets = plate_cards(paper, "Cards", &cards);
            check(paper, &sheets)?;
            let all = written(&sheets);
            for line in cards.iter().flat_map(|card| card.lines.iter().chain(&card.cautions)) {
                prop_assert!(all.contains(&squeezed(line)), "{} is lost", line);
            }
        }
    }

    #[test]
    fn a_box_has_one_sheet_whatever_is_in_it(
        ends in prop::collection::vec((short(), short(), text()), 0..90),
        lines in prop::collection::vec(text(), 0..9),
    ) {
        let rows = ends.into_iter().map(|(end, written, place)| CardRow { end, written, on_tape: true, place });
        let shape = Shape { role: "ink".to_owned(), edge: None, form: Form::Circle { x: 180.0, y: 400.0, radius: 170.0 } };
        let picture = Picture { width: 360.0, height: 900.0, shapes: vec![shape], ..Picture::default() };
        let card = BoxCard {
            tag: "B3".to_owned(),
            place: "foot of stair".to_owned(),
            under: "Lantern Lane".to_owned(),
            picture,
            cautions: vec!["Beware.".to_owned()],
            parts: vec![("Box".to_owned(), lines.clone())],
            ends: rows.collect(),
            foot: "As noted.".to_owned(),
        };
        for paper in Paper::ALL {
            let sheets = box_cards(paper, std::slice::from_ref(&card));
            prop_assert_eq!(sheets.len(), 1);
            check(paper, &sheets)?;
            let all = written(&sheets);
            for line in lines.iter().chain(card.ends.iter().map(|row| &row.place)) {
                prop_assert!(all.contains(&squeezed(line)), "{} is lost", line);
            }
        }
    }
}

#[test]
fn a_thousand_labels_make_as_many_sheets_as_they_need() {
    let flag =
        |n: u32| Flag { of: format!("B{n} A black"), words: format!("TRAV {n}"), to: "to B1, circuit 7".to_owned() };
    let flags: Vec<Flag> = (0..1000).map(flag).collect();
    // By hand: of 279.4 and 297 mm, margins and head leave 231.4 and 249; a row takes 15 and, but for the last, 3.
    for (paper, rows) in [(Paper::Letter, 13), (Paper::A4, 14)] {
        let sheets = label_sheets(paper, "Labels", &flags, &[]);
        assert_eq!(sheets.len(), 1000_usize.div_ceil(3 * rows), "{paper:?}");
        let last = sheets.last().unwrap();
        let title = format!("Labels, sheet {0} of {0}", sheets.len());
        assert!(last.spoken.starts_with(&title), "{}", last.spoken);
    }
}
