//! Pages whose tables the program itself writes. A table that differs from what the program
//! says fails here; `SLOTWISE_WRITE_PAGES=1 cargo test --test generated_pages -- --test-threads=1` writes it anew.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use slotwise::circuit::{Circuit, Outlet};
use slotwise::condition::catalogue::{
    Catalogue, FaultKind, Levels, PossibleFault, Priors, catalogue,
};
use slotwise::condition::{Condition, LoadState};
use slotwise::instrument::{Instrument, Place, Request, Shown, measure, place_of_outlet, presets};
use slotwise::lookalike::after_tripping;

mod others;

fn page(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(name)
}

/// Holds the part of a page between two marks to `table`, or writes it there.
#[track_caller]
fn holds(name: &str, mark: &str, table: &str) {
    let text = fs::read_to_string(page(name)).unwrap();
    let (begin, end) = (format!("<!-- generated: {mark} -->\n"), "<!-- end -->");
    let start = text.find(&begin).expect("the page has the mark") + begin.len();
    let stop = start + text[start..].find(end).expect("the mark has an end");
    let table = format!("\n{table}\n");
    if std::env::var_os("SLOTWISE_WRITE_PAGES").is_some() {
        fs::write(page(name), [&text[..start], &table, &text[stop..]].concat()).unwrap();
        return;
    }
    assert!(
        text[start..stop] == table,
        "docs/{name}, {mark}: not what the program says; \
         SLOTWISE_WRITE_PAGES=1 cargo test --test generated_pages -- --test-threads=1 writes it"
    );
}

fn circuit(name: &str) -> Circuit {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("circuits").join(name);
    slotwise::circuit::file::read(&fs::read_to_string(path).unwrap()).unwrap().circuit
}

fn list(values: &[f64], unit: &str) -> String {
    let value = |value: &f64| match *value {
        v if v >= 1e3 => format!("{} k{unit}", v / 1e3),
        v if v < 0.1 => format!("{} m{unit}", v * 1e3),
        v => format!("{v} {unit}"),
    };
    values.iter().map(value).collect::<Vec<_>>().join(", ")
}

/// At which values a kind is listed.
fn levels_of(kind: FaultKind, levels: &Levels) -> String {
    match kind {
        FaultKind::BadJoint => format!(
            "{}; in a ground {}",
            list(&levels.joint_ohm, "ohm"),
            list(&levels.ground_joint_ohm, "ohm")
        ),
        FaultKind::ServiceBad => list(&levels.joint_ohm, "ohm"),
        FaultKind::BondBad => list(&levels.ground_joint_ohm, "ohm"),
        FaultKind::LeakyOpen => list(&levels.gap_ohm, "ohm"),
        FaultKind::Bridged | FaultKind::TouchingInCable => list(&levels.bridge_ohm, "ohm"),
        FaultKind::InsulationDown => list(&levels.insulation_ohm, "ohm"),
        FaultKind::HotsTied | FaultKind::NeutralsTied => "2 mohm".to_owned(),
        FaultKind::SupplyVoltage => {
            let percent = |share: &f64| format!("{:+.0} %", (share - 1.0) * 100.0);
            levels.supply_share.iter().map(percent).collect::<Vec<_>>().join(", ")
        }
        _ => String::new(),
    }
}

#[test]
fn the_page_of_faults_lists_the_kinds_as_they_are() {
    let levels = Levels::default();
    let mut table = String::from("| kind | what is so | listed at |\n|---|---|---|\n");
    for &kind in FaultKind::all() {
        let (code, meaning) = (kind.code(), kind.meaning());
        writeln!(table, "| `{code}` | {meaning} | {} |", levels_of(kind, &levels)).unwrap();
    }
    holds("faults.md", "kinds", &table);
}

#[test]
fn the_page_of_faults_lists_the_odds_as_they_are() {
    let priors = serde_json::to_value(Priors::default()).unwrap();
    let mut table = String::from("| figure | odds |\n|---|---|\n");
    for (name, value) in priors.as_object().unwrap() {
        match value.as_object() {
            Some(joints) => {
                for (joint, value) in joints {
                    writeln!(table, "| `{name}.{joint}` | {value} |").unwrap();
                }
            }
            None => writeln!(table, "| `{name}` | {value} |").unwrap(),
        }
    }
    holds("faults.md", "odds", &table);
}

