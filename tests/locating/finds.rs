//! That the fault is found.

use slotwise::circuit::Circuit;
use slotwise::condition::Fault;
use slotwise::condition::catalogue::FaultKind;
use slotwise::diagnosis::{Advice, Because, Complaint, Inquiry, Means, Tool, words};

use crate::call::{self, chance, circuit, condition, locate};

/// A lean-to with three receptacles, something on at the last.
const LEAN_TO: &str = "(
    format: 1,
    name: \"Lean-to\",
    circuits: [(id: \"c1\", amperes: 15)],
    boxes: [
        (id: \"door\", from: \"c1\", feet: 25),
        (id: \"bench\", from: \"door\", feet: 12),
        (id: \"vat\", from: \"bench\", feet: 14),
    ],
    loads: [(id: \"heater\", at: \"vat\", kind: Resistive(watts: 900))],
)";

fn two_tools() -> Means {
    let tools = ["tester", "non-contact"];
    Means { tools: tools.iter().filter_map(|t| Tool::preset(t)).collect(), ..Means::default() }
}

#[test]
fn an_open_neutral_is_found_by_tests_alone() {
    let lean_to = circuit(LEAN_TO);
    let truth = condition(&lean_to, &["neutral open at vat, line side"]);
    let dead = Complaint::DeadFrom { place: "vat".into() };
    let course = locate(&lean_to, &truth, &dead, two_tools());
    let findings = course.inquiry.findings();
    let leading = &findings.suspects[0];
    assert_eq!(leading.conductors(), ["neutral"]);
    assert!(leading.boxes.contains(&"vat".to_owned()), "{:?}", leading.boxes);
    assert_ne!(course.stop.because, Because::NothingWrong);
    assert!(course.seconds() < 120.0, "{} s", course.seconds());
}

/// A shed with two receptacles: quick to solve.
const SHED: &str = "(
    format: 1,
    name: \"Shed\",
    circuits: [(id: \"c1\", amperes: 15)],
    boxes: [(id: \"door\", from: \"c1\", feet: 25), (id: \"bench\", from: \"door\", feet: 12)],
)";

/// An inquiry with two instruments that has been told what sentences say.
fn told<'c>(shed: &'c Circuit, complaint: &str, saw: &[&str]) -> Inquiry<'c> {
    call::told(shed, &["tester", "non-contact"], complaint, saw)
}

#[test]
fn a_breaker_that_is_found_off_is_what_is_wrong() {
    let shed = circuit(SHED);
    let off = told(&shed, "door dead", &["tester at bench: all dark", "c1 found off"]);
    let leading = &off.findings().suspects[0];
    assert_eq!(leading.faults[0].fault.kind.code(), "breaker_off");
    assert!(leading.probability > 0.8, "{}", leading.probability);
}

#[test]
fn twice_the_voltage_at_every_receptacle_is_the_neutral_on_the_other_leg() {
    let shed = circuit(SHED);
    let saw = ["voltmeter at bench: hot-neutral 241", "voltmeter at bench: neutral-ground 120"];
    let doubled = told(&shed, "", &saw);
    let leading = &doubled.findings().suspects[0];
    assert_eq!(leading.faults[0].fault.kind.code(), "neutral_on_bus");
    assert!(leading.probability > 0.9, "{}", leading.probability);
    let warned = doubled.warnings();
    assert!(warned.iter().any(|warning| warning.danger.code == "energised_neutral"));
}

#[test]
fn for_a_supply_that_is_far_too_low_nothing_is_opened() {
    let lean_to = circuit(LEAN_TO);
    let truth = condition(&lean_to, &["winding L1 at 87 V", "winding L2 at 87 V"]);
    let dim = Complaint::Dim { loads: Vec::new(), places: Vec::new(), when: None };
    let course = locate(&lean_to, &truth, &dim, Means::default());
    let findings = course.inquiry.findings();
    let leading = &findings.suspects[0];
    assert_eq!(leading.faults[0].fault.kind.code(), "supply_voltage");
    assert!(leading.probability > 0.9, "all amounts are one: {}", leading.probability);
    let first = &course.stop.go_to[0];
    assert!(
        first.supply && !first.opens_a_box() && course.tests.iter().all(|t| t.parting.is_none())
    );
}

/// Three circuits of one panel.
const FELT_WORKS: &str = r#"(
    format: 1,
    name: "Felt works",
    circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 20), (id: "c3", amperes: 15, leg: "L2")],
    boxes: [
        (id: "press", from: "c1", feet: 30),
        (id: "vat", from: "press", feet: 12),
        (id: "office", from: "c2", feet: 25),
        (id: "yard", from: "c3", feet: 20),
    ],
    loads: [
        (id: "carder", at: "press", kind: Resistive(watts: 1500)),
        (id: "iron", at: "vat", on: false, kind: Resistive(watts: 1500)),
    ],
)"#;

#[test]
fn what_stays_live_with_its_breaker_off_is_fed_by_another_circuit_and_a_danger_at_once() {
    let works = circuit(FELT_WORKS);
    let lit = "tester at vat: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let off = format!("{lit} with breaker c1 off");
    // The same indicators with the breaker on are no reason to leave out what they show with it
    // off.
    let still = told(&works, "", &[lit, &off]);
    let findings = still.findings();
    assert!(findings.nothing_wrong < 0.2, "{}", findings.nothing_wrong);
    let warned = still.warnings();
    let live = warned.iter().find(|warning| warning.danger.code == "live_with_breaker_off");
    assert!(live.is_some_and(|live| live.probability > 0.5), "{warned:?}");
    let fed_by_c2 = [
        "non-contact at vat: hot silent with breaker c1 and c2 off",
        "tester at vat: all dark with breaker c1 and c2 off",
    ];
    let found = told(&works, "", &[&off, fed_by_c2[0], fed_by_c2[1]]).findings();
    let c2 = |fault: &slotwise::diagnosis::SuspectFault| {
        let says = fault.fault.sentence(&works);
        says.contains("c2") || says.contains("office")
    };
    let (leading, kinds) = (&found.suspects[0], ["wrong_breaker", "hots_exchanged", "hots_tied"]);
    assert!(
        leading.faults.iter().filter(|fault| fault.share > 0.01).all(c2),
        "{:?}",
        leading.faults
    );
    assert!(kinds.contains(&leading.faults[0].fault.kind.code()));
}

#[test]
fn a_breaker_with_more_on_it_than_it_carries_needs_no_fault_to_trip() {
    let works = circuit(FELT_WORKS);
    let mut inquiry = told(&works, "breaker c1 trips when iron starts", &[]);
    let overload = &inquiry.overloads()[0];
    assert!(overload.ampere > 24.0, "two of 12.5 A, less what the wires take: {overload:?}");
    assert!(inquiry.findings().nothing_wrong > 0.7);
    let Advice::Stop(stop) = inquiry.advise() else { panic!("a test") };
    assert_eq!(stop.because, Because::Overloaded);
    // On its own it is within the rating.
    let text = FELT_WORKS.replace("at: \"press\", kind", "at: \"office\", kind");
    let works = circuit(&text);
    assert!(told(&works, "breaker c1 trips when iron starts", &[]).overloads().is_empty());
}

#[test]
fn an_appliance_that_does_not_run_where_the_receptacle_is_good_is_at_fault_itself() {
    let works = circuit(FELT_WORKS);
    let good = ["tester at press: hot-neutral lit, hot-ground lit, neutral-ground dark"];
    let mut inquiry = told(&works, "carder does not run", &good);
    let Advice::Stop(stop) = inquiry.advise() else { panic!("a test") };
    assert_eq!(stop.because, Because::NothingWrong);
}

#[test]
fn a_ground_alone_makes_no_receptacle_warm() {
    let works = circuit(FELT_WORKS);
    let warm = told(&works, "press warm", &[]);
    let leading = &warm.findings().suspects[0];
    assert_ne!(leading.conductors(), ["ground"]);
    let warned = warm.warnings();
    assert_eq!(warned[0].danger.code, "heating_joint", "{warned:?}");
}

#[test]
fn a_look_that_showed_the_same_twice_is_not_asked_for_again() {
    let works = circuit(FELT_WORKS);
    let asked_at = |saw: &[&str]| match told(&works, "dead from vat on", saw).advise() {
        Advice::Test(test) => Some((test.instrument.clone(), test.at.to_string())),
        Advice::Stop(_) => None,
    };
    let first = asked_at(&[]);
    let Some((instrument, at)) = &first else { panic!("there is all to test") };
    assert_eq!(instrument, "non-contact");
    let looks = format!("non-contact at {at}: hot beeps, neutral silent, ground silent");
    assert_ne!(asked_at(&[&looks, &looks]), first);
}

#[test]
fn a_breaker_that_trips_at_once_is_closed_on_the_same_short_no_more_only_to_look() {
    let works = circuit(FELT_WORKS);
    let bare = "c1 trips at once with everything unplugged";
    let mut inquiry = Inquiry::new(&works, Means::default());
    for complaint in words::complaints(&works, "breaker c1 trips at once").unwrap() {
        inquiry.complain(&complaint).unwrap();
    }
    for seen in words::observations(&works, &Means::default().tools, bare).unwrap() {
        inquiry.observe(&seen).unwrap();
    }
    let Advice::Test(next) = inquiry.advise() else { panic!("no test") };
    let is_off = next.moment.condition.breakers.get("c1") == Some(&false);
    let is_behind = ["press", "vat"].contains(&next.at.as_str());
    assert!(is_off || !is_behind, "what it feeds is left dead: {next:?}");
}

#[test]
fn whether_a_breaker_is_off_is_looked_at_before_anything_is_tested() {
    let works = circuit(FELT_WORKS);
    let Advice::Stop(stop) = told(&works, "everything on c1 dead", &[]).advise() else {
        panic!("a test")
    };
    assert_eq!(stop.because, Because::HandleFirst);
    assert_eq!(stop.go_to[0].name.as_deref(), Some("c1"));
    let Advice::Test(_) = told(&works, "everything on c1 dead", &["c1 holds"]).advise() else {
        panic!("no test")
    };
}

#[test]
fn a_light_that_does_not_change_has_not_brightened() {
    let works = circuit(FELT_WORKS);
    let brightens = told(&works, "carder brightens when iron starts", &[]);
    let findings = brightens.findings();
    let off = findings.suspects.iter().find(|one| one.faults[0].fault.kind.code() == "breaker_off");
    let off = off.map_or(0.0, |off| off.probability);
    assert!(off < 0.01, "nothing runs at all: {off}");
}

#[test]
fn readings_that_keep_contradicting_every_fault_fit_nothing_known() {
    let shed = circuit(SHED);
    let at_bench = |shown: &str| format!("tester at bench: {shown}");
    let open_neutral = at_bench("hot-neutral dark, hot-ground lit, neutral-ground lit");
    let exchanged = at_bench("hot-neutral lit, hot-ground dark, neutral-ground lit");
    let right = at_bench("hot-neutral lit, hot-ground lit, neutral-ground dark");
    let dark = at_bench("all dark");
    let steady = told(&shed, "bench dead", &[&open_neutral]);
    assert!(steady.findings().nothing_known < 0.05, "{}", steady.findings().nothing_known);
    let seen = [&open_neutral, &exchanged, &dark, &right, &exchanged, &open_neutral];
    let all: Vec<&str> = seen.into_iter().map(String::as_str).collect();
    let changing = told(&shed, "bench dead", &all);
    assert!(changing.findings().nothing_known > 0.5, "{}", changing.findings().nothing_known);
}

#[test]
fn a_device_that_does_not_reset_may_get_no_voltage_to_reset_by() {
    let dairy = circuit(
        r#"(
            format: 1,
            name: "Goat dairy",
            circuits: [(id: "c1", amperes: 20)],
            boxes: [
                (id: "gate", from: "c1", feet: 30),
                (id: "churn", from: "gate", feet: 15, device: GroundFault(feeds: true)),
                (id: "vat", from: "churn", feet: 10),
            ],
        )"#,
    );
    let dark = ["tester at gate: all dark", "c1 holds"];
    let found = told(&dairy, "churn does not reset", &dark);
    let before_it = call::chance(&found, |one| {
        let is_in_the_way = ["hot", "L1"].iter().any(|hot| one.fault.conductors == [*hot]);
        is_in_the_way && one.fault.places.iter().all(|at| at != "vat")
    });
    assert!(before_it > 0.8, "{before_it}");
    assert!(found.conflicts().is_empty(), "nothing to reset by is no contradiction");
}

#[test]
fn metal_that_was_measured_live_is_a_danger_and_never_nothing_wrong() {
    let lean_to = circuit(LEAN_TO);
    let tools = &["tester", "voltmeter"];
    for metal in ["bench.ground", "vat.neutral"] {
        let saw = format!("voltmeter between {metal} and earth: 118 V");
        let mut found = call::told(&lean_to, tools, "", &[&saw]);
        let code = if metal.ends_with("ground") { "energised_ground" } else { "energised_neutral" };
        let warned = found.warnings();
        let danger = warned.iter().find(|one| one.danger.code == code && one.danger.is_grave());
        assert_eq!(danger.map(|one| one.addresses[0].as_str()), Some(metal));
        if let Advice::Stop(stop) = found.advise() {
            let is_over = [Because::NothingWrong, Because::NothingKnown].contains(&stop.because);
            assert!(!is_over, "{metal}: {:?}", stop.because);
        }
    }
    let low = call::told(&lean_to, tools, "", &["voltmeter between bench.ground and earth: 2 V"]);
    assert!(low.warnings().iter().all(|one| one.probability < 0.5), "2 V is no danger");
}

#[test]
fn a_meter_from_metal_to_the_soil_tells_faults_apart() {
    let lean_to = circuit(LEAN_TO);
    let tools = &["tester", "voltmeter"];
    let saw = ["voltmeter between bench.ground and earth: 118 V"];
    let found = call::told(&lean_to, tools, "", &saw);
    assert!(found.findings().nothing_wrong < 0.5, "{}", found.findings().nothing_wrong);
    let exchanged = call::chance(&found, |one| {
        ["hot", "ground"].iter().all(|name| one.fault.conductors.iter().any(|of| of == name))
    });
    assert!(exchanged > 0.3, "{exchanged}");
}

#[test]
fn what_is_live_with_its_breaker_off_is_a_danger_and_no_box_is_opened_for_it() {
    let lean_to = circuit(LEAN_TO);
    let tools = &["tester", "non-contact"];
    for saw in [
        "bench still live with c1 off",
        "c1 off but bench still hot",
        "non-contact at bench: hot beeps with c1 off",
        "tester at bench: hot-neutral lit, hot-ground lit, neutral-ground dark with c1 off",
    ] {
        let mut found = call::told(&lean_to, tools, "", &[saw]);
        let warned = found.warnings();
        let danger = warned.iter().find(|one| one.danger.code == "live_with_breaker_off");
        assert!(danger.is_some_and(|one| one.probability > 0.9), "{saw}");
        let Advice::Stop(stop) = found.advise() else { panic!("{saw}: a test is asked for") };
        assert_eq!(stop.because, Because::LiveDespiteBreaker, "{saw}");
        assert!(stop.go_to.iter().all(|one| !one.opens_a_box()), "{saw}");
    }
    let on = "tester at bench: hot-neutral lit, hot-ground lit, neutral-ground dark";
    let other = call::told(&lean_to, tools, "", &[on]);
    assert!(other.warnings().iter().all(|one| one.danger.code != "live_with_breaker_off"));
    // Looked at once more.
    let again = ["bench still live with c1 off", "bench dead with c1 off"];
    let found = call::told(&lean_to, tools, "", &again);
    let warned = found.warnings();
    assert!(warned.iter().all(|one| one.danger.code != "live_with_breaker_off"));
}

#[test]
fn what_was_read_with_the_breaker_off_does_not_keep_the_search_there() {
    let lean_to = circuit(LEAN_TO);
    let off = "tester at vat: all dark with c1 off";
    let mut found = call::told(&lean_to, &["tester"], "vat dead", &[off]);
    let Advice::Test(test) = found.advise() else { panic!("nothing is asked for") };
    assert!(test.moment.condition.breakers.get("c1") != Some(&false), "a look that tells nothing");
}

#[test]
fn a_receptacle_in_the_middle_of_a_run_through_it_is_reversed_by_itself() {
    let chapel = circuit(
        r#"(
            format: 1,
            supply: (system: Single230, earthing: TnCS),
            defaults: (configuration: "BS 1363", feed_through: ["hot", "neutral", "ground"]),
            circuits: [(id: "ring", amperes: 32, curve: B, ring: (last: "alcove", metres: 12))],
            boxes: [
                (id: "vestry", from: "ring", metres: 9),
                (id: "pantry", from: "vestry", metres: 12),
                (id: "nave", from: "pantry", metres: 14),
                (id: "alcove", from: "nave", metres: 6),
            ],
        )"#,
    );
    let seen = [
        "tester at nave: hot-neutral lit, hot-ground dark, neutral-ground lit",
        "tester at pantry: hot-neutral lit, hot-ground lit, neutral-ground dark",
    ];
    let inquiry = call::told(&chapel, &["tester-230", "voltmeter"], "", &seen);
    let reversed = chance(&inquiry, |one| {
        one.fault.kind == FaultKind::ExchangedAtDevice && one.fault.places == ["nave"]
    });
    assert!(reversed > 0.8, "{reversed}");
    let found = words::observations(&chapel, &[], "opened nave: hot and neutral exchanged");
    let mut inquiry = inquiry;
    inquiry.observe_all(&found.unwrap()).unwrap();
    let reversed = chance(&inquiry, |one| one.fault.places == ["nave"]);
    assert!(reversed > 0.95, "{reversed}");
}

#[test]
fn the_contact_that_a_three_way_switch_is_not_on_as_described_may_be_bad() {
    let stairs = circuit(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 15)],
            boxes: [
                (id: "stairs", from: "c1", feet: 40, device: ThreeWay(common: "hot")),
                (
                    id: "cellar", from: "stairs", feet: 16,
                    carries: ["traveller1", "traveller2", "neutral", "ground"],
                    device: ThreeWay(common: "switched"),
                ),
                (
                    id: "lamp_box", from: "cellar", feet: 8,
                    carries: ["switched", "neutral", "ground"], devices: [],
                ),
            ],
            loads: [(
                id: "bulb", at: "lamp_box", wired: true, across: ("switched", "neutral"),
                kind: Filament(watts: 60),
            )],
        )"#,
    );
    let seen = [
        "bulb runs with stairs position 1 and cellar position 1",
        "bulb dead with stairs position 2 and cellar position 2",
    ];
    let inquiry = call::told(&stairs, &["tester", "voltmeter"], "", &seen);
    let of_contact = chance(&inquiry, |one| {
        let opened = |fault: &Fault| matches!(fault, Fault::Open { element, .. } if element.starts_with("switch:"));
        one.fault.change.faults.iter().any(opened)
    });
    assert!(of_contact > 0.01, "{of_contact}");
}

