//! Many conditions of one circuit, each against its own network laid out and solved anew.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.
#![allow(clippy::print_stdout, clippy::too_many_lines)] // Figures, seen with `--nocapture`.

mod support;

use slotwise::circuit::Circuit;
use slotwise::condition::Condition;
use slotwise::condition::catalogue::{LoadSetting, catalogue, load_settings};
use slotwise::instrument::{
    ManyConditions, ManyReadings, Place, Reading, Request, measure, presets,
};
use slotwise::netlist::Wiring;
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{PortSight, PortSystem, SlotsSight};
use support::chance::Chance;
use support::run::run;

/// Voltages against the larger of the value and 1 mV: the contract of the whole solve.
const TOLERANCE: f64 = 1e-9;
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
/// Between sets asked for together and one by one, which differ in their rounding alone.
const TOGETHER_TOLERANCE: f64 = 1e-9;
/// Nonlinear loads are settled anew for each condition; their contract is wider.
const TOLERANCE_NONLINEAR: f64 = 1e-6;

fn circuit(name: &str) -> Circuit {
    let text = std::fs::read_to_string(format!("circuits/{name}.ron")).unwrap();
    slotwise::circuit::file::read(&text).unwrap().circuit
}

fn pairs(circuit: &Circuit) -> Vec<(Address, Address)> {
    let mut pairs = Vec::new();
    for (_, outlet) in circuit.outlets() {
        for (at, (_, a)) in outlet.slots.iter().enumerate() {
            for (_, b) in &outlet.slots[at + 1..] {
                pairs.push((a.clone(), b.clone()));
            }
        }
    }
    pairs
}

/// Those of receptacles of three slots: hot-neutral, hot-ground and neutral-ground.
fn by_three(circuit: &Circuit) -> Vec<(Address, Address)> {
    let three = circuit.outlets().filter(|(_, outlet)| outlet.slots.len() == 3);
    let of = |slots: &[(String, Address)]| {
        [(0, 1), (0, 2), (1, 2)].map(|(p, q)| (slots[p].1.clone(), slots[q].1.clone()))
    };
    three.flat_map(|(_, outlet)| of(&outlet.slots)).collect()
}

/// The base of a load setting.
fn standing(setting: &LoadSetting) -> Condition {
    Condition { loads: setting.loads.clone(), ..Condition::default() }
}

struct Asked {
    n: u64,
    whole: u64,
    worst: f64,
}

