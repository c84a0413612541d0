//! Branches of a long course, folded: where nothing asks for a look, a branch is one row that leads to its boxes.

use std::collections::BTreeSet;

use super::course::{Course, Stop, Thread};

/// A course of more boxes than this is folded.
pub const MOST_STOPS: usize = 40;

impl Course {
    /// Folds an ordered course of more than [`MOST_STOPS`] boxes. A branch is what hangs behind one of several runs
    /// that leave a box. It becomes one stop, made by `name` of its boxes, if all of them are quiet and the box with
    /// the key `open` is not among them. Numbers in feeds and threads follow; a thread all inside a folded branch goes
    /// with it.
    pub fn folded(self, open: Option<&str>, name: &dyn Fn(&[Stop]) -> Stop) -> Self {
        if self.stops.len() <= MOST_STOPS {
            return self;
        }
        let kept_open = |stop: &Stop| open.is_some_and(|key| key == stop.key);
        let ends = self.ends();
        // An ordered course has each branch in one piece.
        let can_fold: Vec<bool> = (0..self.stops.len())
            .map(|n| {
                let inside = self.stops.get(n..ends.get(n).copied().unwrap_or(n)).unwrap_or_default();
                let from = inside.first().and_then(|stop| stop.run.as_ref()).map(|run| run.from);
                let is_branch = from.is_some_and(|from| self.leaving(from) > 1);
                is_branch && inside.len() > 1 && inside.iter().all(|stop| stop.quiet && !kept_open(stop))
            })
            .collect();
        let mut stops: Vec<Stop> = Vec::new();
        // Where each box stands now.
        let mut place: Vec<usize> = Vec::new();
        let mut n = 0;
        while let Some(stop) = self.stops.get(n) {
            let end = ends.get(n).copied().filter(|_| can_fold.get(n) == Some(&true)).unwrap_or(n + 1);
            let mut shown = match self.stops.get(n..end) {
                Some(inside) if inside.len() > 1 => Stop { boxes: inside.len(), ..name(inside) },
                _ => stop.clone(),
            };
            shown.run.clone_from(&stop.run);
            if let Some(run) = &mut shown.run {
                run.from = place.get(run.from).copied().unwrap_or(0);
            }
            place.extend((n..end).map(|_| stops.len()));
            stops.push(shown);
            n = end;
        }
        let threads = self.threads.into_iter().filter_map(|thread| moved(thread, &place, &stops)).collect();
        Self { stops, threads, spoken: self.spoken }
    }

    /// How many runs leave a box.
    fn leaving(&self, from: usize) -> usize {
        self.stops.iter().filter(|stop| stop.run.as_ref().is_some_and(|run| run.from == from)).count()
    }

    /// For each box the number after the last one behind it.
    fn ends(&self) -> Vec<usize> {
        let mut ends: Vec<usize> = (1..=self.stops.len()).collect();
        for n in (0..self.stops.len()).rev() {
            let own = ends.get(n).copied().unwrap_or(n);
            let from = self.stops.get(n).and_then(|stop| stop.run.as_ref()).map(|run| run.from);
            if let Some(end) = from.and_then(|from| ends.get_mut(from)) {
                *end = own.max(*end);
            }
        }
        ends
    }
}

/// A thread between the stops that are shown; none if one folded branch holds it whole.
fn moved(thread: Thread, place: &[usize], stops: &[Stop]) -> Option<Thread> {
    let now = |old: usize| place.get(old).copied().unwrap_or(0);
    let switches: BTreeSet<usize> = thread.switches.iter().map(|n| now(*n)).collect();
    let outlet = now(thread.outlet);
    let is_inside = stops.get(outlet).is_some_and(|stop| stop.boxes > 1) && switches.iter().all(|n| *n == outlet);
    (!is_inside).then(|| Thread { switches: switches.into_iter().collect(), outlet, ..thread })
}

#[cfg(test)]
mod tests {
    use super::super::course::Feed;
    use super::*;

    fn stop(n: usize, from: Option<usize>, quiet: bool) -> Stop {
        let run = from.map(|from| Feed { from, ..Feed::default() });
        Stop { tag: format!("B{n}"), key: format!("k{n}"), quiet, run, ..Stop::default() }
    }

    /// A panel, three circuits of twenty boxes one behind another; the second has something to look at.
    fn three() -> Course {
        let mut stops = vec![stop(0, None, true)];
        for circuit in 0..3 {
            for at in 0..20 {
                let n = stops.len();
                stops.push(stop(n, Some(if at == 0 { 0 } else { n - 1 }), circuit != 1 || at != 7));
            }
        }
        let threads = vec![
            Thread { letter: "a".into(), switches: vec![2], outlet: 3, disagrees: false },
            Thread { letter: "b".into(), switches: vec![5], outlet: 25, disagrees: false },
        ];
        Course { stops, threads, spoken: String::new() }.ordered()
    }

    fn named(inside: &[Stop]) -> Stop {
        Stop {
            tag: inside[0].tag.clone(),
            key: inside[0].key.clone(),
            state: inside.len().to_string(),
            ..Stop::default()
        }
    }

    #[test]
    fn a_quiet_branch_is_one_row_and_one_with_something_to_look_at_is_whole() {
        let course = three().folded(None, &named);
        assert_eq!(course.stops.len(), 1 + 1 + 20 + 1);
        let folded: Vec<_> = course.stops.iter().filter(|stop| stop.boxes > 1).collect();
        assert_eq!(folded.iter().map(|stop| stop.state.as_str()).collect::<Vec<_>>(), ["20", "20"]);
        // The thread inside the first circuit went with it; the one between two circuits stays.
        assert_eq!(course.threads.len(), 1);
        assert_eq!(course.stops[course.threads[0].outlet].tag, "B25");
        for (n, stop) in course.stops.iter().enumerate() {
            assert!(stop.run.as_ref().is_none_or(|run| run.from < n));
        }
    }

    #[test]
    fn a_branch_that_is_asked_for_is_whole_and_a_short_course_is_never_folded() {
        assert_eq!(three().folded(Some("k1"), &named).stops.len(), 1 + 20 + 20 + 1);
        assert_eq!(three().folded(Some("k9"), &named).stops.len(), 1 + 20 + 20 + 1);
        let mut short = three();
        short.stops.truncate(MOST_STOPS);
        short.threads.clear();
        assert_eq!(short.clone().folded(None, &named), short);
    }
}
