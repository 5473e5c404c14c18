//! The hidden circuit as a network: service, breakers, the run with its troubles, loads, and
//! whatever instrument is held to it.

use std::collections::{BTreeMap, BTreeSet};

use crate::building::{Building, Draws};
use crate::hidden::{GROUND, HOT, Hidden, Joint, JointAt, NEUTRAL, Part, Trouble};
use crate::network::{C, EARTH, Network, Node};

/// Radians per second at 60 Hz.
const OMEGA: f64 = std::f64::consts::TAU * 60.0;
/// Ohms and reactance per metre of 12 AWG copper at 20 °C, and henry in flat cable.
const OHM_PER_METRE: f64 = 5.21e-3;
const REACTANCE_PER_METRE: f64 = OMEGA * 0.29e-6;
/// Farad per metre in flat cable: a wire and the ground between, the two wires, each to earth.
const TO_GROUND: f64 = 70e-12;
const ACROSS: f64 = 16e-12;
const TO_EARTH: f64 = 11.6e-12 / 3.0;
/// A leg of the service to the panel: half a winding and thirty metres of 4/0 aluminium.
const LEG: (f64, f64) = (18.5e-3, 13.2e-3);
const SERVICE_NEUTRAL: (f64, f64) = (8.06e-3, 4.04e-3);
/// Rods, main bond, breaker, blades of a plug, wire of a pigtail.
const ROD_OHM: (f64, f64) = (1.0, 25.0);
const BOND_OHM: f64 = 0.5e-3;
const BREAKER_OHM: f64 = 5e-3;
const PLUG_OHM: f64 = 4e-3;
/// Behind the volt that an ohmmeter drives with.
const METER_OHM: f64 = 1e3;
const PIGTAIL_METRES: f64 = 0.15;
/// The run's breaker of 20 A has tripped before anyone measures.
const TRIPS_AMPERE: f64 = 100.0;

/// How things stand at one moment.
#[derive(Clone, Debug, Default)]
pub(crate) struct Standing {
    /// Loads that stand otherwise than described: on, or off.
    pub(crate) loads: BTreeMap<String, bool>,
    /// Loads that are unplugged.
    pub(crate) unplugged: BTreeSet<String>,
    /// The run's breaker is off.
    pub(crate) breaker_off: bool,
    /// The cable to this box is off where it leaves the box before.
    pub(crate) parted: Option<usize>,
    /// Joints that are open half of the time are closed now.
    pub(crate) fickle_closed: bool,
}

/// In place of a second slot: remote earth.
pub(crate) const TO_EARTH_ITSELF: usize = 3;

/// An instrument's input between two slots of a box, or a slot and earth.
#[derive(Clone, Copy)]
pub(crate) struct Input {
    /// The box.
    pub(crate) at: usize,
    /// The two slots; the second may be [`TO_EARTH_ITSELF`].
    pub(crate) wires: (usize, usize),
    /// Its admittance.
    pub(crate) y: C,
}

/// The network with the nodes of the slots, the cellar's last, and those of the breaker.
struct Wired {
    network: Network,
    slots: Vec<[Node; 3]>,
    breaker: Option<(Node, Node)>,
    /// The loose ends of the cable that is off.
    loose: Option<[Node; 3]>,
}

/// Potentials of all slots, after what must trip has tripped.
pub(crate) struct Volts {
    slots: Vec<[C; 3]>,
    /// The run's breaker has tripped.
    pub(crate) tripped: bool,
}

impl Volts {
    /// Potential of a slot to earth.
    pub(crate) fn slot(&self, at: usize, wire: usize) -> C {
        self.slots[at][wire]
    }

    /// Voltage between two slots of a box.
    pub(crate) fn across(&self, at: usize, wires: (usize, usize)) -> C {
        self.slots[at][wires.0] - self.slots[at][wires.1]
    }
}

/// One sitting: building, what is hidden in it, and how things stand.
pub(crate) struct Sitting<'a> {
    /// The circuit as described.
    pub(crate) building: &'a Building,
    /// What is really there.
    pub(crate) hidden: &'a Hidden,
    /// How things stand.
    pub(crate) standing: Standing,
}

/// Rounds in which loads settle, those after which steps are halved, and the change of voltage at
/// which they have settled, volts.
const ROUNDS: usize = 60;
const SWINGS: usize = 8;
const SETTLED_VOLT: f64 = 2e-3;

