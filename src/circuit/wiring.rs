//! Breakers, cables, links and lumped parts.

use crate::quantity::{Address, Impedance, Phasor};

use super::LoadKind;

/// One breaker pole and where its conductors land.
///
/// ```
/// use slotwise::circuit::{BranchCircuit, Breaker, TripCurve};
/// let breaker = Breaker {
///     closed: true,
///     resistance_ohm: 0.004,
///     rating_ampere: Some(15.0),
///     curve: TripCurve::InverseTime,
///     residual_trip_ampere: None,
///     residual_delayed: false,
///     arc_fault: false,
/// };
/// let c1 = BranchCircuit {
///     id: "c1".into(),
///     bus: "panel.L1".into(),
///     breaker,
///     neutral_landing: Some(("panel.neutral".into(), 0.0004)),
///     ground_landing: None,
///     tied_with: vec!["c2".into()],
/// };
/// assert_eq!(c1.bus.as_str(), "panel.L1");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct BranchCircuit {
    /// Its name C; the pole is `breaker:C`, from the bus to `C.hot`.
    pub id: String,
    /// The bus the breaker sits on.
    pub bus: Address,
    /// The breaker.
    pub breaker: Breaker,
    /// The bar its neutral lands on and the landing's resistance in ohms: element
    /// `landing:C.neutral`, node `C.neutral`. `None` where the cable lands on the bar itself.
    pub neutral_landing: Option<(Address, f64)>,
    /// The same for the ground: element `landing:C.ground`, node `C.ground`.
    pub ground_landing: Option<(Address, f64)>,
    /// Other circuits that its handle switches with it.
    pub tied_with: Vec<String>,
}

/// A breaker pole.
///
/// ```
/// use slotwise::circuit::{Breaker, TripCurve};
/// let b16 = Breaker {
///     closed: true,
///     resistance_ohm: 0.005,
///     rating_ampere: Some(16.0),
///     curve: TripCurve::B,
///     residual_trip_ampere: Some(0.03),
///     residual_delayed: false,
///     arc_fault: false,
/// };
/// assert!(b16.closed);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Breaker {
    /// On as installed; a condition may switch it.
    pub closed: bool,
    /// Resistance of the closed pole in ohms, stab and contacts included.
    pub resistance_ohm: f64,
    /// Rating in amperes, if stated.
    pub rating_ampere: Option<f64>,
    /// Its tripping family.
    pub curve: TripCurve,
    /// Residual current that trips it, if it senses one, in amperes.
    pub residual_trip_ampere: Option<f64>,
    /// Its residual-current release waits for those after it (type S of IEC 61009-1).
    pub residual_delayed: bool,
    /// It is an arc-fault breaker. Arcs themselves are not modelled.
    pub arc_fault: bool,
}

/// Family of the time-current curve.
///
/// ```
/// use slotwise::circuit::TripCurve;
/// assert_eq!(TripCurve::default(), TripCurve::InverseTime);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum TripCurve {
    /// North American inverse-time moulded case (UL 489).
    #[default]
    InverseTime,
    /// IEC 60898-1 type B.
    B,
    /// IEC 60898-1 type C.
    C,
    /// IEC 60898-1 type D.
    D,
}

/// One cable: a nominal π section, all its conductors side by side.
///
/// ```
/// use slotwise::circuit::{Cable, CablePair, Conductor, Landing};
/// use slotwise::quantity::Impedance;
/// // Nine metres of two-wire cable, its far end capped.
/// let conductor = |name: &str| Conductor {
///     name: name.into(),
///     impedance_per_m: Impedance::new(0.0083, 0.0002),
///     ampacity_ampere: Some(15.0),
/// };
/// let landing = |name: &str| Landing {
///     conductor: name.into(),
///     to: format!("attic.splice.{name}").into(),
///     contact_ohm: 0.0005,
/// };
/// let cable = Cable {
///     id: "attic-gable".into(),
///     length_m: 9.0,
///     conductors: vec![conductor("hot"), conductor("neutral")],
///     capacitance_farad_per_m: vec![CablePair {
///         between: ("hot".into(), "neutral".into()),
///         value: 40e-12,
///     }],
///     insulation_ohm_m: vec![],
///     ends: [vec![landing("hot"), landing("neutral")], vec![]],
/// };
/// assert!(cable.ends[1].is_empty());
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Cable {
    /// Its name K; wires are `wire:K.c` between `K.a.c` and `K.b.c`.
    pub id: String,
    /// Length in metres.
    pub length_m: f64,
    /// Its conductors.
    pub conductors: Vec<Conductor>,
    /// Capacitance per metre (farad/m) between two conductors, or a conductor and `earth`:
    /// half of it at each end, elements `cap:K.p-q.a` and `.b`.
    pub capacitance_farad_per_m: Vec<CablePair>,
    /// Insulation (ohm·m) between two conductors, or a conductor and `earth`: half of the
    /// conductance at each end, elements `leak:K.p-q.a` and `.b`.
    pub insulation_ohm_m: Vec<CablePair>,
    /// Where the conductors land at end a (towards the supply) and end b.
    pub ends: [Vec<Landing>; 2],
}

