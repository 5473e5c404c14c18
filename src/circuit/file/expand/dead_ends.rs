//! Addresses that parts written by hand lie at and nothing else does.

use std::collections::{HashMap, HashSet};

use crate::circuit::PlaceKind;
use crate::circuit::connection::device_terminals;
use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::Text;
use crate::circuit::file::near::with_nearest;
use crate::quantity::Address;

use super::Expansion;

impl Expansion<'_> {
    /// Says which parts written by hand lie at an address that nothing else has.
    pub(super) fn dead_ends(&mut self) {
        let form = self.form;
        let mut asked: Vec<&Text> = Vec::new();
        for cable in &form.cables {
            asked.extend(cable.near.iter().chain(&cable.far).map(|landing| &landing.to));
        }
        for (first, second) in form
            .links
            .iter()
            .map(|link| &link.between)
            .chain(form.lumped.iter().map(|lumped| &lumped.between))
            .chain(form.bonds.iter().map(|bond| &bond.between))
        {
            asked.extend([first, second]);
        }
        asked.extend(form.electrodes.iter().map(|electrode| &electrode.at));
        if asked.is_empty() {
            return;
        }
        let mut counts = self.terminals();
        for text in &asked {
            *counts.entry(text.value.clone()).or_insert(0) += 1;
        }
        // A point at which several parts meet that are all written by hand is no dead end.
        let lonely: Vec<&Text> =
            asked.into_iter().filter(|text| text.written() && counts[text.as_str()] < 2).collect();
        if lonely.is_empty() {
            return;
        }
        let mut names: Vec<&str> = counts.keys().map(String::as_str).collect();
        let alone: HashSet<&str> = lonely.iter().map(|text| text.as_str()).collect();
        names.retain(|name| !alone.contains(name));
        names.sort_unstable();
        for text in lonely {
            if self.sink.is_full() {
                self.say(Diagnostic::error("dead-end", "", text.span.clone()));
                continue;
            }
            let diagnostic = Diagnostic::error(
                "dead-end",
                format!("`{}` is a dead end: nothing else is at that address", text.value),
                text.span.clone(),
            )
            .with_expected(
                "an address of the circuit, as \"kiln.splice.hot\" or \"panel.neutral\"",
            );
            let diagnostic = with_nearest(diagnostic, text.as_str(), &names);
            self.say(diagnostic);
        }
    }

    /// Every terminal of the circuit but those that only parts written by hand speak of, each
    /// counted twice so that one more part there is no dead end.
    fn terminals(&self) -> HashMap<String, usize> {
        let out = &self.out;
        let by_hand: HashSet<&str> = self
            .form
            .links
            .iter()
            .map(|link| &link.id)
            .chain(self.form.lumped.iter().map(|lumped| &lumped.id))
            .chain(self.form.cables.iter().map(|cable| &cable.id))
            .chain(self.form.bonds.iter().map(|bond| &bond.id))
            .map(|id| id.as_str())
            .collect();
        let mut all: Vec<String> = vec!["earth".to_owned()];
        let mut add = |address: &Address| all.push(address.as_str().to_owned());
        for winding in &out.supply.windings {
            add(&winding.line);
            add(&winding.neutral);
        }
        out.supply.conductors.iter().for_each(|conductor| {
            add(&conductor.from);
            add(&conductor.to);
        });
        for bond in out.supply.bonds.iter().filter(|bond| !by_hand.contains(bond.id.as_str())) {
            add(&bond.between.0);
            add(&bond.between.1);
        }
        for circuit in &out.branch_circuits {
            add(&circuit.bus);
            add(&Address::from(format!("{}.hot", circuit.id)));
        }
        for cable in &out.cables {
            for (end, landings) in ["a", "b"].iter().zip(&cable.ends) {
                for conductor in &cable.conductors {
                    add(&Address::from(format!("{}.{end}.{}", cable.id, conductor.name)));
                }
                if !by_hand.contains(cable.id.as_str()) {
                    landings.iter().for_each(|landing| add(&landing.to));
                }
            }
        }
        for link in out.links.iter().filter(|link| !by_hand.contains(link.id.as_str())) {
            add(&link.between.0);
            add(&link.between.1);
        }
        for load in &out.loads {
            add(&load.between.0);
            add(&load.between.1);
            load.frame.iter().for_each(&mut add);
        }
        for lumped in out.lumped.iter().filter(|lumped| !by_hand.contains(lumped.id.as_str())) {
            add(&lumped.between.0);
            add(&lumped.between.1);
        }
        out.devices.iter().for_each(|device| device_terminals(device).iter().for_each(&mut add));
        for place in out.places.iter().filter(|place| place.kind == PlaceKind::Panel) {
            add(&Address::from(format!("{}.neutral", place.id)));
            add(&Address::from(format!("{}.ground", place.id)));
        }
        all.extend(self.bars.keys().cloned());
        all.into_iter().map(|address| (address, 2)).collect()
    }
}
