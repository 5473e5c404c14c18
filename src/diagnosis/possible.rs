//! Everything that may be so, one thing at a time: the faults of the catalogue, and what is no
//! fault and can still mislead.

use crate::circuit::{Circuit, Load};
use crate::condition::catalogue::{
    FaultKind, Levels, OnceOn, PossibleFault, Priors, catalogue_at, inside_appliances,
    stuck_switches, worn_out_devices,
};
use crate::condition::{AttachedLaw, Attachment, Condition, Fault, LoadState};

use super::Found;
use super::thrown::is_one_of_several;

/// One thing that may be so.
#[derive(Clone, Debug)]
pub(super) struct Possible {
    pub(super) kind: Kind,
    pub(super) change: Condition,
    /// Odds before anything is seen.
    pub(super) odds: f64,
    /// Boxes that a person opens for it, by their place among the circuit's; a break in a cable
    /// has two.
    pub(super) boxes: Vec<usize>,
    /// The load that must be on for it to do anything.
    pub(super) once_on: Option<OnceOn>,
    /// What it is about: two that share one of these cannot both be so.
    subjects: Vec<String>,
}

/// What kind of thing.
#[derive(Clone, Debug)]
pub(super) enum Kind {
    /// A fault.
    Fault(Box<PossibleFault>),
    /// Something nobody mentioned is plugged in and on, at a receptacle.
    UnmentionedLoad { outlet: String, ohm: f64 },
    /// A load that is switched on draws nothing.
    IdleLoad { load: String },
    /// A load of which nothing was said is on, although it is off as described.
    ForgottenLoad { load: String },
}

/// What somebody forgot to mention is about one of these, with its share: 75 W at 120 V, or 700 W,
/// which makes what is bad before it show. Judgement.
const UNMENTIONED_OHM: [(f64, f64); 2] = [(190.0, 0.6), (20.0, 0.4)];

/// Odds that anything unmentioned is on in a circuit, shared among its receptacles: judgement.
const UNMENTIONED_ODDS: f64 = 0.25;

/// Odds that any load that is off as described was on and nobody said so, shared among them:
/// judgement.
const FORGOTTEN_ODDS: f64 = 0.15;

/// What lets this pass to a case trips any breaker, and more than this only what senses leaks, which may
/// or may not be before another receptacle: judgement.
const SHORT_BELOW_OHM: f64 = 5.0;
const LEAK_SENSED_ELSEWHERE: f64 = 0.5;

/// Odds that a load said to be on draws nothing: judgement.
const IDLE_ODDS: f64 = 0.01;

/// One of several switches is left as it makes the light dark this often: judgement.
pub(super) const LEFT_STANDING: f64 = 0.3;

/// Looking at joints in an open box misses a bad one, or a break inside the cable.
const OVERLOOKED: f64 = 0.05;
const OVERLOOKED_IN_CABLE: f64 = 0.5;

/// Resistances and voltages at which faults that may have any are tried: closer than the
/// catalogue's own, so that a real one is never far from one of them.
fn levels(circuit: &Circuit) -> Levels {
    let usual = Levels::default();
    let mut bridge_ohm = usual.bridge_ohm;
    if has_residual_device(circuit) {
        bridge_ohm.push(DAMP_OHM);
    }
    Levels {
        bridge_ohm,
        joint_ohm: vec![0.3, 0.8, 2.0, 5.0, 12.0, 30.0],
        gap_ohm: vec![20e3, 100e3, 500e3],
        supply_share: vec![0.55, 0.6, 0.66, 0.72, 0.78, 0.84, 0.9, 1.1],
        ..Levels::default()
    }
}

/// What lets pass enough to trip a ground-fault device and is felt by nothing else.
const DAMP_OHM: f64 = 5e3;

fn has_residual_device(circuit: &Circuit) -> bool {
    let parts = circuit.parts();
    parts.branch_circuits.iter().any(|one| one.breaker.residual_trip_ampere.is_some())
        || parts.devices.iter().any(|device| device.kind.senses_residual())
}

/// Shares of the priors are for each listed level: as many levels, as much less each.
fn shared(priors: &Priors, ours: &Levels) -> Priors {
    let usual = Levels::default();
    let ratio = |usual: &[f64], ours: &[f64]| usual.len() as f64 / ours.len().max(1) as f64;
    Priors {
        bad_share: priors.bad_share * ratio(&usual.joint_ohm, &ours.joint_ohm),
        leaky_share: priors.leaky_share * ratio(&usual.gap_ohm, &ours.gap_ohm),
        supply_voltage: priors.supply_voltage * ratio(&usual.supply_share, &ours.supply_share),
        ..*priors
    }
}

