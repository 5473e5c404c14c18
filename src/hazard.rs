//! Dangers in a solved condition, as data; the words are the report's.
//!
//! Every threshold names its source. What is absent here: any statement that something is
//! safe. Nothing found is not a clearance.

use crate::circuit::{Circuit, Vocabulary};
use crate::condition::Condition;
use crate::instrument::{BodyImpedance, Person};
use crate::netlist::Netlist;
use crate::quantity::Address;
use crate::solution::{Holding, Solution};

mod alike;
mod bridge;
mod bypass;
mod clearing;
mod conductor;
mod earthing;
mod ground;
mod joint;
mod load;
mod multiwire;
mod neutral;
mod pieces;
mod protection;
mod ring;
mod touch;

pub use joint::JointBand;
pub use protection::not_cleared;
pub use touch::{EndedByTouch, ended_by_touch, has_no_way_to_earth};

/// A circuit, a condition and what solving them gave.
///
/// ```
/// use slotwise::hazard::{Situation, hazards};
/// use slotwise::{Condition, circuit, solve, wire};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "neutral open at kiln, line side").unwrap();
/// let netlist = wire(&circuit, &condition).unwrap();
/// let solution = solve(&netlist).unwrap();
/// let situation = Situation {
///     circuit: &circuit,
///     condition: &condition,
///     netlist: &netlist,
///     solution: &solution,
///     sound: None,
/// };
/// assert_eq!(hazards(&situation)[0].kind.code(), "energised_neutral");
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a> {
    /// The circuit as installed.
    pub circuit: &'a Circuit,
    /// What differs from it.
    pub condition: &'a Condition,
    /// The network of both.
    pub netlist: &'a Netlist,
    /// Its solution.
    pub solution: &'a Solution,
    /// The same circuit with the same loads and switches but no fault: what loads should get.
    pub sound: Option<(&'a Netlist, &'a Solution)>,
}

/// How much a hazard matters.
///
/// ```
/// use slotwise::hazard::Severity;
/// assert!(Severity::Danger < Severity::Notice, "the gravest comes first");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Can kill, or start a fire, as things stand.
    Danger,
    /// Is not as it should be, and can become dangerous or destroy equipment.
    Warning,
    /// Worth knowing.
    Notice,
}

/// A danger, where it is, and the figures that make it one.
///
/// ```
/// use slotwise::hazard::{Hazard, HazardKind, Severity};
/// let hazard = Hazard {
///     severity: Severity::Danger,
///     kind: HazardKind::EnergisedGround { volt: 119.5, through_person_ampere: 0.1 },
///     addresses: vec!["kiln.ground".into()],
/// };
/// assert_eq!(hazard.kind.code(), "energised_ground");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Hazard {
    /// How much it matters.
    pub severity: Severity,
    /// What it is.
    pub kind: HazardKind,
    /// Where it is, in walking order.
    pub addresses: Vec<Address>,
}

/// What live metal is to a person.
///
/// ```
/// use slotwise::hazard::Part;
/// assert_ne!(Part::Ground, Part::Case);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// A ground contact, or metal that is made to be grounded.
    Ground,
    /// The case of something plugged in or wired in.
    Case,
    /// A neutral.
    Neutral,
    /// A hot whose own breaker is off.
    SwitchedOff,
}

/// What trips on a hot that touched metal which should be at earth's potential.
///
/// ```
/// use slotwise::hazard::Trips;
/// let slow = Trips::After { devices: vec!["c1".into()], after_s: 9.0 };
/// assert_ne!(slow, Trips::Nothing);
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Trips {
    /// Nothing has to.
    Nothing,
    /// These have to, and the metal stays live.
    InVain {
        /// Breakers by their circuits, and devices, in order.
        devices: Vec<String>,
    },
    /// These have to, and end it, too late.
    After {
        /// Breakers by their circuits, and devices, in order.
        devices: Vec<String>,
        /// The slowest that they may be together, seconds.
        after_s: f64,
    },
    /// A device of additional protection, once a person touches the metal and not before: IEC
    /// 60364-4-41, 415.1, 30 mA or less and not delayed.
    ByTouch,
    /// There are too many pieces of metal to follow each.
    Unknown,
}

