//! Breakers, and panels fed from another panel.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{CircuitForm, CurveForm, SubpanelForm, Text};
use crate::circuit::file::limits::SUBPANELS_MAX;
use crate::circuit::file::near::with_nearest;
use crate::circuit::{
    Bond, BranchCircuit, Breaker, JointKind, Landing, PlaceKind, Side, TripCurve,
};
use crate::quantity::Address;

use super::Expansion;
use super::amount::{BREAKER_AMPERES, ELECTRODE_OHMS, MILLIAMPERES};
use super::cable::CableUse;
use super::length::LengthForm;
use super::names::quoted_list;
use super::plan::Plan;

/// Names of the hot conductors of a circuit, pole by pole.
pub(super) const HOTS: [&str; 3] = ["hot", "hot2", "hot3"];

/// Name of the branch circuit that is one pole of a circuit.
pub(super) fn pole_id(circuit: &str, pole: usize) -> String {
    if pole == 0 { circuit.to_owned() } else { format!("{circuit}.pole{}", pole + 1) }
}

/// The pole that a conductor of that name belongs to: `hot2` and `switched2` to the second,
/// `hot3` and `switched3` to the third, all others to the first.
pub(super) fn pole_of(conductor: &str) -> usize {
    match conductor {
        "hot2" | "switched2" => 1,
        "hot3" | "switched3" => 2,
        _ => 0,
    }
}

impl<'f> Expansion<'f> {
    /// Breakers of all panels, and the bars of subpanels.
    pub(super) fn circuits(&mut self) {
        let form = self.form;
        let mut circuits: Vec<&CircuitForm> = form.circuits.iter().collect();
        if let Some(extra) = form.subpanels.get(SUBPANELS_MAX) {
            let message = format!("a file has at most {SUBPANELS_MAX} subpanels");
            let span = extra.id.span.clone();
            let diagnostic = Diagnostic::error("too-many-subpanels", message, span);
            self.say(diagnostic.with_help("make several files"));
        }
        let mut subpanels: Vec<&SubpanelForm> = form.subpanels.iter().take(SUBPANELS_MAX).collect();
        // A subpanel's bars are known once its circuit is, whatever order they stand in.
        loop {
            let before = circuits.len() + subpanels.len();
            circuits.retain(|circuit| {
                let known = self.panel_exists(panel_of(circuit));
                if known {
                    self.circuit(circuit);
                }
                !known
            });
            subpanels.retain(|subpanel| {
                let known = self.buses_of.contains_key(&subpanel.from.value);
                if known {
                    self.subpanel_bars(subpanel);
                }
                !known
            });
            if circuits.len() + subpanels.len() == before {
                break;
            }
        }
        for circuit in circuits {
            if let Some(panel) = &circuit.panel {
                self.panel_unknown(panel);
            }
        }
        for subpanel in subpanels {
            let known = form.circuits.iter().any(|c| c.id.value == subpanel.from.value);
            if !known {
                self.unknown_name(&subpanel.from, &["circuit"]);
            }
        }
    }

    /// A panel that is not there, or is fed only from itself.
    fn panel_unknown(&mut self, panel: &Text) {
        let listed = self.form.subpanels.iter().any(|s| s.id.value == panel.value);
        if listed {
            self.say(
                Diagnostic::error(
                    "panel-not-fed",
                    format!("panel `{}` is not fed from the main panel", panel.value),
                    panel.span.clone(),
                )
                .with_help("follow `from` of the subpanel: it must lead back to \"panel\""),
            );
            return;
        }
        let names: Vec<&str> = std::iter::once("panel")
            .chain(self.form.subpanels.iter().map(|s| s.id.as_str()))
            .collect();
        let diagnostic = Diagnostic::error(
            "unknown-name",
            format!("there is no panel called `{}`", panel.value),
            panel.span.clone(),
        )
        .with_expected(format!("one of {}", quoted_list(&names)));
        let diagnostic = with_nearest(diagnostic, panel.as_str(), &names);
        self.say(diagnostic);
    }

