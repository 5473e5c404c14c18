//! Small runs with what may be complained of in them.

use super::super::super::{Complaint, Effort, Inquiry, Means, ReadingError};
use super::super::Plan;
use crate::circuit::{Circuit, file};

/// A run on one breaker: boxes with the feet of cable before each, loads with their boxes and
/// what they are.
pub(super) struct Run {
    pub(super) name: &'static str,
    pub(super) boxes: &'static [(&'static str, u32)],
    pub(super) loads: &'static [(&'static str, &'static str, &'static str)],
}

impl Run {
    pub(super) fn circuit(&self) -> Circuit {
        let mut from = "c1";
        let mut boxes = String::new();
        for (id, feet) in self.boxes {
            boxes += &format!(r#"(id: "{id}", from: "{from}", feet: {feet}),"#);
            from = id;
        }
        let load = |(id, at, kind): &(&str, &str, &str)| {
            format!(r#"(id: "{id}", at: "{at}", kind: {kind}),"#)
        };
        let loads: String = self.loads.iter().map(load).collect();
        let text = format!(
            r#"(format: 1, name: "{}", circuits: [(id: "c1", amperes: 20)],
                boxes: [{boxes}], loads: [{loads}])"#,
            self.name
        );
        file::read(&text).unwrap().circuit
    }

    /// What may be complained of: each place dead, or dead from it on, each load dead or weak,
    /// light that flickers, nothing works, and nothing noticed.
    pub(super) fn complaints(&self) -> Vec<(String, Complaint)> {
        let mut all = Vec::new();
        for (place, _) in self.boxes {
            let place = (*place).to_owned();
            all.push((format!("{place} dead"), Complaint::Dead { places: vec![place.clone()] }));
            all.push((format!("dead from {place} on"), Complaint::DeadFrom { place }));
        }
        for (load, ..) in self.loads {
            let load = (*load).to_owned();
            all.push((format!("{load} dead"), Complaint::LoadDead { load: load.clone() }));
            let loads = vec![load.clone()];
            all.push((
                format!("{load} weak"),
                Complaint::Dim { loads, places: Vec::new(), when: None },
            ));
            let loads = Vec::new();
            all.push((
                format!("dim with {load}"),
                Complaint::Dim { loads, places: Vec::new(), when: Some(load) },
            ));
        }
        all.push(("flickers".to_owned(), Complaint::Flickers { loads: Vec::new() }));
        all.push(("all dead".to_owned(), Complaint::AllDead { circuit: "c1".to_owned() }));
        all.push(("nothing seen".to_owned(), Complaint::NothingSeen));
        all
    }
}

/// Runs of four, in which two faults at once are thought of.
pub(super) const FOUR: [Run; 4] = [
    Run {
        name: "Net loft",
        boxes: &[("stair", 30), ("rail", 12), ("gable", 15), ("hoist", 10)],
        loads: &[
            ("lamp", "rail", "Filament(watts: 60)"),
            ("winder", "hoist", "Resistive(watts: 900)"),
        ],
    },
    Run {
        name: "Potting house",
        boxes: &[("porch", 45), ("sink", 8), ("shelf", 10), ("stove", 20)],
        loads: &[
            ("heater", "shelf", "Resistive(watts: 1200)"),
            ("radio", "porch", "Electronics(watts: 40)"),
            ("bulb", "stove", "Filament(watts: 100)"),
        ],
    },
    Run {
        name: "Smokehouse",
        boxes: &[("gate", 60), ("hearth", 25), ("rack", 6), ("drain", 18)],
        loads: &[("fan", "hearth", "Resistive(watts: 250)")],
    },
    Run {
        name: "Sail store",
        boxes: &[("door", 20), ("bench", 9), ("bins", 9), ("loft", 14)],
        loads: &[
            ("iron", "door", "Resistive(watts: 1000)"),
            ("strip", "loft", "Electronics(watts: 30)"),
        ],
    },
];

/// Runs of eight, in which one fault is thought of.
pub(super) const EIGHT: [Run; 2] = [
    Run {
        name: "Hop kiln",
        boxes: &[
            ("yard", 40),
            ("scale", 12),
            ("press", 15),
            ("bin", 10),
            ("stair", 14),
            ("floor", 12),
            ("cowl", 18),
            ("ridge", 9),
        ],
        loads: &[
            ("lamp", "scale", "Filament(watts: 75)"),
            ("blower", "bin", "Resistive(watts: 700)"),
            ("dryer", "cowl", "Resistive(watts: 1100)"),
        ],
    },
    Run {
        name: "Cooperage",
        boxes: &[
            ("gate", 25),
            ("staves", 10),
            ("hoops", 10),
            ("fire", 16),
            ("trough", 12),
            ("bench", 8),
            ("rack", 11),
            ("cellar", 22),
        ],
        loads: &[
            ("grinder", "hoops", "Resistive(watts: 600)"),
            ("light", "bench", "Electronics(watts: 35)"),
        ],
    },
];

/// One fault at a time.
pub(super) fn singly() -> Effort {
    Effort { pairs: 0, triples: 0, revised: 0, ..Effort::default() }
}

/// An inquiry into a circuit that has been told nothing.
pub(super) fn untold(circuit: &Circuit, effort: Effort) -> Inquiry<'_> {
    Inquiry::with(circuit, Means::default(), ReadingError::default(), effort)
}

/// What the library chooses by after a complaint: the plan, with the weights of its hypotheses,
/// and how things stand.
pub(super) fn after(inquiry: &Inquiry<'_>, complaint: &Complaint) -> (Plan, Vec<f64>, usize) {
    let mut inquiry = inquiry.clone();
    inquiry.complain(complaint).unwrap();
    let weighed = inquiry.weighed();
    let plan = inquiry.plan(&weighed);
    (plan, weighed.iter().map(|one| one.weight).collect(), inquiry.now)
}