/// Kinds of danger; every value is rms.
///
/// ```
/// use slotwise::hazard::HazardKind;
/// let dim = HazardKind::UnderVoltage { volt: 70.0, should_be_volt: 120.0 };
/// assert_eq!(dim.code(), "under_voltage");
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum HazardKind {
    /// The ground contact of a receptacle, or the ground terminal of a device, is live.
    EnergisedGround {
        /// Volts to remote earth.
        volt: f64,
        /// What a person between it and earth would draw, amperes.
        through_person_ampere: f64,
    },
    /// The case of something plugged in or wired in is live.
    EnergisedCase {
        /// Volts to remote earth.
        volt: f64,
        /// What a person between it and earth would draw, amperes.
        through_person_ampere: f64,
    },
    /// The neutral contact of a receptacle, or the neutral in a box without one, is live.
    EnergisedNeutral {
        /// Volts to remote earth.
        volt: f64,
        /// What a person between it and earth would draw, amperes.
        through_person_ampere: f64,
    },
    /// A hot is live although the breaker that feeds it is off: something else feeds it.
    LiveWithBreakerOff {
        /// Volts to remote earth.
        volt: f64,
        /// What a person between it and earth would draw, amperes.
        through_person_ampere: f64,
    },
    /// Metal is at a live potential, and what holds it there lets too little through a person to be
    /// felt: a ghost voltage or a leak, behind which more may come.
    WeaklyLive {
        /// What it is to a person, each once.
        parts: Vec<Part>,
        /// Volts to remote earth.
        volt: f64,
        /// What a person between it and earth would draw, amperes.
        through_person_ampere: f64,
        /// Something that conducts holds it there; else it is capacitance and insulation alone.
        by_leak: bool,
    },
    /// Every contact of a receptacle is at one live potential, so that every difference reads
    /// nothing.
    AllContactsLive {
        /// Volts to remote earth.
        volt: f64,
    },
    /// A hot that touched this metal would make nothing trip in time, and the metal would stay live.
    FaultNotCleared {
        /// What would flow into the worst of it, amperes.
        ampere: f64,
        /// The potential to earth that the metal would stay at, volts.
        volt: f64,
        /// What trips, and what that leaves.
        trips: Trips,
        /// In what time it has to be cleared, seconds.
        within_s: f64,
        /// What touches is called a neutral, and is live.
        by_neutral: bool,
        /// What touches has no breaker before it.
        past_breakers: bool,
    },
    /// The neutral of a receptacle with a live hot is open, and no load is on that would make it live.
    OpenNeutral {
        /// What the first load that is switched on puts it at, volts.
        volt: f64,
        /// What lies between the hots of different legs that share it, volts; nothing else than
        /// loads parts that then.
        between_hots_volt: Option<f64>,
        /// Metal that is made to be grounded hangs on it, as behind the main bond.
        has_grounds: bool,
    },
    /// A load gets more than it is made for.
    OverVoltage {
        /// Volts across it.
        volt: f64,
        /// Volts it should get.
        should_be_volt: f64,
    },
    /// A receptacle gives more than what is plugged in there is made for.
    OutletOverVoltage {
        /// Volts between its slots.
        volt: f64,
        /// Volts that should be there.
        should_be_volt: f64,
    },
    /// A load that is on gets less than it can work with.
    UnderVoltage {
        /// Volts across it.
        volt: f64,
        /// Volts it should get.
        should_be_volt: f64,
    },
    /// What a ground-fault device should feed has its power past it.
    NotBehindDevice {
        /// The highest potential to earth that stays behind it once it has tripped, volts.
        volt: f64,
        /// It has tripped.
        tripped: bool,
    },
    /// A ground reaches the source by the neutral of its circuit alone.
    GroundOnNeutral,
    /// A conductor of an isolated supply has come to earth, or to metal that is made to be grounded, and
    /// nothing trips: IEC 60364-4-41, 411.6.
    FirstEarthFault {
        /// The highest voltage to that which its other conductors are at, volts.
        volt: f64,
    },
    /// Hots of breakers whose handles are not tied share a neutral: NEC 210.4(B).
    HandlesNotTied {
        /// What the neutral carries, amperes.
        neutral_ampere: f64,
        /// Some of the breakers are off and others are not.
        one_off: bool,
    },
    /// Conductors touch that should not, and make heat there.
    HeatingFault {
        /// The current, amperes.
        ampere: f64,
        /// The heat, watts.
        watt: f64,
    },
    /// A joint turns power into heat.
    HeatingJoint {
        /// Its resistance at this current, ohms.
        resistance_ohm: f64,
        /// Its current, amperes.
        ampere: f64,
        /// Its heat, watts.
        watt: f64,
        /// How bad a joint of this resistance is.
        band: JointBand,
    },
    /// Current leaves a circuit by another way than its own conductors, by ground, earth or another
    /// circuit, and nothing has to trip.
    StrayCurrent {
        /// The current that strays, amperes.
        ampere: f64,
        /// What the breaker carries, amperes.
        breaker_ampere: f64,
        /// The breaker's rating, amperes, if it has one.
        rating_ampere: Option<f64>,
    },
    /// A ground-fault device cannot trip.
    ProtectionDead {
        /// Voltage of its electronics.
        volt: f64,
        /// It ought to trip now.
        now: bool,
    },
    /// A neutral carries more than it is good for, and no breaker sees it; or its hots are on one
    /// leg, so that it can.
    NeutralOverload {
        /// Its current, or what it can come to with no breaker over its rating, amperes.
        ampere: f64,
        /// What it is good for, amperes.
        ampacity_ampere: f64,
        /// It carries that now.
        now: bool,
    },
    /// Another conductor carries more than it is good for, and its breaker is too large to see it; or
    /// it is what an open ring leaves, so that it can.
    ConductorOverload {
        /// Its current, or what it can come to with its breaker within its rating, amperes.
        ampere: f64,
        /// What it is good for, amperes.
        ampacity_ampere: f64,
        /// It carries that now.
        now: bool,
    },
    /// A breaker carries more than its rating.
    Overload {
        /// Its current, amperes.
        ampere: f64,
        /// Its rating, amperes.
        rating_ampere: f64,
    },
}

