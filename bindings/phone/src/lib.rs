//! The phone border.
