//! The job log: one SQLite file for each site, append only.
//!
//! What always holds:
//!
//! - an entry is on disk before [`Log::append`] or [`Log::take_in`] says that it was kept;
//! - an entry is never changed or taken out: the schema's triggers refuse it to everybody;
//! - a file that is not ours is refused untouched, a newer one is opened to read, a damaged one is moved aside whole,
//!   and [`Salvage`] gives out what can be read of it;
//! - no connection outlives an I/O error.
//!
//! Opening trusts no byte of a body without its hash; signatures are checked when entries come in and by
//! [`Log::verify`], not at each open.

mod connection;
mod error;
mod exchange;
mod folder;
pub mod line;
mod salvage;
mod schema;
mod store;
mod verify;

pub use connection::ReadOnly;
pub use error::LogError;
pub use exchange::{Bad, MOST_NAMED, TakenIn, sites_in};
pub use folder::{EXTENSION, Folder, SiteFile};
pub use salvage::Salvage;
pub use store::{About, Kept, Log, Next, Notes};
pub use verify::{Chain, Verified, verify};
