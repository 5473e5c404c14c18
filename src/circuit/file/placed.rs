//! A value that knows where it stands in the file.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, SeqAccess, Visitor};

use super::sink::NOWHERE;
use super::tree::Span;

/// The name by which the reader knows a placed value; any other reader of the format sees a
/// newtype.
pub(crate) const PLACED: &str = "Placed";

/// A value with its place. Equal when the values are.
#[derive(Clone, Debug)]
pub(crate) struct Placed<T> {
    pub(crate) value: T,
    pub(crate) span: Span,
}

impl<T> Placed<T> {
    /// Whether it was in the file; a stand-in for something unreadable was not.
    pub(crate) fn written(&self) -> bool {
        self.span != NOWHERE
    }
}

impl<T: PartialEq> PartialEq for Placed<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl Placed<String> {
    pub(crate) fn as_str(&self) -> &str {
        &self.value
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Placed<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_newtype_struct(PLACED, PlacedVisitor(PhantomData))
    }
}

struct PlacedVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for PlacedVisitor<T> {
    type Value = Placed<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, inner: D) -> Result<Placed<T>, D::Error> {
        Ok(Placed { value: T::deserialize(inner)?, span: NOWHERE })
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Placed<T>, A::Error> {
        let absent = || serde::de::Error::custom("a value is missing");
        let start: usize = access.next_element()?.ok_or_else(absent)?;
        let end: usize = access.next_element()?.ok_or_else(absent)?;
        let value = access.next_element()?.ok_or_else(absent)?;
        Ok(Placed { value, span: start..end })
    }
}

#[cfg(feature = "schema")]
impl<T: schemars::JsonSchema> schemars::JsonSchema for Placed<T> {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        T::schema_name()
    }

    fn inline_schema() -> bool {
        T::inline_schema()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        T::json_schema(generator)
    }
}
