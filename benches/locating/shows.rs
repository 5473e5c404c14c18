//! Whether some troubles show in anything that is looked at live, beside the others.

use crate::building::Building;
use crate::hidden::{HOT, Hidden, NEUTRAL, Trouble};
use crate::network::C;
use crate::person::PAIRS;
use crate::wired::{Input, Sitting, Standing, Volts};

/// A meter of ten megohms, and a test load of eight ohms.
const METER_SIEMENS: f64 = 1e-7;
const LOAD_SIEMENS: f64 = 0.125;

/// Figures this far apart are told from each other, volts; and potentials by a detector.
const TOLD_VOLT: f64 = 1.0;
const FELT_VOLT: f64 = 20.0;

/// Whether any reading at any receptacle, loads as described or off, is another without these.
pub(crate) fn shows(building: &Building, hidden: &Hidden, troubles: &[Trouble]) -> bool {
    let mut without = hidden.clone();
    without.troubles.retain(|one| !troubles.contains(one));
    let all_off = building.loads.iter().map(|load| (load.id.clone(), false)).collect();
    let settings = [Standing::default(), Standing { loads: all_off, ..Standing::default() }];
    settings.into_iter().any(|standing| {
        let sitting = |hidden| Sitting { building, hidden, standing: standing.clone() };
        differ(building, &sitting(hidden), &sitting(&without))
    })
}

fn differ(building: &Building, one: &Sitting<'_>, other: &Sitting<'_>) -> bool {
    let pair = |inputs: &[Input]| Some((one.volts(inputs)?, other.volts(inputs)?));
    let Some((bare, sound)) = pair(&[]) else { return true };
    let boxes = 0..=building.boxes.len();
    if bare.tripped != sound.tripped {
        return true;
    }
    boxes.into_iter().any(|at| {
        let potential = |wire| (bare.slot(at, wire).norm() - sound.slot(at, wire).norm()).abs();
        let read = |siemens: f64, wires: (usize, usize), seen: &[(usize, usize)]| {
            let input = Input { at, wires, y: C::new(siemens, 0.0) };
            let Some((a, b)) = pair(&[input]) else { return true };
            let across = |volts: &Volts, wires| volts.across(at, wires).norm();
            seen.iter().any(|&wires| (across(&a, wires) - across(&b, wires)).abs() > TOLD_VOLT)
        };
        (0..3).any(|wire| potential(wire) > FELT_VOLT)
            || PAIRS.iter().any(|&wires| read(METER_SIEMENS, wires, &[wires]))
            || read(LOAD_SIEMENS, (HOT, NEUTRAL), &PAIRS)
    })
}
