//! The words of a report: North American or IEC.

use crate::circuit::Vocabulary;

/// What a conductor of the circuit file (`hot`, `neutral`, `ground`, `hot2`, ...) is called.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::report::vocabulary::conductor;
/// assert_eq!(conductor(Vocabulary::Iec, "ground"), "earth");
/// assert_eq!(conductor(Vocabulary::NorthAmerican, "hot2"), "hot 2");
/// ```
pub fn conductor(vocabulary: Vocabulary, name: &str) -> String {
    let (stem, number) = match name.strip_suffix(|c: char| c.is_ascii_digit()) {
        // `L1` is one word.
        Some(stem) if stem.len() > 1 => (stem, &name[stem.len()..]),
        _ => (name, ""),
    };
    let word = match (vocabulary, stem) {
        (Vocabulary::Iec, "hot") => "line",
        (Vocabulary::Iec, "ground") => "earth",
        (Vocabulary::NorthAmerican, "traveller") => "traveler",
        _ => stem,
    };
    if number.is_empty() { word.to_owned() } else { format!("{word} {number}") }
}

/// A line in which conductors stand between other words and signs, as `hot-ground lit`, in the
/// words of a report.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::report::vocabulary::line;
/// assert_eq!(line(Vocabulary::Iec, "hot-ground lit, hot alarm"), "line-earth lit, line alarm");
/// ```
pub fn line(vocabulary: Vocabulary, text: &str) -> String {
    let mut said = String::with_capacity(text.len());
    for piece in text.split_inclusive(|c: char| !c.is_ascii_alphabetic()) {
        let word = piece.trim_end_matches(|c: char| !c.is_ascii_alphabetic());
        match word {
            "hot" | "ground" => said.push_str(&conductor(vocabulary, word)),
            other => said.push_str(other),
        }
        said.push_str(&piece[word.len()..]);
    }
    said
}

/// Prose that was written with North American words, as advice, in the words of a report.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::report::vocabulary::prose;
/// let said = prose(Vocabulary::Iec, "Have the ground wire found whole at the panel.");
/// assert_eq!(said, "Have the protective conductor found whole at the consumer unit.");
/// ```
pub fn prose(vocabulary: Vocabulary, text: &str) -> String {
    // Longer ones first: a part of them is a word of its own.
    const IN_IEC: [(&str, &str); 9] = [
        ("ground-fault device", "residual-current device"),
        ("ground wire", "protective conductor"),
        ("grounded", "earthed"),
        ("ground", "earth"),
        ("receptacle", "socket-outlet"),
        ("panel", "consumer unit"),
        ("the hots", "the lines"),
        ("different legs", "different phases"),
        ("utility", "network operator"),
    ];
    match vocabulary {
        Vocabulary::NorthAmerican => text.to_owned(),
        Vocabulary::Iec => {
            IN_IEC.iter().fold(text.to_owned(), |said, (from, to)| said.replace(from, to))
        }
    }
}

/// What a part of an installation is called.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::report::vocabulary::{Term, term};
/// assert_eq!(term(Vocabulary::Iec, Term::Receptacle), "socket-outlet");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Term {
    /// A set of contacts that a plug goes into.
    Receptacle,
    /// The place the breakers are in.
    Panel,
    /// An overcurrent device.
    Breaker,
    /// The conductor that makes metal cases safe.
    Ground,
    /// The conductor under voltage.
    Hot,
    /// One of the voltages that a supply brings.
    Leg,
    /// A device that trips on current which leaves its circuit.
    GroundFaultDevice,
    /// Joined to the conductor that makes metal cases safe.
    Grounded,
}

/// A term in the words of a report.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::report::vocabulary::{Term, term};
/// assert_eq!(term(Vocabulary::Iec, Term::Panel), "consumer unit");
/// ```
pub fn term(vocabulary: Vocabulary, term: Term) -> &'static str {
    let (north_american, iec) = match term {
        Term::Receptacle => ("receptacle", "socket-outlet"),
        Term::Panel => ("panel", "consumer unit"),
        Term::Breaker => ("breaker", "circuit breaker"),
        Term::Ground => ("ground", "earth"),
        Term::Hot => ("hot", "line"),
        Term::Leg => ("leg", "phase"),
        Term::GroundFaultDevice => ("ground-fault device", "residual-current device"),
        Term::Grounded => ("grounded", "earthed"),
    };
    match vocabulary {
        Vocabulary::NorthAmerican => north_american,
        Vocabulary::Iec => iec,
    }
}
