//! Joints whose resistance the file states.

use std::collections::HashMap;

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::Text;
use crate::circuit::file::near::with_nearest;

use super::Expansion;
use super::amount::OHMS;
use super::names::quoted_list;

impl Expansion<'_> {
    /// Joints whose resistance the file states.
    pub(super) fn joint_overrides(&mut self) {
        let form = self.form;
        if form.joints.is_empty() {
            return;
        }
        let parts = self.parts_by_element();
        let elements: HashMap<String, String> = self
            .out
            .joints
            .iter()
            .map(|joint| (joint.address.to_string(), joint.element.clone()))
            .collect();
        for stated in &form.joints {
            let ohm = self.amount(&stated.ohms, OHMS);
            let at = &stated.at;
            let Some(element) = elements.get(at.as_str()).cloned() else {
                self.unknown_joint(at);
                continue;
            };
            if let Some(resistance) = self.resistance_of(&element, &parts) {
                *resistance = ohm;
            } else {
                let diagnostic = Diagnostic::error(
                    "fixed-joint",
                    format!("the resistance of `{}` cannot be stated here", at.value),
                    at.span.clone(),
                )
                .with_help("`defaults: (contacts: (...))` has those of switches and tabs, `supply` those of the service");
                self.say(diagnostic);
            }
        }
    }

    fn unknown_joint(&mut self, at: &Text) {
        if !at.written() {
            return;
        }
        if self.sink.is_full() {
            self.say(Diagnostic::error("unknown-joint", "", at.span.clone()));
            return;
        }
        let names: Vec<&str> = self.out.joints.iter().map(|joint| joint.address.as_str()).collect();
        let place = at.as_str().split('.').next().unwrap_or("");
        let prefix = format!("{place}.");
        let mut near: Vec<&str> =
            names.iter().copied().filter(|name| name.starts_with(&prefix)).collect();
        near.sort_unstable();
        let diagnostic = Diagnostic::error(
            "unknown-joint",
            format!("there is no joint `{}`", at.value),
            at.span.clone(),
        )
        .with_expected(if near.is_empty() {
            "the address of a joint, as \"kiln.line.neutral\"".to_owned()
        } else {
            format!("one of {}", quoted_list(&near))
        });
        let diagnostic = with_nearest(diagnostic, at.as_str(), &names);
        self.say(diagnostic);
    }

    /// Where the links, breakers, bonds and electrodes are, by their elements.
    fn parts_by_element(&self) -> HashMap<String, usize> {
        let out = &self.out;
        let links = out.links.iter().map(|link| format!("link:{}", link.id)).enumerate();
        let bonds = out.supply.bonds.iter().map(|bond| format!("bond:{}", bond.id)).enumerate();
        let electrodes = out.supply.electrodes.iter();
        let electrodes = electrodes.map(|one| format!("electrode:{}", one.id)).enumerate();
        let circuits = out.branch_circuits.iter();
        let breakers = circuits.map(|circuit| format!("breaker:{}", circuit.id)).enumerate();
        let all = links.chain(bonds).chain(electrodes).chain(breakers);
        all.map(|(index, element)| (element, index)).collect()
    }

    /// The resistance of the part whose element that is; `None` if it has none to be stated.
    fn resistance_of(&mut self, element: &str, parts: &HashMap<String, usize>) -> Option<&mut f64> {
        let (kind, id) = element.split_once(':')?;
        let out = &mut self.out;
        if kind == "contact" {
            let mut words = id.rsplitn(3, '.');
            let conductor = words.next()?;
            let end = usize::from(words.next()? == "b");
            let cable = out.cables.get_mut(*self.cable_index.get(words.next()?)?)?;
            let landings = cable.ends.get_mut(end)?;
            let landing = landings.iter_mut().find(|landing| landing.conductor == conductor)?;
            return Some(&mut landing.contact_ohm);
        }
        let index = *parts.get(element)?;
        match kind {
            "link" => out.links.get_mut(index).map(|link| &mut link.resistance_ohm),
            "bond" => out.supply.bonds.get_mut(index).map(|bond| &mut bond.resistance_ohm),
            "electrode" => out.supply.electrodes.get_mut(index).map(|one| &mut one.resistance_ohm),
            "breaker" => {
                let circuit = out.branch_circuits.get_mut(index)?;
                Some(&mut circuit.breaker.resistance_ohm)
            }
            _ => None,
        }
    }
}
