//! Metal that a person can touch, or believes dead, at a live potential.

use std::collections::{BTreeSet, HashMap, HashSet};

use crate::circuit::reach::{Reach, Subpanels};
use crate::circuit::{BranchCircuit, Configuration, DeviceKind, Outlet, Vocabulary};
use crate::instrument::{Instrument, Place, Request, Shown, measure_netlist};
use crate::netlist::{Law, Netlist, NodeId, Role};
use crate::protection::{Protection, touch};
use crate::quantity::{Address, Phasor};
use crate::solution::Holding;

use super::alike::{Alike, Alikes};
use super::clearing::Pieces;
use super::earthing::Earthing;
use super::neutral::{landing, wired_in};
use super::pieces::{carries_fault, joined};
use super::{
    Hazard, HazardKind, LET_GO_AMPERE, Limits, PERCEPTION_AMPERE, Part, Severity, Situation, person,
};

/// Potentials closer than this are one live part: joints and lengths of wire between them do
/// not differ by more at ordinary load.
const ONE_PART_VOLT: f64 = 5.0;

/// A piece of metal with its potential to earth.
struct Piece {
    /// `None` of all contacts of a receptacle together.
    metal: Option<Part>,
    /// What a report calls it.
    address: Address,
    /// The terminal a finger is on.
    touched: Address,
    node: NodeId,
    potential: Phasor,
}

/// Grounds, cases, neutrals and whole receptacles at a live potential. What is held there so weakly
/// that a person would not feel it is not among them: [`weakly_live`].
pub(super) fn energised(
    situation: &Situation<'_>,
    limits: &Limits,
    holding: &Holding,
) -> Vec<Hazard> {
    let are_alike = |one: &Piece, other: &Piece| one.metal == other.metal;
    let judged = judged(situation, live_pieces(situation, limits), are_alike, holding);
    judged.iter().filter_map(|(group, ampere)| hazard_of(limits, group, *ampere)).collect()
}

/// What a hand-held meter has, ohms: a potential that it would pull under the limit is none.
const METER_OHM: f64 = 10e6;

/// Metal that nobody would feel, though it is at a live potential and keeps that under a meter: a
/// ghost voltage, or a leak. What a sound circuit has too is so by design, as a case without a ground
/// behind its filter.
pub(super) fn weakly_live(
    situation: &Situation<'_>,
    limits: &Limits,
    holding: &Holding,
    open_neutrals: &[Hazard],
) -> Vec<Hazard> {
    // What floats with its supply has no potential to earth that means anything.
    if floats(situation, holding) {
        return Vec::new();
    }
    let mut pieces = live_pieces(situation, limits);
    let said: HashSet<&Address> = open_neutrals.iter().flat_map(|one| &one.addresses).collect();
    pieces.retain(|piece| !said.contains(&piece.address));
    pieces.retain(|piece| piece.metal.is_some() && !is_live_by_design(situation, piece, limits));
    // Nothing is said of the earth that is not true of the neutral or the case on the same leak.
    let judged = judged(situation, pieces, |_, _| true, holding);
    let weak = limits.touch_wet_volt / METER_OHM..PERCEPTION_AMPERE;
    let found = judged.iter().filter(|(_, ampere)| weak.contains(ampere));
    found
        .filter_map(|(group, through_person_ampere)| {
            let worst = worst_of(group)?;
            let parts: BTreeSet<Part> = group.iter().filter_map(|piece| piece.metal).collect();
            Some(Hazard {
                severity: Severity::Notice,
                kind: HazardKind::WeaklyLive {
                    parts: parts.into_iter().collect(),
                    volt: worst.potential.magnitude(),
                    through_person_ampere: *through_person_ampere,
                    by_leak: !holding.is_weak(worst.node),
                },
                addresses: group.iter().map(|piece| piece.address.clone()).collect(),
            })
        })
        .collect()
}

/// Whether the supply is isolated, and nothing has brought it to earth.
fn floats(situation: &Situation<'_>, holding: &Holding) -> bool {
    let windings = situation.circuit.parts().supply.windings.iter();
    let mut ends = windings.flat_map(|winding| [&winding.line, &winding.neutral]);
    let is_held =
        |end: &Address| situation.netlist.find_node(end).is_some_and(|node| !holding.is_weak(node));
    Earthing::of(situation).is_it() && !ends.any(is_held)
}

