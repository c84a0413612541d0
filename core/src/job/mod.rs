//! What is known of a site: entries, the nouns that they speak of, and the fold that makes one from the other.

pub mod alike;
pub mod boxes;
pub mod device;
pub mod entry;
pub mod happening;
pub mod id;
pub mod measure;
pub mod note;
pub mod notes;
pub mod piece;
pub mod run;
pub mod same;
pub mod sign;
pub mod splice;
pub mod subject;
pub mod tip;
pub mod value;
pub mod visit;
pub mod wiring;
mod wirings;

pub use boxes::BoxNote;
pub use device::DeviceNote;
pub use entry::{Add, Entry, Fact, How, Layer, Noted, Same, Set, Signed, Strike, Target};
pub use happening::{Figure, Happening, Held, Mode, Purpose, Reading};
pub use id::{Author, FactRef, Hash, NotRead, Stamp, ThingId};
pub use measure::{Decimal, Wall};
pub use note::{Basis, Note};
pub use notes::{Happened, Notes};
pub use piece::{InstrumentNote, JobNote, PersonNote, SiteNote};
pub use run::{RunNote, SideNote};
pub use splice::{SpliceNote, SupplyNote};
pub use subject::{At, Bus, Handle, Landing, LoadPoint, Pair, Place, Side, Spot, Subject, Tip};
pub use tip::TipNote;
pub use value::{Colour, Conductor, Field, FieldKind, Kind, Metal, Part, Promise, Promised, Value};
pub use visit::Visit;
pub use wiring::Wiring;
