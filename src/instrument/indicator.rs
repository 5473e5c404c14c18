//! An indicator: a two-ended element that is dark, dim or lit.

use serde::{Deserialize, Serialize};

use super::band::{Band, Standing};
use super::bench::{Attached, Lean};
use super::check::Check;
use super::phasor_form;
use crate::netlist::Law;
use crate::quantity::Phasor;

/// What an indicator is as a circuit element. The laws are kept apart because they disagree on
/// conductors with little behind them; all give a current in phase with the voltage, of the
/// supply's frequency.
///
/// ```
/// use slotwise::instrument::{Band, IndicatorLaw};
/// let glow_lamp = IndicatorLaw::Peak {
///     strike_peak_volt: Band::exactly(90.0),
///     maintain_peak_volt: 60.0,
///     off_ohm: 1e9,
///     series_ohm: 100e3,
/// };
/// // Conducts for part of each half cycle; average and not rms.
/// let ampere = glow_lamp.average_ampere(120.0);
/// assert!((ampere - 0.54e-3).abs() < 0.005e-3);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum IndicatorLaw {
    /// A resistance that conducts at any voltage.
    Resistance {
        /// Ohms.
        resistance_ohm: f64,
    },
    /// Without memory: I = V / off up to the threshold,
    /// I = V [1 / off + (1 - threshold / |V|) / series] above it.
    Threshold {
        /// Threshold, volts rms.
        threshold_volt: Band,
        /// Resistance below the threshold, ohms.
        off_ohm: f64,
        /// Series resistance, ohms.
        series_ohm: f64,
    },
    /// With memory: dark until |V| reaches the strike voltage, then
    /// I = V [1 / off + (1 - maintain / |V|) / series] until |V| falls below the hold voltage.
    StrikeAndHold {
        /// Voltage that lights it, volts rms.
        strike_volt: Band,
        /// Voltage below which it goes out, volts rms.
        hold_volt: f64,
        /// Voltage of the lit gap itself, volts rms; at most the hold voltage.
        maintain_volt: f64,
        /// Resistance when dark, ohms.
        off_ohm: f64,
        /// Series resistance, ohms.
        series_ohm: f64,
    },
    /// By peak: each half cycle it strikes when the sine reaches the strike voltage and goes out
    /// when the sine falls to the maintaining voltage. In the network it is the lamp with
    /// memory that carries the first harmonic of this: strike / √2, hold and maintain
    /// 4 maintain / (π √2), the first harmonic of the square wave across the lit gap.
    Peak {
        /// Voltage that lights it, volts at the peak.
        strike_peak_volt: Band,
        /// Voltage of the lit gap, volts at the peak.
        maintain_peak_volt: f64,
        /// Resistance when dark, ohms.
        off_ohm: f64,
        /// Series resistance, ohms.
        series_ohm: f64,
    },
}

/// What decides whether an indicator is dim or lit.
///
/// ```
/// use slotwise::instrument::BrightnessBy;
/// assert_eq!(BrightnessBy::default(), BrightnessBy::Volt);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum BrightnessBy {
    /// Volts across it: rms, or at the peak for [`IndicatorLaw::Peak`].
    #[default]
    Volt,
    /// Amperes through it: rms, or the average of the rectified current for
    /// [`IndicatorLaw::Peak`].
    Ampere,
}

/// An indicator with what makes it dim and lit.
///
/// ```
/// use slotwise::instrument::{Band, BrightnessBy, Indicator, IndicatorLaw};
/// let indicator = Indicator {
///     law: IndicatorLaw::Resistance { resistance_ohm: 68e3 },
///     brightness_by: BrightnessBy::Volt,
///     dim_from: Band::exactly(35.0),
///     lit_from: Band::between(80.0, 90.0),
/// };
/// assert!(indicator.dim_from.high < indicator.lit_from.low);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Indicator {
    /// What it is in the network.
    pub law: IndicatorLaw,
    /// What its brightness goes by.
    #[serde(default)]
    pub brightness_by: BrightnessBy,
    /// Dim from this on, volts or amperes.
    pub dim_from: Band,
    /// Fully lit from this on, volts or amperes.
    pub lit_from: Band,
}

