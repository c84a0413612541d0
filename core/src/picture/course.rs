//! The course of a circuit: what the circuit picture is drawn from. Plain data, with every word ready.

use super::shape::Edge;
use super::unfolded::Sense;

/// A circuit from its source through its boxes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Course {
    /// Boxes in the order that the power takes; a box comes after the one that it is fed from.
    pub stops: Vec<Stop>,
    /// What controls what.
    pub threads: Vec<Thread>,
    /// The whole in words.
    pub spoken: String,
}

/// A box on the way.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stop {
    /// What it is called in addresses.
    pub key: String,
    /// Its tag.
    pub tag: String,
    /// Where it is.
    pub place: String,
    /// Its state in words.
    pub state: String,
    /// How sure we are of it.
    pub edge: Option<Edge>,
    /// Where its power comes from: none for a panel, or for a box that no known run leads to.
    pub run: Option<Feed>,
    /// What was read or seen here and is not as worked out, in words; empty where nothing is.
    pub disagrees: String,
    /// Nothing here asks for a look: a long course may fold it away.
    pub quiet: bool,
    /// More than one: a folded branch of so many boxes.
    pub boxes: usize,
    /// Letters of runs whose other end is not known.
    pub stubs: Vec<String>,
    /// What it says and sends.
    pub sense: Sense,
}

/// The run that power comes by.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Feed {
    /// The stop that it comes from.
    pub from: usize,
    /// Kind and length: "14-2, 26 ft est.".
    pub words: String,
    /// Role of its jacket.
    pub jacket: String,
    /// How sure we are of it.
    pub edge: Option<Edge>,
}

/// Switches and what they switch.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Thread {
    /// Its letter.
    pub letter: String,
    /// Stops with a switch of it.
    pub switches: Vec<usize>,
    /// The stop of what is switched.
    pub outlet: usize,
    /// What was seen there is not as worked out.
    pub disagrees: bool,
}

impl Course {
    /// Puts stops into the order of the picture: depth first from those that nothing feeds; of a stop's branches the
    /// one with the most boxes behind it comes last and keeps the lane. What feeds itself in a ring is cut where it
    /// comes back. Numbers in feeds and threads follow.
    pub fn ordered(self) -> Self {
        let count = self.stops.len();
        let mut branches: Vec<Vec<usize>> = vec![Vec::new(); count];
        for (n, stop) in self.stops.iter().enumerate() {
            let from = stop.run.as_ref().map(|run| run.from).filter(|from| *from != n);
            if let Some(list) = from.and_then(|from| branches.get_mut(from)) {
                list.push(n);
            }
        }
        let mut walk =
            Walk { branches: &branches, sizes: vec![0; count], order: Vec::new(), taken: vec![false; count] };
        let roots = (0..count).filter(|n| self.stops.get(*n).is_some_and(|stop| stop.run.is_none()));
        for root in roots.chain(0..count) {
            walk.measure(root);
            walk.go(root);
        }
        let order = walk.order;
        let place = |old: usize| order.iter().position(|n| *n == old).unwrap_or(0);
        let stops = order.iter().enumerate().filter_map(|(at, old)| {
            let mut stop = self.stops.get(*old)?.clone();
            if let Some(run) = &mut stop.run {
                run.from = place(run.from);
            }
            stop.run = stop.run.filter(|run| run.from < at);
            Some(stop)
        });
        let stops = stops.collect();
        let threads = self.threads.into_iter().map(|thread| Thread {
            switches: thread.switches.iter().map(|n| place(*n)).collect(),
            outlet: place(thread.outlet),
            ..thread
        });
        Self { stops, threads: threads.collect(), spoken: self.spoken }
    }
}

struct Walk<'a> {
    branches: &'a [Vec<usize>],
    /// Boxes behind each stop, itself counted; zero: not measured.
    sizes: Vec<usize>,
    order: Vec<usize>,
    taken: Vec<bool>,
}

impl Walk<'_> {
    fn branches(&self, n: usize) -> &[usize] {
        self.branches.get(n).map_or(&[], Vec::as_slice)
    }

    fn measure(&mut self, root: usize) {
        // A stack of our own: a chain of ten thousand boxes must not end the program.
        let mut stack = vec![(root, false)];
        while let Some((n, back)) = stack.pop() {
            if back {
                let behind: usize = self.branches(n).iter().filter_map(|b| self.sizes.get(*b)).sum();
                if let Some(size) = self.sizes.get_mut(n) {
                    *size = behind + 1;
                }
            } else if self.sizes.get(n) == Some(&0) {
                if let Some(size) = self.sizes.get_mut(n) {
                    *size = 1;
                }
                stack.push((n, true));
                stack.extend(self.branches(n).iter().map(|b| (*b, false)));
            }
        }
    }

    fn go(&mut self, root: usize) {
        let mut stack = vec![root];
        while let Some(n) = stack.pop() {
            if self.taken.get(n).copied().unwrap_or(true) {
                continue;
            }
            if let Some(taken) = self.taken.get_mut(n) {
                *taken = true;
            }
            self.order.push(n);
            let mut next = self.branches(n).to_vec();
            // Taken from the end: the largest is pushed first and comes last.
            next.sort_by_key(|b| (std::cmp::Reverse(self.sizes.get(*b).copied().unwrap_or(0)), std::cmp::Reverse(*b)));
            stack.extend(next);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stop(tag: &str, from: Option<usize>) -> Stop {
        Stop { tag: tag.to_owned(), run: from.map(|from| Feed { from, ..Feed::default() }), ..Stop::default() }
    }

    fn tags(course: &Course) -> Vec<&str> {
        course.stops.iter().map(|stop| stop.tag.as_str()).collect()
    }

    #[test]
    fn the_largest_branch_comes_last_and_what_feeds_comes_first() {
        let stops = vec![
            stop("far", Some(2)),
            stop("panel", None),
            stop("near", Some(1)),
            stop("alone", None),
            stop("side", Some(1)),
            stop("farther", Some(0)),
        ];
        let threads = vec![Thread { letter: "a".into(), switches: vec![4], outlet: 5, disagrees: false }];
        let course = Course { stops, threads, spoken: String::new() }.ordered();
        assert_eq!(tags(&course), ["panel", "side", "near", "far", "farther", "alone"]);
        assert_eq!(course.threads[0].switches, [1]);
        assert_eq!(course.threads[0].outlet, 4);
        for (n, stop) in course.stops.iter().enumerate() {
            assert!(stop.run.as_ref().is_none_or(|run| run.from < n));
        }
    }

    #[test]
    fn a_ring_is_cut_and_nothing_is_lost() {
        let stops = vec![stop("a", Some(2)), stop("b", Some(0)), stop("c", Some(1))];
        let course = Course { stops, ..Course::default() }.ordered();
        assert_eq!(course.stops.len(), 3);
        assert_eq!(course.stops.iter().filter(|stop| stop.run.is_none()).count(), 1);
        let chain = (0..20_000).map(|n| stop("x", (n > 0).then(|| n - 1))).collect();
        assert_eq!(Course { stops: chain, ..Course::default() }.ordered().stops.len(), 20_000);
    }
}
