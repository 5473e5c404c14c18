//! The residual current through a ground-fault device, and its own test button.

use serde::{Deserialize, Serialize};

use super::band::{Band, Standing};
use super::bench::{Bench, Port};
use super::check::Check;
use super::phasor_form;
use super::problem::MeasureProblem;
use crate::circuit::UnknownName;
use crate::netlist::{ElementId, Law, NodeId};
use crate::quantity::{Address, Phasor};
use crate::solution::Solution;

/// The sensor of a ground-fault device: the sum of the currents through its poles, from line to
/// load. How long it takes to trip is the business of protection.
///
/// ```
/// use slotwise::instrument::{presets, Instrument, Standing};
/// let Instrument::Residual(sensor) = presets::residual_sensor_class_a() else { panic!() };
/// assert_eq!(sensor.trip_ampere.standing(5e-3), Standing::Inside);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Residual {
    /// What it is called.
    pub name: String,
    /// Residual current that trips, amperes rms.
    pub trip_ampere: Band,
}

/// The button of a ground-fault device itself: a resistance from the load side of its hot
/// pole to the line side of its neutral pole, outside the sensor. It needs no ground.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::TestButton(button) = presets::own_test_button() else { panic!() };
/// assert!(button.resistance_ohm < 20e3);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TestButton {
    /// What it is called.
    pub name: String,
    /// Resistance of the test circuit, ohms.
    pub resistance_ohm: f64,
    /// Residual current that trips the device, amperes rms.
    pub trip_ampere: Band,
}

/// What a residual sensor sees.
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
/// # netlist.add("leak", hot, Netlist::EARTH, Role::Leakage, Law::resistance(15e3)).unwrap();
/// let around = vec![Through { element: "leak".into(), sign: 1.0 }];
/// let request =
///     Request::new(presets::residual_sensor_class_a(), Place::Around { conductors: around });
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let Shown::Residual(shown) = &readings[0].shown else { panic!() };
/// assert_eq!((shown.trips, shown.state), (Some(true), "trips"));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ResidualReading {
    /// Sum of the currents through the poles from line to load, amperes.
    #[serde(serialize_with = "phasor_form::full")]
    pub residual_ampere: Phasor,
    /// `None` inside the band of its threshold.
    pub trips: Option<bool>,
    /// `trips`, `does not trip` or `may trip`.
    pub state: &'static str,
    /// Current through the test circuit while its button is pressed, amperes.
    #[serde(serialize_with = "phasor_form::optional")]
    pub button_ampere: Option<Phasor>,
}

/// The poles of a protective device D of a netlist: elements `switch:D.P` from `D.line.P`.
pub(super) struct Poles {
    pub(super) elements: Vec<ElementId>,
    hot_load_side: NodeId,
    return_line_side: NodeId,
}

impl Poles {
    pub(super) fn find(bench: &Bench<'_>, device: &str) -> Result<Self, MeasureProblem> {
        let netlist = bench.netlist();
        let prefix = format!("switch:{device}.");
        let mut poles = Vec::new();
        for element in netlist.elements() {
            let Some(pole) = netlist.element(element).id.strip_prefix(&prefix) else { continue };
            let line = Address::from(format!("{device}.line.{pole}"));
            let load = Address::from(format!("{device}.load.{pole}"));
            if let (Some(line), Some(load)) = (netlist.find_node(&line), netlist.find_node(&load)) {
                poles.push((pole.to_ascii_lowercase(), element, line, load));
            }
        }
        let is_neutral = |pole: &str| pole == "neutral" || pole == "n";
        let hot = poles.iter().find(|(pole, ..)| !is_neutral(pole));
        let back = poles
            .iter()
            .find(|(pole, ..)| is_neutral(pole))
            .or_else(|| poles.iter().rev().find(|(pole, ..)| !is_neutral(pole)));
        match (hot, back) {
            (Some(hot), Some(back)) if hot.1 != back.1 => Ok(Self {
                hot_load_side: hot.3,
                return_line_side: back.2,
                elements: poles.iter().map(|&(_, element, ..)| element).collect(),
            }),
            _ => Err(MeasureProblem::Unknown(UnknownName::among(
                device,
                "a ground-fault device",
                devices(bench).iter().map(String::as_str),
            ))),
        }
    }

    pub(super) fn residual(&self, solution: &Solution) -> Phasor {
        self.elements.iter().fold(Phasor::ZERO, |sum, &pole| sum + solution.current(pole))
    }
}

/// Names of what looks like a protective device.
fn devices(bench: &Bench<'_>) -> Vec<String> {
    let netlist = bench.netlist();
    let named = |element| {
        let rest = netlist.element(element).id.strip_prefix("switch:")?;
        let (device, pole) = rest.rsplit_once('.')?;
        netlist.find_node(&Address::from(format!("{device}.line.{pole}")))?;
        Some(device.to_owned())
    };
    netlist.elements().filter_map(named).collect()
}

impl Residual {
    pub(super) fn read(&self, residual_ampere: Phasor) -> ResidualReading {
        reading(self.trip_ampere, residual_ampere, None)
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.band("trip_ampere", self.trip_ampere);
    }
}

