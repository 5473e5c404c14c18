//! From a tree to the form: which fields there are and what kind of value each holds.
//!
//! Serde stops at the first mistake. So the form is read again and again: what was wrong is
//! put aside (a [hole](Shape::holes)), and the next reading goes on past it, until nothing
//! more is found. Holes carry no place, and nothing is ever said about them.

use std::collections::{BTreeMap, HashSet};
use std::fmt;

use serde::de::{DeserializeOwned, DeserializeSeed, Visitor};
use serde::forward_to_deserialize_any;

use crate::circuit::diagnostic::Diagnostic;

use super::figure::readable;
use super::hints::{self, RANGE};
use super::limits::PROBLEMS_MAX;
use super::meant;
use super::placed::PLACED;
use super::sink::{NOWHERE, Sink};
use super::tree::{Node, NodeId, Span, Value};

mod fields;
mod members;
mod variants;

use fields::{Missing, read_fields};
use members::{Members, PlacedAccess};
use variants::Variant;

/// Reads `root` as a `T`; `None` only if more is wrong than is reported in one go.
pub(crate) fn read<T: DeserializeOwned>(root: &Node, sink: &mut Sink) -> Option<T> {
    let mut shape =
        Shape { holes: HashSet::new(), misread: HashSet::new(), missing: BTreeMap::new(), sink };
    // Each round puts at least one value aside. A huge file gets fewer rounds; its values are
    // numbered from zero, the root last.
    let rounds = (READ_VALUES_MAX / (root.id + 1)).clamp(3, PROBLEMS_MAX + 1);
    let form = (0..rounds).find_map(|_| {
        let reader = Reader { node: Some(root), span: root.span.clone(), shape: &mut shape };
        T::deserialize(reader).ok()
    });
    for (_, missing) in shape.missing {
        shape.sink.say(missing.diagnostic());
    }
    form
}

/// Values read in all rounds together.
const READ_VALUES_MAX: usize = 10_000_000;

/// What has been found wrong so far.
struct Shape<'s> {
    /// Values that are read as a stand-in.
    holes: HashSet<NodeId>,
    /// Values of which it has been said what is wrong, taken as meant.
    misread: HashSet<NodeId>,
    /// Fields read as a stand-in though they are not there, by the value they belong to.
    missing: BTreeMap<NodeId, Missing>,
    sink: &'s mut Sink,
}

/// Why one reading stopped; what is wrong has been said and put aside.
#[derive(Debug)]
enum Stop {
    Said,
    Missing(&'static str),
    Other(String),
}

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the file does not have the form of a circuit")
    }
}

impl std::error::Error for Stop {}

impl serde::de::Error for Stop {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self::Other(message.to_string())
    }

    fn missing_field(field: &'static str) -> Self {
        Self::Missing(field)
    }
}

/// A value to be read, or a stand-in (`node` is `None`).
struct Reader<'a, 's, 'k> {
    node: Option<&'a Node>,
    span: Span,
    shape: &'k mut Shape<'s>,
}

