//! Measurements on a dead circuit: ohmmeter, continuity, insulation.

use serde::{Deserialize, Serialize};

use super::band::{Band, Standing};
use super::bench::{Bench, unused_id};
use super::check::Check;
use super::display::{Display, Displayed};
use super::phasor_form;
use super::problem::MeasureProblem;
use crate::circuit::Circuit;
use crate::netlist::{ElementId, Law, Netlist, NodeId, Role};
use crate::network::Refusal;
use crate::quantity::{Address, Phasor};
use crate::solution::solve;

/// What is done to the circuit before its resistance is measured.
///
/// ```
/// use slotwise::instrument::Preparation;
/// // Both ends of a ring taken out of the panel.
/// let ring = Preparation {
///     isolate: vec!["contact:ring.a.hot".into(), "contact:ring.b.hot".into()],
///     ..Preparation::default()
/// };
/// assert!(!ring.supply_left_on);
/// ```
///
/// Unless said, the supply has no voltage and nothing else is done: breakers stand as the circuit and
/// the condition have them, so that between hot and neutral of a receptacle the windings are measured
/// too, some tenths of an ohm. [`Preparation::breakers_off`] opens the breakers first, as `slotwise
/// read` has it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Preparation {
    /// Elements taken out, by name: a conductor lifted from its terminal, a breaker opened.
    pub isolate: Vec<String>,
    /// Terminals joined for the test.
    pub jumpers: Vec<Jumper>,
    /// Nobody has switched the supply off: what voltage is there disturbs an ohmmeter, or makes it
    /// refuse. Otherwise every EMF is zero, and so it is for an insulation tester.
    pub supply_left_on: bool,
}

impl Preparation {
    /// Every breaker of the circuit opened, on a dead supply.
    ///
    /// ```
    /// use slotwise::Condition;
    /// use slotwise::instrument::{Place, Preparation, Reading, Request, Shown, measure, presets};
    /// let text = include_str!("../../circuits/pottery-studio.ron");
    /// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
    /// let mut idle = Condition::default();
    /// idle.say(&circuit, "everything unplugged").unwrap();
    /// let place = Place::between("kiln.hot", "kiln.neutral");
    /// let closed = Request::new(presets::ohmmeter(), place);
    /// let mut open = closed.clone();
    /// open.preparation = Preparation::breakers_off(&circuit);
    /// let readings = measure(&circuit, &idle, &[closed, open]).unwrap();
    /// let text = |reading: &Reading| match &reading.shown {
    ///     Shown::Ohmmeter(shown) => shown.display.text.clone(),
    ///     other => panic!("{other:?}"),
    /// };
    /// assert_eq!(text(&readings[0]), "0.5 ohm", "the winding, by the breaker");
    /// assert_eq!(text(&readings[1]), "OL");
    /// ```
    pub fn breakers_off(circuit: &Circuit) -> Self {
        let branches = circuit.parts().branch_circuits.iter();
        let isolate = branches.map(|branch| format!("breaker:{}", branch.id)).collect();
        Self { isolate, ..Self::default() }
    }
}

/// Two terminals joined for a test.
///
/// ```
/// use slotwise::instrument::Jumper;
/// let lead = Jumper { between: ("hall.hot".into(), "hall.ground".into()), resistance_ohm: 0.05 };
/// assert!(lead.resistance_ohm < 0.1);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Jumper {
    /// What it joins.
    pub between: (Address, Address),
    /// Its resistance in ohms; zero makes the two one point.
    pub resistance_ohm: f64,
}

/// An ohmmeter or continuity tester: direct current through whatever lies between its probes,
/// everything that is still connected in parallel included.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::Ohmmeter(meter) = presets::continuity_tester() else { panic!() };
/// assert!(meter.tone_below_ohm.is_some());
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ohmmeter {
    /// What it is called.
    pub name: String,
    /// Test current, amperes.
    pub test_ampere: f64,
    /// Most voltage it puts out, volts; where its current would need more, it keeps this
    /// voltage. `None` for no limit.
    #[serde(default)]
    pub open_circuit_volt: Option<f64>,
    /// Resistance of its leads that it does not subtract, ohms.
    #[serde(default)]
    pub lead_ohm: f64,
    /// Above this it shows over-range, ohms.
    pub over_range_ohm: f64,
    /// It sounds below this, if it has a tone, ohms: certainly below the lower end, not above the
    /// upper.
    #[serde(default)]
    pub tone_below_ohm: Option<Band>,
    /// Where the supply was left on: above this voltage between the probes it refuses, volts.
    #[serde(default = "refuses_above")]
    pub refuses_above_volt: f64,
    /// What it shows.
    pub display: Display,
}

const fn refuses_above() -> f64 {
    2.0
}

