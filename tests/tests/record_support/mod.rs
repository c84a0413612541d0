//! What the tests of the day record share: a script played to a record, and text looked for in its sections.
#![allow(dead_code, reason = "each test file uses a part")]

use boxproof_core::app::script::play;
use boxproof_core::catalogue::Catalogue;
use boxproof_core::job::{Notes, ThingId};
use boxproof_core::log::Folder;
use boxproof_core::record::document::{Block, Cell, Section};
use boxproof_core::record::{Document, Span, day};

/// The demo job's script.
pub(crate) const DEMO: &str = include_str!("../../../shared/demo/lantern-lane.txt");

/// The notes of a script at one of its moments, or at its end, read back from the file.
pub(crate) fn played(script: &str, until: Option<&str>) -> (Notes, ThingId) {
    let folder = tempfile::tempdir().unwrap();
    let played = play(script, folder.path(), until).unwrap_or_else(|fault| panic!("{fault}"));
    let mut log = Folder::open(folder.path()).unwrap().site(played.site).unwrap();
    (Notes::fold(log.notes(0).unwrap().noted), played.site)
}

/// The record of the last day of a script.
pub(crate) fn record_of(script: &str, until: Option<&str>) -> Document {
    let (notes, site) = played(script, until);
    let job = notes.job_now().unwrap();
    day(&notes, Catalogue::shared(), site, job, &Span::last(&notes, job))
}

fn cell(cell: &Cell) -> String {
    let mark = cell.mark.map(|mark| format!(" [{}]", mark.words())).unwrap_or_default();
    if cell.struck { format!("~{}~{mark}", cell.text) } else { format!("{}{mark}", cell.text) }
}

fn row(cells: &[Cell]) -> String {
    cells.iter().map(cell).collect::<Vec<_>>().join(" | ")
}

/// A section as lines: what a person reads, with marks in brackets and struck text between tildes.
pub(crate) fn lines(section: &Section) -> Vec<String> {
    let mut lines = vec![
        section.mark.map_or_else(|| section.title.clone(), |mark| format!("{} [{}]", section.title, mark.words())),
    ];
    for block in &section.blocks {
        match block {
            Block::Text(text) => lines.push(cell(text)),
            Block::List(items) => lines.extend(items.iter().map(cell)),
            Block::Titled(title, items) => {
                lines.push(title.clone());
                lines.extend(items.iter().map(cell));
            }
            Block::Entries(entries) => {
                lines.extend(entries.iter().map(|entry| format!("{}: {}", entry.label, cell(&entry.value))));
            }
            Block::Table(table) => {
                lines.push(table.caption.clone());
                let titles: Vec<_> = table.columns.iter().map(|column| column.title.as_str()).collect();
                lines.push(titles.join(" | "));
                lines.extend(table.rows.iter().map(|cells| row(cells)));
            }
            Block::Notice(notice) => lines.push(format!("{} {}", notice.title, notice.text)),
            Block::Lines(under) => lines.extend(under.iter().cloned()),
        }
    }
    lines.extend(section.sections.iter().flat_map(self::lines));
    lines
}

fn search<'d>(sections: &'d [Section], is: &dyn Fn(&Section) -> bool) -> Option<&'d Section> {
    sections.iter().find_map(|part| if is(part) { Some(part) } else { search(&part.sections, is) })
}

/// The section of this name.
pub(crate) fn part<'d>(document: &'d Document, id: &str) -> &'d Section {
    search(&document.sections, &|part| part.id == id).unwrap_or_else(|| panic!("there is no section {id}"))
}

/// The section whose title begins so.
pub(crate) fn titled<'d>(document: &'d Document, title: &str) -> &'d Section {
    let is = |part: &Section| part.title.starts_with(title);
    search(&document.sections, &is).unwrap_or_else(|| panic!("there is no section {title}"))
}

/// Everything that a document says.
pub(crate) fn all_lines(document: &Document) -> Vec<String> {
    document.sections.iter().flat_map(lines).collect()
}

/// Asserts that each wanted text stands in some line of a section.
pub(crate) fn has(section: &Section, wanted: &[&str]) {
    let lines = lines(section);
    for text in wanted {
        assert!(lines.iter().any(|line| line.contains(text)), "“{text}” is not in “{}”:\n{lines:#?}", section.title);
    }
}

/// Does a line show a key of the words file where words should stand?
pub(crate) fn shows_a_key(line: &str) -> bool {
    let is_key = |piece: &str| {
        let mut names = piece.split('.');
        let first = names.next().unwrap_or_default();
        let plain = |name: &str| !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c == '_');
        let rooms = ["record", "tell", "name", "check", "state", "rule", "colour", "bus", "run", "box", "device"];
        rooms.contains(&first) && piece.contains('.') && names.all(plain)
    };
    line.split(|c: char| !(c.is_ascii_alphanumeric() || c == '.' || c == '_')).any(is_key)
}
