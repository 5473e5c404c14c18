//! What a person reads off a supply and a cable: volts, system, earthing, size and conductors.

use crate::circuit::table::{AwgSize, Metal, Mm2Size};
use crate::circuit::{Cable, Circuit, Vocabulary};
use crate::report::vocabulary::{conductor, prose};

/// Sizes differ by more than this share in what a metre of them has.
const SAME_SIZE: f64 = 0.01;

/// Cables are copper at this temperature unless their file says otherwise, degrees Celsius.
const CELSIUS: f64 = 20.0;

/// The supply: volts without load, system, earthing.
pub(super) fn in_words(circuit: &Circuit) -> String {
    let windings = &circuit.parts().supply.windings;
    let volt = windings.first().map_or(0.0, |one| one.emf_volt.magnitude());
    let between = match windings.as_slice() {
        [one, other, ..] => Some((one.emf_volt - other.emf_volt).magnitude()),
        _ => None,
    };
    let vocabulary = circuit.parts().vocabulary;
    let hot = conductor(vocabulary, "hot");
    let system = match (windings.len(), between) {
        (2, Some(between)) => format!("split phase, {} V from {hot} to {hot}", tenths(between)),
        (3, Some(between)) => format!("three phases, {} V from {hot} to {hot}", tenths(between)),
        _ => "one phase".to_owned(),
    };
    format!(
        "{} V from {hot} to neutral without load; {system}; {}",
        tenths(volt),
        prose(vocabulary, earthing(circuit))
    )
}

fn earthing(circuit: &Circuit) -> &'static str {
    let supply = &circuit.parts().supply;
    let is_main = |a: &str, b: &str| [a, b] == ["panel.neutral", "panel.ground"];
    let bonded = supply.bonds.iter().any(|bond| {
        let (a, b) = (bond.between.0.as_str(), bond.between.1.as_str());
        is_main(a, b) || is_main(b, a)
    });
    let comes = supply.conductors.iter().any(|one| one.to.as_str() == "panel.ground");
    let rod = supply.electrodes.iter().any(|one| one.node.as_str() == "panel.ground");
    match (bonded, comes, rod) {
        (true, _, _) => "neutral and ground joined at the panel (TN-C-S)",
        (false, true, _) => "the ground comes apart from the neutral (TN-S)",
        (false, false, true) => "the ground goes to a rod of its own, not to the neutral (TT)",
        (false, false, false) => "nothing joined to ground",
    }
}

/// Size and conductors of a cable, as `12 AWG: hot, neutral, ground`; the size only where there is one
/// of what its hot has a metre.
pub(super) fn cable_in_words(circuit: &Circuit, cable: &Cable) -> String {
    let vocabulary = circuit.parts().vocabulary;
    let names: Vec<String> =
        cable.conductors.iter().map(|one| conductor(vocabulary, &one.name)).collect();
    let first = cable.conductors.first().map(|one| one.impedance_per_m.resistance_ohm);
    let size = first.and_then(|ohm_per_m| size(ohm_per_m, vocabulary));
    let size = size.map_or_else(String::new, |size| format!("{size}: "));
    format!("{size}{}", names.join(", "))
}

fn size(ohm_per_m: f64, vocabulary: Vocabulary) -> Option<String> {
    let is_it = |size: Option<f64>| {
        size.is_some_and(|of_size| (of_size - ohm_per_m).abs() <= SAME_SIZE * ohm_per_m)
    };
    let awg = || {
        let mut sizes = AwgSize::all().iter();
        let size = sizes.find(|one| is_it(one.resistance_ohm_per_m(Metal::Copper, CELSIUS)))?;
        Some(format!("{} AWG", size.name))
    };
    let mm2 = || {
        let mut sizes = Mm2Size::all().iter();
        let size = sizes.find(|one| is_it(one.resistance_ohm_per_m(Metal::Copper, CELSIUS)))?;
        Some(format!("{} mm\u{b2}", size.area_mm2))
    };
    match vocabulary {
        Vocabulary::NorthAmerican => awg().or_else(mm2),
        Vocabulary::Iec => mm2().or_else(awg),
    }
}

/// Tenths where there are any.
fn tenths(figure: f64) -> f64 {
    (figure * 10.0).round() / 10.0
}
