//! The readings as tables.

use maud::{Markup, html};

use crate::report::ReadReport;
use crate::report::figure::{amperes, ohms, volts, watts};
use crate::report::phasor::PhasorForm;
use crate::report::read::{DeviceReading, Held, JointReading, OutletReading, TerminalReading};
use crate::report::vocabulary::{Term, conductor, term};

use super::super::reading::live_volt;
use super::{Kind, Section};

/// A table as data.
pub(super) struct Table {
    pub(super) caption: String,
    pub(super) columns: Vec<String>,
    /// The first cell of a row is its header.
    pub(super) rows: Vec<Vec<Cell>>,
}

#[derive(Clone)]
pub(super) enum Cell {
    Words(String),
    Figure(String),
    /// A potential that can kill.
    Live(String),
}

/// Every table that has a row.
pub(super) fn sections(report: &ReadReport) -> Vec<Section> {
    let receptacles = format!("{} readings", capital(term(report.vocabulary, Term::Receptacle)));
    let all = [
        (receptacles, outlets(report)),
        ("What instruments show".to_owned(), instruments(report)),
        ("Terminals asked for".to_owned(), vec![terminals(report)]),
        ("Joints asked for".to_owned(), vec![joints(report)]),
        ("Loads".to_owned(), vec![loads(report)]),
        ("Switches and protective devices".to_owned(), vec![devices(report)]),
        ("Breakers".to_owned(), vec![breakers(report)]),
        ("Currents".to_owned(), vec![currents(report)]),
    ];
    let mut sections: Vec<Section> = Vec::new();
    for (heading, mut tables) in all {
        tables.retain(|table| !table.rows.is_empty());
        if !tables.is_empty() {
            let body = html! { @for table in &tables { (table.markup()) } };
            sections.push(Section { heading, kind: Kind::Text, body });
        }
    }
    sections.extend(states(report));
    sections
}

impl Table {
    pub(super) fn markup(&self) -> Markup {
        html! {
            div.scroll {
                table {
                    caption { (self.caption) }
                    thead {
                        tr { @for column in &self.columns { th scope="col" { (column) } } }
                    }
                    tbody {
                        @for row in &self.rows {
                            tr { @for (at, cell) in row.iter().enumerate() { (cell.markup(at == 0)) } }
                        }
                    }
                }
            }
        }
    }
}

impl Cell {
    fn markup(&self, is_header: bool) -> Markup {
        match self {
            Self::Words(text) if is_header => html! { th scope="row" { (text) } },
            Self::Words(text) => html! { td { (text) } },
            Self::Figure(text) => html! { td.figure { (text) } },
            Self::Live(text) => html! { td.figure.live { (text) } },
        }
    }
}

/// Receptacles in a table for each set of slots.
fn outlets(report: &ReadReport) -> Vec<Table> {
    let mut groups: Vec<Vec<&OutletReading>> = Vec::new();
    let slots = |outlet: &OutletReading| -> Vec<String> {
        outlet.slots.iter().map(|slot| slot.conductor.clone()).collect()
    };
    for outlet in &report.outlets {
        let group = groups
            .iter_mut()
            .find(|group| group.first().is_some_and(|first| slots(first) == slots(outlet)));
        match group {
            Some(group) => group.push(outlet),
            None => groups.push(vec![outlet]),
        }
    }
    let mut tables = vec![shown_everywhere(report)];
    tables.extend(groups.iter().map(|group| outlet_table(report, group)));
    tables
}

/// What a plug-in tester and a meter show at each receptacle.
fn shown_everywhere(report: &ReadReport) -> Table {
    let row = |outlet: &OutletReading| {
        let cells = [outlet.address.clone(), outlet.tester.says.clone(), outlet.meter.says.clone()];
        cells.map(Cell::Words).into_iter().collect()
    };
    let mut caption = "What instruments show, each with its own burden in place".to_owned();
    if let Some(ranges) = &report.ranges {
        caption = format!("{caption}. Ranges: {}. {}", ranges.of.join("; "), ranges.says);
    }
    Table {
        caption,
        columns: vec![
            capital(term(report.vocabulary, Term::Receptacle)),
            "A plug-in tester".to_owned(),
            "A meter".to_owned(),
        ],
        rows: report.outlets.iter().map(row).collect(),
    }
}

fn outlet_table(report: &ReadReport, group: &[&OutletReading]) -> Table {
    let word = |name: &str| conductor(report.vocabulary, name);
    let mut columns = vec![capital(term(report.vocabulary, Term::Receptacle))];
    if let Some(first) = group.first() {
        columns.extend(
            first.slots.iter().map(|slot| format!("{} to earth, V", word(&slot.conductor))),
        );
    }
    let row = |outlet: &&OutletReading| {
        let name = format!("{} ({})", outlet.address, outlet.configuration);
        let potentials = outlet.slots.iter().map(|slot| potential(report, slot));
        std::iter::once(Cell::Words(name)).chain(potentials).collect()
    };
    Table {
        caption: "Potential of each contact to earth with nothing attached; framed where live"
            .to_owned(),
        columns,
        rows: group.iter().map(row).collect(),
    }
}

/// A table for each instrument.
fn instruments(report: &ReadReport) -> Vec<Table> {
    let mut tables: Vec<Table> = Vec::new();
    let mut under = None;
    for reading in &report.instruments {
        if under != Some(&reading.instrument) {
            under = Some(&reading.instrument);
            let note = reading.note.as_ref().map_or(String::new(), |note| format!(". {note}"));
            tables.push(Table {
                caption: format!("{}{note}", reading.instrument),
                columns: ["At", "Shows"].map(str::to_owned).to_vec(),
                rows: Vec::new(),
            });
        }
        if let Some(table) = tables.last_mut() {
            let cells = [reading.at.to_string(), reading.says.clone()];
            table.rows.push(cells.map(Cell::Words).into_iter().collect());
        }
    }
    tables
}

