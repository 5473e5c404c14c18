//! Transformer, service and earthing.

use serde::Deserialize;

use super::wiring::{MetalForm, SizeName};
use super::{Number, Text};

/// Everything before the breakers. Each figure not stated is that of the system.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct SupplyForm {
    /// Kind of supply; SplitPhase unless stated.
    pub(crate) system: Option<SystemForm>,
    /// Volts from line to neutral without load.
    pub(crate) volts: Option<Number>,
    /// Between which volts from line to neutral.
    pub(crate) volts_between: Option<(Number, Number)>,
    /// Frequency, hertz.
    pub(crate) hertz: Option<Number>,
    /// The transformer or generator by its rating plate.
    pub(crate) transformer: Option<TransformerForm>,
    /// Resistance of each winding, ohms; windings are then not coupled.
    pub(crate) winding_ohms: Option<Number>,
    /// Reactance of each winding, ohms.
    pub(crate) winding_reactance_ohms: Option<Number>,
    /// The conductors between transformer and panel.
    pub(crate) service: Option<ServiceForm>,
    /// How neutral and ground are joined and earthed.
    pub(crate) earthing: Option<EarthingForm>,
    /// Electrode at the transformer, ohms.
    pub(crate) transformer_electrode_ohms: Option<Number>,
    /// Electrode at the panel, ohms.
    pub(crate) panel_electrode_ohms: Option<Number>,
    /// Main bond, ohms.
    pub(crate) bond_ohms: Option<Number>,
    /// Windings by hand, for the system Windings.
    pub(crate) windings: Option<Vec<WindingForm>>,
}

/// Kinds of supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum SystemForm {
    /// 120/240 V, 60 Hz, centre-tapped: L1, L2, neutral.
    SplitPhase,
    /// 208Y/120 V, 60 Hz: L1, L2, L3, neutral.
    Wye208,
    /// 230/400 V, 50 Hz: L1, L2, L3, neutral.
    Wye400,
    /// 230 V, 50 Hz: L1, neutral.
    Single230,
    /// 120/240 V delta, 60 Hz, with a high leg of 208 V to neutral: L1, L2, L3 (the high leg).
    HighLeg,
    /// One winding of 120 V, 60 Hz, joined to nothing else: L1, neutral.
    Generator,
    /// Windings by hand.
    Windings,
}

/// How neutral and ground are joined and earthed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum EarthingForm {
    /// One service conductor is neutral and ground; joined at the panel by the main bond.
    TnCS,
    /// Neutral and ground come apart from the transformer.
    TnS,
    /// The ground goes to an electrode at the building alone.
    Tt,
    /// Nothing is joined to earth: an unbonded generator.
    Isolated,
}

/// A transformer or generator by its rating plate.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct TransformerForm {
    /// Rating, kilovolt-amperes.
    pub(crate) kva: Option<Number>,
    /// Short-circuit impedance, per cent.
    pub(crate) percent_impedance: Option<Number>,
    /// Ratio of reactance to resistance.
    pub(crate) x_over_r: Option<Number>,
}

/// The conductors between transformer and panel: by size and length, or by ohms.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct ServiceForm {
    /// Size, AWG.
    pub(crate) awg: Option<SizeName>,
    /// Size, mm².
    pub(crate) mm2: Option<Number>,
    /// Metal; aluminium unless stated.
    pub(crate) metal: Option<MetalForm>,
    /// Temperature, degrees Celsius.
    pub(crate) celsius: Option<Number>,
    /// Length, feet.
    pub(crate) feet: Option<Number>,
    /// Length, metres.
    pub(crate) metres: Option<Number>,
    /// Resistance of each line conductor, ohms.
    pub(crate) ohms: Option<Number>,
    /// Reactance of each line conductor, ohms.
    pub(crate) reactance_ohms: Option<Number>,
    /// Resistance of the neutral, ohms, if not that of a line.
    pub(crate) neutral_ohms: Option<Number>,
    /// Reactance of the neutral, ohms, if not that of a line.
    pub(crate) neutral_reactance_ohms: Option<Number>,
    /// Resistance of the separate ground of TnS, ohms, if not that of the neutral.
    pub(crate) ground_ohms: Option<Number>,
    /// Reactance of the separate ground of TnS, ohms, if not that of the neutral.
    pub(crate) ground_reactance_ohms: Option<Number>,
}

/// A winding by hand.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct WindingForm {
    /// Its name. Where its line end is xf.NAME, a service conductor NAME leads to panel.NAME.
    pub(crate) id: Text,
    /// Its line end; "xf.NAME" unless stated.
    pub(crate) line: Option<Text>,
    /// Its neutral end; "xf.neutral" unless stated.
    pub(crate) neutral: Option<Text>,
    /// Volts without load.
    pub(crate) volts: Number,
    /// Phase angle, degrees; 0 unless stated.
    pub(crate) degrees: Option<Number>,
    /// Resistance, ohms; 0.01 unless stated.
    pub(crate) ohms: Option<Number>,
    /// Reactance, ohms; 0 unless stated.
    pub(crate) reactance_ohms: Option<Number>,
}

/// A bond.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct BondForm {
    /// Its name.
    pub(crate) id: Text,
    /// The two addresses it joins.
    pub(crate) between: (Text, Text),
    /// Its resistance, ohms.
    pub(crate) ohms: Option<Number>,
}

/// A connection to soil.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct ElectrodeForm {
    /// Its name.
    pub(crate) id: Text,
    /// The address it earths.
    pub(crate) at: Text,
    /// Its resistance to remote earth, ohms.
    pub(crate) ohms: Number,
}