/// How bright an indicator is.
///
/// ```
/// use slotwise::instrument::Brightness;
/// assert!(Brightness::Dark < Brightness::Dim && Brightness::Dim < Brightness::Lit);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Brightness {
    /// Nothing to be seen.
    Dark,
    /// Glows.
    Dim,
    /// Fully lit.
    Lit,
}

/// What can be said of an indicator's brightness.
///
/// ```
/// use slotwise::instrument::{Brightness, Glow};
/// assert_eq!(Glow::certain(Brightness::Lit).word(), "lit");
/// assert_eq!(Glow { at_least: Brightness::Dark, at_most: Brightness::Dim }.word(), "may light");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Glow {
    /// It is at least so bright.
    pub at_least: Brightness,
    /// It is at most so bright.
    pub at_most: Brightness,
}

/// What an indicator shows.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Brightness, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("hot"));
/// # let emf_volt = Phasor::new(120.0, 0.0);
/// # let impedance = Impedance::resistance(0.1);
/// # netlist.add("supply", hot, Netlist::EARTH, Role::Winding, Law::Source { emf_volt, impedance }).unwrap();
/// // On a bench supply: neutral and ground slots on one terminal.
/// let place = Place::slots([("hot", "hot"), ("neutral", "earth"), ("ground", "earth")]);
/// let tester = presets::plug_tester_resistive();
/// let readings = measure_netlist(&netlist, &[Request::new(tester, place)]).unwrap();
/// let Shown::PlugTester(shown) = &readings[0].shown else { panic!() };
/// assert_eq!(shown.indicators[0].glow.only(), Some(Brightness::Lit));
/// assert_eq!(shown.indicators[2].glow.only(), Some(Brightness::Dark));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct IndicatorReading {
    /// The slots it spans.
    pub between: (String, String),
    /// Voltage across it; where its own threshold is a band, with the threshold at its upper
    /// end. `None` when undetermined.
    #[serde(serialize_with = "phasor_form::optional")]
    pub voltage_volt: Option<Phasor>,
    /// Current through it, amperes.
    #[serde(serialize_with = "phasor_form::full")]
    pub current_ampere: Phasor,
    /// How bright it is.
    pub glow: Glow,
    /// `dark`, `dim`, `lit`, `may light` or `dim or lit`.
    pub state: &'static str,
    /// What its brightness goes by: `volt_rms`, `volt_peak`, `ampere_rms`, `ampere_average`.
    pub decided_by: &'static str,
    /// The value that decides, in that unit.
    pub deciding_value: f64,
    /// It remembers: from another start the same network holds it in another state, which is
    /// included in `glow`.
    pub remembers: bool,
}

impl Glow {
    /// A brightness without doubt.
    pub const fn certain(brightness: Brightness) -> Self {
        Self { at_least: brightness, at_most: brightness }
    }

    /// The brightness, if there is no doubt.
    pub fn only(self) -> Option<Brightness> {
        (self.at_least == self.at_most).then_some(self.at_least)
    }

    /// In a word or two.
    pub const fn word(self) -> &'static str {
        match (self.at_least, self.at_most) {
            (Brightness::Dark, Brightness::Dark) => "dark",
            (Brightness::Dark, _) => "may light",
            (Brightness::Lit, _) => "lit",
            (Brightness::Dim, Brightness::Lit) => "dim or lit",
            (Brightness::Dim, _) => "dim",
        }
    }

    /// The least glow that holds both.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self {
            at_least: self.at_least.min(other.at_least),
            at_most: self.at_most.max(other.at_most),
        }
    }
}

