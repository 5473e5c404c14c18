//! Receptacles: what a plug-in tester and a meter show, then the potentials behind it.

use crate::circuit::Vocabulary;
use crate::instrument::{PlugTesterReading, Reading, Shown};
use crate::report::read::{Band, OutletReading, banded, state_word};
use crate::report::vocabulary::{Term, conductor, term};

use super::Emphasis;
use super::layout::{label, left, right, wrapped};
use super::read::{Page, capital, potential};

/// Widths of the columns.
const NAME: usize = 14;
const CELL: usize = 11;

/// So many characters of circuits stand in a row.
const CIRCUITS: usize = 28;

/// The contacts of an ordinary receptacle, which share one table.
const ORDINARY: [&str; 3] = ["hot", "neutral", "ground"];

/// The pairs of them, in the order of the columns.
const PAIRS: [(&str, &str); 3] = [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")];

impl Page<'_> {
    pub(super) fn receptacles(&mut self) {
        let report = self.report;
        let (ordinary, others): (Vec<&OutletReading>, Vec<_>) =
            report.outlets.iter().partition(|outlet| is_ordinary(outlet));
        if !ordinary.is_empty() {
            self.shown(&ordinary);
            self.potentials(&ordinary);
        }
        for outlet in others {
            self.other(outlet);
        }
    }

    /// Tester and meter side by side.
    fn shown(&mut self, outlets: &[&OutletReading]) {
        let name = capital(&format!("{}s", term(self.report.vocabulary, Term::Receptacle)));
        self.head(&name, &["a plug-in tester shows between", "a meter shows between, volts"]);
        let pairs: Vec<String> =
            PAIRS.iter().map(|(from, to)| pair(self.report.vocabulary, from, to)).collect();
        let mut head = left("", NAME);
        for cell in pairs.iter().chain(&pairs) {
            head.push_str(&right(cell, CELL));
        }
        self.line(&head);
        for outlet in outlets {
            self.shown_at(outlet);
        }
    }

    fn shown_at(&mut self, outlet: &OutletReading) {
        let tester = &outlet.tester;
        for (nth, reading) in tester.readings.iter().enumerate() {
            let name = match tester.spots.get(nth).filter(|spot| !spot.is_empty()) {
                Some(spot) => format!("  {spot}"),
                None => outlet.address.clone(),
            };
            let mut row = label("", &name, NAME);
            row.push_str(&tester_cells(reading, tester.bands.get(nth)));
            if nth == 0 {
                for (from, to) in PAIRS {
                    row.push_str(&right(&meter(outlet, from, to), CELL));
                }
            }
            self.line(&row);
        }
    }

    fn potentials(&mut self, outlets: &[&OutletReading]) {
        self.head("", &["volts to earth, nothing attached"]);
        let mut head = left("", NAME);
        for slot in ORDINARY {
            head.push_str(&right(&conductor(self.report.vocabulary, slot), CELL));
        }
        let tells_circuits = self.tells_circuits();
        if tells_circuits {
            head.push_str("   circuit");
        }
        self.line(&head);
        for outlet in outlets {
            let mut row = label("", &outlet.address, NAME);
            for slot in ORDINARY {
                let terminal = outlet.slots.iter().find(|terminal| terminal.conductor == slot);
                let cell = terminal.map_or_else(|| "-".to_owned(), potential);
                row.push_str(&right(&cell, CELL));
            }
            if tells_circuits {
                row.push_str(&format!("   {}", short_of(&outlet.circuits)));
            }
            self.line(&row);
        }
    }

    /// Whether there is more than one circuit that a receptacle may belong to.
    fn tells_circuits(&self) -> bool {
        self.report.n_circuits > 1
    }

    /// A heading over groups of three columns.
    fn head(&mut self, name: &str, groups: &[&str]) {
        let Emphasis { heading, off, .. } = self.emphasis;
        let groups: String = groups.iter().map(|group| right(group, CELL * 3)).collect();
        self.line("");
        self.line(&format!("{heading}{}{off}{groups}", left(name, NAME)));
    }

    /// A receptacle with other contacts.
    fn other(&mut self, outlet: &OutletReading) {
        let vocabulary = self.report.vocabulary;
        let circuits = match self.tells_circuits() && !outlet.circuits.is_empty() {
            true => format!(", {}", short_of(&outlet.circuits)),
            false => String::new(),
        };
        self.heading(&format!("{} ({}{circuits})", outlet.address, outlet.configuration));
        self.text.push_str(&wrapped("  plug-in tester:  ", &outlet.tester.says));
        if !outlet.meter.says.is_empty() {
            self.text.push_str(&wrapped("  a meter:         ", &outlet.meter.says));
        }
        let to_earth: Vec<String> = outlet
            .slots
            .iter()
            .map(|t| format!("{} {}", conductor(vocabulary, &t.conductor), potential(t)))
            .collect();
        self.text.push_str(&wrapped("  volts to earth:  ", &to_earth.join(", ")));
    }
}

/// Circuits in what is left of a row.
fn short_of(circuits: &[String]) -> String {
    let all = circuits.join(", ");
    match all.char_indices().nth(CIRCUITS) {
        Some((end, _)) => format!("{}...", all.get(..end).unwrap_or_default()),
        None => all,
    }
}

/// A receptacle whose contacts all have a column of the common table.
fn is_ordinary(outlet: &OutletReading) -> bool {
    outlet.slots.iter().all(|terminal| ORDINARY.contains(&terminal.conductor.as_str()))
}

/// The three columns of a tester.
fn tester_cells(reading: &Reading, band: Option<&Band>) -> String {
    let Shown::PlugTester(shown) = &reading.shown else {
        return right("does not fit", CELL * 3);
    };
    let cell = |pair| right(&indicator(shown, pair, band), CELL);
    PAIRS.map(cell).concat()
}

fn indicator(shown: &PlugTesterReading, (p, q): (&str, &str), band: Option<&Band>) -> String {
    let found = shown.indicators.iter().find(|one| one.between.0 == p && one.between.1 == q);
    found.map_or_else(|| "-".to_owned(), |one| state_word(&one.spans(), one.state, band))
}

/// What the meter shows between two contacts, without its unit where that is volts.
fn meter(outlet: &OutletReading, from: &str, to: &str) -> String {
    let spot = format!("{from}-{to}");
    let Some(nth) = outlet.meter.spots.iter().position(|known| *known == spot) else {
        return "-".to_owned();
    };
    if let Some(band) = banded("voltage", outlet.meter.bands.get(nth)) {
        return band;
    }
    match outlet.meter.readings.get(nth).map(|reading| &reading.shown) {
        Some(Shown::Voltmeter(shown)) => shown.display.as_ref().map_or_else(
            || "?".to_owned(),
            |shown| shown.text.strip_suffix(" V").unwrap_or(&shown.text).to_owned(),
        ),
        _ => "-".to_owned(),
    }
}

/// Two conductors as a column heading, shortened so that they fit.
fn pair(vocabulary: Vocabulary, from: &str, to: &str) -> String {
    let short = |name: &str| {
        let word = conductor(vocabulary, name);
        match word.as_str() {
            "neutral" => "neut".to_owned(),
            "ground" => "grd".to_owned(),
            _ => word,
        }
    };
    format!("{}-{}", short(from), short(to))
}
