//! Boxes: the cables between them, and how the wires meet in each.

use std::collections::{BTreeSet, HashMap};

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{BoxForm, CircuitForm, TerminalsForm};
use crate::circuit::{JointKind, Landing, Place, PlaceKind};

use super::Expansion;
use super::cable::CableUse;
use super::devices::Fittings;
use super::junction::{Junction, Tap, Wire};
use super::length::LengthForm;
use super::panel::{panel_of, pole_id, pole_of};
use super::plan::{Plan, Run};
use super::rings::ring_cable;

impl<'f> Expansion<'f> {
    pub(super) fn boxes(&mut self, plan: &Plan<'f>) {
        for run in &plan.runs {
            self.run(run, plan);
        }
        self.ring_cables(plan);
        let form = self.form;
        let by_hand = self.landings_by_hand();
        for place in &form.boxes {
            self.one_box(place, plan, &by_hand);
        }
    }

    /// The cable of a run; its ends are landed with the boxes, that at a panel here.
    fn run(&mut self, run: &Run<'f>, plan: &Plan<'f>) {
        let length_m = self.length(&LengthForm::from(run.to), &run.cable, &run.to.id.span);
        let wanted = cable_use(run.to, run.circuit);
        let mut cable = self.cable(&run.cable, length_m, &run.conductors, wanted);
        let next = &run.to.id.value;
        match run.from {
            Some(_) => {}
            None => {
                let only = plan.leaving_circuit(&run.circuit.id.value) == 1;
                for conductor in &run.conductors {
                    let capped = run.circuit.capped.iter().flatten();
                    if capped.clone().any(|name| name.value == *conductor) {
                        continue;
                    }
                    self.carried_from_panel(run, conductor);
                    let landing =
                        self.panel_landing(run.circuit, &run.cable, next, conductor, only);
                    cable.ends[0].push(landing);
                }
            }
        }
        match &run.to.cable_id {
            Some(id) => self.name(id, "cable"),
            None => self.automatic_name(&run.cable, &run.to.id),
        }
        self.push_cable(cable);
        let kind = PlaceKind::Box;
        let fed_from = match run.from {
            Some(from) => from.id.value.clone(),
            None => panel_of(run.circuit).to_owned(),
        };
        self.push_place(&run.to.id.value, kind, Some(fed_from));
    }

    /// Says which hot conductors of a cable have no pole to land on.
    fn carried_from_panel(&mut self, run: &Run<'f>, conductor: &str) {
        let hot = conductor.starts_with("hot");
        let pole = pole_id(&run.circuit.id.value, pole_of(conductor));
        let exists = self.buses_of.contains_key(&pole);
        let panel_side = matches!(conductor, "neutral" | "ground");
        if panel_side || (hot && exists) || !self.panel_exists(panel_of(run.circuit)) {
            return;
        }
        let span = run
            .to
            .carries
            .iter()
            .chain(&run.circuit.carries)
            .flatten()
            .find(|name| name.as_str() == conductor)
            .map_or(run.to.id.span.clone(), |name| name.span.clone());
        let poles = if hot {
            format!("circuit `{}` has no pole for `{conductor}`", run.circuit.id.value)
        } else {
            format!("nothing in the panel is called `{conductor}`")
        };
        self.say_missing(
            Diagnostic::error("no-pole", poles, span)
                .with_expected("`hot` (`hot2`, `hot3` for further poles), `neutral`, `ground`")
                .with_help("`legs: [\"L1\", \"L2\"]` gives a circuit two poles"),
        );
    }

    /// Which splices the parts written by hand land on.
    fn landings_by_hand(&self) -> HashMap<String, usize> {
        let mut counts: HashMap<String, usize> = HashMap::new();
        let mut count = |address: &str| {
            if address.contains(".splice") {
                *counts.entry(address.to_owned()).or_default() += 1;
            }
        };
        for cable in &self.form.cables {
            cable.near.iter().chain(&cable.far).for_each(|landing| count(landing.to.as_str()));
        }
        let pairs = self.form.links.iter().map(|link| &link.between);
        let pairs = pairs.chain(self.form.lumped.iter().map(|lumped| &lumped.between));
        for (first, second) in pairs.chain(self.form.bonds.iter().map(|bond| &bond.between)) {
            count(first.as_str());
            count(second.as_str());
        }
        self.form.electrodes.iter().for_each(|electrode| count(electrode.at.as_str()));
        counts
    }

