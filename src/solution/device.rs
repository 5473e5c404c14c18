//! Nonlinear elements as one positive number each.
//!
//! Every nonlinear law is I = x c V with a fixed direction c (1, or conj(S)/|S| for constant
//! power) and a size x in siemens that settles at h(|V|, x):
//!
//! ```text
//! filament         x = 1 / R(|V|)
//! constant power   x = |S| / max(|V|, cut-out)²
//! lamp, lit        x = 1/r_off + (1 - threshold/|V|) / r_series
//! glowing joint    x = max(1/cold, |I|^(1+n) / (V₀ I₀ⁿ)),   |I| = x |V|
//! ```
//!
//! x never leaves [`Device::least`], [`Device::most`], so whatever is tried is a passive network
//! and has a solution.

use nalgebra::Complex;

use crate::netlist::{ElementId, Law, NodeId};

/// What an open element still conducts while states are searched, siemens: far below any
/// insulation, and only so that every element has a voltage to judge. The answer itself is
/// computed without it.
const OPEN_SIEMENS: f64 = 1e-15;

/// The ends of the range of x where a law sets none, as multiples of its rated value.
const RANGE: f64 = 1e9;

/// A nonlinear element between two nodes.
#[derive(Clone, Debug)]
pub(super) struct Device {
    pub(super) element: ElementId,
    pub(super) ends: (NodeId, NodeId),
    law: Law,
    /// c, of magnitude one.
    pub(super) direction: Complex<f64>,
    pub(super) least: f64,
    pub(super) most: f64,
}

/// The lit gap of a lamp.
struct Lamp {
    gap_volt: f64,
    series_ohm: f64,
}

/// Where a size x settles, and how that moves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Settling {
    /// h.
    pub(super) size: f64,
    /// ∂h/∂|V|.
    pub(super) by_voltage: f64,
    /// ∂h/∂x.
    pub(super) by_size: f64,
}

/// Which of its regimes a nonlinear element is in.
///
/// ```
/// use slotwise::solution::Regime;
/// assert_ne!(Regime::Dark, Regime::Lit);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Regime {
    /// A filament, which has only one.
    Single,
    /// Constant power at or above the cut-out voltage.
    Running,
    /// Constant power below the cut-out voltage.
    CutOut,
    /// A lamp that is not lit.
    Dark,
    /// A lamp that is lit.
    Lit,
    /// A lamp that strikes, cannot hold and strikes again; its figures are those of steady
    /// light.
    Flickering,
    /// A joint that behaves as a resistance.
    Cold,
    /// A joint that glows.
    Glowing,
}

impl Device {
    /// `None` for a linear law.
    pub(super) fn new(element: ElementId, ends: (NodeId, NodeId), law: &Law) -> Option<Self> {
        let mut direction = Complex::ONE;
        let (least, most) = match *law {
            Law::Filament { rated_watt, rated_volt, cold_fraction, .. } => {
                let rated = rated_watt / (rated_volt * rated_volt);
                (rated / RANGE, rated / cold_fraction.max(1.0 / RANGE))
            }
            Law::ConstantPower { active_watt, reactive_var, cut_out_volt } => {
                let power = libm::hypot(active_watt, reactive_var);
                if power > 0.0 {
                    direction = Complex::new(active_watt / power, -reactive_var / power);
                }
                let most = (power / (cut_out_volt * cut_out_volt)).max(OPEN_SIEMENS);
                ((most / RANGE).max(OPEN_SIEMENS), most)
            }
            Law::ThresholdLamp { off_ohm, series_ohm, .. }
            | Law::StrikeLamp { off_ohm, series_ohm, .. } => {
                let least = (1.0 / off_ohm).max(OPEN_SIEMENS);
                (least, least + 1.0 / series_ohm)
            }
            Law::GlowingJoint { cold_ohm, .. } => (1.0 / cold_ohm, RANGE / cold_ohm),
            Law::Impedance(_)
            | Law::Capacitor { .. }
            | Law::Source { .. }
            | Law::CurrentSource { .. }
            | Law::Open => return None,
        };
        Some(Self { element, ends, law: *law, direction, least, most })
    }

    /// Where it is started from: cold, dark, or on full voltage.
    pub(super) fn start(&self) -> f64 {
        match self.law {
            Law::Filament { rated_watt, rated_volt, .. } => rated_watt / (rated_volt * rated_volt),
            Law::ConstantPower { .. } => self.most * START_SHARE,
            _ => self.least,
        }
    }

