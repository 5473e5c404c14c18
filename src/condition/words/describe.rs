//! A condition back into sentences.

use crate::circuit::reach::Branches;
use crate::circuit::{Circuit, Load, Vocabulary};
use crate::condition::{
    AttachedLaw, Attachment, Condition, EndOfCable, Fault, Gap, LoadState, SwitchPosition,
};
use crate::quantity::Address;

use super::known::{Known, KnownJoint};
use super::lexicon::Class;
use super::resolve::bridge_id;
use super::resolve::joints::matching;
use super::resolve::settings::with_magnitude;
use super::sentence::{Said, Spot};
use super::speak::{self, JointWords};
use super::{Edit, SOLID_BRIDGE_OHM, edits_of_sentence};

/// What a condition says, in canonical sentences: faults first, in their order, then
/// breakers, switches, loads and what is attached. Three loads and more that are all there are,
/// or all that a circuit feeds, are said together where all of them are off or unplugged.
///
/// Each sentence, given to [`parse`](super::parse), is the same again, for every
/// condition that fits its circuit and names things in characters that can be quoted.
///
/// ```
/// use slotwise::circuit::{Circuit, Description, Electrode, Supply};
/// use slotwise::condition::{Condition, words};
/// let mut description = Description { frequency_hz: 60.0, ..Description::default() };
/// description.supply.electrodes.push(Electrode {
///     id: "rod".into(),
///     node: "panel.neutral".into(),
///     resistance_ohm: 25.0,
/// });
/// let circuit = Circuit::new(description).unwrap();
/// let mut condition = Condition::default();
/// condition.say(&circuit, "ground rod lost").unwrap();
/// assert_eq!(words::describe(&circuit, &condition), ["electrode rod open"]);
/// ```
pub fn describe(circuit: &Circuit, condition: &Condition) -> Vec<String> {
    let known = Known::of(circuit);
    let teller = Teller { known: &known };
    let edits = edits(condition);
    let first_load = edits.iter().position(|edit| matches!(edit, Edit::Load { .. }));
    let (before, from_loads) = edits.split_at(first_load.unwrap_or(edits.len()));
    let together = teller.all_loads(condition);
    let is_left = |edit: &&Edit| !together.iter().any(|(_, said)| said.contains(edit));
    let before = before.iter().map(|edit| teller.sentence(edit));
    let each = from_loads.iter().filter(is_left).map(|edit| teller.sentence(edit));
    before.chain(together.iter().map(|(sentence, _)| sentence.clone())).chain(each).collect()
}

/// Fewer loads are said one by one.
const SAID_TOGETHER_FROM: usize = 3;

/// A condition as the edits that make it.
pub(super) fn edits(condition: &Condition) -> Vec<Edit> {
    let faults = condition.faults.iter().cloned().map(Edit::Fault);
    let breakers = condition
        .breakers
        .iter()
        .map(|(name, closed)| Edit::Breaker { name: name.clone(), closed: *closed });
    let switches = condition
        .switches
        .iter()
        .map(|(name, position)| Edit::Switch { name: name.clone(), position: *position });
    let loads = condition
        .loads
        .iter()
        .map(|(name, state)| Edit::Load { name: name.clone(), state: *state });
    let attached = condition.attached.iter().cloned().map(Edit::Attach);
    faults.chain(breakers).chain(switches).chain(loads).chain(attached).collect()
}

/// Loads that are all off or all unplugged, as one sentence; what is wired in is off where the others are
/// unplugged.
fn together(condition: &Condition, loads: &[&Load], whose: &str) -> Option<(String, Vec<Edit>)> {
    let all = |state: LoadState| {
        let stands = |load: &&Load| {
            let state = if load.plug_links.is_empty() { LoadState::Off } else { state };
            let is_so = condition.loads.get(&load.id) == Some(&state);
            is_so.then(|| Edit::Load { name: load.id.clone(), state })
        };
        loads.iter().map(stands).collect::<Option<Vec<Edit>>>()
    };
    let states = [("off", LoadState::Off), ("unplugged", LoadState::Unplugged)];
    let mut said = states.into_iter().filter(|_| loads.len() >= SAID_TOGETHER_FROM);
    said.find_map(|(word, state)| Some((format!("everything{whose} {word}"), all(state)?)))
}

struct Teller<'k> {
    known: &'k Known<'k>,
}

