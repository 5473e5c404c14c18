//! What the instruments show that are not in the first table of faults.

use slotwise::circuit::{Circuit, Outlet};
use slotwise::condition::Condition;
use slotwise::instrument::{
    Place, Preparation, Reading, Request, Shown, Through, measure, place_of_outlet, presets,
};
use slotwise::protection::circuit_conductors;

/// The circuit that a clamp meter is put around, and the ground-fault device with a button.
const CIRCUIT: &str = "c1";
const GROUND_FAULT: &str = "grinder.gf";

pub(crate) fn head() -> String {
    "| fault | held at | loads | solid-state tester | its button passes | solenoid | two-pole | \
     clamp on c1 | ohmmeter | insulation | device's own button | person |\n\
     |---|---|---|---|---|---|---|---|---|---|---|---|\n"
        .to_owned()
}

/// One cell for each column.
pub(crate) fn cells(workshop: &Circuit, condition: &Condition, outlet: &Outlet) -> Vec<String> {
    let requests = requests(workshop, outlet);
    let readings = measure(workshop, condition, &requests).unwrap();
    let words: Vec<String> = readings.iter().map(word).collect();
    let together = |from: usize, to: usize| words[from..to].join(", ");
    vec![
        words[0].clone(),
        words[1].clone(),
        together(2, 5),
        together(5, 8),
        together(8, 10),
        together(10, 13),
        together(13, 16),
        words[16].clone(),
        together(17, 19),
    ]
}

const PAIRS: [(&str, &str); 3] = [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")];

fn requests(workshop: &Circuit, outlet: &Outlet) -> Vec<Request> {
    let slot = |name: &str| outlet.slots.iter().find(|(slot, _)| slot == name).unwrap().1.clone();
    let plugged = |instrument| Request::new(instrument, place_of_outlet(outlet, false));
    let branch = workshop.branch_circuit(CIRCUIT).unwrap();
    let all = circuit_conductors(workshop, branch);
    let breakers: Vec<String> =
        workshop.parts().branch_circuits.iter().map(|c| format!("breaker:{}", c.id)).collect();
    let branches = workshop.parts().branch_circuits.iter();
    let neutrals = branches
        .flat_map(|branch| circuit_conductors(workshop, branch))
        .map(|through| through.element)
        .filter(|element| element.ends_with(".neutral"));
    let lifted: Vec<String> = breakers.iter().cloned().chain(neutrals).collect();
    let hot = Through { element: format!("breaker:{CIRCUIT}"), sign: 1.0 };
    let mut requests = vec![
        plugged(presets::plug_tester_solid_state()),
        plugged(presets::plug_tester_button_pressed()),
    ];
    for instrument in [presets::solenoid_tester(), presets::two_pole_detector()] {
        requests.extend(
            PAIRS.map(|(p, q)| Request::new(instrument.clone(), Place::between(slot(p), slot(q)))),
        );
    }
    for conductors in [vec![hot], all] {
        requests.push(Request::new(presets::clamp_meter(), Place::Around { conductors }));
    }
    for (instrument, isolate) in
        [(presets::ohmmeter(), breakers), (presets::insulation_tester_500v(), lifted)]
    {
        requests.extend(PAIRS.map(|(p, q)| Request {
            preparation: Preparation { isolate: isolate.clone(), ..Preparation::default() },
            ..Request::new(instrument.clone(), Place::between(slot(p), slot(q)))
        }));
    }
    let device = GROUND_FAULT.to_owned();
    requests.push(Request::new(presets::own_test_button(), Place::Device { device }));
    requests.extend(["neutral", "ground"].map(|touched| {
        Request::new(presets::person_hand_to_feet_low(), Place::between(slot(touched), "earth"))
    }));
    requests
}

fn word(reading: &Reading) -> String {
    let milliampere = |ampere: f64| match ampere * 1e3 {
        ma if ma < 0.05 => "0 mA".to_owned(),
        ma if ma < 9.95 => format!("{ma:.1} mA"),
        ma => format!("{ma:.0} mA"),
    };
    match &reading.shown {
        Shown::PlugTester(shown) => match shown.button_ampere {
            Some(current) => milliampere(current.magnitude()),
            None => {
                let states: Vec<&str> = shown.indicators.iter().map(|one| one.state).collect();
                states.join(", ")
            }
        },
        Shown::StepTester(shown) => shown.step.clone().unwrap_or_else(|| "nothing".to_owned()),
        Shown::Clamp(shown) => shown.display.text.clone(),
        Shown::Ohmmeter(shown) => shown.display.text.clone(),
        Shown::Insulation(shown) => shown.display.text.clone(),
        Shown::Residual(shown) => shown.state.to_owned(),
        Shown::Person(shown) => milliampere(shown.body_ampere.magnitude()),
        other => panic!("{other:?}"),
    }
}
