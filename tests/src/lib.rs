//! Helpers of the border tests.

pub mod hand;
pub mod house;