    fn one_box(&mut self, place: &'f BoxForm, plan: &Plan<'f>, by_hand: &HashMap<String, usize>) {
        let id = place.id.as_str();
        let wires = box_wires(id, plan);
        if !self.place_index.contains_key(id) {
            // Fed by hand, or not at all, which has been said.
            self.push_place(id, PlaceKind::Box, None);
        }
        let mut present: BTreeSet<String> = wires.keys().cloned().collect();
        let prefix = format!("{id}.splice.");
        present.extend(by_hand.keys().filter_map(|at| at.strip_prefix(&prefix)).map(str::to_owned));
        let present: Vec<String> = present.into_iter().collect();
        let mut fittings = self.fittings(place, &present);
        let leads = self.wired_leads(id);
        fittings.taps.extend(leads);
        let wires = self.without_capped(place, wires);
        let unfed = plan.arrival(id).is_none() && present.is_empty();
        if !unfed {
            self.wire_box(place, plan, &wires, &fittings, by_hand);
        }
        let index = self.place_index.get(id).copied();
        if let Some(entry) = index.and_then(|index| self.out.places.get_mut(index)) {
            entry.devices = fittings.devices;
            entry.outlets = fittings.outlets;
        }
        if let Some(run) = plan.arrival(id) {
            let from = run.from.map_or(panel_of(run.circuit), |from| from.id.as_str());
            self.cable_between(&run.cable, from, id);
        }
    }

    fn wire_box(
        &mut self,
        place: &'f BoxForm,
        plan: &Plan<'f>,
        wires: &HashMap<String, Vec<Wire>>,
        fittings: &Fittings,
        by_hand: &HashMap<String, usize>,
    ) {
        let id = place.id.as_str();
        let mut conductors: BTreeSet<&str> = wires.keys().map(String::as_str).collect();
        conductors.extend(fittings.taps.iter().map(|tap| tap.conductor.as_str()));
        let present: Vec<String> =
            wires.keys().cloned().collect::<BTreeSet<_>>().into_iter().collect();
        self.nowhere(place, plan, wires, (fittings, by_hand));
        let wanted = match plan.arrival(id) {
            Some(run) => cable_use(run.to, run.circuit),
            None => {
                CableUse { layers: [place.cable.as_ref(), None], rating_ampere: None, ring: false }
            }
        };
        let pigtail_ohm = self.contacts.pigtail_m * self.wire_ohm_per_m(wanted);
        for conductor in conductors {
            let parted = fittings.parted.iter().any(|name| name == conductor);
            for (load_side, splice) in [(false, "splice"), (true, "splice-load")] {
                let own = wires.get(conductor).into_iter().flatten();
                let own: Vec<Wire> = own
                    .filter(|wire| (parted && wire.next.is_some()) == load_side)
                    .cloned()
                    .collect();
                let taps: Vec<Tap> = fittings
                    .taps
                    .iter()
                    .filter(|tap| tap.conductor == conductor && tap.load_side == load_side)
                    .cloned()
                    .collect();
                let node = format!("{id}.{splice}.{conductor}");
                let by_hand = by_hand.get(&node).copied().unwrap_or(0);
                if let ([tap], true) = (taps.as_slice(), own.is_empty() && by_hand == 0)
                    && !(tap.load_side && tap.optional)
                    && !plan.may_be_joined(id, conductor)
                {
                    self.nothing_to_take(tap, id, &present);
                }
                let junction = Junction {
                    place: id,
                    conductor,
                    splice,
                    one_leaves: own.iter().filter(|wire| wire.next.is_some()).count() == 1,
                    wires: own,
                    taps,
                    by_hand,
                    feed_through: self.feeds_through(place, conductor),
                    terminal: self.terminal(place),
                    pigtail_ohm,
                };
                if !junction.wires.is_empty() || !junction.taps.is_empty() {
                    self.cannot_run_through(place, &junction);
                    self.junction(&junction);
                }
            }
        }
    }

