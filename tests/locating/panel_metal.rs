//! Where the panel's own metal may be live nobody is sent to it.

use slotwise::circuit::Circuit;
use slotwise::diagnosis::{
    Account, Advice, Because, Inquiry, NextTest, Observation, PanelMetal, Seen, words,
};
use slotwise::report::LocateReport;
use slotwise::report::locate::NextReport;

use crate::call::{answers, circuit, condition};

/// Both legs from a metal panel, and more of them in a shed.
const TANNERY: &str = r#"(
    format: 1,
    name: "Tannery",
    circuits: [
        (id: "c1", amperes: 20),
        (id: "c2", amperes: 20, leg: "L2"),
        (id: "feed", amperes: 40, legs: ["L1", "L2"]),
        (id: "s1", amperes: 20, panel: "shed"),
    ],
    subpanels: [(id: "shed", from: "feed", feet: 60)],
    boxes: [
        (id: "door", from: "c1", feet: 20),
        (id: "vat", from: "c2", feet: 25),
        (id: "press", from: "s1", feet: 12),
    ],
    loads: [
        (id: "heater", at: "door", kind: Resistive(watts: 1200), metal_case: true),
        (id: "fan", at: "vat", kind: Resistive(watts: 200), metal_case: true),
        (id: "lamp", at: "press", kind: Filament(watts: 60), metal_case: false),
        (id: "drum", at: "press", on: false, kind: Motor(watts: 700), metal_case: true),
    ],
)"#;

/// What is switched for a test that nobody may switch where the panel's metal is as it is.
fn touched(circuit: &Circuit, metal: PanelMetal, test: &NextTest) -> Vec<String> {
    let is_of_metal = |load: &&String| circuit.load(load).is_none_or(|load| load.frame.is_some());
    let loads = test.switch.keys();
    let loads: Vec<String> = match metal {
        PanelMetal::NotLive => Vec::new(),
        PanelMetal::MayBeLive => loads.filter(is_of_metal).cloned().collect(),
        PanelMetal::Live => loads.cloned().collect(),
    };
    let off = test.moment.condition.breakers.iter().filter(|(_, closed)| !**closed);
    let handles = test.breakers.keys().chain(off.map(|(name, _)| name)).cloned();
    match metal {
        PanelMetal::NotLive => Vec::new(),
        _ => loads.into_iter().chain(handles).collect(),
    }
}

/// Follows the advice to its end and says how things were with the panel at each step.
fn followed(circuit: &Circuit, complaints: &str, truth: &str) -> Vec<PanelMetal> {
    let truth = condition(circuit, &[truth]);
    let complaints = words::complaints(circuit, complaints).unwrap();
    let mut account = Account { complaints, ..Account::default() };
    let mut inquiry = Inquiry::of(circuit, &account).unwrap();
    let mut seen = Vec::new();
    for _ in 0..30 {
        let metal = inquiry.panel_metal();
        seen.push(metal);
        let advice = inquiry.advise();
        let report = LocateReport::new(&inquiry, &advice).unwrap();
        match (&advice, &report.next) {
            (Advice::Test(test), _) => {
                let touched = touched(circuit, metal, test);
                assert!(touched.is_empty(), "{metal:?}: {touched:?} for {test:?}");
                let answers = answers(circuit, &truth, test);
                inquiry.observe_all(&answers).unwrap();
                account.observations.extend(answers);
            }
            (Advice::Stop(stop), NextReport::Stop(told)) => {
                let is_sent = stop.because == Because::HandleFirst
                    && ["panel", "shed"].contains(&&*stop.go_to[0].place);
                assert!(metal == PanelMetal::NotLive || !is_sent, "{metal:?}: {stop:?}");
                if metal == PanelMetal::Live {
                    assert_eq!(stop.because, Because::PanelLive);
                    assert!(told.go_to.is_empty(), "{told:?}");
                }
                if metal != PanelMetal::NotLive {
                    assert!(!told.says.starts_with("With the breaker off"), "{}", told.says);
                    assert!(!told.says.starts_with("Switch"), "{}", told.says);
                }
                let act = report.suspects.iter().filter_map(|one| one.parted_by.as_ref());
                for act in act.filter(|_| metal != PanelMetal::NotLive) {
                    assert!(act.ends_with("proven dead"), "{act}");
                }
                if stop.because != Because::HandleFirst {
                    return seen;
                }
                let handle = stop.go_to[0].name.clone().unwrap();
                let tools = &account.means.tools;
                let holds = words::observations(circuit, tools, &format!("{handle} holds"));
                let holds: Vec<Observation> = holds.unwrap();
                assert!(matches!(holds[0].seen, Seen::Protection { .. }), "{holds:?}");
                inquiry.observe_all(&holds).unwrap();
                account.observations.extend(holds);
            }
            other => panic!("{other:?}"),
        }
    }
    panic!("it never stops")
}

#[test]
fn nobody_is_sent_to_a_panel_that_may_be_live_nor_switches_what_is_joined_to_it() {
    let tannery = circuit(TANNERY);
    let cases = [
        ("some lights bright, others dim", "service neutral open"),
        ("fan brightens when heater runs", "service neutral 12 ohm"),
        ("tingle at heater", "hot and frame bridged at heater; ground open at door, line side"),
        ("tingle at vat; c1 trips at once", "service neutral open"),
        ("tingle at drum; press dead", "hot and frame bridged at heater; ground open at c1, bar"),
        ("shock from panel", "service neutral open"),
    ];
    let mut met = Vec::new();
    for (complaints, truth) in cases {
        met.extend(followed(&tannery, complaints, truth));
    }
    for metal in [PanelMetal::NotLive, PanelMetal::MayBeLive, PanelMetal::Live] {
        assert!(met.contains(&metal), "{metal:?} was never met: {met:?}");
    }
}
