//! Tabs, breakers and neutrals on the wrong bus, neutrals of two circuits, and the supply voltage. Lost
//! service conductors, bonds and electrodes are joints and listed with them.

use std::collections::{BTreeSet, HashSet};

use crate::circuit::{BranchCircuit, CableEnd, DeviceKind};
use crate::condition::{
    EndOfCable, Fault, words::SOLID_BRIDGE_OHM, words::bridge_id, words::with_magnitude,
};
use crate::quantity::{Address, Phasor};

use super::exchanges::pairs;
use super::runs::Run;
use super::{About, FaultKind, Lister, PossibleFault, last_word, of_faults};

impl Lister<'_> {
    pub(super) fn panel(&self, faults: &mut Vec<PossibleFault>) {
        self.tabs(faults);
        for pole in &self.circuit.parts().branch_circuits {
            self.wrong_bus(pole, faults);
        }
        // The poles of one breaker share a run.
        let mut runs: Vec<Run> = Vec::new();
        for run in self.circuit.parts().branch_circuits.iter().filter_map(|pole| self.run(pole)) {
            if !runs.iter().any(|known| known.cable == run.cable) {
                runs.push(run);
            }
        }
        for run in &runs {
            self.neutral_on_bus(run, faults);
        }
        let mut tied = HashSet::new();
        for (first, second) in pairs(&runs) {
            self.neutrals_exchanged(first, second, faults);
            // A feeder and a circuit fed by it begin at one receptacle.
            let slots = first.neutral_slot.as_ref().zip(second.neutral_slot.as_ref());
            if let Some((a, b)) = slots.filter(|(a, b)| a != b)
                && tied.insert((a, b))
            {
                self.neutrals_tied((first, a), (second, b), faults);
            }
        }
        self.supply_voltage(faults);
    }

    fn tabs(&self, faults: &mut Vec<PossibleFault>) {
        for device in &self.circuit.parts().devices {
            let DeviceKind::Duplex { hot_tab, neutral_tab, .. } = &device.kind else { continue };
            for (conductor, tab) in [("hot", hot_tab), ("neutral", neutral_tab)] {
                let about = About {
                    conductors: vec![conductor.to_owned()],
                    places: self.place_of(&device.id),
                    subject: format!("joint tab:{}.{conductor}", device.id),
                };
                let fault = Fault::Tab {
                    device: device.id.clone(),
                    conductor: conductor.to_owned(),
                    intact: !tab.intact,
                };
                let kind = if tab.intact { FaultKind::TabBroken } else { FaultKind::TabLeftIn };
                faults.push(of_faults(kind, about, vec![fault], self.priors.tab));
            }
        }
    }

    /// The hot buses of a panel.
    fn hot_buses(&self, panel: &str) -> BTreeSet<&Address> {
        let parts = self.circuit.parts();
        let taken = parts.branch_circuits.iter().map(|pole| &pole.bus);
        let fed = parts.supply.conductors.iter().map(|conductor| &conductor.to);
        let fed = fed.filter(|to| !matches!(last_word(to.as_str()), "neutral" | "ground"));
        taken.chain(fed).filter(|bus| parent(bus.as_str()) == panel).collect()
    }

    /// A breaker on each other bus of its panel.
    fn wrong_bus(&self, pole: &BranchCircuit, faults: &mut Vec<PossibleFault>) {
        let mut buses = self.hot_buses(parent(pole.bus.as_str()));
        buses.remove(&pole.bus);
        for bus in buses {
            let about = About {
                conductors: vec!["hot".to_owned()],
                places: self.place_of(pole.bus.as_str()),
                subject: format!("bus of {}", pole.id),
            };
            let fault = Fault::WrongBus { circuit: pole.id.clone(), bus: bus.clone() };
            faults.push(of_faults(FaultKind::WrongBus, about, vec![fault], self.priors.wrong_bus));
        }
    }

    /// The neutral of a run on each hot bus: it stays live with the run's breaker off. On a
    /// breaker of its own it would be the same but for that breaker.
    fn neutral_on_bus(&self, run: &Run, faults: &mut Vec<PossibleFault>) {
        if run.landing(CableEnd::A).is_none() {
            return;
        }
        for bus in self.hot_buses(parent(run.bus.as_str())) {
            let about = About {
                conductors: vec!["neutral".to_owned()],
                places: self.place_of(run.bus.as_str()),
                subject: format!("landing {} a neutral", run.cable),
            };
            let fault = Fault::WrongLanding {
                end: EndOfCable { cable: run.cable.clone(), end: CableEnd::A },
                conductor: "neutral".to_owned(),
                to: bus.clone(),
            };
            let weight = self.priors.neutral_on_bus;
            faults.push(of_faults(FaultKind::NeutralOnBus, about, vec![fault], weight));
        }
    }

    /// Neutrals of two circuits exchanged where their first cables end.
    fn neutrals_exchanged(&self, first: &Run, second: &Run, faults: &mut Vec<PossibleFault>) {
        for end in [CableEnd::A, CableEnd::B] {
            let (Some(one), Some(two)) = (first.landing(end), second.landing(end)) else {
                continue;
            };
            // On one bar it makes no difference which screw holds which.
            if one == two {
                continue;
            }
            let contact = |run: &Run| format!("contact:{}.{}.neutral", run.cable, end.letter());
            let elements = (contact(first), contact(second));
            let about =
                neutrals_of(first, second, format!("exchanged {} {}", elements.0, elements.1));
            let fault = Fault::ExchangedJoints { elements };
            let weight = self.priors.neutrals_exchanged;
            faults.push(of_faults(FaultKind::NeutralsExchanged, about, vec![fault], weight));
        }
    }

    /// Neutrals of two circuits tied at their first receptacles.
    fn neutrals_tied(
        &self,
        (first, a): (&Run, &Address),
        (second, b): (&Run, &Address),
        faults: &mut Vec<PossibleFault>,
    ) {
        let about = neutrals_of(first, second, format!("bridge {a} {b}"));
        let between = (a.clone(), b.clone());
        let id = bridge_id(&between);
        let fault = Fault::Bridge { id, between, resistance_ohm: SOLID_BRIDGE_OHM };
        let weight = self.priors.neutrals_tied;
        faults.push(of_faults(FaultKind::NeutralsTied, about, vec![fault], weight));
    }

    fn supply_voltage(&self, faults: &mut Vec<PossibleFault>) {
        let windings = &self.circuit.parts().supply.windings;
        if windings.is_empty() {
            return;
        }
        for &share in &self.levels.supply_share {
            let about = About { subject: "supply voltage".to_owned(), ..About::default() };
            let off = windings.iter().map(|winding| Fault::SupplyVoltage {
                winding: winding.id.clone(),
                emf_volt: scaled(winding.emf_volt, share),
            });
            let weight = self.priors.supply_voltage;
            faults.push(of_faults(FaultKind::SupplyVoltage, about, off.collect(), weight));
        }
    }
}

/// A share of a voltage, in its phase and to a tenth of a volt: a figure to be spoken of.
fn scaled(volt: Phasor, share: f64) -> Phasor {
    let wanted = volt.magnitude() * share;
    if wanted < 10.0 {
        return Phasor::new(volt.re * share, volt.im * share);
    }
    with_magnitude(volt, (wanted * 10.0).round() / 10.0)
}

fn neutrals_of(first: &Run, second: &Run, subject: String) -> About {
    About {
        conductors: vec!["neutral".to_owned()],
        places: [&first.place, &second.place].into_iter().flatten().cloned().collect(),
        subject,
    }
}

fn parent(address: &str) -> &str {
    address.rsplit_once('.').map_or("", |(parent, _)| parent)
}
