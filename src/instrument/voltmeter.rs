//! Voltmeters: a burden between two probes and a display.

use serde::{Deserialize, Serialize};

use super::bench::{Attached, Bench, Port};
use super::check::Check;
use super::display::{Display, Displayed};
use super::phasor_form;
use super::problem::MeasureProblem;
use crate::netlist::{Law, NodeId};
use crate::quantity::Phasor;

/// A voltmeter for alternating voltage.
///
/// ```
/// use slotwise::instrument::{presets, Burden, Instrument};
/// let Instrument::Voltmeter(mut meter) = presets::voltmeter_high_impedance() else { panic!() };
/// meter.burden = Burden::Parallel { resistance_ohm: 1e6, capacitance_farad: 100e-12 };
/// assert_eq!(meter.name, "high-impedance voltmeter");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Voltmeter {
    /// What it is called.
    pub name: String,
    /// What it puts between its probes.
    pub burden: Burden,
    /// What the burden becomes while the meter is held on, if it rises.
    #[serde(default)]
    pub rise: Option<BurdenRise>,
    /// What it shows.
    pub display: Display,
}

/// What a voltmeter puts between its probes.
///
/// ```
/// use slotwise::instrument::Burden;
/// // A needle of 5000 ohms per volt on its 250 V range.
/// let needle = Burden::OhmPerVolt { ohm_per_volt: 5e3, range_volt: 250.0 };
/// assert_eq!(needle.resistance_ohm(), Some(1.25e6));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Burden {
    /// Nothing: an ideal meter.
    Ideal,
    /// A resistance with a capacitance beside it.
    Parallel {
        /// Ohms.
        resistance_ohm: f64,
        /// Farads; zero for none.
        #[serde(default)]
        capacitance_farad: f64,
    },
    /// A needle whose resistance goes with its range.
    OhmPerVolt {
        /// Ohms per volt of full scale.
        ohm_per_volt: f64,
        /// Full scale of the range in use, volts.
        range_volt: f64,
    },
}

/// A burden that rises while voltage is on it, as a self-heating resistor does.
///
/// ```
/// use slotwise::instrument::BurdenRise;
/// let rise = BurdenRise { above_volt: 30.0, settled_ohm: 100e3, after_s: 5.0 };
/// assert!(rise.settled_ohm > 3e3);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BurdenRise {
    /// It rises where the first reading is above this, volts rms.
    pub above_volt: f64,
    /// What the resistance becomes, ohms.
    pub settled_ohm: f64,
    /// After about how long, seconds.
    pub after_s: f64,
}

/// What a voltmeter shows.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("hot"));
/// # let emf_volt = Phasor::new(120.0, 0.0);
/// # let impedance = Impedance::resistance(0.1);
/// # netlist.add("supply", hot, Netlist::EARTH, Role::Winding, Law::Source { emf_volt, impedance }).unwrap();
/// let place = Place::between("hot", "earth");
/// let request = Request::new(presets::voltmeter_low_impedance(), place);
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let Shown::Voltmeter(shown) = &readings[0].shown else { panic!() };
/// assert_eq!(shown.display.as_ref().unwrap().text, "120.0 V");
/// assert!((shown.meter_current_ampere.magnitude() - 0.04).abs() < 1e-5);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VoltmeterReading {
    /// First probe minus second, volts; `None` when undetermined, which only an ideal meter is.
    #[serde(serialize_with = "phasor_form::optional")]
    pub voltage_volt: Option<Phasor>,
    /// Current through the meter, amperes.
    #[serde(serialize_with = "phasor_form::full")]
    pub meter_current_ampere: Phasor,
    /// What the display shows of the magnitude.
    pub display: Option<Displayed>,
    /// What it shows when its burden has risen.
    pub settled: Option<SettledReading>,
}

/// What a meter of rising burden shows after a while.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::Voltmeter(meter) = presets::voltmeter_low_impedance_rising() else { panic!() };
/// assert!(meter.rise.is_some());
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SettledReading {
    /// First probe minus second, volts.
    #[serde(serialize_with = "phasor_form::optional")]
    pub voltage_volt: Option<Phasor>,
    /// What the display shows of the magnitude.
    pub display: Option<Displayed>,
    /// After about how long, seconds.
    pub after_s: f64,
}

impl Burden {
    /// Its resistance in ohms; `None` for an ideal meter.
    pub fn resistance_ohm(&self) -> Option<f64> {
        match *self {
            Self::Ideal => None,
            Self::Parallel { resistance_ohm, .. } => Some(resistance_ohm),
            Self::OhmPerVolt { ohm_per_volt, range_volt } => Some(ohm_per_volt * range_volt),
        }
    }

    /// The burden as inputs between two terminals; the first carries the reading.
    pub(super) fn ports(&self, from: NodeId, to: NodeId) -> Vec<Port> {
        let Some(resistance_ohm) = self.resistance_ohm() else {
            return vec![Port { from, to, law: Law::Open }];
        };
        let mut ports = vec![Port { from, to, law: Law::resistance(resistance_ohm) }];
        if let Self::Parallel { capacitance_farad, .. } = *self
            && capacitance_farad > 0.0
        {
            ports.push(Port { from, to, law: Law::Capacitor { capacitance_farad } });
        }
        ports
    }

