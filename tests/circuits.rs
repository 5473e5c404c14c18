//! Every call-out in `circuits/`: it reads without a word of complaint, every condition named
//! in it solves, and the laws hold in each.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::fs;
use std::path::{Path, PathBuf};

use slotwise::circuit::Circuit;
use slotwise::circuit::file::{self, CircuitFile};
use slotwise::condition::file::NamedCondition;
use slotwise::condition::{self, Condition};
use slotwise::hazard::Severity;
use slotwise::netlist::wire;
use slotwise::report::{Asked, ReadReport};
use slotwise::solution::solve;

/// Current that may be missing at a terminal, amperes: rounding of currents of a kiloampere.
const RESIDUAL_AMPERE_MAX: f64 = 1e-9;

/// Power that may be missing, as a share of what is supplied: rounding, and the convergence of
/// nonlinear loads.
const POWER_SHARE_MAX: f64 = 1e-9;

fn circuits() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits");
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|kind| kind == "ron"));
    paths.sort();
    paths
}

fn read(path: &Path) -> CircuitFile {
    let text = fs::read_to_string(path).unwrap();
    file::read(&text).unwrap_or_else(|problems| panic!("{}: {problems:#?}", path.display()))
}

/// The circuit, and it as described, then every condition named in it.
fn conditions(path: &Path) -> (Circuit, Vec<NamedCondition>) {
    let (file, text) = (read(path), fs::read_to_string(path).unwrap());
    let named = condition::file::of_circuit(&file, &text)
        .unwrap_or_else(|problems| panic!("{}: {problems:#?}", path.display()));
    let as_described =
        NamedCondition { name: "as described".to_owned(), condition: Condition::default() };
    (file.circuit, [as_described].into_iter().chain(named).collect())
}

#[test]
fn there_are_at_least_fourteen_call_outs_and_both_vocabularies() {
    let files: Vec<CircuitFile> = circuits().iter().map(|path| read(path)).collect();
    assert!(files.len() >= 14);
    let iec = files
        .iter()
        .filter(|f| f.circuit.parts().vocabulary == slotwise::circuit::Vocabulary::Iec)
        .count();
    assert!(iec >= 3 && files.len() - iec >= 3);
}

#[test]
fn every_circuit_reads_without_complaint_but_for_a_ground_that_is_missing() {
    for path in circuits() {
        let file = read(&path);
        let wrong: Vec<_> = file.remarks.iter().filter(|r| r.code != "no-ground").collect();
        assert!(wrong.is_empty(), "{}: {wrong:#?}", path.display());
    }
}

#[test]
fn every_circuit_says_what_it_teaches_and_names_a_condition() {
    for path in circuits() {
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.starts_with("// "), "{}", path.display());
        assert!(text.contains("teaches"), "{}", path.display());
        assert!(!read(&path).conditions.is_empty(), "{}", path.display());
    }
}

#[test]
fn current_and_power_balance_in_every_condition_of_every_circuit() {
    for path in circuits() {
        let (circuit, all) = conditions(&path);
        for NamedCondition { name, condition } in all {
            let at = format!("{}, {name}", path.display());
            let netlist = wire(&circuit, &condition).unwrap_or_else(|e| panic!("{at}: {e}"));
            let solution = solve(&netlist).unwrap_or_else(|e| panic!("{at}: {e}"));
            assert!(solution.residual_ampere() <= RESIDUAL_AMPERE_MAX, "{at}");
            let balance = solution.power_balance();
            let share = balance.mismatch_watt.abs() / balance.supplied_watt.max(1.0);
            assert!(share <= POWER_SHARE_MAX, "{at}: {share:e}");
        }
    }
}

#[test]
fn every_condition_of_every_circuit_has_a_report() {
    for path in circuits() {
        let (circuit, all) = conditions(&path);
        for NamedCondition { name, condition } in all {
            let report = ReadReport::new(&circuit, &condition, &Asked::default())
                .unwrap_or_else(|e| panic!("{}, {name}: {e}", path.display()));
            let text =
                slotwise::report::text::read(&report, slotwise::report::text::Emphasis::PLAIN);
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{}, {name}: {line}", path.display());
            }
        }
    }
}

