//! Drills for people: the student's sheet and the answer key, as data; their rendering is
//! [`text`](super::text)'s and the drawing's.

mod call;
mod key;
mod names;
mod rows;
mod sheet;
mod supply;

pub use call::say as complaint_in_words;
#[cfg(feature = "draw")]
pub(crate) use key::as_read;
pub use key::{HiddenFault, KeyReport, WayReport, WayStep, WhyReading};
pub use names::place_in_words;
#[cfg(feature = "schema")]
pub use rows::dataset_schema;
pub use rows::{DATASET_FORMAT, DrillRow, Manifest, ReadingRow};
pub(crate) use sheet::lines_of;
pub use sheet::{KnownBox, KnownLoad, ReadingLine, SheetReport};
