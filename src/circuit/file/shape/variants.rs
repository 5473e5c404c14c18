//! Fixed words, alone or with what belongs to them in brackets.

use serde::de::{DeserializeSeed, EnumAccess, VariantAccess, Visitor};

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::figure::readable;
use crate::circuit::file::tree::{Node, Value};

use super::fields::read_fields;
use super::{Reader, Stop, list_words, read_member};

pub(super) struct Variant<'a, 's, 'k> {
    pub(super) name: &'static str,
    pub(super) reader: Reader<'a, 's, 'k>,
}

impl<'de, 'a, 's, 'k> EnumAccess<'de> for Variant<'a, 's, 'k> {
    type Error = Stop;
    type Variant = VariantContent<'a, 's, 'k>;

    fn variant_seed<S: DeserializeSeed<'de>>(
        self,
        seed: S,
    ) -> Result<(S::Value, Self::Variant), Stop> {
        let name = seed.deserialize(serde::de::value::StrDeserializer::<Stop>::new(self.name))?;
        Ok((name, VariantContent { name: self.name, reader: self.reader }))
    }
}

pub(super) struct VariantContent<'a, 's, 'k> {
    pub(super) name: &'static str,
    pub(super) reader: Reader<'a, 's, 'k>,
}

impl<'de> VariantAccess<'de> for VariantContent<'_, '_, '_> {
    type Error = Stop;

    fn unit_variant(self) -> Result<(), Stop> {
        let bracketed =
            matches!(self.reader.value(), Some(Value::Fields { .. } | Value::Items { .. }));
        if bracketed {
            let name = self.name;
            let diagnostic = Diagnostic::error(
                "needless-brackets",
                format!("`{name}` stands alone, without brackets"),
                self.reader.span.clone(),
            )
            .with_replacement(name);
            self.reader.shape.sink.say(diagnostic);
        }
        Ok(())
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, Stop> {
        let name = self.name;
        match self.reader.value() {
            None => read_member(None, seed, self.reader.shape),
            Some(Value::Items { items, .. }) if items.len() == 1 => {
                read_member(items.first(), seed, self.reader.shape)
            }
            // The brackets of a value that is itself fields may be left out.
            Some(Value::Fields { .. }) => seed.deserialize(self.reader),
            Some(_) => {
                let span = self.reader.span.clone();
                Err(self.reader.refuse(
                    Diagnostic::error("wrong-kind", format!("`{name}` needs its brackets"), span)
                        .with_expected(format!("`{name}(...)`, with what belongs to it inside")),
                ))
            }
        }
    }

    fn tuple_variant<V: Visitor<'de>>(self, length: usize, visitor: V) -> Result<V::Value, Stop> {
        serde::Deserializer::deserialize_tuple(self.reader, length, visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Stop> {
        let name = self.name;
        match self.reader.value() {
            None => read_fields(None, &[], fields, visitor, self.reader.shape),
            Some(Value::Fields { fields: written, .. }) => {
                read_fields(self.reader.node, written, fields, visitor, self.reader.shape)
            }
            Some(Value::Items { items, .. }) if items.is_empty() => {
                read_fields(self.reader.node, &[], fields, visitor, self.reader.shape)
            }
            Some(Value::Items { items, .. }) => {
                let span = self.reader.span.clone();
                let message = format!("the values of `{name}` need their field names");
                let said = Diagnostic::error("fields-expected", message, span)
                    .with_expected(format!("`{name}(field: value)` with {}", list_words(fields)));
                let meant = match items.as_slice() {
                    [Node { value: Value::Number(number), .. }] => fields
                        .first()
                        .map(|field| format!("{name}({field}: {})", readable(*number))),
                    [Node { value: Value::Text(text), .. }]
                        if fields.contains(&"configuration") =>
                    {
                        Some(format!("{name}(configuration: \"{text}\")"))
                    }
                    _ => None,
                };
                Err(self.reader.refuse(match meant {
                    Some(meant) => said.with_replacement(meant),
                    None => said,
                }))
            }
            Some(_) => {
                let span = self.reader.span.clone();
                self.reader.shape.sink.say(
                    Diagnostic::error(
                        "brackets-expected",
                        format!("`{name}` has fields of its own and needs its brackets"),
                        span,
                    )
                    .with_replacement(format!("{name}()")),
                );
                read_fields(self.reader.node, &[], fields, visitor, self.reader.shape)
            }
        }
    }
}
