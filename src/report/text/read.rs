//! [`ReadReport`] as text.

use crate::report::caution::CAUTION;
use crate::report::figure::volts;
use crate::report::phasor::PhasorForm;
use crate::report::read::{Held, ReadReport, TerminalReading};

use super::Emphasis;
use super::hazards::hazards;
use super::layout::{label, title, wrapped};

/// The report in 80 columns, hazards first.
pub fn read(report: &ReadReport, emphasis: Emphasis) -> String {
    let mut page = Page { report, emphasis, text: String::new() };
    page.title();
    page.hazards();
    page.condition();
    page.protection();
    page.receptacles();
    page.terminals();
    page.joints();
    page.legend();
    page.instruments();
    page.loads();
    page.devices();
    page.breakers();
    page.currents();
    page.states();
    page.text
}

/// Width of a column of names.
const NAME: usize = 17;

/// A report being written.
pub(super) struct Page<'a> {
    pub(super) report: &'a ReadReport,
    pub(super) emphasis: Emphasis,
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
        self.text.push_str(&title(heading, &self.report.circuit, off));
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
                self.heading(&capital(under));
                if let Some(note) = &reading.note {
                    self.text.push_str(&wrapped("  ", note));
                }
            }
            let name = label("  ", &reading.at, NAME);
            self.text.push_str(&wrapped(&name, &reading.says));
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
        if let Some(ranges) = &report.ranges {
            self.heading("Ranges");
            self.text.push_str(&wrapped("  ", &format!("{}.", ranges.of.join("; "))));
            self.text.push_str(&wrapped("  ", &ranges.says));
        }
    }
}

pub(super) fn potential(terminal: &TerminalReading) -> String {
    match (&terminal.potential_volt, terminal.held) {
        (None, _) => "?".to_owned(),
        (Some(phasor), Held::Floating) => format!("~{}", volts(phasor.rms)),
        (Some(phasor), _) => volts(phasor.rms),
    }
}

pub(super) fn known(volt: Option<&PhasorForm>) -> String {
    volt.map_or_else(|| "?".to_owned(), |phasor| volts(phasor.rms))
}

pub(super) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
