//! Helpers of the border tests.

pub mod apart;
pub mod book;
pub mod every;
pub mod forty;
pub mod hand;
pub mod house;
pub mod nets;
pub mod random;
pub mod spice;
pub mod tool;