impl IndicatorLaw {
    /// The same as an element of the network, a band taken at the end that `lean` says.
    pub(super) fn in_network(&self, lean: Lean) -> Law {
        match *self {
            Self::Resistance { resistance_ohm } => Law::resistance(resistance_ohm),
            Self::Threshold { threshold_volt, off_ohm, series_ohm } => {
                Law::ThresholdLamp { threshold_volt: lean.of(threshold_volt), off_ohm, series_ohm }
            }
            Self::StrikeAndHold { strike_volt, hold_volt, maintain_volt, off_ohm, series_ohm } => {
                let strike_volt = lean.of(strike_volt);
                Law::StrikeLamp { strike_volt, hold_volt, maintain_volt, off_ohm, series_ohm }
            }
            Self::Peak { strike_peak_volt, maintain_peak_volt, off_ohm, series_ohm } => {
                let strike_volt = lean.of(strike_peak_volt) / std::f64::consts::SQRT_2;
                let hold_volt = first_harmonic_rms(maintain_peak_volt);
                Law::StrikeLamp {
                    strike_volt,
                    hold_volt,
                    maintain_volt: hold_volt,
                    off_ohm,
                    series_ohm,
                }
            }
        }
    }

    /// Average of the rectified current in amperes at a sine of so many volts rms; for the
    /// lamp by peak from its conduction angles (glow-lamp manuals), for the others from the rms
    /// current (√8/π of it).
    pub fn average_ampere(&self, volt_rms: f64) -> f64 {
        use std::f64::consts::{FRAC_PI_2, PI, SQRT_2};
        let Self::Peak { strike_peak_volt, maintain_peak_volt, series_ohm, off_ohm } = *self else {
            return self.rms_ampere(volt_rms) * 2.0 * SQRT_2 / PI;
        };
        let peak = volt_rms * SQRT_2;
        if peak <= maintain_peak_volt {
            return 2.0 * peak / (PI * off_ohm);
        }
        // i = (V̂ sin θ - Vm) / R from the strike to the fall below Vm.
        let from = if peak > strike_peak_volt.high {
            libm::asin(strike_peak_volt.high / peak)
        } else {
            FRAC_PI_2
        };
        let to = PI - libm::asin(maintain_peak_volt / peak);
        (peak * (libm::cos(from) - libm::cos(to)) - maintain_peak_volt * (to - from))
            / (PI * series_ohm)
    }

    fn rms_ampere(&self, volt: f64) -> f64 {
        match *self {
            Self::Resistance { resistance_ohm } => volt / resistance_ohm,
            Self::Threshold { threshold_volt, off_ohm, series_ohm } => {
                volt / off_ohm + (volt - threshold_volt.high).max(0.0) / series_ohm
            }
            Self::StrikeAndHold { maintain_volt, off_ohm, series_ohm, .. } => {
                volt / off_ohm + (volt - maintain_volt).max(0.0) / series_ohm
            }
            Self::Peak { maintain_peak_volt, off_ohm, series_ohm, .. } => {
                let maintain_volt = first_harmonic_rms(maintain_peak_volt);
                volt / off_ohm + (volt - maintain_volt).max(0.0) / series_ohm
            }
        }
    }

    /// Whether it can be lit or dark on the same network, by what was before. A lamp by peak
    /// starts anew with each half cycle.
    pub(super) const fn remembers(&self) -> bool {
        matches!(self, Self::StrikeAndHold { .. })
    }

    /// Whether its own threshold is a band.
    pub(super) fn is_uncertain(&self) -> bool {
        match self {
            Self::Resistance { .. } => false,
            Self::Threshold { threshold_volt, .. } => !threshold_volt.is_exact(),
            Self::StrikeAndHold { strike_volt, .. } => !strike_volt.is_exact(),
            Self::Peak { strike_peak_volt, .. } => !strike_peak_volt.is_exact(),
        }
    }

    /// A lamp that must strike before it glows at all, and its resistance until then.
    fn dark_ohm(&self) -> Option<f64> {
        match *self {
            Self::StrikeAndHold { off_ohm, .. } | Self::Peak { off_ohm, .. } => Some(off_ohm),
            Self::Resistance { .. } | Self::Threshold { .. } => None,
        }
    }