fn compare(name: &str, n_doubles: usize) -> Asked {
    let circuit = circuit(name);
    let catalogue = catalogue(&circuit);
    let faults = catalogue.faults();
    let changes: Vec<Condition> = faults.iter().map(|fault| fault.change.clone()).collect();
    let pairs = pairs(&circuit);
    let earths: Vec<_> = pairs.iter().map(|(slot, _)| (slot.clone(), Address::earth())).collect();
    let wiring = Wiring::new(&circuit);
    let mut chance = Chance::new(name.len() as u64);
    let mut asked = Asked { n: 0, whole: 0, worst: 0.0 };
    let settings = load_settings(&circuit, &Default::default());
    for (number, setting) in settings.iter().take(2).enumerate() {
        let base = standing(setting);
        let groups = [pairs.clone(), earths.clone()];
        let many = ManyConditions::new(&circuit, &base, &changes, &groups).unwrap();
        let mut work = many.work();
        let mut sets: Vec<Vec<usize>> = vec![vec![]];
        sets.extend((number..faults.len()).step_by(4).map(|fault| vec![fault]));
        let n_singles = sets.len();
        while sets.len() < n_singles + n_doubles {
            let two = [chance.below(faults.len()), chance.below(faults.len())];
            if two[0] != two[1] && !faults[two[0]].excludes(&faults[two[1]]) {
                sets.push(two.to_vec());
            }
        }
        for set in sets {
            let condition = many.condition(&set);
            let in_words = || {
                let words = set.iter().map(|&fault| faults[fault].sentence(&circuit));
                words.collect::<Vec<_>>().join("; ")
            };
            let Ok(netlist) = wiring.netlist(&condition) else {
                assert!(many.put(&set, &mut work).is_err(), "{}", in_words());
                continue;
            };
            let is_linear =
                netlist.elements().all(|element| netlist.element(element).law.is_linear());
            let tolerance = if is_linear { TOLERANCE } else { TOLERANCE_NONLINEAR };
            // A few of the ports each time; all of them over the whole of it.
            let node = |address: &Address| netlist.find_node(address).unwrap();
            let ports = [0; 4].map(|_| chance.below(2 * pairs.len()));
            let at = |port: usize| pairs.get(port).unwrap_or_else(|| &earths[port - pairs.len()]);
            let nodes = ports.map(|port| (node(&at(port).0), node(&at(port).1)));
            let exact = PortSystem::new(&netlist, &nodes).unwrap();
            many.put(&set, &mut work).unwrap();
            let found: Vec<PortSight> = [0, 1]
                .into_iter()
                .flat_map(|group| many.read(group, &mut work).unwrap().to_vec())
                .collect();
            for (place, &port) in ports.iter().enumerate() {
                let exact = PortSight {
                    voltage_volt: exact.open_circuit(place),
                    impedance: exact.impedance(place, place),
                };
                for burden in [None, Some(10e6), Some(3e3), Some(12.0)] {
                    let shown = |sight: &PortSight| match burden {
                        Some(ohm) => sight.behind(Impedance::resistance(ohm)),
                        None => sight.voltage_volt,
                    };
                    let (Some(seen), Some(exact)) = (shown(&found[port]), shown(&exact)) else {
                        // Only the impedance between a slot and earth may be left unsaid.
                        let unsaid = burden.is_some() && port >= pairs.len();
                        let neither = shown(&exact).is_none() && shown(&found[port]).is_none();
                        assert!(unsaid || neither, "{}", in_words());
                        continue;
                    };
                    let size = exact.magnitude().max(VOLTAGE_FLOOR_VOLT);
                    let miss = (seen - exact).magnitude() / size;
                    assert!(
                        miss <= tolerance,
                        "{name}, {}, {}: {:?} on {burden:?} ohm {seen:?} and not {exact:?}",
                        setting.name,
                        in_words(),
                        at(port),
                    );
                    if is_linear {
                        asked.worst = asked.worst.max(miss);
                    }
                }
            }
        }
        asked.n += work.answered();
        asked.whole += work.solved_whole();
    }
    asked
}

#[test]
fn every_fault_and_many_pairs_show_what_their_own_networks_show() {
    for name in ["toll-house", "bakery", "pottery-studio"] {
        let asked = compare(name, 20);
        println!(
            "{name}: {} conditions, {} whole, worst {:.1e}",
            asked.n, asked.whole, asked.worst
        );
    }
}

/// Everything that goes to a receptacle, at every receptacle, and a clamp where a circuit begins.
fn everywhere(circuit: &Circuit) -> Vec<Request> {
    let mut requests = Vec::new();
    let mut put = |name: &str, place: Place| {
        requests.push(Request::new(presets::named(name).unwrap(), place));
    };
    for (_, outlet) in circuit.outlets() {
        for plugged in ["tester", "tester-230", "tester-glow-lamp", "loaded-test"] {
            put(plugged, Place::receptacle(outlet.address.clone()));
        }
        for (at, (_, from)) in outlet.slots.iter().enumerate() {
            for (_, to) in &outlet.slots[at + 1..] {
                for probed in ["voltmeter", "voltmeter-low-impedance-rising", "two-pole"] {
                    put(probed, Place::between(from.clone(), to.clone()));
                }
            }
            put("non-contact", Place::near(from.clone()));
            put("person", Place::between(from.clone(), "earth"));
        }
    }
    let branch = &circuit.parts().branch_circuits[0];
    let conductors = slotwise::protection::circuit_conductors(circuit, branch);
    put("leakage-clamp", Place::Around { conductors });
    requests
}

/// A reading as it is written down: every figure to six digits, a volt to a millivolt, and the
/// parts of a phasor to the digits of its magnitude.
fn written(reading: &Reading) -> String {
    let mut value = serde_json::to_value(reading).unwrap();
    rounded(&mut value);
    value.to_string()
}

