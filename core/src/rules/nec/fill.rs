//! Box fill, 314.16: the arithmetic, in whole ten-thousandths of a cubic inch.

use super::contents::{Contents, Gap, Yoke};
use super::edition::Edition;
use super::table::{self, Row};
use crate::catalogue::{area_thousandth_mm2, largest};
use crate::job::ThingId;
use crate::rules::finding::{Amount, Unit};

/// What a line of the count is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Counted {
    /// Conductors that end, are spliced or pass through.
    Conductors,
    /// Unbroken loops that count twice.
    Loops,
    /// Wires from a luminaire.
    FixtureWires,
    /// Equipment grounding conductors.
    Grounds,
    /// An isolated-ground set.
    IsolatedGrounds,
    /// Internal clamps, all together.
    Clamps,
    /// Types of studs and hickeys.
    Studs,
    /// A yoke.
    Yoke(Option<ThingId>),
    /// A terminal-block assembly.
    TerminalBlock,
}

impl Counted {
    /// Key of its words, for a count.
    pub fn words(self) -> &'static str {
        match self {
            Self::Conductors => "rule.fill.line.conductors",
            Self::Loops => "rule.fill.line.loops",
            Self::FixtureWires => "rule.fill.line.fixture_wires",
            Self::Grounds => "rule.fill.line.grounds",
            Self::IsolatedGrounds => "rule.fill.line.isolated_grounds",
            Self::Clamps => "rule.fill.line.clamps",
            Self::Studs => "rule.fill.line.studs",
            Self::Yoke(_) => "rule.fill.line.yoke",
            Self::TerminalBlock => "rule.fill.line.block",
        }
    }
}

/// One line of the count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// What it is about.
    pub counted: Counted,
    /// How many of them there are.
    pub n: u32,
    /// Volume allowances, in hundredths of one.
    pub allowances_hundredths: i64,
    /// The conductor size whose volume one allowance is.
    pub size: String,
    /// The room that the line needs.
    pub needed_in3_e4: i64,
    /// The paragraph that says so.
    pub section: String,
}

impl Line {
    /// The room that the line needs, as an amount.
    pub fn needed(&self) -> Amount {
        Amount::new(self.needed_in3_e4, Unit::CubicInchE4)
    }
}

/// How much room the contents of a box need.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Needed {
    /// Line by line, what is known to count.
    pub lines: Vec<Line>,
    /// The sum of the lines.
    pub least_in3_e4: i64,
    /// The sum if everything counts that may; `None`: something in the box cannot be counted at all.
    pub most_in3_e4: Option<i64>,
    /// What cannot be counted.
    pub gaps: Vec<Gap>,
    /// What nobody said and what makes the difference between the least and the most.
    pub unsure: Vec<Unsure>,
}

/// Something that counts or not, or more or less, as long as nobody said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unsure {
    /// Internal clamps.
    Clamps,
    /// Studs.
    Studs,
    /// A dome or canopy.
    Canopy,
    /// The length of unbroken loops.
    Loops,
    /// Which conductors are connected to a device.
    Yoke,
}

impl Unsure {
    fn of(contents: &Contents) -> Vec<Self> {
        let wires = contents.sizes().next().is_some();
        let fixture = !contents.fixture_wires.is_empty() || !contents.fixture_grounds.is_empty();
        let open = [
            (Self::Clamps, wires && contents.clamps.is_none()),
            (Self::Studs, wires && contents.stud_types.is_none()),
            (Self::Canopy, fixture && contents.canopy.is_none()),
            (Self::Loops, !contents.unmeasured.is_empty()),
            (Self::Yoke, contents.yokes.iter().any(|yoke| yoke.size.is_none())),
        ];
        open.into_iter().filter(|(_, open)| *open).map(|(unsure, _)| unsure).collect()
    }

    /// Key of its words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Clamps => "rule.fill.gap.clamps",
            Self::Studs => "rule.fill.gap.studs",
            Self::Canopy => "rule.fill.gap.canopy",
            Self::Loops => "rule.fill.gap.loops",
            Self::Yoke => "rule.fill.gap.yoke",
        }
    }
}

