//! Whether an observation is what a true condition shows, solved and measured.

use slotwise::circuit::Circuit;
use slotwise::condition::{Condition, LoadState};
use slotwise::diagnosis::{Amount, LoadSeen, Observation, Protected, Seen, Showed};
use slotwise::instrument::{Reading, Request, Shown, measure};
use slotwise::netlist::wire;
use slotwise::protection::operate;
use slotwise::solution::solve;

/// What a person reads off is within this much of it, and never nearer than so many volts: the
/// meter's tolerance, its last digit and a rounding.
const READ_SHARE: f64 = 0.02;
const READ_LEAST: f64 = 0.6;

/// `Ok` if the truth shows it, else what the truth shows.
pub(crate) fn follows(
    circuit: &Circuit,
    truth: &Condition,
    seen: &Observation,
) -> Result<(), String> {
    assert!(seen.moment.unknown.is_empty());
    let condition = both(truth, &seen.moment.condition);
    match &seen.seen {
        Seen::Instrument { request, showed } => {
            let remaining = operate(circuit, &condition).unwrap().remaining;
            let reading = measure(circuit, &remaining, &[Request::clone(request)]).unwrap();
            let each = showed.iter().map(|showed| shows(&reading[0], showed));
            each.collect()
        }
        Seen::Load { load, seen } => load_does(circuit, &condition, load, *seen),
        Seen::Protection { name, did } => {
            let sequence = operate(circuit, &condition).unwrap();
            let trips = sequence.steps.iter().any(|step| step.device == *name);
            let said = match did {
                Protected::Holds => !trips,
                Protected::TripsAtOnce | Protected::WontReset => trips,
                Protected::TripsLater => false,
                Protected::FoundOff => condition.breakers.get(name) == Some(&false),
            };
            if said { Ok(()) } else { Err(format!("trips: {trips}")) }
        }
        Seen::Opened { .. } => Err("a box was opened".to_owned()),
        Seen::Mended(_) | Seen::TriedElsewhere { .. } | Seen::CalledAgain(_) => {
            Err("something was put right".to_owned())
        }
    }
}

/// The truth as things stood.
fn both(truth: &Condition, moment: &Condition) -> Condition {
    let mut both = truth.clone();
    both.faults.extend(moment.faults.iter().cloned());
    both.breakers.extend(moment.breakers.clone());
    both.switches.extend(moment.switches.clone());
    both.loads.extend(moment.loads.clone());
    both.attached.extend(moment.attached.iter().cloned());
    both
}

fn shows(reading: &Reading, showed: &Showed) -> Result<(), String> {
    let is = |so: bool, instead: String| if so { Ok(()) } else { Err(instead) };
    match (&reading.shown, showed) {
        (Shown::PlugTester(tester), Showed::Indicator { between, glow }) => {
            let same = |known: &(String, String)| {
                known == between || (&known.0, &known.1) == (&between.1, &between.0)
            };
            let indicator = tester.indicators.iter().find(|i| same(&i.between)).unwrap();
            let overlaps =
                indicator.glow.at_least <= glow.at_most && glow.at_least <= indicator.glow.at_most;
            is(overlaps, indicator.glow.word().to_owned())
        }
        (Shown::Voltmeter(meter), Showed::Volt(amount)) => {
            let volt = meter.voltage_volt.unwrap().magnitude();
            is(within(*amount, volt), format!("{volt:.2} V"))
        }
        (Shown::NonContact(detector), Showed::Alarm(alarm)) => {
            is(detector.alarm.is_none_or(|a| a == *alarm), detector.state.to_owned())
        }
        (Shown::LoadedTest(test), Showed::LostVolt(amount)) => {
            let volt = test.drop_volt.unwrap();
            is(within(*amount, volt), format!("{volt:.2} V lost"))
        }
        (Shown::LoadedTest(test), Showed::LostAlong { conductor, volt }) => {
            let ohm = if conductor == "hot" { test.hot_share_ohm } else { test.neutral_share_ohm };
            let lost = ohm.unwrap().magnitude() * test.test_current_ampere.magnitude();
            is(within(*volt, lost), format!("{lost:.2} V along {conductor}"))
        }
        (shown, showed) => Err(format!("{showed:?} cannot be read off {shown:?}")),
    }
}

fn within(amount: Amount, value: f64) -> bool {
    let (low, high) = amount.bounds();
    let slack = (value.abs() * READ_SHARE).max(READ_LEAST);
    low - slack <= value && value <= high + slack
}

/// A load does nothing below a third of its voltage, is weak below 0.9 of it and too bright
/// above 1.1.
fn load_does(
    circuit: &Circuit,
    condition: &Condition,
    load: &str,
    seen: LoadSeen,
) -> Result<(), String> {
    let mut condition = condition.clone();
    condition.loads.entry(load.to_owned()).or_insert(LoadState::On);
    let remaining = operate(circuit, &condition).unwrap().remaining;
    let netlist = wire(circuit, &remaining).unwrap();
    let solution = solve(&netlist).unwrap();
    let element = netlist.find_element(&format!("load:{load}")).unwrap();
    let across = solution.voltage(element).magnitude();
    let rated = circuit.parts().supply.windings[0].emf_volt.magnitude();
    let does = match across / rated {
        share if share < 0.33 => LoadSeen::Dead,
        share if share < 0.9 => LoadSeen::Weak,
        share if share > 1.1 => LoadSeen::TooBright,
        _ => LoadSeen::Runs,
    };
    if does == seen { Ok(()) } else { Err(format!("{does:?} at {across:.1} V")) }
}
