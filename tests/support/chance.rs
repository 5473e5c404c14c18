//! Random circuits from a seed.

use slotwise::netlist::{ElementId, Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};

/// Marsaglia's xorshift with a multiplier: enough for test circuits.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    /// Uniform in [0, 1).
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Even in its logarithm between two bounds.
    pub fn spread(&mut self, from: f64, to: f64) -> f64 {
        from * (to / from).powf(self.unit())
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    pub fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }
}

/// How a run is supplied.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Supply {
    /// Neutral bonded to earth by an electrode.
    Bonded,
    /// A generator that only insulation joins with earth.
    Floating,
    /// Two legs about a bonded neutral.
    SplitPhase,
    /// Three windings in a triangle, one corner on an electrode.
    Delta,
}

pub const SUPPLIES: [Supply; 4] =
    [Supply::Bonded, Supply::Floating, Supply::SplitPhase, Supply::Delta];

/// A daisy chain of boxes with hot, neutral and ground: in, hub and out at each, contacts of
/// 3e3 to 3e4 S, wires, loads at some boxes, insulation `contrast` below the contacts, and
/// conductors opened here and there.
pub fn daisy_chain(seed: u64, n_boxes: usize, supply: Supply, contrast: f64) -> Netlist {
    let mut chance = Chance::new(seed);
    let mut chain = Chain { netlist: Netlist::new(60.0), n_elements: 0 };
    let mut ends = chain.supply(&mut chance, supply);
    let weak_ohm = contrast / 1e4;
    for place in 0..n_boxes {
        let mut hubs = ends;
        for (end, conductor) in ends.iter_mut().zip(["h", "n", "g"]) {
            let [near, hub, out] = ["in", "hub", "out"]
                .map(|part| chain.netlist.node(&format!("{place}.{part}.{conductor}").into()));
            let wire = Impedance::new(chance.spread(0.008, 0.1), chance.spread(1e-4, 3e-3));
            chain.add(*end, near, Law::Impedance(wire));
            let insulation = chance.spread(weak_ohm, weak_ohm * 30.0);
            chain.add(near, Netlist::EARTH, Law::resistance(insulation));
            for (a, b) in [(near, hub), (hub, out)] {
                let is_open = place > 0 && chance.happens(0.08);
                let contact = Law::resistance(chance.spread(3e-5, 3e-4));
                chain.add(a, b, if is_open { Law::Open } else { contact });
            }
            *end = out;
            hubs[["h", "n", "g"].iter().position(|&c| c == conductor).unwrap()] = hub;
        }
        for (a, b) in [(0, 1), (0, 2), (1, 2)] {
            let capacitance_farad = chance.spread(1.0, 30.0) / (377.0 * weak_ohm);
            chain.add(hubs[a], hubs[b], Law::Capacitor { capacitance_farad });
        }
        if chance.happens(0.4) {
            let load = Impedance::new(chance.spread(8.0, 300.0), chance.spread(0.1, 20.0));
            chain.add(hubs[0], hubs[1], Law::Impedance(load));
        }
    }
    chain.netlist
}

struct Chain {
    netlist: Netlist,
    n_elements: usize,
}

impl Chain {
    fn add(&mut self, a: NodeId, b: NodeId, law: Law) {
        self.n_elements += 1;
        let name = format!("e{}", self.n_elements);
        self.netlist.add(name, a, b, Role::Lumped, law).unwrap();
    }

    /// Hot, neutral and ground at the panel.
    fn supply(&mut self, chance: &mut Chance, supply: Supply) -> [NodeId; 3] {
        let [hot, other, neutral, ground] =
            ["bus.h", "bus.h2", "bus.n", "bus.g"].map(|name| self.netlist.node(&name.into()));
        let winding = |volt: f64, degrees: f64| Law::Source {
            emf_volt: Phasor::polar(volt, degrees),
            impedance: Impedance::new(0.012, 0.016),
        };
        let electrode = Law::resistance(chance.spread(2.0, 60.0));
        self.add(neutral, ground, Law::resistance(3e-4));
        match supply {
            Supply::Bonded => {
                self.add(hot, neutral, winding(120.0, 0.0));
                self.add(ground, Netlist::EARTH, electrode);
            }
            Supply::Floating => self.add(hot, neutral, winding(120.0, 0.0)),
            Supply::SplitPhase => {
                self.add(hot, neutral, winding(120.0, 0.0));
                self.add(other, neutral, winding(120.0, 180.0));
                self.add(other, neutral, Law::resistance(11.0));
                self.add(hot, other, Law::resistance(17.0));
                self.add(ground, Netlist::EARTH, electrode);
            }
            Supply::Delta => {
                self.add(hot, neutral, winding(240.0, 0.0));
                self.add(neutral, other, winding(240.0, -120.0));
                self.add(other, hot, winding(240.0, 120.0));
                self.add(ground, Netlist::EARTH, electrode);
            }
        }
        if supply == Supply::Bonded || supply == Supply::Floating {
            self.add(other, neutral, Law::resistance(1.0));
        }
        [hot, neutral, ground]
    }
}

/// An address by its text.
pub fn address(name: &str) -> Address {
    Address::from(name)
}

/// Opens a joint, closes one, or changes what it is.
pub fn change(chance: &mut Chance, netlist: &Netlist) -> (ElementId, Law) {
    let elements: Vec<_> = netlist.elements().collect();
    loop {
        let element = elements[chance.below(elements.len())];
        match netlist.element(element).law {
            Law::Source { .. } => {}
            Law::Open => return (element, Law::resistance(chance.spread(1e-4, 1e6))),
            _ if chance.happens(0.6) => return (element, Law::Open),
            _ => {
                let z = Impedance::new(chance.spread(1e-4, 1e9), chance.spread(1e-4, 1.0));
                return (element, Law::Impedance(z));
            }
        }
    }
}
