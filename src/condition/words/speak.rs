//! Names, joints and values in words that mean the same when heard.

use crate::circuit::{JointKind, Side, Vocabulary};

use super::known::{Known, KnownJoint};
use super::lexer::{TokenKind, tokens};
use super::lexicon::{self, JointWord};
use super::resolve::joints::matching;
use super::sentence::{Said, Spot};

/// A conductor as the circuit's vocabulary calls it.
pub(crate) fn conductor(vocabulary: Vocabulary, name: &str) -> &str {
    match (vocabulary, name) {
        (Vocabulary::Iec, "hot") => "line",
        (Vocabulary::Iec, "hot2") => "line2",
        (Vocabulary::Iec, "hot3") => "line3",
        (Vocabulary::Iec, "ground") => "earth",
        (_, name) => name,
    }
}

/// A side of a box as the vocabulary calls it: `line` is a conductor to IEC.
pub(crate) fn side(vocabulary: Vocabulary, side: Side) -> &'static str {
    match (vocabulary, side) {
        (Vocabulary::NorthAmerican, Side::Line) => "line side",
        (Vocabulary::Iec, Side::Line) => "supply side",
        (_, Side::Load) => "load side",
        (_, Side::Here) => "",
    }
}

/// A name, in quotes if it would be heard as something else.
pub(crate) fn name(name: &str) -> String {
    let plain = matches!(tokens(name).as_slice(), [token] if token.kind == TokenKind::Word)
        && lexicon::word(name).is_none()
        && lexicon::unit(name).is_none();
    match plain {
        true => name.to_owned(),
        false if name.contains('"') => format!("'{name}'"),
        false => format!("\"{name}\""),
    }
}

/// What a joint is called, in two parts: of what, and where.
pub(crate) struct JointWords {
    /// As `neutral`, or the whole of it where there is no better (`service neutral`).
    pub(crate) subject: String,
    /// As `at kiln, line side`.
    pub(crate) place: Option<String>,
}

/// What a joint is called.
pub(crate) fn joint(known: &Known<'_>, joint: &KnownJoint) -> JointWords {
    let whole = |subject: String| JointWords { subject, place: None };
    let vocabulary = known.circuit.parts().vocabulary;
    let element = joint.joint.element.as_str();
    for class in ["service", "bond", "electrode"] {
        if let Some(id) = element.strip_prefix(class).and_then(|rest| rest.strip_prefix(':')) {
            // Of a service conductor the name is a conductor's, and needs no quotes.
            let plain = class == "service" && lexicon::conductor(id).is_some();
            return whole(match (class, id) {
                ("bond", "main") => "main bond".into(),
                _ if plain => format!("{class} {id}"),
                _ => format!("{class} {}", name(id)),
            });
        }
    }
    match telling_spot(known, joint) {
        Some(spot) => JointWords {
            subject: conductor(vocabulary, &joint.joint.conductor).to_owned(),
            place: Some(at(vocabulary, &spot)),
        },
        None if joint.listed && is_heard(known, joint) => whole(name(joint.joint.address.as_str())),
        None => whole(name(element)),
    }
}

fn is_heard(known: &Known<'_>, joint: &KnownJoint) -> bool {
    known
        .joint_at(joint.joint.address.as_str())
        .is_some_and(|heard| heard.joint.element == joint.joint.element)
}

/// Where in its box a joint is, as short as tells it from the others there.
pub(crate) fn joint_at_place(known: &Known<'_>, joint: &KnownJoint) -> String {
    let vocabulary = known.circuit.parts().vocabulary;
    match telling_spot(known, joint) {
        Some(spot) => {
            let place = place_words(vocabulary, &spot);
            if place.is_empty() { at(vocabulary, &spot) } else { place }
        }
        None => joint.joint.address.to_string(),
    }
}

/// The shortest spot that means this joint and no other.
pub(crate) fn telling_spot(known: &Known<'_>, joint: &KnownJoint) -> Option<Spot> {
    fn said<T>(value: T) -> Option<Said<T>> {
        Some(Said::new(value, 0..0))
    }
    if joint.joint.conductor.is_empty() || !known.hears_conductor(&joint.joint.conductor) {
        return None;
    }
    let word = lexicon::word(JointWord::of(joint.joint.kind));
    let kind: Vec<Said<JointWord>> = match word {
        Some(lexicon::Word::Joint(JointWord::Slot)) if joint.load.is_some() => {
            vec![Said::new(JointWord::Plug, 0..0)]
        }
        Some(lexicon::Word::Joint(word)) => vec![Said::new(word, 0..0)],
        Some(lexicon::Word::Class(class)) => super::grammar::joint_of_class(class)
            .map(|word| Said::new(word, 0..0))
            .into_iter()
            .collect(),
        _ => Vec::new(),
    };
    let sided = joint.joint.side != Side::Here;
    let side = if sided { said(joint.joint.side) } else { None };
    let toward = || joint.toward.clone().and_then(said);
    for owner in known.owners(joint) {
        let base = Spot {
            conductor: said(joint.joint.conductor.clone()),
            name: said(owner),
            side: side.clone(),
            ..Spot::default()
        };
        let with_kind = Spot { joints: kind.clone(), ..base.clone() };
        let at_panel = matches!(joint.joint.kind, JointKind::Breaker | JointKind::Bar);
        let by_kind = Spot { side: None, ..with_kind.clone() };
        let tries = if at_panel {
            vec![by_kind, base.clone(), Spot { toward: toward(), ..base }]
        } else if sided {
            vec![
                base.clone(),
                Spot { toward: toward(), ..base },
                with_kind.clone(),
                Spot { toward: toward(), ..with_kind },
            ]
        } else {
            vec![with_kind, base]
        };
        let telling = tries.into_iter().find(|spot| {
            matches!(matching(known, spot).as_slice(),
                [only] if only.joint.element == joint.joint.element)
        });
        if telling.is_some() {
            return telling;
        }
    }
    None
}

