//! The order of a dead check's pairs that moves the clipped lead least.
//!
//! The lead is clipped on the more grounded side of a pair: on the reference, and on either side only where both are
//! ungrounded. Passes (all pairs before a handle is turned, then those after) stay apart, because a turn is a walk.
//! Within that, as few clips as touch every pair are chosen, and a pass begins where the one before has ended.

use std::collections::BTreeSet;

use crate::job::happening::Question;
use crate::job::{Pair, Spot};

/// A pair of one pass.
#[derive(Debug, Clone)]
pub(super) struct Touch {
    /// The pair with its positions; the lead is clipped on the first spot.
    pub(super) question: Question,
    /// Both are ungrounded: the lead may be clipped on either.
    pub(super) either: bool,
}

/// More pairs of ungrounded spots than these are left in the order in which they come: a search would take long.
const MOST_PAIRS: usize = 80;
/// More ways of clipping one pass than these are not compared.
const MOST_WAYS: usize = 120;

/// Spots by number, in the order in which a person goes through the box.
type Clips = Vec<usize>;

/// The clips of one pass, in order.
#[derive(Debug, Clone)]
struct Way {
    clips: Clips,
    moves: usize,
    /// How far it is from the plain order; the least stands where the moves are equal.
    odd: usize,
}

/// The pairs of all passes in the order of fewest moves.
pub(super) fn in_fewest_moves(passes: &[Vec<Touch>]) -> Vec<Question> {
    let mut spots: Vec<&Spot> = Vec::new();
    for touch in passes.iter().flatten() {
        for spot in [&touch.question.pair.from, &touch.question.pair.to] {
            if !spots.contains(&spot) {
                spots.push(spot);
            }
        }
    }
    let number = |spot: &Spot| spots.iter().position(|known| *known == spot).unwrap_or(usize::MAX);
    let chosen = chosen(&passes.iter().map(|pass| sets(pass, number)).collect::<Vec<_>>());
    let mut all = Vec::new();
    for (pass, clips) in passes.iter().zip(&chosen) {
        let place = |spot: &Spot| clips.iter().position(|clip| *clip == number(spot)).unwrap_or(usize::MAX);
        let mut turned: Vec<(usize, usize, Question)> = pass
            .iter()
            .map(|touch| {
                let Question { pair: Pair { from, to }, at } = touch.question.clone();
                let swap = touch.either && place(&to) < place(&from);
                let pair = if swap { Pair { from: to, to: from } } else { Pair { from, to } };
                (place(&pair.from), number(&pair.to), Question { pair, at })
            })
            .collect();
        turned.sort_by_key(|(clip, to, _)| (*clip, *to));
        all.extend(turned.into_iter().map(|(_, _, question)| question));
    }
    all
}

/// The sets of clips, each as small as can be, that touch every pair of a pass.
fn sets(pass: &[Touch], number: impl Fn(&Spot) -> usize) -> Vec<Clips> {
    let ends = |touch: &Touch| (number(&touch.question.pair.from), number(&touch.question.pair.to));
    let fixed: BTreeSet<usize> = pass.iter().filter(|touch| !touch.either).map(|touch| ends(touch).0).collect();
    let open: Vec<(usize, usize)> = pass.iter().filter(|touch| touch.either).map(ends).collect();
    let covers = covers(&open);
    covers.into_iter().map(|cover| fixed.iter().copied().chain(cover).collect()).collect()
}

/// The smallest sets of spots that have one of each pair.
fn covers(pairs: &[(usize, usize)]) -> Vec<Clips> {
    let plain = || pairs.iter().map(|(from, _)| *from).collect::<BTreeSet<_>>().into_iter().collect::<Clips>();
    if pairs.is_empty() || pairs.len() > MOST_PAIRS {
        return vec![plain()];
    }
    for size in apart(pairs)..=plain().len() {
        let mut found = BTreeSet::new();
        grow(pairs, size, &mut BTreeSet::new(), &mut found);
        if !found.is_empty() {
            return found.into_iter().map(|cover| cover.into_iter().collect()).collect();
        }
    }
    vec![plain()]
}

/// Pairs that have no spot in common: each asks for a clip of its own, so that no set is smaller.
fn apart(pairs: &[(usize, usize)]) -> usize {
    let mut used = BTreeSet::new();
    let free = pairs.iter().filter(|(one, other)| {
        let free = !used.contains(one) && !used.contains(other);
        if free {
            used.extend([*one, *other]);
        }
        free
    });
    free.count()
}

fn grow(pairs: &[(usize, usize)], left: usize, taken: &mut BTreeSet<usize>, found: &mut BTreeSet<BTreeSet<usize>>) {
    let Some((one, other)) = pairs.iter().find(|(one, other)| !taken.contains(one) && !taken.contains(other)) else {
        found.insert(taken.clone());
        return;
    };
    if left == 0 || found.len() >= MOST_WAYS {
        return;
    }
    for spot in [*one, *other] {
        taken.insert(spot);
        grow(pairs, left - 1, taken, found);
        taken.remove(&spot);
    }
}

/// For each pass the order of its clips: together the fewest moves.
fn chosen(passes: &[Vec<Clips>]) -> Vec<Clips> {
    // What each end of the passes so far costs, with the ways that lead there.
    let mut ends: Vec<(usize, usize, usize, Vec<Clips>)> = Vec::new();
    for (n, sets) in passes.iter().enumerate() {
        let ways: Vec<Way> = sets.iter().flat_map(orders).collect();
        if ways.is_empty() {
            for (.., all) in &mut ends {
                all.push(Clips::new());
            }
            continue;
        }
        let mut next: Vec<(usize, usize, usize, Vec<Clips>)> = Vec::new();
        for way in &ways {
            let (Some(first), Some(last)) = (way.clips.first(), way.clips.last()) else { continue };
            let before = ends.iter().map(|(end, moves, odd, all)| {
                let stays = usize::from(end == first);
                (moves + way.moves - stays, odd + way.odd, all)
            });
            let best = before.min_by_key(|(moves, odd, _)| (*moves, *odd));
            let (moves, odd, all) = match best {
                Some((moves, odd, all)) => (moves, odd, all.clone()),
                None => (way.moves, way.odd, vec![Clips::new(); n]),
            };
            let all: Vec<Clips> = all.into_iter().chain([way.clips.clone()]).collect();
            match next.iter_mut().find(|(end, ..)| end == last) {
                Some(known) if (known.1, known.2) <= (moves, odd) => {}
                Some(known) => *known = (*last, moves, odd, all),
                None => next.push((*last, moves, odd, all)),
            }
        }
        ends = next;
    }
    let best = ends.into_iter().min_by_key(|(_, moves, odd, _)| (*moves, *odd));
    best.map_or_else(|| vec![Clips::new(); passes.len()], |(.., all)| all)
}

/// The orders of a set that differ in where they begin and end; between, as a person goes through the box.
fn orders(set: &Clips) -> Vec<Way> {
    let count = set.len();
    let mut all = Vec::new();
    for (begin, first) in set.iter().enumerate() {
        for (end, last) in set.iter().enumerate() {
            if (begin == end) != (count == 1) {
                continue;
            }
            let between = set.iter().filter(|clip| *clip != first && *clip != last).copied();
            let mut clips: Clips = std::iter::once(*first).chain(between).collect();
            if count > 1 {
                clips.push(*last);
            }
            all.push(Way { clips, moves: count, odd: begin + (count - 1 - end) });
        }
    }
    all
}

#[cfg(test)]
mod tests;