    fn is_by_peak(&self) -> bool {
        matches!(self, Self::Peak { .. })
    }

    fn check(&self, check: &mut Check) {
        match *self {
            Self::Resistance { resistance_ohm } => check.positive("resistance_ohm", resistance_ohm),
            Self::Threshold { threshold_volt, off_ohm, series_ohm } => {
                check.band("threshold_volt", threshold_volt);
                check.dark("off_ohm", off_ohm);
                check.positive("series_ohm", series_ohm);
            }
            Self::StrikeAndHold { strike_volt, hold_volt, maintain_volt, off_ohm, series_ohm } => {
                check.band("strike_volt", strike_volt);
                check.positive("strike_volt", strike_volt.low);
                check.not_negative("maintain_volt", maintain_volt);
                check.that_with("hold_volt", hold_volt <= strike_volt.low, || {
                    format!("is {hold_volt}, must not be above the strike")
                });
                check.that_with("maintain_volt", maintain_volt <= hold_volt, || {
                    format!("is {maintain_volt}, must not be above the hold")
                });
                check.dark("off_ohm", off_ohm);
                check.positive("series_ohm", series_ohm);
            }
            Self::Peak { strike_peak_volt, maintain_peak_volt, off_ohm, series_ohm } => {
                check.band("strike_peak_volt", strike_peak_volt);
                check.positive("strike_peak_volt", strike_peak_volt.low);
                check.not_negative("maintain_peak_volt", maintain_peak_volt);
                check.that_with(
                    "maintain_peak_volt",
                    first_harmonic_rms(maintain_peak_volt) * std::f64::consts::SQRT_2
                        <= strike_peak_volt.low,
                    || {
                        format!(
                            "is {maintain_peak_volt}, its first harmonic must not reach the strike"
                        )
                    },
                );
                check.dark("off_ohm", off_ohm);
                check.positive("series_ohm", series_ohm);
            }
        }
    }
}

impl Indicator {
    /// What it shows as number `port` of what is attached; `reluctant` has the thresholds at
    /// their upper ends, `willing` at their lower ones.
    pub(super) fn read(
        &self,
        between: (&str, &str),
        port: usize,
        reluctant: &Attached,
        willing: &Attached,
    ) -> IndicatorReading {
        let of = |attached: &Attached, state: usize| {
            self.glow(attached.voltage_in(state, port), attached.current_in(state, port))
        };
        let mut glow = of(reluctant, 0).or(of(willing, 0));
        let reached = glow;
        if self.law.remembers() {
            for attached in [reluctant, willing] {
                for state in 1..attached.n_states() {
                    glow = glow.or(of(attached, state));
                }
            }
        }
        let voltage = reluctant.voltage_in(0, port);
        let current = reluctant.current_in(0, port);
        IndicatorReading {
            between: (between.0.to_owned(), between.1.to_owned()),
            voltage_volt: voltage,
            current_ampere: current,
            glow,
            state: glow.word(),
            decided_by: self.decided_by(),
            deciding_value: self.deciding_value(voltage, current),
            remembers: glow != reached,
        }
    }

