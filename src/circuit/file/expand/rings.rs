//! Cables that close a ring back to the panel.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::CircuitForm;
use crate::circuit::{JointKind, Landing, Side};
use crate::quantity::Address;

use super::Expansion;
use super::boxes::cable_use;
use super::cable::CableUse;
use super::length::LengthForm;
use super::panel::{panel_of, pole_id, pole_of};
use super::plan::Plan;

pub(super) fn ring_cable(circuit: &CircuitForm) -> String {
    let last = circuit.ring.as_ref().map_or("", |ring| ring.last.as_str());
    format!("{last}-{}", circuit.id.value)
}

impl<'f> Expansion<'f> {
    pub(super) fn ring_cables(&mut self, plan: &Plan<'f>) {
        for circuit in &self.form.circuits {
            let Some(ring) = &circuit.ring else { continue };
            let arrival = plan.arrival(ring.last.as_str());
            let Some(arrival) = arrival else {
                self.unknown_name(&ring.last, &["box"]);
                continue;
            };
            if arrival.circuit.id.value != circuit.id.value {
                self.say(
                    Diagnostic::error(
                        "ring-of-another-circuit",
                        format!(
                            "box `{}` is on circuit `{}`",
                            ring.last.value, arrival.circuit.id.value
                        ),
                        ring.last.span.clone(),
                    )
                    .with_expected("the last box of this circuit's own ring"),
                );
                continue;
            }
            let id = ring_cable(circuit);
            let length_m = self.length(&LengthForm::from(ring), &id, &ring.last.span);
            let wanted = CableUse {
                layers: [None, circuit.cable.as_ref()],
                ..cable_use(arrival.to, circuit)
            };
            let mut cable = self.cable(&id, length_m, &arrival.conductors, wanted);
            for conductor in &arrival.conductors {
                let landing = self.ring_landing(circuit, &id, conductor);
                cable.ends[1].push(landing);
            }
            self.push_cable(cable);
        }
    }

    /// Where a conductor of a ring comes back to the panel.
    fn ring_landing(&mut self, circuit: &CircuitForm, cable: &str, conductor: &str) -> Landing {
        let id = &circuit.id.value;
        let panel = panel_of(circuit);
        let bar = matches!(conductor, "neutral" | "ground");
        let (to, kind, contact_ohm) = if bar {
            (format!("{panel}.{conductor}"), JointKind::Bar, self.contacts.bar_ohm)
        } else {
            let pole = pole_id(id, pole_of(conductor));
            (format!("{pole}.hot"), JointKind::Screw, self.contacts.screw_ohm)
        };
        self.joint(
            format!("{id}.return.{conductor}"),
            format!("contact:{cable}.b.{conductor}"),
            (panel, conductor),
            (kind, Side::Load),
        );
        Landing { conductor: conductor.to_owned(), to: Address::from(to), contact_ohm }
    }

    /// Writes rings down at their places.
    pub(super) fn rings(&mut self, plan: &Plan<'f>) {
        for circuit in &self.form.circuits {
            if let Some(ring) = &circuit.ring
                && plan.arrival(ring.last.as_str()).is_some()
            {
                let cable = ring_cable(circuit);
                self.cable_between(&cable, ring.last.as_str(), panel_of(circuit));
            }
        }
    }
}
