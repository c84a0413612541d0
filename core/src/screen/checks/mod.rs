//! The check screens: the dead check of a box, the list before power, the live check with its switch trials, the
//! switch table, findings and the day record. Everything that they show is worked out elsewhere; here it becomes rows.
//! The state of a half-made choice lives in the address.

mod bench;
pub(super) mod coming_back;
pub(super) mod dead;
mod dead_list;
pub(super) mod disagree;
pub(super) mod findings;
mod isolated;
pub(super) mod leaving;
pub(super) mod live;
mod live_reading;
mod meter;
mod neutral;
mod ohms;
mod parts;
pub(super) mod ready;
pub(super) mod record;
mod round;
pub(super) mod table;
pub(super) mod used;
mod work;
