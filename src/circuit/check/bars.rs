//! Bars that are named by one slip of the finger: what lands there would hang in the air.

use std::collections::BTreeSet;

use crate::circuit::{BranchCircuit, Description, PartKind};

use super::references::{alone, keys};
use super::{At, Found, Meetings};

/// Letters that may differ.
const SLIPS_MAX: usize = 2;

/// Names shorter than this are not compared: L1 and L2 are two bars.
const LETTERS_MIN: usize = 4;

/// The bars that a breaker's neutral and ground land on.
pub(super) fn of_circuit(circuit: &BranchCircuit, meetings: &Meetings<'_>, found: &mut Found) {
    let landings = [
        ("neutral_landing", &circuit.neutral_landing),
        ("ground_landing", &circuit.ground_landing),
    ];
    for (property, landing) in landings {
        if let Some((bar, _)) = landing {
            let at = At::new(PartKind::BranchCircuit, &circuit.id, property);
            slip(at, bar.as_str(), meetings, found);
        }
    }
}

/// The panels that breakers sit in.
pub(super) fn panels(description: &Description) -> BTreeSet<&str> {
    let buses = description.branch_circuits.iter().map(|circuit| circuit.bus.as_str());
    buses.filter_map(|bus| Some(bus.rsplit_once('.')?.0)).collect()
}

/// The bars of panels that cables land on.
pub(super) fn of_cables(description: &Description, meetings: &Meetings<'_>, found: &mut Found) {
    let panels = panels(description);
    for cable in &description.cables {
        for landing in cable.ends.iter().flatten() {
            let to = landing.to.as_str();
            if to.rsplit_once('.').is_some_and(|(panel, _)| panels.contains(panel)) {
                slip(At::new(PartKind::Cable, &cable.id, "ends"), to, meetings, found);
            }
        }
    }
}

/// Says so if nothing else reaches the bar and another of its panel is spelt almost alike.
fn slip(at: At<'_>, bar: &str, meetings: &Meetings<'_>, found: &mut Found) {
    if !alone(bar, meetings) {
        return;
    }
    let like = |other: &&str| is_slip(bar, other);
    let meant: Vec<&str> = keys(meetings).filter(like).collect();
    if !meant.is_empty() {
        let what = format!("nothing else reaches the bar `{bar}`");
        found.unknown(at, bar, what, "a bar of the panel", meant);
    }
}

fn is_slip(one: &str, other: &str) -> bool {
    let (Some((panel, one)), Some((its_panel, other))) =
        (one.rsplit_once('.'), other.rsplit_once('.'))
    else {
        return false;
    };
    let letters = |name: &str| name.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    // Bars may be numbered.
    let numbered = one[..letters(one)] == other[..letters(other)];
    panel == its_panel
        && !numbered
        && one.len().min(other.len()) >= LETTERS_MIN
        && strsim::damerau_levenshtein(one, other) <= SLIPS_MAX
}
