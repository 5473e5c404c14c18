//! Hypotheses on a network that is wired and eliminated once ([`ManyConditions`]), trips included.

use std::cell::RefCell;
use std::collections::HashMap;

use crate::circuit::{Circuit, LoadKind};
use crate::condition::{Condition, LoadState};
use crate::instrument::{Current, Held, ManyConditions, ManyWork, MeasureProblem, Request};
use crate::netlist::wire;
use crate::protection::{Protection, State};
use crate::quantity::{Address, Phasor};

use super::evaluator::Outcome;
use super::trip;

/// Groups of ports: the pairs and the potentials that instruments see, and the voltages of
/// devices' electronics.
const ELECTRONICS: usize = 2;

/// A circuit in one load setting. Its changes are the faults, then each device tripped.
pub(super) struct Quick<'c> {
    many: ManyConditions<'c>,
    held: Held<'c>,
    devices: Vec<&'c str>,
    elements: HashMap<String, usize>,
    electronics: Vec<(Address, Address)>,
    loops: Option<Loops<'c>>,
}

/// The loops that neutrals of ground-fault devices make, in a network without what is not linear:
/// the test voltage, a few millivolts, lights no lamp and starts no electronics.
struct Loops<'c> {
    many: ManyConditions<'c>,
    /// Devices that detect them, with the change that opens their contacts.
    devices: Vec<(&'c str, usize)>,
}

/// Room for the numbers of one [`Quick`].
pub(super) struct QuickWork {
    many: ManyWork,
    loops: Option<RefCell<ManyWork>>,
    made: Vec<usize>,
}

impl<'c> Quick<'c> {
    /// `None` where every network has to be laid out by itself.
    pub(super) fn new(
        circuit: &'c Circuit,
        protection: &Protection<'c>,
        base: &Condition,
        faults: &[Condition],
        requests: &'c [Request],
    ) -> Option<Self> {
        let netlist = wire(circuit, base).ok()?;
        let held = Held::new(&netlist, requests).ok()??;
        let devices: Vec<&str> = protection.devices().collect();
        let tripped = devices.iter().map(|&device| tripped(device));
        let changes: Vec<Condition> = faults.iter().cloned().chain(tripped).collect();
        let [pairs, potentials] = held.groups(&netlist);
        let there = |(a, b): &&(Address, Address)| {
            netlist.find_node(a).is_some() && netlist.find_node(b).is_some()
        };
        let electronics: Vec<_> = protection.electronics().filter(there).cloned().collect();
        let groups = [pairs, potentials, electronics.clone()];
        let elements: Vec<&str> = protection.elements().into_iter().collect();
        let many = ManyConditions::watching(circuit, base, &changes, &groups, &elements).ok()?;
        let loops = match protection.detecting_loops().next() {
            Some(_) => Some(Loops::new(circuit, protection, base, &changes, faults.len())?),
            None => None,
        };
        let elements = elements.into_iter().map(str::to_owned).zip(0..).collect();
        Some(Self { many, held, devices, elements, electronics, loops })
    }

    pub(super) fn work(&self) -> QuickWork {
        QuickWork {
            many: self.many.work(),
            loops: self.loops.as_ref().map(|loops| RefCell::new(loops.many.work())),
            made: Vec::with_capacity(8),
        }
    }

