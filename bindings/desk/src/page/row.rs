//! The row vocabulary as HTML. One function for each of the thirteen kinds, and nothing of electricity.
//!
//! What can be pressed is a real button with its token in `data-t`; `data-f` is its name from one drawing to the next
//! (row key and running number), so that focus and typed text find their place again.

use boxproof_core::screen::{Ask, Body, Edge, HandleAt, Pick, Row, Screen, Strand};
use boxproof_core::words::say;
use maud::{Markup, html};

use super::look::state;
use super::shape::{bar, chip, edge, handle, mark, picture};
use super::shell::settings;

/// What a screen needs beside its rows.
pub(super) struct Frame {
    /// Where its file can be fetched, if it has one.
    pub(super) file: Option<String>,
    /// Left and right of it on a wide display.
    pub(super) beside: Vec<(&'static str, Screen)>,
}

/// A whole screen: what is swapped when something was pressed.
pub(super) fn screen(screen: &Screen, frame: &Frame) -> Markup {
    let sections = sections(&screen.rows);
    html! {
        div #screen data-address=(screen.address) data-drawn=(screen.drawn) data-title=(screen.title) {
            header.top {
                @if !screen.over.is_empty() { p.over { (screen.over) } }
                h1 tabindex="-1" {
                    @if let Some(tag) = &screen.tag { span.tape { (tag) } " " }
                    span { (screen.title) }
                }
                @if let Some(ongoing) = &screen.ongoing { p.ongoing { (ongoing) } }
            }
            main.rows {
                div.wide[!frame.beside.is_empty()] {
                    div.columns data-sections=(sections.len().min(3)) {
                        @for section in &sections { section { @for row in section { (one(row)) } } }
                        (handing_out(screen, frame))
                    }
                    @for (side, screen) in &frame.beside { (beside(side, screen)) }
                }
                (settings())
            }
            (deeds(&screen.rows))
        }
    }
}

/// Another screen's rows beside the one that is shown, under its title: on the left pictures alone, on the right all
/// but its deeds. Hidden where there is no room.
fn beside(side: &str, screen: &Screen) -> Markup {
    let stands = |row: &&Row| match row.body {
        Body::Deeds { .. } => false,
        Body::Drawing { .. } => true,
        _ => side != "left",
    };
    let rows: Vec<Row> = screen.rows.iter().filter(stands).cloned().collect();
    html! {
        aside.beside.(side) aria-label=(screen.title) {
            div.head { h2 { (screen.title) } }
            // Names of rows are a screen's own; here several screens stand on one page.
            @for row in rows { (one(&Row { key: format!("{side} {}", row.key), ..row })) }
        }
    }
}

fn handing_out(screen: &Screen, frame: &Frame) -> Markup {
    html! {
        @if let (Some(file), Some(at)) = (&screen.file, &frame.file) {
            section {
                a.r.press.fetch href=(at) download=(file.name) data-f="file/0" {
                    span.shown { (middle(&file.name, &say("page.file", &[]), &html! {})) }
                    (leads_on())
                }
            }
        }
    }
}

/// Rows that stay together when there is room for columns: a headline starts a group, a picture ends one.
fn sections(rows: &[Row]) -> Vec<Vec<&Row>> {
    let mut out: Vec<Vec<&Row>> = Vec::new();
    let mut fresh = true;
    for row in rows.iter().filter(|row| !matches!(row.body, Body::Deeds { .. })) {
        fresh |= matches!(row.body, Body::Headline { .. });
        match out.last_mut() {
            Some(last) if !fresh => last.push(row),
            _ => out.push(vec![row]),
        }
        fresh = matches!(row.body, Body::Drawing { .. });
    }
    out
}

