//! Rows of very many hypotheses, each a few edits of one network.

use std::collections::BTreeMap;

use crate::circuit::{Circuit, LoadKind};
use crate::condition::{AttachedLaw, Attachment, Condition, LoadState};
use crate::instrument::{ManyConditions, ManyWork};
use crate::lookalike::{Made, Settling, Tripping, TrippingWork, is_asked_whole};
use crate::netlist::{ElementId, Law, Netlist, NodeId, first_piece, wire};
use crate::quantity::{Address, Phasor};
use crate::solution::{PortSight, WhatIf};

use super::look::Looks;
use super::possible::{Kind, Possible};
use super::predictions::Row;
use super::recipe::{Recipe, Seen, Sources};
use super::wall_switch::WallSwitches;

/// Groups of ports: the pairs and the potentials that instruments see, and the voltages of
/// devices' electronics.
const ELECTRONICS: usize = 2;

/// A circuit as switches, breakers and plugs stand, every load off, with everything that may be
/// so as changes of it.
pub(super) struct Quick<'c> {
    /// What it stands for: a setting without its loads.
    pub(super) base: Condition,
    prepared: Option<Prepared<'c>>,
}

/// Its changes are the possibilities, each load switched on, each switch of wired loads thrown, each device
/// tripped.
struct Prepared<'c> {
    many: ManyConditions<'c>,
    work: ManyWork,
    recipes: Vec<Recipe>,
    sources: Sources,
    tripping: Tripping<'c>,
    tripping_work: TrippingWork,
    /// The change that switches on each load, and what it changes.
    switched_on: Vec<usize>,
    on: Vec<Condition>,
    /// The change that throws each of the switches that wired loads have on the wall.
    thrown: Vec<Thrown>,
    /// What is seen between the pairs of the sources, kept for its room.
    between: Vec<PortSight>,
}

/// A circuit with the switches that wired loads have on the wall.
type Switched<'a, 'c> = (&'c Circuit, &'a WallSwitches);

/// The change that throws a switch.
struct Thrown {
    switch: String,
    change: usize,
    /// It is thrown before any change.
    is_thrown: bool,
}

/// A setting as the base that it is asked from: loads off, or away if they are away and not on, and switches
/// on the wall as they stand where nobody said anything.
pub(super) fn base((circuit, switches): Switched<'_, '_>, setting: &Condition) -> Condition {
    let mut base = setting.clone();
    let is_said = |name: &str| setting.switches.contains_key(name);
    for (name, position) in switches.thrown(&BTreeMap::new(), |_| false, is_said) {
        base.switches.insert(name.to_owned(), position);
    }
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
        on: Switched<'_, 'c>,
        base: Condition,
        possibles: &[Possible],
        looks: &Looks,
    ) -> Self {
        let prepared = Prepared::new(on, &base, possibles, looks);
        Self { base, prepared }
    }

    /// The numbers of every channel, after what trips at once has tripped; `None` where it takes
    /// the whole network.
    pub(super) fn row(
        &mut self,
        on: Switched<'_, '_>,
        possibles: &[Possible],
        set: &[usize],
        setting: &Condition,
    ) -> Option<Row> {
        self.prepared.as_mut()?.row(on, possibles, set, setting)
    }

    /// The same of a condition that takes the whole network; `None` where an instrument has to be
    /// held to it to know.
    pub(super) fn laid_out(
        &mut self,
        circuit: &Circuit,
        settling: &Settling<'_>,
        condition: Condition,
    ) -> Option<Row> {
        self.prepared.as_mut()?.laid_out(circuit, settling, condition)
    }
}