impl Needed {
    /// Volume allowances of all lines, in hundredths of one.
    pub fn allowances_hundredths(&self) -> i64 {
        self.lines.iter().map(|line| line.allowances_hundredths).sum()
    }
}

/// How the things are read that nobody said.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Reading {
    /// They do not count.
    Least,
    /// They count as much as they may.
    Most,
}

/// Counts the contents of a box for an edition.
pub fn needed(contents: &Contents, edition: Edition) -> Needed {
    let least = Count::of(contents, edition, Reading::Least);
    let most = Count::of(contents, edition, Reading::Most);
    let mut gaps = contents.gaps.clone();
    gaps.extend(most.gaps);
    gaps.sort();
    gaps.dedup();
    let sum = |lines: &[Line]| lines.iter().map(|line| line.needed_in3_e4).sum();
    Needed {
        least_in3_e4: sum(&least.lines),
        most_in3_e4: gaps.is_empty().then(|| sum(&most.lines)),
        lines: least.lines,
        gaps,
        unsure: Unsure::of(contents),
    }
}

/// The volume of one conductor of a size in ten-thousandths of a cubic inch.
pub fn volume_in3_e4(size: &str, edition: Edition) -> Option<i64> {
    table::box_fill().row(&format!("conductor {size}"), edition)?.steps(4)
}

/// How many conductors of one size a volume takes, with nothing else in the box.
pub fn most_of(size: &str, volume_in3_e4: i64, edition: Edition) -> Option<i64> {
    self::volume_in3_e4(size, edition).map(|one| volume_in3_e4 / one)
}

/// The length of a loop from which on it counts twice, in thousandths of an inch.
pub(super) fn loop_length_in_e3(edition: Edition) -> Option<i64> {
    table::box_fill().row("loop_length", edition)?.steps(3)
}

/// A count under way.
struct Count<'a> {
    contents: &'a Contents,
    edition: Edition,
    reading: Reading,
    lines: Vec<Line>,
    gaps: Vec<Gap>,
}

impl<'a> Count<'a> {
    fn of(contents: &'a Contents, edition: Edition, reading: Reading) -> Self {
        let mut count = Self { contents, edition, reading, lines: Vec::new(), gaps: Vec::new() };
        count.conductors();
        let fixture_grounds = count.fixture_wires();
        count.grounds(fixture_grounds);
        count.fittings();
        count.yokes();
        count.blocks();
        count
    }

