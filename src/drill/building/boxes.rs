//! Branch circuits and their boxes, drawn.

use std::fmt::Write as _;

use crate::drill::chance::Chance;
use crate::drill::family::{BreakerChoice, DeviceWord, FamilyForm, Number, counts, ends, stated};

use super::{LENGTH_STEP, cable, rating, residual};

/// The circuits, their boxes, and where something can be plugged in.
pub(super) struct Boxes {
    circuits: Vec<String>,
    boxes: Vec<BoxDrawn>,
    pub(super) outlets: Outlets,
}

/// One box.
struct BoxDrawn {
    name: String,
    from: String,
    /// The rest of it, in the words of circuit files.
    said: String,
    /// A wire that its device does not take: capped, if the cable ends here.
    unused: Option<&'static str>,
}

/// Where loads can be.
#[derive(Clone, Default)]
pub(super) struct Outlets {
    /// Receptacles.
    pub(super) free: Vec<String>,
    /// Boxes of a lamp, with the conductor that feeds it.
    pub(super) lamps: Vec<(String, &'static str)>,
}

/// One branch circuit being drawn.
struct Run<'f> {
    id: String,
    breaker: &'f BreakerChoice,
    grounded: bool,
    /// Boxes of it so far that something can be fed from.
    fed: Vec<String>,
}

impl Run<'_> {
    fn shared(&self) -> bool {
        self.breaker.shared_neutral == Some(true)
    }

    /// Wires of a cable that has these besides neutral and ground.
    fn carries(&self, hots: &[&str]) -> String {
        let back = if self.grounded { &["neutral", "ground"][..] } else { &["neutral"][..] };
        let all: Vec<String> = hots.iter().chain(back).map(|wire| format!("\"{wire}\"")).collect();
        format!("[{}]", all.join(", "))
    }
}

impl Boxes {
    pub(super) fn draw(form: &FamilyForm, of_supply: Option<&Number>, chance: &mut Chance) -> Self {
        let grounded = !chance.happens(stated(&form.no_ground, 0.0));
        let n_circuits = form.circuits.as_ref().map_or(1, |n| chance.count(counts(n))).max(1);
        let n_boxes = chance.count(counts(&form.boxes)).max(n_circuits);
        let mut names: Vec<&str> = form.box_names.iter().map(|name| name.as_str()).collect();
        chance.shuffle(&mut names);
        names.truncate(n_boxes);
        let mut drawn =
            Self { circuits: Vec::new(), boxes: Vec::new(), outlets: Outlets::default() };
        let mut names = names.into_iter();
        for number in 0..n_circuits {
            // The first circuits take what does not divide.
            let share = n_boxes / n_circuits + usize::from(number < n_boxes % n_circuits);
            let own: Vec<&str> = names.by_ref().take(share).collect();
            drawn.circuit(form, chance, (number, grounded, of_supply), &own);
        }
        drawn
    }

    fn circuit(
        &mut self,
        form: &FamilyForm,
        chance: &mut Chance,
        (number, grounded, of_supply): (usize, bool, Option<&Number>),
        names: &[&str],
    ) {
        let weights: Vec<f64> = form.breakers.iter().map(|one| stated(&one.weight, 1.0)).collect();
        let place = chance.weighted(&weights);
        let Some(breaker) = place.and_then(|place| form.breakers.get(place)) else { return };
        let Some(choice) = chance.one_of(&breaker.cables) else { return };
        let id = format!("c{}", number + 1);
        let mut run = Run { id, breaker, grounded, fed: Vec::new() };
        let mut names = names.iter().copied();
        let mut left = names.len();
        while let Some(name) = names.next() {
            left -= 1;
            let device = self.device(form, chance, &run, left);
            self.a_box(form, chance, &mut run, name, device);
            if matches!(device, DeviceWord::SwitchedLamp | DeviceWord::HalfSwitched)
                && let Some(after) = names.next()
            {
                left -= 1;
                self.after_switch(form, chance, &mut run, (name, after), device);
            }
        }
        let rated = format!("{}{}", rating(breaker), residual(breaker, of_supply));
        let mut said = format!("(id: \"{}\", {rated}, cable: {}", run.id, cable(choice));
        let legs = ["L1", "L2"];
        if run.shared() {
            put!(said, ", legs: [\"L1\", \"L2\"], tied: true");
        } else if number % 2 == 1 && has_two_legs(form) {
            put!(said, ", leg: \"{}\"", legs[1]);
        }
        if !grounded && !run.shared() {
            put!(said, ", carries: {}", run.carries(&["hot"]));
        } else if !grounded {
            put!(said, ", carries: {}", run.carries(&["hot", "hot2"]));
        }
        if breaker.ring == Some(true)
            && let Some(last) = run.fed.last()
        {
            put!(said, ", ring: (last: \"{last}\", {})", length(form, chance, true));
        }
        said.push(')');
        self.circuits.push(said);
    }

