//! Names that are none, answered with those there are.

use slotwise::report::ProblemReport;

/// A name that is none of those known.
pub(super) fn misnamed(message: String, name: &str, known: &[&str]) -> ProblemReport {
    let likeness = |other: &&str| strsim::jaro_winkler(name, other);
    let near = known.iter().copied().max_by(|a, b| likeness(a).total_cmp(&likeness(b)));
    let near = near.filter(|near| likeness(near) > NEAR);
    let message = match near {
        Some(near) => format!("{message}; did you mean `{near}`?"),
        None => message,
    };
    ProblemReport {
        code: Some("unknown-name".to_owned()),
        found: Some(name.to_owned()),
        suggestions: near.iter().map(|near| (*near).to_owned()).collect(),
        help: Some(format!("there are: {}", known.join(", "))),
        ..ProblemReport::new(message)
    }
}

/// Likeness, 0 to 1, from which on a name is taken for a misspelling.
const NEAR: f64 = 0.75;
