//! Least and greatest size of a sum of phasors, each of which may be a little smaller or larger.
//!
//! The size of the sum is convex in each factor, so that the greatest is at a corner; the least is taken from the
//! corners and the middles. Corners multiply, so that only the largest parts go through them. What the smaller ones
//! can do at most is added on both sides: the interval is then wide, never wrong, and a house with many sources takes
//! no longer than one with few.

use num_complex::Complex64;

/// Parts that go through their corners: 3^6 sums.
const MOST_CORNERS: usize = 6;

/// One part of a sum.
#[derive(Debug, Clone, Copy)]
pub(super) struct Share {
    /// At its nominal size.
    pub(super) value: Complex64,
    /// Least factor.
    pub(super) low: f64,
    /// Greatest factor.
    pub(super) high: f64,
}

/// Least and greatest size of the sum.
pub(super) fn corners(mut shares: Vec<Share>) -> (f64, f64) {
    if shares.len() > MOST_CORNERS {
        shares.sort_by(|a, b| b.value.norm().total_cmp(&a.value.norm()));
    }
    let small = shares.split_off(shares.len().min(MOST_CORNERS));
    let mut sums: Vec<Complex64> = vec![small.iter().map(|share| share.value).sum()];
    let widest = |share: &Share| share.value.norm() * (share.high - 1.0).abs().max((share.low - 1.0).abs());
    let spread: f64 = small.iter().map(widest).sum();
    for Share { value, low, high } in shares {
        let factors = [low, high, f64::midpoint(low, high)];
        sums = sums.iter().flat_map(|sum| factors.map(|factor| sum + value * factor)).collect();
    }
    let sizes = || sums.iter().map(|sum| sum.norm());
    let (least, greatest) = (sizes().fold(f64::INFINITY, f64::min), sizes().fold(0.0, f64::max));
    ((least - spread).max(0.0), greatest + spread)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two legs against each other: 114 to 126 V each make 228 to 252 V; the same leg twice against itself 0 to 12 V.
    #[test]
    fn legs_add_and_cancel() {
        let leg = |volts: f64| Share { value: Complex64::new(volts, 0.0), low: 0.95, high: 1.05 };
        let near = |(low, high): (f64, f64), least: f64, greatest: f64| {
            assert!((low - least).abs() < 1e-9 && (high - greatest).abs() < 1e-9, "{low} {high}");
        };
        near(corners(vec![leg(120.0), leg(120.0)]), 228.0, 252.0);
        near(corners(vec![leg(120.0), leg(-120.0)]), 0.0, 12.0);
        near(corners(Vec::new()), 0.0, 0.0);
    }

    /// With forty parts it is as wide as it must be and no wider than the triangle allows: by hand, 40 of 1 V each.
    #[test]
    fn many_parts_are_bounded_rather_than_multiplied() {
        let (low, high) = corners(vec![Share { value: Complex64::new(0.0, 1.0), low: 0.9, high: 1.1 }; 40]);
        assert!((low - 36.0).abs() < 1e-9 && (high - 44.0).abs() < 1e-9, "{low} {high}");
    }
}
