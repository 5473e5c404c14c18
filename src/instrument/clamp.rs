//! Clamp meters: the sum of the currents that pass through a jaw.

use serde::{Deserialize, Serialize};

use super::bench::Bench;
use super::check::Check;
use super::display::{Display, Displayed};
use super::phasor_form;
use super::place::Through;
use super::problem::MeasureProblem;
use crate::netlist::first_piece;
use crate::quantity::Phasor;
use crate::solution::Solution;

/// A clamp meter.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::Clamp(clamp) = presets::leakage_clamp() else { panic!() };
/// assert!(clamp.display.ranges[0].resolution < 1e-3);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clamp {
    /// What it is called.
    pub name: String,
    /// What it shows.
    pub display: Display,
}

/// What a clamp meter shows.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request, Shown, Through};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("hot"));
/// # let emf_volt = Phasor::new(120.0, 0.0);
/// # let impedance = Impedance::resistance(0.1);
/// # netlist.add("supply", hot, Netlist::EARTH, Role::Winding, Law::Source { emf_volt, impedance }).unwrap();
/// # netlist.add("kettle", hot, Netlist::EARTH, Role::Load, Law::resistance(9.9)).unwrap();
/// let around = vec![Through { element: "kettle".into(), sign: 1.0 }];
/// let place = Place::Around { conductors: around };
/// let readings = measure_netlist(&netlist, &[Request::new(presets::clamp_meter(), place)]).unwrap();
/// let Shown::Clamp(shown) = &readings[0].shown else { panic!() };
/// assert_eq!(shown.display.text, "12.0 A");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClampReading {
    /// Sum of the currents through the jaw, amperes.
    #[serde(serialize_with = "phasor_form::full")]
    pub current_ampere: Phasor,
    /// What the display shows of the magnitude.
    pub display: Displayed,
}

impl Clamp {
    pub(super) fn around(&self, current_ampere: Phasor) -> ClampReading {
        ClampReading { current_ampere, display: self.display.show(current_ampere.magnitude()) }
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.inside("display", |check| self.display.check(check));
    }
}

/// Signed sum of the currents of elements in a jaw.
pub(super) fn through_jaw(
    bench: &Bench<'_>,
    solution: &Solution,
    conductors: &[Through],
) -> Result<Phasor, MeasureProblem> {
    conductors.iter().try_fold(Phasor::ZERO, |sum, through| {
        // A cable that is parted along its way is in the jaw before that.
        let element = bench
            .element(&through.element)
            .or_else(|unknown| bench.element(&first_piece(&through.element)).map_err(|_| unknown));
        let current = solution.current(element?);
        Ok(sum + Phasor::new(current.re * through.sign, current.im * through.sign))
    })
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{Law, Netlist, Role};
    use crate::quantity::{Address, Impedance};

    /// A few divisions and sums of exact figures.
    const ROUNDING: f64 = 1e-9;

    #[test]
    fn a_conductor_wound_twice_through_the_jaw_counts_twice() {
        // 120 V on 12 + j16 ohms: 120 / 20 = 6 A, 0.6 of it in phase and 0.8 behind.
        let mut netlist = Netlist::new(60.0);
        let hot = netlist.node(&Address::from("hot"));
        let emf_volt = Phasor::new(120.0, 0.0);
        let source = Law::Source { emf_volt, impedance: Impedance::resistance(0.0) };
        netlist.add("supply", hot, Netlist::EARTH, Role::Winding, source).unwrap();
        let load = Law::Impedance(Impedance::new(12.0, 16.0));
        netlist.add("load", hot, Netlist::EARTH, Role::Load, load).unwrap();
        let bench = Bench::new(&netlist);
        let solution = crate::solution::solve(&netlist).unwrap();
        for turns in [1.0, -1.0, 2.0] {
            let wound = [Through { element: "load".to_owned(), sign: turns }];
            let seen = through_jaw(&bench, &solution, &wound).unwrap();
            assert_relative_eq!(seen.re, 3.6 * turns, max_relative = ROUNDING);
            assert_relative_eq!(seen.im, -4.8 * turns, max_relative = ROUNDING);
        }
    }
}
