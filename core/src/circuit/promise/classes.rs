//! Positions that behave alike, so that a table of hundreds of rows is read in a few lines.
//!
//! A class says which handles have to stand where, which may stand anywhere, and, for switches that work in turn, that
//! an even or odd number of them is away from its first position. The classes of a load point never overlap and
//! together are its whole column: expanded they give exactly the rows back. They come from a decision tree with the
//! fewest classes: a leaf is a set of rows that are all alike, or in which every flip of some two-way handles turns one
//! outcome into the other; a branch asks one handle, positions that behave alike together. Every sub-table is
//! looked at once, 4^n work for n two-way handles, which the limit of combinations keeps small.

#![allow(clippy::indexing_slicing, reason = "places come from the group's own handles, positions and rows")]

use std::collections::BTreeMap;

use crate::job::{Handle, LoadPoint};

use super::{Gets, Power, TableGroup};

/// Handles of which an even or odd number is away from its first position.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parity {
    /// The handles, two-way each.
    pub handles: Vec<Handle>,
    /// An odd number; else an even one, none among them.
    pub odd: bool,
}

/// Positions in which a load point gets the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// Handles that have to stand somewhere, each with the positions that are as good as one another. A handle that is
    /// not named may stand anywhere.
    pub held: Vec<(Handle, Vec<String>)>,
    /// Handles that count together.
    pub parity: Option<Parity>,
    /// What the load point gets.
    pub power: Power,
    /// False where something that was not looked at could give it power.
    pub seen: bool,
    /// How many rows these are.
    pub rows: usize,
}

impl TableGroup {
    /// The handles that make a difference to a load point in some position of the others.
    pub fn matter(&self, load: &LoadPoint) -> Vec<Handle> {
        let Some(column) = self.values(load) else { return Vec::new() };
        let table = Tree::new(self.radix(), column);
        let which = table.matter(&table.whole());
        which.into_iter().filter_map(|n| self.handles.get(n).cloned()).collect()
    }

    /// The classes of a load point, those with power first, by named positions of the first way that is left.
    pub fn classes(&self, load: &LoadPoint) -> Vec<Class> {
        let Some(column) = self.values(load) else { return Vec::new() };
        let kinds: Vec<(Power, bool)> = self.kinds(load);
        let leaves = Tree::new(self.radix(), column).leaves();
        let class = |leaf: Leaf| {
            let held = self.handles.iter().zip(&self.positions).zip(&leaf.held);
            let held = held.filter(|((_, positions), digits)| digits.len() < positions.len());
            let held = held.map(|((handle, positions), digits)| {
                (handle.clone(), digits.iter().map(|digit| positions[*digit].clone()).collect())
            });
            let parity = leaf.parity.map(|(places, odd)| {
                let handles = places.iter().map(|n| self.handles[*n].clone()).collect();
                Parity { handles, odd }
            });
            let (power, seen) = kinds[leaf.value];
            Class { held: held.collect(), parity, power, seen, rows: leaf.rows }
        };
        let mut classes: Vec<Class> = leaves.into_iter().map(class).collect();
        classes.sort_by_key(|class| class.power.is_none());
        classes
    }

    fn radix(&self) -> Vec<usize> {
        self.positions.iter().map(Vec::len).collect()
    }

    /// What a load point can get, each once.
    fn kinds(&self, load: &LoadPoint) -> Vec<(Power, bool)> {
        let mut kinds: Vec<(Power, bool)> = Vec::new();
        for Gets { power, seen, .. } in self.column(load).unwrap_or_default() {
            if !kinds.contains(&(power, seen)) {
                kinds.push((power, seen));
            }
        }
        kinds
    }

    /// A load point's column as places in its list of kinds.
    fn values(&self, load: &LoadPoint) -> Option<Vec<usize>> {
        let kinds = self.kinds(load);
        let named = self.named(load)?;
        named.first().iter().map(|gets| kinds.iter().position(|kind| *kind == (gets.power, gets.seen))).collect()
    }
}

/// One class by places instead of names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Leaf {
    /// For each handle the positions that it may have.
    pub(super) held: Vec<Vec<usize>>,
    /// Handles that count together, and whether an odd number of them is away from the first position.
    pub(super) parity: Option<(Vec<usize>, bool)>,
    /// The value.
    pub(super) value: usize,
    /// How many rows.
    pub(super) rows: usize,
}

/// For each handle the one position that it is held in; none: it is free.
type Cube = Vec<Option<usize>>;

/// What is done with a cube.
#[derive(Debug, Clone)]
enum Choice {
    /// All rows alike.
    Same(usize),
    /// Two values that each flip of these handles exchanges; the first with an even number away.
    Turns(Vec<usize>, [usize; 2]),
    /// Asks one handle; its positions in blocks that behave alike.
    Ask(usize, Vec<Vec<usize>>),
}

/// The search for the fewest classes of one column.
pub(super) struct Tree {
    radix: Vec<usize>,
    /// How many rows lie between two positions of each handle.
    strides: Vec<usize>,
    column: Vec<usize>,
    known: BTreeMap<Cube, (usize, Choice)>,
}

impl Tree {
    /// For handles with so many positions each; the first moves slowest in the column.
    pub(super) fn new(radix: Vec<usize>, column: Vec<usize>) -> Self {
        let mut strides = vec![1; radix.len()];
        for n in (1..radix.len()).rev() {
            strides[n - 1] = strides[n] * radix[n];
        }
        Self { radix, strides, column, known: BTreeMap::new() }
    }

