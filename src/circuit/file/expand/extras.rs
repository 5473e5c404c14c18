//! Parts written by hand: cables, links, lumped parts, bonds, electrodes, and joints that are
//! not as usual.

use std::collections::HashSet;

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{CableForm, ExplicitCableForm, LandingForm, LumpedKindForm, Text};
use crate::circuit::file::near::with_nearest;
use crate::circuit::{Bond, Electrode, JointKind, Landing, Lumped, LumpedKind, Side};
use crate::quantity::{Address, Impedance, Phasor};

use super::Expansion;
use super::amount::{ELECTRODE_OHMS, NANOFARADS, OHMS, PHASE_DEGREES, REACTANCE_OHMS, VOLTS};
use super::cable::CableUse;
use super::length::LengthForm;
use super::loads::Rated;
use super::names::quoted_list;

impl<'f> Expansion<'f> {
    pub(super) fn extras(&mut self) {
        let form = self.form;
        for cable in &form.cables {
            self.cable_by_hand(cable);
        }
        for link in &form.links {
            let resistance_ohm = self.amount_or(link.ohms.as_ref(), self.contacts.splice_ohm, OHMS);
            let between = addresses(&link.between);
            self.out.links.push(crate::circuit::Link {
                id: link.id.value.clone(),
                between,
                resistance_ohm,
            });
            self.joint_by_hand(&link.id.value, "link", link.between.0.as_str(), JointKind::Splice);
        }
        for lumped in &form.lumped {
            let kind = self.lumped_kind(&lumped.kind, &lumped.id);
            let between = addresses(&lumped.between);
            self.out.lumped.push(Lumped { id: lumped.id.value.clone(), between, kind });
        }
        for bond in &form.bonds {
            let resistance_ohm = self.amount_or(bond.ohms.as_ref(), self.contacts.bond_ohm, OHMS);
            let between = addresses(&bond.between);
            self.out.supply.bonds.push(Bond { id: bond.id.value.clone(), between, resistance_ohm });
            self.joint_by_hand(&bond.id.value, "bond", bond.between.0.as_str(), JointKind::Bond);
        }
        for electrode in &form.electrodes {
            let resistance_ohm = self.amount(&electrode.ohms, ELECTRODE_OHMS);
            self.out.supply.electrodes.push(Electrode {
                id: electrode.id.value.clone(),
                node: Address::from(electrode.at.as_str()),
                resistance_ohm,
            });
            let kind = JointKind::ElectrodeClamp;
            self.joint_by_hand(&electrode.id.value, "electrode", electrode.at.as_str(), kind);
        }
        self.dead_ends();
    }

    fn lumped_kind(&mut self, kind: &LumpedKindForm, id: &Text) -> LumpedKind {
        match kind {
            LumpedKindForm::Impedance { ohms, reactance_ohms } => {
                LumpedKind::Impedance(Impedance::new(
                    self.amount(ohms, OHMS),
                    self.amount_or(reactance_ohms.as_ref(), 0.0, REACTANCE_OHMS),
                ))
            }
            LumpedKindForm::Capacitor { nanofarads } => {
                LumpedKind::CapacitorFarad(self.amount(nanofarads, NANOFARADS) * 1e-9)
            }
            LumpedKindForm::Source { volts, degrees, ohms, reactance_ohms } => {
                let degrees = self.amount_or(degrees.as_ref(), 0.0, PHASE_DEGREES);
                LumpedKind::Source {
                    emf_volt: Phasor::polar(self.amount(volts, VOLTS), degrees),
                    impedance: Impedance::new(
                        self.amount_or(ohms.as_ref(), SOURCE_OHM, OHMS),
                        self.amount_or(reactance_ohms.as_ref(), 0.0, REACTANCE_OHMS),
                    ),
                }
            }
            LumpedKindForm::Load(kind) => {
                let rated = Rated { id, volts: None, watts_between: None };
                LumpedKind::Load(self.load_kind(kind, &rated))
            }
        }
    }

    fn joint_by_hand(&mut self, id: &str, element: &str, at: &str, kind: JointKind) {
        let place = self.place_of(at);
        let conductor = at.rsplit('.').next().unwrap_or(at).to_owned();
        let address = if element == "link" { id.to_owned() } else { format!("{id}.{element}") };
        let element = format!("{element}:{id}");
        self.joint(address, element, (&place, &conductor), (kind, Side::Here));
    }

    /// The place an address is in; the panel if none.
    fn place_of(&self, address: &str) -> String {
        let mut at = address;
        loop {
            if self.place_index.contains_key(at) {
                return at.to_owned();
            }
            match at.rsplit_once('.') {
                Some((before, _)) => at = before,
                None => return "panel".to_owned(),
            }
        }
    }