    fn decided_by(&self) -> &'static str {
        match (self.brightness_by, self.law.is_by_peak()) {
            (BrightnessBy::Volt, false) => "volt_rms",
            (BrightnessBy::Volt, true) => "volt_peak",
            (BrightnessBy::Ampere, false) => "ampere_rms",
            (BrightnessBy::Ampere, true) => "ampere_average",
        }
    }

    fn deciding_value(&self, voltage: Option<Phasor>, current: Phasor) -> f64 {
        let volt = voltage.map_or(0.0, Phasor::magnitude);
        match (self.brightness_by, self.law.is_by_peak()) {
            (BrightnessBy::Volt, false) => volt,
            (BrightnessBy::Volt, true) => volt * std::f64::consts::SQRT_2,
            (BrightnessBy::Ampere, false) => current.magnitude(),
            (BrightnessBy::Ampere, true) => match self.law.dark_ohm() {
                Some(off_ohm) if is_dark(volt, current.magnitude(), off_ohm) => 0.0,
                _ => self.law.average_ampere(volt),
            },
        }
    }

    fn glow(&self, voltage: Option<Phasor>, current: Phasor) -> Glow {
        let volt = voltage.map_or(0.0, Phasor::magnitude);
        if let Some(off_ohm) = self.law.dark_ohm()
            && is_dark(volt, current.magnitude(), off_ohm)
        {
            return Glow::certain(Brightness::Dark);
        }
        let value = self.deciding_value(voltage, current);
        let (dim, lit) = (self.dim_from.standing(value), self.lit_from.standing(value));
        let glow = Glow {
            at_least: match (dim, lit) {
                (_, Standing::Reached) => Brightness::Lit,
                (Standing::Reached, _) => Brightness::Dim,
                _ => Brightness::Dark,
            },
            at_most: match (dim, lit) {
                (_, Standing::Inside | Standing::Reached) => Brightness::Lit,
                (Standing::Inside | Standing::Reached, _) => Brightness::Dim,
                _ => Brightness::Dark,
            },
        };
        match self.law {
            // Lit, it pulls the sine below its own strike: it flickers, or not.
            IndicatorLaw::Peak { strike_peak_volt, .. }
                if strike_peak_volt.standing(volt * std::f64::consts::SQRT_2)
                    == Standing::Below =>
            {
                Glow { at_least: Brightness::Dark, ..glow }
            }
            _ => glow,
        }
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.band("dim_from", self.dim_from);
        check.band("lit_from", self.lit_from);
        check.that(
            "dim_from",
            self.dim_from.low <= self.lit_from.low && self.dim_from.high <= self.lit_from.high,
            "is above `lit_from`; an indicator is dim no later than it is lit",
        );
        check.inside("law", |check| self.law.check(check));
    }
}

/// rms of the first harmonic of a square wave: 4/π of its height, over √2.
fn first_harmonic_rms(height: f64) -> f64 {
    4.0 * height / (std::f64::consts::PI * std::f64::consts::SQRT_2)
}

/// A lamp that has struck carries more than its dark leakage by far more than rounding.
const STRUCK_MARGIN: f64 = 1e-6;

fn is_dark(volt: f64, ampere: f64, off_ohm: f64) -> bool {
    ampere <= volt / off_ohm * (1.0 + STRUCK_MARGIN)
}

#[cfg(test)]
mod tests {
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    use super::*;

    const GLOW_LAMP_30K: IndicatorLaw = IndicatorLaw::Peak {
        strike_peak_volt: Band::exactly(90.0),
        maintain_peak_volt: 60.0,
        off_ohm: 1e9,
        series_ohm: 30e3,
    };

    /// The table's currents are printed to this many milliamperes.
    const PRINTED_MA: f64 = 0.006;

    #[test]
    fn a_glow_lamp_draws_the_average_currents_of_the_manuals() {
        for (volt, printed_ma) in [(64.0, 0.22), (70.0, 0.41), (90.0, 0.96), (120.0, 1.80)] {
            let ma = GLOW_LAMP_30K.average_ampere(volt) * 1e3;
            assert_abs_diff_eq!(ma, printed_ma, epsilon = PRINTED_MA);
        }
        assert!(GLOW_LAMP_30K.average_ampere(42.0) < 1e-6);
    }

    #[test]
    fn the_first_harmonic_of_a_glow_lamp_is_within_its_printed_resistance() {
        // Effective kilohms at 60 Hz, printed to the kilohm, from conduction angles.
        for (volt, printed_kohm) in [(90.0, 73.0), (120.0, 54.0), (240.0, 39.0)] {
            let kohm = volt / GLOW_LAMP_30K.rms_ampere(volt) / 1e3;
            assert!((kohm - printed_kohm).abs() < 0.04 * printed_kohm, "{volt} V: {kohm}");
        }
    }