    /// The cube of all rows.
    pub(super) fn whole(&self) -> Cube {
        vec![None; self.radix.len()]
    }

    /// The classes, in the order of the tree.
    pub(super) fn leaves(mut self) -> Vec<Leaf> {
        let whole = self.whole();
        let held: Vec<Vec<usize>> = self.radix.iter().map(|count| (0..*count).collect()).collect();
        self.cost(&whole);
        let mut leaves = Vec::new();
        self.gather(&whole, &held, &mut leaves);
        leaves
    }

    fn gather(&self, cube: &Cube, held: &[Vec<usize>], into: &mut Vec<Leaf>) {
        let Some((_, choice)) = self.known.get(cube) else { return };
        let rows = held.iter().map(Vec::len).product();
        match choice {
            Choice::Same(value) => into.push(Leaf { held: held.to_vec(), parity: None, value: *value, rows }),
            Choice::Turns(places, values) => {
                for (value, odd) in values.iter().zip([false, true]) {
                    let parity = Some((places.clone(), odd));
                    into.push(Leaf { held: held.to_vec(), parity, value: *value, rows: rows / 2 });
                }
            }
            Choice::Ask(place, blocks) => {
                for block in blocks {
                    let (mut inner, mut inner_held) = (cube.clone(), held.to_vec());
                    inner[*place] = block.first().copied();
                    inner_held[*place].clone_from(block);
                    self.gather(&inner, &inner_held, into);
                }
            }
        }
    }

    /// The rows of a cube.
    fn rows(&self, cube: &Cube) -> Vec<usize> {
        let mut rows = vec![0];
        for ((fixed, count), stride) in cube.iter().zip(&self.radix).zip(&self.strides) {
            match fixed {
                Some(digit) => rows.iter_mut().for_each(|row| *row += digit * stride),
                None => rows = rows.iter().flat_map(|row| (0..*count).map(move |digit| row + digit * stride)).collect(),
            }
        }
        rows
    }

    /// The free handles that make a difference within a cube.
    pub(super) fn matter(&self, cube: &Cube) -> Vec<usize> {
        let rows = self.rows(cube);
        self.matter_in(cube, &rows)
    }

    fn matter_in(&self, cube: &Cube, rows: &[usize]) -> Vec<usize> {
        let free = (0..cube.len()).filter(|n| cube[*n].is_none());
        let differs = |n: &usize| {
            let (stride, count) = (self.strides[*n], self.radix[*n]);
            rows.iter().any(|row| {
                let digit = row / stride % count;
                digit > 0 && self.column[*row] != self.column[row - digit * stride]
            })
        };
        free.filter(differs).collect()
    }

    /// The fewest classes of a cube.
    fn cost(&mut self, cube: &Cube) -> usize {
        if let Some((cost, _)) = self.known.get(cube) {
            return *cost;
        }
        let rows = self.rows(cube);
        let matter = self.matter_in(cube, &rows);
        let found = match (matter.is_empty(), self.turns(&matter, &rows)) {
            (true, _) => (1, Choice::Same(rows.first().map_or(0, |row| self.column[*row]))),
            (false, Some(values)) => (2, Choice::Turns(matter, values)),
            (false, None) => self.best(cube, &matter, &rows),
        };
        let cost = found.0;
        self.known.insert(cube.clone(), found);
        cost
    }

    /// The two values of a cube in which every flip of a handle that matters exchanges them.
    fn turns(&self, matter: &[usize], rows: &[usize]) -> Option<[usize; 2]> {
        let first = self.column[*rows.first()?];
        let other = rows.iter().map(|row| self.column[*row]).find(|value| *value != first)?;
        let values = [first, other];
        let is = |row: &usize| {
            let away = matter.iter().filter(|n| !(row / self.strides[**n]).is_multiple_of(self.radix[**n])).count();
            self.column[*row] == values[away % 2]
        };
        // One handle alone is asked where it stands; nothing is counted.
        let turn = matter.len() > 1 && matter.iter().all(|n| self.radix[*n] == 2) && rows.iter().all(is);
        turn.then_some(values)
    }

    fn best(&mut self, cube: &Cube, matter: &[usize], rows: &[usize]) -> (usize, Choice) {
        let mut best: Option<(usize, Choice)> = None;
        for n in matter {
            let blocks = self.blocks(*n, rows);
            let mut sum = 0;
            for block in &blocks {
                let mut inner = cube.clone();
                inner[*n] = block.first().copied();
                sum += self.cost(&inner);
            }
            if best.as_ref().is_none_or(|(before, _)| sum < *before) {
                best = Some((sum, Choice::Ask(*n, blocks)));
            }
        }
        // A cube without anything that matters never comes here.
        best.unwrap_or((1, Choice::Same(0)))
    }

    /// Positions of one handle, those that behave alike together.
    fn blocks(&self, n: usize, rows: &[usize]) -> Vec<Vec<usize>> {
        let (stride, count) = (self.strides[n], self.radix[n]);
        let base: Vec<usize> = rows.iter().copied().filter(|row| row / stride % count == 0).collect();
        let mut blocks: Vec<Vec<usize>> = Vec::new();
        for digit in 0..count {
            let alike = |block: &&mut Vec<usize>| {
                let other = block[0];
                base.iter().all(|row| self.column[row + digit * stride] == self.column[row + other * stride])
            };
            match blocks.iter_mut().find(alike) {
                Some(block) => block.push(digit),
                None => blocks.push(vec![digit]),
            }
        }
        blocks
    }
}
