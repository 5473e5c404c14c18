//! A text in Rusty Object Notation as a tree of values, each with its place in the text.

use std::ops::Range;

/// Bytes of the text.
pub(crate) type Span = Range<usize>;

/// Number of a value in its tree.
pub(crate) type NodeId = usize;

/// One value.
#[derive(Debug)]
pub(crate) struct Node {
    pub(crate) id: NodeId,
    pub(crate) span: Span,
    pub(crate) value: Value,
}

/// What was written.
#[derive(Debug)]
pub(crate) enum Value {
    /// A number.
    Number(f64),
    /// Text in quotes.
    Text(String),
    /// A word without brackets: `true`, `None`, `Copper`.
    Word(String),
    /// `[a, b]`.
    List(Vec<Node>),
    /// `(a: 1)` or `Name(a: 1)`, and also `()` and `Name()`.
    Fields { name: Option<Word>, fields: Vec<Field> },
    /// `(1, 2)` or `Name(1)`.
    Items { name: Option<Word>, items: Vec<Node> },
    /// `{ "a": (b: 1), "c": (b: 2) }`: things by their names, for which there is no notation.
    ByName,
    /// `{ "tester at kiln": "dark" }`: a sentence in two halves, likewise.
    Halves(Vec<(String, String)>),
    /// Something that could not be read; it has been reported.
    Unreadable,
}

/// A word with its place.
#[derive(Debug)]
pub(crate) struct Word {
    pub(crate) text: String,
    pub(crate) span: Span,
}

/// A field with its value.
#[derive(Debug)]
pub(crate) struct Field {
    pub(crate) name: Word,
    pub(crate) value: Node,
}

impl Value {
    /// Whether it is two values in round brackets.
    pub(crate) fn is_pair(&self) -> bool {
        matches!(self, Self::Items { name: None, items } if items.len() == 2)
    }

    /// Whether it may be the only member of a list that was forgotten; several in one text are none.
    pub(crate) fn is_one_thing(&self) -> bool {
        match self {
            Self::Text(text) => !text.contains(','),
            Self::Word(_) | Self::Number(_) | Self::Items { .. } | Self::Fields { .. } => true,
            Self::List(_) | Self::ByName | Self::Halves(_) | Self::Unreadable => false,
        }
    }

    /// What it is, for a sentence: "a number", "text in quotes".
    pub(crate) fn in_words(&self) -> &'static str {
        match self {
            Self::Number(_) => "a number",
            Self::Text(_) => "text in quotes",
            Self::Word(word) if word == "true" || word == "false" => "true or false",
            Self::Word(_) => "a word without quotes",
            Self::List(_) => "a list in [ ]",
            Self::Fields { .. } => "fields in ( )",
            Self::Items { .. } => "values in ( )",
            Self::ByName => "things by name in { }",
            Self::Halves(_) => "sentences in two halves in { }",
            Self::Unreadable => "something unreadable",
        }
    }
}
