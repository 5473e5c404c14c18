//! The form of a family file: what may be written, and nothing of what it means.

use serde::Deserialize;

use crate::circuit::file::{GaugeName, Placed};
use crate::drill::age::Age;

/// Text with its place.
pub(crate) type Text = Placed<String>;

/// A number with its place.
pub(crate) type Number = Placed<f64>;

/// Lowest and highest.
pub(crate) type Range = (Number, Number);

/// A family of circuits.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, rename = "Family")]
pub(crate) struct FamilyForm {
    /// Version of the form; checked by the reader.
    #[serde(rename = "format")]
    pub(crate) _format: Placed<u32>,
    /// What the family is called.
    pub(crate) name: Text,
    /// Kinds of building, as "pottery studio".
    pub(crate) buildings: Vec<Text>,
    /// When they were wired; 1962 to 1985 unless stated.
    pub(crate) ages: Option<Vec<Age>>,
    /// Supplies; the split-phase one of 120/240 V unless stated.
    pub(crate) supplies: Option<Vec<SupplyChoice>>,
    /// Number of branch circuits; one unless stated.
    pub(crate) circuits: Option<Range>,
    /// Breakers with the cables that go with them.
    pub(crate) breakers: Vec<BreakerChoice>,
    /// Number of boxes, of all circuits together.
    pub(crate) boxes: Range,
    /// Names of boxes.
    pub(crate) box_names: Vec<Text>,
    /// Share of boxes fed from an earlier box than the last; none unless stated.
    pub(crate) branches: Option<Number>,
    /// Length between boxes, feet.
    pub(crate) feet: Option<Range>,
    /// Length between boxes, metres.
    pub(crate) metres: Option<Range>,
    /// Length from the panel to the first box, feet; that between boxes unless stated.
    pub(crate) feet_first: Option<Range>,
    /// Length from the panel to the first box, metres; that between boxes unless stated.
    pub(crate) metres_first: Option<Range>,
    /// Standard receptacle; that of the supply unless stated.
    pub(crate) configuration: Option<Text>,
    /// Share of buildings whose devices have push-in terminals; none unless stated.
    pub(crate) push_in: Option<Number>,
    /// Share of buildings whose conductors run through the devices; none unless stated.
    pub(crate) feed_through: Option<Number>,
    /// Share of buildings without a ground in their cables; none unless stated.
    pub(crate) no_ground: Option<Number>,
    /// What is in the boxes; receptacles unless stated.
    pub(crate) devices: Option<Vec<DeviceChoice>>,
    /// What may be plugged in.
    pub(crate) loads: Vec<LoadChoice>,
    /// How many of these are; three unless stated.
    pub(crate) loads_present: Option<Range>,
}

/// One of several supplies.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SupplyChoice {
    /// Kind of supply.
    pub(crate) system: SystemWord,
    /// Volts from line to neutral; the nominal ones unless stated.
    pub(crate) volts: Option<Range>,
    /// How neutral and ground are joined and earthed; as usual for the system unless stated.
    pub(crate) earthing: Option<EarthingWord>,
    /// Residual current that trips every breaker on it that states none of its own, milliamperes;
    /// none unless stated.
    pub(crate) ground_fault_milliamperes: Option<Number>,
    /// How often, against the others; 1 unless stated.
    pub(crate) weight: Option<Number>,
}

/// Kinds of supply, by the words of circuit files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) enum SystemWord {
    SplitPhase,
    Wye208,
    Wye400,
    Single230,
}

/// Ways of earthing, by the words of circuit files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) enum EarthingWord {
    TnCS,
    TnS,
    Tt,
}

/// One of several breakers.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct BreakerChoice {
    /// Rating, amperes.
    pub(crate) amperes: Number,
    /// Family of its curve, by the words of circuit files.
    pub(crate) curve: Option<CurveWord>,
    /// Residual current that trips it, milliamperes; that of the supply unless stated.
    pub(crate) ground_fault_milliamperes: Option<Number>,
    /// Cables that go with it.
    pub(crate) cables: Vec<CableChoice>,
    /// Two legs share one neutral; false unless stated.
    pub(crate) shared_neutral: Option<bool>,
    /// The last box is joined back to the breaker; false unless stated.
    pub(crate) ring: Option<bool>,
    /// How often, against the others; 1 unless stated.
    pub(crate) weight: Option<Number>,
}

/// Families of curves, by the words of circuit files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) enum CurveWord {
    InverseTime,
    B,
    C,
    D,
}

/// One of several cables.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CableChoice {
    /// Size, AWG.
    pub(crate) awg: Option<Placed<GaugeName>>,
    /// Size, mm².
    pub(crate) mm2: Option<Number>,
    /// Size of the ground, mm², if another.
    pub(crate) ground_mm2: Option<Number>,
    /// Single wires without sheath; false unless stated.
    pub(crate) open_wires: Option<bool>,
}

/// One of several devices.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DeviceChoice {
    /// What it is.
    pub(crate) kind: DeviceWord,
    /// How often, against the others; 1 unless stated.
    pub(crate) weight: Option<Number>,
}

/// What may be in a box.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) enum DeviceWord {
    /// A receptacle.
    Receptacle,
    /// A ground-fault receptacle that protects what comes after it.
    GroundFault,
    /// A switch, and a lamp in a box of its own after it.
    SwitchedLamp,
    /// A switch, and after it a duplex whose upper half it switches.
    HalfSwitched,
    /// A duplex with a leg on each half; a receptacle where the neutral is not shared.
    SplitDuplex,
}

/// Something that may be plugged in.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LoadChoice {
    /// What it is called.
    pub(crate) name: Text,
    /// What it is.
    pub(crate) kind: LoadWord,
    /// Watts.
    pub(crate) watts: Range,
    /// Share of cases in which it is on as found; half unless stated.
    pub(crate) on: Option<Number>,
    /// Whether it has a metal case; false unless stated.
    pub(crate) metal_case: Option<bool>,
    /// Filter capacitors to its case, nanofarads each; none unless stated.
    pub(crate) filter_nanofarads: Option<Number>,
    /// How often, against the others; 1 unless stated.
    pub(crate) weight: Option<Number>,
}

/// Kinds of load, by the words of circuit files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) enum LoadWord {
    Resistive,
    Filament,
    Motor,
    Electronics,
    Led,
    Standby,
}