/// One row.
pub(super) fn one(row: &Row) -> Markup {
    match &row.body {
        Body::Headline { text, right } => headline(row, text, right),
        Body::Sentence { text } => framed(row, "txt", &html! { span.m { (text) } }),
        Body::Notice { hazard, title, text, citation } => notice(row, *hazard, title, text, citation.as_deref()),
        Body::Item { tag, title, second, value, mark } => item(row, tag.as_deref(), (title, second, value), *mark),
        Body::Blank { label, value, unit, numeric, enter } => blank(row, (label, value, unit), *numeric, enter),
        Body::Choice { label, options } => choice(row, label, options),
        Body::Figure { title, second, value, unit, computed, share } => {
            figure(row, (title, second), (value, unit, computed), *share)
        }
        Body::Trial { handles, computed, seen, verdict, answers } => {
            trial(row, handles, (computed, seen, verdict), answers)
        }
        Body::Strands { title, second, strands } => strand_row(row, title, second, strands),
        Body::Drawing { width, height, shapes, places } => {
            let drawn = picture(&row.key, (*width, *height), shapes, places);
            drawing(row, &drawn, places)
        }
        Body::Grid { columns, cells } => grid(row, columns, cells),
        Body::Step { number, title, second, value, done } => step(row, *number, (title, second, value), *done),
        Body::Deeds { .. } => html! {},
    }
}

/// An element's id: keys may hold spaces, ids may not.
fn id(kind: &str, key: &str) -> String {
    format!("{kind}-{}", key.replace(char::is_whitespace, "-"))
}

/// The words of a class attribute that every row shares.
fn classes(row: &Row, kind: &str) -> String {
    let mut out = kind.to_owned();
    if row.now {
        out.push_str(" now");
    }
    if row.edge.is_some() {
        out.push_str(" edged");
    }
    out
}

/// A row that is pressed as a whole, or one that is only read. What it shows is hidden from a screen reader where the
/// row says itself in words.
fn framed(row: &Row, kind: &str, inside: &Markup) -> Markup {
    let class = classes(row, kind);
    let label = (!row.spoken.is_empty()).then_some(row.spoken.as_str());
    html! {
        @if let Some(go) = &row.go {
            button class={ "press " (class) } type="button" id=(id("row", &row.key)) data-t=(go) data-f={ (row.key) "/go" }
                aria-label=[label] aria-current=[row.now.then_some("step")] {
                (edge(row.edge)) span.shown { (inside) } (leads_on())
            }
        } @else {
            div class=(class) id=(id("row", &row.key)) aria-current=[row.now.then_some("step")] {
                (edge(row.edge))
                @if let Some(label) = label { span.unseen { (label) } span.shown aria-hidden="true" { (inside) } }
                @else { span.shown { (state_word(row.edge)) (inside) } }
            }
        }
    }
}

/// A row with something to press inside it: its `go`, if it has one, is a button over its first part.
fn holding(row: &Row, kind: &str, first: &Markup, rest: &Markup) -> Markup {
    let label = (!row.spoken.is_empty()).then_some(row.spoken.as_str());
    html! {
        div class=(classes(row, kind)) id=(id("row", &row.key)) role="group" aria-label=[label]
            aria-current=[row.now.then_some("step")] {
            (edge(row.edge))
            @if let Some(go) = &row.go {
                button.press.first type="button" data-t=(go) data-f={ (row.key) "/go" } aria-label=[label] {
                    (first) (leads_on())
                }
            } @else { div.first { (first) } }
            (rest)
        }
    }
}

/// The state in words, for a reader that cannot see the edge.
fn state_word(edge: Option<Edge>) -> Markup {
    html! { @if let Some(edge) = edge { span.unseen { (say(&format!("state.{}", state(edge)), &[])) ", " } } }
}

/// The plum bar: this row leads on.
fn leads_on() -> Markup {
    html! { i.go aria-hidden="true" {} }
}

fn middle(title: &str, second: &str, below: &Markup) -> Markup {
    html! {
        span.m {
            @if !title.is_empty() { span.t { (title) } }
            @if !second.is_empty() { span.s { (second) } }
            (below)
        }
    }
}

fn headline(row: &Row, text: &str, right: &[String]) -> Markup {
    html! {
        div class=(classes(row, if right.len() > 1 { "head trials" } else { "head" })) id=(id("row", &row.key)) {
            (edge(row.edge))
            h2 { (text) }
            @for words in right { span { (words) } }
            @if let Some(go) = &row.go {
                button.press.reach type="button" data-t=(go) data-f={ (row.key) "/go" } aria-label=(row.spoken) {
                    (leads_on())
                }
            }
        }
    }
}