impl HazardKind {
    /// The name of the kind in the JSON form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::EnergisedGround { .. } => "energised_ground",
            Self::EnergisedCase { .. } => "energised_case",
            Self::EnergisedNeutral { .. } => "energised_neutral",
            Self::LiveWithBreakerOff { .. } => "live_with_breaker_off",
            Self::WeaklyLive { .. } => "weakly_live",
            Self::OpenNeutral { .. } => "open_neutral",
            Self::AllContactsLive { .. } => "all_contacts_live",
            Self::FaultNotCleared { .. } => "fault_not_cleared",
            Self::NotBehindDevice { .. } => "not_behind_device",
            Self::GroundOnNeutral => "ground_on_neutral",
            Self::FirstEarthFault { .. } => "first_earth_fault",
            Self::HandlesNotTied { .. } => "handles_not_tied",
            Self::HeatingFault { .. } => "heating_fault",
            Self::OutletOverVoltage { .. } => "outlet_over_voltage",
            Self::OverVoltage { .. } => "over_voltage",
            Self::UnderVoltage { .. } => "under_voltage",
            Self::HeatingJoint { .. } => "heating_joint",
            Self::StrayCurrent { .. } => "stray_current",
            Self::ProtectionDead { .. } => "protection_dead",
            Self::NeutralOverload { .. } => "neutral_overload",
            Self::ConductorOverload { .. } => "conductor_overload",
            Self::Overload { .. } => "overload",
        }
    }

    /// Energised metal first, then fire, then equipment.
    fn rank(&self) -> u8 {
        match self {
            Self::AllContactsLive { .. } => 0,
            Self::EnergisedGround { .. } => 1,
            Self::EnergisedCase { .. } => 2,
            Self::EnergisedNeutral { .. } => 3,
            Self::LiveWithBreakerOff { .. } => 4,
            Self::NotBehindDevice { .. } => 5,
            Self::HeatingFault { .. } => 6,
            Self::ProtectionDead { .. } => 7,
            Self::OpenNeutral { .. } => 8,
            Self::FaultNotCleared { .. } => 9,
            Self::GroundOnNeutral => 10,
            Self::HandlesNotTied { .. } => 11,
            Self::FirstEarthFault { .. } => 12,
            Self::WeaklyLive { .. } => 13,
            Self::HeatingJoint { .. } => 14,
            Self::NeutralOverload { .. } => 15,
            Self::ConductorOverload { .. } => 16,
            Self::Overload { .. } => 17,
            Self::StrayCurrent { .. } => 18,
            Self::OverVoltage { .. } => 19,
            Self::OutletOverVoltage { .. } => 20,
            Self::UnderVoltage { .. } => 21,
        }
    }
}