fn rounded(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Number(number) => {
            let figure = number.as_f64().unwrap();
            let digits = 6 - 1 - figure.abs().max(1e-3).log10().floor() as i32;
            let scale = 10_f64.powi(digits);
            *value = ((figure * scale).round() / scale + 0.0).into();
        }
        serde_json::Value::Array(all) => all.iter_mut().for_each(rounded),
        serde_json::Value::Object(all) => {
            let parts = ["re", "im"].map(|part| all.get(part).and_then(|part| part.as_f64()));
            let rms = all.get("rms").and_then(serde_json::Value::as_f64);
            all.values_mut().for_each(rounded);
            if let ([Some(re), Some(im)], Some(rms)) = (parts, rms.filter(|rms| *rms != 0.0)) {
                let scale = 10_f64.powi(6 - 1 - rms.max(1e-3).log10().floor() as i32);
                let [re, im] = [re, im].map(|part| (part * scale).round() / scale + 0.0);
                let degrees = (im.atan2(re).to_degrees() * 1e3).round() / 1e3 + 0.0;
                for (part, figure) in [("re", re), ("im", im), ("degrees", degrees)] {
                    all.insert(part.to_owned(), figure.into());
                }
            }
            // What is nothing has no angle.
            if all.get("rms").and_then(serde_json::Value::as_f64) == Some(0.0) {
                all.insert("degrees".to_owned(), 0.into());
            }
        }
        _ => {}
    }
}

#[test]
fn instruments_everywhere_show_in_many_conditions_what_each_condition_alone_shows() {
    for (name, step) in [("toll-house", 5), ("boathouse", 23), ("bakery", 37)] {
        let circuit = circuit(name);
        let requests = everywhere(&circuit);
        let catalogue = catalogue(&circuit);
        let faults = catalogue.faults();
        let changes: Vec<Condition> = faults.iter().map(|fault| fault.change.clone()).collect();
        let many = ManyReadings::new(&circuit, &Condition::default(), &changes, &requests).unwrap();
        let mut work = many.work();
        let mut chance = Chance::new(name.len() as u64);
        let singles = (0..faults.len()).step_by(step).map(|fault| vec![fault]);
        let pairs: Vec<Vec<usize>> = (0..20)
            .map(|_| vec![chance.below(faults.len()), chance.below(faults.len())])
            .filter(|two| two[0] != two[1] && !faults[two[0]].excludes(&faults[two[1]]))
            .collect();
        for made in singles.chain(pairs) {
            let condition = many.conditions().condition(&made);
            let (fast, alone) =
                (many.readings(&made, &mut work), measure(&circuit, &condition, &requests));
            let (Ok(fast), Ok(alone)) = (&fast, &alone) else {
                assert_eq!(fast.is_err(), alone.is_err(), "{name}, {made:?}");
                continue;
            };
            assert_eq!(fast.len(), requests.len());
            for (fast, alone) in fast.iter().zip(alone) {
                assert_eq!(
                    written(fast),
                    written(alone),
                    "{name}, {}",
                    faults[made[0]].sentence(&circuit)
                );
            }
        }
        let whole = work.solved_whole() as f64 / work.answered() as f64;
        println!("{name}: {} conditions, {} whole", work.answered(), work.solved_whole());
        // The boathouse has a ground that nothing joins to anything: its potential is undetermined,
        // which each network says for itself.
        let most = if name == "boathouse" { 1.0 } else { 0.25 };
        assert!(whole <= most, "{name}: {whole} of the conditions were laid out whole");
    }
}

