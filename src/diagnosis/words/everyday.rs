//! What people put around what they say: `my`, `that old`, `I think`, when it began; names in several words.

use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::lexicon::Class;

use super::called;
use super::doubt::doubted;
use super::measured_first::is_reading;

/// What may be called by its name in several words.
const NAMED: [Class; 5] = [Class::Load, Class::Place, Class::Device, Class::Switch, Class::Circuit];

/// Whose it is, which says nothing of a circuit that has one owner.
const WHOSE: [&str; 6] = ["my", "our", "your", "his", "her", "their"];

/// Pointed at: the same as `the` before a name.
const POINTED: [&str; 4] = ["that", "this", "those", "these"];

/// What is said of a thing, between `the` and its name.
const LOOKS: [&str; 5] = ["old", "new", "little", "small", "big"];

/// Names of so many words are looked for.
const WORDS_MAX: usize = 4;

/// Begins since when it is so.
const SINCE: [&str; 2] = ["ever since", "since"];

/// After which it is so.
const EVENTS: [&str; 24] = [
    "bang",
    "loud bang",
    "pop",
    "flash",
    "spark",
    "short circuit",
    "rain",
    "rains",
    "storm",
    "storms",
    "thunderstorm",
    "lightning",
    "lightning strike",
    "flood",
    "frost",
    "snow",
    "outage",
    "blackout",
    "power cut",
    "power failure",
    "power outage",
    "move",
    "renovation",
    "weekend",
];

/// How words begin that tell of something that hurts or burns: whoever says since when says it too.
const HURTS: [&str; 24] = [
    "arc",
    "bit",
    "burn",
    "buzz",
    "crackl",
    "electrocut",
    "fire",
    "flam",
    "glow",
    "heat",
    "hot",
    "jolt",
    "melt",
    "scorch",
    "shock",
    "singe",
    "sizzl",
    "smel",
    "smok",
    "spark",
    "tingl",
    "trip",
    "warm",
    "zap",
];

/// How many, in words.
const COUNTS: [&str; 11] =
    ["a few", "a couple of", "several", "some", "two", "three", "four", "five", "six", "a", "one"];

/// When it was noticed, or for how long, said last.
const LATELY: [&str; 36] = [
    "on monday",
    "on tuesday",
    "on wednesday",
    "on thursday",
    "on friday",
    "on saturday",
    "on sunday",
    "the other day",
    "recently",
    "lately",
    "at the same time",
    "this month",
    "last month",
    "again and again",
    "anymore",
    "any more",
    "any longer",
    "for days",
    "for weeks",
    "for months",
    "for ages",
    "for a while",
    "for some time",
    "please",
    "yesterday",
    "last night",
    "last week",
    "this morning",
    "this afternoon",
    "this evening",
    "this week",
    "tonight",
    "overnight",
    "all of a sudden",
    "on me",
    "on us",
];

/// Who says so, or how sure of it, said first.
const SAID_BY: [&str; 43] = [
    "i think that",
    "i think",
    "i believe that",
    "i believe",
    "i guess",
    "i would say",
    "we think that",
    "we think",
    "we believe",
    "she says that",
    "she says",
    "she said that",
    "she said",
    "he says that",
    "he says",
    "he said that",
    "he said",
    "they say that",
    "they say",
    "they said that",
    "they said",
    "the customer says",
    "customer says",
    "the customer said",
    "customer said",
    "the owner says",
    "owner says",
    "the tenant says",
    "tenant says",
    "the caller says",
    "caller says",
    "it looks like",
    "looks like",
    "it seems like",
    "it seems that",
    "it seems as if",
    "it seems",
    "seems like",
    "seems that",
    "seems",
    "it appears that",
    "it appears",
    "apparently",
];

/// How much it is so: each says `very`.
const VERY: [&str; 16] = [
    "super",
    "really",
    "way",
    "very",
    "extremely",
    "awfully",
    "terribly",
    "incredibly",
    "insanely",
    "ridiculously",
    "unusually",
    "seriously",
    "crazy",
    "mega",
    "real",
    "pretty",
];

/// What may be so very much.
const VERY_WHAT: [&str; 14] = [
    "hot", "warm", "bright", "brighter", "dim", "dimmer", "weak", "slow", "slowly", "slower",
    "fast", "faster", "faint", "cold",
];

/// What is said of something behind a short `is`, as in `breaker's fine`.
const IS_SO: [&str; 22] = [
    "dead", "fine", "ok", "okay", "good", "out", "dark", "warm", "dim", "on", "off", "tripped",
    "not", "gone", "weak", "bright", "still", "working", "alive", "too", "very", "holding",
];

