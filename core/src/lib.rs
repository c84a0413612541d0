//! The core of Boxproof: the job model, the calculations and the job log.
//!
//! One way in, one way out: a tap becomes an event, an event an entry; entries fold into what is known of a site;
//! everything else is worked out from that and shown as a screen. See `DEVELOPERS.md` for the map and the laws.

pub mod app;
pub mod catalogue;
pub mod check;
pub mod circuit;
pub mod job;
pub mod log;
pub mod name;
pub mod picture;
pub mod plan;
pub mod predict;
pub mod record;
pub mod refusal;
pub mod rules;
pub mod screen;
pub mod tell;
pub mod token;
pub mod words;
