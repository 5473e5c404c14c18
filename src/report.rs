//! What people and programs are told: data first ([`ReadReport`], [`CheckReport`],
//! [`WhyReport`], [`LookAlikeReport`], [`LocateReport`], [`SheetReport`], [`KeyReport`]), then its
//! rendering as text in 80 columns or as versioned JSON.
//!
//! A report never decides anything: figures come from the solution, dangers from
//! [`hazard`](crate::hazard).

pub mod caution;
pub mod check;
pub mod drill;
pub mod figure;
pub mod hazard_words;
pub mod locate;
pub mod lookalikes;
pub mod phasor;
pub mod problems;
pub mod protection;
pub mod read;
pub mod text;
pub mod vocabulary;
pub mod why;

#[cfg(feature = "json")]
pub mod json;

pub use caution::CAUTION;
pub use check::CheckReport;
pub use drill::{
    DrillRow, HiddenFault, KeyReport, KnownBox, KnownLoad, Manifest, ReadingLine, ReadingRow,
    SheetReport, WayReport, WayStep, WhyReading, complaint_in_words,
};
pub use locate::LocateReport;
pub use lookalikes::{LookAlikeReport, PatternReport, wrong_in_words};
pub use problems::{ProblemReport, ProblemsReport};
pub use read::{Asked, ReadReport, ReportError};
pub use why::WhyReport;
