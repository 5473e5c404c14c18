//! Text into tokens. Every byte of the text is in one token or is white space, so that an
//! answer can always point at what was written. Knows no word's meaning: any closed grammar
//! of slotwise can stand on it.

use std::ops::Range;

/// A piece of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Token<'t> {
    /// As written; without the quotes, if quoted.
    pub(crate) text: &'t str,
    /// What it looks like.
    pub(crate) kind: TokenKind,
    /// Bytes of the text, quotes included.
    pub(crate) span: Range<usize>,
}

/// What a token looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TokenKind {
    /// A word, a name, an address, a unit.
    Word,
    /// A name in quotes, which is never a word of the grammar.
    Quoted,
    /// Digits, with sign, decimal point and exponent.
    Number,
    /// A comma or a colon.
    Comma,
    /// The end of a sentence.
    Semicolon,
    /// Anything else, one character.
    Other,
}

/// Cuts `text` into tokens.
pub(crate) fn tokens(text: &str) -> Vec<Token<'_>> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..) {
        let Some(first) = rest.chars().next() else { break };
        if first.is_whitespace() {
            at += first.len_utf8();
            continue;
        }
        let (kind, length) = shape(first, rest);
        let span = at..at + length;
        let written = text.get(span.clone()).unwrap_or_default();
        let inner = if kind == TokenKind::Quoted {
            written.get(1..length - 1).unwrap_or_default()
        } else {
            written
        };
        found.push(Token { text: inner, kind, span });
        at += length;
    }
    found
}

/// Kind and length in bytes (at least one character) of the token that `rest` begins with.
fn shape(first: char, rest: &str) -> (TokenKind, usize) {
    match first {
        ',' | ':' => (TokenKind::Comma, 1),
        ';' => (TokenKind::Semicolon, 1),
        '\'' if possessive(rest) => (TokenKind::Comma, 2),
        '"' | '\'' => match rest[1..].find(first) {
            Some(inside) if inside > 0 => (TokenKind::Quoted, inside + 2),
            _ => (TokenKind::Other, 1),
        },
        '%' => (TokenKind::Word, 1),
        _ => match number_length(rest) {
            Some(length) => (TokenKind::Number, length),
            None if first.is_alphabetic() => (TokenKind::Word, word_length(rest)),
            None => (TokenKind::Other, first.len_utf8()),
        },
    }
}

/// `'s`, as in `kiln's neutral`.
fn possessive(rest: &str) -> bool {
    rest.strip_prefix("'s")
        .is_some_and(|after| after.chars().next().is_none_or(char::is_whitespace))
}

/// Length of the number that `rest` begins with.
fn number_length(rest: &str) -> Option<usize> {
    let bytes = rest.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let skip_digits = |mut at: usize| {
        while digit(at) {
            at += 1;
        }
        at
    };
    let start = usize::from(matches!(bytes.first(), Some(b'-' | b'+')));
    let mut at = skip_digits(start);
    let whole = at > start;
    if bytes.get(at) == Some(&b'.') && digit(at + 1) {
        at = skip_digits(at + 1);
    } else if !whole {
        return None;
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'-' | b'+')));
        if digit(at + 1 + sign) {
            at = skip_digits(at + 1 + sign);
        }
    }
    Some(at)
}

/// Length of the word that `rest` begins with; a mark that ends a sentence is not part of it.
fn word_length(rest: &str) -> usize {
    let inside = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.' | ':' | '~');
    let end = rest.find(|c| !inside(c)).unwrap_or(rest.len());
    let word = rest.get(..end).unwrap_or_default();
    word.trim_end_matches(['-', '.', ':']).len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(text: &str) -> Vec<(&str, TokenKind)> {
        tokens(text).into_iter().map(|t| (t.text, t.kind)).collect()
    }

    #[test]
    fn a_unit_may_touch_its_number() {
        use TokenKind::{Comma, Number, Word};
        assert_eq!(
            cut("0.4ohm, 30% 1e-3 MΩ"),
            [
                ("0.4", Number),
                ("ohm", Word),
                (",", Comma),
                ("30", Number),
                ("%", Word),
                ("1e-3", Number),
                ("MΩ", Word)
            ]
        );
    }

    #[test]
    fn an_address_is_one_word_and_a_full_stop_is_not_part_of_it() {
        let addresses = cut("contact:door-kiln.b.neutral open.");
        assert_eq!(addresses[0].0, "contact:door-kiln.b.neutral");
        assert_eq!(addresses[1].0, "open");
        assert_eq!(addresses[2], (".", TokenKind::Other));
    }

    #[test]
    fn quotes_make_a_name_of_anything() {
        assert_eq!(cut("\"line side\""), [("line side", TokenKind::Quoted)]);
        assert_eq!(cut("\"")[0].1, TokenKind::Other);
    }
}
