//! What a customer would notice of what is wrong.

use crate::circuit::{Circuit, Load, LoadKind, PlaceKind};
use crate::condition::{Condition, LoadState};
use crate::diagnosis::{Complaint, WhenItTrips, place_of_load};
use crate::hazard::{HazardKind, Severity};
use crate::instrument::MeasureProblem;
use crate::protection::operate;

use super::scene::{LoadsStand, Scene, Standing};

/// Share of its voltage below which a load does nothing that anyone would call running.
const DEAD_BELOW: f64 = 0.3;

/// Share below which it is seen to run weakly: a filament at 0.87 of its voltage gives 0.6 of its
/// light.
const WEAK_BELOW: f64 = 0.87;

/// Share above which it is seen to run too strongly.
const BRIGHT_ABOVE: f64 = 1.08;

/// Heat at a joint from which a cover plate is warm to the hand, watts.
const WARM_WATT: f64 = 5.0;

/// What a load does, as seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Runs {
    Well,
    Dead,
    Weakly,
    TooBright,
}

/// What is noticed with the loads as found; nothing where nobody would notice.
pub(super) fn complaints(
    scene: &Scene<'_>,
    hidden: &Condition,
    standing: &Standing,
) -> Result<Vec<Complaint>, MeasureProblem> {
    if let Some(breaker) = standing.tripped.first() {
        let when = when_it_trips(scene, hidden, breaker)?;
        return Ok(vec![Complaint::Trips { breaker: breaker.clone(), when }]);
    }
    let on: Vec<&Load> = on(scene.circuit).collect();
    let those = |wanted: Runs| -> Vec<&Load> {
        on.iter().copied().filter(|load| runs(scene, standing, load) == wanted).collect()
    };
    let mut said = Vec::new();
    match those(Runs::Dead).as_slice() {
        [] => {}
        [only] => said.push(Complaint::LoadDead { load: only.id.clone() }),
        several => {
            let mut places: Vec<String> =
                several.iter().filter_map(|load| place_of_load(scene.circuit, load)).collect();
            places.dedup();
            said.push(Complaint::Dead { places });
        }
    }
    for (state, weak) in [(Runs::Weakly, true), (Runs::TooBright, false)] {
        let such = those(state);
        let Some(first) = such.first() else { continue };
        let loads = such.iter().map(|load| load.id.clone()).collect();
        let when = made_so_by(scene, hidden, first, state)?;
        said.push(match weak {
            true => Complaint::Dim { loads, places: Vec::new(), when },
            false => Complaint::Bright { loads, places: Vec::new(), when },
        });
    }
    said.extend(felt(scene, standing));
    said.extend(trips_later(scene, standing));
    Ok(said)
}

/// Who is told that something trips sees it within this time, seconds.
const WAITED_S: f64 = 3600.0;

/// What trips after a while, everything as found.
fn trips_later(scene: &Scene<'_>, standing: &Standing) -> Option<Complaint> {
    // What no fault makes carry more is no complaint of this drill.
    let first = |standing: &Standing| {
        let sequence = operate(scene.circuit, &standing.condition).ok()?;
        let step = sequence.steps.into_iter().next()?;
        step.after.latest_s.is_some_and(|latest| latest <= WAITED_S).then_some(step.device)
    };
    let breaker = first(standing)?;
    (first(scene.sound()).as_ref() != Some(&breaker))
        .then_some(Complaint::Trips { breaker, when: WhenItTrips::AfterAWhile })
}

/// The loads that are on as found.
fn on(circuit: &Circuit) -> impl Iterator<Item = &Load> {
    circuit.parts().loads.iter().filter(|load| load.on && load.plugged_in)
}