impl TestButton {
    /// Its resistance, from the load side of the hot pole past the sensor.
    pub(super) fn port(&self, poles: &Poles) -> Port {
        let law = Law::resistance(self.resistance_ohm);
        Port { from: poles.hot_load_side, to: poles.return_line_side, law }
    }

    /// The residual current while the button is pressed, before anything trips.
    pub(super) fn press(
        &self,
        bench: &Bench<'_>,
        device: &str,
    ) -> Result<ResidualReading, MeasureProblem> {
        let poles = Poles::find(bench, device)?;
        let (solution, elements) = bench.solve_with(&[self.port(&poles)])?;
        let through = elements.first().map(|&button| solution.current(button));
        Ok(reading(self.trip_ampere, poles.residual(&solution), through))
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.positive("resistance_ohm", self.resistance_ohm);
        check.band("trip_ampere", self.trip_ampere);
    }
}

fn reading(trip: Band, residual_ampere: Phasor, button: Option<Phasor>) -> ResidualReading {
    let (trips, state) = match trip.standing(residual_ampere.magnitude()) {
        Standing::Reached => (Some(true), "trips"),
        Standing::Inside => (None, "may trip"),
        Standing::Below => (Some(false), "does not trip"),
    };
    ResidualReading { residual_ampere, trips, state, button_ampere: button }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::netlist::{Netlist, Role};
    use crate::quantity::Impedance;
    use crate::solution::solve;

    /// Milliamperes are what is left of amperes.
    const LEFT_OF_AMPERES: f64 = 1e-6;

    /// A device with these poles, each a milliohm, its neutral grounded on the line side.
    fn device(poles: &[&str]) -> Netlist {
        let mut netlist = Netlist::new(60.0);
        for pole in poles {
            let [line, load] = ["line", "load"]
                .map(|side| netlist.node(&Address::from(format!("gf.{side}.{pole}"))));
            let id = format!("switch:gf.{pole}");
            netlist.add(id, line, load, Role::Switch, Law::resistance(1e-3)).unwrap();
        }
        netlist
    }

    fn node(netlist: &mut Netlist, name: &str) -> NodeId {
        netlist.node(&Address::from(name))
    }

    fn sides(netlist: &Netlist) -> Option<(String, String)> {
        let found = Poles::find(&Bench::new(netlist), "gf").ok()?;
        let name = |node| netlist.address(node).to_string();
        Some((name(found.hot_load_side), name(found.return_line_side)))
    }

    #[test]
    fn the_button_goes_from_the_hot_pole_to_the_neutral_whatever_they_are_called() {
        for (poles, from, to) in [
            (["hot", "neutral"], "gf.load.hot", "gf.line.neutral"),
            (["neutral", "hot"], "gf.load.hot", "gf.line.neutral"),
            (["N", "L"], "gf.load.L", "gf.line.N"),
            // Two legs and no neutral: from one to the other.
            (["hot", "hot2"], "gf.load.hot", "gf.line.hot2"),
        ] {
            let found = sides(&device(&poles));
            assert_eq!(found, Some((from.to_owned(), to.to_owned())), "{poles:?}");
        }
    }

    #[test]
    fn of_two_legs_the_last_is_the_way_back() {
        let found = sides(&device(&["hot", "hot2", "hot3"]));
        assert_eq!(found, Some(("gf.load.hot".to_owned(), "gf.line.hot3".to_owned())));
    }

    #[test]
    fn with_one_pole_it_is_no_ground_fault_device() {
        assert_eq!(sides(&device(&["hot"])), None);
        assert_eq!(sides(&device(&["neutral"])), None);
    }

    #[test]
    fn what_leaks_behind_the_device_is_what_goes_out_and_does_not_come_back() {
        let mut netlist = device(&["hot", "neutral"]);
        let [line, back, hot, neutral] =
            ["gf.line.hot", "gf.line.neutral", "gf.load.hot", "gf.load.neutral"]
                .map(|name| node(&mut netlist, name));
        let emf_volt = Phasor::new(120.0, 0.0);
        let source = Law::Source { emf_volt, impedance: Impedance::resistance(0.0) };
        let mut add = |id: &str, a, b, law| netlist.add(id, a, b, Role::Lumped, law).unwrap();
        add("supply", line, Netlist::EARTH, source);
        add("neutral wire", back, Netlist::EARTH, Law::resistance(0.0));
        add("load", hot, neutral, Law::resistance(12.0));
        add("leak", hot, Netlist::EARTH, Law::resistance(24e3));
        let poles = Poles::find(&Bench::new(&netlist), "gf").unwrap();
        let solution = solve(&netlist).unwrap();
        // 120 V less the drop of 10 A in a milliohm, over 24 kilohms.
        let leaks = solution.current(netlist.find_element("leak").unwrap());
        assert_relative_eq!(leaks.re, 5e-3, max_relative = 1e-3);
        assert_relative_eq!(poles.residual(&solution).re, leaks.re, max_relative = LEFT_OF_AMPERES);
    }
}
