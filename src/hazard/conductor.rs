//! Conductors that carry more than they are good for while no breaker sees it.

use std::collections::BTreeMap;

use crate::circuit::{BranchCircuit, Cable, Circuit};
use crate::netlist::{Law, NodeId};
use crate::quantity::{Address, Phasor};

use super::{Hazard, HazardKind, Severity, Situation};

/// From this multiple of its ampacity on a conductor is dangerous as it stands: the conventional
/// operating current of its protection may be no higher (IEC 60364-4-43, 433.1).
const DANGEROUS_SHARE: f64 = 1.45;

/// From this multiple on currents add: legs are not quite alike, and ratings are whole numbers.
const ADDING_SHARE: f64 = 1.05;

/// A bus that is further from its usual potential than this share of it has lost its leg.
const FED_SHARE: f64 = 0.3;

/// A breaker that carries this share of a conductor's current or more is in series with it.
const IN_SERIES_SHARE: f64 = 0.95;

/// Neutrals first, then other conductors; of each, one hazard with every run that is too thin.
pub(super) fn overloads(situation: &Situation<'_>) -> Vec<Hazard> {
    let mut found: BTreeMap<bool, Overloaded> = BTreeMap::new();
    for cable in &situation.circuit.parts().cables {
        for conductor in &cable.conductors {
            let Some(ampacity_ampere) = conductor.ampacity_ampere else { continue };
            let wire = format!("wire:{}.{}", cable.id, conductor.name);
            let Some(element) = situation.netlist.find_element(&wire) else { continue };
            let ampere = situation.solution.current(element).magnitude();
            if ampere <= ampacity_ampere || is_seen(situation, ampere, ampacity_ampere) {
                continue;
            }
            let address = Address::from(format!("{}.{}", cable.id, conductor.name));
            let is_other = conductor.name != "neutral";
            // Of a neutral that serves one hot, the hot says it.
            if !is_other && is_of_one_hot(situation, cable, ampere) {
                continue;
            }
            found.entry(is_other).or_default().add(ampere, ampacity_ampere, address);
        }
    }
    let now_neutral = found.contains_key(&false);
    let mut hazards: Vec<Hazard> =
        found.into_iter().map(|(is_other, found)| found.hazard(is_other)).collect();
    if !now_neutral {
        hazards.extend(neutrals_of_one_leg(situation));
    }
    hazards
}

/// Whether a breaker in series is over its rating itself, and small enough for the conductor.
fn is_seen(situation: &Situation<'_>, ampere: f64, ampacity_ampere: f64) -> bool {
    situation.circuit.parts().branch_circuits.iter().any(|branch| {
        let carried = current(situation, branch);
        let rating = branch.breaker.rating_ampere;
        rating.is_some_and(|rating| rating <= ampacity_ampere && carried > rating)
            && carried >= IN_SERIES_SHARE * ampere
    })
}

fn current(situation: &Situation<'_>, branch: &BranchCircuit) -> f64 {
    let pole = situation.netlist.find_element(&format!("breaker:{}", branch.id));
    pole.map_or(0.0, |pole| situation.solution.current(pole).magnitude())
}

/// Runs of one kind that carry too much.
#[derive(Default)]
struct Overloaded {
    /// Of the worst: current and ampacity, amperes.
    worst: Option<(f64, f64)>,
    addresses: Vec<Address>,
}

impl Overloaded {
    fn add(&mut self, ampere: f64, ampacity_ampere: f64, address: Address) {
        let share = |(ampere, ampacity): (f64, f64)| ampere / ampacity;
        if self.worst.is_none_or(|worst| share(worst) < ampere / ampacity_ampere) {
            self.worst = Some((ampere, ampacity_ampere));
        }
        self.addresses.push(address);
    }

    fn hazard(self, is_other: bool) -> Hazard {
        let (ampere, ampacity_ampere) = self.worst.unwrap_or_default();
        let dangerous = ampere > DANGEROUS_SHARE * ampacity_ampere;
        Hazard {
            severity: if dangerous { Severity::Danger } else { Severity::Warning },
            kind: match is_other {
                true => HazardKind::ConductorOverload { ampere, ampacity_ampere, now: true },
                false => HazardKind::NeutralOverload { ampere, ampacity_ampere, now: true },
            },
            addresses: self.addresses,
        }
    }
}

