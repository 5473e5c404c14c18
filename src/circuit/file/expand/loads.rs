//! What is plugged in or wired in.

use std::collections::HashMap;

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{LoadForm, LoadKindForm};
use crate::circuit::file::near::with_nearest;
use crate::circuit::{JointKind, Load, Lumped, LumpedKind, Outlet, PlaceKind, Side};
use crate::quantity::{Address, Impedance, Phasor};

use super::Expansion;
use super::amount::{MEGAOHMS, NANOFARADS};
use super::junction::Tap;
use super::names::quoted_list;
use super::panel::{pole_id, pole_of};
use super::plan::Plan;

mod law;

pub(crate) use law::Rated;

/// Less is rounding between two conductors of one pole.
const SAME_POTENTIAL_VOLTS: f64 = 1e-6;

impl<'f> Expansion<'f> {
    /// The leads of loads wired in at a box.
    pub(super) fn wired_leads(&self, place: &str) -> Vec<Tap> {
        let mut taps = Vec::new();
        for load in self.loads_at.get(place).into_iter().flatten() {
            if load.wired != Some(true) || load.shares_plug.is_some() {
                continue;
            }
            let (first, second) = across(load);
            let ground = metal_case(load).then(|| "ground".to_owned());
            let sides = [(Some(first), "hot"), (Some(second), ""), (ground, "ground")];
            for (conductor, side) in sides {
                let Some(conductor) = conductor else { continue };
                let side = if side.is_empty() { second_side(&conductor) } else { side };
                let node = if side == "ground" { "frame" } else { side };
                taps.push(Tap {
                    conductor,
                    load_side: false,
                    terminal: Address::from(format!("{}.{node}", load.id.value)),
                    device: load.id.value.clone(),
                    label: side.to_owned(),
                    lead: true,
                    optional: side == "ground",
                    span: load.at.span.clone(),
                });
            }
        }
        taps
    }

    pub(super) fn loads(&mut self, plan: &Plan<'f>) {
        let form = self.form;
        let outlets: HashMap<String, (String, Outlet)> = self
            .out
            .places
            .iter()
            .flat_map(|place| place.outlets.iter().map(|outlet| (place.id.clone(), outlet.clone())))
            .map(|(place, outlet)| (outlet.address.as_str().to_owned(), (place, outlet)))
            .collect();
        for load in &form.loads {
            if load.wired == Some(true) {
                self.wired_load(load, plan);
            } else {
                self.plugged_load(load, &outlets, plan);
            }
        }
    }

    fn wired_load(&mut self, load: &LoadForm, plan: &Plan<'f>) {
        let known = self.names.get(load.at.as_str()).is_some_and(|(_, kind)| *kind == "box");
        if !known {
            self.unknown_name(&load.at, &["box"]);
            return;
        }
        if load.plugged.is_some() {
            self.say(
                Diagnostic::error(
                    "no-plug",
                    format!("load `{}` is wired in and has no plug", load.id.value),
                    load.id.span.clone(),
                )
                .with_expected("`on: false` for a load that is off"),
            );
        }
        let (first, second) = across(load);
        let owner = load.shares_plug.as_ref().map_or(load.id.as_str(), |shared| shared.as_str());
        let between = (
            Address::from(format!(
                "{owner}.{}",
                if load.shares_plug.is_some() { side_of(&first) } else { "hot" }
            )),
            Address::from(format!("{owner}.{}", second_side(&second))),
        );
        let volts = self.volts_across(&first, &second, load.at.as_str(), plan);
        self.push_load(load, between, volts, Vec::new());
    }

    fn plugged_load(
        &mut self,
        load: &LoadForm,
        outlets: &HashMap<String, (String, Outlet)>,
        plan: &Plan<'f>,
    ) {
        let Some((place, outlet)) = self.outlet_of(load, outlets) else { return };
        let (first, second) = self.slots_across(load, &outlet);
        let owner = match &load.shares_plug {
            Some(shared) => {
                let here = self.loads_at.get(load.at.as_str()).into_iter().flatten();
                let known = here
                    .clone()
                    .any(|other| other.id.value == shared.value && other.shares_plug.is_none());
                if !known {
                    self.unknown_plug(load);
                    return;
                }
                shared.value.clone()
            }
            None => load.id.value.clone(),
        };
        let case = metal_case(load) && outlet.slots.iter().any(|(slot, _)| slot == "ground");
        let mut plug_links = Vec::new();
        for (slot, node) in &outlet.slots {
            let wanted = *slot == first || *slot == second || (slot == "ground" && case);
            if wanted {
                plug_links.push(self.plug(&owner, &place, slot, node));
            }
        }
        let node = |slot: &str| Address::from(format!("{owner}.{slot}"));
        let conductors = self.outlet_conductors.get(outlet.address.as_str());
        let behind = |slot: &str| {
            conductors.and_then(|c| c.get(slot)).cloned().unwrap_or_else(|| slot.to_owned())
        };
        let (hot, other) = (behind(&first), behind(&second));
        let volts = self.volts_across(&hot, &other, &place, plan);
        self.push_load(load, (node(&first), node(&second)), volts, plug_links);
    }

