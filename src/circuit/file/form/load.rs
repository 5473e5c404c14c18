//! Loads.

use serde::Deserialize;

use super::{Number, Text};

/// What is plugged in or wired in.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) struct LoadForm {
    /// Its name.
    pub(crate) id: Text,
    /// The receptacle it is plugged into, as "kiln" or "desk.top", or the box it is wired in.
    pub(crate) at: Text,
    /// What it is.
    pub(crate) kind: LoadKindForm,
    /// Switched on; true unless stated.
    pub(crate) on: Option<bool>,
    /// Plugged in; true unless stated.
    pub(crate) plugged: Option<bool>,
    /// Wired in: no plug.
    pub(crate) wired: Option<bool>,
    /// The two conductors it lies across; ("hot", "neutral") unless stated.
    pub(crate) across: Option<(Text, Text)>,
    /// Another load of the same appliance whose plug it shares.
    pub(crate) shares_plug: Option<Text>,
    /// Whether it has a metal case joined to its ground.
    pub(crate) metal_case: Option<bool>,
    /// Filter capacitors from each of its two sides to its case, nanofarads each.
    pub(crate) filter_nanofarads: Option<Number>,
    /// Insulation from its hot side to its case, megaohms.
    pub(crate) case_leak_megaohms: Option<Number>,
    /// Between which watts its power lies.
    pub(crate) watts_between: Option<(Number, Number)>,
}

/// What a load is. Rated volts are those of the supply unless stated.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum LoadKindForm {
    /// A heater, or anything of constant resistance.
    Resistive {
        /// Rated watts.
        watts: Option<Number>,
        /// Rated volts.
        volts: Option<Number>,
    },
    /// A lamp with a tungsten filament.
    Filament {
        /// Rated watts.
        watts: Option<Number>,
        /// Rated volts.
        volts: Option<Number>,
        /// Cold share of the rated resistance.
        cold_fraction: Option<Number>,
        /// Exponent of the rise of resistance with voltage.
        exponent: Option<Number>,
    },
    /// An induction motor.
    Motor {
        /// Watts taken at full load.
        watts: Option<Number>,
        /// Rated volts.
        volts: Option<Number>,
        /// Power factor at full load.
        power_factor: Option<Number>,
        /// Current with the rotor locked, as a multiple of that at full load.
        locked_rotor_ratio: Option<Number>,
        /// Power factor with the rotor locked.
        locked_rotor_power_factor: Option<Number>,
    },
    /// Electronics that draw constant power.
    Electronics {
        /// Watts taken.
        watts: Option<Number>,
        /// Rated volts.
        volts: Option<Number>,
        /// Power factor of the fundamental.
        power_factor: Option<Number>,
        /// Volts below which it cuts out.
        cut_out_volts: Option<Number>,
    },
    /// A lamp with an electronic driver.
    Led {
        /// Watts taken.
        watts: Option<Number>,
        /// Rated volts.
        volts: Option<Number>,
        /// Power factor of the fundamental.
        power_factor: Option<Number>,
        /// Volts below which it cuts out.
        cut_out_volts: Option<Number>,
    },
    /// Electronics that are off but not dead: a clock, a standby supply.
    Standby {
        /// Watts taken.
        watts: Option<Number>,
        /// Volts below which it cuts out.
        cut_out_volts: Option<Number>,
    },
    /// A pilot lamp, in an illuminated switch for example: dark up to its threshold.
    PilotLamp {
        /// Volts at which it lights.
        threshold_volts: Number,
        /// Series resistance when lit, ohms.
        series_ohms: Number,
        /// Resistance when dark, ohms; none unless stated.
        off_ohms: Option<Number>,
    },
    /// A stated impedance.
    Impedance {
        /// Resistance, ohms.
        ohms: Number,
        /// Reactance, ohms; 0 unless stated.
        reactance_ohms: Option<Number>,
    },
    /// A capacitor.
    Capacitor {
        /// Capacitance, microfarads.
        microfarads: Number,
    },
}