    /// The other end of its range, from which a second state shows if there is one.
    pub(super) fn far_start(&self) -> f64 {
        match self.law {
            Law::GlowingJoint { .. } => self.least * GLOWING_START,
            _ => self.most,
        }
    }

    /// Whether it can have a second stable state where the first still holds.
    pub(super) fn is_bistable(&self) -> bool {
        matches!(
            self.law,
            Law::ConstantPower { .. } | Law::StrikeLamp { .. } | Law::GlowingJoint { .. }
        )
    }

    /// Whether its current only grows with the voltage, lit or dark.
    pub(super) fn is_lamp(&self) -> bool {
        matches!(self.law, Law::ThresholdLamp { .. } | Law::StrikeLamp { .. })
    }

    /// Whether it stays lit or dark until told.
    pub(super) fn has_memory(&self) -> bool {
        matches!(self.law, Law::StrikeLamp { .. })
    }

    /// How far a dark lamp is above the voltage that lights it, as a share of it; `None` below,
    /// and for what has no memory.
    pub(super) fn strikes(&self, voltage: f64) -> Option<f64> {
        match self.law {
            Law::StrikeLamp { strike_volt, .. } => {
                (voltage >= strike_volt).then(|| voltage / strike_volt)
            }
            _ => None,
        }
    }

    /// Whether a lit lamp goes out at a voltage.
    pub(super) fn goes_out(&self, voltage: f64) -> bool {
        matches!(self.law, Law::StrikeLamp { hold_volt, .. } if voltage < hold_volt)
    }

    /// h and its slopes at |V| = `voltage` and x = `size`; `lit` is the memory of a lamp, and
    /// `port_ohm` about the impedance it sees.
    pub(super) fn settling(&self, voltage: f64, size: f64, lit: bool, port_ohm: f64) -> Settling {
        let (h, by_voltage, by_size) = match self.law {
            Law::Filament { rated_watt, rated_volt, cold_fraction: c, exponent: k } => {
                // 1/R = (P/V²) / [c + (1 - c) r^k],  r = |V| / V₀
                let rated = rated_watt / (rated_volt * rated_volt);
                let rise = (1.0 - c) * libm::pow(voltage / rated_volt, k);
                let h = rated / (c + rise);
                (h, -h * k * rise / (c + rise) / voltage, 0.0)
            }
            Law::ConstantPower { active_watt, reactive_var, cut_out_volt } => {
                let power = libm::hypot(active_watt, reactive_var);
                if voltage >= cut_out_volt {
                    let h = power / (voltage * voltage);
                    (h, -2.0 * h / voltage, 0.0)
                } else {
                    (power / (cut_out_volt * cut_out_volt), 0.0, 0.0)
                }
            }
            Law::ThresholdLamp { threshold_volt, series_ohm, .. } => {
                let lamp = Lamp { gap_volt: threshold_volt, series_ohm };
                self.lamp(lamp, voltage, size, port_ohm)
            }
            Law::StrikeLamp { .. } if !lit => (self.least, 0.0, 0.0),
            Law::StrikeLamp { maintain_volt, series_ohm, .. } => {
                let lamp = Lamp { gap_volt: maintain_volt, series_ohm };
                self.lamp(lamp, voltage, size, port_ohm)
            }
            Law::GlowingJoint { reference_volt, reference_ampere, exponent, cold_ohm } => {
                // |I|/|V| on the falling branch |V| = V₀ (I₀/|I|)ⁿ
                let current = size * voltage;
                let h = current / reference_volt * libm::pow(current / reference_ampere, exponent);
                if h > 1.0 / cold_ohm {
                    (h, (1.0 + exponent) * h / voltage, (1.0 + exponent) * h / size)
                } else {
                    (1.0 / cold_ohm, 0.0, 0.0)
                }
            }
            Law::Impedance(_)
            | Law::Capacitor { .. }
            | Law::Source { .. }
            | Law::CurrentSource { .. }
            | Law::Open => (size, 0.0, 0.0),
        };
        if h > self.least && h < self.most {
            let by_voltage = if by_voltage.is_finite() { by_voltage } else { 0.0 };
            Settling { size: h, by_voltage, by_size }
        } else {
            // A voltage of zero may ask for more than the range holds, or for no number at all.
            let size = if h >= self.most { self.most } else { self.least };
            Settling { size, by_voltage: 0.0, by_size: 0.0 }
        }
    }

