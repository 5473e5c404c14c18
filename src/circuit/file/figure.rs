//! Figures in messages: never longer than a person reads.

/// Characters of a figure as typed that are said back.
const SAID_MAX: usize = 24;

/// Without long rows of zeros.
pub(crate) fn readable(value: f64) -> String {
    let magnitude = value.abs();
    if magnitude > 0.0 && value.is_finite() && !(1e-4..1e7).contains(&magnitude) {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

/// A figure as typed: where that is very long its beginning, and how long it is.
pub(crate) fn shortened(typed: &str) -> String {
    let length = typed.chars().count();
    if length <= SAID_MAX {
        return typed.to_owned();
    }
    let begins: String = typed.chars().take(SAID_MAX / 2).collect();
    format!("{begins}... ({length} characters)")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_of_300_digits_is_said_in_a_few() {
        let typed = "1".repeat(300);
        assert_eq!(shortened(&typed), "111111111111... (300 characters)");
        assert_eq!(readable(typed.parse().unwrap_or(0.0)), "1.1111111111111112e299");
        assert_eq!((shortened("0.4").as_str(), readable(0.4).as_str()), ("0.4", "0.4"));
    }
}