#[test]
fn pairs_of_faults_asked_for_together_show_what_each_pair_shows_alone() {
    for name in ["toll-house", "bakery", "pottery-studio"] {
        let circuit = circuit(name);
        let catalogue = catalogue(&circuit);
        let changes: Vec<Condition> =
            catalogue.faults().iter().map(|fault| fault.change.clone()).collect();
        let groups = [pairs(&circuit)];
        let many = ManyConditions::new(&circuit, &Condition::default(), &changes, &groups).unwrap();
        let (mut together, mut alone) = (many.work(), many.work());
        // Some faults with all others, themselves and contraries among them, and one that there is not.
        let firsts = (0..changes.len()).step_by(changes.len() / 6);
        let all = 0..=changes.len();
        let sets: Vec<Vec<usize>> = firsts
            .flat_map(|first| all.clone().map(move |second| vec![first, second]))
            .chain([vec![], vec![changes.len() / 2]])
            .collect();
        let last = sets.len() - 1;
        let mut n_told = vec![0; sets.len()];
        let mut worst: f64 = 0.0;
        let (mut n_answers, mut n_refused) = (0, 0);
        many.read_each(&sets, 0, &mut together, |place, seen| {
            n_told[place] += 1;
            let put = many.put(&sets[place], &mut alone);
            let expected = put.and_then(|()| many.read(0, &mut alone));
            let (Ok(seen), Ok(expected)) = (&seen, &expected) else {
                assert_eq!(seen.is_err(), expected.is_err(), "{name}, {:?}", sets[place]);
                n_refused += 1;
                return;
            };
            n_answers += 1;
            assert_eq!(seen.len(), groups[0].len());
            for (seen, expected) in seen.iter().zip(*expected) {
                for burden in [None, Some(40e3), Some(12.0)] {
                    let shown = |sight: &PortSight| match burden {
                        Some(ohm) => sight.behind(Impedance::resistance(ohm)),
                        None => sight.voltage_volt,
                    };
                    let (Some(seen), Some(expected)) = (shown(seen), shown(expected)) else {
                        assert_eq!(shown(seen).is_none(), shown(expected).is_none());
                        continue;
                    };
                    let size = expected.magnitude().max(VOLTAGE_FLOOR_VOLT);
                    worst = worst.max((seen - expected).magnitude() / size);
                }
            }
        })
        .unwrap();
        println!("{name}: {n_answers} together, {n_refused} refused, worst {worst:.1e}");
        assert!(worst <= TOGETHER_TOLERANCE, "{name}: {worst:e}");
        assert!(n_told.iter().all(|&n| n == 1) && n_refused > 0 && n_answers > 5 * n_refused);
        assert_eq!(together.answered(), alone.answered());
        // The last of them is what is put.
        let held = many.read(0, &mut together).unwrap().to_vec();
        many.put(&sets[last], &mut alone).unwrap();
        let expected = many.read(0, &mut alone).unwrap();
        let apart = |(a, b): (&PortSight, &PortSight)| {
            (a.voltage_volt.unwrap() - b.voltage_volt.unwrap()).magnitude()
        };
        assert!(held.iter().zip(expected).all(|ports| apart(ports) < 1e-9));
    }
}

#[test]
fn a_tester_in_every_receptacle_in_turn_reads_in_pairs_of_faults_what_it_reads_in_each_alone() {
    let ohm = |ohm| Some(Impedance::resistance(ohm));
    // A tester, a load seen by a meter, and a load alone.
    for burden in [[ohm(40e3); 3], [ohm(12.0), ohm(10e6), None], [None, None, ohm(12.0)]] {
        for circuit in [circuit("pottery-studio"), run(6, &[("heater", 5, 1200)])] {
            let changes: Vec<Condition> =
                catalogue(&circuit).faults().iter().map(|fault| fault.change.clone()).collect();
            let groups = [by_three(&circuit)];
            let sound = Condition::default();
            let many = ManyConditions::new(&circuit, &sound, &changes, &groups).unwrap();
            let (mut together, mut alone) = (many.work(), many.work());
            let firsts = (0..changes.len()).step_by(changes.len().div_ceil(7));
            let sets: Vec<[usize; 2]> = firsts
                .flat_map(|first| (0..changes.len()).map(move |second| [first, second]))
                .collect();
            let (mut n_told, mut n_read, mut worst) = (vec![0; sets.len()], 0, 0.0_f64);
            many.read_attached_each(&sets, (0, burden), &mut together, |place, volts| {
                n_told[place] += 1;
                let put = many.put(&sets[place], &mut alone);
                let expected = put.and_then(|()| many.read(0, &mut alone));
                let (Ok(volts), Ok(expected)) = (&volts, &expected) else {
                    assert_eq!(volts.is_err(), expected.is_err(), "{:?}", sets[place]);
                    return;
                };
                let (receptacles, _) = expected.as_chunks();
                assert_eq!(volts.len(), receptacles.len());
                for (volts, ports) in volts.iter().zip(receptacles) {
                    let expected = SlotsSight::attached_to(ports, burden);
                    let (Some(volts), Some(expected)) = (volts, expected) else {
                        assert_eq!(volts.is_none(), expected.is_none(), "{:?}", sets[place]);
                        continue;
                    };
                    n_read += 1;
                    // What is seen between two ports has the last digits of what a slot hangs on.
                    let size = |z: Impedance| z.resistance_ohm.hypot(z.reactance_ohm);
                    let seen_ohm = |port: &PortSight| size(port.impedance.unwrap());
                    let most_ohm = ports.iter().map(seen_ohm).fold(0.0, f64::max);
                    let ampere = |(burden, volt): (&Option<Impedance>, Phasor)| {
                        burden.map_or(0.0, |burden| volt.magnitude() / size(burden))
                    };
                    let ampere: f64 = burden.iter().zip(expected).map(ampere).sum();
                    let rounding_volt = 16.0 * f64::EPSILON * most_ohm * ampere;
                    for (volts, expected) in volts.iter().zip(expected) {
                        let size = expected.magnitude().max(VOLTAGE_FLOOR_VOLT);
                        let apart = (*volts - expected).magnitude();
                        worst = worst.max((apart - rounding_volt) / size);
                    }
                }
            })
            .unwrap();
            println!("{n_read} readings, worst {worst:.1e}");
            assert!(worst <= TOGETHER_TOLERANCE, "{worst:e}");
            assert!(n_told.iter().all(|&n| n == 1) && n_read > sets.len());
            assert_eq!(together.answered(), alone.answered());
        }
    }
}