    #[test]
    fn inside_the_band_an_indicator_may_light() {
        let indicator = Indicator {
            law: IndicatorLaw::Resistance { resistance_ohm: 68e3 },
            brightness_by: BrightnessBy::Volt,
            dim_from: Band::between(30.0, 40.0),
            lit_from: Band::between(80.0, 90.0),
        };
        let word = |volt: f64| {
            let voltage = Phasor::new(0.0, volt);
            indicator.glow(Some(voltage), Phasor::ZERO).word()
        };
        assert_eq!(
            [29.9, 30.0, 39.9, 40.0, 79.9, 80.0, 90.0].map(word),
            ["dark", "may light", "may light", "dim", "dim", "dim or lit", "lit"]
        );
    }

    /// Figures worked out to so many digits.
    const WORKED_OUT: f64 = 1e-6;

    /// What the average of a rectified sine is of its rms value, √8/π.
    const AVERAGE_OF_RMS: f64 = 0.900_316_316_157_106;

    const SOLID_STATE: IndicatorLaw = IndicatorLaw::Threshold {
        threshold_volt: Band::exactly(20.0),
        off_ohm: 1e6,
        series_ohm: 40e3,
    };

    const WITH_MEMORY: IndicatorLaw = IndicatorLaw::StrikeAndHold {
        strike_volt: Band::exactly(65.0),
        hold_volt: 56.0,
        maintain_volt: 50.0,
        off_ohm: 1e6,
        series_ohm: 100e3,
    };

    #[test]
    fn the_average_of_a_current_that_follows_the_sine_is_nine_tenths_of_its_rms() {
        let heater = IndicatorLaw::Resistance { resistance_ohm: 50e3 };
        for (law, volt, rms_ampere) in [
            (heater, 100.0, 2e-3),
            // Leakage of 1 megohm alone, then 80 V over 40 kilohms beside it.
            (SOLID_STATE, 10.0, 10e-6),
            (SOLID_STATE, 100.0, 100e-6 + 2e-3),
            // The same with 50 V over 100 kilohms.
            (WITH_MEMORY, 40.0, 40e-6),
            (WITH_MEMORY, 100.0, 100e-6 + 0.5e-3),
        ] {
            let average = law.average_ampere(volt);
            assert_relative_eq!(average, AVERAGE_OF_RMS * rms_ampere, max_relative = WORKED_OUT);
        }
    }

    #[test]
    fn a_glow_lamp_that_never_reaches_its_gap_leaks_like_its_insulation() {
        let leaky = IndicatorLaw::Peak {
            strike_peak_volt: Band::exactly(90.0),
            maintain_peak_volt: 60.0,
            off_ohm: 1e6,
            series_ohm: 30e3,
        };
        // 42 V are 59.4 V at the peak.
        let expected = AVERAGE_OF_RMS * 42e-6;
        assert_relative_eq!(leaky.average_ampere(42.0), expected, max_relative = WORKED_OUT);
    }

    #[test]
    fn the_square_wave_of_a_sixty_volt_gap_has_a_first_harmonic_of_fifty_four() {
        // 4 x 60 / π is 76.394 V at the peak.
        assert_abs_diff_eq!(first_harmonic_rms(60.0), 54.019, epsilon = 1e-3);
    }

    fn glowing(law: IndicatorLaw, brightness_by: BrightnessBy) -> Indicator {
        let (dim_from, lit_from) = (Band::exactly(40.0), Band::exactly(70.0));
        Indicator { law, brightness_by, dim_from, lit_from }
    }

    #[test]
    fn a_glow_lamp_pulled_below_its_strike_may_go_out_again() {
        let lamp = glowing(GLOW_LAMP_30K, BrightnessBy::Volt);
        // Far more than it leaks, so it has struck.
        let word =
            |volt: f64| lamp.glow(Some(Phasor::new(volt, 0.0)), Phasor::new(1e-4, 0.0)).word();
        // 62 V are 87.7 V at the peak, 64 V are 90.5 V: below and above a strike at 90 V.
        assert_eq!([62.0, 64.0].map(word), ["may light", "lit"]);
        // A resistance never flickers.
        let plain = IndicatorLaw::Resistance { resistance_ohm: 68e3 };
        let plain = glowing(plain, BrightnessBy::Volt);
        assert_eq!(plain.glow(Some(Phasor::new(72.0, 0.0)), Phasor::ZERO).word(), "lit");
    }