impl<'a> Reader<'a, '_, '_> {
    /// The value, unless it is put aside.
    fn value(&self) -> Option<&'a Value> {
        let node = self.node?;
        let aside = self.shape.holes.contains(&node.id) || matches!(node.value, Value::Unreadable);
        (!aside).then_some(&node.value)
    }

    /// One number, or two in round brackets.
    fn band<'de, V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        match self.value() {
            Some(Value::Number(number)) => visitor.visit_f64(*number),
            Some(found) if !found.is_pair() => {
                Err(self.wrong_kind("one number or `(low, high)`", found))
            }
            _ => serde::Deserializer::deserialize_tuple(self, 2, visitor),
        }
    }

    /// Says what is wrong with this value and puts it aside.
    fn refuse(self, diagnostic: Diagnostic) -> Stop {
        let said = self.node.is_some_and(|node| self.shape.misread.contains(&node.id));
        if let Some(node) = self.node {
            self.shape.holes.insert(node.id);
        }
        if !said {
            self.shape.sink.say(diagnostic);
        }
        Stop::Said
    }

    fn wrong_kind(self, expected: &str, found: &Value) -> Stop {
        if matches!(expected, LIST | FIELDS | TEXT) {
            self.shape.sink.lose_a_name();
        }
        let diagnostic = self.misfit(expected, found);
        self.refuse(diagnostic)
    }

    /// What is wrong with a value of another kind than expected.
    fn misfit(&self, expected: &str, found: &Value) -> Diagnostic {
        let said = Diagnostic::error(
            "wrong-kind",
            format!("found {} in place of {expected}", found.in_words()),
            self.span.clone(),
        )
        .with_expected(expected);
        match found {
            Value::Word(word) if expected == TEXT => {
                said.with_help(IN_QUOTES).with_replacement(format!("\"{word}\""))
            }
            Value::Fields { .. } if expected == TEXT => {
                said.with_help("say it in words, in double quotes")
            }
            Value::Text(text) if expected == NUMBER || expected == WHOLE => {
                match leading_number(text) {
                    Some((number, "")) => {
                        said.with_help("write numbers without quotes").with_replacement(number)
                    }
                    Some((number, unit)) => {
                        let help = "a number has no quotes, and its unit is in the field's name";
                        match hints::without_unit(number, unit) {
                            Some(number) => said.with_help(help).with_replacement(number),
                            None => said.with_help(help),
                        }
                    }
                    None => said,
                }
            }
            pair if expected == NUMBER && pair.is_pair() => said.with_help(RANGE),
            Value::Text(word) | Value::Word(word) if expected == BOOLEAN => match truth(word) {
                Some(truth) => said.with_replacement(truth.to_string()),
                None => said,
            },
            Value::List(_) if expected == TEXT || expected == NUMBER => {
                said.with_help("there is one of it only, without `[ ]`")
            }
            Value::ByName if expected == LIST => said.with_help(
                "a name is a field like others: `[(id: \"door\", ...), (id: \"kiln\", ...)]`",
            ),
            Value::Halves(halves) if expected == LIST => {
                let sentence = |(first, second): &(String, String)| format!("{first}: {second}");
                let sentences: Vec<String> =
                    halves.iter().map(|both| format!("{:?}", sentence(both))).collect();
                said.with_help("each is one sentence, in `[ ]`")
                    .with_replacement(format!("[{}]", sentences.join(", ")))
            }
            Value::ByName => said.with_help("write `( )` for `{ }`, and names without quotes"),
            Value::Items { .. } if expected == LIST => {
                said.with_help("write `[ ]` for these `( )`")
            }
            _ if expected == LIST => said.with_help("put it in `[ ]`, even if it is only one"),
            _ => said,
        }
    }

    /// Says what is wrong with a value, which is then taken as meant.
    fn say_misfit(&mut self, expected: &str, found: &Value) {
        let diagnostic = self.misfit(expected, found);
        self.shape.sink.say(diagnostic);
        self.shape.misread.extend(self.node.map(|node| node.id));
    }
}

/// The number that a text begins with, and what follows: a unit, or nothing.
fn leading_number(text: &str) -> Option<(&str, &str)> {
    let text = text.trim();
    let of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
    let end = text.find(|c| !of_number(c)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let is_unit =
        unit.chars().all(|c| c.is_alphabetic() || c.is_whitespace() || "\"'²".contains(c));
    (is_unit && number.parse::<f64>().is_ok()).then(|| (number, unit.trim()))
}

/// True or false in other words.
fn truth(word: &str) -> Option<bool> {
    match word.trim().to_lowercase().as_str() {
        "true" | "yes" | "on" => Some(true),
        "false" | "no" | "off" => Some(false),
        _ => None,
    }
}

/// The name by which the reader knows a value that may be written as one number or as two.
pub(crate) const BAND: &str = "Band";

/// What is said about a word that should be text.
pub(crate) const IN_QUOTES: &str = "put names in double quotes";

const NUMBER: &str = "a number";
const WHOLE: &str = "a whole number";
const LIST: &str = "a list in [ ]";
const FIELDS: &str = "fields in ( )";
const TEXT: &str = "text in quotes";
const BOOLEAN: &str = "true or false";

macro_rules! whole_numbers {
    ($($method:ident $visit:ident $kind:ty),*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
            match self.value() {
                None => visitor.$visit(1),
                Some(Value::Number(number)) => {
                    let whole = number.round();
                    let fits = (whole - number).abs() <= 0.0
                        && (f64::from(<$kind>::MIN)..=f64::from(<$kind>::MAX)).contains(&whole);
                    if fits {
                        // In range and whole, by the line above.
                        return visitor.$visit(whole as $kind);
                    }
                    let span = self.span.clone();
                    Err(self.refuse(
                        Diagnostic::error("not-whole", "this must be a small whole number", span)
                            .with_expected("a whole number, as 2"),
                    ))
                }
                Some(found) => Err(self.wrong_kind(WHOLE, found)),
            }
        }
    )*};
}

