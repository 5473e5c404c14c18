//! What is said about common slips of writing, in the words of someone at the next desk.

use crate::circuit::diagnostic::Diagnostic;

use super::figure::readable;
use super::tree::Span;

pub(crate) fn hash_comment(span: Span) -> Diagnostic {
    Diagnostic::error("hash-comment", "`#` does not begin a comment here", span)
        .with_help("begin comments with `//`")
}

pub(crate) fn text_not_closed(span: Span) -> Diagnostic {
    Diagnostic::error("quote-not-closed", "this text has no closing quote", span)
        .with_expected("`\"` at the end of the text")
}

pub(crate) fn wrong_quotes(span: Span, content: &str) -> Diagnostic {
    Diagnostic::error("wrong-quotes", "these are not the quotes a file needs", span)
        .with_help("use straight double quotes; word processors change them to curly ones")
        .with_replacement(format!("\"{content}\""))
}

pub(crate) fn braces(span: Span) -> Diagnostic {
    Diagnostic::error("braces", "fields stand in round brackets here, not in `{ }`", span)
        .with_help("write `(` for `{` and `)` for `}`; this is RON, not JSON")
}

pub(crate) fn list_in_braces(span: Span) -> Diagnostic {
    Diagnostic::error("braces", "a list stands in square brackets here, not in `{ }`", span)
        .with_help("write `[` for `{` and `]` for `}`")
}

pub(crate) fn no_file(span: Span) -> Diagnostic {
    Diagnostic::error("no-file", "a file begins with `(`, and this is something else", span)
        .with_expected(BEGINNING)
        .with_help(SAMPLE)
}

pub(crate) fn no_brackets(span: Span) -> Diagnostic {
    Diagnostic::error("no-brackets", "a file stands in one pair of `( )`", span)
        .with_expected("`(` before this and `)` at the end of the file")
}

pub(crate) fn text_without_quotes(span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("text-without-quotes", "a text of several words needs quotes", span)
        .with_replacement(format!("\"{text}\""))
}

pub(crate) fn texts_without_quotes(span: Span) -> Diagnostic {
    Diagnostic::error("text-without-quotes", "texts need quotes", span)
        .with_expected("each text in double quotes, and a comma between texts")
}

pub(crate) fn quoted_field(span: Span, name: &str) -> Diagnostic {
    Diagnostic::error("quoted-field", format!("the field name `{name}` needs no quotes"), span)
        .with_replacement(name)
}

pub(crate) fn equals_sign(span: Span) -> Diagnostic {
    Diagnostic::error("equals-sign", "a field and its value are joined by `:`, not `=`", span)
        .with_replacement(":")
}

pub(crate) fn semicolon(span: Span) -> Diagnostic {
    Diagnostic::error("semicolon", "fields and values are parted by `,`, not `;`", span)
        .with_replacement(",")
}

pub(crate) fn missing_comma(after: Span, before: Span) -> Diagnostic {
    Diagnostic::error("missing-comma", "a comma is missing between these two", after.clone())
        .saying("after this")
        .with_label(before, "before this")
        .with_expected("`,` after each field and each value of a list")
}

pub(crate) fn missing_colon(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error("missing-colon", format!("a colon is missing after `{name}`"), span)
        .with_expected(format!("`{name}: ` and then its value"))
}

pub(crate) fn missing_value(span: Span) -> Diagnostic {
    Diagnostic::error("missing-value", "a value is missing here", span)
        .with_expected("a number, a text in quotes, a list in `[ ]` or fields in `( )`")
}

pub(crate) fn not_closed(open: char, opened: Span, noticed: Span) -> Diagnostic {
    let close = closing(open);
    Diagnostic::error("bracket-not-closed", format!("this `{open}` is never closed"), opened)
        .saying("opened here")
        .with_label(noticed, format!("`{close}` expected before this"))
        .with_expected(format!("`{close}`"))
}

