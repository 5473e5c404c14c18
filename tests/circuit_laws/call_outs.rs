//! The circuits that come with the program, with every joint that a person can point at open.

use std::fs;
use std::path::Path;

use slotwise::circuit::{Circuit, file};
use slotwise::condition::{Condition, Fault, Gap};
use slotwise::netlist::Wiring;
use slotwise::solution::solve;

use crate::faults::BALANCE_AMPERE;

fn circuits() -> Vec<(String, Circuit)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits");
    let mut paths: Vec<_> =
        fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "ron"));
    paths.sort();
    let read = |path: &Path| {
        let text = fs::read_to_string(path).unwrap();
        (path.display().to_string(), file::read(&text).unwrap().circuit)
    };
    paths.iter().map(|path| read(path)).collect()
}

#[test]
fn a_joint_open_in_any_call_out_leaves_it_balanced() {
    let circuits = circuits();
    assert!(circuits.len() >= 12);
    for (path, circuit) in &circuits {
        let wiring = Wiring::new(circuit);
        for joint in &circuit.parts().joints {
            let open = Fault::Open { element: joint.element.clone(), gap: Gap::NONE };
            let condition = Condition { faults: vec![open], ..Condition::default() };
            let netlist = wiring.netlist(&condition).unwrap();
            let solution = solve(&netlist)
                .unwrap_or_else(|refusal| panic!("{path}, {}: {refusal}", joint.address));
            let residual = solution.residual_ampere();
            assert!(residual < BALANCE_AMPERE, "{path}, {}: {residual} A", joint.address);
        }
    }
}
