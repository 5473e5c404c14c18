//! The form of a circuit file: what may be written, and nothing of what it means.
//!
//! Doc comments here become the descriptions of `docs/circuit-file.schema.json`.

use serde::Deserialize;

use super::placed::Placed;

mod device;
mod load;
mod supply;
mod wiring;

pub(crate) use device::{DeviceForm, TabForm};
pub(crate) use load::{LoadForm, LoadKindForm};
pub(crate) use supply::{
    BondForm, EarthingForm, ElectrodeForm, ServiceForm, SupplyForm, SystemForm,
};
pub(crate) use wiring::{
    CableForm, ConstructionForm, CurveForm, ExplicitCableForm, GaugeName, GroundForm, LandingForm,
    LumpedForm, LumpedKindForm, MetalForm, PairValuesForm, SizeName,
};

/// Text with its place.
pub(crate) type Text = Placed<String>;

/// A number with its place.
pub(crate) type Number = Placed<f64>;

/// Yes or no, and where it stands.
pub(crate) type Flag = Placed<bool>;

/// A branch circuit as a person describes it. Lists may be left out where they are empty.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, rename = "Circuit")]
pub(crate) struct FileForm {
    /// Version of the form; this program reads 1.
    pub(crate) format: Placed<u32>,
    /// What the circuit is called.
    pub(crate) name: Option<Text>,
    /// Which words reports speak; North American unless the supply is 230 V.
    pub(crate) words: Option<WordsForm>,
    /// Transformer, service, earthing; 120/240 V split phase unless stated.
    pub(crate) supply: Option<SupplyForm>,
    /// What holds wherever nothing else is stated.
    pub(crate) defaults: Option<DefaultsForm>,
    /// The branch circuits, each with its breaker.
    #[serde(default)]
    pub(crate) circuits: Vec<CircuitForm>,
    /// Panels fed from another panel.
    #[serde(default)]
    pub(crate) subpanels: Vec<SubpanelForm>,
    /// Boxes, each with the cable that feeds it.
    #[serde(default)]
    pub(crate) boxes: Vec<BoxForm>,
    /// Cables that the boxes do not speak of, each conductor landed by hand.
    #[serde(default)]
    pub(crate) cables: Vec<ExplicitCableForm>,
    /// What is plugged in or wired in.
    #[serde(default)]
    pub(crate) loads: Vec<LoadForm>,
    /// Short links between any two addresses.
    #[serde(default)]
    pub(crate) links: Vec<LinkForm>,
    /// An impedance or a capacitor between any two addresses.
    #[serde(default)]
    pub(crate) lumped: Vec<LumpedForm>,
    /// Bonds besides the main bond.
    #[serde(default)]
    pub(crate) bonds: Vec<BondForm>,
    /// Electrodes besides those of the supply.
    #[serde(default)]
    pub(crate) electrodes: Vec<ElectrodeForm>,
    /// Joints whose resistance is not the default.
    #[serde(default)]
    pub(crate) joints: Vec<JointForm>,
    /// Named conditions: faults and states in words.
    #[serde(default)]
    pub(crate) conditions: Vec<ConditionForm>,
}

/// Words of reports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum WordsForm {
    /// Hot, ground, panel, receptacle.
    NorthAmerican,
    /// Line, earth, consumer unit, socket-outlet.
    Iec,
}

/// What holds wherever nothing else is stated.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct DefaultsForm {
    /// Cable of every run.
    pub(crate) cable: Option<CableForm>,
    /// Conductors that run through the device's own terminals instead of a pigtail.
    pub(crate) feed_through: Option<Vec<Text>>,
    /// Terminals of the devices.
    pub(crate) terminals: Option<TerminalsForm>,
    /// Standard receptacle, as "NEMA 5-15".
    pub(crate) configuration: Option<Text>,
    /// Resistances of sound joints.
    pub(crate) contacts: Option<ContactsForm>,
}

/// Terminals of a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum TerminalsForm {
    /// Screws.
    Screw,
    /// Push-in terminals.
    PushIn,
}

/// Resistances of sound joints, ohms; capacitances across open contacts, picofarads.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct ContactsForm {
    /// One wire in a splice.
    pub(crate) splice_ohms: Option<Number>,
    /// A terminal screw.
    pub(crate) screw_ohms: Option<Number>,
    /// A push-in terminal.
    pub(crate) push_in_ohms: Option<Number>,
    /// A screw of a neutral or ground bar.
    pub(crate) bar_ohms: Option<Number>,
    /// The strap of a device between its two screws.
    pub(crate) strap_ohms: Option<Number>,
    /// The tab between the halves of a duplex.
    pub(crate) tab_ohms: Option<Number>,
    /// A plug's blade in a slot.
    pub(crate) slot_ohms: Option<Number>,
    /// A breaker pole with its stab.
    pub(crate) breaker_ohms: Option<Number>,
    /// A closed switch contact.
    pub(crate) switch_ohms: Option<Number>,
    /// A closed pole of a ground-fault or arc-fault device.
    pub(crate) protective_ohms: Option<Number>,
    /// A bond.
    pub(crate) bond_ohms: Option<Number>,
    /// Length of a pigtail, metres.
    pub(crate) pigtail_metres: Option<Number>,
    /// Across an open switch contact; 0 for none.
    pub(crate) switch_gap_picofarads: Option<Number>,
    /// Across a broken tab; 0 for none.
    pub(crate) tab_gap_picofarads: Option<Number>,
}

