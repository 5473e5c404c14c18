//! Which loads have anything to do with what is likely wrong: nobody switches those of other circuits for a
//! look.

use std::collections::{BTreeMap, BTreeSet};

use super::advise::Weighed;
use super::inquiry::Inquiry;
use super::possible::{Kind, Possible};
use crate::circuit::connection::wire_end;
use crate::circuit::reach::Branches;
use crate::circuit::{Cable, CableEnd, Circuit, Conductor, PlaceKind};
use crate::condition::catalogue::FaultKind;

/// From this chance of something wrong in a circuit on its loads are switched, and those of all circuits from
/// this chance of the service.
const CONCERNED_FROM: f64 = 0.03;

/// Which circuits, all poles of one as one, feed what.
#[derive(Clone, Debug)]
pub(super) struct Fed {
    /// Of each box, by its number; empty of a panel, which all have to do with.
    places: Vec<BTreeSet<usize>>,
    loads: BTreeMap<String, BTreeSet<usize>>,
    n_circuits: usize,
}

impl Fed {
    pub(super) fn of(circuit: &Circuit) -> Self {
        let branches = Branches::of(circuit);
        let feeding = branches.feeding(circuit);
        let number: BTreeMap<&str, usize> =
            branches.poles.iter().enumerate().map(|(at, (name, _))| (*name, at)).collect();
        let fed = |terminal: &str| {
            let circuits = feeding.get(terminal).into_iter().flatten();
            circuits.filter_map(|name| number.get(name).copied()).collect::<Vec<_>>()
        };
        let parts = circuit.parts();
        let in_cable = |cable: &Cable| {
            let ends = |of: &Conductor| {
                [CableEnd::A, CableEnd::B].map(|end| wire_end(&cable.id, end, &of.name))
            };
            let ends = cable.conductors.iter().flat_map(ends);
            ends.flat_map(|end| fed(end.as_str())).collect::<BTreeSet<_>>()
        };
        let cables: BTreeMap<&str, BTreeSet<usize>> =
            parts.cables.iter().map(|cable| (cable.id.as_str(), in_cable(cable))).collect();
        let places = parts.places.iter().map(|place| {
            let at = place.line_cables.iter().chain(&place.load_cables);
            let at = at.filter(|_| place.kind == PlaceKind::Box);
            at.filter_map(|cable| cables.get(cable.as_str())).flatten().copied().collect()
        });
        let places = places.collect();
        let mut loads: BTreeMap<String, BTreeSet<usize>> =
            parts.loads.iter().map(|load| (load.id.clone(), BTreeSet::new())).collect();
        for (name, fed) in branches.loads(circuit) {
            let number = number.get(name).copied();
            for load in fed {
                loads.entry(load.id.clone()).or_default().extend(number);
            }
        }
        Self { places, loads, n_circuits: branches.poles.len() }
    }

    /// The circuits that a possibility has to do with; `None` if that is all of them.
    fn concerned(&self, possible: &Possible) -> Option<BTreeSet<usize>> {
        let of_load = |load: &String| self.loads.get(load).cloned().unwrap_or_default();
        let boxes = possible.boxes.iter().filter_map(|at| self.places.get(*at)).flatten().copied();
        match &possible.kind {
            Kind::Fault(fault) if is_of_all(fault.kind) => None,
            Kind::Fault(fault) => {
                let of_load = fault.load.iter().flat_map(of_load);
                Some(of_load.chain(boxes).collect())
            }
            Kind::IdleLoad { load } | Kind::ForgottenLoad { load } => Some(of_load(load)),
            Kind::UnmentionedLoad { .. } => Some(boxes.collect()),
        }
    }
}

/// Whether a fault may show in any circuit.
const fn is_of_all(kind: FaultKind) -> bool {
    use FaultKind as F;
    matches!(
        kind,
        F::ServiceLost
            | F::ServiceBad
            | F::BondMissing
            | F::BondBad
            | F::ElectrodeLost
            | F::SupplyVoltage
            | F::NeutralsExchanged
            | F::NeutralsTied
            | F::HotsExchanged
            | F::HotsTied
            | F::WrongBus
            | F::WrongBreaker
    )
}

impl Inquiry<'_> {
    /// Loads of circuits where hardly anything that is likely is wrong: they stay as they are.
    pub(super) fn unconcerned_loads(&self, weighed: &[Weighed]) -> BTreeSet<String> {
        let mut weights = vec![0.0; self.fed.n_circuits];
        let mut of_all = 0.0;
        for one in weighed.iter().filter(|_| self.fed.n_circuits > 1) {
            for (member, share) in self.faults_of(one.set).into_iter().flatten() {
                let Some(possible) = self.model.possibles.get(member) else { continue };
                match self.fed.concerned(possible) {
                    None => of_all += one.weight * share,
                    Some(circuits) => circuits.iter().for_each(|at| {
                        if let Some(weight) = weights.get_mut(*at) {
                            *weight += one.weight * share;
                        }
                    }),
                }
            }
        }
        let is_concerned =
            |at: &usize| weights.get(*at).is_some_and(|weight| *weight > CONCERNED_FROM);
        if of_all > CONCERNED_FROM || !(0..weights.len()).any(|at| is_concerned(&at)) {
            return BTreeSet::new();
        }
        let loads = self.fed.loads.iter();
        let stay = loads.filter(|(_, circuits)| !circuits.iter().any(is_concerned));
        stay.map(|(load, _)| load.clone()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Means, words};
    use super::*;
    use crate::circuit::file;

    /// Two legs on one neutral, and a circuit by itself.
    const WORKSHOP: &str = r#"(
        format: 1,
        circuits: [
            (id: "bench", amperes: 20, legs: ["L1", "L2"]),
            (id: "yard", amperes: 15, leg: "L2"),
        ],
        boxes: [
            (id: "fork", from: "bench", feet: 30),
            (id: "lathe", from: "fork", feet: 12, carries: ["hot2", "neutral", "ground"]),
            (id: "gate", from: "yard", feet: 50),
            (id: "shed", from: "gate", feet: 50),
        ],
        loads: [
            (id: "lamp", at: "fork", kind: Filament(watts: 60)),
            (id: "fan", at: "lathe", kind: Motor(watts: 200)),
            (id: "pump", at: "shed", kind: Motor(watts: 400)),
        ],
    )"#;

    fn stay(complaint: &str, saw: &str) -> Vec<String> {
        let workshop = file::read(WORKSHOP).unwrap().circuit;
        let mut inquiry = Inquiry::new(&workshop, Means::default());
        for complaint in words::complaints(&workshop, complaint).unwrap() {
            inquiry.complain(&complaint).unwrap();
        }
        let seen = words::observations(&workshop, &inquiry.means.tools, saw).unwrap();
        inquiry.observe_all(&seen).unwrap();
        inquiry.unconcerned_loads(&inquiry.weighed()).into_iter().collect()
    }

    #[test]
    fn of_two_legs_on_one_neutral_both_are_switched_and_another_circuit_is_left() {
        assert_eq!(stay("lathe dead", "pump runs"), ["pump"]);
        assert_eq!(stay("shed dead", "fan runs"), ["fan", "lamp"]);
    }

    #[test]
    fn where_the_service_may_be_bad_or_nothing_is_known_every_load_may_be_switched() {
        assert!(stay("lamp brightens when fan starts", "lamp runs").is_empty());
        assert!(stay("nothing noticed", "lamp runs").is_empty());
    }
}
