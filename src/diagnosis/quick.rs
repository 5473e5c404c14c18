//! Rows of very many hypotheses, each a few edits of one network.

use std::collections::BTreeMap;

use crate::circuit::{Circuit, DeviceKind, LoadKind, Part, TripCurve};
use crate::condition::catalogue::FaultKind;
use crate::condition::{AttachedLaw, Attachment, Condition, LoadState};
use crate::instrument::{ManyConditions, ManyWork};
use crate::lookalike::AT_ONCE_S;
use crate::netlist::Law;
use crate::protection::overcurrent;
use crate::quantity::Address;

use super::look::Looks;
use super::possible::{Kind, Possible};
use super::predictions::Row;
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
    guarded: Vec<Guarded>,
    /// Breakers as the base says they stand.
    off: BTreeMap<String, bool>,
    senses_residual: bool,
    /// The change that switches on each load.
    switched_on: Vec<usize>,
}

/// A breaker's contact, by the port across it.
struct Guarded {
    name: String,
    element: String,
    ohm: f64,
    rating_ampere: f64,
    curve: TripCurve,
    /// The change that opens it.
    opens: Option<usize>,
}

/// Without a stated rating a contact is taken for one of so many amperes.
const UNRATED_AMPERE: f64 = 15.0;

/// What trips when others have tripped is followed so far.
const TRIPS_FOLLOWED: usize = 4;

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

    /// The numbers of every channel, after what trips at once has tripped; `None` where it takes
    /// the whole network.
    pub(super) fn row(
        &mut self,
        circuit: &Circuit,
        possibles: &[Possible],
        set: &[usize],
        setting: &Condition,
    ) -> Option<Row> {
        self.prepared.as_mut()?.row(circuit, possibles, set, setting)
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
        let (guards, mut guarded) = guards(circuit, possibles);
        let groups = [pairs.between, pairs.to_earth, guards];
        let many = ManyConditions::new(circuit, base, &changes, &groups).ok()?;
        for guarded in &mut guarded {
            let netlist = many.netlist();
            let law = netlist.find_element(&guarded.element).map(|at| netlist.element(at).law);
            if let Some(Law::Impedance(impedance)) = law {
                guarded.ohm = impedance.resistance_ohm;
            }
        }
        let parts = circuit.parts();
        let senses_residual =
            parts.branch_circuits.iter().any(|pole| pole.breaker.residual_trip_ampere.is_some())
                || parts.devices.iter().any(|d| matches!(d.kind, DeviceKind::Protective { .. }));
        let work = many.work();
        let off = base.breakers.clone();
        Some(Self { many, work, recipes, guarded, off, senses_residual, switched_on })
    }

    fn row(
        &mut self,
        circuit: &Circuit,
        possibles: &[Possible],
        set: &[usize],
        setting: &Condition,
    ) -> Option<Row> {
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
        let mut tripped = Vec::new();
        self.many.put(&made, &mut self.work).ok()?;
        while let Some((name, opens)) = self.trips(possibles, &made)? {
            made.push(opens);
            tripped.push(name);
            self.many.put(&made, &mut self.work).ok()?;
            if tripped.len() > TRIPS_FOLLOWED {
                return None;
            }
        }
        let mut seen = Seen::default();
        seen.between.extend_from_slice(self.many.read(0, &mut self.work).ok()?);
        let earth = self.many.read(1, &mut self.work).ok()?;
        seen.to_earth.extend(earth.iter().map(|seen| seen.voltage_volt));
        let values = self.recipes.iter().map(|recipe| recipe.value(&seen)).collect();
        Some(Row { values, tripped, off: Vec::new() })
    }

    /// The first breaker that trips at once with these changes made, and the change that it is.
    /// `None` where it takes the whole network to know.
    fn trips(&mut self, possibles: &[Possible], made: &[usize]) -> Option<Option<(String, usize)>> {
        let these = || made.iter().filter_map(|&at| possibles.get(at));
        let on_another_bus =
            |one: &Possible| one.fault().is_some_and(|f| f.kind == FaultKind::WrongBus);
        let seen = self.many.read(2, &mut self.work).ok()?;
        for (seen, guarded) in seen.iter().zip(&self.guarded) {
            // One that is open, or that is itself the bad joint, carries little.
            let carries_little = self.off.get(&guarded.name) == Some(&false)
                || these().any(|one| {
                    one.change.breakers.contains_key(&guarded.name)
                        || one.elements().any(|element| *element == guarded.element)
                });
            if carries_little {
                continue;
            }
            let ampere = seen.voltage_volt.map_or(0.0, |volt| volt.magnitude()) / guarded.ohm;
            let after = overcurrent(guarded.curve, guarded.rating_ampere, ampere);
            if after.and_then(|after| after.latest_s).is_some_and(|latest| latest <= AT_ONCE_S) {
                if these().any(on_another_bus) {
                    return None;
                }
                return Some(Some((guarded.name.clone(), guarded.opens?)));
            }
        }
        Some(None)
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

/// The contacts of breakers, as pairs of terminals.
fn guards(circuit: &Circuit, possibles: &[Possible]) -> (Vec<(Address, Address)>, Vec<Guarded>) {
    let opens =
        |name: &str| possibles.iter().position(|one| one.change.breakers.get(name) == Some(&false));
    let contacts = circuit.connections().filter_map(|connection| match connection.part {
        Part::Breaker(pole) => {
            let guarded = Guarded {
                name: pole.id.clone(),
                element: connection.element,
                ohm: f64::INFINITY,
                rating_ampere: pole.breaker.rating_ampere.unwrap_or(UNRATED_AMPERE),
                curve: pole.breaker.curve,
                opens: opens(&pole.id),
            };
            Some(((connection.a, connection.b), guarded))
        }
        _ => None,
    });
    contacts.unzip()
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
