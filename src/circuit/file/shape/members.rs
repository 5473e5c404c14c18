//! Members of a list, and a value with its place.

use serde::de::{DeserializeSeed, SeqAccess};

use crate::circuit::file::tree::{Node, Span};

use super::{Reader, Shape, Stop, read_member};

pub(super) struct Members<'a, 's, 'k> {
    pub(super) items: std::slice::Iter<'a, Node>,
    /// Stand-ins after the items.
    pub(super) padding: usize,
    pub(super) shape: &'k mut Shape<'s>,
}

impl<'de> SeqAccess<'de> for Members<'_, '_, '_> {
    type Error = Stop;

    fn next_element_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, Stop> {
        match self.items.next() {
            Some(node) => read_member(Some(node), seed, self.shape).map(Some),
            None if self.padding > 0 => {
                self.padding -= 1;
                read_member(None, seed, self.shape).map(Some)
            }
            None => Ok(None),
        }
    }
}

/// Start, end and value, for [`Placed`](super::placed::Placed).
pub(super) struct PlacedAccess<'a, 's, 'k> {
    pub(super) span: Span,
    pub(super) step: u8,
    pub(super) reader: Option<Reader<'a, 's, 'k>>,
}

impl<'de> SeqAccess<'de> for PlacedAccess<'_, '_, '_> {
    type Error = Stop;

    fn next_element_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, Stop> {
        use serde::de::IntoDeserializer;
        self.step += 1;
        match (self.step, self.reader.take()) {
            (1, reader) => {
                self.reader = reader;
                seed.deserialize(self.span.start.into_deserializer()).map(Some)
            }
            (2, reader) => {
                self.reader = reader;
                seed.deserialize(self.span.end.into_deserializer()).map(Some)
            }
            (_, Some(reader)) => seed.deserialize(reader).map(Some),
            (_, None) => Ok(None),
        }
    }
}