/// A branch circuit with its breaker.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct CircuitForm {
    /// Its name; boxes say `from` it.
    pub(crate) id: Text,
    /// Rating of the breaker, amperes.
    pub(crate) amperes: Option<Number>,
    /// Leg of a one-pole breaker: "L1" unless stated.
    pub(crate) leg: Option<Text>,
    /// Legs of a breaker of several poles, as ["L1", "L2"]: its wires are hot, hot2, hot3.
    pub(crate) legs: Option<Vec<Text>>,
    /// Whether the poles of several legs trip together; true unless stated.
    pub(crate) tied: Option<bool>,
    /// The panel or subpanel it is in; "panel" unless stated.
    pub(crate) panel: Option<Text>,
    /// Family of its time-current curve.
    pub(crate) curve: Option<CurveForm>,
    /// Residual current that trips it, milliamperes, if it senses one.
    pub(crate) ground_fault_milliamperes: Option<Number>,
    /// Whether its residual-current release waits for those after it (type S).
    pub(crate) ground_fault_delayed: Option<Flag>,
    /// Whether it is an arc-fault breaker.
    pub(crate) arc_fault: Option<bool>,
    /// On as found; true unless stated.
    pub(crate) on: Option<bool>,
    /// Cable of every run of this circuit.
    pub(crate) cable: Option<CableForm>,
    /// Wires of its first cable: hot (hot2, hot3), neutral, ground unless stated.
    pub(crate) carries: Option<Vec<Text>>,
    /// Wires of its first cable that are capped in the panel.
    pub(crate) capped: Option<Vec<Text>>,
    /// The cable that closes a ring back to the panel.
    pub(crate) ring: Option<RingForm>,
}

/// The cable that closes a ring.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct RingForm {
    /// The last box of the ring.
    pub(crate) last: Text,
    /// Its length, feet.
    pub(crate) feet: Option<Number>,
    /// Its length, metres.
    pub(crate) metres: Option<Number>,
    /// Between which lengths, feet.
    pub(crate) feet_between: Option<(Number, Number)>,
    /// Between which lengths, metres.
    pub(crate) metres_between: Option<(Number, Number)>,
}

/// A panel fed from another.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct SubpanelForm {
    /// Its name; its bars are NAME.L1, NAME.L2, NAME.neutral, NAME.ground.
    pub(crate) id: Text,
    /// The circuit that feeds it.
    pub(crate) from: Text,
    /// Length of the feeder, feet.
    pub(crate) feet: Option<Number>,
    /// Length of the feeder, metres.
    pub(crate) metres: Option<Number>,
    /// Between which lengths, feet.
    pub(crate) feet_between: Option<(Number, Number)>,
    /// Between which lengths, metres.
    pub(crate) metres_between: Option<(Number, Number)>,
    /// The feeder cable.
    pub(crate) cable: Option<CableForm>,
    /// Its wires, if not those of the circuit: leave out ground for a panel earthed by itself.
    pub(crate) carries: Option<Vec<Text>>,
    /// Whether its neutral and ground bars are joined; false unless stated.
    pub(crate) bonded: Option<bool>,
    /// Its own electrode, ohms, if it has one.
    pub(crate) electrode_ohms: Option<Number>,
}

/// A box with the cable that feeds it.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct BoxForm {
    /// Its name.
    pub(crate) id: Text,
    /// The circuit or box its cable comes from.
    pub(crate) from: Option<Text>,
    /// Length of that cable, feet.
    pub(crate) feet: Option<Number>,
    /// Length of that cable, metres.
    pub(crate) metres: Option<Number>,
    /// Between which lengths, feet.
    pub(crate) feet_between: Option<(Number, Number)>,
    /// Between which lengths, metres.
    pub(crate) metres_between: Option<(Number, Number)>,
    /// That cable, where it differs from the circuit's.
    pub(crate) cable: Option<CableForm>,
    /// Name of that cable; FROM-ID unless stated.
    pub(crate) cable_id: Option<Text>,
    /// Wires of that cable; those of the cable before unless stated.
    pub(crate) carries: Option<Vec<Text>>,
    /// Wires here that are capped, each by itself and joined to nothing.
    pub(crate) capped: Option<Vec<Text>>,
    /// Conductors that run through the device's own terminals instead of a pigtail.
    pub(crate) feed_through: Option<Vec<Text>>,
    /// Terminals of its devices.
    pub(crate) terminals: Option<TerminalsForm>,
    /// Its one device; a receptacle unless stated.
    pub(crate) device: Option<DeviceForm>,
    /// Its devices, if several or none.
    pub(crate) devices: Option<Vec<DeviceForm>>,
}

/// A short link between two addresses.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct LinkForm {
    /// Its name.
    pub(crate) id: Text,
    /// The two addresses.
    pub(crate) between: (Text, Text),
    /// Its resistance, ohms; that of a splice unless stated.
    pub(crate) ohms: Option<Number>,
}

/// A joint whose resistance is not the default.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct JointForm {
    /// Its address, as "kiln.line.neutral".
    pub(crate) at: Text,
    /// Its resistance, ohms.
    pub(crate) ohms: Number,
}

/// A named condition.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct ConditionForm {
    /// Its name.
    pub(crate) name: Text,
    /// What is so in it, in words, as "neutral open at kiln, line side".
    pub(crate) sentences: Vec<Text>,
}