impl<'c> Prepared<'c> {
    /// `None` where the network or what is looked at it with is not plain.
    fn new(
        (circuit, switches): Switched<'_, 'c>,
        base: &Condition,
        possibles: &[Possible],
        looks: &Looks,
    ) -> Option<Self> {
        let mut sources = Sources::default();
        let recipes: Vec<Recipe> = looks
            .channels
            .iter()
            .map(|channel| Recipe::of(circuit, looks, channel, &mut sources))
            .collect::<Option<_>>()?;
        let is_whole = |possible: &Possible| is_whole(circuit, possible);
        let change = |possible: &Possible| match possible.is_taken_apart(base) || is_whole(possible)
        {
            true => Condition::default(),
            false => possible.change.clone(),
        };
        let mut changes: Vec<Condition> = possibles.iter().map(change).collect();
        let mut linear = changes.clone();
        let (mut switched_on, mut all_on) = (Vec::new(), Vec::new());
        for load in &circuit.parts().loads {
            switched_on.push(changes.len());
            let on = on(circuit, &load.id, looks)?;
            linear.push(if load.kind.is_linear() { on.clone() } else { Condition::default() });
            all_on.push(on.clone());
            changes.push(on);
        }
        let mut thrown = Vec::new();
        for (name, change, is_thrown) in switches.each_thrown(base) {
            thrown.push(Thrown { switch: name.to_owned(), change: changes.len(), is_thrown });
            linear.push(change.clone());
            changes.push(change);
        }
        let netlist = wire(circuit, base).ok()?;
        let tripping = Tripping::new(circuit, (base, &netlist), &linear)?;
        let changes = tripping.and_devices(changes);
        let Sources { between, to_earth, .. } = &sources;
        let groups = [between.clone(), to_earth.clone(), tripping.electronics().to_vec()];
        let mut elements = tripping.elements();
        elements.extend(sources.elements.iter().map(String::as_str));
        let to_earth = held_to_earth(&netlist, between);
        let watched = (elements.as_slice(), to_earth.as_slice());
        let many = ManyConditions::prepared(circuit, base, &changes, &groups, watched).ok()?;
        let (work, tripping_work) = (many.work(), tripping.work());
        Some(Self {
            many,
            work,
            recipes,
            sources,
            tripping,
            tripping_work,
            switched_on,
            on: all_on,
            thrown,
            between: Vec::new(),
        })
    }

