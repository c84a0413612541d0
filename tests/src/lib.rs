//! Helpers of the border tests.

pub mod apart;
pub mod book;
pub mod every;
#[allow(
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "small counts, and lists that are made here; a mistake ends the check"
)]
pub mod forty;
pub mod hand;
pub mod house;
#[allow(
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "small counts, and lists that are made here; a mistake ends the check"
)]
pub mod nets;
#[allow(
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "small counts, and lists that are made here; a mistake ends the check"
)]
pub mod random;
#[allow(
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "small counts, and lists that are made here; a mistake ends the check"
)]
pub mod spice;
pub mod tool;