/// The tokens with names as they are spelt, `my` and its like as `the`, and without when it began,
/// which nothing here uses.
pub(super) fn plainly<'r>(known: &'r Known<'r>, tokens: &[Token<'r>]) -> Vec<Token<'r>> {
    let said = without_cries(tokens, is_reading(known, tokens));
    let told = without_whose_word(known, &said);
    match told.len() < said.len() && is_reading(known, told) {
        true => as_shown(known, &doubted(told)),
        false => as_shown(known, told),
    }
}

/// The same of what an instrument is known to have shown, where how sure somebody is tells something.
pub(super) fn as_shown<'r>(known: &'r Known<'r>, tokens: &[Token<'r>]) -> Vec<Token<'r>> {
    let named = with_names(known, &without_cries(tokens, true));
    let named = with_each_of(known, called::by_name(known, named));
    let roomless = without_rooms(known, with_very(known, named));
    let owned = without_owners(known, &with_marks(known, roomless));
    without_when(known, owned)
}

/// Without `I think`, `she says`: it is taken for so, whoever says it.
fn without_whose_word<'t, 'r>(known: &Known<'_>, tokens: &'t [Token<'r>]) -> &'t [Token<'r>] {
    let mut rest = tokens;
    while let Some(count) = follows(rest, 0, &SAID_BY) {
        let after = rest.get(count..).unwrap_or_default();
        let marks = after.iter().take_while(|token| token.kind == TokenKind::Comma).count();
        let said = after.get(marks..).unwrap_or_default();
        // A name may be spelt so.
        let names = rest.iter().take(count).any(|token| is_name(known, token));
        if said.is_empty() || names {
            break;
        }
        rest = said;
    }
    rest
}

/// `super hot`, `really dim` as `very hot`, `very dim`; `way too hot` as `too hot`.
fn with_very<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let is = |token: &Token<'_>, words: &[&str]| {
        token.kind == TokenKind::Word
            && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
            && !is_name(known, token)
    };
    let mut said: Vec<Token<'r>> = Vec::with_capacity(tokens.len());
    let mut rest = tokens.as_slice();
    while let Some(token) = rest.first() {
        let loud = rest.iter().take_while(|token| is(token, &VERY)).count();
        let after = rest.get(loud..).unwrap_or_default();
        let next = after.first();
        if loud > 0 && next.is_some_and(|next| is(next, &VERY_WHAT)) {
            said.push(Token { text: "very", ..token.clone() });
            rest = after;
        } else if loud > 0 && next.is_some_and(|next| is(next, &["too"])) {
            rest = after;
        } else {
            said.push(token.clone());
            rest = rest.get(1..).unwrap_or_default();
        }
    }
    said
}

/// `nothing works in the closet or the nursery`: in neither, so that each is meant.
fn with_each_of<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let is = |token: &Token<'_>, words: &[&str]| {
        token.kind == TokenKind::Word
            && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
    };
    if !tokens.first().is_some_and(|first| is(first, &["nothing", "no", "none"])) {
        return tokens;
    }
    tokens
        .into_iter()
        .map(|token| match is(&token, &["or", "nor"]) && !is_name(known, &token) {
            true => Token { text: "and", ..token },
            false => token,
        })
        .collect()
}

/// `living room` as `living`, where that is called so and the room is not.
fn without_rooms<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let is_of_a_name = |at: usize| {
        let before = at.checked_sub(1).and_then(|at| tokens.get(at));
        let room = tokens.get(at).filter(|token| {
            token.kind == TokenKind::Word
                && token.text.eq_ignore_ascii_case("room")
                && !is_name(known, token)
        });
        room.is_some()
            && before.is_some_and(|before| {
                let called = [Class::Place, Class::Circuit];
                known.spelling_among(&called, before.text).is_some()
            })
    };
    let rooms: Vec<bool> = (0..tokens.len()).map(is_of_a_name).collect();
    tokens.into_iter().zip(rooms).filter(|(_, is_room)| !is_room).map(|(token, _)| token).collect()
}

/// Without what is only called out at the end; what was read off may be asked there.
fn without_cries<'r>(tokens: &[Token<'r>], is_read: bool) -> Vec<Token<'r>> {
    let is_cry = |token: &&Token<'_>| token.text == "!" || token.text == "?" && !is_read;
    let cries = tokens.iter().rev().take_while(is_cry).count();
    tokens.get(..tokens.len() - cries).unwrap_or(tokens).to_vec()
}

