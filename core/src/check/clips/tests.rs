//! The fewest moves of the lead, against every order there is.

use super::{Touch, in_fewest_moves};
use crate::job::happening::Question;
use crate::job::{Pair, Spot};

fn spot(n: usize) -> Spot {
    Spot::Other(format!("spot {n}"))
}

fn touch(from: usize, to: usize, either: bool) -> Touch {
    let pair = Pair { from: spot(from), to: spot(to) };
    Touch { question: Question { pair, at: Vec::new() }, either }
}

/// How often the lead is clipped on.
fn clipped(order: &[Spot]) -> usize {
    order.iter().enumerate().filter(|(n, spot)| *n == 0 || order.get(n - 1) != Some(spot)).count()
}

/// Every order of some things.
fn orders<T: Clone>(things: &[T]) -> Vec<Vec<T>> {
    if things.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for n in 0..things.len() {
        let mut rest = things.to_vec();
        let first = rest.remove(n);
        all.extend(orders(&rest).into_iter().map(|order| std::iter::once(first.clone()).chain(order).collect()));
    }
    all
}

/// Every way to take the pairs of one pass, as the spots that the lead is clipped on one after the other.
fn every_way(pass: &[Touch]) -> Vec<Vec<Spot>> {
    let open: Vec<usize> = pass.iter().enumerate().filter(|(_, touch)| touch.either).map(|(n, _)| n).collect();
    let mut all = Vec::new();
    for turned in 0..1u32 << open.len() {
        let clip = |(n, touch): (usize, &Touch)| {
            let place = open.iter().position(|other| *other == n);
            let swap = place.is_some_and(|place| turned >> place & 1 == 1);
            let pair = &touch.question.pair;
            if swap { pair.to.clone() } else { pair.from.clone() }
        };
        let clips: Vec<Spot> = pass.iter().enumerate().map(clip).collect();
        all.extend(orders(&clips));
    }
    all
}

fn fewest_by_trying_all(passes: &[Vec<Touch>]) -> usize {
    let mut all: Vec<Vec<Spot>> = vec![Vec::new()];
    for pass in passes {
        let ways = every_way(pass);
        all =
            all.iter().flat_map(|before| ways.iter().map(move |way| [before.clone(), way.clone()].concat())).collect();
    }
    all.iter().map(|order| clipped(order)).min().unwrap_or(0)
}

/// Numbers that look random and are the same each time (a linear congruential generator, from memory).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap_or(0) % sides.max(1)
    }
}

#[test]
fn no_order_of_a_small_list_moves_the_lead_less() {
    let mut dice = Dice(7);
    let mut saved = 0;
    for _ in 0..150 {
        // Spot 0 is the ground, 1 the neutral, the rest is ungrounded.
        let spots = 3 + dice.roll(3);
        let mut pass = |most: usize| {
            let mut touches: Vec<Touch> = Vec::new();
            for _ in 0..=dice.roll(most) {
                let (from, to) = (dice.roll(spots), dice.roll(spots));
                let known = |touch: &Touch| touch.question.pair == Pair { from: spot(from), to: spot(to) };
                if from < to && !touches.iter().any(known) {
                    touches.push(touch(from, to, from > 1));
                }
            }
            touches
        };
        let passes = [pass(4), pass(3)];
        let asked = in_fewest_moves(&passes);
        assert_eq!(asked.len(), passes.iter().map(Vec::len).sum::<usize>(), "every pair once");
        let order: Vec<Spot> = asked.iter().map(|question| question.pair.from.clone()).collect();
        assert_eq!(clipped(&order), fewest_by_trying_all(&passes), "{passes:#?}\n{asked:#?}");
        let plain: Vec<Spot> = passes.iter().flatten().map(|touch| touch.question.pair.from.clone()).collect();
        saved += clipped(&plain) - clipped(&order);
    }
    assert!(saved > 0, "lists were tried whose plain order moves the lead more often");
}

#[test]
fn a_box_with_two_switched_conductors_is_read_with_seven_clips_instead_of_eight() {
    // By hand: ground, neutral, hot and two travelers. First all ten pairs; then the seven that touch a traveler.
    let all = |least: usize| {
        let pairs = (0..5).flat_map(|from| (from + 1..5).map(move |to| (from, to)));
        pairs.filter(|(_, to)| *to >= least).map(|(from, to)| touch(from, to, from > 1)).collect::<Vec<_>>()
    };
    let passes = [all(1), all(3)];
    assert_eq!(passes.iter().map(Vec::len).collect::<Vec<_>>(), [10, 7]);
    let asked = in_fewest_moves(&passes);
    let order: Vec<Spot> = asked.iter().map(|question| question.pair.from.clone()).collect();
    // Each pass needs ground, neutral and two of the three others; one clip stays on over the turn.
    assert_eq!(clipped(&order), 7);
    assert_eq!(order.first(), Some(&spot(0)), "the ground comes first");
    for question in &asked {
        assert!(
            [spot(0), spot(1)].contains(&question.pair.from) || ![spot(0), spot(1)].contains(&question.pair.to),
            "the lead is clipped on the reference: {question:?}"
        );
    }
}
