//! The known name nearest to one that is not known.

use crate::circuit::diagnostic::Diagnostic;

/// Says which of `known` was probably meant by `written`, if one is near.
pub(crate) fn with_nearest<S: AsRef<str>>(
    diagnostic: Diagnostic,
    written: &str,
    known: &[S],
) -> Diagnostic {
    match nearest(written, known.iter().map(AsRef::as_ref)) {
        Some(near) => {
            let near = near.to_owned();
            diagnostic.with_help(format!("did you mean `{near}`?")).with_replacement(near)
        }
        None => diagnostic,
    }
}

/// The one of `known` nearest to `written`: at most a third of its letters differ, case and
/// the signs between words left out.
pub(crate) fn nearest<'k>(written: &str, known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    let written = letters(written);
    if written.is_empty() || written.len() > 64 {
        return None;
    }
    known
        .map(|name| (strsim::damerau_levenshtein(&written, &letters(name)), name))
        .filter(|(distance, name)| distance * 3 <= name.chars().count().max(written.len()))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// The letters and digits of a name, all small.
pub(crate) fn letters(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_letter_left_out_or_exchanged_is_found_and_a_different_word_is_not() {
        let boxes = ["door", "wheel", "kiln"];
        assert_eq!(nearest("wheal", boxes.into_iter()), Some("wheel"));
        assert_eq!(nearest("klin", boxes.into_iter()), Some("kiln"));
        assert_eq!(nearest("Door", boxes.into_iter()), Some("door"));
        assert_eq!(nearest("sink", boxes.into_iter()), None);
    }
}