    /// Whether a conductor runs through the device: the box's own list, else that of
    /// `defaults`.
    fn feeds_through(&self, place: &BoxForm, conductor: &str) -> bool {
        let default = self.form.defaults.as_ref().and_then(|d| d.feed_through.as_ref());
        let list = place.feed_through.as_ref().or(default);
        list.into_iter().flatten().any(|name| name.as_str() == conductor)
    }

    /// Says where a box's own list asks for what cannot be.
    fn cannot_run_through(&mut self, place: &BoxForm, junction: &Junction<'_>) {
        let stated =
            place.feed_through.iter().flatten().find(|name| name.as_str() == junction.conductor);
        let Some(stated) = stated else { return };
        let leaving = junction.wires.iter().any(|wire| wire.next.is_some());
        let devices = junction.taps.iter().filter(|tap| !tap.lead).count();
        if leaving && devices != 1 {
            self.say(
                Diagnostic::error(
                    "cannot-feed-through",
                    format!(
                        "`{}` cannot run through a device here: {devices} devices take it",
                        stated.value
                    ),
                    stated.span.clone(),
                )
                .with_expected("exactly one device with a terminal for it"),
            );
        }
    }

    fn terminal(&self, place: &BoxForm) -> (f64, JointKind) {
        let default = self.form.defaults.as_ref().and_then(|d| d.terminals);
        match place.terminals.or(default) {
            Some(TerminalsForm::PushIn) => (self.contacts.push_in_ohm, JointKind::PushIn),
            Some(TerminalsForm::Screw) | None => (self.contacts.screw_ohm, JointKind::Screw),
        }
    }

    pub(super) fn push_cable(&mut self, cable: crate::circuit::Cable) {
        self.cable_index.insert(cable.id.clone(), self.out.cables.len());
        self.out.cables.push(cable);
    }

    pub(super) fn land_cable(&mut self, cable: &str, end: usize, landing: Landing) {
        let index = self.cable_index.get(cable).copied();
        let cable = index.and_then(|index| self.out.cables.get_mut(index));
        if let Some(landings) = cable.and_then(|cable| cable.ends.get_mut(end)) {
            landings.push(landing);
        }
    }

    pub(super) fn push_place(&mut self, id: &str, kind: PlaceKind, fed_from: Option<String>) {
        self.place_index.insert(id.to_owned(), self.out.places.len());
        self.out.places.push(Place {
            id: id.to_owned(),
            kind,
            fed_from,
            line_cables: Vec::new(),
            load_cables: Vec::new(),
            devices: Vec::new(),
            outlets: Vec::new(),
        });
    }
}

pub(super) fn cable_use<'f>(place: &'f BoxForm, circuit: &'f CircuitForm) -> CableUse<'f> {
    CableUse {
        layers: [place.cable.as_ref(), circuit.cable.as_ref()],
        rating_ampere: circuit.amperes.as_ref().map(|number| number.value),
        ring: circuit.ring.is_some(),
    }
}

/// All wires that end in a box, by conductor; arriving ones first.
fn box_wires(id: &str, plan: &Plan<'_>) -> HashMap<String, Vec<Wire>> {
    let mut wires: HashMap<String, Vec<Wire>> = HashMap::new();
    let mut add = |conductors: &[String], wire: Wire| {
        for conductor in conductors {
            wires.entry(conductor.clone()).or_default().push(wire.clone());
        }
    };
    if let Some(run) = plan.arrival(id) {
        add(&run.conductors, Wire { cable: run.cable.clone(), end: 1, next: None });
        for circuit in plan.ring_ends(id) {
            if run.circuit.id.value == circuit.id.value {
                let next = Some(circuit.id.value.clone());
                add(&run.conductors, Wire { cable: ring_cable(circuit), end: 0, next });
            }
        }
    }
    for run in plan.leavings(id) {
        let next = Some(run.to.id.value.clone());
        add(&run.conductors, Wire { cable: run.cable.clone(), end: 0, next });
    }
    wires
}