/// What the command's own readings are where neutral and ground are joined at the last receptacle.
const BOOTLEG_AT_SINK: [&str; 5] = [
    "loaded-test at door: 118.9 V falls to 117.1 V, hot 0.09 ohm, neutral 0.03 ohm",
    "loaded-test at bench: 118.6 V falls to 116.4 V, hot 0.12 ohm, neutral 0.03 ohm",
    "loaded-test at wheel: 118.3 V falls to 115.7 V, hot 0.15 ohm, neutral 0.03 ohm",
    "loaded-test at kiln: 117.9 V falls to 114.9 V, hot 0.19 ohm, neutral 0.02 ohm",
    "loaded-test at sink: 118.0 V falls to 114.8 V, hot 0.22 ohm, neutral 0.00 ohm",
];

#[test]
fn a_bootleg_ground_shows_in_what_the_neutral_loses_under_load() {
    let text = std::fs::read_to_string("circuits/pottery-studio.ron").unwrap();
    let studio = circuit(&text);
    let inquiry = call::told(&studio, &["loaded-test"], "nothing noticed", &BOOTLEG_AT_SINK);
    let findings = inquiry.findings();
    let is_bootleg = |one: &slotwise::diagnosis::SuspectFault| {
        one.fault.kind == FaultKind::Bridged && one.fault.conductors == ["neutral", "ground"]
    };
    let of = |suspect: &slotwise::diagnosis::Suspect| {
        let share: f64 =
            suspect.faults.iter().filter(|one| is_bootleg(one)).map(|one| one.share).sum();
        suspect.probability * share
    };
    let bootleg: f64 = findings.suspects.iter().map(of).sum();
    assert!(bootleg > 0.5 && bootleg > findings.nothing_wrong, "{bootleg}");
}