fn potential(report: &ReadReport, terminal: &TerminalReading) -> Cell {
    match (terminal.held, terminal.potential_volt) {
        (Held::Floating, Some(volt)) => {
            Cell::Figure(format!("\u{2248}\u{a0}{} floating", volts(volt.rms)))
        }
        (Held::Undetermined, _) | (_, None) => Cell::Figure("undetermined".to_owned()),
        (Held::Firm, Some(volt)) if volt.rms >= live_volt(report.vocabulary) => {
            Cell::Live(volts(volt.rms))
        }
        (Held::Firm, Some(volt)) => Cell::Figure(volts(volt.rms)),
    }
}

fn rms(value: Option<PhasorForm>) -> String {
    value.map_or_else(|| "none".to_owned(), |value| volts(value.rms))
}

fn terminals(report: &ReadReport) -> Table {
    let rows = report.terminals.iter();
    let row = |terminal: &TerminalReading| {
        vec![Cell::Words(terminal.address.clone()), potential(report, terminal)]
    };
    Table {
        caption: "Potential to earth".to_owned(),
        columns: vec!["Terminal".to_owned(), "Potential, V".to_owned()],
        rows: rows.map(row).collect(),
    }
}

fn joints(report: &ReadReport) -> Table {
    let columns = ["Joint", "Resistance", "Volts across", "Amperes", "Watts of heat"];
    let row = |joint: &JointReading| {
        let resistance = match (joint.open, joint.resistance_ohm) {
            (true, _) => "open".to_owned(),
            (false, Some(ohm)) => ohms(ohm),
            (false, None) => "varies".to_owned(),
        };
        vec![
            Cell::Words(joint.address.clone()),
            Cell::Figure(resistance),
            Cell::Figure(rms(joint.voltage_volt)),
            Cell::Figure(amperes(joint.current_ampere.rms)),
            Cell::Figure(watts(joint.heat_watt)),
        ]
    };
    Table {
        caption: "What each joint drops and carries".to_owned(),
        columns: columns.map(str::to_owned).to_vec(),
        rows: report.joints.iter().map(row).collect(),
    }
}

fn loads(report: &ReadReport) -> Table {
    let columns = ["Load", "At", "State", "Volts", "Amperes", "Watts"];
    let rows = report.loads.iter().map(|load| {
        vec![
            Cell::Words(load.load.clone()),
            Cell::Words(load.at.clone().unwrap_or_default()),
            Cell::Words(load.state.to_owned()),
            Cell::Figure(rms(load.voltage_volt)),
            Cell::Figure(amperes(load.current_ampere.rms)),
            Cell::Figure(watts(load.power_watt)),
        ]
    });
    Table {
        caption: "What each load gets and takes".to_owned(),
        columns: columns.map(str::to_owned).to_vec(),
        rows: rows.collect(),
    }
}

fn devices(report: &ReadReport) -> Table {
    let row = |device: &DeviceReading| {
        let terminals = device.terminals.iter().map(|terminal| {
            let (Cell::Words(figure) | Cell::Figure(figure) | Cell::Live(figure)) =
                potential(report, terminal);
            let name = terminal.address.strip_prefix(&format!("{}.", device.device));
            format!("{} {figure}", name.unwrap_or(&terminal.address))
        });
        vec![
            Cell::Words(device.device.clone()),
            Cell::Words(device.position.to_owned()),
            Cell::Words(terminals.collect::<Vec<_>>().join(", ")),
        ]
    };
    Table {
        caption: "Positions, and potentials of terminals to earth in volts".to_owned(),
        columns: ["Device", "Position", "Terminals"].map(str::to_owned).to_vec(),
        rows: report.devices.iter().map(row).collect(),
    }
}

fn breakers(report: &ReadReport) -> Table {
    let columns = ["Circuit", "Bus", "Position", "Rating, A", "Amperes"];
    let rows = report.breakers.iter().map(|breaker| {
        let rating = breaker.rating_ampere.map(|ampere| ampere.to_string());
        vec![
            Cell::Words(breaker.circuit.clone()),
            Cell::Words(breaker.bus.clone()),
            Cell::Words(if breaker.closed { "on" } else { "off" }.to_owned()),
            Cell::Figure(rating.unwrap_or_default()),
            Cell::Figure(amperes(breaker.current_ampere.rms)),
        ]
    });
    Table {
        caption: "What each pole carries".to_owned(),
        columns: columns.map(str::to_owned).to_vec(),
        rows: rows.collect(),
    }
}

fn currents(report: &ReadReport) -> Table {
    let rows = report.currents.iter().flatten().map(|current| {
        vec![
            Cell::Words(current.element.clone()),
            Cell::Words(current.from.clone()),
            Cell::Words(current.to.clone()),
            Cell::Figure(amperes(current.current_ampere.rms)),
        ]
    });
    Table {
        caption: "The current in every element".to_owned(),
        columns: ["Element", "From", "To", "Amperes"].map(str::to_owned).to_vec(),
        rows: rows.collect(),
    }
}

/// The stable states, where there is more than one.
fn states(report: &ReadReport) -> Option<Section> {
    if report.stable_states.is_empty() {
        return None;
    }
    let body = html! {
        @for state in &report.stable_states {
            p { @if state.reached { "Shown here:" } @else { "Also possible:" } }
            ul { @for line in &state.says { li { (line) } } }
        }
    };
    Some(Section { heading: "Stable states".to_owned(), kind: Kind::Text, body })
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
