//! Testers that show steps of voltage: solenoid testers and two-pole detectors.

use serde::{Deserialize, Serialize};

use super::band::{Band, Standing};
use super::bench::{Attached, Port};
use super::check::Check;
use super::phasor_form;
use crate::netlist::{Law, NodeId};
use crate::quantity::{Impedance, Phasor};

/// A two-probe tester that shows which of a few voltages it has reached.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::StepTester(solenoid) = presets::solenoid_tester() else { panic!() };
/// assert!(solenoid.resistance_ohm > 5e3 && solenoid.inductance_henry > 0.0);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepTester {
    /// What it is called.
    pub name: String,
    /// Its resistance, ohms.
    pub resistance_ohm: f64,
    /// Inductance of its coil in series, henries; zero for none.
    #[serde(default)]
    pub inductance_henry: f64,
    /// Its steps, lowest first; the lowest is where it shows anything at all.
    pub steps: Vec<Step>,
}

/// A step of a [`StepTester`].
///
/// ```
/// use slotwise::instrument::{Band, Step};
/// let vibrates = Step { label: "vibrates".into(), from_volt: Band::between(70.0, 90.0) };
/// assert!(!vibrates.from_volt.is_exact());
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// What it shows.
    pub label: String,
    /// From what voltage on, volts rms.
    pub from_volt: Band,
}

/// What a [`StepTester`] shows.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("hot"));
/// # let emf_volt = Phasor::new(80.0, 0.0);
/// # let impedance = Impedance::resistance(0.1);
/// # netlist.add("supply", hot, Netlist::EARTH, Role::Winding, Law::Source { emf_volt, impedance }).unwrap();
/// // 80 V is inside the band in which a solenoid begins to move.
/// let place = Place::between("hot", "earth");
/// let request = Request::new(presets::solenoid_tester(), place);
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let Shown::StepTester(shown) = &readings[0].shown else { panic!() };
/// assert_eq!((shown.step.as_deref(), shown.may_step.as_deref()), (None, Some("vibrates")));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepReading {
    /// First probe minus second, volts.
    #[serde(serialize_with = "phasor_form::optional")]
    pub voltage_volt: Option<Phasor>,
    /// Current through the tester, amperes.
    #[serde(serialize_with = "phasor_form::full")]
    pub tester_current_ampere: Phasor,
    /// The highest step reached; `None` when it shows nothing.
    pub step: Option<String>,
    /// The highest step that it may show, where that is another.
    pub may_step: Option<String>,
    /// The voltage that decides, volts rms.
    pub deciding_volt: f64,
}

impl StepTester {
    pub(super) fn ports(&self, from: NodeId, to: NodeId, frequency_hz: f64) -> Vec<Port> {
        let reactance_ohm = std::f64::consts::TAU * frequency_hz * self.inductance_henry;
        let law = Law::Impedance(Impedance::new(self.resistance_ohm, reactance_ohm));
        vec![Port { from, to, law }]
    }

    pub(super) fn read(&self, attached: &Attached, port: usize) -> StepReading {
        let voltage = attached.voltage(port);
        let volt = voltage.map_or(0.0, Phasor::magnitude);
        let highest = |wanted: &[Standing]| {
            let reached = self
                .steps
                .iter()
                .rev()
                .find(|step| wanted.contains(&step.from_volt.standing(volt)));
            reached.map(|step| step.label.clone())
        };
        let step = highest(&[Standing::Reached]);
        let may_step = highest(&[Standing::Reached, Standing::Inside]);
        StepReading {
            voltage_volt: voltage,
            tester_current_ampere: attached.current(port),
            may_step: may_step.filter(|may| Some(may) != step.as_ref()),
            step,
            deciding_volt: volt,
        }
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.positive("resistance_ohm", self.resistance_ohm);
        check.not_negative("inductance_henry", self.inductance_henry);
        check.that("steps", !self.steps.is_empty(), "is empty, a tester has at least one");
        let mut last = Band::exactly(0.0);
        check.each("steps", &self.steps, |check, step| {
            check.band("from_volt", step.from_volt);
            let rises = step.from_volt.low > last.low && step.from_volt.high >= last.high;
            check.that("from_volt", rises, "does not rise above the step before");
            last = step.from_volt;
        });
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::instrument::{Instrument, Place, Request, Shown, measure_netlist, presets};
    use crate::netlist::{Netlist, Role};
    use crate::quantity::Address;

    /// A reactance of a product of four figures.
    const ROUNDING: f64 = 1e-9;

    fn solenoid() -> StepTester {
        let Instrument::StepTester(tester) = presets::solenoid_tester() else { panic!() };
        tester
    }

    #[test]
    fn a_coil_of_thirteen_henries_is_five_kilohms_at_sixty_hertz() {
        let mut netlist = Netlist::new(60.0);
        let hot = netlist.node(&Address::from("hot"));
        let ports = solenoid().ports(hot, Netlist::EARTH, 60.0);
        let [Port { from, to, law: Law::Impedance(impedance) }] = ports.as_slice() else {
            panic!()
        };
        assert_eq!((*from, *to), (hot, Netlist::EARTH));
        assert_relative_eq!(impedance.resistance_ohm, 8e3, max_relative = ROUNDING);
        // 2π x 60 x 13.
        assert_relative_eq!(impedance.reactance_ohm, 4_900.884_539_6, max_relative = ROUNDING);
    }

    fn shown(volt: f64) -> StepReading {
        let mut netlist = Netlist::new(60.0);
        let hot = netlist.node(&Address::from("hot"));
        let emf_volt = Phasor::new(volt, 0.0);
        let source = Law::Source { emf_volt, impedance: Impedance::resistance(0.0) };
        netlist.add("supply", hot, Netlist::EARTH, Role::Winding, source).unwrap();
        let tester = Instrument::StepTester(solenoid());
        let request = Request::new(tester, Place::between("hot", "earth"));
        match measure_netlist(&netlist, &[request]).unwrap().remove(0).shown {
            Shown::StepTester(shown) => shown,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_step_that_it_may_show_is_said_beside_the_one_it_shows_and_only_then() {
        for (volt, step, may_step) in [
            (60.0, None, None),
            (80.0, None, Some("vibrates")),
            (105.0, Some("vibrates"), Some("120 V mark")),
            (120.0, Some("120 V mark"), None),
            (240.0, Some("240 V mark"), None),
        ] {
            let shown = shown(volt);
            assert_eq!((shown.step.as_deref(), shown.may_step.as_deref()), (step, may_step));
        }
    }

    #[test]
    fn each_step_rises_above_the_one_before_at_both_ends() {
        let complaints = |second: Band| {
            let mut tester = solenoid();
            tester.steps.truncate(2);
            // The first is from 70 to 90 V.
            tester.steps[1].from_volt = second;
            let mut check = Check::default();
            tester.check(&mut check);
            check.into_bad().into_iter().map(|bad| bad.path).collect::<Vec<_>>()
        };
        assert!(complaints(Band::between(71.0, 90.0)).is_empty());
        assert_eq!(complaints(Band::between(60.0, 110.0)), ["steps.1.from_volt"]);
        assert_eq!(complaints(Band::between(75.0, 85.0)), ["steps.1.from_volt"]);
    }
}