fn notice(row: &Row, hazard: bool, title: &str, text: &str, citation: Option<&str>) -> Markup {
    let inside = html! {
        @if hazard {
            svg.hatch aria-hidden="true" { rect width="24" height="100%" fill="url(#hatch)" {} }
        }
        span.m {
            span.t { (title) }
            @if !text.is_empty() { span.s { (text) } }
            @if let Some(citation) = citation { span.c { (citation) } }
        }
    };
    framed(row, if hazard { "haz" } else { "cau" }, &inside)
}

fn item(row: &Row, tag: Option<&str>, (title, second, value): (&str, &str, &str), marked: bool) -> Markup {
    // Tape that is only intended has a dashed border; without a state nothing is claimed.
    let tape = match row.edge {
        Some(Edge::Planned) => "tape planned",
        Some(Edge::Unknown) => "tape unknown",
        _ => "tape",
    };
    let inside = html! {
        @if let Some(tag) = tag { span class=(tape) { (tag) } }
        (middle(title, second, &html! {}))
        @if !value.is_empty() { span.v { (value) } }
        @if let (true, Some(edge)) = (marked, row.edge) { (mark(edge)) }
    };
    // What goes on for lines keeps the whole width, and its value stands below it.
    let long = tag.is_none() && second.chars().count() > LONG;
    framed(row, if long { "r long" } else { "r" }, &inside)
}

/// Letters of a second line that would take more than three lines beside a value.
const LONG: usize = 66;

fn blank(row: &Row, (label, value, unit): (&str, &str, &str), numeric: bool, enter: &str) -> Markup {
    let id = id("in", &row.key);
    let mode = if numeric { "decimal" } else { "text" };
    let words = html! { label.l for=(id) { (label) } };
    let rest = html! {
        form.blank data-t=(enter) {
            input id=(id) data-f={ (row.key) "/in" } type="text" inputmode=(mode) autocomplete="off" value=(value)
                enterkeyhint="enter" spellcheck="false" data-number=[numeric.then_some("yes")];
            @if !unit.is_empty() { span.unit { (unit) } }
            button.pick type="submit" data-f={ (row.key) "/enter" } { (say("page.enter", &[])) }
            @if numeric { div.keyed data-keys="1" {} }
        }
    };
    holding(row, "seg", &words, &rest)
}

fn choice(row: &Row, label: &str, options: &[Pick]) -> Markup {
    let words = html! { @if !label.is_empty() { span.l { (label) } } };
    let rest = html! {
        div class={ "o n" (across(options)) } {
            @for (n, option) in options.iter().enumerate() { (pick(&row.key, n, option, "pick")) }
        }
    };
    holding(row, "seg", &words, &rest)
}

/// How many options stand side by side, so that all have the same size and no word breaks on the narrowest screen:
/// four hold words of 7 letters there, three of 10, two of 16.
fn across(options: &[Pick]) -> usize {
    let words = |pick: &Pick| {
        let all = pick.text.split(' ').chain(pick.second.split(' '));
        all.map(|word| word.chars().count()).max().unwrap_or(0)
    };
    let longest = options.iter().map(words).max().unwrap_or(0);
    let whole = options.iter().map(|pick| pick.text.chars().count()).max().unwrap_or(0);
    // Letters that a button of so many in a row holds; three lines of words in a narrow one are hard to read at once.
    let most = match (longest, whole) {
        (0..=7, 0..=16) => 4,
        (0..=10, 0..=22) => 3,
        (0..=16, _) => 2,
        _ => 1,
    };
    let lines = options.len().div_ceil(most).max(1);
    options.len().div_ceil(lines).max(1)
}

