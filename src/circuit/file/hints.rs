//! What is said about common slips of writing, in the words of someone at the next desk.

use crate::circuit::diagnostic::Diagnostic;

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
    } else if after.starts_with(|c: char| c.is_ascii_digit()) {
        let joined = format!("{digits}{after}");
        diagnostic.with_expected("a number without blanks in it").with_replacement(joined)
    } else {
        diagnostic
            .with_expected("a plain number; the unit is in the field's name")
            .with_help("`feet: 12` or `metres: 3.6`, `watts: 1500`, `ohms: 0.4`")
            .with_replacement(digits)
    }
}

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
        .with_expected(
            "`(format: 1, ...)`, in a circuit `(format: 1, circuits: [...], boxes: [...])`",
        )
        .with_help(
            "`slotwise sample` prints a commented circuit to start from; docs/ shows every other \
             kind of file",
        )
}

/// The bracket that closes `open`.
pub(crate) fn closing(open: char) -> char {
    match open {
        '[' => ']',
        '{' => '}',
        _ => ')',
    }
}
