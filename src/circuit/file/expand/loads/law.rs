//! What a load is: its law and the figures of it.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::expand::Expansion;
use crate::circuit::file::expand::amount::{
    COLD_FRACTION, EXPONENT, LOCKED_RATIO, MICROFARADS, OHMS, PILOT_OHMS, POWER_FACTOR,
    REACTANCE_OHMS, VOLTS, WATTS,
};
use crate::circuit::file::form::{LoadKindForm, Number, Text};
use crate::circuit::{LoadKind, RangeOf};
use crate::quantity::Impedance;

/// What a load's law needs to know besides its own form.
pub(crate) struct Rated<'p> {
    /// Its name.
    pub(crate) id: &'p Text,
    /// Volts of the supply where it lies, if that is clear.
    pub(crate) volts: Option<f64>,
    /// Between which watts its power lies.
    pub(crate) watts_between: Option<&'p (Number, Number)>,
}

/// Filament: R follows V^0.45, cold resistance 1/14.
const FILAMENT_EXPONENT: f64 = 0.45;

const FILAMENT_COLD_FRACTION: f64 = 1.0 / 14.0;

/// Electronics hold their power down to about 0.7 of rated volts.
const CUT_OUT_SHARE: f64 = 0.7;

/// Small single-phase motors: 0.5 to 0.75 running, 0.4 to 0.6 and 5 to 7 times the current
/// with the rotor locked.
const MOTOR_POWER_FACTOR: f64 = 0.65;

const LOCKED_ROTOR_POWER_FACTOR: f64 = 0.5;

const LOCKED_ROTOR_RATIO: f64 = 6.0;

/// The limit for standby of household electronics in most countries.
const STANDBY_WATT: f64 = 0.5;

fn constant_power(active_watt: f64, power_factor: f64, cut_out_volt: f64) -> LoadKind {
    let reactive_var = active_watt * tangent(power_factor);
    LoadKind::ConstantPower { active_watt, reactive_var, cut_out_volt }
}

fn tangent(power_factor: f64) -> f64 {
    (1.0 - power_factor * power_factor).max(0.0).sqrt() / power_factor
}

fn at_power_factor(magnitude_ohm: f64, power_factor: f64) -> Impedance {
    let sine = (1.0 - power_factor * power_factor).max(0.0).sqrt();
    Impedance::new(magnitude_ohm * power_factor, magnitude_ohm * sine)
}