/// The figures above which things are called hazards, in the practice of a report's words.
///
/// ```
/// use slotwise::circuit::Vocabulary;
/// use slotwise::hazard::Limits;
/// assert!(Limits::of(Vocabulary::Iec).touch_source.contains("IEC 60364-4-41"));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Touch voltage to earth in dry places, volts rms.
    pub touch_volt: f64,
    /// Touch voltage in wet places, volts rms.
    pub touch_wet_volt: f64,
    /// Where the touch voltages come from.
    pub touch_source: &'static str,
    /// The longest that metal may stay live after a fault to it, seconds; IEC 60364-4-41 gives most
    /// circuits less, by its table 41.1.
    pub cleared_within_s: f64,
    /// A danger that protection ends sooner is not reported, seconds: what IEC 60364-4-41, table
    /// 41.1, gives circuits of 120 and of 230 V.
    pub momentary_s: f64,
    /// Where the time comes from.
    pub cleared_source: &'static str,
    /// Lowest voltage at a load, as a share of what it should get.
    pub supply_low_share: f64,
    /// Highest voltage at a load, as a share of what it should get.
    pub supply_high_share: f64,
    /// Where the shares come from.
    pub supply_source: &'static str,
    /// Where the currents come from that conductors are good for.
    pub ampacity_source: &'static str,
}

impl Limits {
    /// The limits of North American or of IEC practice.
    ///
    /// ```
    /// use slotwise::circuit::Vocabulary;
    /// use slotwise::hazard::Limits;
    /// assert!(Limits::of(Vocabulary::NorthAmerican).touch_volt < 50.0);
    /// ```
    pub const fn of(vocabulary: Vocabulary) -> Self {
        match vocabulary {
            Vocabulary::NorthAmerican => Self {
                touch_volt: 30.0,
                touch_wet_volt: 15.0,
                touch_source: "30 V rms, 15 V where wet: NEC Class 2 and UL touch limits",
                cleared_within_s: 60.0,
                momentary_s: 0.8,
                cleared_source: "judgement: NEC 250.4(A)(5) states no time, and at five times its \
                                 rating a breaker may take 50",
                supply_low_share: 104.0 / 120.0,
                supply_high_share: 127.0 / 120.0,
                supply_source: "104 to 127 V on a 120 V base: ANSI C84.1, Range B, utilisation",
                ampacity_source: "good for: NEC 240.4(D) to 10 AWG, 310.16 at 75 °C above, unless \
                                  stated",
            },
            Vocabulary::Iec => Self {
                touch_volt: 50.0,
                touch_wet_volt: 25.0,
                touch_source: "50 V, 25 V where wet: conventional touch voltage limit, \
                               IEC 60364-4-41",
                cleared_within_s: 5.0,
                momentary_s: 0.4,
                cleared_source: "IEC 60364-4-41, 411.3.2: table 41.1 for socket circuits to 63 A \
                                 and others to 32 A, else 5 s in TN and 1 s in TT",
                supply_low_share: 0.9,
                supply_high_share: 1.1,
                supply_source: "nominal voltage within 10 %: IEC 60038, EN 50160",
                ampacity_source: "good for: IEC 60364-5-52 table B.52.2, method C, unless stated",
            },
        }
    }
}