/// `kitchen - dead` and `kitchen/bath dead` as with a comma.
fn with_marks<'r>(known: &Known<'_>, tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    let is_mark = |at: usize| {
        let named = |at: Option<usize>| {
            at.and_then(|at| tokens.get(at)).is_some_and(|token| is_name(known, token))
        };
        let (before, after) = (named(at.checked_sub(1)), named(Some(at + 1)));
        match tokens.get(at).filter(|token| token.kind == TokenKind::Other).map(|one| one.text) {
            Some("-" | "=" | "\u{2013}" | "\u{2014}") => before && !after,
            Some("/" | "+" | "&") => before && after,
            _ => false,
        }
    };
    let marked: Vec<bool> = (0..tokens.len()).map(is_mark).collect();
    let each = tokens.into_iter().zip(marked);
    let comma = |(token, is_mark): (Token<'r>, bool)| match is_mark {
        true => Token { text: ",", kind: TokenKind::Comma, ..token },
        false => token,
    };
    each.map(comma).collect()
}

fn is_name(known: &Known<'_>, token: &Token<'_>) -> bool {
    known.spelling_among(&NAMED, token.text).is_some()
}

fn is_word(token: &Token<'_>) -> bool {
    matches!(token.kind, TokenKind::Word | TokenKind::Number)
}

/// `table lamp` as `table-lamp`, where one thing is called so.
fn with_names<'r>(known: &'r Known<'r>, tokens: &[Token<'r>]) -> Vec<Token<'r>> {
    let mut named = Vec::with_capacity(tokens.len());
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        let joined = (2..=WORDS_MAX).rev().find_map(|count| {
            let words = tokens.get(at..at + count)?;
            let spelt = spelt_as_one(known, words)?;
            let end = words.last().map_or(token.span.end, |last| last.span.end);
            Some((
                Token { text: spelt, kind: TokenKind::Quoted, span: token.span.start..end },
                count,
            ))
        });
        match joined {
            Some((name, count)) => {
                named.push(name);
                at += count;
            }
            None => {
                named.push(token.clone());
                at += 1;
            }
        }
    }
    named
}

/// The one name that these words spell, parted as names are.
fn spelt_as_one<'r>(known: &'r Known<'r>, words: &[Token<'_>]) -> Option<&'r str> {
    if !words.iter().all(is_word) {
        return None;
    }
    let texts: Vec<&str> = words.iter().map(|word| word.text).collect();
    let spelt = |mark: &str| known.spelling_among(&NAMED, &texts.join(mark));
    ["-", "_", ""].into_iter().find_map(spelt)
}

/// `my`, `that old` as `the`.
fn without_owners<'r>(known: &Known<'_>, tokens: &[Token<'r>]) -> Vec<Token<'r>> {
    let is = |token: &Token<'_>, words: &[&str]| {
        token.kind == TokenKind::Word
            && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
            && !is_name(known, token)
    };
    let names_next = |at: usize| {
        let rest = tokens.get(at..).unwrap_or_default();
        let looks = rest.iter().take_while(|token| is(token, &LOOKS)).count();
        rest.get(looks).is_some_and(|token| is_name(known, token)).then_some(looks)
    };
    let mut owned: Vec<Token<'r>> = Vec::with_capacity(tokens.len());
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        at += 1;
        let names = names_next(at);
        let is_the = is(token, &WHOSE)
            || names.is_some() && (is(token, &POINTED) || token.text.eq_ignore_ascii_case("the"));
        if !is_the {
            let before = at.checked_sub(2).and_then(|at| tokens.get(at));
            // `there's a smell`
            let is_short = token.text == "'s"
                && (before.is_some_and(|before| is(before, &["there", "it", "that"]))
                    || tokens.get(at).is_some_and(|next| is(next, &IS_SO)));
            owned.push(match is_short {
                true => Token { text: "is", kind: TokenKind::Word, ..token.clone() },
                false => token.clone(),
            });
            continue;
        }
        owned.push(Token { text: "the", ..token.clone() });
        at += names.unwrap_or_default();
    }
    owned
}

/// Since when it is so, at the beginning or at the end, is left out.
fn without_when<'r>(known: &Known<'_>, mut tokens: Vec<Token<'r>>) -> Vec<Token<'r>> {
    if let Some(count) = bang_said(&tokens) {
        tokens.drain(..count);
    }
    let named = |count: usize| tokens.iter().take(count).any(|token| is_name(known, token));
    let begun = when_said(&tokens).filter(|&count| count < tokens.len() && !named(count));
    if let Some(count) = begun {
        tokens.drain(..count);
    }
    let is_end = |at: &usize| {
        // `does not trip any more` says more than that it did not.
        let trips = tokens[*at - 1].text.eq_ignore_ascii_case("trip");
        !trips && is_when_to_the_end(known, &tokens[*at..])
    };
    let start = (1..tokens.len()).find(is_end);
    tokens.truncate(start.unwrap_or(tokens.len()));
    tokens
}

