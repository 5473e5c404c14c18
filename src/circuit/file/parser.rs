//! From tokens to a tree. Goes on after every mistake as someone reading over it would.

use crate::circuit::diagnostic::Diagnostic;

use super::hints;
use super::lexer::{Token, TokenKind, tokens};
use super::limits::{NESTING_MAX, VALUES_MAX};
use super::sink::Sink;
use super::tree::{Field, Node, NodeId, Span, Value, Word};

/// Reads `text`; `None` if there is nothing in it or it is beyond the limits, which is said.
pub(crate) fn parse(text: &str, sink: &mut Sink) -> Option<Node> {
    let tokens = tokens(text, sink);
    if tokens.len() == 1 {
        // A comment that never closes has swallowed the rest, and that is said.
        if !sink.has_error() {
            sink.say(hints::empty_file());
        }
        return None;
    }
    let mut parser = Parser {
        text,
        tokens,
        at: 0,
        next_id: 0,
        open: Vec::new(),
        unclosed_at: None,
        aborted: false,
        comment_lost: sink.has("comment-not-closed"),
        sink,
    };
    let root = match parser.kind() {
        TokenKind::Word(_) if parser.a_field_begins() => parser.without_brackets(),
        TokenKind::Word(_) if !matches!(parser.token(1).kind, TokenKind::Open(_)) => {
            let first = parser.span();
            parser.sink.say(hints::no_file(first));
            return None;
        }
        _ => parser.value(),
    };
    let after = parser.span();
    match parser.kind() {
        TokenKind::End => {}
        TokenKind::Close(c) => {
            let c = *c;
            parser.sink.say(hints::stray_closing(c, after));
        }
        _ => parser.sink.say(hints::after_the_end(after)),
    }
    (!parser.aborted).then_some(root)
}

struct Parser<'a, 's> {
    text: &'a str,
    tokens: Vec<Token>,
    at: usize,
    next_id: NodeId,
    /// Brackets open now, with their places.
    open: Vec<(char, Span)>,
    /// Where a bracket was last found unclosed, as a token's number.
    unclosed_at: Option<usize>,
    /// A limit was passed, which has been said; nothing more is read.
    aborted: bool,
    /// A comment without end swallowed the rest.
    comment_lost: bool,
    sink: &'s mut Sink,
}

impl Parser<'_, '_> {
    fn token(&self, ahead: usize) -> &Token {
        // The last token is End and `tokens` is never empty.
        &self.tokens[(self.at + ahead).min(self.tokens.len() - 1)]
    }

    fn kind(&self) -> &TokenKind {
        &self.token(0).kind
    }

    fn span(&self) -> Span {
        self.token(0).span.clone()
    }

    /// The end of the token before this one, as a point.
    fn previous(&self) -> Span {
        self.tokens[self.at.saturating_sub(1)].span.clone()
    }

    fn step(&mut self) {
        self.at += 1;
    }

    /// Says that a limit is passed and reads nothing more.
    fn abort(&mut self, code: &'static str, message: String, span: Span) {
        if !self.aborted {
            let help = "nothing after this has been read";
            self.sink.say(Diagnostic::error(code, message, span).with_help(help));
        }
        self.aborted = true;
        self.open.clear();
        self.at = self.tokens.len();
    }

    fn node(&mut self, span: Span, value: Value) -> Node {
        let id = self.next_id;
        self.next_id += 1;
        if self.next_id > VALUES_MAX {
            let message = format!("a circuit file holds at most {VALUES_MAX} values");
            self.abort("too-many-values", message, span.clone());
        }
        Node { id, span, value }
    }

    fn value(&mut self) -> Node {
        let span = self.span();
        match self.kind().clone() {
            TokenKind::Number(number) => {
                self.step();
                let is_readable = self.unit_after(&span);
                let value = if is_readable { Value::Number(number) } else { Value::Unreadable };
                self.node(span, value)
            }
            TokenKind::Text(text) => {
                self.step();
                self.node(span, Value::Text(text))
            }
            TokenKind::Word(word) => {
                self.step();
                match self.kind() {
                    TokenKind::Open('(' | '{') => {
                        let name = Word { text: word, span: span.clone() };
                        self.bracketed(span.start, Some(name))
                    }
                    _ => self.node(span, Value::Word(word)),
                }
            }
            TokenKind::Open('[') => self.list(),
            TokenKind::Open(_) => self.bracketed(span.start, None),
            TokenKind::Odd(c) => {
                self.step();
                self.sink.say(hints::odd_character(c, span.clone()));
                if matches!(self.kind(), TokenKind::Comma | TokenKind::Close(_) | TokenKind::End) {
                    self.node(span, Value::Unreadable)
                } else {
                    self.value_after_odd()
                }
            }
            TokenKind::Close(_) | TokenKind::Comma | TokenKind::Colon | TokenKind::End => {
                let after = self.previous();
                self.sink.say(hints::missing_value(after.clone()));
                self.node(after, Value::Unreadable)
            }
        }
    }