#[test]
fn as_described_every_circuit_is_without_danger() {
    for path in circuits() {
        let file = read(&path);
        let report =
            ReadReport::new(&file.circuit, &Condition::default(), &Asked::default()).unwrap();
        let found: Vec<(&str, Severity)> =
            report.hazards.iter().map(|hazard| (hazard.kind, hazard.severity)).collect();
        // A rod without a residual device clears no fault, as the dairy teaches, nor does a signal
        // box of two wires; the boathouse has such a run behind its ground-fault device.
        let expected: &[(&str, Severity)] = match path.file_stem().and_then(|stem| stem.to_str()) {
            Some("dairy" | "signal-box") => &[("fault_not_cleared", Severity::Warning)],
            Some("boathouse") => &[("fault_not_cleared", Severity::Notice)],
            _ => &[],
        };
        assert_eq!(found, expected, "{}: {:#?}", path.display(), report.hazards);
    }
}

/// The kinds of hazard in one named condition of one circuit.
#[track_caller]
fn hazards(circuit: &str, name: &str) -> Vec<&'static str> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits");
    let (circuit, all) = conditions(&folder.join(circuit).with_extension("ron"));
    let named = all.iter().find(|condition| condition.name == name).unwrap();
    let report = ReadReport::new(&circuit, &named.condition, &Asked::default()).unwrap();
    report.hazards.iter().map(|hazard| hazard.kind).collect()
}

#[test]
fn an_open_neutral_makes_the_neutral_live_only_when_something_is_on_past_it() {
    assert!(hazards("pottery-studio", "loose-neutral").contains(&"energised_neutral"));
    assert_eq!(hazards("pottery-studio", "loose-neutral-idle"), ["open_neutral"]);
}

#[test]
fn a_lost_shared_neutral_burns_out_the_lighter_leg_and_starves_the_other() {
    let found = hazards("bakery", "shared-neutral-lost");
    assert!(found.contains(&"over_voltage"), "{found:?}");
    assert!(found.contains(&"under_voltage"), "{found:?}");
}

#[test]
fn a_bootleg_ground_with_hot_and_neutral_exchanged_makes_the_case_live() {
    assert_eq!(hazards("signal-box", "bootleg"), ["fault_not_cleared", "ground_on_neutral"]);
    let found = hazards("signal-box", "bootleg-and-exchanged");
    assert!(found.contains(&"energised_ground"), "{found:?}");
    assert!(found.contains(&"energised_case"), "{found:?}");
}

#[test]
fn a_bootleg_ground_past_an_open_neutral_leaves_every_contact_at_one_potential() {
    let found = hazards("signal-box", "bootleg-and-open-neutral");
    assert_eq!(found.first(), Some(&"all_contacts_live"), "{found:?}");
}

#[test]
fn a_fault_to_an_earth_rod_leaves_the_case_live() {
    assert!(hazards("dairy", "pump-insulation").contains(&"energised_case"));
}

#[test]
fn a_bad_joint_under_load_is_a_fire_hazard() {
    assert!(hazards("observatory", "bad-joint").contains(&"heating_joint"));
    assert!(hazards("observatory", "glowing-joint").contains(&"heating_joint"));
}

#[test]
fn a_lost_supply_neutral_with_one_conductor_for_both_makes_the_cases_live() {
    assert!(hazards("weaving-shed", "supply-neutral-lost").contains(&"energised_case"));
}

#[test]
fn a_circuit_on_the_high_leg_gets_far_too_much() {
    assert!(hazards("ice-house", "on-the-high-leg").contains(&"over_voltage"));
}

#[test]
fn a_broken_ring_is_a_hazard_only_by_what_it_can_come_to() {
    assert_eq!(hazards("village-hall", "ring-broken"), ["conductor_overload"]);
}