impl Teller<'_> {
    /// All loads, or else all of a circuit, that are off or unplugged: the sentence, and what it says.
    fn all_loads(&self, condition: &Condition) -> Vec<(String, Vec<Edit>)> {
        let circuit = self.known.circuit;
        let all: Vec<&Load> = circuit.parts().loads.iter().collect();
        if condition.loads.len() < SAID_TOGETHER_FROM {
            return Vec::new();
        }
        if let Some(said) = together(condition, &all, "") {
            return vec![said];
        }
        let mut told: Vec<(String, Vec<Edit>)> = Vec::new();
        for (name, loads) in Branches::of(circuit).loads(circuit) {
            let said = together(condition, &loads, &format!(" on {}", speak::name(name)));
            let is_told = |edit: &Edit| told.iter().any(|(_, edits)| edits.contains(edit));
            let said = said.filter(|(_, edits)| !edits.iter().any(is_told));
            told.extend(said);
        }
        told
    }

    /// The first way of saying it that is heard as meant; the last way is by element and
    /// address and always there.
    fn sentence(&self, edit: &Edit) -> String {
        let ways = self.ways(edit);
        let heard = |way: &&String| {
            edits_of_sentence(self.known, way).is_ok_and(|heard| heard == [edit.clone()])
        };
        ways.iter().find(heard).or(ways.last()).cloned().unwrap_or_default()
    }

    fn ways(&self, edit: &Edit) -> Vec<String> {
        match edit {
            Edit::Fault(fault) => self.fault(fault),
            Edit::Breaker { name, closed } => {
                let device = self.known.circuit.branch_circuit(name).is_none();
                let state = match (device, closed) {
                    (true, true) => "reset",
                    (true, false) => "tripped",
                    (false, true) => "on",
                    (false, false) => "off",
                };
                let class = if device { "" } else { "breaker " };
                self.by_device(name, |name| format!("{class}{name} {state}"))
            }
            Edit::Switch { name, position } => {
                let position = match position {
                    SwitchPosition::Closed => "closed",
                    SwitchPosition::Open => "open",
                    SwitchPosition::One => "position 1",
                    SwitchPosition::Two => "position 2",
                    SwitchPosition::Straight => "straight",
                    SwitchPosition::Crossed => "crossed",
                };
                self.by_device(name, |name| format!("switch {name} {position}"))
            }
            Edit::Load { name, state } => {
                let state = match state {
                    LoadState::On => "on",
                    LoadState::Off => "off",
                    LoadState::Unplugged => "unplugged",
                    LoadState::Stalled => "stalled",
                };
                let quoted = speak::name(name);
                [name, &quoted]
                    .into_iter()
                    .flat_map(|name| [format!("{name} {state}"), format!("load {name} {state}")])
                    .collect()
            }
            Edit::Attach(Attachment { id, between, law }) => {
                let value = match law {
                    AttachedLaw::ResistanceOhm(ohm) => speak::ohm(*ohm),
                    AttachedLaw::CapacitanceFarad(farad) => speak::farad(*farad),
                };
                let ends = self.two_addresses(between);
                let plain = format!("{value} attached between {ends}");
                vec![plain.clone(), format!("{plain}, called {}", speak::name(id))]
            }
        }
    }

    fn fault(&self, fault: &Fault) -> Vec<String> {
        match fault {
            Fault::Open { element, gap } => self.joint(element, "open", &gap_words(gap)),
            Fault::Resistance { element, resistance_ohm } => {
                self.joint(element, &speak::ohm(*resistance_ohm), "")
            }
            Fault::Glowing { element } => self.joint(element, "glowing", ""),
            Fault::ExchangedAtCableEnd { end, conductors } => self.at_cable_end(end, conductors),
            Fault::ExchangedJoints { elements } => self.two_joints(elements),
            Fault::Bridge { id, between, resistance_ohm } => {
                self.bridge(id, between, *resistance_ohm)
            }
            Fault::WrongBus { circuit, bus } => {
                let last = bus.as_str().rsplit('.').next().unwrap_or_default();
                let circuit = speak::name(circuit);
                [last, bus.as_str()]
                    .map(|bus| format!("{circuit} on {}", speak::name(bus)))
                    .to_vec()
            }
            Fault::WrongLanding { end, conductor, to } => {
                let to = speak::name(to.as_str());
                let wire = self.conductor(conductor);
                let (cable, end) = (speak::name(&end.cable), end.end.letter());
                vec![format!("{wire} of cable {cable}, end {end}, landed on {to}")]
            }
            Fault::Broken { cable, conductor, at_fraction, gap } => {
                let gap = gap_words(gap);
                vec![self.in_cable(conductor, "broken", cable, *at_fraction) + &gap]
            }
            Fault::ResistanceInCable { cable, conductor, at_fraction, resistance_ohm } => {
                let ohm = speak::ohm(*resistance_ohm);
                vec![self.in_cable(conductor, &ohm, cable, *at_fraction)]
            }
            Fault::ContactInCable { cable, conductors: (p, q), at_fraction, resistance_ohm } => {
                let soil_or = |name: &str| match name {
                    "earth" => "soil".to_owned(),
                    name => self.conductor(name),
                };
                let both = format!("{} and {}", soil_or(p), soil_or(q));
                let through = through(*resistance_ohm);
                let cable = speak::name(cable);
                let along = speak::along(*at_fraction);
                vec![format!("{both} touching in cable {cable}, {along}{through}")]
            }
            Fault::LineLoadExchanged { device } => {
                self.by_device(device, |name| format!("line and load exchanged at {name}"))
            }
            Fault::Tab { device, conductor, intact } => {
                let state = if *intact { "left in" } else { "broken" };
                let conductor = self.conductor(conductor);
                self.by_device(device, |name| format!("{conductor} tab {state} at {name}"))
            }
            Fault::SupplyVoltage { winding, emf_volt } => self.supply(winding, *emf_volt),
        }
    }

    /// By the name of the device's place, and by its own.
    fn by_device(&self, id: &str, say: impl Fn(String) -> String) -> Vec<String> {
        let names = [self.known.name_of_device(id), id.to_owned()];
        let quoted = names.each_ref().map(|name| speak::name(name));
        // A word of the grammar may be heard as a name where only a name can stand.
        names.into_iter().chain(quoted).map(say).collect()
    }

    fn vocabulary(&self) -> Vocabulary {
        self.known.circuit.parts().vocabulary
    }

    fn conductor(&self, name: &str) -> String {
        speak::conductor(self.vocabulary(), name).to_owned()
    }

    fn joint(&self, element: &str, state: &str, rest: &str) -> Vec<String> {
        let by_element = format!("{} {state}{rest}", speak::name(element));
        let Some(joint) = self.known.joint_of(element) else { return vec![by_element] };
        let JointWords { subject, place } = speak::joint(self.known, joint);
        let spoken = match place {
            Some(place) => format!("{subject} {state} {place}{rest}"),
            None => format!("{subject} {state}{rest}"),
        };
        vec![spoken.replace('"', ""), spoken, by_element]
    }

    fn in_cable(&self, conductor: &str, state: &str, cable: &str, fraction: f64) -> String {
        let (conductor, cable) = (self.conductor(conductor), speak::name(cable));
        format!("{conductor} {state} in cable {cable}, {}", speak::along(fraction))
    }

    /// Where a spot of joints is, without its conductor.
    fn place_of(&self, joint: &KnownJoint) -> Option<String> {
        speak::joint(self.known, joint).place
    }

    fn at_cable_end(&self, end: &EndOfCable, (p, q): &(String, String)) -> Vec<String> {
        let both = format!("{} and {} exchanged", self.conductor(p), self.conductor(q));
        let element = format!("contact:{}.{}.{p}", end.cable, end.end.letter());
        let spoken = self
            .known
            .joint_of(&element)
            .and_then(|joint| self.place_of(joint))
            .map(|place| format!("{both} {place}"));
        let cable = speak::name(&end.cable);
        let plain = format!("{both} in cable {cable}, end {}", end.end.letter());
        spoken.into_iter().chain([plain]).collect()
    }

    fn two_joints(&self, (first, second): &(String, String)) -> Vec<String> {
        let mut ways = Vec::new();
        let joints = self.known.joint_of(first).zip(self.known.joint_of(second));
        if let Some((one, another)) = joints {
            let (p, q) = (&one.joint.conductor, &another.joint.conductor);
            let both = format!("{} and {} exchanged", self.conductor(p), self.conductor(q));
            for owner in self.known.owners(one) {
                ways.push(format!("{both} at {}", speak::name(&owner)));
            }
            ways.extend(self.place_of(one).map(|place| format!("{both} {place}")));
            for (c1, c2) in self.circuits_of(one, another) {
                ways.push(format!("{}s of {c1} and {c2} exchanged", self.conductor(p)));
                let at = speak::name(&one.joint.place);
                ways.push(format!("{}s of {c1} and {c2} exchanged at {at}", self.conductor(p)));
            }
            let by_address = |joint: &KnownJoint| speak::name(joint.joint.address.as_str());
            ways.push(format!("{} and {} exchanged", by_address(one), by_address(another)));
        }
        ways.push(format!("{} and {} exchanged", speak::name(first), speak::name(second)));
        ways
    }

    /// Pairs of circuits whose conductors these two joints may be.
    fn circuits_of(&self, one: &KnownJoint, another: &KnownJoint) -> Vec<(String, String)> {
        if one.joint.conductor != another.joint.conductor {
            return Vec::new();
        }
        let circuits = |joint: &KnownJoint| -> Vec<String> {
            let cable = joint.cable_end.as_ref().map(|(cable, _)| cable.clone());
            self.known
                .named(Class::Circuit)
                .filter(|circuit| {
                    joint.joint.element.starts_with(&format!("landing:{circuit}."))
                        || cable
                            .as_ref()
                            .is_some_and(|cable| self.known.fed_by(circuit).contains(cable))
                })
                .map(str::to_owned)
                .collect()
        };
        let seconds = circuits(another);
        circuits(one)
            .into_iter()
            .flat_map(|one| seconds.iter().map(move |two| (one.clone(), two.clone())))
            .filter(|(one, two)| one != two)
            .collect()
    }

    fn bridge(&self, id: &str, between: &(Address, Address), ohm: f64) -> Vec<String> {
        let mut ways = Vec::new();
        let through = through(ohm);
        let (a, b) = (split(&between.0), split(&between.1));
        let called = match id == bridge_id(between) {
            true => String::new(),
            false => format!(", called {}", speak::name(id)),
        };
        if let (Some((place, p)), Some((other, q))) = (a, b) {
            let (here, p, q) = (speak::name(place), self.conductor(p), self.conductor(q));
            let there = speak::name(other);
            if place == other && through.is_empty() && p == "neutral" {
                ways.push(format!("bootleg {q} at {here}{called}"));
            }
            if place == other {
                ways.push(format!("{p} and {q} bridged at {here}{through}{called}"));
            } else if p == q {
                ways.push(format!("{p}s of {here} and {there} tied{through}{called}"));
            }
        }
        ways.push(format!("{} bridged{through}{called}", self.two_addresses(between)));
        ways
    }

    fn two_addresses(&self, between: &(Address, Address)) -> String {
        let spoken = |address: &Address| match address == &Address::earth() {
            true => "soil".to_owned(),
            false => speak::name(address.as_str()),
        };
        format!("{} and {}", spoken(&between.0), spoken(&between.1))
    }

    fn supply(&self, winding: &str, emf: crate::quantity::Phasor) -> Vec<String> {
        let spoken = speak::name(winding);
        let volt = |value: f64| format!("{} V", speak::shifted(value, 0));
        let mut ways = Vec::new();
        let windings = &self.known.circuit.parts().supply.windings;
        if let Some(stated) = windings.iter().find(|stated| stated.id == winding) {
            let size = emf.magnitude();
            // A magnitude said in few digits, if it is the one that was said.
            for said in [(size * 1e6).round() / 1e6, size] {
                if with_magnitude(stated.emf_volt, said) == emf {
                    ways.push(format!("winding {spoken} at {}", volt(said)));
                }
            }
        }
        let (re, im) = (volt(emf.re), volt(emf.im));
        ways.push(format!("winding {spoken} at {re} in-phase, {im} quadrature"));
        ways
    }
}

