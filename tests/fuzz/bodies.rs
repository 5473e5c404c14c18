//! What each fuzz target does with its bytes. The ordinary tests replay the kept inputs through
//! the same functions (`tests/fuzz_corpus.rs`).

use std::sync::LazyLock;

use slotwise::circuit::diagnostic::render_all;
use slotwise::circuit::file::{self, CircuitFile};
use slotwise::diagnosis::{self, Means, words};
use slotwise::drill::{Drill, Family, Wanted};
use slotwise::instrument::{Place, Request, measure, measure_netlist, presets};
use slotwise::netlist::{Law, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::report::{CheckReport, json};
use slotwise::{Circuit, Condition, Netlist, condition, instrument, solve, wire};

/// Circuits that words and addresses are about.
static CIRCUITS: LazyLock<Vec<CircuitFile>> = LazyLock::new(|| {
    [
        include_str!("../../circuits/pottery-studio.ron"),
        include_str!("../../circuits/bakery.ron"),
        include_str!("../../circuits/ice-house.ron"),
    ]
    .map(|text| file::read(text).expect("the circuits of the repository are sound"))
    .into()
});

/// Terminals up to which a circuit is solved too: the reader is what is tried.
const TERMINALS_MAX: usize = 3_000;

fn text(data: &[u8]) -> Option<&str> {
    std::str::from_utf8(data).ok()
}

/// A circuit that was read is wired, solved and reported without a word about panics.
fn use_circuit(circuit: &Circuit, condition: &Condition) {
    if circuit.terminals().len() > TERMINALS_MAX {
        return;
    }
    let Ok(netlist) = wire(circuit, condition) else { return };
    finite(&netlist);
    let requests: Vec<Request> = circuit
        .outlets()
        .flat_map(|(_, outlet)| {
            let place = Place::receptacle(outlet.address.clone());
            [presets::plug_tester_glow_lamp(), presets::voltmeter_high_impedance()]
                .map(|instrument| Request::new(instrument, place.clone()))
        })
        .collect();
    let _ = measure(circuit, condition, &requests);
}

/// Every potential that a solution gives is a number.
fn finite(netlist: &Netlist) {
    let Ok(solution) = solve(netlist) else { return };
    for node in netlist.nodes() {
        if let Some(volt) = solution.potential(node) {
            assert!(volt.magnitude().is_finite(), "{volt:?} at {}", netlist.address(node));
        }
    }
}

/// A circuit file: read, and if it is sound, solved.
pub(crate) fn circuit_file(data: &[u8]) {
    let Some(text) = text(data) else { return };
    match file::read(text) {
        Ok(read) => {
            render_all(&read.remarks, "fuzz.ron", text);
            let conditions = condition::file::of_circuit(&read, text).unwrap_or_default();
            json::check(&CheckReport::new(&read.circuit, &conditions));
            use_circuit(&read.circuit, &Condition::default());
        }
        Err(said) => {
            assert!(!said.is_empty());
            assert!(!render_all(&said, "fuzz.ron", text).is_empty());
        }
    }
}

/// Condition words about one of three circuits, chosen by the first byte.
pub(crate) fn condition_words(data: &[u8]) {
    let Some((first, rest)) = data.split_first() else { return };
    let Some(words) = text(rest) else { return };
    let circuit = &CIRCUITS[usize::from(*first) % CIRCUITS.len()].circuit;
    let mut condition = Condition::default();
    match condition.say(circuit, words) {
        Ok(()) => {
            if let Ok(netlist) = wire(circuit, &condition) {
                finite(&netlist);
            }
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            for problem in problems {
                assert!(!problem.to_string().is_empty());
            }
        }
    }
}

/// A file of conditions for the pottery studio.
pub(crate) fn condition_file(data: &[u8]) {
    let Some(text) = text(data) else { return };
    let circuit = &CIRCUITS[0].circuit;
    match condition::file::read(circuit, text) {
        Ok(named) => {
            let written = condition::file::write(circuit, &named.name, &named.condition);
            assert!(condition::file::read(circuit, &written).is_ok(), "{written}");
        }
        Err(said) => assert!(!render_all(&said, "fuzz.ron", text).is_empty()),
    }
}

/// Words of complaints, an even first byte, or of observations, an odd one: what is heard is said
/// back, and heard as the same.
pub(crate) fn observation_words(data: &[u8]) {
    let Some((first, rest)) = data.split_first() else { return };
    let Some(said) = text(rest) else { return };
    let circuit = &CIRCUITS[usize::from(first / 2) % CIRCUITS.len()].circuit;
    let tools = Means::of(circuit).tools;
    if first % 2 == 0 {
        match words::complaints(circuit, said) {
            Ok(heard) => {
                for one in heard {
                    let again = words::tell_complaint(circuit, &one);
                    assert_eq!(words::complaints(circuit, &again).as_deref(), Ok(&[one][..]));
                }
            }
            Err(problems) => assert!(problems.iter().all(|one| !one.to_string().is_empty())),
        }
        return;
    }
    match words::observations(circuit, &tools, said) {
        Ok(heard) => {
            for one in heard {
                let again = words::tell(circuit, &tools, &one);
                assert!(words::observations(circuit, &tools, &again).is_ok(), "{again}");
            }
        }
        Err(problems) => assert!(problems.iter().all(|one| !one.to_string().is_empty())),
    }
}

/// An observation file about the pottery studio.
pub(crate) fn observation_file(data: &[u8]) {
    let Some(text) = text(data) else { return };
    let circuit = &CIRCUITS[0].circuit;
    match diagnosis::file::read(circuit, text) {
        Ok(named) => {
            assert!(!diagnosis::file::write(circuit, &named.name, &named.account).is_empty());
        }
        Err(said) => assert!(!render_all(&said, "fuzz.ron", text).is_empty()),
    }
}

/// A file of a family of circuits: read, and if it is sound, one drill drawn.
pub(crate) fn family_file(data: &[u8]) {
    let Some(text) = text(data) else { return };
    match Family::read(text) {
        Ok(family) => {
            let _ = Drill::draw(&family, 1, 0, &Wanted::default());
        }
        Err(said) => assert!(!render_all(&said, "fuzz.ron", text).is_empty()),
    }
}

/// Addresses: asked of a circuit and used as places of instruments.
pub(crate) fn address(data: &[u8]) {
    let Some(text) = text(data) else { return };
    let file = &CIRCUITS[0];
    let mut lines = text.lines().take(4);
    let (from, to) = (lines.next().unwrap_or_default(), lines.next().unwrap_or("earth"));
    let _ = file.circuit.terminal(from);
    let _ = slotwise::report::WhyReport::new(&file.circuit, &Condition::default(), &from.into());
    let places = [Place::receptacle(from), Place::between(from, to), Place::near(from)];
    let requests: Vec<Request> = places
        .into_iter()
        .flat_map(|place| {
            [presets::voltmeter_low_impedance(), presets::non_contact_detector()]
                .map(|instrument| Request::new(instrument, place.clone()))
        })
        .collect();
    for request in requests {
        let _ = measure(&file.circuit, &Condition::default(), &[request]);
    }
}

/// A file of instruments, each held to a hot conductor and to one that floats.
pub(crate) fn instrument_file(data: &[u8]) {
    let Some(text) = text(data) else { return };
    match instrument::file::read(text) {
        Ok(instruments) => {
            let netlist = hot_and_floating();
            for instrument in instruments.into_iter().take(8) {
                for place in [Place::between("hot", "earth"), Place::between("spare", "earth")] {
                    let request = Request::new(instrument.clone(), place);
                    let _ = measure_netlist(&netlist, &[request]);
                }
            }
        }
        Err(said) => {
            assert!(!said.is_empty());
            assert!(!render_all(&said, "fuzz.ron", text).is_empty());
        }
    }
}

fn hot_and_floating() -> Netlist {
    let mut netlist = Netlist::new(60.0);
    let [hot, spare] = ["hot", "spare"].map(|name| netlist.node(&Address::from(name)));
    let supply =
        Law::Source { emf_volt: Phasor::new(120.0, 0.0), impedance: Impedance::resistance(0.1) };
    let _ = netlist.add("supply", hot, Netlist::EARTH, Role::Winding, supply);
    let cable = Law::Capacitor { capacitance_farad: 100e-12 };
    let _ = netlist.add("cable", hot, spare, Role::Capacitance, cable);
    netlist
}

/// A network straight from bytes, six to an element: its ends, its law, and values from the
/// ends of what a number can be to the middle.
pub(crate) fn network(data: &[u8]) {
    let mut netlist = Netlist::new(60.0);
    let nodes: Vec<_> = (0..8)
        .map(|i| if i == 0 { Netlist::EARTH } else { netlist.node(&format!("n{i}").into()) })
        .collect();
    for (i, bytes) in data.chunks_exact(6).take(24).enumerate() {
        let [ends, law, first @ ..] = bytes else { continue };
        let (a, b) = (nodes[usize::from(ends % 8)], nodes[usize::from(ends / 8 % 8)]);
        let value = |at: usize| value(first[at]);
        let law = match law % 8 {
            0 => Law::Impedance(Impedance::new(value(0), value(1))),
            1 => Law::Capacitor { capacitance_farad: value(0) },
            2 => Law::Source {
                emf_volt: Phasor::new(value(0), value(1)),
                impedance: Impedance::new(value(2), value(3)),
            },
            3 => Law::CurrentSource { current_ampere: Phasor::new(value(0), value(1)) },
            4 => Law::Open,
            5 => Law::Filament {
                rated_watt: value(0),
                rated_volt: value(1),
                cold_fraction: value(2),
                exponent: value(3),
            },
            6 => Law::ConstantPower {
                active_watt: value(0),
                reactive_var: value(1),
                cut_out_volt: value(2),
            },
            _ => Law::ThresholdLamp {
                threshold_volt: value(0),
                off_ohm: value(1),
                series_ohm: value(2),
            },
        };
        let _ = netlist.add(format!("e{i}"), a, b, Role::Load, law);
    }
    finite(&netlist);
}

/// 256 values: zero, the ends of f64, what is no number, and decades of either sign between.
fn value(byte: u8) -> f64 {
    let sign = if byte & 1 == 0 { 1.0 } else { -1.0 };
    sign * match byte >> 1 {
        0 => 0.0,
        1 => f64::MIN_POSITIVE,
        2 => f64::MAX,
        3 => f64::INFINITY,
        4 => f64::NAN,
        5 => 5e-324,
        decade => 10_f64.powf((f64::from(decade) - 66.0) / 4.0),
    }
}