    /// What is in the next box, with so many left after it.
    fn device(
        &mut self,
        form: &FamilyForm,
        chance: &mut Chance,
        run: &Run<'_>,
        left: usize,
    ) -> DeviceWord {
        let Some(devices) = &form.devices else { return DeviceWord::Receptacle };
        let weights: Vec<f64> = devices.iter().map(|one| stated(&one.weight, 1.0)).collect();
        let place = chance.weighted(&weights);
        let drawn =
            place.and_then(|place| devices.get(place)).map_or(DeviceWord::Receptacle, |d| d.kind);
        let possible = match drawn {
            DeviceWord::Receptacle => true,
            DeviceWord::GroundFault => !run.shared() && run.breaker.ring != Some(true),
            DeviceWord::SplitDuplex => run.shared(),
            DeviceWord::SwitchedLamp | DeviceWord::HalfSwitched => {
                left > 0 && !run.shared() && run.breaker.ring != Some(true)
            }
        };
        if possible { drawn } else { DeviceWord::Receptacle }
    }

    fn a_box(
        &mut self,
        form: &FamilyForm,
        chance: &mut Chance,
        run: &mut Run<'_>,
        name: &str,
        device: DeviceWord,
    ) {
        let ring = run.breaker.ring == Some(true);
        let branches = !ring && chance.happens(stated(&form.branches, 0.0));
        let from = match (branches, run.fed.as_slice()) {
            (_, []) => run.id.clone(),
            (true, fed) => chance.one_of(fed).cloned().unwrap_or_else(|| run.id.clone()),
            (false, [.., last]) => last.clone(),
        };
        let first = run.fed.is_empty();
        let mut said = length(form, chance, first);
        let mut unused = None;
        match device {
            DeviceWord::Receptacle if run.shared() => {
                let (hot, other) =
                    if chance.happens(0.5) { ("hot", "hot2") } else { ("hot2", "hot") };
                unused = Some(other);
                put!(said, ", device: Receptacle(hot: \"{hot}\")");
                self.outlets.free.push(name.to_owned());
            }
            DeviceWord::Receptacle => self.outlets.free.push(name.to_owned()),
            DeviceWord::GroundFault => {
                said.push_str(", device: GroundFault(feeds: true)");
                self.outlets.free.push(name.to_owned());
            }
            DeviceWord::SplitDuplex => {
                said.push_str(", device: Duplex(top: \"hot\", bottom: \"hot2\", hot_tab: Broken)");
                self.outlets.free.extend([format!("{name}.top"), format!("{name}.bottom")]);
            }
            DeviceWord::SwitchedLamp | DeviceWord::HalfSwitched => {
                let closed = chance.happens(0.8);
                put!(said, ", device: Switch(closed: {closed})");
            }
        }
        self.boxes.push(BoxDrawn { name: name.to_owned(), from, said, unused });
        run.fed.push(name.to_owned());
    }

    /// The box that a switch feeds.
    fn after_switch(
        &mut self,
        form: &FamilyForm,
        chance: &mut Chance,
        run: &mut Run<'_>,
        (switch, name): (&str, &str),
        device: DeviceWord,
    ) {
        let length = length(form, chance, false);
        if device == DeviceWord::SwitchedLamp {
            let carries = run.carries(&["switched"]);
            self.fed_by(switch, name, format!("{length}, carries: {carries}, devices: []"));
            self.outlets.lamps.push((name.to_owned(), "switched"));
            return;
        }
        let carries = run.carries(&["hot", "switched"]);
        let device = "Duplex(top: \"switched\", hot_tab: Broken)";
        self.fed_by(switch, name, format!("{length}, carries: {carries}, device: {device}"));
        self.outlets.free.extend([format!("{name}.top"), format!("{name}.bottom")]);
    }

    fn fed_by(&mut self, from: &str, name: &str, said: String) {
        let (name, from) = (name.to_owned(), from.to_owned());
        self.boxes.push(BoxDrawn { name, from, said, unused: None });
    }

    /// The circuits and boxes, in the words of circuit files.
    pub(super) fn write(&self, text: &mut String) {
        text.push_str("    circuits: [\n");
        for line in &self.circuits {
            put!(text, "        {line},\n");
        }
        text.push_str("    ],\n    boxes: [\n");
        for BoxDrawn { name, from, said, unused } in &self.boxes {
            put!(text, "        (id: \"{name}\", from: \"{from}\", {said}");
            let ends_here = !self.boxes.iter().any(|other| other.from == *name);
            if let (true, Some(wire)) = (ends_here, unused) {
                put!(text, ", capped: [\"{wire}\"]");
            }
            text.push_str("),\n");
        }
        text.push_str("    ],\n");
    }
}

/// Whether every supply of the family has a second leg.
fn has_two_legs(form: &FamilyForm) -> bool {
    use crate::drill::family::SystemWord;
    let single = |system: SystemWord| system == SystemWord::Single230;
    !form.supplies.iter().flatten().any(|supply| single(supply.system))
}

/// A length with its unit, as `feet: 12`.
fn length(form: &FamilyForm, chance: &mut Chance, first: bool) -> String {
    let (unit, usual, to_first) = match (&form.feet, &form.metres) {
        (Some(feet), _) => ("feet", feet, &form.feet_first),
        (None, Some(metres)) => ("metres", metres, &form.metres_first),
        // A family without lengths is refused when it is read.
        (None, None) => return "metres: 5".to_owned(),
    };
    let range = if first { to_first.as_ref().unwrap_or(usual) } else { usual };
    format!("{unit}: {}", chance.between(ends(range), LENGTH_STEP))
}