#[test]
fn what_is_not_there_is_an_error_and_no_answer() {
    let circuit = circuit("pottery-studio");
    let changes: Vec<Condition> =
        catalogue(&circuit).faults().iter().take(2).map(|fault| fault.change.clone()).collect();
    let of = |pairs: &[(Address, Address)]| {
        let base = Condition::default();
        ManyConditions::new(&circuit, &base, &changes, &[pairs.to_vec()]).unwrap()
    };
    let pairs = pairs(&circuit);
    let (many, small) = (of(&pairs), of(&pairs[..1]));
    let mut work = many.work();
    assert!(many.put(&[99], &mut work).is_err());
    many.put(&[0], &mut work).unwrap();
    assert!(many.read(7, &mut work).is_err());
    assert!(many.read(0, &mut work).is_ok());
    // The room of another: an error, neither an answer nor a panic.
    let mut other = small.work();
    assert!(many.put(&[0], &mut other).is_err());
    assert!(many.read_each(&[[0]], 0, &mut other, |_, _| panic!("an answer")).is_err());
    assert!(many.read_each(&[[0]], 7, &mut work, |_, _| panic!("an answer")).is_err());
    small.put(&[0], &mut other).unwrap();
    assert!(many.read(0, &mut other).is_err());
    let readings = ManyReadings::new(&circuit, &Condition::default(), &changes, &[]).unwrap();
    assert!(readings.readings(&[44], &mut readings.work()).is_err());
}

#[test]
fn voltages_alone_are_those_that_are_told_with_the_impedances() {
    let circuit = circuit("toll-house");
    let changes: Vec<Condition> =
        catalogue(&circuit).faults().iter().map(|fault| fault.change.clone()).collect();
    let groups = [pairs(&circuit)];
    let many = ManyConditions::new(&circuit, &Condition::default(), &changes, &groups).unwrap();
    let sets: Vec<[usize; 2]> = (1..changes.len().min(60)).map(|other| [0, other]).collect();
    let (mut work, mut alone) = (many.work(), many.work());
    let mut n_told = vec![0; sets.len()];
    many.read_voltages_each(&sets, 0, &mut work, |place, seen| {
        n_told[place] += 1;
        let put = many.put(&sets[place], &mut alone);
        let expected = put.and_then(|()| many.read(0, &mut alone));
        let (Ok(seen), Ok(expected)) = (&seen, &expected) else {
            assert_eq!(seen.is_err(), expected.is_err(), "{:?}", sets[place]);
            return;
        };
        for (seen, expected) in seen.iter().zip(*expected) {
            assert_eq!(seen.impedance, None);
            assert_eq!(seen.voltage_volt.is_some(), expected.voltage_volt.is_some());
            if let (Some(seen), Some(expected)) = (seen.voltage_volt, expected.voltage_volt) {
                let size = expected.magnitude().max(VOLTAGE_FLOOR_VOLT);
                assert!((seen - expected).magnitude() <= TOGETHER_TOLERANCE * size);
            }
        }
    })
    .unwrap();
    assert!(n_told.iter().all(|&n| n == 1), "each is told once");
    let none = many.read_voltages_each(&sets, 1, &mut work, |_, _| panic!("an answer"));
    assert!(none.is_err(), "there is no such group");
}