/// Whether a sound circuit has it live too.
fn is_live_by_design(situation: &Situation<'_>, piece: &Piece, limits: &Limits) -> bool {
    let sound = situation
        .sound
        .and_then(|(netlist, solution)| solution.potential(netlist.find_node(&piece.touched)?));
    sound.is_some_and(|volt| volt.magnitude() >= limits.touch_wet_volt)
}

/// Pieces of metal that are alike by what they are joined to, and what a person draws from the worst
/// of each group, amperes.
fn judged(
    situation: &Situation<'_>,
    pieces: Vec<Piece>,
    are_alike: impl Fn(&Piece, &Piece) -> bool,
    holding: &Holding,
) -> Vec<(Vec<Piece>, f64)> {
    let mut groups: Vec<Vec<Piece>> = Vec::new();
    for piece in pieces {
        let group = groups.iter_mut().find(|group| {
            group.first().is_some_and(|first| {
                are_alike(first, &piece)
                    && holding.are_joined(first.node, piece.node)
                    && (first.potential - piece.potential).magnitude() < ONE_PART_VOLT
            })
        });
        match group {
            Some(group) => group.push(piece),
            None => groups.push(vec![piece]),
        }
    }
    let worst: Vec<&Piece> = groups.iter().filter_map(|group| worst_of(group)).collect();
    let currents = through_person(situation, &worst);
    groups.into_iter().zip(currents).collect()
}

/// The piece at the highest potential.
fn worst_of(group: &[Piece]) -> Option<&Piece> {
    let height = |piece: &&Piece| piece.potential.magnitude();
    group.iter().max_by(|a, b| height(a).total_cmp(&height(b)))
}

/// One hazard for metal at one potential, judged by its worst place.
fn hazard_of(limits: &Limits, group: &[Piece], through_person_ampere: f64) -> Option<Hazard> {
    let worst = worst_of(group)?;
    let volt = worst.potential.magnitude();
    if through_person_ampere < PERCEPTION_AMPERE {
        return None;
    }
    let deadly = volt >= limits.touch_volt && through_person_ampere >= LET_GO_AMPERE;
    let kind = match worst.metal {
        Some(Part::Ground) => HazardKind::EnergisedGround { volt, through_person_ampere },
        Some(Part::Case) => HazardKind::EnergisedCase { volt, through_person_ampere },
        Some(Part::Neutral) => HazardKind::EnergisedNeutral { volt, through_person_ampere },
        Some(Part::SwitchedOff) => HazardKind::LiveWithBreakerOff { volt, through_person_ampere },
        None => HazardKind::AllContactsLive { volt },
    };
    Some(Hazard {
        severity: if deadly { Severity::Danger } else { Severity::Warning },
        kind,
        addresses: group.iter().map(|piece| piece.address.clone()).collect(),
    })
}

/// Every piece of metal above the limit for wet places, in walking order.
fn live_pieces(situation: &Situation<'_>, limits: &Limits) -> Vec<Piece> {
    let parts = situation.circuit.parts();
    let mut pieces = Vec::new();
    let mut look = |metal, address: &Address, touched: &Address| {
        if let Some(node) = situation.netlist.find_node(touched)
            && let Some(potential) = situation.solution.potential(node)
        {
            let (address, touched) = (address.clone(), touched.clone());
            pieces.push(Piece { metal, address, touched, node, potential });
        }
    };
    let switched_off = switched_off(situation);
    let neutral_is_live = is_isolated(situation);
    for metal in bonded_by_hand(situation) {
        look(Some(Part::Ground), metal, metal);
    }
    for outlet in parts.places.iter().flat_map(|place| &place.outlets) {
        for (slot, address) in &outlet.slots {
            match slot.as_str() {
                "ground" => look(Some(Part::Ground), address, address),
                "neutral" if neutral_is_live => {}
                "neutral"
                    if is_line_by_design(situation, outlet, address, limits)
                        && !is_off(&switched_off, outlet) => {}
                "neutral" => look(Some(Part::Neutral), address, address),
                _ if switched_off.contains(address.as_str()) => {
                    look(Some(Part::SwitchedOff), address, address);
                }
                _ => {}
            }
        }
        if let Some((_, slot)) = outlet.slots.first()
            && all_at_one_potential(situation, limits, outlet)
        {
            look(None, &outlet.address, slot);
        }
    }
    for device in &parts.devices {
        if matches!(device.kind, DeviceKind::Switch { .. } | DeviceKind::Protective { .. }) {
            let ground = Address::from(device.id.as_str()).join("ground");
            look(Some(Part::Ground), &ground, &ground);
        }
    }
    for place in parts.places.iter().filter(|place| place.outlets.is_empty()) {
        let splice = Address::from(format!("{}.splice.ground", place.id));
        look(Some(Part::Ground), &splice, &splice);
        let neutral = Address::from(format!("{}.splice.neutral", place.id));
        if !neutral_is_live {
            look(Some(Part::Neutral), &neutral, &neutral);
        }
        let splices = format!("{}.splice.", place.id);
        let here = switched_off.range(splices.clone()..);
        for hot in here.take_while(|terminal| terminal.starts_with(&splices)) {
            let hot = Address::from(hot.as_str());
            look(Some(Part::SwitchedOff), &hot, &hot);
        }
    }
    // Beside a receptacle the neutral of what is wired in may be open by itself.
    if !neutral_is_live {
        for neutral in neutrals_of_their_own(situation) {
            look(Some(Part::Neutral), neutral, neutral);
        }
    }
    for frame in parts.loads.iter().filter_map(|load| load.frame.as_ref()) {
        look(Some(Part::Case), frame, frame);
    }
    pieces.retain(|piece| piece.potential.magnitude() >= limits.touch_wet_volt);
    pieces
}