/// Neutrals shared by hots whose currents add in them: nothing is over its rating yet, but the sum
/// of what the breakers let through is more than the neutral is good for.
fn neutrals_of_one_leg(situation: &Situation<'_>) -> Vec<Hazard> {
    let mut hazards = Vec::new();
    for cable in &situation.circuit.parts().cables {
        let neutral = cable.conductors.iter().find(|conductor| conductor.name == "neutral");
        let Some(ampacity_ampere) = neutral.and_then(|neutral| neutral.ampacity_ampere) else {
            continue;
        };
        for landings in &cable.ends {
            let to: Vec<&Address> = landings.iter().map(|landing| &landing.to).collect();
            let most = most_in_neutral(situation, &feeding(situation.circuit, &to));
            if let Some(ampere) = most.filter(|most| *most > ADDING_SHARE * ampacity_ampere) {
                hazards.push(Hazard {
                    severity: Severity::Warning,
                    kind: HazardKind::NeutralOverload { ampere, ampacity_ampere, now: false },
                    addresses: vec![Address::from(format!("{}.neutral", cable.id))],
                });
            }
        }
    }
    hazards
}

/// Whether a bus has lost its leg, and has what comes through loads from another one.
fn is_fed_otherwise(situation: &Situation<'_>, bus: NodeId, volt: Phasor) -> bool {
    let sound = situation.sound.and_then(|(netlist, solution)| {
        solution.potential(netlist.find_node(situation.netlist.address(bus))?)
    });
    sound.is_some_and(|sound| (volt - sound).magnitude() > FED_SHARE * sound.magnitude())
}

/// Whether a single hot of a cable carries what its neutral does.
fn is_of_one_hot(situation: &Situation<'_>, cable: &Cable, neutral_ampere: f64) -> bool {
    let hots = cable.conductors.iter().filter(|c| !matches!(&*c.name, "neutral" | "ground"));
    let carries = hots.filter_map(|hot| {
        let wire = format!("wire:{}.{}", cable.id, hot.name);
        let element = situation.netlist.find_element(&wire)?;
        Some(situation.solution.current(element).magnitude())
    });
    carries.fold(0.0, f64::max) >= IN_SERIES_SHARE * neutral_ampere
}

/// The branch circuits whose hots leave by a cable.
pub(super) fn feeding<'c>(circuit: &'c Circuit, landings: &[&Address]) -> Vec<&'c BranchCircuit> {
    let branches = circuit.parts().branch_circuits.iter();
    branches
        .filter(|branch| {
            let hot = Address::from(branch.id.as_str()).join("hot");
            landings.contains(&&hot)
        })
        .collect()
}

/// The most that the neutral of several hots carries with every breaker at its rating or off;
/// `None` of fewer than two, or where a rating is not stated.
fn most_in_neutral(situation: &Situation<'_>, branches: &[&BranchCircuit]) -> Option<f64> {
    if !(2..=3).contains(&branches.len()) {
        return None;
    }
    let currents: Vec<Phasor> = branches
        .iter()
        .map(|branch| {
            let pole = situation.netlist.find_element(&format!("breaker:{}", branch.id))?;
            if situation.netlist.element(pole).law == Law::Open {
                return Some(Phasor::ZERO);
            }
            let (bus, _) = situation.netlist.ends(pole);
            let volt = situation.solution.potential(bus)?;
            if is_fed_otherwise(situation, bus, volt) {
                return Some(Phasor::ZERO);
            }
            let rating = branch.breaker.rating_ampere?;
            let share = rating / volt.magnitude();
            Some(Phasor::new(volt.re * share, volt.im * share))
        })
        .collect::<Option<_>>()?;
    let subsets = (1..1usize << currents.len()).filter(|subset| subset.count_ones() > 1);
    let sums = subsets.map(|subset| {
        let taken = currents.iter().enumerate().filter(|(bit, _)| subset >> bit & 1 == 1);
        taken.fold(Phasor::ZERO, |sum, (_, &current)| sum + current).magnitude()
    });
    sums.filter(|sum| sum.is_finite()).reduce(f64::max)
}