/// Everything that may be so in a circuit.
pub(super) fn possibilities(circuit: &Circuit, priors: &Priors) -> Vec<Possible> {
    let levels = levels(circuit);
    let priors = shared(priors, &levels);
    let catalogue = catalogue_at(circuit, &levels, &priors);
    let places = &circuit.parts().places;
    let number = |place: &String| places.iter().position(|known| known.id == *place);
    let fault = |(fault, once_on): (PossibleFault, Option<OnceOn>)| Possible {
        change: fault.change.clone(),
        odds: fault.weight * thrown_before_calling(circuit, &fault),
        boxes: fault.places.iter().filter_map(number).collect(),
        once_on,
        subjects: fault.subjects.clone(),
        kind: Kind::Fault(Box::new(fault)),
    };
    let listed = catalogue.faults().iter().map(|fault| (fault.clone(), None));
    let inside = inside_appliances(circuit, &levels, &priors);
    let worn_out = worn_out_devices(circuit, &priors).into_iter();
    let worn_out = worn_out.chain(stuck_switches(circuit, &priors)).map(|fault| (fault, None));
    let mut all: Vec<Possible> = listed.chain(inside).chain(worn_out).map(fault).collect();
    all.extend(unmentioned(circuit));
    all.extend(idle(circuit));
    all.extend(forgotten(circuit));
    all
}

/// Of what one of several switches explains, so much is left for whoever calls: who misses a light throws
/// the switch beside him first.
fn thrown_before_calling(circuit: &Circuit, fault: &PossibleFault) -> f64 {
    let mut switches = fault.change.switches.keys().filter_map(|name| circuit.device(name));
    match fault.kind == FaultKind::SwitchOther && switches.any(is_one_of_several) {
        true => LEFT_STANDING,
        false => 1.0,
    }
}

fn unmentioned(circuit: &Circuit) -> Vec<Possible> {
    let n_outlets = circuit.outlets().count().max(1) as f64;
    let mut all = Vec::new();
    for (_, outlet) in circuit.outlets() {
        let slot = |names: &[&str]| {
            let found = outlet.slots.iter().find(|(name, _)| names.contains(&name.as_str()));
            found.map(|(_, terminal)| terminal.clone())
        };
        let Some((hot, back)) = slot(&["hot"]).zip(slot(&["neutral", "hot2"])) else { continue };
        for (ohm, share) in UNMENTIONED_OHM {
            let mut change = Condition::default();
            change.attached.push(Attachment {
                id: format!("unmentioned:{}", outlet.address),
                between: (hot.clone(), back.clone()),
                law: AttachedLaw::ResistanceOhm(ohm),
            });
            all.push(Possible {
                kind: Kind::UnmentionedLoad { outlet: outlet.address.to_string(), ohm },
                change,
                odds: UNMENTIONED_ODDS * share / n_outlets,
                boxes: Vec::new(),
                once_on: None,
                subjects: Vec::new(),
            });
        }
    }
    all
}

fn idle(circuit: &Circuit) -> impl Iterator<Item = Possible> {
    circuit.parts().loads.iter().map(|load| {
        let mut change = Condition::default();
        change.loads.insert(load.id.clone(), LoadState::Off);
        Possible {
            kind: Kind::IdleLoad { load: load.id.clone() },
            change,
            odds: IDLE_ODDS,
            boxes: Vec::new(),
            once_on: None,
            subjects: vec![format!("load {}", load.id)],
        }
    })
}

fn forgotten(circuit: &Circuit) -> impl Iterator<Item = Possible> {
    let is_off = |load: &&Load| !load.on || !load.plugged_in && !load.plug_links.is_empty();
    let off = circuit.parts().loads.iter().filter(is_off);
    let odds = FORGOTTEN_ODDS / off.clone().count().max(1) as f64;
    off.map(move |load| {
        let mut change = Condition::default();
        change.loads.insert(load.id.clone(), LoadState::On);
        Possible {
            kind: Kind::ForgottenLoad { load: load.id.clone() },
            change,
            odds,
            boxes: Vec::new(),
            once_on: None,
            subjects: vec![format!("load {}", load.id)],
        }
    })
}

/// Puts several on a condition, but for what is taken apart as things stand; what a load must be on
/// for comes once it is known which loads are.
pub(super) fn apply_all(these: &[&Possible], stands: &Condition, condition: &mut Condition) {
    let left = |one: &&&Possible| !one.is_taken_apart(stands);
    let (waiting, plain): (Vec<&Possible>, Vec<&Possible>) =
        these.iter().filter(left).partition(|one| one.once_on.is_some());
    // What was forgotten to be on and idles all the same draws nothing.
    let (idle, plain): (Vec<&Possible>, Vec<&Possible>) =
        plain.into_iter().partition(|one| one.idle_load().is_some());
    for possible in plain.into_iter().chain(idle).chain(waiting) {
        possible.apply(condition);
    }
}

impl Possible {
    /// The fault, if it is one.
    pub(super) fn fault(&self) -> Option<&PossibleFault> {
        match &self.kind {
            Kind::Fault(fault) => Some(fault),
            _ => None,
        }
    }

