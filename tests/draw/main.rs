//! Pictures and pages: nothing covers anything else, nothing leaves the paper, and what is
//! written is well-formed, the same each time, and says what it must.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod random;
mod run;
mod studio;
