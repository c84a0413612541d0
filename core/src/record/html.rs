//! The document as one HTML file: its own style, no script, nothing from outside. It reads on paper of either size,
//! on a laptop and on a phone 320 px wide, where each row of a table becomes a block with its column titles.

use std::fmt::Write as _;

use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

use super::document::{Block, Cell, Document, Entry, Notice, Section, Table, Weight};
use super::mark::square;
use super::palette;

const RULES: &str = include_str!("record.css");

/// The deepest heading that HTML has.
const DEEPEST: u8 = 6;

/// Writes a document as one HTML file.
pub fn html(document: &Document) -> String {
    let page = markup! {
        (DOCTYPE)
        html lang=(document.language) {
            head {
                meta charset="utf-8";
                // Whatever was typed, the file runs nothing and fetches nothing.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { (clean(&document.title)) }
                style { (PreEscaped(style(document))) }
            }
            body {
                header {
                    h1 { (clean(&document.title)) }
                    p.under { (clean(&document.subtitle)) }
                }
                main { @for part in &document.sections { (section(part, 2)) } }
            }
        }
    };
    page.into_string()
}

/// The style sheet, with the foot of the pages in it.
fn style(document: &Document) -> String {
    let mut sheet = palette::variables();
    sheet.push_str(RULES);
    let of = crate::words::say("record.page_of", &[]);
    let page = crate::words::say("record.page", &[]);
    let _ = write!(
        sheet,
        "@page{{@bottom-left{{content:{}}}@bottom-right{{content:{} counter(page) {} counter(pages)}}}}",
        css_text(&document.foot),
        css_text(&format!("{page} ")),
        css_text(&format!(" {of} "))
    );
    sheet
}

/// A text as a CSS string. All but letters, digits and spaces are written as numbers, so that no text can end it.
fn css_text(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() || letter == ' ' {
            out.push(letter);
        } else {
            // The space ends the number, whatever follows.
            let _ = write!(out, "\\{:06X} ", u32::from(letter));
        }
    }
    out.push('"');
    out
}

/// A text without the characters that HTML does not allow: each is shown as one that could not be read.
fn clean(text: &str) -> String {
    let allowed = |letter: char| !letter.is_control() || matches!(letter, '\n' | '\t');
    text.chars().map(|letter| if allowed(letter) { letter } else { char::REPLACEMENT_CHARACTER }).collect()
}

fn section(part: &Section, level: u8) -> Markup {
    markup! {
        section id=(part.id) aria-labelledby=(format!("{}-title", part.id)) {
            (heading(part, level))
            @for block in &part.blocks { (self::block(block)) }
            @for inner in &part.sections { (section(inner, (level + 1).min(DEEPEST))) }
        }
    }
}

fn heading(part: &Section, level: u8) -> Markup {
    let id = format!("{}-title", part.id);
    let inner = markup! {
        (clean(&part.title))
        @if let Some(mark) = part.mark { " " span.how { (square(mark)) " " (mark.words()) } }
    };
    match level {
        0..=2 => markup! { h2 id=(id) { (inner) } },
        3 => markup! { h3 id=(id) { (inner) } },
        4 => markup! { h4 id=(id) { (inner) } },
        5 => markup! { h5 id=(id) { (inner) } },
        _ => markup! { h6 id=(id) { (inner) } },
    }
}

fn block(block: &Block) -> Markup {
    match block {
        Block::Text(text) => markup! { p { (cell(text)) } },
        Block::List(items) => markup! { ul { @for item in items { li { (cell(item)) } } } },
        Block::Titled(title, items) => markup! {
            p.title { (clean(title)) }
            ul { @for item in items { li { (cell(item)) } } }
        },
        Block::Entries(entries) => self::entries(entries),
        Block::Table(table) => self::table(table),
        Block::Notice(notice) => self::notice(notice),
        Block::Lines(lines) => markup! { div.lines { @for line in lines { p.line { (clean(line)) } } } },
    }
}

/// Text, struck through where it was struck out, then how it is known.
fn cell(cell: &Cell) -> Markup {
    markup! {
        @let says_it = cell.mark.is_some_and(|mark| mark.words() == cell.text);
        @if cell.struck { s { (clean(&cell.text)) } } @else if !says_it { (clean(&cell.text)) }
        @if let Some(mark) = cell.mark {
            @if !cell.text.is_empty() && !says_it { " " }
            span.how { (square(mark)) " " (mark.words()) }
        }
    }
}