/// Neutrals of what is wired in that no metal joins to that of a receptacle or of a box without one.
fn neutrals_of_their_own<'a>(situation: &Situation<'a>) -> Vec<&'a Address> {
    let netlist = situation.netlist;
    let places = situation.circuit.parts().places.iter();
    let of_place = places.flat_map(|place| {
        let slots = place.outlets.iter().flat_map(|outlet| &outlet.slots);
        let slots = slots.filter(|(slot, _)| slot == "neutral").map(|(_, at)| at.clone());
        let splice = Address::from(format!("{}.splice.neutral", place.id));
        slots.chain(place.outlets.is_empty().then_some(splice)).collect::<Vec<_>>()
    });
    let metal = joined(netlist, carries_fault);
    let piece = |address: &Address| netlist.find_node(address).map(|node| metal.find(node.0));
    let mut known: HashSet<Option<u32>> = of_place.map(|neutral| piece(&neutral)).collect();
    let landings = wired_in(situation).map(|(neutral, _)| landing(situation, neutral));
    landings.filter(|neutral| known.insert(piece(neutral))).collect()
}

/// Metal that a bond or an electrode joins to earth: the bars of panels and their enclosures,
/// pipes. Not the neutrals that they are bonded to, nor what belongs to the transformer.
fn bonded_by_hand<'a>(situation: &Situation<'a>) -> Vec<&'a Address> {
    let supply = &situation.circuit.parts().supply;
    let room = |address: &Address| {
        let text = address.as_str();
        text.split_once('.').map_or(text, |(room, _)| room).to_owned()
    };
    let of_the_source: BTreeSet<String> =
        supply.windings.iter().flat_map(|one| [room(&one.line), room(&one.neutral)]).collect();
    let bonds = supply.bonds.iter().flat_map(|bond| [&bond.between.0, &bond.between.1]);
    let electrodes = supply.electrodes.iter().map(|electrode| &electrode.node);
    let mut metal: Vec<&Address> = Vec::new();
    for address in bonds.chain(electrodes) {
        let is_neutral = address.as_str().ends_with("neutral");
        if !is_neutral && !of_the_source.contains(&room(address)) && !metal.contains(&address) {
            metal.push(address);
        }
    }
    metal
}

/// Whether a neutral is a live conductor like any other, and known to be: IT supplies of IEC
/// 60364-4-41, 411.6.
pub(super) fn is_isolated(situation: &Situation<'_>) -> bool {
    situation.circuit.parts().vocabulary == Vocabulary::Iec && Earthing::of(situation).is_it()
}

/// Whether the slot called neutral may have a line in it: receptacles that do not tell their two slots
/// apart are put between two lines where the supply has it so, and have the line on either side of a
/// neutral.
fn is_line_by_design(
    situation: &Situation<'_>,
    outlet: &Outlet,
    address: &Address,
    limits: &Limits,
) -> bool {
    let polarised = Configuration::named(&outlet.configuration).is_none_or(|one| one.polarised);
    let sound = situation.sound.and_then(|(netlist, solution)| {
        Some(solution.potential(netlist.find_node(address)?)?.magnitude())
    });
    let is_dead = |other: &Address| {
        potential(situation, other).is_some_and(|volt| volt.magnitude() < limits.touch_wet_volt)
    };
    let mut others = outlet.slots.iter().filter(|(slot, _)| slot != "neutral" && slot != "ground");
    !polarised
        && (sound.is_some_and(|volt| volt >= limits.touch_wet_volt)
            || others.any(|(_, other)| is_dead(other)))
}

