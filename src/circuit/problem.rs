//! What is wrong with a description, every problem at once.

use std::fmt;

/// One thing wrong with a [`Description`](crate::circuit::Description).
///
/// ```
/// use slotwise::circuit::{Circuit, Description, Link};
/// let mut description = Description { frequency_hz: 60.0, ..Description::default() };
/// description.links.push(Link {
///     id: "kiln.pigtail.hot".into(),
///     between: ("kiln.splice.hot".into(), "kiln.hot".into()),
///     resistance_ohm: -0.5,
/// });
/// let problems = Circuit::new(description).unwrap_err();
/// assert_eq!(
///     problems[0].to_string(),
///     "link `kiln.pigtail.hot`: its resistance is -0.5 ohm; expected zero or more, and finite"
/// );
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CircuitProblem {
    /// The part it is about.
    pub part: PartName,
    /// Which of the part's properties, as `length_m`, or empty if it is the whole part.
    pub property: &'static str,
    /// The offending value or name, as written.
    pub found: String,
    /// What is wrong, as a clause about the part.
    pub what: String,
    /// What was expected.
    pub expected: String,
    /// Names that exist and look like the one that does not, closest first.
    pub close: Vec<String>,
}

impl fmt::Display for CircuitProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; expected {}", self.part, self.what, self.expected)?;
        write_close(f, &self.close)
    }
}

impl std::error::Error for CircuitProblem {}

/// A part of a description by its kind and name.
///
/// ```
/// use slotwise::circuit::{PartKind, PartName};
/// let part = PartName { kind: PartKind::Cable, id: "door-kiln".into() };
/// assert_eq!(part.to_string(), "cable `door-kiln`");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct PartName {
    /// Its kind.
    pub kind: PartKind,
    /// Its name, or empty for the circuit as a whole.
    pub id: String,
}

impl fmt::Display for PartName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.id.is_empty() && self.kind == PartKind::Circuit {
            return f.write_str("the circuit");
        }
        write!(f, "{} `{}`", self.kind, self.id)
    }
}

/// Kinds of part.
///
/// ```
/// assert_eq!(slotwise::circuit::PartKind::BranchCircuit.to_string(), "branch circuit");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum PartKind {
    /// The description as a whole.
    Circuit,
    /// A winding.
    Winding,
    /// A coupling of two windings.
    Coupling,
    /// A service conductor.
    ServiceConductor,
    /// An electrode.
    Electrode,
    /// A bond.
    Bond,
    /// A branch circuit with its breaker.
    BranchCircuit,
    /// A cable.
    Cable,
    /// A device.
    Device,
    /// A link.
    Link,
    /// A load.
    Load,
    /// A lumped part.
    Lumped,
    /// A box, panel or other place.
    Place,
    /// A joint.
    Joint,
    /// A stated range.
    Range,
}

impl fmt::Display for PartKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Circuit => "circuit",
            Self::Winding => "winding",
            Self::Coupling => "coupling",
            Self::ServiceConductor => "service conductor",
            Self::Electrode => "electrode",
            Self::Bond => "bond",
            Self::BranchCircuit => "branch circuit",
            Self::Cable => "cable",
            Self::Device => "device",
            Self::Link => "link",
            Self::Load => "load",
            Self::Lumped => "lumped part",
            Self::Place => "place",
            Self::Joint => "joint",
            Self::Range => "range",
        })
    }
}

/// A name that is not in the circuit.
///
/// ```
/// use slotwise::circuit::UnknownName;
/// let unknown = UnknownName {
///     name: "klin.hot".into(),
///     expected: "a terminal",
///     close: vec!["kiln.hot".into()],
/// };
/// assert_eq!(unknown.to_string(), "`klin.hot` is not a terminal; is it `kiln.hot`?");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownName {
    /// The name as given.
    pub name: String,
    /// What it should have been the name of, with its article.
    pub expected: &'static str,
    /// Names that exist and look like it, closest first.
    pub close: Vec<String>,
}

impl fmt::Display for UnknownName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is not {}", self.name, self.expected)?;
        write_close(f, &self.close)
    }
}

impl std::error::Error for UnknownName {}

impl UnknownName {
    /// `name`, which should have been one of `names`.
    pub(crate) fn among<'a>(
        name: &str,
        expected: &'static str,
        names: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        Self { name: name.to_owned(), expected, close: close_names(name, names) }
    }
}

/// A name longer than this is compared by its beginning.
const LONGEST_COMPARED: usize = 64;
/// Likeness (Jaro-Winkler, 0 to 1) from which a name is worth suggesting.
const LIKE_ENOUGH: f64 = 0.8;
/// What one slip of the finger counts as: in short names it weighs more than it should.
const ONE_SLIP: f64 = 0.85;
const MOST_SUGGESTED: usize = 3;

/// The names most like `name`, best first.
pub(crate) fn close_names<'a>(name: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let mut scored: Vec<(f64, &str)> = names
        .into_iter()
        .filter(|candidate| *candidate != name)
        .map(|candidate| (likeness(name, candidate), candidate))
        .filter(|(likeness, _)| *likeness >= LIKE_ENOUGH)
        .collect();
    scored.sort_by(|x, y| y.0.total_cmp(&x.0).then_with(|| x.1.cmp(y.1)));
    scored.dedup_by(|x, y| x.1 == y.1);
    scored.into_iter().take(MOST_SUGGESTED).map(|(_, name)| name.to_owned()).collect()
}

fn likeness(name: &str, candidate: &str) -> f64 {
    let (name, candidate) = (beginning(name), beginning(candidate));
    let likeness = strsim::jaro_winkler(name, candidate);
    let short = name.len().min(candidate.len()) >= 2 && name.len().max(candidate.len()) <= 6;
    if short && likeness < ONE_SLIP && strsim::damerau_levenshtein(name, candidate) <= 1 {
        return ONE_SLIP;
    }
    likeness
}

fn beginning(name: &str) -> &str {
    match name.char_indices().nth(LONGEST_COMPARED) {
        Some((end, _)) => name.get(..end).unwrap_or(name),
        None => name,
    }
}

fn write_close(f: &mut fmt::Formatter<'_>, close: &[String]) -> fmt::Result {
    match close {
        [] => Ok(()),
        [only] => write!(f, "; is it `{only}`?"),
        [most @ .., last] => {
            f.write_str("; is it ")?;
            for (i, name) in most.iter().enumerate() {
                write!(f, "{}`{name}`", if i == 0 { "" } else { ", " })?;
            }
            write!(f, " or `{last}`?")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_misspelt_name_is_answered_with_the_closest_first() {
        let close = close_names("klin.hot", ["wheel.hot", "kiln.hot", "kiln.neutral"]);
        assert_eq!(close.first().map(String::as_str), Some("kiln.hot"));
    }

    #[test]
    fn a_name_like_nothing_is_answered_without_a_suggestion() {
        assert!(close_names("zzz", ["kiln.hot", "wheel.hot"]).is_empty());
    }
}
