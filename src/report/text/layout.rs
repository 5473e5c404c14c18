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

/// A title of a person's own, in lines of at most [`WIDTH`] columns between two marks. What would
/// move the cursor or turn the reading around is written out.
pub(super) fn title(mark: &str, name: &str, off: &str) -> String {
    let written = |c: char| match c.is_control() && !c.is_whitespace() || turns_around(c) {
        true => c.escape_unicode().to_string(),
        false => c.to_string(),
    };
    let name: String = name.chars().map(written).collect();
    let lines = wrapped("", &name);
    format!("{mark}{}{off}\n", lines.trim_end())
}

/// Marks of the direction of writing, which have no width and change what stands after them.
fn turns_around(c: char) -> bool {
    matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
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
    fn a_title_stays_within_its_lines_and_cannot_move_the_cursor() {
        let long = title("<", &"kiln room ".repeat(20), ">");
        assert!(long.lines().all(|line| line.chars().count() <= WIDTH + 2));
        assert_eq!(title("<", "a\u{202e}b\u{7}c", ">"), "<a\\u{202e}b\\u{7}c>\n");
        assert_eq!(title("", "Pottery studio", ""), "Pottery studio\n");
    }

    #[test]
    fn a_word_longer_than_a_line_is_kept_whole() {
        let long = "x".repeat(200);
        assert_eq!(wrapped("  ", &format!("a {long} b")).lines().count(), 3);
    }
}