/// Whether an open breaker feeds a receptacle: what is live in it then comes from elsewhere.
fn is_off(switched_off: &BTreeSet<String>, outlet: &Outlet) -> bool {
    outlet.slots.iter().any(|(_, address)| switched_off.contains(address.as_str()))
}

/// Terminals that an open breaker feeds in the circuit as installed. Where one pole of a handle is open and
/// another is not, the handle is on: thrown, it takes both.
fn switched_off(situation: &Situation<'_>) -> BTreeSet<String> {
    let netlist = situation.netlist;
    let is_open = |pole: &&BranchCircuit| {
        let element = netlist.find_element(&format!("breaker:{}", pole.id));
        element.is_some_and(|element| netlist.element(element).law == Law::Open)
    };
    let poles = &situation.circuit.parts().branch_circuits;
    let is_off = |pole: &&BranchCircuit| situation.circuit.on_one_handle(pole).iter().all(is_open);
    let open: Vec<&str> = poles.iter().filter(is_off).map(|pole| pole.id.as_str()).collect();
    if open.is_empty() {
        return BTreeSet::new();
    }
    Reach::of(situation.circuit, &open, Subpanels::Passed).terminals
}

fn potential(situation: &Situation<'_>, address: &Address) -> Option<Phasor> {
    situation.solution.potential(situation.netlist.find_node(address)?)
}

/// Every contact is above the touch limit, and no two differ by more than the limit for wet
/// places: to an instrument held between them the receptacle looks dead.
fn all_at_one_potential(situation: &Situation<'_>, limits: &Limits, outlet: &Outlet) -> bool {
    let potentials: Option<Vec<Phasor>> =
        outlet.slots.iter().map(|(_, address)| potential(situation, address)).collect();
    let Some(potentials) = potentials else { return false };
    let Some((&first, others)) = potentials.split_first() else { return false };
    !others.is_empty()
        && potentials.iter().all(|v| v.magnitude() >= limits.touch_volt)
        && others.iter().all(|&v| (v - first).magnitude() < limits.touch_wet_volt)
}

/// The current through a person who touches each of these pieces alone and stands on earth, the
/// network solved with the person in it.
fn through_person(situation: &Situation<'_>, pieces: &[&Piece]) -> Vec<f64> {
    let person = person();
    let requests: Vec<Request> = pieces
        .iter()
        .map(|piece| {
            let place = Place::between(piece.touched.clone(), Address::earth());
            Request::new(Instrument::Person(person.clone()), place)
        })
        .collect();
    // Where it cannot be measured, a warning takes the most that there can be.
    let at_most = |piece: &Piece| {
        let volt = piece.potential.magnitude();
        volt / person.body.at(volt)
    };
    match measure_netlist(situation.netlist, &requests) {
        Ok(readings) => readings
            .iter()
            .zip(pieces)
            .map(|(reading, piece)| match &reading.shown {
                Shown::Person(shown) => shown.body_ampere.magnitude(),
                _ => at_most(piece),
            })
            .collect(),
        Err(_) => pieces.iter().map(|piece| at_most(piece)).collect(),
    }
}

/// A protective device that ends it when somebody touches, and where.
///
/// ```
/// use slotwise::hazard::EndedByTouch;
/// let ended = EndedByTouch {
///     device: "sink.gf".into(),
///     is_breaker: false,
///     slowest_s: 0.069,
///     addresses: vec!["sink.neutral".into()],
/// };
/// assert!(ended.slowest_s < 5.6);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct EndedByTouch {
    /// The breaker (by its circuit) or the device.
    pub device: String,
    /// It is a breaker of a panel.
    pub is_breaker: bool,
    /// The slowest that it may be, seconds.
    pub slowest_s: f64,
    /// Where on the metal it is so.
    pub addresses: Vec<Address>,
}

/// The longest that a touch is followed, seconds: past the 5.6 s that UL 943 leaves a class A
/// device at 6 mA.
const TOUCHED_S: f64 = 10.0;