/// How many tokens at the beginning say with what noise it began.
fn bang_said(tokens: &[Token<'_>]) -> Option<usize> {
    let there =
        follows(tokens, 0, &["there was", "heard", "i heard", "we heard", "with"]).unwrap_or(0);
    let a = follows(tokens, there, &["a"]).unwrap_or(there);
    let bang = follows(tokens, a, &["loud bang", "loud pop", "big flash", "bang", "pop", "flash"])?;
    let and = follows(tokens, bang, &["and then", "and now", "and", "then", "now"])?;
    (and < tokens.len()).then_some(and)
}

/// How many tokens at the beginning say since when.
fn when_said(tokens: &[Token<'_>]) -> Option<usize> {
    let since = follows(tokens, 0, &SINCE).or_else(|| follows(tokens, 0, &["after"]))?;
    let pointed = follows(tokens, since, &["the last", "the", "that", "this", "a", "last"]);
    let at = pointed.unwrap_or(since);
    follows(tokens, at, &EVENTS).or_else(|| follows(tokens, at, &LATELY))
}

/// Whether these tokens say when it began, and nothing else.
fn is_when_to_the_end(known: &Known<'_>, tokens: &[Token<'_>]) -> bool {
    let is_end = |at: usize| {
        let rest = tokens.get(at..).unwrap_or_default();
        rest.iter().all(|token| token.kind == TokenKind::Comma || token.text == ".")
    };
    // Whatever it is since: what names nothing and joins nothing is no other sentence.
    let since = follows(tokens, 0, &SINCE).or_else(|| after_what_was_done(tokens));
    let is_since = since.is_some_and(|at| {
        tokens.get(at..).is_some_and(|rest| {
            !rest.is_empty()
                && rest.iter().all(|token| {
                    let joins = ["and", "but", "with", "when"];
                    is_word(token)
                        && known.spelling(token.text).is_none()
                        && !hurts(token)
                        && !joins.iter().any(|word| token.text.eq_ignore_ascii_case(word))
                })
        })
    });
    // A place may be called as an event is.
    let names = |token: &Token<'_>| is_name(known, token);
    if tokens.iter().any(names) {
        return false;
    }
    is_since
        || for_so_long(tokens).is_some_and(is_end)
        || when_said(tokens).is_some_and(is_end)
        || follows(tokens, 0, &LATELY).is_some_and(is_end)
}

/// `after we painted the wall`: where what was done begins, if it is no switching or plugging in, which
/// says when and not since when.
fn after_what_was_done(tokens: &[Token<'_>]) -> Option<usize> {
    let who = [
        "after i",
        "after we",
        "after he",
        "after she",
        "after they",
        "after somebody",
        "after someone",
        "after my",
        "after our",
    ];
    let at = follows(tokens, 0, &who)?;
    let sets = |token: &Token<'_>| {
        let said = token.text.to_lowercase();
        SETS.iter().any(|begins| said.starts_with(begins))
    };
    (!tokens.get(at..)?.iter().any(sets)).then_some(at)
}

/// How words begin by which something is set otherwise.
const SETS: [&str; 12] = [
    "reset", "close", "open", "turn", "switch", "plug", "unplug", "start", "stop", "run", "ran",
    "us",
];

/// Whether a word tells of something that hurts or burns.
fn hurts(token: &Token<'_>) -> bool {
    let said = token.text.to_lowercase();
    HURTS.iter().any(|begins| said.starts_with(begins))
}

/// Where `for two days` ends.
fn for_so_long(tokens: &[Token<'_>]) -> Option<usize> {
    let about = follows(tokens, 0, &["for about", "for almost", "for nearly", "for over", "for"])?;
    let is_count = tokens.get(about).is_some_and(|token| token.kind == TokenKind::Number);
    let counted = follows(tokens, about, &COUNTS).or_else(|| is_count.then_some(about + 1))?;
    follows(tokens, counted, &["days", "day", "weeks", "week", "months", "month", "years", "year"])
}

/// Where the first of these phrases ends that stands there.
fn follows(tokens: &[Token<'_>], at: usize, phrases: &[&str]) -> Option<usize> {
    let rest = tokens.get(at..)?;
    let end = |phrase: &&str| {
        let words = phrase.split(' ');
        let count = words.clone().count();
        let there = rest.get(..count)?;
        let same = |(token, word): (&Token<'_>, &str)| {
            token.kind == TokenKind::Word && token.text.eq_ignore_ascii_case(word)
        };
        there.iter().zip(words).all(same).then_some(at + count)
    };
    // The longest, so that none stands before its beginning.
    phrases.iter().filter_map(end).max()
}
