//! A screen as lines of text: the same for every terminal, so that two of them can be compared.

use boxproof_core::screen::{Body, Pick, Row, Screen, Strand, edge_word};
use boxproof_core::words::say;

/// The whole screen; with `tokens`, what each row and option sends stands under it.
pub(crate) fn text(screen: &Screen, tokens: bool) -> String {
    let mut page = Page { lines: Vec::new(), tokens };
    page.lines.extend([&screen.over].into_iter().filter(|over| !over.is_empty()).cloned());
    let tag = screen.tag.as_ref().map(|tag| format!(" [{tag}]")).unwrap_or_default();
    page.lines.push(format!("{}{tag}", screen.title));
    page.lines.extend(screen.ongoing.clone());
    for row in &screen.rows {
        page.row(row);
    }
    if let Some(file) = &screen.file {
        page.lines.push(say("desk.rows.file", &[("path", &file.path)]));
    }
    page.lines.push(String::new());
    page.lines.join("\n")
}

struct Page {
    lines: Vec<String>,
    tokens: bool,
}

/// Parts that are there, with a sign between them.
fn joined(parts: &[&str], between: &str) -> String {
    let parts: Vec<&str> = parts.iter().copied().filter(|part| !part.is_empty()).collect();
    parts.join(between)
}

/// A conductor: its colour and what is written on it, or what it is called.
fn strand(strand: &Strand) -> String {
    if strand.tape { format!("{} [{}]", strand.colour, strand.text) } else { strand.text.clone() }
}

impl Page {
    fn line(&mut self, text: String) {
        if !text.trim().is_empty() {
            self.lines.push(text);
        }
    }

    fn token(&mut self, token: &str) {
        if self.tokens && !token.is_empty() {
            self.lines.push(format!("      > {token}"));
        }
    }

    fn row(&mut self, row: &Row) {
        let state = row.edge.map(|edge| format!("({}) ", edge_word(edge))).unwrap_or_default();
        let now = if row.now { "> " } else { "  " };
        let first = |text: String| format!("{now}{state}{text}");
        match &row.body {
            Body::Headline { text, right } => {
                self.lines.push(String::new());
                let right = right.join(" | ");
                self.line(joined(&[text, &right], " | "));
            }
            Body::Sentence { text } => self.line(first(text.clone())),
            Body::Notice { title, text, citation, .. } => {
                self.line(first(format!("! {title}")));
                self.line(format!("    {text}"));
                self.line(format!("    {}", citation.as_deref().unwrap_or_default()));
            }
            Body::Item { tag, title, second, value, .. } => {
                let tag = tag.as_ref().map(|tag| format!("[{tag}]")).unwrap_or_default();
                self.line(first(joined(&[&joined(&[&tag, title], " "), value], ": ")));
                self.line(format!("    {second}"));
            }
            Body::Blank { label, value, unit, enter, .. } => {
                let value = if value.is_empty() { "____" } else { value };
                self.line(first(joined(&[&format!("{label}: {value}"), unit], " ")));
                self.token(enter);
            }
            Body::Choice { label, options } => {
                self.line(first(label.clone()));
                self.picks(options);
            }
            Body::Figure { title, second, value, unit, computed, .. } => {
                let value = if value.is_empty() { "____" } else { value };
                self.line(first(format!("{title}: {}", joined(&[value, unit], " "))));
                self.line(format!("    {}", joined(&[second, computed], "; ")));
            }
            Body::Trial { handles, computed, seen, verdict, answers } => {
                let at: Vec<String> = handles.iter().map(|at| joined(&[&at.name, &at.position], " ")).collect();
                let seen = if seen.is_empty() { "____" } else { seen };
                self.line(first(joined(&[&at.join(", "), computed, seen, verdict], " | ")));
                self.picks(answers);
            }
            Body::Strands { title, second, strands } => {
                let strands: Vec<String> = strands.iter().map(strand).collect();
                self.line(first(joined(&[title, &strands.join(", ")], ": ")));
                self.line(format!("    {second}"));
            }
            Body::Drawing { places, .. } => {
                self.line(first(say("desk.rows.drawing", &[])));
                for place in places {
                    self.line(format!("    {}", place.spoken));
                    self.token(&place.token);
                }
            }
            Body::Grid { columns, cells } => self.grid(columns, cells),
            Body::Step { number, title, second, value, done } => {
                let done = if *done { say("desk.rows.done", &[]) } else { String::new() };
                self.line(first(joined(&[&format!("{number}. {title}"), value, &done], ": ")));
                self.line(format!("    {second}"));
            }
            Body::Deeds { back: _, main, others } => {
                self.lines.push(String::new());
                main.iter().chain(others).for_each(|pick| self.pick(pick, "*"));
            }
        }
        self.token(row.go.as_deref().unwrap_or_default());
    }

    fn grid(&mut self, columns: &[String], cells: &[Vec<String>]) {
        for line in super::grid::lines(columns, cells) {
            self.line(format!("  {line}"));
        }
    }

    fn picks(&mut self, picks: &[Pick]) {
        for pick in picks {
            self.pick(pick, if pick.on { "(x)" } else { "( )" });
        }
    }

    fn pick(&mut self, pick: &Pick, sign: &str) {
        let asks = pick.asks.as_ref().map(|ask| format!("{} ____", ask.label)).unwrap_or_default();
        self.line(format!("    {sign} {}", joined(&[&pick.text, &pick.second, &asks], "; ")));
        self.token(&pick.token);
    }
}
