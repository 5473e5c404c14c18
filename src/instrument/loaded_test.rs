//! The loaded test: what a stated load between two slots costs in volts, and where.

use serde::{Deserialize, Serialize};

use super::bench::{Bench, Port};
use super::check::Check;
use super::phasor_form;
use super::problem::MeasureProblem;
use crate::netlist::{Law, NodeId};
use crate::quantity::{Impedance, Phasor};

/// A tester that puts a load on for a few cycles.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::LoadedTest(test) = presets::loaded_test() else { panic!() };
/// assert!((120.0 / test.load.resistance_ohm - 15.0).abs() < 0.1);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LoadedTest {
    /// What it is called.
    pub name: String,
    /// The load it puts between the two slots.
    pub load: Impedance,
}

/// What a loaded test finds.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let bar = netlist.node(&Address::from("bar"));
/// # let emf_volt = Phasor::new(120.0, 0.0);
/// # netlist.add("supply", bar, Netlist::EARTH, Role::Winding,
/// #     Law::Source { emf_volt, impedance: Impedance::resistance(0.01) }).unwrap();
/// # for (name, ohm, from, to) in [("h", 0.3, "bar", "hot"), ("n", 0.2, "neutral", "earth")] {
/// #     let (a, b) = (netlist.node(&from.into()), netlist.node(&to.into()));
/// #     netlist.add(name, a, b, Role::Wire, Law::resistance(ohm)).unwrap();
/// # }
/// // 0.3 ohm in the hot conductor, 0.2 ohm in the neutral; the ground slot tells them apart.
/// let place = Place::slots([("hot", "hot"), ("neutral", "neutral"), ("ground", "earth")]);
/// # netlist.add("open", netlist.find_node(&"hot".into()).unwrap(),
/// #     netlist.find_node(&"neutral".into()).unwrap(), Role::Load, Law::resistance(1e6)).unwrap();
/// let readings = measure_netlist(&netlist, &[Request::new(presets::loaded_test(), place)]).unwrap();
/// let Shown::LoadedTest(shown) = &readings[0].shown else { panic!() };
/// assert!((shown.hot_share_ohm.unwrap().magnitude() - 0.31).abs() < 1e-3);
/// assert!((shown.neutral_share_ohm.unwrap().magnitude() - 0.20).abs() < 1e-3);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadedReading {
    /// Hot minus neutral before the load is put on, volts.
    #[serde(serialize_with = "phasor_form::optional")]
    pub unloaded_volt: Option<Phasor>,
    /// Hot minus neutral while it is on, volts.
    #[serde(serialize_with = "phasor_form::optional")]
    pub loaded_volt: Option<Phasor>,
    /// Current through the test load, amperes.
    #[serde(serialize_with = "phasor_form::full")]
    pub test_current_ampere: Phasor,
    /// |unloaded| - |loaded|, volts; what a display can show.
    pub drop_volt: Option<f64>,
    /// The drop in percent of |unloaded|. A verdict on it needs the length of the run.
    pub drop_percent: Option<f64>,
    /// Drop over |current|, ohms: what a display can show.
    pub apparent_ohm: Option<f64>,
    /// (unloaded - loaded) / current, ohms, as a phasor of resistance and reactance.
    #[serde(serialize_with = "phasor_form::optional")]
    pub true_ohm: Option<Phasor>,
    /// The part of it in the hot conductor, with the ground slot as reference; right as far as
    /// the ground carries no current.
    #[serde(serialize_with = "phasor_form::optional")]
    pub hot_share_ohm: Option<Phasor>,
    /// The part of it in the neutral conductor.
    #[serde(serialize_with = "phasor_form::optional")]
    pub neutral_share_ohm: Option<Phasor>,
}

impl LoadedTest {
    /// The voltages it looks at: hot to return, hot to reference, reference to return.
    pub(super) fn looks(
        &self,
        (hot, back): (NodeId, NodeId),
        reference: Option<NodeId>,
    ) -> Vec<Port> {
        let look = |from, to| Port { from, to, law: Law::Open };
        let mut ports = vec![look(hot, back)];
        if let Some(reference) = reference {
            ports.extend([look(hot, reference), look(reference, back)]);
        }
        ports
    }

    pub(super) fn read(
        &self,
        bench: &Bench<'_>,
        (hot, back): (NodeId, NodeId),
        reference: Option<NodeId>,
    ) -> Result<LoadedReading, MeasureProblem> {
        let mut ports = self.looks((hot, back), reference);
        let before = bench.attach_reached(&ports)?;
        if let Some(load) = ports.first_mut() {
            load.law = Law::Impedance(self.load);
        }
        let after = bench.attach_reached(&ports)?;
        let current = after.current(0);
        let (unloaded, loaded) = (before.voltage(0), after.voltage(0));
        let is_live = unloaded.is_some_and(|volt| volt.magnitude() > ROUNDING_VOLT);
        let lost = |port| {
            let drop = before.voltage(port)? - after.voltage(port)?;
            is_live.then(|| quotient(drop, current)).flatten()
        };
        let drop_volt =
            unloaded.zip(loaded).map(|(before, after)| before.magnitude() - after.magnitude());
        let per = |volt: f64, by: f64| (is_live && by > 0.0).then(|| volt / by);
        Ok(LoadedReading {
            unloaded_volt: unloaded,
            loaded_volt: loaded,
            test_current_ampere: current,
            drop_volt,
            drop_percent: drop_volt
                .zip(unloaded)
                .and_then(|(drop, unloaded)| per(100.0 * drop, unloaded.magnitude())),
            apparent_ohm: drop_volt.and_then(|drop| per(drop, current.magnitude())),
            true_ohm: lost(0),
            hot_share_ohm: reference.and_then(|_| lost(1)),
            neutral_share_ohm: reference.and_then(|_| lost(2)),
        })
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.inside("load", |check| {
            check.positive("resistance_ohm", self.load.resistance_ohm);
            let finite = self.load.reactance_ohm.is_finite();
            check.that("reactance_ohm", finite, "is no number of ohms");
        });
    }
}

/// What is below this is what rounding left of nothing, volts: there is no drop to divide.
const ROUNDING_VOLT: f64 = 1e-9;

/// a / b, `None` where b is nothing.
fn quotient(a: Phasor, b: Phasor) -> Option<Phasor> {
    let square = b.re * b.re + b.im * b.im;
    (square > 0.0).then(|| {
        Phasor::new((a.re * b.re + a.im * b.im) / square, (a.im * b.re - a.re * b.im) / square)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instrument::{Instrument, presets};

    #[test]
    fn a_load_without_ohms_is_no_loaded_test() {
        let complaints = |load: Impedance| {
            let Instrument::LoadedTest(mut test) = presets::loaded_test() else { panic!() };
            test.load = load;
            let mut check = Check::default();
            test.check(&mut check);
            check.into_bad().into_iter().map(|bad| bad.path).collect::<Vec<_>>()
        };
        assert!(complaints(Impedance::new(8.0, -1.0)).is_empty());
        assert_eq!(complaints(Impedance::resistance(0.0)), ["load.resistance_ohm"]);
        assert_eq!(complaints(Impedance::new(8.0, f64::NAN)), ["load.reactance_ohm"]);
    }
}