    /// The value after stray characters, without recursion.
    fn value_after_odd(&mut self) -> Node {
        while let TokenKind::Odd(_) | TokenKind::Colon = self.kind() {
            self.step();
        }
        match self.kind() {
            TokenKind::Open(_) | TokenKind::Text(_) | TokenKind::Number(_) => self.value(),
            TokenKind::Word(_) => {
                let span = self.span();
                self.step();
                self.node(span, Value::Unreadable)
            }
            _ => {
                let span = self.previous();
                self.node(span, Value::Unreadable)
            }
        }
    }

    /// Reports and steps over a unit, a fraction or a grouped thousand after a number; says whether
    /// the number may be taken without it.
    fn unit_after(&mut self, number: &Span) -> bool {
        let start = self.span().start;
        let mut end = start;
        loop {
            let same_line = self.is_on_line_with_last(0);
            let junk = match self.kind() {
                TokenKind::Word(_) => {
                    let next = &self.token(1).kind;
                    !matches!(next, TokenKind::Colon | TokenKind::Odd('=') | TokenKind::Open(_))
                }
                TokenKind::Odd(c) => !matches!(c, '=' | ';'),
                TokenKind::Number(_) => {
                    let span = self.span();
                    let grouped = span.len() == 3 && number.len() <= 3;
                    grouped || span.start == self.previous().end
                }
                _ => false,
            };
            if !(same_line && junk) {
                break;
            }
            end = self.span().end;
            self.step();
        }
        if end > start {
            self.sink.say(hints::unit_after_number(number.clone(), start..end, self.text));
        }
        !self.text.get(start..end).unwrap_or("").starts_with(['-', '%', '/'])
    }

    /// Whether another bracket may be opened; if not, reading stops here.
    fn enter(&mut self, open: char) -> bool {
        let span = self.span();
        if self.open.len() >= NESTING_MAX {
            let message = format!("brackets are nested at most {NESTING_MAX} deep");
            self.abort("nested-too-deep", message, span);
            return false;
        }
        self.open.push((open, span));
        self.step();
        true
    }

    fn list(&mut self) -> Node {
        let start = self.span().start;
        let mut items = Vec::new();
        if self.enter('[') {
            while !self.closes('[') {
                if let TokenKind::Word(_) = self.kind()
                    && self.token(1).kind == TokenKind::Colon
                {
                    // A field in a list: the list was not closed.
                    self.leave_unclosed();
                    break;
                }
                let item = match self.words_in_a_row(true) {
                    Some(span) => {
                        self.sink.say(hints::texts_without_quotes(span.clone()));
                        self.node(span, Value::Unreadable)
                    }
                    None => self.value(),
                };
                items.push(item);
                self.comma_after_value();
            }
        }
        self.node(start..self.previous().end, Value::List(items))
    }

    /// Steps over words in a row on one line that were meant as text; in a list, over whatever
    /// stands between them too.
    fn words_in_a_row(&mut self, in_list: bool) -> Option<Span> {
        let start = self.span().start;
        let is_word = |parser: &Self, ahead: usize| {
            let next = &parser.token(ahead + 1).kind;
            let begins_more = matches!(next, TokenKind::Colon | TokenKind::Odd('='));
            match parser.token(ahead).kind {
                TokenKind::Word(_) | TokenKind::Number(_) => {
                    !matches!(next, TokenKind::Open(_)) && (in_list || !begins_more)
                }
                TokenKind::Odd(_) | TokenKind::Colon => in_list && ahead > 1,
                _ => false,
            }
        };
        if !matches!(self.kind(), TokenKind::Word(_)) {
            return None;
        }
        let mut ahead = 0;
        while is_word(self, ahead) && (ahead == 0 || self.is_on_line_with_last(ahead)) {
            ahead += 1;
        }
        if ahead < 2 {
            return None;
        }
        let with_colon = (0..ahead).any(|ahead| self.token(ahead).kind == TokenKind::Colon);
        // A sentence with a colon goes on after its commas.
        while with_colon
            && !matches!(self.token(ahead).kind, TokenKind::Close(_) | TokenKind::End)
            && self.is_on_line_with_last(ahead)
        {
            ahead += 1;
        }
        ahead -= usize::from(self.token(ahead - 1).kind == TokenKind::Comma);
        self.at += ahead;
        Some(start..self.previous().end)
    }

