//! The command `slotwise`.
fn main() {}
