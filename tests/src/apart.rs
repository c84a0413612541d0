//! How far two solutions are apart.

use num_complex::Complex64;

/// The greatest distance of a node's voltage, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// Volts. Infinite if one of the voltages is no number.
    pub volts: f64,
    /// Place of the state in the lists.
    pub state: usize,
    /// Place of the node.
    pub node: usize,
}

/// The greatest distance between voltages of every node in each state. Lists of unlike length are infinitely apart.
pub fn worst(one: &[Vec<Complex64>], other: &[Vec<Complex64>]) -> Apart {
    let mut worst = Apart { volts: 0.0, state: 0, node: 0 };
    if one.len() != other.len() {
        return Apart { volts: f64::INFINITY, ..worst };
    }
    for (state, (one, other)) in one.iter().zip(other).enumerate() {
        if one.len() != other.len() {
            return Apart { volts: f64::INFINITY, state, node: 0 };
        }
        for (node, (a, b)) in one.iter().zip(other).enumerate() {
            let distance = (a - b).norm();
            let volts = if distance.is_nan() { f64::INFINITY } else { distance };
            if volts > worst.volts {
                worst = Apart { volts, state, node };
            }
        }
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_or_missing_is_infinitely_apart() {
        let one = vec![vec![Complex64::new(1.0, 0.0); 2]];
        assert!(worst(&one, &one).volts < f64::MIN_POSITIVE);
        let mut other = one.clone();
        other[0][1] = Complex64::new(f64::NAN, 0.0);
        assert_eq!((worst(&one, &other).volts, worst(&one, &other).node), (f64::INFINITY, 1));
        assert!(worst(&one, &[]).volts.is_infinite());
        assert!(worst(&one, &[Vec::new()]).volts.is_infinite());
        other[0][1] = Complex64::new(1.0, 0.25);
        assert!((worst(&one, &other).volts - 0.25).abs() < 1e-15);
    }
}
