//! Reports as text: 80 columns, readable without colour.

mod check;
mod drill;
mod hazards;
mod layout;
mod live;
mod locate;
mod lookalikes;
mod read;
mod receptacles;
mod tables;
mod why;

pub use check::check;
#[cfg(feature = "draw")]
pub(crate) use drill::{READ_AGAIN, also_right, step_says, way_ends};
pub use drill::{key, key_body, sheet, sheet_body};
pub use live::{LIVE_HELP, live_answer, live_score, live_spent, live_time};
pub use locate::{DangersSaid, caution, heard, locate, locate_step, locate_whole, locate_why};
pub use lookalikes::{lookalikes, patterns};
pub use read::read;
pub use why::why;

/// A sentence in lines of at most 80 columns.
///
/// ```
/// use slotwise::report::text::told;
/// assert!(told(&"word ".repeat(40)).lines().count() > 1);
/// ```
pub fn told(text: &str) -> String {
    layout::wrapped("", text)
}

/// How important words are marked. The words carry the meaning; marks only help the eye.
///
/// ```
/// use slotwise::report::text::Emphasis;
/// assert_eq!(Emphasis::PLAIN.alarm, "");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Emphasis {
    /// Begins a heading.
    pub heading: &'static str,
    /// Begins a danger.
    pub alarm: &'static str,
    /// Ends either.
    pub off: &'static str,
}

impl Emphasis {
    /// No marks.
    pub const PLAIN: Self = Self { heading: "", alarm: "", off: "" };
    /// ANSI escape sequences: bold headings, bold reverse dangers; no hue carries meaning.
    pub const ANSI: Self = Self { heading: "\x1b[1m", alarm: "\x1b[1;7m", off: "\x1b[0m" };
}
