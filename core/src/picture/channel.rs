//! Lines that move sideways in one channel: each has a track of its own, in an order that keeps them apart.

/// A line that comes down at `from` and goes on down at `to`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Move {
    /// Which line.
    pub(super) line: usize,
    /// Where it comes from.
    pub(super) from: f64,
    /// Where it goes.
    pub(super) to: f64,
}

/// Up to so many lines every order is tried: 5 040 orders at most, cut short where they cost too much already.
const TRY_ALL: usize = 7;
/// One line on top of another costs more than any number of crossings.
const ON_TOP: u32 = 1000;

impl Move {
    fn spans(self, x: f64) -> bool {
        x > self.from.min(self.to) + 1.0 && x < self.from.max(self.to) - 1.0
    }

    /// What it costs to have this line above another.
    fn above(self, below: Self) -> u32 {
        let on_top = if (self.to - below.from).abs() < 5.0 { ON_TOP } else { 0 };
        on_top + u32::from(self.spans(below.from)) + u32::from(below.spans(self.to))
    }
}

/// The tracks from top to bottom: no line on another if that can be had, then fewest crossings, then the first such
/// order.
pub(super) fn tracks(moves: &[Move]) -> Vec<Move> {
    let mut start = moves.to_vec();
    start.sort_by(|a, b| {
        let right = |m: &Move| m.to > m.from;
        let inward = |m: &Move| if right(m) { -m.from } else { m.from };
        right(a).cmp(&right(b)).then(inward(a).total_cmp(&inward(b)))
    });
    if start.len() > TRY_ALL {
        return start;
    }
    let mut search = Search { best: None, cost: u32::MAX };
    search.go(&mut Vec::new(), &start, 0);
    search.best.unwrap_or(start)
}

struct Search {
    best: Option<Vec<Move>>,
    cost: u32,
}

impl Search {
    fn go(&mut self, done: &mut Vec<Move>, left: &[Move], cost: u32) {
        if cost >= self.cost {
            return;
        }
        if left.is_empty() {
            self.best = Some(done.clone());
            self.cost = cost;
            return;
        }
        for (n, next) in left.iter().enumerate() {
            let more: u32 = done.iter().map(|above| above.above(*next)).sum();
            let others: Vec<Move> = left.iter().enumerate().filter(|(k, _)| *k != n).map(|(_, m)| *m).collect();
            done.push(*next);
            self.go(done, &others, cost + more);
            done.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cost(order: &[Move]) -> u32 {
        order.iter().enumerate().map(|(n, a)| order[n + 1..].iter().map(|b| a.above(*b)).sum::<u32>()).sum()
    }

    #[test]
    fn no_line_lies_on_another_where_an_order_avoids_it() {
        let moves = [(10.0, 50.0), (50.0, 90.0), (90.0, 10.0), (30.0, 70.0)];
        let moves: Vec<Move> =
            moves.iter().enumerate().map(|(line, (from, to))| Move { line, from: *from, to: *to }).collect();
        // 10→50 must not end above where 50→90 begins: a ring of three allows one at best.
        assert!(cost(&tracks(&moves)) < 2 * ON_TOP);
        assert!(cost(&tracks(&moves[..2])) < ON_TOP);
        assert_eq!(tracks(&moves).len(), moves.len());
        assert_eq!(tracks(&moves), tracks(&moves));
        assert_eq!(tracks(&[]), []);
    }
}
