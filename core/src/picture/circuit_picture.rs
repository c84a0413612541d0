//! The circuit picture: power falls on the left, control hangs on the right, every box is a row to touch.
//!
//! Units dp. The rules stand in the room's own documentation.

#![allow(clippy::indexing_slicing, reason = "every index is a stop of the course that is drawn")]

use super::course::{Course, Stop, Thread};
use super::pen::{Pen, Way, tenth};
use super::shape::{Anchor, Edge, Picture, Touch};
use super::text;

const ROW: f64 = 68.0;
/// Where the third line of words stands, from the middle of the mark down: a row grows for what is below.
const LAST_LINE: f64 = 24.0;
const FIRST_LANE: f64 = 26.0;
const LANE: f64 = 46.0;
/// Half of a box's mark.
const HALF: (f64, f64) = (20.0, 17.0);
const THREAD: f64 = 28.0;
const PAPER: &str = "paper";
const INKED: &str = "ink";
/// Least room for the words of a stop.
const WORDS: f64 = 150.0;

/// Draws a course, in its own order, at least `least_width` dp wide.
pub fn circuit_picture(course: &Course, least_width: f64) -> Picture {
    let lanes = lanes(course);
    let deepest = lanes.iter().copied().max().unwrap_or(0);
    let words_at = x_of(deepest) + HALF.0 + 12.0;
    let columns = columns(&course.threads);
    let across = columns.iter().map(|column| column + 1).max().unwrap_or(0);
    let threads = if across == 0 { 8.0 } else { f(across) * THREAD + 18.0 };
    let width = least_width.max(words_at + WORDS + threads);
    let room = width - threads - words_at;
    let texts: Vec<Vec<Said>> = course.stops.iter().map(|stop| said(stop, room)).collect();
    let mut tops = vec![0.0];
    for lines in &texts {
        let more = lines.iter().map(|line| line.down).fold(0.0, f64::max) - LAST_LINE;
        tops.push(tops[tops.len() - 1] + ROW + more.max(0.0));
    }
    let mut drawing = Drawing { course, lanes, columns, across, words_at, width, tops, pen: Pen::default() };
    drawing.threads();
    drawing.feeds();
    for (n, lines) in texts.iter().enumerate() {
        drawing.stop(n, lines);
    }
    drawing.handles();
    let tops = &drawing.tops;
    let places = course.stops.iter().enumerate().map(|(n, stop)| Touch {
        x: 0.0,
        y: tenth(tops[n]),
        width: tenth(width),
        height: tenth(tops[n + 1] - tops[n]),
        spoken: stop.sense.spoken.clone(),
        token: stop.sense.token.clone(),
    });
    let (places, height) = (places.collect(), tenth(tops[tops.len() - 1] + 8.0));
    Picture { width, height, shapes: drawing.pen.shapes, places, spoken: course.spoken.clone() }
}

fn f(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

fn x_of(lane: usize) -> f64 {
    FIRST_LANE + f(lane) * LANE
}

/// A line of words beside a stop.
struct Said {
    /// From the middle of the mark down.
    down: f64,
    words: String,
    size: f64,
    bold: bool,
    role: &'static str,
}

/// Place, state, run; what disagrees stands where the state would.
fn said(stop: &Stop, room: f64) -> Vec<Said> {
    let run = stop.run.as_ref().map(|run| run.words.as_str()).unwrap_or_default();
    let state = if stop.disagrees.is_empty() { (&stop.state, false) } else { (&stop.disagrees, true) };
    let mut down = -11.0;
    let mut lines = Vec::new();
    for (words, size, bold, role, most) in
        [(stop.place.as_str(), 16.0, true, INKED, 2), (state.0, 14.0, state.1, INKED, 3), (run, 13.0, false, "soft", 1)]
    {
        for words in text::wrapped(words, room, size, bold, most) {
            lines.push(Said { down, words, size, bold, role });
            down += 17.5;
        }
    }
    lines
}

/// Threads that do not pass each other share a column: each takes the first that is free.
fn columns(threads: &[Thread]) -> Vec<usize> {
    let span = |thread: &Thread| {
        let stops = thread.switches.iter().chain([&thread.outlet]);
        stops.fold((usize::MAX, 0), |(top, foot), n| (top.min(*n), foot.max(*n)))
    };
    let mut taken: Vec<Vec<(usize, usize)>> = Vec::new();
    threads
        .iter()
        .map(|thread| {
            let (top, foot) = span(thread);
            let is_free = |column: &Vec<(usize, usize)>| column.iter().all(|(a, b)| foot < *a || *b < top);
            let column = taken.iter().position(is_free).unwrap_or(taken.len());
            taken.resize_with(taken.len().max(column + 1), Vec::new);
            taken[column].push((top, foot));
            column
        })
        .collect()
}

/// The last branch of a stop keeps its lane, the others step to the right.
fn lanes(course: &Course) -> Vec<usize> {
    let mut lanes = vec![0; course.stops.len()];
    for (n, stop) in course.stops.iter().enumerate() {
        let Some(from) = stop.run.as_ref().map(|run| run.from) else { continue };
        let is_last = !course.stops.iter().skip(n + 1).any(|other| other.run.as_ref().is_some_and(|r| r.from == from));
        lanes[n] = lanes[from] + usize::from(!is_last);
    }
    lanes
}

struct Drawing<'a> {
    course: &'a Course,
    lanes: Vec<usize>,
    /// Column of each thread, and how many there are.
    columns: Vec<usize>,
    across: usize,
    words_at: f64,
    width: f64,
    /// Top of each row, and of what comes after the last.
    tops: Vec<f64>,
    pen: Pen,
}