    fn circuit(&mut self, circuit: &'f CircuitForm) {
        let panel = panel_of(circuit);
        let buses = self.buses(circuit, panel);
        let rating_ampere =
            circuit.amperes.as_ref().map(|number| self.amount(number, BREAKER_AMPERES));
        let residual = circuit.ground_fault_milliamperes.as_ref();
        let residual_trip_ampere = residual.map(|number| self.amount(number, MILLIAMPERES) / 1e3);
        let residual_delayed = match (&circuit.ground_fault_delayed, residual_trip_ampere) {
            (Some(flag), None) if flag.value => {
                self.say(
                    Diagnostic::error(
                        "delayed-nothing",
                        format!("circuit `{}` senses no residual current", circuit.id.value),
                        flag.span.clone(),
                    )
                    .with_expected("`ground_fault_milliamperes` beside it"),
                );
                false
            }
            (flag, residual) => self.delayed(flag.as_ref(), residual.unwrap_or(f64::INFINITY)),
        };
        let curve = match circuit.curve {
            Some(CurveForm::InverseTime) => TripCurve::InverseTime,
            Some(CurveForm::C) => TripCurve::C,
            Some(CurveForm::D) => TripCurve::D,
            Some(CurveForm::B) => TripCurve::B,
            None if self.metric() => TripCurve::B,
            None => TripCurve::InverseTime,
        };
        let poles: Vec<String> =
            (0..buses.len()).map(|pole| pole_id(&circuit.id.value, pole)).collect();
        for (pole, bus) in buses.iter().enumerate() {
            let id = pole_id(&circuit.id.value, pole);
            self.buses_of.insert(id.clone(), bus.clone());
            let tied = circuit.tied.unwrap_or(true);
            let others = poles.iter().filter(|other| tied && **other != id).cloned().collect();
            self.out.branch_circuits.push(BranchCircuit {
                id: id.clone(),
                bus: Address::from(bus.as_str()),
                breaker: Breaker {
                    closed: circuit.on.unwrap_or(true),
                    resistance_ohm: self.contacts.breaker_ohm,
                    rating_ampere,
                    curve,
                    residual_trip_ampere,
                    residual_delayed,
                    arc_fault: circuit.arc_fault.unwrap_or(false),
                },
                neutral_landing: None,
                ground_landing: None,
                tied_with: others,
            });
            let kind = (JointKind::Breaker, Side::Line);
            self.joint(format!("{id}.breaker"), format!("breaker:{id}"), (panel, HOTS[pole]), kind);
        }
    }

    /// The buses a circuit's poles sit on; at least one.
    fn buses(&mut self, circuit: &'f CircuitForm, panel: &str) -> Vec<String> {
        if let (Some(leg), Some(legs)) = (&circuit.leg, &circuit.legs) {
            let mut diagnostic =
                Diagnostic::error("leg-twice", "the leg is stated twice", leg.span.clone())
                    .with_expected("`leg` for one pole, `legs` for several");
            if let Some(first) = legs.first() {
                diagnostic = diagnostic.with_label(first.span.clone(), "and here");
            }
            self.say(diagnostic);
        }
        let one = circuit.leg.as_slice();
        let stated = circuit.legs.as_deref().unwrap_or(one);
        if let Some(extra) = stated.get(HOTS.len()) {
            self.say(
                Diagnostic::error(
                    "too-many-poles",
                    "a breaker has at most three poles",
                    extra.span.clone(),
                )
                .with_help("write another circuit"),
            );
        }
        let mut buses: Vec<String> = Vec::new();
        for leg in stated.iter().take(HOTS.len()) {
            let bus = format!("{panel}.{}", leg.value);
            if !self.bars.contains_key(&bus) {
                self.no_such_bus(leg, panel);
            } else if buses.contains(&bus) {
                self.say(
                    Diagnostic::error(
                        "leg-used-twice",
                        format!("two poles of one breaker sit on {}", leg.value),
                        leg.span.clone(),
                    )
                    .with_help("neighbouring poles are on different legs"),
                );
            } else {
                buses.push(bus);
            }
        }
        if buses.is_empty() {
            buses.push(self.first_bus(panel));
        }
        buses
    }

    fn first_bus(&self, panel: &str) -> String {
        let otherwise = format!("{panel}.L1");
        if self.bars.contains_key(&otherwise) {
            return otherwise;
        }
        let prefix = format!("{panel}.");
        self.bars.keys().filter(|bar| bar.starts_with(&prefix)).min().cloned().unwrap_or(otherwise)
    }

    fn no_such_bus(&mut self, leg: &Text, panel: &str) {
        let prefix = format!("{panel}.");
        let mut legs: Vec<String> = self
            .bars
            .keys()
            .filter_map(|bar| bar.strip_prefix(&prefix))
            .map(str::to_owned)
            .collect();
        legs.sort();
        let names: Vec<&str> = legs.iter().map(String::as_str).collect();
        let diagnostic = Diagnostic::error(
            "breaker-on-no-bus",
            format!("`{panel}` has no bus `{}` for this breaker to sit on", leg.value),
            leg.span.clone(),
        )
        .with_expected(format!("one of {}", quoted_list(&names)));
        let diagnostic = with_nearest(diagnostic, leg.as_str(), &names);
        self.say(diagnostic);
    }

    fn subpanel_bars(&mut self, subpanel: &SubpanelForm) {
        let id = &subpanel.id.value;
        let panel = self.form.circuits.iter().find(|c| c.id.value == subpanel.from.value);
        for (pole, leg) in ["L1", "L2", "L3"].into_iter().enumerate() {
            let pole = pole_id(&subpanel.from.value, pole);
            let bus = self.buses_of.get(&pole);
            if let Some(bus) = bus {
                let potential = self.bars.get(bus).copied().unwrap_or_default();
                self.bars.insert(format!("{id}.{leg}"), potential);
            }
        }
        let fed_from = panel.map(|circuit| panel_of(circuit).to_owned());
        self.push_place(id, PlaceKind::Panel, fed_from);
    }

