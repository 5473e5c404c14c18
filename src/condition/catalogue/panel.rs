//! Tabs, breakers and neutrals on the wrong bus, hots and neutrals of two circuits, and the supply
//! voltage. Lost service conductors, bonds and electrodes are joints and listed with them.

use std::collections::{BTreeSet, HashSet};

use crate::circuit::{BranchCircuit, CableEnd, DeviceKind};
use crate::condition::{
    EndOfCable, Fault, words::SOLID_BRIDGE_OHM, words::bridge_id, words::with_magnitude,
};
use crate::quantity::{Address, Phasor};

use super::exchanges::pairs;
use super::runs::{Hot, Run};
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
        let hots = self.hots();
        for (first, second) in pairs(few(&hots)) {
            self.on_each_others_breakers(first, second, faults);
        }
        let (mut tied, mut tied_hots) = (HashSet::new(), HashSet::new());
        // Of what begins at two panels nothing is within reach of each other.
        let panel = |run: &Run| parent(run.bus.as_str()).to_owned();
        let within_reach = |(a, b): &(&Run, &Run)| panel(a) == panel(b);
        for (first, second) in pairs(few(&runs)).filter(within_reach) {
            let slots = first.hot_slot.as_ref().zip(second.hot_slot.as_ref());
            if let Some((a, b)) = slots.filter(|(a, b)| a != b)
                && tied_hots.insert((a, b))
            {
                let about = both_of("hot", first, second, format!("bridge {a} {b}"));
                let left_in = if first.bus == second.bus { 1.0 } else { LEFT_IN_ACROSS_LEGS };
                let weight = self.priors.hots_tied * left_in;
                faults.push(tie(FaultKind::HotsTied, about, (a, b), weight));
            }
        }
        for (first, second) in pairs(&runs).filter(within_reach) {
            self.neutrals_exchanged(first, second, faults);
            // A feeder and a circuit fed by it begin at one receptacle.
            let slots = first.neutral_slot.as_ref().zip(second.neutral_slot.as_ref());
            if let Some((a, b)) = slots.filter(|(a, b)| a != b)
                && tied.insert((a, b))
            {
                let about = both_of("neutral", first, second, format!("bridge {a} {b}"));
                faults.push(tie(FaultKind::NeutralsTied, about, (a, b), self.priors.neutrals_tied));
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

    /// Hots of two circuits of one panel that landed on each other's breakers, one or both.
    fn on_each_others_breakers(
        &self,
        first: &Hot<'_>,
        second: &Hot<'_>,
        faults: &mut Vec<PossibleFault>,
    ) {
        let panel = parent(first.pole.bus.as_str());
        if panel != parent(second.pole.bus.as_str()) || first.cable.id == second.cable.id {
            return;
        }
        let about = |subject| About {
            conductors: vec!["hot".to_owned()],
            places: self.place_of(first.pole.bus.as_str()),
            subject,
        };
        for (hot, other) in [(first, second), (second, first)] {
            let fault = Fault::WrongLanding {
                end: EndOfCable { cable: hot.cable.id.clone(), end: CableEnd::A },
                conductor: hot.conductor.to_owned(),
                to: other.screw.clone(),
            };
            let about = about(format!("landing {} a {}", hot.cable.id, hot.conductor));
            let weight = self.priors.wrong_breaker;
            faults.push(of_faults(FaultKind::WrongBreaker, about, vec![fault], weight));
        }
        let contact = |hot: &Hot<'_>| format!("contact:{}.a.{}", hot.cable.id, hot.conductor);
        let elements = (contact(first), contact(second));
        let about = about(format!("exchanged {} {}", elements.0, elements.1));
        let fault = Fault::ExchangedJoints { elements };
        let weight = self.priors.hots_exchanged;
        faults.push(of_faults(FaultKind::HotsExchanged, about, vec![fault], weight));
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
            let subject = format!("exchanged {} {}", elements.0, elements.1);
            let about = both_of("neutral", first, second, subject);
            let fault = Fault::ExchangedJoints { elements };
            let weight = self.priors.neutrals_exchanged;
            faults.push(of_faults(FaultKind::NeutralsExchanged, about, vec![fault], weight));
        }
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
            let off_by = (share - 1.0).abs().max(USUALLY_OFF_BY);
            let weight = self.priors.supply_voltage * (USUALLY_OFF_BY / off_by).powi(3);
            faults.push(of_faults(FaultKind::SupplyVoltage, about, off.collect(), weight));
        }
    }
}

/// Up to this share off is as the odds say; deeper, a supply is the rarer, by the cube: judgement.
const USUALLY_OFF_BY: f64 = 0.1;

/// A share of a voltage, in its phase and to a tenth of a volt: a figure to be spoken of.
fn scaled(volt: Phasor, share: f64) -> Phasor {
    let wanted = volt.magnitude() * share;
    if wanted < 10.0 {
        return Phasor::new(volt.re * share, volt.im * share);
    }
    with_magnitude(volt, (wanted * 10.0).round() / 10.0)
}

/// Of up to so many circuits every two may meet by their hots. Of more that would be more than
/// everything else that can be wrong, and no reduced network holds them all.
const HOTS_MEET_UP_TO: usize = 4;

/// Of ties between two legs, which trip both breakers when they are made, so few are left in
/// (judgement); one on a leg shows nothing.
const LEFT_IN_ACROSS_LEGS: f64 = 0.05;

fn few<T>(all: &[T]) -> &[T] {
    if all.len() <= HOTS_MEET_UP_TO { all } else { &[] }
}

/// Two conductors of this name, one of each run.
fn both_of(conductor: &str, first: &Run, second: &Run, subject: String) -> About {
    About {
        conductors: vec![conductor.to_owned()],
        places: [&first.place, &second.place].into_iter().flatten().cloned().collect(),
        subject,
    }
}

/// Conductors of two circuits tied at their first receptacles.
fn tie(kind: FaultKind, about: About, (a, b): (&Address, &Address), weight: f64) -> PossibleFault {
    let between = (a.clone(), b.clone());
    let id = bridge_id(&between);
    let fault = Fault::Bridge { id, between, resistance_ohm: SOLID_BRIDGE_OHM };
    of_faults(kind, about, vec![fault], weight)
}

fn parent(address: &str) -> &str {
    address.rsplit_once('.').map_or("", |(parent, _)| parent)
}