impl<'de> serde::Deserializer<'de> for Reader<'_, '_, '_> {
    type Error = Stop;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        match self.value() {
            None => visitor.visit_str(""),
            Some(Value::Number(number)) => visitor.visit_f64(*number),
            Some(Value::Text(text)) => visitor.visit_str(text),
            Some(found) => Err(self.wrong_kind("a number or text in quotes", found)),
        }
    }

    whole_numbers!(deserialize_u8 visit_u8 u8, deserialize_u16 visit_u16 u16, deserialize_u32 visit_u32 u32);

    fn deserialize_f64<V: Visitor<'de>>(mut self, visitor: V) -> Result<V::Value, Stop> {
        match self.value() {
            None => visitor.visit_f64(1.0),
            Some(Value::Number(number)) => visitor.visit_f64(*number),
            Some(found @ Value::Text(text)) if leading_number(text).is_some() => {
                self.say_misfit(NUMBER, found);
                let number = leading_number(text).and_then(|(number, _)| number.parse().ok());
                visitor.visit_f64(number.unwrap_or(1.0))
            }
            Some(Value::Word(word)) if matches!(word.as_str(), "NaN" | "inf") => {
                visitor.visit_f64(if word == "inf" { f64::INFINITY } else { f64::NAN })
            }
            Some(found) => Err(self.wrong_kind(NUMBER, found)),
        }
    }

    fn deserialize_str<V: Visitor<'de>>(mut self, visitor: V) -> Result<V::Value, Stop> {
        match self.value() {
            None => visitor.visit_str(""),
            Some(Value::Text(text)) => visitor.visit_str(text),
            Some(found @ Value::Word(word)) if truth(word).is_none() => {
                self.say_misfit(TEXT, found);
                visitor.visit_str(word)
            }
            Some(found) => Err(self.wrong_kind(TEXT, found)),
        }
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        self.deserialize_str(visitor)
    }

    fn deserialize_bool<V: Visitor<'de>>(mut self, visitor: V) -> Result<V::Value, Stop> {
        match self.value() {
            None => visitor.visit_bool(false),
            Some(Value::Word(word)) if word == "true" => visitor.visit_bool(true),
            Some(Value::Word(word)) if word == "false" => visitor.visit_bool(false),
            Some(found @ (Value::Word(word) | Value::Text(word))) if truth(word).is_some() => {
                self.say_misfit(BOOLEAN, found);
                visitor.visit_bool(truth(word).unwrap_or_default())
            }
            Some(found) => Err(self.wrong_kind(BOOLEAN, found)),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        match self.value() {
            None => visitor.visit_none(),
            Some(Value::Word(word)) if word == "None" => visitor.visit_none(),
            Some(Value::Items { name: Some(name), items })
                if name.text == "Some" && items.len() == 1 =>
            {
                let inner = Reader { node: items.first(), span: self.span, shape: self.shape };
                visitor.visit_some(inner)
            }
            Some(_) => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Stop> {
        if name == BAND {
            return self.band(visitor);
        }
        if name != PLACED {
            return visitor.visit_newtype_struct(self);
        }
        let span = if self.value().is_some() { self.span.clone() } else { NOWHERE };
        visitor.visit_seq(PlacedAccess { span, step: 0, reader: Some(self) })
    }

    fn deserialize_seq<V: Visitor<'de>>(mut self, visitor: V) -> Result<V::Value, Stop> {
        match self.value() {
            None => visitor.visit_seq(Members { items: [].iter(), padding: 0, shape: self.shape }),
            Some(Value::List(items)) => {
                visitor.visit_seq(Members { items: items.iter(), padding: 0, shape: self.shape })
            }
            Some(found @ Value::Items { name: None, items }) => {
                self.say_misfit(LIST, found);
                visitor.visit_seq(Members { items: items.iter(), padding: 0, shape: self.shape })
            }
            Some(found) if found.is_one_thing() => {
                self.say_misfit(LIST, found);
                let items = self.node.map_or(&[][..], std::slice::from_ref).iter();
                visitor.visit_seq(Members { items, padding: 0, shape: self.shape })
            }
            Some(found) => Err(self.wrong_kind(LIST, found)),
        }
    }

    fn deserialize_tuple<V: Visitor<'de>>(
        self,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, Stop> {
        match self.value() {
            None => {
                visitor.visit_seq(Members { items: [].iter(), padding: length, shape: self.shape })
            }
            Some(Value::Items { name: None, items }) if items.len() == length => {
                visitor.visit_seq(Members { items: items.iter(), padding: 0, shape: self.shape })
            }
            Some(found) => {
                let span = self.span.clone();
                let message = format!("{length} values in round brackets should stand here");
                let said = Diagnostic::error("wrong-kind", message, span);
                Err(self.refuse(match found {
                    Value::Number(number) if length == 2 => {
                        let number = readable(*number);
                        said.with_expected("`(low, high)`, twice the same if it is always that")
                            .with_replacement(format!("({number}, {number})"))
                    }
                    Value::List(_) => said.with_expected("`( )` in place of these `[ ]`"),
                    _ => said.with_expected("`(first, second)`, as `feet_between: (8, 16)`"),
                }))
            }
        }
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Stop> {
        let found = match self.value() {
            None => return read_fields(None, &[], fields, visitor, self.shape),
            Some(found) => found,
        };
        let (written_name, written) = match found {
            Value::Fields { name, fields } => (name.as_ref(), fields.as_slice()),
            Value::Items { name, items } if items.is_empty() => (name.as_ref(), &[][..]),
            _ => {
                let expected = match meant::example(name) {
                    Some(example) => format!("{FIELDS}, as {example}"),
                    None => format!("{FIELDS}: {}", list_words(fields)),
                };
                self.shape.sink.lose_a_name();
                let said = self.misfit(FIELDS, found).with_expected(expected);
                return Err(self.refuse(said));
            }
        };
        if let Some(word) = written_name.filter(|word| word.text != name) {
            self.shape.sink.say(
                Diagnostic::error(
                    "needless-name",
                    format!("no name is needed before this `(`: `{}`", word.text),
                    word.span.clone(),
                )
                .with_expected(format!("`(` and then fields: {}", list_words(fields))),
            );
        }
        read_fields(self.node, written, fields, visitor, self.shape)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Stop> {
        let word = match self.value() {
            None => None,
            Some(Value::Word(word)) => Some((word, self.span.clone())),
            Some(
                Value::Fields { name: Some(name), .. } | Value::Items { name: Some(name), .. },
            ) => Some((&name.text, name.span.clone())),
            Some(Value::Text(text)) => {
                let diagnostic = unknown_word(text, self.span.clone(), variants);
                return Err(self.refuse(diagnostic));
            }
            Some(found) => {
                let expected = format!("one of {}", list_words(variants));
                let said = self.misfit("a fixed word", found).with_expected(expected);
                let said = match found {
                    Value::List(_) if variants.contains(&"Receptacle") => {
                        said.with_help("`device` is one; several stand in `devices: [...]`")
                    }
                    Value::Fields { name: None, .. } => {
                        let first = variants.first().copied().unwrap_or_default();
                        said.with_help(format!(
                            "the word comes first and then its brackets, as `{first}(...)`"
                        ))
                    }
                    Value::Items { name: None, .. } => {
                        said.with_help("write it without `( )` around it")
                    }
                    _ => said,
                };
                return Err(self.refuse(said));
            }
        };
        let Some((word, span)) = word else {
            let first = variants.first().copied().unwrap_or("");
            return visitor.visit_enum(Variant { name: first, reader: self });
        };
        match variants.iter().find(|variant| *variant == word) {
            Some(name) => visitor.visit_enum(Variant { name, reader: self }),
            None => {
                let diagnostic = unknown_word(word, span, variants);
                Err(self.refuse(diagnostic))
            }
        }
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Stop> {
        visitor.visit_unit()
    }

    forward_to_deserialize_any! {
        i8 i16 i32 i64 u64 i128 u128 f32 char bytes byte_buf unit unit_struct map tuple_struct
        identifier
    }
}

/// A fixed word that is not known, or is known and stands in quotes.
fn unknown_word(written: &str, span: Span, variants: &[&str]) -> Diagnostic {
    let expected = format!("one of {}", list_words(variants));
    if variants.contains(&written) {
        let message = format!("`{written}` is one of a few fixed words here and needs no quotes");
        let said = Diagnostic::error("quoted-word", message, span).with_expected(expected);
        return said.with_replacement(written);
    }
    let message = format!("`{written}` is not known here");
    let said = Diagnostic::error("unknown-word", message, span).with_expected(expected);
    meant::with_meant(said, written, variants, meant::word(written, variants))
}

/// `a`, `b`, `c` in backquotes.
fn list_words(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    quoted.join(", ")
}

/// One value of a list or a field. A refusal that does not say its place is said here.
fn read_member<'de, S: DeserializeSeed<'de>>(
    node: Option<&Node>,
    seed: S,
    shape: &mut Shape<'_>,
) -> Result<S::Value, Stop> {
    let span = node.map_or(NOWHERE, |node| node.span.clone());
    let result = seed.deserialize(Reader { node, span: span.clone(), shape });
    if let Err(Stop::Other(message)) = result {
        let reader = Reader { node, span: span.clone(), shape };
        return Err(reader.refuse(Diagnostic::error("wrong-kind", message, span)));
    }
    result
}
