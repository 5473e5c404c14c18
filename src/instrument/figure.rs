//! The figures and the states of a reading, one by one.

use serde::Serialize;

use super::{IndicatorReading, Reading, Shown};
use crate::quantity::Phasor;

/// One figure of a reading.
///
/// ```
/// use slotwise::instrument::Figure;
/// let figure = Figure { name: "voltage".into(), unit: "V", value: Some(118.4) };
/// assert_eq!(figure.unit, "V");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// What it is: `voltage`, `hot-neutral`, `current`, `resistance`, ...
    pub name: String,
    /// Its unit: `V`, `A`, `ohm`, `%`.
    pub unit: &'static str,
    /// Its value, magnitudes of phasors; `None` when undetermined or without end.
    pub value: Option<f64>,
}

/// One state of a reading.
///
/// ```
/// use slotwise::instrument::State;
/// let state = State { name: "hot-neutral".into(), word: "lit" };
/// assert_eq!(state.word, "lit");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct State {
    /// What it is the state of.
    pub name: String,
    /// The state in a word or two.
    pub word: &'static str,
}

impl Reading {
    /// Its figures, the one that decides first.
    pub fn figures(&self) -> Vec<Figure> {
        let volts =
            |name: &str, value: Option<Phasor>| figure(name, "V", value.map(Phasor::magnitude));
        let amperes = |name: &str, value: Phasor| figure(name, "A", Some(value.magnitude()));
        match &self.shown {
            Shown::PlugTester(shown) => shown.indicators.iter().map(indicator).collect(),
            Shown::Voltmeter(shown) => {
                let mut figures = vec![volts("voltage", shown.voltage_volt)];
                if let Some(settled) = &shown.settled {
                    figures.push(volts("settled voltage", settled.voltage_volt));
                }
                figures
            }
            Shown::StepTester(shown) => vec![volts("voltage", shown.voltage_volt)],
            Shown::NonContact(shown) => vec![volts("potential", shown.potential_volt)],
            Shown::Clamp(shown) => vec![amperes("current", shown.current_ampere)],
            Shown::Residual(shown) => vec![amperes("residual current", shown.residual_ampere)],
            Shown::Ohmmeter(shown) => vec![figure("resistance", "ohm", shown.resistance_ohm)],
            Shown::Insulation(shown) => vec![figure("resistance", "ohm", shown.resistance_ohm)],
            Shown::LoadedTest(shown) => vec![
                figure("drop", "V", shown.drop_volt),
                figure("drop share", "%", shown.drop_percent),
                figure("apparent resistance", "ohm", shown.apparent_ohm),
                volts("unloaded voltage", shown.unloaded_volt),
                volts("loaded voltage", shown.loaded_volt),
            ],
            Shown::Person(shown) => {
                vec![
                    amperes("current", shown.body_ampere),
                    volts("touch voltage", Some(shown.touch_volt)),
                ]
            }
            Shown::DoesNotFit(_) => Vec::new(),
        }
    }

    /// Its states.
    pub fn states(&self) -> Vec<State> {
        let state = |name: &str, word| vec![State { name: name.to_owned(), word }];
        match &self.shown {
            Shown::PlugTester(shown) => {
                let of = |reading: &IndicatorReading| State {
                    name: reading.spans(),
                    word: reading.state,
                };
                shown.indicators.iter().map(of).collect()
            }
            Shown::NonContact(shown) => state("detector", shown.state),
            Shown::Residual(shown) => state("device", shown.state),
            Shown::Insulation(shown) => {
                state("insulation", if shown.passes { "passes" } else { "does not pass" })
            }
            Shown::Ohmmeter(shown) => match shown.sounds {
                Some(true) => state("tone", "sounds"),
                Some(false) => state("tone", "silent"),
                None => Vec::new(),
            },
            Shown::DoesNotFit(_) => state("plug", "does not fit"),
            Shown::Voltmeter(_)
            | Shown::StepTester(_)
            | Shown::Clamp(_)
            | Shown::LoadedTest(_)
            | Shown::Person(_) => Vec::new(),
        }
    }

    /// Least and greatest value that its display may show within tolerance, base unit.
    pub(super) fn displayed(&self) -> Option<(f64, f64)> {
        let display = match &self.shown {
            Shown::Voltmeter(shown) => shown.display.as_ref()?,
            Shown::Clamp(shown) => &shown.display,
            Shown::Ohmmeter(shown) if shown.refuses => return None,
            Shown::Ohmmeter(shown) => &shown.display,
            Shown::Insulation(shown) => &shown.display,
            _ => return None,
        };
        Some((display.low, display.high))
    }
}

impl IndicatorReading {
    /// The slots it spans, as `hot-neutral`.
    pub fn spans(&self) -> String {
        format!("{}-{}", self.between.0, self.between.1)
    }
}

fn indicator(reading: &IndicatorReading) -> Figure {
    let unit = if reading.decided_by.starts_with("volt") { "V" } else { "A" };
    figure(&reading.spans(), unit, Some(reading.deciding_value))
}

fn figure(name: &str, unit: &'static str, value: Option<f64>) -> Figure {
    Figure { name: name.to_owned(), unit, value: value.filter(|value| value.is_finite()) }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::instrument::{Instrument, Place, Request, Through, measure_netlist, presets};
    use crate::netlist::{Law, Netlist, Role};
    use crate::quantity::{Address, Impedance};

    /// The bands are whole steps of the display, written with so many digits.
    const STEPS: f64 = 1e-9;

    /// 120 V with 10 ohms on them, and 200 kilohms of damp beside nothing that is live.
    fn bench() -> Netlist {
        let mut netlist = Netlist::new(60.0);
        let [hot, damp] = ["hot", "damp"].map(|name| netlist.node(&Address::from(name)));
        let emf_volt = Phasor::new(120.0, 0.0);
        let source = Law::Source { emf_volt, impedance: Impedance::resistance(0.0) };
        netlist.add("supply", hot, Netlist::EARTH, Role::Winding, source).unwrap();
        netlist.add("load", hot, Netlist::EARTH, Role::Load, Law::resistance(10.0)).unwrap();
        netlist.add("damp", damp, Netlist::EARTH, Role::Leakage, Law::resistance(200e3)).unwrap();
        netlist
    }

    fn displayed(instrument: Instrument, place: Place) -> Option<(f64, f64)> {
        measure_netlist(&bench(), &[Request::new(instrument, place)]).unwrap()[0].displayed()
    }

    #[test]
    fn whatever_has_a_display_may_show_what_its_tolerance_lets_it() {
        let around =
            || Place::Around { conductors: vec![Through { element: "load".into(), sign: 1.0 }] };
        let damp = || Place::between("damp", "earth");
        for (instrument, place, low, high) in [
            // 2 % of 12 A and five steps of 0.1 A: 0.74 A, to the next step.
            (presets::clamp_meter(), around(), 11.3, 12.7),
            // 1 % of 200 kilohms and two steps of 100 ohms: 2.2 kilohms.
            (presets::ohmmeter(), damp(), 197.8e3, 202.2e3),
            // 5 % of 200 kilohms and three steps of a kilohm: 13 kilohms.
            (presets::insulation_tester_500v(), damp(), 187e3, 213e3),
        ] {
            let shown = displayed(instrument, place).unwrap();
            assert_relative_eq!(shown.0, low, max_relative = STEPS);
            assert_relative_eq!(shown.1, high, max_relative = STEPS);
        }
        assert_eq!(displayed(presets::solenoid_tester(), Place::between("hot", "earth")), None);
    }
}
