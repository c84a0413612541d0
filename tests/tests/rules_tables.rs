//! The tables of the code: every value says where it comes from; the code holds none of them.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test may fail loudly")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use boxproof_core::catalogue::sizes;
use boxproof_core::rules::Edition;
use boxproof_core::rules::nec::{Contents, Table, Yoke, box_fill_table, free_conductor, needed, small_conductors};
use proptest::prelude::*;

fn tables() -> [(&'static str, &'static Table); 3] {
    [("box_fill", box_fill_table()), ("small_conductors", small_conductors()), ("free_conductor", free_conductor())]
}

#[test]
fn every_value_says_edition_section_source_and_confirmation() {
    let years: BTreeSet<u16> = Edition::all().map(Edition::year).collect();
    assert_eq!(years, BTreeSet::from([2017, 2020, 2023]));
    assert!(Edition::of(2014).is_none(), "an edition that the tables do not have is not guessed");
    for (name, table) in tables() {
        assert!(!table.rows.is_empty() && !table.about.is_empty(), "{name}");
        for row in &table.rows {
            let said = [&row.section, &row.source, &row.how, &row.unit];
            assert!(said.iter().all(|text| !text.is_empty()), "{name} {}", row.id);
            assert!(!row.editions.is_empty() && row.editions.iter().all(|year| years.contains(year)), "{}", row.id);
        }
        for edition in Edition::all() {
            let mut seen = BTreeSet::new();
            for row in table.rows.iter().filter(|row| row.editions.contains(&edition.year())) {
                assert!(seen.insert(&row.id), "{name}: {} stands twice in {edition:?}", row.id);
            }
        }
    }
}

#[test]
fn a_row_counts_in_whole_steps() {
    for row in tables().iter().flat_map(|(_, table)| &table.rows) {
        let places = match row.unit.as_str() {
            "in3" => 4,
            "allowance" => 2,
            "in" | "A" => 3,
            _ => 0,
        };
        assert!(row.steps(places).is_some_and(|steps| steps > 0), "{}", row.id);
        if let Some((_, size)) = row.id.split_once(' ') {
            assert!(sizes().contains(&size), "{}", row.id);
        }
    }
}

#[test]
fn small_conductors_are_those_of_the_section() {
    // Encore Wire, note on wire sizes, and diy.stackexchange 169297: 15, 20 and 30 A copper; 15 and 25 A aluminum and
    // copper-clad. 18 and 16 AWG (7 and 10 A) from memory. Seven items until 2020, eight in 2023 (Electrical License
    // Renewal, section 1313); items name the two metals of one size together.
    let at = |id: &str, year: u16| {
        let row = small_conductors().row(id, Edition::of(year).unwrap());
        row.map(|row| row.value.to_string())
    };
    for year in [2017, 2020, 2023] {
        for (id, amperes) in [
            ("copper 18", "7"),
            ("copper 16", "10"),
            ("copper 14", "15"),
            ("aluminium 12", "15"),
            ("copper_clad_aluminium 12", "15"),
            ("copper 12", "20"),
            ("aluminium 10", "25"),
            ("copper_clad_aluminium 10", "25"),
            ("copper 10", "30"),
        ] {
            assert_eq!(at(id, year).as_deref(), Some(amperes), "{id} {year}");
        }
        let standing = small_conductors().rows.iter().filter(|row| row.editions.contains(&year));
        let items: BTreeSet<_> = standing
            .map(|row| {
                let (metal, size) = row.id.split_once(' ').unwrap();
                // 12 and 10 AWG aluminum and copper-clad share an item; 14 AWG copper-clad has its own.
                (if metal == "copper" { "copper" } else { "other" }, size)
            })
            .collect();
        assert_eq!(items.len(), if year == 2023 { 8 } else { 7 }, "{year}");
    }
}