fn entries(entries: &[Entry]) -> Markup {
    markup! {
        dl {
            @for entry in entries {
                div { dt { (clean(&entry.label)) } dd { (cell(&entry.value)) } }
            }
        }
    }
}

fn notice(notice: &Notice) -> Markup {
    let class = match notice.weight {
        Weight::Hazard => "notice hazard",
        Weight::Caution => "notice",
    };
    markup! {
        div class=(class) role="note" {
            p { strong { (clean(&notice.title)) } @if !notice.text.is_empty() { " " (clean(&notice.text)) } }
        }
    }
}

/// A table. The roles are spelt out because a narrow page shows rows as blocks, and browsers then forget that they
/// are a table.
fn table(table: &Table) -> Markup {
    markup! {
        table role="table" {
            @if !table.caption.is_empty() { caption { (clean(&table.caption)) } }
            thead role="rowgroup" {
                tr role="row" {
                    @for column in &table.columns {
                        th.n[column.figures] scope="col" role="columnheader" { (clean(&column.title)) }
                    }
                }
            }
            tbody role="rowgroup" {
                @for row in &table.rows { (self::row(table, row)) }
            }
        }
    }
}

fn row(table: &Table, row: &[Cell]) -> Markup {
    markup! {
        tr role="row" {
            @for (n, (cell, column)) in row.iter().zip(&table.columns).enumerate() {
                @if n == 0 {
                    th.n[column.figures] scope="row" role="rowheader" { (self::cell(cell)) }
                } @else {
                    td.n[column.figures] role="cell" data-title=(clean(&column.title)) { (self::cell(cell)) }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::document::Mark;

    fn typed(text: &str) -> Document {
        let mut part = Section::new("part", text);
        part.text(Cell::marked(text, Some(Mark::Unchecked)));
        part.list(vec![Cell::struck(text)]);
        part.entries(vec![Entry { label: text.to_owned(), value: text.into() }]);
        part.notice(Weight::Hazard, text, text);
        let mut table = Table { caption: text.to_owned(), ..Table::default() };
        table.columns.push(super::super::document::Column { title: text.to_owned(), figures: false });
        table.columns.push(super::super::document::Column { title: text.to_owned(), figures: true });
        table.row(vec![text.into(), text.into()]);
        part.table(table);
        part.blocks.push(Block::Lines(vec![text.to_owned()]));
        let (title, subtitle, foot) = (text.to_owned(), text.to_owned(), text.to_owned());
        Document { language: "en".to_owned(), title, subtitle, foot, sections: vec![part] }
    }

    #[test]
    fn nothing_typed_becomes_markup() {
        let page = html(&typed("</style><script>x()</script><b>\"&'\u{0}"));
        for harm in ["<script", "<b>", "\u{0}"] {
            assert!(!page.contains(harm), "{harm} stands in the page");
        }
        assert_eq!(page.matches("</style>").count(), 1);
        assert!(page.contains("&lt;b&gt;&quot;&amp;"));
    }

    #[test]
    fn the_file_fetches_nothing_and_runs_nothing() {
        let page = html(&typed("a"));
        for outside in ["http:", "https:", "//", "url(", "@import", "src=", "href=", "<script", "onload"] {
            assert!(!page.contains(outside), "{outside} stands in the page");
        }
    }

    #[test]
    fn colours_come_from_the_tokens_alone() {
        for (number, line) in RULES.lines().enumerate() {
            for (at, _) in line.match_indices('#') {
                let digits = line[at + 1..].chars().take_while(char::is_ascii_hexdigit).count();
                assert!(![3, 4, 6, 8].contains(&digits), "{}: {line}", number + 1);
            }
            for word in ["rgb(", "rgba(", "hsl(", ":white", ":black"] {
                assert!(!line.contains(word), "{}: {line}", number + 1);
            }
        }
        let variables = palette::variables();
        for (at, _) in RULES.match_indices("var(--") {
            let name: String = RULES[at + 6..].chars().take_while(|c| *c != ')').collect();
            assert!(variables.contains(&format!("--{name}:#")), "{name} has no value");
        }
    }

    #[test]
    fn every_mark_has_words_and_a_square_of_its_own() {
        let squares: std::collections::BTreeSet<_> = Mark::ALL.map(|mark| square(mark).into_string()).into();
        assert_eq!(squares.len(), Mark::ALL.len());
        for mark in Mark::ALL {
            assert!(crate::words::english().find(mark.key()).is_some(), "{mark:?}");
        }
    }
}