/// Place and last word of an address.
fn split(address: &Address) -> Option<(&str, &str)> {
    address.as_str().rsplit_once('.')
}

fn through(ohm: f64) -> String {
    match ohm.total_cmp(&SOLID_BRIDGE_OHM) {
        std::cmp::Ordering::Equal => String::new(),
        _ => format!(" through {}", speak::ohm(ohm)),
    }
}

fn gap_words(gap: &Gap) -> String {
    let parts = [gap.resistance_ohm.map(speak::ohm), gap.capacitance_farad.map(speak::farad)];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() {
        String::new()
    } else {
        format!(", {} across the gap", parts.join(" and "))
    }
}

/// How a spot that was only half said could be completed: a sentence that is heard.
pub(super) fn example(known: &Known<'_>, spot: &Spot, state: &str) -> Option<String> {
    let conductor = spot.conductor.clone().or_else(|| Some(Said::new("neutral".into(), 0..0)));
    let asked = [
        Spot { conductor: conductor.clone(), ..spot.clone() },
        Spot { conductor: conductor.clone(), joints: Vec::new(), toward: None, ..spot.clone() },
        Spot { conductor, name: spot.name.clone(), ..Spot::default() },
        Spot { name: spot.name.clone(), ..Spot::default() },
    ];
    let teller = Teller { known };
    asked.iter().find_map(|spot| {
        matching(known, spot).first().and_then(|joint| {
            let ways = teller.joint(&joint.joint.element, state, "");
            ways.into_iter().find(|way| edits_of_sentence(known, way).is_ok())
        })
    })
}