#[test]
fn the_page_of_faults_counts_a_circuit_as_it_is() {
    let studio = catalogue(&circuit("pottery-studio.ron"));
    let mut table = String::from("| kind | entries in circuits/pottery-studio.ron |\n|---|---|\n");
    for kind in FaultKind::all() {
        let count = studio.faults().iter().filter(|fault| fault.kind == *kind).count();
        if count > 0 {
            writeln!(table, "| `{}` | {count} |", kind.code()).unwrap();
        }
    }
    writeln!(table, "| all | {} |", studio.faults().len()).unwrap();
    writeln!(table, "| pairs of them that can be so at once | {} |", studio.pairs()).unwrap();
    holds("faults.md", "counts", &table);
}

/// A workshop with one of everything that can have a fault of its own: two circuits, a switch, a
/// split receptacle, a ground-fault receptacle with one behind it.
const WORKSHOP: &str = include_str!("../../circuits/tool-library.ron");

/// Where the instruments are held, unless the fault is at another receptacle.
const MIDDLE: &str = "middle";

#[test]
fn the_page_of_instruments_has_every_kind_of_fault_as_each_shows_it() {
    let workshop = slotwise::circuit::file::read(WORKSHOP).unwrap().circuit;
    let everything = catalogue(&workshop);
    let mut table = String::from(
        "| fault | held at | loads | tester | glow-lamp tester | voltmeter | low-impedance | \
         detector | loaded test |\n|---|---|---|---|---|---|---|---|---|\n",
    );
    let sound = Condition::default();
    for at in [MIDDLE, "rack.top", "grinder"] {
        for state in LOADS {
            table.push_str(&row(&workshop, "nothing wrong", at, (&sound, state)));
        }
    }
    let mut kinds = Vec::new();
    for fault in representatives(&everything) {
        kinds.push(fault.kind);
        let at = held_at(&workshop, fault);
        for state in LOADS {
            let says = fault.sentence(&workshop);
            table.push_str(&row(&workshop, &says, &at, (&fault.change, state)));
        }
    }
    for kind in FaultKind::all() {
        assert!(kinds.contains(kind), "no row for {}", kind.code());
    }
    holds("instruments.md", "faults", &table);
}

#[test]
fn the_page_of_instruments_has_the_same_for_all_other_instruments() {
    let workshop = slotwise::circuit::file::read(WORKSHOP).unwrap().circuit;
    let everything = catalogue(&workshop);
    let mut table = others::head();
    let mut put = |says: &str, at: &str, change: &Condition| {
        for (word, state) in LOADS {
            let (says, condition, outlet) = put_on(&workshop, says, at, (change, state));
            let cells = others::cells(&workshop, &condition, outlet).join(" | ");
            writeln!(table, "| {says} | {at} | {word} | {cells} |").unwrap();
        }
    };
    put("nothing wrong", MIDDLE, &Condition::default());
    for fault in representatives(&everything) {
        put(&fault.sentence(&workshop), &held_at(&workshop, fault), &fault.change);
    }
    holds("instruments.md", "other instruments", &table);
}

/// One entry of each kind between each conductors at each level: at the middle box if there is
/// one.
fn representatives(everything: &Catalogue) -> Vec<&PossibleFault> {
    let mut chosen: Vec<&PossibleFault> = Vec::new();
    for &kind in FaultKind::all() {
        let of_kind = everything.faults().iter().filter(|fault| fault.kind == kind);
        let (here, elsewhere): (Vec<_>, Vec<_>) =
            of_kind.partition(|fault| fault.places.iter().any(|place| place == MIDDLE));
        for fault in here.into_iter().chain(elsewhere) {
            let same = |other: &&PossibleFault| {
                other.kind == fault.kind
                    && other.conductors == fault.conductors
                    && other.level_ohm == fault.level_ohm
                    && other.change.faults.len() == fault.change.faults.len()
                    && (kind != FaultKind::SupplyVoltage || other.change == fault.change)
            };
            if !chosen.iter().any(same) {
                chosen.push(fault);
            }
        }
    }
    chosen
}

const LOADS: [(&str, LoadState); 2] = [("off", LoadState::Off), ("on", LoadState::On)];

/// Where a fault shows: at a receptacle of its own box, the middle one before others, if anything
/// does there; else at the first where anything does; else at its own.
fn held_at(workshop: &Circuit, fault: &PossibleFault) -> String {
    let outlets = |place: &String| workshop.place(place).into_iter().flat_map(|p| &p.outlets);
    let mut own: Vec<String> =
        fault.places.iter().flat_map(outlets).map(|outlet| outlet.address.to_string()).collect();
    own.sort_by_key(|at| at != MIDDLE);
    let others = [MIDDLE, "rack.top", "rack.bottom", "grinder"].map(str::to_owned);
    let anywhere: Vec<String> = own.iter().cloned().chain(others).collect();
    let shows = |at: &&String| {
        LOADS.iter().any(|&state| {
            let with = row(workshop, "", at, (&fault.change, state));
            with != row(workshop, "", at, (&Condition::default(), state))
        })
    };
    anywhere.iter().find(shows).or(anywhere.first()).unwrap().clone()
}

