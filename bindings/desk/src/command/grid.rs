//! Columns of text, each as wide as its widest cell, never as wide as a terminal happens to be.

/// The lines of a table under its column words.
pub(crate) fn lines(columns: &[String], cells: &[Vec<String>]) -> Vec<String> {
    let wide = |n: usize| {
        let all = cells.iter().filter_map(|row| row.get(n)).chain(columns.get(n));
        all.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns.len()).map(wide).collect();
    let line = |row: &Vec<String>| {
        let padded = row.iter().zip(&widths).map(|(cell, width)| format!("{cell:width$}"));
        padded.collect::<Vec<_>>().join(" | ").trim_end().to_owned()
    };
    let rule: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
    std::iter::once(line(&columns.to_vec())).chain([rule.join("-+-")]).chain(cells.iter().map(line)).collect()
}

#[cfg(test)]
mod tests {
    use super::lines;

    #[test]
    fn columns_stand_under_each_other_and_no_line_ends_in_blanks() {
        let text = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
        let got = lines(&text(&["B3", "light"]), &[text(&["up", "on"]), text(&["down", "off"])]);
        assert_eq!(got, ["B3   | light", "-----+------", "up   | on", "down | off"]);
    }
}
