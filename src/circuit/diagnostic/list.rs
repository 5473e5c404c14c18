//! All that is to be said about one text, as one error.

use std::error::Error;
use std::fmt;
use std::ops::Deref;

use super::{Diagnostic, line_column};

/// All that is to be said about one text: a list, and one error to hand on with `?`.
///
/// ```
/// use std::error::Error;
///
/// /// How many receptacles a circuit file has.
/// fn receptacles(text: &str) -> Result<usize, Box<dyn Error>> {
///     let file = slotwise::circuit::file::read(text)?;
///     Ok(file.circuit.outlets().count())
/// }
///
/// let wrong = receptacles("(\n    format: 1,\n    nmae: \"shed\",\n)").unwrap_err();
/// assert_eq!(
///     wrong.to_string(),
///     "line 3, column 5: there is no field `nmae` here; did you mean `name`?"
/// );
/// ```
///
/// It is read as a list; the places are those of the text it was made with.
///
/// ```
/// let said = slotwise::circuit::file::read("(format: 1, nmae: \"shed\")").unwrap_err();
/// assert_eq!(said.len(), 1);
/// assert_eq!(said[0].code, "unknown-field");
/// assert_eq!(said.places().next(), Some((1, 13)));
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Diagnostics {
    list: Vec<Diagnostic>,
    /// Line and column of each.
    places: Vec<(usize, usize)>,
}

impl Diagnostics {
    /// What is to be said about `text`.
    pub fn new(list: Vec<Diagnostic>, text: &str) -> Self {
        let places = list.iter().map(|one| line_column(text, one.span().start)).collect();
        Self { list, places }
    }

    /// Line and column of each, both counted from one.
    pub fn places(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        self.places.iter().copied()
    }
}

impl Deref for Diagnostics {
    type Target = [Diagnostic];

    fn deref(&self) -> &[Diagnostic] {
        &self.list
    }
}

impl From<Diagnostics> for Vec<Diagnostic> {
    fn from(said: Diagnostics) -> Self {
        said.list
    }
}

impl IntoIterator for Diagnostics {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;

    fn into_iter(self) -> Self::IntoIter {
        self.list.into_iter()
    }
}

impl<'d> IntoIterator for &'d Diagnostics {
    type Item = &'d Diagnostic;
    type IntoIter = std::slice::Iter<'d, Diagnostic>;

    fn into_iter(self) -> Self::IntoIter {
        self.list.iter()
    }
}

impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, (one, (line, column))) in self.list.iter().zip(&self.places).enumerate() {
            let parted = if number == 0 { "" } else { "\n" };
            write!(f, "{parted}line {line}, column {column}: {one}")?;
        }
        Ok(())
    }
}

impl Error for Diagnostics {}

/// What is wrong, what was probably meant or else expected, and what to do, in one line without its
/// place.
impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if let Some(expected) = self.expected.as_ref().filter(|_| self.suggestion.is_none()) {
            write!(f, "; expected {expected}")?;
        }
        if let Some(help) = &self.help {
            write!(f, "; {help}")?;
        }
        match self.unspoken_replacement() {
            Some(replacement) => write!(f, "; write `{replacement}`"),
            None => Ok(()),
        }
    }
}

impl Error for Diagnostic {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_is_a_line_with_its_place_and_what_to_do() {
        let text = "(\n    feet: 3 0,\n)";
        let at = text.find('0').unwrap_or_default();
        let list = vec![
            Diagnostic::error("one", "here is a blank", at..at + 1).with_expected("a comma"),
            Diagnostic::warning("two", "this is short", 0..1).with_replacement("30"),
        ];
        let said = Diagnostics::new(list, text).to_string();
        let lines: Vec<&str> = said.lines().collect();
        assert_eq!(
            lines,
            [
                "line 2, column 13: here is a blank; expected a comma",
                "line 1, column 1: this is short; write `30`"
            ]
        );
    }
}
