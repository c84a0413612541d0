//! What is known of a site: entries, the nouns that they speak of, and the fold that makes one from the other.

pub mod entry;
pub mod happening;
pub mod id;
pub mod measure;
pub mod subject;
pub mod value;

pub use entry::{Add, Entry, Fact, How, Layer, Noted, Same, Set, Signed, Strike, Target};
pub use happening::{Figure, Happening, Held, Mode, Purpose, Reading};
pub use id::{Author, FactRef, Hash, NotRead, Stamp, ThingId};
pub use measure::{Decimal, Wall};
pub use subject::{At, Bus, Handle, Landing, LoadPoint, Pair, Place, Side, Spot, Subject, Tip};
pub use value::{Colour, Conductor, Field, FieldKind, Kind, Metal, Part, Promise, Promised, Value};
