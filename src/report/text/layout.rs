//! Lines of at most 80 columns.

/// Columns of a line.
pub(super) const WIDTH: usize = 80;

/// `text` in lines of at most [`WIDTH`] columns, the first behind `first`, the others indented
/// as far. A word longer than a line stands alone.
pub(super) fn wrapped(first: &str, text: &str) -> String {
    let (before, last) = first.rsplit_once('\n').map_or(("", first), |(name, rest)| (name, rest));
    let indent = last.chars().count();
    let mut out = if before.is_empty() { String::new() } else { format!("{before}\n") };
    let mut line = last.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        let space = usize::from(!empty);
        if !empty && line.chars().count() + space + word.chars().count() > WIDTH {
            out.push_str(line.trim_end());
            out.push('\n');
            line = " ".repeat(indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out
}

/// A cell of at least `width` columns, text to the left. Longer text is kept whole.
pub(super) fn left(text: &str, width: usize) -> String {
    format!("{text:<width$}")
}

/// A cell of at least `width` columns, text to the right.
pub(super) fn right(text: &str, width: usize) -> String {
    format!("{text:>width$}")
}

/// A name in a column of `width`; one that is too long for it has a line of its own, so that
/// columns stay in line and nothing is cut.
pub(super) fn label(indent: &str, name: &str, width: usize) -> String {
    if name.chars().count() < width {
        return format!("{indent}{name:<width$}");
    }
    format!("{indent}{name}\n{indent}{:<width$}", "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_lines_stay_within_eighty_columns() {
        let text = wrapped("  DANGER  ", &"a word or two ".repeat(20));
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH));
        assert!(text.lines().nth(1).unwrap().starts_with("          a"));
    }

    #[test]
    fn a_word_longer_than_a_line_is_kept_whole() {
        let long = "x".repeat(200);
        assert_eq!(wrapped("  ", &format!("a {long} b")).lines().count(), 3);
    }
}