    fn cable_by_hand(&mut self, form: &'f ExplicitCableForm) {
        let id = &form.id.value;
        let conductors = self.conductor_names(&form.carries);
        let length_m = self.length(&LengthForm::from(form), id, &form.id.span);
        let default = self.form.defaults.as_ref().and_then(|d| d.cable.as_ref());
        if !form.cable.as_ref().is_some_and(has_size) && !default.is_some_and(has_size) {
            self.say_missing(
                Diagnostic::error(
                    "no-size",
                    format!("the size of cable `{id}` is not stated"),
                    form.id.span.clone(),
                )
                .with_expected("`cable: (awg: 12)` or `cable: (mm2: 2.5)`"),
            );
        }
        let wanted =
            CableUse { layers: [form.cable.as_ref(), None], rating_ampere: None, ring: false };
        let mut cable = self.cable(id, length_m, &conductors, wanted);
        let ends = [(&form.near, &form.capped_near), (&form.far, &form.capped_far)];
        for (end, (landings, capped)) in ends.into_iter().enumerate() {
            self.all_landed(form, &conductors, landings, capped);
            for landing in landings {
                if conductors.contains(&landing.conductor.value) {
                    let landed = self.landing_by_hand(id, end, landing);
                    cable.ends[end].push(landed);
                }
            }
        }
        let place_at = |landings: &[LandingForm]| {
            landings.first().map(|landing| self.place_of(landing.to.as_str()))
        };
        if let (Some(from), Some(to)) = (place_at(&form.near), place_at(&form.far)) {
            self.cable_between(id, &from, &to);
        }
        self.push_cable(cable);
    }

    fn landing_by_hand(&mut self, cable: &str, end: usize, landing: &LandingForm) -> Landing {
        let conductor = &landing.conductor.value;
        let contact_ohm = self.amount_or(landing.ohms.as_ref(), self.contacts.splice_ohm, OHMS);
        let place = self.place_of(landing.to.as_str());
        let (letter, word, side) =
            if end == 0 { ("a", "load", Side::Load) } else { ("b", "line", Side::Line) };
        self.joint(
            format!("{place}.{word}-{cable}.{conductor}"),
            format!("contact:{cable}.{letter}.{conductor}"),
            (&place, conductor),
            (JointKind::Splice, side),
        );
        Landing {
            conductor: conductor.clone(),
            to: Address::from(landing.to.as_str()),
            contact_ohm,
        }
    }

    /// Says which conductors of a cable end are neither landed nor capped, or both.
    fn all_landed(
        &mut self,
        form: &ExplicitCableForm,
        conductors: &[String],
        landings: &[LandingForm],
        capped: &[Text],
    ) {
        let mut seen: HashSet<&str> = HashSet::new();
        let names = landings.iter().map(|landing| &landing.conductor).chain(capped);
        for name in names.filter(|name| name.written()) {
            if !conductors.contains(&name.value) {
                let diagnostic = Diagnostic::error(
                    "no-such-conductor",
                    format!("cable `{}` has no conductor `{}`", form.id.value, name.value),
                    name.span.clone(),
                );
                let diagnostic = with_nearest(diagnostic, name.as_str(), conductors);
                self.say(diagnostic);
            } else if !seen.insert(name.as_str()) {
                self.say(
                    Diagnostic::error(
                        "landed-twice",
                        format!("conductor `{}` is landed or capped twice at one end", name.value),
                        name.span.clone(),
                    )
                    .with_expected(
                        "one landing, or none and its name in `capped_near` or `capped_far`",
                    ),
                );
            }
        }
        let lost: Vec<&str> =
            conductors.iter().map(String::as_str).filter(|name| !seen.contains(name)).collect();
        if !lost.is_empty() {
            self.say_missing(
                Diagnostic::error(
                    "cable-to-nowhere",
                    format!("cable `{}` leads {} to nowhere", form.id.value, quoted_list(&lost)),
                    form.id.span.clone(),
                )
                .with_expected(
                    "a landing for each conductor, or its name in `capped_near` or `capped_far`",
                ),
            );
        }
    }
}

/// Resistance of a source or winding by hand unless stated, ohms.
pub(super) const SOURCE_OHM: f64 = 0.01;

fn has_size(form: &CableForm) -> bool {
    form.awg.is_some()
        || form.mm2.is_some()
        || form.ohms_per_metre.is_some()
        || form.ohms_per_1000_feet.is_some()
}

fn addresses((first, second): &(Text, Text)) -> (Address, Address) {
    (Address::from(first.as_str()), Address::from(second.as_str()))
}
