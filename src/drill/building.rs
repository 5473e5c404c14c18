//! A building drawn from a family, as the text of a circuit file: what a person may read, change
//! and keep is what is solved.

use std::fmt::Write as _;

use crate::circuit::file;

use super::age::Age;
use super::chance::Chance;
use super::family::{
    BreakerChoice, CableChoice, CurveWord, EarthingWord, Family, FamilyForm, LoadChoice, LoadWord,
    Number, SupplyChoice, SystemWord, counts, ends, stated,
};
use super::places;

/// Writing to a String cannot fail.
macro_rules! put {
    ($text:expr, $($piece:tt)*) => { let _ = write!($text, $($piece)*); };
}

mod boxes;

use boxes::{Boxes, Outlets};

/// Lengths are drawn in steps of so much, metres or feet: nobody paces closer.
const LENGTH_STEP: f64 = 0.5;

/// Powers are drawn in steps of so many watts.
const WATT_STEP: f64 = 5.0;

/// Supply voltages are drawn in steps of so many volts.
const VOLT_STEP: f64 = 0.5;

/// What is drawn before anything is wrong.
pub(super) struct Building {
    /// Place and kind, as `Lapwing Quay pottery studio`.
    pub(super) title: String,
    /// When it was wired.
    pub(super) age: Age,
    /// The year of that.
    pub(super) year: u16,
    /// The circuit file.
    pub(super) text: String,
}

impl Building {
    pub(super) fn draw(family: &Family, chance: &mut Chance) -> Self {
        let form = family.form();
        let kind = chance.one_of(&form.buildings).map_or("building", |kind| kind.as_str());
        let title = format!("{} {kind}", places::place(chance));
        let age = form.ages.as_deref().and_then(|ages| chance.one_of(ages)).copied();
        let age = age.unwrap_or_default();
        let (first, last) = age.years();
        let year = chance.count((first.into(), last.into())) as u16;
        let mut text = format!(
            "// {title}, wired in {year}: drawn from the family \"{}\".\n(\n    format: 1,\n    \
             name: \"{title}\",\n",
            family.name()
        );
        let of_supply = supply(form, chance, &mut text);
        defaults(form, chance, &mut text);
        let boxes = Boxes::draw(form, of_supply, chance);
        boxes.write(&mut text);
        loads(form, chance, &boxes, &mut text);
        text.push_str(")\n");
        Self { title, age, year, text }
    }
}

/// The supply; what it says of the residual current that its breakers trip at.
fn supply<'f>(form: &'f FamilyForm, chance: &mut Chance, text: &mut String) -> Option<&'f Number> {
    let supplies = form.supplies.as_ref()?;
    let weights: Vec<f64> = supplies.iter().map(|one| stated(&one.weight, 1.0)).collect();
    let SupplyChoice { system, volts, earthing, ground_fault_milliamperes, .. } =
        chance.weighted(&weights).and_then(|place| supplies.get(place))?;
    let system = match system {
        SystemWord::SplitPhase => "SplitPhase",
        SystemWord::Wye208 => "Wye208",
        SystemWord::Wye400 => "Wye400",
        SystemWord::Single230 => "Single230",
    };
    put!(text, "    supply: (system: {system}");
    if let Some(volts) = volts {
        put!(text, ", volts: {}", chance.between(ends(volts), VOLT_STEP));
    }
    if let Some(earthing) = earthing {
        let earthing = match earthing {
            EarthingWord::TnCS => "TnCS",
            EarthingWord::TnS => "TnS",
            EarthingWord::Tt => "Tt",
        };
        put!(text, ", earthing: {earthing}");
    }
    text.push_str("),\n");
    ground_fault_milliamperes.as_ref()
}

fn defaults(form: &FamilyForm, chance: &mut Chance, text: &mut String) {
    let push_in = chance.happens(stated(&form.push_in, 0.0));
    let through = chance.happens(stated(&form.feed_through, 0.0));
    let mut said: Vec<String> = Vec::new();
    if let Some(configuration) = &form.configuration {
        said.push(format!("configuration: \"{}\"", configuration.value));
    }
    if push_in {
        said.push("terminals: PushIn".to_owned());
    }
    if through {
        said.push("feed_through: [\"hot\", \"neutral\"]".to_owned());
    }
    if !said.is_empty() {
        put!(text, "    defaults: ({}),\n", said.join(", "));
    }
}

