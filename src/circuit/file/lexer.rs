//! The words, numbers and brackets of a file. Never gives up: what cannot be read is reported
//! and stepped over.

use crate::circuit::diagnostic::Diagnostic;

use super::hints;
use super::sink::Sink;
use super::tree::Span;

/// A token with its place.
#[derive(Debug)]
pub(crate) struct Token {
    pub(crate) kind: TokenKind,
    pub(crate) span: Span,
}

/// Kinds of token.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum TokenKind {
    Number(f64),
    Text(String),
    Word(String),
    Open(char),
    Close(char),
    Colon,
    Comma,
    /// A character that has no meaning here.
    Odd(char),
    End,
}

/// All tokens of `text`, ending in [`TokenKind::End`].
pub(crate) fn tokens(text: &str, sink: &mut Sink) -> Vec<Token> {
    let mut lexer = Lexer { text, at: 0, sink };
    if text.starts_with('\u{FEFF}') {
        lexer.at = '\u{FEFF}'.len_utf8();
    }
    let mut tokens = Vec::new();
    loop {
        lexer.skip_blank();
        let start = lexer.at;
        let kind = lexer.token();
        let done = kind == TokenKind::End;
        tokens.push(Token { kind, span: start..lexer.at });
        if done {
            return tokens;
        }
    }
}

/// No fixed word that begins with a digit is nearly as long.
const WORD_CHARS_MAX: usize = 32;

/// Old systems end lines with a carriage return alone.
fn ends_line(c: char) -> bool {
    matches!(c, '\n' | '\r')
}

fn first_line(text: &str) -> &str {
    text.split(ends_line).next().unwrap_or_default()
}

struct Lexer<'a, 's> {
    text: &'a str,
    at: usize,
    sink: &'s mut Sink,
}

