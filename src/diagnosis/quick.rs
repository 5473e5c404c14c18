//! Rows of very many hypotheses, each a few edits of one network.

use std::collections::HashMap;

use crate::circuit::{Circuit, DeviceKind, LoadKind, Part};
use crate::condition::catalogue::FaultKind;
use crate::condition::{AttachedLaw, Attachment, Condition, LoadState};
use crate::instrument::{ManyConditions, ManyWork};
use crate::netlist::Law;
use crate::quantity::Address;

use super::look::Looks;
use super::possible::{Kind, Possible};
use super::recipe::{Pairs, Recipe, Seen};

/// A circuit as switches, breakers and plugs stand, every load off, with everything that may be
/// so as changes of it.
pub(super) struct Quick<'c> {
    /// What it stands for: a setting without its loads.
    pub(super) base: Condition,
    prepared: Option<Prepared<'c>>,
}

struct Prepared<'c> {
    many: ManyConditions<'c>,
    work: ManyWork,
    recipes: Vec<Recipe>,
    /// Contacts that protection looks through: ohms, and the amperes from which it might trip.
    guarded: Vec<(f64, f64)>,
    senses_residual: bool,
    /// The change that switches on each load.
    switched_on: Vec<usize>,
}

/// A breaker that carries less than this times its rating does not trip at once.
const MIGHT_TRIP: f64 = 1.3;

/// Without a stated rating a contact is taken for one of so many amperes.
const UNRATED_AMPERE: f64 = 15.0;

/// A setting as the base that it is asked from: loads off, or away if they are away and not on.
pub(super) fn base(circuit: &Circuit, setting: &Condition) -> Condition {
    let mut base = setting.clone();
    for load in &circuit.parts().loads {
        let stated = setting.loads.get(&load.id).copied();
        let state = match stated {
            Some(state @ (LoadState::Unplugged | LoadState::Stalled)) => state,
            Some(LoadState::On | LoadState::Off) => LoadState::Off,
            None if load.plugged_in => LoadState::Off,
            None => LoadState::Unplugged,
        };
        base.loads.insert(load.id.clone(), state);
    }
    base
}

impl<'c> Quick<'c> {
    pub(super) fn new(
        circuit: &'c Circuit,
        base: Condition,
        possibles: &[Possible],
        looks: &Looks,
    ) -> Self {
        let prepared = Prepared::new(circuit, &base, possibles, looks);
        Self { base, prepared }
    }

    /// The numbers of every channel; `None` where it takes the whole network.
    pub(super) fn values(
        &mut self,
        circuit: &Circuit,
        possibles: &[Possible],
        set: &[usize],
        setting: &Condition,
    ) -> Option<Vec<f64>> {
        self.prepared.as_mut()?.values(circuit, possibles, set, setting)
    }
}

impl<'c> Prepared<'c> {
    /// `None` where the network or what is looked at it with is not plain.
    fn new(
        circuit: &'c Circuit,
        base: &Condition,
        possibles: &[Possible],
        looks: &Looks,
    ) -> Option<Self> {
        let mut pairs = Pairs::default();
        let recipes: Vec<Recipe> = looks
            .channels
            .iter()
            .map(|channel| Recipe::of(circuit, looks, channel, &mut pairs))
            .collect::<Option<_>>()?;
        let mut changes: Vec<Condition> = possibles.iter().map(|p| p.change.clone()).collect();
        let mut switched_on = Vec::new();
        for load in &circuit.parts().loads {
            switched_on.push(changes.len());
            changes.push(on(circuit, &load.id, looks)?);
        }
        let (guards, mut guarded) = guards(circuit);
        let groups = [pairs.between, pairs.to_earth, guards];
        let many = ManyConditions::new(circuit, base, &changes, &groups).ok()?;
        for ((ohm, _), element) in guarded.iter_mut().zip(guarded_elements(circuit)) {
            let law =
                many.netlist().find_element(&element).map(|at| many.netlist().element(at).law);
            *ohm = match law {
                Some(Law::Impedance(impedance)) => impedance.resistance_ohm,
                _ => f64::INFINITY,
            };
        }
        let parts = circuit.parts();
        let senses_residual =
            parts.branch_circuits.iter().any(|pole| pole.breaker.residual_trip_ampere.is_some())
                || parts.devices.iter().any(|d| matches!(d.kind, DeviceKind::Protective { .. }));
        let work = many.work();
        Some(Self { many, work, recipes, guarded, senses_residual, switched_on })
    }

