//! Lines of a report: headings with a blank line before them, facts two blanks in.

/// A report being written.
#[derive(Default)]
pub(crate) struct Text {
    lines: Vec<String>,
}

impl Text {
    /// One line as it is.
    pub(crate) fn line(&mut self, line: &str) {
        self.lines.push(line.to_owned());
    }

    /// Lines as they are.
    pub(crate) fn lines(&mut self, lines: impl IntoIterator<Item = String>) {
        self.lines.extend(lines);
    }

    /// A heading, and what stands under it.
    pub(crate) fn section(&mut self, heading: &str, under: &[String]) {
        self.lines.push(String::new());
        self.lines.push(heading.to_owned());
        self.indent(2, under);
    }

    /// Lines some blanks in.
    pub(crate) fn indent(&mut self, blanks: usize, under: &[String]) {
        let blanks = " ".repeat(blanks);
        self.lines.extend(under.iter().map(|line| format!("{blanks}{line}")));
    }

    /// The whole text.
    pub(crate) fn end(self) -> String {
        self.lines.into_iter().map(|line| line + "\n").collect()
    }
}
