//! Which cable runs from where to where, before any of it is made.

use std::collections::{HashMap, HashSet};

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{BoxForm, CircuitForm, FileForm, Text};
use crate::circuit::file::limits::WIRES_MAX;
use crate::circuit::file::near::with_nearest;

use super::Expansion;
use super::lost::Lost;
use super::names::quoted_list;
use super::panel::HOTS;

/// A cable to a box.
pub(super) struct Run<'f> {
    /// Its name.
    pub(super) cable: String,
    /// The box at its far end.
    pub(super) to: &'f BoxForm,
    /// The circuit it belongs to.
    pub(super) circuit: &'f CircuitForm,
    /// The box it comes from; `None` where it comes from the panel.
    pub(super) from: Option<&'f BoxForm>,
    /// Its conductors.
    pub(super) conductors: Vec<String>,
}

/// All cables to boxes, each after the one that feeds it.
pub(super) struct Plan<'f> {
    pub(super) runs: Vec<Run<'f>>,
    circuits: HashMap<&'f str, &'f CircuitForm>,
    /// Where each box's cable is in `runs`.
    arrivals: HashMap<&'f str, usize>,
    /// Which cables leave each box.
    leavings: HashMap<&'f str, Vec<usize>>,
    /// How many cables leave from each circuit's breaker.
    from_circuit: HashMap<&'f str, usize>,
    /// Circuits whose ring ends at a box.
    ring_ends: HashMap<&'f str, Vec<&'f CircuitForm>>,
    /// Conductors of each circuit.
    conductors: HashMap<&'f str, Vec<String>>,
    /// What would be joined somewhere if the name of that place were right.
    pub(super) lost: Vec<Lost<'f>>,
}

impl<'f> Plan<'f> {
    /// The cable that feeds a box.
    pub(super) fn arrival(&self, place: &str) -> Option<&Run<'f>> {
        self.arrivals.get(place).and_then(|run| self.runs.get(*run))
    }

    /// The cables that leave a box.
    pub(super) fn leavings(&self, place: &str) -> impl Iterator<Item = &Run<'f>> {
        self.leavings.get(place).into_iter().flatten().filter_map(|run| self.runs.get(*run))
    }

    /// Circuits whose ring says that it ends at a box.
    pub(super) fn ring_ends(&self, place: &str) -> impl Iterator<Item = &'f CircuitForm> {
        self.ring_ends.get(place).into_iter().flatten().copied()
    }

    pub(super) fn circuit(&self, id: &str) -> Option<&'f CircuitForm> {
        self.circuits.get(id).copied()
    }

    /// Conductors of a circuit's first cable unless that says otherwise.
    pub(super) fn circuit_conductors(&self, id: &str) -> Vec<String> {
        self.conductors.get(id).cloned().unwrap_or_default()
    }

    /// How many cables leave from a circuit's breaker.
    pub(super) fn leaving_circuit(&self, id: &str) -> usize {
        self.from_circuit.get(id).copied().unwrap_or(0)
    }
}