fn runs(scene: &Scene<'_>, standing: &Standing, load: &Load) -> Runs {
    let volt = |of: &Standing| {
        let element = of.netlist.find_element(&format!("load:{}", load.id))?;
        Some(of.solution.voltage(element).magnitude())
    };
    let (Some(gets), Some(should)) = (volt(standing), volt(scene.sound())) else {
        return Runs::Well;
    };
    // What gets nothing in the circuit as installed, behind an open switch, is not missed.
    if should < 1.0 {
        return Runs::Well;
    }
    let cut_out = match load.kind {
        LoadKind::ConstantPower { cut_out_volt, .. } => cut_out_volt,
        _ => 0.0,
    };
    // Thousandths, so that no last bit decides.
    match (gets / should * 1000.0).round() / 1000.0 {
        share if share < DEAD_BELOW || gets < cut_out => Runs::Dead,
        // Electronics run the same on less.
        share if share < WEAK_BELOW && cut_out == 0.0 => Runs::Weakly,
        share if share > BRIGHT_ABOVE => Runs::TooBright,
        _ => Runs::Well,
    }
}

/// The load without which another would run as it should.
fn made_so_by(
    scene: &Scene<'_>,
    hidden: &Condition,
    load: &Load,
    state: Runs,
) -> Result<Option<String>, MeasureProblem> {
    for other in on(scene.circuit).filter(|other| other.id != load.id) {
        let without = without(&[other]);
        if runs(scene, &scene.standing(hidden, &without)?, load) != state {
            return Ok(Some(other.id.clone()));
        }
    }
    Ok(None)
}

fn when_it_trips(
    scene: &Scene<'_>,
    hidden: &Condition,
    breaker: &str,
) -> Result<WhenItTrips, MeasureProblem> {
    let trips = |off: &[&Load]| -> Result<bool, MeasureProblem> {
        let standing = scene.standing(hidden, &without(off))?;
        Ok(standing.tripped.iter().any(|name| name == breaker))
    };
    let all: Vec<&Load> = on(scene.circuit).collect();
    if trips(&all)? {
        return Ok(WhenItTrips::AtOnce);
    }
    for load in &all {
        if !trips(&[load])? {
            return Ok(WhenItTrips::WithLoad { load: load.id.clone() });
        }
    }
    Ok(WhenItTrips::AtOnce)
}

fn without(loads: &[&Load]) -> LoadsStand {
    let off = loads.iter().map(|load| (load.id.clone(), LoadState::Off)).collect();
    LoadsStand { name: String::new(), loads: off }
}

/// What is felt by hand: a tingle from a case, a warm plate.
fn felt(scene: &Scene<'_>, standing: &Standing) -> Vec<Complaint> {
    let circuit = scene.circuit;
    let mut said = Vec::new();
    for hazard in scene.hazards(standing) {
        let complaint = match hazard.kind {
            HazardKind::EnergisedCase { .. } => hazard.addresses.iter().find_map(|address| {
                let loads = &circuit.parts().loads;
                let load = loads.iter().find(|load| load.frame.as_ref() == Some(address))?;
                Some(Complaint::Tingle { from: load.id.clone() })
            }),
            HazardKind::HeatingJoint { watt, .. }
                if watt >= WARM_WATT && hazard.severity <= Severity::Warning =>
            {
                let address = hazard.addresses.first();
                let joint = address.and_then(|address| circuit.joint(address));
                let place = joint.and_then(|joint| circuit.place(&joint.place));
                place
                    .filter(|place| place.kind == PlaceKind::Box)
                    .map(|place| Complaint::Warm { place: place.id.clone() })
            }
            _ => None,
        };
        said.extend(complaint.filter(|complaint| !said.contains(complaint)));
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_trips_after_some_minutes_is_told_by_whoever_calls() {
        let text = r#"(format: 1, circuits: [(id: "c1", amperes: 20)],
            boxes: [(id: "door", from: "c1", feet: 20)],
            loads: [(id: "heater", at: "door", kind: Resistive(watts: 2300))])"#;
        let circuit = crate::circuit::file::read(text).unwrap().circuit;
        let scene = Scene::new(&circuit).unwrap();
        let told = |words: &str| {
            let mut hidden = Condition::default();
            hidden.say(&circuit, words).unwrap();
            let standing = scene.standing(&hidden, &LoadsStand::as_found()).unwrap();
            complaints(&scene, &hidden, &standing).unwrap()
        };
        let later = Complaint::Trips { breaker: "c1".to_owned(), when: WhenItTrips::AfterAWhile };
        let said = told("supply 178 V");
        assert!(said.len() == 2 && said.contains(&later), "{said:?}");
        assert!(!told("supply 133 V").contains(&later));
    }
}
