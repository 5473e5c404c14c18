//! A sentence of the kind that was begun, for who went wrong in it.

use crate::circuit::{Circuit, Outlet};
use crate::condition::words::known::Known;
use crate::condition::words::lexer::Token;
use crate::condition::words::problem::Problem;
use crate::condition::words::speak;
use crate::lookalike::outlet_at;

use super::{showing, spot};

/// The instruments that sentences begin with.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Begun {
    Tester,
    Meter,
    Detector,
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
    let named = sentence.iter().find_map(|token| {
        let spelt = known.spelling(token.text)?;
        outlet_at(known.circuit, spelt).ok()
    });
    let mut any = known.circuit.outlets().map(|(_, outlet)| outlet);
    let outlet = named.filter(fits).or_else(|| any.find(fits));
    problem.example = outlet.and_then(|outlet| of_outlet(known, begun, outlet));
    problem
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