pub(crate) fn stray_closing(close: char, span: Span) -> Diagnostic {
    Diagnostic::error("stray-bracket", format!("this `{close}` closes nothing"), span)
        .with_help("remove it, or look for a bracket closed too early above")
}

pub(crate) fn unit_after_number(number: Span, junk: Span, text: &str) -> Diagnostic {
    let written = text.get(number.start..junk.end).unwrap_or("");
    let digits = text.get(number.clone()).unwrap_or("");
    let after = text.get(junk.clone()).unwrap_or("");
    let diagnostic = Diagnostic::error(
        "not-a-plain-number",
        format!("`{written}` is not a plain number"),
        number.start..junk.end,
    );
    if after.starts_with('/') {
        diagnostic.with_expected("a decimal number, as 0.5 for a half")
    } else if after.starts_with('-') {
        diagnostic.with_expected("one number").with_help(RANGE)
    } else if after.trim() == "%" {
        let share = readable(digits.parse::<f64>().unwrap_or_default() / 100.0);
        diagnostic.with_expected("a plain number").with_help(format!(
            "`{digits}` where the field's name says percent, `{share}` where it is a share"
        ))
    } else if after.starts_with(|c: char| c.is_ascii_digit()) {
        let joined = format!("{digits}{after}");
        diagnostic.with_expected("a number without blanks in it").with_replacement(joined)
    } else {
        let diagnostic = diagnostic
            .with_expected("a plain number; the unit is in the field's name")
            .with_help("`feet: 12` or `metres: 3.6`, `watts: 1500`, `ohms: 0.4`");
        match without_unit(digits, after.trim()) {
            Some(number) => diagnostic.with_replacement(number),
            None => diagnostic,
        }
    }
}

/// A number without its unit, in the unit that a field has; none if that is another.
pub(crate) fn without_unit(digits: &str, unit: &str) -> Option<String> {
    let times = |factor| Some(readable(digits.parse::<f64>().ok()? * factor));
    match unit {
        "kW" | "kw" | "KW" | "kVA" | "k" => times(1e3),
        "M" | "Mohm" | "MOhm" | "MΩ" => times(1e6),
        "cm" | "mm" | "km" | "in" | "inch" | "inches" | "\"" | "mA" | "mV" => None,
        _ => Some(digits.to_owned()),
    }
}

/// Where a range is written.
pub(crate) const RANGE: &str = "a range is `(low, high)` in a field for ranges, if there is one: `feet_between: (8, 20)`, \
     `metres_between`, `watts_between`";

pub(crate) fn decimal_comma(span: Span, meant: &str) -> Diagnostic {
    Diagnostic::error("decimal-comma", "a comma parts fields; decimals follow a point", span)
        .with_replacement(meant)
}

pub(crate) fn odd_character(c: char, span: Span) -> Diagnostic {
    Diagnostic::error("odd-character", format!("`{c}` has no meaning here"), span)
        .with_help("names and texts stand in double quotes, fields in `( )`, lists in `[ ]`")
}

pub(crate) fn after_the_end(span: Span) -> Diagnostic {
    Diagnostic::error("after-the-end", "the file is complete before this", span)
        .with_help("a file holds one thing in one pair of `( )`; look for a `)` too early above")
}

pub(crate) fn empty_file() -> Diagnostic {
    Diagnostic::error("empty-file", "there is nothing in this file", 0..0)
        .with_expected(BEGINNING)
        .with_help(SAMPLE)
}

const BEGINNING: &str =
    "`(format: 1, ...)`, in a circuit `(format: 1, circuits: [...], boxes: [...])`";

const SAMPLE: &str = "`slotwise sample` prints a commented circuit to start from; docs/ shows every other kind \
     of file";

/// The bracket that closes `open`.
pub(crate) fn closing(open: char) -> char {
    match open {
        '[' => ']',
        '{' => '}',
        _ => ')',
    }
}