    /// Whether a token stands on the line on which the one before it ends.
    fn is_on_line_with_last(&self, ahead: usize) -> bool {
        let last = self.tokens.get((self.at + ahead).saturating_sub(1));
        let start = last.map_or(0, |last| last.span.end);
        let between = self.text.get(start..self.token(ahead).span.start);
        !between.unwrap_or("").contains(['\n', '\r'])
    }

    /// `( ... )` or `{ ... }`, after an optional name that began at `start`.
    fn bracketed(&mut self, start: usize, name: Option<Word>) -> Node {
        let open = if *self.kind() == TokenKind::Open('{') { '{' } else { '(' };
        let opened = self.span();
        if !self.enter(open) {
            return self.node(start..start, Value::Unreadable);
        }
        let has_fields = self.fields_begin();
        let is_list = open == '{' && name.is_none() && !has_fields;
        let value = if has_fields {
            let fields = self.fields(open);
            let is_bare = open == '{' && name.is_none();
            match is_bare.then(|| self.halves(&fields)).flatten() {
                Some(halves) => Value::Halves(halves),
                None if is_bare && self.are_by_name(&fields) => Value::ByName,
                None => Value::Fields { name, fields },
            }
        } else {
            let mut items = Vec::new();
            while !self.closes(open) {
                items.push(self.value());
                self.comma_after_value();
            }
            if is_list { Value::List(items) } else { Value::Items { name, items } }
        };
        match (open, &value) {
            ('{', Value::List(_)) => self.sink.say(hints::list_in_braces(opened)),
            ('(', _) | (_, Value::ByName | Value::Halves(_)) => {}
            _ => self.sink.say(hints::braces(opened)),
        }
        self.node(start..self.previous().end, value)
    }

    /// Whether these in braces are things by their names; then nothing is wrong with quotes.
    fn are_by_name(&mut self, fields: &[Field]) -> bool {
        let is_thing =
            |field: &Field| matches!(field.value.value, Value::Fields { name: None, .. });
        let all = !self.open.is_empty() && !fields.is_empty() && fields.iter().all(is_thing);
        if all {
            self.take_back_quotes(fields);
        }
        all
    }

    /// These in braces as sentences in halves, if each has the words that no field's name has.
    fn halves(&mut self, fields: &[Field]) -> Option<Vec<(String, String)>> {
        let half = |field: &Field| match &field.value.value {
            Value::Text(second) if field.name.text.contains(' ') => {
                Some((field.name.text.clone(), second.clone()))
            }
            _ => None,
        };
        let halves: Vec<_> = fields.iter().map(half).collect::<Option<_>>()?;
        if self.open.is_empty() || halves.is_empty() {
            return None;
        }
        self.take_back_quotes(fields);
        Some(halves)
    }

    fn take_back_quotes(&mut self, fields: &[Field]) {
        let names: Vec<Span> = fields.iter().map(|field| field.name.span.clone()).collect();
        self.sink.take_back("quoted-field", &names);
    }

    fn a_field_begins(&self) -> bool {
        matches!(self.token(1).kind, TokenKind::Colon | TokenKind::Odd('='))
    }

    /// The fields of a file whose own brackets are missing.
    fn without_brackets(&mut self) -> Node {
        let first = self.span();
        self.sink.say(hints::no_brackets(first.clone()));
        let fields = self.fields('(');
        self.node(first.start..self.previous().end, Value::Fields { name: None, fields })
    }

    fn fields_begin(&self) -> bool {
        let joined = self.a_field_begins();
        match self.kind() {
            TokenKind::Close(_) => true,
            TokenKind::Word(_) => {
                joined
                    || !matches!(
                        self.token(1).kind,
                        TokenKind::Comma | TokenKind::Close(_) | TokenKind::Open(_)
                    )
            }
            TokenKind::Text(_) => joined,
            _ => false,
        }
    }

    fn fields(&mut self, open: char) -> Vec<Field> {
        let mut fields = Vec::new();
        while !self.closes(open) {
            let span = self.span();
            match self.kind().clone() {
                TokenKind::Word(text) => {
                    self.step();
                    self.field(Word { text, span }, &mut fields);
                }
                TokenKind::Text(text) if self.a_field_begins() => {
                    self.sink.say(hints::quoted_field(span.clone(), &text));
                    self.step();
                    self.field(Word { text, span }, &mut fields);
                }
                TokenKind::Open(_) if self.parent_is_list() => {
                    // The next member of the list begins: this one was not closed.
                    self.leave_unclosed();
                    return fields;
                }
                TokenKind::Comma => {
                    self.sink.say(hints::missing_value(span));
                    self.step();
                }
                _ => {
                    self.sink.say(
                        Diagnostic::error("field-expected", "a field's name is missing here", span)
                            .with_expected("`name: value`"),
                    );
                    self.value();
                    self.comma_after_value();
                }
            }
        }
        fields
    }