/// A button that sends its token, after asking if it asks.
fn pick(key: &str, n: usize, pick: &Pick, class: &str) -> Markup {
    let kind = pick.asks.as_ref().map(|Ask { numeric, file, .. }| match (file, numeric) {
        (true, _) => "file",
        (false, true) => "number",
        (false, false) => "text",
    });
    let asks = pick.asks.as_ref().map(|ask| ask.label.as_str());
    let unit = pick.asks.as_ref().map(|ask| ask.unit.as_str()).filter(|unit| !unit.is_empty());
    // Whether a deed is on says nothing; whether an option is on says much.
    let pressed = (class == "pick").then_some(if pick.on { "true" } else { "false" });
    html! {
        button class={ (class) @if pick.on { " on" } } type="button" data-t=(pick.token) data-f={ (key) "/" (n) } data-asks=[asks]
            data-kind=[kind] data-unit=[unit] aria-pressed=[pressed] aria-haspopup=[kind.map(|_| "dialog")] {
            span { (pick.text) }
            @if !pick.second.is_empty() { small { (pick.second) } }
        }
    }
}

fn figure(row: &Row, words: (&str, &str), read: (&str, &str, &str), share: Option<u32>) -> Markup {
    let (value, unit, computed) = read;
    let below = html! { @if let Some(share) = share { (bar(share)) } };
    let inside = html! {
        (middle(words.0, words.1, &below))
        span.v.big[row.now] {
            @if value.is_empty() { span.gap aria-hidden="true" {} } @else { (value) }
            @if !unit.is_empty() { "\u{a0}" (unit) }
            @if !computed.is_empty() { small { (computed) } }
        }
    };
    framed(row, "r figure", &inside)
}

fn trial(row: &Row, handles: &[HandleAt], words: (&str, &str, &str), answers: &[Pick]) -> Markup {
    let (computed, seen, verdict) = words;
    let inverse = row.edge == Some(Edge::Disagrees);
    let told = html! {
        span.sws { @for at in handles { (handle(at)) } }
        span.c { (computed) }
        span.c.inverse[inverse] {
            (seen)
            @if !verdict.is_empty() { small { (verdict) } }
        }
    };
    if answers.is_empty() {
        return framed(row, "trial", &told);
    }
    let rest = html! {
        div class={ "o n" (across(answers)) } {
            @for (n, answer) in answers.iter().enumerate() { (pick(&row.key, n, answer, "pick")) }
        }
    };
    holding(row, "trial asking", &told, &rest)
}

fn strand_row(row: &Row, title: &str, second: &str, strands: &[Strand]) -> Markup {
    let below = html! { span.chips { @for strand in strands { (chip(strand)) } } };
    framed(row, "r", &middle(title, second, &below))
}

fn drawing(row: &Row, drawn: &Markup, places: &[boxproof_core::screen::Touch]) -> Markup {
    html! {
        div class=(classes(row, "pic")) id=(id("row", &row.key)) role="group" aria-label=(row.spoken) {
            (edge(row.edge))
            div.pan { (drawn) }
            // A picture wider than the screen has buttons at its ends: nothing needs a swipe.
            div.ends hidden {
                button.pick type="button" data-pan="-1" { (say("page.left", &[])) }
                button.pick type="button" data-pan="1" { (say("page.right", &[])) }
            }
            // The same places as a list, for who asks for it; always with large text, for words in pictures do not grow.
            @if !places.is_empty() {
                div.listing {
                    button.pick type="button" data-list="1" aria-expanded="false" aria-controls=(id("list", &row.key)) {
                        (say("page.list", &[]))
                    }
                }
                div.places id=(id("list", &row.key)) {
                    @for (n, place) in places.iter().enumerate() {
                        button.r.press type="button" data-t=(place.token) data-f={ (row.key) "/list" (n) } {
                            span.shown { span.m { span.t { (place.spoken) } } }
                            (leads_on())
                        }
                    }
                }
            }
            @if let Some(go) = &row.go {
                button.r.press type="button" data-t=(go) data-f={ (row.key) "/go" } {
                    span.shown { span.m { span.t { (row.spoken) } } }
                    (leads_on())
                }
            }
        }
    }
}