impl Expansion<'_> {
    /// The law of a load or of a lumped part that is like one.
    pub(crate) fn load_kind(&mut self, kind: &LoadKindForm, part: &Rated<'_>) -> LoadKind {
        match kind {
            LoadKindForm::Resistive { watts, volts } => LoadKind::Resistive {
                rated_watt: self.watts(part, watts.as_ref(), None),
                rated_volt: self.rated_volts(part, volts.as_ref()),
            },
            LoadKindForm::Filament { watts, volts, cold_fraction, exponent } => {
                let cold = cold_fraction.as_ref();
                LoadKind::Filament {
                    rated_watt: self.watts(part, watts.as_ref(), None),
                    rated_volt: self.rated_volts(part, volts.as_ref()),
                    cold_fraction: self.amount_or(cold, FILAMENT_COLD_FRACTION, COLD_FRACTION),
                    exponent: self.amount_or(exponent.as_ref(), FILAMENT_EXPONENT, EXPONENT),
                }
            }
            LoadKindForm::Motor { .. } => self.motor(kind, part),
            LoadKindForm::Electronics { watts, volts, power_factor, cut_out_volts }
            | LoadKindForm::Led { watts, volts, power_factor, cut_out_volts } => {
                let power_factor = self.amount_or(power_factor.as_ref(), 1.0, POWER_FACTOR);
                let watt = self.watts(part, watts.as_ref(), None);
                let cut_out_volt = self.cut_out(part, volts.as_ref(), cut_out_volts.as_ref());
                constant_power(watt, power_factor, cut_out_volt)
            }
            LoadKindForm::Standby { watts, cut_out_volts } => {
                let watt = self.watts(part, watts.as_ref(), Some(STANDBY_WATT));
                let cut_out_volt = self.cut_out(part, None, cut_out_volts.as_ref());
                constant_power(watt, 1.0, cut_out_volt)
            }
            LoadKindForm::PilotLamp { threshold_volts, series_ohms, off_ohms } => {
                LoadKind::PilotLamp {
                    threshold_volt: self.amount(threshold_volts, VOLTS),
                    series_ohm: self.amount(series_ohms, PILOT_OHMS),
                    off_ohm: self.amount_or(off_ohms.as_ref(), f64::INFINITY, PILOT_OHMS),
                }
            }
            LoadKindForm::Impedance { ohms, reactance_ohms } => {
                LoadKind::Impedance(Impedance::new(
                    self.amount(ohms, OHMS),
                    self.amount_or(reactance_ohms.as_ref(), 0.0, REACTANCE_OHMS),
                ))
            }
            LoadKindForm::Capacitor { microfarads } => LoadKind::Capacitor {
                capacitance_farad: self.amount(microfarads, MICROFARADS) * 1e-6,
            },
        }
    }

    /// Watts of a load: stated, or the middle of its range.
    fn watts(&mut self, part: &Rated<'_>, stated: Option<&Number>, usual: Option<f64>) -> f64 {
        if let Some(between) = part.watts_between {
            let (low, high) = self.range_of(between, WATTS);
            self.range(RangeOf::LoadWatt(part.id.value.clone()), low, high);
            let middle = f64::midpoint(low, high);
            return self.amount_or(stated, middle, WATTS);
        }
        match (stated, usual) {
            (Some(number), _) => self.amount(number, WATTS),
            (None, Some(usual)) => usual,
            (None, None) => {
                self.say_missing(
                    Diagnostic::error(
                        "no-watts",
                        format!("the power of load `{}` is not stated", part.id.value),
                        part.id.span.clone(),
                    )
                    .with_expected("`watts: 1500` in its kind, or `watts_between: (40, 100)`"),
                );
                100.0
            }
        }
    }

    /// Rated volts of a load: stated, or those of the supply where it lies.
    fn rated_volts(&mut self, part: &Rated<'_>, stated: Option<&Number>) -> f64 {
        match (stated, part.volts) {
            (Some(number), _) => self.amount(number, VOLTS),
            (None, Some(volts)) => volts,
            (None, None) => {
                self.say_missing(
                    Diagnostic::error(
                        "no-volts",
                        format!("where `{}` lies there are no volts to rate it for", part.id.value),
                        part.id.span.clone(),
                    )
                    .with_expected("`volts: 120` in its kind"),
                );
                120.0
            }
        }
    }

    /// Volts below which electronics cut out: stated, or a share of the rated ones.
    fn cut_out(
        &mut self,
        part: &Rated<'_>,
        rated: Option<&Number>,
        stated: Option<&Number>,
    ) -> f64 {
        match stated {
            Some(number) => self.amount(number, VOLTS),
            None => CUT_OUT_SHARE * self.rated_volts(part, rated),
        }
    }

    /// Running: |Z| = V² pf / P at the angle of the power factor; locked: |Z| divided by the
    /// ratio of the currents, at its own angle.
    fn motor(&mut self, kind: &LoadKindForm, part: &Rated<'_>) -> LoadKind {
        let LoadKindForm::Motor {
            watts,
            volts,
            power_factor,
            locked_rotor_ratio,
            locked_rotor_power_factor,
        } = kind
        else {
            return LoadKind::Impedance(Impedance::resistance(1.0));
        };
        let watt = self.watts(part, watts.as_ref(), None);
        let volt = self.rated_volts(part, volts.as_ref());
        let running_pf = self.amount_or(power_factor.as_ref(), MOTOR_POWER_FACTOR, POWER_FACTOR);
        let locked_pf = self.amount_or(
            locked_rotor_power_factor.as_ref(),
            LOCKED_ROTOR_POWER_FACTOR,
            POWER_FACTOR,
        );
        let ratio = self.amount_or(locked_rotor_ratio.as_ref(), LOCKED_ROTOR_RATIO, LOCKED_RATIO);
        let magnitude = volt * volt * running_pf / watt;
        LoadKind::Motor {
            running: at_power_factor(magnitude, running_pf),
            locked_rotor: at_power_factor(magnitude / ratio, locked_pf),
        }
    }
}