impl Drawing<'_> {
    fn at(&self, stop: usize) -> (f64, f64) {
        (x_of(self.lanes[stop]), self.y_of(stop))
    }

    /// The middle of a stop's mark.
    fn y_of(&self, stop: usize) -> f64 {
        self.tops[stop] + ROW / 2.0
    }

    /// The first column is the leftmost.
    fn thread_x(&self, n: usize) -> f64 {
        self.width - 20.0 - f(self.across - 1 - self.columns[n]) * THREAD
    }

    /// Dashes and dots, as short lines: no state is meant by them.
    fn threads(&mut self) {
        for (n, thread) in self.course.threads.iter().enumerate() {
            let rows = thread.switches.iter().chain([&thread.outlet]).map(|stop| self.y_of(*stop));
            let (top, foot) = rows.fold((f64::MAX, 0.0_f64), |(top, foot), y| (top.min(y), foot.max(y)));
            let x = self.thread_x(n);
            let mut y = top;
            while y < foot {
                for (from, long) in [(0.0, 9.0), (12.0, 2.0)] {
                    let start = (y + from).min(foot);
                    let way = Way::from(x, start).to(x, (start + long).min(foot));
                    self.pen.stroke(INKED, None, &way, 2.2);
                }
                y += 17.0;
            }
        }
    }

    fn feeds(&mut self) {
        for (n, stop) in self.course.stops.iter().enumerate() {
            let Some(run) = &stop.run else { continue };
            let ((x0, y0), (x, y)) = (self.at(run.from), self.at(n));
            let way = Way::from(x0, y0);
            let way = if (x - x0).abs() < 0.1 {
                way.to(x, y)
            } else {
                way.to(x0, y - 8.0).corner((x0, y), (x0 + 8.0, y)).to(x, y)
            };
            let broken = run.edge.filter(|edge| matches!(edge, Edge::Planned | Edge::Unknown));
            self.pen.stroke(INKED, broken, &way, 8.0);
            if broken != Some(Edge::Unknown) && !run.jacket.is_empty() {
                self.pen.stroke(&run.jacket, broken, &way, 4.5);
            }
        }
    }

    fn stop(&mut self, n: usize, lines: &[Said]) {
        let stop = &self.course.stops[n];
        let (x, y) = self.at(n);
        let edge = stop.edge.unwrap_or(Edge::Found);
        let filled = edge == Edge::Left;
        let corner = (x - HALF.0, y - HALF.1);
        let mark = (2.0 * HALF.0, 2.0 * HALF.1);
        if stop.boxes > 1 {
            // A pile: more boxes lie behind this one.
            for by in [7.0, 3.5] {
                self.pen.rect(PAPER, Some(Edge::Found), (corner.0 + by, corner.1 + by), mark);
            }
        }
        self.pen.rect(if filled { INKED } else { PAPER }, Some(edge), corner, mark);
        let tag = text::cut(&stop.tag, 2.0 * HALF.0 - 2.0, 15.0, true);
        self.pen.words_in(if filled { PAPER } else { INKED }, (x, y + 5.5), &tag, 15.0, Anchor::Middle, true);
        for line in lines {
            let at = (self.words_at, y + line.down);
            self.pen.words_in(line.role, at, &line.words, line.size, Anchor::Start, line.bold);
        }
        if !stop.stubs.is_empty() {
            // Beside the line that leads on, and clear of the words: one stub for all, with their letters.
            let (x, foot) = (x + 11.0, y + HALF.1 + 15.0);
            let way = Way::from(x, y + HALF.1).to(x, foot);
            self.pen.stroke(INKED, Some(Edge::Unknown), &way, 4.5);
            let letters = text::cut(&stop.stubs.concat(), self.words_at - x - 6.0, 13.0, true);
            self.pen.words_in(INKED, (x + 4.0, foot), &letters, 13.0, Anchor::Start, true);
        }
    }

    /// Switches with a lever, outlets as circles; where what was seen disagrees, two halves, shifted.
    fn handles(&mut self) {
        for (n, thread) in self.course.threads.iter().enumerate() {
            let x = self.thread_x(n);
            for stop in &thread.switches {
                let y = self.y_of(*stop);
                let lever = Way::from(x - 8.0, y - 13.0).to(x - 14.0, y - 21.0);
                self.pen.stroke(INKED, None, &lever, 4.0);
                self.pen.rect(PAPER, Some(Edge::Found), (x - 10.0, y - 13.0), (20.0, 26.0));
                self.letter(thread, (x, y));
            }
            let y = self.y_of(thread.outlet);
            if thread.switches.contains(&thread.outlet) {
                // Switch and outlet in one box: the outlet hangs below its switch.
                self.pen.circle(PAPER, Some(outlet_edge(thread)), (x, y + 25.0), 7.0);
            } else {
                self.pen.circle(PAPER, Some(outlet_edge(thread)), (x, y), 12.0);
                if thread.disagrees {
                    // The letter stands beside the two halves, not under them.
                    self.pen.words_in(INKED, (x - 15.0, y + 5.5), &thread.letter, 15.0, Anchor::End, true);
                } else {
                    self.letter(thread, (x, y));
                }
            }
        }
    }

    fn letter(&mut self, thread: &Thread, (x, y): (f64, f64)) {
        self.pen.words_in(INKED, (x, y + 5.5), &thread.letter, 15.0, Anchor::Middle, true);
    }
}