/// An insulation tester: direct voltage, with its current limited.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::Insulation(tester) = presets::insulation_tester_500v() else { panic!() };
/// assert!(tester.test_volt > 499.0 && tester.limit_ampere < 2e-3);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename = "Insulation", deny_unknown_fields)]
pub struct InsulationTester {
    /// What it is called.
    pub name: String,
    /// Test voltage, volts of direct voltage.
    pub test_volt: f64,
    /// Most current it gives, amperes; where it would need more, its voltage falls.
    pub limit_ampere: f64,
    /// Least resistance that passes, ohms.
    pub passes_from_ohm: f64,
    /// What it shows.
    pub display: Display,
}

/// What an ohmmeter shows.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// let mut netlist = Netlist::new(60.0);
/// let [near, far] = ["near", "far"].map(|end| netlist.node(&Address::from(end)));
/// netlist.add("wire", near, far, Role::Wire, Law::resistance(0.37)).unwrap();
/// let request = Request::new(presets::low_ohmmeter(), Place::between("near", "far"));
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let Shown::Ohmmeter(shown) = &readings[0].shown else { panic!() };
/// assert_eq!(shown.display.text, "0.37 ohm");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OhmReading {
    /// Voltage over current between the probes, ohms, leads not included; `None` where there is
    /// no path at all, or where it refuses.
    pub resistance_ohm: Option<f64>,
    /// What the display shows, leads included; that it refuses and no value, if it does.
    pub display: Displayed,
    /// Whether it sounds; `None` inside the band, without a tone, or where it refuses.
    pub sounds: Option<bool>,
    /// Where the supply was left on: the voltage between the probes before the meter is
    /// put on.
    #[serde(serialize_with = "phasor_form::optional")]
    pub found_volt: Option<Phasor>,
    /// It refuses, since it finds voltage.
    pub refuses: bool,
}

/// What an insulation tester shows.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// let mut netlist = Netlist::new(50.0);
/// let hot = netlist.node(&Address::from("hot"));
/// netlist.add("damp", hot, Netlist::EARTH, Role::Leakage, Law::resistance(200e3)).unwrap();
/// let request = Request::new(presets::insulation_tester_500v(), Place::between("hot", "earth"));
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let Shown::Insulation(shown) = &readings[0].shown else { panic!() };
/// assert!(!shown.passes && shown.voltage_volt < 500.0);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InsulationReading {
    /// Resistance between the probes, ohms; `None` where there is no path at all.
    pub resistance_ohm: Option<f64>,
    /// Voltage it reaches, volts of direct voltage.
    pub voltage_volt: f64,
    /// What the display shows.
    pub display: Displayed,
    /// The resistance is at least what passes.
    pub passes: bool,
}

impl Ohmmeter {
    pub(super) fn read(
        &self,
        bench: &Bench<'_>,
        (from, to): (NodeId, NodeId),
        preparation: &Preparation,
    ) -> Result<OhmReading, MeasureProblem> {
        let found_volt =
            if preparation.supply_left_on { bench.live()?.difference(from, to) } else { None };
        let disturbing_volt = found_volt.map_or(0.0, Phasor::magnitude);
        let dead = dead(bench, preparation)?;
        if disturbing_volt > self.refuses_above_volt {
            return Ok(OhmReading {
                resistance_ohm: None,
                display: Displayed::refused(),
                sounds: None,
                found_volt,
                refuses: true,
            });
        }
        let drive = Drive { ampere: self.test_ampere, limit_volt: self.open_circuit_volt };
        let resistance_ohm = resistance(&dead, from, to, drive)?;
        Ok(OhmReading {
            resistance_ohm,
            display: self.shown(resistance_ohm, disturbing_volt),
            sounds: self.sounds(resistance_ohm),
            found_volt,
            refuses: false,
        })
    }

    /// Voltage found between the probes shifts the reading by up to itself over the test
    /// current, either way.
    fn shown(&self, resistance: Option<f64>, disturbing_volt: f64) -> Displayed {
        let over = |resistance: &f64| *resistance > self.over_range_ohm;
        let Some(resistance) = resistance.filter(|resistance| !over(resistance)) else {
            return self.display.show(f64::INFINITY);
        };
        let mut shown = self.display.show(resistance + self.lead_ohm);
        let shift = disturbing_volt / self.test_ampere;
        shown.low -= shift;
        shown.high += shift;
        shown
    }