    fn row(
        &mut self,
        (circuit, switches): Switched<'_, '_>,
        possibles: &[Possible],
        set: &[usize],
        setting: &Condition,
    ) -> Option<Row> {
        let these = || set.iter().filter_map(|&at| possibles.get(at));
        if these().any(|possible| is_whole(circuit, possible)) {
            return None;
        }
        let idle = |load: &str| {
            these().any(|one| matches!(&one.kind, Kind::IdleLoad { load: idle } if idle == load))
        };
        let forgotten = |load: &str| these().any(|one| one.forgotten_load() == Some(load));
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
                None => load.on && load.plugged_in || forgotten(&load.id),
            };
            if on && !idle(&load.id) {
                made.push(change);
            }
        }
        for &at in set {
            let Some(possible) = possibles.get(at) else { continue };
            let waits = possible.once_on.as_ref().is_some_and(|once| {
                let is_forgotten = !setting.loads.contains_key(&once.load) && forgotten(&once.load);
                !(once.is_on(setting) || is_forgotten) || idle(&once.load)
            });
            let is_of_a_load =
                matches!(possible.kind, Kind::IdleLoad { .. } | Kind::ForgottenLoad { .. });
            if !is_of_a_load && !said(possible) && !waits {
                made.push(at);
            }
        }
        // What is thrown as things stand there, and not in what they are asked from.
        let is_said = |name: &str| {
            setting.switches.contains_key(name)
                || these().any(|one| one.change.switches.contains_key(name))
        };
        let thrown = switches.thrown(&setting.loads, forgotten, is_said);
        for Thrown { switch, change, is_thrown } in &self.thrown {
            if !is_said(switch) && thrown.iter().any(|(name, _)| name == switch) != *is_thrown {
                made.push(*change);
            }
        }
        let mut made = Made {
            many: &self.many,
            electronics: ELECTRONICS,
            work: &mut self.work,
            changes: &mut made,
        };
        let tripped = self.tripping.settle(&mut made, &self.tripping_work)?.ok()?;
        self.between.clear();
        self.between.extend_from_slice(self.many.read(0, &mut self.work).ok()?);
        let mut ampere = Vec::new();
        if !self.sources.elements.is_empty() {
            let currents = self.many.currents(&mut self.work)?;
            let own = currents.iter().skip(self.tripping.elements().len());
            // A wire in pieces is found in the whole network.
            ampere = own.map(|one| Some(one.as_ref()?.ampere)).collect::<Option<_>>()?;
        }
        let to_earth = self.many.read_voltages(1, &mut self.work).ok()?;
        let seen = self.sources.seen(&self.between, to_earth, &ampere);
        Some(Row { values: values(&self.recipes, &seen), tripped, off: Vec::new() })
    }

    /// The same of a condition whose network is laid out by itself.
    fn laid_out(
        &mut self,
        circuit: &Circuit,
        settling: &Settling<'_>,
        mut condition: Condition,
    ) -> Option<Row> {
        for (load, on) in circuit.parts().loads.iter().zip(&self.on) {
            let is_on = match condition.loads.get(&load.id) {
                Some(state) => *state == LoadState::On,
                None => load.on && load.plugged_in,
            };
            if is_on {
                condition.put_on(on);
            }
        }
        let (netlist, _, tripped) = settling.settle(condition).ok()?;
        let element = |name: &String| {
            netlist.find_element(name).or_else(|| netlist.find_element(&first_piece(name)))
        };
        let elements: Vec<ElementId> =
            self.sources.elements.iter().map(element).collect::<Option<_>>()?;
        let nodes = |pairs: &[(Address, Address)]| -> Option<Vec<(NodeId, NodeId)>> {
            let node = |address: &Address| netlist.find_node(address);
            pairs.iter().map(|(from, to)| Some((node(from)?, node(to)?))).collect()
        };
        let Sources { between, to_earth, .. } = &self.sources;
        let ends = elements.iter().map(|&element| netlist.ends(element)).collect();
        let groups = [nodes(between)?, nodes(to_earth)?, ends];
        let whatif = WhatIf::new(&netlist, &held_to_earth(&netlist, between), &groups).ok()?;
        let mut work = whatif.work();
        whatif.put(&[], &mut work).ok()?;
        self.between.clear();
        self.between.extend_from_slice(whatif.read(0, &mut work).ok()?);
        let across = whatif.read_voltages(2, &mut work).ok()?;
        let ampere: Vec<Phasor> = elements
            .iter()
            .zip(across)
            .map(|(&element, across)| match netlist.element(element).law {
                Law::Open => Some(Phasor::ZERO),
                law => whatif.current_by(&law, across.voltage_volt?),
            })
            .collect::<Option<_>>()?;
        let to_earth = whatif.read_voltages(1, &mut work).ok()?;
        let seen = self.sources.seen(&self.between, to_earth, &ampere);
        Some(Row { values: values(&self.recipes, &seen), tripped, off: Vec::new() })
    }
}

/// Every number from what is seen.
fn values(recipes: &[Recipe], seen: &Seen<'_>) -> Vec<f64> {
    recipes.iter().map(|recipe| recipe.value(seen)).collect()
}

/// Pairs of terminals that are held to the soil, which load what they are held to.
fn held_to_earth(netlist: &Netlist, between: &[(Address, Address)]) -> Vec<(NodeId, NodeId)> {
    let node = |address: &Address| netlist.find_node(address);
    let each = between.iter().filter_map(|(from, to)| Some((node(from)?, node(to)?)));
    each.filter(|(from, to)| [*from, *to].contains(&Netlist::EARTH)).collect()
}

fn is_whole(circuit: &Circuit, possible: &Possible) -> bool {
    possible.fault().is_some_and(|fault| is_asked_whole(circuit, fault.kind))
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