/// `at kiln, line side`.
fn at(vocabulary: Vocabulary, spot: &Spot) -> String {
    let place = place_words(vocabulary, spot);
    let owner = spot.name.as_ref().map_or(String::new(), |owner| name(&owner.value));
    if place.is_empty() { format!("at {owner}") } else { format!("at {owner}, {place}") }
}

/// `load side to sink`, `pigtail`.
fn place_words(vocabulary: Vocabulary, spot: &Spot) -> String {
    let mut words = Vec::new();
    if let Some(said) = &spot.side {
        words.push(side(vocabulary, said.value).to_owned());
        if let Some(toward) = &spot.toward {
            let preposition = if said.value == Side::Line { "from" } else { "to" };
            words.push(format!("{preposition} {}", name(&toward.value)));
        }
    }
    words.extend(spot.joints.iter().map(|joint| joint_word(joint.value).to_owned()));
    words.join(" ")
}

fn joint_word(word: JointWord) -> &'static str {
    let is = |(_, found): &&(&str, lexicon::Word)| *found == lexicon::Word::Joint(word);
    match word {
        JointWord::Breaker => "breaker",
        JointWord::Bond => "bond",
        JointWord::Electrode => "clamp",
        JointWord::Service => "service",
        _ => lexicon::WORDS.iter().find(is).map_or("", |(text, _)| text),
    }
}

/// `0.4 ohm`, `200 kohm`, with every digit it takes to mean exactly this value.
pub(crate) fn ohm(value: f64) -> String {
    let (unit, power) = match value.abs() {
        size if size >= 1e9 => ("Gohm", 9),
        size if size >= 1e6 => ("Mohm", 6),
        size if size >= 1e3 => ("kohm", 3),
        size if size < 0.1 && size > 0.0 => ("mohm", -3),
        _ => ("ohm", 0),
    };
    format!("{} {unit}", shifted(value, -power))
}

/// `10 pF`.
pub(crate) fn farad(value: f64) -> String {
    let (unit, power) = match value.abs() {
        size if size >= 1e-6 => ("uF", -6),
        size if size >= 1e-9 => ("nF", -9),
        _ => ("pF", -12),
    };
    format!("{} {unit}", shifted(value, -power))
}

/// `30 %`, or `halfway`.
pub(crate) fn along(fraction: f64) -> String {
    let text = shifted(fraction, 2);
    if text == "50" { "halfway".into() } else { format!("at {text} %") }
}

/// The shortest decimal digits that mean `value`, times ten to the `power`, exactly.
pub(crate) fn shifted(value: f64, power: i32) -> String {
    let text = format!("{value:e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent = exponent.parse::<i32>().unwrap_or(0) + power;
    let (sign, mantissa) = match mantissa.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", mantissa),
    };
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let decimals = mantissa.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    // value = digits x 10^(exponent - decimals)
    let point = i32::try_from(decimals).map_or(exponent, |decimals| exponent - decimals);
    let plain = match usize::try_from(point) {
        Ok(zeros) if zeros <= 6 => format!("{digits}{}", "0".repeat(zeros)),
        _ if (-9..0).contains(&point) => {
            let places = usize::try_from(-point).unwrap_or(0);
            let padded = format!("{digits:0>width$}", width = places + 1);
            let split = padded.len() - places;
            format!("{}.{}", padded.get(..split).unwrap_or("0"), padded.get(split..).unwrap_or(""))
        }
        _ => format!("{digits}e{point}"),
    };
    let plain = if plain.bytes().all(|digit| digit == b'0') { "0".into() } else { plain };
    format!("{sign}{plain}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn resistances_are_written_as_people_write_them() {
        let written: Vec<String> =
            [0.4, 2e5, 0.002, 25.0, 1.5e6, 1.74e9, 0.0, 1e-9].into_iter().map(ohm).collect();
        let expected = [
            "0.4 ohm",
            "200 kohm",
            "2 mohm",
            "25 ohm",
            "1.5 Mohm",
            "1.74 Gohm",
            "0 ohm",
            "0.000001 mohm",
        ];
        assert_eq!(written, expected);
        assert_eq!(farad(1e-11), "10 pF");
        assert_eq!(along(0.3), "at 30 %");
        assert_eq!(along(0.07), "at 7 %");
    }

    #[test]
    fn a_name_that_is_a_word_is_quoted() {
        assert_eq!(name("kiln"), "kiln");
        assert_eq!(name("screw"), "\"screw\"");
        assert_eq!(name("two words"), "\"two words\"");
    }
}
