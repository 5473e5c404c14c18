//! The mutants that `cargo mutants --list --json` names.

use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct Mutant {
    /// From 1; 0 is none.
    #[serde(default)]
    pub number: u32,
    pub file: String,
    pub name: String,
    pub genre: Genre,
    pub replacement: String,
    pub span: Span,
}

#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct Span {
    pub start: At,
    pub end: At,
}

/// Line and column, both from 1.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct At {
    pub line: usize,
    pub column: usize,
}

#[derive(Clone, Copy, Debug, Deserialize, Serialize, PartialEq, Eq, PartialOrd, Ord)]
pub enum Genre {
    BinaryOperator,
    UnaryOperator,
    FnValue,
    MatchArm,
    MatchArmGuard,
    StructField,
}
