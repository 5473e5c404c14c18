//! The fields of a value: known, unknown, double and missing ones.

use serde::de::{DeserializeSeed, MapAccess, Visitor};

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::near::{nearest, with_nearest};
use crate::circuit::file::tree::{Field, Node, Word};

use super::{Shape, Stop, list_words, read_member};

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
            shape.sink.say(unknown_field(&field.name, known));
            // Read as the field that was probably meant, so that it is not missed as well.
            let near = nearest(&field.name.text, known.iter().copied());
            let meant = near.and_then(|near| known.iter().copied().find(|name| *name == near));
            if let Some(name) = meant.filter(|name| !is_written(written, name)) {
                meant_fields.push((name, Some(&field.value)));
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
            taken.extend(missing.into_iter().flatten().map(|name| (*name, None)));
        }
    }
    let access = Fields { taken: taken.into_iter(), value: None, shape };
    let result = visitor.visit_map(access);
    if let (Err(Stop::Missing(name)), Some(node)) = (&result, node) {
        shape.missing.entry(node.id).or_default().push(name);
        shape.sink.say(missing_field(name, node, written, known));
        return Err(Stop::Said);
    }
    result
}

fn is_written(written: &[Field], name: &str) -> bool {
    written.iter().any(|field| field.name.text == name)
}

fn unknown_field(name: &Word, known: &'static [&'static str]) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        "unknown-field",
        format!("there is no field `{}` here", name.text),
        name.span.clone(),
    )
    .with_expected(format!("one of {}", list_words(known)));
    with_nearest(diagnostic, &name.text, known)
}

fn missing_field(
    name: &'static str,
    node: &Node,
    written: &[Field],
    known: &'static [&'static str],
) -> Diagnostic {
    let close = node.span.end.saturating_sub(1).max(node.span.start)..node.span.end;
    let mut diagnostic =
        Diagnostic::error("missing-field", format!("the field `{name}` is missing"), close)
            .saying("before this")
            .with_expected(format!("`{name}: ` and its value"));
    let near = written.iter().find(|field| {
        !known.contains(&field.name.text.as_str())
            && strsim::damerau_levenshtein(&field.name.text, name) <= 2
    });
    if let Some(near) = near {
        diagnostic = diagnostic.with_label(near.name.span.clone(), "perhaps meant here");
    }
    diagnostic
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
