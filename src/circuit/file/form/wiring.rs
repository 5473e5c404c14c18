//! Cables and lumped parts.

use std::fmt;

use serde::{Deserialize, Deserializer};

use super::load::LoadKindForm;
use super::{Number, Text};
use crate::circuit::file::placed::Placed;

/// A wire gauge: 12 or "1/0".
pub(crate) type SizeName = Placed<GaugeName>;

/// Text of a wire gauge, written as a number or in quotes.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct GaugeName(pub(crate) String);

impl<'de> Deserialize<'de> for GaugeName {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(GaugeVisitor)
    }
}

struct GaugeVisitor;

impl serde::de::Visitor<'_> for GaugeVisitor {
    type Value = GaugeName;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a wire gauge, as 12 or \"1/0\"")
    }

    fn visit_u64<E>(self, number: u64) -> Result<GaugeName, E> {
        Ok(GaugeName(number.to_string()))
    }

    fn visit_i64<E>(self, number: i64) -> Result<GaugeName, E> {
        Ok(GaugeName(number.to_string()))
    }

    fn visit_f64<E>(self, number: f64) -> Result<GaugeName, E> {
        Ok(GaugeName(number.to_string()))
    }

    fn visit_str<E>(self, text: &str) -> Result<GaugeName, E> {
        Ok(GaugeName(text.to_owned()))
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for GaugeName {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "GaugeName".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "A wire gauge: 14, 12, 10, ... or \"1/0\".",
            "anyOf": [{ "type": "integer" }, { "type": "string" }]
        })
    }
}

/// A cable, by size or by ohms. What is not stated comes from the circuit, from `defaults`, or
/// from the breaker's rating.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct CableForm {
    /// Size, AWG: 12 or "1/0".
    pub(crate) awg: Option<SizeName>,
    /// Size, mm².
    pub(crate) mm2: Option<Number>,
    /// Size of the ground, AWG, if another.
    pub(crate) ground_awg: Option<SizeName>,
    /// Size of the ground, mm², if another.
    pub(crate) ground_mm2: Option<Number>,
    /// Metal; copper unless stated.
    pub(crate) metal: Option<MetalForm>,
    /// Temperature of the conductors, degrees Celsius; 20 unless stated.
    pub(crate) celsius: Option<Number>,
    /// How it is made; Sheathed unless stated.
    pub(crate) construction: Option<ConstructionForm>,
    /// What the ground is; a wire unless stated.
    pub(crate) ground: Option<GroundForm>,
    /// Resistance of each conductor, ohms per metre, in place of a size.
    pub(crate) ohms_per_metre: Option<Number>,
    /// Resistance of each conductor, ohms per 1000 feet, in place of a size.
    pub(crate) ohms_per_1000_feet: Option<Number>,
    /// Resistance of the ground, ohms per metre.
    pub(crate) ground_ohms_per_metre: Option<Number>,
    /// Current each conductor is good for without end, amperes; by its size unless stated.
    pub(crate) ampacity_amperes: Option<Number>,
    /// Reactance of each conductor, ohms per metre.
    pub(crate) reactance_ohms_per_metre: Option<Number>,
    /// Capacitance between conductors and to earth.
    pub(crate) capacitance: Option<PairValuesForm>,
    /// Insulation between conductors and to earth.
    pub(crate) insulation: Option<PairValuesForm>,
}

/// Metal of a conductor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum MetalForm {
    /// Copper.
    Copper,
    /// Aluminium.
    Aluminium,
}

/// How a cable is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum ConstructionForm {
    /// Conductors in one sheath.
    Sheathed,
    /// Single conductors in plastic conduit.
    PlasticConduit,
    /// Single conductors in steel conduit or tubing.
    SteelConduit,
    /// Single wires on supports, without sheath.
    OpenWires,
}

/// What the ground of a cable is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum GroundForm {
    /// A wire.
    Wire,
    /// The metal raceway itself.
    Raceway,
}

/// Capacitance or insulation of a cable.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum PairValuesForm {
    /// That of its construction.
    Standard,
    /// Nothing at all.
    Off,
    /// As listed and nothing else: picofarads per metre, or gigaohm metres.
    Stated(Vec<PairForm>),
}

/// A value between two conductors, or a conductor and "earth".
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct PairForm {
    /// The two conductors.
    pub(crate) between: (Text, Text),
    /// Picofarads per metre, for capacitance.
    pub(crate) picofarads_per_metre: Option<Number>,
    /// Gigaohm metres, for insulation.
    pub(crate) gigaohm_metres: Option<Number>,
}

/// Family of a breaker's curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum CurveForm {
    /// North American inverse time.
    InverseTime,
    /// IEC 60898-1 type B.
    B,
    /// IEC 60898-1 type C.
    C,
    /// IEC 60898-1 type D.
    D,
}

/// A cable landed by hand.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct ExplicitCableForm {
    /// Its name.
    pub(crate) id: Text,
    /// Its length, feet.
    pub(crate) feet: Option<Number>,
    /// Its length, metres.
    pub(crate) metres: Option<Number>,
    /// Between which lengths, feet.
    pub(crate) feet_between: Option<(Number, Number)>,
    /// Between which lengths, metres.
    pub(crate) metres_between: Option<(Number, Number)>,
    /// What cable it is; its size must be stated here or in `defaults`.
    pub(crate) cable: Option<CableForm>,
    /// Its conductors, by any names; one called "ground" is bare.
    pub(crate) carries: Vec<Text>,
    /// Where its conductors land at the end towards the supply.
    pub(crate) near: Vec<LandingForm>,
    /// Where they land at the far end.
    pub(crate) far: Vec<LandingForm>,
    /// Conductors capped at the near end.
    #[serde(default)]
    pub(crate) capped_near: Vec<Text>,
    /// Conductors capped at the far end.
    #[serde(default)]
    pub(crate) capped_far: Vec<Text>,
}

/// Where one conductor lands.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct LandingForm {
    /// The conductor.
    pub(crate) conductor: Text,
    /// The address it lands on, as "kiln.splice.hot".
    pub(crate) to: Text,
    /// Contact resistance, ohms; that of a splice unless stated.
    pub(crate) ohms: Option<Number>,
}

/// A lumped part between two addresses.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct LumpedForm {
    /// Its name.
    pub(crate) id: Text,
    /// The two addresses; "earth" is remote soil.
    pub(crate) between: (Text, Text),
    /// What it is.
    pub(crate) kind: LumpedKindForm,
}

/// What a lumped part is.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum LumpedKindForm {
    /// A series impedance.
    Impedance {
        /// Resistance, ohms.
        ohms: Number,
        /// Reactance, ohms; 0 unless stated.
        reactance_ohms: Option<Number>,
    },
    /// A capacitor.
    Capacitor {
        /// Capacitance, nanofarads.
        nanofarads: Number,
    },
    /// A source: its first address is its line end.
    Source {
        /// Volts without load.
        volts: Number,
        /// Phase angle, degrees; 0 unless stated.
        degrees: Option<Number>,
        /// Resistance, ohms; 0.01 unless stated.
        ohms: Option<Number>,
        /// Reactance, ohms; 0 unless stated.
        reactance_ohms: Option<Number>,
    },
    /// Anything that a load can be; state its volts.
    Load(LoadKindForm),
}