fn grid(row: &Row, columns: &[String], cells: &[Vec<String>]) -> Markup {
    html! {
        div class=(classes(row, "grid")) id=(id("row", &row.key)) tabindex="0" role="group" aria-label=(row.spoken) {
            (edge(row.edge))
            table {
                @if columns.iter().any(|words| !words.is_empty()) {
                    thead { tr { @for words in columns { th scope="col" { (words) } } } }
                }
                tbody { @for line in cells { tr { @for cell in line { td { (cell) } } } } }
            }
            @if let Some(go) = &row.go {
                button.r.press type="button" data-t=(go) data-f={ (row.key) "/go" } {
                    span.shown { span.m { span.t { (row.spoken) } } }
                    (leads_on())
                }
            }
        }
    }
}

fn step(row: &Row, number: u32, (title, second, value): (&str, &str, &str), done: bool) -> Markup {
    let inside = html! {
        span.n { (number) }
        (middle(title, second, &html! {}))
        @if !value.is_empty() { span.v { (value) } }
    };
    framed(row, if done { "step done" } else { "step" }, &inside)
}

/// The bar of what can be done, at the bottom, within reach of a thumb.
fn deeds(rows: &[Row]) -> Markup {
    html! {
        nav.deeds aria-label=(say("page.deeds", &[])) {
            @for row in rows {
                @if let Body::Deeds { back, main, others } = &row.body {
                    @if *back {
                        button.deed type="button" data-back="1" data-f="deeds/back" { span { (say("page.back", &[])) } }
                    }
                    @if let Some(main) = main { (pick(&row.key, 0, main, "deed main")) }
                    @for (n, other) in others.iter().enumerate() { (pick(&row.key, n + 1, other, "deed")) }
                }
            }
        }
    }
}

/// Why nothing was done, in its own frame: never filled, for only a hazard is.
pub(super) fn refusal(sentence: &str) -> Markup {
    html! {
        div #refusal {
            p { (sentence) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn options(texts: &[&str]) -> Vec<Pick> {
        let token = String::new;
        texts
            .iter()
            .map(|&text| Pick { text: text.into(), second: String::new(), on: false, token: token(), asks: None })
            .collect()
    }

    #[test]
    fn options_stand_in_lines_of_equal_length() {
        assert_eq!(across(&options(&["0.0 V", "0.1 V", "0.2 V", "0.3 V", "over the limit", "no digits"])), 3);
        assert_eq!(across(&options(&["found", "planned", "left"])), 3);
        assert_eq!(across(&options(&["bottom left"; 9])), 3);
        assert_eq!(across(&options(&["receptacle on a yoke", "not known"])), 2);
        assert_eq!(across(&options(&["re-identification marks"])), 1);
        assert_eq!(across(&[]), 1);
    }

    #[test]
    fn what_people_write_is_never_read_as_html() {
        let nasty = "<script>\"'&</script>".to_owned();
        let row = Row {
            key: nasty.clone(),
            edge: None,
            now: false,
            spoken: nasty.clone(),
            go: Some(nasty.clone()),
            body: Body::Item {
                tag: Some(nasty.clone()),
                title: nasty.clone(),
                second: nasty.clone(),
                value: nasty.clone(),
                mark: true,
            },
        };
        let drawn = one(&row).into_string();
        assert!(!drawn.contains("<script") && !drawn.contains("\"'"), "{drawn}");
    }

    #[test]
    fn a_headline_starts_a_group_and_a_picture_ends_one() {
        let row = |body| Row { key: String::new(), edge: None, now: false, spoken: String::new(), go: None, body };
        let text = || row(Body::Sentence { text: String::new() });
        let head = || row(Body::Headline { text: String::new(), right: vec![] });
        let picture = || row(Body::Drawing { width: 1.0, height: 1.0, shapes: vec![], places: vec![] });
        let deeds = || row(Body::Deeds { back: true, main: None, others: vec![] });
        let rows = [text(), head(), picture(), text(), text(), head(), text(), deeds()];
        let lengths: Vec<usize> = sections(&rows).iter().map(Vec::len).collect();
        assert_eq!(lengths, [1, 2, 2, 2]);
    }
}