    fn check(&self, check: &mut Check) {
        match *self {
            Self::Ideal => {}
            Self::Parallel { resistance_ohm, capacitance_farad } => {
                check.positive("resistance_ohm", resistance_ohm);
                check.not_negative("capacitance_farad", capacitance_farad);
                check.that_with("capacitance_farad", capacitance_farad < 1e-3, || {
                    format!("is {capacitance_farad}; 100 picofarads are 100e-12")
                });
            }
            Self::OhmPerVolt { ohm_per_volt, range_volt } => {
                check.positive("ohm_per_volt", ohm_per_volt);
                check.positive("range_volt", range_volt);
            }
        }
    }
}

impl Voltmeter {
    pub(super) fn ports(&self, from: NodeId, to: NodeId) -> Vec<Port> {
        self.burden.ports(from, to)
    }

    /// What it shows when its inputs are numbers `first..first + n` of what is attached.
    pub(super) fn read(&self, attached: &Attached, first: usize, n: usize) -> VoltmeterReading {
        let voltage = attached.voltage(first);
        let current = (first..first + n)
            .map(|port| attached.current(port))
            .fold(Phasor::ZERO, |sum, current| sum + current);
        VoltmeterReading {
            voltage_volt: voltage,
            meter_current_ampere: current,
            display: self.shown(voltage),
            settled: None,
        }
    }

    /// What it shows after its burden has risen, if it does.
    pub(super) fn settle(
        &self,
        bench: &Bench<'_>,
        (from, to): (NodeId, NodeId),
        first: &VoltmeterReading,
    ) -> Result<Option<SettledReading>, MeasureProblem> {
        let Some(rise) = self.rise else { return Ok(None) };
        if first.voltage_volt.map_or(0.0, Phasor::magnitude) <= rise.above_volt {
            return Ok(None);
        }
        let settled = Burden::Parallel { resistance_ohm: rise.settled_ohm, capacitance_farad: 0.0 };
        let voltage = bench.attach_reached(&settled.ports(from, to))?.voltage(0);
        Ok(Some(SettledReading {
            voltage_volt: voltage,
            display: self.shown(voltage),
            after_s: rise.after_s,
        }))
    }

    fn shown(&self, voltage: Option<Phasor>) -> Option<Displayed> {
        voltage.map(|voltage| self.display.show(voltage.magnitude()))
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.inside("burden", |check| self.burden.check(check));
        if let Some(rise) = self.rise {
            check.inside("rise", |check| {
                check.not_negative("above_volt", rise.above_volt);
                check.positive("settled_ohm", rise.settled_ohm);
                check.not_negative("after_s", rise.after_s);
            });
        }
        check.inside("display", |check| self.display.check(check));
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::instrument::{Instrument, Place, Request, Shown, measure_netlist, presets};
    use crate::netlist::{Netlist, Role};
    use crate::quantity::{Address, Impedance};

    /// Dividers of exact figures.
    const ROUNDING: f64 = 1e-9;

    /// A meter at the end of some resistance from 120 V.
    fn behind(ohm: f64, meter: Instrument) -> VoltmeterReading {
        let mut netlist = Netlist::new(60.0);
        let hot = netlist.node(&Address::from("hot"));
        let emf_volt = Phasor::new(120.0, 0.0);
        let source = Law::Source { emf_volt, impedance: Impedance::resistance(ohm) };
        netlist.add("supply", hot, Netlist::EARTH, Role::Winding, source).unwrap();
        let request = Request::new(meter, Place::between("hot", "earth"));
        match measure_netlist(&netlist, &[request]).unwrap().remove(0).shown {
            Shown::Voltmeter(shown) => shown,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_needle_loads_by_its_range_and_not_by_what_it_reads() {
        let needle = Burden::OhmPerVolt { ohm_per_volt: 5e3, range_volt: 250.0 };
        assert_relative_eq!(needle.resistance_ohm().unwrap(), 1.25e6, max_relative = ROUNDING);
        // 1.25 megohms behind 250 kilohms keep five sixths of 120 V.
        let shown = behind(250e3, presets::voltmeter_needle());
        assert_relative_eq!(shown.voltage_volt.unwrap().re, 100.0, max_relative = ROUNDING);
    }

    #[test]
    fn a_burden_that_heats_up_lets_the_reading_rise_where_it_gets_warm_at_all() {
        // Cold it is 3 kilohms: behind 1 kilohm 90 V, behind 10 kilohms 27.7 V, below 50 V.
        let warm = behind(1e3, presets::voltmeter_low_impedance_rising());
        assert_relative_eq!(warm.voltage_volt.unwrap().re, 90.0, max_relative = ROUNDING);
        let settled = warm.settled.unwrap();
        let expected = 120.0 * 100.0 / 101.0;
        assert_relative_eq!(settled.voltage_volt.unwrap().re, expected, max_relative = ROUNDING);
        assert_relative_eq!(settled.after_s, 5.0);
        assert_eq!(behind(10e3, presets::voltmeter_low_impedance_rising()).settled, None);
        assert_eq!(behind(1e3, presets::voltmeter_low_impedance()).settled, None);
    }
}
