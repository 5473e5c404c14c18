//! Parts written by hand: cables, links, lumped parts, bonds, electrodes, and joints that are
//! not as usual.

use std::collections::{HashMap, HashSet};

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{CableForm, ExplicitCableForm, LandingForm, LumpedKindForm, Text};
use crate::circuit::file::near::with_nearest;
use crate::circuit::{
    Bond, DeviceKind, Electrode, JointKind, Landing, Lumped, LumpedKind, PlaceKind, Side,
};
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

    /// Says which parts written by hand lie at an address that nothing else has.
    fn dead_ends(&mut self) {
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
        out.devices.iter().for_each(|device| {
            device_terminals(&device.id, &device.kind).iter().for_each(&mut add)
        });
        for place in out.places.iter().filter(|place| place.kind == PlaceKind::Panel) {
            add(&Address::from(format!("{}.neutral", place.id)));
            add(&Address::from(format!("{}.ground", place.id)));
        }
        all.extend(self.bars.keys().cloned());
        all.into_iter().map(|address| (address, 2)).collect()
    }

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

/// All terminals of a device.
fn device_terminals(id: &str, kind: &DeviceKind) -> Vec<Address> {
    let terminals: Vec<String> = match kind {
        DeviceKind::Receptacle { configuration } => {
            let configuration = crate::circuit::Configuration::named(configuration);
            let slots = configuration.map(|c| c.slots).unwrap_or_default();
            slots.iter().map(|slot| (*slot).to_owned()).collect()
        }
        DeviceKind::Duplex { .. } => {
            ["top.hot", "bottom.hot", "top.neutral", "bottom.neutral", "ground"]
                .map(str::to_owned)
                .to_vec()
        }
        DeviceKind::Switch { poles: 1, .. } => vec!["1".into(), "2".into()],
        DeviceKind::Switch { poles, .. } => {
            (1..=*poles).flat_map(|pole| [format!("p{pole}.1"), format!("p{pole}.2")]).collect()
        }
        DeviceKind::ThreeWay { .. } => ["com", "t1", "t2"].map(str::to_owned).to_vec(),
        DeviceKind::FourWay { .. } => ["a1", "a2", "b1", "b2"].map(str::to_owned).to_vec(),
        DeviceKind::Protective { poles, .. } => {
            poles.iter().flat_map(|pole| [format!("line.{pole}"), format!("load.{pole}")]).collect()
        }
    };
    terminals.into_iter().map(|terminal| Address::from(format!("{id}.{terminal}"))).collect()
}
