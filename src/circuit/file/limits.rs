//! Bounds of a circuit file, checked while it is read and before anything is made of it.
//! `docs/circuit-file.md` states them.

/// Bytes in a file.
pub const BYTES_MAX: usize = 16 * 1024 * 1024;

/// Brackets inside brackets.
pub const NESTING_MAX: usize = 32;

/// Values of every kind (numbers, texts, lists, brackets) in a file.
pub const VALUES_MAX: usize = 1_000_000;

/// Least and greatest resistance of a joint or load, in ohms, if it is not zero. Sentences of
/// conditions keep to it too.
pub const RESISTANCE_OHM: (f64, f64) = (1e-7, 1e12);

/// Least and greatest capacitance in any unit, in farads, if it is not zero. Sentences of
/// conditions keep to it too.
pub const CAPACITANCE_FARAD: (f64, f64) = (1e-18, 1.0);

/// Wires of one cable.
pub const WIRES_MAX: usize = 64;

/// Devices in one box.
pub const DEVICES_MAX: usize = 64;

/// Subpanels in a file.
pub const SUBPANELS_MAX: usize = 1_000;

/// Problems that are reported in one go; after these comes one line that there are more.
pub const PROBLEMS_MAX: usize = 100;