    /// The appliance in which it is, where it is in one that can be unplugged.
    pub(super) fn appliance<'c>(&self, circuit: &'c Circuit) -> Option<&'c Load> {
        self.fault()?.appliance(circuit)
    }

    /// The protective device that is itself worn out, if that is what it is.
    pub(super) fn worn_out(&self) -> Option<&str> {
        self.fault()?.worn_out()
    }

    /// Whether it is what the supply delivers, for which nothing is opened.
    pub(super) fn is_of_the_supply(&self) -> bool {
        self.fault().is_some_and(|fault| fault.kind == FaultKind::SupplyVoltage)
    }

    /// Whether a conductor of the service is lost or bad.
    pub(super) fn is_of_the_service(&self) -> bool {
        use FaultKind::{ServiceBad, ServiceLost};
        self.fault().is_some_and(|fault| matches!(fault.kind, ServiceLost | ServiceBad))
    }

    /// Whether it is what the supply delivers.
    pub(super) fn is_the_supply_voltage(&self) -> bool {
        self.fault().is_some_and(|fault| fault.kind == FaultKind::SupplyVoltage)
    }

    /// Whether it is only how something is set.
    pub(super) fn is_setting(&self) -> bool {
        self.fault().is_some_and(|fault| fault.kind.is_setting())
    }

    /// The chance that a load trips what protects it where the supply is good, for what is wrong inside
    /// it.
    pub(super) fn trips_elsewhere(&self, load: &str) -> f64 {
        let Some(fault) = self.fault().filter(|one| one.load.as_deref() == Some(load)) else {
            return 0.0;
        };
        match (fault.kind, fault.level_ohm) {
            (FaultKind::ShortInside, _) => 1.0,
            (FaultKind::LeaksOnceOn | FaultKind::InsulationDown, Some(ohm)) => {
                if ohm < SHORT_BELOW_OHM { 1.0 } else { LEAK_SENSED_ELSEWHERE }
            }
            _ => 0.0,
        }
    }

    pub(super) fn excludes(&self, other: &Self) -> bool {
        self.subjects.iter().any(|subject| other.subjects.contains(subject))
    }

    /// Whether both are one kind of fault of the same thing, to whatever amount.
    pub(super) fn is_another_amount_of(&self, other: &Self) -> bool {
        let both = self.fault().zip(other.fault());
        both.is_some_and(|(one, other)| one.is_another_amount_of(other))
    }

    /// Puts it on a condition. What a person says was set so at the time stays as it was said;
    /// a load that idles does so whatever is said.
    fn apply(&self, condition: &mut Condition) {
        if self.once_on.as_ref().is_some_and(|once| !once.is_on(condition)) {
            return;
        }
        let Condition { faults, breakers, switches, loads, attached } = &self.change;
        condition.faults.extend(faults.iter().cloned());
        for (name, closed) in breakers {
            condition.breakers.entry(name.clone()).or_insert(*closed);
        }
        for (name, position) in switches {
            condition.switches.entry(name.clone()).or_insert(*position);
        }
        for (name, state) in loads {
            // Nobody forgets what was said.
            match self.kind {
                Kind::ForgottenLoad { .. } => {
                    condition.loads.entry(name.clone()).or_insert(*state);
                }
                _ => {
                    condition.loads.insert(name.clone(), *state);
                }
            }
        }
        condition.attached.extend(attached.iter().cloned());
    }

    /// The joints it is in.
    pub(super) fn elements(&self) -> impl Iterator<Item = &String> {
        self.change.faults.iter().filter_map(Fault::joint)
    }

    /// The chance that it is not seen in an opened box.
    pub(super) fn unseen_at(&self, place: usize) -> f64 {
        match self.boxes.as_slice() {
            [only] if *only == place => OVERLOOKED,
            several if several.contains(&place) => OVERLOOKED_IN_CABLE,
            _ => 1.0,
        }
    }

    /// The load that draws nothing although it is on, if that is what it is.
    pub(super) fn idle_load(&self) -> Option<&str> {
        match &self.kind {
            Kind::IdleLoad { load } => Some(load),
            _ => None,
        }
    }

    /// The load that is on although nobody said so, if that is what it is.
    pub(super) fn forgotten_load(&self) -> Option<&str> {
        match &self.kind {
            Kind::ForgottenLoad { load } => Some(load),
            _ => None,
        }
    }

    /// Whether it is a load that is on and that nobody spoke of.
    pub(super) const fn is_a_load_left_on(&self) -> bool {
        matches!(self.kind, Kind::ForgottenLoad { .. } | Kind::UnmentionedLoad { .. })
    }

    /// Whether taking conductors off their joints leaves nothing of it.
    pub(super) fn is_taken_apart(&self, stands: &Condition) -> bool {
        let faults = &self.change.faults;
        !faults.is_empty() && faults.iter().all(|fault| stands.takes_apart(fault))
    }

    /// Whether this is what was found in an opened box.
    pub(super) fn is_what_was_found(&self, found: &Found) -> bool {
        found.is_among(&self.change.faults)
    }
}