/// A conductor of a cable.
///
/// ```
/// use slotwise::circuit::Conductor;
/// use slotwise::quantity::Impedance;
/// // 12 AWG solid copper at 20 degrees Celsius.
/// let hot = Conductor {
///     name: "hot".into(),
///     impedance_per_m: Impedance::new(0.00521, 0.0002),
///     ampacity_ampere: Some(20.0),
/// };
/// assert_eq!(hot.name, "hot");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Conductor {
    /// Its name in the cable: `hot`, `neutral`, `ground`, ...
    pub name: String,
    /// Series impedance per metre at its temperature, ohm/m.
    pub impedance_per_m: Impedance,
    /// Current that it is good for without end, amperes, if known.
    pub ampacity_ampere: Option<f64>,
}

/// A value between two conductors of a cable.
///
/// ```
/// use slotwise::circuit::CablePair;
/// let to_earth = CablePair { between: ("hot".into(), "earth".into()), value: 10e-12 };
/// assert_eq!(to_earth.between.1, "earth");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct CablePair {
    /// The two conductors' names; `earth` is allowed as one of them.
    pub between: (String, String),
    /// The value, in the unit of the list it is in.
    pub value: f64,
}

/// Where one conductor lands at one cable end; the joint is `contact:K.END.c`, from the wire
/// end to the landing. A conductor without a landing is capped.
///
/// ```
/// use slotwise::circuit::Landing;
/// let screw = Landing {
///     conductor: "neutral".into(),
///     to: "panel.neutral".into(),
///     contact_ohm: 0.0004,
/// };
/// assert_eq!(screw.to.as_str(), "panel.neutral");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Landing {
    /// The conductor.
    pub conductor: String,
    /// What it lands on: something else reaches it, or it is a bar, a splice of a box, a terminal of a
    /// device or, for a ground, some other metal.
    pub to: Address,
    /// Contact resistance in ohms.
    pub contact_ohm: f64,
}

/// An end of a cable.
///
/// ```
/// use slotwise::circuit::CableEnd;
/// assert_eq!(CableEnd::A.letter(), "a");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CableEnd {
    /// The end towards the supply.
    A,
    /// The far end.
    B,
}

impl CableEnd {
    /// `a` or `b`, as in the names of wire ends.
    pub const fn letter(self) -> &'static str {
        match self {
            Self::A => "a",
            Self::B => "b",
        }
    }
}

/// A pigtail, a strap, a screw or another short link; the element is `link:ID`.
///
/// ```
/// use slotwise::circuit::Link;
/// let pigtail = Link {
///     id: "kiln.pigtail.hot".into(),
///     between: ("kiln.splice.hot".into(), "kiln.tail.hot".into()),
///     resistance_ohm: 0.0017,
/// };
/// assert_eq!(pigtail.id, "kiln.pigtail.hot");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// Its name.
    pub id: String,
    /// What it joins.
    pub between: (Address, Address),
    /// Its resistance in ohms.
    pub resistance_ohm: f64,
}

/// A lumped part between any two points; its element has its own name.
///
/// ```
/// use slotwise::circuit::{Lumped, LumpedKind};
/// use slotwise::quantity::Impedance;
/// // Damp plaster round an ungrounded box.
/// let plaster = Lumped {
///     id: "plaster:font".into(),
///     between: ("font.ground".into(), "earth".into()),
///     kind: LumpedKind::Impedance(Impedance::resistance(25e6)),
/// };
/// assert_eq!(plaster.between.1.as_str(), "earth");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Lumped {
    /// Its name, and its element's.
    pub id: String,
    /// What it lies between.
    pub between: (Address, Address),
    /// What it is.
    pub kind: LumpedKind,
}

/// What a lumped part is.
///
/// ```
/// use slotwise::circuit::LumpedKind;
/// let filter = LumpedKind::CapacitorFarad(2.2e-9);
/// assert_ne!(filter, LumpedKind::Open);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum LumpedKind {
    /// A series impedance.
    Impedance(Impedance),
    /// A capacitor, farads.
    CapacitorFarad(f64),
    /// A source: V(a) - V(b) = emf + Z I, I from a to b through it.
    Source {
        /// Electromotive force, volts rms.
        emf_volt: Phasor,
        /// Its own impedance.
        impedance: Impedance,
    },
    /// The law of a load that is on.
    Load(LoadKind),
    /// Two points kept apart: nothing flows.
    Open,
}
