//! [`ReadReport`] as text.

use crate::circuit::Vocabulary;
use crate::report::caution::CAUTION;
use crate::report::figure::volts;
use crate::report::phasor::PhasorForm;
use crate::report::read::{Difference, Held, OutletReading, ReadReport, TerminalReading};
use crate::report::vocabulary::{Term, conductor, line, term};

use super::Emphasis;
use super::hazards::hazards;
use super::layout::{label, left, right, wrapped};

/// Widths of the columns of the table of receptacles.
const NAME: usize = 17;
const POTENTIAL: usize = 9;
const DIFFERENCE: usize = 11;

/// The contacts of an ordinary receptacle, which share one table.
const ORDINARY: [&str; 3] = ["hot", "neutral", "ground"];

/// The report in 80 columns, hazards first.
pub fn read(report: &ReadReport, emphasis: Emphasis) -> String {
    let mut page = Page { report, emphasis, text: String::new() };
    page.title();
    page.hazards();
    page.condition();
    page.protection();
    page.ordinary_receptacles();
    page.other_receptacles();
    page.instruments();
    page.terminals();
    page.joints();
    page.legend();
    page.loads();
    page.devices();
    page.breakers();
    page.currents();
    page.states();
    page.text
}

/// A report being written.
pub(super) struct Page<'a> {
    pub(super) report: &'a ReadReport,
    emphasis: Emphasis,
    pub(super) text: String,
}

impl Page<'_> {
    pub(super) fn line(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    pub(super) fn heading(&mut self, text: &str) {
        let Emphasis { heading, off, .. } = self.emphasis;
        self.line("");
        self.line(&format!("{heading}{text}{off}"));
    }

    fn title(&mut self) {
        let Emphasis { heading, off, .. } = self.emphasis;
        self.line(&format!("{heading}{}{off}", self.report.circuit));
    }

    fn hazards(&mut self) {
        if self.report.hazards.is_empty() {
            self.line("");
            self.text.push_str(&wrapped(
                "",
                "No hazard of the kinds looked for was found in the model; that clears nothing.",
            ));
        } else {
            self.heading("HAZARDS");
            self.text.push_str(&hazards(&self.report.hazards, self.emphasis));
        }
        self.line("");
        self.text.push_str(&wrapped("", CAUTION));
    }

    fn instruments(&mut self) {
        let mut under = "";
        for reading in &self.report.instruments {
            if reading.instrument != under {
                under = &reading.instrument;
                self.heading(&format!("What a {under} shows"));
            }
            let name = label("  ", reading.at.as_str(), NAME);
            let says = line(self.report.vocabulary, &reading.says);
            self.text.push_str(&wrapped(&name, &says));
        }
    }

    fn condition(&mut self) {
        if self.report.condition.is_empty() {
            return;
        }
        self.heading("Different from the circuit file");
        for sentence in &self.report.condition {
            self.text.push_str(&wrapped("  ", sentence));
        }
    }

    fn protection(&mut self) {
        if self.report.protection.says.is_empty() {
            return;
        }
        self.heading("Protection");
        for sentence in &self.report.protection.says {
            self.text.push_str(&wrapped("  ", sentence));
        }
    }

    fn ordinary_receptacles(&mut self) {
        let report = self.report;
        let rows: Vec<&OutletReading> =
            report.outlets.iter().filter(|outlet| is_ordinary(outlet)).collect();
        if rows.is_empty() {
            return;
        }
        let name = format!("{}s", capital(term(report.vocabulary, Term::Receptacle)));
        let Emphasis { heading, off, .. } = self.emphasis;
        self.line("");
        let over = POTENTIAL * 3;
        self.line(&format!(
            "{heading}{}{off}{}{}",
            left(&name, NAME),
            right("volts to earth", over),
            right("volts between contacts", DIFFERENCE * 3)
        ));
        let mut head = left("", NAME);
        for slot in ORDINARY {
            head.push_str(&right(&conductor(report.vocabulary, slot), POTENTIAL));
        }
        for (from, to) in ORDINARY_DIFFERENCES {
            head.push_str(&right(&pair(report.vocabulary, from, to), DIFFERENCE));
        }
        self.line(&head);
        for outlet in rows {
            self.ordinary_row(outlet);
        }
    }

    fn ordinary_row(&mut self, outlet: &OutletReading) {
        let mut row = label("", &outlet.address, NAME);
        for slot in ORDINARY {
            let terminal = outlet.slots.iter().find(|terminal| terminal.conductor == slot);
            row.push_str(&right(&terminal.map_or_else(|| "-".to_owned(), potential), POTENTIAL));
        }
        for (from, to) in ORDINARY_DIFFERENCES {
            let found = outlet.differences.iter().find(|d| d.from == from && d.to == to);
            row.push_str(&right(&found.map_or_else(|| "-".to_owned(), difference), DIFFERENCE));
        }
        self.line(&row);
    }

    fn other_receptacles(&mut self) {
        let report = self.report;
        for outlet in report.outlets.iter().filter(|outlet| !is_ordinary(outlet)) {
            self.heading(&format!("{} ({})", outlet.address, outlet.configuration));
            let to_earth: Vec<String> = outlet
                .slots
                .iter()
                .map(|t| format!("{} {}", conductor(report.vocabulary, &t.conductor), potential(t)))
                .collect();
            let between: Vec<String> = outlet
                .differences
                .iter()
                .map(|d| format!("{} {}", pair(report.vocabulary, &d.from, &d.to), difference(d)))
                .collect();
            self.text.push_str(&wrapped("  volts to earth:  ", &to_earth.join(", ")));
            if !between.is_empty() {
                self.text.push_str(&wrapped("  volts between:   ", &between.join(", ")));
            }
        }
    }

    /// What the marks in the tables mean, for those that are there.
    fn legend(&mut self) {
        let report = self.report;
        let devices = report.devices.iter().flat_map(|device| &device.terminals);
        let outlets = report.outlets.iter().flat_map(|outlet| &outlet.slots);
        let held: Vec<Held> =
            outlets.chain(devices).chain(&report.terminals).map(|terminal| terminal.held).collect();
        if held.contains(&Held::Floating) {
            self.text.push_str(&wrapped(
                "  ~  ",
                "floating: only capacitance or leakage holds it there; an instrument pulls it down",
            ));
        }
        if held.contains(&Held::Undetermined) {
            self.text.push_str(&wrapped(
                "  ?  ",
                "undetermined: nothing at all connects it to earth, so it has no potential",
            ));
        }
    }
}

const ORDINARY_DIFFERENCES: [(&str, &str); 3] =
    [("hot", "neutral"), ("hot", "ground"), ("neutral", "ground")];

/// A receptacle whose contacts all have a column of the common table.
fn is_ordinary(outlet: &OutletReading) -> bool {
    outlet.slots.iter().all(|terminal| ORDINARY.contains(&terminal.conductor.as_str()))
}

pub(super) fn potential(terminal: &TerminalReading) -> String {
    match (&terminal.potential_volt, terminal.held) {
        (None, _) => "?".to_owned(),
        (Some(phasor), Held::Floating) => format!("~{}", volts(phasor.rms)),
        (Some(phasor), _) => volts(phasor.rms),
    }
}

fn difference(difference: &Difference) -> String {
    known(difference.voltage_volt.as_ref())
}

pub(super) fn known(volt: Option<&PhasorForm>) -> String {
    volt.map_or_else(|| "?".to_owned(), |phasor| volts(phasor.rms))
}

/// Two conductors as a column heading, shortened so that two of them fit eleven columns.
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

pub(super) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