/// So many pieces of metal are touched; of more nothing is promised.
const TOUCHED: usize = 24;

/// By what a piece of live metal fares when it is touched.
#[derive(PartialEq, Eq, Hash)]
enum Fares {
    /// A piece that no device parts.
    Piece(Option<u32>),
    /// Any that is held live in the same way, behind breakers that are alike.
    Alike(Alike),
}

/// What ends a hazard when somebody touches it and stands on earth, by device. Places that no device
/// parts from each other are touched once.
pub fn ended_by_touch(situation: &Situation<'_>, hazard: &Hazard) -> Vec<EndedByTouch> {
    let is_touched = matches!(
        hazard.kind,
        HazardKind::EnergisedGround { .. }
            | HazardKind::EnergisedCase { .. }
            | HazardKind::EnergisedNeutral { .. }
            | HazardKind::LiveWithBreakerOff { .. }
    );
    if !is_touched {
        return Vec::new();
    }
    let (circuit, netlist) = (situation.circuit, situation.netlist);
    let protection = Protection::new(circuit);
    let sensed: HashSet<&str> = protection.sensing_residual().collect();
    let pieces = joined(netlist, |one| {
        !matches!(one.role, Role::Breaker | Role::Switch | Role::Load | Role::Winding)
            && !sensed.contains(one.id.as_str())
    });
    let piece = |address: &Address| netlist.find_node(address).map(|node| pieces.find(node.0));
    let (alikes, conductors) = (Alikes::of(situation), Pieces::of(situation));
    // Of each place what it fares by, and the breaker whose own it is.
    let fares = |address: &Address| {
        let alike = alikes.as_ref().zip(netlist.find_node(address));
        let alike = alike.and_then(|(alikes, node)| alikes.touched(situation, &conductors, node));
        match alike {
            Some((alike, breaker)) => (Fares::Alike(alike), Some(breaker)),
            None => (Fares::Piece(piece(address)), None),
        }
    };
    let of_each: Vec<(Fares, Option<String>)> = hazard.addresses.iter().map(fares).collect();
    let mut number_of: HashMap<&Fares, usize> = HashMap::new();
    let mut touched: Vec<Address> = Vec::new();
    let mut own_of_touched: Vec<Option<&String>> = Vec::new();
    for (address, (fares, own)) in hazard.addresses.iter().zip(&of_each) {
        number_of.entry(fares).or_insert_with(|| {
            touched.push(address.clone());
            own_of_touched.push(own.as_ref());
            touched.len() - 1
        });
    }
    let within = (Limits::of(circuit.parts().vocabulary).touch_wet_volt, TOUCHED_S);
    touched.truncate(TOUCHED);
    let steps = touch(circuit, situation.condition, &touched, &person(), within);
    let steps = steps.unwrap_or_default();
    let mut ended: Vec<EndedByTouch> = Vec::new();
    for (address, (fares, own)) in hazard.addresses.iter().zip(&of_each) {
        let number = number_of.get(fares).copied().unwrap_or(usize::MAX);
        let Some(steps) = steps.get(number) else { continue };
        let Some(last) = steps.last() else { continue };
        let slowest_s = steps.iter().filter_map(|step| step.after.latest_s).sum();
        let is_own = own_of_touched.get(number).copied().flatten() == Some(&last.device);
        let device = own.as_ref().filter(|_| is_own).unwrap_or(&last.device);
        match ended.iter_mut().find(|known| known.device == *device) {
            Some(known) => {
                known.slowest_s = known.slowest_s.max(slowest_s);
                known.addresses.push(address.clone());
            }
            None => ended.push(EndedByTouch {
                device: device.clone(),
                is_breaker: last.is_breaker,
                slowest_s,
                addresses: vec![address.clone()],
            }),
        }
    }
    ended
}

/// Whether no metal joins the live metal of a hazard to earth, so that the fault which makes it live
/// makes nothing trip by itself: as the ground of a receptacle on a hot wire.
pub fn has_no_way_to_earth(situation: &Situation<'_>, hazard: &Hazard) -> bool {
    let netlist = situation.netlist;
    let metal = joined(netlist, |one| carries_fault(one) || one.role == Role::Electrode);
    let nodes = hazard.addresses.iter().filter_map(|address| netlist.find_node(address));
    let mut nodes = nodes.peekable();
    nodes.peek().is_some() && nodes.all(|node| !metal.equiv(node.0, Netlist::EARTH.0))
}
