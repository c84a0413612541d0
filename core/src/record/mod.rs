//! The day record: what was found, done, read and left on one visit or one day of a job, as one document with several
//! outputs.
//!
//! [`day`] makes the [`Document`] from the notes; [`html`] writes it as one file. The document says what was noted and
//! what was worked out beside it. It judges nothing.

mod amend;
mod boxes;
mod change;
mod day;
mod dead;
pub mod document;
mod done;
mod first;
mod front;
mod goods;
mod hands;
mod html;
mod isolation;
mod kit;
mod makeup;
mod mark;
mod name;
mod others;
mod palette;
mod people;
mod power;
mod reading;
mod said;
pub mod sheet;
mod span;
mod table;

pub use day::day;
pub use document::Document;
pub use html::html;
pub(crate) use name::goods as goods_name;
pub use span::Span;
