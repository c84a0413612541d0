//! A group of the switch table in words: its rows where a person can read them all, else the classes of positions that
//! behave alike. Screens, records and the command line all say it the same way.

use crate::catalogue::position_name;
use crate::circuit::{Class, Gets, Named, Parity, Power, TableGroup, Trip};
use crate::job::{Handle, LoadPoint};
use crate::name::Called;
use crate::words::{count, say};

use super::outcome::power_words;
use super::trip::{locked_words, trip_words, when_words};

/// Most rows of a group that are shown one by one where its classes say the same in fewer lines.
pub const MOST_ROWS: usize = 16;

/// A column of a group: what one load point gets, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// The load point.
    pub load: LoadPoint,
    /// Its words; where which way is up is open between two answers, each has a column of its own and says so.
    pub head: String,
    /// The rows.
    pub gets: Vec<Gets>,
}

/// One load point's classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClassLines {
    /// The load point.
    pub load: LoadPoint,
    /// Which handles make a difference to it, then its classes, a line each.
    pub lines: Vec<String>,
}

/// Words of what a load point gets.
pub fn gets_words(power: Power, seen: bool) -> String {
    let words = power_words(power);
    if seen { words } else { say("tell.power.unseen", &[("power", &words)]) }
}

/// The columns of some load points of a group.
pub fn columns(called: &Called<'_>, group: &TableGroup, loads: &[&LoadPoint]) -> Vec<Column> {
    let mut all = Vec::new();
    for load in loads {
        let (name, load) = (called.load(load), (*load).clone());
        match group.named(&load) {
            Some(Named::Known(gets) | Named::Open(gets)) => all.push(Column { load, head: name, gets }),
            Some(Named::Either(one, other)) => {
                let head = |key: &str| say(key, &[("load", &name)]);
                all.push(Column { load: load.clone(), head: head("tell.column.either"), gets: one });
                all.push(Column { load, head: head("tell.column.or"), gets: other });
            }
            None => {}
        }
    }
    all
}

/// The classes of some load points of a group, where they say in fewer lines what its many rows say; none where its
/// rows are to be shown.
pub fn class_lines(called: &Called<'_>, group: &TableGroup, loads: &[&LoadPoint]) -> Option<Vec<ClassLines>> {
    if group.rows.len() <= MOST_ROWS {
        return None;
    }
    let each: Vec<ClassLines> = loads.iter().map(|load| lines_of(called, group, load)).collect();
    let lines: usize = each.iter().map(|one| one.lines.len()).sum();
    (lines < group.rows.len()).then_some(each)
}

fn lines_of(called: &Called<'_>, group: &TableGroup, load: &LoadPoint) -> ClassLines {
    let (matter, classes) = (group.matter(load), group.classes(load));
    let mut lines = Vec::new();
    if !matter.is_empty() && matter.len() < group.handles.len() {
        lines.push(say("tell.class.matter", &[("handles", &names(called, &matter))]));
    }
    let is_known = matches!(group.named(load), Some(Named::Known(_)));
    let all = group.rows.len().to_string();
    // Which half is which is open: the law is known all the same.
    if let (false, [Class { parity: Some(parity), held, power, rows, .. }, _]) = (is_known, classes.as_slice())
        && held.is_empty()
    {
        let (handles, power) = (names(called, &parity.handles), power_words(*power));
        let fill = [("handles", handles.as_str()), ("power", &power), ("all", &all)];
        lines.push(count("tell.class.turns", *rows, &fill));
        return ClassLines { load: load.clone(), lines };
    }
    for class in &classes {
        let power = gets_words(class.power, class.seen);
        let fill = [("power", power.as_str()), ("where", &where_words(called, group, class)), ("all", &all)];
        lines.push(count("tell.class", class.rows, &fill));
    }
    ClassLines { load: load.clone(), lines }
}

fn names(called: &Called<'_>, handles: &[Handle]) -> String {
    handles.iter().map(|handle| called.handle(handle)).collect::<Vec<_>>().join(", ")
}

