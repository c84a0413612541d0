//! The circuit picture: power falls on the left, control hangs on the right, every box is a row to touch.
//!
//! Units dp. A row is 68 high. The trunk is a straight line; branches step one lane of 46 to the right. A thread of
//! dashes and dots joins the switches and the outlet of one switched thing, lettered in the order of the outlets.

#![allow(clippy::indexing_slicing, reason = "every index is a stop of the course that is drawn")]

use super::course::{Course, Stop, Thread};
use super::pen::{Pen, Way, tenth};
use super::shape::{Anchor, Edge, Picture, Touch};
use super::text;

const ROW: f64 = 68.0;
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
    let threads = f(course.threads.len()) * THREAD + if course.threads.is_empty() { 8.0 } else { 14.0 };
    let width = least_width.max(words_at + WORDS + threads);
    let mut drawing = Drawing { course, lanes, words_at, width, threads, pen: Pen::default() };
    drawing.threads();
    drawing.feeds();
    for n in 0..course.stops.len() {
        drawing.stop(n);
    }
    drawing.handles();
    let places = course.stops.iter().enumerate().map(|(n, stop)| Touch {
        x: 0.0,
        y: tenth(f(n) * ROW),
        width: tenth(width),
        height: ROW,
        spoken: stop.sense.spoken.clone(),
        token: stop.sense.token.clone(),
    });
    let (places, height) = (places.collect(), f(course.stops.len()) * ROW + 8.0);
    Picture { width, height, shapes: drawing.pen.shapes, places, spoken: course.spoken.clone() }
}

fn f(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

fn x_of(lane: usize) -> f64 {
    FIRST_LANE + f(lane) * LANE
}

fn y_of(stop: usize) -> f64 {
    f(stop) * ROW + ROW / 2.0
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
    words_at: f64,
    width: f64,
    threads: f64,
    pen: Pen,
}

impl Drawing<'_> {
    fn at(&self, stop: usize) -> (f64, f64) {
        (x_of(self.lanes[stop]), y_of(stop))
    }

    fn thread_x(&self, n: usize) -> f64 {
        self.width - 20.0 - f(n) * THREAD
    }

    /// Dashes and dots, as short lines: no state is meant by them.
    fn threads(&mut self) {
        for (n, thread) in self.course.threads.iter().enumerate() {
            let rows = thread.switches.iter().chain([&thread.outlet]).map(|stop| y_of(*stop));
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

    fn stop(&mut self, n: usize) {
        let stop = &self.course.stops[n];
        let (x, y) = self.at(n);
        let edge = stop.edge.unwrap_or(Edge::Found);
        let filled = edge == Edge::Left;
        let corner = (x - HALF.0, y - HALF.1);
        self.pen.rect(if filled { INKED } else { PAPER }, Some(edge), corner, (2.0 * HALF.0, 2.0 * HALF.1));
        let tag = text::cut(&stop.tag, 2.0 * HALF.0 - 2.0, 15.0, true);
        self.pen.words_in(if filled { PAPER } else { INKED }, (x, y + 5.5), &tag, 15.0, Anchor::Middle, true);
        self.words(stop, (x, y));
        for (k, letter) in stop.stubs.iter().enumerate() {
            let x = x - 10.0 + f(k) * 14.0;
            let way = Way::from(x, y + HALF.1).to(x, y + HALF.1 + 15.0);
            self.pen.stroke(INKED, Some(Edge::Unknown), &way, 4.5);
            self.pen.words_in(INKED, (x + 5.0, y + HALF.1 + 15.0), letter, 13.0, Anchor::Start, true);
        }
    }

    fn words(&mut self, stop: &Stop, (x, y): (f64, f64)) {
        let left = self.words_at.max(x + HALF.0 + 12.0);
        let room = self.width - self.threads - left;
        let run = stop.run.as_ref().map(|run| run.words.as_str()).unwrap_or_default();
        for (down, words, size, bold, role) in [
            (-11.0, stop.place.as_str(), 16.0, true, INKED),
            (7.0, &stop.state, 14.0, false, INKED),
            (24.0, run, 13.0, false, "soft"),
        ] {
            let words = text::cut(words, room, size, bold);
            self.pen.words_in(role, (left, y + down), &words, size, Anchor::Start, bold);
        }
    }

    /// Switches with a lever, outlets as circles; where what was seen disagrees, two halves, shifted.
    fn handles(&mut self) {
        for (n, thread) in self.course.threads.iter().enumerate() {
            let x = self.thread_x(n);
            for stop in &thread.switches {
                let y = y_of(*stop);
                let lever = Way::from(x - 8.0, y - 13.0).to(x - 14.0, y - 21.0);
                self.pen.stroke(INKED, None, &lever, 4.0);
                self.pen.rect(PAPER, Some(Edge::Found), (x - 10.0, y - 13.0), (20.0, 26.0));
                self.letter(thread, (x, y));
            }
            let y = y_of(thread.outlet);
            if thread.switches.contains(&thread.outlet) {
                // Switch and outlet in one box: the outlet hangs below its switch.
                self.pen.circle(PAPER, Some(outlet_edge(thread)), (x, y + 25.0), 7.0);
            } else {
                self.pen.circle(PAPER, Some(outlet_edge(thread)), (x, y), 12.0);
                if !thread.disagrees {
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
            place: "wall light, foot of the long back stair".to_owned(),
            state: "as planned, not checked; run B: other end not known".to_owned(),
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
        Course { stops: stops.collect(), threads: threads.collect(), spoken: String::new() }.ordered()
    }

    proptest! {
        #[test]
        fn every_box_is_a_row_to_touch_and_words_stay_clear_of_threads(
            feeds in prop::collection::vec(prop::option::weighted(0.9, 0usize..30), 1..30),
            threads in prop::collection::vec((prop::collection::vec(0usize..30, 1..4), 0usize..30), 0..6),
        ) {
            let count = feeds.len();
            let feeds: Vec<_> = feeds.into_iter().map(|from| from.map(|n| n % count)).collect();
            let course = course(&feeds, &threads);
            let picture = circuit_picture(&course, 360.0);
            prop_assert_eq!(&picture, &circuit_picture(&course, 360.0));
            prop_assert_eq!(picture.places.len(), count);
            for (n, place) in picture.places.iter().enumerate() {
                prop_assert!(place.height >= 56.0 && place.y + place.height <= picture.height);
                prop_assert!(n == 0 || place.y >= picture.places[n - 1].y + 56.0);
            }
            let first_thread = picture.width - f(course.threads.len()) * THREAD - 8.0;
            for shape in &picture.shapes {
                if let super::super::shape::Form::Words { x, text, size, anchor: Anchor::Start, bold, .. } = &shape.form {
                    let right = x + text::width(text, *size, *bold);
                    prop_assert!(right <= first_thread || text.len() < 3, "{} ends at {}", text, right);
                }
            }
        }
    }
}