impl Sitting<'_> {
    /// All slots with instruments' inputs in place.
    pub(crate) fn volts(&self, inputs: &[Input]) -> Option<Volts> {
        let (volts, ampere) = self.solved(inputs, self.standing.breaker_off)?;
        if ampere < TRIPS_AMPERE {
            return Some(volts);
        }
        let (after, _) = self.solved(inputs, true)?;
        Some(Volts { tripped: true, ..after })
    }

    /// Ohms between two conductors, the breaker off: of the cable that is taken off, or of the
    /// slots of a box.
    pub(crate) fn ohms(&self, at: Option<usize>, wires: (usize, usize)) -> Option<f64> {
        let mut wired = self.wired(true);
        let ends = match at {
            Some(at) => *wired.slots.get(at)?,
            None => wired.loose?,
        };
        for load in self.loads() {
            let slots = wired.slots[load.at];
            let admittance = C::new(1.0 / (load.ohm(0.0) + PLUG_OHM), 0.0);
            wired.network.admittance(slots[HOT], slots[NEUTRAL], admittance);
        }
        let (a, b) = (ends[wires.0], ends[wires.1]);
        let across = |volt: f64| {
            let mut network = wired.network.clone();
            network.source(a, b, C::new(volt, 0.0), C::new(METER_OHM, 0.0));
            let potentials = network.solve()?;
            Some(potentials[a] - potentials[b])
        };
        // What comes from the service is the same in both.
        let volt = across(1.0)? - across(0.0)?;
        let ampere = (C::new(1.0, 0.0) - volt) / METER_OHM;
        Some(1.0 / (ampere / volt).re.max(1e-12))
    }

    /// All slots and the current in the run's breaker.
    fn solved(&self, inputs: &[Input], breaker_off: bool) -> Option<(Volts, f64)> {
        let mut wired = self.wired(breaker_off);
        for input in inputs {
            let slots = wired.slots[input.at];
            let second = slots.get(input.wires.1).copied().unwrap_or(EARTH);
            wired.network.admittance(slots[input.wires.0], second, input.y);
        }
        let loads = self.loads();
        let mut across: Vec<f64> = loads.iter().map(|_| self.hidden.volts).collect();
        let mut answer = None;
        for round in 0..ROUNDS {
            let mut network = wired.network.clone();
            for (load, volt) in loads.iter().zip(&across) {
                let slots = wired.slots[load.at];
                let ohm = load.ohm(*volt) + PLUG_OHM;
                network.admittance(slots[HOT], slots[NEUTRAL], C::new(1.0 / ohm, 0.0));
            }
            let potentials = network.solve()?;
            let of = |nodes: [Node; 3]| nodes.map(|node| potentials[node]);
            let volts = Volts {
                slots: wired.slots.iter().map(|&nodes| of(nodes)).collect(),
                tripped: false,
            };
            let mut moved: f64 = 0.0;
            for (load, volt) in loads.iter().zip(&mut across) {
                let now = volts.across(load.at, (HOT, NEUTRAL)).norm();
                moved = moved.max((now - *volt).abs());
                // What does not settle at once swings about its answer.
                *volt = if round < SWINGS { now } else { f64::midpoint(*volt, now) };
            }
            let ampere = wired
                .breaker
                .map_or(0.0, |(bus, hot)| (potentials[bus] - potentials[hot]).norm() / BREAKER_OHM);
            answer = Some((volts, ampere));
            if moved < SETTLED_VOLT {
                break;
            }
        }
        answer
    }

    /// Every load that is on, known or not.
    fn loads(&self) -> Vec<Running> {
        let known =
            self.building.loads.iter().zip(&self.hidden.loads).filter_map(|(load, truth)| {
                let on = self.standing.loads.get(&load.id).copied().unwrap_or(load.on);
                on.then_some(Running {
                    at: load.at,
                    draws: load.draws,
                    watts: truth.0,
                    exponent: truth.1,
                })
            });
        let unknown = self.hidden.unknown.map(|(at, watts, draws)| Running {
            at,
            draws,
            watts,
            exponent: 0.45,
        });
        known.chain(unknown).collect()
    }

    fn wired(&self, breaker_off: bool) -> Wired {
        let mut network = Network::new();
        let bars = self.panel(&mut network);
        let cellar = self.cellar(&mut network, bars);
        let mut from = [network.node(0.5), bars.neutral, bars.ground];
        let closed = !breaker_off && !self.hidden.troubles.contains(&Trouble::BreakerOff);
        let breaker = closed.then_some((bars.legs[0], from[HOT]));
        if closed {
            network.path(bars.legs[0], from[HOT], C::new(BREAKER_OHM, 0.0));
        }
        if self.hidden.troubles.contains(&Trouble::NeutralOnOtherLeg) {
            from[NEUTRAL] = bars.legs[1];
        }
        let mut slots = Vec::new();
        let mut loose = None;
        for at in 0..self.building.boxes.len() {
            let arrival = [0.0, 0.05, 0.1].map(|offset| network.node(at as f64 + 1.0 + offset));
            if self.standing.parted == Some(at) {
                from = [0.0, 0.02, 0.04].map(|offset| network.node(at as f64 + 0.8 + offset));
                loose = Some(from);
            }
            self.cable(&mut network, at, from, arrival);
            let (held, leaving) = self.device(&mut network, at, arrival);
            from = leaving;
            slots.push(held);
        }
        slots.push(cellar);
        self.strays(&mut network, &slots);
        Wired { network, slots, breaker, loose }
    }

    fn panel(&self, network: &mut Network) -> Bars {
        let volts = self.hidden.troubles.iter().fold(self.hidden.volts, |volts, trouble| {
            if let Trouble::Sag(share) = trouble { volts * share } else { volts }
        });
        let transformer = network.node(0.1);
        let legs = [network.node(0.2), network.node(0.3)];
        let (neutral, ground) = (network.node(0.4), network.node(0.45));
        for (leg, sign) in legs.into_iter().zip([1.0, -1.0]) {
            let e = C::new(sign * volts, 0.0);
            network.source(leg, transformer, e, C::new(LEG.0, LEG.1));
        }
        let neutral_ohm = self.hidden.troubles.iter().find_map(|trouble| match trouble {
            Trouble::ServiceNeutral(ohm) => Some(*ohm),
            _ => None,
        });
        let extra = neutral_ohm.unwrap_or(0.0);
        if extra.is_finite() {
            let z = C::new(SERVICE_NEUTRAL.0 + extra, SERVICE_NEUTRAL.1);
            network.path(transformer, neutral, z);
        }
        network.path(neutral, ground, C::new(BOND_OHM, 0.0));
        network.path(transformer, EARTH, C::new(ROD_OHM.0, 0.0));
        network.path(ground, EARTH, C::new(ROD_OHM.1, 0.0));
        Bars { legs, neutral, ground }
    }

    fn cellar(&self, network: &mut Network, bars: Bars) -> [Node; 3] {
        let z = self.wire(self.hidden.cellar_metres);
        [bars.legs[1], bars.neutral, bars.ground].map(|bar| {
            let slot = network.node(0.6);
            network.path(bar, slot, z + C::new(BREAKER_OHM, 0.0));
            slot
        })
    }

    fn wire(&self, metres: f64) -> C {
        C::new(OHM_PER_METRE * self.hidden.resistance, REACTANCE_PER_METRE) * metres
    }

    /// The cable to a box, with its joints at both ends.
    fn cable(&self, network: &mut Network, at: usize, from: [Node; 3], to: [Node; 3]) {
        let lands = self.swapped(at, false);
        let metres = self.hidden.metres[at];
        let mut near_ends = [EARTH; 3];
        let mut far_ends = [EARTH; 3];
        let mut shares = [0.5; 3];
        for wire in [HOT, NEUTRAL, GROUND] {
            let joint = |part| {
                let joint = JointAt { at, wire, part };
                self.hidden.joint(joint, self.standing.fickle_closed)
            };
            // Of a cable that is off, what its joint was does not matter.
            let off = self.standing.parted == Some(at);
            let near = if off { Joint { open: false, ohm: 0.0 } } else { joint(Part::Near) };
            let far = joint(Part::Far);
            let (a, b) = (from[wire], to[lands[wire]]);
            let broken = self.broken(at, wire);
            let closed = [near, far].iter().filter(|j| !j.open).map(|j| j.ohm).sum::<f64>();
            let gaps = [near, far].iter().filter(|j| j.open).map(|j| j.ohm).sum::<f64>();
            let open = near.open || far.open || broken.is_some();
            if !open || (broken.is_none() && gaps.is_finite()) {
                let z = self.wire(metres) + C::new(closed + gaps, 0.0) + self.choke(at, wire);
                network.path(a, b, z);
            }
            // The wire itself, with its capacitance, hangs on what it is still joined to.
            let key = at as f64 + 0.9;
            let cut_off = (near.open && far.open).then(|| network.node(key));
            let piece = |joined: Node, network: &mut Network| match (cut_off, broken) {
                (Some(alone), _) => alone,
                (None, Some(_)) => network.node(key),
                (None, None) => joined,
            };
            near_ends[wire] = if near.open { piece(b, network) } else { a };
            far_ends[wire] = if far.open { piece(a, network) } else { b };
            if let Some(share) = broken {
                shares[wire] = share;
            }
        }
        self.capacitance(network, metres, near_ends, far_ends, shares);
    }

    fn capacitance(
        &self,
        network: &mut Network,
        metres: f64,
        near: [Node; 3],
        far: [Node; 3],
        shares: [f64; 3],
    ) {
        let scale = OMEGA * metres * self.hidden.capacitance;
        let share = shares.into_iter().find(|share| (*share - 0.5).abs() > 1e-9).unwrap_or(0.5);
        for (ends, part) in [(near, share), (far, 1.0 - share)] {
            for (x, y, farad) in
                [(HOT, GROUND, TO_GROUND), (NEUTRAL, GROUND, TO_GROUND), (HOT, NEUTRAL, ACROSS)]
            {
                network.admittance(ends[x], ends[y], C::new(0.0, scale * part * farad));
            }
            for end in ends {
                network.admittance(end, EARTH, C::new(0.0, scale * part * TO_EARTH));
            }
        }
    }

    /// What a box's slots hang on, and where its cable goes on from.
    fn device(
        &self,
        network: &mut Network,
        at: usize,
        arrival: [Node; 3],
    ) -> ([Node; 3], [Node; 3]) {
        let last = at + 1 == self.building.boxes.len();
        let mut held = arrival;
        let mut leaving = arrival;
        for wire in [HOT, NEUTRAL, GROUND] {
            if last {
                continue;
            }
            let through = self.building.boxes[at].fed_through && wire != GROUND;
            let parts: &[Part] =
                if through { &[Part::Pigtail] } else { &[Part::Pigtail, Part::Screw] };
            let joints = parts.iter().map(|&part| {
                let joint = JointAt { at, wire, part };
                self.hidden.joint(joint, self.standing.fickle_closed)
            });
            let (mut ohm, mut open) = (0.0, false);
            for joint in joints {
                ohm += joint.ohm;
                open |= joint.open;
            }
            let end = network.node(at as f64 + 1.3);
            if !open || ohm.is_finite() {
                let metres = if through { 0.0 } else { PIGTAIL_METRES };
                network.path(arrival[wire], end, self.wire(metres) + C::new(ohm, 0.0));
            }
            if through {
                leaving[wire] = end;
            } else {
                held[wire] = end;
            }
        }
        (self.swapped(at, true).map(|wire| held[wire]), leaving)
    }

    /// Bridges, leaks of appliances, and what comes from elsewhere.
    fn strays(&self, network: &mut Network, slots: &[[Node; 3]]) {
        for trouble in &self.hidden.troubles {
            match *trouble {
                Trouble::Bridged { at, wires, ohm } => {
                    network.path(slots[at][wires.0], slots[at][wires.1], C::new(ohm, 0.0));
                }
                Trouble::CaseLeak { load, .. }
                    if self.standing.unplugged.contains(&self.building.loads[load].id) => {}
                Trouble::CaseLeak { load, ohm } => {
                    let slots = slots[self.building.loads[load].at];
                    network.path(slots[HOT], slots[GROUND], C::new(ohm, 0.0));
                }
                Trouble::Foreign { at, wire, ohm } => {
                    let e = C::new(-self.hidden.volts, 0.0);
                    network.source(slots[at][wire], EARTH, e, C::new(ohm, 0.0));
                }
                _ => {}
            }
        }
    }

    /// For each conductor where it comes out: on the device, or where the cable arrives.
    fn swapped(&self, here: usize, on_device: bool) -> [usize; 3] {
        let mut lands = [HOT, NEUTRAL, GROUND];
        for trouble in &self.hidden.troubles {
            match *trouble {
                Trouble::ExchangedAtDevice { at, wires } if on_device && at == here => {
                    lands.swap(wires.0, wires.1);
                }
                Trouble::ExchangedOnArrival { at, wires } if !on_device && at == here => {
                    lands.swap(wires.0, wires.1);
                }
                _ => {}
            }
        }
        lands
    }

    fn broken(&self, here: usize, conductor: usize) -> Option<f64> {
        self.hidden.troubles.iter().find_map(|trouble| match *trouble {
            Trouble::Broken { at, wire, share } if at == here && wire == conductor => Some(share),
            _ => None,
        })
    }

    fn choke(&self, here: usize, conductor: usize) -> C {
        let ohms = self.hidden.troubles.iter().filter_map(|trouble| match *trouble {
            Trouble::Choke { at, wire, ohm } if at == here && wire == conductor => Some(ohm),
            _ => None,
        });
        C::new(0.0, ohms.sum())
    }
}

/// Bars of the panel.
#[derive(Clone, Copy)]
struct Bars {
    legs: [Node; 2],
    neutral: Node,
    ground: Node,
}

/// A load that is on.
struct Running {
    at: usize,
    draws: Draws,
    watts: f64,
    exponent: f64,
}

impl Running {
    /// Its resistance at a voltage.
    fn ohm(&self, volt: f64) -> f64 {
        let rated = 120.0 * 120.0 / self.watts;
        match self.draws {
            Draws::Heat => rated,
            Draws::Filament => {
                let cold = 1.0 / 14.0;
                rated * (cold + (1.0 - cold) * (volt / 120.0).max(0.0).powf(self.exponent))
            }
            // Below 84 V it can no longer hold its power.
            Draws::Electronics => volt.max(84.0).powi(2) / self.watts,
        }
    }
}