fn row(
    workshop: &Circuit,
    says: &str,
    at: &str,
    (change, (word, state)): (&Condition, (&str, LoadState)),
) -> String {
    let (says, condition, outlet) = put_on(workshop, says, at, (change, state));
    let cells = cells(workshop, &condition, outlet);
    format!("| {says} | {at} | {word} | {} |\n", cells.join(" | "))
}

/// A change on the workshop with all loads in a state, after what trips; and the outlet of a name.
fn put_on<'w>(
    workshop: &'w Circuit,
    says: &str,
    at: &str,
    (change, state): (&Condition, LoadState),
) -> (String, Condition, &'w Outlet) {
    let mut outlets = workshop.outlets().map(|(_, outlet)| outlet);
    let outlet = outlets.find(|outlet| outlet.address.as_str() == at).unwrap();
    let mut condition = change.clone();
    for load in &workshop.parts().loads {
        condition.loads.insert(load.id.clone(), state);
    }
    let (condition, tripped) = after_tripping(workshop, &condition).unwrap();
    let says = match tripped.as_slice() {
        [] => says.to_owned(),
        names => format!("{says} (trips {})", names.join(", ")),
    };
    (says, condition, outlet)
}

/// What each instrument shows there: between hot and neutral, hot and ground, neutral and ground.
fn cells(workshop: &Circuit, condition: &Condition, outlet: &Outlet) -> Vec<String> {
    let plugged = |instrument| Request::new(instrument, place_of_outlet(outlet, false));
    let slot = |name: &str| outlet.slots.iter().find(|(slot, _)| slot == name).unwrap().1.clone();
    let mut requests =
        vec![plugged(presets::plug_tester_resistive()), plugged(presets::plug_tester_glow_lamp())];
    for meter in [presets::voltmeter_high_impedance(), presets::voltmeter_low_impedance()] {
        for (p, q) in [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")] {
            requests.push(Request::new(meter.clone(), Place::between(slot(p), slot(q))));
        }
    }
    for name in ["hot", "neutral", "ground"] {
        requests.push(Request::new(presets::non_contact_detector(), Place::near(slot(name))));
    }
    requests.push(plugged(presets::loaded_test()));
    let readings = measure(workshop, condition, &requests).unwrap();
    let words: Vec<String> = readings.iter().map(|reading| word(&reading.shown)).collect();
    let together = |from: usize, to: usize| words[from..to].join(", ");
    vec![
        words[0].clone(),
        words[1].clone(),
        format!("{} V", together(2, 5)),
        format!("{} V", together(5, 8)),
        together(8, 11),
        words[11].clone(),
    ]
}

fn word(shown: &Shown) -> String {
    match shown {
        Shown::PlugTester(reading) => {
            let states: Vec<&str> = reading.indicators.iter().map(|one| one.state).collect();
            states.join(", ")
        }
        Shown::Voltmeter(reading) => {
            let volt = reading.voltage_volt.unwrap().magnitude();
            if volt < 9.95 { format!("{volt:.1}") } else { format!("{volt:.0}") }
        }
        Shown::NonContact(reading) => reading.state.to_owned(),
        Shown::LoadedTest(reading) => match (reading.unloaded_volt, reading.drop_volt) {
            (Some(before), Some(drop)) if before.magnitude() > 1.0 => format!("loses {drop:.1} V"),
            _ => "no voltage".to_owned(),
        },
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_rows_explained_are_rows_of_the_table() {
    let text = fs::read_to_string(page("instruments.md")).unwrap();
    let explained = text.split("### Rows that surprise").nth(1).unwrap();
    let mut count = 0;
    for line in explained.lines().filter_map(|line| line.strip_prefix("- **")) {
        let row = line.split("**").next().unwrap();
        assert!(text.contains(&format!("| {row}")), "no row `{row}`");
        count += 1;
    }
    assert!(count >= 8, "{count}");
}

/// An instrument's name is its preset's in the page's own tables.
#[test]
fn the_instruments_of_the_table_are_presets() {
    for (name, made) in [
        ("tester", presets::plug_tester_resistive()),
        ("tester-glow-lamp", presets::plug_tester_glow_lamp()),
        ("voltmeter", presets::voltmeter_high_impedance()),
        ("voltmeter-low-impedance", presets::voltmeter_low_impedance()),
        ("non-contact", presets::non_contact_detector()),
        ("loaded-test", presets::loaded_test()),
    ] {
        let named: Option<Instrument> = presets::named(name);
        assert_eq!(named, Some(made));
    }
}