    fn unknown_plug(&mut self, load: &LoadForm) {
        let Some(shared) = &load.shares_plug else { return };
        let diagnostic = Diagnostic::error(
            "no-plug-to-share",
            format!("no load called `{}` is plugged in at `{}`", shared.value, load.at.value),
            shared.span.clone(),
        )
        .with_expected("the name of a load with a plug of its own at the same place");
        self.say(diagnostic);
    }

    /// The contact of one blade, made once for all loads of one plug.
    fn plug(&mut self, owner: &str, place: &str, slot: &str, node: &Address) -> String {
        let id = format!("{owner}.plug.{slot}");
        if !self.plugs.insert(id.clone()) {
            return id;
        }
        let end = if slot == "ground" { "frame" } else { slot };
        let kind = (JointKind::SlotContact, Side::Here);
        self.joint(id.clone(), format!("link:{id}"), (place, slot), kind);
        let to = Address::from(format!("{owner}.{end}"));
        self.link(id.clone(), node.clone(), to, self.contacts.slot_ohm);
        id
    }

    /// The set of contacts a load is plugged into.
    fn outlet_of(
        &mut self,
        load: &LoadForm,
        outlets: &HashMap<String, (String, Outlet)>,
    ) -> Option<(String, Outlet)> {
        let at = load.at.as_str();
        if let Some(found) = outlets.get(at) {
            return Some(found.clone());
        }
        let place = self.place_index.get(at).and_then(|index| self.out.places.get(*index));
        let place = place.filter(|place| place.kind == PlaceKind::Box);
        let in_box: Vec<Outlet> = place.map(|place| place.outlets.clone()).unwrap_or_default();
        if let [only] = in_box.as_slice() {
            return Some((at.to_owned(), only.clone()));
        }
        let is_box = place.is_some();
        if !load.at.written() {
            return None;
        }
        if self.sink.is_full() {
            self.say(Diagnostic::error("load-on-dead-end", "", load.at.span.clone()));
            return None;
        }
        if is_box && in_box.is_empty() {
            self.say(
                Diagnostic::error(
                    "nothing-to-plug-into",
                    format!("box `{at}` has no receptacle to plug into"),
                    load.at.span.clone(),
                )
                .with_help("say `wired: true` for a load wired in at the box"),
            );
            return None;
        }
        let mut names: Vec<&str> = if is_box {
            in_box.iter().map(|outlet| outlet.address.as_str()).collect()
        } else {
            outlets.keys().map(String::as_str).collect()
        };
        names.sort_unstable();
        let message = if is_box {
            format!("box `{at}` has several receptacles")
        } else {
            format!("load `{}` is at `{at}`, where there is no receptacle", load.id.value)
        };
        let diagnostic = Diagnostic::error("load-on-dead-end", message, load.at.span.clone())
            .with_expected(if names.is_empty() {
                "the name of a receptacle".to_owned()
            } else {
                format!("one of {}", quoted_list(&names))
            });
        let diagnostic = with_nearest(diagnostic, at, &names);
        self.say_unknown(&load.at, diagnostic);
        None
    }

    /// The two slots a load lies across.
    fn slots_across(&mut self, load: &LoadForm, outlet: &Outlet) -> (String, String) {
        let has = |slot: &str| outlet.slots.iter().any(|(name, _)| name == slot);
        let usual = if has("neutral") { "neutral" } else { "hot2" };
        let Some((first, second)) = &load.across else {
            return ("hot".to_owned(), usual.to_owned());
        };
        for slot in [first, second] {
            if !has(slot.as_str()) && slot.written() {
                let names: Vec<&str> = outlet.slots.iter().map(|(name, _)| name.as_str()).collect();
                let diagnostic = Diagnostic::error(
                    "no-such-slot",
                    format!("{} has no slot `{}`", outlet.configuration, slot.value),
                    slot.span.clone(),
                )
                .with_expected(format!("one of {}", quoted_list(&names)));
                let diagnostic = with_nearest(diagnostic, slot.as_str(), &names);
                self.say(diagnostic);
            }
        }
        (first.value.clone(), second.value.clone())
    }