fn outlet_edge(thread: &Thread) -> Edge {
    if thread.disagrees { Edge::Disagrees } else { Edge::Found }
}

#[cfg(test)]
mod tests {
    use super::super::course::Feed;
    use super::super::unfolded::Sense;
    use super::*;
    use proptest::prelude::*;

    fn course(feeds: &[Option<usize>], threads: &[(Vec<usize>, usize)]) -> Course {
        let stops = feeds.iter().enumerate().map(|(n, from)| Stop {
            tag: format!("B{n}"),
            key: format!("k{n}"),
            place: "wall light, foot of the long back stair".to_owned(),
            state: "as planned, not checked; run B: other end not known".to_owned(),
            disagrees: if n % 11 == 3 { "seen off, worked out on, 16:10".to_owned() } else { String::new() },
            quiet: n % 7 != 2,
            boxes: 1,
            run: from.map(|from| Feed { from, words: "14-2, 26 ft est.".to_owned(), ..Feed::default() }),
            sense: Sense { spoken: format!("box {n}"), token: format!("t{n}"), ..Sense::default() },
            ..Stop::default()
        });
        let count = feeds.len();
        let threads = threads.iter().map(|(switches, outlet)| Thread {
            letter: "a".to_owned(),
            switches: switches.iter().map(|n| n % count).collect(),
            outlet: outlet % count,
            disagrees: outlet % 2 == 0,
        });
        let name = |inside: &[Stop]| Stop { state: inside.len().to_string(), ..inside[0].clone() };
        let course = Course { stops: stops.collect(), threads: threads.collect(), spoken: String::new() };
        course.ordered().folded(None, &name)
    }

    proptest! {
        #[test]
        fn every_box_is_a_row_to_touch_and_words_stay_clear_of_threads(
            feeds in prop::collection::vec(prop::option::weighted(0.9, 0usize..200), 1..200),
            threads in prop::collection::vec((prop::collection::vec(0usize..200, 1..4), 0usize..200), 0..9),
        ) {
            let count = feeds.len();
            let feeds: Vec<_> = feeds.into_iter().map(|from| from.map(|n| n % count)).collect();
            let course = course(&feeds, &threads);
            let picture = circuit_picture(&course, 360.0);
            prop_assert_eq!(&picture, &circuit_picture(&course, 360.0));
            prop_assert_eq!(picture.places.len(), course.stops.len());
            // No box is lost: each is a row of its own, or counted in the branch that it is folded into.
            prop_assert_eq!(course.stops.iter().map(|stop| stop.boxes).sum::<usize>(), count);
            for (n, place) in picture.places.iter().enumerate() {
                prop_assert!(place.height >= 56.0 && place.y + place.height <= picture.height);
                prop_assert!(n == 0 || (place.y - picture.places[n - 1].y - picture.places[n - 1].height).abs() < 0.11);
            }
            let columns = columns(&course.threads);
            let first_thread = picture.width - f(columns.iter().map(|c| c + 1).max().unwrap_or(0)) * THREAD - 8.0;
            for (n, a) in course.threads.iter().enumerate() {
                for (m, b) in course.threads.iter().enumerate().take(n) {
                    let span = |thread: &Thread| {
                        let all = thread.switches.iter().chain([&thread.outlet]).copied();
                        (all.clone().min().unwrap(), all.max().unwrap())
                    };
                    let ((a_top, a_foot), (b_top, b_foot)) = (span(a), span(b));
                    prop_assert!(columns[n] != columns[m] || a_foot < b_top || b_foot < a_top);
                }
            }
            let mut rows = vec![0_usize; course.stops.len()];
            for shape in &picture.shapes {
                if let super::super::shape::Form::Words { x, y, text, size, anchor: Anchor::Start, bold } = &shape.form {
                    // Every line of words stands in the row of one place.
                    let row = picture.places.iter().position(|place| *y > place.y && *y < place.y + place.height);
                    prop_assert!(row.is_some(), "{} at {}", text, y);
                    rows[row.unwrap()] += 1;
                    let right = x + text::width(text, *size, *bold);
                    prop_assert!(right <= first_thread || text.len() < 3, "{} ends at {}", text, right);
                }
            }
            prop_assert!(rows.iter().all(|lines| *lines >= 2));
        }
    }
}
