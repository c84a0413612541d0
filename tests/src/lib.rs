//! Helpers of the border tests.
