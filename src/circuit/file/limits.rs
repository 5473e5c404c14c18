//! Bounds of a circuit file, checked while it is read and before anything is made of it.
//! `docs/circuit-file.md` states them.

/// Bytes in a file.
pub const BYTES_MAX: usize = 16 * 1024 * 1024;

/// Brackets inside brackets.
pub const NESTING_MAX: usize = 32;

/// Values of every kind (numbers, texts, lists, brackets) in a file.
pub const VALUES_MAX: usize = 1_000_000;

/// Wires of one cable.
pub const WIRES_MAX: usize = 64;

/// Devices in one box.
pub const DEVICES_MAX: usize = 64;

/// Subpanels in a file.
pub const SUBPANELS_MAX: usize = 1_000;

/// Problems that are reported in one go; after these comes one line that there are more.
pub const PROBLEMS_MAX: usize = 100;