/// The code of a file without comments.
fn code_of(path: &Path) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_code_holds_no_table_value() {
    // Whole numbers that are steps, places and counts of the arithmetic itself, never a value of a code.
    const PLAIN: [&str; 8] = ["0", "1", "2", "3", "4", "9", "100", "1000"];
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/src/rules");
    let mut files = vec![];
    for folder in [folder.clone(), folder.join("nec")] {
        files.extend(std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()));
    }
    files.retain(|path| path.extension().is_some_and(|ending| ending == "rs"));
    assert!(files.len() > 10);
    for path in files {
        let code = code_of(&path);
        for section in ["314.", "240.", "300.", "110.", "250.", "210."] {
            assert!(!code.contains(section), "{} names a section: {section}", path.display());
        }
        let words = code.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == '.'));
        for word in words.filter(|word| word.starts_with(|c: char| c.is_ascii_digit())) {
            let number = word.split("..").next().unwrap_or_default().replace('_', "");
            let known = PLAIN.contains(&number.as_str()) || number == "100000";
            assert!(known, "{}: {word} is a number that belongs into a table", path.display());
        }
    }
}

fn contents() -> impl Strategy<Value = Contents> {
    let size = || prop::sample::select(vec!["18", "16", "14", "12", "10", "8", "6"]);
    let many = || prop::collection::btree_map(size().prop_map(str::to_owned), 0u32..9, 0..4);
    let some = || prop::collection::vec(size().prop_map(str::to_owned), 0..9);
    let maybe = || prop::option::of(any::<bool>());
    let yoke = (1u8..4, prop::option::of(size())).prop_map(|(gangs, size)| Yoke {
        device: None,
        gangs,
        size: size.map(str::to_owned),
    });
    let counts: (_, _, _, _) = (many(), many(), many(), many());
    let rest = (some(), some(), some(), maybe(), maybe(), prop::option::of(0u8..3), prop::collection::vec(yoke, 0..4));
    (counts, rest).prop_map(|((conductors, loops, unmeasured, fixture_wires), rest)| {
        let (grounds, isolated_grounds, fixture_grounds, canopy, clamps, stud_types, yokes) = rest;
        let (blocks, gaps) = (Vec::new(), Vec::new());
        Contents {
            conductors,
            loops,
            unmeasured,
            fixture_wires,
            fixture_grounds,
            canopy,
            grounds,
            isolated_grounds,
            clamps,
            stud_types,
            yokes,
            blocks,
            gaps,
        }
    })
}

proptest! {
    #[test]
    fn least_is_never_above_most_and_is_what_the_lines_sum_to(contents in contents()) {
        for edition in Edition::all() {
            let found = needed(&contents, edition);
            let sum: i64 = found.lines.iter().map(|line| line.needed_in3_e4).sum();
            prop_assert_eq!(sum, found.least_in3_e4);
            prop_assert!(found.most_in3_e4.is_none_or(|most| found.least_in3_e4 <= most));
            if found.unsure.is_empty() && found.gaps.is_empty() {
                prop_assert_eq!(found.most_in3_e4, Some(found.least_in3_e4));
            }
        }
    }

    #[test]
    fn another_conductor_never_needs_less(contents in contents(), size in prop::sample::select(vec!["14", "12", "10"])) {
        let mut more = contents.clone();
        *more.conductors.entry(size.to_owned()).or_default() += 1;
        for edition in Edition::all() {
            let (before, after) = (needed(&contents, edition), needed(&more, edition));
            let open = contents.yokes.iter().any(|yoke| yoke.size.is_none());
            // A yoke whose conductors nobody noted may turn out smaller once a smaller conductor is there.
            prop_assert!(open || after.least_in3_e4 > before.least_in3_e4);
        }
    }

    #[test]
    fn with_up_to_four_grounds_the_editions_agree(mut contents in contents()) {
        contents.isolated_grounds.clear();
        contents.fixture_grounds.clear();
        contents.grounds.truncate(4);
        let by: BTreeMap<u16, i64> =
            Edition::all().map(|edition| (edition.year(), needed(&contents, edition).least_in3_e4)).collect();
        prop_assert_eq!(by[&2017], by[&2020]);
        prop_assert_eq!(by[&2020], by[&2023]);
    }
}