    fn sounds(&self, resistance: Option<f64>) -> Option<bool> {
        let band = self.tone_below_ohm?;
        let resistance = resistance.map_or(f64::INFINITY, |ohm| ohm + self.lead_ohm);
        match band.standing(resistance) {
            Standing::Below => Some(true),
            Standing::Inside => None,
            Standing::Reached => Some(false),
        }
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.positive("test_ampere", self.test_ampere);
        if let Some(open_circuit_volt) = self.open_circuit_volt {
            check.positive("open_circuit_volt", open_circuit_volt);
        }
        check.not_negative("lead_ohm", self.lead_ohm);
        check.positive("over_range_ohm", self.over_range_ohm);
        check.not_negative("refuses_above_volt", self.refuses_above_volt);
        if let Some(tone) = self.tone_below_ohm {
            check.band("tone_below_ohm", tone);
        }
        check.inside("display", |check| self.display.check(check));
    }
}

impl InsulationTester {
    pub(super) fn read(
        &self,
        bench: &Bench<'_>,
        (from, to): (NodeId, NodeId),
        preparation: &Preparation,
    ) -> Result<InsulationReading, MeasureProblem> {
        let dead = dead(bench, preparation)?;
        let drive = Drive { ampere: self.limit_ampere, limit_volt: Some(self.test_volt) };
        let resistance_ohm = resistance(&dead, from, to, drive)?;
        let reached = resistance_ohm.map_or(f64::INFINITY, |ohm| ohm * self.limit_ampere);
        let resistance = resistance_ohm.unwrap_or(f64::INFINITY);
        Ok(InsulationReading {
            resistance_ohm,
            voltage_volt: reached.min(self.test_volt),
            display: self.display.show(resistance),
            passes: resistance >= self.passes_from_ohm,
        })
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.positive("test_volt", self.test_volt);
        check.positive("limit_ampere", self.limit_ampere);
        check.positive("passes_from_ohm", self.passes_from_ohm);
        check.inside("display", |check| self.display.check(check));
    }
}

/// What drives a measurement of resistance.
#[derive(Clone, Copy)]
struct Drive {
    ampere: f64,
    limit_volt: Option<f64>,
}

/// The circuit with every EMF zero, at zero frequency, prepared; its nodes are the same.
fn dead(bench: &Bench<'_>, preparation: &Preparation) -> Result<Netlist, MeasureProblem> {
    let live = bench.netlist();
    let isolated: Vec<ElementId> =
        preparation.isolate.iter().map(|id| bench.element(id)).collect::<Result<_, _>>()?;
    let mut dead = Netlist::new(0.0);
    for node in live.nodes() {
        dead.node(live.address(node));
    }
    for element in live.elements().filter(|element| !isolated.contains(element)) {
        let law = match live.element(element).law {
            Law::Source { impedance, .. } => Law::Source { emf_volt: Phasor::ZERO, impedance },
            Law::CurrentSource { .. } => continue,
            law => law,
        };
        let (a, b) = live.ends(element);
        let part = live.element(element);
        dead.add(part.id.clone(), a, b, part.role, law)?;
    }
    for coupling in live.couplings() {
        let twin = |element| dead.find_element(&live.element(element).id);
        if let (Some(first), Some(second)) = (twin(coupling.first), twin(coupling.second)) {
            dead.couple(first, second, coupling.mutual)?;
        }
    }
    for jumper in &preparation.jumpers {
        let (a, b) = (bench.node(&jumper.between.0)?, bench.node(&jumper.between.1)?);
        let id = unused_id(&dead, "jumper");
        dead.add(id, a, b, Role::Instrument, Law::resistance(jumper.resistance_ohm))?;
    }
    Ok(dead)
}

/// Voltage over current with the drive from `from` through the circuit to `to`; `None` where
/// there is no path.
fn resistance(
    dead: &Netlist,
    from: NodeId,
    to: NodeId,
    drive: Drive,
) -> Result<Option<f64>, MeasureProblem> {
    let forced = Law::CurrentSource { current_ampere: Phasor::new(drive.ampere, 0.0) };
    let Some((volt, _)) = drive_through(dead, from, to, forced)? else { return Ok(None) };
    match drive.limit_volt {
        // In a linear circuit the ratio is the same at any voltage.
        Some(limit_volt) if volt > limit_volt && !is_linear(dead) => {
            let emf_volt = Phasor::new(-limit_volt, 0.0);
            let source = Law::Source { emf_volt, impedance: Default::default() };
            let driven = drive_through(dead, from, to, source)?;
            Ok(driven.and_then(|(volt, ampere)| (ampere > 0.0).then(|| volt / ampere)))
        }
        _ => Ok(Some(volt / drive.ampere)),
    }
}

/// Volts from `from` to `to` and amperes out of `from` with a drive between them.
fn drive_through(
    dead: &Netlist,
    from: NodeId,
    to: NodeId,
    law: Law,
) -> Result<Option<(f64, f64)>, MeasureProblem> {
    let mut driven = dead.clone();
    let id = unused_id(&driven, "ohmmeter");
    let meter = driven.add(id, to, from, Role::Instrument, law)?;
    match solve(&driven) {
        Ok(solution) => {
            let volt = solution.difference(from, to).map(|volt| volt.re);
            Ok(volt.map(|volt| (volt, solution.current(meter).re)))
        }
        Err(Refusal::NoWayBack { .. }) => Ok(None),
        Err(refusal) => Err(refusal.into()),
    }
}

