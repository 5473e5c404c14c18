//! What lines and texts are put on the paper with: colours, patterns and type.

use super::glyph::{self, Weight};

/// The colours, all of which part in black and white too: shape and weight carry the meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ink {
    Black,
    Grey,
    White,
    /// The ruling of a diagram.
    Pale,
    /// For what is wrong, beside its shape.
    Alarm,
}

impl Ink {
    pub(super) const fn code(self) -> &'static str {
        match self {
            Self::Black => "#000",
            Self::Grey => "#595959",
            Self::White => "#fff",
            Self::Pale => "#b4b4b4",
            Self::Alarm => "#a4001d",
        }
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pattern {
    Heavy,
    /// Two lines close together.
    Double,
    DashDot,
    Thin,
    Dashed,
    Dotted,
    /// Outlines and axes.
    Hair,
    /// The jacket of a cable on its way.
    Jacket,
    /// What joins two conductors that should not touch.
    Bridge,
    /// The strokes of a mark.
    Stroke,
}

impl Pattern {
    pub(super) const fn weight(self) -> f64 {
        match self {
            Self::Heavy => 4.0,
            Self::Double => 6.0,
            Self::DashDot | Self::Dashed => 2.4,
            Self::Thin => 1.5,
            Self::Dotted => 3.0,
            Self::Hair => 1.0,
            Self::Jacket => 8.0,
            Self::Bridge => 3.4,
            Self::Stroke => 2.6,
        }
    }

    /// White line inside the black one, if it is a double line.
    pub(super) const fn core(self) -> Option<f64> {
        match self {
            Self::Double => Some(2.4),
            Self::Jacket => Some(5.0),
            _ => None,
        }
    }

    pub(super) const fn dashes(self) -> Option<&'static str> {
        match self {
            Self::DashDot => Some("12 4 2.5 4"),
            Self::Dashed => Some("8 5"),
            Self::Dotted => Some("0.1 6.5"),
            _ => None,
        }
    }
}

/// Where a text stands on its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Type {
    pub(super) size: f64,
    pub(super) weight: Weight,
    pub(super) anchor: Anchor,
    pub(super) ink: Ink,
}

impl Type {
    pub(super) const fn regular(size: f64) -> Self {
        Self { size, weight: Weight::Regular, anchor: Anchor::Start, ink: Ink::Black }
    }

    pub(super) const fn bold(size: f64) -> Self {
        Self { size, weight: Weight::Bold, anchor: Anchor::Start, ink: Ink::Black }
    }

    pub(super) const fn middle(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }

    pub(super) const fn end(self) -> Self {
        Self { anchor: Anchor::End, ..self }
    }

    pub(super) const fn ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    pub(super) fn width(&self, text: &str) -> f64 {
        glyph::width(text, self.size, self.weight)
    }

    /// From one line to the next.
    pub(super) fn pitch(&self) -> f64 {
        (self.size * 1.3).ceil()
    }
}
