//! The fields of a value: known, unknown, double and missing ones.

use serde::de::{DeserializeSeed, MapAccess, Visitor};

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::meant::{self, Meant};
use crate::circuit::file::near::nearest;
use crate::circuit::file::tree::{Field, Node, Span, Value, Word};

use super::{Shape, Stop, list_words, read_member};

/// Fields that are missing in one value.
#[derive(Debug, Default)]
pub(super) struct Missing {
    pub(super) names: Vec<&'static str>,
    /// Where the value ends.
    close: Span,
    /// A field that may have been meant as one of them.
    near: Option<Span>,
}

/// The fields of a struct, `None` for a stand-in; unknown and double ones are said and left
/// out, missing ones said and then read as stand-ins.
pub(super) fn read_fields<'de, V: Visitor<'de>>(
    node: Option<&Node>,
    written: &[Field],
    known: &'static [&'static str],
    visitor: V,
    shape: &mut Shape<'_>,
) -> Result<V::Value, Stop> {
    let mut taken: Vec<(&'static str, Option<&Node>)> = Vec::new();
    let mut meant_fields: Vec<(&'static str, Option<&Node>)> = Vec::new();
    for field in written {
        let Some(name) = known.iter().copied().find(|name| *name == field.name.text) else {
            // Read as the field that was probably meant, so that it is not missed as well.
            match say_unknown_field(&field.name, known, shape)
                .filter(|name| !is_written(written, name))
            {
                Some(name) => meant_fields.push((name, Some(&field.value))),
                None if matches!(field.value.value, Value::List(_)) => shape.sink.lose_a_name(),
                None => {}
            }
            continue;
        };
        if let Some(first) = written.iter().find(|other| other.name.text == name)
            && first.name.span != field.name.span
        {
            shape.sink.say(
                Diagnostic::error(
                    "field-twice",
                    format!("`{name}` stands here twice"),
                    field.name.span.clone(),
                )
                .with_label(first.name.span.clone(), "first here"),
            );
            continue;
        }
        if let (Value::Word(word), Some(help)) = (&field.value.value, meant::unsaid(name))
            && word == "None"
        {
            let message = format!("`{name}: None` says nothing: what is usual is there");
            let span = field.value.span.clone();
            shape.sink.say(Diagnostic::warning("nothing-said", message, span).with_help(help));
        }
        taken.push((name, Some(&field.value)));
    }
    for (name, value) in meant_fields {
        if !taken.iter().any(|(other, _)| *other == name) {
            taken.push((name, value));
        }
    }
    match node {
        None => taken.extend(known.iter().map(|name| (*name, None))),
        Some(node) => {
            let missing = shape.missing.get(&node.id);
            taken.extend(
                missing.iter().flat_map(|missing| &missing.names).map(|name| (*name, None)),
            );
        }
    }
    let access = Fields { taken: taken.into_iter(), value: None, shape };
    let result = visitor.visit_map(access);
    if let (Err(Stop::Missing(name)), Some(node)) = (&result, node) {
        miss(name, node, written, known, shape);
        return Err(Stop::Said);
    }
    result
}

fn is_written(written: &[Field], name: &str) -> bool {
    written.iter().any(|field| field.name.text == name)
}

/// Says that there is no such field, and which one was probably meant.
fn say_unknown_field(
    name: &Word,
    known: &'static [&'static str],
    shape: &mut Shape<'_>,
) -> Option<&'static str> {
    let written = name.text.as_str();
    let message = format!("there is no field `{written}` here");
    let diagnostic = Diagnostic::error("unknown-field", message, name.span.clone())
        .with_expected(format!("one of {}", list_words(known)));
    let meant = meant::field(written, known);
    shape.sink.say(meant::with_meant(diagnostic, written, known, meant));
    match meant {
        Some(Meant::Ours(ours)) => Some(ours),
        Some(Meant::Elsewhere(_)) => None,
        None => {
            let near = nearest(written, known.iter().copied())?;
            known.iter().copied().find(|name| *name == near)
        }
    }
}

/// Takes note that a field is missing; it is said when all are known that are.
fn miss(
    name: &'static str,
    node: &Node,
    written: &[Field],
    known: &'static [&'static str],
    shape: &mut Shape<'_>,
) {
    let missing = shape.missing.entry(node.id).or_default();
    missing.names.push(name);
    missing.close = node.span.end.saturating_sub(1).max(node.span.start)..node.span.end;
    let near = written.iter().find(|field| {
        !known.contains(&field.name.text.as_str())
            && strsim::damerau_levenshtein(&field.name.text, name) <= 2
    });
    missing.near = missing.near.take().or_else(|| near.map(|field| field.name.span.clone()));
    if name == "id" {
        shape.sink.lose_a_name();
    }
}

impl Missing {
    pub(super) fn diagnostic(self) -> Diagnostic {
        let names = list_words(&self.names);
        let (message, expected) = match self.names.as_slice() {
            [name] => {
                (format!("the field {names} is missing"), format!("`{name}: ` and its value"))
            }
            _ => (
                format!("the fields {names} are missing"),
                "each with `: ` and its value".to_owned(),
            ),
        };
        let said = Diagnostic::error("missing-field", message, self.close);
        let said = said.saying("before this").with_expected(expected);
        match self.near {
            Some(near) => said.with_label(near, "perhaps meant here"),
            None => said,
        }
    }
}

struct Fields<'a, 's, 'k> {
    taken: std::vec::IntoIter<(&'static str, Option<&'a Node>)>,
    value: Option<Option<&'a Node>>,
    shape: &'k mut Shape<'s>,
}

impl<'de> MapAccess<'de> for Fields<'_, '_, '_> {
    type Error = Stop;

    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Stop> {
        let Some((name, node)) = self.taken.next() else { return Ok(None) };
        self.value = Some(node);
        seed.deserialize(serde::de::value::StrDeserializer::new(name)).map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, Stop> {
        read_member(self.value.take().flatten(), seed, self.shape)
    }
}
