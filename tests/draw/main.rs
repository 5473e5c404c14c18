//! Pictures and pages: nothing covers anything else, nothing leaves the paper, and what is
//! written is well-formed, the same each time, and says what it must.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod documents;
mod files;
mod page;
mod profile;
mod random;
mod run;
mod studio;