/// The cable of a breaker, in the words of circuit files.
fn cable(choice: &CableChoice) -> String {
    let mut said: Vec<String> = Vec::new();
    if let Some(awg) = &choice.awg {
        said.push(format!("awg: \"{}\"", awg.value.0));
    }
    if let Some(mm2) = &choice.mm2 {
        said.push(format!("mm2: {}", mm2.value));
    }
    if let Some(ground) = &choice.ground_mm2 {
        said.push(format!("ground_mm2: {}", ground.value));
    }
    if choice.open_wires == Some(true) {
        said.push("construction: OpenWires".to_owned());
    }
    format!("({})", said.join(", "))
}

/// The residual current it trips at, that of the supply where it has none of its own.
fn residual(choice: &BreakerChoice, of_supply: Option<&Number>) -> String {
    let rated = choice.ground_fault_milliamperes.as_ref().or(of_supply);
    rated.map_or_else(String::new, |milliampere| {
        format!(", ground_fault_milliamperes: {}", milliampere.value)
    })
}

fn rating(choice: &BreakerChoice) -> String {
    let curve = match choice.curve {
        None => "",
        Some(CurveWord::InverseTime) => ", curve: InverseTime",
        Some(CurveWord::B) => ", curve: B",
        Some(CurveWord::C) => ", curve: C",
        Some(CurveWord::D) => ", curve: D",
    };
    format!("amperes: {}{curve}", choice.amperes.value)
}

/// Whether circuit files know this cable on this breaker, or why not.
pub(super) fn try_cable(breaker: &BreakerChoice, choice: &CableChoice) -> Result<(), String> {
    let text = format!(
        "(format: 1, circuits: [(id: \"c1\", {}, cable: {})], boxes: [(id: \"b\", from: \"c1\", \
         metres: 5)])",
        rating(breaker),
        cable(choice)
    );
    let said = |problems: crate::circuit::diagnostic::Diagnostics| {
        problems.first().map_or_else(String::new, |problem| problem.message.clone())
    };
    file::read(&text).map(|_| ()).map_err(said)
}

fn loads(form: &FamilyForm, chance: &mut Chance, boxes: &Boxes, text: &mut String) {
    let mut outlets = boxes.outlets.clone();
    chance.shuffle(&mut outlets.free);
    let wanted = chance.count(form.loads_present.as_ref().map_or((3, 3), counts));
    let mut choices: Vec<&LoadChoice> = form.loads.iter().collect();
    text.push_str("    loads: [\n");
    let Outlets { free, lamps } = outlets;
    for at in free.iter().take(wanted) {
        let weights: Vec<f64> = choices.iter().map(|load| stated(&load.weight, 1.0)).collect();
        let Some(place) = chance.weighted(&weights) else { break };
        let choice = choices.remove(place);
        put!(
            text,
            "        (id: \"{}\", at: \"{at}\", {}),\n",
            choice.name.value,
            what(choice, chance)
        );
    }
    for (at, across) in &lamps {
        let watts = chance.between((40.0, 100.0), 20.0);
        put!(
            text,
            "        (id: \"{at}-lamp\", at: \"{at}\", kind: Filament(watts: {watts}), wired: \
             true, across: (\"{across}\", \"neutral\")),\n"
        );
    }
    text.push_str("    ],\n");
}

/// Kind, state and case of a load.
fn what(choice: &LoadChoice, chance: &mut Chance) -> String {
    let kind = match choice.kind {
        LoadWord::Resistive => "Resistive",
        LoadWord::Filament => "Filament",
        LoadWord::Motor => "Motor",
        LoadWord::Electronics => "Electronics",
        LoadWord::Led => "Led",
        LoadWord::Standby => "Standby",
    };
    let mut said =
        format!("kind: {kind}(watts: {})", chance.between(ends(&choice.watts), WATT_STEP));
    if !chance.happens(stated(&choice.on, 0.5)) {
        said.push_str(", on: false");
    }
    if choice.metal_case == Some(true) {
        said.push_str(", metal_case: true");
    }
    if let Some(filter) = &choice.filter_nanofarads
        && filter.value > 0.0
    {
        put!(said, ", filter_nanofarads: {}", filter.value);
    }
    said
}