    /// What some faults show; `None` where the network has to be laid out by itself.
    pub(super) fn outcome(
        &self,
        protection: &Protection<'_>,
        faults: &[usize],
        n_faults: usize,
        work: &mut QuickWork,
    ) -> Option<Result<Outcome, MeasureProblem>> {
        work.made.clear();
        work.made.extend_from_slice(faults);
        let mut tripped: Vec<String> = Vec::new();
        loop {
            if let Err(problem) = self.many.put(&work.made, &mut work.many) {
                return Some(Err(problem));
            }
            let currents = self.many.currents(&mut work.many)?;
            let electronics = self.many.read(ELECTRONICS, &mut work.many).ok()?;
            let electronics = electronics.iter().map(|seen| seen.voltage_volt).collect();
            let (made, loops) = (&work.made, work.loops.as_ref());
            let standing = Standing { quick: self, currents, electronics, made, loops };
            let more = trip::at_once(protection.standing_in(&standing));
            if more.is_empty() {
                break;
            }
            // What has tripped carries nothing and is not named again: this ends.
            for name in &more {
                let device = self.devices.iter().position(|device| device == name)?;
                work.made.push(n_faults + device);
            }
            tripped.extend(more);
        }
        let shown = self.held.show(&self.many, 0, &mut work.many)?;
        Some(shown.map(|shown| Outcome { shown, tripped }))
    }
}

fn tripped(device: &str) -> Condition {
    let mut tripped = Condition::default();
    tripped.breakers.insert(device.to_owned(), false);
    tripped
}

impl<'c> Loops<'c> {
    fn new(
        circuit: &'c Circuit,
        protection: &Protection<'c>,
        base: &Condition,
        changes: &[Condition],
        n_faults: usize,
    ) -> Option<Self> {
        let mut base = base.clone();
        for load in &circuit.parts().loads {
            let is_linear = matches!(
                load.kind,
                LoadKind::Resistive { .. }
                    | LoadKind::Impedance(_)
                    | LoadKind::Capacitor { .. }
                    | LoadKind::Motor { .. }
            );
            let off = base.loads.get(&load.id).map_or(!load.on, |state| *state != LoadState::On);
            if !is_linear && !off {
                base.loads.insert(load.id.clone(), LoadState::Off);
            }
        }
        let all: Vec<&str> = protection.devices().collect();
        let devices: Vec<(&str, usize)> = protection
            .detecting_loops()
            .filter_map(|device| {
                let at = all.iter().position(|known| *known == device)?;
                Some((device, n_faults + at))
            })
            .collect();
        let side = |device: &str, side: &str| Address::from(format!("{device}.{side}.neutral"));
        let port = |&(device, _): &(&str, usize)| (side(device, "load"), side(device, "line"));
        let groups: Vec<Vec<_>> = devices.iter().map(|device| vec![port(device)]).collect();
        let many = ManyConditions::new(circuit, &base, changes, &groups).ok()?;
        Some(Self { many, devices })
    }
}

/// A state as the devices sense it.
struct Standing<'s, 'c> {
    quick: &'s Quick<'c>,
    currents: Vec<Option<Current>>,
    electronics: Vec<Option<Phasor>>,
    made: &'s [usize],
    loops: Option<&'s RefCell<ManyWork>>,
}

impl Standing<'_, '_> {
    fn element(&self, element: &str) -> Option<Current> {
        *self.currents.get(*self.quick.elements.get(element)?)?
    }
}

impl State for Standing<'_, '_> {
    fn is_open(&self, element: &str) -> Option<bool> {
        Some(self.element(element)?.is_open)
    }

    fn current(&self, element: &str) -> Option<Phasor> {
        Some(self.element(element)?.ampere)
    }

    fn difference(&self, a: &Address, b: &Address) -> Option<Phasor> {
        let place = self.quick.electronics.iter().position(|(p, q)| p == a && q == b)?;
        *self.electronics.get(place)?
    }

    fn loop_ohm(&self, device: &str) -> Option<f64> {
        let (loops, mut work) = (self.quick.loops.as_ref()?, self.loops?.borrow_mut());
        let group = loops.devices.iter().position(|(known, _)| *known == device)?;
        let mut made = self.made.to_vec();
        made.push(loops.devices.get(group)?.1);
        loops.many.put(&made, &mut work).ok()?;
        let seen = loops.many.read(group, &mut work).ok()?.first()?.impedance?;
        Some(Phasor::new(seen.resistance_ohm, seen.reactance_ohm).magnitude())
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