impl<'f> Expansion<'f> {
    pub(super) fn plan(&mut self) -> Plan<'f> {
        let form = self.form;
        let mut plan = Plan {
            runs: Vec::new(),
            circuits: form.circuits.iter().map(|c| (c.id.as_str(), c)).collect(),
            arrivals: HashMap::new(),
            leavings: HashMap::new(),
            from_circuit: count_from_circuits(form),
            ring_ends: HashMap::new(),
            conductors: HashMap::new(),
            lost: self.lost(),
        };
        for circuit in &form.circuits {
            if let Some(ring) = &circuit.ring {
                plan.ring_ends.entry(ring.last.as_str()).or_default().push(circuit);
            }
        }
        for circuit in &form.circuits {
            let conductors = self.conductors_of(circuit);
            plan.conductors.insert(circuit.id.as_str(), conductors);
        }
        let boxes: HashMap<&str, &BoxForm> =
            form.boxes.iter().map(|b| (b.id.as_str(), b)).collect();
        let mut fed_by: HashMap<&str, Vec<&'f BoxForm>> = HashMap::new();
        for place in &form.boxes {
            let Some(from) = &place.from else { continue };
            if !plan.circuits.contains_key(from.as_str()) && !boxes.contains_key(from.as_str()) {
                self.feeds_unknown(from, &place.id);
            }
            fed_by.entry(from.as_str()).or_default().push(place);
        }
        // Breadth first from the breakers: a box is reached after the one that feeds it.
        let mut next: std::collections::VecDeque<(
            &'f BoxForm,
            Option<&'f BoxForm>,
            &'f CircuitForm,
        )> = std::collections::VecDeque::new();
        for circuit in &form.circuits {
            for place in fed_by.remove(circuit.id.as_str()).unwrap_or_default() {
                next.push_back((place, None, circuit));
            }
        }
        while let Some((to, from, circuit)) = next.pop_front() {
            if plan.arrivals.contains_key(to.id.as_str()) {
                continue;
            }
            let conductors = self.run_conductors(&plan, to, from, circuit);
            plan.arrivals.insert(to.id.as_str(), plan.runs.len());
            if let Some(from) = from {
                plan.leavings.entry(from.id.as_str()).or_default().push(plan.runs.len());
            }
            plan.runs.push(Run { cable: cable_name(to), to, circuit, from, conductors });
            for place in fed_by.remove(to.id.as_str()).unwrap_or_default() {
                next.push_back((place, Some(to), circuit));
            }
        }
        self.unreached(&plan, &boxes);
        plan
    }

    /// Boxes that no breaker feeds: a loop, a name in vain, or no cable at all.
    fn unreached(&mut self, plan: &Plan<'f>, boxes: &HashMap<&'f str, &'f BoxForm>) {
        let mut seen: HashSet<&str> = HashSet::new();
        for place in &self.form.boxes {
            if plan.arrivals.contains_key(place.id.as_str()) || !place.id.written() {
                continue;
            }
            if place.from.is_none() {
                self.box_without_cable(place);
            }
            // Towards the supply, until a box seen before, from here or from elsewhere.
            let mut path: Vec<&'f BoxForm> = Vec::new();
            let mut next = boxes.get(place.id.as_str()).copied();
            while let Some(at) = next.filter(|at| seen.insert(at.id.as_str())) {
                path.push(at);
                next = at.from.as_ref().and_then(|from| boxes.get(from.as_str()).copied());
            }
            let back_at = next.map(|at| at.id.as_str());
            let start = path.iter().position(|at| Some(at.id.as_str()) == back_at);
            if let Some(ring) = start.and_then(|start| path.get(start..)) {
                self.loop_of_boxes(ring);
            }
        }
    }

    /// Says that boxes feed each other; `ring` goes towards where the supply should be.
    fn loop_of_boxes(&mut self, ring: &[&'f BoxForm]) {
        let Some(first) = ring.first() else { return };
        let Some(from) = first.from.as_ref().filter(|from| from.written()) else { return };
        let mut names: Vec<&str> = ring.iter().rev().map(|place| place.id.as_str()).collect();
        names.push(names[0]);
        let message = match names.as_slice() {
            [only, _] => format!("box `{only}` is fed from itself"),
            [first, .., last, _] if names.len() > LOOP_LISTED_MAX => {
                format!("these boxes feed each other in a loop: {first} to ... to {last}")
            }
            _ => format!("these boxes feed each other in a loop: {}", names.join(" to ")),
        };
        self.say(Diagnostic::error("loop-of-boxes", message, from.span.clone()).with_help(
            "one of them must be fed `from` a circuit; a ring is closed by `ring` of its circuit",
        ));
    }

    fn box_without_cable(&mut self, place: &BoxForm) {
        if !self.landed_by_hand.contains(place.id.as_str()) {
            self.say_missing(
                Diagnostic::error(
                    "box-without-cable",
                    format!("no cable comes to box `{}`", place.id.value),
                    place.id.span.clone(),
                )
                .with_expected("`from: ` and the name of the circuit or box its cable comes from"),
            );
        }
    }

    fn feeds_unknown(&mut self, from: &Text, own: &Text) {
        if !from.written() {
            return;
        }
        if self.sink.is_full() {
            self.say(Diagnostic::error("unknown-name", "", from.span.clone()));
            return;
        }
        let names = self.feeding_names(own);
        let what = match self.names.get(from.as_str()) {
            Some((_, kind)) => format!("`{}` is a {kind}, and no cable comes from it", from.value),
            None => format!("there is no circuit or box called `{}`", from.value),
        };
        let diagnostic = Diagnostic::error("unknown-name", what, from.span.clone())
            .with_expected(format!("one of {}", quoted_list(&names)));
        let diagnostic = match from.as_str() {
            "panel" => {
                diagnostic.with_help("a cable comes from the panel by a breaker: name its circuit")
            }
            written => with_nearest(diagnostic, written, &names),
        };
        self.say_unknown(from, diagnostic);
    }

    /// What the cable to a box may come from.
    pub(super) fn feeding_names(&self, own: &Text) -> Vec<&'f str> {
        let form = self.form;
        let circuits = form.circuits.iter().map(|circuit| &circuit.id);
        let boxes = form.boxes.iter().map(|place| &place.id);
        let others = circuits.chain(boxes).filter(|id| id.written() && id.value != own.value);
        others.map(Text::as_str).collect()
    }

    /// Conductors a circuit's cables carry unless they say otherwise.
    fn conductors_of(&mut self, circuit: &CircuitForm) -> Vec<String> {
        if let Some(stated) = &circuit.carries {
            return self.conductor_names(stated);
        }
        let poles = circuit.legs.as_ref().map_or(1, Vec::len).clamp(1, HOTS.len());
        let mut names: Vec<String> = HOTS.iter().take(poles).map(|&hot| hot.to_owned()).collect();
        names.extend(["neutral".to_owned(), "ground".to_owned()]);
        names
    }

    /// Conductors of one run: stated, or those of the run before.
    fn run_conductors(
        &mut self,
        plan: &Plan<'f>,
        to: &'f BoxForm,
        from: Option<&'f BoxForm>,
        circuit: &'f CircuitForm,
    ) -> Vec<String> {
        match (&to.carries, from) {
            (Some(stated), _) => self.conductor_names(stated),
            (None, Some(from)) => {
                plan.arrival(from.id.as_str()).map(|run| run.conductors.clone()).unwrap_or_default()
            }
            (None, None) => plan.circuit_conductors(circuit.id.as_str()),
        }
    }

    /// Names of conductors as listed, each once.
    pub(super) fn conductor_names(&mut self, stated: &[Text]) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for name in stated {
            let well_made = !name.value.is_empty()
                && name
                    .as_str()
                    .chars()
                    .all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-'));
            if !name.written() {
                continue;
            }
            if let Some(ours) = our_word(name.as_str()) {
                self.say(
                    Diagnostic::error(
                        "conductor-name",
                        format!("a conductor called `{}` is `{ours}` in a file", name.value),
                        name.span.clone(),
                    )
                    .with_help("`words: Iec` makes reports speak of line and earth")
                    .with_replacement(format!("\"{ours}\"")),
                );
                names.push(ours.to_owned());
            } else if !well_made {
                self.say(
                    Diagnostic::error(
                        "conductor-name",
                        format!("`{}` cannot be the name of a conductor", name.value),
                        name.span.clone(),
                    )
                    .with_expected("a word, as \"hot\", \"neutral\", \"ground\", \"switched\""),
                );
            } else if names.contains(&name.value) {
                self.say(
                    Diagnostic::error(
                        "conductor-twice",
                        format!("this cable has `{}` twice", name.value),
                        name.span.clone(),
                    )
                    .with_expected("a name of its own for each wire"),
                );
            } else {
                names.push(name.value.clone());
            }
            if names.len() > WIRES_MAX {
                let message = format!("a cable has at most {WIRES_MAX} wires here");
                let diagnostic = Diagnostic::error("too-many-wires", message, name.span.clone());
                self.say(diagnostic.with_help("make it several cables"));
                break;
            }
        }
        names
    }
}