    /// A lamp on a port of impedance r: with w = |V| (1 + r x), what the port would show open,
    /// its own line |V'| + r I(|V'|) = w gives V', and h = I(V') / V'. The rest is the same as
    /// for h at |V|, but on one port it is found at once, where otherwise a high impedance and
    /// the threshold would throw x to and fro.
    fn lamp(&self, lamp: Lamp, voltage: f64, size: f64, port_ohm: f64) -> (f64, f64, f64) {
        let Lamp { gap_volt, series_ohm } = lamp;
        let open_volt = voltage * (1.0 + port_ohm * size);
        let lit_by_volt = 1.0 + port_ohm * (self.least + 1.0 / series_ohm);
        let lit_volt = (open_volt + port_ohm * gap_volt / series_ohm) / lit_by_volt;
        if lit_volt > gap_volt {
            let h = self.least + (1.0 - gap_volt / lit_volt) / series_ohm;
            let slope = gap_volt / (lit_volt * lit_volt) / series_ohm / lit_by_volt;
            (h, slope * (1.0 + port_ohm * size), slope * voltage * port_ohm)
        } else {
            (self.least, 0.0, 0.0)
        }
    }

    /// The admittance at size x; nothing where only [`OPEN_SIEMENS`] is left, as a rest finds it.
    pub(super) fn admittance(&self, size: f64) -> Complex<f64> {
        if size > 2.0 * OPEN_SIEMENS { self.direction * size } else { Complex::ZERO }
    }

    /// Whether a voltage within `margin` of `voltage` cannot change its regime.
    pub(super) fn keeps_regime(&self, voltage: f64, margin: f64) -> bool {
        match self.law {
            Law::ConstantPower { cut_out_volt, .. } => {
                voltage - margin > cut_out_volt || voltage + margin < cut_out_volt
            }
            // Dark, and not even a lit one would hold.
            Law::StrikeLamp { hold_volt, .. } => voltage + margin < hold_volt,
            _ => false,
        }
    }

    /// The regime at a voltage and a size.
    pub(super) fn regime(&self, voltage: f64, size: f64, lit: bool) -> Regime {
        match self.law {
            Law::ConstantPower { cut_out_volt, .. } => {
                if voltage >= cut_out_volt {
                    Regime::Running
                } else {
                    Regime::CutOut
                }
            }
            Law::ThresholdLamp { threshold_volt, .. } => {
                if voltage > threshold_volt {
                    Regime::Lit
                } else {
                    Regime::Dark
                }
            }
            Law::StrikeLamp { .. } => {
                if lit {
                    Regime::Lit
                } else {
                    Regime::Dark
                }
            }
            Law::GlowingJoint { .. } => {
                if size > self.least * GLOWING_FROM {
                    Regime::Glowing
                } else {
                    Regime::Cold
                }
            }
            _ => Regime::Single,
        }
    }
}

/// A constant-power load is started at this share of its admittance at cut-out, that is, on
/// about thirty times the cut-out voltage: it finds the highest voltage at which it can run.
const START_SHARE: f64 = 1e-3;

/// A joint glows from this multiple of its cold admittance on; less is what coming to rest leaves.
const GLOWING_FROM: f64 = 1.0 + 1e-6;

