//! A sentence of the kind that was begun, for who went wrong in it.

use crate::circuit::{Circuit, Outlet};
use crate::condition::words::known::Known;
use crate::condition::words::lexer::{Token, TokenKind};
use crate::condition::words::problem::Problem;
use crate::condition::words::speak;
use crate::lookalike::outlet_at;

use super::amount::Unit;
use super::reader::Reader;
use super::{showing, spot};

/// What testers of a whole loop or ring show, which is not read here.
const LOOPS: [&str; 8] = ["zs", "ze", "loop", "r1", "r2", "rn", "ring", "impedance"];

/// What is said of volts without a figure that has their unit.
const VOLTS: [&str; 2] = ["voltage", "volts"];

/// The same of ohms.
const OHMS: [&str; 3] = ["continuity", "resistance", "insulation"];

/// The instruments that sentences begin with.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Begun {
    Tester,
    Meter,
    Detector,
    Ohmmeter,
    Clamp,
}

impl Begun {
    fn with(first: &str) -> Option<Self> {
        let word = first.to_lowercase();
        match () {
            () if word.contains("tester") => Some(Self::Tester),
            () if word.contains("meter") => Some(Self::Meter),
            () if word.contains("contact") || word.contains("detector") || word == "pen" => {
                Some(Self::Detector)
            }
            () => None,
        }
    }
}

/// The problem with an example at the receptacle that was named, or any, between slots it has.
pub(super) fn with_example(
    known: &Known<'_>,
    sentence: &[Token<'_>],
    mut problem: Problem,
) -> Problem {
    if problem.example.is_some() || !problem.suggestions.is_empty() {
        return problem;
    }
    let Some(begun) = sentence.first().and_then(|token| Begun::with(token.text)) else {
        return problem;
    };
    // A plug-in tester goes only where there is a neutral.
    let fits = |outlet: &&Outlet| {
        begun != Begun::Tester || outlet.slots.iter().any(|(slot, _)| slot == "neutral")
    };
    let mut any = known.circuit.outlets().map(|(_, outlet)| outlet);
    let outlet = outlet_named(known, sentence).filter(fits).or_else(|| any.find(fits));
    problem.example = outlet.and_then(|outlet| of_outlet(known, begun, outlet));
    problem
}

/// The first receptacle that is named.
fn outlet_named<'r>(known: &Known<'r>, sentence: &[Token<'_>]) -> Option<&'r Outlet> {
    sentence.iter().find_map(|token| outlet_at(known.circuit, known.spelling(token.text)?).ok())
}

/// How it is said what was measured, where a sentence that means nothing here has a figure with its unit or
/// names what is measured.
pub(super) fn measured(reader: &Reader<'_>) -> Option<Problem> {
    let (known, sentence) = (reader.known, reader.rest());
    let is = |token: &Token<'_>, words: &[&str]| {
        let is_name = known.is_any_name(token.text);
        !is_name && words.iter().any(|word| token.text.eq_ignore_ascii_case(word))
    };
    let says = |words: &[&str]| sentence.iter().any(|token| is(token, words));
    let has = |unit: Unit| {
        let mut pairs = sentence.iter().zip(sentence.iter().skip(1));
        pairs
            .any(|(number, one)| number.kind == TokenKind::Number && unit.power(one.text).is_some())
    };
    let is_loop = says(&LOOPS);
    let begun = match () {
        () if has(Unit::Ampere) => Begun::Clamp,
        () if is_loop || has(Unit::Ohm) || says(&OHMS) => Begun::Ohmmeter,
        () if has(Unit::Volt) || says(&VOLTS) => Begun::Meter,
        () => return None,
    };
    let message = match is_loop {
        true => {
            "testers of a whole loop or ring are not read here: an ohmmeter between two ends, or a loaded test?"
        }
        false => {
            "what was measured is said with its instrument, where it was held, and between what"
        }
    };
    let first = || known.circuit.outlets().next().map(|(_, outlet)| outlet);
    let outlet = outlet_named(known, sentence).or_else(first)?;
    let mut problem = reader.here(message);
    problem.example = of_outlet(known, begun, outlet);
    Some(problem)
}

fn of_outlet(known: &Known<'_>, begun: Begun, outlet: &Outlet) -> Option<String> {
    let vocabulary = known.circuit.parts().vocabulary;
    let slots: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
    let first_two = || Some((*slots.first()?, *slots.get(1)?));
    let (first, second) = match begun {
        Begun::Tester => ("hot", "neutral"),
        _ => spot::natural_pair(&slots).or_else(first_two)?,
    };
    let at = speak::name(outlet.address.as_str());
    let [p, q] = [first, second].map(|slot| showing::slot_word(vocabulary, slot));
    Some(match begun {
        Begun::Tester => format!("tester at {at}: {p}-{q} dark"),
        Begun::Meter => {
            let volt = match second.starts_with("hot") {
                false => supply_volt(known.circuit),
                true => between_lines_volt(known.circuit),
            };
            let volt = volt.round();
            format!("voltmeter at {at}: {p}-{q} {volt} V")
        }
        Begun::Ohmmeter => format!("ohmmeter at {at}: {p}-{q} 0.3 ohm with breaker off"),
        Begun::Clamp => {
            let places = known.circuit.parts().cables.iter().map(|cable| cable.id.as_str());
            let own =
                |cable: &&str| cable.strip_suffix(at.as_str()).is_some_and(|c| c.ends_with('-'));
            let cable = places.clone().find(own).or_else(|| places.clone().next())?;
            format!("clamp on {p} of cable {}: 3.2 A", speak::name(cable))
        }
        Begun::Detector => format!("non-contact at {at}: {p} beeps, {q} silent"),
    })
}

/// Volts that the supply holds between a line and its neutral; where it has no winding, what is
/// usual.
pub(super) fn supply_volt(circuit: &Circuit) -> f64 {
    let windings = circuit.parts().supply.windings.iter();
    let volts = windings.map(|winding| winding.emf_volt.magnitude()).filter(|volt| *volt > 0.0);
    volts.reduce(f64::min).unwrap_or(USUAL_VOLT)
}

/// Volts between two lines of the supply.
fn between_lines_volt(circuit: &Circuit) -> f64 {
    let [one, other, ..] = circuit.parts().supply.windings.as_slice() else {
        return supply_volt(circuit);
    };
    (one.emf_volt - other.emf_volt).magnitude()
}

const USUAL_VOLT: f64 = 120.0;