    fn row(&self, id: &str) -> Option<&'static Row> {
        table::box_fill().row(id, self.edition)
    }

    /// A plain number of the table.
    fn number(&self, id: &str) -> Option<i64> {
        self.row(id)?.steps(0)
    }

    /// Adds a line of `n` things, each counting the allowances of the row `id`.
    fn each(&mut self, counted: Counted, id: &str, n: u32, size: &str) {
        if let Some(each) = self.row(id).and_then(|row| row.steps(2)) {
            self.line(counted, id, n, each * i64::from(n), size);
        }
    }

    /// Adds a line with its allowances, citing the row `id`. A size that the table does not have is a gap.
    fn line(&mut self, counted: Counted, id: &str, n: u32, allowances_hundredths: i64, size: &str) {
        if n == 0 {
            return;
        }
        let Some(one) = volume_in3_e4(size, self.edition) else {
            self.gaps.push(Gap::Size(size.to_owned()));
            return;
        };
        let section = self.row(id).map(|row| row.section.clone()).unwrap_or_default();
        // Rounded up where hundredths do not divide: never less than the code's own figure.
        let needed_in3_e4 = (allowances_hundredths * one).div_euclid(100)
            + i64::from((allowances_hundredths * one).rem_euclid(100) != 0);
        self.lines.push(Line { counted, n, allowances_hundredths, size: size.to_owned(), needed_in3_e4, section });
    }

    fn conductors(&mut self) {
        let contents = self.contents;
        for (size, n) in &contents.conductors {
            self.each(Counted::Conductors, "conductor", *n, size);
        }
        for (size, n) in &contents.loops {
            self.each(Counted::Loops, "loop", *n, size);
        }
        for (size, n) in &contents.unmeasured {
            match self.reading {
                Reading::Least => self.each(Counted::Conductors, "conductor", *n, size),
                Reading::Most => self.each(Counted::Loops, "loop", *n, size),
            }
        }
    }

    /// Wires from a luminaire; says whether its grounds count too. Under a dome or canopy its grounds, and up to four
    /// wires smaller than a size of the table, may be left out.
    fn fixture_wires(&mut self) -> bool {
        let contents = self.contents;
        let canopy = contents.canopy.unwrap_or(self.reading == Reading::Least);
        let limit = self.row("canopy_smaller_than").map(|row| row.value.to_string()).unwrap_or_default();
        let limit = area_thousandth_mm2(&limit).unwrap_or(0);
        let is_small = |size: &str| area_thousandth_mm2(size).is_some_and(|area| area < limit);
        let small: u32 = contents.fixture_wires.iter().filter(|(size, _)| is_small(size)).map(|(_, n)| n).sum();
        let few = self.number("canopy_wires").is_some_and(|most| i64::from(small) <= most);
        for (size, n) in &contents.fixture_wires {
            if !(canopy && few && is_small(size)) {
                self.each(Counted::FixtureWires, "conductor", *n, size);
            }
        }
        !canopy
    }

    /// Grounds: one allowance together; from 2020 on the first four, and a quarter for each one more.
    fn grounds(&mut self, with_fixture: bool) {
        let contents = self.contents;
        let mut sizes: Vec<&str> = contents.grounds.iter().map(String::as_str).collect();
        if with_fixture {
            sizes.extend(contents.fixture_grounds.iter().map(String::as_str));
        }
        let set: Vec<&str> = contents.isolated_grounds.iter().map(String::as_str).collect();
        if self.row("isolated_grounds").is_some() {
            if let Some(size) = largest(set.iter().copied()) {
                let n = u32::try_from(set.len()).unwrap_or(u32::MAX);
                let each = self.row("isolated_grounds").and_then(|row| row.steps(2)).unwrap_or(0);
                self.line(Counted::IsolatedGrounds, "isolated_grounds", n, each, size);
            }
        } else {
            sizes.extend(set);
        }
        let Some(size) = largest(sizes.iter().copied()) else { return };
        let n = u32::try_from(sizes.len()).unwrap_or(u32::MAX);
        let together = self.row("grounds").and_then(|row| row.steps(2)).unwrap_or(0);
        let included = self.number("grounds_included").unwrap_or(i64::from(n));
        let each_more = self.row("grounds_each_more").and_then(|row| row.steps(2)).unwrap_or(0);
        let more = (i64::from(n) - included).max(0);
        self.line(Counted::Grounds, "grounds", n, together + more * each_more, size);
    }

    /// Clamps together, and each type of stud, by the largest conductor in the box.
    fn fittings(&mut self) {
        let contents = self.contents;
        let Some(size) = largest(contents.sizes()) else { return };
        let maybe = self.reading == Reading::Most;
        self.each(Counted::Clamps, "clamps", u32::from(contents.clamps.unwrap_or(maybe)), size);
        let studs = contents.stud_types.unwrap_or(u8::from(maybe));
        self.each(Counted::Studs, "stud_type", u32::from(studs), size);
    }

    /// The size that stands for a device whose conductors nobody noted: the least or the most that it can be.
    fn size_or(&self, size: Option<&String>) -> Option<String> {
        let within = || match self.reading {
            Reading::Most => largest(self.contents.sizes()),
            Reading::Least => self.contents.sizes().min_by_key(|size| area_thousandth_mm2(size)),
        };
        size.map(String::as_str).or_else(within).map(str::to_owned)
    }

    fn yokes(&mut self) {
        for Yoke { device, gangs, size } in &self.contents.yokes {
            match self.size_or(size.as_ref()) {
                Some(size) => self.each(Counted::Yoke(*device), "yoke_gang", u32::from(*gangs), &size),
                None => self.gaps.push(Gap::Bare),
            }
        }
    }

    /// Terminal blocks count from 2023 on.
    fn blocks(&mut self) {
        if self.row("terminal_block").is_none() {
            return;
        }
        for size in &self.contents.blocks {
            match self.size_or(size.as_ref()) {
                Some(size) => self.each(Counted::TerminalBlock, "terminal_block", 1, &size),
                None => self.gaps.push(Gap::Bare),
            }
        }
    }
}