    fn field(&mut self, name: Word, fields: &mut Vec<Field>) {
        match self.kind() {
            TokenKind::Colon => self.step(),
            TokenKind::Odd('=') => {
                let span = self.span();
                self.sink.say(hints::equals_sign(span));
                self.step();
            }
            _ => self.sink.say(hints::missing_colon(&name.text, name.span.clone())),
        }
        let value = match self.words_in_a_row(false) {
            Some(span) => {
                let text = self.text.get(span.clone()).unwrap_or("").to_owned();
                self.sink.say(hints::text_without_quotes(span.clone(), &text));
                self.node(span, Value::Text(text))
            }
            None => self.value(),
        };
        let value = self.decimal_comma(value);
        fields.push(Field { name, value });
        self.comma_after_value();
    }

    /// Takes a field's `1,5` for the 1.5 that is meant, which is said: no field has a name that
    /// begins with a digit.
    fn decimal_comma(&mut self, value: Node) -> Node {
        let (comma, after) = (self.token(0), self.token(1));
        let joined = comma.kind == TokenKind::Comma
            && matches!(after.kind, TokenKind::Number(_))
            && value.span.end == comma.span.start
            && comma.span.end == after.span.start;
        let Value::Number(_) = value.value else { return value };
        let (span, end) = (value.span.start..after.span.end, after.span.clone());
        let digits = self.text.get(end).unwrap_or("").bytes().all(|byte| byte.is_ascii_digit());
        let written = self.text.get(span.clone()).unwrap_or("").replace(',', ".");
        let meant = written.parse().ok().filter(|_| joined && digits);
        let Some(meant) = meant else { return value };
        self.at += 2;
        self.sink.say(hints::decimal_comma(span.clone(), &written));
        self.node(span, Value::Number(meant))
    }

    fn parent_is_list(&self) -> bool {
        self.open.iter().rev().nth(1).is_some_and(|(open, _)| *open == '[')
    }

    /// Steps over the comma after a value, or says that it is missing.
    fn comma_after_value(&mut self) {
        let next = self.span();
        match self.kind() {
            TokenKind::Comma => self.step(),
            TokenKind::Odd(';') => {
                self.sink.say(hints::semicolon(next));
                self.step();
            }
            TokenKind::Close(_) | TokenKind::End => {}
            TokenKind::Odd(c) => {
                let c = *c;
                self.sink.say(hints::odd_character(c, next));
                self.step();
            }
            TokenKind::Colon => {
                self.sink.say(hints::odd_character(':', next));
                self.step();
            }
            TokenKind::Open(_) if self.fields_in_list_begin_here() => {}
            _ if self.unclosed_at == Some(self.at) => {}
            _ => {
                let after = self.previous();
                self.sink.say(hints::missing_comma(after, next));
            }
        }
    }

    /// Whether a bracket opens where a field of a list's member should stand: then the
    /// bracket before is not closed, which says more than a missing comma.
    fn fields_in_list_begin_here(&self) -> bool {
        self.open.last().is_some_and(|(open, _)| *open != '[') && self.parent_is_list()
    }

    /// Whether the bracket `open` ends here; steps over its closing bracket, or says that it
    /// is missing.
    fn closes(&mut self, open: char) -> bool {
        loop {
            let span = self.span();
            match *self.kind() {
                TokenKind::Close(c) if c == hints::closing(open) => {
                    self.step();
                    self.open.pop();
                    return true;
                }
                TokenKind::Close(c) if self.is_stray(c, open) => {
                    self.sink.say(hints::stray_closing(c, span));
                    self.step();
                }
                TokenKind::Close(_) | TokenKind::End => {
                    self.leave_unclosed();
                    return true;
                }
                _ => return false,
            }
        }
    }

    /// Whether a closing bracket that does not fit the innermost one fits none, or stands right
    /// before the one that fits.
    fn is_stray(&self, close: char, open: char) -> bool {
        let fits_outer = self.open.iter().any(|(outer, _)| hints::closing(*outer) == close);
        !fits_outer || self.token(1).kind == TokenKind::Close(hints::closing(open))
    }

    /// Ends the innermost bracket without its closing bracket, which is said; of several left
    /// open at the end of the file only the innermost is spoken of.
    fn leave_unclosed(&mut self) {
        let noticed = self.span();
        if let Some((open, opened)) = self.open.pop() {
            // Behind a comment without end nothing is known of brackets.
            if !self.comment_lost {
                self.sink.say(hints::not_closed(open, opened, noticed));
            }
            self.unclosed_at = Some(self.at);
        }
        if *self.kind() == TokenKind::End {
            self.open.clear();
        }
    }
}
