//! The nearest of the names that exist.

/// Below this Jaro-Winkler similarity two words are taken for different words: at 0.8 a
/// transposed, missing or doubled letter in a word of four still passes and `lamp`/`kiln`
/// (0.5) do not.
const LIKENESS_MIN: f64 = 0.8;

/// At most this many suggestions.
const SUGGESTIONS_MAX: usize = 3;

/// The candidates most like `written`, best first; case does not matter.
pub(crate) fn nearest<'n>(
    written: &str,
    candidates: impl IntoIterator<Item = &'n str>,
) -> Vec<String> {
    let written = written.to_lowercase();
    let mut scored: Vec<(f64, &str)> = candidates
        .into_iter()
        .map(|name| (likeness(&written, &name.to_lowercase()), name))
        .filter(|(score, _)| *score >= LIKENESS_MIN)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    scored.dedup_by(|a, b| a.1 == b.1);
    scored.truncate(SUGGESTIONS_MAX);
    scored.into_iter().map(|(_, name)| name.to_owned()).collect()
}

fn likeness(a: &str, b: &str) -> f64 {
    strsim::jaro_winkler(a, b)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_finds_its_name() {
        let names = ["kiln", "wheel", "door", "sink"];
        assert_eq!(nearest("klin", names), ["kiln"]);
        assert_eq!(nearest("weel", names), ["wheel"]);
        assert!(nearest("attic", names).is_empty());
    }
}