fn is_linear(netlist: &Netlist) -> bool {
    netlist.elements().all(|element| netlist.element(element).law.is_linear())
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::instrument::presets;
    use crate::instrument::{Instrument, Place, Request, Shown, measure_netlist};
    use crate::quantity::Impedance;

    /// A lamp is solved for by steps that end this close.
    const SETTLED: f64 = 1e-6;

    fn meter() -> Ohmmeter {
        let Instrument::Ohmmeter(meter) = presets::continuity_tester() else { panic!() };
        meter
    }

    #[test]
    fn the_leads_count_for_the_tone_as_for_the_display() {
        // It sounds below 20 ohms and is silent from 250, leads of 0.2 ohm included.
        let sounds = |ohm: f64| meter().sounds(Some(ohm));
        assert_eq!([19.7, 19.9, 249.7, 249.9].map(sounds), [Some(true), None, None, Some(false)]);
        assert_eq!(meter().sounds(None), Some(false), "nothing between the probes");
        let silent = Ohmmeter { tone_below_ohm: None, ..meter() };
        assert_eq!(silent.sounds(Some(1.0)), None, "no tone at all");
    }

    #[test]
    fn beyond_the_last_ohm_it_shows_over_range_and_at_it_a_figure() {
        let limited = Ohmmeter { over_range_ohm: 1000.0, ..meter() };
        assert_eq!(limited.shown(Some(999.0), 0.0).text, "0.999 kohm");
        assert_eq!(limited.shown(Some(1001.0), 0.0).text, "OL");
        assert_eq!(limited.shown(None, 0.0).text, "OL");
    }

    /// What a meter of 1 mA behind 3 V makes of a lamp of so many volts to light it and a kilohm.
    fn through_lamp(threshold_volt: f64) -> f64 {
        let mut netlist = Netlist::new(60.0);
        let near = netlist.node(&Address::from("near"));
        let law = Law::ThresholdLamp { threshold_volt, off_ohm: 1e6, series_ohm: 1e3 };
        netlist.add("lamp", near, Netlist::EARTH, Role::Load, law).unwrap();
        let meter = Instrument::Ohmmeter(meter());
        let request = Request::new(meter, Place::between("near", "earth"));
        match measure_netlist(&netlist, &[request]).unwrap().remove(0).shown {
            Shown::Ohmmeter(shown) => shown.resistance_ohm.unwrap(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_lamp_is_measured_at_the_test_current_while_the_meter_can_drive_it() {
        // V / 1 MΩ + (V - 1.5 V) / 1 kΩ = 1 mA.
        let volt = (1e-3 + 1.5 / 1e3) / (1.0 / 1e6 + 1.0 / 1e3);
        assert_relative_eq!(through_lamp(1.5), volt / 1e-3, max_relative = SETTLED);
    }

    #[test]
    fn a_lamp_that_would_need_more_is_measured_at_the_voltage_the_meter_has() {
        // 1 mA would take 3.5 V; at 3 V there flow 3 V / 1 MΩ and 0.5 V / 1 kΩ.
        let ampere = 3.0 / 1e6 + 0.5 / 1e3;
        assert_relative_eq!(through_lamp(2.5), 3.0 / ampere, max_relative = SETTLED);
    }

    #[test]
    fn a_resistance_is_the_same_at_whatever_voltage_the_meter_can_put_on_it() {
        // 1 mA through a megohm would take a thousand volts; the meter has three.
        let mut netlist = Netlist::new(60.0);
        let near = netlist.node(&Address::from("near"));
        let law = Law::Impedance(Impedance::resistance(1e6));
        netlist.add("damp", near, Netlist::EARTH, Role::Leakage, law).unwrap();
        let request = Request::new(Instrument::Ohmmeter(meter()), Place::between("near", "earth"));
        let readings = measure_netlist(&netlist, &[request]).unwrap();
        let Shown::Ohmmeter(shown) = &readings[0].shown else { panic!() };
        assert_relative_eq!(shown.resistance_ohm.unwrap(), 1e6, max_relative = SETTLED);
        assert!(is_linear(&netlist));
        let lamp = Law::ThresholdLamp { threshold_volt: 2.0, off_ohm: 1e6, series_ohm: 1e3 };
        netlist.add("lamp", near, Netlist::EARTH, Role::Load, lamp).unwrap();
        assert!(!is_linear(&netlist));
    }
}