/// Longer loops are not listed box by box.
const LOOP_LISTED_MAX: usize = 12;

/// The cable's stated name, or FROM-ID.
fn cable_name(to: &BoxForm) -> String {
    match (&to.cable_id, &to.from) {
        (Some(id), _) => id.value.clone(),
        (None, Some(from)) => format!("{}-{}", from.value, to.id.value),
        (None, None) => to.id.value.clone(),
    }
}

/// Our word for a conductor that others call otherwise.
fn our_word(name: &str) -> Option<&'static str> {
    match name {
        "line" | "live" | "phase" | "l" | "L" => Some("hot"),
        "n" | "N" => Some("neutral"),
        "earth" | "pe" | "PE" | "protective" | "cpc" | "CPC" => Some("ground"),
        _ => None,
    }
}

/// Cables at each circuit's breaker: to boxes and to subpanels.
fn count_from_circuits(form: &FileForm) -> HashMap<&str, usize> {
    let mut counts = HashMap::new();
    let from_boxes = form.boxes.iter().filter_map(|place| place.from.as_ref());
    let from_subpanels = form.subpanels.iter().map(|subpanel| &subpanel.from);
    for from in from_boxes.chain(from_subpanels) {
        *counts.entry(from.as_str()).or_insert(0) += 1;
    }
    counts
}
