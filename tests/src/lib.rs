//! Helpers of the border tests.

pub mod apart;
pub mod book;
pub mod every;
pub mod forty;
pub mod hand;
pub mod house;
pub mod nets;
pub mod played;
pub mod random;
pub mod spice;
pub mod tool;

/// A count as a number to work with.
pub fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}