/// Where handles stand in a class.
fn where_words(called: &Called<'_>, group: &TableGroup, class: &Class) -> String {
    let mut parts: Vec<String> = Vec::new();
    for (handle, positions) in &class.held {
        let either = |one: String, other: String| say("tell.class.or", &[("one", &one), ("other", &other)]);
        let position = positions.iter().map(|position| position_name(position)).reduce(either).unwrap_or_default();
        parts.push(say("name.at", &[("handle", &called.handle(handle)), ("position", &position)]));
    }
    parts.extend(class.parity.as_ref().map(|parity| parity_words(called, group, parity)));
    if parts.is_empty() { say("tell.class.every", &[]) } else { parts.join(", ") }
}

/// "an even number of B3 switch, B4 switch down".
fn parity_words(called: &Called<'_>, group: &TableGroup, parity: &Parity) -> String {
    let away = |handle: &Handle| {
        let place = group.handles.iter().position(|other| other == handle)?;
        group.positions.get(place)?.last().map(|position| position_name(position))
    };
    let aways: Vec<String> = parity.handles.iter().filter_map(away).collect();
    let key = if parity.odd { "tell.class.odd" } else { "tell.class.even" };
    if let [first, rest @ ..] = aways.as_slice()
        && rest.iter().all(|other| other == first)
    {
        return say(key, &[("handles", &names(called, &parity.handles)), ("position", first)]);
    }
    let each = parity
        .handles
        .iter()
        .zip(&aways)
        .map(|(handle, position)| say("name.at", &[("handle", &called.handle(handle)), ("position", position)]));
    let key = if parity.odd { "tell.class.odd_of" } else { "tell.class.even_of" };
    say(key, &[("each", &each.collect::<Vec<_>>().join(", "))])
}

/// What there is to say of a group as a whole: what trials tell of its unmarked handles, and what stood at rest.
pub fn group_lines(called: &Called<'_>, group: &TableGroup) -> Vec<String> {
    let mut lines = Vec::new();
    let unmapped: Vec<Handle> = group.unmapped.iter().cloned().collect();
    let handles = names(called, &unmapped);
    let named = |kind: fn(&Named) -> bool| group.loads.iter().filter_map(|load| group.named(load)).filter(kind).count();
    let (either, open) = (named(|n| matches!(n, Named::Either(..))), named(|n| matches!(n, Named::Open(_))));
    let fill = [("handles", handles.as_str())];
    if group.ways.fits_none {
        lines.push(count("tell.ways.none", group.ways.trials, &fill));
    } else if open > 0 {
        lines.push(say("tell.ways.open", &fill));
    } else if either > 0 {
        lines.push(say("tell.ways.either", &fill));
    } else if !unmapped.is_empty() && group.ways.trials > 0 {
        lines.push(count("tell.ways.known", group.ways.trials, &fill));
    }
    lines.extend(trip_lines(called, group));
    if !group.at_rest.is_empty() {
        lines.push(count("tell.at_rest", group.at_rest.len(), &[]));
    }
    lines
}

/// What protective devices do in the rows of a group: each once, with what it sees in the first row in which it does,
/// and in how many rows that is. What it does in every row of a group with handles it does whatever they do: that is
/// told with the load points that no handle touches.
fn trip_lines(called: &Called<'_>, group: &TableGroup) -> Vec<String> {
    let mut seen: Vec<(&Trip, usize)> = Vec::new();
    let mut locked: Vec<&Handle> = Vec::new();
    for row in &group.rows {
        for trip in &row.trips {
            let is_same = |other: &Trip| other.handle == trip.handle && when_words(other.when) == when_words(trip.when);
            match seen.iter_mut().find(|(other, _)| is_same(other)) {
                Some((_, times)) => *times += 1,
                None => seen.push((trip, 1)),
            }
        }
        let new: Vec<&Handle> = row.locked.iter().filter(|handle| !locked.contains(handle)).collect();
        locked.extend(new);
    }
    let all = group.rows.len().to_string();
    let own = seen.into_iter().filter(|(_, times)| group.handles.is_empty() || *times < group.rows.len());
    let trips = own.map(|(trip, times)| {
        let line = trip_words(called, trip);
        if group.handles.is_empty() { line } else { count("tell.trip.in", times, &[("line", &line), ("all", &all)]) }
    });
    trips.chain(locked.into_iter().map(|handle| locked_words(called, handle))).collect()
}
