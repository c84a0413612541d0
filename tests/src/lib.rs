//! Helpers of the border tests.

pub mod every;
pub mod hand;