    /// Open-circuit volts between two conductors of a box.
    fn volts_across(&self, first: &str, second: &str, place: &str, plan: &Plan<'f>) -> f64 {
        let Some(run) = plan.arrival(place) else { return self.line_to_neutral_volts() };
        let potential = |conductor: &str| {
            if matches!(conductor, "neutral" | "ground") {
                return Phasor::ZERO;
            }
            let pole = pole_id(&run.circuit.id.value, pole_of(conductor));
            let bus = self.buses_of.get(&pole);
            bus.and_then(|bus| self.bars.get(bus)).copied().unwrap_or_default()
        };
        (potential(first) - potential(second)).magnitude()
    }

    /// Volts of the first bar, for boxes fed by hand.
    fn line_to_neutral_volts(&self) -> f64 {
        let first = self.bars.iter().min_by(|(one, _), (other, _)| one.cmp(other));
        first.map_or(0.0, |(_, potential)| potential.magnitude())
    }

    fn push_load(
        &mut self,
        load: &LoadForm,
        between: (Address, Address),
        volts: f64,
        plug_links: Vec<String>,
    ) {
        let id = load.id.value.clone();
        let owner = load.shares_plug.as_ref().map_or(id.as_str(), |shared| shared.as_str());
        let rated = Rated {
            id: &load.id,
            volts: (volts > SAME_POTENTIAL_VOLTS).then_some(volts),
            watts_between: load.watts_between.as_ref(),
        };
        let kind = self.load_kind(&load.kind, &rated);
        if let (Some(false), Some(number)) =
            (load.metal_case, load.filter_nanofarads.as_ref().or(load.case_leak_megaohms.as_ref()))
        {
            self.say(
                Diagnostic::error(
                    "no-case",
                    format!("load `{id}` has no metal case for this to lead to"),
                    number.span.clone(),
                )
                .with_help("leave out `metal_case: false`, or this"),
            );
        }
        let frame = metal_case(load).then(|| Address::from(format!("{owner}.frame")));
        if let (Some(frame), Some(number)) = (&frame, &load.filter_nanofarads) {
            let farad = self.amount(number, NANOFARADS) * 1e-9;
            if farad > 0.0 {
                for (side, node) in [("first", &between.0), ("second", &between.1)] {
                    self.out.lumped.push(Lumped {
                        id: format!("{id}.filter.{side}"),
                        between: (node.clone(), frame.clone()),
                        kind: LumpedKind::CapacitorFarad(farad),
                    });
                }
            }
        }
        if let (Some(frame), Some(number)) = (&frame, &load.case_leak_megaohms) {
            let ohm = self.amount(number, MEGAOHMS) * 1e6;
            self.out.lumped.push(Lumped {
                id: format!("{id}.leak"),
                between: (between.0.clone(), frame.clone()),
                kind: LumpedKind::Impedance(Impedance::resistance(ohm)),
            });
        }
        self.out.loads.push(Load {
            id,
            between,
            kind,
            on: load.on.unwrap_or(true),
            plugged_in: load.plugged.unwrap_or(true),
            plug_links,
            frame,
        });
    }
}

/// The two conductors a load lies across.
fn across(load: &LoadForm) -> (String, String) {
    match &load.across {
        Some((first, second)) => (first.value.clone(), second.value.clone()),
        None => ("hot".to_owned(), "neutral".to_owned()),
    }
}

/// A wired-in load's node for its second side.
fn second_side(conductor: &str) -> &'static str {
    match conductor {
        "hot2" => "hot2",
        "hot3" => "hot3",
        _ => "neutral",
    }
}

/// A wired-in load's node for a conductor of another load it shares its leads with.
fn side_of(conductor: &str) -> &'static str {
    match conductor {
        "hot2" => "hot2",
        "hot3" => "hot3",
        "neutral" => "neutral",
        _ => "hot",
    }
}

/// Whether a load has a metal case: stated, or because it has filters or a case leak, or
/// because heaters and motors have one.
fn metal_case(load: &LoadForm) -> bool {
    load.metal_case.unwrap_or(
        load.filter_nanofarads.is_some()
            || load.case_leak_megaohms.is_some()
            || matches!(load.kind, LoadKindForm::Resistive { .. } | LoadKindForm::Motor { .. }),
    )
}