    /// Feeder cables of subpanels.
    pub(super) fn feeders(&mut self, plan: &Plan<'f>) {
        for subpanel in &self.form.subpanels {
            let Some(circuit) = plan.circuit(&subpanel.from.value) else { continue };
            if !self.panel_exists(&subpanel.id.value) {
                continue;
            }
            let id = &subpanel.id.value;
            let cable_id = format!("{}-{id}", circuit.id.value);
            let length_m = self.length(&LengthForm::from(subpanel), &cable_id, &subpanel.id.span);
            let conductors = match &subpanel.carries {
                Some(stated) => self.conductor_names(stated),
                None => plan.circuit_conductors(&circuit.id.value),
            };
            let wanted = CableUse {
                layers: [subpanel.cable.as_ref(), circuit.cable.as_ref()],
                rating_ampere: circuit.amperes.as_ref().map(|number| number.value),
                ring: false,
            };
            let mut cable = self.cable(&cable_id, length_m, &conductors, wanted);
            let only = plan.leaving_circuit(&circuit.id.value) == 1;
            for conductor in &conductors {
                let landing = self.panel_landing(circuit, &cable_id, id, conductor, only);
                cable.ends[0].push(landing);
                let bar = bar_of(conductor);
                let joint = (JointKind::Bar, Side::Line);
                self.joint(
                    format!("{id}.line.{conductor}"),
                    format!("contact:{cable_id}.b.{conductor}"),
                    (id, conductor),
                    joint,
                );
                cable.ends[1].push(Landing {
                    conductor: conductor.clone(),
                    to: Address::from(format!("{id}.{bar}")),
                    contact_ohm: self.contacts.bar_ohm,
                });
            }
            self.push_cable(cable);
            self.cable_between(&cable_id, panel_of(circuit), id);
            self.subpanel_earthing(subpanel);
        }
    }

    fn subpanel_earthing(&mut self, subpanel: &SubpanelForm) {
        let id = &subpanel.id.value;
        if subpanel.bonded == Some(true) {
            self.out.supply.bonds.push(Bond {
                id: id.clone(),
                between: (
                    Address::from(format!("{id}.neutral")),
                    Address::from(format!("{id}.ground")),
                ),
                resistance_ohm: self.contacts.bond_ohm,
            });
            let kind = (JointKind::Bond, Side::Here);
            self.joint(format!("{id}.bond"), format!("bond:{id}"), (id, "ground"), kind);
        }
        if let Some(ohms) = &subpanel.electrode_ohms {
            let resistance_ohm = self.amount(ohms, ELECTRODE_OHMS);
            self.electrode(id, &format!("{id}.ground"), resistance_ohm);
        }
    }

    /// Where a conductor of a cable lands in the panel of its circuit, with its joint; `only`
    /// says that no other cable leaves from there.
    pub(super) fn panel_landing(
        &mut self,
        circuit: &CircuitForm,
        cable: &str,
        next: &str,
        conductor: &str,
        only: bool,
    ) -> Landing {
        let id = &circuit.id.value;
        let panel = panel_of(circuit);
        let (to, kind, contact_ohm) = match conductor {
            "neutral" | "ground" => {
                (format!("{panel}.{conductor}"), JointKind::Bar, self.contacts.bar_ohm)
            }
            _ => {
                let pole = pole_id(id, pole_of(conductor));
                (format!("{pole}.hot"), JointKind::Screw, self.contacts.screw_ohm)
            }
        };
        let element = format!("contact:{cable}.a.{conductor}");
        let at = (panel, conductor);
        if only {
            self.joint(format!("{id}.load.{conductor}"), element.clone(), at, (kind, Side::Load));
        }
        self.joint(format!("{id}.load-{next}.{conductor}"), element, at, (kind, Side::Load));
        Landing { conductor: conductor.to_owned(), to: Address::from(to), contact_ohm }
    }

    /// Writes a cable down at the two places it joins.
    pub(super) fn cable_between(&mut self, cable: &str, from: &str, to: &str) {
        if let Some(place) = self.place_index.get(from).and_then(|at| self.out.places.get_mut(*at))
        {
            place.load_cables.push(cable.to_owned());
        }
        if let Some(place) = self.place_index.get(to).and_then(|at| self.out.places.get_mut(*at)) {
            place.line_cables.push(cable.to_owned());
        }
    }
}

/// The panel a circuit's breaker is in.
pub(super) fn panel_of(circuit: &CircuitForm) -> &str {
    circuit.panel.as_ref().map_or("panel", |panel| panel.as_str())
}

/// The bar of a subpanel that a feeder's conductor lands on.
fn bar_of(conductor: &str) -> &str {
    match conductor {
        "hot" => "L1",
        "hot2" => "L2",
        "hot3" => "L3",
        other => other,
    }
}