/// A joint is started glowing at this multiple of its cold admittance.
const GLOWING_START: f64 = 1e3;

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::Netlist;

    /// The step of a central difference and what it leaves of the digits.
    const STEP: f64 = 1e-5;
    const SLOPE_TOLERANCE: f64 = 1e-6;

    fn device(law: Law) -> Device {
        Device::new(ElementId(0), (Netlist::EARTH, Netlist::EARTH), &law).unwrap()
    }

    #[test]
    fn slopes_are_those_of_the_laws() {
        let laws = [
            Law::Filament {
                rated_watt: 60.0,
                rated_volt: 120.0,
                cold_fraction: 0.08,
                exponent: 0.6,
            },
            Law::ConstantPower { active_watt: 90.0, reactive_var: 20.0, cut_out_volt: 80.0 },
            Law::ThresholdLamp { threshold_volt: 60.0, off_ohm: 1e9, series_ohm: 68e3 },
            Law::GlowingJoint {
                reference_volt: 2.3,
                reference_ampere: 15.0,
                exponent: 0.34,
                cold_ohm: 20.0,
            },
        ];
        for law in laws {
            let device = device(law);
            let (v, x) = (95.0, 0.07);
            let h = |v: f64, x: f64| device.settling(v, x, true, 3e4).size;
            let at = device.settling(v, x, true, 3e4);
            let by_v = (h(v * (1.0 + STEP), x) - h(v * (1.0 - STEP), x)) / (2.0 * STEP * v);
            let by_x = (h(v, x * (1.0 + STEP)) - h(v, x * (1.0 - STEP))) / (2.0 * STEP * x);
            assert_relative_eq!(at.by_voltage, by_v, max_relative = SLOPE_TOLERANCE);
            assert_relative_eq!(at.by_size, by_x, max_relative = SLOPE_TOLERANCE);
        }
    }

    #[test]
    fn nothing_asks_for_more_than_its_range_at_zero_volts() {
        let cold_start = device(Law::Filament {
            rated_watt: 60.0,
            rated_volt: 120.0,
            cold_fraction: 0.0,
            exponent: 1.0,
        });
        let settling = cold_start.settling(0.0, 1.0, false, 1.0);
        assert!(settling.size <= cold_start.most && settling.by_voltage.abs() < f64::EPSILON);
    }

    fn neon() -> Device {
        device(Law::StrikeLamp {
            strike_volt: 80.0,
            maintain_volt: 45.0,
            hold_volt: 50.0,
            off_ohm: 1e9,
            series_ohm: 68e3,
        })
    }

    fn filament() -> Device {
        device(Law::Filament {
            rated_watt: 60.0,
            rated_volt: 120.0,
            cold_fraction: 0.08,
            exponent: 0.6,
        })
    }

    fn supply_unit() -> Device {
        device(Law::ConstantPower { active_watt: 90.0, reactive_var: 0.0, cut_out_volt: 80.0 })
    }

    #[test]
    fn a_gas_lamp_strikes_by_how_far_it_is_above_and_goes_out_below_what_holds_it() {
        let lamp = neon();
        assert!(lamp.is_lamp() && lamp.has_memory() && lamp.is_bistable());
        assert_eq!(lamp.strikes(79.9), None);
        assert_eq!((lamp.strikes(80.0), lamp.strikes(120.0)), (Some(1.0), Some(1.5)));
        assert!(lamp.goes_out(49.9) && !lamp.goes_out(50.0));
        let unit = supply_unit();
        assert!(!unit.is_lamp() && unit.is_bistable() && !unit.goes_out(1.0));
        let filament = filament();
        assert!(!filament.is_bistable() && !filament.is_lamp());
        assert_eq!(filament.strikes(500.0), None);
    }

    #[test]
    fn a_filament_on_its_rated_voltage_has_its_rated_power_and_cold_a_twelfth_of_the_ohms() {
        let filament = filament();
        let hot = 60.0 / (120.0 * 120.0);
        assert_relative_eq!(filament.start(), hot, max_relative = 1e-12);
        let siemens = |volt| filament.settling(volt, hot, false, 1.0).size;
        assert_relative_eq!(siemens(120.0), hot, max_relative = 1e-12);
        let at_half = hot / (0.08 + 0.92 * libm::pow(0.5, 0.6));
        assert_relative_eq!(siemens(60.0), at_half, max_relative = 1e-12);
    }

    #[test]
    fn a_supply_unit_is_started_within_its_range_and_stays_as_it_is_away_from_where_it_cuts_out() {
        let unit = supply_unit();
        assert_relative_eq!(unit.start(), unit.most * START_SHARE, max_relative = 1e-12);
        assert!(unit.keeps_regime(120.0, 30.0) && unit.keeps_regime(50.0, 25.0));
        for (volt, margin) in [(90.0, 15.0), (80.0, 0.0), (75.0, 10.0), (110.0, 30.0), (60.0, 20.0)]
        {
            assert!(!unit.keeps_regime(volt, margin), "{volt} V, {margin} V");
        }
        let lamp = neon();
        assert!(lamp.keeps_regime(30.0, 15.0) && !lamp.keeps_regime(30.0, 20.0));
        assert!(!lamp.keeps_regime(120.0, 1.0), "it may be lit or dark");
    }

    #[test]
    fn a_glowing_joint_is_started_cold_and_from_glowing() {
        let law = Law::GlowingJoint {
            reference_volt: 2.3,
            reference_ampere: 15.0,
            exponent: 0.34,
            cold_ohm: 20.0,
        };
        let joint = device(law);
        assert_relative_eq!(joint.start(), 0.05, max_relative = 1e-12);
        assert_relative_eq!(joint.far_start(), 0.05 * GLOWING_START, max_relative = 1e-12);
        let glows = |size| joint.regime(1.0, size, false) == Regime::Glowing;
        assert!(glows(0.06 * GLOWING_FROM) && !glows(0.04 * GLOWING_FROM));
        assert!(joint.is_bistable() && !joint.is_lamp());
    }
}
