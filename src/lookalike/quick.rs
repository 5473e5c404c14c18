//! Hypotheses on a network that is wired and eliminated once ([`ManyConditions`]), trips included.

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::instrument::{Held, ManyConditions, ManyWork, MeasureProblem, Request};
use crate::netlist::wire;

use super::evaluator::Outcome;
use super::tripping::{Made, Tripping, TrippingWork};

/// Groups of ports: the pairs and the potentials that instruments see, and the voltages of
/// devices' electronics.
const ELECTRONICS: usize = 2;

/// A circuit in one load setting. Its changes are the faults, then each device tripped.
pub(super) struct Quick<'c> {
    many: ManyConditions<'c>,
    held: Held<'c>,
    tripping: Tripping<'c>,
}

/// Room for the numbers of one [`Quick`].
pub(super) struct QuickWork {
    many: ManyWork,
    tripping: TrippingWork,
    made: Vec<usize>,
}

impl<'c> Quick<'c> {
    /// `None` where every network has to be laid out by itself.
    pub(super) fn new(
        circuit: &'c Circuit,
        base: &Condition,
        faults: &[Condition],
        requests: &'c [Request],
    ) -> Option<Self> {
        let netlist = wire(circuit, base).ok()?;
        let held = Held::new(&netlist, requests).ok()??;
        let tripping = Tripping::new(circuit, (base, &netlist), faults)?;
        let changes = tripping.and_devices(faults.to_vec());
        let [pairs, potentials] = held.groups(&netlist);
        let groups = [pairs, potentials, tripping.electronics().to_vec()];
        let elements = tripping.elements();
        let many = ManyConditions::watching(circuit, base, &changes, &groups, &elements).ok()?;
        Some(Self { many, held, tripping })
    }

    pub(super) fn work(&self) -> QuickWork {
        QuickWork {
            many: self.many.work(),
            tripping: self.tripping.work(),
            made: Vec::with_capacity(8),
        }
    }

    /// What some faults show; `None` where the network has to be laid out by itself.
    pub(super) fn outcome(
        &self,
        faults: &[usize],
        work: &mut QuickWork,
    ) -> Option<Result<Outcome, MeasureProblem>> {
        work.made.clear();
        work.made.extend_from_slice(faults);
        let mut made = Made {
            many: &self.many,
            electronics: ELECTRONICS,
            work: &mut work.many,
            changes: &mut work.made,
        };
        let tripped = match self.tripping.settle(&mut made, &work.tripping)? {
            Ok(tripped) => tripped,
            Err(problem) => return Some(Err(problem)),
        };
        let shown = self.held.show(&self.many, 0, &mut work.many)?;
        Some(shown.map(|shown| Outcome { shown, tripped }))
    }
}

#[cfg(test)]
mod tests {
    use crate::circuit::file;
    use crate::condition::Condition;
    use crate::condition::catalogue::{catalogue, load_settings};
    use crate::instrument::{Instrument, Shown, presets};
    use crate::lookalike::evaluator::Evaluator;
    use crate::lookalike::showing::Placement;

    /// Figures of the two ways differ by rounding, which no display shows but JSON does.
    fn in_words(shown: &[Shown]) -> String {
        let volts = |volt: Option<crate::quantity::Phasor>| {
            volt.map_or("none".to_owned(), |volt| format!("{:.6}", volt.magnitude()))
        };
        let each = shown.iter().map(|shown| match shown {
            Shown::PlugTester(reading) => {
                let of = reading.indicators.iter().map(|i| volts(i.voltage_volt));
                format!("{} {}", reading.pattern(), of.collect::<Vec<_>>().join(" "))
            }
            Shown::Voltmeter(reading) => volts(reading.voltage_volt),
            Shown::LoadedTest(reading) => {
                format!("{} {}", volts(reading.unloaded_volt), volts(reading.loaded_volt))
            }
            Shown::StepTester(reading) => format!("{:?}", reading.step),
            Shown::NonContact(reading) => reading.state.to_string(),
            other => format!("{other:?}"),
        });
        each.collect::<Vec<_>>().join("; ")
    }

    fn compare(text: &str, instrument: &Instrument, nth_pair: usize) {
        let circuit = file::read(text).unwrap().circuit;
        let catalogue = catalogue(&circuit);
        let faults = catalogue.faults();
        let base = Condition::default();
        let settings = load_settings(&circuit, &base.loads);
        let (_, outlet) = circuit.outlets().last().unwrap();
        let placement = Placement::new(instrument, outlet).unwrap();
        let evaluator = Evaluator::new(&circuit, &base, &settings, faults, &placement.requests);
        let mut work = evaluator.work();
        let pairs = (0..faults.len() * faults.len()).step_by(nth_pair);
        let pairs = pairs.map(|n| vec![n / faults.len(), n % faults.len()]);
        let allowed =
            |set: &Vec<usize>| set[0] < set[1] && !faults[set[0]].excludes(&faults[set[1]]);
        let singles = (0..faults.len()).step_by(3).map(|fault| vec![fault]);
        for set in std::iter::once(vec![]).chain(singles).chain(pairs.filter(allowed)) {
            for setting in 0..settings.len().min(2) {
                let quick = evaluator.outcome(setting, &set, &mut work);
                let laid_out = evaluator.outcome_laid_out(setting, &set);
                let words: Vec<_> = set.iter().map(|&at| faults[at].sentence(&circuit)).collect();
                match (quick, laid_out) {
                    (Ok(quick), Ok(laid_out)) => {
                        assert_eq!(in_words(&quick.shown), in_words(&laid_out.shown), "{words:?}");
                        assert_eq!(quick.tripped, laid_out.tripped, "{words:?}");
                    }
                    (quick, laid_out) => {
                        assert_eq!(quick.is_err(), laid_out.is_err(), "{words:?}");
                    }
                }
            }
        }
        let of = |work: &super::QuickWork| (work.many.answered(), work.many.solved_whole());
        let counts = work.quick.iter().flatten().map(of);
        let (n, whole) = counts.fold((0, 0), |(n, whole), (m, more)| (n + m, whole + more));
        assert!(n > 0 && whole * 5 < n, "{whole} of {n} were laid out by themselves");
    }

    #[test]
    fn quick_answers_are_those_of_networks_laid_out_by_themselves() {
        let pottery = include_str!("../../circuits/pottery-studio.ron");
        compare(pottery, &presets::plug_tester_resistive(), 3001);
    }

    #[test]
    fn so_they_are_with_lamps_that_strike_and_with_meters() {
        let toll_house = include_str!("../../circuits/toll-house.ron");
        compare(toll_house, &presets::named("tester-glow-lamp").unwrap(), 5003);
        compare(toll_house, &presets::voltmeter_high_impedance(), 5003);
    }

    #[test]
    fn so_they_are_where_ground_fault_devices_trip() {
        let text = r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20)],
            boxes: [
                (id: "porch", from: "c1", feet: 30, device: GroundFault(feeds: true)),
                (id: "bench", from: "porch", feet: 12),
            ],
            loads: [(id: "heater", at: "bench", kind: Resistive(watts: 1200), metal_case: true)],
        )"#;
        compare(text, &presets::loaded_test(), 997);
    }
}
