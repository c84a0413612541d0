//! The record as HTML: whole, in order, with headed tables. Checked by a strict reader of its own: HTML of this kind
//! has only elements that are closed, and attributes in quotes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test fails by panicking"
)]

mod record_support;

use std::collections::BTreeSet;
use std::sync::OnceLock;

use boxproof_core::record::html;
use record_support::{DEMO, record_of};

/// Elements that have no end tag (HTML Living Standard, 13.1.2, void elements).
const VOID: &[&str] =
    &["meta", "br", "hr", "img", "input", "link", "area", "base", "col", "embed", "source", "track", "wbr"];

#[derive(Debug)]
struct Element {
    name: String,
    attributes: Vec<(String, String)>,
    parents: Vec<String>,
}

impl Element {
    fn get(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }
}

fn attributes(mut text: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    loop {
        text = text.trim_start();
        if text.is_empty() {
            return found;
        }
        let (name, rest) = text.split_once("=\"").unwrap_or_else(|| panic!("not a quoted attribute: {text}"));
        let (value, rest) = rest.split_once('"').unwrap_or_else(|| panic!("an attribute does not end: {text}"));
        assert!(name.chars().all(|c| c.is_ascii_alphanumeric() || "-:".contains(c)), "{name}");
        assert!(!value.contains(['<', '>']), "{value}");
        found.push((name.to_owned(), value.to_owned()));
        text = rest;
    }
}

/// Every element in order; panics where the page is not whole.
fn elements(page: &str) -> Vec<Element> {
    let mut rest = page.strip_prefix("<!DOCTYPE html>").expect("no document type");
    let (mut open, mut found) = (Vec::<String>::new(), Vec::new());
    while let Some(start) = rest.find('<') {
        let text = &rest[..start];
        for (at, _) in text.match_indices('&') {
            let known = ["&lt;", "&gt;", "&amp;", "&quot;"].iter().any(|entity| text[at..].starts_with(entity));
            assert!(known || open.last().is_some_and(|name| name == "style"), "a bare ampersand: {text}");
        }
        let (tag, after) = rest[start + 1..].split_once('>').expect("a tag does not end");
        rest = after;
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name), "an end tag without its start");
            continue;
        }
        let (name, given) = tag.split_once(' ').unwrap_or((tag, ""));
        assert!(name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit()), "{name}");
        found.push(Element { name: name.to_owned(), attributes: attributes(given), parents: open.clone() });
        if !VOID.contains(&name) {
            open.push(name.to_owned());
        }
    }
    assert!(open.is_empty(), "not closed: {open:?}");
    found
}

/// The page of the evening, made once for all tests of this file.
fn evening() -> &'static str {
    static EVENING: OnceLock<String> = OnceLock::new();
    EVENING.get_or_init(|| html(&record_of(DEMO, Some("evening"))))
}

#[test]
fn it_is_whole_and_its_parts_are_in_order() {
    let page = evening();
    let all = elements(page);
    assert_eq!(all[0].get("lang"), Some("en"));
    for one in ["title", "h1", "main", "style"] {
        assert_eq!(all.iter().filter(|element| element.name == one).count(), 1, "{one}");
    }
    let mut ids = BTreeSet::new();
    for id in all.iter().filter_map(|element| element.get("id")) {
        assert!(ids.insert(id), "twice: {id}");
    }
    for named in all.iter().filter_map(|element| element.get("aria-labelledby")) {
        assert!(ids.contains(named), "{named}");
    }
    // WCAG 2.2 technique G141: headings do not skip a level.
    let mut before = 0;
    for element in all.iter().filter(|e| e.name.len() == 2 && e.name.starts_with('h') && e.name != "hr") {
        let level: usize = element.name[1..].parse().unwrap();
        assert!(level <= before + 1, "h{level} follows h{before}");
        before = level;
    }
}

#[test]
fn every_table_is_headed_and_every_row_has_as_many_cells() {
    let page = evening();
    for table in page.split("<table").skip(1) {
        let table = table.split("</table>").next().unwrap();
        let columns = table.matches("scope=\"col\"").count();
        assert!(columns > 0, "{table}");
        for row in table.split("<tr").skip(2) {
            let cells = row.matches("<td").count() + row.matches("scope=\"row\"").count();
            assert_eq!(cells, columns, "{row}");
        }
    }
    for element in elements(page) {
        match element.name.as_str() {
            "th" => assert!(matches!(element.get("scope"), Some("col" | "row")), "{element:?}"),
            "td" => assert!(element.get("data-title").is_some_and(|title| !title.is_empty()), "{element:?}"),
            "li" => assert_eq!(element.parents.last().map(String::as_str), Some("ul")),
            "svg" => assert_eq!(element.get("aria-hidden"), Some("true")),
            "script" | "link" | "img" | "iframe" | "object" | "form" | "a" => panic!("{element:?}"),
            _ => {}
        }
        for (name, value) in &element.attributes {
            assert!(!name.starts_with("on") && name != "href" && name != "src" && name != "style", "{name}={value}");
        }
    }
}

#[test]
fn paper_keeps_rows_whole_and_repeats_the_heads_of_tables() {
    let page = evening();
    let style = page.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    for rule in ["@page{", "counter(page)", "counter(pages)", "display:table-header-group", "break-inside:avoid"] {
        assert!(style.contains(rule), "{rule}");
    }
    // The paper is the printer's, Letter here and A4 there: the page rule names none.
    assert!(!style.contains("{size:") && !style.contains(";size:"));
}

#[test]
fn what_was_typed_is_text_and_nothing_else() {
    let bad = "<b>\"&'</style><script>alert(1)</script>";
    let script = DEMO
        .replace("A puppet maker", &bad.replace('"', "\\\""))
        .replace("two-gang plate", "</td><td onclick=x>")
        .replace("The customer says it is loose.", "<img src=x onerror=y>")
        .replace("\"HOT IN\"", "\"<i>HOT</i>\"");
    assert!(script.contains("<script>"));
    let page = html(&record_of(&script, Some("evening")));
    let all = elements(&page);
    for name in ["b", "i", "img", "script"] {
        assert!(!all.iter().any(|element| element.name == name), "{name}");
    }
    assert!(page.contains("&lt;b&gt;&quot;&amp;'&lt;/style&gt;"), "what was typed still reads as it was typed");
    assert!(page.contains("&lt;i&gt;HOT&lt;/i&gt;"));
}
