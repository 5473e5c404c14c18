//! What is really there, which nobody is told: true lengths, joints, loads and faults, joint by
//! joint.

use crate::building::{Building, CELLAR_METRES, Draws};
use crate::random::Chance;

/// The three conductors, as columns of everything.
pub(crate) const HOT: usize = 0;
/// See [`HOT`].
pub(crate) const NEUTRAL: usize = 1;
/// See [`HOT`].
pub(crate) const GROUND: usize = 2;
/// Their names.
pub(crate) const WIRES: [&str; 3] = ["hot", "neutral", "ground"];

/// How far the real circuit is from its description.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Level {
    /// Only what a description leaves open anyway: an instrument's own tolerance.
    AsModelled,
    /// Every length off by up to 20 %.
    Lengths,
    /// Something that nobody knows of is plugged in and on, in three of ten.
    UnknownLoads,
    /// Both, and supply, joints, loads, capacitance, lamps, rates of faults off; leaky opens,
    /// triples, misreads.
    Full,
}

impl Level {
    /// All of them.
    pub(crate) const ALL: [Self; 4] =
        [Self::AsModelled, Self::Lengths, Self::UnknownLoads, Self::Full];

    /// As asked for on the command line.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::AsModelled => "none",
            Self::Lengths => "lengths",
            Self::UnknownLoads => "loads",
            Self::Full => "full",
        }
    }
}

/// A joint of the run.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Part {
    /// Where the cable to the box leaves the box before, or the panel.
    Near,
    /// Where that cable arrives in the box.
    Far,
    /// The pigtail's end in the splice; in a box that is fed through, the strap.
    Pigtail,
    /// The pigtail's screw on the receptacle.
    Screw,
}

/// A joint: the box, the conductor and the part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct JointAt {
    /// The box; of [`Part::Near`] the box that the cable goes to.
    pub(crate) at: usize,
    /// The conductor.
    pub(crate) wire: usize,
    /// The part.
    pub(crate) part: Part,
}

/// What is wrong. Two of the last three are in no list that the diagnosis has.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Trouble {
    /// A joint is open, with so many ohms across its gap (infinite: none).
    Open(JointAt, f64),
    /// A joint has so many ohms.
    Bad(JointAt, f64),
    /// A conductor is broken in the cable to a box, at a share of its length.
    Broken { at: usize, wire: usize, share: f64 },
    /// Two conductors are exchanged on the receptacle.
    ExchangedAtDevice { at: usize, wires: (usize, usize) },
    /// Two conductors are exchanged where the cable arrives.
    ExchangedOnArrival { at: usize, wires: (usize, usize) },
    /// Two slots are bridged.
    Bridged { at: usize, wires: (usize, usize), ohm: f64 },
    /// The appliance leaks from hot to its case.
    CaseLeak { load: usize, ohm: f64 },
    /// The service neutral has so many ohms (infinite: lost).
    ServiceNeutral(f64),
    /// The breaker is off.
    BreakerOff,
    /// The run's neutral lands on the other leg: every receptacle has twice the volts.
    NeutralOnOtherLeg,
    /// The supply is far too low.
    Sag(f64),
    /// Something of the other leg touches a conductor through so many ohms.
    Foreign { at: usize, wire: usize, ohm: f64 },
    /// An inductive device of so many ohms sits in the cable.
    Choke { at: usize, wire: usize, ohm: f64 },
    /// A joint that is open half of the time.
    Fickle(JointAt),
}

impl Trouble {
    /// Whether the diagnosis has it in its list.
    pub(crate) const fn is_listed(self) -> bool {
        !matches!(self, Self::Foreign { .. } | Self::Choke { .. })
    }
}

/// Everything about one hidden circuit.
#[derive(Clone, Debug)]
pub(crate) struct Hidden {
    /// What is wrong.
    pub(crate) troubles: Vec<Trouble>,
    /// Volts of each leg without load.
    pub(crate) volts: f64,
    /// True lengths of the cables.
    pub(crate) metres: Vec<f64>,
    /// Resistance of each sound joint, by box, conductor and part.
    pub(crate) joints: Vec<[[f64; 4]; 3]>,
    /// True watts and filament exponent of each load.
    pub(crate) loads: Vec<(f64, f64)>,
    /// Something nobody knows of: box, watts, what it is.
    pub(crate) unknown: Option<(usize, f64, Draws)>,
    /// Capacitance as a multiple of the usual.
    pub(crate) capacitance: f64,
    /// Ohms per metre as a multiple of the usual.
    pub(crate) resistance: f64,
    /// True metres to the cellar.
    pub(crate) cellar_metres: f64,
}

impl Hidden {
    /// A circuit like the description, as far as its level goes, with nothing wrong.
    pub(crate) fn sound(building: &Building, level: Level, chance: &mut Chance) -> Self {
        let full = level == Level::Full;
        let lengths = full || level == Level::Lengths;
        let unknown = (full || level == Level::UnknownLoads) && chance.happens(0.3);
        let mut off = |by: f64, when: bool| if when { 1.0 + chance.between(-by, by) } else { 1.0 };
        let metres = building.boxes.iter().map(|b| b.metres * off(0.2, lengths)).collect();
        let cellar_metres = CELLAR_METRES * off(0.2, lengths);
        let capacitance = off(0.25, full);
        let resistance = off(0.05, full);
        let mut sound_joint = |usual: f64| if full { chance.decades(1e-3, 20e-3) } else { usual };
        let joints = building
            .boxes
            .iter()
            .map(|receptacle| {
                let fed = if receptacle.fed_through { 1.5e-3 } else { 0.5e-3 };
                [HOT, NEUTRAL, GROUND].map(|wire| {
                    let usual = if wire == GROUND { 0.5e-3 } else { fed };
                    [usual, usual, 0.5e-3, 0.5e-3].map(&mut sound_joint)
                })
            })
            .collect();
        let loads = building
            .loads
            .iter()
            .map(|load| {
                let watts = if full {
                    load.watts * (1.0 + chance.between(-0.15, 0.15))
                } else {
                    load.watts
                };
                (watts, if full { chance.between(0.40, 0.52) } else { 0.45 })
            })
            .collect();
        let unknown = unknown.then(|| {
            let draws = [Draws::Heat, Draws::Filament, Draws::Electronics][chance.below(3)];
            (chance.below(building.boxes.len()), chance.decades(8.0, 1200.0), draws)
        });
        let volts = if full { 120.0 + 2.5 * chance.normal() } else { 120.0 };
        Self {
            troubles: Vec::new(),
            volts,
            metres,
            joints,
            loads,
            unknown,
            capacitance,
            resistance,
            cellar_metres,
        }
    }

    /// What is wrong with a joint: whether it is open and its ohms.
    pub(crate) fn joint(&self, joint: JointAt, closed: bool) -> Joint {
        let mut state = Joint { open: false, ohm: self.sound_ohm(joint) };
        for trouble in &self.troubles {
            match *trouble {
                Trouble::Open(at, gap) if at == joint => state = Joint { open: true, ohm: gap },
                Trouble::Bad(at, ohm) if at == joint && !state.open => state.ohm = ohm,
                Trouble::Fickle(at) if at == joint && !closed => {
                    state = Joint { open: true, ohm: f64::INFINITY };
                }
                _ => {}
            }
        }
        state
    }

    fn sound_ohm(&self, joint: JointAt) -> f64 {
        self.joints[joint.at][joint.wire][joint.part as usize]
    }
}

/// The state of a joint.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Joint {
    /// It is open; its ohms are those across the gap.
    pub(crate) open: bool,
    /// Ohms.
    pub(crate) ohm: f64,
}