/// The person in the warnings: hand to feet, with the body impedance of IEC 60479-1:2018 that one
/// person in twenty has or less.
///
/// ```
/// let person = slotwise::hazard::person();
/// assert_eq!(person.body.percentile, 5);
/// assert!(person.body.source.contains("IEC 60479-1:2018"));
/// ```
pub fn person() -> Person {
    Person {
        name: "person, hand to feet".to_owned(),
        body: BodyImpedance::iec_60479_1_dry_low(),
        extra_ohm: 0.0,
        heart_current_factor: 1.0,
    }
}

/// Current that a person feels: 0.5 mA (IEC 60479-1, threshold of perception).
pub const PERCEPTION_AMPERE: f64 = 0.0005;

/// Current from which not every person can let go: 5 mA (IEC 60479-1, all adults and children).
pub const LET_GO_AMPERE: f64 = 0.005;

/// Every hazard of a situation as it stands, the gravest first; energised metal before all else.
/// What waits for something more to happen is [`latent`].
///
/// A situation is looked at before anything trips; for what is left, make it of the condition that
/// [`operate`](crate::protection::operate) leaves, its `remaining`.
pub fn hazards(situation: &Situation<'_>) -> Vec<Hazard> {
    let limits = Limits::of(situation.circuit.parts().vocabulary);
    let holding = Holding::new(situation.netlist, situation.solution);
    let mut found = touch::energised(situation, &limits, &holding);
    found.extend(bypass::tripped(situation, &limits));
    found.extend(bridge::heating(situation));
    found.extend(joint::heating(situation));
    found.extend(conductor::overloads(situation));
    found.extend(load::overloads(situation));
    found.extend(load::wrong_voltage(situation, &limits, &holding));
    gravest_first(&mut found);
    found
}

/// What is no danger as it stands and becomes one with the next fault, or the next load: metal on
/// which a fault would stay, open neutrals, metal that is live so weakly that nobody feels it, grounds
/// that hang on a neutral, what a ground-fault device does not protect, handles that should be tied, open rings.
/// The gravest first; takes some solves of the whole network.
///
/// ```
/// use slotwise::hazard::{Situation, latent};
/// use slotwise::{Condition, circuit, solve, wire};
/// let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
/// let circuit = circuit::file::read(&text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "ground open at kiln, line side").unwrap();
/// let netlist = wire(&circuit, &condition).unwrap();
/// let solution = solve(&netlist).unwrap();
/// let situation = Situation {
///     circuit: &circuit,
///     condition: &condition,
///     netlist: &netlist,
///     solution: &solution,
///     sound: None,
/// };
/// assert_eq!(latent(&situation)[0].kind.code(), "fault_not_cleared");
/// ```
pub fn latent(situation: &Situation<'_>) -> Vec<Hazard> {
    let limits = Limits::of(situation.circuit.parts().vocabulary);
    let holding = Holding::new(situation.netlist, situation.solution);
    let mut found = bypass::would_stay(situation, &limits);
    found.extend(clearing::not_to_be_cleared(situation, &limits, &holding));
    let open = neutral::open(situation, &limits, &holding);
    found.extend(touch::weakly_live(situation, &limits, &holding, &open));
    found.extend(open);
    found.extend(ground::on_neutral(situation, &limits, &holding));
    found.extend(ground::first_fault(situation));
    found.extend(multiwire::not_tied(situation));
    found.extend(ring::opened(situation));
    gravest_first(&mut found);
    found
}

/// Puts the gravest first; energised metal before all else.
///
/// ```
/// use slotwise::hazard::{Hazard, HazardKind, Severity, gravest_first};
/// let hazard = |severity, kind| Hazard { severity, kind, addresses: vec![] };
/// let mut hazards = vec![
///     hazard(Severity::Warning, HazardKind::ProtectionDead { volt: 0.0, now: true }),
///     hazard(Severity::Danger, HazardKind::AllContactsLive { volt: 120.0 }),
/// ];
/// gravest_first(&mut hazards);
/// assert_eq!(hazards[0].kind.code(), "all_contacts_live");
/// ```
pub fn gravest_first(hazards: &mut [Hazard]) {
    hazards.sort_by_key(|hazard| (hazard.severity, hazard.kind.rank()));
}
