//! The desk.
fn main() {}