impl<'a> Lexer<'a, '_> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn take_while(&mut self, wanted: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let length = rest.find(|c| !wanted(c)).unwrap_or(rest.len());
        self.at += length;
        &rest[..length]
    }

    /// Steps over blanks, comments and `#![...]` lines.
    fn skip_blank(&mut self) {
        loop {
            let start = self.at;
            self.take_while(char::is_whitespace);
            if self.rest().starts_with("//") {
                self.take_while(|c| !ends_line(c));
            } else if self.rest().starts_with("/*") {
                self.skip_block_comment();
            } else if self.rest().starts_with("#!") {
                self.take_while(|c| c != ']' && !ends_line(c));
                self.at += usize::from(self.peek() == Some(']'));
            } else if self.peek() == Some('#') {
                let start = self.at;
                self.take_while(|c| !ends_line(c));
                self.sink.say(hints::hash_comment(start..self.at));
            } else if self.at == start {
                return;
            }
        }
    }

    /// Steps over `/* ... */`, which nests.
    fn skip_block_comment(&mut self) {
        let start = self.at;
        let mut depth = 0_usize;
        loop {
            let rest = self.rest();
            if rest.starts_with("/*") {
                depth += 1;
                self.at += 2;
            } else if rest.starts_with("*/") {
                depth -= 1;
                self.at += 2;
                if depth == 0 {
                    return;
                }
            } else if let Some(c) = rest.chars().next() {
                self.at += c.len_utf8();
            } else {
                self.sink.say(
                    Diagnostic::error(
                        "comment-not-closed",
                        "this comment is never closed",
                        start..start + 2,
                    )
                    .with_expected("`*/` after the comment"),
                );
                return;
            }
        }
    }

    fn token(&mut self) -> TokenKind {
        let Some(c) = self.peek() else { return TokenKind::End };
        if let Some(word) = self.word_with_a_digit_first() {
            return TokenKind::Word(word.to_owned());
        }
        if self.number_begins() {
            return self.number();
        }
        if self.rest().starts_with("r\"") || self.rest().starts_with("r#") {
            return self.raw_text();
        }
        if c.is_alphabetic() || c == '_' {
            return TokenKind::Word(self.word().to_owned());
        }
        let start = self.at;
        self.at += c.len_utf8();
        match c {
            '(' | '[' | '{' => TokenKind::Open(c),
            ')' | ']' | '}' => TokenKind::Close(c),
            ':' => TokenKind::Colon,
            ',' => TokenKind::Comma,
            '"' => self.text_in_quotes(start),
            '\u{201C}' | '\u{201D}' | '\u{201E}' | '\u{00AB}' | '\u{2018}' | '\u{2019}' | '\'' => {
                self.text_in_wrong_quotes(start, c)
            }
            _ => TokenKind::Odd(c),
        }
    }

    /// A word, with the hyphens and dots inside that people put in names without quotes.
    fn word(&mut self) -> &'a str {
        let start = self.at;
        loop {
            self.take_while(|c| c.is_alphanumeric() || c == '_');
            let mut next = self.rest().chars();
            let joined = matches!(next.next(), Some('-' | '.'))
                && next.next().is_some_and(char::is_alphabetic);
            if !joined {
                return self.text.get(start..self.at).unwrap_or("");
            }
            self.at += 1;
        }
    }

    /// `3Way(`: no number has brackets. Looks so far ahead only as a word of ours might reach, for
    /// this is asked anew at each token.
    fn word_with_a_digit_first(&mut self) -> Option<&'a str> {
        let rest = self.rest();
        if !rest.starts_with(|c: char| c.is_ascii_digit()) {
            return None;
        }
        let is_inside = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-');
        let mut ahead = rest.char_indices().take(WORD_CHARS_MAX);
        let (end, after) = ahead.find(|(_, c)| !is_inside(*c))?;
        let word = rest.get(..end)?;
        let is_word = after == '(' && word.contains(char::is_alphabetic);
        self.at += if is_word { end } else { 0 };
        is_word.then_some(word)
    }

    fn number_begins(&self) -> bool {
        let mut rest = self.rest().chars().peekable();
        if matches!(rest.peek(), Some('+' | '-')) {
            rest.next();
        }
        match rest.next() {
            Some('.') => rest.next().is_some_and(|c| c.is_ascii_digit()),
            Some('i') => {
                self.rest().trim_start_matches(['+', '-']) != self.rest()
                    && self.rest()[1..].starts_with("inf")
            }
            Some(c) => c.is_ascii_digit(),
            None => false,
        }
    }

    fn number(&mut self) -> TokenKind {
        let start = self.at;
        self.at += usize::from(matches!(self.peek(), Some('+' | '-')));
        if self.rest().starts_with("inf") {
            self.at += 3;
        } else {
            self.take_while(|c| c.is_ascii_digit() || c == '_');
            if self.rest().starts_with('.') {
                self.at += 1;
                self.take_while(|c| c.is_ascii_digit() || c == '_');
            }
            self.exponent();
        }
        let digits = self.text[start..self.at].replace('_', "");
        // A unit written close up, `12'` or `12"`, must not begin a text.
        match digits.parse() {
            Ok(number) => TokenKind::Number(number),
            Err(_) => TokenKind::Number(f64::NAN),
        }
    }

    fn exponent(&mut self) {
        let rest = self.rest();
        let Some(after) = rest.strip_prefix(['e', 'E']) else { return };
        let sign = usize::from(after.starts_with(['+', '-']));
        if after[sign..].starts_with(|c: char| c.is_ascii_digit()) {
            self.at += 1 + sign;
            self.take_while(|c| c.is_ascii_digit());
        }
    }

    /// Text after its opening quote at `start`.
    fn text_in_quotes(&mut self, start: usize) -> TokenKind {
        // Close behind a digit it is an inch mark: `12"`.
        if self.text[..start].ends_with(|c: char| c.is_ascii_digit()) {
            return TokenKind::Odd('"');
        }
        let mut content = String::new();
        while let Some(c) = self.peek() {
            self.at += c.len_utf8();
            match c {
                '"' => match self.meant_to_end(start + 1) {
                    Some(end) => {
                        content = self.text[start + 1..end].to_owned();
                        self.at = end;
                        break;
                    }
                    None => return TokenKind::Text(content),
                },
                '\\' => self.escape(&mut content),
                '\n' | '\r' if !self.within_line_end(c) && self.never_closes() => {
                    self.at -= 1;
                    // The first half of a line end of two is no part of the text.
                    if self.text[..self.at].ends_with('\r') {
                        content.pop();
                        self.at -= 1;
                    }
                    break;
                }
                _ => content.push(c),
            }
        }
        let length = first_line(&self.text[start..self.at]).len().max(1);
        self.sink.say(hints::text_not_closed(start..start + length));
        // The comma after the text that was meant.
        if content.ends_with(',') {
            content.pop();
            self.at -= 1;
        }
        TokenKind::Text(content)
    }

    /// Where a text from `start` was meant to end, if the quote just read begins the one after it:
    /// `"kiln, from: "door"`.
    fn meant_to_end(&self, start: usize) -> Option<usize> {
        let text = self.text.get(start..self.at - 1)?;
        let at_word = self.peek().is_some_and(char::is_alphanumeric);
        let to_the_next = at_word && text.trim_end().ends_with([',', ':']);
        text.find(',').filter(|_| to_the_next).map(|end| start + end)
    }

    /// Whether this character is the first of the two that end a line on some systems.
    fn within_line_end(&self, c: char) -> bool {
        c == '\r' && self.peek() == Some('\n')
    }

    /// Whether the text that runs over the end of a line looks like a forgotten quote: names
    /// and titles fit a line.
    fn never_closes(&self) -> bool {
        let rest = self.rest();
        let quotes_left = first_line(rest).matches('"').count();
        quotes_left.is_multiple_of(2)
    }

    fn escape(&mut self, content: &mut String) {
        let start = self.at - 1;
        let Some(c) = self.peek() else { return };
        self.at += c.len_utf8();
        let meant = match c {
            'n' => Some('\n'),
            't' => Some('\t'),
            'r' => Some('\r'),
            '0' => Some('\0'),
            '\\' | '"' | '\'' => Some(c),
            'x' => {
                let rest = self.rest();
                let digits = rest.get(..2).unwrap_or("");
                self.at += digits.len();
                u32::from_str_radix(digits, 16).ok().and_then(char::from_u32)
            }
            'u' => {
                let code = self.take_while(|c| c == '{' || c.is_ascii_hexdigit());
                self.at += usize::from(self.peek() == Some('}'));
                u32::from_str_radix(code.trim_start_matches('{'), 16).ok().and_then(char::from_u32)
            }
            _ => None,
        };
        match meant {
            Some(meant) => content.push(meant),
            None => self.sink.say(
                Diagnostic::error(
                    "unknown-escape",
                    format!("`{}` stands for nothing inside quotes", &self.text[start..self.at]),
                    start..self.at,
                )
                .with_expected(r#"`\\` for a backslash, `\"` for a quote, `\n` for a new line"#),
            ),
        }
    }

    /// `r"..."` or `r#"..."#`.
    fn raw_text(&mut self) -> TokenKind {
        let start = self.at;
        self.at += 1;
        let hashes = self.take_while(|c| c == '#');
        if self.peek() != Some('"') {
            return TokenKind::Word(
                self.take_while(|c| c.is_alphanumeric() || c == '_').to_owned(),
            );
        }
        self.at += 1;
        let rest = self.rest();
        let close = format!("\"{hashes}");
        if let Some(length) = rest.find(&close) {
            self.at += length + close.len();
            return TokenKind::Text(rest[..length].to_owned());
        }
        self.at = self.text.len();
        let length = first_line(&self.text[start..]).len().max(1);
        self.sink.say(hints::text_not_closed(start..start + length));
        TokenKind::Text(rest.to_owned())
    }

    /// Text in single or typographic quotes, taken as meant.
    fn text_in_wrong_quotes(&mut self, start: usize, opening: char) -> TokenKind {
        if self.text[..start].ends_with(|c: char| c.is_ascii_digit()) {
            return TokenKind::Odd(opening);
        }
        let content = self.take_while(|c| {
            !matches!(
                c,
                '\n' | '\r'
                    | '"'
                    | '\''
                    | '\u{201C}'
                    | '\u{201D}'
                    | '\u{00BB}'
                    | '\u{2018}'
                    | '\u{2019}'
            )
        });
        match self.peek() {
            None | Some('\n' | '\r') => return TokenKind::Odd(opening),
            Some(closing) => self.at += closing.len_utf8(),
        }
        self.sink.say(hints::wrong_quotes(start..self.at, content));
        TokenKind::Text(content.to_owned())
    }
}