    #[test]
    fn a_lamp_by_peak_is_judged_by_its_peak_voltage_or_its_average_current() {
        let volt = Some(Phasor::new(0.0, 62.0));
        let decided = |by, ampere: f64| {
            glowing(GLOW_LAMP_30K, by).deciding_value(volt, Phasor::new(ampere, 0.0))
        };
        assert_abs_diff_eq!(decided(BrightnessBy::Volt, 1e-4), 87.681, epsilon = 1e-3);
        // Dark it carries what 1 gigohm leaks, which is no light at all, though 62 V lit would be.
        assert_abs_diff_eq!(decided(BrightnessBy::Ampere, 62e-9), 0.0);
        assert!(decided(BrightnessBy::Ampere, 1e-4) > 0.1e-3);
    }

    #[test]
    fn a_lamp_is_uncertain_where_the_voltage_that_lights_it_is_a_band() {
        let band = Band::between(60.0, 67.0);
        let with = |law: IndicatorLaw| match law {
            IndicatorLaw::Resistance { .. } => law,
            IndicatorLaw::Threshold { off_ohm, series_ohm, .. } => {
                IndicatorLaw::Threshold { threshold_volt: band, off_ohm, series_ohm }
            }
            IndicatorLaw::StrikeAndHold {
                hold_volt, maintain_volt, off_ohm, series_ohm, ..
            } => {
                let strike_volt = band;
                IndicatorLaw::StrikeAndHold {
                    strike_volt,
                    hold_volt,
                    maintain_volt,
                    off_ohm,
                    series_ohm,
                }
            }
            IndicatorLaw::Peak { maintain_peak_volt, off_ohm, series_ohm, .. } => {
                let strike_peak_volt = band;
                IndicatorLaw::Peak { strike_peak_volt, maintain_peak_volt, off_ohm, series_ohm }
            }
        };
        let plain = IndicatorLaw::Resistance { resistance_ohm: 68e3 };
        assert!(!plain.is_uncertain() && !with(plain).is_uncertain());
        for law in [SOLID_STATE, WITH_MEMORY, GLOW_LAMP_30K] {
            assert!(!law.is_uncertain() && with(law).is_uncertain(), "{law:?}");
        }
    }

    fn complaints(indicator: Indicator) -> Vec<String> {
        let mut check = Check::default();
        indicator.check(&mut check);
        check.into_bad().into_iter().map(|bad| bad.path).collect()
    }

    #[test]
    fn an_indicator_is_dim_no_later_than_it_is_lit_at_either_end() {
        let with = |dim_from, lit_from| {
            let law = IndicatorLaw::Resistance { resistance_ohm: 68e3 };
            complaints(Indicator { law, brightness_by: BrightnessBy::Volt, dim_from, lit_from })
        };
        let lit = Band::between(40.0, 50.0);
        assert!(with(lit, lit).is_empty(), "dim and lit may be one");
        assert_eq!(with(Band::between(45.0, 48.0), lit), ["dim_from"]);
        assert_eq!(with(Band::between(35.0, 60.0), lit), ["dim_from"]);
    }

    #[test]
    fn the_first_harmonic_of_a_glow_lamp_must_not_reach_its_strike() {
        // 4/π of 60 V are 76.4 V.
        let with = |strike: f64| {
            let law = IndicatorLaw::Peak {
                strike_peak_volt: Band::exactly(strike),
                maintain_peak_volt: 60.0,
                off_ohm: 1e9,
                series_ohm: 30e3,
            };
            complaints(glowing(law, BrightnessBy::Volt))
        };
        assert_eq!(with(75.0), ["law.maintain_peak_volt"]);
        assert!(with(78.0).is_empty());
    }
}