    fn values(
        &mut self,
        circuit: &Circuit,
        possibles: &[Possible],
        set: &[usize],
        setting: &Condition,
    ) -> Option<Vec<f64>> {
        let these = || set.iter().filter_map(|&at| possibles.get(at));
        if self.senses_residual && these().any(may_trip_residual) {
            return None;
        }
        let idle = |load: &str| {
            these().any(|one| matches!(&one.kind, Kind::IdleLoad { load: idle } if idle == load))
        };
        // What is said of a breaker or a switch stays as it is said.
        let said = |possible: &Possible| {
            let Condition { breakers, switches, .. } = &possible.change;
            breakers.keys().any(|name| setting.breakers.contains_key(name))
                || switches.keys().any(|name| setting.switches.contains_key(name))
        };
        let mut made: Vec<usize> = Vec::with_capacity(8);
        for (load, &change) in circuit.parts().loads.iter().zip(&self.switched_on) {
            let on = match setting.loads.get(&load.id) {
                Some(state) => *state == LoadState::On,
                None => load.on && load.plugged_in,
            };
            if on && !idle(&load.id) {
                made.push(change);
            }
        }
        for &at in set {
            let Some(possible) = possibles.get(at) else { continue };
            if !matches!(possible.kind, Kind::IdleLoad { .. }) && !said(possible) {
                made.push(at);
            }
        }
        self.many.put(&made, &mut self.work).ok()?;
        let guards = self.many.read(2, &mut self.work).ok()?;
        for (seen, (ohm, might_trip)) in guards.iter().zip(&self.guarded) {
            let volt = seen.voltage_volt.map_or(0.0, |volt| volt.magnitude());
            if volt / ohm > *might_trip {
                return None;
            }
        }
        let mut seen = Seen::default();
        seen.between.extend_from_slice(self.many.read(0, &mut self.work).ok()?);
        let earth = self.many.read(1, &mut self.work).ok()?;
        seen.to_earth.extend(earth.iter().map(|seen| seen.voltage_volt));
        Some(self.recipes.iter().map(|recipe| recipe.value(&seen)).collect())
    }
}

/// A load switched on: its own law where that is an impedance, else the resistance that draws its
/// power at its usual voltage. `None` for a law that has no such resistance.
fn on(circuit: &Circuit, load: &str, looks: &Looks) -> Option<Condition> {
    let mut change = Condition::default();
    let kind = circuit.load(load)?.kind;
    let watt = match kind {
        LoadKind::Filament { rated_watt, .. } => rated_watt,
        LoadKind::ConstantPower { active_watt, .. } => active_watt,
        LoadKind::PilotLamp { .. } => PILOT_WATT,
        _ => {
            change.loads.insert(load.to_owned(), LoadState::On);
            return Some(change);
        }
    };
    let usual = looks.channels.get(looks.share_of(load)?)?.per;
    change.loads.insert(load.to_owned(), LoadState::Off);
    change.attached.push(Attachment {
        id: format!("drawn:{load}"),
        between: circuit.load(load)?.between.clone(),
        law: AttachedLaw::ResistanceOhm((usual * usual / watt.max(PILOT_WATT)).max(0.1)),
    });
    Some(change)
}

/// A pilot lamp takes about this.
const PILOT_WATT: f64 = 0.1;

/// Contacts that protection looks through, as pairs of terminals, with what might trip them.
fn guards(circuit: &Circuit) -> (Vec<(Address, Address)>, Vec<(f64, f64)>) {
    let ratings: HashMap<&str, Option<f64>> = circuit
        .parts()
        .branch_circuits
        .iter()
        .map(|pole| (pole.id.as_str(), pole.breaker.rating_ampere))
        .collect();
    let contacts = circuit.connections().filter_map(|connection| match connection.part {
        Part::Breaker(pole) => {
            let rating = ratings.get(pole.id.as_str()).copied().flatten();
            let ampere = MIGHT_TRIP * rating.unwrap_or(UNRATED_AMPERE);
            Some(((connection.a, connection.b), (f64::INFINITY, ampere)))
        }
        _ => None,
    });
    contacts.unzip()
}

fn guarded_elements(circuit: &Circuit) -> impl Iterator<Item = String> {
    circuit.connections().filter_map(|connection| match connection.part {
        Part::Breaker(_) => Some(connection.element),
        _ => None,
    })
}

/// Whether a device that senses residual current may see something of it, which is judged on the
/// whole network.
fn may_trip_residual(possible: &Possible) -> bool {
    use FaultKind::{
        Bridged, ExchangedAtCableEnd, ExchangedAtDevice, InsulationDown, LineLoadExchanged,
        NeutralsExchanged, NeutralsTied, TouchingInCable,
    };
    possible.fault().is_some_and(|fault| {
        matches!(
            fault.kind,
            Bridged
                | ExchangedAtCableEnd
                | ExchangedAtDevice
                | InsulationDown
                | LineLoadExchanged
                | NeutralsExchanged
                | NeutralsTied
                | TouchingInCable
        )
    })
}
